//! What to do about an error, with the options and commands that do it. Plain sentences stand in `advice.txt`, a line
//! an advice, by the name that it has in JSON.

use brede::ground::advice::Advice;

use super::sentence;

const SENTENCES: &str = include_str!("advice.txt");

/// The hint that stands under an error.
pub(in crate::cli) fn advice(advice: &Advice) -> String {
    match advice {
        Advice::ColourOf { what } => {
            format!("give it with --{what} '#rrggbb', or its place on the photo with --{what}-at x,y,w,h")
        }
        Advice::MarksThere { names } if names.is_empty() => "it has none yet".to_owned(),
        Advice::MarksThere { names } => format!("it has: {}", names.join(", ")),
        Advice::OtherFace { faces } if faces.is_empty() => {
            "none of brede's faces has it; leave it out or write it otherwise".to_owned()
        }
        Advice::OtherFace { faces } => format!("it is in: {}", faces.join(", ")),
        Advice::PiecesThere { pieces: there } | Advice::BackupsThere { there } if there.is_empty() => {
            "there are none yet".to_owned()
        }
        Advice::PiecesThere { pieces: there } | Advice::BackupsThere { there } => {
            format!("there are: {}", there.join(", "))
        }
        plain => sentence(SENTENCES, plain, "do"),
    }
}

#[cfg(test)]
mod tests {
    use super::SENTENCES;

    #[test]
    fn every_advice_has_a_sentence() {
        let worded_above = ["ColourOf", "MarksThere", "OtherFace", "PiecesThere", "BackupsThere"];
        let source = include_str!("../../ground/advice.rs");
        let names = source.lines().filter_map(|line| line.strip_prefix("    ")?.strip_suffix([',', '{']));
        let names = names.map(str::trim).filter(|name| name.chars().all(char::is_alphanumeric));
        let kebab = |name: &str| -> String {
            let parts = name
                .chars()
                .map(|c| if c.is_uppercase() { format!("-{}", c.to_lowercase()) } else { c.into() });
            parts.collect::<String>().trim_start_matches('-').to_owned()
        };
        let wanted: Vec<String> = names.filter(|name| !worded_above.contains(name)).map(kebab).collect();
        assert!(wanted.len() > 80, "{wanted:?}");
        let known: Vec<&str> = SENTENCES.lines().filter_map(|line| Some(line.split_once(": ")?.0)).collect();
        assert_eq!(known.len(), SENTENCES.lines().count());
        let without: Vec<&String> = wanted.iter().filter(|name| !known.contains(&name.as_str())).collect();
        assert!(without.is_empty(), "no sentence for {without:?}");
        let unknown: Vec<&&str> =
            known.iter().filter(|name| !wanted.contains(&(**name).to_owned())).collect();
        assert!(unknown.is_empty(), "no advice of the name {unknown:?}");
    }
}
