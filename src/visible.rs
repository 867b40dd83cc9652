//! Text that somebody else wrote, made safe to print: what a terminal would obey, hide or turn round is shown as an escape.
//! What the text says is no concern of this file.

use std::borrow::Cow;

/// Whether a character controls a terminal, changes the direction of writing, ends a line, or has no width of its own, so
/// that what is read differs from what is there.
pub fn is_harmful(c: char) -> bool {
    // The last two of each plane, and a block in the first, are no characters: XML cannot bear them.
    c.is_control()
        || u32::from(c) & 0xfffe == 0xfffe
        || matches!(c,
            '\u{fdd0}'..='\u{fdef}' |
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{3164}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}')
}

/// The text on one line, with escapes such as `\n` and `\u{202e}` in the place of harmful characters.
pub fn visible(text: &str) -> Cow<'_, str> {
    escaped(text, is_harmful, |c, out| out.extend(c.escape_default()))
}

/// A page that goes to a terminal: line ends, tabs and the colours that were put in stay; everything else harmful is
/// escaped. Names have been made visible before they come on a page; this catches what was not.
pub fn page(text: &str) -> Cow<'_, str> {
    if !text.contains(|c| is_harmful(c) && c != '\n') {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let length = colour(rest).unwrap_or(c.len_utf8());
        let (piece, after) = rest.split_at(length);
        match c {
            _ if length > c.len_utf8() || matches!(c, '\n' | '\t') => out.push_str(piece),
            _ => out.push_str(&visible(piece)),
        }
        rest = after;
    }
    Cow::Owned(out)
}

/// JSON with escapes of its own in the place of harmful characters inside its texts; it means the same. Line ends stand
/// between values alone, because JSON has none inside a text.
pub fn json(text: &str) -> Cow<'_, str> {
    let harmful = |c| is_harmful(c) && !matches!(c, '\n' | '\r' | '\t');
    escaped(text, harmful, |c, out| {
        for unit in c.encode_utf16(&mut [0; 2]) {
            out.push_str(&format!("\\u{unit:04x}"));
        }
    })
}

fn escaped(text: &str, harmful: fn(char) -> bool, escape: fn(char, &mut String)) -> Cow<'_, str> {
    if !text.contains(harmful) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match harmful(c) {
            true => escape(c, &mut out),
            false => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// The length of the sequence for a colour with which a text begins.
fn colour(text: &str) -> Option<usize> {
    let figures = text.strip_prefix("\u{1b}[")?;
    let end = figures.find(|c: char| !c.is_ascii_digit() && c != ';')?;
    figures[end..].starts_with('m').then_some(2 + end + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_would_obey_or_hide_is_shown() {
        assert_eq!(visible("post to foot, 6 °C – Mg₂Si, é, 焊, ½"), "post to foot, 6 °C – Mg₂Si, é, 焊, ½");
        assert_eq!(visible("a\nThe record holds.\r\u{1b}[2J"), "a\\nThe record holds.\\r\\u{1b}[2J");
        let hidden = "\u{7}\u{9b}\u{200b}\u{202e}\u{2066}\u{feff}\u{2028}\u{ad}\u{e0041}\u{7f}";
        assert_eq!(visible(hidden).matches("\\u{").count(), hidden.chars().count());
        assert!(!visible(hidden).contains(is_harmful));
    }

    #[test]
    fn a_page_keeps_its_lines_and_colours_alone() {
        let page_text = "\u{1b}[1;31mbad\u{1b}[0m\n\tx\n";
        assert_eq!(page(page_text), page_text);
        assert_eq!(page("a\u{1b}[2Jb\u{1b}]0;t\u{7}\u{202e}\n"), "a\\u{1b}[2Jb\\u{1b}]0;t\\u{7}\\u{202e}\n");
    }

    #[test]
    fn json_means_the_same() {
        let value = serde_json::json!({ "a\u{202e}\u{7f}": ["\u{9b}b\n", "\u{e0041}", "é"] });
        let text = serde_json::to_string_pretty(&value).unwrap_or_default();
        let shown = json(&text);
        assert!(!shown.contains(|c| is_harmful(c) && c != '\n') && shown.contains('é'), "{shown}");
        assert_eq!(serde_json::from_str::<serde_json::Value>(&shown).ok(), Some(value));
    }
}
