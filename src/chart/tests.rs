#![allow(clippy::unwrap_used)]
use super::*;
use proptest::prelude::*;

pub(super) fn thread(code: &str, colour: &str, strands: u8) -> Thread {
    Thread {
        code: code.into(),
        name: format!("shade {code}"),
        colour: colour.parse().unwrap(),
        strands,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    }
}

pub(super) fn needle(code: &str, colour: &str) -> Needle {
    Needle { symbol: "disc".into(), threads: vec![thread(code, colour, 2)], stitch: StitchKind::FullCross }
}

fn chart(columns: u32, cells: Vec<Cell>) -> Chart {
    let rows = u32::try_from(cells.len()).unwrap() / columns;
    let needles = vec![needle("A", "#102030"), needle("B", "#a0b0c0"), needle("C", "#ffffff")];
    let size = GridSize::new(columns, rows).unwrap();
    Chart::new("Rock pool".into(), size, Cloth::default(), needles, cells).unwrap()
}

pub(super) fn sample() -> Chart {
    let mut cells = vec![Cell::worked(0); 8];
    cells.extend([Cell::worked(1), Cell::BARE, Cell::BARE, Cell::worked(2)]);
    cells.extend([Cell::BARE; 4]);
    chart(4, cells)
}

#[test]
fn the_saved_form_is_readable_runs() {
    let text = sample().to_json();
    assert!(text.contains("\"0*4\"") && text.contains("\"1 .*2 2\"") && text.contains("\".*4\""), "{text}");
    let mut chart = sample();
    chart.identify();
    assert_eq!(Chart::from_json(text.as_bytes()).unwrap(), chart);
}

#[test]
fn stitches_are_counted_by_needle_and_bare_cells_by_none() {
    assert_eq!(sample().stitches(), [8, 1, 1]);
}

#[test]
fn a_newer_chart_says_so_whatever_else_it_holds() {
    let error = Chart::from_json(br#"{"brede_chart": 7, "wonders": []}"#).unwrap_err();
    assert!(error.to_string().contains("version 7"), "{error}");
}

#[test]
fn damage_is_told_by_row_and_never_laid_out_in_memory() {
    let good = sample().to_json();
    for (old, new, part) in [
        ("\"0*4\"", "\"0*4000000000000\"", "row 1"),
        ("\"0*4\"", "\"0*18446744073709551615 1*18446744073709551615\"", "row 1"),
        ("\"0*4\"", "\"0*3\"", "3 squares"),
        ("\"0*4\"", "\"x*4\"", "`x*4`"),
        ("\"0*4\"", "\"255*4\"", "`255*4`"),
        ("\"0*4\"", "\"9*4\"", "needle 9 of 3"),
        ("\"rows\": 4", "\"rows\": 5", "4 rows of squares, not 5"),
        ("\"rows\": 4", "\"rows\": 4000000000", "not a brede chart"),
        ("\"strands\": 2", "\"strands\": 0", "0 strands"),
        ("#102030", "102030", "not a brede chart"),
        ("\"title\"", "\"tittle\"", "not a brede chart"),
    ] {
        assert!(good.contains(old), "{old}");
        let error = Chart::from_json(good.replacen(old, new, 1).as_bytes()).unwrap_err();
        assert!(error.to_string().contains(part), "{new}: {error}");
    }
}

#[test]
fn a_chart_cut_short_anywhere_is_refused() {
    let good = sample().to_json();
    for end in 0..good.trim_end().len() {
        assert!(Chart::from_json(&good.as_bytes()[..end]).is_err(), "cut at {end}");
    }
}

#[test]
fn a_blend_mixes_its_threads_as_light() {
    // Half black and half white in linear light is 0.5, which IEC 61966-2-1 encodes as 188.
    let blend = Needle {
        symbol: String::new(),
        threads: vec![thread("A", "#000000", 1), thread("B", "#ffffff", 1)],
        stitch: StitchKind::FullCross,
    };
    assert_eq!(blend.colour().to_string(), "#bcbcbc");
    assert_eq!((blend.code().as_str(), blend.strands_text().as_str()), ("A + B", "1 + 1"));
}

proptest! {
    #[test]
    fn any_chart_reads_back_as_it_was_saved(
        columns in 4u32..40,
        values in proptest::collection::vec(0usize..4, 160..900),
    ) {
        let rows = values.len() / columns as usize;
        prop_assume!(rows >= 4);
        let cells: Vec<Cell> = values[..rows * columns as usize]
            .iter()
            .map(|&value| if value == 3 { Cell::BARE } else { Cell::worked(value) })
            .collect();
        let mut chart = chart(columns, cells);
        chart.identify();
        let text = chart.to_json();
        let read = Chart::from_json(text.as_bytes()).unwrap();
        prop_assert_eq!(read.to_json(), text);
        prop_assert_eq!(read, chart);
    }
}

#[test]
fn an_older_chart_opens_and_is_given_what_it_lacks_once() {
    let chart = sample();
    let mut document: serde_json::Value = serde_json::from_str(&chart.to_json()).unwrap();
    document["brede_chart"] = 1.into();
    for key in ["id", "revision", "fingerprint"] {
        assert!(document.as_object_mut().unwrap().remove(key).is_some(), "{key}");
    }
    let opened = Chart::open(format!("\u{feff}{document}").as_bytes()).unwrap();
    assert_eq!(opened.notes, [OpeningNote::Older { version: 1 }]);
    assert_eq!(opened.chart.stamp(), chart.stamp());
    let again = Chart::open(opened.chart.to_json().as_bytes()).unwrap();
    assert_eq!((again.notes, again.chart), (Vec::new(), opened.chart));
}

#[test]
fn a_chart_that_was_edited_by_hand_is_seen_to_be() {
    let chart = sample();
    let text = chart.to_json();
    let edited = text.replacen("\"0*4\"", "\"0*3 1\"", 1);
    let opened = Chart::open(edited.as_bytes()).unwrap();
    let (saved, found) = (chart.fingerprint(), opened.chart.fingerprint());
    assert_ne!(saved, found);
    assert_eq!(opened.notes, [OpeningNote::Edited { saved, found }]);
    // What is written otherwise but says the same is no change.
    let same = text.replacen("\"0*4\"", "\"0 0*2  0\"", 1);
    assert!(Chart::open(same.as_bytes()).unwrap().notes.is_empty());
}

#[test]
fn the_card_goes_with_the_chart_and_the_picture_decides_its_id() {
    let mut chart = sample();
    chart.card = Some(ShadeCard::demonstration());
    chart.made = Some(Made {
        photo: "pool.jpg".into(),
        photo_sha256: "0".repeat(64),
        brede: "0".into(),
        card: "tin".into(),
        seed: 1,
        settings: std::collections::BTreeMap::new(),
        mean_delta_e: 0.0,
        request: None,
    });
    let read = Chart::from_json(chart.to_json().as_bytes()).unwrap();
    assert_eq!(read.card, chart.card);
    assert_eq!(read.stamp(), chart.stamp());
    let id = |change: fn(&mut Chart)| {
        let mut chart = chart.clone();
        change(&mut chart);
        chart.identity().id
    };
    let of_cells = |chart: &mut Chart| chart.set_symbols(["ring".into()]);
    assert_eq!(id(of_cells), chart.identity().id);
    assert_ne!(id(|chart| chart.made.as_mut().unwrap().seed = 2), chart.identity().id);
    assert_ne!(
        id(|chart| chart.made.as_mut().unwrap().photo_sha256.replace_range(..1, "1")),
        chart.identity().id
    );
    let shorter = |chart: &mut Chart| {
        let rows = chart.card.as_ref().unwrap().rows();
        chart.card = Some(ShadeCard::from_rows("tin", &rows[..rows.len() - 1]).unwrap());
    };
    assert_ne!(id(shorter), chart.identity().id);
}

#[test]
fn the_symbols_of_the_paper_go_with_the_chart_and_earlier_bredes_read_charts_without_them() {
    let mut chart = sample();
    assert!(chart.to_json().contains("\"brede_chart\": 2"), "{}", chart.to_json());
    let plain = chart.fingerprint();
    let shape = |path: &str| PrintedShape { path: path.into(), stroke: Some(40) };
    chart.printed = vec![PrintedSymbol { symbol: "disc".into(), shapes: vec![shape("M100 100L900 -20Z")] }];
    chart.identify();
    let text = chart.to_json();
    assert!(text.contains("\"brede_chart\": 3"));
    let opened = Chart::open(text.as_bytes()).unwrap();
    assert_eq!((opened.chart.fingerprint(), opened.notes), (plain, Vec::new()));
    assert_eq!(opened.chart, chart);
    // They go with their needle where it gets another symbol, and come back with it.
    let mut other = opened.chart;
    let given = |chart: &mut Chart| {
        chart.set_symbols(["ring", "disc", "heart"].map(str::to_owned));
        Ok::<_, MarkError>(())
    };
    other.change(Done::SymbolsGiven, given).unwrap();
    assert_eq!(other.printed[0].symbol, "ring");
    other.undo().unwrap();
    assert_eq!(other.printed, chart.printed);
    for bad in ["M1 1<script>", "M1e9 0", &"L1 1".repeat(9000)] {
        chart.printed[0].shapes[0].path = bad.to_owned();
        assert!(
            matches!(Chart::from_json(chart.to_json().as_bytes()), Err(DocumentError::Printed)),
            "{bad:.20}"
        );
    }
}
