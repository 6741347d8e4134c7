//! What one step changed, so that it can be done and taken back: only what differs is kept.

use serde::{Deserialize, Serialize};

use super::cells::CellDifference;
use super::way::{DifferenceError, List, Way};
use crate::chart::{Chart, Needle, PlacedMark};
use crate::ground::units::GridSize;
use crate::thread::cloth::Cloth;
use crate::thread::shades::ShadeCard;

/// A stretch of a list and what took its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Stretch<T> {
    /// Where it begins, from 0.
    at: usize,
    old: Vec<T>,
    new: Vec<T>,
}

impl<T: Clone + PartialEq> Stretch<T> {
    fn between(old: &[T], new: &[T]) -> Option<Self> {
        let at = old.iter().zip(new).take_while(|(old, new)| old == new).count();
        let (old, new) = (&old[at..], &new[at..]);
        let same = old.iter().rev().zip(new.iter().rev()).take_while(|(old, new)| old == new).count();
        let (old, new) = (&old[..old.len() - same], &new[..new.len() - same]);
        (!old.is_empty() || !new.is_empty()).then(|| Self { at, old: old.to_vec(), new: new.to_vec() })
    }

    /// The list with the other stretch in the place of the one; what was there comes with each of its items.
    fn applied(
        &self,
        list: &[T],
        way: Way,
        name: List,
        item: impl Fn(&T) -> T,
    ) -> Result<Vec<T>, DifferenceError> {
        let (from, to) = match way {
            Way::On => (&self.old, &self.new),
            Way::Back => (&self.new, &self.old),
        };
        let end = self.at.checked_add(from.len()).filter(|&end| end <= list.len());
        let end = end.ok_or(DifferenceError::Missing { list: name })?;
        let mut applied = list[..self.at].to_vec();
        applied.extend(to.iter().map(item));
        applied.extend_from_slice(&list[end..]);
        Ok(applied)
    }
}

/// Two values, before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Turned<T> {
    old: T,
    new: T,
}

impl<T: Clone + PartialEq> Turned<T> {
    fn between(old: &T, new: &T) -> Option<Self> {
        (old != new).then(|| Self { old: old.clone(), new: new.clone() })
    }

    fn to(&self, way: Way) -> &T {
        match way {
            Way::On => &self.new,
            Way::Back => &self.old,
        }
    }
}

/// A card and another: the name, and the rows that differ.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CardDifference {
    /// Nothing where there was, or is, no card.
    name: Turned<Option<String>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    rows: Option<Stretch<String>>,
}

impl CardDifference {
    fn between(old: Option<&ShadeCard>, new: Option<&ShadeCard>) -> Option<Self> {
        if old == new {
            return None;
        }
        let rows = |card: Option<&ShadeCard>| card.map_or_else(Vec::new, ShadeCard::rows);
        let name = |card: Option<&ShadeCard>| card.map(|card| card.name().to_owned());
        Some(Self {
            name: Turned { old: name(old), new: name(new) },
            rows: Stretch::between(&rows(old), &rows(new)),
        })
    }

    fn applied(&self, card: Option<&ShadeCard>, way: Way) -> Result<Option<ShadeCard>, DifferenceError> {
        let mut rows = card.map_or_else(Vec::new, ShadeCard::rows);
        if let Some(stretch) = &self.rows {
            rows = stretch.applied(&rows, way, List::Card, Clone::clone)?;
        }
        let Some(name) = self.name.to(way) else { return Ok(None) };
        ShadeCard::from_rows(name, &rows).map(Some).map_err(|_| DifferenceError::Card)
    }
}

/// What one step changed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    title: Option<Turned<String>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    cloth: Option<Turned<Cloth>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    size: Option<Turned<GridSize>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    needles: Option<Stretch<Needle>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    cells: Option<CellDifference>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    marks: Option<Stretch<PlacedMark>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    card: Option<CardDifference>,
}

impl Difference {
    /// What makes the new chart of the old one, and the other way round.
    #[must_use]
    pub fn between(old: &Chart, new: &Chart) -> Self {
        let mut marks = Stretch::between(&old.marks, &new.marks);
        if let Some(Stretch { old, new, .. }) = &mut marks {
            share_cells(old, new);
        }
        Self {
            title: Turned::between(&old.title, &new.title),
            cloth: Turned::between(&old.cloth, &new.cloth),
            size: Turned::between(&old.size, &new.size),
            needles: Stretch::between(&old.needles, &new.needles),
            cells: CellDifference::between((&old.cells, old.size), (&new.cells, new.size)),
            marks,
            card: CardDifference::between(old.card.as_ref(), new.card.as_ref()),
        }
    }

    /// The chart at the other end. It is no chart of its own yet: it has no id and no steps.
    ///
    /// # Errors
    /// [`DifferenceError`] where it does not fit the chart.
    pub fn applied(&self, chart: &Chart, way: Way) -> Result<Chart, DifferenceError> {
        let size = self.size.as_ref().map_or(chart.size, |size| *size.to(way));
        let needles = match &self.needles {
            Some(needles) => needles.applied(&chart.needles, way, List::Needles, Clone::clone)?,
            None => chart.needles.clone(),
        };
        let cells = match &self.cells {
            Some(cells) => cells.applied((&chart.cells, chart.size), size, way)?,
            None => chart.cells.clone(),
        };
        let title = self.title.as_ref().map_or(&chart.title, |title| title.to(way)).clone();
        let cloth = self.cloth.as_ref().map_or(chart.cloth, |cloth| *cloth.to(way));
        let mut other = Chart::new(title, size, cloth, needles, cells)?;
        other.marks = match &self.marks {
            Some(marks) => {
                // Cells that both ends have are not kept: they are those of the mark with the same id.
                let here = |mark: &PlacedMark| chart.marks.iter().find(|here| here.id == mark.id);
                let whole = |mark: &PlacedMark| match (mark.motif(), &mark.cells) {
                    (Some(_), None) => {
                        let cells = here(mark).and_then(|here| here.cells.clone());
                        mark.clone().with_cells(cells)
                    }
                    _ => mark.clone(),
                };
                marks.applied(&chart.marks, way, List::Marks, whole)?
            }
            None => chart.marks.clone(),
        };
        other.card = match &self.card {
            Some(card) => card.applied(chart.card.as_ref(), way)?,
            None => chart.card.clone(),
        };
        Ok(other)
    }
}

/// Takes the cells off marks that have the same at both ends.
fn share_cells(old: &mut [PlacedMark], new: &mut [PlacedMark]) {
    for mark in old {
        let same = new.iter_mut().find(|other| other.id.is_some() && other.id == mark.id);
        if let Some(other) = same.filter(|other| other.cells == mark.cells) {
            (mark.cells, other.cells) = (None, None);
        }
    }
}
