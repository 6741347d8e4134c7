#![allow(clippy::unwrap_used)]
use image::Rgba;

use super::*;
use crate::ground::progress::Silent;

fn size(columns: u32, rows: u32) -> GridSize {
    GridSize::new(columns, rows).unwrap()
}

fn find(picture: &RgbaImage, size: GridSize) -> Subject {
    look(picture, &Silent).unwrap().subject(size)
}

/// Blurred greens with a red oval of 1 % of the area at a place.
fn beetle(at: [f64; 2]) -> RgbaImage {
    RgbaImage::from_fn(300, 200, |x, y| {
        let [x, y] = [f64::from(x), f64::from(y)];
        let (dx, dy) = ((x - at[0]) / 17.0, (y - at[1]) / 11.2);
        if dx * dx + dy * dy < 1.0 {
            return Rgba([190, 30, 25, 255]);
        }
        let wave = 20.0 * ((x / 37.0).sin() + (y / 29.0).cos());
        Rgba([(70.0 + wave) as u8, (120.0 + wave) as u8, (50.0 + wave / 2.0) as u8, 255])
    })
}

#[test]
fn a_sharp_red_beetle_on_blurred_greens_is_the_subject_wherever_it_sits() {
    for at in [[150.0, 100.0], [60.0, 50.0], [240.0, 150.0]] {
        let subject = find(&beetle(at), size(150, 100));
        assert_eq!(subject.taken, Taken::StandsOut);
        let cell = |x: f64, y: f64| subject.cells[(y / 2.0) as usize * 150 + (x / 2.0) as usize];
        assert_eq!(cell(at[0], at[1]), Care::Subject);
        assert_eq!((cell(2.0, 2.0), cell(298.0, 198.0)), (Care::Around, Care::Around));
        assert!((0.007..0.03).contains(&subject.share()), "{}", subject.share());
    }
}

#[test]
fn a_picture_of_one_colour_of_noise_or_of_sky_has_no_subject() {
    let plain = RgbaImage::from_pixel(120, 90, Rgba([120, 130, 140, 255]));
    // Marsaglia 2003, xorshift: the same every time.
    let mut dice = 2463534242_u32;
    let mut roll = || {
        dice ^= dice << 13;
        dice ^= dice >> 17;
        dice ^= dice << 5;
        (dice % 5) as u8
    };
    let noise = RgbaImage::from_fn(120, 90, |_, _| Rgba([150 + roll(), 150 + roll(), 150 + roll(), 255]));
    let sky = RgbaImage::from_fn(120, 90, |_, y| Rgba([90 + y as u8, 140 + y as u8 / 2, 220, 255]));
    for picture in [plain, noise, sky, RgbaImage::new(50, 50), RgbaImage::new(4, 90)] {
        let subject = find(&picture, size(60, 45));
        assert_eq!((subject.taken, subject.share()), (Taken::Nothing, 0.0));
        assert!(subject.weights().iter().all(|&weight| weight == 1.0));
    }
}
