//! Picture files made by code: good ones of every kind, and the parts that bad ones are put together from.

use std::io::{Cursor, Write as _};

use flate2::Compression;
use flate2::write::ZlibEncoder;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage, Rgba, RgbaImage};

/// Waves of colour, so that no line is like the next.
pub(crate) fn waves(width: u32, height: u32) -> RgbImage {
    let wave = |at: u32, by: u32| ((at * by) % 256) as u8;
    RgbImage::from_fn(width, height, |x, y| Rgb([wave(x, 11), wave(y, 13), wave(x + y, 7)]))
}

pub(crate) fn encoded(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// A good picture of each kind that brede reads, by ending.
pub(crate) fn good() -> Vec<(&'static str, Vec<u8>)> {
    let picture = DynamicImage::from(waves(40, 30));
    [
        ("png", ImageFormat::Png),
        ("jpg", ImageFormat::Jpeg),
        ("gif", ImageFormat::Gif),
        ("bmp", ImageFormat::Bmp),
        ("tiff", ImageFormat::Tiff),
        ("webp", ImageFormat::WebP),
    ]
    .map(|(ending, format)| {
        let picture = if format == ImageFormat::Gif { picture.to_rgba8().into() } else { picture.clone() };
        (ending, encoded(&picture, format))
    })
    .into()
}

pub(crate) fn one_colour(colour: [u8; 4]) -> Vec<u8> {
    encoded(&RgbaImage::from_pixel(30, 20, Rgba(colour)).into(), ImageFormat::Png)
}

/// The zlib stream (RFC 1950) of so many bytes of zero.
pub(crate) fn zeros(count: usize) -> Vec<u8> {
    let mut packer = ZlibEncoder::new(Vec::new(), Compression::fast());
    let block = [0; 1 << 16];
    let mut left = count;
    while left > 0 {
        let now = left.min(block.len());
        packer.write_all(&block[..now]).unwrap();
        left -= now;
    }
    packer.finish().unwrap()
}

/// A PNG chunk (ISO/IEC 15948, 5.3): length, kind, data, CRC.
pub(crate) fn chunk(kind: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut crc = flate2::Crc::new();
    crc.update(kind);
    crc.update(data);
    let length = u32::try_from(data.len()).unwrap();
    [&length.to_be_bytes()[..], kind, data, &crc.sum().to_be_bytes()].concat()
}

/// A grey PNG with so many bits a pixel, of any data; `before` are chunks that stand before the picture's.
pub(crate) fn grey_png([width, height]: [u32; 2], bits: u8, before: &[Vec<u8>], packed: &[u8]) -> Vec<u8> {
    let header = [&width.to_be_bytes()[..], &height.to_be_bytes(), &[bits, 0, 0, 0, 0]].concat();
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    bytes.extend(chunk(b"IHDR", &header));
    bytes.extend(before.concat());
    bytes.extend(chunk(b"IDAT", packed));
    bytes.extend(chunk(b"IEND", &[]));
    bytes
}

/// A GIF (`GIF89a`) with a screen and one frame of these sizes, and hardly any data.
pub(crate) fn gif(screen: [u16; 2], frame: [u16; 2]) -> Vec<u8> {
    let pair = |[width, height]: [u16; 2]| [width.to_le_bytes(), height.to_le_bytes()].concat();
    let mut bytes = b"GIF89a".to_vec();
    bytes.extend(pair(screen));
    // A palette of two colours.
    bytes.extend([0x80, 0, 0, 10, 20, 30, 200, 210, 220]);
    bytes.extend([0x2c, 0, 0, 0, 0]);
    bytes.extend(pair(frame));
    // Codes of 2 bits: clear, one pixel, end.
    bytes.extend([0, 2, 2, 0x44, 0x01, 0, 0x3b]);
    bytes
}

/// A JPEG (ITU-T T.81, baseline) in the four inks, mid-grey all over: each block is one bit for its mean and one
/// for its end, both 0.
pub(crate) fn cmyk_jpeg() -> Vec<u8> {
    let segment = |marker: u8, data: &[u8]| {
        let length = u16::try_from(data.len() + 2).unwrap();
        [&[0xff, marker][..], &length.to_be_bytes(), data].concat()
    };
    let mut bytes = vec![0xff, 0xd8];
    // Adobe's note that no transform was used on the inks.
    bytes.extend(segment(0xee, b"Adobe\0\x64\0\0\0\0\0"));
    bytes.extend(segment(0xdb, &[&[0][..], &[1; 64]].concat()));
    let parts: Vec<u8> = (1..=4).flat_map(|part| [part, 0x11, 0]).collect();
    bytes.extend(segment(0xc0, &[&[8, 0, 16, 0, 16, 4][..], &parts].concat()));
    // One code of one bit, for nothing: 0 differences, end of block.
    let code = [&[1][..], &[0; 15], &[0]].concat();
    bytes.extend(segment(0xc4, &[&[0x00][..], &code].concat()));
    bytes.extend(segment(0xc4, &[&[0x10][..], &code].concat()));
    let scan: Vec<u8> = (1..=4).flat_map(|part| [part, 0]).collect();
    bytes.extend(segment(0xda, &[&[4][..], &scan, &[0, 63, 0]].concat()));
    // 16 blocks of 2 bits.
    bytes.extend([0; 4]);
    bytes.extend([0xff, 0xd9]);
    bytes
}

/// A TIFF (revision 6.0) of one pixel a byte with these entries of tag, type, count and value.
pub(crate) fn tiff(entries: &[(u16, u16, u32, u32)]) -> Vec<u8> {
    let mut bytes = b"II*\0\x08\0\0\0".to_vec();
    bytes.extend((entries.len() as u16).to_le_bytes());
    for &(tag, kind, count, value) in entries {
        bytes.extend(tag.to_le_bytes());
        bytes.extend(kind.to_le_bytes());
        bytes.extend(count.to_le_bytes());
        bytes.extend(value.to_le_bytes());
    }
    bytes.extend([0; 4]);
    bytes.extend([0x55; 64]);
    bytes
}
