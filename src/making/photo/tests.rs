#![allow(clippy::unwrap_used)]
use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{DynamicImage, GrayImage, ImageEncoder as _, ImageFormat, Luma, Rgb, RgbImage, Rgba, RgbaImage};
use moxcms::ColorProfile;

use super::*;
use crate::ground::advice::Advice;
use crate::ground::progress::Silent;

fn read(bytes: &[u8]) -> Photo {
    Photo::read("pool.png", bytes, &Limits::default(), &Silent).unwrap()
}

/// Three bands: red, green, blue.
fn bands() -> RgbImage {
    RgbImage::from_fn(30, 20, |x, _| match x / 10 {
        0 => Rgb([220, 30, 40]),
        1 => Rgb([20, 180, 60]),
        _ => Rgb([30, 50, 200]),
    })
}

fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

fn with_profile(picture: &RgbImage, profile: &[u8]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = PngEncoder::new(&mut bytes);
    encoder.set_icc_profile(profile.to_vec()).unwrap();
    encoder
        .write_image(picture.as_raw(), picture.width(), picture.height(), image::ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

#[test]
fn every_kind_of_file_gives_the_same_pixels() {
    let picture = DynamicImage::from(bands());
    for format in [ImageFormat::Png, ImageFormat::Bmp, ImageFormat::Tiff, ImageFormat::WebP, ImageFormat::Gif]
    {
        let picture = if format == ImageFormat::Gif { picture.to_rgba8().into() } else { picture.clone() };
        let photo = read(&encoded(&picture, format));
        assert_eq!(photo.pixels().dimensions(), (30, 20), "{format:?}");
        let Rgba([r, g, b, a]) = *photo.pixels().get_pixel(15, 10);
        assert!(r.abs_diff(20) < 4 && g.abs_diff(180) < 4 && b.abs_diff(60) < 4 && a == 255, "{format:?}");
    }
    let photo = read(&encoded(&picture, ImageFormat::Jpeg));
    assert!(photo.pixels().get_pixel(25, 10).0[2] > 180);
}

#[test]
fn sixteen_bit_grey_and_alpha_are_read() {
    let deep = image::ImageBuffer::<Luma<u16>, _>::from_fn(9, 9, |x, _| Luma([x as u16 * 0x1010]));
    assert_eq!(read(&encoded(&deep.into(), ImageFormat::Png)).pixels().get_pixel(8, 0).0[0], 0x80);
    let grey = GrayImage::from_pixel(5, 5, Luma([99]));
    let photo = read(&encoded(&grey.into(), ImageFormat::Png));
    assert_eq!(*photo.pixels().get_pixel(2, 2), Rgba([99, 99, 99, 255]));
    let clear = RgbaImage::from_pixel(5, 5, Rgba([1, 2, 3, 40]));
    assert_eq!(
        *read(&encoded(&clear.into(), ImageFormat::Png)).pixels().get_pixel(2, 2),
        Rgba([1, 2, 3, 40])
    );
}

#[test]
fn a_profile_with_swapped_channels_is_swapped_back() {
    // After the idea of the test profile SwappedRedAndGreen.icc of Debian's colord-data: its red is green.
    let mut swapped = ColorProfile::new_srgb();
    std::mem::swap(&mut swapped.red_colorant, &mut swapped.green_colorant);
    std::mem::swap(&mut swapped.red_trc, &mut swapped.green_trc);
    let photo = read(&with_profile(&bands(), &swapped.encode().unwrap()));
    assert!(photo.warnings().is_empty());
    let Rgba([r, g, b, _]) = *photo.pixels().get_pixel(5, 5);
    assert!(r.abs_diff(30) < 3 && g.abs_diff(220) < 3 && b.abs_diff(40) < 3, "{r} {g} {b}");
}

#[test]
fn an_srgb_profile_changes_nothing_and_a_wide_one_does() {
    let plain = read(&with_profile(&bands(), &ColorProfile::new_srgb().encode().unwrap()));
    assert_eq!(plain.pixels().get_pixel(5, 5).0, [220, 30, 40, 255]);
    let wide = read(&with_profile(&bands(), &ColorProfile::new_display_p3().encode().unwrap()));
    assert!(wide.pixels().get_pixel(5, 5).0[0] > 225, "{:?}", wide.pixels().get_pixel(5, 5));
}

#[test]
fn a_broken_profile_is_warned_of_and_costs_nothing() {
    let photo = read(&with_profile(&bands(), b"no profile at all"));
    assert_eq!(photo.warnings(), [PhotoWarning::Profile]);
    assert_eq!(photo.pixels().get_pixel(5, 5).0, [220, 30, 40, 255]);
}

#[test]
fn a_camera_held_on_its_side_is_set_upright() {
    // EXIF 2.32, tag 0x0112: 6 is "turn a quarter clockwise to see it upright".
    let exif = [b'I', b'I', 42, 0, 8, 0, 0, 0, 1, 0, 0x12, 0x01, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0, 0, 0, 0, 0];
    let mut bytes = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut bytes, 95);
    encoder.set_exif_metadata(exif.to_vec()).unwrap();
    encoder.write_image(bands().as_raw(), 30, 20, image::ExtendedColorType::Rgb8).unwrap();
    let photo = read(&bytes);
    assert_eq!(photo.pixels().dimensions(), (20, 30));
    assert!(photo.pixels().get_pixel(10, 3).0[0] > 180, "red stands on top");
    assert!(photo.pixels().get_pixel(10, 27).0[2] > 160, "blue below");
}

#[test]
fn limits_are_named_before_anything_is_decoded() {
    let bytes = encoded(&bands().into(), ImageFormat::Png);
    let few = Limits { max_pixels: 599, ..Limits::default() };
    let error = Photo::read("pool.png", &bytes, &few, &Silent).unwrap_err();
    assert!(error.to_string().contains("600"));
    assert_eq!(error.advice(), Advice::FewerPixels);
    let little = Limits { max_memory: 3000, ..Limits::default() };
    let error = Photo::read("pool.png", &bytes, &little, &Silent).unwrap_err();
    assert_eq!(error.advice(), Advice::SmallerPicture, "{error:?}");
}

#[test]
fn what_is_no_picture_is_refused_with_a_hint() {
    for bytes in [&b""[..], b"hello", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0"] {
        let error = Photo::read("odd", bytes, &Limits::default(), &Silent).unwrap_err();
        assert_eq!(error.advice(), Advice::KnownPicture, "{error:?}");
    }
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(
        Photo::open(folder.path(), &Limits::default(), &Silent).unwrap_err(),
        PhotoError::Read { source, .. } if source.kind() == std::io::ErrorKind::IsADirectory
    ));
}
