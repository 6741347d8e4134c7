//! The workbasket: where it is, and what is kept in it.

mod diary;
mod work;

use std::path::{Path, PathBuf};

use brede::desk::{
    self, BagRequest, BoxRequest, Came, InBasket, KeepAs, KeepRequest, PieceChange, PieceFigures, PieceId,
    PieceRequest, PiecesRequest, Source, Target, Turn,
};
use brede::ground::plain::table;
use brede::ground::units::{FabricCount, GridSize};
use clap::Args;

use super::Failure;
use super::doing;
use super::moment::when;
use super::over::OverArgs;
use super::tell::TellArgs;

pub(super) use diary::{BackupArgs, DiaryArgs, backup, diary};
pub(super) use work::{DoneArgs, LeftArgs, done, left};

/// Where the workbasket is; for every command, since a piece may stand wherever a chart may.
#[derive(Debug, Clone, Args)]
pub(super) struct BasketArgs {
    #[allow(clippy::doc_markdown, reason = "the words of help, which show no backticks")]
    /// The folder of the workbasket; else BREDE_BASKET, else brede's own folder for your data
    #[arg(long, value_name = "DIR", global = true, display_order = 906)]
    basket: Option<PathBuf>,
}

impl BasketArgs {
    /// The folder: XDG Base Directory Specification 0.8 (freedesktop.org); Apple, File System Programming Guide;
    /// Microsoft, `FOLDERID_LocalAppData`.
    pub(super) fn folder(&self) -> PathBuf {
        let said = |name: &str| {
            std::env::var_os(name).map(PathBuf::from).filter(|path| !path.as_os_str().is_empty())
        };
        let home = || std::env::home_dir().unwrap_or_default();
        let usual = || match std::env::consts::OS {
            "windows" => said("LOCALAPPDATA").unwrap_or_else(|| home().join(r"AppData\Local")),
            "macos" => home().join("Library/Application Support"),
            _ => said("XDG_DATA_HOME")
                .filter(|path| path.is_absolute())
                .unwrap_or_else(|| home().join(".local/share")),
        };
        self.basket.clone().or_else(|| said("BREDE_BASKET")).unwrap_or_else(|| usual().join("brede"))
    }

    /// A chart: a file, or the id of a piece where no file is called so.
    pub(super) fn chart(&self, path: &Path) -> Result<Source, Failure> {
        let id = path.to_str().filter(|text| text.parse::<PieceId>().is_ok());
        Ok(match id.filter(|_| !path.exists()) {
            Some(id) => Source::Piece(self.piece(id)?),
            None => Source::Path(path.to_owned()),
        })
    }

    /// Several of them.
    pub(super) fn charts(&self, paths: &[PathBuf]) -> Result<Vec<Source>, Failure> {
        paths.iter().map(|path| self.chart(path)).collect()
    }

    /// The place of a chart that is to be written.
    pub(super) fn target(&self, path: &Path) -> Result<Target, Failure> {
        Ok(match self.chart(path)? {
            Source::Piece(piece) => Target::Piece(piece),
            _ => Target::Path(path.to_owned()),
        })
    }

    /// A piece as it was written.
    pub(super) fn piece(&self, piece: &str) -> Result<InBasket, Failure> {
        Ok(InBasket { folder: self.folder(), piece: piece.to_owned(), when: when()? })
    }
}

#[derive(Debug, Args)]
pub(super) struct KeepArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote; a copy of it is kept
    #[arg(required_unless_present_any = ["shades", "owned"])]
    chart: Option<PathBuf>,
    /// Keep a shade card; what it says is owned lies in your box of threads
    #[arg(long, value_name = "CARD.csv", conflicts_with = "chart")]
    shades: Option<PathBuf>,
    /// Say what lies in your box: CSV with the columns code,owned and if you like opened,left
    #[arg(long, value_name = "FILE.csv", conflicts_with = "chart")]
    owned: Option<PathBuf>,
    /// The photo that it was made of, to be kept too
    #[arg(long, value_name = "PHOTO", requires = "chart")]
    photo: Option<PathBuf>,
    /// Keep it as a piece of its own, also where the chart is there already
    #[arg(long, requires = "chart")]
    new: bool,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
}

pub(super) fn keep(args: &KeepArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let Some(chart) = &args.chart else {
        let (card, owned) = (args.shades.clone().map(Into::into), args.owned.clone().map(Into::into));
        let request = BoxRequest { basket: basket.folder(), card, owned };
        let words = |report: &desk::BoxReport| {
            let cards = if report.cards.is_empty() { "none".to_owned() } else { report.cards.join(", ") };
            format!("{} threads in the box; shade cards: {cards}\n", report.threads.len())
        };
        return doing::told(args.tell, |bar| desk::keep_box(&request, bar), words).map(drop);
    };
    let request = KeepRequest {
        chart: chart.clone().into(),
        photo: args.photo.clone().map(Into::into),
        basket: basket.folder(),
        keep_as: if args.new { KeepAs::Another } else { KeepAs::Same },
        when: when()?,
        replace: args.over.replace(),
    };
    let report =
        doing::told(args.tell, |bar| desk::keep(&request, bar), |report| format!("{}\n", report.piece))?;
    if !args.tell.quiet && !args.tell.json {
        let came = match report.came {
            Came::New => "kept",
            Came::Changed => "kept with what is new in its chart",
            Came::Already => "there already, as it is",
        };
        super::tell::aside(&format!("{}: {came}; {} stitches", report.name, report.stitches));
    }
    Ok(())
}

#[derive(Debug, Args)]
pub(super) struct PiecesArgs {
    /// A piece to be changed: its id, the beginning of it, or its name; else all are listed
    piece: Option<String>,
    /// It goes into its bag
    #[arg(long, requires = "piece", group = "what")]
    put_down: bool,
    /// It comes out again
    #[arg(long, requires = "piece", group = "what")]
    take_up: bool,
    /// The last stitch is done
    #[arg(long, requires = "piece", group = "what")]
    finished: bool,
    /// Call it something else
    #[arg(long, value_name = "NAME", requires = "piece", group = "what")]
    rename: Option<String>,
    /// Add a piece whose chart is elsewhere, such as a bought kit
    #[arg(long, value_name = "NAME", conflicts_with = "piece", group = "what")]
    add: Option<String>,
    /// Its columns and rows, such as 120x90
    #[arg(long, value_name = "CxR", requires = "add", value_parser = size)]
    size: Option<GridSize>,
    /// The count of its cloth
    #[arg(long, requires = "add")]
    count: Option<FabricCount>,
    /// How many threads it has
    #[arg(long, value_name = "N", requires = "add")]
    threads: Option<u32>,
    /// How many crosses it has
    #[arg(long, value_name = "N", requires = "add")]
    stitches: Option<u64>,
    /// A picture of it, to be kept
    #[arg(long, value_name = "FILE", requires = "add")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    tell: TellArgs,
}

fn size(text: &str) -> Result<GridSize, String> {
    let sides =
        text.split_once(['x', 'X']).and_then(|(c, r)| Some((c.trim().parse().ok()?, r.trim().parse().ok()?)));
    let (columns, rows) = sides.ok_or_else(|| "give columns and rows, such as 120x90".to_owned())?;
    GridSize::new(columns, rows).map_err(|error| error.to_string())
}

impl PiecesArgs {
    fn change(&self) -> Option<PieceChange> {
        let piece = self.piece.clone().unwrap_or_default();
        Some(match self {
            Self { add: Some(name), .. } => PieceChange::Add(BagRequest {
                name: name.clone(),
                size: self.size,
                count: self.count,
                threads: self.threads,
                stitches: self.stitches,
                picture: self.picture.clone().map(Into::into),
            }),
            Self { rename: Some(name), .. } => PieceChange::Rename(piece, name.clone()),
            Self { put_down: true, .. } => PieceChange::Turn(piece, Turn::PutDown),
            Self { take_up: true, .. } => PieceChange::Turn(piece, Turn::TakenUp),
            Self { finished: true, .. } => PieceChange::Turn(piece, Turn::Finished),
            _ => return None,
        })
    }
}

pub(super) fn pieces(args: &PiecesArgs, basket: &BasketArgs) -> Result<(), Failure> {
    if let Some(change) = args.change() {
        let request = PieceRequest { basket: basket.folder(), change, when: when()? };
        let words = |report: &desk::PieceReport| format!("{}\n", report.piece);
        return doing::told(args.tell, |bar| desk::change_piece(&request, bar), words).map(drop);
    }
    let request = PiecesRequest { basket: basket.folder() };
    let row = |PieceFigures { piece, percent }: &PieceFigures| {
        let turn = piece.turn.map(|(turn, day)| format!("{turn} {day}")).unwrap_or_default();
        vec![
            piece.id.to_string(),
            piece.name.chars().take(32).collect(),
            piece.size.map(|size| size.to_string()).unwrap_or_default(),
            piece.count.clone().unwrap_or_default(),
            piece.stitches.map_or_else(String::new, |stitches| format!("{} of {stitches}", piece.done)),
            percent.map_or_else(String::new, |percent| format!("{percent} %")),
            piece.last_day.map(|day| day.to_string()).unwrap_or_default(),
            turn,
        ]
    };
    let words = |report: &desk::PiecesReport| {
        let rows: Vec<_> = report.pieces.iter().map(row).collect();
        if rows.is_empty() {
            "no pieces yet\n".to_owned()
        } else {
            table("piece|name|size|count|>done|>|last day|", &rows)
        }
    };
    doing::told(args.tell, |bar| desk::pieces(&request, bar), words).map(drop)
}
