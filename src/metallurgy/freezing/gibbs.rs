//! Gibbs energy of one phase in the compound energy formalism, with exact first and second derivatives. No equilibria.
//!
//! G = Σ Π y·G(end member) + RT Σ a Σ y ln y + Σ Π y·L, with Redlich–Kister terms L = Σ L_v (y_i − y_j)^v for pairs and
//! Muggianu's v_i = y_i + (1 − y_i − y_j − y_k)/3 for triples (H. L. Lukas, S. G. Fries, B. Sundman, Computational
//! Thermodynamics, Cambridge 2007, chapter 5).

use super::database::{Parameter, Phase};
use super::expression::{Basis, CompiledExpression};

/// Gas constant in J/(mol K), the value of the COST 507 assessments and of the reference runs.
pub(crate) const GAS_CONSTANT: f64 = 8.3145;

/// Most constituents one parameter multiplies; 10 sublattices are allowed by the reader.
const WIDEST: usize = 16;

/// A site fraction that can vary.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SiteVariable {
    /// Index of the element, none for an empty site.
    pub component: Option<usize>,
    /// Sites of its sublattice per formula unit.
    pub sites: f64,
}

#[derive(Debug, Clone, Copy)]
enum Factor {
    /// A coefficient alone.
    Plain(usize),
    /// Redlich–Kister: first coefficient and count, on the first two variables of the product.
    Pair(usize, usize),
    /// Muggianu triple: first of three coefficients, on the first three variables of the product.
    Triple(usize),
}

#[derive(Debug, Clone)]
struct Contribution {
    /// Site fractions multiplied together, those that mix on one sublattice first.
    product: Vec<usize>,
    factor: Factor,
}

/// The energy of a phase for a given choice of elements.
#[derive(Debug, Clone)]
pub(crate) struct PhaseModel<'a> {
    pub name: &'a str,
    pub variables: Vec<SiteVariable>,
    /// Range of variables of each sublattice that mixes.
    pub groups: Vec<(usize, usize)>,
    /// Moles of each element on sublattices with one constituent, per formula unit.
    pub fixed: Vec<f64>,
    /// End members: index of the coefficient and the variables at one.
    pub ends: Vec<(usize, Vec<usize>)>,
    contributions: Vec<Contribution>,
    energies: Vec<Option<&'a CompiledExpression>>,
}

impl<'a> PhaseModel<'a> {
    /// The model of `phase` for the elements `components`; none if a sublattice would be left without constituent.
    ///
    /// `keep_single` makes variables of sublattices with a single constituent too.
    pub(crate) fn new(phase: &'a Phase, components: &[&str], keep_single: bool) -> Option<Self> {
        let mut model = Self {
            name: &phase.name,
            variables: Vec::new(),
            groups: Vec::new(),
            fixed: vec![0.0; components.len()],
            ends: Vec::new(),
            contributions: Vec::new(),
            energies: Vec::new(),
        };
        // For each sublattice the names in use, with their variable where the sublattice mixes.
        let mut places: Vec<Vec<(&str, Option<usize>)>> = Vec::new();
        for (names, &sites) in phase.constituents.iter().zip(&phase.sites) {
            let component = |name: &str| components.iter().position(|c| *c == name);
            let used: Vec<&str> =
                names.iter().map(String::as_str).filter(|n| *n == "VA" || component(n).is_some()).collect();
            match used.as_slice() {
                [] => return None,
                [only] if !keep_single || *only == "VA" => {
                    if let Some(k) = component(only) {
                        model.fixed[k] += sites;
                    }
                    places.push(vec![(only, None)]);
                }
                several => {
                    let first = model.variables.len();
                    let place = several.iter().enumerate().map(|(k, n)| (*n, Some(first + k)));
                    places.push(place.collect());
                    model
                        .variables
                        .extend(several.iter().map(|n| SiteVariable { component: component(n), sites }));
                    model.groups.push((first, model.variables.len()));
                }
            }
        }
        let holds_elements =
            model.fixed.iter().any(|&n| n > 0.0) || model.variables.iter().any(|v| v.component.is_some());
        if !holds_elements {
            return None;
        }
        let mut done = vec![false; phase.parameters.len()];
        for k in 0..phase.parameters.len() {
            if !done[k] {
                model.contribute(&phase.parameters, k, &places, &mut done);
            }
        }
        Some(model)
    }

    /// Adds parameter `first` together with its other orders.
    fn contribute(
        &mut self,
        parameters: &'a [Parameter],
        first: usize,
        places: &[Vec<(&str, Option<usize>)>],
        done: &mut [bool],
    ) {
        let parameter = &parameters[first];
        let mut product = Vec::new();
        let mut mixing = 0;
        for (names, place) in parameter.constituents.iter().zip(places) {
            let before = product.len();
            for name in names {
                match place.iter().find(|(n, _)| n == name) {
                    Some((_, Some(variable))) => product.push(*variable),
                    Some((_, None)) => {}
                    None => return,
                }
            }
            if names.len() > 1 {
                mixing = names.len();
                product.rotate_left(before);
            }
        }
        let mut orders: Vec<Option<&'a CompiledExpression>> = Vec::new();
        for (k, other) in parameters.iter().enumerate().skip(first) {
            if !done[k] && other.constituents == parameter.constituents {
                done[k] = true;
                if orders.len() <= other.order {
                    orders.resize(other.order + 1, None);
                }
                orders[other.order] = Some(&other.energy);
            }
        }
        let start = self.energies.len();
        let mixes = parameter.constituents.iter().filter(|n| n.len() > 1).count();
        let factor = match (mixes, mixing, orders.len()) {
            (1, 2, 2..) => Factor::Pair(start, orders.len()),
            (1, 3, 2..) => {
                orders.resize(3, None);
                Factor::Triple(start)
            }
            // A triple given by its order 0 alone is the same in all directions.
            _ => {
                orders.truncate(1);
                Factor::Plain(start)
            }
        };
        self.energies.extend(orders);
        if mixes == 0 {
            self.ends.push((start, product.clone()));
        }
        if product.len() <= WIDEST {
            self.contributions.push(Contribution { product, factor });
        }
    }

    /// Whether the constituents mix ideally on a single sublattice.
    pub(crate) fn is_ideal(&self) -> bool {
        self.groups.len() <= 1 && self.ends.len() == self.contributions.len()
    }

    pub(crate) fn coefficient_count(&self) -> usize {
        self.energies.len()
    }

    /// Values and slopes of all coefficients at the temperature `basis` was evaluated at.
    pub(crate) fn coefficients(
        &self,
        temperature: f64,
        basis: &Basis,
        values: &mut [f64],
        slopes: &mut [f64],
    ) {
        for ((energy, value), slope) in self.energies.iter().zip(values).zip(slopes) {
            (*value, *slope) = energy.map_or((0.0, 0.0), |e| e.evaluate(temperature, basis));
        }
    }

    /// Energy without the entropy of mixing, J per mole of formula units.
    pub(crate) fn value(&self, y: &[f64], coefficients: &[f64]) -> f64 {
        let mut total = 0.0;
        for Contribution { product, factor } in &self.contributions {
            let m: f64 = product.iter().map(|&v| y[v]).product();
            total += m * match *factor {
                Factor::Plain(k) => coefficients[k],
                Factor::Pair(first, count) => {
                    let d = y[product[0]] - y[product[1]];
                    coefficients[first..first + count].iter().rev().fold(0.0, |p, c| p * d + c)
                }
                Factor::Triple(first) => {
                    let rest = (1.0 - product[..3].iter().map(|&v| y[v]).sum::<f64>()) / 3.0;
                    coefficients[first..first + 3].iter().zip(product).map(|(c, &v)| c * (y[v] + rest)).sum()
                }
            };
        }
        total
    }

    /// Energy without the entropy of mixing; adds its gradient and, if wanted, its second derivatives (row by row).
    pub(crate) fn accumulate(
        &self,
        y: &[f64],
        coefficients: &[f64],
        gradient: &mut [f64],
        mut second: Option<&mut [f64]>,
    ) -> f64 {
        let n = self.variables.len();
        let mut total = 0.0;
        for Contribution { product, factor } in &self.contributions {
            let k = product.len();
            let mut slope = [0.0; WIDEST];
            let mut curvature = 0.0;
            let p = match *factor {
                Factor::Plain(at) if k <= 3 => {
                    total += plain_product(product, y, coefficients[at], n, gradient, second.as_deref_mut());
                    continue;
                }
                Factor::Plain(at) => coefficients[at],
                Factor::Pair(first, count) => {
                    let series =
                        redlich_kister(&coefficients[first..first + count], y[product[0]] - y[product[1]]);
                    if k <= 3 {
                        total += pair_product(product, y, series, n, gradient, second.as_deref_mut());
                        continue;
                    }
                    (slope[0], slope[1]) = (series[1], -series[1]);
                    curvature = series[2];
                    series[0]
                }
                Factor::Triple(first) => {
                    let third =
                        (coefficients[first] + coefficients[first + 1] + coefficients[first + 2]) / 3.0;
                    let mut value = third;
                    for position in 0..3 {
                        slope[position] = coefficients[first + position] - third;
                        value += slope[position] * y[product[position]];
                    }
                    if let [a, b, c] = *product.as_slice() {
                        let slopes = [slope[0], slope[1], slope[2]];
                        let into = (&mut *gradient, second.as_deref_mut());
                        total += triple_product([a, b, c], y, value, slopes, n, into);
                        continue;
                    }
                    value
                }
            };
            let plain = matches!(factor, Factor::Plain(_));
            let without = |skip_a: usize, skip_b: usize| {
                let mut m = 1.0;
                for (position, &v) in product.iter().enumerate() {
                    if position != skip_a && position != skip_b {
                        m *= y[v];
                    }
                }
                m
            };
            let m = without(k, k);
            total += m * p;
            let mut partial = [0.0; WIDEST];
            for a in 0..k {
                partial[a] = without(a, k);
                gradient[product[a]] += partial[a] * p + m * slope[a];
            }
            let Some(second) = second.as_deref_mut() else {
                continue;
            };
            for a in 0..k {
                for b in a + 1..k {
                    let mut h = without(a, b) * p;
                    if !plain {
                        h += partial[a] * slope[b] + partial[b] * slope[a];
                        if (a, b) == (0, 1) {
                            h -= m * curvature;
                        }
                    }
                    second[product[a] * n + product[b]] += h;
                    second[product[b] * n + product[a]] += h;
                }
                if !plain {
                    let mut h = 2.0 * partial[a] * slope[a];
                    if a < 2 {
                        h += m * curvature;
                    }
                    second[product[a] * n + product[a]] += h;
                }
            }
        }
        total
    }
}

/// The part of [`PhaseModel::accumulate`] for `p · y_a · y_b · y_c` with up to three factors, the commonest by far.
fn plain_product(
    product: &[usize],
    y: &[f64],
    p: f64,
    n: usize,
    gradient: &mut [f64],
    second: Option<&mut [f64]>,
) -> f64 {
    let add = |a: usize, b: usize, value: f64, into: &mut [f64]| {
        into[a * n + b] += value;
        into[b * n + a] += value;
    };
    match *product {
        [] => p,
        [a] => {
            gradient[a] += p;
            p * y[a]
        }
        [a, b] => {
            gradient[a] += p * y[b];
            gradient[b] += p * y[a];
            if let Some(second) = second {
                add(a, b, p, second);
            }
            p * y[a] * y[b]
        }
        [a, b, c, ..] => {
            let (ya, yb, yc) = (p * y[a], p * y[b], p * y[c]);
            gradient[a] += yb * y[c];
            gradient[b] += ya * y[c];
            gradient[c] += ya * y[b];
            if let Some(second) = second {
                add(a, b, yc, second);
                add(a, c, yb, second);
                add(b, c, ya, second);
            }
            ya * y[b] * y[c]
        }
    }
}

/// A Redlich–Kister series Σ c_v d^v with its first and second derivative.
fn redlich_kister(coefficients: &[f64], d: f64) -> [f64; 3] {
    let (mut value, mut slope, mut half) = (0.0, 0.0, 0.0);
    for c in coefficients.iter().rev() {
        half = half * d + slope;
        slope = slope * d + value;
        value = value * d + c;
    }
    [value, slope, 2.0 * half]
}

/// The part of [`PhaseModel::accumulate`] for `y_a · y_b · p(y_a − y_b)`, alone or times one more site fraction.
fn pair_product(
    product: &[usize],
    y: &[f64],
    [p, slope, curvature]: [f64; 3],
    n: usize,
    gradient: &mut [f64],
    second: Option<&mut [f64]>,
) -> f64 {
    let (a, b) = (product[0], product[1]);
    let (ya, yb) = (y[a], y[b]);
    let m = ya * yb;
    let (by_a, by_b) = (yb * p + m * slope, ya * p - m * slope);
    let other = product.get(2).copied();
    let yc = other.map_or(1.0, |c| y[c]);
    gradient[a] += by_a * yc;
    gradient[b] += by_b * yc;
    if let Some(c) = other {
        gradient[c] += m * p;
    }
    if let Some(second) = second {
        let bend = m * curvature;
        let mixed = (p + (ya - yb) * slope - bend) * yc;
        second[a * n + a] += (2.0 * yb * slope + bend) * yc;
        second[b * n + b] += (bend - 2.0 * ya * slope) * yc;
        second[a * n + b] += mixed;
        second[b * n + a] += mixed;
        if let Some(c) = other {
            second[a * n + c] += by_a;
            second[c * n + a] += by_a;
            second[b * n + c] += by_b;
            second[c * n + b] += by_b;
        }
    }
    m * p * yc
}

/// The part of [`PhaseModel::accumulate`] for `y_a · y_b · y_c · p` with `p` linear in the three of `slopes`.
fn triple_product(
    [a, b, c]: [usize; 3],
    y: &[f64],
    p: f64,
    slopes: [f64; 3],
    n: usize,
    (gradient, second): (&mut [f64], Option<&mut [f64]>),
) -> f64 {
    let (ya, yb, yc) = (y[a], y[b], y[c]);
    let (ab, ac, bc) = (ya * yb, ya * yc, yb * yc);
    let [sa, sb, sc] = [ya * slopes[0], yb * slopes[1], yc * slopes[2]];
    gradient[a] += bc * (p + sa);
    gradient[b] += ac * (p + sb);
    gradient[c] += ab * (p + sc);
    if let Some(second) = second {
        second[a * n + a] += 2.0 * bc * slopes[0];
        second[b * n + b] += 2.0 * ac * slopes[1];
        second[c * n + c] += 2.0 * ab * slopes[2];
        for (row, column, value) in
            [(a, b, yc * (p + sa + sb)), (a, c, yb * (p + sa + sc)), (b, c, ya * (p + sb + sc))]
        {
            second[row * n + column] += value;
            second[column * n + row] += value;
        }
    }
    ab * yc * p
}
