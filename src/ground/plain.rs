//! Texts from files, names and libraries, made plain: on one line, and so that none can pass for a message of brede's.

/// The longest line that is told of an error, in characters: more than any message of brede's own.
const LONGEST: usize = 500;

/// A text from a file, a name or a library on one line. Lines that draw the place of a fault under it go; what
/// would move the cursor or turn the writing round is written out, so that no name can pass for a message.
#[must_use]
pub fn one_line(text: &str) -> String {
    let is_drawing = |line: &str| {
        line.trim_start().trim_start_matches(|c: char| c.is_ascii_digit()).trim_start().starts_with('|')
    };
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    let drawn = lines.iter().any(|line| is_drawing(line));
    let mut line = String::new();
    if drawn {
        let lines: Vec<&str> = lines.into_iter().filter(|line| !is_drawing(line)).collect();
        line.push_str(&lines.join("; "));
    } else {
        line.push_str(text.trim_end());
    }
    let line = harmless(&line, |_| false);
    let length = line.chars().count();
    if length <= LONGEST {
        return line;
    }
    // What is wrong stands at the end as often as at the beginning.
    let (head, tail) = (LONGEST / 2, length - LONGEST / 2);
    line.chars().take(head).chain(" ... ".chars()).chain(line.chars().skip(tail)).collect()
}

/// A text with what would move the cursor or turn the writing round written out, but for what is `kept`.
#[must_use]
pub fn harmless(text: &str, kept: impl Fn(char) -> bool) -> String {
    let mut shown = String::with_capacity(text.len());
    for character in text.chars() {
        if (character.is_control() || turns_writing(character)) && !kept(character) {
            shown.extend(character.escape_default());
        } else {
            shown.push(character);
        }
    }
    shown
}

/// The controls of direction (Unicode Standard Annex 9, section 2).
fn turns_writing(character: char) -> bool {
    matches!(character, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_cannot_pass_for_a_message() {
        assert_eq!(one_line("a\nerror: b\u{1b}[2J\u{202e}"), "a\\nerror: b\\u{1b}[2J\\u{202e}");
        assert_eq!(one_line("naïve \u{1f419} name"), "naïve \u{1f419} name");
        assert_eq!(one_line(&"x".repeat(600)).len(), 505);
    }

    #[test]
    fn a_drawn_fault_becomes_a_line() {
        let text = "TOML parse error at line 1, column 2\n  |\n1 | [[\n  |  ^\ninvalid key\n";
        assert_eq!(one_line(text), "TOML parse error at line 1, column 2; invalid key");
        let no_drawing = "I/O error\n\n";
        assert_eq!(one_line(no_drawing), "I/O error");
    }
}
