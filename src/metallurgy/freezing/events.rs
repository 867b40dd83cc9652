//! Events while metal freezes: solids that become saturated or stop growing, and the state at which they do.

use super::pool::SATURATED;
use super::scheil::{FRESH_SEARCH, ScheilRun};
use super::step::{self, StepPoint, StepState, Taken};

/// Supersaturation, in RT per mole of atoms, of a solid that should have been noticed before.
const LATE_EXCESS: f64 = 1e-5;
/// Part of the way to saturation after which a solid is looked at again, and the longest wait in the clock.
const PART_OF_WAY: f64 = 0.35;
const LONGEST_WAIT: f64 = 0.8;
/// Wait in the clock before a solid without a minimum of its own is looked for again.
const WAIT_FOR_MINIMUM: f64 = 0.3;
/// Distance from saturation, in RT per mole of atoms, within which a solid is looked at after every step.
const NEARBY: f64 = 0.02;
/// Error, over the allowed one, of a step cut short at an event; such a step lies within one that was good.
const REACH_ERROR: f64 = 10.0;

impl ScheilRun<'_> {
    /// For solid `index`, found supersaturated late because another minimum of its energy came forward: returns to the last
    /// step at whose start it was not, and from now on follows this minimum only. None if it is not late.
    pub(super) fn go_back(&mut self, index: usize) -> Option<StepPoint> {
        let sites = self.pool.solids[index].y.clone();
        for k in (0..self.history.len()).rev() {
            let state = &self.history[k].point.state;
            let settled = self.pool.evaluate(&state.moles, state.temperature) && self.pool.follow(index);
            if !settled || self.pool.solids[index].is_pinned() {
                break;
            }
            let excess = self.pool.supersaturation(index);
            if k + 1 == self.history.len() && excess < LATE_EXCESS {
                break;
            }
            if excess < 0.0 {
                self.pool.solids[index].pin();
                self.history.truncate(k + 1);
                let past = self.history.pop()?;
                self.active = past.active;
                self.ledger.back_to(past.mark);
                self.return_to(&past.point);
                self.due.fill((0.0, f64::INFINITY));
                return Some(past.point);
            }
        }
        self.pool.solids[index].y = sites;
        None
    }

    /// A step of `length` to an event, corrected until solid `joining` is just saturated at its end.
    pub(super) fn reach(
        &mut self,
        here: &StepPoint,
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
    pub(super) fn supersaturated(&mut self, point: &StepPoint, fresh: bool) -> Vec<usize> {
        let StepState { clock, temperature, .. } = point.state;
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
    pub(super) fn first_shrinking(&self, from: &StepPoint, to: &StepPoint) -> Option<(usize, f64)> {
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
    pub(super) fn locate(
        &mut self,
        from: &StepPoint,
        to: &StepPoint,
        index: usize,
    ) -> Result<f64, &'static str> {
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
}
