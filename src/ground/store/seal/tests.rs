#![allow(clippy::unwrap_used, clippy::panic)]
use proptest::prelude::*;

use super::*;

const STAMP: &str = "3f9a2c71d05e8b46/12/0b5e77d19ac04e21";

/// A PDF as short as can be, as far as its trailer goes.
fn bare_pdf() -> Vec<u8> {
    let metadata = pdf_metadata("Pool & <shore>", Some(STAMP));
    let half = "0123456789ABCDEF".repeat(2);
    format!("%PDF-1.7\n{metadata}\n<</Root 1 0 R/ID[<{half}><{half}>]/Size 4>>\nstartxref\n9\n%%EOF")
        .into_bytes()
}

fn bare_png() -> Vec<u8> {
    let mut bytes = Vec::new();
    let picture = image::RgbImage::from_fn(40, 30, |x, y| image::Rgb([x as u8, y as u8, 7]));
    let encoder = image::codecs::png::PngEncoder::new(&mut bytes);
    picture.write_with_encoder(encoder).unwrap();
    bytes
}

fn files() -> Vec<(&'static str, Vec<u8>)> {
    let mut sealed_pdf = bare_pdf();
    pdf(&mut sealed_pdf);
    vec![
        ("PDF", sealed_pdf),
        ("PNG", png(&bare_png(), Some(STAMP))),
        ("CSV", table("code,name\nS01,\"Sea, deep\"\nS02,Sand\n", Some(STAMP)).into_bytes()),
        ("TOML", toml("strand_tex = 25.0\n", Some(STAMP)).into_bytes()),
    ]
}

#[test]
fn a_sealed_file_is_known_again_with_its_stamp() {
    for (form, bytes) in files() {
        let sealed = read(&bytes).unwrap_or_else(|| panic!("{form} bears no seal"));
        assert_eq!(sealed, Sealed { state: State::Unchanged, stamp: Some(STAMP.into()) }, "{form}");
    }
    for bytes in [bare_png(), b"code,name\nS01,Sea\n".to_vec(), b"# a comment\n".to_vec(), Vec::new()] {
        assert_eq!(read(&bytes), None);
    }
}

#[test]
fn a_seal_stands_without_a_stamp_too() {
    for bytes in [png(&bare_png(), None), table("a\n1\n", None).into(), toml("a = 1", None).into()] {
        assert_eq!(read(&bytes), Some(Sealed { state: State::Unchanged, stamp: None }));
    }
}

#[test]
fn an_outside_reader_finds_nothing_amiss() {
    // RFC 4180 by the csv crate, PNG by the image crate, which checks the sums of chunks; poppler and qpdf judge
    // whole PDFs in tests/judges.rs.
    let sealed = table("code,name\nS01,\"Sea, \"\"deep\"\"\"\n", Some(STAMP));
    let mut reader = csv::Reader::from_reader(sealed.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows, [csv::StringRecord::from(vec!["S01", "Sea, \"deep\"", STAMP])]);
    let (plain, sealed) = (bare_png(), png(&bare_png(), Some(STAMP)));
    let pixels = |bytes: &[u8]| image::load_from_memory(bytes).unwrap().to_rgb8();
    assert_eq!(pixels(&plain), pixels(&sealed));
    assert_eq!(reader.headers().unwrap().iter().map(is_heading).collect::<Vec<_>>(), [false, false, true]);
    let settings: toml::Table = toml("strand_tex = 25.0\n", Some(STAMP)).parse().unwrap();
    assert_eq!(settings.len(), 1);
}

#[test]
fn what_is_no_stamp_is_left_out() {
    let long = "a".repeat(LONGEST + 1);
    for text in ["", "two\nlines", "<x>", "a,b", "\"", &long] {
        let told = pdf_metadata("Pool & <brede:stamp>a/1/b</brede:stamp>", Some(text));
        assert!(!told.contains("brede:stamp>") && told.contains("Pool &amp; &lt;brede"), "{text}");
        assert_eq!(read(&png(&bare_png(), Some(text))).unwrap().stamp, None, "{text}");
        assert_eq!(read(table("a\n1\n", Some(text)).as_bytes()).unwrap().stamp, None, "{text}");
        assert_eq!(read(toml("a = 1", Some(text)).as_bytes()).unwrap().stamp, None, "{text}");
    }
}

proptest! {
    /// Whatever byte is changed, cut off or added, and wherever: the file no longer counts as brede's.
    #[test]
    fn a_changed_file_is_known(place in any::<prop::sample::Index>(), flip in 1_u8.., more in "[a-z \n]{1,9}") {
        for (form, bytes) in files() {
            let at = place.index(bytes.len());
            let mut changed = bytes.clone();
            changed[at] ^= flip;
            prop_assert!(!is_unchanged(&changed), "{form} with byte {at} changed");
            prop_assert!(!is_unchanged(&bytes[..at]), "{form} cut off at {at}");
            let added = [&bytes[..at], more.as_bytes(), &bytes[at..]].concat();
            prop_assert!(!is_unchanged(&added), "{form} with more at {at}");
        }
    }
}
