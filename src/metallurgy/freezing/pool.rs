//! A liquid facing all its possible solids: driving forces, the liquidus, and the rates at which solids grow together.

use super::database::Database;
use super::expression::Basis;
use super::gibbs::{GAS_CONSTANT, PhaseModel};
use super::linear;
use super::liquid::Liquid;
use super::solid::Solid;

/// Driving force, in units of RT per mole of atoms, below which a phase counts as just saturated.
pub(crate) const SATURATED: f64 = 1e-7;

/// Distance below the highest estimate of the liquidus at which a solid is no candidate, in kelvin.
const FAR_BELOW: f64 = 60.0;

/// Temperature in kelvin below which no aluminium liquid is left; a phase that does not separate here never does.
const UNMIXING: f64 = 550.0;

/// Site fraction of the main element above which a growing solid solution is not looked at for a second composition.
const NEARLY_PURE: f64 = 0.88;

/// Growth of the active solids for a small fall of the liquid fraction.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Rates {
    /// Moles of formula units per mole of liquid and unit of −ln(liquid fraction), one for each active solid.
    pub growth: Vec<f64>,
    /// Change of temperature for the same, in kelvin.
    pub cooling: f64,
}

/// The liquid and the solids, at the state last evaluated.
pub(crate) struct Pool<'a> {
    basis: Basis,
    pub liquid: Liquid<'a>,
    pub solids: Vec<Solid<'a>>,
    /// For a phase that can separate into two compositions, the solid that stands for the other one.
    twins: Vec<Option<usize>>,
    count: usize,
    fractions: Vec<f64>,
    matrix: Vec<f64>,
    side: Vec<f64>,
    pub temperature: f64,
}

impl<'a> Pool<'a> {
    /// All phases of `database` that the elements, with mole fractions `fractions`, can form; none without a
    /// substitutional liquid.
    pub(crate) fn new(database: &'a Database, components: &[&str], fractions: &[f64]) -> Option<Self> {
        let count = components.len();
        let liquid = database.phases.iter().find(|p| p.name == "LIQUID")?;
        let liquid = Liquid::new(PhaseModel::new(liquid, components, true)?, count)?;
        let solids = database.phases.iter().filter(|p| p.name != "LIQUID");
        let mut solids: Vec<Solid> =
            solids.filter_map(|p| PhaseModel::new(p, components, false)).map(Solid::new).collect();
        let mut basis = database.basis.clone();
        basis.evaluate(UNMIXING);
        let main = (0..count).max_by(|&a, &b| fractions[a].total_cmp(&fractions[b]))?;
        let mut twins = vec![None; solids.len()];
        for index in 0..solids.len() {
            if (0..count).any(|other| other != main && solids[index].unmixes(main, other, UNMIXING, &basis)) {
                twins[index] = Some(solids.len());
                twins.push(Some(index));
                solids.push(solids[index].clone());
            }
        }
        Some(Self {
            basis,
            liquid,
            solids,
            twins,
            count,
            fractions: fractions.to_vec(),
            matrix: Vec::new(),
            side: Vec::new(),
            temperature: 0.0,
        })
    }

    /// Evaluates the liquid for moles `moles` at `temperature` (kelvin); false outside the physical range.
    pub(crate) fn evaluate(&mut self, moles: &[f64], temperature: f64) -> bool {
        let total: f64 = moles.iter().sum();
        let physical = moles.iter().all(|&m| m > 0.0) && temperature > 150.0 && temperature < 6000.0;
        if !physical || !total.is_finite() {
            return false;
        }
        for (x, m) in self.fractions.iter_mut().zip(moles) {
            *x = m / total;
        }
        self.temperature = temperature;
        self.basis.evaluate(temperature);
        self.liquid.evaluate(&self.fractions, temperature, &self.basis);
        true
    }

    /// Brings solid `index` to its minimum for the liquid last evaluated, from its last composition.
    pub(crate) fn follow(&mut self, index: usize) -> bool {
        let solid = &mut self.solids[index];
        solid.follow(self.temperature, &self.liquid.potential, &self.basis)
            || solid.search(self.temperature, &self.liquid.potential, &self.basis)
    }

    /// The same from scratch.
    pub(crate) fn search(&mut self, index: usize) -> bool {
        self.solids[index].search(self.temperature, &self.liquid.potential, &self.basis)
    }

    /// Supersaturation of a solid that does not grow, beside the `active` ones; none if it does not exist apart from them.
    ///
    /// `fresh` looks for its lowest minimum from scratch.
    pub(crate) fn look_at(&mut self, index: usize, active: &[usize], fresh: bool) -> Option<f64> {
        let found = match self.twins[index] {
            Some(twin) if active.contains(&twin) => {
                // A nearly pure solid solution that grows is far from separating.
                let pure = self.solids[twin].y.iter().any(|&y| y > NEARLY_PURE);
                !pure && self.follow_apart(index, twin, fresh)
            }
            Some(twin) if twin < index => self.follow_apart(index, twin, fresh),
            // With one mixing sublattice a second minimum is the business of the twin.
            _ if fresh && self.solids[index].model.groups.len() > 1 && !self.solids[index].is_pinned() => {
                self.search(index)
            }
            _ => {
                let solid = &mut self.solids[index];
                solid.follow_lowest(self.temperature, &self.liquid.potential, &self.basis)
                    || solid.search(self.temperature, &self.liquid.potential, &self.basis)
            }
        };
        found.then(|| self.supersaturation(index))
    }

    /// Brings solid `index` to a minimum other than that of its twin.
    fn follow_apart(&mut self, index: usize, twin: usize, fresh: bool) -> bool {
        let (t, potential) = (self.temperature, &self.liquid.potential);
        let known = self.solids[twin].y.clone();
        let solid = &mut self.solids[index];
        if !fresh
            && solid.is_apart(&known)
            && solid.follow(t, potential, &self.basis)
            && solid.is_apart(&known)
        {
            return true;
        }
        solid.search_apart(&known, t, potential, &self.basis)
    }

    pub(crate) fn supersaturation(&self, index: usize) -> f64 {
        self.solids[index].supersaturation(self.temperature)
    }

    /// ∂(driving force)/∂T of a solid at constant liquid composition, J/K per mole of formula units.
    fn drive_slope(&self, index: usize) -> f64 {
        let solid = &self.solids[index];
        let liquid: f64 = solid.amounts.iter().zip(&self.liquid.potential_slope).map(|(n, s)| n * s).sum();
        liquid - solid.energy_slope
    }

    /// −∂(driving force of `a`)/∂(amount of `b` formed), per mole of liquid.
    fn coupling(&self, a: usize, b: usize) -> f64 {
        let n = self.count;
        let (a, b) = (&self.solids[a].amounts, &self.solids[b].amounts);
        let row = |i: usize| -> f64 { (0..n).map(|j| self.liquid.stiffness[i * n + j] * b[j]).sum() };
        (0..n).map(|i| a[i] * row(i)).sum()
    }

    /// Growth rates that keep every active solid saturated, or none if they are not unique.
    ///
    /// With growth w and cooling θ: Σ_t M_st w_t = b_s θ and Σ atoms_s w_s = 1, where M couples the solids through the
    /// liquid and b is the temperature slope of the driving force.
    pub(crate) fn rates(&mut self, active: &[usize]) -> Option<Rates> {
        self.solve_growth(active, false)
    }

    /// Small exchange between the solids and of temperature that makes all driving forces zero.
    pub(crate) fn correction(&mut self, active: &[usize]) -> Option<Rates> {
        self.solve_growth(active, true)
    }

    fn solve_growth(&mut self, active: &[usize], correct: bool) -> Option<Rates> {
        let p = active.len();
        let size = p + 1;
        // Each row is scaled by the atoms of its solid, so that large formula units do not outweigh the others.
        self.matrix.clear();
        self.matrix.resize(size * size, 0.0);
        self.side.clear();
        self.side.resize(size, 0.0);
        for (row, &s) in active.iter().enumerate() {
            let atoms = self.solids[s].atoms;
            for (column, &t) in active.iter().enumerate().skip(row) {
                let value = self.coupling(s, t) / (atoms * self.solids[t].atoms);
                self.matrix[row * size + column] = value;
                self.matrix[column * size + row] = value;
            }
            self.matrix[row * size + p] = -self.drive_slope(s) / atoms;
            self.matrix[p * size + row] = 1.0;
            if correct {
                self.side[row] = self.solids[s].drive / atoms;
            }
        }
        if !correct {
            self.side[p] = 1.0;
        }
        if !linear::solve(&mut self.matrix, &mut self.side) {
            return None;
        }
        let growth = active.iter().zip(&self.side).map(|(&s, w)| w / self.solids[s].atoms);
        Some(Rates { growth: growth.collect(), cooling: self.side[p] })
    }

    /// Change of the driving force of `index` per atom along `rates`, J/mol.
    fn drive_rate(&self, index: usize, active: &[usize], rates: &Rates) -> f64 {
        let taken: f64 = active.iter().zip(&rates.growth).map(|(&t, w)| self.coupling(index, t) * w).sum();
        (self.drive_slope(index) * rates.cooling - taken) / self.solids[index].atoms
    }

    /// Change of [`Pool::supersaturation`] with the clock along `rates`.
    pub(crate) fn saturation_rate(&self, index: usize, active: &[usize], rates: &Rates) -> f64 {
        self.drive_rate(index, active, rates) / (GAS_CONSTANT * self.temperature)
    }

    /// The solids out of `candidates`, all just saturated, that grow together: none shrinks, none left out gains.
    pub(crate) fn choose(&mut self, candidates: &[usize]) -> Option<(Vec<usize>, Rates)> {
        let count = candidates.len().min(12);
        let mut best: Option<(f64, Vec<usize>, Rates)> = None;
        for mask in 1_u32..(1 << count) {
            if mask.count_ones() as usize > self.count {
                continue;
            }
            let (inside, outside): (Vec<usize>, Vec<usize>) = (0..count).partition(|k| mask & (1 << k) != 0);
            let inside: Vec<usize> = inside.into_iter().map(|k| candidates[k]).collect();
            let Some(rates) = self.rates(&inside) else {
                continue;
            };
            if rates.cooling > 1e-6 {
                continue;
            }
            let atoms = inside.iter().zip(&rates.growth).map(|(&s, w)| w * self.solids[s].atoms);
            let shrinking = atoms.fold(0.0_f64, |worst, w| worst.max(-w));
            let gains = outside.iter().map(|&k| self.drive_rate(candidates[k], &inside, &rates));
            let gaining = gains.fold(0.0_f64, f64::max) / (1.0 + rates.cooling.abs());
            let fault = shrinking + gaining * 1e-3;
            if best.as_ref().is_none_or(|(worst, ..)| fault < *worst - 1e-9) {
                best = Some((fault, inside, rates));
            }
        }
        best.filter(|(fault, ..)| *fault < 1e-4).map(|(_, inside, rates)| (inside, rates))
    }

    /// Highest temperature at which a solid is just saturated with the liquid `moles`, in kelvin, and that solid.
    pub(crate) fn liquidus(&mut self, moles: &[f64]) -> Option<(f64, usize)> {
        let mut temperature = 925.0;
        let mut waiting = vec![false; self.solids.len()];
        let mut checked = false;
        for attempt in 0..60 {
            if !self.evaluate(moles, temperature) {
                return None;
            }
            let mut highest: Option<(f64, usize)> = None;
            let mut estimates = vec![f64::NEG_INFINITY; self.solids.len()];
            for index in 0..self.solids.len() {
                if waiting[index] || self.twins[index].is_some_and(|twin| twin < index) {
                    continue;
                }
                let found = if attempt == 0 { self.search(index) } else { self.follow(index) };
                if !found {
                    continue;
                }
                let slope = self.drive_slope(index);
                if slope < 0.0 {
                    let estimate = temperature - self.solids[index].drive / slope;
                    estimates[index] = estimate;
                    if highest.is_none_or(|(t, _)| estimate > t) {
                        highest = Some((estimate, index));
                    }
                }
            }
            let (estimate, index) = highest?;
            // Solids that the present slopes put far below the highest are left aside until the end.
            for (wait, below) in waiting.iter_mut().zip(&estimates) {
                *wait |= *below < estimate - FAR_BELOW;
            }
            let next = estimate.clamp(temperature - 200.0, temperature + 200.0).max(200.0);
            if (next - temperature).abs() < 1e-9 * temperature {
                if waiting.iter().all(|wait| !wait) || checked {
                    return Some((temperature, index));
                }
                checked = true;
                waiting.fill(false);
            }
            temperature = next;
        }
        None
    }
}
