//! The same bytes on one thread and on two, with and without a terminal, in other languages and time zones, and
//! from another folder.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::making::{encoded, waves};
use super::running::brede;

/// Everything that brede writes of a picture, by name: files, and results on standard output.
fn everything(
    photo: &str,
    card: &str,
    out: &Path,
    prepare: &dyn Fn(&mut Command),
) -> BTreeMap<String, Vec<u8>> {
    std::fs::create_dir_all(out).unwrap();
    let at = |name: &str| out.join(name).to_str().unwrap().to_owned();
    let chart = at("waves.chart.json");
    let mut all = BTreeMap::new();
    let make = ["make", photo, "--shades", card, "--columns", "70", "--colours", "12", "--blends", "--out"];
    let runs: [Vec<String>; 7] = [
        make.iter().map(|&argument| argument.to_owned()).chain([out.to_str().unwrap().to_owned()]).collect(),
        [
            "mark",
            &chart,
            "outline",
            "wave",
            "--at",
            "9,9",
            "--within",
            "12",
            "--thread",
            "T001",
            "--sketch",
            &at("sketch.png"),
            "--shades",
            card,
        ]
        .map(str::to_owned)
        .to_vec(),
        ["print", &chart, "-o", &at("again.pdf"), "--ink", "grey", "--pictures", "--quiet"]
            .map(str::to_owned)
            .to_vec(),
        [
            "kit",
            &chart,
            "--shades",
            card,
            "--budget",
            "20",
            "--csv",
            &at("list.csv"),
            "--pdf",
            &at("list.pdf"),
        ]
        .map(str::to_owned)
        .to_vec(),
        ["cloth", &chart, "--png", &at("cloth.png")].map(str::to_owned).to_vec(),
        ["shades", "compare", card, card, "--csv", &at("pairs.csv")].map(str::to_owned).to_vec(),
        ["shades", "show", card, "-o", &at("card.pdf")].map(str::to_owned).to_vec(),
    ];
    for arguments in runs {
        let mut command = brede();
        command.args(&arguments);
        prepare(&mut command);
        let done = command.output().unwrap();
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(done.status.success(), "{arguments:?}: {said}");
        // A result may name the folder that it was asked to write to.
        let result = String::from_utf8(done.stdout).unwrap().replace(out.to_str().unwrap(), "OUT");
        all.insert(
            format!("result of {} {}", arguments[0], arguments[1].replace(&chart, "CHART")),
            result.into_bytes(),
        );
    }
    for entry in std::fs::read_dir(out).unwrap() {
        let path = entry.unwrap().path();
        all.insert(path.file_name().unwrap().to_str().unwrap().to_owned(), std::fs::read(path).unwrap());
    }
    all
}

fn same(what: &str, one: &BTreeMap<String, Vec<u8>>, two: &BTreeMap<String, Vec<u8>>) {
    assert!(one.len() >= 16, "{what}: {:?}", one.keys());
    assert_eq!(one.keys().collect::<Vec<_>>(), two.keys().collect::<Vec<_>>(), "{what}");
    for (name, bytes) in one {
        assert!(two[name] == *bytes, "{what}: {name} differs");
    }
}

struct Table {
    folder: tempfile::TempDir,
    photo: PathBuf,
    card: PathBuf,
}

impl Table {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let (photo, card) = (folder.path().join("waves.png"), folder.path().join("tin.csv"));
        std::fs::write(&photo, encoded(&waves(300, 200).into(), image::ImageFormat::Png)).unwrap();
        std::fs::copy(concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/tin-of-threads.csv"), &card).unwrap();
        Self { folder, photo, card }
    }

    fn everything(&self, out: &str, prepare: &dyn Fn(&mut Command)) -> BTreeMap<String, Vec<u8>> {
        let (photo, card) = (self.photo.to_str().unwrap(), self.card.to_str().unwrap());
        everything(photo, card, &self.folder.path().join(out), prepare)
    }
}

#[test]
fn every_output_is_the_same_everywhere() {
    let table = Table::new();
    let plain = table.everything("plain", &|_| {});
    let settings: [(&str, &[(&str, &str)]); 5] = [
        ("one thread", &[("RAYON_NUM_THREADS", "1")]),
        ("five threads", &[("RAYON_NUM_THREADS", "5")]),
        // More than the machine bears: they are bounded, where a job did not end before.
        ("five thousand threads", &[("RAYON_NUM_THREADS", "5000")]),
        (
            "Turkish in Auckland",
            &[("LC_ALL", "tr_TR.UTF-8"), ("LANG", "tr_TR.UTF-8"), ("TZ", "Pacific/Auckland")],
        ),
        (
            "no language, no home",
            &[
                ("LC_ALL", "C"),
                ("HOME", "/no/such"),
                ("TZ", "America/St_Johns"),
                ("COLUMNS", "20"),
                ("TERM", "dumb"),
            ],
        ),
    ];
    for (what, variables) in settings {
        let other = table.everything(what, &|command| _ = command.envs(variables.iter().copied()));
        same(what, &plain, &other);
    }
    // Relative names, from the folder itself.
    let from = table.folder.path().to_owned();
    let here = |command: &mut Command| _ = command.current_dir(&from);
    let other = everything("waves.png", "./tin.csv", &table.folder.path().join("from here"), &here);
    let renamed = other
        .into_iter()
        .map(|(name, bytes)| {
            (
                name.replace("waves.png", table.photo.to_str().unwrap())
                    .replace("./tin.csv", table.card.to_str().unwrap()),
                bytes,
            )
        })
        .collect();
    same("from another folder", &plain, &renamed);
}

#[test]
#[ignore = "needs script (util-linux), which puts a command on a terminal"]
fn a_terminal_changes_no_file() {
    let table = Table::new();
    let out = |name: &str| table.folder.path().join(name);
    let line = |name: &str| {
        let (photo, out) = (table.photo.display(), out(name));
        format!(
            "'{}' make '{photo}' --columns 60 --colours 9 --out '{}'",
            env!("CARGO_BIN_EXE_brede"),
            out.display()
        )
    };
    let on_terminal = |command: &str| {
        // From util-linux: runs a command on a terminal of its own.
        let mut script = Command::new("script");
        script
            .args(["-qec", command, "/dev/null"])
            .env("SOURCE_DATE_EPOCH", "1767225600")
            .env("TERM", "xterm");
        script.stdin(Stdio::null()).output().unwrap()
    };
    let shown = on_terminal(&line("terminal"));
    assert!(shown.status.success(), "{}", String::from_utf8_lossy(&shown.stdout));
    assert!(String::from_utf8_lossy(&shown.stdout).contains("warning: "), "a terminal was there");
    let plain = Command::new("sh")
        .args(["-c", &line("plain")])
        .env("SOURCE_DATE_EPOCH", "1767225600")
        .output()
        .unwrap();
    assert!(plain.status.success());
    let mut judged = 0;
    for entry in std::fs::read_dir(out("plain")).unwrap() {
        let path = entry.unwrap().path();
        let other = out("terminal").join(path.file_name().unwrap());
        assert!(std::fs::read(&path).unwrap() == std::fs::read(other).unwrap(), "{} differs", path.display());
        judged += 1;
    }
    assert_eq!(judged, 5);
}
