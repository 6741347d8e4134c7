//! `brede make --compare`: the same picture in more and fewer threads, side by side.

use std::path::PathBuf;

use brede::making::make::{self, MakeOptions, Making};
use brede::making::reduce::Colours;
use brede::planning::{self, ThreadUse};
use brede::printing::picture;
use brede::printing::picture::contact::side_by_side;
use brede::thread::cloth::CoverModel;
use brede::thread::shades::ShadeCard;
use rust_decimal::Decimal;
use serde_json::{Value, json};

use super::super::bar::Bar;
use super::super::files::{name_of, rounded, save_all};
use super::super::table::{Flush, table};
use super::super::{Failure, tell};
use super::{MakeArgs, make_failure};

/// The longer side of each picture on the sheet, in pixels.
const SIDE: u32 = 560;

/// What a number of threads comes to.
struct Tried {
    making: Making,
    skeins: u64,
    cost: Option<Decimal>,
}

/// Tries each number of threads; writes `NAME.compare.png` and says what each comes to.
pub(super) fn run(
    args: &MakeArgs,
    counts: &[u16],
    card: &ShadeCard,
    cover: CoverModel,
    bar: &Bar,
) -> Result<(), Failure> {
    let photo = args.photo()?;
    let mut tried = Vec::new();
    let mut pictures = Vec::new();
    let mut options = MakeOptions { cover, ..args.options()? };
    options.reduce.colours = Colours::Exactly(counts.iter().copied().max().unwrap_or_default());
    let job = super::memory::job(args, &photo, card, &options)?;
    args.limits.hold(job.size, job.choosing())?;
    let framed = super::framed(&photo, &options, bar)?;
    for &count in counts {
        options.reduce.colours = Colours::Exactly(count);
        let making = make::make(&photo, &framed, card, &options, bar).map_err(make_failure)?;
        let picture = picture::preview(&making.chart, &[], bar)?;
        let longest = picture.width().max(picture.height());
        let side = |length: u32| (length * SIDE / longest).max(1);
        pictures.push(image::imageops::thumbnail(&picture, side(picture.width()), side(picture.height())));
        let uses = planning::thread_uses(&making.chart, &[], bar)?;
        let skeins = uses.iter().map(ThreadUse::skeins).sum();
        tried.push(Tried { making, skeins, cost: cost(&uses, card) });
    }
    let captions: Vec<[String; 2]> = tried
        .iter()
        .map(|tried| {
            let figures = &tried.making.figures;
            [
                format!("{} threads, {} skeins", tried.making.chart.needles().len(), tried.skeins),
                format!(
                    "difference {:.2}, singles {:.1} %",
                    figures.mean_delta_e,
                    figures.singles_share * 100.0
                ),
            ]
        })
        .collect();
    let stem = args.stem();
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from(&stem));
    let path = folder.join(format!("{stem}.compare.png"));
    let files = [(path.clone(), picture::png(side_by_side(&pictures, &captions), bar)?)];
    save_all(Some(&folder), &files, None)?;
    bar.finish();
    if args.json {
        let tried: Vec<Value> = tried.iter().map(as_json).collect();
        tell::data(&format!("{}\n", json!({ "compared": tried, "files": [name_of(&path)] })))?;
    } else if !args.quiet {
        let rows: Vec<Vec<String>> = tried.iter().map(row).collect();
        let headings = [
            ("threads", Flush::Right),
            ("difference", Flush::Right),
            ("95 % under", Flush::Right),
            ("singles %", Flush::Right),
            ("skeins", Flush::Right),
            ("cost", Flush::Right),
        ];
        tell::result(&table(&headings, &rows))?;
        tell::result(&format!(
            "Differences are CIEDE2000 from the picture; the pictures are in {}\n",
            path.display()
        ))?;
    }
    Ok(())
}

/// What the skeins cost, where the card has a price for each.
fn cost(uses: &[ThreadUse], card: &ShadeCard) -> Option<Decimal> {
    uses.iter()
        .map(|thread| {
            let shade = &card.shades()[card.position(&thread.code)?];
            shade.price.map(|price| price * Decimal::from(thread.skeins()))
        })
        .sum()
}

fn row(tried: &Tried) -> Vec<String> {
    let figures = &tried.making.figures;
    vec![
        tried.making.chart.needles().len().to_string(),
        format!("{:.2}", figures.mean_delta_e),
        format!("{:.1}", figures.p95_delta_e),
        format!("{:.1}", figures.singles_share * 100.0),
        tried.skeins.to_string(),
        tried.cost.map_or_else(|| "-".to_owned(), |cost| cost.to_string()),
    ]
}

fn as_json(tried: &Tried) -> Value {
    let figures = &tried.making.figures;
    json!({
        "colours": tried.making.chart.needles().len(),
        "mean_delta_e": rounded(figures.mean_delta_e),
        "p95_delta_e": rounded(figures.p95_delta_e),
        "single_percent": rounded(figures.singles_share * 100.0),
        "skeins": tried.skeins,
        "cost": tried.cost.map(|cost| cost.to_string()),
    })
}
