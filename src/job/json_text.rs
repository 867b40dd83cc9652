//! JSON text to the tree: strict JSON, without comments or trailing commas. What the keys mean is decided elsewhere.

use super::tree::{Content, JobEntry, JobNode};
use crate::language::{Diagnostic, Span};
use jsonc_parser::ast::Value;
use jsonc_parser::common::{Range, Ranged};
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};

const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

/// The tree of a JSON text. A syntax error leaves nothing to read: where one bracket is missing in JSON, what follows
/// belongs to something else.
pub(super) fn parse(text: &str, diagnostics: &mut Vec<Diagnostic>) -> Option<JobNode> {
    match parse_to_ast(text, &CollectOptions::default(), &STRICT) {
        Ok(parsed) => match parsed.value {
            Some(value) => Some(node(&value, diagnostics)),
            None => {
                diagnostics.push(Diagnostic::new(
                    Span::default(),
                    "the job file is empty",
                    "nothing stands here",
                ));
                None
            }
        },
        Err(error) => {
            let message = format!("this is not valid JSON: {}", lower_first(&error.kind().to_string()));
            diagnostics.push(Diagnostic::new(span(error.range()), message, "here"));
            None
        }
    }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

fn span(range: Range) -> Span {
    Span { file: 0, start: range.start as u32, end: range.end as u32 }
}

fn node(value: &Value<'_>, diagnostics: &mut Vec<Diagnostic>) -> JobNode {
    let content = match value {
        Value::StringLit(text) => Content::Text(text.value.to_string()),
        Value::NumberLit(number) => Content::Number(number.value.to_owned()),
        Value::BooleanLit(_) => Content::Other("true or false"),
        Value::NullKeyword(_) => Content::Other("null"),
        Value::Array(array) => {
            Content::List(array.elements.iter().map(|element| node(element, diagnostics)).collect())
        }
        Value::Object(object) => {
            let mut first = std::collections::HashMap::new();
            let mut entries = Vec::new();
            for property in &object.properties {
                let key = property.name.as_str().to_owned();
                let key_span = span(property.name.range());
                if let Some(earlier) = first.get(&key) {
                    let message = format!("the key `{}` is given twice", super::shorten(&key));
                    diagnostics.push(
                        Diagnostic::new(key_span, message, "again here").also(*earlier, "first given here"),
                    );
                    continue;
                }
                first.insert(key.clone(), key_span);
                entries.push(JobEntry { key, key_span, node: node(&property.value, diagnostics) });
            }
            Content::Table(entries)
        }
    };
    JobNode { value: content, span: span(value.range()) }
}
