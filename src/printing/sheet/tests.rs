#![allow(clippy::unwrap_used)]
use super::*;
use crate::chart::{Cell, LineLayer, LinePattern, Needle, Thread};
use crate::ground::colour::Srgb8;
use crate::ground::progress::Silent;
use crate::ground::units::GridSize;
use crate::printing::length::Point;
use crate::thread::cloth::{Cloth, StitchKind};
use proptest::prelude::*;

mod told;

pub(super) fn chart(columns: u32, rows: u32, needles: usize, title: &str, name: &str) -> Chart {
    let needle = |index: usize| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: format!("C{index:03}"),
            name: name.to_owned(),
            colour: Srgb8 { r: (index * 37 % 256) as u8, g: (index * 91 % 256) as u8, b: 120 },
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(columns, rows).unwrap();
    let cells = (0..size.cells()).map(|at| Cell::worked(at * 7 % needles)).collect();
    let needles = (0..needles).map(needle).collect();
    Chart::new(title.to_owned(), size, Cloth::default(), needles, cells).unwrap()
}

fn laid(chart: &Chart, options: &SheetOptions) -> ChartSheet {
    lay_out(chart, &[], RgbImage::new(30, 40), options, &Silent).unwrap()
}

/// Every cell of the chart is shown once as its own, whatever is repeated: counted from the shapes alone.
#[test]
fn every_stitch_stands_on_one_page_in_black() {
    for (columns, rows) in [(40, 50), (140, 200), (333, 111)] {
        let chart = chart(columns, rows, 30, "Rock pool", "Kelp");
        let ChartSheet { sheet, .. } = laid(&chart, &SheetOptions::default());
        let shown: usize = sheet.pages.iter().map(symbols_on).sum();
        assert_eq!(shown, chart.cells().len());
    }
}

#[test]
fn pictures_on_pages_in_black_alone_have_no_colour() {
    let chart = chart(40, 50, 9, "Rock pool", "Kelp");
    for (ink, coloured) in [(Ink::Colour, true), (Ink::Grey, false)] {
        let options = SheetOptions { ink, ..SheetOptions::default() };
        let cover = RgbImage::from_fn(30, 40, |x, y| image::Rgb([x as u8 * 8, y as u8 * 6, 90]));
        let ChartSheet { sheet, .. } = lay_out(&chart, &[], cover, &options, &Silent).unwrap();
        assert_eq!(sheet.pictures.len(), 2);
        for picture in &sheet.pictures {
            let has_colour = picture.pixels().any(|pixel| pixel.0.iter().any(|&value| value != pixel.0[0]));
            assert_eq!(has_colour, coloured, "{ink:?}");
        }
    }
}

/// Which corners each cell has black, counted over its own page, tells the kind of stitch.
#[test]
fn every_stitch_but_the_full_cross_has_its_corners_marked() {
    let plain = chart(140, 90, 11, "Rock pool", "Kelp");
    let mut needles = plain.needles().to_vec();
    for ((needle, kind), symbol) in needles.iter_mut().zip(StitchKind::all()).zip(SymbolId::all()) {
        needle.stitch = kind;
        symbol.id().clone_into(&mut needle.symbol);
    }
    let cells = plain.cells().to_vec();
    let chart = Chart::new("Rock pool".into(), plain.size(), plain.cloth, needles, cells).unwrap();
    let ChartSheet { sheet, chart_pages, .. } = laid(&chart, &SheetOptions::default());
    let (mut marked, mut in_lists) = (std::collections::BTreeMap::new(), 0u64);
    for (layer, shape) in sheet.pages.iter().flat_map(|page| &page.shapes) {
        if let Shape::Corners { corners, colour: Srgb8::BLACK, .. } = shape {
            match layer {
                Some(Layer::Base) => {
                    corners.iter().for_each(|mark| *marked.entry(mark.corner).or_insert(0) += 1);
                }
                _ => in_lists += 1,
            }
        }
    }
    let mut wanted = std::collections::BTreeMap::new();
    for (needle, stitches) in chart.needles().iter().zip(chart.stitches()) {
        needle
            .stitch
            .marked_corners()
            .iter()
            .for_each(|corner| *wanted.entry(*corner).or_insert(0) += stitches);
    }
    assert_eq!(marked, wanted);
    // In the key, in its pairs, and in the strip of every chart page, the full cross of them all without.
    let others: Vec<SymbolId> = chart
        .needles()
        .iter()
        .filter(|needle| needle.stitch != StitchKind::FullCross)
        .map(|needle| SymbolId::of(&needle.symbol))
        .collect();
    let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
    let alone = shapes
        .filter(|(_, shape)| matches!(shape, Shape::Symbol { symbol, .. } if others.contains(symbol)))
        .count() as u64;
    assert_eq!(in_lists, alone);
    assert!(alone >= 10 * (1 + chart_pages as u64), "{alone}");
}

/// Two lines over a chart of several pages: a long diagonal of letters and a closed outline.
pub(super) fn lines() -> Vec<WorkedLine> {
    let line = |points: Vec<[i32; 2]>, closed, layer, pattern| WorkedLine {
        mark: "crab".into(),
        label: "Found by Ines".into(),
        threads: vec![Thread {
            code: "G1".into(),
            name: "Gold".into(),
            colour: Srgb8 { r: 230, g: 190, b: 60 },
            strands: 1,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        pattern,
        stitch: crate::chart::LineStitch::Backstitch,
        points,
        closed,
        lane: 0.5,
        layer,
    };
    let square = vec![[0, 0], [1, 0], [2, 0], [2, 1], [2, 2], [1, 2], [0, 2], [0, 1]];
    vec![
        line((0..=100).map(|at| [at, at]).collect(), false, LineLayer::Lettering, LinePattern::Dots),
        line(square, true, LineLayer::Outlines, LinePattern::Double),
    ]
}

#[test]
fn lines_are_drawn_on_every_page_that_shows_their_cells_in_layers_of_their_own() {
    let chart = chart(140, 200, 30, "Rock pool", "Kelp");
    let ChartSheet { sheet, .. } =
        lay_out(&chart, &lines(), RgbImage::new(30, 40), &SheetOptions::default(), &Silent).unwrap();
    let mut drawn = 0.0;
    for page in &sheet.pages {
        let block = page.shapes.iter().find_map(|(_, shape)| match shape {
            Shape::Symbols { block, .. } => Some(*block),
            _ => None,
        });
        let lettering = page.shapes.iter().filter(|(layer, _)| *layer == Some(Layer::Lettering));
        let dotted = lettering.filter_map(|(_, shape)| match shape {
            Shape::Line { points, stroke } if !stroke.dash.is_empty() => Some((points, stroke)),
            _ => None,
        });
        for (points, stroke) in dotted {
            // The gold is printed dark enough to be seen on white: WCAG 2, 1.4.11 asks 3:1.
            assert!(stroke.colour.contrast(Srgb8::WHITE) >= 3.0);
            let block = block.unwrap();
            for [x, y] in points {
                let slack = block.cell * 0.2;
                assert!(*x >= block.x - slack && *x <= block.x + block.width() + slack);
                assert!(*y >= block.y - slack && *y <= block.y + block.height() + slack);
            }
            let steps =
                points.windows(2).map(|pair| (pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]));
            drawn += steps.sum::<Length>() / block.cell;
        }
    }
    // The whole diagonal at least, and what is repeated at the joins at most.
    let whole = 100.0 * std::f64::consts::SQRT_2;
    assert!(drawn > whole - 1.0 && drawn < whole + 40.0, "{drawn}");
    let outlines = sheet.pages.iter().flat_map(|page| &page.shapes);
    let outlines = outlines.filter(|(layer, _)| *layer == Some(Layer::Outlines)).count();
    assert_eq!(outlines, 3, "a casing and the two strokes of a double line");
}

#[test]
fn the_key_lists_lines_apart_with_their_lengths() {
    let chart = chart(140, 200, 30, "Rock pool", "Kelp");
    let ChartSheet { sheet, .. } =
        lay_out(&chart, &lines(), RgbImage::new(30, 40), &SheetOptions::default(), &Silent).unwrap();
    let texts = texts_of(&sheet.pages[1]);
    let at = texts.iter().position(|text| *text == "Outlines and letters").unwrap();
    // 100 diagonals and 8 sides of cells of 25.4 / 14 mm.
    let metres = |cells: f64| format!("{:.2} m", cells * 25.4 / 14.0 / 1000.0);
    for wanted in ["G1", "Found by Ines: Gold", &metres(100.0 * 2f64.sqrt()), &metres(8.0)] {
        assert!(texts[at..].contains(&wanted), "{wanted}: {:?}", &texts[at..]);
    }
}

#[test]
fn paper_sizes_are_those_of_iso_216_and_ansi() {
    let table = include_str!("../../../tests/checks/paper_sizes.csv");
    let mut found = 0;
    for record in csv::Reader::from_reader(table.as_bytes()).records() {
        let record = record.unwrap();
        let Ok(paper) = record[0].parse::<Paper>() else { continue };
        let [width, height] = paper.size();
        assert!((width.to_mm() - record[1].parse::<f64>().unwrap()).abs() < 1e-9, "{}", &record[0]);
        assert!((height.to_mm() - record[2].parse::<f64>().unwrap()).abs() < 1e-9, "{}", &record[0]);
        found += 1;
    }
    assert_eq!(found, 3, "A4, A3 and Letter");
}

#[test]
fn links_lead_to_pages_that_lead_back() {
    let chart = chart(200, 280, 40, "Rock pool", "Kelp");
    let ChartSheet { sheet, chart_pages, .. } = laid(&chart, &SheetOptions::default());
    for (index, page) in sheet.pages.iter().enumerate().skip(sheet.pages.len() - chart_pages) {
        assert!(!page.links.is_empty());
        for link in &page.links {
            assert!(sheet.pages[link.page].links.iter().any(|back| back.page == index));
        }
    }
}

/// The needle of every cell that stands on a page as its own, by column and row of its block, from the symbols.
fn symbols_on(page: &Page) -> usize {
    let runs = page.shapes.iter().filter_map(|(_, shape)| match shape {
        Shape::Symbols { runs, colour: Srgb8::BLACK, .. } => Some(runs),
        _ => None,
    });
    runs.flatten().map(|run| run.symbols.len()).sum()
}

#[test]
fn a_tablet_gets_one_page_as_wide_as_its_screen_with_every_stitch() {
    for (columns, rows, screen) in
        [(140, 200, "160x230mm"), (40, 30, "768x1024px"), (600, 900, "150x240mm"), (4, 2000, "60x60mm")]
    {
        let chart = chart(columns, rows, 30, "Rock pool", "Kelp");
        let screen: Screen = screen.parse().unwrap();
        let options = SheetOptions { tablet: Some(screen), ..SheetOptions::default() };
        let ChartSheet { sheet, chart_pages, .. } = laid(&chart, &options);
        assert_eq!((sheet.pages.len(), chart_pages), (1, 1));
        let page = &sheet.pages[0];
        assert_eq!(symbols_on(page), chart.cells().len());
        assert!((page.width - screen.size()[0]).abs() < mm(1e-9) && page.height >= screen.size()[1]);
        // ISO 32000-1, annex C.
        assert!(page.height.to_mm() * 72.0 / 25.4 <= 14_400.0, "{}", page.height);
        let inside = |area: &Area| {
            let slack = mm(1e-6);
            area.x >= -slack
                && area.y >= -slack
                && area.right() <= page.width + slack
                && area.bottom() <= page.height + slack
        };
        assert!(page.links.iter().all(|link| inside(&link.area) && inside(&link.part.unwrap())));
        fn all(bookmarks: &[Bookmark]) -> Vec<&Bookmark> {
            bookmarks.iter().flat_map(|one| std::iter::once(one).chain(all(&one.children))).collect()
        }
        assert!(all(&sheet.bookmarks).iter().all(|one| inside(&one.part.unwrap())));
    }
}

/// Each thread of the key leads to a screenful that has more of its stitches than any other, cells as on paper.
#[test]
fn threads_of_a_tablets_key_lead_to_their_stitches() {
    let size = GridSize::new(150, 120).unwrap();
    let plain = chart(150, 120, 3, "Rock pool", "Kelp");
    // Three columns, a thread each.
    let cells = (0..size.cells()).map(|at| Cell::worked(at % 150 / 50)).collect();
    let chart = Chart::new("x".into(), size, Cloth::default(), plain.needles().to_vec(), cells).unwrap();
    let screen: Screen = "160x230mm".parse().unwrap();
    let ChartSheet { sheet, .. } =
        laid(&chart, &SheetOptions { tablet: Some(screen), ..SheetOptions::default() });
    let page = &sheet.pages[0];
    let block = page.shapes.iter().find_map(|(_, shape)| match shape {
        Shape::Symbols { block, .. } => Some(*block),
        _ => None,
    });
    let block = block.unwrap();
    for needle in 0..3 {
        let code = format!("C{needle:03}");
        let base = page.shapes.iter().find_map(|(_, shape)| match shape {
            Shape::Text { text, y, .. } if *text == code => Some(*y),
            _ => None,
        });
        let base = base.unwrap();
        // The row of the key, which begins left of the code.
        let link = page
            .links
            .iter()
            .find(|link| link.area.y < base && link.area.bottom() > base && link.area.height < mm(10.0));
        let part = link.unwrap().part.unwrap();
        let middle = (part.x + part.width / 2.0 - block.x) / block.cell;
        // Two screenfuls across: the thread on the left or the right is nowhere but there, the middle one in both.
        let wanted = [0.0..75.0, 0.0..150.0, 75.0..150.0];
        assert!(wanted[needle].contains(&middle), "{needle}: {middle}");
        assert!(part.width / block.cell <= 160.0 / 3.0 + 1e-6, "{}", part.width / block.cell);
    }
}

#[test]
fn symbols_alone_have_no_tint_and_colours_alone_no_symbol() {
    let chart = chart(60, 50, 12, "Rock pool", "Kelp");
    let tints = |sheet: &Sheet| -> Vec<TintedCells> {
        let shapes = sheet.pages.iter().flat_map(|page| &page.shapes);
        let tints = shapes.filter_map(|(_, shape)| match shape {
            Shape::Tints { tints, .. } => Some(tints.clone()),
            _ => None,
        });
        tints.flatten().collect()
    };
    let symbols = |sheet: &Sheet| sheet.pages.iter().map(symbols_on).sum::<usize>();
    let ChartSheet { sheet, .. } =
        laid(&chart, &SheetOptions { show: Show::Symbols, ..SheetOptions::default() });
    assert!(tints(&sheet).is_empty());
    assert_eq!(symbols(&sheet), 3000);
    let ChartSheet { sheet, .. } =
        laid(&chart, &SheetOptions { show: Show::Colours, ..SheetOptions::default() });
    let tints = tints(&sheet);
    assert_eq!(symbols(&sheet), 0);
    assert!(
        !sheet.pages.iter().any(|page| page.shapes.iter().any(|(_, s)| matches!(s, Shape::Symbol { .. })))
    );
    let filled: u32 = tints.iter().flat_map(|tint| &tint.rects).map(|rect| rect[2] * rect[3]).sum();
    assert_eq!(filled, 3000);
    assert!(chart.needles().iter().all(|needle| tints.iter().any(|tint| tint.colour == needle.colour())));
    let grey = SheetOptions { show: Show::Colours, ink: Ink::Grey, ..SheetOptions::default() };
    let refused = lay_out(&chart, &[], RgbImage::new(30, 40), &grey, &Silent);
    assert_eq!(refused, Err(SheetError::ColoursInGrey));
}

/// A photo of night: every thread dark, heavy symbols. Pages in colour and in grey keep to a quarter.
#[test]
fn dark_pages_keep_to_a_quarter_of_ink() {
    let mut needles = chart(4, 4, 16, "Rock pool", "Kelp").needles().to_vec();
    for (index, needle) in needles.iter_mut().enumerate() {
        let v = (index * 5) as u8;
        needle.threads[0].colour = Srgb8 { r: v / 2, g: v / 3, b: v };
    }
    let size = GridSize::new(120, 160).unwrap();
    let cells = (0..size.cells()).map(|at| Cell::worked(at * 7 % 16)).collect();
    let mut chart = Chart::new("Night".into(), size, Cloth::default(), needles, cells).unwrap();
    symbols::give_symbols(&mut chart);
    let black = RgbImage::from_pixel(300, 400, image::Rgb([8, 6, 12]));
    for ink in [Ink::Colour, Ink::Grey] {
        let options = SheetOptions { ink, ..SheetOptions::default() };
        let ChartSheet { sheet, warnings, .. } =
            lay_out(&chart, &[], black.clone(), &options, &Silent).unwrap();
        let coverage = sheet.coverage();
        assert_eq!(coverage.len(), sheet.pages.len());
        let most = coverage.iter().copied().fold(0.0, f64::max);
        assert!(most <= 0.25 && most > 0.15, "{ink:?}: {coverage:?}");
        assert!(!warnings.iter().any(|warning| matches!(warning, SheetWarning::MuchInk { .. })));
    }
    let colours = SheetOptions { show: Show::Colours, ..SheetOptions::default() };
    let ChartSheet { warnings, .. } = lay_out(&chart, &[], black, &colours, &Silent).unwrap();
    assert!(warnings.iter().any(|warning| matches!(warning, SheetWarning::MuchInk { .. })));
}

/// Beside a heavy line a black corner stands free of it, elsewhere it begins where its cell does.
#[test]
fn marked_corners_stand_free_of_heavy_lines() {
    let plain = chart(40, 50, 4, "Rock pool", "Kelp");
    let mut needles = plain.needles().to_vec();
    needles.iter_mut().for_each(|needle| needle.stitch = StitchKind::HalfCross);
    let cells = plain.cells().to_vec();
    let chart = Chart::new("Rock pool".into(), plain.size(), plain.cloth, needles, cells).unwrap();
    let ChartSheet { sheet, cell, .. } = laid(&chart, &SheetOptions::default());
    let mut seen = [0; 2];
    for (layer, shape) in sheet.pages.iter().flat_map(|page| &page.shapes) {
        let Shape::Corners { corners, .. } = shape else { continue };
        // Boxes of the key and the strip show a cell alone.
        if *layer != Some(Layer::Base) {
            assert!(corners.iter().all(|mark| mark.inset == [Length::ZERO; 2]));
            continue;
        }
        // One page shows all: a cell's place on it is that on the chart.
        for MarkedCorner { cell: [column, row], corner, inset } in corners {
            let [across, down] = corner.place().map(|side| side.unsigned_abs());
            for (line, total, inset) in [(column + across, 40, inset[0]), (row + down, 50, inset[1])] {
                let half = match line {
                    line if line == total / 2 => 0.3,
                    line if line % 10 == 0 => 0.19,
                    _ => 0.0,
                };
                // A twentieth of a cell is left free, and the corner keeps to its half of the cell.
                let wanted = if half > 0.0 { mm(half) + 0.05 * cell } else { Length::ZERO };
                assert!((inset - wanted).to_mm().abs() < 1e-9, "line {line}: {} mm", inset.to_mm());
                assert!(inset + CORNER * cell < 0.5 * cell);
                seen[usize::from(half > 0.0)] += 1;
            }
        }
    }
    assert!(seen[0] > 2000 && seen[1] > 200, "{seen:?}");
}

#[test]
fn who_prints_threads_that_are_in_no_shop_reads_so_on_cover_and_key() {
    let said = |chart: &Chart| {
        let ChartSheet { sheet, .. } = laid(chart, &SheetOptions::default());
        [0, 1].map(|page| {
            texts_of(&sheet.pages[page]).join(" ").contains("demonstration card, which is invented")
        })
    };
    let own = chart(40, 50, 4, "Rock pool", "Kelp");
    assert_eq!(said(&own), [false; 2]);
    let mut needles = own.needles().to_vec();
    let card = crate::thread::shades::ShadeCard::demonstration();
    let shade = &card.shades()[9];
    needles[2].threads[0].code.clone_from(&shade.code);
    // A thread of another card may have its code.
    let cells = || own.cells().to_vec();
    let chart = |needles: &[Needle]| {
        Chart::new("Rock pool".into(), own.size(), own.cloth, needles.to_vec(), cells()).unwrap()
    };
    assert_eq!(said(&chart(&needles)), [false; 2]);
    needles[2].threads[0].name.clone_from(&shade.name);
    assert_eq!(said(&chart(&needles)), [true; 2]);
    let screen = SheetOptions { tablet: Some("160x230mm".parse().unwrap()), ..SheetOptions::default() };
    let ChartSheet { sheet, .. } = laid(&chart(&needles), &screen);
    assert!(texts_of(&sheet.pages[0]).join(" ").contains("no shop has them"));
}

fn edges(shape: &Shape) -> Vec<Point> {
    match shape {
        Shape::Text { x, y, text, size, weight, align, .. } => {
            let width = typeface::width(text, *weight, *size);
            let left = align.left(*x, width);
            vec![[left, *y - *size * 0.75], [left + width, *y + *size * 0.25]]
        }
        Shape::Fill { area, .. } | Shape::Frame { area, .. } | Shape::Symbol { area, .. } => {
            vec![[area.x, area.y], [area.right(), area.bottom()]]
        }
        Shape::Picture { area, .. } => vec![[area.x, area.y], [area.right(), area.bottom()]],
        Shape::Line { points, .. } | Shape::Polygon { points, .. } => points.clone(),
        Shape::Tints { block, .. } | Shape::Symbols { block, .. } | Shape::Corners { block, .. } => {
            let area = block.area();
            vec![[area.x, area.y], [area.right(), area.bottom()]]
        }
    }
}

fn texts_overlap(page: &Page) -> Option<(String, String)> {
    let boxes: Vec<(String, Area)> = page
        .shapes
        .iter()
        .filter_map(|(_, shape)| match shape {
            Shape::Text { text, size, .. } if !text.trim().is_empty() => {
                let edges = edges(shape);
                let (left, right) = (edges[0][0], edges[1][0]);
                let (top, height) = (edges[0][1] + *size * 0.05, *size * 0.72);
                Some((text.clone(), Area { x: left, y: top, width: right - left, height }))
            }
            _ => None,
        })
        .collect();
    for (index, (text, one)) in boxes.iter().enumerate() {
        for (other, two) in &boxes[index + 1..] {
            let slack = mm(1e-6);
            let apart = one.right() <= two.x + slack
                || two.right() <= one.x + slack
                || one.bottom() <= two.y + slack
                || two.bottom() <= one.y + slack;
            if !apart {
                return Some((text.clone(), other.clone()));
            }
        }
    }
    None
}

/// All texts of a sheet.
pub(super) fn texts(sheet: &Sheet) -> Vec<&str> {
    sheet.pages.iter().flat_map(texts_of).collect()
}

pub(super) fn texts_of(page: &Page) -> Vec<&str> {
    let texts = page.shapes.iter().filter_map(|(_, shape)| match shape {
        Shape::Text { text, .. } => Some(text.as_str()),
        _ => None,
    });
    texts.collect()
}

/// A chart whose needles share threads: every third a blend of two, every fifth of the others a half cross.
pub(super) fn shared(needles: usize) -> Chart {
    let plain = chart(140, 200, needles, "Rock pool", "Weathered barnacle");
    let mut list = plain.needles().to_vec();
    let threads: Vec<Thread> = list.iter().map(|needle| needle.threads[0].clone()).collect();
    for (at, needle) in list.iter_mut().enumerate() {
        if at % 3 == 2 {
            needle.threads = vec![threads[at - 1].clone(), threads[at].clone()];
            needle.threads.iter_mut().for_each(|thread| thread.strands = 1);
        } else if at % 5 == 4 {
            needle.threads = vec![threads[at - 1].clone()];
            needle.stitch = StitchKind::HalfCross;
        }
    }
    let cells = plain.cells().to_vec();
    Chart::new("Rock pool".into(), plain.size(), plain.cloth, list, cells).unwrap()
}

fn papers() -> impl Strategy<Value = Paper> {
    let custom =
        (100u32..500, 100u32..700).prop_map(|(width, height)| format!("{width}x{height}mm").parse().unwrap());
    prop_oneof![Just(Paper::A4), Just(Paper::A3), Just(Paper::Letter), custom]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]
    /// Every reader: nothing is cut off and no text lies on another, for titles, names and codes of any length.
    #[test]
    fn nothing_leaves_the_page_and_no_text_lies_on_another(
        columns in 4u32..500,
        rows in 4u32..500,
        needles in 1usize..120,
        title in "\\PC{0,90}",
        name in "\\PC{1,60}",
        code in "\\PC{0,40}",
        paper in papers(),
        tablet in prop_oneof![3 => Just(None), 1 => (60u32..400, 60u32..400).prop_map(Some)],
        print in prop_oneof![Just(Print::Usual), Just(Print::Large)],
        show in prop_oneof![Just(Show::Both), Just(Show::Symbols), Just(Show::Colours)],
    ) {
        let needles = needles.min((columns * rows) as usize);
        let mut chart = chart(columns, rows, needles, &title, &name);
        if !code.trim().is_empty() {
            let list = chart.needles().iter().enumerate().map(|(index, needle)| {
                let mut needle = needle.clone();
                // Some of any length, the rest short.
                if index % 3 == 0 {
                    needle.threads[0].code = format!("{code}{index}");
                }
                needle
            });
            let (size, cells) = (chart.size(), chart.cells().to_vec());
            chart = Chart::new(title.clone(), size, Cloth::default(), list.collect(), cells).unwrap();
        }
        let tablet = tablet.map(|(width, height)| format!("{width}x{height}mm").parse().unwrap());
        let date = "25 November 2026".into();
        let options = SheetOptions { paper, print, show, tablet, date, ..SheetOptions::default() };
        let lines = if needles % 2 == 0 { lines() } else { Vec::new() };
        let ChartSheet { mut sheet, .. } = match lay_out(&chart, &lines, RgbImage::new(30, 40), &options, &Silent) {
            Ok(sheet) => sheet,
            // Small paper has no room for large cells and a strip of many needles: said, not printed.
            Err(error) => {
                let is_small = matches!(paper, Paper::Custom { .. }) && tablet.is_none();
                let says_so = matches!(error, SheetError::NoRoom { .. } | SheetError::TooManyPages { .. });
                prop_assert!(is_small && says_so, "{error} on {paper:?}");
                return Ok(());
            }
        };
        sheet.mark(["HKTM-1234-RA", "VXYA-7-CE"]);
        // Printers leave 6 mm; screens show all.
        let margin = if tablet.is_some() { Length::ZERO } else { mm(5.9) };
        for (number, page) in sheet.pages.iter().enumerate() {
            for (_, shape) in &page.shapes {
                for [x, y] in edges(shape) {
                    let within = margin..=page.width - margin;
                    prop_assert!(within.contains(&x), "page {}: {shape:?}", number + 1);
                    let within = margin..=page.height - margin;
                    prop_assert!(within.contains(&y), "page {}: {shape:?}", number + 1);
                }
            }
            let overlap = texts_overlap(page);
            prop_assert!(overlap.is_none(), "page {}: {:?}", number + 1, overlap);
        }
    }

    /// No page shows a sliver, the last included: with more than one page across (or down), none has fewer than
    /// six columns (rows) of its own, nor less than half of what the fullest has.
    #[test]
    fn no_page_is_a_sliver_on_any_paper(
        columns in 4u32..2000,
        rows in 4u32..2000,
        paper in papers(),
        print in prop_oneof![Just(Print::Usual), Just(Print::Large)],
        cell in prop::option::of(1.5f64..6.0),
    ) {
        // Bare cloth: the plan goes by size, and a full chart would only be slow.
        let size = GridSize::new(columns, rows).unwrap();
        let needles = chart(4, 4, 1, "x", "y").needles().to_vec();
        let chart = Chart::new("x".into(), size, Cloth::default(), needles, vec![Cell::BARE; size.cells()]).unwrap();
        let cell = cell.map(|mm| format!("{mm}mm").parse().unwrap());
        let options = SheetOptions { paper, print, cell, ..SheetOptions::default() };
        if let Ok((plan, _)) = fit::plan(&chart, &[], &options) {
            for cut in [&plan.columns, &plan.rows] {
                let most = cut.iter().map(ExactSizeIterator::len).max().unwrap();
                let least = cut.iter().map(ExactSizeIterator::len).min().unwrap();
                prop_assert!(cut.len() == 1 || (least >= 6 && least * 2 >= most), "{cut:?}");
            }
        }
    }
}
