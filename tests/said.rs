//! What each command says to a person, word for word: results, warnings, notes, errors and their hints.
//!
//! `BREDE_WRITE_SAID=1 cargo test said::` writes `tests/said.txt` anew, never where `CI` is set. Read the difference.

use std::path::Path;

use crate::running::brede;

/// The commands in their order, in a folder with the boat, the tin of threads and a shop's card: each goes on from what the
/// ones before it wrote. Those after the line of dashes must fail.
const COMMANDS: &str = "\
make boat.png --columns 48 --colours 6 --shades tin.csv
make boat.png --columns 40 --colours 5 --shades tin.csv --strands 1 --cloth navy --out navy
print boat/boat.chart.json -o pages.pdf --key-order colour
print boat/boat.chart.json -o small.pdf --cell 1.6mm --ink grey
proof pages.pdf boat/boat.chart.json
mark boat/boat.chart.json outline hull --rectangle 10,20,38,34 --thread T001 --stitch double-running --label Ada
mark boat/boat.chart.json lettering year --text 2026 --at 4,4 --thread T010 --face tiny
mark boat/boat.chart.json key --title Aboard --thread T010 --face joined
mark boat/boat.chart.json list
mark boat/boat.chart.json undo
mark boat/boat.chart.json redo
cloth boat/boat.chart.json --have 40x40cm
cloth --size 24x16cm --count 14
kit boat/boat.chart.json --shades tin.csv --currency EUR --budget 1
kit boat/boat.chart.json --order order.pdf --bobbins bobbins.pdf --box 5x4
shades show shop.csv
shades compare tin.csv shop.csv
shades move boat/boat.chart.json shop.csv --output moved.chart.json
keep boat/boat.chart.json
done Boat --row 22
left Boat
pieces
----
make missing.jpg
make boat.png --shades bad.csv
make boat.png --colours 5 --shades tin.csv --use T999
print missing.chart.json -o x.pdf
print boat/boat.chart.json -o x.pdf --cell 90mm
mark boat/boat.chart.json lettering wide --text Ж --at 4,4 --thread T010 --face script
mark boat/boat.chart.json outline nothing --thread T010
kit boat/boat.chart.json --order x.pdf --only T999
proof boat.png boat/boat.chart.json
read boat.png
done Boat --row 999
left Nobody
";

const SHOP: &str = "code,name,colour\nS1,Deep,#203a5c\nS2,Sail,#e8e2d0\nS3,Rust,#8a4a2a\nS4,Foam,#c8d8d8\n";

#[test]
fn what_commands_say_is_what_was_agreed() {
    let folder = tempfile::tempdir().unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own");
    std::fs::copy(samples.join("little-boat.png"), folder.path().join("boat.png")).unwrap();
    std::fs::copy(samples.join("tin-of-threads.csv"), folder.path().join("tin.csv")).unwrap();
    std::fs::write(folder.path().join("shop.csv"), SHOP).unwrap();
    std::fs::write(folder.path().join("bad.csv"), "code,name,colour\nA,One,#12345\n").unwrap();
    let (mut told, mut must_fail) = (String::new(), false);
    for line in COMMANDS.lines() {
        if line == "----" {
            must_fail = true;
            continue;
        }
        let mut command = brede();
        command.current_dir(folder.path()).env("BREDE_BASKET", folder.path().join("basket"));
        let done = command.args(line.split_whitespace()).output().unwrap();
        let said = |bytes: &[u8]| plain(&String::from_utf8_lossy(bytes), folder.path());
        assert_eq!(done.status.code(), Some(i32::from(must_fail)), "{line}: {}", said(&done.stderr));
        told.push_str(&format!("$ brede {line}\n{}{}\n", said(&done.stderr), said(&done.stdout)));
    }
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/said.txt");
    if std::env::var_os("BREDE_WRITE_SAID").is_some() && std::env::var_os("CI").is_none() {
        std::fs::write(&file, &told).unwrap();
    }
    let agreed = std::fs::read_to_string(&file).unwrap();
    for (number, (one, other)) in told.lines().zip(agreed.lines()).enumerate() {
        assert_eq!(one, other, "line {}", number + 1);
    }
    assert_eq!(told.lines().count(), agreed.lines().count());
}

/// Without the folder's own name, and with one id for all: a piece's is drawn at random.
fn plain(text: &str, folder: &Path) -> String {
    let text = text.replace(&folder.display().to_string(), "FOLDER");
    let is_id = |word: &str| {
        let parts: Vec<&str> = word.split('-').collect();
        parts.len() == 3
            && parts.iter().all(|part| part.len() == 4 && part.chars().all(|c| c.is_ascii_lowercase()))
    };
    let mut told = String::new();
    for piece in
        text.split_inclusive(|character: char| !character.is_ascii_alphanumeric() && character != '-')
    {
        let word = piece.trim_end_matches(|character: char| !character.is_ascii_alphanumeric());
        told.push_str(&if is_id(word) {
            piece.replacen(word, "abcd-efgh-ijkl", 1)
        } else {
            piece.to_owned()
        });
    }
    told
}
