//! How far the facts of a job may move before a recommendation falls, and what takes over then.

use super::adjustable::{End, Scale, Values, adjustables};
use super::border::{Border, close_in};
use super::session::{Assessment, ChangeError, Session};
use super::setting::{Path, Setting, Written};
use super::trial::Trial;
use super::worked_out::{WorkedOut, worked_out};
use crate::engine::Recording;
use crate::processors::for_each;
use crate::verdict::{Decision, JointReport, Level, Verdict};
use serde::Serialize;
use std::sync::Arc;

/// How far one fact may move before a recommendation falls.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Margin {
    /// Where the fact stands in the job file.
    pub path: String,
    /// What stands there now; `null` where nothing does.
    pub now: Option<String>,
    /// What is taken in its place where nothing stands there, such as a dilution by the section of the weld; `null` where nothing is.
    pub worked_out: Option<String>,
    /// Which end of a range moves; `null` where the number is the whole value.
    pub end: Option<End>,
    /// How far a number may fall; `null` where nothing that was looked at topples the recommendation.
    pub down: Option<Limit>,
    /// How far a number may rise; likewise.
    pub up: Option<Limit>,
    /// Other answers that topple the recommendation.
    pub topples: Vec<Toppled>,
}

/// The border at which a recommendation falls.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Limit {
    /// The border.
    #[serde(flatten)]
    pub border: Border,
    /// The value as it stands in the job file just inside of it.
    pub last: String,
    /// The value just outside.
    pub first_beyond: String,
    /// The numbers for which the recommendation stands, in words.
    pub stands: String,
    /// What holds beyond.
    pub then: Fall,
}

/// Another answer, and what it brings.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Toppled {
    /// The answer.
    pub value: String,
    /// What holds with it.
    pub then: Fall,
}

/// Why a filler is no longer recommended.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Fall {
    /// Its verdict then.
    pub verdict: Verdict,
    /// Fillers that are recommended then.
    pub recommended: Vec<String>,
    /// The criterion that decides against it; `null` where its verdict waits on an answer.
    pub criterion: Option<String>,
    /// The finding that judges it there.
    pub finding: Option<String>,
    /// What that finding says.
    pub says: Option<String>,
}

/// Every second number of a scale is enough to see on which stretch a recommendation falls.
const STRIDE: usize = 2;

/// A number that is worked out is looked at this part of its size to either side as well.
const BESIDE: f64 = 1e-6;

/// A border is sought again, each time with another rival in mind, so often at most.
const ROUNDS: usize = 12;

/// How far each fact may move before a filler is no longer recommended at a joint. Empty where it is not recommended.
pub fn margins(
    session: &Session<'_>,
    decision: &Decision<'_>,
    joint: &str,
    filler: &str,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Vec<Margin>, ChangeError> {
    let report = decision.report();
    let here = report.joints.iter().find(|known| known.joint == joint);
    let usable =
        here.into_iter().flat_map(|here| &here.verdicts).filter(|other| other.verdict <= Verdict::Usable);
    let rivals = usable.map(|other| Arc::from(other.filler.as_str()));
    let trial = Trial::new(session, &decision.job, (joint, filler), rivals, progress)?;
    if trial.verdict(&[]) != Some(Verdict::Recommended) {
        return Ok(Vec::new());
    }
    let mut adjustables = adjustables(session, decision, &trial.text, joint, &[]);
    let left_out = worked_out(decision, &trial.text, joint, filler);
    adjustables.retain(|adjustable| !left_out.iter().any(|fact| fact.path == adjustable.path));
    let found = for_each(&adjustables, |adjustable| -> Result<Vec<Margin>, ChangeError> {
        match &adjustable.values {
            Values::Words(words) => of_words(&trial, &adjustable.path, words),
            Values::Numbers(scales) => of_numbers(&trial, &adjustable.path, scales, None),
            Values::Alloys(_) | Values::Order(_) => Ok(Vec::new()),
        }
    });
    let left_out =
        for_each(&left_out, |fact| of_numbers(&trial, &fact.path, &begun(&trial, fact), Some(fact)));
    let found = left_out.into_iter().chain(found).collect::<Result<Vec<_>, _>>()?;
    Ok(found.into_iter().flatten().collect())
}

/// The margin of a fact that nothing topples yet.
fn plain(trial: &Trial<'_, '_>, path: &Path) -> Margin {
    Margin {
        path: path.to_string(),
        now: trial.text.value(path).map(|now| now.plain()),
        worked_out: None,
        end: None,
        down: None,
        up: None,
        topples: Vec::new(),
    }
}

/// Which other words topple the recommendation.
fn of_words(trial: &Trial<'_, '_>, path: &Path, words: &[String]) -> Result<Vec<Margin>, ChangeError> {
    let mut topples = Vec::new();
    for word in words {
        let settings = [Setting { path: path.clone(), value: Written::Text(word.clone()) }];
        if !trial.reaches(&settings, Verdict::Recommended)
            && let Some(then) = fall(trial, &settings)?
        {
            topples.push(Toppled { value: word.clone(), then });
        }
    }
    Ok(if topples.is_empty() { Vec::new() } else { vec![Margin { topples, ..plain(trial, path) }] })
}

/// How far numbers may move from where they begin.
fn of_numbers(
    trial: &Trial<'_, '_>,
    path: &Path,
    scales: &[Scale],
    left_out: Option<&WorkedOut>,
) -> Result<Vec<Margin>, ChangeError> {
    let mut found = Vec::new();
    for scale in scales {
        let Some(now) = scale.now else { continue };
        let (down, up) = (limit(trial, scale, now, false)?, limit(trial, scale, now, true)?);
        if down.is_some() || up.is_some() {
            let worked_out = left_out.map(|fact| trial.text.units().convert_range(fact.range).to_string());
            found.push(Margin { worked_out, end: scale.end(), down, up, ..plain(trial, path) });
        }
    }
    Ok(found)
}

/// The scales of a fact that is left out, beginning where the recommendation stands when it is given: at what is worked out, or
/// beside it, since a size that is just large enough may be too small by its last digit. Where the one range of all
/// passes topples it already, nothing is shown.
fn begun(trial: &Trial<'_, '_>, fact: &WorkedOut) -> Vec<Scale> {
    let stands = |scale: &Scale, number: f64| trial.reaches(&[scale.setting(number)], Verdict::Recommended);
    let beside = |scale: &Scale| {
        let now = scale.now?;
        let near = [now, now * (1.0 + BESIDE), now * (1.0 - BESIDE)];
        near.into_iter().find(|number| stands(scale, *number)).map(|number| scale.from(number))
    };
    fact.scales.iter().filter_map(beside).collect()
}

/// How far a number may move to one side.
fn limit(trial: &Trial<'_, '_>, scale: &Scale, now: f64, up: bool) -> Result<Option<Limit>, ChangeError> {
    let mut side: Vec<f64> = scale.tries().into_iter().filter(|number| (*number > now) == up).collect();
    if !up {
        side.reverse();
    }
    let last = side.last().copied();
    let mut side: Vec<f64> = side.into_iter().step_by(STRIDE).chain(last).collect();
    let settings = |number: f64| [scale.setting(number)];
    let mut others: Vec<Arc<str>> = Vec::new();
    for _ in 0..ROUNDS {
        let stands = |number: f64| trial.could_reach(&settings(number), &others, Verdict::Recommended);
        // A number that makes no job, such as a length below nothing, is no fall.
        let beyond = side.iter().position(|number| !stands(*number));
        let good = match beyond {
            Some(0) | None if side.is_empty() => return Ok(None),
            Some(0) => now,
            Some(index) => side[index - 1],
            None => side[side.len() - 1],
        };
        let border = beyond.map(|index| {
            let (holds, fails) = close_in(good, side[index], stands);
            Border { holds, fails, unit: scale.unit }
        });
        // All fillers are looked at beside the border, and on the way there.
        let end = border.map_or(good, |border| border.holds);
        let mut firm = true;
        for number in [end, now + (end - now) / 3.0, now + (end - now) * 2.0 / 3.0] {
            let assessment = trial.among_all(&settings(number));
            if assessment.as_ref().is_some_and(|assessment| !assessment.reaches(Verdict::Recommended)) {
                firm = false;
                side.push(number);
                let winner =
                    assessment.iter().flat_map(Assessment::rivals).map(|(winner, _)| winner.clone()).next();
                others.extend(winner.filter(|winner| !others.contains(winner)));
            }
        }
        if !firm {
            side.sort_by(|a, b| (a - now).abs().total_cmp(&(b - now).abs()));
            continue;
        }
        let Some(border) = border else { return Ok(None) };
        let Some(then) = fall(trial, &settings(border.fails))? else { return Ok(None) };
        return Ok(Some(Limit {
            border,
            last: scale.setting(border.holds).value.plain(),
            first_beyond: scale.setting(border.fails).value.plain(),
            stands: border.in_words(),
            then,
        }));
    }
    Ok(None)
}

/// What holds with some settings, where the filler is no longer recommended; `None` where the job then has mistakes.
fn fall(trial: &Trial<'_, '_>, settings: &[Setting]) -> Result<Option<Fall>, ChangeError> {
    let changed = trial.session.changed(&trial.text, settings);
    let decided = changed.and_then(|job| Ok(trial.session.decide(job, Recording::First)?));
    let report = match decided {
        Ok(decision) => decision.report(),
        Err(ChangeError::Job(_)) => return Ok(None),
        Err(other) => return Err(other),
    };
    let here = report.joints.iter().find(|known| known.joint == trial.joint);
    Ok(here.and_then(|here| fallen(here, trial.filler)))
}

fn fallen(here: &JointReport, filler: &str) -> Option<Fall> {
    let own = here.verdicts.iter().find(|verdict| verdict.filler == filler)?;
    let criterion = match own.verdict {
        Verdict::Barred => {
            own.standings.iter().find(|standing| standing.standing == Level::Barred).map(|s| &s.criterion)
        }
        Verdict::Usable => {
            let best = own.beaten_by.iter().find(|beaten| here.recommended.contains(&beaten.filler));
            best.or(own.beaten_by.first()).map(|beaten| &beaten.criterion)
        }
        Verdict::Open | Verdict::Unjudged | Verdict::Recommended => None,
    };
    let standing = own.standings.iter().find(|standing| Some(&standing.criterion) == criterion);
    Some(Fall {
        verdict: own.verdict,
        recommended: here.recommended.clone(),
        criterion: criterion.cloned(),
        finding: standing.and_then(|standing| standing.finding.clone()),
        says: standing.and_then(|standing| standing.says.clone()),
    })
}
