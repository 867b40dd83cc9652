//! One step of freezing: an embedded Runge–Kutta pair along the saturation surface. What to do at its end is in `scheil`.

use super::pool::{Pool, Rates};

const STAGES: usize = 7;

/// Coefficients of J. R. Dormand and P. J. Prince, J. Comput. Appl. Math. 6 (1980) 19–26, order 5 with error of order 4.
const A: [[f64; 6]; STAGES] = [
    [0.0; 6],
    [1.0 / 5.0, 0.0, 0.0, 0.0, 0.0, 0.0],
    [3.0 / 40.0, 9.0 / 40.0, 0.0, 0.0, 0.0, 0.0],
    [44.0 / 45.0, -56.0 / 15.0, 32.0 / 9.0, 0.0, 0.0, 0.0],
    [19372.0 / 6561.0, -25360.0 / 2187.0, 64448.0 / 6561.0, -212.0 / 729.0, 0.0, 0.0],
    [9017.0 / 3168.0, -355.0 / 33.0, 46732.0 / 5247.0, 49.0 / 176.0, -5103.0 / 18656.0, 0.0],
    [35.0 / 384.0, 0.0, 500.0 / 1113.0, 125.0 / 192.0, -2187.0 / 6784.0, 11.0 / 84.0],
];
const ERROR: [f64; STAGES] =
    [71.0 / 57600.0, 0.0, -71.0 / 16695.0, 71.0 / 1920.0, -17253.0 / 339200.0, 22.0 / 525.0, -1.0 / 40.0];

/// Most that the temperature may have to be corrected for a solid that was noticed late, in kelvin.
pub(crate) const LATE: f64 = 0.5;

/// Relative error of the moles of an element in the liquid that one step may add.
const MOLE_ERROR: f64 = 5e-5;

/// Mole fraction below which an element is so rare in the liquid that its own error matters less and less.
const RARE: f64 = 1e-5;

/// Mole fraction below which an element counts as gone from the liquid: for the next step it is held there, out of reach
/// of underflow.
const EXHAUSTED: f64 = 1e-12;

/// Liquid and temperature at one instant; the clock is −ln(liquid fraction).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StepState {
    /// Moles of each element in the liquid, of one mole of metal.
    pub moles: Vec<f64>,
    /// Kelvin.
    pub temperature: f64,
    /// −ln(liquid fraction by moles of atoms).
    pub clock: f64,
}

/// A state, the growth rates there and the slopes with the clock.
///
/// The moles are followed by their logarithms: with constant partition coefficients these are straight lines, and an
/// element that the solids drain to a trace stays positive without short steps.
#[derive(Debug, Clone)]
pub(crate) struct StepPoint {
    pub state: StepState,
    pub rates: Rates,
    /// Slopes of the logarithms of the moles, then of the temperature.
    pub slopes: Vec<f64>,
    /// Moles of each element that each active solid takes up per unit of the clock: one row for each solid.
    pub uptake: Vec<f64>,
    /// Site fractions of the active solids.
    pub sites: Vec<Vec<f64>>,
    /// Whether a solid has just joined or dropped out here.
    pub changed: bool,
}

/// A finished step.
pub(crate) struct Taken {
    pub point: StepPoint,
    /// Moles of each element that each active solid took up: one row for each solid.
    pub deposits: Vec<f64>,
    /// Estimated error over allowed error.
    pub error: f64,
}

impl StepPoint {
    /// Rates and slopes where the pool was evaluated last, which must be `state`.
    pub(crate) fn here(pool: &Pool, state: StepState, active: &[usize], rates: Rates) -> Self {
        let gone = exhausted(&state.moles);
        let (slopes, uptake) = slopes(pool, active, &rates, &state.moles, &gone);
        Self {
            state,
            rates,
            slopes,
            uptake,
            sites: active.iter().map(|&s| pool.solids[s].y.clone()).collect(),
            changed: false,
        }
    }

    /// The state at a part (0 to 1) of the way to `end`, by the cubic through both ends and their slopes.
    pub(crate) fn between(&self, end: &Self, part: f64) -> StepState {
        let span = end.state.clock - self.state.clock;
        let moles = (0..self.state.moles.len()).map(|k| {
            let (a, b) = (self.state.moles[k].ln(), end.state.moles[k].ln());
            cubic(part, span, [a, b], [self.slopes[k], end.slopes[k]]).exp()
        });
        let (clock, temperature) = self.instant_between(end, part);
        StepState { moles: moles.collect(), temperature, clock }
    }

    /// Clock and temperature of [`StepPoint::between`].
    pub(crate) fn instant_between(&self, end: &Self, part: f64) -> (f64, f64) {
        let span = end.state.clock - self.state.clock;
        let n = self.state.moles.len();
        let ends = [self.state.temperature, end.state.temperature];
        (self.state.clock + span * part, cubic(part, span, ends, [self.slopes[n], end.slopes[n]]))
    }
}

/// The cubic through two values with two slopes, `span` apart, at part `s` of the way.
fn cubic(s: f64, span: f64, [a, b]: [f64; 2], [slope_a, slope_b]: [f64; 2]) -> f64 {
    let (h00, h10) = ((1.0 + 2.0 * s) * (1.0 - s) * (1.0 - s), s * (1.0 - s) * (1.0 - s));
    let (h01, h11) = (s * s * (3.0 - 2.0 * s), s * s * (s - 1.0));
    h00 * a + h01 * b + span * (h10 * slope_a + h11 * slope_b)
}

/// Attempts a step of length `h` in the clock; none if a stage leaves the range of the models.
pub(crate) fn attempt(
    pool: &mut Pool,
    from: &StepPoint,
    active: &[usize],
    h: f64,
    temperature_error: f64,
) -> Option<Taken> {
    let n = from.state.moles.len();
    let gone = exhausted(&from.state.moles);
    let mut stages = vec![from.slopes.clone()];
    // The compositions of the solids differ from stage to stage, so what they take up is summed with them.
    let mut uptakes = vec![from.uptake.clone()];
    let mut moles = from.state.moles.clone();
    let mut temperature = from.state.temperature;
    let mut last = None;
    let mut powers = vec![0.0; n];
    for row in A.iter().skip(1) {
        powers.fill(0.0);
        temperature = from.state.temperature;
        for (stage, weight) in stages.iter().zip(row) {
            if *weight != 0.0 {
                for (power, slope) in powers.iter_mut().zip(stage) {
                    *power += h * weight * slope;
                }
                temperature += h * weight * stage[n];
            }
        }
        for ((m, start), power) in moles.iter_mut().zip(&from.state.moles).zip(&powers) {
            *m = start * power.exp();
        }
        if !pool.evaluate(&moles, temperature) || !active.iter().all(|&s| pool.follow(s)) {
            return None;
        }
        let rates = pool.rates(active)?;
        let (slopes, uptake) = slopes(pool, active, &rates, &moles, &gone);
        stages.push(slopes);
        uptakes.push(uptake);
        last = Some(rates);
    }
    let mut error: f64 = 0.0;
    let liquid: f64 = moles.iter().sum();
    for k in 0..=n {
        let e: f64 = stages.iter().zip(ERROR).map(|(stage, weight)| weight * stage[k]).sum();
        let allowed = if k == n { temperature_error } else { MOLE_ERROR * (1.0 + RARE * liquid / moles[k]) };
        error = error.max((h * e / allowed).abs());
    }
    let mut deposits = vec![0.0; active.len() * n];
    for (taken, weight) in uptakes.iter().zip(A[STAGES - 1]) {
        for (deposit, amount) in deposits.iter_mut().zip(taken) {
            *deposit += h * weight * amount;
        }
    }
    let exchange = pool.correction(active)?;
    let mut shift = vec![0.0; n];
    for (&s, &growth) in active.iter().zip(&exchange.growth) {
        for (shift, amount) in shift.iter_mut().zip(&pool.solids[s].amounts) {
            *shift -= liquid * growth * amount;
        }
    }
    for (m, shift) in moles.iter_mut().zip(&shift) {
        *m *= (shift / *m).clamp(-1.0, 1.0).exp();
    }
    share_out(&mut deposits, &from.state.moles, &moles);
    temperature += exchange.cooling;
    // A larger correction means that the step left the saturation surface. Only a solid that was noticed late, because
    // another minimum of its energy came forward, may have to catch up.
    let allowed = if from.changed { LATE } else { 10.0 * temperature_error };
    error = error.max(exchange.cooling.abs() / allowed);
    if moles.iter().any(|&m| m <= 0.0) || !temperature.is_finite() {
        return None;
    }
    let state = StepState { clock: from.state.clock + h, moles, temperature };
    Some(Taken { point: StepPoint::here(pool, state, active, last?), deposits, error })
}

/// Makes what the solids took up of each element equal to what the liquid lost; they differ by the error of the step.
fn share_out(deposits: &mut [f64], before: &[f64], after: &[f64]) {
    let n = before.len();
    for k in 0..n {
        let taken: f64 = deposits[k..].iter().step_by(n).sum();
        if taken > 0.0 {
            let factor = (before[k] - after[k]) / taken;
            deposits[k..].iter_mut().step_by(n).for_each(|d| *d *= factor);
        }
    }
}

/// Which elements have gone from the liquid. This is asked at the start of a step only, so that its stages agree.
fn exhausted(moles: &[f64]) -> Vec<bool> {
    let liquid: f64 = moles.iter().sum();
    moles.iter().map(|m| *m < EXHAUSTED * liquid).collect()
}

/// Slopes with the clock, and what each solid takes up, for growth `rates` where the pool was evaluated last.
fn slopes(
    pool: &Pool,
    active: &[usize],
    rates: &Rates,
    moles: &[f64],
    gone: &[bool],
) -> (Vec<f64>, Vec<f64>) {
    let n = moles.len();
    let liquid: f64 = moles.iter().sum();
    let mut slopes = vec![0.0; n + 1];
    let mut uptake = Vec::with_capacity(active.len() * n);
    for (&s, growth) in active.iter().zip(&rates.growth) {
        for (slope, amount) in slopes.iter_mut().zip(&pool.solids[s].amounts) {
            let taken = liquid * growth * amount;
            *slope -= taken;
            uptake.push(taken);
        }
    }
    for ((slope, m), gone) in slopes.iter_mut().zip(moles).zip(gone) {
        *slope = if *gone { -1.0 } else { *slope / m };
    }
    slopes[n] = rates.cooling;
    (slopes, uptake)
}
