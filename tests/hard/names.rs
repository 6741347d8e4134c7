//! Files whose names hold what names may hold, which is everything but a slash and a nought.

use std::ffi::OsString;
use std::os::unix::ffi::{OsStrExt as _, OsStringExt as _};

use super::bounded::{command, run};
use super::making::good;

fn names() -> Vec<OsString> {
    let mut names: Vec<OsString> = [
        "rock pool.png",
        " .png",
        "it's \"a\" `pool`.png",
        "two\nlines.png",
        "hint: all is well\nerror: no.png",
        "\u{1b}[2J.png",
        "\u{202e}gnp.loop.png",
        "\u{1f980} étang 潮だまり.png",
        "-.png",
        "--colours.png",
        "=1+1.png",
        "$(touch x).png",
        "%s%n.png",
        "..png",
        "...",
        "a.b.c",
        "CON.png",
        "pool.png.",
    ]
    .map(OsString::from)
    .into();
    names.push(OsString::from_vec(b"p\xff\xfeol.png".to_vec()));
    names.push(OsString::from_vec(b"\xe9".to_vec()));
    names
}

#[test]
fn a_picture_of_any_name_is_made_and_read_again() {
    let picture = good().remove(0).1;
    for name in names() {
        let shown = name.to_string_lossy().into_owned();
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        std::fs::write(folder.path().join(&name), &picture).unwrap();
        let mut make = command(["make", "--json", "--columns", "12", "--colours", "4", "--out"]);
        make.arg(&out).arg("--").arg(&name).current_dir(folder.path());
        let made = run(&shown, &mut make);
        assert_eq!(made.code, 0, "{shown}: {}", made.said);
        let summary: serde_json::Value = serde_json::from_str(&made.result).unwrap();
        assert_eq!(summary["files"].as_array().unwrap().len(), 5, "{shown}");
        let chart = std::fs::read_dir(&out)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .find(|path| path.as_os_str().as_bytes().ends_with(b".chart.json"))
            .unwrap();
        for arguments in [&["cloth", "--json"][..], &["kit", "--json"]] {
            let ended = run(&shown, command(arguments).arg(&chart));
            assert_eq!(ended.code, 0, "{shown}: {}", ended.said);
            serde_json::from_str::<serde_json::Value>(&ended.result).unwrap();
        }
        let pdf = out.join(&name);
        let printed = run(&shown, command(["print"]).arg(&chart).arg("-o").arg(&pdf));
        assert_eq!(printed.code, 0, "{shown}: {}", printed.said);
        assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF"), "{shown}");
        let again = run(&shown, command(["print", "--json"]).arg(&chart).arg("-o").arg(&pdf));
        let summary: serde_json::Value = serde_json::from_str(&again.result).unwrap();
        // The pages and the thread list.
        assert_eq!(summary["files"].as_array().unwrap().len(), 2, "{shown}");
        let mut moved = command(["shades", "move", "--json"]);
        moved.arg(&chart).arg(concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/tin-of-threads.csv"));
        let ended = run(&shown, moved.arg("-o").arg(out.join("moved.chart.json")));
        assert_eq!(ended.code, 0, "{shown}: {}", ended.said);
        let mut compare = command(["make", "--compare", "3,4", "--json", "--columns", "12", "--out"]);
        let ended = run(&shown, compare.arg(&out).arg("--").arg(&name).current_dir(folder.path()));
        assert_eq!(ended.code, 0, "{shown}: {}", ended.said);
    }
}

#[test]
fn a_file_of_any_name_that_is_not_there_is_told_on_one_line() {
    let folder = tempfile::tempdir().unwrap();
    for name in names() {
        let path = folder.path().join("no").join(&name);
        let shown = name.to_string_lossy().into_owned();
        for arguments in [&["make", "--"][..], &["kit", "--"], &["shades", "show", "--"]] {
            let ended = run(&shown, command(arguments).arg(&path));
            assert_eq!(ended.code, 1, "{shown}");
            assert!(!ended.said.contains(['\u{1b}', '\u{202e}']), "{shown}: {}", ended.said);
        }
        let mut print = command(["print"]);
        print.arg(concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml")).arg("-o").arg(&path);
        assert_eq!(run(&shown, &mut print).code, 1, "{shown}");
    }
}

#[test]
fn names_too_long_for_the_disk_are_told_before_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let long = format!("{}.png", "p".repeat(250));
    // No picture at all: what is told first is what was looked at first.
    std::fs::write(folder.path().join(&long), "no picture").unwrap();
    let mut make = command(["make", "--quiet", "--columns", "12", "--out", "out"]);
    let ended = run("long", make.arg(&long).current_dir(folder.path()));
    assert!(ended.code == 1 && ended.said.contains("shorter name"), "{}", ended.said);
    assert!(!folder.path().join("out").exists());
    let (_pool, chart) = super::files::pool(20);
    let mut print = command(["print"]);
    let ended = run("long", print.arg(&chart).arg("-o").arg(folder.path().join("p".repeat(256))));
    assert!(ended.code == 1 && ended.said.contains("shorter name"), "{}", ended.said);
    let photo = concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/little-boat.png");
    let mut make = command(["make", photo, "--columns", "12", "--title"]);
    let ended = run("title", make.arg("t".repeat(501)).arg("--out").arg(folder.path().join("out")));
    assert!(ended.code == 1 && ended.said.contains("500"), "{}", ended.said);
}

#[test]
fn names_of_dots_make_a_folder_of_a_name_and_never_go_up() {
    let above = tempfile::tempdir().unwrap();
    let folder = above.path().join("here");
    std::fs::create_dir(&folder).unwrap();
    let picture = good().remove(0).1;
    for (name, wanted) in [
        ("...png", "chart"),
        ("..png", "chart"),
        (".png", "chart"),
        ("....jpg", "chart"),
        (" .png", "chart"),
        ("...", "chart"),
        ("..pool.png", "pool"),
        (".pool.png", "pool"),
        ("pool.", "pool"),
    ] {
        std::fs::write(folder.join(name), &picture).unwrap();
        let mut make = command(["make", "--json", "--columns", "12", "--colours", "4", "--"]);
        let ended = run(name, make.arg(name).current_dir(&folder));
        assert_eq!(ended.code, 0, "{name}: {}", ended.said);
        let summary: serde_json::Value = serde_json::from_str(&ended.result).unwrap();
        assert_eq!(summary["title"], wanted, "{name}");
        std::fs::remove_file(folder.join(name)).unwrap();
        let found: Vec<_> =
            std::fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        assert_eq!(found, [wanted], "{name}");
        assert_eq!(std::fs::read_dir(folder.join(wanted)).unwrap().count(), 5, "{name}");
        assert_eq!(std::fs::read_dir(above.path()).unwrap().count(), 1, "{name} wrote above");
        std::fs::remove_dir_all(folder.join(wanted)).unwrap();
    }
}
