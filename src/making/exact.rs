//! Charts from elsewhere, taken cell by cell: a picture with one pixel a cell, or a table of shade codes.
//!
//! Owns matching each colour to a thread of its own. Leaves photos to `frame` and `reduce`.

use std::collections::BTreeMap;

use image::DynamicImage;

use crate::chart::{Cell, Chart, ChartError, MAX_NEEDLES, Needle, Thread};
use crate::ground::advice::Advice;
use crate::ground::assignment;
use crate::ground::colour::Srgb8;
use crate::ground::table::{WideRow, hold_to_fields};
use crate::ground::units::{GridSize, UnitError, counted};
use crate::making::squares::Squares;
use crate::thread::cloth::{Cloth, StitchKind};
use crate::thread::code;
use crate::thread::shades::ShadeCard;

/// What the person asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct ExactOptions {
    /// What the chart is called.
    pub title: String,
    /// What it is worked on.
    pub cloth: Cloth,
    /// Strands in the needle.
    pub strands: u8,
}

/// A colour of the picture and the thread that it got.
#[derive(Debug, Clone, PartialEq)]
pub struct Match {
    /// The colour in the picture.
    pub colour: Srgb8,
    /// How many cells have it.
    pub cells: u64,
    /// The thread's code.
    pub code: String,
    /// The thread's name.
    pub name: String,
    /// The thread's colour.
    pub thread: Srgb8,
    /// The difference of the two by CIEDE2000.
    pub delta_e: f64,
}

/// A chart taken as it was, and how its colours were matched.
#[derive(Debug, Clone, PartialEq)]
pub struct Exact {
    /// The chart.
    pub chart: Chart,
    /// The squares that were taken, where each cell of the picture has many pixels.
    pub squares: Option<Squares>,
    /// The matches, the colour with most cells first.
    pub matches: Vec<Match>,
}

/// Something that is no chart, cell by cell.
#[derive(Debug, thiserror::Error)]
pub enum ExactError {
    /// A size that no chart has.
    #[error("a chart cannot be so large or so small")]
    Size(#[from] UnitError),
    /// Too many colours.
    #[error("the picture has {found} colours; {MAX_NEEDLES} at most can be taken as they are")]
    TooManyColours {
        /// How many.
        found: usize,
    },
    /// More colours than threads.
    #[error("the picture has {colours} colours and the shade card only {}", counted(*shades as u64, "thread"))]
    TooFewShades {
        /// Colours of the picture.
        colours: usize,
        /// Threads on the card.
        shades: usize,
    },
    /// Only bare cells.
    #[error("nothing is stitched in it")]
    Nothing,
    /// A table that cannot be read.
    #[error("the table of codes cannot be read")]
    Csv(#[from] csv::Error),
    /// A row that goes on and on.
    #[error("row {} has more than {} squares", .0.row, .0.most)]
    Wide(WideRow),
    /// A code that is not on the card.
    #[error("row {row}, column {column}: the shade card has no thread `{code}`")]
    NoSuchCode {
        /// From 1.
        row: usize,
        /// From 1.
        column: usize,
        /// What stands there.
        code: String,
    },
    /// Rows of different lengths.
    #[error("row {row} has {}, the first has {wanted}", counted(*found as u64, "square"))]
    Ragged {
        /// From 1.
        row: usize,
        /// Its cells.
        found: usize,
        /// Those of the first row.
        wanted: usize,
    },
    /// Parts that do not make a chart.
    #[error(transparent)]
    Chart(#[from] ChartError),
}

impl ExactError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Advice {
        match self {
            Self::Size(_) => Advice::PixelACell,
            Self::TooManyColours { .. } => Advice::NotExact,
            Self::TooFewShades { .. } => Advice::LargerCard,
            Self::Nothing => Advice::SomethingStitched,
            Self::Csv(_) | Self::Wide(_) | Self::Ragged { .. } => Advice::EvenTable,
            Self::NoSuchCode { .. } => Advice::CodesOfTable,
            Self::Chart(error) => error.advice(),
        }
    }
}

/// A chart from a picture with one pixel a cell, or with squares of many, such as a screen grab of a chart. Pixels less than half opaque are bare cloth; each other colour
/// gets a thread of the card, no two the same one: first the threads of exactly that colour, then those for
/// which the sum of squared CIEDE2000 is least (an assignment problem: Kuhn 1955, Munkres 1957).
///
/// # Errors
/// [`ExactError`] for a picture of over 2000 cells a side or 255 colours, or of more colours than threads.
pub fn from_picture(
    picture: &DynamicImage,
    card: &ShadeCard,
    options: &ExactOptions,
) -> Result<Exact, ExactError> {
    let mut pixels = picture.to_rgba8();
    let squares = Squares::find(&pixels);
    if let Some(squares) = &squares {
        pixels = squares.cells(&pixels);
    }
    let size = GridSize::new(pixels.width(), pixels.height())?;
    let mut counts: BTreeMap<Srgb8, u64> = BTreeMap::new();
    let colours: Vec<Option<Srgb8>> = pixels
        .pixels()
        .map(|pixel| {
            let [r, g, b, opaque] = pixel.0;
            (opaque >= 128).then_some(Srgb8 { r, g, b })
        })
        .collect();
    for colour in colours.iter().flatten() {
        *counts.entry(*colour).or_default() += 1;
        if counts.len() > MAX_NEEDLES * 64 {
            // A photo: no need to count all of it.
            break;
        }
    }
    if counts.len() > MAX_NEEDLES {
        return Err(ExactError::TooManyColours { found: counts.len() });
    }
    if counts.is_empty() {
        return Err(ExactError::Nothing);
    }
    if counts.len() > card.shades().len() {
        return Err(ExactError::TooFewShades { colours: counts.len(), shades: card.shades().len() });
    }
    let mut wanted: Vec<(Srgb8, u64)> = counts.into_iter().collect();
    wanted.sort_by_key(|&(colour, count)| (std::cmp::Reverse(count), colour));
    let places = assign(&wanted, card);
    let needle_of: BTreeMap<Srgb8, usize> =
        wanted.iter().enumerate().map(|(needle, &(colour, _))| (colour, needle)).collect();
    let cell = |colour: &Option<Srgb8>| colour.map_or(Cell::BARE, |colour| Cell::worked(needle_of[&colour]));
    let chart = chart(options, size, card, &places, colours.iter().map(cell).collect())?;
    let matches = wanted
        .iter()
        .zip(&places)
        .map(|(&(colour, cells), &place)| {
            let shade = &card.shades()[place];
            let (code, name) = (shade.code.clone(), shade.name.clone());
            Match {
                colour,
                cells,
                code,
                name,
                thread: shade.colour,
                delta_e: colour.lab().ciede2000(shade.lab),
            }
        })
        .collect();
    Ok(Exact { chart, squares, matches })
}

/// A place on the card for each colour, no place twice.
fn assign(wanted: &[(Srgb8, u64)], card: &ShadeCard) -> Vec<usize> {
    let mut places: Vec<Option<usize>> = Vec::with_capacity(wanted.len());
    let mut taken = vec![false; card.shades().len()];
    for (colour, _) in wanted {
        let same =
            card.shades().iter().enumerate().find(|(at, shade)| !taken[*at] && shade.colour == *colour);
        places.push(same.map(|(at, _)| at));
        if let Some((at, _)) = same {
            taken[at] = true;
        }
    }
    let open: Vec<usize> = (0..wanted.len()).filter(|&at| places[at].is_none()).collect();
    if !open.is_empty() {
        let free: Vec<usize> = (0..taken.len()).filter(|&at| !taken[at]).collect();
        let squares: Vec<Vec<f64>> = open
            .iter()
            .map(|&at| {
                let lab = wanted[at].0.lab();
                free.iter()
                    .map(|&place| lab.ciede2000(card.shades()[place].lab))
                    .map(|off| off * off)
                    .collect()
            })
            .collect();
        // In millionths: less of a squared unit is beyond the eye.
        let (_, chosen) = assignment::assign(&squares, 1e6);
        for (at, column) in open.into_iter().zip(chosen) {
            places[at] = Some(free[column]);
        }
    }
    places.into_iter().map(|place| place.expect("each colour has got its place")).collect()
}

/// The most cells of a row of a table that are looked at: no chart has a tenth of them.
const MOST_FIELDS: usize = 20_000;

/// A chart from a table of shade codes: one line a row, one code a cell, parted by commas, semicolons or tabs;
/// an empty field or a full stop is bare cloth.
///
/// # Errors
/// [`ExactError`] names the row and column at fault.
pub fn from_codes(bytes: &[u8], card: &ShadeCard, options: &ExactOptions) -> Result<Exact, ExactError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let first = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
    let uses = |sign: u8| first.iter().filter(|&&byte| byte == sign).count();
    let separator = [b',', b';', b'\t'].into_iter().rev().max_by_key(|&sign| uses(sign)).unwrap_or(b',');
    hold_to_fields(bytes, separator, MOST_FIELDS).map_err(ExactError::Wide)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(separator)
        .trim(csv::Trim::All)
        .from_reader(bytes);
    let by_code: BTreeMap<String, usize> =
        card.shades().iter().enumerate().map(|(place, shade)| (code::key(&shade.code), place)).collect();
    let mut places: Vec<usize> = Vec::new();
    let mut needle_of: BTreeMap<usize, usize> = BTreeMap::new();
    let mut cells = Vec::new();
    let (mut wanted, mut rows) = (0, 0);
    for record in reader.records() {
        let record = record?;
        rows += 1;
        if rows == 1 {
            wanted = record.len();
        } else if record.len() != wanted {
            return Err(ExactError::Ragged { row: rows, found: record.len(), wanted });
        }
        for (column, code) in record.iter().enumerate() {
            if code.is_empty() || code == "." {
                cells.push(Cell::BARE);
                continue;
            }
            let place = *by_code.get(&code::key(code)).ok_or_else(|| ExactError::NoSuchCode {
                row: rows,
                column: column + 1,
                code: code.to_owned(),
            })?;
            let needle = *needle_of.entry(place).or_insert_with(|| {
                places.push(place);
                places.len() - 1
            });
            if places.len() > MAX_NEEDLES {
                return Err(ExactError::TooManyColours { found: places.len() });
            }
            cells.push(Cell::worked(needle));
        }
    }
    if places.is_empty() {
        return Err(ExactError::Nothing);
    }
    let side = |length: usize| u32::try_from(length).unwrap_or(u32::MAX);
    let size = GridSize::new(side(wanted), side(rows))?;
    let chart = chart(options, size, card, &places, cells)?;
    let matches = chart
        .stitches()
        .into_iter()
        .zip(&places)
        .map(|(cells, &place)| {
            let shade = &card.shades()[place];
            let (code, name) = (shade.code.clone(), shade.name.clone());
            Match { colour: shade.colour, cells, code, name, thread: shade.colour, delta_e: 0.0 }
        })
        .collect();
    Ok(Exact { chart, squares: None, matches })
}

fn chart(
    options: &ExactOptions,
    size: GridSize,
    card: &ShadeCard,
    places: &[usize],
    cells: Vec<Cell>,
) -> Result<Chart, ExactError> {
    let needle = |&place: &usize| Needle {
        symbol: String::new(),
        threads: vec![Thread::of(&card.shades()[place], options.strands)],
        stitch: StitchKind::FullCross,
    };
    let needles = places.iter().map(needle).collect();
    Ok(Chart::new(options.title.clone(), size, options.cloth, needles, cells)?)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use image::{Rgba, RgbaImage};

    fn options() -> ExactOptions {
        ExactOptions { title: "Pool".into(), cloth: Cloth::default(), strands: 2 }
    }

    fn card(colours: &[&str]) -> ShadeCard {
        let rows: String =
            colours.iter().enumerate().map(|(at, colour)| format!("T{at},shade {at},{colour}\n")).collect();
        ShadeCard::read("test", format!("code,name,colour\n{rows}").as_bytes()).unwrap()
    }

    fn picture(colours: &[[u8; 4]], width: u32) -> DynamicImage {
        let height = colours.len() as u32 / width;
        RgbaImage::from_fn(width, height, |x, y| Rgba(colours[(y * width + x) as usize])).into()
    }

    #[test]
    fn colours_that_differ_never_share_a_thread_and_clear_pixels_stay_bare() {
        // Three near greys and a card on which one thread is nearest to all of them.
        let pixels = [[100, 100, 100, 255], [102, 102, 102, 255], [104, 104, 104, 255], [0, 0, 0, 0]];
        let all: Vec<[u8; 4]> = (0..16).map(|at| pixels[at % 4]).collect();
        let card = card(&["#666666", "#808080", "#404040", "#ff0000"]);
        let exact = from_picture(&picture(&all, 4), &card, &options()).unwrap();
        let mut codes: Vec<&str> = exact.matches.iter().map(|one| one.code.as_str()).collect();
        codes.sort_unstable();
        assert_eq!(codes, ["T0", "T1", "T2"]);
        // #666666 is on the card and keeps its thread.
        let same = exact.matches.iter().find(|one| one.colour.to_string() == "#666666").unwrap();
        assert_eq!((same.code.as_str(), same.delta_e), ("T0", 0.0));
        assert_eq!(exact.chart.stitches().iter().sum::<u64>(), 12);
        let lighter = exact.matches.iter().find(|one| one.colour.to_string() == "#686868").unwrap();
        assert_eq!(lighter.code, "T1");
    }

    #[test]
    fn the_assignment_is_the_best_of_all_by_exhaustion() {
        let card = card(&["#204060", "#a03050", "#30a060", "#c0c040", "#6080a0", "#101010"]);
        let colours = [[40, 70, 100, 255], [60, 90, 120, 255], [90, 120, 150, 255], [20, 30, 40, 255]];
        let all: Vec<[u8; 4]> = (0..16).map(|at| colours[at % 4]).collect();
        let exact = from_picture(&picture(&all, 4), &card, &options()).unwrap();
        let got: f64 = exact.matches.iter().map(|one| one.delta_e.powi(2)).sum();
        let mut best = f64::INFINITY;
        let labs: Vec<_> = colours.iter().map(|[r, g, b, _]| Srgb8 { r: *r, g: *g, b: *b }.lab()).collect();
        let cost = |at: usize, place: usize| labs[at].ciede2000(card.shades()[place].lab).powi(2);
        for code in 0..6usize.pow(4) {
            let places: Vec<usize> = (0..4).map(|at| code / 6usize.pow(at) % 6).collect();
            let distinct = (0..4).all(|one| (0..one).all(|two| places[one] != places[two]));
            if distinct {
                best = best.min((0..4).map(|at| cost(at, places[at])).sum());
            }
        }
        assert!((got - best).abs() < 1e-3, "{got} {best}");
    }

    #[test]
    fn too_many_colours_and_too_few_threads_are_told() {
        let many: Vec<[u8; 4]> = (0..400u32).map(|at| [(at % 256) as u8, (at / 256) as u8, 9, 255]).collect();
        let card = card(&["#204060"]);
        let error = from_picture(&picture(&many, 20), &card, &options()).unwrap_err();
        assert!(error.to_string().contains("400 colours"), "{error}");
        let few: Vec<[u8; 4]> = (0..16).map(|at| [at as u8 * 9, 0, 0, 255]).collect();
        let error = from_picture(&picture(&few, 4), &card, &options()).unwrap_err();
        assert!(error.to_string().contains("16 colours") && error.to_string().contains("only 1"), "{error}");
    }

    #[test]
    fn a_table_of_codes_is_taken_cell_by_cell() {
        let card = card(&["#204060", "#a03050"]);
        for text in [
            "T0,T1,,T0\nT0,.,T1,T0\n,,,\nT1,T1,T1,T1\n",
            "\u{feff}T0;T1;;T0\r\nT0;.;T1;T0\r\n;;;\r\nT1;T1;T1;T1",
        ] {
            let exact = from_codes(text.as_bytes(), &card, &options()).unwrap();
            assert_eq!(exact.chart.size().to_string(), "4 x 4");
            assert_eq!(exact.chart.stitches(), [4, 6]);
            assert_eq!(exact.chart.row(0)[2], Cell::BARE);
        }
        let error = from_codes(b"T0,T1,T0,T0\nT0,T9,T0,T0\n", &card, &options()).unwrap_err();
        assert_eq!(error.to_string(), "row 2, column 2: the shade card has no thread `T9`");
        let error = from_codes(b"T0,T1,T0,T0\nT0,T0,T0\n", &card, &options()).unwrap_err();
        assert_eq!(error.to_string(), "row 2 has 3 squares, the first has 4");
    }
}
