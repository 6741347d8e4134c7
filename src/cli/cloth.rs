//! `brede cloth`: the same chart on other counts and colours of cloth.

mod calibrate;

use std::path::PathBuf;

use brede::desk::{
    self, ClothReport, ClothRequest, ClothWeight, CountFigures, InFrame, OnCounts, OnPiece, Piece,
    SHIFT_LIMIT, USUAL_COUNTS,
};
use brede::ground::colour::Srgb8;
use brede::ground::plain::table;
use brede::ground::units::{FabricCount, Millimetres, counted};
use clap::Args;

use super::Failure;
use super::basket::BasketArgs;
use super::doing;
use super::over::OverArgs;
use super::tell::TellArgs;
use super::words;

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/cloth.txt"))]
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
    /// The colour of the cloth, for the strands and in the picture; else the chart's
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
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
    #[command(flatten)]
    swatch: calibrate::CalibrateArgs,
}

pub(super) fn run(args: &ClothArgs, basket: &BasketArgs) -> Result<(), Failure> {
    if args.swatch.calibrate.is_some() || args.swatch.measured.is_some() {
        return calibrate::run(args);
    }
    let request = ClothRequest {
        charts: basket.charts(&args.charts)?,
        counts: args.count.clone(),
        allowance: args.allowance,
        have: args.have,
        frame: args.frame,
        distance: args.distance,
        cloth: args.cloth,
        cover: args.cover.clone().map(Into::into),
        weight: args.weight,
        picture: args.png.clone().map(Into::into),
        limits: args.over.limits(),
        replace: args.over.replace(),
    };
    let words = |report: &ClothReport| {
        let texts = report.charts.iter().map(|chart| {
            let OnCounts { title, columns, rows, stitches, verdict, .. } = chart;
            let (whole, needles) = (words::verdict::whole(verdict), words::verdict::needles(verdict));
            let (table, stitches) = (table_of(chart, args), counted(*stitches, "stitch"));
            format!("{title}: {columns} x {rows} cells, {stitches}\nas it is worked, {whole}\n{needles}\n{table}\n")
        });
        texts.chain([notes(args, &report.charts)]).collect()
    };
    doing::told(args.tell, |bar| desk::cloth(&request, bar), words).map(drop)
}

/// The table of a chart.
fn table_of(chart: &OnCounts, args: &ClothArgs) -> String {
    let usual = "count|>finished cm|>cut cm|>stitch mm|>arc min|>strands|>needle|>strand m|>skeins";
    let more = [
        (args.weight.is_some(), "|>open"),
        (args.have.is_some(), "|your cloth"),
        (args.frame.is_some(), "|your frame"),
    ];
    let more = more.iter().filter(|(is_asked, _)| *is_asked).map(|(_, heading)| *heading);
    let headings: String = std::iter::once(usual).chain(more).collect();
    let sides = |[width, height]: [Millimetres; 2]| format!("{:.1} x {:.1}", width.cm(), height.cm());
    // Cloth that is cut as it says here is large enough.
    let cut = |[width, height]: [Millimetres; 2]| format!("{:.1} x {:.1}", width.cm_up(), height.cm_up());
    let is_square = args.frame.is_some_and(|frame| frame.width == frame.height);
    let row = |figures: &CountFigures| {
        let mut row = vec![
            figures.count.to_string(),
            sides(figures.finished),
            cut(figures.cut),
            format!("{:.2}", figures.stitch.mm()),
            format!("{:.1}", figures.minutes),
            figures.strands.map_or_else(|| "none".to_owned(), |strands| strands.to_string()),
            figures.needle.to_string(),
            format!("{:.0}", figures.strand_metres),
            figures.skeins.to_string(),
        ];
        if args.weight.is_some() {
            row.push(figures.open.map_or_else(|| "-".to_owned(), |open| format!("{:.0} %", open * 100.0)));
        }
        row.extend(figures.fits_cloth.map(|on| {
            match on {
                OnPiece::Upright => "fits",
                OnPiece::Turned => "fits turned",
                OnPiece::No => "too small",
            }
            .to_owned()
        }));
        row.extend(figures.fits_frame.map(|frame| {
            match frame {
                // What is given as wide as high may be a hoop.
                InFrame::HoopToo if is_square => "fits, round too",
                InFrame::FrameOnly if is_square => "not if round",
                InFrame::HoopToo | InFrame::FrameOnly => "fits",
                InFrame::No => "no",
            }
            .to_owned()
        }));
        row
    };
    table(&headings, &chart.counts.iter().map(row).collect::<Vec<_>>())
}

fn notes(args: &ClothArgs, charts: &[OnCounts]) -> String {
    let open = match args.weight {
        Some(_) => {
            "Open: the share of bare evenweave that is holes between its threads, by its weight. A thread\ncarried \
             behind it shows through them: end off beside bare cloth, above all with dark thread.\n"
        }
        None => "",
    };
    let kept: u64 = charts.iter().filter_map(|chart| chart.counts.first()).map(|figures| figures.kept).sum();
    let kept = match kept {
        0 => String::new(),
        kept => format!(
            "\nWhat has strands of its own keeps them: {} in blends, in other stitches than full\ncrosses or in areas worked \
             otherwise.",
            counted(kept, "stitch")
        ),
    };
    format!(
        "Cut: {:.1} cm more on each side, rounded up. Arc: how large a stitch looks from {:.0} cm, in minutes of\narc. \
         Strands: those that are customary (common practice, no source: three on 11 count, two on 14 to 20,\none on 22), \
         more where the cloth would shift a thread by over {SHIFT_LIMIT} ΔE; strand m and skeins are for them.{kept}\nNeedle: \
         the customary tapestry needle. Thread follows a working order, with starts, ends and a tenth for\nwaste; \
         plain rows take more on a photo.\n{open}",
        args.allowance.cm(),
        args.distance.cm(),
    )
}
