//! How the key is set: columns, sizes, and texts that go on in a second line.

use super::super::Print;
use super::super::measures::MARGIN;
use crate::chart::Thread;
use crate::printing::length::{Length, mm};
use crate::printing::typeface::{self, Weight};

/// Up to so many needles the key is one broad column.
const ONE_COLUMN: usize = 34;

/// The text sizes that two columns take, and with how many a short key has two: on one it would be a thin ladder.
const TWO_COLUMNS: [f64; 2] = [52.0, 75.0];

/// As many needles are a short key.
const FEW: usize = 12;

/// As wide as a column grows, in text sizes: all of the text's width on the usual papers.
const WIDEST: f64 = 56.0;

/// A column narrower than this has its figures closer together, in text sizes.
const NARROW: f64 = 30.0;

/// A column of the key is at least so many text sizes wide.
const NARROWEST: f64 = 28.0;

/// A code stands in one line as long as the name beside it keeps so many text sizes.
const NAME_ROOM: f64 = 9.0;

/// The share of a column that codes take at most.
const CODE_SHARE: f64 = 0.25;

/// What parts two columns.
const BETWEEN: Length = mm(6.0);

/// The lines of notes at the foot at most.
pub(super) const NOTE_LINES: usize = 7;

/// The size of the notes beside that of the rows, and the distance of their lines in sizes.
pub(super) const NOTE: [f64; 2] = [0.9, 1.35];

/// The measures of the key on this paper.
pub(super) struct Measures {
    pub(super) heading: Length,
    pub(super) body: Length,
    pub(super) row: Length,
    pub(super) columns: usize,
    /// The height of a column.
    pub(super) depth: Length,
    pub(super) width: Length,
    pub(super) top: Length,
    /// The width of the column of codes.
    code: Length,
    print: Print,
}

/// A text in lines, and its size.
#[derive(Default)]
pub(super) struct Text {
    pub(super) lines: Vec<String>,
    pub(super) size: Length,
}

impl Measures {
    /// `codes` are the threads of each row, `note` what stands at the foot.
    pub(super) fn of(
        rows: usize,
        codes: &[&[Thread]],
        note: &str,
        [width, height]: [Length; 2],
        print: Print,
    ) -> Self {
        // Where the page is narrow, text is smaller, so that its columns stand apart.
        let inner = width - 2.0 * MARGIN;
        let narrow = |size: Length, parts: f64| size.min(inner / parts);
        let (heading, body) = (narrow(print.text(18.0), 10.0), narrow(print.text(10.0), NARROWEST));
        let row = body * 1.95;
        let top = MARGIN + heading * 1.3 + body * 2.2;
        let lines = typeface::wrapped(note, Weight::Regular, body * NOTE[0], inner, NOTE_LINES).len();
        let foot = body * NOTE[0] * NOTE[1] * (lines as f64 + 0.6);
        let depth = (height - MARGIN - foot - top).max(row);
        let per_column = depth.holds(row, 1e-9).max(1) as usize;
        let has_two = inner > TWO_COLUMNS[0] * body && rows > ONE_COLUMN.min(per_column)
            || inner > TWO_COLUMNS[1] * body && rows > FEW;
        let columns = if has_two { 2 } else { 1 };
        let room = (inner - (columns as f64 - 1.0) * BETWEEN) / columns as f64;
        // Wider, the eye would lose its row between name and figures.
        let width = room.min(WIDEST * body);
        let mut measures = Self { heading, body, row, columns, depth, width, top, code: Length::ZERO, print };
        measures.code = measures.code_width(codes);
        measures
    }

    /// As wide as the widest code where names keep their room, else as its widest part.
    fn code_width(&self, codes: &[&[Thread]]) -> Length {
        let least = self.body * 2.2;
        let most = self.width * CODE_SHARE;
        let wide = |text: &str| typeface::width(&typeface::showable(text).0, Weight::Code, self.body);
        let whole = codes.iter().map(|threads| wide(&code(threads))).fold(least, Length::max);
        let [_, name, strands, ..] = self.stops_for(whole);
        if whole <= most && strands - self.body * 1.6 - name >= NAME_ROOM * self.body {
            return whole;
        }
        let parts = codes.iter().flat_map(|threads| {
            let last = threads.len().saturating_sub(1);
            threads.iter().enumerate().map(move |(at, thread)| {
                if at == last { thread.code.clone() } else { format!("{} +", thread.code) }
            })
        });
        parts.map(|part| wide(&part)).fold(least, Length::max).min(most)
    }

    /// The left of a column.
    pub(super) fn left(&self, column: usize) -> Length {
        MARGIN + column as f64 * (self.width + BETWEEN)
    }

    /// Where code, name, strands (middle), stitches and skeins (right ends) stand from the column's left.
    pub(super) fn stops(&self) -> [Length; 5] {
        self.stops_for(self.code)
    }

    fn stops_for(&self, code: Length) -> [Length; 5] {
        let body = self.body;
        let code_from = self.row * 2.0 + body * 0.5;
        let name_from = code_from + code + body * 0.8;
        let [strands, stitches] = if self.width < NARROW * body { [9.2, 3.6] } else { [10.4, 4.6] };
        [code_from, name_from, self.width - body * strands, self.width - body * stitches, self.width]
    }

    /// The size of texts that have no room in one line. Two lines of usual print have room in the height of a
    /// row, a little smaller; large print stays large.
    fn smaller(&self) -> Length {
        match self.print {
            Print::Usual => self.body * 0.85,
            Print::Large => self.body,
        }
    }

    /// From line to line.
    pub(super) fn pitch(&self) -> Length {
        match self.print {
            Print::Usual => self.body * 0.9,
            Print::Large => self.body * 1.2,
        }
    }

    /// Base lines of a text from the top of its row.
    pub(super) fn bases(&self, text: &Text) -> impl Iterator<Item = Length> {
        let (pitch, body, row, lines) = (self.pitch(), self.body, self.row, text.lines.len());
        let is_within = lines > 1 && lines as f64 * pitch <= row - body * 0.1;
        let first = if is_within {
            row / 2.0 - (lines as f64 - 1.0) * pitch / 2.0 + text.size * 0.34
        } else {
            row / 2.0 + body * 0.34
        };
        (0..lines).map(move |line| first + line as f64 * pitch)
    }

    /// The height of a row with so many lines of text.
    pub(super) fn height(&self, lines: usize) -> Length {
        if lines as f64 * self.pitch() <= self.row - self.body * 0.1 {
            return self.row;
        }
        self.row + lines.saturating_sub(1) as f64 * self.pitch()
    }

    /// As many lines as a row may have on this paper.
    fn most_lines(&self) -> usize {
        (self.depth - self.row).holds(self.pitch(), 0.0) as usize + 1
    }

    /// The lines of a code: parted at its spaces, then anywhere; never cut as long as there is room for it.
    pub(super) fn code_lines(&self, threads: &[Thread]) -> Text {
        let (text, _) = typeface::showable(&code(threads));
        if typeface::width(&text, Weight::Code, self.body) <= self.code + mm(1e-6) {
            return Text { lines: vec![text], size: self.body };
        }
        let most = self.most_lines().min(6);
        let size = self.smaller();
        let fits = |text: &str| typeface::width(text, Weight::Code, size) <= self.code + mm(1e-6);
        let mut lines: Vec<String> = vec![String::new()];
        for word in text.split_whitespace() {
            let line = lines.last().cloned().unwrap_or_default();
            let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if fits(&longer) {
                lines.pop();
                lines.push(longer);
                continue;
            }
            let mut part = String::new();
            if line.is_empty() {
                lines.pop();
            }
            for character in word.chars() {
                part.push(character);
                if !fits(&part) && part.chars().count() > 1 {
                    part.pop();
                    lines.push(std::mem::replace(&mut part, character.to_string()));
                }
            }
            lines.push(part);
        }
        if lines.len() > most {
            let rest = lines.split_off(most - 1).concat();
            lines.push(typeface::shortened(&rest, Weight::Code, size, self.code));
        }
        Text { lines, size }
    }

    /// The lines of a name: five for all of it, or two for each of its parts.
    pub(super) fn name_lines(&self, parts: &[String]) -> Text {
        let [_, name, strands, ..] = self.stops();
        let limit = strands - self.body * 1.6 - name;
        let parts: Vec<String> = parts.iter().map(|part| typeface::showable(part).0).collect();
        let whole = parts.join(" ");
        if typeface::width(&whole, Weight::Regular, self.body) <= limit {
            return Text { lines: vec![whole], size: self.body };
        }
        let size = self.smaller();
        let wrap = |text: &str, most: usize| typeface::wrapped(text, Weight::Regular, size, limit, most);
        let joined = wrap(&whole, self.most_lines().min(5));
        if !joined.last().is_some_and(|line| line.ends_with('…')) {
            return Text { lines: joined, size };
        }
        let mut lines: Vec<String> = parts.iter().flat_map(|part| wrap(part, 2)).collect();
        lines.truncate(self.most_lines());
        Text { lines, size }
    }
}

/// The codes of threads, joined by `+`.
fn code(threads: &[Thread]) -> String {
    threads.iter().map(|thread| thread.code.as_str()).collect::<Vec<_>>().join(" + ")
}
