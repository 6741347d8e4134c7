//! A set of cells within a window of the chart: what picks give, and what lines and halos go round.

use image::{GrayImage, Luma};
use imageproc::distance_transform::{Norm, euclidean_squared_distance_transform};
use imageproc::morphology;
use imageproc::region_labelling::{Connectivity, connected_components};

use crate::chart::MaskRun;
use crate::ground::units::GridSize;

/// A cell that is in the set.
const IN: Luma<u8> = Luma([255]);
/// A cell that is not.
const OUT: Luma<u8> = Luma([0]);

/// A set of cells. Only a window is kept: motifs are small beside the chart.
#[derive(Debug, Clone)]
pub struct Region {
    left: i32,
    top: i32,
    /// 255 within, 0 without.
    window: GrayImage,
}

impl PartialEq for Region {
    /// The same cells, whatever the windows.
    fn eq(&self, other: &Self) -> bool {
        self.cells().eq(other.cells())
    }
}

impl Region {
    /// No cells.
    #[must_use]
    pub fn empty() -> Self {
        Self { left: 0, top: 0, window: GrayImage::new(0, 0) }
    }

    /// The cells of a window from `left`, `top` on for which `holds` is true; columns and rows from 0.
    pub fn of([left, top]: [i32; 2], [width, height]: [u32; 2], holds: impl Fn(i32, i32) -> bool) -> Self {
        let window =
            GrayImage::from_fn(
                width,
                height,
                |x, y| {
                    if holds(left + x as i32, top + y as i32) { IN } else { OUT }
                },
            );
        Self { left, top, window }
    }

    /// The cells of runs, such as those of a mask.
    #[must_use]
    pub fn of_runs(runs: &[MaskRun]) -> Self {
        let (Some(top), Some(bottom)) = (runs.first(), runs.last()) else { return Self::empty() };
        let left = runs.iter().map(|run| run.from).min().unwrap_or_default();
        let right = runs.iter().map(|run| run.to).max().unwrap_or_default();
        let mut window = GrayImage::new(right - left, bottom.row - top.row + 1);
        let width = window.width() as usize;
        for run in runs {
            let start = (run.row - top.row) as usize * width;
            let (from, to) = (start + (run.from - left) as usize, start + (run.to - left) as usize);
            window.as_mut()[from..to].fill(IN.0[0]);
        }
        Self { left: left as i32, top: top.row as i32, window }
    }

    /// Whether a cell is in the set.
    #[must_use]
    pub fn has(&self, column: i32, row: i32) -> bool {
        let (x, y) = (column - self.left, row - self.top);
        u32::try_from(x).is_ok_and(|x| {
            u32::try_from(y)
                .is_ok_and(|y| self.window.get_pixel_checked(x, y).is_some_and(|pixel| *pixel == IN))
        })
    }

    /// The left and top of its window, and its width and height.
    #[must_use]
    pub fn window(&self) -> ([i32; 2], [i32; 2]) {
        ([self.left, self.top], [self.window.width() as i32, self.window.height() as i32])
    }

    /// Its cells, row by row.
    pub fn cells(&self) -> impl Iterator<Item = [i32; 2]> + '_ {
        let within = self.window.enumerate_pixels().filter(|(_, _, pixel)| **pixel == IN);
        within.map(|(x, y, _)| [self.left + x as i32, self.top + y as i32])
    }

    /// The part of a row of cells that lies in its window, and the column on which that begins.
    pub(super) fn row(&self, row: i32) -> (i32, &[u8]) {
        let width = self.window.width() as usize;
        let at = usize::try_from(row - self.top).ok().filter(|&at| at < self.window.height() as usize);
        (self.left, at.map_or(&[], |at| &self.window.as_raw()[at * width..(at + 1) * width]))
    }

    /// Both rows of cells on the columns that both windows have, and the first of these.
    fn beside<'a>(&'a self, other: &'a Self, row: i32) -> (i32, &'a [u8], &'a [u8]) {
        let ((left, own), (other_left, others)) = (self.row(row), other.row(row));
        let from = left.max(other_left);
        let to = (left + own.len() as i32).min(other_left + others.len() as i32).max(from);
        let cut = |of: &'a [u8], left: i32| {
            of.get((from - left) as usize..(to - left) as usize).unwrap_or_default()
        };
        (from, cut(own, left), cut(others, other_left))
    }

    /// The first cell, in reading order, that both have.
    #[must_use]
    pub fn first_shared(&self, other: &Self) -> Option<[i32; 2]> {
        (self.top..self.top + self.window.height() as i32).find_map(|row| {
            let (from, own, others) = self.beside(other, row);
            // Whole rows are looked at sixteen bytes at a time.
            own.iter().zip(others).any(|(one, two)| one & two != 0).then(|| {
                let at = own.iter().zip(others).position(|(one, two)| one & two != 0).unwrap_or_default();
                [from + at as i32, row]
            })
        })
    }

    /// Whether the other has all its cells.
    #[must_use]
    pub fn is_within(&self, other: &Self) -> bool {
        (self.top..self.top + self.window.height() as i32).all(|row| {
            let (left, whole) = self.row(row);
            let (from, own, others) = self.beside(other, row);
            let at = (from - left) as usize;
            let before = whole.get(..at).unwrap_or(whole);
            let after = whole.get(at + own.len()..).unwrap_or_default();
            let is_clear = |cells: &[u8]| cells.iter().all(|&cell| cell == 0);
            is_clear(before) && is_clear(after) && own.iter().zip(others).all(|(one, two)| one & !two == 0)
        })
    }

    /// How many cells it has.
    #[must_use]
    pub fn count(&self) -> usize {
        self.window.as_raw().iter().filter(|&&value| value == IN.0[0]).count()
    }

    /// Whether it has no cells.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        !self.window.as_raw().contains(&IN.0[0])
    }

    /// The same set with the window that just holds it, and `margin` cells about.
    #[must_use]
    pub fn framed(&self, margin: u32) -> Self {
        let Some([left, top, right, bottom]) = self.extent() else { return Self::empty() };
        let margin_cells = margin as i32;
        let origin = [left - margin_cells, top - margin_cells];
        let size = [(right - left + 1) as u32 + 2 * margin, (bottom - top + 1) as u32 + 2 * margin];
        let mut window = GrayImage::new(size[0], size[1]);
        let width = (right - left + 1) as usize;
        for row in top..=bottom {
            let from = (row - self.top) as usize * self.window.width() as usize + (left - self.left) as usize;
            let to = (row - origin[1]) as usize * size[0] as usize + margin as usize;
            let source = &self.window.as_raw()[from..from + width];
            window.as_mut()[to..to + width].copy_from_slice(source);
        }
        Self { left: origin[0], top: origin[1], window }
    }

    /// The first and last columns and rows that it reaches: `[left, top, right, bottom]`.
    #[must_use]
    pub fn extent(&self) -> Option<[i32; 4]> {
        let width = self.window.width() as usize;
        let mut extent: Option<[i32; 4]> = None;
        for (y, row) in self.window.as_raw().chunks(width.max(1)).enumerate() {
            let Some(first) = row.iter().position(|&value| value == IN.0[0]) else { continue };
            let last = row.iter().rposition(|&value| value == IN.0[0]).unwrap_or(first);
            let (first, last, y) = (self.left + first as i32, self.left + last as i32, self.top + y as i32);
            let [left, top, right, _] = extent.unwrap_or([first, y, last, y]);
            extent = Some([left.min(first), top, right.max(last), y]);
        }
        extent
    }

    /// The cells of both.
    #[must_use]
    pub fn with(&self, other: &Self) -> Self {
        if self.is_empty() {
            return other.clone();
        }
        let Some([left, top, right, bottom]) = other.extent() else { return self.clone() };
        let (origin, size) = self.window();
        let from = [origin[0].min(left), origin[1].min(top)];
        let to = [(origin[0] + size[0]).max(right + 1), (origin[1] + size[1]).max(bottom + 1)];
        let size = [(to[0] - from[0]) as u32, (to[1] - from[1]) as u32];
        Self::of(from, size, |x, y| self.has(x, y) || other.has(x, y))
    }

    /// Its cells that the other lacks.
    #[must_use]
    pub fn without(&self, other: &Self) -> Self {
        let (origin, [width, height]) = self.window();
        Self::of(origin, [width as u32, height as u32], |x, y| self.has(x, y) && !other.has(x, y))
    }

    /// Its cells that lie on a chart of this size.
    #[must_use]
    pub fn on(&self, size: GridSize) -> Self {
        let within = |at: i32, total: u32| at >= 0 && at < total as i32;
        match self.extent() {
            Some([left, top, right, bottom])
                if !(within(left, size.columns())
                    && within(right, size.columns())
                    && within(top, size.rows())
                    && within(bottom, size.rows())) =>
            {
                let (origin, [width, height]) = self.window();
                Self::of(origin, [width as u32, height as u32], |x, y| {
                    within(x, size.columns()) && within(y, size.rows()) && self.has(x, y)
                })
            }
            _ => self.clone(),
        }
    }

    /// Grown by so many cells in the round: every cell whose middle is at most so far from one of its own.
    #[must_use]
    pub fn grown(&self, by: u8) -> Self {
        if self.is_empty() || by == 0 {
            return self.clone();
        }
        let framed = self.framed(u32::from(by) + 1);
        Self { window: morphology::dilate(&framed.window, Norm::L2, by), ..framed }
    }

    /// The cells round it that are further than `away` and no further than `away` and `wide` cells, to the nearest cell: a
    /// ring of one cell closes at its corners, as diagonal neighbours are 1.4 away.
    #[must_use]
    pub fn ringed(&self, away: u8, wide: u8) -> Self {
        if self.is_empty() || wide == 0 {
            return Self::empty();
        }
        let out = away.saturating_add(wide);
        let framed = self.framed(u32::from(out) + 1);
        let squares = euclidean_squared_distance_transform(&framed.window);
        let within = |square: f64, reach: u8| square > 0.0 && square.sqrt() <= f64::from(reach) + 0.5;
        let mut window = framed.window.clone();
        for (value, square) in window.as_mut().iter_mut().zip(squares.as_raw()) {
            let is_in = within(*square, out) && !(away > 0 && within(*square, away));
            *value = if is_in { IN.0[0] } else { OUT.0[0] };
        }
        Self { window, ..framed }
    }

    /// Shrunk by so many cells: the cells that are further than that from every cell that is not its own.
    #[must_use]
    pub fn shrunk(&self, by: u8) -> Self {
        if self.is_empty() || by == 0 {
            return self.clone();
        }
        let framed = self.framed(u32::from(by) + 1);
        Self { window: morphology::erode(&framed.window, Norm::L2, by), ..framed }
    }

    /// With gaps of up to `cells` across bridged: a morphological closing with a square of half of that, so that
    /// an odd number does what the even one above does.
    #[must_use]
    pub fn bridged(&self, cells: u8) -> Self {
        if self.is_empty() || cells == 0 {
            return self.clone();
        }
        let reach = cells.div_ceil(2);
        let framed = self.framed(u32::from(reach) + 1);
        Self { window: morphology::close(&framed.window, Norm::LInf, reach), ..framed }
    }

    /// With the cells that it encloses: those not joined to the outside, by side or by corner.
    #[must_use]
    pub fn filled(&self) -> Self {
        if self.is_empty() {
            return self.clone();
        }
        let framed = self.framed(1);
        let mut inverse = framed.window.clone();
        inverse.as_mut().iter_mut().for_each(|value| *value = u8::MAX - *value);
        let labels = connected_components(&inverse, Connectivity::Eight, OUT);
        let outside = labels.get_pixel_checked(0, 0).map_or(0, |label| label.0[0]);
        let mut window = framed.window;
        for (value, label) in window.as_mut().iter_mut().zip(labels.as_raw()) {
            *value = if *label == outside { OUT.0[0] } else { IN.0[0] };
        }
        Self { window, ..framed }
    }

    /// Its parts that hang together by sides, the first in reading order first.
    #[must_use]
    pub fn parts(&self) -> Vec<Self> {
        let labels = connected_components(&self.window, Connectivity::Four, OUT);
        let count = labels.as_raw().iter().copied().max().unwrap_or(0);
        let size = [self.window.width(), self.window.height()];
        (1..=count)
            .map(|wanted| {
                let window = GrayImage::from_fn(size[0], size[1], |x, y| {
                    if labels.get_pixel(x, y).0[0] == wanted { IN } else { OUT }
                });
                Self { window, ..*self }.framed(0)
            })
            .collect()
    }
}
