//! Picks a face: the command line, or the child that reads what comes from outside.

mod apart;
mod cli;

fn main() -> std::process::ExitCode {
    if apart::is_asked() { apart::run() } else { cli::run() }
}
