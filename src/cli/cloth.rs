//! `brede cloth`: the same chart on other counts and colours of cloth.

mod calibrate;

use std::path::{Path, PathBuf};

use brede::ground::colour::Srgb8;
use brede::ground::progress::Silent;
use brede::ground::units::{FabricCount, Millimetres};
use brede::planning::fit::{CountFit, FitOptions, InFrame, OnPiece, Piece, USUAL_COUNTS, fit};
use brede::printing::picture;
use brede::printing::picture::contact::contact_sheet;
use brede::thread::cloth::{ClothWeight, CoverModel};
use clap::Args;
use serde_json::json;

use super::files::{name_of, read_text, rounded, save};
use super::old::{compose, read_chart};
use super::over::OverArgs;
use super::table::{Flush, table};
use super::{Failure, tell};

#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  brede cloth pool.chart.json
  brede cloth pool.chart.json --have 40x30cm --frame 25cm
  brede cloth pool.chart.json --count 16,18,32/2 --allowance 8cm --png pool-on-cloth.png
  brede cloth pool.chart.json --count 28/2,32/2 --weight 190
  brede cloth pool.chart.json --count 14 --cloth '#7a1f1f' --png on-red.png

  brede cloth --calibrate swatch.jpg --count 14 --strands 1 --cloth '#f4ecd8' --thread '#2a5a9a' -o mine.toml
  brede cloth --measured 75% --count 14 --strands 1 -o mine.toml

A file of your own measures for --cover, all optional:
  strand_tex = 33.0    # g of one strand to the kilometre
  flattening = 3.0     # how many times wider than round a strand lies
  bare_holes = 0.0     # the share of the cloth that its holes are, however thick the thread

A swatch tells the thread's width where cloth shows through: one strand rather than two. A photo is no \
measuring instrument: take it from above, in even light, and hold the result against the swatch.")]
pub(super) struct ClothArgs {
    /// Charts: NAME.chart.json files that `brede make` wrote
    #[arg(required_unless_present_any = ["calibrate", "measured"])]
    charts: Vec<PathBuf>,
    /// The counts to compare; evenweave worked over two threads as 28/2
    #[arg(long, value_name = "N,...", value_delimiter = ',', default_values = USUAL_COUNTS)]
    count: Vec<FabricCount>,
    /// Cloth to leave on each side of the design
    #[arg(long, value_name = "LENGTH", default_value = "5cm")]
    allowance: Millimetres,
    /// A piece of cloth at hand, such as 40x30cm: is it large enough, perhaps turned?
    #[arg(long, value_name = "SIZE")]
    have: Option<Piece>,
    /// A frame or hoop, measured inside, such as 20cm or 30x20cm: does the design lie within it?
    #[arg(long, value_name = "SIZE")]
    frame: Option<Piece>,
    /// From the eye to the work, for how large a stitch looks
    #[arg(long, value_name = "LENGTH", default_value = "40cm")]
    distance: Millimetres,
    /// The colour of the cloth in the picture; else the chart's
    #[arg(long, value_name = "#rrggbb")]
    cloth: Option<Srgb8>,
    /// How your thread covers, as measured: a TOML file
    #[arg(long, value_name = "FILE.toml")]
    cover: Option<PathBuf>,
    /// What evenweave weighs, in grams to the square metre: says how open it is, for threads carried behind bare cloth
    #[arg(long, value_name = "GRAMS")]
    weight: Option<ClothWeight>,
    /// Write a picture of the piece on each count, all to one scale; for one chart
    #[arg(long, value_name = "PNG")]
    png: Option<PathBuf>,
    /// Write the figures as JSON to standard output
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    pub(super) over: OverArgs,
    #[command(flatten)]
    swatch: calibrate::CalibrateArgs,
}

/// Reads how thread covers.
pub(super) fn read_cover(path: Option<&Path>) -> Result<CoverModel, Failure> {
    let Some(path) = path else { return Ok(CoverModel::default()) };
    let text = read_text(path, "give a TOML file with strand_tex and flattening")?;
    CoverModel::from_toml(&text).map_err(|source| {
        let hint = super::words::advice(&source.advice());
        Failure::new(CoverFileError { path: path.to_owned(), source }, hint)
    })
}

#[derive(Debug, thiserror::Error)]
#[error("could not use {}", path.display())]
struct CoverFileError {
    path: PathBuf,
    source: brede::thread::cloth::CoverError,
}

#[derive(Debug, thiserror::Error)]
#[error("--png shows one chart, and {charts} were given")]
struct OnePicture {
    charts: usize,
}

pub(super) fn run(args: &ClothArgs) -> Result<(), Failure> {
    if args.swatch.calibrate.is_some() || args.swatch.measured.is_some() {
        return calibrate::run(args);
    }
    if args.png.is_some() && args.charts.len() > 1 {
        let error = OnePicture { charts: args.charts.len() };
        return Err(Failure::new(error, "ask for one chart at a time"));
    }
    let options = FitOptions {
        allowance: args.allowance,
        have: args.have,
        frame: args.frame,
        distance: args.distance,
        cover: read_cover(args.cover.as_deref())?,
        weight: args.weight,
        ..FitOptions::default()
    };
    let mut texts = Vec::new();
    let mut values = Vec::new();
    for path in &args.charts {
        let chart = read_chart(path)?;
        let composed = compose(&chart)?;
        let fits = fit(&composed.chart, &composed.lines, &args.count, &options, &Silent)?;
        if let Some(png) = &args.png {
            let colour = args.cloth.unwrap_or(chart.cloth.colour);
            let sheet = contact_sheet(&composed.chart, &fits, colour, &options.cover);
            save(png, &picture::png(sheet, &Silent)?)?;
        }
        let worked: u64 = composed.chart.stitches().iter().sum();
        let size = composed.chart.size();
        texts.push(format!("{}: {size} cells, {worked} stitches\n\n{}", chart.title, rows(&fits, args)));
        values.push(json!({
            "title": chart.title,
            "chart": name_of(path),
            "columns": size.columns(),
            "rows": size.rows(),
            "stitches": worked,
            "counts": fits.iter().map(value).collect::<Vec<_>>(),
        }));
    }
    if args.json {
        return Ok(tell::data(&format!("{}\n", json!({ "charts": values })))?);
    }
    Ok(tell::result(&format!("{}\n{}", texts.join("\n"), notes(args)))?)
}

/// The table of a chart.
fn rows(fits: &[CountFit], args: &ClothArgs) -> String {
    let mut headings = vec![
        ("count", Flush::Left),
        ("finished cm", Flush::Right),
        ("cut cm", Flush::Right),
        ("stitch mm", Flush::Right),
        ("arc min", Flush::Right),
        ("strands", Flush::Right),
        ("needle", Flush::Right),
        ("strand m", Flush::Right),
        ("skeins", Flush::Right),
    ];
    if args.weight.is_some() {
        headings.push(("open", Flush::Right));
    }
    if args.have.is_some() {
        headings.push(("your cloth", Flush::Left));
    }
    if args.frame.is_some() {
        headings.push(("your frame", Flush::Left));
    }
    let sides = |piece: &Piece| format!("{:.1} x {:.1}", piece.width.cm(), piece.height.cm());
    let row = |fit: &CountFit| {
        let mut row = vec![
            fit.count.to_string(),
            sides(&fit.finished),
            sides(&fit.cut),
            format!("{:.2}", fit.cell.mm()),
            format!("{:.1}", fit.minutes),
            fit.strands.map_or_else(|| "none".to_owned(), |strands| strands.to_string()),
            fit.needle.to_string(),
            format!("{:.0}", fit.strand_metres()),
            fit.skeins().to_string(),
        ];
        if args.weight.is_some() {
            row.push(fit.open.map_or_else(|| "-".to_owned(), |open| format!("{:.0} %", open * 100.0)));
        }
        row.extend(fit.have.map(|on| {
            match on {
                OnPiece::Upright => "fits",
                OnPiece::Turned => "fits turned",
                OnPiece::No => "too small",
            }
            .to_owned()
        }));
        row.extend(fit.frame.map(|frame| {
            match frame {
                InFrame::HoopToo => "fits, round too",
                InFrame::FrameOnly => "fits if square",
                InFrame::No => "no",
            }
            .to_owned()
        }));
        row
    };
    table(&headings, &fits.iter().map(row).collect::<Vec<_>>())
}

fn notes(args: &ClothArgs) -> String {
    let covers = brede::thread::cloth::COVERS * 100.0;
    let open = match args.weight {
        Some(_) => {
            "Open: the share of bare evenweave that is holes between its threads, by its weight. A thread\ncarried \
             behind it shows through them: end off beside bare cloth, above all with dark thread.\n"
        }
        None => "",
    };
    format!(
        "Cut: {:.1} cm more on each side. Arc: how large a stitch looks from {:.0} cm, in minutes of arc. Strands: \
         the\nfewest whose full crosses hide {covers:.0} % of the cloth; strand m and skeins are for these. Needle: \
         the customary\ntapestry needle. Thread follows a working order, with starts, ends and a tenth for waste.\n{open}",
        args.allowance.cm(),
        args.distance.cm(),
    )
}

/// A count for other programs.
fn value(fit: &CountFit) -> serde_json::Value {
    let sides = |piece: &Piece| [rounded(piece.width.mm()), rounded(piece.height.mm())];
    let on = |on: OnPiece| match on {
        OnPiece::Upright => "upright",
        OnPiece::Turned => "turned",
        OnPiece::No => "no",
    };
    let within = |frame: InFrame| match frame {
        InFrame::HoopToo => "hoop",
        InFrame::FrameOnly => "frame",
        InFrame::No => "no",
    };
    json!({
        "count": fit.count.to_string(),
        "finished_mm": sides(&fit.finished),
        "cloth_to_cut_mm": sides(&fit.cut),
        "fits_cloth": fit.have.map(on),
        "fits_frame": fit.frame.map(within),
        "stitch_mm": rounded(fit.cell.mm()),
        "stitch_arc_minutes": rounded(fit.minutes),
        "strands_that_cover": fit.strands,
        "covered": rounded(fit.covered),
        "cloth_open": fit.open.map(rounded),
        "tapestry_needle": fit.needle,
        "strand_metres": rounded(fit.strand_metres()),
        "skeins": fit.skeins(),
    })
}
