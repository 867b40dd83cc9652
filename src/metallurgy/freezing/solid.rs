//! One solid phase facing a liquid: the composition it would freeze with, and the driving force for it.
//!
//! For given chemical potentials μ the solid takes the site fractions that minimise F(y) = G(y) − Σ μ_i n_i(y); its
//! driving force is −F. By the envelope theorem ∂(−F)/∂μ_i = n_i and ∂(−F)/∂T = −∂G/∂T, both exact at the minimum.

use super::expression::Basis;
use super::gibbs::{GAS_CONSTANT, PhaseModel};
use super::linear;

/// Relative change of a site fraction at which Newton's next step would change nothing (its error is the square).
pub(super) const SETTLED: f64 = 3e-4;
/// Most sublattices for the faster way of Newton's step.
const MOST_GROUPS: usize = 4;
/// Penalty on the sum of a sublattice, in J per mole of sites; more than interactions reach, RT/y being 7 kJ and more.
const PENALTY: f64 = 1e6;
pub(super) const MOST_ITERATIONS: usize = 80;
pub(super) const SMALLEST: f64 = 1e-200;

/// A solid phase with the last composition found for it.
#[derive(Debug, Clone)]
pub(crate) struct Solid<'a> {
    pub model: PhaseModel<'a>,
    /// Temperature in kelvin that `values` and `slopes` hold for.
    heated_to: f64,
    pub values: Vec<f64>,
    slopes: Vec<f64>,
    pub y: Vec<f64>,
    /// The most favourable end member when the minimum was last searched.
    pub home: usize,
    /// Whether only the present minimum is followed.
    pub pinned: bool,
    pub trial: Vec<f64>,
    pub gradient: Vec<f64>,
    pub second: Vec<f64>,
    factored: Vec<f64>,
    matrix: Vec<f64>,
    pub step: Vec<f64>,
    /// Moles of each element per mole of formula units.
    pub amounts: Vec<f64>,
    /// Moles of atoms per mole of formula units.
    pub atoms: f64,
    /// Driving force in J per mole of formula units; positive when the liquid is supersaturated.
    pub drive: f64,
    /// ∂G/∂T at fixed site fractions, J/(mol K).
    pub energy_slope: f64,
}

impl<'a> Solid<'a> {
    pub(crate) fn new(model: PhaseModel<'a>) -> Self {
        let n = model.variables.len();
        let size = n + model.groups.len();
        let coefficients = model.coefficient_count();
        Self {
            heated_to: 0.0,
            values: vec![0.0; coefficients],
            slopes: vec![0.0; coefficients],
            y: vec![0.0; n],
            home: 0,
            pinned: false,
            trial: vec![0.0; n],
            gradient: vec![0.0; n],
            second: vec![0.0; n * n],
            factored: vec![0.0; n * n],
            matrix: vec![0.0; size * size],
            step: vec![0.0; size],
            amounts: model.fixed.clone(),
            atoms: model.fixed.iter().sum(),
            drive: f64::NEG_INFINITY,
            energy_slope: 0.0,
            model,
        }
    }

    /// Driving force in units of RT per mole of atoms.
    pub(crate) fn supersaturation(&self, temperature: f64) -> f64 {
        self.drive / (GAS_CONSTANT * temperature * self.atoms.max(1e-9))
    }

    /// Takes over the temperature `basis` was evaluated at (kelvin).
    pub(super) fn heat_to(&mut self, temperature: f64, basis: &Basis) {
        if self.heated_to.to_bits() != temperature.to_bits() {
            self.heated_to = temperature;
            self.model.coefficients(temperature, basis, &mut self.values, &mut self.slopes);
        }
    }

    /// Gradient and second derivatives of F at the present site fractions; returns F.
    pub(super) fn derivatives(&mut self, temperature: f64, potential: &[f64]) -> f64 {
        let rt = GAS_CONSTANT * temperature;
        let n = self.y.len();
        self.gradient.fill(0.0);
        self.second.fill(0.0);
        let mut f = self.model.accumulate(&self.y, &self.values, &mut self.gradient, Some(&mut self.second));
        for (k, v) in self.model.variables.iter().enumerate() {
            let y = self.y[k].max(SMALLEST);
            let mu = v.component.map_or(0.0, |c| potential[c]);
            let ln = y.ln();
            f += v.sites * y * (rt * ln - mu);
            self.gradient[k] += v.sites * (rt * (ln + 1.0) - mu);
            self.second[k * n + k] += v.sites * rt / y;
        }
        f - self.model.fixed.iter().zip(potential).map(|(n, mu)| n * mu).sum::<f64>()
    }

    /// Newton step on F under the condition that each sublattice is full; false when the matrix is singular.
    pub(super) fn newton(&mut self) -> bool {
        self.newton_where_convex() || self.newton_in_general()
    }

    /// Newton step by factoring the second derivatives, if they are positive definite under the conditions.
    fn newton_where_convex(&mut self) -> bool {
        let n = self.y.len();
        let groups = self.model.groups.len();
        if groups > MOST_GROUPS {
            return false;
        }
        self.factored.copy_from_slice(&self.second);
        // Full sublattices stay full, so a penalty on their sums changes nothing but the multipliers of the conditions;
        // without it most energies are not convex in that direction, and the slower way would be taken.
        for &(from, to) in &self.model.groups {
            let penalty = PENALTY * self.model.variables[from].sites;
            for row in self.factored[from * n..to * n].chunks_exact_mut(n) {
                for value in &mut row[from..to] {
                    *value += penalty;
                }
            }
        }
        if !linear::factor(&mut self.factored, n) {
            return false;
        }
        // With the conditions C and H = L·Lᵀ, all that is needed of H⁻¹·C is V = L⁻¹·C: C·H⁻¹·Cᵀ is Vᵀ·V.
        let columns = &mut self.matrix[..groups * n];
        columns.fill(0.0);
        for (column, &(from, to)) in columns.chunks_exact_mut(n).zip(&self.model.groups) {
            column[from..to].fill(1.0);
            linear::forward(&self.factored, column);
        }
        let step = &mut self.step[..n];
        for (step, gradient) in step.iter_mut().zip(&self.gradient) {
            *step = -gradient;
        }
        linear::forward(&self.factored, step);
        let mut conditions = [0.0; MOST_GROUPS * MOST_GROUPS];
        let mut excess = [0.0; MOST_GROUPS];
        let product = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).map(|(x, y)| x * y).sum() };
        for (g, (&(from, to), row)) in self.model.groups.iter().zip(columns.chunks_exact(n)).enumerate() {
            for (h, column) in columns.chunks_exact(n).enumerate() {
                conditions[g * groups + h] = product(row, column);
            }
            let lacking = 1.0 - self.y[from..to].iter().sum::<f64>();
            excess[g] = product(row, step) - lacking;
        }
        if !linear::solve(&mut conditions[..groups * groups], &mut excess[..groups]) {
            return false;
        }
        for (multiplier, column) in excess[..groups].iter().zip(columns.chunks_exact(n)) {
            for (step, part) in step.iter_mut().zip(column) {
                *step -= multiplier * part;
            }
        }
        linear::backward(&self.factored, step);
        true
    }

    /// Newton step by elimination on derivatives and conditions together.
    fn newton_in_general(&mut self) -> bool {
        let n = self.y.len();
        let size = n + self.model.groups.len();
        self.matrix.fill(0.0);
        for row in 0..n {
            self.matrix[row * size..row * size + n].copy_from_slice(&self.second[row * n..(row + 1) * n]);
            self.step[row] = -self.gradient[row];
        }
        for (g, &(from, to)) in self.model.groups.iter().enumerate() {
            for k in from..to {
                self.matrix[k * size + n + g] = 1.0;
                self.matrix[(n + g) * size + k] = 1.0;
            }
            self.step[n + g] = 1.0 - self.y[from..to].iter().sum::<f64>();
        }
        linear::solve(&mut self.matrix, &mut self.step)
    }

    /// Follows the minimum of F from the present site fractions, for a small change of the liquid.
    ///
    /// Returns false when Newton's method does not settle.
    pub(crate) fn follow(&mut self, temperature: f64, potential: &[f64], basis: &Basis) -> bool {
        self.heat_to(temperature, basis);
        let n = self.y.len();
        for _ in 0..MOST_ITERATIONS {
            let f = self.derivatives(temperature, potential);
            if n == 0 {
                return self.conclude(f);
            }
            if !self.newton() {
                return false;
            }
            let mut largest: f64 = 0.0;
            for k in 0..n {
                largest = largest.max((self.step[k] / self.y[k]).abs());
            }
            if !largest.is_finite() {
                return false;
            }
            if largest < SETTLED {
                let gain: f64 = (0..n).map(|k| 0.5 * self.gradient[k] * self.step[k]).sum();
                for k in 0..n {
                    self.y[k] += self.step[k];
                }
                return self.conclude(f + gain);
            }
            if largest < 0.5 {
                for k in 0..n {
                    self.y[k] += self.step[k];
                }
            } else {
                self.move_relatively(1.0);
                self.y.copy_from_slice(&self.trial);
            }
        }
        false
    }

    fn conclude(&mut self, f: f64) -> bool {
        self.drive = -f;
        self.amounts.copy_from_slice(&self.model.fixed);
        let mut entropy = 0.0;
        for (v, &y) in self.model.variables.iter().zip(&self.y) {
            if let Some(c) = v.component {
                self.amounts[c] += v.sites * y;
            }
            entropy += v.sites * y * y.max(SMALLEST).ln();
        }
        self.atoms = self.amounts.iter().sum();
        self.energy_slope = self.model.value(&self.y, &self.slopes) + GAS_CONSTANT * entropy;
        f.is_finite()
    }

    /// Follows only the present minimum from now on.
    pub(crate) fn pin(&mut self) {
        self.pinned = true;
    }

    pub(crate) fn is_pinned(&self) -> bool {
        self.pinned
    }
}
