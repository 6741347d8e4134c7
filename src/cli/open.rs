//! `brede open`: the page in the browser, which is a face of its own; here it is only asked for.

use std::error::Error;
use std::path::{Path, PathBuf};

use brede::ground::advice::Advice;
use clap::Args;

use super::Failure;
use super::basket::BasketArgs;
use super::tell::{self, TellArgs};

#[derive(Debug, Args)]
pub(super) struct OpenArgs {
    /// The port on this machine; else the one of last time
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Only say the address
    #[arg(long)]
    no_browser: bool,
    /// Put a starter for it into the system's menu, and open nothing
    #[arg(long, conflicts_with_all = ["port", "no_browser", "json"])]
    starter: bool,
    #[command(flatten)]
    tell: TellArgs,
}

/// How the page is asked for.
#[derive(Debug)]
pub(crate) struct Open {
    /// The folder of the workbasket.
    pub(crate) folder: PathBuf,
    /// The port.
    pub(crate) port: Option<u16>,
    /// Whether the browser is left alone.
    pub(crate) no_browser: bool,
    /// The words that a starter begins with, where one is put into the menu instead.
    pub(crate) starter: Option<Vec<String>>,
    /// How many threads work.
    pub(crate) threads: Option<usize>,
}

/// Opens the page until the process ends; it is given what tells its address.
pub(crate) type Opener = fn(&Open, &mut dyn FnMut(&str)) -> Result<(), (Box<dyn Error>, Option<Advice>)>;

pub(super) fn run(
    args: &OpenArgs,
    basket: &BasketArgs,
    threads: Option<usize>,
    opener: Opener,
) -> Result<(), Failure> {
    let OpenArgs { port, no_browser, starter, tell: TellArgs { json, .. } } = *args;
    let folder = basket.folder();
    let words = |folder: &Path| {
        let whole = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
        vec!["open".to_owned(), "--basket".to_owned(), whole.display().to_string()]
    };
    let starter = starter.then(|| words(&folder));
    let open = Open { folder, port, no_browser, starter, threads };
    // Who is not heard any more is not told of it: the page goes on.
    let mut say = |address: &str| {
        _ = if json {
            tell::data(&format!("{}\n", serde_json::json!({ "address": address })))
        } else {
            tell::result(&format!("{address}\n"))
        };
    };
    opener(&open, &mut say)
        .map_err(|(error, advice)| Failure::Error(error, advice.map(|advice| super::words::advice(&advice))))
}
