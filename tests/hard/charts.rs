//! Chart documents that are damaged, forged or written by a later brede, and marks that point nowhere; read by
//! every command that reads a chart.

use std::ops::Range;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::bounded::{Ended, command, run};
use super::making::good;

pub(crate) const MARKS: &str = "\
[[mark]]
kind = 'outline'
name = 'crab'
label = 'Found by Ines'
thread = '1 of A'
course = 'exact'
longest = 2.0
pattern = 'dots'
stitch = 'double-running'
motif = { pick = [{ rectangle = [2, 2, 6, 5] }, { at = [1, 1], within = 3.0, touching = 'corners', take_away = true },
    { ellipse = [3, 3, 7, 7] }, { polygon = [[1, 1], [8, 1], [8, 8]] }, { needles = ['A'] }, { stitched = true }], bridge = 1, holes = 'kept', grow = 1 }

[[mark]]
kind = 'halo'
name = 'ring'
thread = 'B'
wide = 1
away = 1
motif = { pick = [{ rectangle = [2, 2, 6, 5] }] }

[[mark]]
kind = 'lettering'
name = 'year'
text = '26'
at = [2, 2]
thread = 'C'
style = { face = 'line', capitals = 6, turn = 90, align = 'centre', letter_gap = 1, line_gap = 1, wrap = 30 }

[[mark]]
kind = 'key'
name = 'key'
thread = 'C'
place = 'below'
title = 'Pool'
date = '2026'
initials = 'IK'
face = 'five'
title_face = 'seven'
sample = 'motif'
columns = 1
gap = 2
frame = 'A'
";

/// How many commands read a chart beside `mark list`.
const OTHERS: usize = 5;

/// A real chart with one mark of each kind, with every field that there is.
struct Pool {
    folder: tempfile::TempDir,
    card: PathBuf,
    document: Value,
}

impl Pool {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let card = at("card.csv");
        let header = "code,name,colour,price,length_m,kind\n";
        std::fs::write(
            &card,
            format!("{header}A,Kelp,#2f6f4f,1.15,8,cotton\nB,Sand,#d8c49a,1.15,8,cotton\nC,Ink,#101020,1.15,8,cotton\n"),
        )
        .unwrap();
        std::fs::write(at("pool.png"), good().remove(0).1).unwrap();
        std::fs::write(at("marks.toml"), MARKS).unwrap();
        let mut make = command(["make", "--quiet", "--columns", "16", "--colours", "3", "--shades"]);
        let made = run("make", make.arg(&card).arg("--out").arg(folder.path()).arg(at("pool.png")));
        assert_eq!(made.code, 0, "{}", made.said);
        let mut mark = command(["mark"]);
        mark.arg(at("pool.chart.json")).arg("--from").arg(at("marks.toml")).arg("--shades").arg(&card);
        let marked = run("mark", &mut mark);
        assert_eq!(marked.code, 0, "{}", marked.said);
        let document = serde_json::from_slice(&std::fs::read(at("pool.chart.json")).unwrap()).unwrap();
        Self { folder, card, document }
    }

    fn put(&self, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join("hard.chart.json");
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Lists the marks; where the chart is taken, every other command must bear it too.
    fn read(&self, name: &str, bytes: &[u8]) -> Ended {
        self.read_and(name, bytes, 0..OTHERS)
    }

    /// Lists the marks; where the chart is taken, these of the other commands must bear it too.
    fn read_and(&self, name: &str, bytes: &[u8], others: Range<usize>) -> Ended {
        let chart = self.put(bytes);
        let listed = run(name, command(["mark"]).arg(&chart).arg("list"));
        for other in others.filter(|_| listed.code == 0) {
            self.other(name, &chart, other);
        }
        listed
    }

    fn other(&self, name: &str, chart: &Path, which: usize) {
        let out = |ending: &str| self.folder.path().join(format!("out.{ending}"));
        let named = |what: &str| format!("{what} {name}");
        match which {
            0 => run(&named("print"), command(["print", "--pictures"]).arg(chart).arg("-o").arg(out("pdf"))),
            1 => run(&named("cloth"), command(["cloth", "--json", "--png"]).arg(out("png")).arg(chart)),
            2 => {
                let mut kit = command(["kit", "--budget", "1", "--csv"]);
                kit.arg(out("csv")).arg("--sorter").arg(out("sorter.pdf")).arg("--pdf").arg(out("list.pdf"));
                run(&named("kit"), kit.arg(chart))
            }
            3 => {
                let mut moved = command(["shades", "move"]);
                run(&named("move"), moved.arg(chart).arg(&self.card).arg("-o").arg(out("chart.json")))
            }
            _ => run(&named("sketch"), command(["mark"]).arg(chart).arg("--sketch").arg(out("sketch.png"))),
        };
    }

    fn changed(&self, change: impl FnOnce(&mut Value)) -> Vec<u8> {
        let mut document = self.document.clone();
        change(&mut document);
        document.to_string().into_bytes()
    }
}

/// The place of every value in a document (RFC 6901), those of a list by their first two: the others are alike, but marks,
/// of which each is of another kind. What a step holds is like what stands elsewhere, and is left to the fuzzing.
fn places(value: &Value, here: &str, found: &mut Vec<String>) {
    if here.starts_with("/steps/0/change/") {
        return;
    }
    match value {
        Value::Object(fields) => {
            for (key, inner) in fields {
                let place = format!("{here}/{key}");
                found.push(place.clone());
                places(inner, &place, found);
            }
        }
        Value::Array(values) => {
            for (index, inner) in values.iter().enumerate().take(if here == "/marks" { 9 } else { 2 }) {
                let place = format!("{here}/{index}");
                found.push(place.clone());
                places(inner, &place, found);
            }
        }
        _ => {}
    }
}

fn remove(document: &mut Value, place: &str) {
    let (parent, key) = place.rsplit_once('/').unwrap();
    match document.pointer_mut(parent).unwrap() {
        Value::Object(fields) => _ = fields.remove(key),
        Value::Array(values) => _ = values.remove(key.parse().unwrap()),
        _ => unreachable!("only these have parts"),
    }
}

#[test]
fn a_chart_without_any_one_of_its_fields_is_refused_or_read() {
    let pool = Pool::new();
    let mut all = Vec::new();
    places(&pool.document, "", &mut all);
    assert!(all.len() > 100, "{} places", all.len());
    for (turn, place) in all.iter().enumerate() {
        let bytes = pool.changed(|document| remove(document, place));
        pool.read_and(&format!("without {place}"), &bytes, turn % OTHERS..turn % OTHERS + 1);
    }
    for field in ["brede_chart", "title", "size", "cloth", "needles", "rows"] {
        let ended = pool.read(field, &pool.changed(|document| remove(document, &format!("/{field}"))));
        assert!(ended.code == 1 && ended.said.contains(field), "{field}: {}", ended.said);
    }
}

#[test]
fn a_chart_with_a_wrong_value_anywhere_is_refused_or_read() {
    let pool = Pool::new();
    let mut all = Vec::new();
    places(&pool.document, "", &mut all);
    let wrong = [json!(null), json!(-1), json!(1e308), json!("x"), json!([]), json!({}), json!(65_535)];
    let mut turn = 0;
    for (at, place) in all.iter().enumerate() {
        // Each place by three of them, so that all kinds of place meet all kinds of value.
        for value in (0..3).map(|step| &wrong[(at + step * 2) % wrong.len()]) {
            let bytes = pool.changed(|document| *document.pointer_mut(place).unwrap() = value.clone());
            // One other command each, in turn: neighbouring places are much alike.
            turn += 1;
            pool.read_and(&format!("{place} = {value}"), &bytes, turn % OTHERS..turn % OTHERS + 1);
        }
        if pool.document.pointer(place).unwrap().is_string() {
            let long = "\u{1b}[31m\u{202e}=x\n".repeat(9_000);
            let bytes = pool.changed(|document| *document.pointer_mut(place).unwrap() = json!(long));
            let ended = pool.read(&format!("{place} is long"), &bytes);
            assert!(!ended.result.contains('\u{1b}'), "{place}: the terminal is told what to do");
        }
    }
}

#[test]
fn damaged_cells_are_named_by_their_row() {
    let pool = Pool::new();
    let row = |text: &str| {
        let bytes = pool.changed(|document| document["rows"][1] = json!(text));
        pool.read(text, &bytes)
    };
    for (text, part) in [
        ("", "row 2 of the chart has 0 squares, not 16"),
        (".", "has 1 squares, not 16"),
        (".*17", "has 17 squares, not 16"),
        (".*4294967296", "not 16"),
        (".*99999999999999999999", "damaged"),
        (".*18446744073709551615 .*18446744073709551615", "not 16"),
        ("0*-16", "damaged"),
        ("3*16", "names needle 3 of 3"),
        ("254*16", "names needle 254 of 3"),
        ("255*16", "damaged"),
        ("-1*16", "damaged"),
        ("0x1*16", "damaged"),
        (".*8*8", "damaged"),
        ("NaN*16", "damaged"),
        ("\u{1b}[2J*16", "\\u{1b}"),
    ] {
        let ended = row(text);
        assert!(ended.code == 1 && ended.said.contains(part), "{text}: {part} is missing in {}", ended.said);
    }
    assert_eq!(row("  0*4   .*12 ").code, 0);
    assert_eq!(row("0*0 .*16").code, 0);
    let more = pool.changed(|document| document["rows"].as_array_mut().unwrap().push(json!(".*16")));
    assert_eq!(pool.read("a row more", &more).code, 1);
    let many = pool.changed(|document| document["rows"] = json!(vec![".*16"; 1_000_000]));
    assert_eq!(pool.read("a million rows", &many).code, 1);
    let bare = pool.changed(|document| {
        let rows = document["rows"].as_array().unwrap().len();
        document["rows"] = json!(vec![".*16"; rows]);
    });
    assert_eq!(pool.read("all bare", &bare).code, 0);
}

#[test]
fn what_is_no_chart_is_refused_and_a_later_one_says_so() {
    let pool = Pool::new();
    for (name, bytes) in [
        ("empty", &b""[..]),
        ("a word", b"chart"),
        ("a number", b"7"),
        ("an empty object", b"{}"),
        ("not UTF-8", b"{\"brede_chart\": 1, \"title\": \"\xff\"}"),
        ("deep", &[b'['; 200_000]),
        ("deep in it", &[&b"{\"brede_chart\":1,\"more\":"[..], &[b'['; 200_000]].concat()),
        ("a picture", &good().remove(0).1),
    ] {
        assert_eq!(pool.read(name, bytes).code, 1, "{name}");
    }
    for version in [(brede::chart::VERSION + 1).to_string(), u32::MAX.to_string()] {
        let later = format!("{{\"brede_chart\": {version}, \"new\": [1, 2, {{\"a\": null}}]}}");
        let ended = pool.read("later", later.as_bytes());
        assert!(ended.said.contains("update brede"), "{}", ended.said);
    }
    let whole = pool.document.to_string();
    for sixteenth in 0..16 {
        let cut = &whole.as_bytes()[..whole.len() * sixteenth / 16];
        assert_eq!(pool.read(&format!("{sixteenth} of 16"), cut).code, 1);
    }
    let twice = whole.replacen('{', "{\"brede_chart\": 1,", 1);
    pool.read("a field twice", twice.as_bytes());
    assert_eq!(pool.read("more after it", format!("{whole} x").as_bytes()).code, 1);
    for path in ["/dev/zero", "/dev/null", "/"] {
        assert_eq!(run(path, command(["kit"]).arg(path)).code, 1);
    }
}

#[test]
fn marks_that_point_nowhere_are_told_of() {
    let pool = Pool::new();
    let far = 2_147_483_647;
    let near = -2_147_483_648;
    let motif = |pick: Value| {
        json!([{ "kind": "outline", "name": "m", "motif": { "pick": [pick], "grow": 32_767, "bridge": 255 },
        "thread": pool.document["needles"][0]["threads"], "longest": 6.0 }])
    };
    for pick in [
        json!({ "at": [0, 0] }),
        json!({ "at": [far, near] }),
        json!({ "at": [1, 1], "within": 1e308 }),
        json!({ "needles": ["nobody"] }),
        json!({ "needles": [] }),
        json!({ "rectangle": [far, far, far, far] }),
        json!({ "rectangle": [near, near, far, far] }),
        json!({ "ellipse": [near, far, far, near] }),
        json!({ "ellipse": [0, 0, 0, 0] }),
        json!({ "polygon": [] }),
        json!({ "polygon": [[1, 1], [1, 1], [1, 1]] }),
        json!({ "polygon": [[near, near], [far, near], [far, far], [near, far]] }),
        json!({ "polygon": ([[1, 1], [9, 2], [3, 9]].repeat(20_000)) }),
        json!({ "mask": [] }),
        json!({ "mask": ["1 2 3"] }),
        json!({ "mask": vec!["0 4294967295"; 12] }),
        json!({ "mask": vec!["99999999999999999999999"; 12] }),
        json!({ "mask": vec!["0 1 ".repeat(100_000); 12] }),
        json!({ "mask_file": "/etc/passwd" }),
    ] {
        let bytes = pool.changed(|document| document["marks"] = motif(pick.clone()));
        let shown: String = pick.to_string().chars().take(60).collect();
        pool.read(&shown, &bytes);
    }
    let letters = |at: [i64; 2], text: &str, style: Value| {
        let thread = pool.document["needles"][0]["threads"].clone();
        let mark = json!({ "kind": "lettering", "name": "m", "text": text, "at": at, "thread": thread, "style": style });
        pool.changed(|document| document["marks"] = json!([mark]))
    };
    for (at, text, style) in [
        ([far, far], "far", json!({})),
        ([near, near], "near", json!({ "align": "right", "turn": 270 })),
        ([1, 1], "", json!({})),
        ([1, 1], "\n\n\n", json!({})),
        ([1, 1], "gap", json!({ "letter_gap": -128, "line_gap": -128, "wrap": 0 })),
        ([1, 1], "gap", json!({ "letter_gap": 127, "line_gap": 127, "wrap": 65_535 })),
        ([1, 1], "tall", json!({ "face": "line", "capitals": 0 })),
        ([1, 1], "tall", json!({ "face": "script", "capitals": 255 })),
        ([1, 1], &"word ".repeat(399), json!({ "wrap": 1 })),
        ([1, 1], &"\n".repeat(2000), json!({ "line_gap": 127 })),
        ([1, 1], &"w".repeat(2001), json!({})),
        ([1, 1], "e\u{301}\u{200d}\u{fe0f}\u{1f419}", json!({})),
        ([1, 1], "\u{5d0}", json!({})),
    ] {
        pool.read(
            &format!("{at:?} {}", &text.chars().take(20).collect::<String>()),
            &letters(at, text, style),
        );
    }
}

#[test]
fn the_most_that_a_chart_may_hold_is_told() {
    let pool = Pool::new();
    let mark = |at: usize| {
        json!({ "kind": "lettering", "name": format!("m{at}"), "text": "a", "at": [1, 1],
            "thread": pool.document["needles"][0]["threads"] })
    };
    let bytes = pool.changed(|document| document["marks"] = (0..100_000).map(mark).collect());
    let ended = pool.read("many marks", &bytes);
    assert!(ended.code == 1 && ended.said.contains("1000 marks"), "{}", ended.said);
    let needle = pool.document["needles"][0].clone();
    let bytes = pool.changed(|document| document["needles"] = json!(vec![needle.clone(); 300]));
    let ended = pool.read("many needles", &bytes);
    assert!(ended.code == 1 && ended.said.contains("255"), "{}", ended.said);
    let bytes = pool.changed(|document| document["title"] = json!("x".repeat(501)));
    let ended = pool.read("a long title", &bytes);
    assert!(ended.code == 1 && ended.said.contains("500"), "{}", ended.said);
    let thread = needle["threads"][0].clone();
    let bytes =
        pool.changed(|document| document["needles"][0]["threads"] = json!(vec![thread.clone(); 100_000]));
    assert_eq!(pool.read("a rope", &bytes).code, 1);
    let bytes = pool.changed(|document| document["marks"][0]["label"] = json!("x".repeat(201)));
    let ended = pool.read("a long label", &bytes);
    assert!(ended.code == 1 && ended.said.contains("200"), "{}", ended.said);
}

#[test]
fn prices_and_lengths_that_no_thread_has_are_refused() {
    let pool = Pool::new();
    for (field, value, code) in [
        ("price", json!("79228162514264337593543950335"), 1),
        ("price", json!("1000000"), 0),
        ("price", json!("0.0000000000000000000000000001"), 0),
        ("price", json!("-0.01"), 1),
        ("price", json!("NaN"), 1),
        ("price", json!("1e30"), 1),
        ("skein_mm", json!(0), 1),
        ("skein_mm", json!(5e-324), 1),
        ("skein_mm", json!(99.9), 1),
        ("skein_mm", json!(100), 0),
        ("skein_mm", json!(100_000.1), 1),
        ("strands", json!(0), 1),
        ("strands", json!(13), 1),
        ("strands", json!(12), 0),
        ("colour", json!("#12345"), 1),
    ] {
        let bytes = pool.changed(|document| document["needles"][0]["threads"][0][field] = value.clone());
        let ended = pool.read(&format!("{field} = {value}"), &bytes);
        assert_eq!(ended.code, code, "{field} = {value}: {}", ended.said);
    }
}

#[test]
fn files_of_marks_are_held_to_the_same() {
    let pool = Pool::new();
    let chart = pool.put(pool.document.to_string().as_bytes());
    let (toml, mask) = (pool.folder.path().join("hard.toml"), pool.folder.path().join("mask.png"));
    std::fs::write(&mask, &good().remove(0).1[..200]).unwrap();
    let outline = |motif: &str, thread: &str| {
        format!("[[mark]]\nkind = 'outline'\nname = 'm'\nthread = '{thread}'\nmotif = {motif}\n")
    };
    let from_file = |name: &str| outline(&format!("{{ pick = [{{ mask_file = '{name}' }}] }}"), "A");
    let before = std::fs::read(&chart).unwrap();
    let deep = format!("mark = {}", "[".repeat(100_000));
    let dotted = format!("{}a = 1", "a.".repeat(100_000));
    for (name, text) in [
        ("words", "not a table".to_owned()),
        ("another table", "[other]\na = 1\n".to_owned()),
        ("a mark that is none", "mark = 3\n".to_owned()),
        ("marks that are none", "mark = [1, 2]\n".to_owned()),
        ("a kind of its own", "[[mark]]\nkind = 'frame'\n".to_owned()),
        ("deep", deep),
        ("dotted", dotted),
        ("no such thread", outline("{ pick = [{ stitched = true }] }", "99 of A")),
        ("a rope", outline("{ pick = [{ stitched = true }] }", &"1 of A + ".repeat(1000))),
        ("NaN", outline("{ pick = [{ at = [1, 1], within = nan }] }", "A")),
        ("a pick of nothing", outline("{ pick = [{ }] }", "A")),
        ("a pick of two kinds", outline("{ pick = [{ stitched = true, at = [1, 1] }] }", "A")),
        ("a mask cut off", from_file("mask.png")),
        ("a mask that is not there", from_file("no-such.png")),
        ("a mask without end", from_file("/dev/zero")),
        ("a mask that is a folder", from_file("/")),
        ("the same name twice", [from_file("x"), from_file("x")].concat()),
    ] {
        std::fs::write(&toml, text).unwrap();
        let ended = run(name, command(["mark"]).arg(&chart).arg("--from").arg(&toml));
        assert_eq!(ended.code, 1, "{name}");
        assert!(std::fs::read(&chart).unwrap() == before, "{name} changed the chart");
    }
    // A mask that boasts of its size is refused before it is unpacked.
    std::fs::write(&mask, super::making::grey_png([30_000, 30_000], 8, &[], &super::making::zeros(1 << 20)))
        .unwrap();
    std::fs::write(&toml, from_file("mask.png")).unwrap();
    let ended = run("a mask that boasts", command(["mark"]).arg(&chart).arg("--from").arg(&toml));
    assert!(ended.code == 1 && ended.said.contains("30000 x 30000"), "{}", ended.said);
}
