//! A change of one fact: the place in the job file, and the value that is put there. Putting it there is done in `text.rs`.

use std::fmt;
use std::str::FromStr;
use toml_edit::Value;

/// The place of a value in a job file, such as `service.finish` or `joints."boss seat".leg`. Joints go by their name.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Path {
    keys: Vec<String>,
}

/// A value as it is written into a job file.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Written {
    /// A text: a word, a name, a quantity with its unit.
    Text(String),
    /// What stands without quotation marks: a number, true, a date.
    Bare(String),
    /// A list.
    List(Vec<Written>),
    /// A table.
    Table(Vec<(String, Written)>),
}

/// A place and the value that is put there: `service.finish = "clear anodised"`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct Setting {
    /// Where.
    pub path: Path,
    /// What.
    pub value: Written,
}

/// A text that is no setting, or no path.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SettingError {
    /// There is no `=` in it.
    #[error("\"{0}\" changes nothing; write a change as PATH = VALUE, such as service.finish = \"painted\"")]
    NoValue(String),
    /// What stands before the `=` is no path.
    #[error("\"{0}\" is no path; write keys with dots between, such as joints.\"boss seat\".leg")]
    NoPath(String),
}

impl Path {
    /// The path of some keys.
    pub fn new(keys: impl IntoIterator<Item = impl Into<String>>) -> Self {
        Path { keys: keys.into_iter().map(Into::into).collect() }
    }

    /// Its keys, the outermost first.
    pub fn keys(&self) -> &[String] {
        &self.keys
    }

    /// The path without the name of a part or joint: `joints.leg` for `joints."boss seat".leg`.
    pub fn kind(&self) -> String {
        let named = matches!(self.keys[0].as_str(), "parts" | "joints");
        let kept: Vec<&str> = match &self.keys[..] {
            // A joint's own answer to a question about the service is the same kind of fact as the common one.
            [joints, _, section, rest @ ..]
                if joints == "joints" && !rest.is_empty() && section != "load" =>
            {
                std::iter::once(section).chain(rest).map(String::as_str).collect()
            }
            [first, _, rest @ ..] if named => {
                std::iter::once(first).chain(rest).map(String::as_str).collect()
            }
            all => all.iter().map(String::as_str).collect(),
        };
        kept.join(".")
    }

    /// Whether this path is the other one or leads to it.
    pub fn leads_to(&self, other: &Path) -> bool {
        other.keys.starts_with(&self.keys)
    }
}

fn is_bare(key: &str) -> bool {
    !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '-' | '_'))
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

impl fmt::Display for Path {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, key) in self.keys.iter().enumerate() {
            let dot = if index == 0 { "" } else { "." };
            let key = if is_bare(key) { key.clone() } else { quoted(key) };
            write!(f, "{dot}{key}")?;
        }
        Ok(())
    }
}

impl FromStr for Path {
    type Err = SettingError;

    /// Keys with dots between. A key in quotation marks may hold anything, one without anything but a dot.
    fn from_str(text: &str) -> Result<Self, SettingError> {
        let wrong = || SettingError::NoPath(text.trim().to_owned());
        let mut keys = Vec::new();
        let mut key = String::new();
        let mut closed = false;
        let mut letters = text.trim().chars();
        while let Some(c) = letters.next() {
            match c {
                '.' => {
                    keys.push(std::mem::take(&mut key));
                    closed = false;
                }
                '"' | '\'' if key.trim().is_empty() && !closed => {
                    key.clear();
                    loop {
                        match letters.next().ok_or_else(wrong)? {
                            '\\' if c == '"' => key.push(letters.next().ok_or_else(wrong)?),
                            end if end == c => break,
                            inner => key.push(inner),
                        }
                    }
                    closed = true;
                }
                c if closed && !c.is_whitespace() => return Err(wrong()),
                _ if closed => {}
                c => key.push(c),
            }
        }
        keys.push(key);
        let keys: Vec<String> = keys.iter().map(|key| key.trim().to_owned()).collect();
        if keys.iter().any(String::is_empty) { Err(wrong()) } else { Ok(Path { keys }) }
    }
}

impl Written {
    /// A value in the notation of a job file; a text may stand without quotation marks where it cannot be mistaken.
    pub fn parse(text: &str) -> Written {
        let text = text.trim();
        text.parse::<Value>().map_or_else(|_| Written::Text(text.to_owned()), |value| Written::of(&value))
    }

    /// A value of a TOML text.
    pub(super) fn of(value: &Value) -> Written {
        match value {
            Value::String(text) => Written::Text(text.value().clone()),
            Value::Array(list) => Written::List(list.iter().map(Written::of).collect()),
            Value::InlineTable(table) => Written::Table(
                table.iter().map(|(key, value)| (key.to_owned(), Written::of(value))).collect(),
            ),
            bare => Written::Bare(bare.clone().decorated("", "").to_string()),
        }
    }

    /// The value without quotation marks around it, where it is a text.
    pub fn plain(&self) -> String {
        match self {
            Written::Text(text) => text.clone(),
            other => other.to_string(),
        }
    }
}

impl fmt::Display for Written {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Written::Text(text) => f.write_str(&quoted(text)),
            Written::Bare(text) => f.write_str(text),
            Written::List(list) => {
                let inner: Vec<String> = list.iter().map(ToString::to_string).collect();
                write!(f, "[{}]", inner.join(", "))
            }
            Written::Table(entries) => {
                let inner: Vec<String> =
                    entries.iter().map(|(key, value)| format!("{} = {value}", Path::new([key]))).collect();
                write!(f, "{{ {} }}", inner.join(", "))
            }
        }
    }
}

impl fmt::Display for Setting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {}", self.path, self.value)
    }
}

impl FromStr for Setting {
    type Err = SettingError;

    fn from_str(text: &str) -> Result<Self, SettingError> {
        let mut within = None;
        let equals = text.char_indices().find(|(_, c)| {
            match (within, c) {
                (None, '"' | '\'') => within = Some(*c),
                (Some(open), c) if open == *c => within = None,
                _ => {}
            }
            within.is_none() && *c == '='
        });
        let Some((at, _)) = equals else { return Err(SettingError::NoValue(text.trim().to_owned())) };
        let (path, value) = (text[..at].parse()?, text[at + 1..].trim());
        if value.is_empty() {
            return Err(SettingError::NoValue(text.trim().to_owned()));
        }
        Ok(Setting { path, value: Written::parse(value) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_read_and_written() {
        for (text, written) in [
            ("service.finish = \"clear anodised\"", "service.finish = \"clear anodised\""),
            ("service.finish=clear anodised", "service.finish = \"clear anodised\""),
            ("joints.\"duct. to\".leg = 5 mm", "joints.\"duct. to\".leg = \"5 mm\""),
            ("joints.duct to flange.leg = '5 mm'", "joints.\"duct to flange\".leg = \"5 mm\""),
            ("parts.duct.alloy = 356.0", "parts.duct.alloy = 356.0"),
            ("choice.order = [\"forming\", 'corrosion']", "choice.order = [\"forming\", \"corrosion\"]"),
            (
                "joints.a.load = { shear = \"4 kN\", length = \"6 mm\" }",
                "joints.a.load = { shear = \"4 kN\", length = \"6 mm\" }",
            ),
        ] {
            let setting: Setting = text.parse().expect(text);
            assert_eq!(setting.to_string(), written);
            assert_eq!(written.parse::<Setting>().expect(written), setting);
        }
    }

    #[test]
    fn what_is_no_setting_is_refused() {
        for text in ["", "service.finish", "= 5", "a..b = 1", "a. = 1", "\"a\"b = 1", "a = "] {
            assert!(text.parse::<Setting>().is_err(), "{text:?}");
        }
    }

    #[test]
    fn kinds_leave_names_out() {
        for (path, kind) in [
            ("joints.\"boss seat\".leg", "joints.leg"),
            ("joints.\"boss seat\".load.shear", "joints.load.shear"),
            ("joints.\"boss seat\".service.finish", "service.finish"),
            ("parts.shell.alloy", "parts.alloy"),
            ("choice.order", "choice.order"),
        ] {
            assert_eq!(path.parse::<Path>().expect(path).kind(), kind);
        }
    }
}
