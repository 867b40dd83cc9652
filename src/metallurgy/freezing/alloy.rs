//! From mass per cent by element to moles, with the elements the data do not describe set apart.

use super::database::Database;
use super::outcome::FreezingError;

/// Symbols of the elements up to uranium, to distinguish an element that the data lack from a slip of the pen.
const SYMBOLS: &str = "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr \
    Rb Sr Y Zr Nb Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re \
    Os Ir Pt Au Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U";

/// Contents below this (mass per cent) do not change any printed figure and are counted as absent.
const TRACE: f64 = 1e-7;

/// The metal that makes up the rest to 100 %.
const BASE: &str = "Al";

/// A composition in the elements of a database.
#[derive(Debug, Clone)]
pub(crate) struct Alloy {
    /// Symbols as in the database.
    pub symbols: Vec<String>,
    /// Mole fractions of the described part of the metal.
    pub fractions: Vec<f64>,
    /// Elements present but not described by the data.
    pub left_out: Vec<String>,
}

impl Alloy {
    /// `composition` in mass per cent; aluminium is the rest to 100 unless it is given.
    pub(crate) fn new(database: &Database, composition: &[(&str, f64)]) -> Result<Self, FreezingError> {
        let wrong = |reason: String| Err(FreezingError::Composition { reason });
        let mut parts: Vec<(&str, f64)> = Vec::new();
        for &(name, content) in composition {
            let spelled = name.trim();
            let Some(symbol) = SYMBOLS.split_whitespace().find(|s| s.eq_ignore_ascii_case(spelled)) else {
                let shown: String = spelled.chars().take(20).collect();
                return wrong(format!("'{shown}' is not the symbol of an element"));
            };
            if !content.is_finite() || !(0.0..=100.0).contains(&content) {
                return wrong(format!("{symbol} has {content} mass per cent, outside 0 to 100"));
            }
            if parts.iter().any(|(s, _)| *s == symbol) {
                return wrong(format!("{symbol} is given twice"));
            }
            parts.push((symbol, content));
        }
        let given: f64 = parts.iter().map(|(_, content)| content).sum();
        if given > 100.0 + 1e-6 {
            return wrong(format!("the contents add up to {given:.4} mass per cent"));
        }
        if !parts.iter().any(|(symbol, _)| *symbol == BASE) {
            parts.insert(0, (BASE, (100.0 - given).max(0.0)));
        }
        let mut alloy = Self { symbols: Vec::new(), fractions: Vec::new(), left_out: Vec::new() };
        for (symbol, content) in parts {
            if content < TRACE {
                continue;
            }
            match database.elements().iter().find(|e| e.symbol.eq_ignore_ascii_case(symbol)) {
                Some(element) => {
                    alloy.symbols.push(element.symbol.clone());
                    alloy.fractions.push(content / element.mass);
                }
                None => alloy.left_out.push(symbol.to_string()),
            }
        }
        let total: f64 = alloy.fractions.iter().sum();
        if alloy.symbols.is_empty() || total <= 0.0 {
            return Err(FreezingError::NothingDescribed { left_out: alloy.left_out });
        }
        alloy.fractions.iter_mut().for_each(|x| *x /= total);
        Ok(alloy)
    }
}
