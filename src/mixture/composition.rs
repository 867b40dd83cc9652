//! Reading a composition as a user writes it.

use super::ask::MixtureError;
use crate::computed::Composition;
use crate::language::Rulebook;
use crate::quantity::{Dimension, Quantity};

/// A composition written as `Si 5.2, Mg 0.3`; a per cent sign behind a figure is allowed.
pub fn parse_composition(text: &str, rulebook: &Rulebook) -> Result<Composition, MixtureError> {
    let wrong = |message: String| MixtureError::Composition(message);
    let known: Vec<&str> = rulebook
        .kinds
        .iter()
        .filter(|kind| kind.name == "element")
        .flat_map(|kind| kind.words.iter().map(|word| &**word))
        .collect();
    let mut composition = Composition::new();
    for part in text.split(',').map(str::trim).filter(|part| !part.is_empty()) {
        let (element, content) = part.split_once(char::is_whitespace).ok_or_else(|| {
            wrong(format!("\"{part}\" is not an element with its content, such as \"Si 5.2\""))
        })?;
        if !known.contains(&element) && element != "Al" {
            let near = crate::language::nearest(element, known.iter().copied());
            let hint = near.map_or(String::new(), |near| format!("; did you mean \"{near}\"?"));
            return Err(wrong(format!("unknown element \"{element}\"{hint}")));
        }
        let digits = content.trim().trim_end_matches('%').trim();
        let content =
            crate::quantity::parse_number(digits).map_err(|error| wrong(format!("{element}: {error}")))?;
        if !(0.0..=100.0).contains(&content) {
            return Err(wrong(format!("{element}: {content} is not a content in mass per cent")));
        }
        if composition.iter().any(|(listed, _)| listed == element) {
            return Err(wrong(format!("{element} is named twice")));
        }
        if element != "Al" {
            composition.push((element.to_owned(), Quantity::from_base(content, Dimension::MASS_PERCENT)));
        }
    }
    if composition.is_empty() {
        return Err(wrong(format!("\"{text}\" is not a composition: it names no element beside aluminium")));
    }
    let total: f64 = composition.iter().map(|(_, content)| content.base).sum();
    if total >= 100.0 {
        return Err(wrong(format!(
            "\"{text}\" is not a composition: elements beside aluminium add up to {total} %"
        )));
    }
    Ok(composition)
}
