//! Reads a JSON value of which nothing is known, and refuses a key that occurs twice: a reader that takes the first and one
//! that takes the last would see two records in one file.

use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::fmt;

/// The value.
pub(super) fn value<'de, D: Deserializer<'de>>(from: D) -> Result<Value, D::Error> {
    Unique.deserialize(from)
}

struct Unique;

impl<'de> DeserializeSeed<'de> for Unique {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Value, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Unique {
    type Value = Value;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a JSON value")
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        Ok(Number::from_f64(value).map_or(Value::Null, Value::Number))
    }

    fn visit_str<E: Error>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_string<E: Error>(self, value: String) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut values = Vec::new();
        while let Some(value) = list.next_element_seed(Unique)? {
            values.push(value);
        }
        Ok(Value::Array(values))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut values = Map::new();
        while let Some(key) = entries.next_key::<String>()? {
            if values.contains_key(&key) {
                return Err(A::Error::custom(format_args!("the key `{key}` occurs twice")));
            }
            let value = entries.next_value_seed(Unique)?;
            values.insert(key, value);
        }
        Ok(Value::Object(values))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_that_stands_twice_is_refused_at_any_depth() {
        let read = |text: &str| value(&mut serde_json::Deserializer::from_str(text));
        let same = r#"{"a":[{"b":1,"c":{"b":-2}},{"b":null}],"b":2.5,"d":"e"}"#;
        assert_eq!(read(same).ok(), serde_json::from_str(same).ok());
        for text in [r#"{"a":1,"a":1}"#, r#"[{"a":{"b":1,"c":2,"b":1}}]"#, r#"{"a":1,"\u0061":2}"#] {
            let error = read(text).expect_err(text).to_string();
            assert!(error.contains("occurs twice"), "{error}");
        }
    }
}
