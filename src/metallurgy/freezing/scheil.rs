//! Freezing after Scheil and Gulliver: no diffusion in the solid, equilibrium at the interface, liquid always mixed.
//!
//! G. H. Gulliver, J. Inst. Met. 9 (1913) 120–157; E. Scheil, Z. Metallkunde 34 (1942) 70–72. Solids that are saturated
//! grow so that they stay saturated while the liquid fraction falls; a solid joins when its driving force reaches zero
//! and drops out when it would have to dissolve.

use super::alloy::Alloy;
use super::database::Database;
use super::ledger::{Ledger, Mark};
use super::outcome::{Freezing, FreezingError, Settings};
use super::pool::Pool;
use super::step::{self, StepPoint, StepState, Taken};

const FIRST_STEP: f64 = 0.05;
const SHORTEST_STEP: f64 = 1e-9;
const MOST_STEPS: usize = 4000;
/// The models of an alloy hold down to room temperature.
const COLDEST: f64 = 298.15;
/// Fall of temperature after which every solid is searched afresh for a lower minimum of its energy, in kelvin.
pub(super) const FRESH_SEARCH: f64 = 40.0;

/// Calculates the freezing of `composition`, in mass per cent by element symbol; aluminium is the rest to 100 if it is
/// not given.
///
/// # Errors
/// [`FreezingError`]: a composition that is none, data without the elements or without a liquid, or a calculation that
/// cannot go on; the last carries the part of the curve that is known.
pub fn freeze(
    database: &Database,
    composition: &[(&str, f64)],
    settings: &Settings,
) -> Result<Freezing, FreezingError> {
    check(settings)?;
    let alloy = Alloy::new(database, composition)?;
    let components: Vec<&str> = alloy.symbols.iter().map(String::as_str).collect();
    let mut pool = Pool::new(database, &components, &alloy.fractions).ok_or(FreezingError::NoLiquid)?;
    let (temperature, first) = pool.liquidus(&alloy.fractions).ok_or(FreezingError::NoLiquidus)?;
    let state = StepState { moles: alloy.fractions.clone(), temperature, clock: 0.0 };
    let mut run = ScheilRun::new(pool, settings, &alloy, temperature);
    match run.solidify(state, first) {
        Ok(()) => Ok(run.ledger.outcome(&run.pool, &alloy)),
        Err(reason) => {
            let known = run.ledger.outcome(&run.pool, &alloy);
            Err(FreezingError::Stalled {
                reason: reason.into(),
                celsius: known.end_celsius,
                known: Box::new(known),
            })
        }
    }
}

fn check(settings: &Settings) -> Result<(), FreezingError> {
    let limits = [
        ("last_liquid", settings.last_liquid, 1e-6, 0.5),
        ("longest_step", settings.longest_step, 1e-3, 1.0),
        ("temperature_error", settings.temperature_error, 1e-6, 1.0),
        ("spacing", settings.spacing, 1e-3, 0.5),
    ];
    for (name, value, low, high) in limits {
        if !(low..=high).contains(&value) {
            return Err(FreezingError::Setting {
                reason: format!("{name} is {value}, outside {low} to {high}"),
            });
        }
    }
    Ok(())
}

/// The start of a step, to which the calculation can go back.
pub(super) struct Past {
    pub point: StepPoint,
    pub active: Vec<usize>,
    pub mark: Mark,
}

pub(super) struct ScheilRun<'a> {
    pub pool: Pool<'a>,
    pub settings: &'a Settings,
    pub alloy: &'a Alloy,
    /// Saturated solids that grow.
    pub active: Vec<usize>,
    pub ledger: Ledger,
    /// The start of every step so far.
    pub history: Vec<Past>,
    pub searched_at: f64,
    /// Clock and temperature at which each solid that does not grow is looked at again.
    pub due: Vec<(f64, f64)>,
}

impl<'a> ScheilRun<'a> {
    fn new(pool: Pool<'a>, settings: &'a Settings, alloy: &'a Alloy, liquidus: f64) -> Self {
        let due = vec![(0.0, f64::INFINITY); pool.solids.len()];
        Self {
            pool,
            settings,
            alloy,
            active: Vec::new(),
            ledger: Ledger::new(liquidus, &alloy.fractions),
            history: Vec::new(),
            searched_at: liquidus,
            due,
        }
    }

    /// Follows the liquid from the liquidus to the end.
    fn solidify(&mut self, state: StepState, first: usize) -> Result<(), &'static str> {
        let end = -self.settings.last_liquid.ln();
        let mut here = self.restart(state, &[first])?;
        let mut h = FIRST_STEP;
        for _ in 0..MOST_STEPS {
            if self.active.len() == self.alloy.symbols.len() {
                self.ledger.freeze_rest(&self.pool, &self.active, &here);
                return Ok(());
            }
            if end - here.state.clock < 1e-9 {
                return Ok(());
            }
            h = h.min(self.settings.longest_step).min(end - here.state.clock);
            self.history.push(Past {
                point: here.clone(),
                active: self.active.clone(),
                mark: self.ledger.mark(),
            });
            let (taken, length) = self.step(&here, h)?;
            let grow = 0.9 * taken.error.max(1e-6).powf(-0.2);
            let next_length = length * grow.clamp(0.3, 3.0);
            (here, h) = self.settle(here, taken, length, next_length)?;
            if here.state.temperature < COLDEST {
                return Err("the temperature fell below 25 °C, where the data end");
            }
        }
        Err("too many steps")
    }

    /// A step of at most `h` within the allowed error, and its length.
    fn step(&mut self, here: &StepPoint, mut h: f64) -> Result<(Taken, f64), &'static str> {
        let allowed = self.settings.temperature_error;
        while h > SHORTEST_STEP {
            match step::attempt(&mut self.pool, here, &self.active, h, allowed) {
                Some(taken) if taken.error <= 1.0 => return Ok((taken, h)),
                Some(taken) => h *= (0.9 * taken.error.powf(-0.2)).clamp(0.1, 0.7),
                None => h *= 0.3,
            }
            self.return_to(here);
        }
        Err("no step is short enough for the growing phases to stay saturated")
    }

    /// Puts the growing solids back to their compositions at `here`; a step tried from there has moved them.
    pub(super) fn return_to(&mut self, here: &StepPoint) {
        for (&index, sites) in self.active.iter().zip(&here.sites) {
            self.pool.solids[index].y.clone_from(sites);
        }
    }

    /// Looks at the end of a step for solids that join or drop out, shortens the step to that event and records it.
    fn settle(
        &mut self,
        here: StepPoint,
        taken: Taken,
        length: f64,
        next: f64,
    ) -> Result<(StepPoint, f64), &'static str> {
        let fresh = self.searched_at - taken.point.state.temperature > FRESH_SEARCH;
        let joining = self.supersaturated(&taken.point, fresh);
        if fresh {
            self.searched_at = taken.point.state.temperature;
        }
        let shrinking = self.first_shrinking(&here, &taken.point);
        if joining.is_empty() && shrinking.is_none() {
            self.ledger.record(&self.active, &here, &taken, self.settings.spacing)?;
            return Ok((taken.point, next));
        }
        let mut at = 1.0;
        let mut joined = None;
        for index in joining {
            let part = self.locate(&here, &taken.point, index)?;
            if part == 0.0
                && let Some(earlier) = self.go_back(index)
            {
                return Ok((earlier, FIRST_STEP));
            }
            if part < at || joined.is_none() {
                at = part;
                joined = Some(index);
            }
        }
        if let Some((_, part)) = shrinking
            && part < at
        {
            at = part;
            joined = None;
        }
        let mut state = here.state.clone();
        let to_event = length * at;
        let before = self.active.clone();
        if to_event > SHORTEST_STEP {
            let reached = self.reach(&here, to_event, joined)?;
            self.ledger.record(&self.active, &here, &reached, self.settings.spacing)?;
            state = reached.point.state;
        }
        let mut candidates = self.active.clone();
        match joined {
            Some(index) => candidates.push(index),
            None => {
                if let Some((index, _)) = shrinking {
                    candidates.retain(|&s| s != index);
                }
            }
        }
        let point = self.restart(state, &candidates)?;
        if to_event <= SHORTEST_STEP && same(&self.active, &before) {
            // The phase is only just saturated and does not grow from here: the step stands as it was taken.
            self.active = before;
            self.return_to(&taken.point);
            self.ledger.record(&self.active, &here, &taken, self.settings.spacing)?;
            return Ok((taken.point, next));
        }
        Ok((point, FIRST_STEP.min(next)))
    }

    /// Chooses the growing solids at `state` out of `candidates` and notes new ones.
    fn restart(&mut self, state: StepState, candidates: &[usize]) -> Result<StepPoint, &'static str> {
        if !self.pool.evaluate(&state.moles, state.temperature) {
            return Err("the liquid left the range of composition and temperature");
        }
        for &index in candidates {
            if !self.pool.follow(index) {
                return Err("no composition was found for a growing phase");
            }
        }
        let (active, rates) =
            self.pool.choose(candidates).ok_or("no set of phases was found that can grow together")?;
        for &index in &active {
            self.ledger.welcome(index, &state);
        }
        self.active = active;
        self.due.fill((0.0, f64::INFINITY));
        let mut point = StepPoint::here(&self.pool, state, &self.active, rates);
        point.changed = true;
        Ok(point)
    }
}

/// Whether two lists name the same solids.
fn same(a: &[usize], b: &[usize]) -> bool {
    a.len() == b.len() && a.iter().all(|index| b.contains(index))
}
