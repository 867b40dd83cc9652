//! Chemical potentials of the liquid and their exact derivatives. Which solids form is decided elsewhere.

use super::expression::Basis;
use super::gibbs::{GAS_CONSTANT, PhaseModel};

/// Mole fractions below this are taken at this value in logarithms only.
const SMALLEST: f64 = 1e-300;

/// The liquid at one composition and temperature.
#[derive(Debug, Clone)]
pub(crate) struct Liquid<'a> {
    model: PhaseModel<'a>,
    /// Variable of each element.
    variable: Vec<usize>,
    values: Vec<f64>,
    slopes: Vec<f64>,
    y: Vec<f64>,
    gradient: Vec<f64>,
    gradient_slope: Vec<f64>,
    second: Vec<f64>,
    /// Chemical potentials in J/mol.
    pub potential: Vec<f64>,
    /// Their temperature derivatives at constant composition, J/(mol K).
    pub potential_slope: Vec<f64>,
    /// ∂μ_i/∂N_j for one mole of liquid, row by row, J/mol².
    pub stiffness: Vec<f64>,
}

impl<'a> Liquid<'a> {
    /// A liquid with all of `count` elements on one sublattice; none if the model is of another kind.
    pub(crate) fn new(model: PhaseModel<'a>, count: usize) -> Option<Self> {
        let of = |k: usize| model.variables.iter().position(|v| v.component == Some(k));
        let variable: Vec<usize> = (0..count).map_while(of).collect();
        let one_sublattice = model.groups.len() == 1 && model.fixed.iter().all(|&n| n == 0.0);
        let one_site = model.variables.iter().all(|v| v.sites == 1.0);
        if variable.len() != count || model.variables.len() != count || !one_sublattice || !one_site {
            return None;
        }
        let coefficients = model.coefficient_count();
        Some(Self {
            variable,
            values: vec![0.0; coefficients],
            slopes: vec![0.0; coefficients],
            y: vec![0.0; count],
            gradient: vec![0.0; count],
            gradient_slope: vec![0.0; count],
            second: vec![0.0; count * count],
            potential: vec![0.0; count],
            potential_slope: vec![0.0; count],
            stiffness: vec![0.0; count * count],
            model,
        })
    }

    /// Evaluates everything for mole fractions `x` at `temperature` (kelvin), for which `basis` was evaluated.
    ///
    /// With G = N·g(x): μ_i = g + g_i − Σ x_k g_k and ∂μ_i/∂N_j = g_ij − Σ x_k (g_ik + g_kj) + ΣΣ x_k x_l g_kl.
    pub(crate) fn evaluate(&mut self, x: &[f64], temperature: f64, basis: &Basis) {
        let n = x.len();
        self.model.coefficients(temperature, basis, &mut self.values, &mut self.slopes);
        for (k, &v) in self.variable.iter().enumerate() {
            self.y[v] = x[k];
        }
        self.gradient.fill(0.0);
        self.gradient_slope.fill(0.0);
        self.second.fill(0.0);
        let g = self.model.accumulate(&self.y, &self.values, &mut self.gradient, Some(&mut self.second));
        let g_slope = self.model.accumulate(&self.y, &self.slopes, &mut self.gradient_slope, None);
        let weigh = |gradient: &[f64]| -> f64 { self.y.iter().zip(gradient).map(|(y, g)| y * g).sum() };
        let mean = g - weigh(&self.gradient);
        let mean_slope = g_slope - weigh(&self.gradient_slope);
        let mut rows = [0.0; 32];
        let rows = &mut rows[..n];
        let mut whole = 0.0;
        for (i, row) in rows.iter_mut().enumerate() {
            *row = weigh(&self.second[i * n..(i + 1) * n]);
            whole += self.y[i] * *row;
        }
        let rt = GAS_CONSTANT * temperature;
        for (i, &vi) in self.variable.iter().enumerate() {
            let ln = x[i].max(SMALLEST).ln();
            self.potential[i] = mean + self.gradient[vi] + rt * ln;
            self.potential_slope[i] = mean_slope + self.gradient_slope[vi] + GAS_CONSTANT * ln;
            for (j, &vj) in self.variable.iter().enumerate() {
                self.stiffness[i * n + j] = self.second[vi * n + vj] - rows[vi] - rows[vj] + whole - rt;
            }
            self.stiffness[i * n + i] += rt / x[i].max(SMALLEST);
        }
    }
}
