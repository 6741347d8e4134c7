//! The shopping list: what to buy, with a box to tick.

use super::super::measures::MARGIN;
use super::super::{Align, Area, Page, Paper, Said, Shape, Sheet, Stroke, read_title};
use super::{BODY, HEADING, RULE, SMALL, heading, notes, put, swatch};
use crate::ground::colour::Srgb8;
use crate::ground::units::counted;
use crate::planning::shopping::{Item, Project, ShoppingList};
use crate::printing::length::{Length, mm};
use crate::printing::typeface::Weight;

/// A column of a table: its heading, the share of the width it takes and which end its text stands at.
type Column = (&'static str, f64, Align);

const SHOPPING: [Column; 8] = [
    ("Code", 0.13, Align::Left),
    ("Name", 0.31, Align::Left),
    ("Used", 0.09, Align::Right),
    ("Skeins", 0.09, Align::Right),
    ("Owned", 0.09, Align::Right),
    ("Buy", 0.08, Align::Right),
    ("Price", 0.10, Align::Right),
    ("Cost", 0.11, Align::Right),
];

fn shopping_cells(item: &Item) -> [String; 8] {
    let amount = |amount: Option<rust_decimal::Decimal>| amount.map_or_else(|| "?".into(), |a| a.to_string());
    let star = if item.nearly_used_up() { "*" } else { "" };
    [
        item.code.clone(),
        item.name.clone(),
        format!("{:.2}{star}", item.skeins_exact),
        item.skeins().to_string(),
        item.owned.normalize().to_string(),
        if item.to_buy() == 0 { "–".to_owned() } else { item.to_buy().to_string() },
        amount(item.price),
        if item.to_buy() == 0 { "–".to_owned() } else { amount(item.cost()) },
    ]
}

/// The shopping list on paper: a box to tick, a swatch and the figures of each thread, `currency` after sums.
#[must_use]
pub fn shopping_pages(list: &ShoppingList, projects: &[Project], currency: &str, paper: Paper) -> Sheet {
    let [width, height] = paper.size();
    let row = BODY * 1.95;
    let top = MARGIN + HEADING * 3.2;
    let foot = SMALL * 1.35 * 6.5;
    // The sums stand under the last.
    let per_page = ((height - top - foot - MARGIN).holds(row, 0.0) as usize).saturating_sub(1).max(1);
    // Pages as full as one another: no row stands alone on the last.
    let pages = list.items.len().div_ceil(per_page).max(1);
    let chunks: Vec<&[Item]> = list.items.chunks(list.items.len().div_ceil(pages).max(1)).collect();
    let titles: Vec<String> = projects.iter().map(|project| read_title(&project.chart)).collect();
    let title = format!("Threads for {}", titles.join(", "));
    let inner = width - 2.0 * MARGIN;
    let from = MARGIN + row * 2.1;
    let stops: Vec<Length> = SHOPPING
        .iter()
        .scan(from, |left, (_, share, align)| {
            let start = *left;
            *left += *share * (inner - row * 2.1);
            Some(if *align == Align::Right { *left } else { start })
        })
        .collect();
    let pages = chunks
        .iter()
        .enumerate()
        .map(|(index, items)| {
            let mut page = Page::new([width, height]);
            heading(&mut page, &title, HEADING, index, chunks.len());
            for ((name, _, align), &stop) in SHOPPING.iter().zip(&stops) {
                page.begin_head(0);
                page.text([stop, top - SMALL * 0.6], name, SMALL, Weight::Regular, *align);
            }
            let rule = vec![[MARGIN, top], [MARGIN + inner, top]];
            page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, mm(0.3)) });
            for (place, item) in items.iter().enumerate() {
                let y = top + place as f64 * row;
                // What is to be bought has a box to tick and stands out.
                let is_bought = item.to_buy() > 0;
                if is_bought {
                    let tick = Area { x: MARGIN, y, width: row, height: row }.inset(row * 0.22);
                    page.add(Shape::Frame { area: tick, stroke: Stroke::solid(Srgb8::BLACK, mm(0.25)) });
                }
                let square = Area { x: MARGIN + row, y, width: row, height: row }.inset(row * 0.1);
                swatch(&mut page, square, item.colour);
                let cells = shopping_cells(item);
                for (at, ((cell, stop), (_, share, align))) in
                    cells.iter().zip(&stops).zip(&SHOPPING).enumerate()
                {
                    let weight = match at {
                        0 => Weight::Code,
                        1 | 5 if is_bought => Weight::Bold,
                        _ => Weight::Regular,
                    };
                    let limit = *share * (inner - row * 2.1) - BODY * 0.5;
                    page.begin_cell(1 + place);
                    put(&mut page, [*stop, y + row / 2.0 + BODY * 0.34], cell, BODY, weight, *align, limit);
                }
                let rule = vec![[MARGIN, y + row], [MARGIN + inner, y + row]];
                page.add(Shape::Line { points: rule, stroke: Stroke::solid(RULE, mm(0.1)) });
            }
            page.begin(Said::Texts);
            if index + 1 == chunks.len() {
                sums(&mut page, list, &stops, top + items.len() as f64 * row, row);
            }
            notes(&mut page, &shopping_note(list, currency), SMALL, 5);
            page
        })
        .collect();
    Sheet::list(&title, pages)
}

/// The sums under the last row: skeins to have and to buy, and what those cost as far as it is known.
fn sums(page: &mut Page, list: &ShoppingList, stops: &[Length], y: Length, row: Length) {
    let base = y + row / 2.0 + BODY * 0.34;
    let skeins: u64 = list.items.iter().map(Item::skeins).sum();
    let buy: u64 = list.items.iter().map(Item::to_buy).sum();
    let cost = if list.is_priced() { list.total().to_string() } else { String::new() };
    let texts = ["In all", "", "", &skeins.to_string(), "", &buy.to_string(), "", &cost];
    for ((text, stop), (_, _, align)) in texts.into_iter().zip(stops).zip(&SHOPPING) {
        if !text.is_empty() {
            page.text([*stop, base], text, BODY, Weight::Bold, *align);
        }
    }
    let rule = vec![[MARGIN, y], [page.width - MARGIN, y]];
    page.add(Shape::Line { points: rule, stroke: Stroke::solid(Srgb8::BLACK, mm(0.3)) });
}

fn shopping_note(list: &ShoppingList, currency: &str) -> String {
    let beyond = list.beyond_one_each();
    let set = if beyond.is_empty() {
        "One skein of each is enough, as in a boxed set.".to_owned()
    } else {
        format!("One skein of each is not enough for {}.", beyond.join(", "))
    };
    let cost = match (list.is_priced(), list.unpriced().is_empty()) {
        (false, _) => String::new(),
        (true, true) => format!(", {} {currency} in all", list.total()),
        (true, false) => format!(", {} {currency} in all without the threads marked ?", list.total()),
    };
    let star = if list.items.iter().any(Item::nearly_used_up) {
        " * Nearly used up: have one more of the same dye lot at hand."
    } else {
        ""
    };
    let is_reel = |item: &&Item| !item.skein.is_of_six();
    let reels: Vec<String> =
        list.items.iter().filter(is_reel).map(|item| format!("{} {}", item.code, item.skein)).collect();
    let reels =
        if reels.is_empty() { String::new() } else { format!(" Taken as a skein: {}.", reels.join(", ")) };
    format!(
        "{} to buy{cost}. {set} Used: skeins by a working order, with starts, ends and a tenth for waste; plain rows take \
         more.{reels}{star} Buy all of a shade in one dye lot. Keep needles, scissors and bobbins away from small \
         children.",
        counted(list.items.iter().map(Item::to_buy).sum::<u64>(), "skein"),
    )
}
