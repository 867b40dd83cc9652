//! Trying changes for one filler at one joint: each set of settings is decided once. Which to try is decided elsewhere.

use super::border::{Border, close_in, roundest};
use super::lever::Scale;
use super::session::{ChangeError, Look, Question, Session};
use super::setting::Setting;
use super::text::JobText;
use crate::job::Job;
use crate::verdict::Verdict;
use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// The most fillers that a filler is held against before it is held against all.
const RIVALS: usize = 3;

/// One filler at one joint of a job, and what is known of changes of that job.
pub(super) struct Trial<'a, 'r> {
    pub session: &'a Session<'r>,
    pub text: JobText,
    pub joint: &'a str,
    pub filler: &'a str,
    /// Fillers that beat it in the job as it stands, or are recommended there.
    rivals: Vec<Arc<str>>,
    /// Others that were found to beat it.
    learned: Mutex<Vec<Arc<str>>>,
    seen: Mutex<HashMap<(Vec<Setting>, Against), Option<Look>>>,
    /// Called with the number of jobs decided so far.
    progress: &'a (dyn Fn(usize) + Sync),
    decided: AtomicUsize,
}

/// Which fillers a filler is held against.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
enum Against {
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
            learned: Mutex::default(),
            seen: Mutex::default(),
            progress,
            decided: AtomicUsize::new(0),
        })
    }

    /// What some settings come to; `None` where the job then has mistakes.
    fn look(&self, settings: &[Setting], against: Against) -> Option<Look> {
        let key = (settings.to_vec(), against);
        if let Some(look) = self.seen.lock().unwrap_or_else(PoisonError::into_inner).get(&key) {
            return look.clone();
        }
        let rivals = match against {
            Against::Nobody => Some(Vec::new()),
            Against::Rivals => Some(self.rivals.clone()),
            Against::All => None,
        };
        let look = self.decided(settings, rivals.as_deref());
        self.seen.lock().unwrap_or_else(PoisonError::into_inner).insert(key, look.clone());
        look
    }

    fn decided(&self, settings: &[Setting], rivals: Option<&[Arc<str>]>) -> Option<Look> {
        (self.progress)(self.decided.fetch_add(1, Ordering::Relaxed));
        let job = self.session.changed(&self.text, settings).ok()?;
        self.session.look(&job, &Question { joint: self.joint, filler: self.filler, rivals }).ok()
    }

    /// What stands in the way of use, with these settings.
    pub fn alone(&self, settings: &[Setting]) -> Option<Look> {
        self.look(settings, Against::Nobody)
    }

    /// What stands in the way of a recommendation, as far as the likeliest rivals go.
    pub fn among_rivals(&self, settings: &[Setting]) -> Option<Look> {
        self.look(settings, Against::Rivals)
    }

    /// What stands in the way of a recommendation, all fillers looked at.
    pub fn among_all(&self, settings: &[Setting]) -> Option<Look> {
        self.look(settings, Against::All)
    }

    /// Whether the verdict is at least this good with these settings.
    pub fn reaches(&self, settings: &[Setting], wanted: Verdict) -> bool {
        let good = |look: Option<Look>| look.is_some_and(|look| look.reaches(wanted));
        if wanted != Verdict::Recommended {
            return good(self.alone(settings));
        }
        if !good(self.alone(settings).map(|look| Look { verdict: at_best(look.verdict), ..look }))
            || !good(self.among_rivals(settings))
        {
            return false;
        }
        let learned = self.learned.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if !learned.is_empty() && !good(self.decided(settings, Some(&learned))) {
            return false;
        }
        let all = self.among_all(settings);
        if let Some(look) = &all {
            let mut learned = self.learned.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some((winner, _)) = look.rivals().next()
                && learned.len() < RIVALS
                && !learned.contains(winner)
            {
                learned.push(winner.clone());
            }
        }
        good(all)
    }

    /// The verdict with these settings; `None` where the job then has mistakes, or the filler is no candidate.
    pub fn verdict(&self, settings: &[Setting]) -> Option<Verdict> {
        match self.among_rivals(settings)?.verdict {
            Some(Verdict::Recommended) => self.among_all(settings)?.verdict,
            settled => settled,
        }
    }

    /// The border on a scale between a number with which `holds` is true and one with which it is not, and the roundest
    /// number beside it with which it is true. `from` is the number that stands there now.
    pub fn border(
        &self,
        scale: &Scale,
        good: f64,
        bad: f64,
        holds: impl Fn(&Setting) -> bool,
    ) -> (Border, f64) {
        let asked = |number: f64| holds(&scale.setting(number));
        let (good, bad) = close_in(good, bad, asked);
        let border = Border { holds: good, fails: bad, unit: scale.unit };
        let round = roundest(&border, scale.now.unwrap_or(good), asked);
        (border, round)
    }
}

/// The best that a verdict can still become when other fillers are looked at as well: a filler that is usable by itself may
/// turn out to be the best.
fn at_best(verdict: Option<Verdict>) -> Option<Verdict> {
    match verdict {
        Some(Verdict::Usable) => Some(Verdict::Recommended),
        other => other,
    }
}

/// Does the same work for each of some things, on all processors; the results come in the order of the things.
pub(super) fn for_each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, R)>> = Mutex::default();
    let take = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(thing) = things.get(index) else { break };
            let result = work(thing);
            done.lock().unwrap_or_else(PoisonError::into_inner).push((index, result));
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(things.len());
    std::thread::scope(|scope| {
        for _ in 1..threads {
            scope.spawn(take);
        }
        take();
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(index, _)| *index);
    done.into_iter().map(|(_, result)| result).collect()
}
