//! Search for the minimum of a solid's energy from scratch, and for separate minima. Following one minimum is in `solid`.

use super::expression::Basis;
use super::gibbs::GAS_CONSTANT;
use super::solid::{MOST_ITERATIONS, SETTLED, SMALLEST, Solid};

/// Logarithm of the largest fraction, of the main one, that another constituent has at the start of a search; a start
/// nearer to the middle can miss a separate minimum at the edge.
const LARGEST_MINORITY: f64 = -2.5;

/// End members, from the most favourable on, at which a search starts.
const STARTS: usize = 2;

/// Site fractions closer than this belong to the same minimum.
const APART: f64 = 0.03;

/// Supersaturation from which a phase is near to forming.
const NEAR: f64 = -0.15;

/// Site fraction below which a constituent does not decide which minimum is reached.
const TRACE: f64 = 1e-8;

/// Rounding of F, in units of RT.
const ROUNDING: f64 = 1e-9;

impl Solid<'_> {
    /// As [`Solid::follow`], and looks for another minimum when another end member has become the most favourable one.
    pub(crate) fn follow_lowest(&mut self, temperature: f64, potential: &[f64], basis: &Basis) -> bool {
        let followed = self.follow(temperature, potential, basis);
        if self.model.groups.len() < 2 || self.pinned {
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

    /// Looks for the lowest minimum of F afresh, from the most favourable end members.
    ///
    /// Returns false when no start settles.
    pub(crate) fn search(&mut self, temperature: f64, potential: &[f64], basis: &Basis) -> bool {
        if self.y.is_empty() {
            return self.follow(temperature, potential, basis);
        }
        // An ideal solution has one minimum only.
        let starts = if self.model.is_ideal() { 1 } else { STARTS };
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
        self.search_among(2 * STARTS, Some(known), temperature, potential, basis)
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
        // Whether the solid stands at the best minimum.
        let mut there = false;
        for &(_, end) in ends.iter().take(starts) {
            there = false;
            self.start_at(end, &ends, temperature);
            if !self.descend(temperature, potential) || known.is_some_and(|y| !self.is_apart(y)) {
                continue;
            }
            if self.follow(temperature, potential, basis) {
                let apart = known.is_none_or(|y| self.is_apart(y));
                let better = best.as_ref().is_none_or(|(drive, _)| self.drive > *drive);
                // The minimum at the best end member is the one that will matter, unless another is about to.
                let matters = best.is_none() || self.supersaturation(temperature) > NEAR;
                if apart && better && matters {
                    best = Some((self.drive, self.y.clone()));
                    there = true;
                }
            }
        }
        match best {
            Some(_) if there => true,
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
            let mut differing = self.model.ends[other].1.iter().filter(|v| !at_one.contains(v));
            if let (Some(&variable), None) = (differing.next(), differing.next()) {
                let rt = GAS_CONSTANT * temperature * self.model.variables[variable].sites;
                self.y[variable] = (-(f - base) / rt).clamp(-25.0, LARGEST_MINORITY).exp();
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

    /// Moves `trial` from `y` by `step · fraction`, relatively, and fills each sublattice.
    pub(super) fn move_relatively(&mut self, fraction: f64) {
        for (k, trial) in self.trial.iter_mut().enumerate() {
            let relative = (self.step[k] / self.y[k]).clamp(-4.0, 4.0) * fraction;
            *trial = (self.y[k] * relative.exp()).max(SMALLEST);
        }
        for &(from, to) in &self.model.groups {
            let sum: f64 = self.trial[from..to].iter().sum();
            self.trial[from..to].iter_mut().for_each(|y| *y /= sum);
        }
    }
}
