//! The sheets of a kit.

use super::{Files, KitRequest, Output, inked, shopping_csv};
use crate::chart::Thread;
use crate::desk::{Error, Target, Warning, What};
use crate::ground::progress::Progress;
use crate::planning::shopping::{Project, ShoppingList};
use crate::printing::sheet::{bobbins, lists, order};
use crate::thread::code;

/// More pages than anybody would want unasked.
const MANY_PAGES: usize = 40;

/// The places of the needles that hold any of these threads.
fn needles_of(project: &Project, codes: &[String]) -> Result<Vec<usize>, Error> {
    let mut places = Vec::new();
    for asked in codes {
        let has = |threads: &[Thread]| threads.iter().any(|thread| code::same(&thread.code, asked));
        let needles = project.chart.needles().iter().enumerate();
        let found = needles.filter(|(_, needle)| has(&needle.threads)).map(|(place, _)| place);
        let before = places.len();
        places.extend(found);
        if places.len() > before {
            continue;
        }
        let code = asked.trim().to_owned();
        return Err(if project.lines.iter().any(|line| has(&line.threads)) {
            Error::OutlinesOnly { code }
        } else {
            Error::NoSuchThreadInChart { code }
        });
    }
    Ok(places)
}

/// The sheets that are asked for, not written yet.
pub(super) fn outputs(
    request: &KitRequest,
    list: &ShoppingList,
    projects: &[Project],
    files: &mut Files,
    progress: &dyn Progress,
) -> Result<Vec<Output>, Error> {
    let sheets = &request.sheets;
    let stem = match projects {
        [one] => one.chart.title.clone(),
        _ => "kit".to_owned(),
    };
    let mut outputs = Vec::new();
    let mut put = |what, target: &Target, ending: &str, bytes| {
        outputs.push(Output { what, target: target.clone(), name: format!("{stem}.{ending}"), bytes });
    };
    let paper = sheets.paper;
    if let Some(target) = &sheets.csv {
        put(What::ShoppingList, target, "shopping.csv", shopping_csv(list, projects).into_bytes());
    }
    if let Some(target) = &sheets.pages {
        let currency = sheets.currency.as_deref().unwrap_or_default();
        let mut pages = lists::shopping_pages(list, projects, currency, paper);
        put(
            What::ShoppingPages,
            target,
            "shopping.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
    }
    if let Some(target) = &sheets.bobbins {
        let mut pages = bobbins::bobbin_pages(list, projects, paper);
        put(
            What::BobbinLabels,
            target,
            "bobbins.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
    }
    let [project, ..] = projects else { return Ok(outputs) };
    if let Some(target) = &sheets.sorter {
        let mut pages = lists::sorter_pages(project, paper);
        put(
            What::SorterCards,
            target,
            "sorter.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
    }
    if let Some(target) = &sheets.order {
        let only = needles_of(project, &sheets.only)?;
        let only = (!sheets.only.is_empty()).then_some(only.as_slice());
        let mut pages = order::order_pages(&project.chart, &request.handling, only, paper, progress)?;
        let count = pages.pages.len();
        put(
            What::WorkingOrder,
            target,
            "order.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
        if count > MANY_PAGES {
            let first = project.chart.needles().first();
            let example = first.map(|needle| needle.threads[0].code.clone()).unwrap_or_default();
            files.warnings.push(Warning::LongOrder { pages: count, example });
        }
    }
    Ok(outputs)
}
