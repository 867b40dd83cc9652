//! How a record is laid out: JSON with one fact or applied finding a line, so that a reader, a search and a comparison of
//! two records find their way. What it holds is decided elsewhere.

use crate::visible;
use serde::Serialize;
use serde_json::ser::Formatter;
use std::io::{Result, Write};

/// Brackets nest this deep before a line is no longer broken: the record, its list of relations, a relation, its facts.
const BROKEN: usize = 4;

/// Breaks lines in the outer brackets.
#[derive(Default)]
struct Lines {
    depth: usize,
    /// Whether anything stands between the brackets that were closed last.
    filled: bool,
}

impl Lines {
    fn open(&mut self, out: &mut (impl ?Sized + Write), bracket: &[u8]) -> Result<()> {
        self.depth += 1;
        self.filled = false;
        out.write_all(bracket)
    }

    fn next(&mut self, out: &mut (impl ?Sized + Write), first: bool) -> Result<()> {
        if !first {
            out.write_all(b",")?;
        }
        self.line(out)
    }

    fn close(&mut self, out: &mut (impl ?Sized + Write), bracket: &[u8]) -> Result<()> {
        self.depth -= 1;
        if self.filled && self.depth < BROKEN {
            out.write_all(b"\n")?;
            (0..self.depth).try_for_each(|_| out.write_all(b" "))?;
        }
        self.filled = true;
        out.write_all(bracket)
    }

    fn line(&self, out: &mut (impl ?Sized + Write)) -> Result<()> {
        if self.depth > BROKEN {
            return Ok(());
        }
        out.write_all(b"\n")?;
        (0..self.depth).try_for_each(|_| out.write_all(b" "))
    }
}

impl Formatter for Lines {
    fn write_string_fragment<W: ?Sized + Write>(&mut self, out: &mut W, fragment: &str) -> Result<()> {
        out.write_all(visible::json(fragment).as_bytes())
    }

    fn begin_array<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.open(out, b"[")
    }

    fn begin_array_value<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> Result<()> {
        self.next(out, first)
    }

    fn end_array_value<W: ?Sized + Write>(&mut self, _: &mut W) -> Result<()> {
        self.filled = true;
        Ok(())
    }

    fn end_array<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.close(out, b"]")
    }

    fn begin_object<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.open(out, b"{")
    }

    fn begin_object_key<W: ?Sized + Write>(&mut self, out: &mut W, first: bool) -> Result<()> {
        self.next(out, first)
    }

    fn end_object_value<W: ?Sized + Write>(&mut self, _: &mut W) -> Result<()> {
        self.filled = true;
        Ok(())
    }

    fn end_object<W: ?Sized + Write>(&mut self, out: &mut W) -> Result<()> {
        self.close(out, b"}")
    }
}

/// Writes a value, with a line break at its end.
pub(super) fn write(value: &impl Serialize, mut out: impl Write) -> Result<()> {
    value.serialize(&mut serde_json::Serializer::with_formatter(&mut out, Lines::default()))?;
    out.write_all(b"\n")?;
    out.flush()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn outer_brackets_are_broken_and_inner_ones_are_not() {
        let value = json!({"a": [{"b": [[1, [2, 3]], []]}], "c": {}, "d": []});
        let mut bytes = Vec::new();
        write(&value, &mut bytes).expect("JSON");
        let text = String::from_utf8(bytes).expect("a text");
        assert_eq!(
            text,
            "{\n \"a\":[\n  {\n   \"b\":[\n    [1,[2,3]],\n    []\n   ]\n  }\n ],\n \"c\":{},\n \"d\":[]\n}\n"
        );
        assert_eq!(serde_json::from_str::<serde_json::Value>(&text).expect("JSON"), value);
    }
}
