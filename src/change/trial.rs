//! Trying changes for one filler at one joint: each set of settings is decided once. Which to try is decided elsewhere.

use super::adjustable::Scale;
use super::border::{Border, Stretch, between, close_in, roundest};
use super::session::{Assessment, Candidacy, ChangeError, Obstacle, Session};
use super::setting::Setting;
use super::text::JobText;
use crate::job::Job;
use crate::quantity::Dimension;
use crate::verdict::Verdict;
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// The most fillers that a filler is held against before it is held against all.
const RIVALS: usize = 3;

/// A stretch is tried in so many places, beside the numbers that are tried anyhow.
const PLACES_WITHIN: usize = 12;

/// Assessments by settings and the fillers that were rivals; `None` where a job has mistakes.
type Assessments = HashMap<(Vec<Setting>, Opponents), Option<Assessment>>;

/// One filler at one joint of a job, and what is known of changes of that job.
pub(super) struct Trial<'a, 'r> {
    pub session: &'a Session<'r>,
    pub text: JobText,
    pub joint: &'a str,
    pub filler: &'a str,
    /// Fillers that beat it in the job as it stands, or are recommended there.
    rivals: Vec<Arc<str>>,
    seen: Mutex<Assessments>,
    /// Called with the number of jobs decided so far.
    progress: &'a (dyn Fn(usize) + Sync),
    decided: AtomicUsize,
}

/// Which fillers a filler is held against.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Opponents {
    /// None: is it usable?
    Nobody,
    /// Those that are most likely to beat it.
    Rivals,
    /// All.
    All,
}

impl<'a, 'r> Trial<'a, 'r> {
    /// Nothing is tried yet. `rivals` are the fillers that are most likely to beat this one.
    pub fn new(
        session: &'a Session<'r>,
        job: &Job,
        (joint, filler): (&'a str, &'a str),
        rivals: impl IntoIterator<Item = Arc<str>>,
        progress: &'a (dyn Fn(usize) + Sync),
    ) -> Result<Self, ChangeError> {
        Ok(Trial {
            session,
            text: JobText::of(job)?,
            joint,
            filler,
            rivals: rivals.into_iter().filter(|rival| **rival != *filler).take(RIVALS).collect(),
            seen: Mutex::default(),
            progress,
            decided: AtomicUsize::new(0),
        })
    }

    /// The assessment of some settings; `None` where the job then has mistakes.
    fn assess(&self, settings: &[Setting], against: Opponents) -> Option<Assessment> {
        let key = (settings.to_vec(), against);
        if let Some(assessment) = self.seen.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return assessment.clone();
        }
        let rivals = match against {
            Opponents::Nobody => Some(Vec::new()),
            Opponents::Rivals => Some(self.rivals.clone()),
            Opponents::All => None,
        };
        let assessment = self.decided(settings, rivals.as_deref());
        self.seen.lock().unwrap_or_else(PoisonError::into_inner).insert(key, assessment.clone());
        assessment
    }

    fn decided(&self, settings: &[Setting], rivals: Option<&[Arc<str>]>) -> Option<Assessment> {
        (self.progress)(self.decided.fetch_add(1, Ordering::Relaxed));
        let job = self.session.changed(&self.text, settings).ok()?;
        self.session.assess(&job, &Candidacy { joint: self.joint, filler: self.filler, rivals }).ok()
    }

    /// What stands in the way of use, with these settings.
    pub fn alone(&self, settings: &[Setting]) -> Option<Assessment> {
        self.assess(settings, Opponents::Nobody)
    }

    /// What stands in the way of a recommendation, as far as the likeliest rivals go.
    pub fn among_rivals(&self, settings: &[Setting]) -> Option<Assessment> {
        self.assess(settings, Opponents::Rivals)
    }

    /// The same, all fillers looked at.
    pub fn among_all(&self, settings: &[Setting]) -> Option<Assessment> {
        self.assess(settings, Opponents::All)
    }

    /// Whether the filler waits on answers in the job as it stands.
    pub fn waits_on_answers(&self) -> bool {
        let question = |obstacle: &Obstacle| matches!(obstacle, Obstacle::Question(_));
        self.among_rivals(&[]).is_some_and(|assessment| assessment.obstacles.iter().any(question))
    }

    /// Whether the verdict is at least this good with these settings.
    pub fn reaches(&self, settings: &[Setting], wanted: Verdict) -> bool {
        let good =
            |assessment: Option<Assessment>| assessment.is_some_and(|assessment| assessment.reaches(wanted));
        match wanted {
            Verdict::Recommended => {
                self.could_reach(settings, &[], wanted) && good(self.assess(settings, Opponents::All))
            }
            _ => good(self.alone(settings)),
        }
    }

    /// Whether it is, as far as the likeliest rivals and these others go. True wherever [`Trial::reaches`] is, and faster.
    pub fn could_reach(&self, settings: &[Setting], others: &[Arc<str>], wanted: Verdict) -> bool {
        if wanted != Verdict::Recommended {
            return self.alone(settings).is_some_and(|assessment| assessment.reaches(wanted));
        }
        let could = |assessment: Option<Assessment>| {
            assessment.is_some_and(|assessment| match hangs_on_others(&assessment) {
                true => self.among_all(settings).is_some_and(|assessment| assessment.reaches(wanted)),
                false => assessment.reaches(wanted),
            })
        };
        could(self.among_rivals(settings))
            && (others.is_empty() || could(self.decided(settings, Some(others))))
    }

    /// The verdict with these settings; `None` where the job then has mistakes, or the filler is no candidate.
    pub fn verdict(&self, settings: &[Setting]) -> Option<Verdict> {
        let assessment = self.among_rivals(settings)?;
        if assessment.reaches(Verdict::Recommended) || hangs_on_others(&assessment) {
            self.among_all(settings)?.verdict
        } else {
            assessment.verdict
        }
    }
}

/// How many times beyond its one border a stretch without another end is tried.
const FAR: f64 = 4.0;

/// Whether some filler may or may not beat this one: a third, that is left out, can settle that by beating both or neither.
fn hangs_on_others(assessment: &Assessment) -> bool {
    assessment.verdict == Some(Verdict::Usable) && assessment.rivals().next().is_none()
}

/// Numbers on a scale that reach a goal when some settings are made already.
pub(super) struct StretchSearch<'t, 'a, 'r> {
    pub trial: &'t Trial<'a, 'r>,
    pub scale: &'t Scale,
    /// The settings of a number, among others that are made already.
    pub settings: &'t dyn Fn(f64) -> Vec<Setting>,
    pub goal: Verdict,
}

impl StretchSearch<'_, '_, '_> {
    /// The nearest stretch of numbers upwards and downwards of the one that stands there; every stretch where none does. Each is
    /// tried against every filler, at its ends and in many places between, and falls into several where it does not hold all
    /// through. For each, the number in it that is offered.
    pub fn stretches(&self) -> Vec<(f64, Vec<Stretch>)> {
        let mut others: Vec<Arc<str>> = Vec::new();
        loop {
            let known = others.len();
            let mut found = Vec::new();
            for stretch in self.seeming(&others) {
                let pieces = self.pieces(&stretch);
                let near = |piece: &Stretch| self.scale.now.map_or(0.0, |now| (piece.within - now).abs());
                let nearest = pieces.iter().min_by(|a, b| near(a).total_cmp(&near(b))).copied();
                let Some(nearest) = nearest else {
                    let assessment = self.trial.among_all(&(self.settings)(stretch.within));
                    let winner = assessment
                        .iter()
                        .flat_map(Assessment::rivals)
                        .map(|(winner, _)| winner.clone())
                        .next();
                    others.extend(winner.filter(|winner| !others.contains(winner)));
                    continue;
                };
                let number = self.offered(&nearest, &others);
                if self.trial.reaches(&(self.settings)(number), self.goal) {
                    found.push((number, pieces));
                }
            }
            // Another filler that was not thought of beats it there: seek again with that one in mind.
            if others.len() == known {
                return found;
            }
        }
    }

    /// The parts of a stretch in which the goal is reached against every filler.
    fn pieces(&self, stretch: &Stretch) -> Vec<Stretch> {
        let serves = |number: f64| self.trial.reaches(&(self.settings)(number), self.goal);
        let tries = self.scale.tries();
        let low = stretch.lowest.map(|border| border.holds).or(tries.first().copied());
        let high = stretch.highest.map(|border| border.holds).or(tries.last().copied());
        let (Some(mut low), Some(mut high)) = (low, high) else { return Vec::new() };
        // What is said to hold without end is tried well beyond the border at its other end.
        if self.scale.unit.dimension() != Dimension::TEMPERATURE && low > 0.0 {
            if stretch.lowest.is_none() {
                low = low.min(high / FAR);
            }
            if stretch.highest.is_none() && self.scale.unit.dimension() != Dimension::SHARE {
                high = high.max(low * FAR);
            }
        }
        let mut line: Vec<f64> = (0..=PLACES_WITHIN)
            .map(|step| low + (high - low) * step as f64 / PLACES_WITHIN as f64)
            .chain(tries.into_iter().filter(|number| (low..=high).contains(number)))
            .chain([stretch.within].into_iter().filter(|number| (low..=high).contains(number)))
            .collect();
        line.sort_by(f64::total_cmp);
        line.dedup();
        let served: Vec<bool> = line.iter().map(|number| serves(*number)).collect();
        let mut found = self.runs(&line, &served, &serves);
        // The outermost parts end where the whole does.
        if let (Some(first), Some(true)) = (found.first_mut(), served.first()) {
            first.lowest = stretch.lowest;
        }
        if let (Some(last), Some(true)) = (found.last_mut(), served.last()) {
            last.highest = stretch.highest;
        }
        found
    }

    /// Stretches as far as the likeliest rivals and some others go.
    fn seeming(&self, others: &[Arc<str>]) -> Vec<Stretch> {
        let serves = |number: f64| self.trial.could_reach(&(self.settings)(number), others, self.goal);
        let tries = self.scale.tries();
        if self.goal == Verdict::Recommended && others.is_empty() && self.seems_idle(&tries) {
            return Vec::new();
        }
        let Some(now) = self.scale.now else {
            let served: Vec<bool> = tries.iter().map(|number| serves(*number)).collect();
            return self.runs(&tries, &served, &serves);
        };
        let up: Vec<f64> = tries.iter().copied().filter(|number| *number > now).collect();
        let down: Vec<f64> = tries.iter().copied().filter(|number| *number < now).rev().collect();
        let mut found = Vec::new();
        for side in [up, down] {
            let Some(first) = side.iter().position(|number| serves(*number)) else { continue };
            let mut line = vec![if first == 0 { now } else { side[first - 1] }, side[first]];
            let mut served = vec![false, true];
            for number in &side[first + 1..] {
                line.push(*number);
                served.push(serves(*number));
                if served.last() == Some(&false) {
                    break;
                }
            }
            if line[1] < line[0] {
                line.reverse();
                served.reverse();
            }
            found.extend(self.runs(&line, &served, &serves));
        }
        found
    }

    /// Whether the number has no part in the matter: at either end of the scale, and in its middle, all is as it is now.
    fn seems_idle(&self, tries: &[f64]) -> bool {
        let (Some(now), [first, .., last]) = (self.scale.now, tries) else { return false };
        let assessment = |number: f64| self.trial.among_rivals(&(self.settings)(number));
        let base = assessment(now);
        [*first, *last, tries[tries.len() / 2]].into_iter().all(|number| assessment(number) == base)
    }

    /// The stretches of numbers that serve on an ascending line, with their borders.
    fn runs(&self, line: &[f64], served: &[bool], serves: &impl Fn(f64) -> bool) -> Vec<Stretch> {
        let border = |good: f64, bad: f64| {
            let (holds, fails) = close_in(good, bad, serves);
            Some(Border { holds, fails, unit: self.scale.unit })
        };
        let mut found = Vec::new();
        let mut index = 0;
        while index < line.len() {
            if !served[index] {
                index += 1;
                continue;
            }
            let start = index;
            while index < line.len() && served[index] {
                index += 1;
            }
            found.push(Stretch {
                lowest: (start > 0).then(|| border(line[start], line[start - 1])).flatten(),
                highest: (index < line.len()).then(|| border(line[index - 1], line[index])).flatten(),
                within: line[(start + index - 1) / 2],
            });
        }
        found
    }

    /// A round number of a stretch: beside the border that is nearer to the number that stands there; where none does, beside
    /// the only border, or between both.
    fn offered(&self, stretch: &Stretch, others: &[Arc<str>]) -> f64 {
        let serves = |number: f64| self.trial.could_reach(&(self.settings)(number), others, self.goal);
        match (stretch.lowest, stretch.highest, self.scale.now) {
            (Some(low), Some(high), None) => between(&low, &high, serves),
            (Some(low), Some(high), Some(now)) => {
                let near = if now < low.holds { low } else { high };
                roundest(&near, now, serves)
            }
            (Some(border), None, now) | (None, Some(border), now) => {
                roundest(&border, now.unwrap_or(border.holds), serves)
            }
            (None, None, _) => stretch.within,
        }
    }
}
