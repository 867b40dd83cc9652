//! Temperature functions of a thermodynamic file: sums of c·T^p·(ln T)^q in pieces of temperature. No file syntax here.

/// Exponents beyond this have no use in thermodynamic data and would overflow.
const LARGEST_POWER: i32 = 64;
/// More terms or pieces than this come from a malformed file, not from an assessment.
const MOST_TERMS: usize = 256;
const MOST_PIECES: usize = 64;

/// One term `coefficient · T^power · (ln T)^log`, T in kelvin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PolynomialTerm {
    pub coefficient: f64,
    pub power: i32,
    pub log: i32,
}

/// A sum of terms that holds up to the temperature `upper` (kelvin).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct PolynomialPiece {
    pub upper: f64,
    pub terms: Vec<PolynomialTerm>,
}

/// A function of temperature in pieces of rising upper limit; the last piece is continued beyond its limit.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct GibbsExpression {
    pub lower: f64,
    pub pieces: Vec<PolynomialPiece>,
}

/// Why two expressions could not be combined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Unworkable {
    TooManyTerms,
    PowerTooLarge,
    DivisionByFunction,
    PowerOfSum,
    NotFinite,
}

impl Unworkable {
    pub(crate) fn explain(self) -> &'static str {
        match self {
            Self::TooManyTerms => "a temperature function of at most 256 terms and 64 pieces",
            Self::PowerTooLarge => "a power of T between -64 and 64",
            Self::DivisionByFunction => "division by a number or by a single power of T",
            Self::PowerOfSum => "a negative power of a single term only",
            Self::NotFinite => "numbers within the range of floating point",
        }
    }
}

impl GibbsExpression {
    pub(crate) fn constant(value: f64) -> Self {
        Self::single(value, 0, 0)
    }

    /// `value · T^power · (ln T)^log` at every temperature.
    pub(crate) fn single(value: f64, power: i32, log: i32) -> Self {
        let term = PolynomialTerm { coefficient: value, power, log };
        Self { lower: 0.0, pieces: vec![PolynomialPiece { upper: f64::INFINITY, terms: vec![term] }] }
    }

    fn at(&self, temperature: f64) -> &[PolynomialTerm] {
        let found = self.pieces.iter().find(|p| temperature <= p.upper);
        found.or(self.pieces.last()).map_or(&[], |piece| piece.terms.as_slice())
    }

    /// Combines two expressions piece by piece, on the union of their limits.
    fn combine(
        &self,
        other: &Self,
        join: impl Fn(&[PolynomialTerm], &[PolynomialTerm]) -> Result<Vec<PolynomialTerm>, Unworkable>,
    ) -> Result<Self, Unworkable> {
        let mut limits: Vec<f64> = self.pieces.iter().chain(&other.pieces).map(|piece| piece.upper).collect();
        limits.sort_by(f64::total_cmp);
        limits.dedup();
        if limits.len() > MOST_PIECES {
            return Err(Unworkable::TooManyTerms);
        }
        let pieces = limits
            .into_iter()
            .map(|upper| Ok(PolynomialPiece { upper, terms: join(self.at(upper), other.at(upper))? }))
            .collect::<Result<_, Unworkable>>()?;
        Ok(Self { lower: self.lower.max(other.lower), pieces })
    }

    pub(crate) fn add(&self, other: &Self) -> Result<Self, Unworkable> {
        self.combine(other, |a, b| collect(a.iter().chain(b).copied()))
    }

    pub(crate) fn scale(&self, factor: f64) -> Result<Self, Unworkable> {
        self.multiply(&Self::constant(factor))
    }

    pub(crate) fn multiply(&self, other: &Self) -> Result<Self, Unworkable> {
        self.combine(other, |a, b| {
            if a.len().saturating_mul(b.len()) > MOST_TERMS * MOST_TERMS {
                return Err(Unworkable::TooManyTerms);
            }
            collect(a.iter().flat_map(|x| {
                b.iter().map(move |y| PolynomialTerm {
                    coefficient: x.coefficient * y.coefficient,
                    power: x.power.saturating_add(y.power),
                    log: x.log.saturating_add(y.log),
                })
            }))
        })
    }

    /// The reciprocal; defined for a single term without logarithm only.
    fn reciprocal(&self) -> Result<Self, Unworkable> {
        let mut result = self.clone();
        for piece in &mut result.pieces {
            match piece.terms.as_mut_slice() {
                [term] if term.log == 0 && term.coefficient != 0.0 => {
                    term.coefficient = 1.0 / term.coefficient;
                    term.power = -term.power;
                }
                _ => return Err(Unworkable::PowerOfSum),
            }
        }
        Ok(result)
    }

    pub(crate) fn divide(&self, other: &Self) -> Result<Self, Unworkable> {
        let reciprocal = other.reciprocal().map_err(|_| Unworkable::DivisionByFunction)?;
        self.multiply(&reciprocal)
    }

    pub(crate) fn power(&self, exponent: i32) -> Result<Self, Unworkable> {
        if exponent.abs() > LARGEST_POWER {
            return Err(Unworkable::PowerTooLarge);
        }
        let base = if exponent < 0 { self.reciprocal()? } else { self.clone() };
        let mut result = Self::constant(1.0);
        for _ in 0..exponent.abs() {
            result = result.multiply(&base)?;
        }
        Ok(result)
    }
}

/// Merges terms of equal powers and refuses what no assessment holds.
fn collect(terms: impl Iterator<Item = PolynomialTerm>) -> Result<Vec<PolynomialTerm>, Unworkable> {
    let mut merged: Vec<PolynomialTerm> = Vec::new();
    for term in terms {
        if term.power.abs() > LARGEST_POWER || term.log > LARGEST_POWER {
            return Err(Unworkable::PowerTooLarge);
        }
        if !term.coefficient.is_finite() {
            return Err(Unworkable::NotFinite);
        }
        if term.coefficient == 0.0 {
            continue;
        }
        let same = merged.iter().position(|m| m.power == term.power && m.log == term.log);
        match same {
            Some(known) => merged[known].coefficient += term.coefficient,
            None if merged.len() < MOST_TERMS => merged.push(term),
            None => return Err(Unworkable::TooManyTerms),
        }
    }
    Ok(merged)
}

/// The distinct T^p·(ln T)^q of a set of expressions, evaluated once per temperature for all of them.
#[derive(Debug, Clone, Default, PartialEq)]
pub(crate) struct Basis {
    powers: Vec<(i32, i32)>,
    /// Value and temperature derivative of each, together because they are always read together.
    values: Vec<[f64; 2]>,
}

impl Basis {
    pub(crate) fn index_of(&mut self, power: i32, log: i32) -> usize {
        let known = self.powers.iter().position(|&p| p == (power, log));
        known.unwrap_or_else(|| {
            self.powers.push((power, log));
            self.values.push([0.0; 2]);
            self.powers.len() - 1
        })
    }

    /// Evaluates every basis function and its derivative at `temperature` (kelvin).
    pub(crate) fn evaluate(&mut self, temperature: f64) {
        let ln = temperature.ln();
        for (k, &(power, log)) in self.powers.iter().enumerate() {
            let t_less = temperature.powi(power - 1);
            let log_less = if log == 0 { 0.0 } else { ln.powi(log - 1) };
            let log_full = if log == 0 { 1.0 } else { log_less * ln };
            self.values[k] = [
                t_less * temperature * log_full,
                t_less * (f64::from(power) * log_full + f64::from(log) * log_less),
            ];
        }
    }
}

/// An expression rewritten on a [`Basis`]: pieces of (coefficient, basis function).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct CompiledExpression {
    pieces: Vec<(f64, Vec<(f64, usize)>)>,
}

impl CompiledExpression {
    pub(crate) fn new(expression: &GibbsExpression, basis: &mut Basis) -> Self {
        let pieces = expression.pieces.iter().map(|piece| {
            let terms = piece.terms.iter();
            let terms = terms.map(|t| (t.coefficient, basis.index_of(t.power, t.log))).collect();
            (piece.upper, terms)
        });
        Self { pieces: pieces.collect() }
    }

    /// Value and temperature derivative at the temperature the basis was last evaluated at.
    pub(crate) fn evaluate(&self, temperature: f64, basis: &Basis) -> (f64, f64) {
        let mut chosen = self.pieces.len() - 1;
        for (k, (upper, _)) in self.pieces.iter().enumerate() {
            if temperature <= *upper {
                chosen = k;
                break;
            }
        }
        let mut value = 0.0;
        let mut slope = 0.0;
        for &(coefficient, index) in &self.pieces[chosen].1 {
            let [basis_value, basis_slope] = basis.values[index];
            value += coefficient * basis_value;
            slope += coefficient * basis_slope;
        }
        (value, slope)
    }
}
