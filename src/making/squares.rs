//! Squares of a chart in a picture of one: a screen grab of so many pixels a square, or a photo of a printed page.
//!
//! Owns where squares lie, and whether a picture looks like a page of them. Leaves which thread a square gets to `exact`.

use image::RgbaImage;

/// Neighbouring pixels that differ by more than this in a channel part two squares. Packing and smoothing of screen grabs
/// stay below; two threads that a person tells apart do not.
const STEP: u8 = 20;

/// The fewest steps along each side, by which squares are told from a chart of one pixel a cell whose motifs happen to be
/// of even size: so many steps that are all multiples of something are no chance.
const FEWEST_STEPS: usize = 6;

/// The widest rules between squares, in pixels.
const WIDEST_RULE: usize = 4;

/// The largest share of steps that may stand off the pitch: a cursor, a frame about the chart.
const OFF: f64 = 0.04;

/// The squares of one side of a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Side {
    /// Pixels from square to square.
    pitch: f64,
    /// Where the first square begins, which may lie before the picture.
    start: f64,
    count: u32,
}

/// Squares in a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Squares {
    sides: [Side; 2],
}

impl Squares {
    /// The squares of a picture in which each has one colour, with or without rules between them; `None` where there are
    /// none, or where each pixel is a cell.
    #[must_use]
    pub fn find(picture: &RgbaImage) -> Option<Self> {
        if [Axis::Across, Axis::Down].iter().any(|axis| axis.is_busy(picture)) {
            return None;
        }
        let [across, down] = [Axis::Across.side(picture)?, Axis::Down.side(picture)?];
        let squares = Self { sides: [across, down] };
        let is_square = (across.pitch / down.pitch - 1.0).abs() < 0.1;
        (is_square && across.count >= 4 && down.count >= 4 && squares.are_plain(picture)).then_some(squares)
    }

    /// Pixels from square to square.
    #[must_use]
    pub fn pitch(&self) -> f64 {
        (self.sides[0].pitch + self.sides[1].pitch) / 2.0
    }

    /// Squares across and down.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        self.sides.map(|side| side.count)
    }

    /// The picture with one pixel a square: the middle one.
    #[must_use]
    pub fn cells(&self, picture: &RgbaImage) -> RgbaImage {
        let [columns, rows] = self.size();
        RgbaImage::from_fn(columns, rows, |column, row| {
            *picture
                .get_pixel(self.at(0, column, 0.5, picture.width()), self.at(1, row, 0.5, picture.height()))
        })
    }

    /// The pixel so far into a square.
    fn at(&self, axis: usize, index: u32, share: f64, end: u32) -> u32 {
        let Side { pitch, start, .. } = self.sides[axis];
        #[allow(clippy::cast_sign_loss, reason = "clamped to the picture")]
        let at = (start + (f64::from(index) + share) * pitch).floor().clamp(0.0, f64::from(end - 1)) as u32;
        at
    }

    /// Whether nearly all squares have one colour within: symbols in them cannot be taken cell by cell.
    fn are_plain(&self, picture: &RgbaImage) -> bool {
        let [columns, rows] = self.size();
        let is_plain = |column: u32, row: u32| {
            let colour = |x: f64, y: f64| {
                let x = self.at(0, column, x, picture.width());
                *picture.get_pixel(x, self.at(1, row, y, picture.height()))
            };
            let middle = colour(0.5, 0.5);
            let places = [0.34, 0.42, 0.58, 0.66];
            places.iter().all(|&y| places.iter().all(|&x| !differ(middle.0, colour(x, y).0)))
        };
        let plain = (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
        let plain = plain.filter(|&(column, row)| is_plain(column, row)).count() as f64;
        plain >= 0.97 * f64::from(columns) * f64::from(rows)
    }
}

/// All four channels are compared, so that many pixels are at a time.
fn differ(one: [u8; 4], two: [u8; 4]) -> bool {
    one.iter().zip(two).fold(false, |any, (one, two)| any | (one.abs_diff(two) > STEP))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Axis {
    Across,
    Down,
}

impl Axis {
    /// Pixels along it, and across it.
    fn lengths(self, picture: &RgbaImage) -> [u32; 2] {
        match self {
            Self::Across => [picture.width(), picture.height()],
            Self::Down => [picture.height(), picture.width()],
        }
    }

    fn pixel(self, picture: &RgbaImage, along: u32, across: u32) -> [u8; 4] {
        match self {
            Self::Across => picture.get_pixel(along, across).0,
            Self::Down => picture.get_pixel(across, along).0,
        }
    }

    /// Whether there are steps at more places than squares can have: a photo. Told by some of the rows.
    fn is_busy(self, picture: &RgbaImage) -> bool {
        let [along, across] = self.lengths(picture);
        let rows: Vec<u32> = (0..across).step_by((across / 48).max(1) as usize).collect();
        let is_step = |at: &u32| {
            rows.iter().any(|&row| differ(self.pixel(picture, at - 1, row), self.pixel(picture, *at, row)))
        };
        (1..along).filter(is_step).count() as f64 > 0.75 * f64::from(along)
    }

    /// Counts, for each place of a side, those of every so many lines in which pixels differ from those before, up to two at
    /// the least. Row by row of the picture as it lies in memory, whichever the axis.
    fn count_steps(self, picture: &RgbaImage, by: usize, found: &mut [u32]) {
        let [along, across] = self.lengths(picture);
        match self {
            Self::Across => {
                for row in picture.as_raw().chunks_exact(4 * along as usize).step_by(by) {
                    let (pixels, _) = row.as_chunks::<4>();
                    for ((&before, &here), found) in pixels.iter().zip(&pixels[1..]).zip(&mut found[1..]) {
                        *found += u32::from(differ(before, here));
                    }
                }
            }
            Self::Down => {
                for at in 1..along {
                    let is_step = |&column: &u32| {
                        differ(self.pixel(picture, at - 1, column), self.pixel(picture, at, column))
                    };
                    let columns = (0..across).step_by(by);
                    found[at as usize] = columns.filter(is_step).take(2).count() as u32;
                }
            }
        }
    }

    /// The places of a side before which pixels differ from those behind, in two rows at the least; none where a few rows
    /// show already that they are not those of squares.
    fn steps(self, picture: &RgbaImage) -> Vec<usize> {
        let along = self.lengths(picture)[0] as usize;
        let mut found = vec![0; along];
        for by in [64, 8, 1] {
            found.fill(0);
            self.count_steps(picture, by, &mut found);
            let steps = (1..along).filter(|&at| found[at] >= 2).collect::<Vec<_>>();
            if by == 1 {
                return steps;
            }
            if (0..=WIDEST_RULE).all(|rule| is_too_close(&steps, rule)) {
                break;
            }
        }
        Vec::new()
    }

    /// The squares along it.
    fn side(self, picture: &RgbaImage) -> Option<Side> {
        let length = f64::from(self.lengths(picture)[0]);
        let steps = self.steps(picture);
        // Two edges of a rule may pass for squares as wide as it is: the wider are meant.
        let found = (0..=WIDEST_RULE).filter_map(|rule| of_steps(&steps, rule, length));
        found.reduce(|one, other| if other.pitch > one.pitch * 1.2 { other } else { one })
    }
}

/// Whether steps stand too close for squares with rules so wide at the most. Where they do, they do with more steps too.
fn is_too_close(steps: &[usize], rule: usize) -> bool {
    match rule {
        0 => steps.windows(2).any(|pair| pair[1] - pair[0] < 2),
        rule => {
            let mut groups = steps.chunk_by(|one, next| next - one <= rule);
            groups.any(|group| group[group.len() - 1] - group[0] > rule)
        }
    }
}

/// The squares whose edges stand at steps, where rules between them are so wide at the most.
fn of_steps(steps: &[usize], rule: usize, length: f64) -> Option<Side> {
    // Both edges of a rule are one place.
    let mut places: Vec<f64> = Vec::new();
    for group in steps.chunk_by(|one, next| next - one <= rule) {
        let (first, last) = (*group.first()?, *group.last()?);
        if last - first > rule {
            return None;
        }
        places.push((first + last) as f64 / 2.0);
    }
    if places.len() < FEWEST_STEPS {
        return None;
    }
    let least = places.windows(2).map(|pair| pair[1] - pair[0]).fold(f64::MAX, f64::min);
    // A rule takes a third of a square at the most; without one, squares are two pixels or more.
    if least < 2.0 || (rule as f64) * 3.0 > least {
        return None;
    }
    // The smallest way between two may be that of a step off the pitch, or of two squares where there is a third between.
    let (offset, pitch) = [1.0, 0.5, 1.0 / 3.0]
        .into_iter()
        .filter(|share| least * share >= 2.0)
        .find_map(|share| fitted(&places, least * share, rule))?;
    #[allow(clippy::cast_sign_loss, reason = "places lie on the picture")]
    let before = (offset / pitch - 0.25).ceil().max(0.0) as u32;
    let start = offset - f64::from(before) * pitch;
    #[allow(clippy::cast_sign_loss, reason = "the picture ends behind its first place")]
    let count = ((length - start) / pitch - 0.25).ceil().max(0.0) as u32;
    Some(Side { pitch, start, count })
}

/// Where the first place lies and the pitch on which all others stand (least squares), if nearly all do.
fn fitted(places: &[f64], pitch: f64, rule: usize) -> Option<(f64, f64)> {
    let first = *places.first()?;
    let mut pitch = pitch;
    let mut fitting: Vec<[f64; 2]> = Vec::new();
    for &at in places {
        let squares = ((at - first) / pitch).round();
        if (at - first - squares * pitch).abs() <= pitch / 4.0 {
            fitting.push([squares, at]);
            // The further, the surer: a pixel that was rounded off counts less and less.
            if squares > 0.0 {
                pitch = (at - first) / squares;
            }
        }
    }
    let count = fitting.len() as f64;
    let mean = [0, 1].map(|part| fitting.iter().map(|pair| pair[part]).sum::<f64>() / count);
    let [mut both, mut square] = [0.0; 2];
    for [squares, at] in &fitting {
        both += (squares - mean[0]) * (at - mean[1]);
        square += (squares - mean[0]).powi(2);
    }
    if square < 1.0 {
        return None;
    }
    let pitch = both / square;
    let first = mean[1] - pitch * mean[0];
    // Half a pixel that a picture was rounded by, and what rules of two widths shift their middle.
    let room = (0.75 + rule as f64 / 2.0).min(pitch / 3.0);
    let is_off = |at: &&f64| {
        let squares = ((**at - first) / pitch).round();
        (**at - first - squares * pitch).abs() > room
    };
    let off = places.iter().filter(is_off).count() as f64;
    (off <= OFF * places.len() as f64).then_some((first, pitch))
}

/// The pieces of a picture that are looked at for rules, along and across, in pixels: long enough for some squares of a
/// photo of a page, and so low that a page held askew by two degrees does not blur them.
const PIECE: [u32; 2] = [384, 56];

/// So many pieces a side of the picture.
const PIECES: u32 = 5;

/// The pitches that are looked for, in pixels: closer, symbols cannot be seen; wider, a photo shows a few squares alone.
const PITCHES: [usize; 2] = [7, 96];

/// How much more alike a page must be to itself a square on than half a square beside that, and two squares on (mean
/// correlations of edges along and across, over all pieces). A page from a bad printer, laid askew, has 0.26 and 0.22; of a
/// dozen photos none has over 0.09 and 0.12 together, as what a photo repeats, it repeats at no one pitch.
const ALIKE: [f64; 2] = [0.16, 0.13];

/// Whether a picture looks like a page of a chart: light paper with rules or symbols at one pitch across and down, over most
/// of it.
#[must_use]
pub fn look_like_a_page(picture: &RgbaImage) -> bool {
    let sides = [picture.width(), picture.height()];
    let least = sides[0].min(sides[1]);
    if least < 200 {
        return false;
    }
    let grey = |[x, y]: [u32; 2]| {
        let [r, g, b, _] = picture.get_pixel(x, y).0;
        (f64::from(r) + 2.0 * f64::from(g) + f64::from(b)) / 4.0
    };
    let [long, low] = PIECE.map(|side| side.min(least));
    // Pieces along and down, spread evenly.
    let alike = [0, 1].map(|axis| {
        let size = if axis == 0 { [long, low] } else { [low, long] };
        let begin = |at: u32, side: usize| {
            let middle = (2 * at + 1) * (sides[side] / 2) / PIECES;
            middle.saturating_sub(size[side] / 2).min(sides[side] - size[side])
        };
        let places = (0..PIECES).flat_map(|down| (0..PIECES).map(move |across| [across, down]));
        let profiles = places.map(|[across, down]| {
            let [left, top] = [begin(across, 0), begin(down, 1)];
            Profile::of(long, low, |along, aside| {
                grey(if axis == 0 { [left + along, top + aside] } else { [left + aside, top + along] })
            })
        });
        profiles.filter(Profile::is_paper).map(|profile| profile.alike()).collect::<Vec<_>>()
    });
    // A third of the picture is paper at the least.
    let is_paper = |alike: &Vec<Vec<f64>>| alike.len() as u32 * 3 >= PIECES * PIECES;
    let most = PITCHES[1].min(long as usize / 4);
    alike.iter().all(is_paper)
        && (PITCHES[0]..=most).any(|pitch| alike.iter().all(|alike| repeats(alike, pitch)))
}

/// Whether pieces repeat themselves at a pitch, on the mean.
fn repeats(alike: &[Vec<f64>], pitch: usize) -> bool {
    // A page that is photographed from one side is a little larger there.
    let reach = (pitch / 25).max(1);
    let mean = |lag: usize| {
        let best = |alike: &Vec<f64>| {
            let near = alike.get(lag - reach..=lag + reach).unwrap_or_default();
            near.iter().copied().fold(-1.0, f64::max)
        };
        alike.iter().map(best).sum::<f64>() / alike.len().max(1) as f64
    };
    let beside = mean(pitch + pitch / 2).max(mean(pitch / 2 + reach));
    mean(pitch) - beside >= ALIKE[0] && mean(2 * pitch) >= ALIKE[1]
}

/// What a piece shows along its length: edges, and how light it is.
struct Profile {
    edges: Vec<f64>,
    light: f64,
}

impl Profile {
    fn of(long: u32, low: u32, grey: impl Fn(u32, u32) -> f64) -> Self {
        let line = |along: u32| (0..low).map(|aside| grey(along, aside)).sum::<f64>() / f64::from(low);
        let means: Vec<f64> = (0..long).map(line).collect();
        let edges: Vec<f64> = means.windows(2).map(|pair| (pair[1] - pair[0]).abs()).collect();
        let mean = edges.iter().sum::<f64>() / edges.len().max(1) as f64;
        let mut sorted = means;
        sorted.sort_by(f64::total_cmp);
        let light = sorted.get(sorted.len() * 3 / 4).copied().unwrap_or_default();
        Self { edges: edges.into_iter().map(|edge| edge - mean).collect(), light }
    }

    /// Light for the most part.
    fn is_paper(&self) -> bool {
        self.light > 120.0
    }

    /// How alike it is to itself so many pixels on (normalised autocorrelation), from none on.
    fn alike(&self) -> Vec<f64> {
        let most = 2 * PITCHES[1] + PITCHES[1] / 10;
        let alike = |lag: usize| {
            let (mut both, mut one, mut two) = (0.0, 0.0, 0.0);
            for (first, second) in self.edges.iter().zip(self.edges.iter().skip(lag)) {
                both += first * second;
                one += first * first;
                two += second * second;
            }
            both / (one * two).sqrt().max(1e-9)
        };
        (0..most.min(self.edges.len() * 2 / 3)).map(alike).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use image::Rgba;
    use proptest::prelude::*;

    const COLOURS: [[u8; 4]; 5] =
        [[20, 60, 90, 255], [230, 210, 160, 255], [180, 60, 70, 255], [90, 120, 60, 255], [0, 0, 0, 0]];

    /// A chart of few colours in patches, one pixel a cell.
    fn chart(columns: u32, rows: u32, seed: u32) -> RgbaImage {
        RgbaImage::from_fn(columns, rows, |x, y| {
            let grain = (x * 7919 + y * 104_729 + seed * 31).wrapping_mul(2_654_435_761) >> 27;
            Rgba(COLOURS[((x / 3 + y / 2 + seed + grain / 20) % 5) as usize])
        })
    }

    /// The same drawn larger, with rules of so many pixels at the left and top of each square.
    fn grab(chart: &RgbaImage, pitch: f64, rule: u32, cut: [u32; 2]) -> RgbaImage {
        let side = |cells: u32| (f64::from(cells) * pitch).round() as u32;
        RgbaImage::from_fn(side(chart.width()) - cut[0], side(chart.height()) - cut[1], |x, y| {
            let place = |at: u32, end: u32| {
                let cell = (((f64::from(at) + 0.5) / pitch) as u32).min(end - 1);
                (cell, at.saturating_sub(side(cell)))
            };
            let ((column, left), (row, top)) =
                (place(x + cut[0], chart.width()), place(y + cut[1], chart.height()));
            if left < rule || top < rule { Rgba([60, 60, 60, 255]) } else { *chart.get_pixel(column, row) }
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]
        #[test]
        fn a_screen_grab_gives_the_chart_back(
            columns in 12u32..40,
            rows in 12u32..40,
            pitch in 4u32..24,
            rule in 0u32..3,
            seed in 0u32..50,
        ) {
            prop_assume!(rule * 4 <= pitch);
            let chart = chart(columns, rows, seed);
            let grab = grab(&chart, f64::from(pitch), rule, [0, 0]);
            let found = Squares::find(&grab).unwrap();
            prop_assert_eq!(found.size(), [columns, rows]);
            prop_assert!((found.pitch() - f64::from(pitch)).abs() < 0.05, "{}", found.pitch());
            prop_assert!(found.cells(&grab) == chart);
        }
    }

    proptest! {
        #[test]
        fn steps_that_are_too_close_are_those_of_no_squares_with_more_of_them_either(
            some in prop::collection::btree_set(0_usize..200, 2..40),
            more in prop::collection::btree_set(0_usize..200, 0..40),
        ) {
            let all: Vec<usize> = some.union(&more).copied().collect();
            let some: Vec<usize> = some.into_iter().collect();
            for rule in 0..=WIDEST_RULE {
                if is_too_close(&some, rule) {
                    prop_assert!(is_too_close(&all, rule), "{rule}");
                    prop_assert_eq!(of_steps(&all, rule, 200.0), None);
                }
            }
        }
    }

    #[test]
    fn squares_that_were_made_smaller_to_no_whole_number_of_pixels_are_found() {
        let chart = chart(60, 44, 3);
        for pitch in [7.3, 9.6, 12.75] {
            let grab = grab(&chart, pitch, 0, [0, 0]);
            let found = Squares::find(&grab).unwrap();
            assert_eq!(found.size(), [60, 44], "{pitch}");
            assert!(found.cells(&grab) == chart, "{pitch}");
        }
    }

    #[test]
    fn a_grab_that_begins_within_a_square_keeps_what_is_more_than_a_quarter_of_one() {
        let chart = chart(30, 26, 1);
        let whole = |cut: [u32; 2]| Squares::find(&grab(&chart, 10.0, 0, cut)).unwrap().size();
        assert_eq!(whole([4, 0]), [30, 26]);
        assert_eq!(whole([9, 0]), [29, 26]);
    }

    #[test]
    fn a_chart_of_one_pixel_a_cell_and_a_photo_have_no_squares() {
        for seed in 0..40 {
            assert_eq!(Squares::find(&chart(40, 30, seed)), None, "{seed}");
        }
        let photo = RgbaImage::from_fn(200, 150, |x, y| {
            let grain = (x * 7919 + y * 104_729).wrapping_mul(2_654_435_761) >> 26;
            Rgba([(x + grain) as u8, (y + grain) as u8, (x / 2 + y / 3 + grain) as u8, 255])
        });
        assert_eq!(Squares::find(&photo), None);
    }

    #[test]
    fn squares_with_symbols_in_them_are_none_that_can_be_taken() {
        let chart = chart(30, 26, 1);
        let mut page = grab(&chart, 12.0, 1, [0, 0]);
        for (x, y, pixel) in page.enumerate_pixels_mut() {
            let within = |at: u32| (3..10).contains(&(at % 12));
            if within(x) && within(y) && (x + y) % 4 < 2 {
                *pixel = Rgba([0, 0, 0, 255]);
            }
        }
        assert_eq!(Squares::find(&page), None);
    }
}
