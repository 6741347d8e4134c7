//! How brede is stopped from outside.
//!
//! Whatever it is at, it ends at once: what is not yet written is removed, and what is written is whole.

use std::sync::OnceLock;

use brede::ground::store::Hand;

/// The hand of this process on what it is writing.
pub(super) fn hand() -> &'static Hand {
    static HAND: OnceLock<Hand> = OnceLock::new();
    HAND.get_or_init(Hand::default)
}

/// Ends the process as shells tell that a signal ended one: 130 for Ctrl-C.
#[cfg(any(unix, windows))]
fn leave(signal: i32) {
    hand().give_up();
    // The line of a bar that is cut off is left, so that what the shell says next begins a line.
    if std::io::IsTerminal::is_terminal(&std::io::stderr()) {
        super::tell::aside("");
    }
    std::process::exit(128 + signal);
}

/// Listens for the signals that ask a process to end.
///
/// The signal of a terminal that goes away is left alone: under `nohup` it is to be ignored.
#[cfg(unix)]
pub(super) fn listen() {
    use std::sync::Arc;
    use std::sync::atomic::AtomicBool;

    use signal_hook::consts::{SIGINT, SIGTERM, SIGXFSZ};
    use signal_hook::iterator::Signals;

    // Without a handler, a file over the limit set on a process would end it before it can say so.
    let heard = signal_hook::flag::register(SIGXFSZ, Arc::new(AtomicBool::new(false)));
    let (Ok(_), Ok(mut signals)) = (heard, Signals::new([SIGINT, SIGTERM])) else { return };
    std::thread::spawn(move || {
        if let Some(signal) = signals.forever().next() {
            leave(signal);
        }
    });
}

/// Listens for Ctrl-C, Ctrl-Break, and a window that is closed. Where that cannot be, the system ends the process.
#[cfg(windows)]
pub(super) fn listen() {
    /// As other systems number it: Windows tells not which it was.
    const SIGINT: i32 = 2;
    _ = ctrlc::set_handler(|| leave(SIGINT));
}

/// Other systems end the process themselves.
#[cfg(not(any(unix, windows)))]
pub(super) fn listen() {}
