//! Pictures that are cut short: none is taken of which a pixel is missing, and none is refused that is whole.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::path::{Path, PathBuf};

use super::jpeg::{self, Extent};
use super::*;
use crate::ground::progress::Silent;

fn read(name: &str, bytes: &[u8]) -> Result<Photo, PhotoError> {
    Photo::read(name, bytes, &Limits::default(), &Silent)
}

/// The pictures in a folder of the tree.
fn pictures(folder: &str) -> Vec<(String, Vec<u8>)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            let ending = path.extension().map(|ending| ending.to_string_lossy().into_owned());
            ending
                .is_some_and(|ending| ["jpg", "png", "webp", "tiff", "gif", "bmp"].contains(&ending.as_str()))
        })
        .collect();
    paths.sort();
    assert!(!paths.is_empty(), "{folder}");
    let name = |path: &Path| path.file_name().unwrap().to_string_lossy().into_owned();
    paths.into_iter().map(|path| (name(&path), std::fs::read(&path).unwrap())).collect()
}

/// Small ones of every kind; tests/kinds/SOURCE.md says how they were made.
fn kinds() -> Vec<(String, Vec<u8>)> {
    pictures("tests/kinds")
}

fn jpegs() -> impl Iterator<Item = (String, Vec<u8>)> {
    kinds().into_iter().filter(|(name, _)| name.ends_with("jpg"))
}

const END: [u8; 2] = [0xff, 0xd9];

#[test]
fn whole_pictures_of_every_kind_are_taken_without_a_word() {
    let all = [kinds(), pictures("tests/photos"), pictures("samples-own"), pictures("samples-own/shown")];
    for (name, bytes) in all.into_iter().flatten() {
        let photo = read(&name, &bytes).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(photo.warnings(), [], "{name}");
        if name.ends_with("jpg") {
            assert_eq!(jpeg::extent(&bytes, &Silent), Ok(Extent::Whole), "{name}");
        }
    }
}

#[test]
fn usual_photos_have_the_pixels_that_the_crate_image_gives_and_are_opaque() {
    let mut usual = 0;
    for (name, bytes) in
        jpegs().chain(pictures("tests/photos").into_iter().filter(|(name, _)| name.ends_with("jpg")))
    {
        let by_image = image::load_from_memory(&bytes).unwrap();
        let sides = [by_image.width(), by_image.height()];
        let Some(ours) = decoder::usual(&bytes, sides.into()) else { continue };
        usual += 1;
        assert!(ours == by_image.into_rgba8(), "{name}");
        assert!(read(&name, &bytes).unwrap().is_opaque(), "{name}");
        assert_eq!(decoder::usual(&bytes, (sides[0], sides[1] + 1)), None, "{name}");
    }
    assert!(usual > 12, "{usual}");
}

#[test]
fn pictures_cut_anywhere_are_refused_with_how_far_they_go() {
    for (name, bytes) in kinds() {
        let whole = read(&name, &bytes).unwrap();
        let all = bytes.len();
        let places = [all / 3, all / 2, all * 9 / 10].into_iter().chain(all - 6..all);
        let mut told = 0;
        for cut in places.chain((1..all).step_by(all / 40)) {
            match read(&name, &bytes[..cut]) {
                // Notes at its end, its end mark, further pictures.
                Ok(photo) => assert_eq!(photo.pixels(), whole.pixels(), "{name} cut to {cut} of {all} bytes"),
                Err(PhotoError::Short { reach, .. }) => {
                    told += 1;
                    match reach {
                        Reach::Rows { there, of } | Reach::Pass { there, of, .. } => {
                            assert!(there < of && of == 73, "{name}, {cut}: {reach}");
                        }
                        Reach::Bytes { there, of } => {
                            assert!(there == cut as u64 && there < of, "{name}, {cut}: {reach}");
                        }
                    }
                }
                // Nothing but headers.
                Err(PhotoError::Decode { .. } | PhotoError::Empty { .. }) => {}
                Err(other) => panic!("{name}, {cut}: {other:?}"),
            }
        }
        assert!(told > 5, "{name}: told {told} times how far it goes");
    }
}

#[test]
fn the_rows_that_are_told_are_those_that_a_decoder_has() {
    // The decoder of the image crate, asked for itself: it fills what is missing and says nothing.
    for name in ["plain.jpg", "sharp.jpg", "wide.jpg", "grey.jpg", "restart-rows.jpg"] {
        let bytes = kinds().into_iter().find(|(other, _)| other == name).unwrap().1;
        let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
        let whole = pixels(&bytes);
        let mut met = 0;
        for cut in (bytes.len() / 4..bytes.len() - 40).step_by(bytes.len() / 24) {
            let Err(PhotoError::Short { reach: Reach::Rows { there, of }, .. }) = read(name, &bytes[..cut])
            else {
                panic!("{name} cut to {cut} bytes was not refused by its rows")
            };
            let part = pixels(&bytes[..cut]);
            let alike = |row: u32| (0..97).all(|x| part.get_pixel(x, row) == whole.get_pixel(x, row));
            // The last row of samples of a block is mixed with the next one where colours are sampled coarsely.
            assert!((0..there.saturating_sub(2)).all(alike), "{name}, {cut}: {there} rows");
            assert!(!(there..of.min(there + 16)).all(alike), "{name}, {cut}: more than {there} rows");
            met += u32::from(there > 16);
        }
        assert!(met > 5, "{name}");
    }
}

#[test]
fn a_jpeg_that_only_lacks_its_end_is_whole() {
    for (name, bytes) in jpegs() {
        let end = bytes.windows(2).rposition(|pair| pair == END).unwrap();
        if name == "second-behind.jpg" {
            continue;
        }
        assert_eq!(end + 2, bytes.len(), "{name}");
        let photo = read(&name, &bytes[..end]).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert_eq!(photo.pixels(), read(&name, &bytes).unwrap().pixels(), "{name}");
    }
}

#[test]
fn an_end_put_where_a_picture_was_cut_does_not_make_it_whole() {
    for (name, bytes) in jpegs() {
        for tenths in [4, 5, 6, 7] {
            let ended = [&bytes[..bytes.len() * tenths / 10], &END].concat();
            let error = read(&name, &ended).unwrap_err();
            assert!(matches!(error, PhotoError::Short { .. }), "{name}, {tenths}: {error:?}");
        }
    }
}

#[test]
fn a_few_missing_blocks_at_the_end_are_warned_of() {
    // As some cameras leave them: the end mark is there, the last blocks are not.
    let bytes = kinds().into_iter().find(|(name, _)| name == "sharp.jpg").unwrap().1;
    let ended = [&bytes[..bytes.len() - 40], &END].concat();
    let photo = read("sharp.jpg", &ended).unwrap();
    assert_eq!(photo.warnings(), [PhotoWarning::Spoilt]);
    assert!(matches!(read("sharp.jpg", &bytes[..bytes.len() - 40]), Err(PhotoError::Short { .. })));
}

#[test]
fn a_picture_left_behind_is_heard_at_once() {
    struct Stop;
    impl Progress for Stop {
        fn at(&self, _: Stage, done: u64, _: u64) -> std::ops::ControlFlow<()> {
            if done == 0 { std::ops::ControlFlow::Continue(()) } else { self.ask() }
        }
        fn ask(&self) -> std::ops::ControlFlow<()> {
            std::ops::ControlFlow::Break(())
        }
    }
    let bytes = kinds().into_iter().find(|(name, _)| name == "passes.jpg").unwrap().1;
    assert!(matches!(
        Photo::read("passes.jpg", &bytes, &Limits::default(), &Stop),
        Err(PhotoError::Stopped(Stopped))
    ));
    let whole = jpeg::extent(&bytes, &Stop);
    assert_eq!(whole, Err(Stopped));
}
