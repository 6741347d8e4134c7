#![allow(clippy::unwrap_used)]
use super::*;
use proptest::prelude::*;

#[test]
fn ten_by_twelve_inches_hold_140_by_168_stitches_on_14_count() {
    // Plain arithmetic from the definition of the inch: 140 / 14 = 10 in = 254 mm, 168 / 14 = 12 in = 304.8 mm.
    let count = FabricCount::new(14).unwrap();
    assert!((count.length_of(140).mm() - 254.0).abs() < 1e-9);
    assert!((count.length_of(168).mm() - 304.8).abs() < 1e-9);
    assert_eq!(count.stitches_in("10in".parse().unwrap()), 140);
    assert_eq!(count.stitches_in("30.48 cm".parse().unwrap()), 168);
}

#[test]
fn a_piece_of_67_8_cm_on_18_count_comes_to_55_cm_on_22() {
    // Common practice, no source.
    let eighteen = FabricCount::new(18).unwrap();
    let stitches = eighteen.stitches_in("67.8cm".parse().unwrap());
    let on_22 = FabricCount::new(22).unwrap().length_of(stitches);
    assert!((on_22.cm() - 55.0).abs() < 1.0, "{on_22}");
}

#[test]
fn a_piece_of_28_5_by_18_cm_wants_cloth_of_about_39_by_28_cm() {
    // Common practice, no source: 39 x 27.5 cm, near 5 cm a side.
    let allowance = "5cm".parse().unwrap();
    let width = "28.5cm".parse::<Millimetres>().unwrap().with_margin(allowance);
    let height = "18cm".parse::<Millimetres>().unwrap().with_margin(allowance);
    assert!((width.cm() - 39.0).abs() <= 0.5, "{width}");
    assert!((height.cm() - 27.5).abs() <= 0.5, "{height}");
}

#[test]
fn evenweave_over_two_has_half_as_many_stitches_as_threads() {
    let count: FabricCount = "28/2".parse().unwrap();
    assert!((count.stitches_per_inch() - 14.0).abs() < 1e-12);
    assert_eq!(count.over(), 2);
    assert_eq!(count.to_string(), "28/2");
}

#[test]
fn counts_take_halves_and_refuse_other_fractions() {
    assert_eq!("12.5".parse::<FabricCount>().unwrap().to_string(), "12.5");
    assert!("12.3".parse::<FabricCount>().is_err());
    for bad in ["", "x", "0", "-14", "28/0", "28/9", "NaN", "1e9", "3", "61"] {
        assert!(bad.parse::<FabricCount>().is_err(), "{bad}");
    }
}

#[test]
fn lengths_without_a_unit_are_refused() {
    for bad in ["20", "cm", "20 ells", "-3cm", "NaNcm", "1e9m"] {
        assert!(bad.parse::<Millimetres>().is_err(), "{bad}");
    }
    assert!(("8in".parse::<Millimetres>().unwrap().mm() - 203.2).abs() < 1e-9);
    assert!(("2,5cm".parse::<Millimetres>().unwrap().mm() - 25.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn stitches_survive_the_way_to_a_length_and_back(count in 4u16..=60, stitches in 0u32..=2000) {
        let count = FabricCount::new(count).unwrap();
        prop_assert_eq!(count.stitches_in(count.length_of(stitches)), stitches);
    }

    #[test]
    fn a_written_count_reads_back(half in 8u16..=120, over in 1u8..=2) {
        let text = if over == 1 { format!("{}", f64::from(half) / 2.0) } else { format!("{}/2", half) };
        let count: FabricCount = text.parse().unwrap();
        prop_assert_eq!(count.to_string(), text);
    }
}

#[test]
fn one_of_a_thing_is_told_as_one() {
    let told =
        [(0, "strand"), (1, "strand"), (2, "stitch"), (1, "backstitch"), (3, "cross"), (1, "more pair")];
    let told = told.map(|(count, noun)| counted(count, noun));
    assert_eq!(told, ["0 strands", "1 strand", "2 stitches", "1 backstitch", "3 crosses", "1 more pair"]);
}
