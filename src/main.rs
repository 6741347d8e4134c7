//! Picks a face: the command line, the page in the browser, or the child that reads what comes from outside.

mod apart;
mod cli;
mod page;

use brede::ground::advice::Advice;

fn main() -> std::process::ExitCode {
    if apart::is_asked() { apart::run() } else { cli::run(open) }
}

/// The command line asks for the page, and neither knows the other.
fn open(
    asked: &cli::Open,
    tell: &mut dyn FnMut(&str),
) -> Result<(), (Box<dyn std::error::Error>, Option<Advice>)> {
    let opening = page::Opening {
        folder: asked.folder.clone(),
        port: asked.port,
        browser: if asked.no_browser { page::Browser::Left } else { page::Browser::Started },
        threads: asked.threads,
    };
    let opened = match &asked.starter {
        Some(words) => page::starter(words).map(|path| tell(&path.display().to_string())),
        None => page::open(&opening, tell),
    };
    opened.map_err(|error| {
        let advice = error.advice();
        (error.into(), advice)
    })
}
