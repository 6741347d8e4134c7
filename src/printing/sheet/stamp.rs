//! The mark that all pages of one printing carry, so that pages of another revision are not taken for theirs.

use super::measures::MARGIN;
use super::{Align, Said, Sheet};
use crate::printing::length::{Length, mm, text_points};
use crate::printing::typeface::Weight;

/// The size of the mark. It stands in the outermost two millimetres that home printers can print in, above everything
/// else, where nothing else comes: larger, it would reach into the edge or the head of the page.
const SIZE: Length = text_points(6.0);

/// The line that its letters stand on. It has capitals and figures, and nothing below that line.
const LINE: Length = mm(7.6);

/// The most charts that are named; lists of more say how many there are.
const MOST: usize = 4;

impl Sheet {
    /// Puts the marks of the charts that the pages show, each in its short form, into the corner of every page.
    pub fn mark<'a>(&mut self, charts: impl IntoIterator<Item = &'a str>) {
        let mut named: Vec<&str> = charts.into_iter().collect();
        let more = named.len().saturating_sub(MOST);
        named.truncate(MOST);
        if named.is_empty() {
            return;
        }
        let more = if more == 0 { String::new() } else { format!(" + {more}") };
        let text = format!("{}{more}", named.join(" "));
        for page in &mut self.pages {
            page.begin(Said::Nothing);
            page.text([page.width - MARGIN, LINE], &text, SIZE, Weight::Regular, Align::Right);
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use crate::ground::progress::Silent;
    use crate::printing::sheet::tests::{chart, texts_of};
    use crate::printing::sheet::{Paper, SheetOptions, lay_out, symbol_list};

    #[test]
    fn every_page_carries_the_mark_once() {
        let chart = chart(150, 200, 30, "Rock pool", "Kelp");
        let picture = image::RgbImage::new(30, 40);
        let mut sheet = lay_out(&chart, &[], picture, &SheetOptions::default(), &Silent).unwrap().sheet;
        sheet.mark(["HKTM-7-RA"]);
        let marked = |page| texts_of(page).iter().filter(|text| **text == "HKTM-7-RA").count();
        assert!(sheet.pages.len() > 4 && sheet.pages.iter().all(|page| marked(page) == 1));
        let mut list = symbol_list(&chart, Paper::A4);
        list.mark([]);
        assert_eq!(list, symbol_list(&chart, Paper::A4));
        list.mark(["A-1-A", "C-1-A", "E-1-A", "F-1-A", "H-1-A", "J-1-A"]);
        assert!(texts_of(&list.pages[0]).contains(&"A-1-A C-1-A E-1-A F-1-A + 2"));
    }
}
