//! Cutting a rule file into items, before the grammar sees them: by line starts alone, so that a mistake in one item
//! leaves the others readable, and so that nothing nests deeper than the recursive grammar can bear.

use std::ops::Range;

/// Brackets deeper than this are refused.
pub(super) const DEEPEST: usize = 64;

/// Byte ranges of the items: from a character in the first column to the next such line.
pub(super) fn chunks(text: &str) -> Vec<(usize, usize)> {
    let mut starts = Vec::new();
    let mut offset = 0;
    for line in text.split_inclusive('\n') {
        // A byte order mark at the very start takes no column.
        let mark = if offset == 0 && line.starts_with('\u{FEFF}') { '\u{FEFF}'.len_utf8() } else { 0 };
        let begins = line[mark..].chars().next().is_some_and(|c| !c.is_whitespace());
        if begins && !line[mark..].starts_with("--") {
            starts.push(offset + mark);
        }
        offset += line.len();
    }
    let ends = starts.iter().skip(1).copied().chain(std::iter::once(text.len()));
    starts.iter().copied().zip(ends).collect()
}

/// The first word of a text that is neither blank nor a comment: what stands before the first item.
pub(super) fn before_items(text: &str) -> Option<Range<usize>> {
    let mut offset = 0;
    for line in text.split_inclusive('\n') {
        let words = line.trim_start_matches(|c: char| c.is_whitespace() || c == '\u{FEFF}');
        if !words.is_empty() && !words.starts_with("--") {
            let start = offset + line.len() - words.len();
            let length = words.find(char::is_whitespace).unwrap_or(words.len());
            return Some(start..start + length);
        }
        offset += line.len();
    }
    None
}

/// Where brackets nest too deep, if they do; those in texts and comments do not count.
pub(super) fn too_deep(chunk: &str) -> Option<usize> {
    let mut depth = 0usize;
    let mut quoted = false;
    let mut bytes = chunk.bytes().enumerate().peekable();
    while let Some((at, byte)) = bytes.next() {
        match byte {
            b'"' => quoted = !quoted,
            b'\\' if quoted => drop(bytes.next()),
            b'-' if !quoted && bytes.peek().is_some_and(|(_, next)| *next == b'-') => {
                while bytes.next_if(|(_, byte)| *byte != b'\n').is_some() {}
            }
            b'(' if !quoted => depth += 1,
            b')' if !quoted => depth = depth.saturating_sub(1),
            _ => {}
        }
        if depth > DEEPEST {
            return Some(at);
        }
    }
    None
}

/// The item with its comments turned to blanks, every byte in its place: the grammar then need not look for a comment
/// between any two words.
pub(super) fn without_comments(chunk: &str) -> String {
    let mut bytes = chunk.as_bytes().to_vec();
    let mut quoted = false;
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            b'"' => quoted = !quoted,
            b'\\' if quoted => at += 1,
            b'-' if !quoted && bytes.get(at + 1) == Some(&b'-') => {
                while at < bytes.len() && bytes[at] != b'\n' {
                    bytes[at] = b' ';
                    at += 1;
                }
            }
            _ => {}
        }
        at += 1;
    }
    // Whole comments were replaced, so no character was cut in two.
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn items_start_in_the_first_column() {
        let text = "\u{feff}-- a remark\nwords a: b\n    c\n\nrelation r(a: a)\n";
        let items: Vec<&str> = chunks(text).into_iter().map(|(start, end)| &text[start..end]).collect();
        assert_eq!(items, ["words a: b\n    c\n\n", "relation r(a: a)\n"]);
        let marked = "\u{feff}words a: b\n";
        assert_eq!(chunks(marked), [(3, marked.len())]);
        assert_eq!(before_items(&text[..chunks(text)[0].0]), None);
        assert_eq!(before_items("-- a remark\n  words a: b\n"), Some(14..19));
    }

    #[test]
    fn comments_become_blanks_and_texts_stay() {
        let text = "words a: b -- größer\n    says \"a -- b \\\" -- c\" -- \"end\n";
        let blanked = without_comments(text);
        assert_eq!(blanked.len(), text.len());
        assert_eq!(
            blanked.split_whitespace().collect::<Vec<_>>().join(" "),
            "words a: b says \"a -- b \\\" -- c\""
        );
        assert_eq!(blanked.matches('\n').count(), 2);
    }

    #[test]
    fn brackets_in_texts_and_comments_do_not_count() {
        let open = "(".repeat(DEEPEST + 1);
        for quiet in [format!("cite \"{open}\""), format!("-- {open}\n("), format!("says \"\\\"{open}\"")] {
            assert_eq!(too_deep(&quiet), None, "{quiet}");
        }
        for loud in [open.clone(), format!("-- five \" wide\n{open}"), format!("says \"\\\"\" {open}")] {
            assert_eq!(too_deep(&loud), Some(loud.len() - 1), "{loud}");
        }
    }
}
