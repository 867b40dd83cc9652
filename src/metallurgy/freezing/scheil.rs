//! Freezing after Scheil and Gulliver: no diffusion in the solid, equilibrium at the interface, liquid always mixed.
//!
//! G. H. Gulliver, J. Inst. Met. 9 (1913) 120–157; E. Scheil, Z. Metallkunde 34 (1942) 70–72. Solids that are saturated
//! grow so that they stay saturated while the liquid fraction falls; a solid joins when its driving force reaches zero
//! and drops out when it would have to dissolve.

use super::alloy::Alloy;
use super::database::Database;
use super::outcome::{Freezing, FreezingError, FrozenPhase, PathPoint, Settings, ZERO_CELSIUS};
use super::pool::{Pool, SATURATED};
use super::step::{self, Point, State, Taken};

const FIRST_STEP: f64 = 0.05;
/// Error, over the allowed one, of a step cut short at an event; such a step lies within one that was good.
const REACH_ERROR: f64 = 10.0;
/// Part of the way to saturation after which a solid is looked at again, and the longest wait in the clock.
const PART_OF_WAY: f64 = 0.35;
const LONGEST_WAIT: f64 = 0.8;
/// Wait in the clock before a solid without a minimum of its own is looked for again.
const WAIT_FOR_MINIMUM: f64 = 0.1;
/// Distance from saturation, in RT per mole of atoms, within which a solid is looked at after every step.
const NEARBY: f64 = 0.02;
const SHORTEST_STEP: f64 = 1e-9;
const MOST_STEPS: usize = 4000;
/// The models of an alloy hold down to room temperature.
const COLDEST: f64 = 298.15;
/// Fall of temperature after which every solid is searched afresh for a lower minimum of its energy, in kelvin.
const FRESH_SEARCH: f64 = 40.0;

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
    let state = State { moles: alloy.fractions.clone(), temperature, clock: 0.0 };
    let mut run = Run::new(pool, settings, &alloy, temperature);
    match run.solidify(state, first) {
        Ok(()) => Ok(run.outcome()),
        Err(reason) => {
            let known = run.outcome();
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

struct Run<'a> {
    pool: Pool<'a>,
    settings: &'a Settings,
    alloy: &'a Alloy,
    liquidus: f64,
    /// Saturated solids that grow.
    active: Vec<usize>,
    path: Vec<PathPoint>,
    /// Solids in order of appearance: index, first temperature, moles of each element taken up.
    formed: Vec<(usize, f64, Vec<f64>)>,
    eutectic_share: f64,
    invariant_share: f64,
    /// Moles in the liquid that is left.
    left: Vec<f64>,
    searched_at: f64,
    /// Clock and temperature at which each solid that does not grow is looked at again.
    due: Vec<(f64, f64)>,
}

impl<'a> Run<'a> {
    fn new(pool: Pool<'a>, settings: &'a Settings, alloy: &'a Alloy, liquidus: f64) -> Self {
        let start = PathPoint { solid_fraction: 0.0, celsius: liquidus - ZERO_CELSIUS };
        let due = vec![(0.0, f64::INFINITY); pool.solids.len()];
        Self {
            pool,
            settings,
            alloy,
            liquidus,
            active: Vec::new(),
            path: vec![start],
            formed: Vec::new(),
            eutectic_share: 0.0,
            invariant_share: 0.0,
            left: alloy.fractions.clone(),
            searched_at: liquidus,
            due,
        }
    }

    /// Follows the liquid from the liquidus to the end.
    fn solidify(&mut self, state: State, first: usize) -> Result<(), &'static str> {
        let end = -self.settings.last_liquid.ln();
        let mut here = self.restart(state, &[first])?;
        let mut h = FIRST_STEP;
        for _ in 0..MOST_STEPS {
            if self.active.len() == self.alloy.symbols.len() {
                self.freeze_rest(&here);
                return Ok(());
            }
            if end - here.state.clock < 1e-9 {
                return Ok(());
            }
            h = h.min(self.settings.longest_step).min(end - here.state.clock);
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
    fn step(&mut self, here: &Point, mut h: f64) -> Result<(Taken, f64), &'static str> {
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
    fn return_to(&mut self, here: &Point) {
        for (&index, sites) in self.active.iter().zip(&here.sites) {
            self.pool.solids[index].y.clone_from(sites);
        }
    }

    /// Looks at the end of a step for solids that join or drop out, shortens the step to that event and records it.
    fn settle(
        &mut self,
        here: Point,
        taken: Taken,
        length: f64,
        next: f64,
    ) -> Result<(Point, f64), &'static str> {
        let fresh = self.searched_at - taken.point.state.temperature > FRESH_SEARCH;
        let joining = self.supersaturated(&taken.point, fresh);
        if fresh {
            self.searched_at = taken.point.state.temperature;
        }
        let shrinking = self.first_shrinking(&here, &taken.point);
        if joining.is_empty() && shrinking.is_none() {
            self.record(&here, &taken)?;
            return Ok((taken.point, next));
        }
        let mut at = 1.0;
        let mut joined = None;
        for index in joining {
            let part = self.locate(&here, &taken.point, index)?;
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
            self.record(&here, &reached)?;
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
            self.record(&here, &taken)?;
            return Ok((taken.point, next));
        }
        Ok((point, FIRST_STEP.min(next)))
    }

    /// A step of `length` to an event, corrected until solid `joining` is just saturated at its end.
    fn reach(
        &mut self,
        here: &Point,
        mut length: f64,
        joining: Option<usize>,
    ) -> Result<Taken, &'static str> {
        const MISSED: &str = "the state where a phase joins or drops out was not reached";
        let allowed = self.settings.temperature_error;
        let mut taken = None;
        for _ in 0..6 {
            self.return_to(here);
            let reached = step::attempt(&mut self.pool, here, &self.active, length, allowed).ok_or(MISSED)?;
            if reached.error > REACH_ERROR {
                return Err(MISSED);
            }
            let Some(index) = joining else {
                return Ok(reached);
            };
            if !self.pool.follow(index) {
                return Err(MISSED);
            }
            let excess = self.pool.supersaturation(index);
            let rate = self.pool.saturation_rate(index, &self.active, &reached.point.rates);
            taken = Some(reached);
            let shift = excess / rate;
            if excess.abs() < SATURATED || rate <= 0.0 || shift >= length || shift < -length {
                break;
            }
            length -= shift;
        }
        taken.ok_or(MISSED)
    }

    /// Solids, other than the active ones, that the liquid last evaluated, at `point`, is supersaturated with.
    ///
    /// A solid far from saturation is looked at again only after a part of the way to saturation that its present rate
    /// of approach leaves.
    fn supersaturated(&mut self, point: &Point, fresh: bool) -> Vec<usize> {
        let State { clock, temperature, .. } = point.state;
        let mut found = Vec::new();
        for index in 0..self.pool.solids.len() {
            let (later, colder) = self.due[index];
            let waiting = clock < later && temperature > colder;
            if self.active.contains(&index) || (waiting && !fresh) {
                continue;
            }
            let Some(excess) = self.pool.look_at(index, &self.active, fresh) else {
                self.due[index] = (clock + WAIT_FOR_MINIMUM, temperature - FRESH_SEARCH);
                continue;
            };
            if excess > SATURATED {
                found.push(index);
            }
            let rate = self.pool.saturation_rate(index, &self.active, &point.rates);
            let way = if rate > 0.0 { -excess / rate } else { f64::INFINITY };
            let wait = (PART_OF_WAY * way).min(LONGEST_WAIT);
            let far = excess < -NEARBY;
            self.due[index] =
                if far { (clock + wait, temperature - FRESH_SEARCH) } else { (clock, temperature) };
        }
        found
    }

    /// The active solid whose growth first turns negative within a step, and at which part of the step.
    fn first_shrinking(&self, from: &Point, to: &Point) -> Option<(usize, f64)> {
        let mut first: Option<(usize, f64)> = None;
        for (k, &index) in self.active.iter().enumerate() {
            let atoms = self.pool.solids[index].atoms;
            let (before, after) = (from.rates.growth[k] * atoms, to.rates.growth[k] * atoms);
            if after < -1e-9 {
                let part = before.max(0.0) / (before.max(0.0) - after);
                if first.is_none_or(|(_, p)| part < p) {
                    first = Some((index, part));
                }
            }
        }
        first
    }

    /// Part of the step at which solid `index` becomes saturated (Illinois variant of the false position).
    fn locate(&mut self, from: &Point, to: &Point, index: usize) -> Result<f64, &'static str> {
        let value = |part: f64, run: &mut Self| {
            let state = from.between(to, part);
            let good = run.pool.evaluate(&state.moles, state.temperature) && run.pool.follow(index);
            if good {
                Ok(run.pool.supersaturation(index))
            } else {
                Err("the point where a phase joins was not found")
            }
        };
        let (mut low, mut high) = (0.0, 1.0);
        let mut at_low = value(low, self)?;
        let mut at_high = value(high, self)?;
        // A phase that has just dropped out starts at zero, dips and may come back within the same step.
        for _ in 0..10 {
            if at_low < -SATURATED {
                break;
            }
            let part = 0.5 * high;
            let here = value(part, self)?;
            if here < 0.0 {
                (low, at_low) = (part, here);
                break;
            }
            (high, at_high) = (part, here);
        }
        if at_low >= 0.0 {
            return Ok(0.0);
        }
        let mut side = 0;
        for _ in 0..60 {
            if at_high - at_low <= 0.0 || high - low < 1e-10 {
                break;
            }
            let part = (low * at_high - high * at_low) / (at_high - at_low);
            let here = value(part, self)?;
            if here.abs() < 1e-10 {
                return Ok(part);
            }
            if here > 0.0 {
                (high, at_high) = (part, here);
                if side == 1 {
                    at_low *= 0.5;
                }
                side = 1;
            } else {
                (low, at_low) = (part, here);
                if side == -1 {
                    at_high *= 0.5;
                }
                side = -1;
            }
        }
        Ok(high)
    }

    /// Chooses the growing solids at `state` out of `candidates` and notes new ones.
    fn restart(&mut self, state: State, candidates: &[usize]) -> Result<Point, &'static str> {
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
            if !self.formed.iter().any(|(s, ..)| *s == index) {
                if self.formed.len() == 1 {
                    self.eutectic_share = state.moles.iter().sum();
                }
                self.formed.push((index, state.temperature, vec![0.0; state.moles.len()]));
            }
        }
        self.active = active;
        self.due.fill((0.0, f64::INFINITY));
        let mut point = Point::here(&self.pool, state, &self.active, rates);
        point.changed = true;
        Ok(point)
    }

    /// Adds a step to the curve and to the contents of the phases.
    fn record(&mut self, from: &Point, taken: &Taken) -> Result<(), &'static str> {
        if taken.point.state.temperature > from.state.temperature + step::LATE {
            return Err("the temperature would rise while the metal freezes");
        }
        let n = from.state.moles.len();
        for (&index, deposit) in self.active.iter().zip(taken.deposits.chunks_exact(n)) {
            if let Some((.., content)) = self.formed.iter_mut().find(|(s, ..)| *s == index) {
                content.iter_mut().zip(deposit).for_each(|(c, d)| *c += d);
            }
        }
        let span = taken.point.state.clock - from.state.clock;
        let points = (span / self.settings.spacing).ceil().max(1.0);
        let mut part = 0.0;
        while part < points {
            part += 1.0;
            let state = from.between(&taken.point, part / points);
            self.add_point(1.0 - (-state.clock).exp(), state.temperature);
        }
        self.left.clone_from(&taken.point.state.moles);
        Ok(())
    }

    fn add_point(&mut self, solid_fraction: f64, temperature: f64) {
        let lowest = self.path.last().map_or(f64::INFINITY, |p| p.celsius);
        let celsius = temperature - ZERO_CELSIUS;
        self.path.push(PathPoint { solid_fraction, celsius: celsius.min(lowest) });
    }

    /// The invariant reaction: as many solids as elements grow at one temperature until the liquid is gone.
    fn freeze_rest(&mut self, here: &Point) {
        let liquid: f64 = here.state.moles.iter().sum();
        for (k, &index) in self.active.iter().enumerate() {
            let amount = liquid * here.rates.growth[k];
            if let Some((.., content)) = self.formed.iter_mut().find(|(s, ..)| *s == index) {
                let taken = self.pool.solids[index].amounts.iter();
                content.iter_mut().zip(taken).for_each(|(c, n)| *c += amount * n);
            }
        }
        self.invariant_share = liquid;
        self.left.fill(0.0);
        self.add_point(1.0, here.state.temperature);
    }

    fn outcome(&self) -> Freezing {
        let last_liquid: f64 = self.left.iter().sum();
        let mut phases: Vec<FrozenPhase> = Vec::new();
        for (index, start, content) in &self.formed {
            let name = self.pool.solids[*index].model.name;
            // Both compositions of a phase that separated are one phase here.
            if let Some(known) = phases.iter_mut().find(|p| p.name == name) {
                known.mean_composition.iter_mut().zip(content).for_each(|(a, b)| *a += b);
            } else {
                phases.push(FrozenPhase {
                    name: name.to_string(),
                    start_celsius: start - ZERO_CELSIUS,
                    share: 0.0,
                    mean_composition: content.clone(),
                });
            }
        }
        for phase in &mut phases {
            phase.share = phase.mean_composition.iter().sum();
            let share = phase.share.max(f64::MIN_POSITIVE);
            phase.mean_composition.iter_mut().for_each(|c| *c /= share);
        }
        let residual = (0..self.left.len()).map(|k| {
            let found: f64 = self.formed.iter().map(|(.., content)| content[k]).sum();
            (found + self.left[k] - self.alloy.fractions[k]).abs()
        });
        Freezing {
            liquidus_celsius: self.liquidus - ZERO_CELSIUS,
            end_celsius: self.path.last().map_or(f64::NAN, |p| p.celsius),
            path: self.path.clone(),
            phases,
            eutectic_share: self.eutectic_share,
            invariant_share: self.invariant_share,
            last_liquid,
            elements: self.alloy.symbols.clone(),
            left_out: self.alloy.left_out.clone(),
            balance_residual: residual.fold(0.0, f64::max),
        }
    }
}

/// Whether two lists name the same solids.
fn same(a: &[usize], b: &[usize]) -> bool {
    a.len() == b.len() && a.iter().all(|index| b.contains(index))
}
