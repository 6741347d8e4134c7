//! Rows of a key with several threads, and rows that say how their squares are worked.

use super::key::{Entry, Part};
use crate::thread::cloth::StitchKind;

/// What stands between threads of a blend.
const BETWEEN: [char; 3] = ['+', '&', '/'];

/// The codes of a blend; nothing where a text is one code. Codes have a digit and are short.
pub(super) fn codes(text: &str) -> Option<Vec<String>> {
    let of = |between: &[char]| {
        let parts: Vec<String> =
            text.split(between).map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()).collect();
        let is_code = |part: &String| {
            let long = part.chars().count();
            (2..=12).contains(&long) && part.chars().any(|letter| letter.is_ascii_digit())
        };
        (2..=4).contains(&parts.len()).then_some(parts).filter(|parts| parts.iter().all(is_code))
    };
    // A break alone parts codes that stand one above the other.
    of(&['+', '&', '/', '\n'])
}

/// A name in one line.
fn in_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Parts of a text, so many; nothing where it has another number of them.
fn parts(text: &str, count: usize) -> Option<Vec<String>> {
    let by = |between: &[char]| {
        let parts: Vec<String> = text.split(between).map(in_line).filter(|part| !part.is_empty()).collect();
        (parts.len() == count).then_some(parts)
    };
    by(&BETWEEN).or_else(|| by(&['\n'])).or_else(|| by(&[',']))
}

/// How many strands the name of a part of a blend begins with, as `1 of Sea glass`, and the name.
fn counted(text: &str) -> (Option<u8>, String) {
    let begun = text.split_once(" of ").or_else(|| text.split_once(" x "));
    match begun.and_then(|(count, name)| count.trim().parse().ok().map(|count| (count, name))) {
        Some((count, name)) => (Some(count), name.trim().to_owned()),
        None => (None, text.to_owned()),
    }
}

/// The number of strands that a text says.
fn strands(text: &str) -> Option<u8> {
    let digits: String = text.trim().chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok().filter(|strands| (1..=12).contains(strands))
}

impl Entry {
    /// Takes what a key says of strands: one number, or one for each thread.
    pub(super) fn say_strands(&mut self, text: &str) {
        let each: Vec<u8> =
            text.split(['+', '&', '\n']).filter(|part| !part.trim().is_empty()).filter_map(strands).collect();
        let sum = each.iter().try_fold(0_u8, |sum, &strands| sum.checked_add(strands));
        self.strands = sum.filter(|&sum| sum > 0);
        if each.len() > 1 {
            self.blend =
                each.into_iter().map(|strands| Part { strands: Some(strands), ..Part::default() }).collect();
        }
    }

    /// Parts what it says of several threads, and takes from its name how it is worked.
    pub(super) fn mixed(&mut self) {
        if let Some(name) = &self.name {
            let whole = in_line(name);
            let found = StitchKind::all().find_map(|kind| {
                let words = kind.words()?;
                let name = whole.strip_suffix(&words)?;
                Some((kind, name.trim_end_matches([' ', ',']).to_owned()))
            });
            if let Some((kind, name)) = found {
                self.stitch = Some(kind);
                self.name = Some(name).filter(|name| !name.is_empty());
            }
        }
        let several = self.code.as_deref().and_then(codes);
        let said = std::mem::take(&mut self.blend);
        if let Some(codes) = several {
            let names = self.name.as_deref().and_then(|name| parts(name, codes.len()));
            let part = |(at, code): (usize, String)| {
                let (own, name) = match names.as_ref().and_then(|names| names.get(at)) {
                    Some(name) => {
                        let (own, name) = counted(name);
                        (own, Some(name))
                    }
                    None => (None, self.name.as_deref().map(in_line)),
                };
                let strands =
                    said.get(at).filter(|_| said.len() == codes.len()).and_then(|part| part.strands);
                Part { code: Some(code), name, strands: strands.or(own) }
            };
            self.blend = codes.iter().cloned().enumerate().map(part).collect();
            self.code = Some(codes.join(" + "));
        }
        for text in [&mut self.code, &mut self.name].into_iter().flatten() {
            *text = in_line(text);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn entry(code: &str, name: &str, strands: &str) -> Entry {
        let mut entry = Entry { code: Some(code.into()), name: Some(name.into()), ..Entry::default() };
        entry.say_strands(strands);
        entry.mixed();
        entry
    }

    fn told(entry: &Entry) -> Vec<(&str, &str, Option<u8>)> {
        let of = |part: &'_ Part| (part.code.clone(), part.name.clone(), part.strands);
        let parts: Vec<_> = entry.blend.iter().map(of).collect();
        parts
            .into_iter()
            .map(|(code, name, strands)| {
                let [code, name]: [&str; 2] = [code.unwrap().leak(), name.unwrap().leak()];
                (code, name, strands)
            })
            .collect()
    }

    #[test]
    fn blends_are_parted_as_keys_write_them() {
        let ours = entry("T001 +\nT010", "1 of Salt\nwhite + 1 of Night tide", "2");
        assert_eq!(told(&ours), [("T001", "Salt white", Some(1)), ("T010", "Night tide", Some(1))]);
        let stacked = entry("K12\nM31", "grey weed\nold rope", "1+2");
        assert_eq!(told(&stacked), [("K12", "grey weed", Some(1)), ("M31", "old rope", Some(2))]);
        assert_eq!(stacked.strands, Some(3));
        let slashed = entry("K12/M31", "grey weed / old rope", "2");
        assert_eq!(told(&slashed), [("K12", "grey weed", None), ("M31", "old rope", None)]);
        assert_eq!(slashed.code.as_deref(), Some("K12 + M31"));
    }

    #[test]
    fn one_thread_is_none() {
        for (code, name) in
            [("K12", "salt & pepper"), ("3/0", "Ines found\nthe starfish"), ("Ecru", "pale + old")]
        {
            let one = entry(code, name, "2");
            assert!(one.blend.is_empty(), "{code}");
            assert_eq!(one.name.unwrap(), name.replace('\n', " "));
        }
    }

    #[test]
    fn a_row_says_how_it_is_worked() {
        let row = entry("K12", "grey weed,\nquarter stitch, top left", "1");
        assert_eq!(row.stitch.unwrap().to_string(), "quarter-top-left");
        assert_eq!(row.name.as_deref(), Some("grey weed"));
        assert_eq!(entry("K12", "grey weed, half cross /", "1").stitch, Some(StitchKind::HalfCross));
    }
}
