#![allow(clippy::unwrap_used)]
use image::{Rgba, RgbaImage};
use proptest::prelude::*;

use super::*;
use crate::ground::advice::Advice;
use crate::ground::colour::{Lab, Lab32};
use crate::ground::progress::Silent;
use crate::making::photo::Limits;

fn photo(picture: &RgbaImage) -> Photo {
    let mut bytes = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
    Photo::read("pool.png", &bytes.into_inner(), &Limits::default(), &Silent).unwrap()
}

fn framed(picture: &RgbaImage, size: Size, crop: Option<&str>) -> Result<StitchField, FrameError> {
    let crop = crop.map(|crop| crop.parse().unwrap());
    let options = FrameOptions { size, crop, ..FrameOptions::default() };
    frame(&photo(picture), &options, &Silent).map(|framed| framed.field)
}

fn dims(picture: &RgbaImage, size: Size, crop: Option<&str>) -> (u32, u32) {
    let field = framed(picture, size, crop).unwrap();
    (field.size().columns(), field.size().rows())
}

fn grey(width: u32, height: u32) -> RgbaImage {
    RgbaImage::from_pixel(width, height, Rgba([90, 90, 90, 255]))
}

#[test]
fn the_aspect_is_kept_and_both_sides_cut_to_fit() {
    let picture = grey(400, 300);
    assert_eq!(dims(&picture, Size::Usual, None), (140, 105));
    assert_eq!(dims(&picture, Size::Columns(80), None), (80, 60));
    assert_eq!(dims(&picture, Size::Rows(60), None), (80, 60));
    assert_eq!(dims(&picture, Size::Both { columns: 50, rows: 50 }, None), (50, 50));
    assert_eq!(dims(&picture, Size::Columns(50), Some("0,0,100,200")), (50, 100));
    assert_eq!(dims(&grey(60, 40), Size::Usual, None), (60, 40));
}

#[test]
fn a_pixel_that_lets_light_through_changes_no_cell_but_its_own() {
    // What is opaque all over is made smaller in another way than what is not.
    let grain = |x: u32, y: u32| (x * 7919 + y * 104_729).wrapping_mul(2_654_435_761) >> 25;
    let opaque = RgbaImage::from_fn(120, 90, |x, y| {
        Rgba([(x * 2) as u8, (y * 2 + grain(x, y) / 8) as u8, grain(x, y) as u8, 255])
    });
    let mut clear = opaque.clone();
    clear.get_pixel_mut(0, 0).0[3] = 254;
    assert!(photo(&opaque).is_opaque() && !photo(&clear).is_opaque());
    for size in [Size::Columns(17), Size::Columns(60), Size::Columns(200)] {
        let [one, other] = [&opaque, &clear].map(|picture| framed(picture, size, None).unwrap());
        let width = one.size().width();
        let far = |cell: &usize| cell % width > width / 20 || cell / width > width / 20;
        for cell in (0..one.size().cells()).filter(far) {
            assert_eq!(one.cells()[cell], other.cells()[cell], "{size:?}, cell {cell}");
        }
        let [one, other] = [&opaque, &clear].map(|picture| {
            let options = FrameOptions { size, ..FrameOptions::default() };
            view(&photo(picture), &options, 50, &Silent).unwrap().0
        });
        let same = one.pixels().zip(other.pixels()).filter(|(one, other)| one == other).count();
        assert!(same + 1 >= one.pixels().len(), "{size:?}: {same}");
    }
}

#[test]
fn cutting_to_fit_is_about_the_centre() {
    // Left third red, middle green, right blue: a square cut keeps the middle.
    let picture = RgbaImage::from_fn(300, 100, |x, _| match x / 100 {
        0 => Rgba([255, 0, 0, 255]),
        1 => Rgba([0, 255, 0, 255]),
        _ => Rgba([0, 0, 255, 255]),
    });
    let field = framed(&picture, Size::Both { columns: 10, rows: 10 }, None).unwrap();
    let green = Srgb8 { r: 0, g: 255, b: 0 }.lab();
    for cell in field.cells() {
        assert!(Lab::from(cell.unwrap()).ciede2000(green) < 3.0, "{cell:?}");
    }
}

#[test]
fn a_picture_of_one_pixel_a_cell_is_taken_as_it_is() {
    let picture = RgbaImage::from_fn(37, 23, |x, y| {
        Rgba([(x * 6) as u8, (y * 11) as u8, (x * y) as u8, if (x + y) % 5 == 0 { 127 } else { 128 }])
    });
    for (size, crop) in
        [(Size::Columns(37), None), (Size::Usual, None), (Size::Columns(20), Some("10,3,20,20"))]
    {
        let field = framed(&picture, size, crop).unwrap();
        let (left, top) = if crop.is_some() { (10, 3) } else { (0, 0) };
        for (cell, value) in field.cells().iter().enumerate() {
            let (x, y) = (cell % field.size().width() + left, cell / field.size().width() + top);
            let Rgba([r, g, b, alpha]) = *picture.get_pixel(x as u32, y as u32);
            assert_eq!(value.is_some(), alpha == 128);
            if let Some(value) = *value {
                let lab = Srgb8 { r, g, b }.lab();
                assert!(Lab::from(value).cie76(lab) < 1e-4);
            }
        }
    }
}

#[test]
fn a_fine_checkerboard_becomes_the_grey_of_its_light() {
    // Half the light of white: linear 0.5 is sRGB 188 (IEC 61966-2-1), not 128.
    let picture =
        RgbaImage::from_fn(
            400,
            400,
            |x, y| {
                if (x + y) % 2 == 0 { Rgba([255; 4]) } else { Rgba([0, 0, 0, 255]) }
            },
        );
    let field = framed(&picture, Size::Columns(20), None).unwrap();
    for cell in field.cells() {
        let lab = Lab::from(cell.unwrap());
        assert!(lab.srgb8().r.abs_diff(188) <= 1, "{lab:?}");
    }
}

#[test]
fn what_is_clear_does_not_colour_what_is_opaque() {
    // Clear pixels hide a loud green, as many drawings keep one there.
    let picture =
        RgbaImage::from_fn(
            200,
            200,
            |x, _| {
                if x < 100 { Rgba([200, 40, 30, 255]) } else { Rgba([0, 255, 0, 0]) }
            },
        );
    let field = framed(&picture, Size::Columns(10), None).unwrap();
    let red = Srgb8 { r: 200, g: 40, b: 30 }.lab();
    for (cell, value) in field.cells().iter().enumerate() {
        assert_eq!(value.is_some(), cell % 10 < 5);
        if let Some(value) = *value {
            assert!(Lab::from(value).ciede2000(red) < 2.0);
        }
    }
}

#[test]
fn what_is_clear_in_part_has_the_colour_of_what_is_opaque_in_it() {
    // The edge of the red lies within the fifth cell: sixteen of its 21 pixels are red, the others clear.
    let picture =
        RgbaImage::from_fn(
            210,
            210,
            |x, _| {
                if x < 100 { Rgba([200, 40, 30, 255]) } else { Rgba([0, 255, 0, 0]) }
            },
        );
    // The same of half the opacity throughout: nothing is to be seen of it but the colour.
    let veil = RgbaImage::from_pixel(210, 210, Rgba([200, 40, 30, 140]));
    let red = Srgb8 { r: 200, g: 40, b: 30 }.lab();
    let field = framed(&picture, Size::Columns(10), None).unwrap();
    let edge = field.cells()[4].unwrap();
    assert!(Lab::from(edge).ciede2000(red) < 0.5, "{edge:?}");
    for cell in framed(&veil, Size::Columns(10), None).unwrap().cells() {
        assert!(Lab::from(cell.unwrap()).ciede2000(red) < 0.5, "{cell:?}");
    }
}

#[test]
fn bands_leave_no_seam() {
    // A smooth slope tall enough for several bands: every row must go on where the last one ended.
    let picture = RgbaImage::from_fn(2000, 9000, |_, y| {
        let value = (y * 255 / 8999) as u8;
        Rgba([value, value, value, 255])
    });
    let field = framed(&picture, Size::Rows(300), None).unwrap();
    let tone = |row: usize| field.cells()[row * field.size().width()].unwrap().l;
    for row in 1..299 {
        let step = tone(row + 1) - tone(row);
        assert!((0.1..0.8).contains(&step), "row {row}: {step}");
    }
}

#[test]
fn bad_parts_and_sizes_are_named() {
    let picture = grey(100, 80);
    for crop in ["0,0,101,10", "0,0,0,10", "95%,0,10%,10", "4294967295,0,4294967295,1"] {
        let error = framed(&picture, Size::Columns(20), Some(crop)).unwrap_err();
        assert!(error.to_string().contains("100 x 80"), "{error}");
        assert_eq!(error.advice(), Some(Advice::PartInside));
    }
    for text in ["", "1,2,3", "1,2,3,4,5", "a,b,c,d", "-1,0,5,5", "0,0,200%,5", "NaN%,0,1,1"] {
        assert!(text.parse::<Crop>().is_err(), "{text}");
    }
    assert!(matches!(framed(&picture, Size::Columns(3), None), Err(FrameError::Size(_))));
    assert!(matches!(framed(&grey(1, 2000), Size::Columns(4), None), Err(FrameError::Size(_))));
    let clear = RgbaImage::from_pixel(9, 9, Rgba([1, 2, 3, 0]));
    assert!(matches!(framed(&clear, Size::Usual, None), Err(FrameError::Transparent)));
}

/// By hand: of 100 pixels 30.5 and 69.5 per cent are 30.5 and 69.5, which both round up.
#[test]
fn a_part_in_shares_that_make_all_of_the_picture_lies_in_it() {
    let picture = grey(100, 80);
    for crop in ["30.5%,0,69.5%,100%", "0,0.625%,100%,99.375%", "99.5%,0,0.5%,80"] {
        assert_eq!(
            framed(&picture, Size::Columns(20), Some(crop)).is_ok(),
            !crop.starts_with("99.5"),
            "{crop}"
        );
    }
    assert!(framed(&picture, Size::Columns(20), Some("30.5%,0,69.6%,100%")).is_err());
}

#[test]
fn protected_parts_are_where_they_were_marked_whatever_is_cut_off() {
    let picture = grey(400, 300);
    let marked = |size, crop: Option<&str>, parts: &[&str]| {
        let options = FrameOptions {
            size,
            crop: crop.map(|crop| crop.parse().unwrap()),
            detail: parts.iter().map(|part| Protected::Part(part.parse().unwrap())).collect(),
            ..FrameOptions::default()
        };
        let framed = frame(&photo(&picture), &options, &Silent).unwrap();
        let width = framed.field.size().width();
        framed.detail.map(|detail| {
            (0..detail.len())
                .filter(|&cell| detail[cell])
                .map(|cell| (cell % width, cell / width))
                .collect::<Vec<_>>()
        })
    };
    assert_eq!(marked(Size::Columns(40), None, &[]), None);
    assert_eq!(
        marked(Size::Columns(40), None, &["100,50,20,10", "0,0,10,10"]),
        Some(vec![(0, 0), (10, 5), (11, 5)])
    );
    assert_eq!(marked(Size::Columns(20), Some("50%,0,50%,100%"), &["200,0,10,10"]), Some(vec![(0, 0)]));
}

/// Red left, clear right, a blue disc over both, its edge smoothed as drawing programs do.
fn drawing() -> RgbaImage {
    RgbaImage::from_fn(403, 311, |x, y| {
        let far = (f64::from(x) - 200.0).hypot(f64::from(y) - 150.0) - 90.3;
        let ground = if x < 200 { Rgba([200, 40, 30, 255]) } else { Rgba([0, 0, 0, 0]) };
        if far < -0.5 {
            Rgba([30, 60, 160, 255])
        } else if far < 0.5 {
            Rgba([115, 50, 95, 200])
        } else {
            ground
        }
    })
}

#[test]
fn a_drawing_keeps_its_own_colours_and_no_others() {
    let picture = drawing();
    let framed =
        frame(&photo(&picture), &FrameOptions { size: Size::Columns(61), ..Default::default() }, &Silent);
    let framed = framed.unwrap();
    assert_eq!(framed.kind, Kind::Drawing);
    let drawn = [Srgb8 { r: 200, g: 40, b: 30 }, Srgb8 { r: 30, g: 60, b: 160 }].map(Srgb8::lab);
    let mut counts = [0, 0, 0];
    for value in framed.field.cells() {
        let Some(value) = *value else {
            counts[2] += 1;
            continue;
        };
        let place = drawn.iter().position(|&lab| Lab::from(value).cie76(lab) < 1e-3);
        counts[place.expect("a colour that was drawn")] += 1;
    }
    // The disc has the area of a circle.
    let cell = 403.0 / 61.0;
    let disc = std::f64::consts::PI * 90.3 * 90.3 / (cell * cell);
    assert!(
        (f64::from(counts[1]) / disc - 1.0).abs() < 0.03 && counts[0] > 500 && counts[2] > 500,
        "{counts:?}"
    );
    let soft = FrameOptions { size: Size::Columns(61), kind: Kind::Photo, ..Default::default() };
    assert_eq!(frame(&photo(&picture), &soft, &Silent).unwrap().kind, Kind::Photo);
}

#[test]
fn photos_are_not_taken_for_drawings() {
    for name in ["cat.jpg", "coffee.jpg", "deep-field.jpg", "flower.jpg"] {
        let path = format!("{}/tests/photos/{name}", env!("CARGO_MANIFEST_DIR"));
        let photo = Photo::open(std::path::Path::new(&path), &Limits::default(), &Silent).unwrap();
        assert_eq!(frame(&photo, &FrameOptions::default(), &Silent).unwrap().kind, Kind::Photo, "{name}");
    }
}

#[test]
fn a_drawing_is_enlarged_without_blur() {
    let picture = RgbaImage::from_fn(8, 8, |x, y| {
        if (x / 2 + y / 2) % 2 == 0 { Rgba([250, 200, 20, 255]) } else { Rgba([10, 90, 90, 255]) }
    });
    let options = FrameOptions { size: Size::Columns(24), kind: Kind::Drawing, ..Default::default() };
    let field = frame(&photo(&picture), &options, &Silent).unwrap().field;
    for (cell, value) in field.cells().iter().enumerate() {
        let (x, y) = (cell % 24, cell / 24);
        assert_eq!(value, &field.cells()[(y / 6 * 6) * 24 + x / 6 * 6], "{x},{y}");
    }
}

#[test]
fn tone_moves_what_it_names_and_nothing_else() {
    let tone = |text: &str| text.parse::<Tone>().unwrap();
    let colour = Lab32 { l: 40.0, a: 8.0, b: -6.0 };
    assert_eq!(tone("lightness=10").apply(colour).axes(), [50.0, 8.0, -6.0]);
    assert_eq!(tone("contrast=50").apply(colour).axes(), [35.0, 8.0, -6.0]);
    assert_eq!(tone("saturation=-50").apply(colour).axes(), [40.0, 4.0, -3.0]);
    assert_eq!(tone("lightness=100").apply(colour).l, 100.0);
    let both = tone("lightness=10").and(tone("contrast=-20"));
    assert_eq!((both.lightness, both.contrast), (10.0, -20.0));
    for text in ["", "lightness", "lightness=", "glow=3", "contrast=101", "contrast=NaN"] {
        assert!(text.parse::<Tone>().is_err(), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn any_size_and_part_of_a_plain_picture_is_plain(
        columns in 4u32..90, rows in 4u32..90, left in 0u32..50, top in 0u32..50, wide in 5u32..60, high in 5u32..60,
    ) {
        let picture = RgbaImage::from_pixel(110, 110, Rgba([120, 60, 200, 255]));
        let crop = format!("{left},{top},{wide},{high}");
        let field = framed(&picture, Size::Both { columns, rows }, Some(&crop)).unwrap();
        let plain = Srgb8 { r: 120, g: 60, b: 200 }.lab();
        for value in field.cells() {
            let near = Lab::from(value.unwrap()).cie76(plain) < 0.1;
            prop_assert!(near);
        }
    }
}

#[test]
fn a_mask_of_any_size_protects_what_is_light_and_opaque() {
    let picture = grey(400, 300);
    // Right half white, but clear in its lower half; the left half of a grey just too dark.
    let mask = RgbaImage::from_fn(8, 6, |x, y| match (x >= 4, y >= 3) {
        (true, false) => Rgba([255, 255, 255, 255]),
        (true, true) => Rgba([255, 255, 255, 0]),
        _ => Rgba([120, 120, 120, 255]),
    });
    let options = FrameOptions {
        size: Size::Columns(40),
        detail: vec![Protected::Mask(mask)],
        ..FrameOptions::default()
    };
    let detail = frame(&photo(&picture), &options, &Silent).unwrap().detail.unwrap();
    for (cell, &marked) in detail.iter().enumerate() {
        assert_eq!(marked, cell % 40 >= 20 && cell / 40 < 15, "cell {cell}");
    }
}

#[test]
fn crisp_keeps_the_means_of_plain_areas_and_lets_small_things_count_for_more() {
    // Light paper with a black dot of 2 x 2 pixels in the middle of a cell of 8 x 8.
    let dotted = RgbaImage::from_fn(64, 64, |x, y| {
        let dot = (35..37).contains(&x) && (35..37).contains(&y);
        if dot { Rgba([0, 0, 0, 255]) } else { Rgba([200, 180, 160, 255]) }
    });
    let cells = |sampling| {
        let options =
            FrameOptions { size: Size::Columns(8), kind: Kind::Photo, sampling, ..FrameOptions::default() };
        frame(&photo(&dotted), &options, &Silent).unwrap().field.cells().to_vec()
    };
    let (even, crisp) = (cells(Sampling::Even), cells(Sampling::Crisp));
    for (cell, (even, crisp)) in even.iter().zip(&crisp).enumerate() {
        let (even, crisp) = (even.unwrap().l, crisp.unwrap().l);
        if cell == 4 * 8 + 4 {
            assert!(crisp < even - 3.0, "{crisp} is hardly darker than {even}");
        } else {
            assert!((even - crisp).abs() < 0.1, "cell {cell}: {even} {crisp}");
        }
    }
}
