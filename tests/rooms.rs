//! The direction of imports: each room of the library may use those after it, never one before it.
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms, the faces first. An import points from one to itself or to a later one.
const ROOMS: [&str; 8] = ["desk", "reading", "printing", "planning", "making", "chart", "thread", "ground"];

/// Crates that one place alone may know.
const KNOWN_BY: [(&str, &str); 2] = [("printpdf", "src/printing/ink"), ("clap", "src/cli")];

fn sources() -> Vec<(PathBuf, String)> {
    fn gather(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    gather(&root.join("src"), &mut found);
    found.sort();
    let read = |path: PathBuf| {
        let text = fs::read_to_string(&path).unwrap();
        (path.strip_prefix(root).unwrap().to_owned(), text)
    };
    found.into_iter().map(read).collect()
}

/// The room that a file stands in: the folder under `src`, or the file of that name beside it.
fn room(path: &Path) -> String {
    let name = path.components().nth(1).unwrap().as_os_str().to_str().unwrap();
    name.trim_end_matches(".rs").to_owned()
}

/// The first names after `crate::` or `brede::` in code, without tests and comments.
fn named(text: &str, root: &str) -> BTreeSet<String> {
    let code = text.split("#[cfg(test)]").next().unwrap_or_default();
    let lines = code.lines().filter(|line| !line.trim_start().starts_with("//"));
    let mut found = BTreeSet::new();
    for line in lines {
        for after in line.split(root).skip(1) {
            let name =
                after.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').next().unwrap_or_default();
            found.insert(name.to_owned());
        }
    }
    found
}

fn is_test(path: &Path) -> bool {
    path.file_stem().is_some_and(|stem| stem == "tests")
        || path.components().any(|part| part.as_os_str() == "tests")
}

#[test]
fn imports_point_from_the_faces_down() {
    let mut wrong = Vec::new();
    let mut judged = 0;
    for (path, text) in sources() {
        let Some(own) = ROOMS.iter().position(|&name| name == room(&path)) else { continue };
        if is_test(&path) {
            continue;
        }
        for other in named(&text, "crate::") {
            judged += 1;
            match ROOMS.iter().position(|&name| name == other) {
                Some(place) if place >= own => {}
                _ => wrong.push(format!("{} uses crate::{other}", path.display())),
            }
        }
    }
    assert!(judged > 150, "only {judged} imports were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_crate_that_one_place_owns_is_known_nowhere_else() {
    let mut wrong = Vec::new();
    for (name, owner) in KNOWN_BY {
        let mut seen = false;
        for (path, text) in sources() {
            let is_known = text
                .lines()
                .any(|line| !line.trim_start().starts_with("//") && line.contains(&format!("{name}::")));
            seen |= is_known;
            if is_known && !path.to_str().unwrap().starts_with(owner) {
                wrong.push(format!("{} knows {name}", path.display()));
            }
        }
        assert!(seen, "nobody knows {name} any more");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What a face may use of the library.
const FOR_FACES: [&str; 2] = ["desk", "ground"];

/// Parts of `cli` that do not stand on the desk yet.
const NOT_YET: [&str; 4] = ["src/cli/files.rs", "src/cli/guard.rs", "src/cli/mark", "src/cli/old.rs"];

#[test]
fn faces_stand_on_the_desk_alone() {
    let mut wrong = Vec::new();
    let mut judged = 0;
    for (path, text) in sources() {
        let path = path.to_str().unwrap();
        if !path.starts_with("src/cli") || NOT_YET.iter().any(|part| path.starts_with(part)) {
            continue;
        }
        for name in named(&text, "brede::") {
            judged += 1;
            if !FOR_FACES.contains(&name.as_str()) {
                wrong.push(format!("{path} uses brede::{name}"));
            }
        }
    }
    assert!(judged > 10, "only {judged} uses were found");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Whether a line of code holds a text in which an option of a command is named.
fn names_option(line: &str) -> bool {
    let code = line.split("//").next().unwrap_or_default();
    code.split('"').skip(1).step_by(2).any(|text| {
        text.split("--").skip(1).any(|after| after.starts_with(|letter: char| letter.is_ascii_lowercase()))
    })
}

#[test]
fn the_library_names_no_option_of_the_command() {
    assert!(
        names_option(r#"    "lift the limit with --max-pixels","#) && !names_option("a -= b - -c; // --at")
    );
    let mut wrong = Vec::new();
    for (path, text) in sources() {
        if path.starts_with("src/cli") || path == Path::new("src/cli.rs") || is_test(&path) {
            continue;
        }
        // A text may go over lines: then `--` begins one of them.
        let begins = |line: &str| line.trim_start().starts_with("--");
        let lines = text.lines().enumerate().filter(|(_, line)| names_option(line) || begins(line));
        wrong.extend(lines.map(|(at, line)| format!("{}:{}: {}", path.display(), at + 1, line.trim())));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
