//! How the parts of a record are read that JSON has several shapes for. Each is read as it comes, without a copy, and a key
//! that occurs twice is refused.

use super::shape::*;
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::fmt;

impl<'de> Deserialize<'de> for RecordedCell {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Cell)
    }
}

struct Cell;

impl<'de> Visitor<'de> for Cell {
    type Value = RecordedCell;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a cell: null, the number of a text, a number with a point, or a range")
    }

    fn visit_unit<E: Error>(self) -> Result<RecordedCell, E> {
        Ok(RecordedCell::Unknown)
    }

    fn visit_u64<E: Error>(self, text: u64) -> Result<RecordedCell, E> {
        Ok(RecordedCell::Symbol(usize::try_from(text).map_err(E::custom)?))
    }

    fn visit_f64<E: Error>(self, number: f64) -> Result<RecordedCell, E> {
        Ok(RecordedCell::Number(RecordedNumber::Plain(number)))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<RecordedCell, A::Error> {
        let number = list.next_element()?.ok_or_else(|| A::Error::invalid_length(0, &self))?;
        let unit = list.next_element()?.ok_or_else(|| A::Error::invalid_length(1, &self))?;
        match list.next_element::<serde::de::IgnoredAny>()? {
            None => Ok(RecordedCell::Number(RecordedNumber::Shown(number, unit))),
            Some(_) => Err(A::Error::invalid_length(3, &self)),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, entries: A) -> Result<RecordedCell, A::Error> {
        RecordedRange::deserialize(MapAccessDeserializer::new(entries)).map(RecordedCell::Range)
    }
}

impl<'de> Deserialize<'de> for RecordedMet {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(Met)
    }
}

struct Met;

/// What the entries of a premise are called.
#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum NotationEntry {
    No,
    With,
    Open,
    Value,
    Over,
}

/// Takes an entry that must not be there yet.
fn once<'de, A: MapAccess<'de>, T: Deserialize<'de>>(
    entries: &mut A,
    into: &mut Option<T>,
    name: &'static str,
) -> Result<(), A::Error> {
    match into {
        Some(_) => Err(A::Error::duplicate_field(name)),
        None => {
            *into = Some(entries.next_value()?);
            Ok(())
        }
    }
}

impl<'de> Visitor<'de> for Met {
    type Value = RecordedMet;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("what a premise met: a fact, a condition, an absence, an aggregate or a value")
    }

    fn visit_u64<E: Error>(self, fact: u64) -> Result<RecordedMet, E> {
        Ok(RecordedMet::Given(usize::try_from(fact).map_err(E::custom)?))
    }

    fn visit_str<E: Error>(self, truth: &str) -> Result<RecordedMet, E> {
        match truth {
            "holds" => Ok(RecordedMet::Where(RecordedTruth::Holds)),
            "open" => Ok(RecordedMet::Where(RecordedTruth::Open)),
            other => Err(E::unknown_variant(other, &["holds", "open"])),
        }
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<RecordedMet, A::Error> {
        let (mut no, mut with, mut open, mut value, mut over) = (None, None, None, None, None);
        while let Some(key) = entries.next_key()? {
            match key {
                NotationEntry::No => once(&mut entries, &mut no, "no")?,
                NotationEntry::With => once(&mut entries, &mut with, "with")?,
                NotationEntry::Open => once(&mut entries, &mut open, "open")?,
                NotationEntry::Value => once(&mut entries, &mut value, "value")?,
                NotationEntry::Over => once(&mut entries, &mut over, "over")?,
            }
        }
        match (no, with, open, value, over) {
            (Some(no), Some(with), open, None, None) => {
                Ok(RecordedMet::Unless(RecordedAbsence { no, with, open: open.unwrap_or_default() }))
            }
            (None, None, None, Some(value), Some(over)) => {
                Ok(RecordedMet::Aggregate(RecordedAggregate { value, over }))
            }
            (None, None, None, Some(value), None) => Ok(RecordedMet::Let(RecordedValue { value })),
            _ => Err(A::Error::custom("these entries do not go together in what a premise met")),
        }
    }
}
