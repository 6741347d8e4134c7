//! A little boat: flat colours, hard edges, nothing round it.

use image::{Rgba, RgbaImage};

const WIDTH: u32 = 640;
const HEIGHT: u32 = 480;

fn within(points: &[[f32; 2]], x: f32, y: f32) -> bool {
    let mut inside = false;
    let mut before = points[points.len() - 1];
    for &here in points {
        if (here[1] > y) != (before[1] > y) {
            let cross = (before[0] - here[0]) * (y - here[1]) / (before[1] - here[1]) + here[0];
            inside ^= x < cross;
        }
        before = here;
    }
    inside
}

/// The colour of a point of the drawing, or nothing.
fn colour(x: f32, y: f32) -> Option<u32> {
    let round = |cx: f32, cy: f32, r: f32| (x - cx).hypot(y - cy) < r;
    // Waves before the boat.
    let crest = 404.0 + 9.0 * (x / 27.0).sin();
    let sea = (60.0..580.0).contains(&x) && y > crest && y < 452.0 - 0.0009 * (x - 320.0).powi(2);
    if sea {
        let foam = y < crest + 7.0 || (y - 432.0 - 5.0 * (x / 22.0).cos()).abs() < 3.0 && (x % 90.0) < 50.0;
        return Some(if foam { 0xe8_f3_f2 } else { 0x2f_7f_9e });
    }
    // Hull, stripe and porthole.
    if within(&[[120.0, 320.0], [530.0, 320.0], [470.0, 425.0], [190.0, 425.0]], x, y) {
        if round(220.0, 368.0, 14.0) || round(290.0, 368.0, 14.0) || round(360.0, 368.0, 14.0) {
            return Some(0xf6_d2_58);
        }
        return Some(if y < 340.0 { 0xe8_f3_f2 } else { 0xc4_39_34 });
    }
    if (306.0..318.0).contains(&x) && (52.0..322.0).contains(&y) {
        return Some(0x7a_4f_2e);
    }
    if within(&[[318.0, 34.0], [390.0, 54.0], [318.0, 76.0]], x, y) {
        return Some(0x3d_9a_5b);
    }
    if within(&[[326.0, 88.0], [500.0, 300.0], [326.0, 300.0]], x, y) {
        return Some(if (y - 214.0).abs() < 16.0 { 0xf0_8a_3c } else { 0xfb_ee_cf });
    }
    if within(&[[298.0, 116.0], [298.0, 300.0], [168.0, 300.0]], x, y) {
        return Some(0xf0_8a_3c);
    }
    None
}

/// The drawing.
pub(crate) fn draw() -> RgbaImage {
    RgbaImage::from_fn(WIDTH, HEIGHT, |x, y| {
        colour(x as f32 + 0.5, y as f32 + 0.5).map_or(Rgba([0; 4]), |hex| {
            let [_, r, g, b] = hex.to_be_bytes();
            Rgba([r, g, b, 255])
        })
    })
}
