//! A starter in the system's menu, so that nobody needs a terminal twice.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::PageError;

/// What is seen in the menu.
const ICON: &[u8] = include_bytes!("assets/icon.svg");

/// A file of the starter: where it goes, what is in it, and whether it is run.
struct Part {
    path: PathBuf,
    bytes: Vec<u8>,
    is_run: bool,
}

/// Puts a starter into the menu that opens this workbasket, and says where it is. (On Windows and macOS untried.)
///
/// # Errors
/// [`PageError`] where it cannot be written.
pub(crate) fn starter(basket: &Path) -> Result<PathBuf, PageError> {
    let wrong = |source| PageError::Files { path: PathBuf::from("brede"), source };
    let program = std::env::current_exe().map_err(wrong)?;
    let basket = std::path::absolute(basket).map_err(wrong)?;
    let parts = parts(&program, &basket);
    for part in &parts {
        write(part).map_err(|source| PageError::Files { path: part.path.clone(), source })?;
    }
    Ok(parts.into_iter().next().map(|part| part.path).unwrap_or_default())
}

fn said(name: &str) -> Option<PathBuf> {
    std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute())
}

fn parts(program: &Path, basket: &Path) -> Vec<Part> {
    let home = std::env::home_dir().unwrap_or_default();
    match std::env::consts::OS {
        "windows" => {
            let menu = said("APPDATA").unwrap_or_else(|| home.join("AppData/Roaming"));
            let text = format!(
                "@start \"brede\" /min \"{}\" open --basket \"{}\"\r\n",
                program.display(),
                basket.display()
            );
            let path = menu.join("Microsoft/Windows/Start Menu/Programs/brede.cmd");
            vec![Part { path, bytes: text.into_bytes(), is_run: false }]
        }
        "macos" => {
            let text = format!("#!/bin/sh\nexec {} open --basket {}\n", in_shell(program), in_shell(basket));
            let path = home.join("Applications/brede.command");
            vec![Part { path, bytes: text.into_bytes(), is_run: true }]
        }
        _ => {
            // XDG Base Directory Specification 0.8, Desktop Entry Specification 1.5, Icon Theme Specification 0.13.
            let data = said("XDG_DATA_HOME").unwrap_or_else(|| home.join(".local/share"));
            let icon = data.join("icons/hicolor/scalable/apps/brede.svg");
            let text = format!(
                "[Desktop Entry]\nType=Application\nName=brede\nComment=Counted cross-stitch charts\n\
                 Exec={} open --basket {}\nIcon={}\nTerminal=false\nCategories=Graphics;\n",
                in_entry(program),
                in_entry(basket),
                escaped(&icon.display().to_string()),
            );
            let path = data.join("applications/brede.desktop");
            vec![
                Part { path, bytes: text.into_bytes(), is_run: false },
                Part { path: icon, bytes: ICON.to_vec(), is_run: false },
            ]
        }
    }
}

/// A path as a shell takes it (POSIX.1-2017, Shell Command Language, 2.2.2).
fn in_shell(path: &Path) -> String {
    format!("'{}'", path.display().to_string().replace('\'', r"'\''"))
}

/// A string value of a desktop entry (Desktop Entry Specification 1.5, 4).
fn escaped(text: &str) -> String {
    text.replace('\\', r"\\").replace('\n', r"\n").replace('\t', r"\t").replace('\r', r"\r")
}

/// A quoted argument of the key Exec (the same, 7).
fn in_entry(path: &Path) -> String {
    let mut text = String::from('"');
    for character in path.display().to_string().chars() {
        match character {
            '"' | '`' | '$' | '\\' => text.extend(['\\', character]),
            '%' => text.push_str("%%"),
            other => text.push(other),
        }
    }
    text.push('"');
    escaped(&text)
}

/// Writes a file beside its place and puts it there.
fn write(part: &Part) -> io::Result<()> {
    let folder = part.path.parent().unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
    file.write_all(&part.bytes)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        let mode = if part.is_run { 0o755 } else { 0o644 };
        file.as_file().set_permissions(fs::Permissions::from_mode(mode))?;
    }
    #[cfg(not(unix))]
    let _ = part.is_run;
    file.as_file().sync_all()?;
    file.persist(&part.path)?;
    Ok(())
}
