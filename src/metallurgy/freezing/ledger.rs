//! Book-keeping of a freezing calculation: the curve, what each phase took up, what is left. Nothing is solved here.

use super::alloy::Alloy;
use super::outcome::{Freezing, FrozenPhase, PathPoint, ZERO_CELSIUS};
use super::pool::Pool;
use super::step::{self, StepPoint, StepState, Taken};

/// A solid that formed: its index, first temperature in kelvin, moles of each element taken up.
type Formed = (usize, f64, Vec<f64>);

pub(crate) struct Ledger {
    liquidus: f64,
    path: Vec<PathPoint>,
    /// In order of appearance.
    formed: Vec<Formed>,
    eutectic_share: f64,
    invariant_share: f64,
    /// Moles in the liquid that is left.
    left: Vec<f64>,
}

/// The state of the books at one moment.
pub(crate) struct Mark {
    points: usize,
    formed: Vec<Formed>,
    eutectic_share: f64,
    left: Vec<f64>,
}

impl Ledger {
    /// Books of one mole of metal with mole fractions `fractions`, liquid down to `liquidus` (kelvin).
    pub(crate) fn new(liquidus: f64, fractions: &[f64]) -> Self {
        let start = PathPoint { solid_fraction: 0.0, celsius: liquidus - ZERO_CELSIUS };
        Self {
            liquidus,
            path: vec![start],
            formed: Vec::new(),
            eutectic_share: 0.0,
            invariant_share: 0.0,
            left: fractions.to_vec(),
        }
    }

    pub(crate) fn mark(&self) -> Mark {
        Mark {
            points: self.path.len(),
            formed: self.formed.clone(),
            eutectic_share: self.eutectic_share,
            left: self.left.clone(),
        }
    }

    pub(crate) fn back_to(&mut self, mark: Mark) {
        self.path.truncate(mark.points);
        self.formed = mark.formed;
        self.eutectic_share = mark.eutectic_share;
        self.left = mark.left;
    }

    /// Opens an account for a solid that grows from `state` on, if it has none.
    pub(crate) fn welcome(&mut self, index: usize, state: &StepState) {
        if self.formed.iter().any(|(s, ..)| *s == index) {
            return;
        }
        if self.formed.len() == 1 {
            self.eutectic_share = state.moles.iter().sum();
        }
        self.formed.push((index, state.temperature, vec![0.0; state.moles.len()]));
    }

    /// Adds a step to the curve, with points `spacing` apart in the clock, and to the contents of the phases.
    ///
    /// Fails if the temperature rises, which it cannot while metal freezes.
    pub(crate) fn record(
        &mut self,
        active: &[usize],
        from: &StepPoint,
        taken: &Taken,
        spacing: f64,
    ) -> Result<(), &'static str> {
        if taken.point.state.temperature > from.state.temperature + step::LATE {
            return Err("the temperature would rise while the metal freezes");
        }
        let n = from.state.moles.len();
        for (&index, deposit) in active.iter().zip(taken.deposits.chunks_exact(n)) {
            if let Some((.., content)) = self.formed.iter_mut().find(|(s, ..)| *s == index) {
                content.iter_mut().zip(deposit).for_each(|(c, d)| *c += d);
            }
        }
        let span = taken.point.state.clock - from.state.clock;
        let points = (span / spacing).ceil().max(1.0);
        let mut part = 0.0;
        while part < points {
            part += 1.0;
            let (clock, temperature) = from.instant_between(&taken.point, part / points);
            self.add_point(1.0 - (-clock).exp(), temperature);
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
    pub(crate) fn freeze_rest(&mut self, pool: &Pool, active: &[usize], here: &StepPoint) {
        let liquid: f64 = here.state.moles.iter().sum();
        for (&index, growth) in active.iter().zip(&here.rates.growth) {
            if let Some((.., content)) = self.formed.iter_mut().find(|(s, ..)| *s == index) {
                let taken = pool.solids[index].amounts.iter();
                content.iter_mut().zip(taken).for_each(|(c, n)| *c += liquid * growth * n);
            }
        }
        self.invariant_share = liquid;
        self.left.fill(0.0);
        self.add_point(1.0, here.state.temperature);
    }

    pub(crate) fn outcome(&self, pool: &Pool, alloy: &Alloy) -> Freezing {
        let mut phases: Vec<FrozenPhase> = Vec::new();
        for (index, start, content) in &self.formed {
            let name = pool.solids[*index].model.name;
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
            (found + self.left[k] - alloy.fractions[k]).abs()
        });
        Freezing {
            liquidus_celsius: self.liquidus - ZERO_CELSIUS,
            end_celsius: self.path.last().map_or(f64::NAN, |p| p.celsius),
            path: self.path.clone(),
            phases,
            eutectic_share: self.eutectic_share,
            invariant_share: self.invariant_share,
            last_liquid: self.left.iter().sum(),
            elements: alloy.symbols.clone(),
            left_out: alloy.left_out.clone(),
            balance_residual: residual.fold(0.0, f64::max),
        }
    }
}
