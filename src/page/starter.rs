//! A starter in the system's menu, so that nobody needs a terminal twice.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use brede::ground::store::persist;

use super::PageError;

/// What is seen in the menu.
const ICON: &[u8] = include_bytes!("assets/icon.svg");

/// A file of the starter: where it goes, what is in it, and whether it is run.
struct Part {
    path: PathBuf,
    bytes: Vec<u8>,
    is_run: bool,
}

/// Puts a starter into the menu that begins this program with these words, and says where it is. (On Windows run
/// under Wine alone, on macOS untried.)
///
/// # Errors
/// [`PageError`] where it cannot be written.
pub(crate) fn starter(words: &[String]) -> Result<PathBuf, PageError> {
    let wrong = |source| PageError::Files { path: PathBuf::from("brede"), source };
    let program = std::env::current_exe().map_err(wrong)?;
    let begun = [&[program.display().to_string()], words].concat();
    let parts = parts(&begun);
    for part in &parts {
        write(part).map_err(|source| PageError::Files { path: part.path.clone(), source })?;
    }
    Ok(parts.into_iter().next().map(|part| part.path).unwrap_or_default())
}

fn said(name: &str) -> Option<PathBuf> {
    std::env::var_os(name).map(PathBuf::from).filter(|path| path.is_absolute())
}

/// What is written, for a program and its words.
fn parts(begun: &[String]) -> Vec<Part> {
    let all =
        |quoted: fn(&str) -> String| begun.iter().map(|word| quoted(word)).collect::<Vec<_>>().join(" ");
    let home = std::env::home_dir().unwrap_or_default();
    match std::env::consts::OS {
        "windows" => {
            let menu = said("APPDATA").unwrap_or_else(|| home.join(r"AppData\Roaming"));
            // Names are not what the code page of the machine makes of them, but as they are.
            let text = format!("@chcp 65001 >nul\r\n@start \"brede\" /min {}\r\n", all(in_batch));
            let path = menu.join(r"Microsoft\Windows\Start Menu\Programs\brede.cmd");
            vec![Part { path, bytes: text.into_bytes(), is_run: false }]
        }
        "macos" => {
            let text = format!("#!/bin/sh\nexec {}\n", all(in_shell));
            let path = home.join("Applications/brede.command");
            vec![Part { path, bytes: text.into_bytes(), is_run: true }]
        }
        _ => {
            // XDG Base Directory Specification 0.8, Desktop Entry Specification 1.5, Icon Theme Specification 0.13.
            let data = said("XDG_DATA_HOME").unwrap_or_else(|| home.join(".local/share"));
            let icon = data.join("icons/hicolor/scalable/apps/brede.svg");
            let text = format!(
                "[Desktop Entry]\nType=Application\nName=brede\nComment=Counted cross-stitch charts\n\
                 Exec={}\nIcon={}\nTerminal=false\nCategories=Graphics;\n",
                all(in_entry),
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

/// A word as a batch file takes it, where `%` begins the name of a variable, and then a program, for which `\"` is a
/// quotation mark (Microsoft, "cmd" and "Parsing C command-line arguments"). Names hold none of those there.
fn in_batch(word: &str) -> String {
    let last = word.len() - word.trim_end_matches('\\').len();
    format!("\"{}{}\"", word.replace('%', "%%"), "\\".repeat(last))
}

/// A word as a shell takes it (POSIX.1-2017, Shell Command Language, 2.2.2).
fn in_shell(word: &str) -> String {
    format!("'{}'", word.replace('\'', r"'\''"))
}

/// A string value of a desktop entry (Desktop Entry Specification 1.5, 4).
fn escaped(text: &str) -> String {
    text.replace('\\', r"\\").replace('\n', r"\n").replace('\t', r"\t").replace('\r', r"\r")
}

/// A quoted argument of the key Exec (the same, 7).
fn in_entry(word: &str) -> String {
    let mut text = String::from('"');
    for character in word.chars() {
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
    persist(file, &part.path)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The forms are those of the sources above; what a shell and the menu of Linux make of theirs is tried from outside.
    #[test]
    fn words_are_quoted_so_that_they_stay_what_they_are() {
        let batch = [r"C:\Users\Inès & Söhne\50% brede.exe", r"D:\pools\"].map(in_batch);
        assert_eq!(batch, [r#""C:\Users\Inès & Söhne\50%% brede.exe""#, r#""D:\pools\\""#]);
        assert_eq!(in_shell("Inès' pools $1"), r"'Inès'\'' pools $1'");
    }
}
