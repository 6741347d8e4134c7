//! Marks judged by programs that are not brede: scikit-image and Pillow.

use crate::asking::{Dice, ask};
use brede::chart::mark::{Change, Holes, LetterFace, LetterStyle, Motif, Pick, PickedCells, Touching};
use brede::chart::marks::{Region, choose, exact, write};
use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};
use serde_json::json;

fn chart(cells: &[Vec<usize>]) -> Chart {
    let needle = |index: usize| Needle {
        symbol: String::new(),
        threads: vec![Thread {
            code: format!("N{index}"),
            name: format!("N{index}"),
            colour: "#406080".parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(cells[0].len() as u32, cells.len() as u32).unwrap();
    let worked = cells.iter().flatten().map(|&needle| Cell::worked(needle)).collect();
    Chart::new("m".into(), size, Cloth::default(), (0..3).map(needle).collect(), worked).unwrap()
}

fn grid(region: &Region, columns: usize, rows: usize) -> Vec<Vec<u64>> {
    let row = |y: usize| (0..columns).map(|x| u64::from(region.has(x as i32, y as i32))).collect();
    (0..rows).map(row).collect()
}

#[test]
#[ignore = "needs Python with scikit-image (BREDE_PYTHON)"]
fn scikit_image_finds_the_same_regions_and_boundaries() {
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let masks: Vec<Vec<Vec<usize>>> = (0..150)
        .map(|_| {
            let (columns, rows, colours) = (4 + dice.roll(28), 4 + dice.roll(28), 2 + dice.roll(2) as u64);
            (0..rows).map(|_| (0..columns).map(|_| dice.roll(colours)).collect()).collect()
        })
        .collect();
    let seeds: Vec<[usize; 2]> =
        masks.iter().map(|mask| [dice.roll(mask[0].len() as u64), dice.roll(mask.len() as u64)]).collect();
    let answers = ask("marks_regions.py", &json!({ "masks": masks, "seeds": seeds }));
    for ((mask, seed), answer) in masks.iter().zip(&seeds).zip(answers.as_array().unwrap()) {
        let chart = chart(mask);
        let (columns, rows) = (mask[0].len(), mask.len());
        let region = |touching, holes| {
            let cell = [seed[0] as i32 + 1, seed[1] as i32 + 1];
            let cells = PickedCells::At { cell, within: 0.0, touching };
            let pick = vec![Pick { change: Change::Add, cells }];
            choose(&chart, &Motif { pick, holes, ..Motif::default() }, "m").unwrap()
        };
        let wanted = |name: &str| -> Vec<Vec<u64>> { serde_json::from_value(answer[name].clone()).unwrap() };
        let sides = region(Touching::Sides, Holes::Kept);
        assert_eq!(grid(&sides, columns, rows), wanted("sides"));
        assert_eq!(grid(&region(Touching::Corners, Holes::Kept), columns, rows), wanted("corners"));
        // A hole of brede's is closed where it touches the outside at a corner only: there, scipy, which looks
        // at sides alone, fills it too; brede does not. What brede fills, scipy fills.
        let (ours, theirs) = (grid(&region(Touching::Sides, Holes::Filled), columns, rows), wanted("filled"));
        for (ours, theirs) in ours.iter().flatten().zip(theirs.iter().flatten()) {
            assert!(ours <= theirs);
        }
        let lines = exact(&sides);
        let units: usize = lines.iter().map(Vec::len).sum();
        assert_eq!(units as u64, answer["perimeter"].as_u64().unwrap(), "sides of cells on the boundary");
        // The cells to the right of the line are those just inside the boundary.
        let mut inner = vec![vec![0; columns]; rows];
        for line in &lines {
            for at in 0..line.len() {
                let ([x, y], [to_x, to_y]) = (line[at], line[(at + 1) % line.len()]);
                let [column, row] = match [to_x - x, to_y - y] {
                    [1, 0] => [x, y],
                    [0, 1] => [x - 1, y],
                    [-1, 0] => [x - 1, y - 1],
                    _ => [x, y - 1],
                };
                inner[row as usize][column as usize] = 1;
            }
        }
        assert_eq!(inner, wanted("inner"));
    }
}

#[test]
#[ignore = "needs Python with Pillow (BREDE_PYTHON)"]
fn pillow_sets_the_same_pixels_as_brede_stitches() {
    let fonts = [
        (LetterFace::Five, "tiny5/Tiny5-Regular.ttf", 8),
        (LetterFace::Seven, "brede-eight/BredeEight-Regular.ttf", 8),
        (LetterFace::Ten, "unifont/Unifont-Regular.otf", 16),
    ];
    let mut texts: Vec<String> =
        ["Found by Ines, 2026!", "Ångström & Žofia", "Καλή θάλασσα", "Морская звезда Ї"]
            .map(str::to_owned)
            .to_vec();
    // Every character of Latin-1, Latin Extended-A, Greek and Cyrillic alone; U+0387 is left out, as NFC makes it
    // the middle dot.
    let ranges = [0x21..0x7f, 0xa1..0xad, 0xae..0x180, 0x388..0x3cf, 0x400..0x460];
    texts.extend(ranges.into_iter().flatten().filter_map(char::from_u32).map(String::from));
    let mut asked = Vec::new();
    let mut ours = Vec::new();
    for (face, font, size) in fonts {
        for text in texts.iter().filter(|text| text.chars().all(|character| face.has(character))) {
            let path = format!("{}/fonts-open/{font}", env!("CARGO_MANIFEST_DIR"));
            asked.push(json!({ "font": path, "size": size, "text": text }));
            let style = LetterStyle { face, ..LetterStyle::default() };
            let written = write(text, &style, "m").unwrap();
            let left = written.crosses.iter().map(|cell| cell[0]).min().unwrap_or(0);
            let base = face.capitals(None);
            let mut cells: Vec<[i32; 2]> =
                written.crosses.iter().map(|&[x, y]| [x - left, y - base]).collect();
            cells.sort_unstable();
            ours.push((face.name(), text.clone(), cells));
        }
    }
    assert!(asked.len() > 1000, "{}", asked.len());
    let answers: Vec<Vec<[i32; 2]>> = serde_json::from_value(ask("marks_letters.py", &json!(asked))).unwrap();
    assert_eq!(answers.len(), ours.len());
    for ((face, text, cells), answer) in ours.into_iter().zip(answers) {
        assert_eq!(cells, answer, "{face}: {text}");
    }
}
