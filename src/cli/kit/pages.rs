//! The pages that `brede kit` writes.

use brede::chart::{Chart, Needle};
use brede::kit::Handling;
use brede::kit::shopping::{Project, ShoppingList};
use brede::sheet::{bobbins, lists, order};

use super::super::shades::write_sheet;
use super::{Failure, KitArgs};

#[derive(Debug, thiserror::Error)]
#[error("the chart has no needle with the thread `{code}`")]
struct NoSuchNeedle {
    code: String,
}

/// The places of the needles that hold any of these threads.
fn needles_of(chart: &Chart, codes: &[String]) -> Result<Vec<usize>, Failure> {
    let mut places = Vec::new();
    for code in codes {
        let has = |needle: &Needle| needle.threads.iter().any(|thread| thread.code == *code);
        let found = chart.needles().iter().enumerate().filter(|(_, needle)| has(needle));
        let before = places.len();
        places.extend(found.map(|(place, _)| place));
        if places.len() == before {
            let error = NoSuchNeedle { code: code.clone() };
            return Err(Failure::new(error, "give a code as the chart's key has it"));
        }
    }
    Ok(places)
}

/// Writes the pages that were asked for.
pub(super) fn write(
    args: &KitArgs,
    list: &ShoppingList,
    projects: &[Project],
    handling: &Handling,
) -> Result<(), Failure> {
    if let Some(path) = &args.pdf {
        let currency = args.currency.as_deref().unwrap_or_default();
        write_sheet(path, &lists::shopping_pages(list, projects, currency, args.paper))?;
    }
    if let Some(path) = &args.bobbins {
        write_sheet(path, &bobbins::bobbin_pages(list, projects, args.paper))?;
    }
    let Some(project) = projects.first() else { return Ok(()) };
    if let Some(path) = &args.sorter {
        write_sheet(path, &lists::sorter_pages(project, args.paper))?;
    }
    if let Some(path) = &args.order {
        let only = needles_of(&project.chart, &args.only)?;
        let only = (!args.only.is_empty()).then_some(only.as_slice());
        write_sheet(path, &order::order_pages(&project.chart, handling, only, args.paper))?;
    }
    Ok(())
}
