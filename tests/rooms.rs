//! The direction of imports: each room of the library may use those after it, never one before it, and the modules
//! of one folder never import one another in a circle.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// The rooms, the faces first. An import points from one to itself or to a later one.
const ROOMS: [&str; 9] =
    ["desk", "basket", "reading", "printing", "planning", "making", "chart", "thread", "ground"];

/// Crates that one place alone may know.
const KNOWN_BY: [(&str, &str); 6] = [
    ("printpdf", "src/printing/ink"),
    ("clap", "src/cli"),
    ("rusqlite", "src/basket"),
    ("axum", "src/page"),
    ("hyper", "src/page"),
    ("tokio", "src/page"),
];

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

/// The path of a module: `["printing", "sheet", "grid"]`; that of the crate's root is empty.
type ModulePath = Vec<String>;

/// What a module's code says of others.
#[derive(Default)]
struct Module {
    /// What it imports or hands on, by the name that it has here: a path as it is written.
    imports: BTreeMap<String, Vec<String>>,
    /// Paths that are named without an import.
    named: Vec<Vec<String>>,
}

impl Module {
    fn of(text: &str) -> Self {
        let mut module = Self::default();
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        let mut lines = code.lines().map(|line| line.split("//").next().unwrap_or_default().trim());
        while let Some(line) = lines.next() {
            match line.split_once("use ") {
                Some((before, tree)) if before.is_empty() || before.starts_with("pub") => {
                    let mut tree = tree.to_owned();
                    while !tree.ends_with(';') {
                        tree.push_str(lines.next().unwrap_or(";"));
                    }
                    module.import(&[], tree.trim_end_matches(';'));
                }
                _ => module.named.extend(paths(line)),
            }
        }
        module
    }

    /// Takes in a tree of paths such as `super::{grid::MARGIN, key::{self, Key as Table}}`.
    fn import(&mut self, before: &[String], tree: &str) {
        let tree = tree.trim();
        let (path, inner) = tree.split_once('{').map_or((tree, None), |(path, inner)| (path, Some(inner)));
        let (path, other) = path.split_once(" as ").unwrap_or((path, ""));
        let mut all = before.to_vec();
        all.extend(path.split("::").map(|part| part.trim().to_owned()).filter(|part| !part.is_empty()));
        let Some(inner) = inner else {
            if all.len() > 1 && all.last().is_some_and(|last| last == "self") {
                all.pop();
            }
            let name =
                if other.is_empty() { all.last().cloned().unwrap_or_default() } else { other.to_owned() };
            self.imports.insert(name, all);
            return;
        };
        let (mut depth, mut start) = (0, 0);
        for (at, character) in inner.char_indices() {
            match character {
                '{' => depth += 1,
                '}' if depth > 0 => depth -= 1,
                ',' | '}' if depth == 0 => {
                    if !inner[start..at].trim().is_empty() {
                        self.import(&all, &inner[start..at]);
                    }
                    start = at + 1;
                }
                _ => {}
            }
        }
    }
}

/// The paths of a line of code that begin at `super`, `crate` or `brede`.
fn paths(line: &str) -> Vec<Vec<String>> {
    let words = line.split(|c: char| !c.is_ascii_alphanumeric() && c != '_' && c != ':');
    let paths = words.map(|word| word.split("::").map(str::to_owned).collect::<Vec<_>>());
    paths.filter(|path| path.len() > 1 && ["super", "crate", "brede"].contains(&path[0].as_str())).collect()
}

/// All modules, without tests.
struct House(BTreeMap<ModulePath, Module>);

impl House {
    fn open() -> Self {
        let modules = sources().into_iter().filter(|(path, _)| !is_test(path)).map(|(path, text)| {
            let path = path.with_extension("");
            let parts = path.iter().skip(1).map(|part| part.to_str().unwrap().to_owned());
            (parts.filter(|part| !["lib", "main"].contains(&part.as_str())).collect(), Module::of(&text))
        });
        Self(modules.collect())
    }

    /// The module in which that stands which `path` names in the module `from`, through all that hand it on; nothing
    /// where it is another crate's.
    fn owner(&self, from: &[String], path: &[String], depth: usize) -> Option<ModulePath> {
        let (first, rest) = path.split_first()?;
        let mut at = match first.as_str() {
            "crate" | "brede" => Vec::new(),
            "self" => from.to_vec(),
            "super" => from[..from.len().checked_sub(1)?].to_vec(),
            child if self.0.contains_key(&[from, &[child.to_owned()]].concat()) => {
                [from, &[child.to_owned()]].concat()
            }
            _ => return None,
        };
        for (place, part) in rest.iter().enumerate() {
            if part == "super" {
                at.pop();
                continue;
            }
            at.push(part.clone());
            if self.0.contains_key(&at) {
                continue;
            }
            at.pop();
            let handed_on = self.0.get(&at).and_then(|module| module.imports.get(part)).filter(|_| depth < 9);
            return match handed_on {
                Some(path) => self.owner(&at, &[path.as_slice(), &rest[place + 1..]].concat(), depth + 1),
                None => Some(at),
            };
        }
        Some(at)
    }

    /// For each folder which of the modules that stand side by side in it import which, and a file that does.
    /// A module has in it all that stands below it. One that uses what its parent owns, and a parent that uses
    /// its children, are as they should be.
    fn folders(&self) -> BTreeMap<ModulePath, BTreeMap<[String; 2], String>> {
        let mut folders: BTreeMap<ModulePath, BTreeMap<[String; 2], String>> = BTreeMap::new();
        for (from, module) in &self.0 {
            for path in module.imports.values().chain(&module.named) {
                let Some(to) = self.owner(from, path, 0) else { continue };
                let common = from.iter().zip(&to).take_while(|(one, other)| one == other).count();
                if let (Some(one), Some(other)) = (from.get(common), to.get(common)) {
                    let told = format!("{} uses {}", from.join("::"), path.join("::"));
                    let folder = folders.entry(from[..common].to_vec()).or_default();
                    folder.entry([one.clone(), other.clone()]).or_insert(told);
                }
            }
        }
        folders
    }
}

/// The modules that one leads to.
fn reached<'a>(imports: &'a BTreeMap<[String; 2], String>, from: &'a String) -> BTreeSet<&'a String> {
    let (mut waiting, mut seen) = (vec![from], BTreeSet::new());
    while let Some(at) = waiting.pop() {
        let next = imports.keys().filter(|[one, _]| one == at).map(|[_, other]| other);
        waiting.extend(next.filter(|&next| seen.insert(next)));
    }
    seen
}

/// The imports that are part of a circle.
fn circles(imports: &BTreeMap<[String; 2], String>) -> Vec<&String> {
    let is_back = |[one, other]: &[String; 2]| reached(imports, other).contains(one);
    imports.iter().filter(|(pair, _)| is_back(pair)).map(|(_, told)| told).collect()
}

#[test]
fn modules_side_by_side_never_import_one_another_in_a_circle() {
    let folders = House::open().folders();
    let judged: usize = folders.values().map(BTreeMap::len).sum();
    assert!(judged > 200, "only {judged} pairs were found");
    let mut wrong = Vec::new();
    for (folder, imports) in &folders {
        for told in circles(imports) {
            wrong.push(format!("in {}: {told}", folder.join("/")));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_file_of_tests_is_run() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let all = fs::read_to_string(folder.join("all.rs")).unwrap();
    let forgotten: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_owned())
        .filter(|name| name != "all" && !all.lines().any(|line| line == format!("mod {name};")))
        .collect();
    assert!(forgotten.is_empty(), "add to tests/all.rs: {forgotten:?}");
}

/// The faces: they stand beside the library, in the binary.
const FACES: [&str; 3] = ["src/cli", "src/page", "src/apart"];

/// What a face may use of the library.
const FOR_FACES: [&str; 2] = ["desk", "ground"];

/// What is told of the command line in few lines is thin. 3,000 were set when there were eight commands, and six of the
/// workbasket came after: about a hundred lines each, the most of them help and words; then what a subject and bare cloth by
/// area are told by, the one that opens the page, the one that reads pages from elsewhere, and a bought piece of which only
/// the size is known.
const MOST_LINES_OF_CLI: usize = 4400;

#[test]
fn the_command_line_is_a_thin_face() {
    let lines = sources()
        .iter()
        .filter(|(path, _)| room(path) == "cli")
        .map(|(_, text)| text.lines().count())
        .sum::<usize>();
    assert!(lines > 1000 && lines <= MOST_LINES_OF_CLI, "cli has {lines} lines");
}

#[test]
fn faces_stand_on_the_desk_alone() {
    let mut wrong = Vec::new();
    let mut judged = 0;
    for (path, text) in sources() {
        let path = path.to_str().unwrap();
        if !FACES.iter().any(|face| path.starts_with(face)) {
            continue;
        }
        // The two that people see never see each other.
        let beside = if path.starts_with("src/cli") { "page" } else { "cli" };
        if named(&text, "crate::").contains(beside) {
            wrong.push(format!("{path} uses crate::{beside}"));
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
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        let lines = code.lines().enumerate().filter(|(_, line)| names_option(line) || begins(line));
        wrong.extend(lines.map(|(at, line)| format!("{}:{}: {}", path.display(), at + 1, line.trim())));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
