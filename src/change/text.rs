//! The text of a job file with some values changed, comments and layout kept. What the values mean is read by `job`.

use super::setting::{Path, Setting, Written};
use crate::job::{Job, is_json};
use crate::language::nearest;
use crate::quantity::PageUnits;
use jsonc_parser::ParseOptions;
use jsonc_parser::cst::{CstInputValue, CstNode, CstObject, CstRootNode};
use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

/// The text of a job file, ready to be changed.
#[derive(Clone, Debug)]
pub struct JobText {
    name: String,
    form: Form,
    units: PageUnits,
}

#[derive(Clone, Debug)]
enum Form {
    Toml(DocumentMut),
    Json(String),
}

/// Why a value cannot be put where a setting says.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PlaceError {
    /// A path that names a part or joint which the job does not have.
    #[error("{path}: the job has no {what} \"{name}\"{}", suggestion(near, known))]
    Unknown {
        /// The path.
        path: Path,
        /// `part` or `joint`.
        what: &'static str,
        /// The name.
        name: String,
        /// The nearest name, if one is near.
        near: Option<String>,
        /// Those it has.
        known: Vec<String>,
    },
    /// A path that ends where a table stands.
    #[error("{path} is not one value; write the key behind it as well, such as {example}")]
    Short {
        /// The path.
        path: Path,
        /// A longer one.
        example: &'static str,
    },
    /// A path that goes on where one value stands.
    #[error("{path}: `{key}` holds one value, and nothing can stand below it")]
    Deep {
        /// The path.
        path: Path,
        /// The key that holds a value.
        key: String,
    },
    /// A path to be kept at which nothing could be changed anyway.
    #[error("nothing at {path} could be changed{}", suggestion(near, known))]
    Idle {
        /// The path.
        path: Path,
        /// The nearest at which something could, if one is near.
        near: Option<String>,
        /// Those at which something could.
        known: Vec<String>,
    },
    /// The text could be read once and cannot be read now.
    #[error("the job file is not valid: {0}")]
    Invalid(String),
}

fn suggestion(near: &Option<String>, known: &[String]) -> String {
    match near {
        Some(near) => format!("; did you mean \"{near}\"?"),
        None if known.len() <= 40 => format!("; there are: {}", known.join(", ")),
        None => String::new(),
    }
}

fn unknown(path: &Path, what: &'static str, name: &str, known: Vec<String>) -> PlaceError {
    let near = nearest(name, known.iter().map(String::as_str)).map(str::to_owned);
    PlaceError::Unknown { path: path.clone(), what, name: name.to_owned(), near, known }
}

/// Errors where a path leads to none of those that could be changed.
pub(super) fn known_path(path: &Path, changeable: &[Path]) -> Result<(), PlaceError> {
    if changeable.iter().any(|known| path.leads_to(known)) {
        return Ok(());
    }
    let mut known: Vec<String> = changeable.iter().map(ToString::to_string).collect();
    known.sort();
    known.dedup();
    let near = nearest(&path.to_string(), known.iter().map(String::as_str)).map(str::to_owned);
    Err(PlaceError::Idle { path: path.clone(), near, known })
}

/// Errors where a job has no joint of that name.
pub(super) fn known_joint(job: &Job, joint: &str) -> Result<(), PlaceError> {
    if job.joints.iter().any(|known| *known.name == *joint) {
        return Ok(());
    }
    let known = job.joints.iter().map(|joint| joint.name.to_string()).collect();
    Err(unknown(&Path::new(["joints", joint]), "joint", joint, known))
}

impl JobText {
    /// The text that a job was read from.
    pub fn of(job: &Job) -> Result<Self, PlaceError> {
        let text = job.sources.files.first().map_or("", |file| file.text.as_str());
        let form = if is_json(&job.file, text) {
            Form::Json(text.to_owned())
        } else {
            Form::Toml(text.parse().map_err(|error: toml_edit::TomlError| invalid(&error))?)
        };
        Ok(JobText { name: job.file.clone(), form, units: job.units() })
    }

    /// The file's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The units that the job is written in.
    pub fn units(&self) -> &PageUnits {
        &self.units
    }

    /// The text with these values put in, one after the other.
    pub fn with(&self, settings: &[Setting]) -> Result<String, PlaceError> {
        match &self.form {
            Form::Toml(document) => {
                let mut document = document.clone();
                settings.iter().try_for_each(|setting| in_toml(&mut document, setting))?;
                Ok(document.to_string())
            }
            Form::Json(text) => {
                let root =
                    CstRootNode::parse(text, &ParseOptions::default()).map_err(|error| invalid(&error))?;
                settings.iter().try_for_each(|setting| in_json(&root, setting))?;
                Ok(root.to_string())
            }
        }
    }

    /// The value at a path, where one stands.
    pub fn value(&self, path: &Path) -> Option<Written> {
        match &self.form {
            Form::Toml(document) => {
                let mut document = document.clone();
                let (table, keys) = toml_start(&mut document, path).ok()?;
                let (last, above) = keys.split_last()?;
                let mut table: &dyn TableLike = table;
                for key in above {
                    table = table.get(key)?.as_table_like()?;
                }
                Some(Written::of(table.get(last)?.as_value()?))
            }
            Form::Json(text) => {
                let root = CstRootNode::parse(text, &ParseOptions::default()).ok()?;
                let (mut object, keys) = json_start(&root, path).ok()?;
                let (last, above) = keys.split_last()?;
                for key in above {
                    object = object.object_value(key)?;
                }
                Some(Written::parse(&object.get(last)?.value()?.to_string()))
            }
        }
    }
}

fn invalid(error: &dyn std::fmt::Display) -> PlaceError {
    PlaceError::Invalid(error.to_string())
}

/// A section and a name in it, where a path begins so; and the keys behind.
type Split<'p> = (Option<(&'p str, &'p str)>, &'p [String]);

/// Splits a path into where to begin and the keys from there on: a part, a joint, or the file itself.
fn split(path: &Path) -> Result<Split<'_>, PlaceError> {
    match path.keys() {
        [section, name, rest @ ..] if matches!(section.as_str(), "parts" | "joints") => {
            if rest.is_empty() {
                let example = if section == "parts" { "parts.NAME.alloy" } else { "joints.\"NAME\".leg" };
                return Err(PlaceError::Short { path: path.clone(), example });
            }
            Ok((Some((section, name)), rest))
        }
        [section] if matches!(section.as_str(), "parts" | "joints") => {
            let example = if section == "parts" { "parts.NAME.alloy" } else { "joints.\"NAME\".leg" };
            Err(PlaceError::Short { path: path.clone(), example })
        }
        [section] if matches!(section.as_str(), "service" | "choice") => {
            Err(PlaceError::Short { path: path.clone(), example: "service.finish" })
        }
        keys => Ok((None, keys)),
    }
}

type TomlStart<'d, 'p> = (&'d mut dyn TableLike, &'p [String]);

fn toml_start<'d, 'p>(
    document: &'d mut DocumentMut,
    path: &'p Path,
) -> Result<TomlStart<'d, 'p>, PlaceError> {
    let (named, keys) = split(path)?;
    let Some((section, name)) = named else { return Ok((document.as_table_mut(), keys)) };
    let item = document.get_mut(section);
    if section == "parts" {
        let Some(parts) = item.and_then(Item::as_table_like_mut) else {
            return Err(unknown(path, "part", name, Vec::new()));
        };
        let known: Vec<String> = parts.iter().map(|(key, _)| key.to_owned()).collect();
        let part = parts.get_mut(name).and_then(Item::as_table_like_mut);
        return part.map(|part| (part, keys)).ok_or_else(|| unknown(path, "part", name, known));
    }
    let joints: Vec<&mut dyn TableLike> = match item {
        Some(Item::ArrayOfTables(tables)) => {
            tables.iter_mut().map(|table| table as &mut dyn TableLike).collect()
        }
        Some(Item::Value(Value::Array(list))) => list
            .iter_mut()
            .filter_map(Value::as_inline_table_mut)
            .map(|table| table as &mut dyn TableLike)
            .collect(),
        _ => Vec::new(),
    };
    let mut known = Vec::new();
    for joint in joints {
        let own = joint.get("name").and_then(Item::as_str).unwrap_or_default().to_owned();
        if own == name {
            return Ok((joint, keys));
        }
        known.push(own);
    }
    Err(unknown(path, "joint", name, known))
}

fn in_toml(document: &mut DocumentMut, setting: &Setting) -> Result<(), PlaceError> {
    let path = &setting.path;
    let (mut table, keys) = toml_start(document, path)?;
    let Some((last, above)) = keys.split_last() else { return Ok(()) };
    for key in above {
        if !table.contains_key(key) {
            // A table on one line takes it in as a table on one line.
            table.insert(key, Item::Table(Table::new()));
        }
        table = table
            .get_mut(key)
            .and_then(Item::as_table_like_mut)
            .ok_or_else(|| PlaceError::Deep { path: path.clone(), key: key.clone() })?;
    }
    let mut value = toml_value(&setting.value);
    match table.get_mut(last) {
        Some(Item::Value(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        _ => {
            table.insert(last, Item::Value(value));
        }
    }
    Ok(())
}

fn toml_value(written: &Written) -> Value {
    match written {
        Written::Text(text) => Value::from(text.as_str()),
        Written::Bare(text) => text.parse().unwrap_or_else(|_| Value::from(text.as_str())),
        Written::List(list) => Value::Array(list.iter().map(toml_value).collect()),
        Written::Table(entries) => {
            Value::InlineTable(entries.iter().map(|(key, value)| (key.as_str(), toml_value(value))).collect())
        }
    }
}

fn json_start<'p>(root: &CstRootNode, path: &'p Path) -> Result<(CstObject, &'p [String]), PlaceError> {
    let (named, keys) = split(path)?;
    let file = root.object_value().ok_or_else(|| PlaceError::Invalid("it is no table".to_owned()))?;
    let Some((section, name)) = named else { return Ok((file, keys)) };
    if section == "parts" {
        let parts = file.object_value("parts");
        let known =
            parts.iter().flat_map(CstObject::properties).filter_map(|part| part.decoded_name()).collect();
        let part = parts.and_then(|parts| parts.object_value(name));
        return part.map(|part| (part, keys)).ok_or_else(|| unknown(path, "part", name, known));
    }
    let elements = file.array_value("joints").map(|joints| joints.elements()).unwrap_or_default();
    let mut known = Vec::new();
    for joint in elements.iter().filter_map(CstNode::as_object) {
        let own = joint
            .get("name")
            .and_then(|name| name.value()?.as_string_lit()?.decoded_value().ok())
            .unwrap_or_default();
        if own == name {
            return Ok((joint, keys));
        }
        known.push(own);
    }
    Err(unknown(path, "joint", name, known))
}

fn in_json(root: &CstRootNode, setting: &Setting) -> Result<(), PlaceError> {
    let path = &setting.path;
    let (mut object, keys) = json_start(root, path)?;
    let Some((last, above)) = keys.split_last() else { return Ok(()) };
    for key in above {
        object = object
            .object_value_or_create(key)
            .ok_or_else(|| PlaceError::Deep { path: path.clone(), key: key.clone() })?;
    }
    let value = json_value(&setting.value);
    match object.get(last) {
        Some(old) => old.set_value(value),
        None => {
            object.append(last, value);
        }
    }
    Ok(())
}

fn json_value(written: &Written) -> CstInputValue {
    match written {
        Written::Text(text) => CstInputValue::String(text.clone()),
        Written::Bare(text) => match serde_json::from_str(text) {
            Ok(serde_json::Value::Number(_)) => CstInputValue::Number(text.clone()),
            Ok(serde_json::Value::Bool(truth)) => CstInputValue::Bool(truth),
            _ => CstInputValue::String(text.clone()),
        },
        Written::List(list) => CstInputValue::Array(list.iter().map(json_value).collect()),
        Written::Table(entries) => CstInputValue::Object(
            entries.iter().map(|(key, value)| (key.clone(), json_value(value))).collect(),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{SourceFile, Sources};

    fn text(name: &str, text: &str) -> JobText {
        let sources = Sources { files: vec![SourceFile { name: name.to_owned(), text: text.to_owned() }] };
        let job = Job {
            title: None,
            file: name.to_owned(),
            fingerprint: String::new(),
            parts: Vec::new(),
            joints: Vec::new(),
            available: Vec::new(),
            order: Vec::new(),
            facts: Vec::new(),
            sources,
        };
        JobText::of(&job).expect("a text")
    }

    fn set(text: &JobText, settings: &[&str]) -> Result<String, PlaceError> {
        let settings: Vec<Setting> = settings.iter().map(|text| text.parse().expect("a setting")).collect();
        text.with(&settings)
    }

    const TOML: &str = "# top\n[parts.a]\nalloy = \"3003\"   # sheet\n\n[[joints]]\nname = \"a to a\"\nleg = \"3 mm\"\n\
                        load = { shear = \"1 kN\", length = \"9 mm\" }\n\n[service]\nfinish = \"none\"\n";

    #[test]
    fn toml_keeps_comments_and_layout() {
        let settings = ["parts.a.alloy = 5052", "joints.\"a to a\".leg = 5 mm", "service.exposure = dry"];
        let changed = set(&text("a.toml", TOML), &settings).expect("changed");
        let expected = TOML
            .replace("\"3003\"", "5052")
            .replace("3 mm", "5 mm")
            .replace("finish = \"none\"\n", "finish = \"none\"\nexposure = \"dry\"\n");
        assert_eq!(changed, expected);
        let changed = set(
            &text("a.toml", TOML),
            &["joints.a to a.load.shear = 2 kN", "joints.a to a.service.finish = painted"],
        )
        .expect("changed");
        assert!(changed.contains("load = { shear = \"2 kN\", length = \"9 mm\" }"), "{changed}");
        assert!(changed.contains("[joints.service]\nfinish = \"painted\""), "{changed}");
    }

    #[test]
    fn json_keeps_its_layout() {
        let job = "{\"parts\": {\"a\": {\"alloy\": \"3003\"}},\n \"joints\": [{\"name\": \"s\", \"leg\": \"3 mm\"}]}";
        let settings = ["joints.s.leg = 5 mm", "parts.a.alloy = 5052", "service.finish = painted"];
        let changed = set(&text("a.json", job), &settings).expect("changed");
        let read: serde_json::Value = serde_json::from_str(&changed).expect("JSON");
        assert_eq!(read["joints"][0]["leg"], "5 mm");
        assert_eq!(read["parts"]["a"]["alloy"], 5052);
        assert_eq!(read["service"]["finish"], "painted");
    }

    #[test]
    fn values_are_found() {
        let text = text("a.toml", TOML);
        let value = |path: &str| text.value(&path.parse().expect("a path")).map(|value| value.plain());
        assert_eq!(value("joints.\"a to a\".load.shear").as_deref(), Some("1 kN"));
        assert_eq!(value("parts.a.alloy").as_deref(), Some("3003"));
        assert_eq!(value("service.exposure"), None);
    }

    #[test]
    fn unknown_places_name_the_nearest() {
        let text = text("a.toml", TOML);
        let refusal = |setting: &str| set(&text, &[setting]).expect_err("refused").to_string();
        assert!(refusal("joints.a to b.leg = 5 mm").ends_with("did you mean \"a to a\"?"));
        assert!(refusal("parts.b.alloy = 5052").contains("no part \"b\""));
        assert!(refusal("service = 5").contains("is not one value"));
        assert!(refusal("service.finish.kind = x").contains("holds one value"));
    }
}
