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

/// Which of two codes comes first on a list: as people look them up, with numbers by their value (`S9` before `S10`).
#[must_use]
pub fn order(one: &str, other: &str) -> std::cmp::Ordering {
    let parts = |code: &str| -> Vec<(String, String)> {
        let mut parts: Vec<(String, String)> = Vec::new();
        for letter in key(code).chars() {
            let is_new = match parts.last() {
                Some((_, figures)) => !figures.is_empty() && !letter.is_ascii_digit(),
                None => true,
            };
            if is_new {
                parts.push(Default::default());
            }
            if let Some((letters, figures)) = parts.last_mut() {
                if letter.is_ascii_digit() { figures.push(letter) } else { letters.push(letter) }
            }
        }
        parts
    };
    // Without the zeros before it, of two numbers the longer is the greater.
    let by_value = |figures: &str| {
        let figures = figures.trim_start_matches('0').to_owned();
        (figures.len(), figures)
    };
    let ranked = |code: &str| -> Vec<_> {
        parts(code).into_iter().map(|(letters, figures)| (letters, by_value(&figures))).collect()
    };
    ranked(one).cmp(&ranked(other)).then_with(|| one.cmp(other))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_listed_letters_first_and_numbers_by_their_value() {
        let mut codes = ["T10", "T009", "S12b", "t2", "S12", "ecru", "7", "12", "S12b3", ""];
        codes.sort_by(|one, other| order(one, other));
        assert_eq!(codes, ["", "7", "12", "ecru", "S12", "S12b", "S12b3", "t2", "T009", "T10"]);
    }

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
