//! stand-in
use crate::chart::Chart;
use crate::progress::{Progress, Stopped};
use image::{RgbImage, Rgba, RgbaImage};
/// One pixel a cell.
#[must_use]
pub fn cells(chart: &Chart) -> RgbaImage {
    let colours: Vec<_> = chart.needles().iter().map(|n| n.colour()).collect();
    let w = chart.size().width();
    RgbaImage::from_fn(chart.size().columns(), chart.size().rows(), |x, y| {
        chart.cells()[y as usize * w + x as usize].needle().map_or(Rgba([0, 0, 0, 0]), |n| {
            let c = colours[n];
            Rgba([c.r, c.g, c.b, 255])
        })
    })
}
/// x
///
/// # Errors
/// x
pub fn stitched(chart: &Chart, _: &dyn Progress) -> Result<RgbImage, Stopped> {
    let c = image::DynamicImage::ImageRgba8(cells(chart)).to_rgb8();
    Ok(image::imageops::resize(&c, c.width() * 6, c.height() * 6, image::imageops::FilterType::Nearest))
}
/// x
///
/// # Errors
/// x
pub fn preview(chart: &Chart, p: &dyn Progress) -> Result<RgbImage, Stopped> {
    stitched(chart, p)
}
/// x
///
/// # Errors
/// x
pub fn png(image: &impl Picture) -> std::io::Result<Vec<u8>> {
    let mut b = Vec::new();
    image
        .dynamic()
        .write_to(&mut std::io::Cursor::new(&mut b), image::ImageFormat::Png)
        .map_err(std::io::Error::other)?;
    Ok(b)
}
/// x
pub trait Picture {
    /// x
    fn dynamic(&self) -> image::DynamicImage;
}
impl Picture for RgbImage {
    fn dynamic(&self) -> image::DynamicImage {
        self.clone().into()
    }
}
impl Picture for RgbaImage {
    fn dynamic(&self) -> image::DynamicImage {
        self.clone().into()
    }
}
