//! Arguments, progress and messages; nothing else.

mod bar;
mod basket;
mod cloth;
mod doing;
mod kit;
mod make;
mod mark;
mod moment;
mod open;
mod over;
mod print;
mod proof;
mod read;
mod shades;
mod stopping;
mod tell;
mod values;
mod words;

#[cfg(not(windows))]
use std::env::args_os;
use std::process::ExitCode;

use brede::desk;
use brede::ground::advice::Advice;
use clap::{CommandFactory as _, Parser, Subcommand};
// Shells of Windows hand over `*.jpg` as it is: this makes it the files that it stands for.
#[cfg(windows)]
use wild::args_os;

pub(crate) use open::{Open, Opener};

/// Turns a picture into a counted cross-stitch chart in the threads you own.
#[derive(Debug, Parser)]
#[command(name = "brede", version, about, max_term_width = 96, after_help = include_str!("cli/help/brede.txt"))]
struct Cli {
    #[command(flatten)]
    basket: basket::BasketArgs,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Make a chart from a picture, with pages to print and a picture of the finished piece
    Make(Box<make::MakeArgs>),
    /// Make a chart personal: outlines, lettering and a stitched key
    Mark(Box<mark::MarkArgs>),
    /// Print a chart again: other paper, other ink, larger cells
    Print(print::PrintArgs),
    /// Read a chart that was printed elsewhere, as PDF, for your own use
    Read(read::ReadArgs),
    /// Read printed pages back and compare every cell with the chart
    Proof(proof::ProofArgs),
    /// Hold a chart against other counts of cloth: size, cloth to cut, strands, needle, thread
    Cloth(cloth::ClothArgs),
    /// List the threads for one chart or several: skeins, cost, time
    Kit(Box<kit::KitArgs>),
    /// Look into a shade card, compare two, move a chart to another card
    Shades(Box<shades::ShadesArgs>),
    /// Keep a chart in the workbasket, as a piece on the go; prints the piece's id
    Keep(basket::KeepArgs),
    /// List the pieces on the go: how far they are, and when something was last done
    Pieces(basket::PiecesArgs),
    /// Open brede in the browser: the workbasket, a new chart from a photo, pages to print
    Open(open::OpenArgs),
    /// Tick stitches of a piece as done, or as not done
    Done(basket::DoneArgs),
    /// Where was I: what is done of a piece and what is left, in stitches, thread and hours
    Left(basket::LeftArgs),
    /// Write sittings and notes down, list them, take in days of before
    Diary(Box<basket::DiaryArgs>),
    /// List backups of the workbasket, bring one back, give all of it to another machine
    Backup(basket::BackupArgs),
    /// Write the shell's completions for brede to standard output
    Completions {
        /// The shell to complete for
        shell: clap_complete::Shell,
    },
}

/// Why a command ended without a result.
enum Failure {
    /// It failed, for this reason and with this advice.
    Error(Box<dyn std::error::Error>, Option<String>),
    /// The person stopped it.
    Stopped,
}

impl Failure {
    fn new(error: impl std::error::Error + 'static, hint: impl Into<String>) -> Self {
        Self::Error(Box::new(error), Some(hint.into()))
    }

    fn advised(error: impl std::error::Error + 'static, advice: &Advice) -> Self {
        Self::Error(Box::new(error), Some(words::advice(advice)))
    }
}

impl From<desk::Error> for Failure {
    fn from(error: desk::Error) -> Self {
        if matches!(error, desk::Error::Stopped) {
            return Self::Stopped;
        }
        let advice = error.advice().map(|advice| words::advice(&advice));
        Self::Error(Box::new(error), advice)
    }
}

/// Does what the arguments ask. Exit 0 done, 1 failed, 2 asked for in the wrong way, 130 stopped.
pub(crate) fn run(opener: Opener) -> ExitCode {
    stopping::listen();
    let mut words: Vec<_> = args_os().collect();
    // Alone, it opens the page.
    if words.len() <= 1 {
        words = vec!["brede".into(), "open".into()];
    }
    let cli = match Cli::try_parse_from(words) {
        Ok(cli) => cli,
        Err(error) => {
            // Help and version are results; clap knows which is which. A closed pipe is no failure.
            _ = error.print();
            if let Some(hint) = advice(&error) {
                tell::aside(&format!("hint: {hint}"));
            }
            return if error.use_stderr() { ExitCode::from(2) } else { ExitCode::SUCCESS };
        }
    };
    // As programs that share work like this are usually told: their number of threads.
    let wanted = std::env::var("RAYON_NUM_THREADS").ok().and_then(|number| number.trim().parse().ok());
    if let Command::Open(args) = &cli.command {
        // The page has threads of its own, and none is kept waiting for it.
        return ended(open::run(args, &cli.basket, wanted, opener));
    }
    match desk::workers(wanted) {
        Ok(workers) => workers.install(|| done(cli.command, &cli.basket)),
        Err(error) => {
            tell::error(&error, Some(&words::advice(&Advice::FreeThreads)));
            ExitCode::from(1)
        }
    }
}

fn done(command: Command, basket: &basket::BasketArgs) -> ExitCode {
    let done = match command {
        Command::Make(args) => make::run(&args),
        Command::Mark(args) => mark::run(&args, basket),
        Command::Print(args) => print::run(&args, basket),
        Command::Proof(args) => proof::run(&args, basket),
        Command::Read(args) => read::run(&args),
        Command::Cloth(args) => cloth::run(&args, basket),
        Command::Kit(args) => kit::run(&args, basket),
        Command::Shades(args) => shades::run(&args, basket),
        Command::Keep(args) => basket::keep(&args, basket),
        Command::Pieces(args) => basket::pieces(&args, basket),
        Command::Done(args) => basket::done(&args, basket),
        Command::Left(args) => basket::left(&args, basket),
        Command::Diary(args) => basket::diary(&args, basket),
        Command::Backup(args) => basket::backup(&args, basket),
        Command::Completions { shell } => completions(shell),
        Command::Open(_) => unreachable!("the page is opened before threads are begun"),
    };
    ended(done)
}

fn ended(done: Result<(), Failure>) -> ExitCode {
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(Failure::Error(error, hint)) => {
            tell::error(error.as_ref(), hint.as_deref());
            ExitCode::from(1)
        }
        Err(Failure::Stopped) => ExitCode::from(130),
    }
}

/// What to do about a value of an option that cannot be read.
fn advice(error: &clap::Error) -> Option<String> {
    let source = std::error::Error::source(error)?;
    let unit = source.downcast_ref().map(brede::ground::units::UnitError::advice);
    let advice = unit.or_else(|| source.downcast_ref().map(desk::CropError::advice))?;
    Some(words::advice(&advice))
}

fn completions(shell: clap_complete::Shell) -> Result<(), Failure> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "brede", &mut text);
    Ok(tell::data(&String::from_utf8_lossy(&text))?)
}
