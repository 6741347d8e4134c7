//! What a working order takes in thread, in cells, so that it can be laid on any count.

use super::double_running::{Hole, walks};
use super::route::{Handling, lengths};
use super::{ThreadUse, Uses};
use crate::chart::{Chart, LineStitch, Thread, WorkedLine};
use crate::ground::progress::{Progress, Stopped, ask};
use crate::ground::units::FabricCount;

/// Thread in cells, a length for each stretch from a start to an end. Every strand of the needle takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Lengths {
    needles: Vec<Vec<f64>>,
    lines: Vec<LineWork>,
}

/// Lines of one thread, worked one after the other.
#[derive(Debug, Clone, PartialEq)]
struct LineWork {
    threads: Vec<Thread>,
    stretches: Vec<f64>,
}

impl Lengths {
    /// Finds a working order for the chart and the lines on it. `travel` is the longest float on the back, in
    /// cells; see [`route`](super::route::route).
    ///
    /// A backstitched line takes what [`WorkedLine::thread_length`] gives. Lines of double running that meet
    /// are one figure, worked as [`walks`] says. Lines of one thread are worked in their order; where the next
    /// begins within `travel` of the last hole, the thread goes on.
    ///
    /// # Errors
    /// [`Stopped`] when `progress` wants to stop.
    pub fn of(
        chart: &Chart,
        lines: &[WorkedLine],
        travel: f64,
        progress: &dyn Progress,
    ) -> Result<Self, Stopped> {
        let needles = lengths(chart, travel, progress)?;
        ask(progress)?;
        let mut groups: Vec<(&[Thread], Vec<&WorkedLine>)> = Vec::new();
        for line in lines {
            match groups.iter_mut().find(|(threads, _)| *threads == line.threads.as_slice()) {
                Some((_, group)) => group.push(line),
                None => groups.push((&line.threads, vec![line])),
            }
        }
        let lines = groups
            .into_iter()
            .map(|(threads, group)| LineWork {
                threads: threads.to_vec(),
                stretches: stretches(&figures(&group), travel),
            })
            .collect();
        Ok(Self { needles, lines })
    }

    /// What each thread of the chart and its lines comes to on a count, in the order of the needles; threads of
    /// lines alone follow. `chart` and `lines` are those that the lengths were found for.
    #[must_use]
    pub fn uses(
        &self,
        chart: &Chart,
        lines: &[WorkedLine],
        count: FabricCount,
        handling: &Handling,
    ) -> Vec<ThreadUse> {
        let cell = count.cell().mm();
        let metres = |stretches: &[f64]| {
            stretches.iter().map(|cells| handling.strand_mm(cells * cell)).sum::<f64>() / 1000.0
        };
        let mut uses = Uses::default();
        for ((needle, stretches), stitches) in chart.needles().iter().zip(&self.needles).zip(chart.stitches())
        {
            let metres = metres(stretches);
            for thread in &needle.threads {
                uses.of(thread, metres).stitches += stitches;
            }
        }
        for work in &self.lines {
            let metres = metres(&work.stretches);
            let stitches: usize = lines
                .iter()
                .filter(|line| line.threads == work.threads)
                .map(|line| line.stitches().count())
                .sum();
            for thread in &work.threads {
                uses.of(thread, metres).backstitches += stitches as u64;
            }
        }
        uses.list
    }

    /// Metres that each strand of each needle takes on a count.
    #[must_use]
    pub fn needle_metres(&self, count: FabricCount, handling: &Handling) -> Vec<f64> {
        let cell = count.cell().mm();
        let of = |cells: &f64| handling.strand_mm(cells * cell);
        self.needles.iter().map(|stretches| stretches.iter().map(of).sum::<f64>() / 1000.0).collect()
    }

    /// How many threads are begun in all on a count.
    #[must_use]
    pub fn needlefuls(&self, count: FabricCount, handling: &Handling) -> u64 {
        let cell = count.cell().mm();
        let of_lines = self.lines.iter().flat_map(|work| &work.stretches);
        let all: f64 = self
            .needles
            .iter()
            .flatten()
            .chain(of_lines)
            .map(|cells| handling.needlefuls(cells * cell))
            .sum();
        #[allow(clippy::cast_sign_loss, reason = "a number of threads is never negative")]
        let all = all as u64;
        all
    }
}

/// A piece of line work: its thread in cells, the hole in which it begins and the one in which it ends.
struct Figure {
    cells: f64,
    from: Hole,
    to: Hole,
}

fn figures(lines: &[&WorkedLine]) -> Vec<Figure> {
    let mut figures = Vec::new();
    let double = |line: &&&WorkedLine| line.stitch == LineStitch::DoubleRunning;
    let stitches: Vec<[Hole; 2]> = lines.iter().filter(double).flat_map(|line| line.stitches()).collect();
    for walk in walks(&stitches) {
        let cells = walk.windows(2).map(|pair| distance(pair[0], pair[1])).sum();
        if let (Some(&from), Some(&to)) = (walk.first(), walk.last()) {
            figures.push(Figure { cells, from, to });
        }
    }
    for line in lines.iter().filter(|line| line.stitch == LineStitch::Backstitch) {
        if let (Some(&from), Some(&last)) = (line.points.first(), line.points.last()) {
            let to = if line.closed { from } else { last };
            figures.push(Figure { cells: line.thread_length(), from, to });
        }
    }
    figures
}

fn distance([x, y]: Hole, [to_x, to_y]: Hole) -> f64 {
    libm::hypot(f64::from(to_x - x), f64::from(to_y - y))
}

/// Strings the figures together where the next is near.
fn stretches(figures: &[Figure], travel: f64) -> Vec<f64> {
    let mut stretches: Vec<f64> = Vec::new();
    let mut last: Option<Hole> = None;
    for figure in figures {
        let way = last.map(|hole| distance(hole, figure.from)).filter(|&way| way <= travel);
        match (way, stretches.last_mut()) {
            (Some(way), Some(stretch)) => *stretch += way + figure.cells,
            _ => stretches.push(figure.cells),
        }
        last = Some(figure.to);
    }
    stretches
}
