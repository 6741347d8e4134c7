//! The workbasket: where it is, and what is kept in it.

use std::path::{Path, PathBuf};

use brede::desk::{
    self, Came, InBasket, KeepAs, KeepRequest, PieceFigures, PieceId, PiecesRequest, Source, Target,
};
use brede::ground::day::{Day, When};
use brede::ground::plain::table;
use clap::Args;

use super::Failure;
use super::doing;
use super::over::OverArgs;
use super::print::{moment, said_moment};
use super::tell::TellArgs;

/// Where the workbasket is; for every command, since a piece may stand wherever a chart may.
#[derive(Debug, Clone, Args)]
pub(super) struct BasketArgs {
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
            "windows" => said("LOCALAPPDATA").unwrap_or_else(|| home().join("AppData/Local")),
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

/// The moment, and the day where the person is; in UTC where the moment is said from outside.
pub(super) fn when() -> Result<When, Failure> {
    let seconds = moment()?.seconds();
    let ahead = match (said_moment(), jiff::Timestamp::from_second(seconds)) {
        (false, Ok(now)) => jiff::tz::TimeZone::system().to_offset(now).seconds(),
        _ => 0,
    };
    Ok(When { seconds, day: Day::of(seconds, ahead) })
}

#[derive(Debug, Args)]
pub(super) struct KeepArgs {
    /// The chart: a NAME.chart.json that `brede make` wrote; a copy of it is kept
    chart: PathBuf,
    /// The photo that it was made of, to be kept too
    #[arg(long, value_name = "PHOTO")]
    photo: Option<PathBuf>,
    /// Keep it as a piece of its own, also where the chart is there already
    #[arg(long)]
    new: bool,
    #[command(flatten)]
    tell: TellArgs,
    #[command(flatten)]
    over: OverArgs,
}

pub(super) fn keep(args: &KeepArgs, basket: &BasketArgs) -> Result<(), Failure> {
    let request = KeepRequest {
        chart: args.chart.clone().into(),
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
    #[command(flatten)]
    tell: TellArgs,
}

pub(super) fn pieces(args: &PiecesArgs, basket: &BasketArgs) -> Result<(), Failure> {
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
