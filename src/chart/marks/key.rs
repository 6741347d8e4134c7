//! The stitched key: a sample of each mark beside its label, under a title, over date and initials.

use super::laid::{Canvas, Laid, Shown, With, Work, lines_round, ring_cells};
use super::lettering::{self, Written};
use super::region::Region;
use super::{MarkError, MarkWarning};
use crate::chart::mark::{Key, LetterAlign, LetterFace, LetterStyle, Place, Sample};
use crate::chart::{Chart, LineLayer, LinePattern, LineStitch, Mark, Thread, WorkedLine};

/// Cells between a sample and its label, between columns, between rows, and between a frame and what it holds.
const SAMPLE_GAP: i32 = 3;
const COLUMN_GAP: i32 = 5;
const ROW_GAP: i32 = 3;
const FRAME_GAP: i32 = 2;

/// Cells of cloth beyond a key that stands on cloth of its own: its last line is not to lie on the edge of the design,
/// where the frame or the seam begins (common practice, no source).
const EDGE: i32 = 3;

/// One line of the key.
struct Entry<'a> {
    shown: &'a Shown<'a>,
    sample: SampleCells,
    label: Written,
    /// How far accents and tails reach beyond the label's box.
    beyond: i32,
}

/// The cells of a sample, from its own top left.
struct SampleCells {
    /// What is outlined.
    region: Region,
    /// Crosses of the base's needles.
    crosses: Vec<([i32; 2], usize)>,
    /// The cells of a halo.
    ring: Option<Region>,
    size: [i32; 2],
}

impl Entry<'_> {
    fn width(&self, samples: i32) -> i32 {
        samples + SAMPLE_GAP + self.label.size[0]
    }

    fn height(&self) -> i32 {
        self.sample.size[1].max(self.label.size[1] + 2 * self.beyond)
    }
}

/// Everything in the key, measured: texts and entries are placed from the block's top left.
struct Block<'a> {
    title: Option<Written>,
    foot: Option<Written>,
    columns: Vec<Vec<Entry<'a>>>,
    /// The width of samples, the same for all so that labels stand under each other.
    samples: i32,
}

/// Lays the key out and puts its stitches with the others; the canvas grows where it stands on new cloth.
pub(super) fn lay(
    key: &Key<Vec<Thread>>,
    shown: &[Shown],
    chart: &Chart,
    canvas: &mut Canvas,
    work: &mut Work,
) -> Result<(), MarkError> {
    let framed = if key.frame.is_some() { FRAME_GAP } else { 0 };
    let width = match key.place {
        Place::Below | Place::Above => canvas.right - canvas.left - 2 * framed,
        // As wide as half the design, and never so narrow that most words break out of it.
        Place::Beside => ((canvas.right - canvas.left) / 2).max(60),
        Place::At([column, _]) => (canvas.right - column.clamp(-10_000, 10_000) + 1 - 2 * framed).max(1),
    };
    let height = match key.place {
        Place::Beside => canvas.bottom - canvas.top - 2 * framed,
        _ => i32::MAX / 4,
    };
    let block = measure(key, shown, chart, [width, height], work)?;
    if block.columns.is_empty() {
        work.warnings.push(MarkWarning::EmptyKey { mark: key.name.clone() });
    }
    let size = block.size();
    if size == [0, 0] {
        return Ok(());
    }
    let whole = [size[0] + 2 * framed, size[1] + 2 * framed];
    let gap = i32::from(key.gap);
    let middle = |from: i32, to: i32, length: i32| from + (to - from - length).div_euclid(2);
    let at = match key.place {
        Place::Below => [middle(canvas.left, canvas.right, whole[0]), canvas.bottom + gap],
        Place::Above => [middle(canvas.left, canvas.right, whole[0]), canvas.top - gap - whole[1]],
        Place::Beside => [canvas.right + gap, middle(canvas.top, canvas.bottom, whole[1]).max(canvas.top)],
        Place::At([column, row]) => [column.clamp(-10_000, 10_000) - 1, row.clamp(-10_000, 10_000) - 1],
    };
    if !matches!(key.place, Place::At(_)) {
        let edge = |on: bool| if on { EDGE } else { 0 };
        canvas.left = canvas.left.min(at[0]);
        canvas.top = canvas.top.min(at[1] - edge(key.place == Place::Above));
        canvas.right = canvas.right.max(at[0] + whole[0] + edge(key.place == Place::Beside));
        canvas.bottom = canvas.bottom.max(at[1] + whole[1] + edge(key.place == Place::Below));
    }
    block.put(key, [at[0] + framed, at[1] + framed], size[0], work);
    if let Some(threads) = &key.frame {
        work.lines.push(frame(key, threads, at, whole));
    }
    Ok(())
}

fn frame(
    key: &Key<Vec<Thread>>,
    threads: &[Thread],
    [x, y]: [i32; 2],
    [width, height]: [i32; 2],
) -> WorkedLine {
    let mut points = Vec::new();
    points.extend((0..width).map(|step| [x + step, y]));
    points.extend((0..height).map(|step| [x + width, y + step]));
    points.extend((0..width).map(|step| [x + width - step, y + height]));
    points.extend((0..height).map(|step| [x, y + height - step]));
    WorkedLine {
        mark: key.name.clone(),
        label: format!("{} (frame)", key.name),
        threads: threads.to_vec(),
        pattern: LinePattern::Solid,
        stitch: LineStitch::Backstitch,
        points,
        closed: true,
        lane: 0.0,
        layer: LineLayer::Outlines,
    }
}

fn measure<'a>(
    key: &Key<Vec<Thread>>,
    shown: &'a [Shown],
    chart: &Chart,
    [width, height]: [i32; 2],
    work: &mut Work,
) -> Result<Block<'a>, MarkError> {
    let line = |text: &str, face: LetterFace| {
        let wrap = u16::try_from(width).ok();
        let style = LetterStyle { face, wrap, align: LetterAlign::Centre, ..LetterStyle::default() };
        lettering::write(text, &style, &key.name)
    };
    let given = |text: &Option<String>| text.clone().filter(|text| !text.trim().is_empty());
    let title = given(&key.title).map(|text| line(&text, key.title_face.unwrap_or(key.face))).transpose()?;
    let foot: Vec<String> = [given(&key.date), given(&key.initials)].into_iter().flatten().collect();
    let foot = (!foot.is_empty()).then(|| line(&foot.join("   "), key.face)).transpose()?;
    let side = key.face.capitals(None).max(5);
    let labelled: Vec<(&Shown, &str)> =
        shown.iter().filter_map(|shown| shown.mark.label().map(|label| (shown, label))).collect();
    let samples: Vec<SampleCells> =
        labelled.iter().map(|(shown, _)| sample(key.sample, shown, chart, side)).collect();
    let wide = samples.iter().map(|sample| sample.size[0]).max().unwrap_or(0);
    let room = (width - wide - SAMPLE_GAP).max(1);
    let mut entries = Vec::new();
    for ((shown, label), sample) in labelled.into_iter().zip(samples) {
        let style = LetterStyle { face: key.face, wrap: u16::try_from(room).ok(), ..LetterStyle::default() };
        let written = lettering::write(label, &style, &key.name)?;
        if written.size[0] > room {
            let (label, columns) = (label.to_owned(), written.size[0]);
            work.warnings.push(MarkWarning::LabelTooWide { label, columns, room });
        }
        let beyond = written.ink().map_or(0, |[_, top, _, bottom]| (-top).max(bottom - written.size[1]));
        entries.push(Entry { shown, sample, label: written, beyond: beyond.max(0) });
    }
    let columns = into_columns(entries, wide, key.columns, [width, height]);
    Ok(Block { title, foot, columns, samples: wide })
}

/// As many columns as fit the width, or as few as fit the height, or as many as were asked for.
fn into_columns(
    entries: Vec<Entry>,
    samples: i32,
    asked: Option<u8>,
    [width, height]: [i32; 2],
) -> Vec<Vec<Entry>> {
    let count = entries.len();
    if count == 0 {
        return Vec::new();
    }
    let per_column = |columns: usize| count.div_ceil(columns);
    let total = |columns: usize| {
        let widths = entries
            .chunks(per_column(columns))
            .map(|column| column.iter().map(|entry| entry.width(samples)).max().unwrap_or(0) + COLUMN_GAP);
        widths.sum::<i32>() - COLUMN_GAP
    };
    let tall = |columns: usize| {
        let heights = entries
            .chunks(per_column(columns))
            .map(|column| column.iter().map(|entry| entry.height() + ROW_GAP).sum::<i32>() - ROW_GAP);
        heights.max().unwrap_or(0)
    };
    let columns = match asked {
        Some(asked) => usize::from(asked).clamp(1, count),
        None if height < i32::MAX / 4 => (1..=count).find(|&columns| tall(columns) <= height).unwrap_or(1),
        None => (1..=count).rev().find(|&columns| total(columns) <= width).unwrap_or(1),
    };
    let each = per_column(columns);
    let mut entries = entries.into_iter();
    let mut parted = Vec::new();
    loop {
        let column: Vec<Entry> = entries.by_ref().take(each).collect();
        if column.is_empty() {
            return parted;
        }
        parted.push(column);
    }
}

impl Block<'_> {
    fn column_widths(&self) -> Vec<i32> {
        let wide =
            |column: &Vec<Entry>| column.iter().map(|entry| entry.width(self.samples)).max().unwrap_or(0);
        self.columns.iter().map(wide).collect()
    }

    /// The height of each row of entries, across the columns.
    fn row_heights(&self) -> Vec<i32> {
        let rows = self.columns.iter().map(Vec::len).max().unwrap_or(0);
        let tall = |row: usize| {
            self.columns.iter().filter_map(|column| column.get(row)).map(Entry::height).max().unwrap_or(0)
        };
        (0..rows).map(tall).collect()
    }

    fn entries_size(&self) -> [i32; 2] {
        if self.columns.is_empty() {
            return [0, 0];
        }
        let widths = self.column_widths();
        let heights = self.row_heights();
        [
            widths.iter().sum::<i32>() + COLUMN_GAP * (widths.len() as i32 - 1),
            heights.iter().sum::<i32>() + ROW_GAP * (heights.len() as i32 - 1),
        ]
    }

    fn size(&self) -> [i32; 2] {
        let texts = [&self.title, &self.foot];
        let texts: Vec<[i32; 4]> = texts.into_iter().flatten().filter_map(Written::ink).collect();
        let entries = self.entries_size();
        let width = texts.iter().map(|ink| ink[2] - ink[0]).fold(entries[0], i32::max);
        let parts = texts.iter().map(|ink| ink[3] - ink[1]).chain([entries[1]]).filter(|&height| height > 0);
        let heights: Vec<i32> = parts.collect();
        let gaps = (ROW_GAP + 1) * (heights.len() as i32 - 1).max(0);
        [width, heights.iter().sum::<i32>() + gaps]
    }

    fn put(&self, key: &Key<Vec<Thread>>, [left, top]: [i32; 2], width: i32, work: &mut Work) {
        let mut y = top;
        let centred = |text: &Written, y: i32, work: &mut Work| {
            let Some([ink_left, ink_top, ink_right, ink_bottom]) = text.ink() else { return 0 };
            let x = left + (width - (ink_right - ink_left)) / 2 - ink_left;
            work.put(text, [x, y - ink_top], &key.name, &key.thread);
            ink_bottom - ink_top + ROW_GAP + 1
        };
        if let Some(title) = &self.title {
            y += centred(title, y, work);
        }
        let entries = self.entries_size();
        let heights = self.row_heights();
        let mut x = left + (width - entries[0]) / 2;
        for (column, wide) in self.columns.iter().zip(self.column_widths()) {
            let mut row_top = y;
            for (entry, tall) in column.iter().zip(&heights) {
                entry.put(key, [x, row_top], self.samples, *tall, work);
                row_top += tall + ROW_GAP;
            }
            x += wide + COLUMN_GAP;
        }
        if let Some(foot) = &self.foot {
            let below = if entries[1] > 0 { entries[1] + ROW_GAP + 1 } else { 0 };
            centred(foot, y + below, work);
        }
    }
}

impl Entry<'_> {
    /// The sample and the label, each in the middle of the row's height.
    fn put(&self, key: &Key<Vec<Thread>>, [x, y]: [i32; 2], samples: i32, tall: i32, work: &mut Work) {
        let [width, height] = self.sample.size;
        let at = [x + (samples - width) / 2, y + (tall - height) / 2];
        for (cell, needle) in &self.sample.crosses {
            let cells = vec![[cell[0] + at[0], cell[1] + at[1]]];
            work.laid.push(Laid { mark: key.name.clone(), with: With::Base(*needle), cells });
        }
        match self.shown.mark {
            Mark::Outline(outline) => {
                for mut line in lines_round(&self.sample.region, outline, self.shown.pattern) {
                    for point in &mut line.points {
                        *point = [point[0] + at[0], point[1] + at[1]];
                    }
                    work.lines.push(line);
                }
            }
            Mark::Halo(halo) => {
                if let Some(ring) = &self.sample.ring {
                    let cells = ring.cells().map(|[x, y]| [x + at[0], y + at[1]]).collect();
                    let with = With::Threads(halo.thread.clone());
                    work.laid.push(Laid { mark: halo.name.clone(), with, cells });
                }
            }
            _ => {}
        }
        let label_top = y + (tall - self.label.size[1]) / 2;
        work.put(&self.label, [x + samples + SAMPLE_GAP, label_top], &key.name, &key.thread);
    }
}

/// The sample of a mark in a square of about `side` cells.
fn sample(kind: Sample, shown: &Shown, chart: &Chart, side: i32) -> SampleCells {
    let (region, crosses) = match kind {
        Sample::Patch => patch(shown, chart, side),
        Sample::Motif => reduced(shown.region, chart, side * 2),
    };
    let ring = match shown.mark {
        Mark::Halo(halo) => Some(ring_cells(&region, halo.wide, halo.away)),
        _ => None,
    };
    let all = ring.as_ref().map_or_else(|| region.clone(), |ring| region.with(ring));
    let [left, top, right, bottom] = all.extent().unwrap_or_default();
    let moved = |region: &Region| {
        let ([x, y], [width, height]) = region.window();
        let size = [width, height].map(|length| u32::try_from(length).unwrap_or_default());
        Region::of([x - left, y - top], size, |x, y| region.has(x + left, y + top))
    };
    SampleCells {
        crosses: crosses.into_iter().map(|([x, y], needle)| ([x - left, y - top], needle)).collect(),
        ring: ring.as_ref().map(moved),
        region: moved(&region),
        size: [right - left + 1, bottom - top + 1],
    }
}

type Crosses = Vec<([i32; 2], usize)>;

/// A round patch in the needle that the motif has most of; bare where the motif is.
fn patch(shown: &Shown, chart: &Chart, side: i32) -> (Region, Crosses) {
    let mut counts = vec![0u32; chart.needles().len()];
    for [x, y] in shown.region.cells() {
        if let Some(needle) = needle_at(chart, x, y) {
            counts[needle] += 1;
        }
    }
    let most =
        (0..counts.len()).rev().filter(|&needle| counts[needle] > 0).max_by_key(|&needle| counts[needle]);
    let taken = match shown.mark {
        Mark::Halo(halo) => 2 * (i32::from(halo.wide) + i32::from(halo.away)),
        _ => 0,
    };
    let side = (side - taken).max(3);
    let middle = f64::from(side - 1) / 2.0;
    // A little over half the side: corners go, sides stay.
    let reach = (f64::from(side) / 2.0 + 0.2).powi(2);
    let size = [u32::try_from(side).unwrap_or(3); 2];
    let region = Region::of([0, 0], size, |x, y| {
        (f64::from(x) - middle).powi(2) + (f64::from(y) - middle).powi(2) <= reach
    });
    let crosses = most.map(|needle| region.cells().map(|cell| (cell, needle)).collect());
    (region, crosses.unwrap_or_default())
}

/// The motif made small: each cell of the sample takes the needle that most of its cells have.
fn reduced(region: &Region, chart: &Chart, side: i32) -> (Region, Crosses) {
    let [left, top, right, bottom] = region.extent().unwrap_or_default();
    let size = [right - left + 1, bottom - top + 1];
    let scale = (f64::from(size[0].max(size[1])) / f64::from(side)).max(1.0);
    let small = size.map(|length| ((f64::from(length) / scale).round() as i32).max(1));
    let (mut cells, mut crosses) = (Vec::new(), Vec::new());
    let span = |at: i32, small: i32, full: i32| {
        let edge = |at: i32| (f64::from(at) * f64::from(full) / f64::from(small)).round() as i32;
        edge(at)..edge(at + 1).max(edge(at) + 1)
    };
    for y in 0..small[1] {
        for x in 0..small[0] {
            let mut counts = vec![0u32; chart.needles().len()];
            let (mut within, mut all) = (0, 0);
            for row in span(y, small[1], size[1]) {
                for column in span(x, small[0], size[0]) {
                    all += 1;
                    if region.has(column + left, row + top) {
                        within += 1;
                        if let Some(needle) = needle_at(chart, column + left, row + top) {
                            counts[needle] += 1;
                        }
                    }
                }
            }
            if within * 2 >= all {
                cells.push([x, y]);
                let most = (0..counts.len()).rev().max_by_key(|&needle| counts[needle]);
                crosses.extend(most.filter(|&needle| counts[needle] > 0).map(|needle| ([x, y], needle)));
            }
        }
    }
    let window = small.map(|length| u32::try_from(length).unwrap_or(1));
    let kept =
        Region::of([0, 0], window, |x, y| cells.binary_search_by_key(&(y, x), |&[x, y]| (y, x)).is_ok());
    if kept.is_empty() { (region.clone(), Vec::new()) } else { (kept, crosses) }
}

fn needle_at(chart: &Chart, x: i32, y: i32) -> Option<usize> {
    let (x, y) = (usize::try_from(x).ok()?, usize::try_from(y).ok()?);
    chart.row(y).get(x).and_then(|cell| cell.needle())
}
