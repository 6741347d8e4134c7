//! Charts that were printed elsewhere, read by the command: other styles, other programs that write PDF.
//!
//! `tests/printed` holds them with their truth: A and B drawn by `foreign_chart.py` there, the others by `draw.py`, in
//! styles of our own, and by `draw_more.py`, which writes PDF itself. Threads, names and
//! codes are invented.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::Output;

use serde_json::Value;

use crate::running::brede;

type Step = [[i64; 2]; 2];

/// A chart that was read.
struct Read {
    folder: tempfile::TempDir,
    done: Output,
}

pub(crate) fn printed(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/printed").join(name)
}

fn json(path: &Path) -> Value {
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

/// Reads files; they are called `read`.
fn read(files: &[PathBuf], options: &[&str]) -> Read {
    let folder = tempfile::tempdir().unwrap();
    let mut command = brede();
    command.arg("read").args(files).args(["--name", "read", "--json", "--out"]).arg(folder.path());
    let done = command.args(options).output().unwrap();
    Read { folder, done }
}

impl Read {
    fn chart(&self) -> Value {
        assert!(self.done.status.success(), "{}", String::from_utf8_lossy(&self.done.stderr));
        json(&self.folder.path().join("read.chart.json"))
    }

    fn report(&self) -> Value {
        assert!(self.done.status.success(), "{}", String::from_utf8_lossy(&self.done.stderr));
        serde_json::from_slice(&self.done.stdout).unwrap()
    }

    /// What it failed with.
    fn error(&self) -> String {
        assert_eq!(self.done.status.code(), Some(1));
        String::from_utf8_lossy(&self.done.stderr).into_owned()
    }
}

/// The cells of a chart as codes, row by row.
fn codes(chart: &Value) -> Vec<Option<String>> {
    let rows = chart["rows"].as_array().unwrap().iter().flat_map(|row| row.as_str().unwrap().split(' '));
    let mut cells = Vec::new();
    for run in rows {
        let (needle, length) = run.split_once('*').unwrap_or((run, "1"));
        let code = needle
            .parse::<usize>()
            .ok()
            .map(|needle| chart["needles"][needle]["threads"][0]["code"].as_str().unwrap().to_owned());
        cells.extend(std::iter::repeat_n(code, length.parse().unwrap()));
    }
    cells
}

/// Every square is that of the truth, by the code that the key gives its symbol; and every thread has its name.
fn holds(chart: &Value, truth: &Value) {
    assert_eq!([&chart["size"]["columns"], &chart["size"]["rows"]], [&truth["columns"], &truth["rows"]]);
    let threads = truth["threads"].as_array().unwrap();
    let wanted: Vec<Option<String>> = truth["cells"]
        .as_array()
        .unwrap()
        .iter()
        .map(|cell| cell.as_u64().map(|at| threads[at as usize]["code"].as_str().unwrap().to_owned()))
        .collect();
    let found = codes(chart);
    let wrong = found.iter().zip(&wanted).filter(|(one, other)| one != other).count();
    assert_eq!((wrong, found.len()), (0, wanted.len()));
    for needle in chart["needles"].as_array().unwrap() {
        let thread = &needle["threads"][0];
        let known = threads.iter().find(|known| known["code"] == thread["code"]).unwrap();
        assert_eq!(known["name"], thread["name"]);
    }
}

/// Stretches between neighbouring holes.
fn steps(ends: impl Iterator<Item = Step>) -> BTreeSet<Step> {
    fn gcd(one: i64, other: i64) -> i64 {
        if other == 0 { one } else { gcd(other, one % other) }
    }
    let mut steps = BTreeSet::new();
    for [from, to] in ends {
        let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
        let parts = gcd(dx.abs(), dy.abs());
        for part in 0..parts {
            let at = |part: i64| [from[0] + dx / parts * part, from[1] + dy / parts * part];
            let (one, other) = (at(part), at(part + 1));
            steps.insert([one.min(other), one.max(other)]);
        }
    }
    steps
}

fn hole(value: &Value) -> [i64; 2] {
    [value[0].as_i64().unwrap(), value[1].as_i64().unwrap()]
}

/// The backstitch of each code is that of the truth, stretch by stretch.
fn lines_hold(chart: &Value, truth: &Value) {
    let lines = truth["lines"].as_array().unwrap();
    let wanted: BTreeSet<&str> = lines.iter().map(|line| line["code"].as_str().unwrap()).collect();
    assert!(!wanted.is_empty());
    for code in wanted {
        let own = lines.iter().filter(|line| line["code"] == code);
        let true_steps = steps(own.map(|line| [hole(&line["from"]), hole(&line["to"])]));
        let marks = chart["marks"].as_array().unwrap().iter();
        let marks = marks.filter(|mark| mark["kind"] == "backstitch" && mark["thread"][0]["code"] == code);
        let holes = marks.flat_map(|mark| mark["lines"].as_array().unwrap());
        let pairs = holes.flat_map(|line| {
            let line: Vec<[i64; 2]> = line.as_array().unwrap().iter().map(hole).collect();
            line.windows(2).map(|pair| [pair[0], pair[1]]).collect::<Vec<Step>>()
        });
        assert_eq!(steps(pairs), true_steps, "{code}");
    }
}

#[test]
fn black_symbols_with_numbers_and_dashed_outlines() {
    let truth = json(&printed("a.json"));
    let read = read(&[printed("a.pdf")], &[]);
    holds(&read.chart(), &truth);
    lines_hold(&read.chart(), &truth);
    assert_eq!(read.report()["joined"], "numbers");
}

#[test]
fn pale_squares_with_a_shaded_overlap_and_a_key_of_two_columns() {
    let truth = json(&printed("b.json"));
    let chart = read(&[printed("b.pdf")], &[]).chart();
    holds(&chart, &truth);
    for needle in chart["needles"].as_array().unwrap() {
        let thread = &needle["threads"][0];
        let known = truth["threads"].as_array().unwrap().iter().find(|known| known["code"] == thread["code"]);
        assert_eq!(known.unwrap()["colour"], thread["colour"], "by its swatch");
    }
}

#[test]
fn a_chart_from_elsewhere_is_left_bare_in_its_ground_outlined_moved_to_another_card_and_printed() {
    let first = read(&[printed("b.pdf")], &[]);
    let (report, whole) = (first.report(), codes(&first.chart()));
    let symbols = report["symbols"].as_array().unwrap();
    let ground = symbols.iter().max_by_key(|symbol| symbol["stitches"].as_u64()).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let key = folder.path().join("key.csv");
    std::fs::write(&key, format!("number,bare\n{},yes\n", ground["number"])).unwrap();
    let bare = read(&[printed("b.pdf")], &["--key", key.to_str().unwrap()]);
    let is_ground = |code: &Option<String>| code.as_deref() == ground["code"].as_str();
    let wanted: Vec<Option<String>> =
        whole.iter().map(|code| code.clone().filter(|_| !is_ground(code))).collect();
    assert!(whole.iter().any(is_ground));
    assert_eq!(codes(&bare.chart()), wanted);
    let tin = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/tin-of-threads.csv");
    let run = |arguments: &[&str]| {
        let done = brede().current_dir(bare.folder.path()).args(arguments).output().unwrap();
        assert!(done.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&done.stderr));
        serde_json::from_slice::<Value>(&done.stdout).unwrap()
    };
    let motif = wanted.iter().flatten().next().unwrap();
    let outline = ["mark", "read.chart.json", "outline", "motif", "--squares-of", motif, "--thread", "T010"];
    run(&[&outline[..], &["--shades", tin, "--json"]].concat());
    run(&["shades", "move", "read.chart.json", tin, "-o", "moved.chart.json", "--json"]);
    let moved = json(&bare.folder.path().join("moved.chart.json"));
    assert_eq!(moved["marks"].as_array().unwrap().len(), 1);
    // Bare stays bare, and squares of one thread stay of one thread.
    let mut threads = std::collections::BTreeMap::new();
    for (was, is) in wanted.iter().zip(codes(&moved)) {
        assert_eq!(was.is_some(), is.is_some());
        assert_eq!(threads.entry(was.clone()).or_insert_with(|| is.clone()), &is);
    }
    run(&["print", "moved.chart.json", "-o", "moved.pdf", "--json"]);
    let proof = run(&["proof", "moved.pdf", "moved.chart.json", "--json"]);
    assert_eq!(proof["misread"], serde_json::json!([]), "{proof}");
    assert_eq!(proof["right"], proof["cells"], "{proof}");
}

#[test]
fn turned_pages_of_drawn_symbols_some_alike_with_backstitch_cut_at_the_edges() {
    let truth = json(&printed("tide.json"));
    let chart = read(&[printed("tide.pdf")], &[]).chart();
    holds(&chart, &truth);
    lines_hold(&chart, &truth);
    let knots: Vec<&Value> = chart["marks"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|mark| mark["knots"].as_array().into_iter().flatten())
        .collect();
    assert_eq!(knots.len(), truth["knots"].as_array().unwrap().len());
}

#[test]
fn dots_at_the_corners_and_pages_that_repeat_two_columns_and_rows() {
    let read = read(&[printed("dots.pdf")], &[]);
    holds(&read.chart(), &json(&printed("dots.json")));
    assert_eq!(read.report()["joined"], "repeats");
    assert_eq!(read.chart()["needles"][0]["threads"][0]["strands"], 3);
}

#[test]
fn squares_of_colour_are_named_by_their_swatches() {
    holds(&read(&[printed("wash.pdf")], &[]).chart(), &json(&printed("wash.json")));
}

#[test]
fn rules_at_the_tens_alone_and_a_size_that_the_person_says() {
    let files = [printed("tens.pdf")];
    let refused = read(&files, &[]).error();
    assert!(refused.contains("how its 2 chart pages join") && refused.contains("--columns"), "{refused}");
    holds(&read(&files, &["--columns", "55", "--rows", "40"]).chart(), &json(&printed("tens.json")));
}

#[test]
fn a_page_that_a_browser_printed() {
    holds(&read(&[printed("web.pdf")], &[]).chart(), &json(&printed("web.json")));
}

#[test]
fn pages_by_cairo_drawn_sideways_in_two_files_with_dotted_backstitch() {
    let truth = json(&printed("lantern.json"));
    let read = read(&[printed("lantern-1.pdf"), printed("lantern-2.pdf")], &[]);
    holds(&read.chart(), &truth);
    lines_hold(&read.chart(), &truth);
}

/// Every square by the codes of its threads and how it is worked, row by row.
fn worked(chart: &Value) -> Vec<Option<String>> {
    let needle = |at: &str| {
        let needle = &chart["needles"][at.parse::<usize>().ok()?];
        let codes =
            needle["threads"].as_array().unwrap().iter().map(|thread| thread["code"].as_str().unwrap());
        let stitch = needle["stitch"].as_str().unwrap_or("full-cross");
        Some(format!("{} {stitch}", codes.collect::<Vec<_>>().join("+")))
    };
    let rows = chart["rows"].as_array().unwrap().iter().flat_map(|row| row.as_str().unwrap().split(' '));
    rows.flat_map(|run| {
        let (at, length) = run.split_once('*').unwrap_or((run, "1"));
        std::iter::repeat_n(needle(at), length.parse().unwrap())
    })
    .collect()
}

/// Reads a chart that `draw_more.py` drew; every square is that of its truth, blends and part stitches too, every row of
/// the key agrees, and every name is right.
fn holds_whole(name: &str) -> Read {
    let truth = json(&printed(&format!("{name}.json")));
    let read = read(&[printed(&format!("{name}.pdf"))], &[]);
    let chart = read.chart();
    let threads = truth["threads"].as_array().unwrap();
    let code = |thread: &Value| thread["code"].as_str().unwrap().to_owned();
    let blend = |code: String| {
        let blends = truth["blends"].as_array().into_iter().flatten();
        let whole = blends.map(|blend| blend.as_array().unwrap()).find(|blend| blend[0] == code.as_str());
        let codes =
            whole.map(|blend| blend.iter().map(|code| code.as_str().unwrap()).collect::<Vec<_>>().join("+"));
        format!("{} full-cross", codes.unwrap_or(code))
    };
    let cells = truth["cells"].as_array().unwrap().iter();
    let mut wanted: Vec<Option<String>> =
        cells.map(|cell| cell.as_u64().map(|at| blend(code(&threads[at as usize])))).collect();
    let columns = truth["columns"].as_u64().unwrap() as usize;
    for part in truth["parts"].as_array().into_iter().flatten() {
        let [x, y] = [0, 1].map(|at| part[at].as_u64().unwrap() as usize);
        wanted[y * columns + x] =
            Some(format!("{} {}", part[2].as_str().unwrap(), part[3].as_str().unwrap()));
    }
    let found = worked(&chart);
    let wrong = found.iter().zip(&wanted).filter(|(one, other)| one != other).count();
    assert_eq!((wrong, found.len()), (0, wanted.len()), "{name}");
    let names: std::collections::BTreeMap<String, Value> = chart["needles"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|needle| needle["threads"].as_array().unwrap())
        .map(|thread| (code(thread), thread["name"].clone()))
        .collect();
    for thread in threads {
        assert_eq!(names[&code(thread)], thread["name"], "{name}");
    }
    for doubt in read.report()["doubts"].as_array().unwrap() {
        for kind in doubt["doubts"].as_array().unwrap() {
            let kind = kind["doubt"].as_str().unwrap();
            assert!(["no-colour", "part-stitch"].contains(&kind), "{name}: {doubt}");
        }
    }
    read
}

#[test]
fn symbols_as_forms_with_numbers_from_the_middle_and_a_blend() {
    let read = holds_whole("jetty");
    assert_eq!(read.report()["joined"], "numbers");
    let blend = read.chart()["needles"]
        .as_array()
        .unwrap()
        .iter()
        .find(|needle| needle["threads"][1].is_object())
        .cloned();
    let threads = blend.unwrap()["threads"].clone();
    assert_eq!([&threads[1]["name"], &threads[0]["strands"]], [&Value::from("moonlight"), &Value::from(1)]);
}

#[test]
fn part_stitches_knots_and_a_line_along_the_edge_on_a_turned_sheet_with_dashed_rules() {
    let read = holds_whole("cairn");
    let truth = json(&printed("cairn.json"));
    lines_hold(&read.chart(), &truth);
    let report = read.report();
    assert_eq!(report["lines"].as_array().unwrap().len(), 1, "{}", report["lines"]);
    let marks = read.chart()["marks"].as_array().unwrap().clone();
    let knots = marks.iter().find(|mark| mark["name"] == "French knots").unwrap();
    assert_eq!(knots["thread"][0]["code"], "N7");
    let places = |places: &Value| -> Vec<[f64; 2]> {
        let of = |place: &Value| [0, 1].map(|axis| place[axis].as_f64().unwrap());
        places.as_array().unwrap().iter().map(of).collect()
    };
    assert_eq!(places(&knots["knots"]), places(&truth["knots"]));
}

#[test]
fn a_table_of_boxes_whose_first_row_and_column_hold_the_numbers() {
    assert_eq!(holds_whole("ledger").report()["joined"], "numbers");
}

#[test]
fn symbols_as_small_pictures_and_as_patterns() {
    holds_whole("stamp");
}

#[test]
fn two_parts_of_a_chart_on_each_page_with_letters_of_dots() {
    let report = holds_whole("twin").report();
    assert_eq!(report["chart_pages"], serde_json::json!([1, 2]));
}

/// A part of a chart of letters between rules from one corner of the page, with numbers at the tens and beside each row.
fn part(first: [i32; 2], count: [i32; 2], letter: impl Fn(i32, i32) -> Option<char>) -> String {
    let mut content = "0.5 w ".to_owned();
    let [left, top] = [60, 760];
    for n in 0..=count[0] {
        content += &format!("{x} {top} m {x} {} l S ", top - 12 * count[1], x = left + 12 * n);
        if (first[0] + n) % 10 == 0 && first[0] + n > 0 {
            content += &format!("BT /F1 6 Tf {} {} Td ({}) Tj ET ", left + 12 * n - 3, top + 5, first[0] + n);
        }
    }
    for n in 0..=count[1] {
        content += &format!("{left} {y} m {} {y} l S ", left + 12 * count[0], y = top - 12 * n);
        if n > 0 {
            let (x, y) = (left - 14, top - 12 * n + 3);
            content += &format!("BT /F1 6 Tf {x} {y} Td ({}) Tj ET ", first[1] + n);
        }
    }
    for y in 0..count[1] {
        for x in 0..count[0] {
            if let Some(letter) = letter(first[0] + x, first[1] + y) {
                let (x, y) = (left + 12 * x + 3, top - 12 * (y + 1) + 3);
                content += &format!("BT /F1 8 Tf {x} {y} Td ({letter}) Tj ET ");
            }
        }
    }
    content
}

#[test]
fn pages_with_a_narrow_rest_or_bare_cloth_alone_belong_to_the_chart() {
    let letter = |x: i32, y: i32| {
        (x < 31 && y < 30 && x % 7 != 3).then(|| b"XOST"[((x * 3 + y * 5) % 4) as usize] as char)
    };
    let pages = [
        part([0, 0], [30, 30], letter),
        part([30, 0], [2, 30], letter),
        part([0, 30], [30, 20], letter),
        part([30, 30], [2, 20], letter),
    ];
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("rest.pdf");
    std::fs::write(&path, pdf(&pages)).unwrap();
    let read = read(&[path], &[]);
    let chart = read.chart();
    assert_eq!(
        [&chart["size"]["columns"], &chart["size"]["rows"]],
        [32, 50],
        "the rest and the bare rows are there"
    );
    let found: Vec<bool> = codes(&chart).iter().map(Option::is_some).collect();
    let wanted: Vec<bool> = (0..50).flat_map(|y| (0..32).map(move |x| letter(x, y).is_some())).collect();
    assert!(found == wanted);
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig { cases: 10, ..Default::default() })]

    /// Whatever a page shows comes back: a letter is a letter everywhere, and bare is bare.
    #[test]
    fn charts_of_letters_come_back(
        columns in 6..24_i32,
        rows in 6..24_i32,
        kinds in 2..6_usize,
        seed in 0..1_000_000_u64,
    ) {
        use brede::reading::{Reader, read::{ReadOptions, read}};
        let mut dice = crate::asking::Dice(seed * 2 + 1);
        // Two thirds are worked: fewer may be no chart to anybody.
        let cells: Vec<Option<char>> = (0..columns * rows)
            .map(|at| (at % 3 != 0 || dice.roll(2) == 0).then(|| b"XOSTAK"[dice.roll(kinds as u64)] as char))
            .collect();
        let page = part([0, 0], [columns, rows], |x, y| cells[(y * columns + x) as usize]);
        let found = read(&[pdf(&[page])], [None; 2], &Reader::Here, &brede::ground::progress::Silent)
            .and_then(|shown| shown.chart(&ReadOptions::default()));
        let found = found.map_err(|error| proptest::test_runner::TestCaseError::fail(error.to_string()))?;
        proptest::prop_assert_eq!([found.chart.size().columns(), found.chart.size().rows()], [columns as u32, rows as u32]);
        let mut pairs = BTreeSet::new();
        for (cell, letter) in found.chart.cells().iter().zip(&cells) {
            proptest::prop_assert_eq!(cell.needle().is_some(), letter.is_some());
            pairs.insert((cell.needle(), *letter));
        }
        let letters: BTreeSet<Option<char>> = cells.into_iter().collect();
        proptest::prop_assert_eq!(pairs.len(), letters.len(), "one needle a letter");
    }
}

#[test]
fn files_that_hold_too_much_are_refused() {
    let grid = ruled([12, 12], false, &[]);
    let folder = tempfile::tempdir().unwrap();
    // Pages of several files count together.
    let paths: Vec<PathBuf> =
        ["one", "two"].map(|name| folder.path().join(name).with_extension("pdf")).to_vec();
    for path in &paths {
        std::fs::write(path, pdf(&vec![String::new(); 160])).unwrap();
    }
    let said = read(&paths, &[]).error();
    assert!(said.contains("320 pages are more than the 300"), "{said}");
    // More strokes than the fullest chart.
    let strokes = "1 1 m 9 9 l S ".repeat(610_000);
    let said = refused(&pdf(&[grid.clone(), strokes]));
    assert!(said.contains("more lines and signs"), "{said}");
    // A rule each hundredth of a point makes no chart of millions of squares.
    let rules: String = (0..5000)
        .map(|n| format!("{x} 10 m {x} 800 l S 10 {x} m 580 {x} l S ", x = f64::from(n) / 10.0))
        .collect();
    let said = refused(&pdf(&[rules]));
    assert!(said.contains("no page shows a grid"), "{said}");
}

#[test]
fn a_drawing_of_thousands_of_shapes_does_not_hide_the_chart() {
    let drawing: String = (0..9000)
        .map(|n| {
            let (x, y) = (20 + n % 90 * 6, 20 + n / 90 * 8);
            format!("{x} {y} m {} {} {} {} {} {y} c h f ", x + 1, y + 1 + n % 89, x + 3, y + n % 97, x + 5)
        })
        .collect();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cover.pdf");
    std::fs::write(&path, pdf(&[drawing, ruled([12, 12], false, &[])])).unwrap();
    let read = read(&[path], &[]);
    assert_eq!(read.chart()["size"]["columns"], 20);
    assert_eq!(read.report()["chart_pages"], serde_json::json!([2]));
}

#[test]
fn lines_that_the_key_does_not_name_are_named_by_file() {
    let mut page = ruled([12, 12], false, &[]);
    page += "2 w 0.8 0 0 RG 96 448 m 156 448 l 156 508 l S ";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("line.pdf");
    std::fs::write(&path, pdf(&[page])).unwrap();
    let files = [path];
    let first = read(&files, &[]);
    let number = first.report()["lines"][0]["number"].as_u64().unwrap();
    assert_eq!(number, 5, "after four symbols");
    let doubts = std::fs::read_to_string(first.folder.path().join("read.doubts.csv")).unwrap();
    let row = doubts.lines().find(|line| line.contains("backstitch that the key does not name")).unwrap();
    assert!(row.starts_with("5,"), "{doubts}");
    let key = folder.path().join("key.csv");
    std::fs::write(&key, "number,code,name,strands\n5,P90,tarred rope,2\n").unwrap();
    let chart = read(&files, &["--key", key.to_str().unwrap()]).chart();
    let thread = &chart["marks"][0]["thread"][0];
    assert_eq!([&thread["code"], &thread["name"]], ["P90", "tarred rope"]);
    assert_eq!(thread["strands"], 2);
    std::fs::write(&key, "number,code\n6,P90\n").unwrap();
    assert!(read(&files, &["--key", key.to_str().unwrap()]).error().contains("there is no symbol number 6"));
}

#[test]
fn symbols_decide_where_colours_are_near() {
    // Two letters on grounds that differ by less than an eye sees; a third ground under both.
    let mut page = String::new();
    for row in 0..20 {
        for column in 0..20 {
            let shade = 0.80 + f64::from((row * 5 + column * 3) % 3) * 0.004;
            page += &format!("{shade} 0.7 0.6 rg {} {} 12 12 re f ", 60 + column * 12, 400 + row * 12);
        }
    }
    page += "0 g ";
    page += &ruled([12, 12], false, &[]);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("near.pdf");
    std::fs::write(&path, pdf(&[page])).unwrap();
    let report = read(&[path], &[]).report();
    let symbols = report["symbols"].as_array().unwrap();
    assert_eq!(symbols.len(), 4, "the letters, whatever is under them");
    for row in report["doubts"].as_array().unwrap() {
        assert!(!row.to_string().contains("other-colours"), "{row}");
    }
}

/// A text as a PDF of one page per entry of `pages`, each a content stream over Helvetica as F1.
pub(crate) fn pdf(pages: &[String]) -> Vec<u8> {
    use lopdf::{Document, Object, Stream, dictionary};
    let mut file = Document::with_version("1.7");
    let tree = file.new_object_id();
    let font =
        file.add_object(dictionary! { "Type" => "Font", "Subtype" => "Type1", "BaseFont" => "Helvetica" });
    let kids: Vec<Object> = pages
        .iter()
        .map(|content| {
            let content = file.add_object(Stream::new(dictionary! {}, content.clone().into_bytes()));
            let page = dictionary! {
                "Type" => "Page", "Parent" => tree, "Contents" => content,
                "MediaBox" => vec![0.into(), 0.into(), 595.into(), 842.into()],
                "Resources" => dictionary! { "Font" => dictionary! { "F1" => font } },
            };
            file.add_object(page).into()
        })
        .collect();
    let count = pages.len() as i64;
    file.set_object(tree, dictionary! { "Type" => "Pages", "Kids" => kids, "Count" => count });
    let catalog = file.add_object(dictionary! { "Type" => "Catalog", "Pages" => tree });
    file.trailer.set("Root", catalog);
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).unwrap();
    bytes
}

/// What is said of such a file, and that nothing was written.
fn refused(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pages.pdf");
    std::fs::write(&path, bytes).unwrap();
    let read = read(&[path], &[]);
    let said = read.error();
    assert_eq!(std::fs::read_dir(read.folder.path()).unwrap().count(), 0, "{said}");
    said
}

/// A chart of letters between rules with numbers, 20 x 20 squares so wide and tall, rows numbered from above or below.
pub(crate) fn ruled([wide, tall]: [i32; 2], upwards: bool, words: &[&str]) -> String {
    let mut content = "0.5 w ".to_owned();
    for n in 0..=20 {
        content += &format!("{x} 400 m {x} {y} l S ", x = 60 + n * wide, y = 400 + 20 * tall);
        content += &format!("60 {y} m {x} {y} l S ", y = 400 + n * tall, x = 60 + 20 * wide);
    }
    for row in 0..20 {
        for column in 0..20 {
            let letter = ["X", "O", "S", "T"][(row * 7 + column * 3 + row * column / 5) as usize % 4];
            let (x, y) = (60 + column * wide + wide / 4, 400 + row * tall + tall / 4);
            content += &format!("BT /F1 8 Tf {x} {y} Td ({letter}) Tj ET ");
        }
        let number = if upwards { row + 1 } else { 20 - row };
        let y = 400 + row * tall + tall / 4;
        content += &format!("BT /F1 6 Tf {} {y} Td ({number}) Tj ET ", 66 + 20 * wide);
    }
    for (at, word) in words.iter().enumerate() {
        content += &format!("BT /F1 9 Tf 60 {} Td ({word}) Tj ET ", 300 - at * 20);
    }
    content
}

#[test]
fn a_chart_without_a_key_is_read_and_its_symbols_are_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("plain.pdf");
    std::fs::write(&path, pdf(&[ruled([12, 12], false, &[])])).unwrap();
    let files = [path];
    let first = read(&files, &[]);
    assert_eq!(first.chart()["size"]["columns"], 20);
    let report = first.report();
    assert_eq!((report["symbols"].as_array().unwrap().len(), report["stitches"].as_u64()), (4, Some(400)));
    let doubts = std::fs::read_to_string(first.folder.path().join("read.doubts.csv")).unwrap();
    assert_eq!(doubts.lines().filter(|line| line.contains("does not name it")).count(), 4, "{doubts}");
    assert!(std::fs::read(first.folder.path().join("read.found.png")).unwrap().starts_with(b"\x89PNG"));
    let counts: Vec<u64> = report["symbols"]
        .as_array()
        .unwrap()
        .iter()
        .map(|symbol| symbol["stitches"].as_u64().unwrap())
        .collect();
    // Every question is answered by a file.
    let key = folder.path().join("key.csv");
    std::fs::write(
        &key,
        "number;code;name;colour;strands;same;bare\n1;P12;plum;#704070;3;;\n2;;;;;1;\n3;;;;;;yes\n",
    )
    .unwrap();
    let again = read(&files, &["--key", key.to_str().unwrap()]);
    let chart = again.chart();
    let thread = &chart["needles"][0]["threads"][0];
    assert_eq!([&thread["code"], &thread["name"], &thread["colour"]], ["P12", "plum", "#704070"]);
    assert_eq!(thread["strands"], 3);
    let plum = codes(&chart).iter().filter(|code| code.as_deref() == Some("P12")).count() as u64;
    assert_eq!(plum, counts[0] + counts[1]);
    assert_eq!(codes(&chart).iter().filter(|code| code.is_none()).count() as u64, counts[2]);
    // One that is as another that is as a third, in whatever order they stand.
    std::fs::write(&key, "number;code;same\n1;P12;\n2;;3\n3;;1\n").unwrap();
    let chained = codes(&read(&files, &["--key", key.to_str().unwrap()]).chart());
    let plum = chained.iter().filter(|code| code.as_deref() == Some("P12")).count() as u64;
    assert_eq!(plum, counts[0] + counts[1] + counts[2]);
    std::fs::write(&key, "number,code\n5,P12\n").unwrap();
    let said = read(&files, &["--key", key.to_str().unwrap()]).error();
    assert!(said.contains("no symbol number 5; 4 were found") && said.contains("found.png"), "{said}");
}

#[test]
fn charts_of_other_crafts_are_refused() {
    let said = refused(&pdf(&[ruled([12, 12], true, &["knit on the right side", "purl"])]));
    assert!(said.contains("knitting"), "{said}");
    let said = refused(&pdf(&[ruled([12, 12], true, &[])]));
    assert!(said.contains("numbered from below"), "{said}");
    let said = refused(&pdf(&[ruled([16, 12], false, &[])]));
    assert!(said.contains("5.6 mm wide and 4.2 mm tall"), "{said}");
}

#[test]
fn pages_without_a_chart_are_refused_with_what_was_missing() {
    let lines = |count: i32| {
        (0..count).fold(String::new(), |text, line| {
            text + &format!(
                "BT /F1 10 Tf 60 {} Td (Wash the cloth by hand, and dry it flat in the shade.) Tj ET ",
                780 - line * 14
            )
        })
    };
    let said = refused(&pdf(&[lines(45)]));
    assert!(said.contains("text and no grid"), "{said}");
    let said = refused(&pdf(&["60 60 m 300 300 l S 80 90 200 40 re f".to_owned()]));
    assert!(said.contains("no page shows a grid"), "{said}");
    let said = refused(&pdf(&vec![lines(1); 500]));
    assert!(said.contains("500 pages are more than the 300"), "{said}");
    let said = refused(b"%PDF-1.7\nnothing of the kind");
    assert!(said.contains("not a PDF"), "{said}");
    assert!(refused(b"number,code\n").contains("not a PDF"));
}

#[test]
fn pages_of_pictures_are_told_apart() {
    let picture = "q 500 0 0 700 40 60 cm BI /W 4 /H 4 /BPC 8 /CS /G ID 0123456789abcdef EI Q".to_owned();
    let said = refused(&pdf(&[picture]));
    assert!(said.contains("pictures, as from a scanner"), "{said}");
}

#[test]
fn a_locked_file_is_told_so() {
    use lopdf::{Document, EncryptionState, EncryptionVersion, Permissions};
    let mut file = Document::load_mem(&pdf(&[ruled([12, 12], false, &[])])).unwrap();
    let id = lopdf::Object::string_literal("0123456789abcdef");
    file.trailer.set("ID", vec![id.clone(), id]);
    let version = EncryptionVersion::V2 {
        document: &file,
        owner_password: "limpet",
        user_password: "whelk",
        key_length: 128,
        permissions: Permissions::all(),
    };
    let state = EncryptionState::try_from(version).unwrap();
    file.encrypt(&state).unwrap();
    let mut bytes = Vec::new();
    file.save_to(&mut bytes).unwrap();
    let said = refused(&bytes);
    assert!(said.contains("encrypted") && said.contains("password"), "{said}");
}

/// A chart of brede's own: twenty threads, bare corners, two outlines.
fn our_own(folder: &Path) -> PathBuf {
    use brede::chart::{Cell, Chart, Needle, Thread};
    use brede::ground::units::GridSize;
    use brede::thread::cloth::{Cloth, StitchKind};
    let size = GridSize::new(87, 104).unwrap();
    let thread = |at: usize| Thread {
        code: format!("P{:02}", at + 1),
        name: format!("shell {}", ["one", "two", "three", "four", "five"][at % 5]),
        colour: format!("#{:02x}{:02x}{:02x}", 30 + at * 10, 200 - at * 8, (at * 53) % 256).parse().unwrap(),
        strands: 2,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    let needle =
        |at| Needle { symbol: String::new(), threads: vec![thread(at)], stitch: StitchKind::FullCross };
    let cell = |at: usize| {
        let (x, y) = (at % 87, at / 87);
        let off = (x as f64 / 87.0 - 0.5).hypot(y as f64 / 104.0 - 0.5);
        let mixed = (x * 7919 + y * 104_729 + x * y * 31) % 97;
        match mixed {
            _ if off > 0.6 => Cell::BARE,
            0..20 => Cell::worked(mixed),
            _ => Cell::worked((x / 9 + y / 7 * 3) % 20),
        }
    };
    let cells = (0..size.cells()).map(cell).collect();
    let mut chart =
        Chart::new("Pool".into(), size, Cloth::default(), (0..20).map(needle).collect(), cells).unwrap();
    brede::printing::symbols::give_symbols(&mut chart);
    let path = folder.join("own.chart.json");
    std::fs::write(&path, chart.to_json()).unwrap();
    for (name, cells, thread) in [("wall", "12,15,60,75", "P03"), ("boat", "40,50,80,98", "P11")] {
        crate::running::output(brede().arg("mark").arg(&path).args([
            "outline",
            name,
            "--rectangle",
            cells,
            "--thread",
            thread,
        ]));
    }
    path
}

/// The lines of a chart by their threads' codes.
fn worked_lines(chart: &Path) -> std::collections::BTreeMap<String, BTreeSet<Step>> {
    let chart = brede::chart::Chart::from_json(&std::fs::read(chart).unwrap()).unwrap();
    let composed = brede::chart::marks::compose(&chart).unwrap();
    let mut lines: std::collections::BTreeMap<String, BTreeSet<Step>> = Default::default();
    for line in &composed.lines {
        let ends = line.stitches().map(|ends| ends.map(|end| end.map(i64::from)));
        lines.entry(line.threads[0].code.clone()).or_default().extend(steps(ends));
    }
    lines
}

#[test]
fn our_own_pages_come_back_square_for_square_with_their_lines() {
    let folder = tempfile::tempdir().unwrap();
    let chart = our_own(folder.path());
    let truth = codes(&json(&chart));
    let lines = worked_lines(&chart);
    assert_eq!(lines.len(), 2);
    let ways = [
        &["--ink", "colour"][..],
        &["--ink", "grey", "--paper", "letter"],
        &["--paper", "a3"],
        &["--large-print", "--ink", "grey"],
        &["--tablet", "160x230mm"],
        &["--show", "symbols", "--cell", "6mm"],
        &["--show", "colours"],
    ];
    for options in ways {
        let pages = folder.path().join("own.pdf");
        crate::running::output(brede().arg("print").arg(&chart).arg("-o").arg(&pages).args(options));
        let read = read(&[pages], &[]);
        let found = codes(&read.chart());
        let wrong = found.iter().zip(&truth).filter(|(one, other)| one != other).count();
        assert_eq!((wrong, found.len()), (0, truth.len()), "{options:?}");
        for doubt in read.report()["doubts"].as_array().unwrap() {
            assert!(!doubt.to_string().contains("twice-in-key"), "{options:?}: {doubt}");
        }
        assert_eq!(worked_lines(&read.folder.path().join("read.chart.json")), lines, "{options:?}");
    }
}

#[test]
fn a_chart_is_called_as_a_person_likes_and_its_files_alike_on_every_system() {
    let folder = tempfile::tempdir().unwrap();
    for (name, files) in
        [("Tide: our pool?", "Tide- our pool-"), (r"../c:\tide", "-c--tide"), ("Con", "Con-")]
    {
        let mut command = brede();
        command.arg("read").arg(printed("lantern-1.pdf")).args(["--name", name]).current_dir(folder.path());
        let done = command.output().unwrap();
        assert!(done.status.success(), "{name}: {}", String::from_utf8_lossy(&done.stderr));
        let chart = json(&folder.path().join(files).join(format!("{files}.chart.json")));
        assert_eq!(chart["title"], name);
        std::fs::remove_dir_all(folder.path().join(files)).unwrap();
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0, "{name}");
    }
}
