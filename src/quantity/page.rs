//! The units of a page: one for each kind of quantity, those that the reader writes. What is written comes from elsewhere.

use super::unit::System;
use super::{Dimension, Interval, Quantity, Unit};
use std::collections::BTreeMap;

/// In which unit each kind of quantity is shown. By default the usual ones.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct PageUnits {
    /// Where not the usual one.
    other: Vec<(Dimension, Unit)>,
}

impl PageUnits {
    /// The units of somebody who wrote these quantities: of each kind the unit that was written most, and for kinds that
    /// were not written one of the same system. Temperatures are a system of their own, for many a shop measures in inches and
    /// degrees Celsius. A difference of temperatures is shown in kelvin unless another unit was written for one.
    pub fn written<'q>(quantities: impl IntoIterator<Item = &'q Quantity>) -> Self {
        let mut counts: BTreeMap<Unit, usize> = BTreeMap::new();
        for quantity in quantities {
            let unit = quantity.unit.filter(|unit| unit.dimension() == quantity.dimension);
            unit.into_iter().for_each(|unit| *counts.entry(unit).or_default() += 1);
        }
        let is_warmth =
            |dimension| matches!(dimension, Dimension::TEMPERATURE | Dimension::TEMPERATURE_DIFFERENCE);
        // More customary units than metric ones, among all or some of those written; `None` where none was written.
        let customary = |of: &dyn Fn(Dimension) -> bool| {
            let written = |system: System| -> usize {
                let units = counts.iter().filter(|(unit, _)| of(unit.dimension()));
                units.filter(|(unit, _)| unit.system() == Some(system)).map(|(_, count)| count).sum()
            };
            let (metric, customary) = (written(System::Metric), written(System::Customary));
            (metric + customary > 0).then_some(customary > metric)
        };
        let overall = customary(&|_| true).unwrap_or_default();
        let warmth = customary(&is_warmth).unwrap_or(overall);
        let sizes = customary(&|dimension| !is_warmth(dimension)).unwrap_or(overall);
        let mut other = Vec::new();
        for (_, dimension) in Dimension::NAMED {
            let most = counts
                .iter()
                .filter(|(unit, _)| unit.dimension() == *dimension)
                .rev()
                .max_by_key(|(_, count)| **count)
                .map(|(unit, _)| *unit);
            let system = || match *dimension {
                Dimension::TEMPERATURE_DIFFERENCE => false,
                dimension if is_warmth(dimension) => warmth,
                _ => sizes,
            };
            let unit = most.or_else(|| system().then(|| Unit::customary(*dimension)).flatten());
            other.extend(
                unit.filter(|unit| Some(*unit) != Unit::usual(*dimension)).map(|unit| (*dimension, unit)),
            );
        }
        PageUnits { other }
    }

    /// The unit in which quantities of a dimension are shown.
    pub fn unit(&self, dimension: Dimension) -> Option<Unit> {
        let other = self.other.iter().find(|(known, _)| *known == dimension).map(|(_, unit)| *unit);
        other.or_else(|| Unit::usual(dimension))
    }

    /// A quantity as it is shown on this page.
    pub fn convert(&self, quantity: Quantity) -> Quantity {
        let other = self.other.iter().find(|(known, _)| *known == quantity.dimension).map(|(_, unit)| *unit);
        Quantity { unit: other, ..quantity }
    }

    /// A range as it is shown on this page.
    pub fn convert_range(&self, range: Interval) -> Interval {
        let shown = |end: Option<Quantity>| end.map(|end| self.convert(end));
        Interval { lowest: shown(range.lowest), highest: shown(range.highest) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::parse_quantity;
    use super::*;

    fn page(written: &[&str]) -> PageUnits {
        let quantities: Vec<Quantity> =
            written.iter().map(|text| parse_quantity(text, None).expect("a quantity")).collect();
        PageUnits::written(&quantities)
    }

    fn shown(page: &PageUnits, text: &str) -> String {
        page.convert(parse_quantity(text, None).expect("a quantity")).to_string()
    }

    #[test]
    fn what_is_written_in_inches_is_shown_in_inches_and_its_company() {
        let page = page(&["1/4 in", "0.063 in", "95 °C"]);
        assert_eq!(shown(&page, "25.4 mm"), "1 in");
        assert_eq!(shown(&page, "1 kip"), "1 kip");
        assert_eq!(shown(&page, "100 MPa"), "14.5 ksi");
        assert_eq!(shown(&page, "203 °F"), "95 °C", "degrees go by themselves");
    }

    #[test]
    fn without_inches_all_is_metric() {
        for written in [&["5 mm", "203 °F"][..], &[], &["5 mm", "1/4 in"]] {
            assert_eq!(shown(&page(written), "17 ksi"), "117.2 MPa", "{written:?}");
        }
        assert_eq!(shown(&page(&["5 mm", "203 °F"]), "65 °C"), "149 °F");
    }

    #[test]
    fn the_unit_that_is_written_most_is_shown() {
        assert_eq!(shown(&page(&["5 mm", "5 mm", "1.2 m"]), "1 m"), "1000 mm");
        assert_eq!(shown(&page(&["500 N"]), "2 kN"), "2000 N");
        assert_eq!(shown(&page(&["30 kip", "500 lbf", "800 lbf"]), "1 kip"), "1000 lbf");
    }

    #[test]
    fn a_difference_of_temperatures_is_in_kelvin() {
        for written in [&["203 °F"][..], &["95 °C"]] {
            let index = Quantity::from_base(1003.0, Dimension::TEMPERATURE_DIFFERENCE);
            assert_eq!(page(written).convert(index).to_string(), "1003 K");
        }
    }
}
