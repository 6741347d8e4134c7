//! Picture files that are empty, cut off, broken, boastful or merely odd.

use std::path::Path;

use image::codecs::gif::GifEncoder;
use image::codecs::jpeg::JpegEncoder;
use image::codecs::png::PngEncoder;
use image::{
    DynamicImage, ExtendedColorType, Frame, ImageBuffer, ImageEncoder as _, ImageFormat, Luma, Rgba,
};

use super::bounded::{Ended, command, make, make_of, make_of_input, run};
use super::making::{chunk, cmyk_jpeg, encoded, gif, good, grey_png, one_colour, tiff, waves, zeros};
use super::noise;

fn refused(ended: &Ended, part: &str) {
    assert_eq!(ended.code, 1, "{}", ended.said);
    assert!(ended.said.contains(part), "{part} is missing in {}", ended.said);
}

fn taken(ended: &Ended) {
    assert_eq!(ended.code, 0, "{}", ended.said);
}

#[test]
fn good_pictures_are_taken_whatever_their_ending_says() {
    for (ending, bytes) in good() {
        taken(&make_of(&format!("good.{ending}"), &bytes, &[]));
        let wrong = if ending == "png" { "wrong.jpg" } else { "wrong.png" };
        taken(&make_of(wrong, &bytes, &[]));
        taken(&make_of_input(ending, &bytes));
    }
    taken(&make_of("no ending", &good()[0].1, &[]));
}

#[test]
fn an_empty_file_is_refused() {
    refused(&make_of("empty.png", b"", &[]), "empty");
    refused(&make_of_input("nothing on standard input", b""), "empty");
}

#[test]
fn a_picture_cut_off_anywhere_is_refused_with_how_far_it_goes() {
    for (ending, bytes) in good() {
        let mut told = 0;
        for sixteenth in 1..16 {
            let name = format!("{sixteenth}-of-16.{ending}");
            let ended = make_of(&name, &bytes[..bytes.len() * sixteenth / 16], &[]);
            refused(&ended, &format!("`{name}`"));
            let how_far = ["of its 30 rows of pixels are there", "bytes are there"];
            told += u32::from(how_far.iter().any(|how_far| ended.said.contains(how_far)));
        }
        assert!(told > 5, "{ending}: told {told} times");
    }
}

#[test]
fn noise_behind_every_magic_is_refused() {
    let magics: [(&str, &[u8]); 9] = [
        ("png", b"\x89PNG\r\n\x1a\n"),
        ("jpg", b"\xff\xd8\xff\xe0\x00\x10JFIF\0"),
        ("gif", b"GIF89a"),
        ("bmp", b"BM"),
        ("little.tiff", b"II*\0"),
        ("big.tiff", b"MM\0*"),
        ("webp", b"RIFF\x10\x10\0\0WEBPVP8L"),
        ("lossy.webp", b"RIFF\x10\x10\0\0WEBPVP8 "),
        ("none", b""),
    ];
    for (kind, magic) in magics {
        for seed in 1..=4u64 {
            let noise = noise(seed, 3000);
            let ended = make_of(&format!("noise-{seed}.{kind}"), &[magic, &noise].concat(), &[]);
            assert_eq!(ended.code, 1, "{kind} {seed}");
        }
    }
}

#[test]
fn bombs_are_refused_before_they_go_off() {
    let side = [65_000, 65_000];
    let bomb = grey_png(side, 8, &[], &zeros(16 << 20));
    refused(&make_of("bomb.png", &bomb, &[]), "--max-pixels");
    refused(&make_of("bomb.png", &bomb, &["--max-pixels", "9000000000"]), "--max-memory");
    refused(&make_of("bomb.gif", &gif([65_535; 2], [65_535; 2]), &[]), "--max-pixels");
    // Within the number of pixels, not within this memory.
    let wide = grey_png([14_000, 14_000], 1, &[], &zeros(14_000 * 1751));
    refused(&make_of("wide.png", &wide, &["--max-memory", "250"]), "--max-memory");
    // A screen of ten pixels and a frame that claims four thousand million.
    make_of("frame.gif", &gif([10; 2], [65_535; 2]), &[]);
    make_of("screen.gif", &gif([20_000, 10_000], [9, 9]), &["--max-memory", "250"]);
    refused(&make_of("no width.gif", &gif([0, 30], [40, 30]), &[]), "0 x 30");
    refused(&make_of("no height.gif", &gif([30, 0], [40, 30]), &[]), "30 x 0");
    let entries = |side: u32| {
        [
            (256, 4, 1, side),
            (257, 4, 1, side),
            (258, 3, 1, 8),
            (259, 3, 1, 1),
            (262, 3, 1, 1),
            (273, 4, 1, 8),
            (277, 3, 1, 1),
            (278, 4, 1, side),
            (279, 4, 1, u32::MAX),
        ]
    };
    refused(&make_of("bomb.tiff", &tiff(&entries(60_000)), &[]), "--max-pixels");
    make_of("short.tiff", &tiff(&entries(9_000)), &["--max-memory", "280"]);
    let mut bmp = good().remove(3).1;
    bmp[18..26].copy_from_slice(&[0xe8, 0xfd, 0, 0, 0xe8, 0xfd, 0, 0]);
    refused(&make_of("bomb.bmp", &bmp, &[]), "--max-pixels");
}

#[test]
fn notes_beside_the_pixels_cannot_eat_the_memory() {
    let pixels = zeros(31 * 20);
    let profile = [&b"bomb\0\0"[..], &zeros(400 << 20)].concat();
    make_of("profile.png", &grey_png([30, 20], 8, &[chunk(b"iCCP", &profile)], &pixels), &[]);
    let text = [&b"Comment\0\0"[..], &zeros(400 << 20)].concat();
    make_of("text.png", &grey_png([30, 20], 8, &[chunk(b"zTXt", &text)], &pixels), &[]);
    let text = [&b"Comment\0\x01\0\0\0"[..], &zeros(400 << 20)].concat();
    make_of("international.png", &grey_png([30, 20], 8, &[chunk(b"iTXt", &text)], &pixels), &[]);
}

#[test]
fn odd_sizes_are_refused_or_taken_with_a_reason() {
    let dot = encoded(&waves(1, 1).into(), ImageFormat::Png);
    taken(&make_of("dot.png", &dot, &[]));
    refused(&make_of("tall.png", &encoded(&waves(1, 20_000).into(), ImageFormat::Png), &[]), "4 to 2000");
    refused(&make_of("wide.png", &encoded(&waves(20_000, 1).into(), ImageFormat::Png), &[]), "4 to 2000");
    let tall = encoded(&waves(1, 20_000).into(), ImageFormat::Png);
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("tall.png");
    std::fs::write(&photo, tall).unwrap();
    let sized = |options: &[&str]| {
        let out = tempfile::tempdir().unwrap();
        let mut command = command(["make", "--quiet", "--colours", "5", "--out"]);
        run("tall", command.arg(out.path()).args(options).arg(&photo))
    };
    refused(&sized(&[]), "--columns");
    taken(&sized(&["--columns", "8", "--rows", "8"]));
    taken(&sized(&["--crop", "0,0,1,1", "--columns", "8"]));
    // Shapes far from the picture's own: the part that has them is a sliver of a pixel.
    for (columns, rows) in [("2000", "4"), ("1999", "5"), ("333", "4"), ("4", "2000")] {
        taken(&sized(&["--columns", columns, "--rows", rows]));
        taken(&sized(&["--columns", columns, "--rows", rows, "--crop", "0,1,1,3"]));
    }
}

#[test]
fn bare_single_coloured_and_deep_pictures_are_understood() {
    refused(&make_of("clear.png", &one_colour([9, 9, 9, 0]), &[]), "transparent");
    refused(&make_of("faint.png", &one_colour([9, 9, 9, 100]), &[]), "transparent");
    for colour in [[0, 0, 0, 255], [255, 255, 255, 255], [18, 120, 140, 255], [18, 120, 140, 128]] {
        taken(&make_of("one.png", &one_colour(colour), &[]));
        taken(&make_of("one.png", &one_colour(colour), &["--confetti", "none", "--blends"]));
    }
    taken(&make_of("bare.png", &one_colour([0xf4, 0xec, 0xd8, 255]), &["--bare", "0"]));
    make_of("all bare.png", &one_colour([0xf4, 0xec, 0xd8, 255]), &["--bare", "50"]);
    let deep = ImageBuffer::<Rgba<u16>, _>::from_fn(30, 20, |x, y| {
        Rgba([x as u16 * 2000, y as u16 * 3000, 9, 65_000])
    });
    for format in [ImageFormat::Png, ImageFormat::Tiff] {
        taken(&make_of("deep", &encoded(&deep.clone().into(), format), &[]));
    }
    let grey = ImageBuffer::<Luma<u16>, _>::from_fn(30, 20, |x, y| Luma([(x * y * 100) as u16]));
    taken(&make_of("deep grey.png", &encoded(&grey.into(), ImageFormat::Png), &[]));
    let floats = image::Rgb32FImage::from_fn(30, 20, |x, y| {
        image::Rgb([f32::NAN, x as f32 * 1e30, if y == 3 { f32::INFINITY } else { -1.0 }])
    });
    make_of("floats.tiff", &encoded(&floats.into(), ImageFormat::Tiff), &[]);
    taken(&make_of("inks.jpg", &cmyk_jpeg(), &[]));
}

#[test]
fn broken_notes_of_the_camera_and_broken_profiles_cost_nothing() {
    let picture = waves(40, 30);
    let notes: [&[u8]; 7] = [
        b"",
        b"II",
        b"II*\0\xff\xff\xff\xff",
        // A directory that begins in itself, and one with more entries than bytes.
        b"II*\0\x08\0\0\0\xff\xff\x12\x01\x03\0\x01\0\0\0\x06\0\0\0",
        b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\xff\xff\xff\xff\0\x06\0\0",
        // A turn that is none of the eight.
        b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x63\0\0\0\0\0\0\0",
        &[0x49; 4000],
    ];
    for note in notes {
        let (mut jpeg, mut png) = (Vec::new(), Vec::new());
        let mut encoder = JpegEncoder::new(&mut jpeg);
        encoder.set_exif_metadata(note.to_vec()).unwrap();
        encoder.write_image(picture.as_raw(), 40, 30, ExtendedColorType::Rgb8).unwrap();
        taken(&make_of("exif.jpg", &jpeg, &[]));
        let mut encoder = PngEncoder::new(&mut png);
        encoder.set_exif_metadata(note.to_vec()).unwrap();
        encoder.write_image(picture.as_raw(), 40, 30, ExtendedColorType::Rgb8).unwrap();
        taken(&make_of("exif.png", &png, &[]));
    }
    let good = moxcms::ColorProfile::new_display_p3().encode().unwrap();
    let mut profiles: Vec<Vec<u8>> = vec![Vec::new(), b"no profile".to_vec(), vec![0xff; 500]];
    profiles.extend((1..8).map(|eighth| good[..good.len() * eighth / 8].to_vec()));
    profiles.extend((0..12).map(|at| {
        let mut broken = good.clone();
        let place = 128 + at * 7;
        broken[place..place + 4].copy_from_slice(&[0xff; 4]);
        broken
    }));
    for profile in profiles {
        let mut png = Vec::new();
        let mut encoder = PngEncoder::new(&mut png);
        encoder.set_icc_profile(profile).unwrap();
        encoder.write_image(picture.as_raw(), 40, 30, ExtendedColorType::Rgb8).unwrap();
        taken(&make_of("profile.png", &png, &[]));
    }
}

#[test]
fn of_a_moving_picture_the_first_frame_is_taken() {
    let mut bytes = Vec::new();
    let mut encoder = GifEncoder::new(&mut bytes);
    for shade in 0..40 {
        let picture = image::RgbaImage::from_pixel(30, 20, Rgba([shade * 6, 255 - shade * 6, 90, 255]));
        encoder.encode_frame(Frame::new(picture)).unwrap();
    }
    drop(encoder);
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("moving.gif");
    std::fs::write(&photo, bytes).unwrap();
    let out = folder.path().join("out");
    let mut command = command(["make", "--quiet", "--colours", "5", "--out"]);
    taken(&run("moving.gif", command.arg(&out).arg(&photo)));
    let cells = image::open(out.join("moving.cells.png")).unwrap().to_rgb8();
    assert!(cells.pixels().all(|pixel| pixel.0[1] > 200), "the first frame is green all over");
}

#[test]
fn what_is_no_file_is_refused_and_a_pipe_is_read() {
    let folder = tempfile::tempdir().unwrap();
    refused(&make("a folder", folder.path(), &[]), "directory");
    refused(&make("nothing", &folder.path().join("nothing"), &[]), "could not read");
    refused(&make("the end of everything", Path::new("/dev/null"), &[]), "empty");
    refused(&make("no end of zeros", Path::new("/dev/zero"), &["--max-memory", "100"]), "--max-memory");
    for (bytes, code) in [(good().remove(0).1, 0), (b"no picture".to_vec(), 1)] {
        let pipe = folder.path().join(format!("pipe-{code}"));
        assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
        let end = pipe.clone();
        let writer = std::thread::spawn(move || std::fs::write(end, bytes));
        assert_eq!(make("a pipe", &pipe, &[]).code, code);
        writer.join().unwrap().unwrap();
    }
}

#[test]
fn noise_in_a_good_picture_is_borne() {
    for (ending, bytes) in good() {
        for seed in 1..=6u64 {
            let mut spoilt = bytes.clone();
            let noise = noise(seed, 16);
            for pair in noise.chunks_exact(2) {
                let place = usize::from(pair[0]) * spoilt.len() / 256;
                spoilt[place] = pair[1];
            }
            make_of(&format!("spoilt-{seed}.{ending}"), &spoilt, &[]);
        }
    }
}

#[test]
fn pictures_that_are_taken_cell_by_cell_are_held_to_the_same() {
    let exact = |name: &str, bytes: &[u8]| {
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join(name);
        std::fs::write(&photo, bytes).unwrap();
        let mut command = command(["make", "--exact", "--quiet", "--out"]);
        run(name, command.arg(folder.path().join("out")).arg(&photo))
    };
    taken(&exact("one.png", &one_colour([18, 120, 140, 255])));
    refused(&exact("clear.png", &one_colour([0; 4])), "nothing is stitched");
    refused(
        &exact("tall.png", &encoded(&waves(1, 20_000).into(), ImageFormat::Png)),
        "one pixel for each square",
    );
    let many = DynamicImage::from(waves(200, 100));
    refused(&exact("many.png", &encoded(&many, ImageFormat::Png)), "without --exact");
    for (name, table, part) in [
        ("empty.csv", &b""[..], "nothing is stitched"),
        ("ragged.csv", b"N01,N02\nN01\n", "row 2"),
        ("bytes.csv", b"\xff\xfe,N02\n", "cannot be read"),
        ("unknown.csv", b"=1+1,N01\n", "`=1+1`"),
        ("quote.csv", b"\"N01\n", "hint: "),
    ] {
        refused(&exact(name, table), part);
    }
    let wide: String = ".,".repeat(1_000_000);
    refused(&exact("wide.csv", wide.as_bytes()), "hint: ");
    refused(&exact("tall.csv", ".\n".repeat(1_000_000).as_bytes()), "hint: ");
}
