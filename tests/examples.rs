//! Every command of README and of the help texts runs on the shipped samples, and README shows what comes of it.
//!
//! A folder holds what the texts name: the samples, and stand-ins for what a person has (a photo, a tin, a shop's card).
//! Commands are given in their order, as they stand. What wants a photo of one's own thread or swatch must fail for want
//! of it, and of nothing else.

use std::path::Path;
use std::process::Output;

use crate::running::{brede, output};

const README: &str = include_str!("../README.md");

/// The help texts that have examples.
const HELPS: [(&str, &str); 11] = [
    ("brede", include_str!("../src/cli/help/brede.txt")),
    ("make", include_str!("../src/cli/help/make.txt")),
    ("print", include_str!("../src/cli/help/print.txt")),
    ("mark", include_str!("../src/cli/help/mark.txt")),
    ("mark stitches", include_str!("../src/cli/help/mark-stitches.txt")),
    ("proof", include_str!("../src/cli/help/proof.txt")),
    ("cloth", include_str!("../src/cli/help/cloth.txt")),
    ("kit", include_str!("../src/cli/help/kit.txt")),
    ("read", include_str!("../src/cli/help/read.txt")),
    ("shades", include_str!("../src/cli/help/shades.txt")),
    (
        "done and diary",
        concat!(include_str!("../src/cli/help/done.txt"), include_str!("../src/cli/help/diary.txt")),
    ),
];

/// What only the person has: a swatch of their thread, a photo of their tin, a chart in two files.
const OF_ONES_OWN: [&str; 3] = ["swatch.jpg", "tin.jpg", "page1.pdf"];

/// A command of a text, with the lines of what comes of it that stand below.
#[derive(Debug, PartialEq)]
struct Example {
    words: Vec<String>,
    shown: Vec<String>,
}

/// The examples of a text: indented lines that begin with `brede`, or `$ brede` where what comes of it follows.
fn examples(text: &str) -> Vec<Example> {
    let mut found: Vec<Example> = Vec::new();
    let mut open = false;
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let told = line.trim_start();
        let command = told.strip_prefix("$ ").unwrap_or(told);
        if line.starts_with("  ") && command.starts_with("brede ") {
            let mut whole = command.to_owned();
            while let Some(begun) = whole.strip_suffix('\\') {
                whole = format!("{} {}", begun.trim_end(), lines.next().unwrap_or_default().trim());
            }
            open = told.starts_with("$ ");
            found.push(Example { words: words(&whole), shown: Vec::new() });
        } else if open && line.starts_with("    ") {
            found.last_mut().unwrap().shown.push(told.trim_end().to_owned());
        } else if !line.is_empty() {
            open = false;
        }
    }
    found
}

/// The words of a command line up to what is said of it, which stands behind two spaces or more.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let (mut quote, mut spaces) = (None, 0);
    for character in line.chars() {
        if quote.is_none() && character == ' ' {
            spaces += 1;
            continue;
        }
        if spaces > 1 {
            break;
        }
        if spaces == 1 {
            words.push(String::new());
        }
        spaces = 0;
        match quote {
            None if character == '\'' || character == '"' => quote = Some(character),
            Some(end) if end == character => quote = None,
            _ => words.last_mut().unwrap().push(character),
        }
    }
    words
}

/// A folder with what the texts name.
fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own");
    std::fs::create_dir(at("samples-own")).unwrap();
    for name in ["rock-pool.jpg", "little-boat.png", "tin-of-threads.csv", "rock-pool.marks.toml"] {
        std::fs::copy(samples.join(name), at("samples-own").join(name)).unwrap();
    }
    for (from, to) in [
        ("rock-pool.jpg", "photo.jpg"),
        ("rock-pool.jpg", "rock-pool.jpg"),
        ("little-boat.png", "boat.png"),
        ("tin-of-threads.csv", "tin.csv"),
        ("rock-pool.marks.toml", "marks.toml"),
    ] {
        std::fs::copy(samples.join(from), at(to)).unwrap();
    }
    let card = std::fs::read_to_string(at("tin.csv")).unwrap();
    let shop: Vec<String> = card
        .lines()
        .enumerate()
        .filter(|(row, _)| row % 2 == 0)
        .map(|(_, line)| line.replacen('T', "H", 1))
        .collect();
    std::fs::write(at("shop.csv"), shop.join("\n")).unwrap();
    std::fs::write(at("drawer.csv"), "code,owned\nT006,2\nT010,0.5\n").unwrap();
    std::fs::write(at("old.csv"), "Date,Time,What\n2026-01-05,1.5,the urchin\n").unwrap();
    let photo = image::image_dimensions(at("photo.jpg")).unwrap();
    let painted = |x: u32, y: u32| x > photo.0 / 3 && x < photo.0 / 2 && y > photo.1 / 3 && y < photo.1 / 2;
    let mask = image::GrayImage::from_fn(photo.0, photo.1, |x, y| {
        image::Luma([if painted(x, y) { 255 } else { 0 }])
    });
    mask.save(at("face.png")).unwrap();
    for (photo, title, name) in [("photo.jpg", "Rock pool", "pool"), ("boat.png", "Harbour", "harbour")] {
        let options = ["--shades", "tin.csv", "--title", title, "--no-proof", "--quiet", "--out", "made"];
        output(brede().current_dir(folder.path()).args(["make", photo]).args(options));
        let stem = photo.split('.').next().unwrap();
        std::fs::copy(at(&format!("made/{stem}.chart.json")), at(&format!("{name}.chart.json"))).unwrap();
    }
    std::fs::copy(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/printed/tide.pdf"), at("bought.pdf")).unwrap();
    std::fs::write(at("answers.csv"), "number,code,name,colour,strands,same,bare\n").unwrap();
    // As the texts have it: one pixel a square.
    std::fs::copy(at("made/boat.cells.png"), at("old-chart.png")).unwrap();
    folder
}

fn run(folder: &Path, words: &[String]) -> Output {
    brede().current_dir(folder).env("BREDE_BASKET", folder.join("basket")).args(&words[1..]).output().unwrap()
}

/// Runs the examples of a text; what they show must come of them, in its order.
fn all_run(folder: &Path, of: &str, text: &str) -> usize {
    let mut count = 0;
    for Example { words, shown } in examples(text) {
        // A server does not end; the tests of the page open it.
        if words.len() == 1 || words[1] == "open" {
            continue;
        }
        let done = run(folder, &words);
        let said = String::from_utf8_lossy(&done.stderr) + String::from_utf8_lossy(&done.stdout);
        let missing = OF_ONES_OWN.iter().find(|name| words.iter().any(|word| word == *name));
        match missing {
            Some(name) => {
                assert_eq!(done.status.code(), Some(1), "{of}: {words:?}: {said}");
                assert!(said.contains(name), "{of}: {words:?}: {said}");
            }
            None => assert!(done.status.success(), "{of}: {words:?}: {said}"),
        }
        let mut lines = said.lines().map(str::trim);
        for line in shown.iter().filter(|line| *line != "..." && !line.is_empty()) {
            assert!(
                lines.any(|told| told == line),
                "{of}: {words:?} does not say {line:?} there, but:\n{said}"
            );
        }
        count += 1;
    }
    count
}

#[test]
fn commands_are_taken_from_texts_as_a_shell_would_take_them() {
    let text = "Read:\n\n    $ brede make 'a b.jpg' \\\n          --title \"x  y\"    said of it\n    one\n    ...\n\nbrede is\n";
    let words = ["brede", "make", "a b.jpg", "--title", "x  y"].map(str::to_owned).to_vec();
    assert_eq!(examples(text), [Example { words, shown: vec!["one".into(), "...".into()] }]);
    assert!(examples("  cargo run\nbrede make x\n").is_empty());
}

#[test]
fn commands_of_readme_run_and_say_what_it_shows() {
    let folder = folder();
    // Its first command, which is cargo's.
    let first = "brede make samples-own/rock-pool.jpg --shades samples-own/tin-of-threads.csv";
    assert!(README.contains(&first.replace("brede", "cargo run --release --")));
    assert!(run(folder.path(), &words(first)).status.success());
    let count = all_run(folder.path(), "README", README);
    assert!(count > 40, "only {count} commands");
}

#[test]
fn commands_of_help_texts_run() {
    let folder = folder();
    for (name, text) in HELPS {
        // Each text begins from a chart without marks.
        std::fs::copy(folder.path().join("made/photo.chart.json"), folder.path().join("pool.chart.json"))
            .unwrap();
        if name == "print" || name == "proof" {
            // Beside the chart.
            let make = "brede make rock-pool.jpg --shades tin.csv --out . --no-proof";
            assert!(run(folder.path(), &words(make)).status.success());
            std::fs::copy(folder.path().join("pool.chart.json"), folder.path().join("marked.chart.json"))
                .unwrap();
        }
        if name == "done and diary" {
            assert!(run(folder.path(), &words("brede keep pool.chart.json")).status.success());
        }
        let count = all_run(folder.path(), name, text);
        assert!(count > 0, "{name} has no examples");
    }
}

/// Poppler draws the pages of the rock pool as README shows them, in colour and in grey; its stitched pieces are brede's own,
/// made smaller. `BREDE_WRITE_SHOWN=1` writes them anew.
#[test]
#[ignore = "needs poppler (pdftoppm)"]
fn pictures_of_readme_are_what_brede_makes_today() {
    let folder = folder();
    let at = |name: &str| folder.path().join(name);
    let make = "brede make rock-pool.jpg --shades tin.csv --no-proof";
    assert!(run(folder.path(), &words(make)).status.success());
    for (name, more) in [("page", &[][..]), ("page-grey", &["-gray"])] {
        let mut draw = std::process::Command::new("pdftoppm");
        draw.args(["-r", "70", "-f", "5", "-l", "5", "-png", "-singlefile"]).args(more);
        output(draw.arg(at("rock-pool/rock-pool.pdf")).arg(at(name)));
    }
    std::fs::copy(at("rock-pool/rock-pool.stitched.png"), at("stitched.png")).unwrap();
    for more in [
        "mark rock-pool/rock-pool.chart.json --from marks.toml",
        "print rock-pool/rock-pool.chart.json -o m.pdf --pictures",
    ] {
        assert!(run(folder.path(), &words(&format!("brede {more}"))).status.success(), "{more}");
    }
    std::fs::copy(at("m.stitched.png"), at("marked.png")).unwrap();
    let shown = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own/shown");
    for (name, width) in [("stitched", 840), ("marked", 700), ("page", 579), ("page-grey", 579)] {
        let name = format!("{name}.png");
        assert!(README.contains(&format!("samples-own/shown/{name}")), "README shows no {name}");
        let mut made = image::open(at(&name)).unwrap().into_rgb8();
        if made.width() != width {
            let height = (made.height() * width + made.width() / 2) / made.width();
            made = image::imageops::resize(&made, width, height, image::imageops::FilterType::CatmullRom);
        }
        if std::env::var_os("BREDE_WRITE_SHOWN").is_some() {
            let picture = image::DynamicImage::from(made.clone());
            let picture = if name == "page-grey.png" { picture.into_luma8().into() } else { picture };
            picture.save(shown.join(&name)).unwrap();
        }
        let kept = image::open(shown.join(&name)).unwrap().into_rgb8();
        assert_eq!(kept.dimensions(), made.dimensions(), "{name}");
        let off: u64 = kept.iter().zip(made.iter()).map(|(kept, made)| u64::from(kept.abs_diff(*made))).sum();
        let mean = off as f64 / kept.len() as f64;
        assert!(mean < 1.0, "{name} is stale: {mean:.1} levels from what brede makes");
    }
}
