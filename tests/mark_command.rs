//! `brede mark` as a person meets it: what it changes, what it says, and that nothing is lost.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};

/// A disc of thread B in a square of thread A, with a bare edge of two cells, saved in a folder of its own.
fn pool() -> (tempfile::TempDir, PathBuf) {
    let needle = |code: &str, name: &str, colour: &str, symbol: usize| Needle {
        symbol: brede::printing::symbols::SymbolId::all().nth(symbol).unwrap().id().into(),
        threads: vec![Thread {
            code: code.into(),
            name: name.into(),
            colour: colour.parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(60, 40).unwrap();
    let cell = |at: usize| {
        let (x, y) = ((at % 60) as i32, (at / 60) as i32);
        if !(2..58).contains(&x) || !(2..38).contains(&y) {
            Cell::BARE
        } else if (x - 20).pow(2) + (y - 20).pow(2) <= 64 {
            Cell::worked(1)
        } else {
            Cell::worked(0)
        }
    };
    let needles = vec![needle("A", "Rock", "#8a8378", 0), needle("B", "Urchin", "#5b2a6e", 1)];
    let cells = (0..size.cells()).map(cell).collect();
    let chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    std::fs::write(&path, chart.to_json()).unwrap();
    (folder, path)
}

fn mark(chart: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brede")).arg("mark").arg(chart).args(arguments).output().unwrap()
}

fn done(chart: &Path, arguments: &[&str]) -> String {
    let output = mark(chart, arguments);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn fails(chart: &Path, arguments: &[&str]) -> String {
    let before = std::fs::read(chart).unwrap();
    let output = mark(chart, arguments);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}");
    assert_eq!(std::fs::read(chart).unwrap(), before, "{arguments:?} changed the chart");
    String::from_utf8(output.stderr).unwrap()
}

fn read(chart: &Path) -> Chart {
    Chart::from_json(&std::fs::read(chart).unwrap()).unwrap()
}

fn names(chart: &Path) -> Vec<String> {
    let chart = Chart::from_json(&std::fs::read(chart).unwrap()).unwrap();
    chart.marks.iter().map(|mark| mark.name().to_owned()).collect()
}

#[test]
fn undo_into_another_file_leaves_the_chart_alone() {
    let (folder, chart) = pool();
    let plain = Chart::from_json(&std::fs::read(&chart).unwrap()).unwrap();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A"]);
    let marked = std::fs::read(&chart).unwrap();
    let other = folder.path().join("other.chart.json");
    done(&chart, &["-o", other.to_str().unwrap(), "undo"]);
    assert_eq!(std::fs::read(&chart).unwrap(), marked);
    let back = Chart::from_json(&std::fs::read(&other).unwrap()).unwrap();
    assert!(back.marks.is_empty() && back.cells() == plain.cells());
}

#[test]
fn marks_that_get_in_each_others_way_are_told_with_their_cells() {
    let (_folder, chart) = pool();
    for (name, at) in [("one", "2,2"), ("two", "5,2"), ("far", "58,2")] {
        done(&chart, &["lettering", name, "--text", "HH", "--at", at, "--thread", "B"]);
    }
    for (name, corners) in [("a", "1,8,6,11"), ("b", "5,10,65,12")] {
        done(&chart, &["outline", name, "--rectangle", corners, "--thread", "B"]);
    }
    let output = mark(&chart, &["list"]);
    let said = String::from_utf8_lossy(&output.stderr);
    for wanted in [
        "warning: letters overlap: `one` and `two` at column 5, row 2\n",
        "stitches lie outside the design and are left out, the first at column 61, row 2",
        "warning: outlines cross, as their motifs hold the same squares: `a` and `b` at column 5, row 10\n",
        "warning: mark `b`: its pick reaches column 65, row 12, outside the design of 60 x 40",
    ] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    // However many they are, they are told in one line: five that all cross are ten pairs.
    for (name, corners) in [("c", "2,9,7,12"), ("d", "3,7,8,10"), ("e", "4,6,5,14")] {
        done(&chart, &["outline", name, "--rectangle", corners, "--thread", "B"]);
    }
    let said = String::from_utf8(mark(&chart, &["list"]).stderr).unwrap();
    let told: Vec<&str> = said.lines().filter(|line| line.contains("outlines cross")).collect();
    assert!(told.len() == 1 && told[0].ends_with("; and 6 more pairs"), "{said}");
}

#[test]
fn a_name_is_one_line_and_a_thread_of_a_mark_is_known_to_later_ones() {
    let (folder, chart) = pool();
    for (name, label) in [("two\nlines", "x"), ("two\u{2028}lines", "x"), ("one", "a\u{1b}b")] {
        let rectangle = ["--rectangle", "3,3,9,9", "--thread", "A"];
        let said = fails(&chart, &[&["outline", name, "--label", label], &rectangle[..]].concat());
        assert!(said.contains("holds a line break") && said.lines().count() == 2, "{said:?}");
    }
    done(&chart, &["outline", "one", "--rectangle", "3,3,9,9", "--thread", "A"]);
    assert!(fails(&chart, &["change", "one", "--rename", "o\nne"]).contains("o\\nne"));
    // A thread that came with a card is the chart's own from then on.
    let card = folder.path().join("card.csv");
    std::fs::write(&card, "code,name,colour\nCORAL,Coral,#d06050\n").unwrap();
    let halo = ["halo", "ring", "--rectangle", "12,12,20,20", "--thread", "coral"];
    assert!(fails(&chart, &halo).contains("has a thread `coral`"));
    done(&chart, &[&halo[..], &["--shades", card.to_str().unwrap()]].concat());
    done(&chart, &["outline", "later", "--rectangle", "30,12,40,20", "--thread", "Coral"]);
    let Some(brede::chart::Mark::Outline(later)) = read(&chart).marks.last().map(|mark| mark.mark().clone())
    else {
        panic!("it is an outline");
    };
    assert_eq!(later.thread[0].colour.to_string(), "#d06050");
}

#[test]
fn marks_warn_where_the_cloth_spoils_them() {
    let (folder, chart) = pool();
    let output =
        mark(&chart, &["stitches", "rock", "--needle", "A", "--stitch", "half-cross", "--strands", "1"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.contains("A Rock: the cloth shows through"), "{said}");
    let list = done(&chart, &["list"]);
    // By hand: 56 x 36 cells of thread less 197 with x² + y² up to 64.
    assert!(list.contains("1,819 squares"), "{list}");
    // The cloth is cream, #f4ecd8.
    let card = folder.path().join("card.csv");
    std::fs::write(&card, "code,name,colour\nW,Chalk,#f5efe0\n").unwrap();
    for (thread, is_pale) in [("B", false), ("W", true)] {
        let output = mark(
            &chart,
            &[
                "--shades",
                card.to_str().unwrap(),
                "key",
                "--name",
                thread,
                "--title",
                "Pool",
                "--thread",
                thread,
            ],
        );
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(said.contains("hard to read"), is_pale, "{said}");
    }
}

#[test]
fn marks_are_added_listed_changed_moved_reordered_and_taken_off_again() {
    let (_folder, chart) = pool();
    let before = read(&chart).fingerprint();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A", "--label", "Found by Ines"]);
    done(&chart, &["halo", "ring", "--needle", "B", "--thread", "P01", "--away", "1"]);
    done(&chart, &["lettering", "year", "--text", "2026", "--at", "34,6", "--thread", "1 of B + 1 of P01"]);
    done(&chart, &["key", "--thread", "B", "--title", "Pool", "--frame", "A"]);
    assert_eq!(names(&chart), ["urchin", "ring", "year", "key"]);
    let list = done(&chart, &["list"]);
    assert!(list.contains("urchin: outline \"Found by Ines\", 1 of A,"), "{list}");
    assert!(list.contains("year: lettering, 1 of B + 1 of P01"), "{list}");

    done(
        &chart,
        &["change", "urchin", "--pattern", "dots", "--thread", "2 of B", "--rename", "urchin of Ines"],
    );
    let list = done(&chart, &["list"]);
    assert!(
        list.contains("urchin of Ines: outline \"Found by Ines\", 2 of B,") && list.contains("dots"),
        "{list}"
    );
    done(&chart, &["move", "year", "-3,2"]);
    assert!(
        std::fs::read_to_string(&chart).unwrap().replace(char::is_whitespace, "").contains("\"at\":[31,8]")
    );
    done(&chart, &["reorder", "year", "--bottom"]);
    done(&chart, &["reorder", "urchin of Ines", "--over", "key"]);
    assert_eq!(names(&chart), ["year", "ring", "key", "urchin of Ines"]);

    done(&chart, &["remove", "ring", "key"]);
    assert_eq!(names(&chart), ["year", "urchin of Ines"]);
    done(&chart, &["remove", "--all"]);
    assert_eq!(read(&chart).fingerprint(), before, "the chart is what it was");
}

#[test]
fn a_file_of_marks_can_be_used_again_and_again() {
    let (folder, chart) = pool();
    let mask =
        image::GrayImage::from_fn(60, 40, |x, y| image::Luma([if x > 40 && y > 20 { 255 } else { 0 }]));
    mask.save(folder.path().join("corner.png")).unwrap();
    let file = folder.path().join("pool.marks.toml");
    let text = "[[mark]]\nkind = 'outline'\nname = 'urchin'\nthread = 'Rock'\nmotif = { pick = [{ at = [21, 21] }] }\n\n\
        [[mark]]\nkind = 'outline'\nname = 'corner'\nthread = 'B'\nmotif = { pick = [{ mask_file = 'corner.png' }] }\n\n\
        [[mark]]\nkind = 'key'\nname = 'key'\nthread = 'B'\n";
    std::fs::write(&file, text).unwrap();
    let from = ["--from", file.to_str().unwrap()];
    done(&chart, &from);
    let once = std::fs::read(&chart).unwrap();
    done(&chart, &from);
    assert_eq!(std::fs::read(&chart).unwrap(), once);
    assert_eq!(names(&chart), ["urchin", "corner", "key"]);
    let sketch = folder.path().join("sketch.png");
    done(&chart, &["--sketch", sketch.to_str().unwrap()]);
    let picture = image::open(&sketch).unwrap();
    assert_eq!(picture.width(), 60 * 14);
    assert!(picture.height() > 40 * 14, "the key stands below");
    std::fs::write(&file, text.replace("'Rock'", "'Rocks'")).unwrap();
    let said = fails(&chart, &from);
    assert!(said.contains("mark `urchin`") && said.contains("`Rocks`") && said.contains("hint: "), "{said}");
}

#[test]
fn a_choice_can_be_looked_at_and_leaves_the_chart_alone() {
    let (folder, chart) = pool();
    let before = std::fs::read(&chart).unwrap();
    let path = folder.path().join("choice.png");
    let said =
        done(&chart, &["outline", "x", "--at", "21,21", "--grow", "2", "--show", path.to_str().unwrap()]);
    // Cells whose middle is at most 8 from one, grown by 2 in the round: about pi 10^2.
    let cells: f64 = said.split(": ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((cells - 314.0).abs() < 20.0, "{said}");
    assert_eq!(std::fs::read(&chart).unwrap(), before);
    assert_eq!(image::open(&path).unwrap().width(), 60 * 14);
}

#[test]
fn what_cannot_be_done_is_said_and_nothing_is_lost() {
    let (_folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A"]);
    for (arguments, part) in [
        (&["outline", "urchin", "--at", "1,1", "--thread", "A"][..], "two marks are called `urchin`"),
        (&["outline", "x", "--at", "61,1", "--thread", "A"], "column 61, row 1 of 60 x 40"),
        (&["outline", "x", "--thread", "A"], "no square is chosen"),
        (&["outline", "x", "--needle", "Z", "--thread", "A"], "the chart has no thread `Z`"),
        (&["outline", "x", "--at", "21,21", "--thread", "Z9"], "`Z9`"),
        (&["outline", "x", "--at", "21,21", "--thread", "A", "--longest", "9"], "1 to 6"),
        (&["lettering", "x", "--text", "\u{5d0}", "--at", "3,3", "--thread", "A"], "right to left"),
        (
            &["lettering", "x", "--text", "Ж", "--at", "3,3", "--thread", "A", "--face", "script"],
            "five, seven, ten, tiny, line, joined",
        ),
        (&["change", "crab", "--label", "x"], "it has: urchin"),
        (&["change", "urchin", "--text", "x"], "a text does not go with it"),
        (&["remove", "urchin", "crab"], "no mark called `crab`"),
    ] {
        let said = fails(&chart, arguments);
        assert!(said.contains(part), "{arguments:?}: {said}");
        assert!(said.contains("\nhint: "), "{arguments:?}: {said}");
    }
    let usage = mark(&chart, &["lettering", "x", "--text", "x", "--at", "3", "--thread", "A"]);
    assert_eq!(usage.status.code(), Some(2));
}

#[test]
fn a_marked_chart_prints() {
    let (folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "P20"]);
    done(&chart, &["key", "--thread", "B"]);
    let pdf = folder.path().join("pool.pdf");
    let printed = Command::new(env!("CARGO_BIN_EXE_brede"))
        .arg("print")
        .arg(&chart)
        .arg("-o")
        .arg(&pdf)
        .output()
        .unwrap();
    assert!(printed.status.success(), "{}", String::from_utf8_lossy(&printed.stderr));
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"));
}

#[test]
fn an_area_is_worked_in_half_cross_changed_and_freed_again() {
    let (folder, path) = pool();
    let before = read(&path).fingerprint();
    let card = folder.path().join("card.csv");
    std::fs::write(&card, "code,name,colour,kind\nM01,Herring silver,#c9ccd0,metallic\n").unwrap();
    let card = card.to_str().unwrap();
    done(&path, &["stitches", "rock", "--needle", "A", "--stitch", "half-cross", "--strands", "1"]);
    done(&path, &["change", "rock", "--add", "M01", "--shades", card]);
    let list = done(&path, &["list"]);
    assert!(list.contains("rock: stitches, half-cross, 1 strand, with 1 of M01"), "{list}");
    let chart = Chart::from_json(&std::fs::read(&path).unwrap()).unwrap();
    let worked = brede::printing::worked(&chart).unwrap().chart;
    let rock = &worked.needles()[0];
    assert_eq!((rock.stitch, rock.code().as_str()), (StitchKind::HalfCross, "A + M01"));
    // The urchin is a hole in the rock and stays as it was.
    assert_eq!(worked.needles()[1].stitch, StitchKind::FullCross);
    assert_eq!(worked.stitches(), chart.stitches());
    let said = fails(&path, &["change", "rock", "--thread", "B"]);
    assert!(said.contains("another thread does not go with it"), "{said}");
    let said = fails(&path, &["stitches", "more", "--at", "3,3"]);
    assert!(said.contains("says neither stitch nor strands"), "{said}");
    let output = mark(&path, &["stitches", "more", "--at", "3,3", "--stitch", "quarter-middle"]);
    assert_eq!(output.status.code(), Some(2));
    done(&path, &["remove", "rock"]);
    assert_eq!(read(&path).fingerprint(), before);
}

fn brede(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_brede")).args(arguments).output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    assert!(!said.contains("panic"), "{said}");
    String::from_utf8(output.stdout).unwrap()
}

/// How many backstitches the list of marks tells of a mark.
fn backstitches(chart: &Path, mark: &str) -> String {
    let list = done(chart, &["list"]);
    let line =
        list.lines().find(|line| line.starts_with(&format!("{mark}: "))).unwrap_or_else(|| panic!("{list}"));
    line.split(", ")
        .find(|part| part.ends_with(" backstitches"))
        .unwrap_or_else(|| panic!("{line}"))
        .to_owned()
}

#[test]
fn a_chart_moved_to_another_card_keeps_its_outlines_and_areas() {
    let (folder, chart) = pool();
    // Colours within 8 of the rock's are flooded: none but its own, until the card changes.
    done(&chart, &["outline", "rock", "--at", "3,3", "--within", "8", "--keep-holes", "--thread", "P01"]);
    done(&chart, &["stitches", "urchin", "--needle", "B", "--stitch", "half-cross"]);
    done(&chart, &["outline", "spines", "--needle", "Urchin", "--thread", "A"]);
    let before = ["rock", "spines"].map(|mark| backstitches(&chart, mark));
    let card = folder.path().join("new.csv");
    std::fs::write(&card, "code,name,colour\nX1,Slate,#7c7870\nX2,Shale,#807a70\nX3,Grit,#847c74\n").unwrap();
    let moved = folder.path().join("moved.chart.json");
    let path = moved.to_str().unwrap();
    brede(&["shades", "move", chart.to_str().unwrap(), card.to_str().unwrap(), "-o", path]);
    assert_eq!(["rock", "spines"].map(|mark| backstitches(&moved, mark)), before);
    let list = done(&moved, &["list"]);
    // By hand: cells with x² + y² up to 64 are 197.
    assert!(list.contains("urchin: stitches, half-cross, 197 squares"), "{list}");
    brede(&["print", path, "-o", folder.path().join("moved.pdf").to_str().unwrap()]);
    brede(&["kit", path]);
    // The area can be pointed at the thread that took the place of its own, and moved marks be changed.
    done(&moved, &["change", "spines", "--pattern", "dots"]);
    assert_eq!(backstitches(&moved, "spines"), before[1]);

    // The moved chart is one of its own that names where it comes from, and can be taken back.
    let (old, new) = (read(&chart), read(&moved));
    assert_ne!(old.stamp().id, new.stamp().id);
    assert_eq!(new.identity().parent.map(|parent| parent.id), Some(old.stamp().id));
    done(&moved, &["undo"]);
    done(&moved, &["undo"]);
    assert_eq!(read(&moved).fingerprint(), old.fingerprint());
    done(&moved, &["redo"]);
    assert_eq!(names(&moved), names(&chart));
}

#[test]
fn a_thread_whose_price_or_name_changed_between_two_marks_is_one_thread() {
    let (folder, chart) = pool();
    let card = folder.path().join("card.csv");
    let shades = card.to_str().unwrap();
    let letters = |name: &str, row: &str, thread: &str| {
        let at = format!("4,{row}");
        done(
            &chart,
            &["lettering", name, "--text", "Ines", "--at", &at, "--thread", thread, "--shades", shades],
        );
    };
    for (index, rest) in [
        "Foam,#e8f0f0,1.15,8,cotton",
        "Foam,#e8f0f0,1.35,8,cotton",
        "Sea foam,#e8f0f0,1.35,10,linen",
        "Foam,#e0f0f4,,,",
    ]
    .iter()
    .enumerate()
    {
        std::fs::write(&card, format!("code,name,colour,price,length_m,kind\nW7,{rest}\n")).unwrap();
        letters(&format!("one {index}"), &format!("{}", 4 + 8 * index), "W7");
        letters(&format!("two {index}"), &format!("{}", 4 + 8 * index), "1 of W7 + 1 of A");
    }
    let worked = brede::printing::worked(&read(&chart)).unwrap().chart;
    let codes: Vec<String> = worked.needles().iter().map(Needle::code).collect();
    assert_eq!(codes, ["A", "B", "W7", "W7 + A"]);
    let path = chart.to_str().unwrap();
    let pdf = folder.path().join("pool.pdf");
    brede(&["print", path, "-o", pdf.to_str().unwrap()]);
    brede(&["proof", pdf.to_str().unwrap(), path]);
    let kit = brede(&["kit", path]);
    assert_eq!(kit.matches("W7").count(), 1, "{kit}");
    brede(&["cloth", path]);
    done(&chart, &["list"]);
    let moved = folder.path().join("moved.chart.json");
    brede(&["shades", "move", path, shades, "-o", moved.to_str().unwrap()]);
}

#[test]
fn needles_of_one_code_that_say_different_things_panic_no_command() {
    let (folder, chart) = pool();
    done(&chart, &["lettering", "year", "--text", "2026", "--at", "4,4", "--thread", "B"]);
    let text = std::fs::read_to_string(&chart).unwrap();
    // B becomes A by another name and colour: two needles of the same code.
    let text = text.replace("\"code\": \"B\"", "\"code\": \"A\"");
    std::fs::write(&chart, text).unwrap();
    let path = chart.to_str().unwrap();
    let pdf = folder.path().join("pool.pdf");
    brede(&["print", path, "-o", pdf.to_str().unwrap()]);
    brede(&["kit", path]);
    brede(&["cloth", path]);
    let output = mark(&chart, &["list"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.contains("is not as brede saved it"), "{said}");
    done(&chart, &["outline", "all", "--stitched", "--thread", "A"]);
    let moved = folder.path().join("moved.chart.json");
    let card = folder.path().join("card.csv");
    std::fs::write(&card, "code,name,colour\nX1,Slate,#7c7870\nX2,Shale,#807a70\n").unwrap();
    brede(&["shades", "move", path, card.to_str().unwrap(), "-o", moved.to_str().unwrap()]);
}

#[test]
fn a_chart_written_elsewhere_is_another_one_with_the_steps_of_the_first() {
    let (folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A"]);
    let other = folder.path().join("other.chart.json");
    done(&chart, &["-o", other.to_str().unwrap(), "change", "urchin", "--rename", "crab"]);
    let (one, two) = (read(&chart), read(&other));
    assert_ne!(one.stamp().id, two.stamp().id);
    assert_eq!(two.stamp().revision.number(), 1);
    assert_eq!(
        two.identity().parent.map(|parent| (parent.id, parent.revision)),
        Some((one.stamp().id, one.stamp().revision))
    );
    assert_eq!(one.marks[0].id(), two.marks[0].id());
    assert_eq!(names(&other), ["crab"]);
    done(&other, &["undo"]);
    assert_eq!(read(&other).fingerprint(), one.fingerprint());
    done(&other, &["undo"]);
    assert!(names(&other).is_empty());
}

#[test]
fn an_older_chart_is_marked_and_then_is_no_older_one() {
    let (_folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A"]);
    let mut old: serde_json::Value = serde_json::from_slice(&std::fs::read(&chart).unwrap()).unwrap();
    old["brede_chart"] = 1.into();
    for key in ["id", "revision", "fingerprint", "steps"] {
        assert!(old.as_object_mut().unwrap().remove(key).is_some(), "{key}");
    }
    for key in ["id", "cells"] {
        assert!(old["marks"][0].as_object_mut().unwrap().remove(key).is_some(), "{key}");
    }
    std::fs::write(&chart, old.to_string()).unwrap();
    let output = mark(&chart, &["change", "urchin", "--label", "Found by Ines"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && said.matches("older brede").count() == 1, "{said}");
    let output = mark(&chart, &["undo"]);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && !said.contains("older brede"), "{said}");
    assert_eq!(read(&chart).marks[0].label(), Some("urchin"));
    assert_eq!(read(&chart).region(0).unwrap().count(), 197);
}

#[test]
fn a_ring_closes_at_its_corners_and_says_what_lies_beyond_the_design() {
    let (_folder, chart) = pool();
    done(&chart, &["halo", "box", "--rectangle", "20,10,24,12", "--thread", "A"]);
    let worked = |chart: &Path| brede::printing::worked(&read(chart)).unwrap().chart;
    let other = worked(&chart);
    // By hand: round 5 x 3 cells lie 2 * (5 + 3) beside its sides and 4 at its corners, 20 in all; A is in the disc there.
    let before = read(&chart);
    let changed = other.cells().iter().zip(before.cells()).filter(|(one, two)| one != two).count();
    let in_disc = |x: i32, y: i32| (x - 20).pow(2) + (y - 20).pow(2) <= 64;
    let ring: Vec<(i32, i32)> = (18..25)
        .flat_map(|x| (8..13).map(move |y| (x, y)))
        .filter(|&(x, y)| !((19..24).contains(&x) && (9..12).contains(&y)))
        .collect();
    assert_eq!(ring.len(), 20);
    assert_eq!(changed, ring.iter().filter(|&&(x, y)| in_disc(x, y)).count());
    let output = mark(&chart, &["halo", "edge", "--rectangle", "1,1,60,40", "--thread", "B", "--wide", "2"]);
    let said = String::from_utf8_lossy(&output.stderr);
    // Two rings round 60 x 40 without the cells of their outermost corners, which are 2.8 away.
    assert!(
        output.status.success() && said.contains("mark `edge`: 412 stitches lie outside the design"),
        "{said}"
    );
}

#[test]
fn the_key_keeps_off_the_edge_and_can_be_put_elsewhere() {
    let (_folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "A"]);
    done(&chart, &["key", "--thread", "B", "--date", "2026"]);
    let bare = |row: usize| {
        let worked = brede::printing::worked(&read(&chart)).unwrap().chart;
        let rows = worked.size().height();
        worked.row(if row < 3 { row } else { rows + 2 - row }).iter().all(|cell| cell.needle().is_none())
    };
    assert!((3..6).all(bare), "three rows of cloth lie below it");
    let said = fails(&chart, &["move", "key", "0,3"]);
    assert!(said.contains("--place above"), "{said}");
    done(&chart, &["change", "key", "--place", "above", "--gap", "6"]);
    assert!((0..3).all(bare), "and above it");
    done(&chart, &["change", "key", "--key-at", "30,3"]);
    let worked = brede::printing::worked(&read(&chart)).unwrap().chart;
    assert_eq!(worked.size(), read(&chart).size());
    done(&chart, &["move", "key", "0,3"]);
    let said = fails(&chart, &["change", "urchin", "--place", "above"]);
    assert!(said.contains("a place of a key does not go with it"), "{said}");
}

#[test]
fn another_thread_keeps_the_strands_and_json_tells_all_of_it() {
    let (_folder, chart) = pool();
    done(&chart, &["outline", "urchin", "--at", "21,21", "--thread", "2 of A"]);
    done(&chart, &["change", "urchin", "--thread", "P20"]);
    let list = done(&chart, &["list"]);
    assert!(list.contains("urchin: outline, 2 of P20"), "{list}");
    done(&chart, &["change", "urchin", "--thread", "1 of P20"]);
    let told: serde_json::Value = serde_json::from_str(&done(&chart, &["--json", "undo"])).unwrap();
    assert_eq!(told["step"]["what"], "mark-changed");
    assert_eq!(told["marks"][0]["threads"][0]["strands"], 2);
    assert_eq!((&told["can_undo"], &told["can_redo"]), (&2.into(), &1.into()));
}
