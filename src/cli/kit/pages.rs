//! The pages that `brede kit` writes.

use brede::chart::Thread;
use brede::planning::Handling;
use brede::planning::shopping::{Project, ShoppingList};
use brede::printing::sheet::{MAX_PAGES, bobbins, lists, order};

use super::super::shades::write_sheet;
use super::{Failure, KitArgs, tell};

/// More pages than anybody would want unasked.
const MANY_PAGES: usize = 40;

#[derive(Debug, thiserror::Error)]
enum OnlyError {
    #[error("the chart has no needle with the thread `{code}`")]
    NoSuchNeedle { code: String },
    #[error("`{code}` is used for outlines only, and the pages of --order show crosses")]
    OutlinesOnly { code: String },
}

/// The places of the needles that hold any of these threads.
fn needles_of(project: &Project, codes: &[String]) -> Result<Vec<usize>, Failure> {
    let mut places = Vec::new();
    for code in codes {
        let code = code.trim();
        let has =
            |threads: &[Thread]| threads.iter().any(|thread| brede::thread::code::same(&thread.code, code));
        let needles = project.chart.needles().iter().enumerate();
        let found = needles.filter(|(_, needle)| has(&needle.threads)).map(|(place, _)| place);
        let before = places.len();
        places.extend(found);
        if places.len() > before {
            continue;
        }
        let code = code.to_owned();
        return Err(if project.lines.iter().any(|line| has(&line.threads)) {
            let hint = "leave it out: its lines stand on the chart pages, and the key says how long they are";
            Failure::new(OnlyError::OutlinesOnly { code }, hint)
        } else {
            Failure::new(OnlyError::NoSuchNeedle { code }, "give a code as the chart's key has it")
        });
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
        let only = needles_of(project, &args.only)?;
        let only = (!args.only.is_empty()).then_some(only.as_slice());
        let most = if only.is_some() { MAX_PAGES } else { order::USUAL_PAGES };
        let pages = order::order_pages(&project.chart, handling, only, most, args.paper);
        let sheet = &pages.sheet;
        write_sheet(path, sheet)?;
        if sheet.pages.len() > MANY_PAGES {
            tell::warning(&format!(
                "the working order takes {} pages: name the threads you want with --only, such as --only {}",
                sheet.pages.len(),
                project
                    .chart
                    .needles()
                    .first()
                    .map(|needle| needle.threads[0].code.clone())
                    .unwrap_or_default(),
            ));
        }
    }
    Ok(())
}
