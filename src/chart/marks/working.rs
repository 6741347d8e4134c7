//! Areas worked otherwise: from the marks that say how stitches are worked to the needles that work them.
//!
//! A needle carries its kind of stitch and its strands, so an area worked otherwise has needles of its own with
//! the threads of those it stands for. Key, thread, time and pictures then follow by themselves.

use std::collections::BTreeMap;

use super::region::Region;
use super::{MarkError, MarkWarning};
use crate::chart::mark::Stitches;
use crate::chart::{Cell, Chart, ChartError, MAX_NEEDLES, Mark, Needle, Thread};
use crate::thread::code;

/// The base with its areas worked as marks say.
pub(super) struct Base {
    /// As many as the chart has.
    pub(super) cells: Vec<Cell>,
    /// Those of the chart at their places, then new ones without a symbol.
    pub(super) needles: Vec<Needle>,
    /// For each needle the one of the chart that it stands for.
    pub(super) origins: Vec<usize>,
}

/// Works the areas of a chart's marks, the lowest first. `regions` are the cells of its marks.
///
/// A needle of which nothing is left gives its place and its symbol to the one that has most of its cells.
pub(super) fn base(
    chart: &Chart,
    regions: &[Region],
    warnings: &mut Vec<MarkWarning>,
) -> Result<Base, MarkError> {
    let mut base = Base {
        cells: chart.cells().to_vec(),
        needles: chart.needles().to_vec(),
        origins: (0..chart.needles().len()).collect(),
    };
    let width = chart.size().width();
    for (mark, region) in chart.marks.iter().zip(regions) {
        let Mark::Stitches(mark) = mark.mark() else { continue };
        let mut becomes: BTreeMap<usize, usize> = BTreeMap::new();
        for [x, y] in region.cells() {
            let at = y as usize * width + x as usize;
            let Some(needle) = base.cells[at].needle() else { continue };
            let to = match becomes.get(&needle) {
                Some(&to) => to,
                None => {
                    let to = base.place_of(reworked(&base.needles[needle], mark)?, base.origins[needle])?;
                    becomes.insert(needle, to);
                    to
                }
            };
            base.cells[at] = Cell::worked(to);
        }
        if becomes.is_empty() && !region.is_empty() {
            warnings.push(MarkWarning::NothingStitched { mark: mark.name.clone() });
        }
    }
    base.settle(chart);
    Ok(base)
}

impl Base {
    /// The place of a needle worked so, whatever its symbol.
    fn place_of(&mut self, wanted: Needle, origin: usize) -> Result<usize, MarkError> {
        let is_same =
            |(one, other): (&Thread, &Thread)| one.code == other.code && one.strands == other.strands;
        let same = |needle: &Needle| {
            needle.threads.len() == wanted.threads.len()
                && needle.stitch == wanted.stitch
                && needle.threads.iter().zip(&wanted.threads).all(is_same)
        };
        if let Some(place) = self.needles.iter().position(same) {
            return Ok(place);
        }
        if self.needles.len() == MAX_NEEDLES {
            return Err(ChartError::TooManyNeedles { count: MAX_NEEDLES + 1 }.into());
        }
        self.needles.push(wanted);
        self.origins.push(origin);
        Ok(self.needles.len() - 1)
    }

    /// Puts new needles in the places of those that they have used up, and drops those that came to nothing.
    fn settle(&mut self, chart: &Chart) {
        let old = chart.needles().len();
        let mut counts = vec![0u64; self.needles.len()];
        for needle in self.cells.iter().filter_map(|cell| cell.needle()) {
            counts[needle] += 1;
        }
        let mut to: Vec<usize> = (0..self.needles.len()).collect();
        for (needle, before) in chart.stitches().into_iter().enumerate() {
            if before == 0 || counts[needle] > 0 {
                continue;
            }
            let heir = (old..self.needles.len())
                .rev()
                .filter(|&new| self.origins[new] == needle && counts[new] > 0)
                .max_by_key(|&new| counts[new]);
            if let Some(heir) = heir {
                let symbol = self.needles[needle].symbol.clone();
                self.needles[needle] = Needle { symbol, ..self.needles[heir].clone() };
                (to[heir], counts[heir]) = (needle, 0);
            }
        }
        let mut kept = old;
        for new in old..self.needles.len() {
            if counts[new] > 0 {
                self.needles.swap(kept, new);
                self.origins.swap(kept, new);
                to[new] = kept;
                kept += 1;
            }
        }
        self.needles.truncate(kept);
        self.origins.truncate(kept);
        for cell in &mut self.cells {
            if let Some(needle) = cell.needle() {
                *cell = Cell::worked(to[needle]);
            }
        }
    }
}

/// A needle as a mark works it; it has no symbol yet.
fn reworked(needle: &Needle, mark: &Stitches<Vec<Thread>>) -> Result<Needle, MarkError> {
    let mut threads = match mark.strands {
        Some(strands) => with_strands(needle, strands).ok_or_else(|| MarkError::Blend {
            mark: mark.name.clone(),
            needle: needle.code(),
            strands,
        })?,
        None => needle.threads.clone(),
    };
    for added in mark.add.iter().flatten() {
        match threads.iter_mut().find(|thread| code::same(&thread.code, &added.code)) {
            Some(thread) => thread.strands = thread.strands.saturating_add(added.strands),
            None => threads.push(added.clone()),
        }
    }
    let needle = Needle { symbol: String::new(), threads, stitch: mark.stitch.unwrap_or(needle.stitch) };
    if needle.strands() > 12 {
        return Err(MarkError::Strands { mark: mark.name.clone(), strands: needle.strands() });
    }
    Ok(needle)
}

/// The threads of a needle with so many strands in all, in its proportions as near as can be and one of each at
/// the least; `None` where there are fewer strands than threads.
fn with_strands(needle: &Needle, strands: u8) -> Option<Vec<Thread>> {
    let mut threads = needle.threads.clone();
    if usize::from(strands) < threads.len() {
        return None;
    }
    let total = f64::from(needle.strands().max(1));
    let wanted: Vec<f64> =
        threads.iter().map(|thread| f64::from(thread.strands) * f64::from(strands) / total).collect();
    threads.iter_mut().for_each(|thread| thread.strands = 1);
    // One strand after the other to the thread that is furthest from its share, the first of equals.
    for _ in threads.len()..usize::from(strands) {
        let lacks = |at: usize| wanted[at] - f64::from(threads[at].strands);
        let at = (0..threads.len()).rev().max_by(|&one, &two| lacks(one).total_cmp(&lacks(two)))?;
        threads[at].strands += 1;
    }
    Some(threads)
}

#[cfg(test)]
mod tests;
