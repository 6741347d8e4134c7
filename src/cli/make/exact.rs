//! `brede make --exact`: a chart that is one already, cell by cell.

use std::path::Path;

use brede::making::exact::{self, Exact, ExactError, ExactOptions, Match};
use brede::making::frame::Kind;
use brede::making::make::Making;
use brede::making::photo::{self, Photo};
use brede::making::reduce::Figures;
use brede::thread::shades::ShadeCard;
use image::DynamicImage;

use super::{Failure, MakeArgs};

/// The chart of a picture with one pixel a cell, or of a table of codes, and how its colours were matched.
pub(super) fn making(
    args: &MakeArgs,
    card: &ShadeCard,
    warnings: &mut Vec<String>,
) -> Result<(Making, Vec<Match>), Failure> {
    let make = args.options()?;
    let options = ExactOptions { title: make.title.clone(), cloth: make.cloth, strands: make.strands };
    let failed = |error: ExactError| {
        let hint = super::super::words::advice(&error.advice());
        Failure::new(error, hint)
    };
    let (Exact { mut chart, matches }, name, sha256) = if is_table(&args.photo) {
        let bytes = super::read(&args.photo, "give a table with one code a cell")?;
        let sha256 = photo::fingerprint(&bytes);
        let name = args.photo.file_name().unwrap_or_default().to_string_lossy().into_owned();
        (exact::from_codes(&bytes, card, &options).map_err(failed)?, name, sha256)
    } else {
        let photo: Photo = args.photo()?;
        warnings.extend(photo.warnings().iter().map(ToString::to_string));
        let (name, sha256) = (photo.name().to_owned(), photo.sha256().to_owned());
        let picture = DynamicImage::from(photo.into_pixels());
        (exact::from_picture(&picture, card, &options).map_err(failed)?, name, sha256)
    };
    let stitches: u64 = matches.iter().map(|found| found.cells).sum();
    let mean = matches.iter().map(|found| found.delta_e * found.cells as f64).sum::<f64>() / stitches as f64;
    let figures = Figures {
        mean_delta_e: mean,
        singles_share: chart.singles() as f64 / stitches as f64,
        stitches,
        ..Figures::default()
    };
    chart.made = Some(make.made(&name, &sha256, card, mean));
    chart.card = Some(card.clone());
    Ok((Making { chart, figures, kind: Kind::Drawing }, matches))
}

fn is_table(path: &Path) -> bool {
    path.extension()
        .is_some_and(|ending| ["csv", "tsv", "txt"].iter().any(|known| ending.eq_ignore_ascii_case(known)))
}

/// How each colour was matched, the worst first: where nothing is far off, one line says so.
pub(super) fn told(matches: &[Match]) -> String {
    let mut text =
        String::from("colour    cells  thread                             difference (CIEDE2000)\n");
    let mut order: Vec<&Match> = matches.iter().collect();
    order.sort_by(|one, two| two.delta_e.total_cmp(&one.delta_e));
    for found in order {
        let thread = format!("{} {}", found.code, found.name);
        text += &format!("{} {:>7}  {thread:<34} {:.2}\n", found.colour, found.cells, found.delta_e);
    }
    text
}
