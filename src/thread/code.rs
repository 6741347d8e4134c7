//! When two codes name one thread.
//!
//! People write `S01`, `s01` and `S 01` for the same label, so codes match whatever their capitals and spaces.
//! Everything that looks a thread up by its code does so by this one rule.

use unicode_normalization::UnicodeNormalization as _;

/// What a code is looked up by: composed (Unicode Standard Annex 15, form C), in small letters, without spaces.
#[must_use]
pub fn key(code: &str) -> String {
    code.nfc().filter(|letter| !letter.is_whitespace()).flat_map(char::to_lowercase).collect()
}

/// Whether two codes name one thread.
#[must_use]
pub fn same(one: &str, other: &str) -> bool {
    one == other || key(one) == key(other)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_match_whatever_their_capitals_and_spaces() {
        for other in ["S01", "s01", " S 01 ", "s\u{a0}01"] {
            assert!(same("S01", other), "{other:?}");
        }
        // An accent typed as one letter or as two (Unicode Standard Annex 15).
        assert!(same("\u{c9}1", "e\u{301} 1"));
        for other in ["S1", "S010", "S-01", ""] {
            assert!(!same("S01", other), "{other:?}");
        }
    }
}
