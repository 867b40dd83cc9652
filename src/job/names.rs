//! Names that a reader could not distinguish: characters that do not show, and the same letters written in two ways.

use unicode_normalization::UnicodeNormalization;

/// The first character of a text that does not show, or turns the direction of what follows.
pub(super) fn invisible(text: &str) -> Option<char> {
    text.chars().find(|c| {
        matches!(
            *c,
            '\u{ad}'
                | '\u{34f}'
                | '\u{61c}'
                | '\u{115f}'..='\u{1160}'
                | '\u{17b4}'..='\u{17b5}'
                | '\u{180b}'..='\u{180f}'
                | '\u{200b}'..='\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2060}'..='\u{206f}'
                | '\u{2800}'
                | '\u{3164}'
                | '\u{fe00}'..='\u{fe0f}'
                | '\u{feff}'
                | '\u{ffa0}'
                | '\u{fff0}'..='\u{fffb}'
                | '\u{e0000}'..='\u{e0fff}'
        )
    })
}

/// A name as it looks: compatible letters as one (Unicode Standard Annex 15, form NFKC), blanks of any kind and number as one.
pub(super) fn as_it_looks(name: &str) -> String {
    let plain: String = name.nfkc().collect();
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_looks_the_same_is_the_same() {
        assert_eq!(as_it_looks("boss\u{a0}seat "), as_it_looks("boss seat"));
        assert_eq!(as_it_looks("caf\u{e9}"), as_it_looks("cafe\u{301}"));
        assert_ne!(as_it_looks("rim"), as_it_looks("Rim"));
        assert_eq!(invisible("ri\u{200b}m"), Some('\u{200b}'));
        assert_eq!(invisible("boss seat, 5 µm – naïve"), None);
    }
}
