//! What a person has is not written over: not by a slip of a name, not through a link, not by a second run.

use std::collections::BTreeMap;
use std::os::unix::fs::{PermissionsExt as _, symlink};
use std::path::{Path, PathBuf};
use std::process::Command;

use brede::chart::Chart;
use brede::ground::store::seal::{self, State};

use super::bounded::{Ended, command, run};
use super::files::{contents, pool};
use super::making::{encoded, waves};

/// A card that somebody typed.
const CARD: &str =
    "code,name,colour,owned\nS01,Deep pool,#123456,2\nS02,Wet sand,#c0a878,1\nS03,Foam,#f0f4f0,1\n";

/// A table in which one keeps what lies in the drawer.
const DRAWER: &str = "code,owned\nT1,2\nT2,0.5\n";

/// A photo of threads on a table: white paper to the left above, four places to the right below.
fn threads() -> Vec<u8> {
    let colours = [[200, 40, 40], [40, 160, 60], [50, 60, 180], [210, 180, 90]];
    let picture = image::RgbImage::from_fn(200, 200, |x, y| {
        image::Rgb(match (x, y) {
            (0..80, 0..80) => [225, 224, 222],
            (100.., 100..) => colours[(x as usize - 100) / 50 + (y as usize - 100) / 50 * 2],
            _ => [150, 140, 130],
        })
    });
    encoded(&picture.into(), image::ImageFormat::Png)
}

/// A folder with a chart and all that a person may have beside it.
struct Table {
    folder: tempfile::TempDir,
}

impl Table {
    fn laid() -> Self {
        let (folder, _) = pool(20);
        std::fs::remove_file(folder.path().join("pool.chart.earlier.json")).ok();
        let put = |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).unwrap();
        put("card.csv", CARD.as_bytes());
        put("drawer.csv", DRAWER.as_bytes());
        put("measures.toml", b"strand_tex = 30.0\n");
        put("photo.png", &encoded(&waves(40, 30).into(), image::ImageFormat::Png));
        put("threads.png", &threads());
        put("letter.pdf", b"%PDF-1.4 a letter\n");
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn contents(&self) -> BTreeMap<String, Vec<u8>> {
        contents(self.folder.path())
    }

    /// Runs a command there.
    fn run(&self, line: &str) -> Ended {
        let mut command = command(line.split(' '));
        run(line, command.current_dir(self.folder.path()))
    }

    fn good(&self, line: &str) -> Ended {
        let ended = self.run(line);
        assert_eq!(ended.code, 0, "{line}: {}", ended.said);
        ended
    }
}

/// Every way to write, onto `OUT`, and somebody's file that a slip may name. `-1` and `-2` are two ways to write that
/// come to different files.
const WRITING: [(&str, &str, &str); 17] = [
    ("kit pool.chart.json --csv OUT", "kit pool.chart.json --waste 60 --csv OUT", "card.csv"),
    ("kit pool.chart.json --pdf OUT", "kit pool.chart.json --waste 60 --pdf OUT", "letter.pdf"),
    ("kit pool.chart.json --sorter OUT", "kit pool.chart.json --paper a3 --sorter OUT", "letter.pdf"),
    ("kit pool.chart.json --bobbins OUT", "kit pool.chart.json --paper a3 --bobbins OUT", "letter.pdf"),
    ("kit pool.chart.json --only T1 --order OUT", "kit pool.chart.json --only T2 --order OUT", "letter.pdf"),
    ("cloth --measured 70 --count 14 -o OUT", "cloth --measured 75 --count 14 -o OUT", "card.csv"),
    ("cloth --measured 70 --count 14 -o OUT", "cloth --measured 75 --count 14 -o OUT", "measures.toml"),
    ("cloth pool.chart.json --png OUT", "cloth pool.chart.json --cloth #203040 --png OUT", "photo.png"),
    (
        "shades from-photo threads.png --columns 2 --rows 2 --paper 5,5,60,60 --grid 100,100,100,100 -o OUT",
        "shades from-photo threads.png --columns 2 --rows 1 --paper 5,5,60,60 --grid 100,100,100,100 -o OUT",
        "card.csv",
    ),
    (
        "shades from-photo threads.png --columns 2 --rows 2 --paper 5,5,60,60 --grid 100,100,100,100 --check OUT",
        "shades from-photo threads.png --columns 2 --rows 1 --paper 5,5,60,60 --grid 100,100,100,100 --check OUT",
        "photo.png",
    ),
    (
        "shades compare card.csv card.csv --csv OUT",
        "shades compare card.csv drawn.csv --csv OUT",
        "drawer.csv",
    ),
    ("shades show card.csv -o OUT", "shades show -o OUT", "letter.pdf"),
    ("mark pool.chart.json list --sketch OUT", "mark marked.chart.json list --sketch OUT", "photo.png"),
    ("print pool.chart.json -o OUT", "print pool.chart.json --paper a3 -o OUT", "letter.pdf"),
    (
        "print pool.chart.json -o own.pdf --symbol-names OUT",
        "print pool.chart.json -o own.pdf --paper a3 --symbol-names OUT",
        "letter.pdf",
    ),
    (
        "proof own.pdf pool.chart.json --picture OUT",
        "proof own.pdf pool.chart.json --dpi 200 --picture OUT",
        "photo.png",
    ),
    (
        "shades move pool.chart.json card.csv -o OUT",
        "shades move pool.chart.json drawn.csv -o OUT",
        "letter.chart.json",
    ),
];

#[test]
fn what_somebody_wrote_is_never_written_over_unasked_and_kept_where_it_is_asked_for() {
    let table = Table::laid();
    std::fs::write(table.path("letter.chart.json"), "{\"dear\": \"Ines\"}").unwrap();
    std::fs::write(table.path("drawn.csv"), CARD.replace("#123456", "#405060")).unwrap();
    table.good("print pool.chart.json -o own.pdf");
    table.good("mark pool.chart.json lettering more --text A --at 9,9 --thread T3 -o marked.chart.json");
    for (line, other, theirs) in WRITING {
        let before = table.contents();
        let line_onto = line.replace("OUT", theirs);
        let ended = table.run(&line_onto);
        assert_eq!(ended.code, 1, "{line_onto}: {}", ended.said);
        assert!(
            ended.said.contains(theirs) && ended.said.contains("--replace"),
            "{line_onto}: {}",
            ended.said
        );
        assert!(table.contents() == before, "{line_onto} changed something");
        // Where it is asked for, what was there is kept.
        table.good(&format!("{line_onto} --replace"));
        let (stem, ending) = theirs.rsplit_once('.').unwrap();
        let kept =
            |number: &str| std::fs::read(table.path(&format!("{stem}.earlier{number}.{ending}"))).unwrap();
        assert!(kept("") == before[theirs], "{line_onto} --replace");
        // What brede wrote is its own until somebody changes it. The stranger's file that lies where the one before
        // would go stays.
        let first = std::fs::read(table.path(theirs)).unwrap();
        let other_onto = other.replace("OUT", theirs);
        table.good(&other_onto);
        assert!(std::fs::read(table.path(theirs)).unwrap() != first, "{other_onto} wrote the same");
        assert!(kept("-2") == first && kept("") == before[theirs], "{other_onto}");
        // The same again is no change.
        let all = table.contents();
        table.good(&other_onto);
        assert!(table.contents() == all, "{other_onto} twice");
        let mut noted = std::fs::read(table.path(theirs)).unwrap();
        noted.extend(b"\nnote: buy two\n");
        std::fs::write(table.path(theirs), &noted).unwrap();
        let ended = table.run(&line_onto);
        assert!(ended.code == 1 && ended.said.contains("--replace"), "{line_onto}: {}", ended.said);
        assert!(std::fs::read(table.path(theirs)).unwrap() == noted, "{line_onto}: the note is lost");
        // As it was, for the next one.
        for name in table.contents().keys().filter(|name| !before.contains_key(*name)) {
            std::fs::remove_file(table.path(name)).unwrap();
        }
        before.iter().for_each(|(name, bytes)| std::fs::write(table.path(name), bytes).unwrap());
    }
}

#[test]
fn make_asks_before_it_replaces_anybodys_file_and_keeps_its_own() {
    let table = Table::laid();
    let all = |columns: u32| format!("make photo.png --columns {columns} --colours 4 --out set");
    std::fs::create_dir(table.path("set")).unwrap();
    for theirs in
        ["photo.chart.json", "photo.pdf", "photo.cells.png", "photo.stitched.png", "photo.threads.csv"]
    {
        std::fs::write(table.path("set").join(theirs), "theirs").unwrap();
        let ended = table.run(&all(12));
        assert!(
            ended.code == 1 && ended.said.contains(theirs) && ended.said.contains("--replace"),
            "{}",
            ended.said
        );
        assert_eq!(contents(&table.path("set")), BTreeMap::from([(theirs.to_owned(), b"theirs".to_vec())]));
        std::fs::remove_file(table.path("set").join(theirs)).unwrap();
    }
    table.good(&all(12));
    let first = contents(&table.path("set"));
    table.good(&all(12));
    assert!(contents(&table.path("set")) == first, "the same again is no change");
    // A chart that is not one of brede's, a link and what it points at, where earlier ones would go.
    std::fs::write(table.path("set/photo.chart.earlier.json"), "theirs").unwrap();
    symlink("../card.csv", table.path("set/photo.threads.earlier.csv")).unwrap();
    symlink("nowhere", table.path("set/photo.earlier.pdf")).unwrap();
    table.good(&all(14));
    assert_eq!(std::fs::read(table.path("set/photo.chart.earlier.json")).unwrap(), b"theirs");
    assert_eq!(std::fs::read(table.path("card.csv")).unwrap(), CARD.as_bytes());
    assert!(table.path("set/photo.threads.earlier.csv").is_symlink() && !table.path("set/nowhere").exists());
    for (name, kept) in [
        ("photo.chart.json", "photo.chart.earlier-2.json"),
        ("photo.pdf", "photo.earlier-2.pdf"),
        ("photo.cells.png", "photo.cells.earlier.png"),
        ("photo.stitched.png", "photo.stitched.earlier.png"),
        ("photo.threads.csv", "photo.threads.earlier-2.csv"),
    ] {
        assert!(std::fs::read(table.path("set").join(kept)).unwrap() == first[name], "{kept}");
    }
}

#[test]
fn what_is_read_is_not_written_over_even_where_replacing_is_asked_for() {
    let table = Table::laid();
    table.good("print pool.chart.json -o own.pdf");
    let before = table.contents();
    for line in [
        "kit pool.chart.json --owned drawer.csv --csv drawer.csv",
        "kit pool.chart.json --shades card.csv --csv card.csv",
        "kit pool.chart.json --pdf pool.chart.json",
        "cloth --measured 70 --count 14 --cover measures.toml -o measures.toml",
        "shades compare card.csv card.csv --csv card.csv",
        "shades from-photo threads.png --columns 2 --rows 2 --paper 5,5,60,60 --check threads.png",
        "mark pool.chart.json list --sketch pool.chart.json",
        "proof own.pdf pool.chart.json --picture own.pdf",
        "shades move pool.chart.json card.csv -o card.csv",
    ] {
        for line in [line.to_owned(), format!("{line} --replace")] {
            let ended = table.run(&line);
            assert_eq!(ended.code, 1, "{line}: {}", ended.said);
            assert!(table.contents() == before, "{line} changed something");
        }
    }
    let twice = table.run("kit pool.chart.json --csv list.csv --pdf list.csv");
    assert_eq!(twice.code, 1, "{}", twice.said);
    let twice = table.run("print pool.chart.json -o two.pdf --symbol-names ./two.pdf");
    assert!(
        twice.code == 1 && twice.said.contains("two.pdf") && !table.path("two.pdf").exists(),
        "{}",
        twice.said
    );
}

#[test]
fn every_command_that_writes_has_the_option() {
    for line in [
        "make",
        "mark",
        "print",
        "proof",
        "cloth",
        "kit",
        "shades show",
        "shades move",
        "shades compare",
        "shades from-photo",
    ] {
        let help = run(line, command(line.split(' ')).arg("--help"));
        assert!(help.result.contains("--replace"), "{line}: {}", help.result);
    }
}

#[test]
fn every_file_bears_a_seal_and_what_is_written_can_be_read() {
    let table = Table::laid();
    table.good("make photo.png --columns 12 --colours 4 --out .");
    table.good("print photo.chart.json -o again.pdf --symbol-names names.pdf --pictures");
    table
        .good("kit photo.chart.json --csv list.csv --pdf list.pdf --sorter sorter.pdf --bobbins bobbins.pdf");
    table.good("cloth --measured 70 --count 14 -o cover.toml");
    table.good("shades from-photo threads.png --columns 2 --rows 2 --paper 5,5,60,60 --grid 100,100,100,100 -o four.csv");
    table.good("shades show four.csv -o four.pdf");
    table.good("mark photo.chart.json list --sketch sketch.png");
    let given = Table::laid().contents();
    let mut seen = 0;
    for (name, bytes) in table.contents() {
        if given.contains_key(&name) {
            assert_eq!(seal::read(&bytes), None, "{name}");
        } else if name.ends_with(".json") {
            assert!(Chart::open(&bytes).unwrap().notes.is_empty(), "{name}");
        } else {
            let sealed = seal::read(&bytes).unwrap_or_else(|| panic!("{name} bears no seal"));
            assert_eq!(sealed.state, State::Unchanged, "{name}");
            seen += 1;
        }
    }
    assert!(seen > 12, "{seen} files");
    // A card, a cover and a picture of brede's own are read as any other.
    let shown = table.good("shades show four.csv --json");
    assert!(!shown.said.contains("column"), "{}", shown.said);
    let shown: serde_json::Value = serde_json::from_str(&shown.result).unwrap();
    assert_eq!(shown["shades"].as_array().unwrap().len(), 4);
    table.good("cloth photo.chart.json --cover cover.toml");
    table.good("make photo.cells.png --exact --out exact");
}

#[test]
fn permissions_are_those_of_the_chart_also_for_what_it_was() {
    let table = Table::laid();
    let (chart, earlier) = (table.path("pool.chart.json"), table.path("pool.chart.earlier.json"));
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    std::fs::set_permissions(&chart, std::fs::Permissions::from_mode(0o600)).unwrap();
    table.good("mark pool.chart.json change year --text 1");
    assert_eq!((mode(&chart), mode(&earlier)), (0o600, 0o600));
    std::fs::set_permissions(&chart, std::fs::Permissions::from_mode(0o640)).unwrap();
    table.good("mark pool.chart.json change year --text 2");
    assert_eq!((mode(&chart), mode(&earlier)), (0o640, 0o640));
}

#[test]
fn a_date_that_cannot_be_read_is_told() {
    let table = Table::laid();
    for date in ["yesterday", "", "99999999999999999999", "1e9"] {
        for line in
            ["print pool.chart.json -o a.pdf", "make photo.png --columns 12 --out a", "shades show -o a.pdf"]
        {
            let mut command = command(line.split(' '));
            let ended = run(line, command.env("SOURCE_DATE_EPOCH", date).current_dir(table.folder.path()));
            assert!(ended.code == 1 && ended.said.contains("SOURCE_DATE_EPOCH"), "{line}: {}", ended.said);
            assert!(!table.path("a").exists() && !table.path("a.pdf").exists());
        }
    }
}

/// What a process that is killed between two renames leaves: the chart of one run beside pages of another.
#[test]
fn what_does_not_belong_together_is_told_by_the_next_command() {
    let table = Table::laid();
    table.good("make photo.png --columns 12 --colours 4 --out one");
    table.good("make photo.png --columns 14 --colours 4 --out two");
    for name in ["photo.chart.json", "photo.cells.png"] {
        std::fs::copy(table.path("two").join(name), table.path("one").join(name)).unwrap();
    }
    let lines = [
        "kit one/photo.chart.json",
        "print one/photo.chart.json -o elsewhere.pdf",
        "mark one/photo.chart.json list",
        "make photo.png --columns 16 --colours 4 --out one",
    ];
    for line in lines {
        let ended = table.good(line);
        let told = ended.said.lines().find(|told| told.contains("photo.pdf")).unwrap_or_default();
        let all = ["photo.stitched.png", "photo.threads.csv", "another chart"];
        assert!(all.iter().all(|part| told.contains(part)), "{line}: {}", ended.said);
        assert!(!told.contains("photo.cells.png"), "{line}: {told}");
    }
    // Pages of before a change, which the proof finds to be wrong, and why.
    table.good("mark two/photo.chart.json lettering year --text 7 --at 3,3 --thread P01");
    let mut proof = command("proof two/photo.pdf two/photo.chart.json".split(' '));
    let proof = proof.current_dir(table.folder.path()).output().unwrap();
    let said = String::from_utf8(proof.stderr).unwrap();
    let all = "photo.pdf, photo.cells.png, photo.stitched.png, photo.threads.csv of its revision 1";
    assert!(proof.status.code() == Some(1) && said.contains(all), "{said}");
    // All of one making: nothing to tell.
    let ended = table.good("print one/photo.chart.json -o one/photo.pdf --pictures");
    assert!(!ended.said.contains("revision"), "{}", ended.said);
    // A chart that is changed goes on, and its pages stay behind.
    table.good("mark one/photo.chart.json lettering year --text 7 --at 3,3 --thread P01");
    let ended = table.good("kit one/photo.chart.json");
    assert!(ended.said.contains("photo.pdf"), "{}", ended.said);
    // Another mark is not the time to say so.
    let ended = table.good("mark one/photo.chart.json move year 1,1");
    assert!(!ended.said.contains("photo.pdf"), "{}", ended.said);
    table.good("print one/photo.chart.json -o one/photo.pdf --pictures");
    let ended = table.good("kit one/photo.chart.json");
    assert!(!ended.said.contains("revision"), "{}", ended.said);
}

#[test]
fn all_files_of_a_set_carry_the_chart_and_its_revision() {
    let table = Table::laid();
    table.good("make photo.png --columns 12 --colours 4 --out .");
    let chart: serde_json::Value =
        serde_json::from_slice(&std::fs::read(table.path("photo.chart.json")).unwrap()).unwrap();
    let text = |key: &str| chart[key].as_str().unwrap();
    let stamp = format!("{}/{}/{}", text("id"), chart["revision"], text("fingerprint"));
    for ending in ["pdf", "cells.png", "stitched.png", "threads.csv"] {
        let bytes = std::fs::read(table.path(&format!("photo.{ending}"))).unwrap();
        assert_eq!(seal::read(&bytes).unwrap().stamp.as_ref(), Some(&stamp), "{ending}");
    }
    let list = std::fs::read(table.path("photo.threads.csv")).unwrap();
    for row in csv::Reader::from_reader(list.as_slice()).records() {
        assert_eq!(row.unwrap().iter().next_back(), Some(stamp.as_str()));
    }
}

#[test]
fn a_chart_that_is_moved_to_another_card_in_its_own_file_is_changed_and_kept() {
    let table = Table::laid();
    let before = std::fs::read(table.path("pool.chart.json")).unwrap();
    table.good("shades move pool.chart.json card.csv -o pool.chart.json");
    let chart = |name: &str| Chart::from_json(&std::fs::read(table.path(name)).unwrap()).unwrap();
    let (was, is) = (chart("pool.chart.earlier.json").stamp(), chart("pool.chart.json").stamp());
    assert!(std::fs::read(table.path("pool.chart.earlier.json")).unwrap() == before);
    assert_eq!((is.id, is.revision), (was.id, was.revision.next()));
}

/// The general-purpose tools read what is sealed and find nothing amiss.
#[test]
#[ignore = "wants qpdf and poppler"]
fn qpdf_and_poppler_find_nothing_amiss_with_a_seal() {
    let table = Table::laid();
    table.good("make photo.png --columns 12 --colours 4 --out .");
    let said = |program: &str, arguments: &[&str]| {
        let done = Command::new(program).args(arguments).arg(table.path("photo.pdf")).output().unwrap();
        assert!(done.status.success(), "{program}: {}", String::from_utf8_lossy(&done.stderr));
        String::from_utf8_lossy(&done.stdout).into_owned()
    };
    assert!(said("qpdf", &["--check"]).contains("No syntax or stream encoding errors"));
    let chart = Chart::from_json(&std::fs::read(table.path("photo.chart.json")).unwrap()).unwrap();
    assert!(said("pdfinfo", &["-meta"]).contains(&chart.stamp().to_string()));
}
