#![allow(clippy::unwrap_used, clippy::panic)]
use std::collections::{BTreeMap, BTreeSet, HashMap};

use proptest::prelude::*;

use super::*;
use crate::chart::mark::{
    Course, Halo, Key, LetterStyle, Lettering, Motif, Outline, Pick, PickedCells, Place, Sample,
};
use crate::chart::{Cell, Chart, LinePattern, LineStitch, Mark, Needle, Thread};
use crate::ground::advice::Advice;
use crate::ground::progress::Progress;
use crate::thread::cloth::{Cloth, StitchKind};

fn thread(code: &str, strands: u8) -> Thread {
    let colour = "#204060".parse().unwrap();
    Thread {
        code: code.into(),
        name: code.into(),
        colour,
        strands,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    }
}

/// A chart whose needles are the digits of the rows; a full stop is bare.
fn chart(rows: &[&str]) -> Chart {
    let size = GridSize::new(rows[0].len() as u32, rows.len() as u32).unwrap();
    let needle = |code: usize| Needle {
        symbol: crate::printing::symbols::SymbolId::all().nth(code).unwrap().id().into(),
        threads: vec![thread(&format!("N{code}"), 2)],
        stitch: StitchKind::FullCross,
    };
    let cell = |sign: char| sign.to_digit(10).map_or(Cell::BARE, |digit| Cell::worked(digit as usize));
    let cells = rows.iter().flat_map(|row| row.chars().map(cell)).collect();
    Chart::new("Pool".into(), size, Cloth::default(), (0..10).map(needle).collect(), cells).unwrap()
}

fn blank(columns: u32, rows: u32) -> Chart {
    let row = ".".repeat(columns as usize);
    chart(&vec![row.as_str(); rows as usize])
}

fn pick(cells: PickedCells) -> Motif {
    Motif { pick: vec![Pick { change: Default::default(), cells }], ..Motif::default() }
}

fn outline(name: &str, motif: Motif) -> Mark {
    Mark::Outline(Outline {
        name: name.into(),
        label: None,
        motif,
        thread: vec![thread("L1", 1)],
        course: Course::Eased,
        longest: 3.0,
        pattern: None,
        stitch: LineStitch::Backstitch,
    })
}

fn region_of(mask: &[Vec<bool>]) -> Region {
    let size = [mask[0].len() as u32, mask.len() as u32];
    Region::of([0, 0], size, |x, y| mask[y as usize][x as usize])
}

/// Twice the area that a closed line goes round, positive where it is to its right (y down).
fn doubled_area(points: &[[i32; 2]]) -> i64 {
    (0..points.len())
        .map(|at| {
            let ([x1, y1], [x2, y2]) = (points[at], points[(at + 1) % points.len()]);
            i64::from(x1) * i64::from(y2) - i64::from(x2) * i64::from(y1)
        })
        .sum()
}

/// Where a point lies: -1 outside, 0 on the line, 1 inside; all in whole numbers.
fn side(points: &[[i32; 2]], [x, y]: [i32; 2], scale: i32) -> i32 {
    let mut within = false;
    for at in 0..points.len() {
        let [[x1, y1], [x2, y2]] =
            [points[at], points[(at + 1) % points.len()]].map(|point| point.map(|v| i64::from(v * scale)));
        let (x, y) = (i64::from(x), i64::from(y));
        let cross = (x2 - x1) * (y - y1) - (y2 - y1) * (x - x1);
        if cross == 0 && x >= x1.min(x2) && x <= x1.max(x2) && y >= y1.min(y2) && y <= y1.max(y2) {
            return 0;
        }
        if (y1 > y) != (y2 > y) && (cross < 0) == (y2 < y1) {
            within = !within;
        }
    }
    if within { 1 } else { -1 }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

/// Whether two stitches meet other than in a hole that is an end of both.
fn cross(one: [[i32; 2]; 2], two: [[i32; 2]; 2]) -> bool {
    let turn = |a: [i32; 2], b: [i32; 2], c: [i32; 2]| {
        let of = |v: i32| i64::from(v);
        ((of(b[0]) - of(a[0])) * (of(c[1]) - of(a[1])) - (of(b[1]) - of(a[1])) * (of(c[0]) - of(a[0])))
            .signum()
    };
    let on = |a: [i32; 2], b: [i32; 2], p: [i32; 2]| {
        turn(a, b, p) == 0
            && p != a
            && p != b
            && (a[0].min(b[0])..=a[0].max(b[0])).contains(&p[0])
            && (a[1].min(b[1])..=a[1].max(b[1])).contains(&p[1])
    };
    let ([a, b], [c, d]) = (one, two);
    let proper = turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
    proper || on(a, b, c) || on(a, b, d) || on(c, d, a) || on(c, d, b)
}

fn pairs(points: &[[i32; 2]]) -> Vec<[[i32; 2]; 2]> {
    (0..points.len()).map(|at| [points[at], points[(at + 1) % points.len()]]).collect()
}

/// Every law of the outlines of one set of cells.
fn check_lines(region: &Region, longest: f64) {
    let cells = region.count() as i64;
    let exact = exact(region);
    assert_eq!(exact.iter().map(|points| doubled_area(points)).sum::<i64>(), 2 * cells, "shoelace, exact");
    let eased = eased(region, longest);
    assert_eq!(eased.len(), exact.len());
    for points in &eased {
        // Simple: no hole twice, no two stitches cross.
        let holes: BTreeSet<[i32; 2]> = points.iter().copied().collect();
        assert_eq!(holes.len(), points.len(), "a hole is passed twice: {points:?}");
        for [a, b] in pairs(points) {
            let length = f64::from(b[0] - a[0]).hypot(f64::from(b[1] - a[1]));
            assert!(length <= longest + 1e-9, "{length} > {longest}");
        }
        // Pick's theorem (G. Pick 1899): twice the area is 2 I + B - 2, for a simple polygon on holes.
        let (left, right) =
            (points.iter().map(|p| p[0]).min().unwrap(), points.iter().map(|p| p[0]).max().unwrap());
        let (top, bottom) =
            (points.iter().map(|p| p[1]).min().unwrap(), points.iter().map(|p| p[1]).max().unwrap());
        let mut inside = 0;
        for x in left..=right {
            for y in top..=bottom {
                inside += i64::from(side(points, [x, y], 1) == 1);
            }
        }
        let on: i64 =
            pairs(points).iter().map(|[a, b]| gcd(i64::from(b[0] - a[0]), i64::from(b[1] - a[1]))).sum();
        assert_eq!(doubled_area(points).abs(), 2 * inside + on - 2, "Pick: {points:?}");
    }
    let all: Vec<[[i32; 2]; 2]> = eased.iter().flat_map(|points| pairs(points)).collect();
    for (at, one) in all.iter().enumerate() {
        for two in &all[..at] {
            assert!(!cross(*one, *two), "{one:?} {two:?}");
        }
    }
    // Just the motif's cells up to cut triangles: the line never leaves them, and something stays of each.
    // Corners and middles are looked at on a grid of quarters of a cell.
    let parity = |point: [i32; 2]| {
        let mut winding = 0;
        for points in &eased {
            match side(points, point, 8) {
                0 => return None,
                1 => winding += doubled_area(points).signum(),
                _ => {}
            }
        }
        Some(winding == 1)
    };
    let ([left, top], [width, height]) = region.window();
    for row in top - 1..=top + height {
        for column in left - 1..=left + width {
            let mut counts = [0, 0];
            for dy in [1, 3, 5, 7] {
                for dx in [1, 3, 5, 7] {
                    match parity([column * 8 + dx, row * 8 + dy]) {
                        Some(true) => counts[0] += 1,
                        Some(false) => counts[1] += 1,
                        None => {}
                    }
                }
            }
            if region.has(column, row) {
                // A slope of one in d leaves 1/2d of the cell at its foot: a quarter at the usual length.
                let least = if longest <= 3.0 { 4 } else { 1 };
                assert!(counts[0] >= least, "cell {column}, {row} is lost: {counts:?}");
            } else {
                assert_eq!(counts[0], 0, "cell {column}, {row} is not the motif's");
            }
        }
    }
}

fn masks(side: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Vec<bool>>> {
    (side.clone(), side, 1u32..10).prop_flat_map(|(width, height, share)| {
        let cell = (0u32..10).prop_map(move |value| value < share);
        proptest::collection::vec(proptest::collection::vec(cell, width), height)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn outlines_of_any_cells_keep_every_law(mask in masks(1..14), longest in prop_oneof![Just(1.0), Just(1.5), Just(3.0), Just(6.0)]) {
        check_lines(&region_of(&mask), longest);
    }

    #[test]
    fn outlines_of_smooth_shapes_keep_every_law(x in 2.0f64..14.0, y in 2.0f64..14.0, rx in 1.0f64..12.0, ry in 1.0f64..12.0) {
        let region = Region::of([0, 0], [26, 26], |column, row| {
            let (dx, dy) = (f64::from(column) - x, f64::from(row) - y);
            (dx / rx).powi(2) + (dy / ry).powi(2) <= 1.0
        });
        prop_assume!(!region.is_empty());
        check_lines(&region, 3.0);
    }

    /// Motifs that share no cell: cells of a chart of three colours.
    #[test]
    fn eased_outlines_of_neighbours_never_cross(values in proptest::collection::vec(0u8..3, 144)) {
        let of = |wanted: u8| Region::of([0, 0], [12, 12], |x, y| values[(y * 12 + x) as usize] == wanted);
        let lines: Vec<Vec<[[i32; 2]; 2]>> =
            (0..3).map(|wanted| eased(&of(wanted), 3.0).iter().flat_map(|points| pairs(points)).collect()).collect();
        for (one, two) in [(0, 1), (0, 2), (1, 2)] {
            for a in &lines[one] {
                for b in &lines[two] {
                    prop_assert!(!cross(*a, *b), "{a:?} {b:?}");
                }
            }
        }
    }
}

#[test]
fn a_staircase_becomes_one_clean_diagonal() {
    let region = Region::of([0, 0], [8, 8], |x, y| x <= y);
    let line = &eased(&region, 3.0)[0];
    let diagonal = pairs(line).into_iter().filter(|[a, b]| b[0] - a[0] != 0 && b[1] - a[1] != 0).count();
    assert!(diagonal >= 6, "{line:?}");
    assert!(line.len() <= exact(&region)[0].len() - 6);
}

#[test]
fn a_rectangle_keeps_its_corners() {
    let region = Region::of([3, 4], [6, 5], |_, _| true);
    assert_eq!(eased(&region, 3.0), exact(&region));
}

#[test]
fn neighbours_get_lanes_on_their_own_sides_and_patterns_of_their_own() {
    let mut chart = chart(&["001122", "001122", "001122", "001122"]);
    for (name, column) in [("a", 1), ("b", 3), ("c", 5)] {
        let at = PickedCells::At { cell: [column, 1], within: 0.0, touching: Default::default() };
        chart.marks.push(outline(name, pick(at)).into());
    }
    let composed = compose(&chart).unwrap();
    let patterns: BTreeSet<LinePattern> = composed.lines.iter().map(|line| line.pattern).collect();
    assert_eq!(patterns.len(), 3);
    // Where two lines pass the same two holes they are drawn a whole lane apart.
    let mut drawn: HashMap<[[i32; 2]; 2], Vec<f64>> = HashMap::new();
    for line in &composed.lines {
        for [from, to] in line.stitches() {
            let way = if from <= to { 1.0 } else { -1.0 };
            drawn.entry([from.min(to), from.max(to)]).or_default().push(way * line.lane);
        }
    }
    let shared: Vec<_> = drawn.values().filter(|lanes| lanes.len() > 1).collect();
    assert_eq!(shared.len(), 8);
    assert!(shared.iter().all(|lanes| lanes.len() == 2 && (lanes[0] - lanes[1]).abs() >= 1.0));
}

#[test]
fn one_motif_outlined_twice_lies_in_two_lanes() {
    let mut chart = chart(&["0000", "0110", "0110", "0000"]);
    for name in ["a", "b"] {
        chart.marks.push(outline(name, pick(PickedCells::Needles(vec!["N1".into()]))).into());
    }
    let lanes: Vec<f64> = compose(&chart).unwrap().lines.iter().map(|line| line.lane).collect();
    assert!((lanes[0] - lanes[1]).abs() >= 1.0, "{lanes:?}");
}

#[test]
fn picks_add_and_take_away_fill_bridge_and_grow() {
    let chart = chart(&["00000000", "01110110", "01010110", "01110110", "00000000", "00000000"]);
    let count = |motif: &Motif| choose(&chart, motif, "m").unwrap().count();
    let at = |column, row| PickedCells::At { cell: [column, row], within: 0.0, touching: Default::default() };
    let mut motif = pick(at(2, 2));
    assert_eq!(count(&motif), 9, "the hole is filled");
    motif.holes = crate::chart::mark::Holes::Kept;
    assert_eq!(count(&motif), 8);
    let mut both = pick(PickedCells::Needles(vec!["N1".into()]));
    assert_eq!(count(&both), 9 + 6);
    both.bridge = 1;
    assert_eq!(count(&both), 9 + 6 + 3, "the gap of one column is bridged");
    both.grow = 1;
    // A rectangle of 6 x 3 grown by one in the round: a row on each side.
    assert_eq!(count(&both), 18 + 2 * 6 + 2 * 3);
    both.grow = -1;
    assert_eq!(count(&both), 4);
    let mut less = pick(PickedCells::Stitched);
    less.holes = crate::chart::mark::Holes::Kept;
    less.pick.push(Pick {
        change: crate::chart::mark::Change::TakeAway,
        cells: PickedCells::Rectangle([8, 6, 1, 2]),
    });
    assert_eq!(count(&less), 8);
    assert_eq!(count(&pick(PickedCells::Ellipse([1, 1, 4, 4]))), 16 - 4);
    assert_eq!(count(&pick(PickedCells::Polygon(vec![[1, 1], [4, 1], [1, 4]]))), 10);
    let error = choose(&chart, &pick(at(9, 1)), "m").unwrap_err();
    assert!(error.to_string().contains("column 9, row 1 of 8 x 6"), "{error}");
}

#[test]
fn a_mask_comes_back_from_its_rows() {
    let chart = blank(9, 7);
    let region = Region::of([0, 0], [9, 7], |x, y| (x * 5 + y * 3) % 4 == 0);
    let mut motif = pick(PickedCells::Mask(mask_rows(&region, 7)));
    motif.holes = crate::chart::mark::Holes::Kept;
    assert_eq!(choose(&chart, &motif, "m").unwrap(), region);
    let bad = pick(PickedCells::Mask(vec!["3 99".into()]));
    assert!(choose(&chart, &bad, "m").unwrap_err().to_string().contains("row 1"));
}

fn written(text: &str, style: &LetterStyle) -> Written {
    write(text, style, "m").unwrap()
}

#[test]
fn composed_and_decomposed_accents_are_the_same_stitches() {
    for face in LetterFace::ALL {
        let style = LetterStyle { face, ..LetterStyle::default() };
        assert_eq!(written("\u{e9}", &style), written("e\u{301}", &style), "{}", face.name());
        assert_ne!(written("\u{e9}", &style), written("e", &style));
    }
}

#[test]
fn missing_characters_are_named_with_the_faces_that_have_all_of_them() {
    let style = LetterStyle { face: LetterFace::Script, ..LetterStyle::default() };
    let error = write("Жук", &style, "m").unwrap_err();
    assert_eq!(
        error.to_string(),
        "mark `m`: the face `script` has no `Ж` (U+0416), `у` (U+0443), `к` (U+043A)"
    );
    let faces = ["five", "seven", "ten", "tiny", "line", "joined"].map(str::to_owned).to_vec();
    assert_eq!(error.advice(), Some(Advice::OtherFace { faces }));
    let error = write("Σμαρώ", &LetterStyle { face: LetterFace::Joined, ..style }, "m").unwrap_err();
    let faces = ["five", "seven", "ten", "tiny", "line"].map(str::to_owned).to_vec();
    assert_eq!(error.advice(), Some(Advice::OtherFace { faces }), "Greek is not written joined");
    let error = write("\u{4e2d}", &LetterStyle::default(), "m").unwrap_err();
    assert_eq!(error.advice(), Some(Advice::OtherFace { faces: Vec::new() }));
}

#[test]
fn right_to_left_is_refused() {
    for text in ["\u{5d0}", "a \u{627}", "\u{202e}abc"] {
        assert!(
            matches!(write(text, &LetterStyle::default(), "m"), Err(MarkError::RightToLeft { .. })),
            "{text}"
        );
    }
}

#[test]
fn the_faces_cover_latin_greek_and_cyrillic() {
    for face in [LetterFace::Five, LetterFace::Ten] {
        let wanted = ('\u{20}'..='\u{7e}')
            .chain('\u{a1}'..='\u{ac}')
            .chain('\u{ae}'..='\u{17f}')
            .chain('α'..='ω')
            .chain('А'..='я')
            .chain("ЁёІіЇїЄєҐґ".chars());
        for character in wanted {
            assert!(face.has(character), "{} lacks {character}", face.name());
        }
    }
}

#[test]
fn backstitched_faces_reach_as_far_as_is_said() {
    let accented = "ÀÁÂÃÄÅÇÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜÝàáâãäåçèéêëìíîïñòóôõöùúûüýÿĄąĆćČčĘęŁłŃńŚśŠšŽžŐőŰűØøÆæŒœß";
    let latin = || ('a'..='z').chain('A'..='Z').chain('0'..='9').chain(" .,:;!?-&'()+/".chars());
    let greek = || ('Α'..='Ρ').chain('Σ'..='Ω').chain('α'..='ω').chain("άέήίόύώΐϊ".chars());
    let cyrillic = || ('А'..='я').chain("ЁёІіЇїЄєҐґЙйЂђЈјЉљЊњЋћЏџЎў".chars());
    let lacks = |face: LetterFace, wanted: &mut dyn Iterator<Item = char>| -> String {
        wanted.filter(|&character| !face.has(character)).collect()
    };
    for face in [LetterFace::Tiny, LetterFace::Line] {
        let all = &mut latin().chain(accented.chars()).chain(greek()).chain(cyrillic());
        assert_eq!(lacks(face, all), "", "{}", face.name());
    }
    let all = &mut latin().chain(accented.chars()).chain(cyrillic());
    assert_eq!(lacks(LetterFace::Joined, all), "");
}

#[test]
fn joined_letters_are_one_line_of_thread() {
    // Every stroke of a word without dots and bars touches another, at any gap; unjoined ones would not.
    for (text, face, gap, joined) in [
        ("rowan", LetterFace::Joined, 0, true),
        ("rowan", LetterFace::Joined, 2, true),
        ("вода", LetterFace::Joined, 0, true),
        ("rowan", LetterFace::Tiny, 0, false),
    ] {
        let style = LetterStyle { face, letter_gap: gap, ..LetterStyle::default() };
        let mut strokes = written(text, &style).strokes;
        let mut reached: Vec<[i32; 2]> = strokes.swap_remove(0);
        while let Some(next) = strokes.iter().position(|one| one.iter().any(|hole| reached.contains(hole))) {
            reached.extend(strokes.swap_remove(next));
        }
        assert_eq!(strokes.is_empty(), joined, "{text} {}", face.name());
    }
}

#[test]
fn quarter_turns_make_a_full_one() {
    for face in LetterFace::ALL {
        let mut style = LetterStyle { face, ..LetterStyle::default() };
        let upright = written("Ines", &style);
        let mut sorted: Vec<[i32; 2]> = upright.crosses.clone();
        sorted.sort_unstable();
        for degrees in [90, 180, 270] {
            style.turn = degrees.try_into().unwrap();
            let turned = written("Ines", &style);
            let [width, height] = upright.size;
            let mut back: Vec<[i32; 2]> = turned
                .crosses
                .iter()
                .map(|&[x, y]| match degrees {
                    90 => [y, height - 1 - x],
                    180 => [width - 1 - x, height - 1 - y],
                    _ => [width - 1 - y, x],
                })
                .collect();
            back.sort_unstable();
            assert_eq!(back, sorted, "{} {degrees}", face.name());
        }
    }
}

#[test]
fn wrapped_text_stays_within_its_cells() {
    let style = LetterStyle { wrap: Some(40), ..LetterStyle::default() };
    let text = "Found by Ines at low tide in June";
    let lines = written(text, &style);
    assert!(lines.size[0] <= 40 && lines.size[1] > 2 * 9, "{:?}", lines.size);
    let all = |written: &Written| written.crosses.len();
    assert_eq!(all(&lines), all(&written(text, &LetterStyle::default())), "no stitch is lost");
}

#[test]
fn backstitched_letters_have_no_stitch_over_three_cells() {
    for face in [LetterFace::Tiny, LetterFace::Line, LetterFace::Joined, LetterFace::Script] {
        for capitals in [5, 7, 12, 40] {
            let style = LetterStyle { face, capitals: Some(capitals), ..LetterStyle::default() };
            for stroke in written("The quick brown fox, JUMPS! 0123456789", &style).strokes {
                for pair in stroke.windows(2) {
                    let length = f64::from(pair[1][0] - pair[0][0]).hypot(f64::from(pair[1][1] - pair[0][1]));
                    assert!(length > 0.0 && length <= 3.0 + 1e-9, "{length} at {capitals}");
                }
            }
        }
    }
}

fn key(place: Place, frame: bool) -> Mark {
    Mark::Key(Key {
        name: "key".into(),
        thread: vec![thread("K", 2)],
        place,
        title: Some("Pool".into()),
        date: Some("2026".into()),
        initials: None,
        face: LetterFace::Five,
        title_face: None,
        sample: Sample::Patch,
        columns: None,
        gap: 2,
        frame: frame.then(|| vec![thread("F", 1)]),
    })
}

#[test]
fn the_key_grows_the_cloth_and_leaves_the_design_as_it_was() {
    for place in [Place::Below, Place::Above, Place::Beside] {
        let mut chart = chart(&["000000000000000000000000000000000000000000000000000000000000"; 12]);
        chart.marks.push(outline("Ines", pick(PickedCells::Rectangle([2, 2, 5, 5]))).into());
        chart.marks.push(key(place, true).into());
        let composed = compose(&chart).unwrap();
        let size = composed.chart.size();
        assert!(size.cells() > chart.size().cells());
        let [left, top] = composed.base_at.map(|at| at as usize);
        for row in 0..12 {
            assert_eq!(&composed.chart.row(row + top)[left..left + 60], chart.row(row), "{place:?}");
        }
        let crosses = composed.chart.stitches();
        let letters = composed.chart.needles().iter().position(|needle| needle.code() == "K").unwrap();
        assert!(crosses[letters] > 60, "{crosses:?}");
        assert!(composed.lines.iter().any(|line| line.mark == "key" && line.closed), "the frame");
        let samples = composed.lines.iter().filter(|line| line.mark == "Ines").count();
        assert_eq!(samples, 2, "the motif and its sample");
        for [x, y] in composed.lines.iter().flat_map(|line| &line.points) {
            assert!((0..=size.columns() as i32).contains(x) && (0..=size.rows() as i32).contains(y));
        }
    }
}

#[test]
fn numbers_beyond_all_sense_do_no_harm() {
    let far = [i32::MIN, i32::MAX];
    let mut chart = chart(&["0011", "0011", "1100", "1100"]);
    let mut letters =
        LetterStyle { letter_gap: i8::MIN, line_gap: i8::MIN, wrap: Some(0), ..LetterStyle::default() };
    letters.align = crate::chart::mark::LetterAlign::Centre;
    let marks: Vec<Mark> = vec![
        outline("a", pick(PickedCells::Rectangle([far[0], far[0], far[1], far[1]]))),
        outline("b", pick(PickedCells::Ellipse([far[1], far[0], far[0], far[1]]))),
        outline("c", pick(PickedCells::Polygon(vec![far, [far[1], far[0]], [0, 0], [2, 3]]))),
        outline(
            "d",
            Motif { grow: i16::MAX, bridge: u8::MAX, ..pick(PickedCells::Needles(vec!["N1".into()])) },
        ),
        outline("e", Motif { grow: i16::MIN, ..pick(PickedCells::Stitched) }),
        Mark::Halo(Halo {
            name: "f".into(),
            label: None,
            motif: pick(PickedCells::Rectangle([1, 1, 1, 1])),
            thread: vec![thread("H", 2)],
            wide: u8::MAX,
            away: u8::MAX,
        }),
        Mark::Lettering(Lettering {
            name: "g".into(),
            text: "so far\nout".into(),
            at: far,
            thread: vec![thread("T", 2)],
            style: letters,
        }),
        key(Place::At(far), true),
    ];
    chart.marks = marks.into_iter().map(Into::into).collect();
    let composed = compose(&chart).unwrap();
    assert_eq!(composed.chart.size(), chart.size());
    let long = "x".repeat(5000);
    assert!(matches!(write(&long, &LetterStyle::default(), "m"), Err(MarkError::TextTooLong { .. })));
}

#[test]
fn what_goes_wrong_is_told_with_its_cells() {
    let mut chart = blank(20, 12);
    let letters = |name: &str, at| {
        let style = LetterStyle::default();
        Mark::Lettering(Lettering {
            name: name.into(),
            text: "HH".into(),
            at,
            thread: vec![thread("K", 2)],
            style,
        })
    };
    chart.marks =
        [letters("one", [2, 2]), letters("two", [5, 2]), letters("far", [18, 2])].map(Into::into).to_vec();
    chart.marks.push(outline("a", pick(PickedCells::Rectangle([1, 8, 6, 11]))).into());
    chart.marks.push(outline("b", pick(PickedCells::Rectangle([5, 10, 25, 12]))).into());
    chart.marks.push(outline("c", pick(PickedCells::Stitched)).into());
    let found = compose(&chart).unwrap().warnings;
    let [one, two, far, a, b, c] = ["one", "two", "far", "a", "b", "c"].map(str::to_owned);
    for wanted in [
        MarkWarning::Overlap { pairs: vec![MarkPair { marks: [one, two], cell: [5, 2] }], more: 0 },
        MarkWarning::Outside { mark: far, count: 17, cell: [21, 2] },
        MarkWarning::Crossing { pairs: vec![MarkPair { marks: [a, b.clone()], cell: [5, 10] }], more: 0 },
        MarkWarning::PickOutside { mark: b, cell: [25, 12], size: chart.size() },
        MarkWarning::Empty { mark: c },
    ] {
        assert!(found.contains(&wanted), "{wanted:?}: {found:?}");
    }
    chart.marks.push(letters("one", [2, 2]).into());
    assert_eq!(compose(&chart).unwrap_err(), MarkError::SameName { name: "one".into() });
}

/// Marks that have nothing to do with each other: each in a field of its own of a 40 x 40 chart.
fn independent() -> Vec<Mark> {
    let mut marks = Vec::new();
    for (index, name) in ["ann", "bo", "cy", "di", "ed", "flo"].into_iter().enumerate() {
        let (x, y) = (1 + (index as i32 % 3) * 13, 1 + (index as i32 / 3) * 20);
        let area = PickedCells::Ellipse([x + 3, y + 3, x + 8, y + 8]);
        match index % 3 {
            0 => marks.push(outline(name, pick(area))),
            1 => marks.push(Mark::Halo(Halo {
                name: name.into(),
                label: None,
                motif: pick(area),
                thread: vec![thread(&format!("H{index}"), 2)],
                wide: 1,
                away: 1,
            })),
            _ => marks.push(Mark::Lettering(Lettering {
                name: name.into(),
                text: "Ab".into(),
                at: [x, y],
                thread: vec![thread(&format!("T{index}"), 2)],
                style: LetterStyle::default(),
            })),
        }
    }
    marks
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn independent_marks_compose_the_same_in_any_order(order in Just(independent()).prop_shuffle()) {
        let mut chart = blank(40, 40);
        let lines = |composed: &Composed| -> BTreeMap<String, String> {
            composed.lines.iter().map(|line| (line.mark.clone(), format!("{line:?}"))).collect()
        };
        chart.marks = independent().into_iter().map(Into::into).collect();
        let usual = compose(&chart).unwrap();
        chart.marks = order.into_iter().map(Into::into).collect();
        let shuffled = compose(&chart).unwrap();
        prop_assert_eq!(usual.chart.to_json(), shuffled.chart.to_json());
        prop_assert_eq!(lines(&usual), lines(&shuffled));
    }

    #[test]
    fn marks_put_on_and_taken_off_leave_the_same_bytes(
        values in proptest::collection::vec(0usize..5, 400),
        wanted in proptest::collection::vec((0usize..4, 1i32..21, 1i32..21, 1i32..12), 1..12),
    ) {
        let mut chart = blank(20, 20);
        let cells = values.iter().map(|&v| if v == 4 { Cell::BARE } else { Cell::worked(v) }).collect();
        chart = Chart::new("p".into(), chart.size(), chart.cloth, chart.needles().to_vec(), cells).unwrap();
        chart.identify();
        let before = chart.to_json();
        for (index, (kind, x, y, length)) in wanted.into_iter().enumerate() {
            let name = format!("m{index}");
            let area = PickedCells::Ellipse([x, y, x + length, y + length]);
            let mark: Mark = match kind {
                0 => outline(&name, pick(area)),
                1 => outline(&name, pick(PickedCells::At { cell: [x, y], within: 5.0, touching: Default::default() })),
                2 => Mark::Lettering(Lettering {
                    name, text: "Ål".into(), at: [x, y], thread: vec![thread("T", 2)], style: LetterStyle::default(),
                }),
                _ => Mark::Halo(Halo {
                    name, label: None, motif: pick(area), thread: vec![thread("H", 2)], wide: 2, away: 0,
                }),
            };
            chart.marks.push(mark.into());
        }
        chart.marks.push(key(Place::Below, true).into());
        chart.settle().unwrap();
        let marked = chart.to_json();
        let mut read = Chart::from_json(marked.as_bytes()).unwrap();
        prop_assert_eq!(read.to_json(), marked);
        let composed = compose(&read).unwrap();
        // The base lies under the marks as it was.
        prop_assert_eq!(read.cells(), chart.cells());
        prop_assert!(composed.chart.marks.is_empty());
        read.marks.clear();
        prop_assert_eq!(read.to_json(), before);
    }
}

#[test]
fn a_file_of_marks_names_what_is_wrong() {
    let good = "[[mark]]\nkind = 'outline'\nname = 'crab'\nthread = 'N1'\nmotif = { pick = [{ at = [2, 2], within = 3 }] }\n";
    assert_eq!(MarkFile::parse(good).unwrap().marks.len(), 1);
    for (old, new, part) in [
        ("thread = 'N1'", "tread = 'N1'", "tread"),
        ("'outline'", "'outlines'", "outlines"),
        ("at = [2, 2], within = 3", "at = [2, 2], rectangle = [1, 1, 2, 2]", "one of at"),
        ("at = [2, 2], within = 3", "within = 3, stitched = true", "go with `at`"),
        ("within = 3", "within = -1", "outside 0 to 100"),
        ("[[mark]]", "[[marks]]", "`marks`"),
        ("name = 'crab'", "name = ", "TOML"),
    ] {
        let error = MarkFile::parse(&good.replace(old, new)).unwrap_err();
        let source = std::error::Error::source(&error).map(ToString::to_string).unwrap_or_default();
        let text = format!("{error}: {source}");
        assert!(text.contains(part), "{new}: {text}");
    }
}

#[test]
fn threads_are_read_as_a_person_writes_them() {
    let chart = chart(&["0123", "0123", "0123", "0123"]);
    let card = crate::thread::shades::ShadeCard::demonstration();
    let threads = Resolver::new(&chart, &card);
    let of = |text: &str, needed| {
        let found = threads.threads(text, needed).unwrap();
        found
            .iter()
            .map(|thread| format!("{} {}", thread.strands, thread.code))
            .collect::<Vec<_>>()
            .join(" + ")
    };
    use crate::chart::mark::Needed::{Crosses, Line};
    assert_eq!(of("N1", Line), "1 N1");
    assert_eq!(of("N1", Crosses), "2 N1");
    assert_eq!(of("3 of N1", Line), "3 N1");
    assert_eq!(of("1 of N2 + 1 of vivid pink", Line), "1 N2 + 1 P01");
    assert_eq!(of("N2 + P02", Crosses), "1 N2 + 1 P02");
    for text in ["Q99", "0 of N1", "13 of N1", "7 of N1 + 7 of N2", ""] {
        assert!(threads.threads(text, Line).is_err(), "{text}");
    }
}

proptest! {
    #[test]
    fn what_regions_share_is_what_their_cells_say(
        places in proptest::array::uniform2((-5i32..12, -5i32..12, 0u32..14, 0u32..14, 2i32..6)),
    ) {
        let [one, two] = places.map(|(left, top, width, height, each)| {
            Region::of([left, top], [width, height], |x, y| (x + 2 * y).rem_euclid(each) > 0)
        });
        let shared = one.cells().find(|&[x, y]| two.has(x, y));
        prop_assert_eq!(one.first_shared(&two), shared);
        prop_assert_eq!(one.is_within(&two), one.cells().all(|[x, y]| two.has(x, y)));
        prop_assert!(one.is_within(&one));
    }
}

/// Lets a job ask so many times, and then wants it to end.
struct Patience(std::sync::atomic::AtomicI64);

impl Progress for Patience {
    fn at(&self, _: crate::ground::progress::Stage, _: u64, _: u64) -> std::ops::ControlFlow<()> {
        self.ask()
    }

    fn ask(&self) -> std::ops::ControlFlow<()> {
        let left = self.0.fetch_sub(1, std::sync::atomic::Ordering::Relaxed);
        if left > 0 { std::ops::ControlFlow::Continue(()) } else { std::ops::ControlFlow::Break(()) }
    }
}

#[test]
fn marks_are_worked_only_as_long_as_they_may() {
    let mut chart = blank(40, 40);
    for at in 0..12 {
        let (first, last) = (at * 3, at * 3 + 3);
        let cells = PickedCells::Rectangle([first, first, last, last]);
        chart.marks.push(outline(&format!("m{at}"), pick(cells)).into());
    }
    // Each mark is asked for when its cells are found, drawn, held against the others and put beside them.
    for asked in [0, 5, 20, 30, 40] {
        let ended = compose_while(&chart, &Patience(asked.into()));
        assert_eq!(ended.unwrap_err(), MarkError::Stopped(Stopped), "{asked}");
    }
    assert_eq!(compose_while(&chart, &Patience(1000.into())).unwrap(), compose(&chart).unwrap());
}
