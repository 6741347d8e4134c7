//! The symbol font: what is committed is what the code draws, and other readers of fonts find it sound.

use brede::printing::symbols::{FONT, Squares, SymbolId};
use kurbo::{BezPath, Shape as _};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

#[allow(dead_code)]
#[path = "../fonts-open/brede-symbols/pictures.rs"]
mod pictures;
#[path = "../fonts-open/brede-symbols/symbol_set.rs"]
mod symbol_set;

use symbol_set::{LEAST, SymbolSet};

#[test]
fn font_and_tables_are_what_the_code_draws() {
    let set = SymbolSet::draw();
    let committed = |name: &str| {
        std::fs::read(format!("{}/fonts-open/brede-symbols/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
    };
    let hint =
        "run `cargo run --release --features workshop --example draw-symbols` and look at what changed";
    assert!(set.table().as_bytes() == committed("symbols.csv"), "symbols.csv differs: {hint}");
    assert!(set.distance_bytes() == committed("distances.bin"), "distances.bin differs: {hint}");
    assert!(set.likeness_bytes() == committed("likeness.bin"), "likeness.bin differs: {hint}");
    assert!(set.font() == committed("BredeSymbols.ttf"), "BredeSymbols.ttf differs: {hint}");

    let shown = image::load_from_memory(&committed("matrix.png")).unwrap().to_luma8();
    assert!(shown == pictures::matrix(&set), "matrix.png differs: {hint} with --matrix");

    // What the library reads from the files is what was measured.
    assert_eq!(set.symbols.len(), SymbolId::count() + 1);
    let read: Vec<SymbolId> = SymbolId::all().chain([SymbolId::unknown()]).collect();
    for (a, symbol) in set.symbols.iter().enumerate() {
        assert_eq!(read[a].id(), symbol.name);
        for b in 0..a {
            let distance = f64::from(set.distances[a][b]) / 255.0;
            assert_eq!(read[a].distance(read[b]), distance, "{} {}", read[a].id(), read[b].id());
        }
    }
}

#[test]
fn no_two_symbols_stand_nearer_than_the_least_distance() {
    let all: Vec<SymbolId> = SymbolId::all().chain([SymbolId::unknown()]).collect();
    for (index, a) in all.iter().enumerate() {
        for b in &all[..index] {
            let distance = a.distance(*b) * 255.0;
            assert!(distance + 0.5 >= f64::from(LEAST), "{} and {}: {distance} of 255", a.id(), b.id());
        }
    }
    assert!(SymbolId::least_distance() >= f64::from(LEAST) / 255.0);
}

#[test]
fn the_least_distance_that_is_published_is_true() {
    let published = include_str!("../DEVELOPERS.md").split_whitespace().collect::<Vec<_>>().join(" ");
    let least = (SymbolId::least_distance() * 255.0).round();
    let number = format!(
        "The set has {} symbols, more than the {} needles a chart may have, ordered so that plain ones that lie far \
         apart come first; the least distance of any two is {:.3} ({least}/255).",
        SymbolId::count(),
        brede::chart::MAX_NEEDLES,
        SymbolId::least_distance()
    );
    assert!(published.contains(&number), "DEVELOPERS.md should say: {number}");
    assert!(published.contains("(fonts-open/brede-symbols/matrix.png)"), "and show the matrix");
}

/// The distances against `FreeType` and scipy: the forty pairs that are most alike, and a hundred others.
#[test]
#[ignore = "needs Python with Pillow and scipy (BREDE_PYTHON)"]
fn freetype_and_scipy_find_the_distances_of_the_table() {
    let all: Vec<SymbolId> = SymbolId::all().collect();
    let mut pairs: Vec<[usize; 2]> = (0..all.len()).flat_map(|b| (0..b).map(move |a| [a, b])).collect();
    pairs.sort_by(|x, y| {
        let distance = |pair: &[usize; 2]| all[pair[0]].distance(all[pair[1]]);
        distance(x).total_cmp(&distance(y))
    });
    let mut dice = crate::asking::Dice(5);
    let others: Vec<[usize; 2]> = (0..100).map(|_| pairs[dice.roll(pairs.len() as u64)]).collect();
    pairs.truncate(40);
    pairs.extend(others);
    let font = format!("{}/fonts-open/brede-symbols/BredeSymbols.ttf", env!("CARGO_MANIFEST_DIR"));
    let question = serde_json::json!({ "font": font, "pairs": pairs });
    let answers: Vec<[f64; 2]> =
        serde_json::from_value(crate::asking::ask("symbol_distances.py", &question)).unwrap();
    assert_eq!(answers.len(), pairs.len());
    let mut off: Vec<f64> = Vec::new();
    for ([a, b], ways) in pairs.into_iter().zip(answers) {
        let table = all[a].distance(all[b]);
        // Which of the two the table moved goes by the order in which they were drawn.
        let [one, other] = ways.map(|seen| (table - seen).abs());
        let nearest = one.min(other);
        assert!(nearest < 0.02, "{} and {}: table {table}, seen {ways:?}", all[a].id(), all[b].id());
        // Moved the other way they must not be so near that the published least is untrue.
        let least = SymbolId::least_distance() - 0.02;
        assert!(ways.iter().all(|&seen| seen >= least), "{} and {}: {ways:?}", all[a].id(), all[b].id());
        off.push(nearest);
    }
    assert!(off.iter().sum::<f64>() / off.len() as f64 <= 0.006, "{off:?}");
}

/// Twins and white parts against `FreeType`, scipy and scikit-image: the pairs nearest to the border between twins and
/// others at each size, a hundred others, and every symbol's white parts.
#[test]
#[ignore = "needs Python with Pillow, scipy and scikit-image (BREDE_PYTHON)"]
fn freetype_and_scikit_image_find_the_same_twins_and_the_same_white_parts_open() {
    let all: Vec<SymbolId> = SymbolId::all().collect();
    let every: Vec<[usize; 2]> = (0..all.len()).flat_map(|b| (0..b).map(move |a| [a, b])).collect();
    let mut pairs: Vec<[usize; 2]> = Vec::new();
    for squares in Squares::ALL {
        let mut by_border = every.clone();
        let off = |&[a, b]: &[usize; 2]| (all[a].likeness_in(all[b], squares) - 0.7).abs();
        by_border.sort_by(|x, y| off(x).total_cmp(&off(y)));
        pairs.extend(&by_border[..30]);
    }
    let mut dice = crate::asking::Dice(6);
    pairs.extend((0..100).map(|_| every[dice.roll(every.len() as u64)]));
    let font = format!("{}/fonts-open/brede-symbols/BredeSymbols.ttf", env!("CARGO_MANIFEST_DIR"));
    let symbols: Vec<usize> = (0..all.len()).collect();
    let question = serde_json::json!({ "font": font, "pairs": pairs, "symbols": symbols });
    let answer = crate::asking::ask("symbol_likeness.py", &question);
    let seen: Vec<[f64; 3]> = serde_json::from_value(answer["pairs"].clone()).unwrap();
    assert_eq!(seen.len(), pairs.len());
    let mut off = Vec::new();
    for ([a, b], seen) in pairs.iter().zip(&seen) {
        for (squares, seen) in Squares::ALL.into_iter().zip(seen) {
            let table = all[*a].likeness_in(all[*b], squares);
            let names = [all[*a].id(), all[*b].id()];
            off.push((table - seen.max(0.0)).abs());
            // A dot that is just half inked may be black to one and white to the other.
            assert!(off[off.len() - 1] < 0.12, "{names:?}, {squares:?}: table {table}, seen {seen}");
            assert!(all[*a].is_twin(all[*b], squares) || *seen < 0.75, "{names:?}, {squares:?}: {seen}");
        }
    }
    assert!(off.iter().sum::<f64>() / (off.len() as f64) < 0.02, "{off:?}");
    let open: Vec<[Option<f64>; 3]> = serde_json::from_value(answer["open"].clone()).unwrap();
    assert_eq!(open.len(), all.len());
    for (symbol, white) in all.iter().zip(open) {
        for (squares, white) in Squares::ALL.into_iter().zip(white) {
            // Near the border of 0.73 both may be right.
            let agree = white.is_none_or(|white| {
                (white - 0.73).abs() < 0.05 || (white > 0.73) == symbol.stays_open(squares)
            });
            assert!(agree, "{}, {squares:?}: {white:?}", symbol.id());
        }
    }
}

/// A thin and a thick cross, a ring and a disc with a hole: what low toner makes one.
#[test]
fn thick_and_thin_forms_of_one_figure_are_twins() {
    let named = |name: &str| SymbolId::named(name).unwrap();
    for [one, other] in [
        ["cross-thin", "cross-thick"],
        ["pentagon-open", "disc-holed"],
        ["disc-solid", "disc-split-falling"],
        ["leaf-rising", "disc-solid"],
    ] {
        for squares in Squares::ALL {
            assert!(named(one).is_twin(named(other), squares), "{one} and {other}, {squares:?}");
        }
    }
    assert!(!named("disc-solid").is_twin(named("cross-thin"), Squares::Small));
    assert!(!named("rings-nested").stays_open(Squares::Large), "its rings fill to a disc");
    assert!(named("disc-holed").stays_open(Squares::Small));
}

#[test]
fn every_needle_that_a_chart_may_have_finds_a_symbol() {
    assert!(SymbolId::count() >= brede::chart::MAX_NEEDLES, "{} symbols", SymbolId::count());
    let mut names: Vec<&str> = SymbolId::all().map(SymbolId::id).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), SymbolId::count());
}

/// An outline as the reader hands it over.
#[derive(Default)]
struct Outline(BezPath);

impl OutlineBuilder for Outline {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.0.quad_to((f64::from(x1), f64::from(y1)), (f64::from(x), f64::from(y)));
    }

    fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, _: f32, _: f32) {
        unreachable!("TrueType has no cubic curves");
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}

/// The font as ttf-parser, a general-purpose reader, finds it.
#[test]
fn every_glyph_is_one_cell_wide_and_centred_in_it() {
    let face = Face::parse(FONT, 0).unwrap();
    assert_eq!(face.units_per_em(), 1000);
    assert_eq!((face.ascender(), face.descender(), face.line_gap()), (1000, 0, 0));
    assert_eq!(usize::from(face.number_of_glyphs()), SymbolId::count() + 2);
    for glyph in 0..face.number_of_glyphs() {
        assert_eq!(face.glyph_hor_advance(GlyphId(glyph)), Some(1000), "glyph {glyph}");
    }
    for symbol in SymbolId::all().chain([SymbolId::unknown()]) {
        let character = char::from_u32(0xE000 + u32::from(symbol.glyph()) - 1).unwrap();
        assert_eq!(face.glyph_index(character), Some(GlyphId(symbol.glyph())), "{}", symbol.id());
        assert_eq!(face.glyph_name(GlyphId(symbol.glyph())), Some(symbol.id()));
        let mut outline = Outline::default();
        face.outline_glyph(GlyphId(symbol.glyph()), &mut outline).unwrap();
        let extent = outline.0.bounding_box();
        let off = (extent.center().to_vec2() - kurbo::Vec2::new(500.0, 500.0)).hypot();
        assert!(off <= 1.5, "{} is off the middle: {extent:?}", symbol.id());
        let room = extent.x0.min(extent.y0).min(1000.0 - extent.x1).min(1000.0 - extent.y1);
        assert!(room >= 99.0, "{} is too large: {extent:?}", symbol.id());
    }
}

/// The ink of forms whose area elementary geometry gives: circle, triangle, rectangle (Euclid, Elements I, XII).
#[test]
fn ink_of_plain_forms_is_their_area() {
    let ink = |name: &str| SymbolId::named(name).unwrap().ink();
    let disc = std::f64::consts::PI * 0.37 * 0.37;
    assert!((ink("disc-solid") - disc).abs() < 0.003, "{} and {disc}", ink("disc-solid"));
    let triangle = 0.76 * 0.64 / 2.0;
    assert!(
        (ink("triangle-left-solid") - triangle).abs() < 0.003,
        "{} and {triangle}",
        ink("triangle-left-solid")
    );
    let bar = 0.74 * 0.11;
    assert!((ink("bar-across") - bar).abs() < 0.003, "{} and {bar}", ink("bar-across"));
}

#[test]
fn a_name_leads_to_its_symbol_and_an_unknown_one_to_the_question_mark() {
    for symbol in SymbolId::all() {
        assert_eq!(SymbolId::of(symbol.id()), symbol);
    }
    assert_eq!(SymbolId::of("no such symbol"), SymbolId::unknown());
    assert_eq!(SymbolId::named("no such symbol"), None);
    assert!(SymbolId::all().all(|symbol| symbol != SymbolId::unknown()));
}

/// The table's ink against `FreeType`, by way of Pillow: winding, holes, overlaps, characters and advances.
#[test]
#[ignore = "needs Python with Pillow (BREDE_PYTHON)"]
fn freetype_fills_each_symbol_with_the_ink_of_the_table() {
    let python = std::env::var("BREDE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let root = env!("CARGO_MANIFEST_DIR");
    let output = std::process::Command::new(python)
        .arg(format!("{root}/tests/outside/symbol_ink.py"))
        .arg(format!("{root}/fonts-open/brede-symbols/BredeSymbols.ttf"))
        .arg((SymbolId::count() + 1).to_string())
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let answers: Vec<[f64; 3]> = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answers.len(), SymbolId::count() + 1);
    for (symbol, [ink, advance, outside]) in SymbolId::all().chain([SymbolId::unknown()]).zip(answers) {
        assert!(
            (ink - symbol.ink()).abs() < 0.0025,
            "{}: FreeType {ink}, table {}",
            symbol.id(),
            symbol.ink()
        );
        assert!(
            (advance - 1.0).abs() < 1e-6 && outside.abs() < 1e-9,
            "{}: {advance}, {outside}",
            symbol.id()
        );
    }
}
