//! What marks get once and keep: an id, and the cells that they are about.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::region::Region;
use super::{MarkError, choose};
use crate::chart::{Chart, Mark, Mask, PlacedMark, Thread, limits};

impl Chart {
    /// Gives the chart an id, and its marks ids and cells, where they lack them.
    ///
    /// # Errors
    /// [`MarkError`] where a mark asks for cells or threads that the chart does not have; the others are settled.
    pub fn settle(&mut self) -> Result<(), MarkError> {
        // A forged chart of too many marks is refused before anything is worked out for them.
        limits::marks(&self.marks)?;
        self.identify();
        self.give_mark_ids();
        let found = |mark: &PlacedMark| {
            let (None, Some(motif)) = (mark.cells(), mark.motif()) else { return None };
            Some(choose(self, motif, mark.name()).map(|region| mask_of(&region)))
        };
        let found: Vec<Option<Result<Mask, MarkError>>> = self.marks.par_iter().map(found).collect();
        let mut first = Ok(());
        for (mark, found) in self.marks.iter_mut().zip(found) {
            match found {
                Some(Ok(mask)) => mark.cells = Some(mask),
                Some(Err(error)) => first = first.and(Err(error)),
                None => {}
            }
        }
        first
    }

    /// The cells of the mark at a place of the list: those found when it was made, else what its recipe comes to now.
    ///
    /// # Errors
    /// [`MarkError`] where it asks for what the chart does not have, or its mask is damaged.
    pub fn region(&self, at: usize) -> Result<Region, MarkError> {
        let Some(mark) = self.marks.get(at) else { return Ok(Region::empty()) };
        let Some(motif) = mark.motif() else { return Ok(Region::empty()) };
        let Some(mask) = mark.cells() else { return choose(self, motif, mark.name()) };
        let fail = |row| MarkError::Mask { mark: mark.name().to_owned(), row, size: self.size() };
        region_of(mask, self).map_err(fail)
    }
}

/// A region as a mask.
#[must_use]
pub fn mask_of(region: &Region) -> Mask {
    let region = region.framed(0);
    let (at, [width, height]) = region.window();
    let row = |y: i32| {
        let mut runs: Vec<u32> = vec![0];
        for x in 0..width {
            let within = region.has(at[0] + x, at[1] + y);
            if within == runs.len().is_multiple_of(2) {
                *runs.last_mut().expect("there is one from the start") += 1;
            } else {
                runs.push(1);
            }
        }
        if !runs.len().is_multiple_of(2) {
            runs.pop();
        }
        runs
    };
    let rows: Vec<Vec<u32>> = (0..height).map(row).collect();
    Mask::of_rows(at, &rows)
}

/// The region of a mask on a chart, or the row at fault, from 1.
fn region_of(mask: &Mask, chart: &Chart) -> Result<Region, usize> {
    let runs = mask.runs(chart.size()).map_err(|error| error.row)?;
    Ok(Region::of_runs(&runs))
}

/// What is said of threads, by their code: a thread is known by it. What the chart's needles say holds; of threads that
/// marks alone have, what the uppermost says.
fn known(chart: &Chart) -> BTreeMap<&str, &Thread> {
    let mut known: BTreeMap<&str, &Thread> = BTreeMap::new();
    for mark in &chart.marks {
        mark.each_thread(|thread| _ = known.insert(&thread.code, thread));
    }
    for thread in chart.needles().iter().rev().flat_map(|needle| needle.threads.iter().rev()) {
        known.insert(&thread.code, thread);
    }
    known
}

/// The chart with its marks agreed on what their threads are, where they are not.
pub(super) fn agreed(chart: &Chart) -> Option<Chart> {
    let known = known(chart);
    let same = |thread: &Thread| Thread { strands: thread.strands, ..known[thread.code.as_str()].clone() };
    let mut agree = true;
    for mark in &chart.marks {
        mark.each_thread(|thread| agree &= same(thread) == *thread);
    }
    if agree {
        return None;
    }
    let mut changed = chart.clone();
    for (to, mark) in changed.marks.iter_mut().zip(&chart.marks) {
        *to = mark.changed(with_each(mark.mark(), &same));
    }
    Some(changed)
}

/// Lets the marks of a chart say of threads what new marks say: a thread is known by its code, and what was said last of
/// it holds, but for what the needles of the chart say.
pub fn agree_with<'a>(chart: &mut Chart, new: impl IntoIterator<Item = &'a Mark>) {
    let mut said: BTreeMap<&str, &Thread> = BTreeMap::new();
    for mark in new {
        mark.each_thread(|thread| _ = said.insert(&thread.code, thread));
    }
    let same = |thread: &Thread| match said.get(thread.code.as_str()) {
        Some(&new) => Thread { strands: thread.strands, ..new.clone() },
        None => thread.clone(),
    };
    for mark in &mut chart.marks {
        let mut agree = true;
        mark.each_thread(|thread| agree &= same(thread) == *thread);
        if !agree {
            *mark = mark.changed(with_each(mark.mark(), &same));
        }
    }
}

/// A mark with each of its threads given otherwise.
#[must_use]
pub fn with_each(mark: &Mark, change: &impl Fn(&Thread) -> Thread) -> Mark {
    let threads = |threads: Vec<Thread>, _| {
        Ok::<_, std::convert::Infallible>(threads.iter().map(change).collect::<Vec<_>>())
    };
    let Ok(mark) = mark.clone().with_threads(threads);
    mark
}
