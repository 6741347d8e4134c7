//! The sheets of a kit.

use super::{Files, Heavy, KitRequest, Output, inked, shopping_csv};
use crate::chart::{Thread, WorkedLine};
use crate::desk::{Error, Target, Warning, What, memory};
use crate::ground::progress::Progress;
use crate::planning::shopping::{Project, ShoppingList};
use crate::printing::sheet::{MAX_PAGES, Sheet, bobbins, boxes, lists, order};
use crate::thread::code;

/// The places of the needles that hold any of these threads.
fn needles_of(project: &Project, codes: &[String]) -> Result<Vec<usize>, Error> {
    let mut places = Vec::new();
    for asked in codes {
        let has = |threads: &[Thread]| threads.iter().any(|thread| code::same(&thread.code, asked));
        let needles = project.chart.needles().iter().enumerate();
        let found = needles.filter(|(_, needle)| has(&needle.threads)).map(|(place, _)| place);
        let before = places.len();
        places.extend(found);
        if places.len() == before && !project.lines.iter().any(|line| has(&line.threads)) {
            return Err(Error::NoSuchThreadInChart { code: asked.trim().to_owned() });
        }
    }
    Ok(places)
}

/// The lines that hold any of these threads; all where none is asked for.
fn lines_of(project: &Project, codes: &[String]) -> Vec<WorkedLine> {
    let is_asked = |thread: &Thread| codes.iter().any(|asked| code::same(&thread.code, asked));
    let lines = project.lines.iter().filter(|line| codes.is_empty() || line.threads.iter().any(is_asked));
    lines.cloned().collect()
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
    // The threads as they lie in the box, and a plan of it.
    let boxed = sheets.in_box.map(|(plan, order)| {
        let list = boxes::in_order(list, order);
        let pages = boxes::plan_pages(&list, projects, plan, paper);
        (list, pages)
    });
    let plan = |sheet: &mut Sheet| {
        let plan = boxed.iter().flat_map(|(_, pages)| pages.iter().cloned());
        sheet.pages.splice(0..0, plan);
    };
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
        let mut pages = bobbins::bobbin_pages(boxed.as_ref().map_or(list, |(list, _)| list), projects, paper);
        plan(&mut pages);
        put(
            What::BobbinLabels,
            target,
            "bobbins.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
    }
    let [project, ..] = projects else { return Ok(outputs) };
    if let Some(target) = &sheets.sorter {
        let mut pages = lists::sorter_pages(project, boxed.as_ref().map(|(list, _)| list), paper);
        plan(&mut pages);
        put(
            What::SorterCards,
            target,
            "sorter.pdf",
            inked(&mut pages, &files.stamps, "", request.moment, progress)?,
        );
    }
    if let Some(target) = &sheets.order {
        let size = project.chart.size();
        files.may_take(Heavy::Order(size), memory::ordered(size))?;
        let only = needles_of(project, &sheets.only)?;
        let only = (!sheets.only.is_empty()).then_some(only.as_slice());
        // What was asked for by name is wanted, as far as anything can be printed.
        let usual = if only.is_some() { MAX_PAGES } else { order::USUAL_PAGES };
        let most = sheets.order_pages.unwrap_or(usual).clamp(1, MAX_PAGES);
        let lines = lines_of(project, &sheets.only);
        let mut order =
            order::order_pages(&project.chart, &lines, &request.handling, only, most, paper, progress)?;
        let pdf = inked(&mut order.sheet, &files.stamps, "", request.moment, progress)?;
        put(What::WorkingOrder, target, "order.pdf", pdf);
        let left_out = order.left_out.len();
        files.warnings.extend(match (order.cut_short, order.left_out.into_iter().next()) {
            (Some(code), _) => Some(Warning::OrderCutShort { code, left_out, pages: most }),
            (None, Some(example)) => {
                Some(Warning::OrderLeftOut { shown: order.shown, left_out, pages: most, example })
            }
            (None, None) => None,
        });
    }
    Ok(outputs)
}
