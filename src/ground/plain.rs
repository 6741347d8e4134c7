//! Plain text for a terminal or a log: texts from files, names and libraries so that none can pass for a message of
//! brede's, and tables.

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

/// Whether a character begins another line or is a control: a name holds none.
#[must_use]
pub fn breaks_line(character: char) -> bool {
    // The separators of lines and paragraphs are no controls (Unicode Standard Annex 14, class BK).
    character.is_control() || matches!(character, '\u{2028}' | '\u{2029}')
}

/// A text on one line that keeps its letters, whatever the script: blanks stand for breaks and controls, and what would
/// turn the writing round goes.
#[must_use]
pub fn lettered(text: &str) -> String {
    let kept = text.chars().filter(|&character| !turns_writing(character));
    kept.map(|character| if breaks_line(character) { ' ' } else { character }).collect()
}

/// The controls of direction (Unicode Standard Annex 9, section 2).
pub(crate) fn turns_writing(character: char) -> bool {
    matches!(character, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The rows under their headings, with a line of dashes between. Headings are parted by `|`; one that begins with `>`
/// stands over a column that is flush right.
#[must_use]
pub fn table(headings: &str, rows: &[Vec<String>]) -> String {
    let wide = |text: &str| text.chars().count();
    let heading = |text| str::strip_prefix(text, '>').map_or((text, false), |text| (text, true));
    let headings: Vec<(&str, bool)> = headings.split('|').map(heading).collect();
    let widths: Vec<usize> = headings
        .iter()
        .enumerate()
        .map(|(column, (heading, _))| {
            let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| wide(cell));
            cells.chain([wide(heading)]).max().unwrap_or(0)
        })
        .collect();
    let mut text = String::new();
    let mut line = |cells: &mut dyn Iterator<Item = &str>| {
        let mut line = String::new();
        for ((cell, &width), (_, is_right)) in cells.zip(&widths).zip(&headings) {
            if !line.is_empty() || width == 0 {
                line.push_str("  ");
            }
            let pad = " ".repeat(width - wide(cell));
            line.extend(if *is_right { [&pad, cell] } else { [cell, &pad] });
        }
        text.push_str(line.trim_end());
        text.push('\n');
    };
    line(&mut headings.iter().map(|(heading, _)| *heading));
    let dashes: Vec<String> = widths.iter().map(|&width| "-".repeat(width)).collect();
    line(&mut dashes.iter().map(String::as_str));
    for row in rows {
        line(&mut row.iter().map(String::as_str));
    }
    text
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
    fn a_title_keeps_its_letters_and_nothing_else() {
        let title = "Λιμνούλα 潮だまり\u{202e}\tby\r\u{2028}I\u{301}ne\u{200f}s\u{7}";
        assert_eq!(lettered(title), "Λιμνούλα 潮だまり by  I\u{301}nes ");
    }

    #[test]
    fn a_drawn_fault_becomes_a_line() {
        let text = "TOML parse error at line 1, column 2\n  |\n1 | [[\n  |  ^\ninvalid key\n";
        assert_eq!(one_line(text), "TOML parse error at line 1, column 2; invalid key");
        let no_drawing = "I/O error\n\n";
        assert_eq!(one_line(no_drawing), "I/O error");
    }

    #[test]
    fn columns_stand_under_each_other() {
        let rows = vec![vec!["a".to_owned(), "1".to_owned()], vec!["été".to_owned(), "20".to_owned()]];
        let text = table("name|>n", &rows);
        assert_eq!(text, "name   n\n----  --\na      1\nété   20\n");
    }
}
