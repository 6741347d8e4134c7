#![allow(clippy::unwrap_used)]
use super::*;

fn rows(text: &str) -> Vec<Vec<String>> {
    csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(|record| record.unwrap().iter().map(str::to_owned).collect())
        .collect()
}

fn number(row: &[String], column: usize) -> f64 {
    row[column].parse().unwrap()
}

#[test]
fn ciede2000_agrees_with_sharma_wu_and_dalal_2005_table_1() {
    let rows = rows(include_str!("../../../tests/checks/ciede2000_sharma2005.csv"));
    assert_eq!(rows.len(), 34);
    for row in rows {
        let one = Lab { l: number(&row, 1), a: number(&row, 2), b: number(&row, 3) };
        let two = Lab { l: number(&row, 4), a: number(&row, 5), b: number(&row, 6) };
        assert!((one.ciede2000(two) - number(&row, 7)).abs() <= 1e-4, "pair {}", row[0]);
        assert!((two.ciede2000(one) - number(&row, 7)).abs() <= 1e-4, "pair {} turned", row[0]);
    }
}

#[test]
fn srgb_to_lab_agrees_with_iec_61966_2_1_and_cie_15() {
    let rows = rows(include_str!("../../../tests/checks/srgb_lab_reference.csv"));
    assert_eq!(rows.len(), 14);
    for row in rows {
        let channel = |column: usize| row[column].parse::<u8>().unwrap();
        let colour = Srgb8 { r: channel(1), g: channel(2), b: channel(3) };
        let reference = Lab { l: number(&row, 7), a: number(&row, 8), b: number(&row, 9) };
        // The table's last column is the spread that rounding of the white point alone causes.
        let allowed = number(&row, 16).max(0.005) + 0.005;
        let difference = colour.lab().ciede2000(reference);
        assert!(difference <= allowed, "{}: {difference} over {allowed}", row[0]);
        assert_eq!(colour.lab().srgb8(), colour, "{} there and back", row[0]);
    }
}

#[test]
fn greys_have_the_lightness_and_contrast_of_cie_1976_and_wcag_2() {
    for row in rows(include_str!("../../../tests/checks/greys_lstar_contrast.csv")) {
        let v = row[0].parse::<u8>().unwrap();
        let grey = Srgb8 { r: v, g: v, b: v };
        assert!((grey.luminance() - number(&row, 1)).abs() < 1e-5, "{v}");
        assert!((grey.lab().l - number(&row, 2)).abs() < 1e-3, "{v}");
        assert!((grey.contrast(Srgb8::WHITE) - number(&row, 3)).abs() < 1e-3, "{v}");
        assert!((grey.contrast(Srgb8::BLACK) - number(&row, 4)).abs() < 1e-3, "{v}");
    }
}

#[test]
fn the_wcag_example_grey_has_a_contrast_of_4_5422() {
    // WCAG 2.x: #767676 is the lightest grey that passes 4.5:1 on white.
    let grey: Srgb8 = "#767676".parse().unwrap();
    assert!((grey.contrast(Srgb8::WHITE) - 4.5422).abs() < 5e-5);
}

#[test]
fn only_a_hash_and_six_digits_are_a_colour() {
    assert_eq!("#F4ecd8".parse::<Srgb8>().unwrap().to_string(), "#f4ecd8");
    for bad in ["", "f4ecd8", "#f4ecd", "#f4ecd88", "#gggggg", "#+12345", "red"] {
        assert!(bad.parse::<Srgb8>().is_err(), "{bad}");
    }
}

#[test]
fn colour_blind_eyes_have_the_matrices_of_machado_oliveira_and_fernandes_2009() {
    // tests/checks/cvd_machado2009.csv: the paper's table, severity 1. Columns of a matrix are what pure red, green
    // and blue light become; half a light keeps what would leave 0 to 1 within it.
    let rows = rows(include_str!("../../../tests/checks/cvd_machado2009.csv"));
    for (vision, name) in Vision::ALL.into_iter().zip(["protanomaly", "deuteranomaly", "tritanomaly"]) {
        let row = rows.iter().find(|row| row[0] == name && number(row, 1) == 1.0).unwrap();
        for channel in 0..3 {
            let mut channels = [0.25; 3];
            channels[channel] += 0.25;
            let seen = LinearRgb { channels }.seen_by(vision).channels;
            for (line, seen) in seen.into_iter().enumerate() {
                let wanted = 0.25 * (0..3).map(|at| number(row, 2 + line * 3 + at)).sum::<f64>()
                    + 0.25 * number(row, 2 + line * 3 + channel);
                assert!((seen - wanted.clamp(0.0, 1.0)).abs() < 1e-9, "{name}: {seen} and {wanted}");
            }
        }
    }
}

#[test]
fn what_colour_blind_eyes_see_is_what_daltonlens_draws() {
    // tests/checks/cvd_expected_srgb8.csv: daltonlens 0.1.5, which cuts to 8 bits instead of rounding.
    let mut seen_rows = 0;
    for row in rows(include_str!("../../../tests/checks/cvd_expected_srgb8.csv")) {
        if row[0] != "machado2009" {
            continue;
        }
        let vision = Vision::ALL.into_iter().find(|vision| vision.name() == row[1]).unwrap();
        let byte = |column: usize| row[column].parse::<u8>().unwrap();
        let seen = Srgb8 { r: byte(2), g: byte(3), b: byte(4) }.linear().seen_by(vision).srgb8();
        for (ours, theirs) in [(seen.r, byte(5)), (seen.g, byte(6)), (seen.b, byte(7))] {
            assert!(ours.abs_diff(theirs) <= 1, "{row:?}: {seen}");
        }
        seen_rows += 1;
    }
    assert_eq!(seen_rows, 30);
}

/// The `palette` crate's own transfer function, value by value.
#[test]
fn tables_of_light_are_those_of_the_formula() {
    let by_formula = |light: f64| {
        let encoded: palette::Srgb<f64> =
            palette::Srgb::from_linear(palette::LinSrgb::new(light, light, light));
        let encoded: palette::Srgb<u8> = palette::Clamp::clamp(encoded).into_format();
        encoded.red
    };
    for value in 0..=255 {
        let grey = Srgb8 { r: value, g: value, b: value };
        let formula = palette::Srgb::new(value, value, value).into_format::<f64>().into_linear();
        assert!((grey.linear().channels[1] - formula.green).abs() < 1e-15, "{value}");
        assert_eq!(grey.linear().srgb8(), grey);
    }
    for step in 0..=100_000 {
        let light = f64::from(step) / 100_000.0;
        assert_eq!(LinearRgb { channels: [light; 3] }.srgb8().g, by_formula(light), "{light}");
    }
    for (light, value) in [(-0.5, 0), (1.5, 255), (f64::NAN, 0), (f64::INFINITY, 255)] {
        assert_eq!(LinearRgb { channels: [light; 3] }.srgb8().r, value);
    }
}
