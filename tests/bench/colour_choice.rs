//! Reduces a small picture to threads of a card, for `tests/outside/colour_table.py`:
//! `colour_choice SMALL.png CARD.csv STITCHES.png COLOURS keep|few|none [SEED]`, a pixel a stitch in and out.

use std::error::Error;
use std::path::Path;
use std::time::Instant;

use brede::ground::colour::Srgb8;
use brede::ground::progress::Silent;
use brede::ground::units::GridSize;
use brede::making::frame::StitchField;
use brede::making::reduce::{Colours, Confetti, Look, Options, Wish, reduce};

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [small, card, stitches, colours, confetti, rest @ ..] = arguments.as_slice() else {
        return Err("give SMALL.png CARD.csv STITCHES.png COLOURS keep|few|none [SEED]".into());
    };
    let picture = image::open(small)?.into_rgb8();
    let card = read_card(Path::new(card))?;
    let cells = picture.pixels().map(|pixel| {
        let [r, g, b] = pixel.0;
        Some(Srgb8 { r, g, b }.lab().into())
    });
    let field = StitchField::new(GridSize::new(picture.width(), picture.height())?, cells.collect());
    let looks: Vec<Look> = card.iter().map(|c| Look { lab: c.lab(), wish: Wish::Allowed }).collect();
    let options = Options {
        colours: if colours == "auto" { Colours::Auto } else { Colours::Exactly(colours.parse()?) },
        confetti: match confetti.as_str() {
            "keep" => Confetti::Keep,
            "few" => Confetti::Few,
            "none" => Confetti::None,
            other => return Err(format!("{other} is not keep, few or none").into()),
        },
        seed: rest.first().map_or(Ok(1), |seed| seed.parse())?,
        ..Options::default()
    };
    let start = Instant::now();
    let reduction = reduce(&field, &looks, &options, &Silent)?;
    let seconds = start.elapsed().as_secs_f64();
    let mut out = image::RgbImage::new(picture.width(), picture.height());
    for (pixel, label) in out.pixels_mut().zip(&reduction.labels) {
        let label = label.ok_or("a cell was left bare")?;
        let Srgb8 { r, g, b } = card[reduction.chosen[usize::from(label)]];
        pixel.0 = [r, g, b];
    }
    out.save(stitches)?;
    let figures = reduction.figures;
    #[allow(clippy::print_stdout, reason = "a program that reports")]
    {
        println!(
            "{{\"seconds\": {seconds:.4}, \"colours\": {}, \"de00\": {:.4}, \"p95\": {:.3}, \"floor\": {:.4}, \"singles_pct\": {:.3}}}",
            reduction.chosen.len(),
            figures.mean_delta_e,
            figures.p95_delta_e,
            figures.floor_delta_e,
            figures.singles_share * 100.0
        );
    }
    Ok(())
}

fn read_card(path: &Path) -> Result<Vec<Srgb8>, Box<dyn Error>> {
    let mut reader = csv::Reader::from_path(path)?;
    let column = reader.headers()?.iter().position(|name| name == "colour").ok_or("no column `colour`")?;
    let mut card = Vec::new();
    for record in reader.records() {
        card.push(record?.get(column).ok_or("a short row")?.parse()?);
    }
    Ok(card)
}
