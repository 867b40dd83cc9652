//! One solid phase facing a liquid: the composition it would freeze with, and the driving force for it.
//!
//! For given chemical potentials μ the solid takes the site fractions that minimise F(y) = G(y) − Σ μ_i n_i(y); its
//! driving force is −F. By the envelope theorem ∂(−F)/∂μ_i = n_i and ∂(−F)/∂T = −∂G/∂T, both exact at the minimum.

use super::expression::Basis;
use super::gibbs::{GAS_CONSTANT, PhaseModel};
use super::linear;

/// Relative change of a site fraction at which Newton's next step would change nothing (its error is the square).
const SETTLED: f64 = 3e-4;
/// Sizes up to which the faster way of Newton's step keeps its columns on the stack.
const MOST_GROUPS: usize = 4;
const MOST_VARIABLES: usize = 32;
const MOST_ITERATIONS: usize = 80;
const SMALLEST: f64 = 1e-200;

/// Site fraction below which a constituent does not decide which minimum is reached.
const TRACE: f64 = 1e-8;

/// Rounding of F, in units of RT.
const ROUNDING: f64 = 1e-9;

/// Supersaturation from which a phase is near to forming.
const NEAR: f64 = -0.15;

/// Logarithm of the largest fraction, of the main one, that another constituent has at the start of a search; a start
/// nearer to the middle can miss a separate minimum at the edge.
const LARGEST_MINORITY: f64 = -2.5;

/// Site fractions closer than this belong to the same minimum.
const APART: f64 = 0.03;

/// A solid phase with the last composition found for it.
#[derive(Debug, Clone)]
pub(crate) struct Solid<'a> {
    pub model: PhaseModel<'a>,
    values: Vec<f64>,
    slopes: Vec<f64>,
    pub y: Vec<f64>,
    /// The most favourable end member when the minimum was last searched.
    home: usize,
    trial: Vec<f64>,
    gradient: Vec<f64>,
    second: Vec<f64>,
    factored: Vec<f64>,
    matrix: Vec<f64>,
    step: Vec<f64>,
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
            values: vec![0.0; coefficients],
            slopes: vec![0.0; coefficients],
            y: vec![0.0; n],
            home: 0,
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
    fn heat_to(&mut self, temperature: f64, basis: &Basis) {
        self.model.coefficients(temperature, basis, &mut self.values, &mut self.slopes);
    }

    /// F(y) in J per mole of formula units.
    fn energy(&self, y: &[f64], temperature: f64, potential: &[f64]) -> f64 {
        let rt = GAS_CONSTANT * temperature;
        let mut f = self.model.value(y, &self.values);
        for (v, &y) in self.model.variables.iter().zip(y) {
            let mu = v.component.map_or(0.0, |c| potential[c]);
            f += v.sites * y * (rt * y.max(SMALLEST).ln() - mu);
        }
        f - self.model.fixed.iter().zip(potential).map(|(n, mu)| n * mu).sum::<f64>()
    }

    /// Gradient and second derivatives of F at the present site fractions; returns F.
    fn derivatives(&mut self, temperature: f64, potential: &[f64]) -> f64 {
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
    fn newton(&mut self) -> bool {
        self.newton_where_convex() || self.newton_in_general()
    }

    /// Newton step by factoring the second derivatives, if they are positive definite; the conditions come after.
    fn newton_where_convex(&mut self) -> bool {
        let n = self.y.len();
        let groups = self.model.groups.len();
        if groups > MOST_GROUPS || n > MOST_VARIABLES {
            return false;
        }
        self.factored.copy_from_slice(&self.second);
        if !linear::factor(&mut self.factored, n) {
            return false;
        }
        let mut columns = [[0.0; MOST_VARIABLES]; MOST_GROUPS];
        for (column, &(from, to)) in columns.iter_mut().zip(&self.model.groups) {
            column[from..to].fill(1.0);
            linear::substitute(&self.factored, &mut column[..n]);
        }
        for (step, gradient) in self.step.iter_mut().zip(&self.gradient) {
            *step = -gradient;
        }
        linear::substitute(&self.factored, &mut self.step[..n]);
        let mut conditions = [0.0; MOST_GROUPS * MOST_GROUPS];
        let mut excess = [0.0; MOST_GROUPS];
        for (g, &(from, to)) in self.model.groups.iter().enumerate() {
            for (h, column) in columns[..groups].iter().enumerate() {
                conditions[g * groups + h] = column[from..to].iter().sum();
            }
            let lacking = 1.0 - self.y[from..to].iter().sum::<f64>();
            excess[g] = self.step[from..to].iter().sum::<f64>() - lacking;
        }
        if !linear::solve(&mut conditions[..groups * groups], &mut excess[..groups]) {
            return false;
        }
        for (multiplier, column) in excess[..groups].iter().zip(&columns) {
            for (step, part) in self.step[..n].iter_mut().zip(column) {
                *step -= multiplier * part;
            }
        }
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

    /// Moves `trial` from `y` by `step · fraction`, relatively, and fills each sublattice.
    fn move_relatively(&mut self, fraction: f64) {
        for (k, trial) in self.trial.iter_mut().enumerate() {
            let relative = (self.step[k] / self.y[k]).clamp(-4.0, 4.0) * fraction;
            *trial = (self.y[k] * relative.exp()).max(SMALLEST);
        }
        for &(from, to) in &self.model.groups {
            let sum: f64 = self.trial[from..to].iter().sum();
            self.trial[from..to].iter_mut().for_each(|y| *y /= sum);
        }
    }

    /// Whether the phase can separate into two compositions at `temperature` along the line between two elements.
    ///
    /// Told by a negative curvature of G somewhere along the line; for phases with one mixing sublattice only.
    pub(crate) fn unmixes(&mut self, first: usize, second: usize, temperature: f64, basis: &Basis) -> bool {
        let of = |c: usize| self.model.variables.iter().position(|v| v.component == Some(c));
        let (Some(i), Some(j), 1) = (of(first), of(second), self.model.groups.len()) else {
            return false;
        };
        self.heat_to(temperature, basis);
        let n = self.y.len();
        (1..10).map(|tenth| f64::from(tenth) / 10.0).any(|x| {
            self.y.fill(0.0);
            self.y[i] = x;
            self.y[j] = 1.0 - x;
            self.gradient.fill(0.0);
            self.second.fill(0.0);
            self.model.accumulate(&self.y, &self.values, &mut self.gradient, Some(&mut self.second));
            let excess = self.second[i * n + i] + self.second[j * n + j] - 2.0 * self.second[i * n + j];
            let mixing = GAS_CONSTANT * temperature * self.model.variables[i].sites / (x * (1.0 - x));
            excess + mixing < 0.0
        })
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

    /// Looks for the lowest minimum of F afresh, from the most favourable end members.
    ///
    /// Returns false when no start settles.
    pub(crate) fn search(&mut self, temperature: f64, potential: &[f64], basis: &Basis) -> bool {
        if self.y.is_empty() {
            return self.follow(temperature, potential, basis);
        }
        let starts = if self.model.groups.len() > 1 { 3 } else { 2 };
        self.search_among(starts, None, temperature, potential, basis)
    }

    /// Looks for the lowest minimum of F other than the one at site fractions `known`.
    ///
    /// Returns false when there is none.
    pub(crate) fn search_apart(
        &mut self,
        known: &[f64],
        temperature: f64,
        potential: &[f64],
        basis: &Basis,
    ) -> bool {
        self.search_among(self.model.ends.len(), Some(known), temperature, potential, basis)
    }

    /// As [`Solid::follow`], and looks for another minimum when another end member has become the most favourable one.
    pub(crate) fn follow_lowest(&mut self, temperature: f64, potential: &[f64], basis: &Basis) -> bool {
        let followed = self.follow(temperature, potential, basis);
        if self.model.groups.len() < 2 {
            return followed;
        }
        let energies = (0..self.model.ends.len()).map(|k| (self.end_energy(k, potential), k));
        let home = energies.min_by(|a, b| a.0.total_cmp(&b.0)).map_or(0, |(_, k)| k);
        if home == self.home {
            return followed;
        }
        let near = followed && self.supersaturation(temperature) > NEAR;
        let (drive, y) = (self.drive, self.y.clone());
        let searched = self.search(temperature, potential, basis);
        if followed && !searched || near && self.drive < drive {
            self.y = y;
            return self.follow(temperature, potential, basis);
        }
        searched
    }

    /// Whether the present site fractions are another minimum than `known`.
    pub(crate) fn is_apart(&self, known: &[f64]) -> bool {
        self.y.iter().zip(known).any(|(a, b)| (a - b).abs() > APART)
    }

    fn search_among(
        &mut self,
        starts: usize,
        known: Option<&[f64]>,
        temperature: f64,
        potential: &[f64],
        basis: &Basis,
    ) -> bool {
        self.heat_to(temperature, basis);
        let mut ends: Vec<(f64, usize)> =
            (0..self.model.ends.len()).map(|k| (self.end_energy(k, potential), k)).collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.home = ends.first().map_or(0, |(_, k)| *k);
        let mut best: Option<(f64, Vec<f64>)> = None;
        for &(_, end) in ends.iter().take(starts) {
            self.start_at(end, &ends, temperature);
            if self.descend(temperature, potential) && self.follow(temperature, potential, basis) {
                let apart = known.is_none_or(|y| self.is_apart(y));
                let better = best.as_ref().is_none_or(|(drive, _)| self.drive > *drive);
                // The minimum at the best end member is the one that will matter, unless another is about to.
                let matters = best.is_none() || self.supersaturation(temperature) > NEAR;
                if apart && better && matters {
                    best = Some((self.drive, self.y.clone()));
                }
            }
        }
        match best {
            Some((_, y)) => {
                self.y = y;
                self.follow(temperature, potential, basis)
            }
            None => false,
        }
    }

    fn end_energy(&self, end: usize, potential: &[f64]) -> f64 {
        let (coefficient, at_one) = &self.model.ends[end];
        let mu = |v: &usize| {
            let variable = &self.model.variables[*v];
            variable.component.map_or(0.0, |c| potential[c]) * variable.sites
        };
        self.values[*coefficient] - at_one.iter().map(mu).sum::<f64>()
    }

    /// Site fractions near end member `end`: the others as Boltzmann's factor of exchanging one constituent gives them.
    fn start_at(&mut self, end: usize, ends: &[(f64, usize)], temperature: f64) {
        let at_one = &self.model.ends[end].1;
        let base = ends.iter().find(|(_, k)| *k == end).map_or(0.0, |(f, _)| *f);
        for y in &mut self.y {
            *y = 1e-6;
        }
        for &(f, other) in ends {
            let differing: Vec<usize> =
                self.model.ends[other].1.iter().copied().filter(|v| !at_one.contains(v)).collect();
            if let [variable] = differing.as_slice() {
                let rt = GAS_CONSTANT * temperature * self.model.variables[*variable].sites;
                self.y[*variable] = (-(f - base) / rt).clamp(-25.0, LARGEST_MINORITY).exp();
            }
        }
        for &v in at_one {
            self.y[v] = 1.0;
        }
        for &(from, to) in &self.model.groups {
            let sum: f64 = self.y[from..to].iter().sum();
            self.y[from..to].iter_mut().for_each(|y| *y /= sum);
        }
    }

    /// Lowers F step by step until Newton's method is safe; every step is checked.
    fn descend(&mut self, temperature: f64, potential: &[f64]) -> bool {
        let rt = GAS_CONSTANT * temperature;
        let n = self.y.len();
        for _ in 0..MOST_ITERATIONS {
            let f = self.derivatives(temperature, potential);
            let mut downhill = false;
            if self.newton() {
                // Constituents too rare to move F beyond rounding are left to Newton's method.
                let largest = (0..n).map(|k| (self.step[k] / self.y[k].max(TRACE)).abs()).fold(0.0, f64::max);
                downhill = (0..n).map(|k| self.step[k] * self.gradient[k]).sum::<f64>() < 0.0;
                // At the minimum itself rounding decides the sign of the slope.
                if largest < SETTLED || (downhill && largest < 1e-3) {
                    return true;
                }
            }
            if !downhill {
                // Where F is not convex: exchange constituents as if their energies were constant.
                for &(from, to) in &self.model.groups {
                    let mean: f64 = (from..to).map(|k| self.y[k] * self.gradient[k]).sum();
                    for k in from..to {
                        self.step[k] =
                            -self.y[k] * (self.gradient[k] - mean) / (rt * self.model.variables[k].sites);
                    }
                }
            }
            let mut fraction = 1.0;
            loop {
                self.move_relatively(fraction);
                if self.energy(&self.trial, temperature, potential) <= f + ROUNDING * rt {
                    self.y.copy_from_slice(&self.trial);
                    break;
                }
                fraction *= 0.4;
                if fraction < 1e-5 {
                    return true;
                }
            }
        }
        false
    }
}
