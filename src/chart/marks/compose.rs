//! The worked chart: the base with every mark laid over it.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use rayon::prelude::*;

use super::laid::{Canvas, Laid, Shown, With, Work, lines_round, ring_cells};
use super::lanes::{self, Patterned};
use super::lettering;
use super::region::Region;
use super::settle;
use super::working::{self, Base};
use super::{MarkError, MarkPair, MarkWarning, key};
use crate::chart::limits;
use crate::chart::mark::{Halo, LetterAlign, Lettering, Pick, PickedCells};
use crate::chart::{Cell, Chart, ChartError, LinePattern, MAX_NEEDLES, Mark, Needle, Thread, WorkedLine};
use crate::ground::progress::{Progress, Silent, Stopped, ask};
use crate::ground::units::GridSize;
use crate::thread::cloth::StitchKind;

/// A chart with its marks worked in.
#[derive(Debug, Clone, PartialEq)]
pub struct Composed {
    /// The worked chart: the base with halos, letters and key laid over it, on more cloth where the key needs
    /// it, with the needles that they add, which have no symbols yet. It has no marks left.
    pub chart: Chart,
    /// The column and row of the worked chart, from 0, on which the base begins.
    pub base_at: [u32; 2],
    /// Lines of backstitch, on the holes of the worked chart.
    pub lines: Vec<WorkedLine>,
    /// The crosses that marks lay over the base, each on its cell of the worked chart, by the name of the mark; where two
    /// lie on one cell, the later is worked.
    pub crosses: Vec<(String, Vec<usize>)>,
    /// What the person should know.
    pub warnings: Vec<MarkWarning>,
}

/// Works the marks of a chart over its base. A chart without marks comes back as it is.
///
/// # Errors
/// [`MarkError`] names the mark at fault.
pub fn compose(chart: &Chart) -> Result<Composed, MarkError> {
    compose_while(chart, &Silent)
}

/// The same, for as long as `progress` lets it go on: it is asked between marks.
///
/// # Errors
/// [`MarkError`] names the mark at fault, or is [`MarkError::Stopped`].
pub fn compose_while(chart: &Chart, progress: &dyn Progress) -> Result<Composed, MarkError> {
    check(chart)?;
    let agreed = settle::agreed(chart);
    let chart = agreed.as_ref().unwrap_or(chart);
    let regions: Vec<Region> = (0..chart.marks.len())
        .into_par_iter()
        .map(|at| {
            ask(progress)?;
            chart.region(at)
        })
        .collect::<Result<_, _>>()?;
    let mut work = Work::default();
    let shown = shown(chart, &regions);
    for (mark, region) in chart.marks.iter().zip(&regions) {
        warn_of_picks(chart, mark, region, &mut work.warnings);
    }
    let base = working::base(chart, &regions, &mut work.warnings)?;
    outlines(&shown, &mut work, progress)?;
    warn_of_crossings(&shown, &mut work.warnings, progress)?;
    lanes::set_apart(&mut work.lines, progress)?;
    let mut letters: Vec<(&str, Vec<[i32; 2]>)> = Vec::new();
    for (mark, region) in chart.marks.iter().zip(&regions) {
        ask(progress)?;
        match mark.mark() {
            Mark::Halo(halo) if !region.is_empty() => ring(halo, region, chart.size(), &mut work),
            Mark::Lettering(mark) => letters.push((&mark.name, lettering(mark, &mut work)?)),
            Mark::Backstitch(mark) => work.sew(mark),
            _ => {}
        }
    }
    warn_of_overlaps(&letters, &mut work.warnings);
    let size = chart.size();
    let mut canvas = Canvas { left: 0, top: 0, right: size.columns() as i32, bottom: size.rows() as i32 };
    for mark in &chart.marks {
        if let Mark::Key(mark) = mark.mark() {
            key::lay(mark, &shown, chart, &mut canvas, &mut work)?;
        }
    }
    finish(chart, base, canvas, work)
}

/// Names are given once, strands can be threaded, stitches are of a length.
fn check(chart: &Chart) -> Result<(), MarkError> {
    limits::marks(&chart.marks)?;
    let mut names: Vec<&str> = chart.marks.iter().map(|mark| mark.name()).collect();
    names.sort_unstable();
    if let Some(pair) = names.windows(2).find(|pair| pair[0] == pair[1]) {
        return Err(MarkError::SameName { name: pair[0].to_owned() });
    }
    for mark in &chart.marks {
        limits::mark_texts(mark)?;
        let (threads, longest) = match mark.mark() {
            Mark::Outline(mark) => (vec![&mark.thread], mark.longest),
            Mark::Halo(mark) => (vec![&mark.thread], 3.0),
            Mark::Lettering(mark) => (vec![&mark.thread], 3.0),
            Mark::Key(mark) => (std::iter::once(&mark.thread).chain(&mark.frame).collect(), 3.0),
            Mark::Backstitch(mark) => {
                limits::backstitch(mark)?;
                (vec![&mark.thread], 3.0)
            }
            Mark::Stitches(mark) => {
                if mark.stitch.is_none() && mark.strands.is_none() && mark.add.is_none() {
                    return Err(MarkError::NothingAsked { mark: mark.name.clone() });
                }
                if let Some(strands) = mark.strands.filter(|strands| !(1..=12).contains(strands)) {
                    return Err(MarkError::Strands { mark: mark.name.clone(), strands });
                }
                (mark.add.iter().collect(), 3.0)
            }
        };
        if !(1.0..=6.0).contains(&longest) {
            return Err(MarkError::Longest { mark: mark.name().to_owned(), longest });
        }
        for threads in threads {
            limits::threads(threads)?;
            let strands = threads.iter().fold(0u8, |sum, thread| sum.saturating_add(thread.strands));
            if !(1..=12).contains(&strands) || threads.iter().any(|thread| thread.strands == 0) {
                return Err(MarkError::Strands { mark: mark.name().to_owned(), strands });
            }
        }
    }
    Ok(())
}

fn shown<'a>(chart: &'a Chart, regions: &'a [Region]) -> Vec<Shown<'a>> {
    let with_cells = || {
        chart.marks.iter().zip(regions).filter(|(mark, region)| {
            matches!(mark.mark(), Mark::Outline(_) | Mark::Halo(_)) && !region.is_empty()
        })
    };
    let patterned: Vec<Patterned> = with_cells()
        .filter_map(|(mark, region)| match mark.mark() {
            Mark::Outline(outline) => Some(Patterned {
                name: &outline.name,
                extent: region.extent().unwrap_or_default(),
                asked: outline.pattern,
            }),
            _ => None,
        })
        .collect();
    let mut patterns = lanes::patterns(&patterned).into_iter();
    with_cells()
        .map(|(mark, region)| {
            let mark = mark.mark();
            let pattern = match mark {
                Mark::Outline(_) => patterns.next().unwrap_or(LinePattern::Solid),
                _ => LinePattern::Solid,
            };
            Shown { mark, region, pattern }
        })
        .collect()
}

fn outlines(shown: &[Shown], work: &mut Work, progress: &dyn Progress) -> Result<(), Stopped> {
    let lines: Vec<Vec<WorkedLine>> = shown
        .par_iter()
        .map(|shown| {
            ask(progress)?;
            Ok(match shown.mark {
                Mark::Outline(outline) => lines_round(shown.region, outline, shown.pattern),
                _ => Vec::new(),
            })
        })
        .collect::<Result<_, Stopped>>()?;
    work.lines.extend(lines.into_iter().flatten());
    Ok(())
}

/// Lays a halo on the design; what would lie beyond it is told.
fn ring(halo: &Halo<Vec<Thread>>, region: &Region, size: GridSize, work: &mut Work) {
    let all = ring_cells(region, halo.wide, halo.away);
    let on = all.on(size);
    let cells: Vec<[i32; 2]> = on.cells().collect();
    let lost = all.count() - cells.len();
    if lost > 0 {
        let first = all.cells().find(|&[x, y]| !on.has(x, y)).unwrap_or_default();
        work.warnings.push(MarkWarning::Outside { mark: halo.name.clone(), cell: first, count: lost });
    }
    if !cells.is_empty() {
        work.laid.push(Laid { mark: halo.name.clone(), with: With::Threads(halo.thread.clone()), cells });
    }
}

/// Adds the stitches of letters and gives the cells that they take.
fn lettering(mark: &Lettering<Vec<Thread>>, work: &mut Work) -> Result<Vec<[i32; 2]>, MarkError> {
    let written = lettering::write(&mark.text, &mark.style, &mark.name)?;
    let aside = match mark.style.align {
        LetterAlign::Left => 0,
        LetterAlign::Centre => written.size[0] / 2,
        LetterAlign::Right => written.size[0] - 1,
    };
    let at = mark.at.map(|at| at.clamp(-10_000, 10_000) - 1);
    let taken = work.put(&written, [at[0] - aside, at[1]], &mark.name, &mark.thread);
    Ok(taken)
}

fn warn_of_picks(chart: &Chart, mark: &Mark, region: &Region, warnings: &mut Vec<MarkWarning>) {
    let Some(motif) = mark.motif() else { return };
    if region.is_empty() {
        warnings.push(MarkWarning::Empty { mark: mark.name().to_owned() });
        return;
    }
    let size = chart.size();
    let beyond =
        |[x, y]: &[i32; 2]| !(1..=size.columns() as i32).contains(x) || !(1..=size.rows() as i32).contains(y);
    let corners = |pick: &Pick| match &pick.cells {
        PickedCells::Rectangle([a, b, c, d]) | PickedCells::Ellipse([a, b, c, d]) => vec![[*a, *b], [*c, *d]],
        PickedCells::Polygon(points) => points.clone(),
        _ => Vec::new(),
    };
    if let Some(cell) = motif.pick.iter().flat_map(corners).find(beyond) {
        warnings.push(MarkWarning::PickOutside { mark: mark.name().to_owned(), cell, size });
    }
}

/// Motifs that overlap without one holding the other have lines that cross.
fn warn_of_crossings(
    shown: &[Shown],
    warnings: &mut Vec<MarkWarning>,
    progress: &dyn Progress,
) -> Result<(), Stopped> {
    let outlined: Vec<&Shown> = shown.iter().filter(|shown| matches!(shown.mark, Mark::Outline(_))).collect();
    let extents: Vec<[i32; 4]> =
        outlined.iter().map(|shown| shown.region.extent().unwrap_or_default()).collect();
    let counts: Vec<usize> = outlined.iter().map(|shown| shown.region.count()).collect();
    let crosses = |one: usize, two: usize| {
        let (a, b) = (&extents[one], &extents[two]);
        if a[0] > b[2] || b[0] > a[2] || a[1] > b[3] || b[1] > a[3] {
            return None;
        }
        let (first, second) = (outlined[one].region, outlined[two].region);
        let cell = first.first_shared(second)?;
        // The one with fewer cells is the only one that can lie within the other.
        let (less, more) = if counts[one] <= counts[two] { (first, second) } else { (second, first) };
        (!less.is_within(more)).then_some((one, two, cell))
    };
    let crossing: Vec<(usize, usize, [i32; 2])> = (0..outlined.len())
        .into_par_iter()
        .map(|one| {
            ask(progress)?;
            Ok((one + 1..outlined.len()).filter_map(|two| crosses(one, two)).collect())
        })
        .collect::<Result<Vec<Vec<_>>, Stopped>>()?
        .concat();
    let name = |at: usize| outlined[at].mark.name().to_owned();
    if let Some((pairs, more)) = MarkPair::told(&crossing, name) {
        warnings.push(MarkWarning::Crossing { pairs, more });
    }
    Ok(())
}

fn warn_of_overlaps(letters: &[(&str, Vec<[i32; 2]>)], warnings: &mut Vec<MarkWarning>) {
    let mut taken: HashMap<[i32; 2], usize> = HashMap::new();
    let mut told: BTreeSet<(usize, usize)> = BTreeSet::new();
    let mut pairs = Vec::new();
    for (index, (_, cells)) in letters.iter().enumerate() {
        for &cell in cells {
            let other = *taken.entry(cell).or_insert(index);
            if other != index && told.insert((other, index)) {
                pairs.push((other, index, cell));
            }
        }
    }
    if let Some((pairs, more)) = MarkPair::told(&pairs, |at| letters[at].0.to_owned()) {
        warnings.push(MarkWarning::Overlap { pairs, more });
    }
}

/// The codes of threads with their strands.
type Codes = Vec<(String, u8)>;

/// The needle of each set of threads: one of the base that is worked the same, or a new one. New ones stand in
/// the order of their codes, so that the order of the marks does not matter.
fn needles(base: &Base, laid: &[Laid]) -> Result<(Vec<Needle>, Vec<usize>), MarkError> {
    let mut needles = base.needles.clone();
    // A thread is known by its code, whatever else is said of it.
    let codes = |threads: &[Thread]| -> Codes {
        threads.iter().map(|thread| (thread.code.clone(), thread.strands)).collect()
    };
    let is = |needle: &Needle, threads: &[Thread]| {
        codes(&needle.threads) == codes(threads) && needle.stitch == StitchKind::FullCross
    };
    let mut wanted: BTreeMap<(String, Codes), &Vec<Thread>> = BTreeMap::new();
    for threads in laid.iter().filter_map(|laid| match &laid.with {
        With::Threads(threads) => Some(threads),
        With::Base(_) => None,
    }) {
        if !needles.iter().any(|needle| is(needle, threads)) {
            let needle =
                Needle { symbol: String::new(), threads: threads.clone(), stitch: StitchKind::FullCross };
            wanted.insert((needle.code(), codes(threads)), threads);
        }
    }
    for threads in wanted.into_values() {
        needles.push(Needle {
            symbol: String::new(),
            threads: threads.clone(),
            stitch: StitchKind::FullCross,
        });
    }
    if needles.len() > MAX_NEEDLES {
        return Err(ChartError::TooManyNeedles { count: needles.len() }.into());
    }
    let places = laid
        .iter()
        .map(|laid| match &laid.with {
            With::Base(needle) => *needle,
            With::Threads(threads) => {
                needles.iter().position(|needle| is(needle, threads)).expect("it was added above")
            }
        })
        .collect();
    Ok((needles, places))
}

/// Puts everything on one chart.
fn finish(chart: &Chart, base: Base, canvas: Canvas, work: Work) -> Result<Composed, MarkError> {
    let Work { laid, mut lines, mut warnings } = work;
    let (needles, places) = needles(&base, &laid)?;
    #[allow(clippy::cast_sign_loss, reason = "the canvas holds the base, which begins at 0")]
    let (columns, rows) = ((canvas.right - canvas.left) as u32, (canvas.bottom - canvas.top) as u32);
    let size = GridSize::new(columns, rows).map_err(MarkError::Size)?;
    let [dx, dy] = [-canvas.left, -canvas.top];
    let mut cells = vec![Cell::BARE; size.cells()];
    for (row, of_base) in base.cells.chunks(chart.size().width()).enumerate() {
        let at = (row + dy as usize) * size.width() + dx as usize;
        cells[at..at + of_base.len()].copy_from_slice(of_base);
    }
    let mut outside: BTreeMap<String, ([i32; 2], usize)> = BTreeMap::new();
    let mut lost = |mark: &str, cell: [i32; 2]| {
        outside.entry(mark.to_owned()).or_insert((cell, 0)).1 += 1;
    };
    let mut crosses = Vec::new();
    for (laid, needle) in laid.iter().zip(places) {
        let mut on_cloth = Vec::new();
        for &[x, y] in &laid.cells {
            let (x, y) = (x + dx, y + dy);
            if (0..columns as i32).contains(&x) && (0..rows as i32).contains(&y) {
                let at = y as usize * size.width() + x as usize;
                cells[at] = Cell::worked(needle);
                on_cloth.push(at);
            } else {
                lost(&laid.mark, [x + 1, y + 1]);
            }
        }
        crosses.push((laid.mark.clone(), on_cloth));
    }
    for line in &mut lines {
        for point in &mut line.points {
            *point = [point[0] + dx, point[1] + dy];
        }
    }
    let on_cloth = |&[x, y]: &[i32; 2]| (0..=columns as i32).contains(&x) && (0..=rows as i32).contains(&y);
    let lines = lines.into_iter().flat_map(|line| clipped(line, on_cloth, &mut lost)).collect();
    for warning in &mut warnings {
        let on_chart = |cell: &mut [i32; 2]| *cell = [cell[0] + dx + 1, cell[1] + dy + 1];
        match warning {
            MarkWarning::Overlap { pairs, .. } | MarkWarning::Crossing { pairs, .. } => {
                pairs.iter_mut().for_each(|pair| on_chart(&mut pair.cell));
            }
            MarkWarning::Outside { cell, .. } => on_chart(cell),
            _ => {}
        }
    }
    warnings.extend(outside.into_iter().map(|(mark, (cell, count))| MarkWarning::Outside {
        mark,
        cell,
        count,
    }));
    let needles = in_order_of_key(needles, &base, &mut cells);
    let mut worked = Chart::new(chart.title.clone(), size, chart.cloth, needles, cells)?;
    worked.made.clone_from(&chart.made);
    worked.printed.clone_from(&chart.printed);
    Ok(Composed { chart: worked, base_at: [dx as u32, dy as u32], lines, crosses, warnings })
}

/// Puts needles that stand for others right after them, so that the key has them side by side.
fn in_order_of_key(needles: Vec<Needle>, base: &Base, cells: &mut [Cell]) -> Vec<Needle> {
    if base.needles.len() == base.origins.iter().max().map_or(0, |most| most + 1) {
        return needles;
    }
    let mut order: Vec<usize> = (0..needles.len()).collect();
    order.sort_by_key(|&needle| (base.origins.get(needle).copied().unwrap_or(usize::MAX), needle));
    let mut place = vec![0; needles.len()];
    for (to, &from) in order.iter().enumerate() {
        place[from] = to;
    }
    for cell in cells {
        if let Some(needle) = cell.needle() {
            *cell = Cell::worked(place[needle]);
        }
    }
    order.into_iter().map(|needle| needles[needle].clone()).collect()
}

/// The parts of a line whose holes are all on the cloth.
fn clipped(
    line: WorkedLine,
    on_cloth: impl Fn(&[i32; 2]) -> bool,
    lost: &mut impl FnMut(&str, [i32; 2]),
) -> Vec<WorkedLine> {
    if line.points.iter().all(&on_cloth) {
        return vec![line];
    }
    for &[x, y] in line.points.iter().filter(|hole| !on_cloth(hole)) {
        lost(&line.mark, [x + 1, y + 1]);
    }
    let mut line = line;
    if line.closed {
        // Opened where it leaves the cloth.
        let opening = line.points.iter().position(|hole| !on_cloth(hole)).unwrap_or_default();
        line.points.rotate_left(opening);
    }
    line.points
        .split(|hole| !on_cloth(hole))
        .filter(|part| part.len() > 1)
        .map(|part| WorkedLine { points: part.to_vec(), closed: false, ..line.clone() })
        .collect()
}
