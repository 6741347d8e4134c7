//! Text as stitches: lines of letters, broken, aligned and turned.

use unicode_normalization::UnicodeNormalization as _;

use super::MarkError;
use super::faces::Letter;
use crate::chart::mark::{LetterAlign, LetterFace, LetterStyle, Turn};

/// The longest stitch of a backstitched letter, in cells; as of an outline.
const LONGEST: f64 = crate::chart::mark::LONGEST_STITCH;

/// The longest text of a mark, in characters: a page of a book, and a bound on the work of breaking lines.
const MAX_TEXT: usize = 2000;

/// Text as stitches, from the top left of its box.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Written {
    /// Cells with a cross.
    pub crosses: Vec<[i32; 2]>,
    /// Strokes of backstitch from hole to hole, none of its stitches longer than 3 cells.
    pub strokes: Vec<Vec<[i32; 2]>>,
    /// The box of the text: from the top of the first line's capitals to the last base line. Accents stand
    /// above it and tails hang below.
    pub size: [i32; 2],
}

/// Writes a text.
///
/// # Errors
/// [`MarkError`] for a character that the face lacks, a script that runs from right to left and a text of over
/// 2,000 characters.
pub fn write(text: &str, style: &LetterStyle, mark: &str) -> Result<Written, MarkError> {
    if let Some(character) = text.chars().find(|&character| runs_from_right(character)) {
        return Err(MarkError::RightToLeft { mark: mark.into(), character });
    }
    let found = text.chars().count();
    if found > MAX_TEXT {
        return Err(MarkError::TextTooLong { mark: mark.into(), found, limit: MAX_TEXT });
    }
    // All that the face lacks is told at once.
    let mut missing: Vec<char> = Vec::new();
    for character in text.nfc().filter(|character| !character.is_whitespace()) {
        if !style.face.has(character) && !missing.contains(&character) {
            missing.push(character);
        }
    }
    if !missing.is_empty() {
        return Err(lacks(style.face, missing, mark));
    }
    let mut lines = Vec::new();
    for line in text.lines() {
        let line: String = line.nfc().map(|c| if c.is_whitespace() { ' ' } else { c }).collect();
        lines.extend(wrapped(&line, style, mark)?);
    }
    let capitals = style.face.capitals(style.capitals);
    let pitch = (style.face.line_pitch(style.capitals) + i32::from(style.line_gap)).max(1);
    let width = lines.iter().map(Line::width).max().unwrap_or(0);
    let mut written =
        Written { size: [width, (lines.len().max(1) as i32 - 1) * pitch + capitals], ..Written::default() };
    for (line, y) in lines.iter().zip((0..).step_by(pitch as usize)) {
        let x = match style.align {
            LetterAlign::Left => 0,
            LetterAlign::Centre => (width - line.width()) / 2,
            LetterAlign::Right => width - line.width(),
        };
        written.crosses.extend(line.crosses.iter().map(|cell| [cell[0] + x - line.left, cell[1] + y]));
        let moved = |stroke: &Vec<[i32; 2]>| {
            stroke.iter().map(|hole| [hole[0] + x - line.left, hole[1] + y]).collect()
        };
        written.strokes.extend(line.strokes.iter().map(moved));
    }
    written.crosses.sort_unstable_by_key(|&[x, y]| [y, x]);
    written.crosses.dedup();
    let written = written.turned(style.turn);
    Ok(Written { strokes: written.strokes.iter().map(|stroke| short_stitches(stroke)).collect(), ..written })
}

impl Written {
    fn turned(self, turn: Turn) -> Self {
        let [width, height] = self.size;
        // A cell is turned about its middle, a hole as it stands: hence the ones.
        let cell = |[x, y]: [i32; 2]| match turn {
            Turn::None => [x, y],
            Turn::Quarter => [height - 1 - y, x],
            Turn::Half => [width - 1 - x, height - 1 - y],
            Turn::ThreeQuarters => [y, width - 1 - x],
        };
        let hole = |[x, y]: [i32; 2]| match turn {
            Turn::None => [x, y],
            Turn::Quarter => [height - y, x],
            Turn::Half => [width - x, height - y],
            Turn::ThreeQuarters => [y, width - x],
        };
        let size = match turn {
            Turn::None | Turn::Half => [width, height],
            Turn::Quarter | Turn::ThreeQuarters => [height, width],
        };
        Self {
            crosses: self.crosses.into_iter().map(cell).collect(),
            strokes: self.strokes.into_iter().map(|stroke| stroke.into_iter().map(hole).collect()).collect(),
            size,
        }
    }

    /// All that is stitched lies within these columns and rows: `[left, top, right, bottom]`, the last two
    /// not included.
    #[must_use]
    pub fn ink(&self) -> Option<[i32; 4]> {
        let cells = self.crosses.iter().map(|&[x, y]| [x, y, x + 1, y + 1]);
        let holes = self.strokes.iter().flatten().map(|&[x, y]| [x, y, x, y]);
        cells.chain(holes).reduce(|one, two| {
            [one[0].min(two[0]), one[1].min(two[1]), one[2].max(two[2]), one[3].max(two[3])]
        })
    }
}

/// One line of letters, before it is put in its place.
#[derive(Debug, Default)]
struct Line {
    crosses: Vec<[i32; 2]>,
    strokes: Vec<Vec<[i32; 2]>>,
    left: i32,
    right: i32,
}

impl Line {
    fn width(&self) -> i32 {
        self.right - self.left
    }

    fn of(text: &str, style: &LetterStyle, mark: &str) -> Result<Self, MarkError> {
        let mut line = Self::default();
        let mut pen = 0;
        let mut ink: Option<[i32; 2]> = None;
        // Where a joined letter left: its height.
        let mut left: Option<i32> = None;
        for character in text.chars() {
            let mut letter = letter(character, style, mark)?;
            if let Some(height) = left.filter(|_| !letter.from_high.is_empty()) {
                if height < style.face.capitals(style.capitals) {
                    letter.strokes.splice(..1, [std::mem::take(&mut letter.from_high)]);
                }
                // Letters that are set wider are still joined.
                if style.letter_gap > 0 {
                    letter.strokes.push(vec![[-i32::from(style.letter_gap), height], [0, height]]);
                }
            }
            left = letter.leaves;
            for &[x, y] in &letter.crosses {
                line.crosses.push([x + pen, y]);
                ink = Some(wider(ink, x + pen, x + pen + 1));
            }
            for stroke in &letter.strokes {
                for &[x, _] in stroke {
                    ink = Some(wider(ink, x + pen, x + pen));
                }
                line.strokes.push(stroke.iter().map(|&[x, y]| [x + pen, y]).collect());
            }
            pen += letter.advance + i32::from(style.letter_gap);
        }
        [line.left, line.right] = ink.unwrap_or([0, 0]);
        Ok(line)
    }
}

fn wider(ink: Option<[i32; 2]>, left: i32, right: i32) -> [i32; 2] {
    ink.map_or([left, right], |ink| [ink[0].min(left), ink[1].max(right)])
}

fn letter(character: char, style: &LetterStyle, mark: &str) -> Result<Letter, MarkError> {
    style.face.letter(character, style.capitals).ok_or_else(|| lacks(style.face, vec![character], mark))
}

fn lacks(face: LetterFace, characters: Vec<char>, mark: &str) -> MarkError {
    let has_all = |face: &LetterFace| characters.iter().all(|&character| face.has(character));
    let others = LetterFace::ALL.into_iter().filter(has_all).collect();
    MarkError::MissingCharacters { mark: mark.into(), characters, face, others }
}

/// A line broken at spaces so that each part is as wide as was asked at most; a single word may be wider.
fn wrapped(text: &str, style: &LetterStyle, mark: &str) -> Result<Vec<Line>, MarkError> {
    let whole = Line::of(text, style, mark)?;
    let Some(limit) = style.wrap.map(i32::from).filter(|&limit| whole.width() > limit) else {
        return Ok(vec![whole]);
    };
    let mut lines = Vec::new();
    let mut held: Option<(String, Line)> = None;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        if let Some((text, line)) = held.take() {
            let longer = format!("{text} {word}");
            let wider = Line::of(&longer, style, mark)?;
            if wider.width() <= limit {
                held = Some((longer, wider));
                continue;
            }
            lines.push(line);
        }
        held = Some((word.to_owned(), Line::of(word, style, mark)?));
    }
    lines.extend(held.map(|(_, line)| line));
    Ok(lines)
}

/// A stroke with holes between, so that no stitch is longer than [`LONGEST`]; straight parts and clean
/// diagonals get one stitch from each hole that they pass to the next.
fn short_stitches(stroke: &[[i32; 2]]) -> Vec<[i32; 2]> {
    let mut points: Vec<[i32; 2]> = stroke.first().copied().into_iter().collect();
    for pair in stroke.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let [dx, dy] = [to[0] - from[0], to[1] - from[1]];
        let passed = gcd(dx.abs(), dy.abs()).max(1);
        let along = |parts: i32| {
            let at = move |from: i32, by: i32, part: i32| {
                from + (f64::from(by) * f64::from(part) / f64::from(parts)).round() as i32
            };
            (1..=parts).map(move |part| [at(from[0], dx, part), at(from[1], dy, part)])
        };
        let short = |parts: &i32| {
            let mut here = from;
            along(*parts).all(|next| {
                let length = libm::hypot(f64::from(next[0] - here[0]), f64::from(next[1] - here[1]));
                here = next;
                length <= LONGEST
            })
        };
        // As few parts as keep every stitch short, once those that fall on holes of the stroke are made.
        let parts = (1..).map(|times| passed * times).find(short).unwrap_or(passed);
        points.extend(along(parts));
    }
    points.dedup();
    points
}

fn gcd(one: i32, two: i32) -> i32 {
    if two == 0 { one } else { gcd(two, one % two) }
}

/// Whether a character belongs to a script that runs from right to left, or asks for it: the blocks whose
/// default direction is R or AL (Unicode Standard Annex 9), and its controls.
fn runs_from_right(character: char) -> bool {
    matches!(u32::from(character),
        0x0590..=0x08ff | 0x200f | 0x202b | 0x202e | 0x2067 | 0xfb1d..=0xfdff | 0xfe70..=0xfeff
        | 0x10800..=0x10fff | 0x1e800..=0x1efff)
}
