//! Changes to a mark that is there.

use super::Order;
use crate::chart::mark::{Course, Holes, LetterFace, Motif, Needed, PickedCells, Place};
use crate::chart::marks::{MarkError, Resolver};
use crate::chart::{Chart, LinePattern, Mark, Thread, limits};
use crate::desk::Error;
use crate::desk::setting::MarkSetting;
use crate::thread::cloth::StitchKind;

/// What is to be other of a mark; what is not given stays as it is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MarkSettings {
    /// Another name; its id stays.
    pub name: Option<String>,
    /// Another thread, as a person writes it. Where no strands are given, as many as it has.
    pub thread: Option<String>,
    /// Another label.
    pub label: Option<String>,
    /// Another way to draw an outline.
    pub pattern: Option<LinePattern>,
    /// How an outline runs.
    pub course: Option<Course>,
    /// The longest stitch of an outline, in cells.
    pub longest: Option<f64>,
    /// Other letters.
    pub text: Option<String>,
    /// Another face, for letters and the key.
    pub face: Option<LetterFace>,
    /// Another title of the key.
    pub title: Option<String>,
    /// Another date in the key.
    pub date: Option<String>,
    /// Other initials in the key.
    pub initials: Option<String>,
    /// Where the key stands.
    pub place: Option<Place>,
    /// Cells between the design and the key.
    pub gap: Option<u8>,
    /// Another kind of stitch in an area.
    pub stitch: Option<StitchKind>,
    /// All strands in the needle in an area.
    pub strands: Option<u8>,
    /// A thread that joins those in the needle in an area.
    pub add: Option<String>,
    /// Other cells.
    pub motif: Option<Motif>,
    /// What becomes of holes in them, where it is said.
    pub holes: Option<Holes>,
}

/// That a setting does not go with a mark.
pub(super) fn misfit(setting: MarkSetting, mark: &Mark) -> Error {
    Error::MarkMisfit { name: mark.name().to_owned(), kind: mark.kind(), setting }
}

impl MarkSettings {
    /// Finds the threads that are asked for.
    pub(super) fn set_threads(&self, mark: &mut Mark, threads: &Resolver) -> Result<(), Error> {
        if let Some(text) = &self.thread {
            // Where no strands are said, the mark keeps those it has.
            let find = |old: &[Thread]| {
                let strands = old.iter().fold(0u8, |sum, thread| sum.saturating_add(thread.strands));
                threads.with_strands(text, strands.clamp(1, 12))
            };
            match mark {
                Mark::Outline(mark) => mark.thread = find(&mark.thread)?,
                Mark::Halo(mark) => mark.thread = find(&mark.thread)?,
                Mark::Lettering(mark) => mark.thread = find(&mark.thread)?,
                Mark::Key(mark) => mark.thread = find(&mark.thread)?,
                Mark::Backstitch(mark) => mark.thread = find(&mark.thread)?,
                Mark::Stitches(_) => return Err(misfit(MarkSetting::Thread, mark)),
            }
        }
        if let Some(text) = &self.add {
            let Mark::Stitches(stitches) = mark else { return Err(misfit(MarkSetting::Working, mark)) };
            stitches.add = Some(threads.threads(text, Needed::Strand)?);
        }
        Ok(())
    }

    /// Sets what needs nothing beside the mark.
    pub(super) fn set(&self, mark: &mut Mark) -> Result<(), Error> {
        if let Some(label) = &self.label {
            match mark {
                Mark::Outline(mark) => mark.label = Some(label.clone()),
                Mark::Halo(mark) => mark.label = Some(label.clone()),
                Mark::Backstitch(mark) => mark.label = Some(label.clone()),
                _ => return Err(misfit(MarkSetting::Label, mark)),
            }
        }
        if self.pattern.is_some() || self.course.is_some() || self.longest.is_some() {
            let Mark::Outline(outline) = mark else { return Err(misfit(MarkSetting::Line, mark)) };
            outline.pattern = self.pattern.or(outline.pattern);
            outline.course = self.course.unwrap_or(outline.course);
            outline.longest = self.longest.unwrap_or(outline.longest);
        }
        if let Some(text) = &self.text {
            let Mark::Lettering(lettering) = mark else { return Err(misfit(MarkSetting::Text, mark)) };
            lettering.text.clone_from(text);
        }
        if let Some(face) = self.face {
            match mark {
                Mark::Lettering(mark) => mark.style.face = face,
                Mark::Key(mark) => mark.face = face,
                _ => return Err(misfit(MarkSetting::Face, mark)),
            }
        }
        if self.title.is_some() || self.date.is_some() || self.initials.is_some() {
            let Mark::Key(key) = mark else { return Err(misfit(MarkSetting::KeyLines, mark)) };
            key.title = self.title.clone().or(key.title.take());
            key.date = self.date.clone().or(key.date.take());
            key.initials = self.initials.clone().or(key.initials.take());
        }
        if self.place.is_some() || self.gap.is_some() {
            let Mark::Key(key) = mark else { return Err(misfit(MarkSetting::KeyPlace, mark)) };
            key.place = self.place.unwrap_or(key.place);
            key.gap = self.gap.unwrap_or(key.gap);
        }
        if self.stitch.is_some() || self.strands.is_some() {
            let Mark::Stitches(stitches) = mark else { return Err(misfit(MarkSetting::Working, mark)) };
            stitches.stitch = self.stitch.or(stitches.stitch);
            stitches.strands = self.strands.or(stitches.strands);
        }
        Ok(())
    }
}

/// The place of a mark in the list.
pub(super) fn position(chart: &Chart, name: &str) -> Result<usize, Error> {
    chart.marks.iter().position(|mark| mark.name() == name).ok_or_else(|| Error::NoSuchMark {
        name: name.to_owned(),
        names: chart.marks.iter().map(|mark| mark.name().to_owned()).collect(),
    })
}

/// Holds what a mark is called to one line.
pub(super) fn on_one_line(mark: &Mark) -> Result<(), Error> {
    Ok(limits::one_line(mark).map_err(MarkError::from)?)
}

pub(super) fn refuse_same_name(chart: &Chart, name: &str) -> Result<(), Error> {
    if chart.marks.iter().any(|mark| mark.name() == name) {
        return Err(Error::MarkNameTaken { name: name.to_owned() });
    }
    Ok(())
}

/// Moves letters, a key that stands free, and the places that a choice of cells names.
pub(super) fn shift(chart: &mut Chart, name: &str, [dx, dy]: [i32; 2]) -> Result<(), Error> {
    let at = position(chart, name)?;
    let moved = |[x, y]: [i32; 2]| [x.saturating_add(dx), y.saturating_add(dy)];
    let corners = |[a, b, c, d]: [i32; 4]| {
        let ([a, b], [c, d]) = (moved([a, b]), moved([c, d]));
        [a, b, c, d]
    };
    let mut any = false;
    let mut changed = chart.marks[at].mark().clone();
    match &mut changed {
        Mark::Lettering(mark) => (mark.at, any) = (moved(mark.at), true),
        Mark::Key(mark) => {
            if let Place::At(place) = &mut mark.place {
                (*place, any) = (moved(*place), true);
            }
        }
        mark => {
            for pick in mark.motif_mut().into_iter().flat_map(|motif| &mut motif.pick) {
                match &mut pick.cells {
                    PickedCells::At { cell, .. } => *cell = moved(*cell),
                    PickedCells::Rectangle(area) | PickedCells::Ellipse(area) => *area = corners(*area),
                    PickedCells::Polygon(points) => {
                        points.iter_mut().for_each(|point| *point = moved(*point))
                    }
                    _ => continue,
                }
                any = true;
            }
        }
    }
    if !any {
        return Err(Error::NoPlaceOfItsOwn { name: name.to_owned(), kind: changed.kind() });
    }
    chart.marks[at] = chart.marks[at].changed(changed);
    Ok(())
}

/// Puts a mark elsewhere in the order.
pub(super) fn reorder(chart: &mut Chart, name: &str, to: &Order) -> Result<(), Error> {
    let at = position(chart, name)?;
    if let Order::Over(other) | Order::Under(other) = to {
        position(chart, other)?;
    }
    let mark = chart.marks.remove(at);
    let last = chart.marks.len();
    let place = |name: &str| chart.marks.iter().position(|mark| mark.name() == name).unwrap_or(at.min(last));
    let to = match to {
        Order::Over(name) => (place(name) + 1).min(last),
        Order::Under(name) => place(name),
        Order::Bottom => 0,
        Order::Top => last,
    };
    chart.marks.insert(to, mark);
    Ok(())
}
