//! Files from outside are read by a child of this very program.

use std::path::PathBuf;
use std::process::ExitCode;

use brede::desk::{Program, Reader, serve};

/// What the child is begun with. Nobody types it.
const WORD: &str = "reads-a-file-for-brede";

/// Whether this process is such a child.
pub(crate) fn is_asked() -> bool {
    let mut words = std::env::args_os().skip(1);
    words.next().is_some_and(|word| word == WORD) && words.next().is_none()
}

/// What the child does.
pub(crate) fn run() -> ExitCode {
    // With the one who asks, the reason goes to read on.
    let gone = || std::process::exit(0);
    match serve(std::io::stdin(), std::io::stdout().lock(), gone) {
        Ok(()) => ExitCode::SUCCESS,
        Err(_) => ExitCode::FAILURE,
    }
}

/// A reader that begins this program again.
pub(crate) fn reader() -> Reader {
    // On Linux this leads to the program that runs, even where its file was replaced since. Elsewhere anybody may have
    // put a program of that name there.
    let own = cfg!(target_os = "linux").then(|| PathBuf::from("/proc/self/exe")).filter(|own| own.exists());
    match own.map_or_else(std::env::current_exe, Ok) {
        Ok(path) => Reader::Child(Program::new(path, vec![WORD.into()])),
        // A system that does not tell: this process reads itself, and ends with what it reads.
        Err(_) => Reader::Here,
    }
}
