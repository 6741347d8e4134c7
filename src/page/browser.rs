//! The person's browser, started on a file.

use std::io;
use std::path::Path;
use std::process::{Command, Stdio};

/// Whether there is a screen to show it on.
pub(super) fn is_there() -> bool {
    let said = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    cfg!(any(windows, target_os = "macos")) || said("DISPLAY") || said("WAYLAND_DISPLAY")
}

/// Starts it, and does not wait. (On Windows run under Wine alone, on macOS untried.)
pub(super) fn start(file: &Path) -> io::Result<()> {
    let mut command = match std::env::consts::OS {
        "windows" => Command::new("explorer"),
        "macos" => Command::new("open"),
        // xdg-utils (freedesktop.org).
        _ => Command::new("xdg-open"),
    };
    // Explorer takes no name from anywhere but the root.
    let file = std::path::absolute(file)?;
    #[cfg(not(windows))]
    command.arg(file);
    // In quotes whatever is in it: Explorer takes a comma for the end of a name.
    #[cfg(windows)]
    std::os::windows::process::CommandExt::raw_arg(&mut command, format!("\"{}\"", file.display()));
    command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = command.spawn()?;
    // Who is not waited for stays in the system's table.
    std::thread::spawn(move || child.wait());
    Ok(())
}
