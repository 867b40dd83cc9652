//! How alloy and filler designations are written: prefixes, separators, tempers. Notation only; which alloys and fillers
//! there are stands in the rulebook.
//!
//! - EN 573-1 writes a wrought alloy's number as `EN AW-6082`, and EN 573-3 adds the chemical symbol as
//!   `EN AW-6082 [AlSi1MgMn]` or in its place as `EN AW-AlSi1MgMn`; EN 1706 writes castings as `EN AC-42100`.
//! - ANSI H35.1 writes `6082`, castings with their product form behind a point (`356.0`, with a letter before it for a
//!   modification, `A356.0`), and joins the temper with a hyphen: `6082-T6`.
//! - ISO 18273 writes a filler as `Al 4043` or `Al 4043 (AlSi5)`, with `S` before it for solid wire and rod.
//! - AWS A5.10 writes `ER4043` for what serves as electrode and rod, `R4043` for rod alone.

/// Which of the two lists of designations is meant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Sort {
    /// Base metal: wrought or cast.
    Alloy,
    /// Filler metal.
    Filler,
}

impl Sort {
    /// What it is called in a message.
    pub fn noun(self) -> &'static str {
        match self {
            Sort::Alloy => "alloy",
            Sort::Filler => "filler",
        }
    }

    /// Prefixes without spaces and hyphens, longest first, so that what is left is as short as can be.
    fn prefixes(self) -> &'static [&'static str] {
        match self {
            Sort::Alloy => &["ENAW", "ENAC", "AW", "AC", "AA"],
            Sort::Filler => &["SAL", "AL", "ER", "R", "S"],
        }
    }
}

/// A designation with case, spaces, hyphens and the decimal comma of chemical symbols evened out.
pub(super) fn fold(written: &str) -> String {
    written
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '‑' | '–'))
        .map(|c| if c == ',' { '.' } else { c })
        .flat_map(char::to_uppercase)
        .collect()
}

/// The folded designation itself, and what it is without its prefix.
pub(super) fn spellings(written: &str, sort: Sort) -> Vec<String> {
    let whole = fold(written);
    let core = sort
        .prefixes()
        .iter()
        .find_map(|prefix| whole.strip_prefix(prefix).filter(|rest| is_number(rest) || is_symbol(rest)));
    let core = core.map(str::to_owned);
    std::iter::once(whole).chain(core).collect()
}

/// An alloy number: at least three digits, perhaps with a letter before them.
fn is_number(folded: &str) -> bool {
    let digits = folded.strip_prefix(|c: char| c.is_ascii_uppercase()).unwrap_or(folded);
    digits.chars().take_while(char::is_ascii_digit).count() >= 3
}

/// A chemical symbol, such as `AlMn1` or, for conductors, `EAl99.5`.
fn is_symbol(folded: &str) -> bool {
    folded.strip_prefix('E').unwrap_or(folded).strip_prefix("AL").is_some_and(|rest| !rest.is_empty())
}

/// A casting's number without its product form, where it has the usual one: `A356` of `A356.0`.
pub(super) fn without_product_form(folded: &str) -> &str {
    folded.strip_suffix(".0").filter(|rest| is_number(rest)).unwrap_or(folded)
}

/// A designation and the chemical symbol in brackets behind it.
pub(super) fn split_symbol(written: &str) -> Option<(&str, &str)> {
    let trimmed = written.trim();
    let inner = trimmed.strip_suffix([')', ']'])?;
    let (head, symbol) = inner.split_once(['(', '['])?;
    (!head.trim().is_empty() && !symbol.trim().is_empty()).then(|| (head.trim(), symbol.trim()))
}

/// A designation and the temper behind it, in capitals.
pub(super) fn split_temper(written: &str) -> Option<(&str, String)> {
    let (head, tail) = written.trim().rsplit_once(|c: char| c == '-' || c.is_whitespace())?;
    let head = head.trim_end_matches(|c: char| c == '-' || c.is_whitespace());
    (!head.is_empty() && is_temper(tail)).then(|| (head, tail.to_uppercase()))
}

/// A temper as EN 515 and ANSI H35.1 write it: a letter F, O, W, H or T, the last two always with digits.
pub(super) fn is_temper(text: &str) -> bool {
    let mut letters = text.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    let digits = letters.as_str();
    let numeric = digits.len() <= 5 && digits.chars().all(|c| c.is_ascii_digit());
    match first {
        Some('F') => digits.is_empty(),
        Some('O' | 'W') => numeric,
        Some('H' | 'T') => numeric && !digits.is_empty(),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prefixes_come_off() {
        for (written, core) in [
            ("EN AW-3103", "3103"),
            ("en-aw 3103", "3103"),
            ("AA3103", "3103"),
            ("EN AC-42100", "42100"),
            ("EN AW-AlMn1", "ALMN1"),
            ("EN AW-AlMg4,5Mn0,7", "ALMG4.5MN0.7"),
        ] {
            assert_eq!(spellings(written, Sort::Alloy).last().map(String::as_str), Some(core), "{written}");
        }
        for written in ["ER4043", "R4043", "Al 4043", "S Al 4043", "ER-4043", "4043"] {
            assert_eq!(
                spellings(written, Sort::Filler).last().map(String::as_str),
                Some("4043"),
                "{written}"
            );
        }
        assert_eq!(spellings("S AlSi5", Sort::Filler).last().map(String::as_str), Some("ALSI5"));
        assert_eq!(spellings("AlSi5", Sort::Filler), ["ALSI5"]);
    }

    #[test]
    fn tempers_come_off() {
        assert_eq!(split_temper("6082-T6"), Some(("6082", "T6".to_owned())));
        assert_eq!(split_temper("EN AW-6082 t651"), Some(("EN AW-6082", "T651".to_owned())));
        assert_eq!(split_temper("EN AW-5083 - O"), Some(("EN AW-5083", "O".to_owned())));
        assert_eq!(split_temper("EN AW-6082"), None);
        assert_eq!(split_temper("6082-T"), None);
    }
}
