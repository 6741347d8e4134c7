//! Draws the pictures of `samples-own`: `cargo run --release --features workshop --example draw-rock-pool`.

mod boat;
mod crab;
mod creatures;
mod ground;
mod light;
mod noise;
mod pool;
mod scene;
mod shells;
mod weed;

use std::path::Path;

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder as _};

/// High enough that the grain of the rock is kept, low enough for well under 900 kB.
const QUALITY: u8 = 88;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-own");
    boat::draw().save(folder.join("little-boat.png"))?;
    let pixels = light::develop(&pool::pool(2));
    let mut bytes = Vec::new();
    let (width, height) = (scene::WIDTH as u32, scene::HEIGHT as u32);
    JpegEncoder::new_with_quality(&mut bytes, QUALITY).write_image(
        &pixels,
        width,
        height,
        ExtendedColorType::Rgb8,
    )?;
    std::fs::write(folder.join("rock-pool.jpg"), bytes)?;
    Ok(())
}
