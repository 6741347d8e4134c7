//! `brede cloth`: the same chart on other counts and colours of cloth.

mod calibrate;

use std::path::PathBuf;

use brede::desk::{
    self, BoughtReport, BoughtRequest, Cloth, ClothReport, ClothRequest, ClothWeight, CountFigures,
    DesignFigures, InFrame, OnCounts, OnPiece, Piece, SHIFT_LIMIT, USUAL_COUNTS,
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
use super::values::cloth_colour;
use super::words;

#[derive(Debug, Args)]
#[command(after_help = include_str!("help/cloth.txt"))]
pub(super) struct ClothArgs {
    /// Charts: NAME.chart.json files that `brede make` wrote
    #[arg(required_unless_present_any = ["calibrate", "measured", "size"])]
    charts: Vec<PathBuf>,
    /// The counts to compare; evenweave worked over two threads as 28/2
    #[arg(long, value_name = "N,...", value_delimiter = ',', default_values = USUAL_COUNTS)]
    count: Vec<FabricCount>,
    /// In place of a chart: the finished size of a bought piece on the first of --count, such as 24x16cm
    #[arg(long, value_name = "SIZE", conflicts_with_all = ["charts", "calibrate", "measured", "weight", "png"])]
    size: Option<Piece>,
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
    /// The colour of the cloth, for the strands and in the picture, such as #f4ecd8 or navy; else the chart's
    #[arg(long, value_name = "COLOUR", value_parser = cloth_colour)]
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
    if let Some(size) = args.size {
        return bought(args, size);
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
            format!("{title}: {columns} x {rows} squares, {stitches}\nas it is worked, {whole}\n{needles}\n{table}\n")
        });
        texts.chain([notes(args, &report.charts)]).collect()
    };
    doing::told(args.tell, |bar| desk::cloth(&request, bar), words).map(drop)
}

/// A bought piece on other counts.
fn bought(args: &ClothArgs, size: Piece) -> Result<(), Failure> {
    let count = args.count.first().copied().unwrap_or_default();
    let usual = USUAL_COUNTS.iter().filter_map(|count| count.parse().ok());
    let request = BoughtRequest {
        size,
        count,
        counts: if args.count.len() > 1 { args.count.clone() } else { usual.collect() },
        allowance: args.allowance,
        have: args.have,
        frame: args.frame,
        distance: args.distance,
        cloth: args.cloth.unwrap_or(Cloth::default().colour),
    };
    let words = |report: &BoughtReport| {
        let row = |on: &DesignFigures| {
            let mut row = measures(on);
            row.extend([
                on.customary.map_or_else(|| "-".to_owned(), |strands| strands.to_string()),
                on.needle.to_string(),
            ]);
            row.extend(fitting(args, on));
            row
        };
        let headings = headings(args, "count|>finished cm|>cut cm|>stitch mm|>arc min|eyes|>strands|>needle");
        let rows: Vec<Vec<String>> = report.counts.iter().map(row).collect();
        format!(
            "{} x {} squares, as {size} on {count} count\n\n{}\nStrands and needle are the customary ones (common practice, no \
             source).\n",
            report.columns,
            report.rows,
            table(&headings, &rows),
        )
    };
    doing::told(args.tell, |_| desk::bought(&request), words).map(drop)
}

/// The headings of a table, with what is held against it.
fn headings(args: &ClothArgs, usual: &str) -> String {
    let more = [
        (args.weight.is_some(), "|>open"),
        (args.have.is_some(), "|your cloth"),
        (args.frame.is_some(), "|your frame"),
    ];
    let more = more.iter().filter(|(is_asked, _)| *is_asked).map(|(_, heading)| *heading);
    std::iter::once(usual).chain(more).collect()
}

/// A count, its sizes and how its stitches look.
fn measures(on: &DesignFigures) -> Vec<String> {
    let [width, height] = on.finished.map(Millimetres::cm);
    // Cloth that is cut as it says here is large enough.
    let [cut_width, cut_height] = on.cut.map(Millimetres::cm_up);
    vec![
        on.count.to_string(),
        format!("{width:.1} x {height:.1}"),
        format!("{cut_width:.1} x {cut_height:.1}"),
        format!("{:.2}", on.stitch.mm()),
        format!("{:.1}", on.minutes),
        on.ease.word().to_owned(),
    ]
}

/// Whether it fits the cloth and the frame at hand.
fn fitting(args: &ClothArgs, on: &DesignFigures) -> Vec<String> {
    let is_square = args.frame.is_some_and(|frame| frame.width == frame.height);
    let cloth = on.fits_cloth.map(|on| match on {
        OnPiece::Upright => "fits",
        OnPiece::Turned => "fits turned",
        OnPiece::No => "too small",
    });
    let frame = on.fits_frame.map(|frame| match frame {
        // What is given as wide as high may be a hoop.
        InFrame::HoopToo if is_square => "fits, round too",
        InFrame::FrameOnly if is_square => "not if round",
        InFrame::HoopToo | InFrame::FrameOnly => "fits",
        InFrame::No => "no",
    });
    cloth.into_iter().chain(frame).map(str::to_owned).collect()
}

/// The table of a chart.
fn table_of(chart: &OnCounts, args: &ClothArgs) -> String {
    let usual = "count|>finished cm|>cut cm|>stitch mm|>arc min|eyes|>strands|>needle|>strand m|>skeins";
    let row = |figures: &CountFigures| {
        let mut row = measures(&figures.design);
        row.extend([
            figures.strands.map_or_else(|| "none".to_owned(), |strands| strands.to_string()),
            figures.design.needle.to_string(),
            format!("{:.0}", figures.strand_metres),
            figures.skeins.to_string(),
        ]);
        if args.weight.is_some() {
            row.push(figures.open.map_or_else(|| "-".to_owned(), |open| format!("{:.0} %", open * 100.0)));
        }
        row.extend(fitting(args, &figures.design));
        row
    };
    table(&headings(args, usual), &chart.counts.iter().map(row).collect::<Vec<_>>())
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
        "Cut: {:.1} cm more on each side, rounded up. Arc: how large a stitch looks from {:.0} cm, in minutes of\narc: easy for the eyes, fine or trying. \
         Strands: those that are customary (common practice, no source: three on 11 count, two on 14 to 20,\none on 22), \
         more where the cloth would shift a thread by over {SHIFT_LIMIT} ΔE; strand m and skeins are for them.{kept}\nNeedle: \
         the customary tapestry needle. Thread follows a working order, with starts, ends and a tenth for\nwaste; \
         plain rows take more on a photo.\n{open}",
        args.allowance.cm(),
        args.distance.cm(),
    )
}
