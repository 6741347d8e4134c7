//! What is on the disk after faults: the old or the new, always whole, and never somebody's change lost.

use std::collections::BTreeMap;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::os::unix::process::CommandExt as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use brede::chart::{Cell, Chart, Mark, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};

use super::bounded::{command, run};
use super::making::good;
use super::noise;
use super::running::brede;

/// A folder with a chart of so many cells a side, all noise, and one mark on it.
pub(super) fn pool(side: u32) -> (tempfile::TempDir, PathBuf) {
    let needle = |at: u8| Needle {
        symbol: brede::printing::symbols::SymbolId::all().nth(at.into()).unwrap().id().into(),
        threads: vec![Thread {
            code: format!("T{at}"),
            name: format!("thread {at}"),
            colour: format!("#{at:02x}8040").parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let size = GridSize::new(side, side).unwrap();
    let cells = noise(7, size.cells()).into_iter().map(|byte| Cell::worked(usize::from(byte % 20))).collect();
    let needles = (0..20).map(needle).collect();
    let chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    std::fs::write(&path, chart.to_json()).unwrap();
    let mut mark = brede();
    mark.arg("mark").arg(&path).args(["lettering", "year", "--text", "0", "--at", "2,2", "--thread", "T1"]);
    assert!(mark.stdout(Stdio::null()).status().unwrap().success());
    (folder, path)
}

fn chart(path: &Path) -> Chart {
    Chart::from_json(&std::fs::read(path).unwrap())
        .unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn text(chart: &Chart) -> String {
    match chart.marks.as_slice() {
        [mark] => match mark.mark() {
            Mark::Lettering(mark) => mark.text.clone(),
            other => panic!("{other:?}"),
        },
        marks => panic!("{} marks", marks.len()),
    }
}

/// All files of a folder by name, with what they hold.
pub(super) fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let file = |entry: std::fs::DirEntry| {
        (entry.file_name().into_string().unwrap(), std::fs::read(entry.path()).unwrap())
    };
    entries.filter(|entry| entry.path().is_file()).map(file).collect()
}

/// Files that are not yet in their place.
fn parts(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.filter(|path| path.file_name().unwrap().to_string_lossy().starts_with(".brede-")).collect()
}

fn changing(path: &Path, text: &str) -> Command {
    let mut command = brede();
    command.arg("mark").arg(path).args(["change", "year", "--quiet", "--text", text]);
    command
}

/// The texts of all that is kept of a chart.
fn kept_texts(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let kept = entries.filter(|path| path.to_string_lossy().contains(".chart.earlier"));
    kept.map(|path| text(&chart(&path))).collect()
}

#[test]
fn killed_at_any_moment_of_saving_a_chart_is_the_old_or_the_new_and_the_one_before_is_kept() {
    let (folder, path) = pool(200);
    assert!(changing(&path, "a").status().unwrap().success());
    assert!(changing(&path, "b").status().unwrap().success());
    let (mut was, mut before) = ("b".to_owned(), "a".to_owned());
    let (mut old, mut new) = (0, 0);
    // How long after the first part the moments reach. On a disk and a machine of any speed it comes to lie about the
    // time that saving takes: a kill that came too early makes the next ones later, one too late makes them earlier.
    let mut reach = Duration::from_millis(10);
    for (time, byte) in (1..=200).zip(noise(11, 200)) {
        let now = time.to_string();
        let mut child = changing(&path, &now).spawn().unwrap();
        // Saving has begun when the first part of it is on the disk.
        while parts(folder.path()).is_empty() && child.try_wait().unwrap().is_none() {}
        let moment = Instant::now() + reach.mul_f64(f64::from(byte) / 256.0);
        while Instant::now() < moment {
            std::hint::spin_loop();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let found = text(&chart(&path));
        assert!(found == was || found == now, "{found} is neither {was} nor {now}");
        if found == now {
            new += 1;
            reach = reach.mul_f64(0.85);
            before = was;
        } else {
            old += 1;
            reach = reach.mul_f64(1.15).max(Duration::from_micros(50));
        }
        was = found;
        let kept = kept_texts(folder.path());
        assert!(kept.contains(&before), "{before}, from before {was}, is gone: {kept:?}");
        for part in parts(folder.path()) {
            std::fs::remove_file(part).unwrap();
        }
    }
    assert!(old > 5 && new > 5, "killed too early or too late to prove anything: {old} old, {new} new");
}

fn adding(path: &Path, name: &str) -> Command {
    let mut command = brede();
    command.arg("mark").arg(path).args(["lettering", name, "--quiet", "--text", "a", "--at", "5,5"]);
    command.args(["--thread", "T2"]).stderr(Stdio::piped());
    command
}

#[test]
fn of_several_who_change_a_chart_at_once_each_builds_on_what_the_others_did() {
    let (_folder, path) = pool(60);
    let mut stand = 0;
    for round in 0..6 {
        let names: Vec<String> = (0..6).map(|one| format!("r{round}-{one}")).collect();
        let children: Vec<_> = names.iter().map(|name| adding(&path, name).spawn().unwrap()).collect();
        let ended: Vec<_> = children.into_iter().map(|child| child.wait_with_output().unwrap()).collect();
        let marks = chart(&path).marks;
        for (name, ended) in names.iter().zip(ended) {
            let said = String::from_utf8(ended.stderr).unwrap();
            let is_there = marks.iter().any(|mark| mark.name() == name);
            assert_eq!(ended.status.success(), is_there, "{name}: {said}");
            stand += usize::from(is_there);
            // Only one who had to wait too long may be turned away, on a machine that is slower than that.
            assert!(is_there || said.contains("another brede") && said.contains("hint: wait"), "{said}");
        }
    }
    // One of each round at least, and each of those that had not to wait.
    assert!(stand > 6, "only {stand} of 36 changes stand");
}

#[test]
fn another_that_changes_a_chart_is_waited_for() {
    let (_folder, path) = pool(30);
    let hold = || {
        let file = std::fs::File::open(&path).unwrap();
        file.lock().unwrap();
        file
    };
    let held = hold();
    let mut waiting = adding(&path, "patient").spawn().unwrap();
    std::thread::sleep(Duration::from_millis(700));
    assert!(waiting.try_wait().unwrap().is_none(), "it did not wait");
    drop(held);
    let ended = waiting.wait_with_output().unwrap();
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    assert!(chart(&path).marks.iter().any(|mark| mark.name() == "patient"));
    // One that does not let go is told of, after two seconds and not before.
    let held = hold();
    let begun = Instant::now();
    let ended = adding(&path, "turned away").output().unwrap();
    let said = String::from_utf8(ended.stderr).unwrap();
    assert!(begun.elapsed() >= Duration::from_secs(2), "after {:?}", begun.elapsed());
    assert!(ended.status.code() == Some(1) && said.contains("pool.chart.json"), "{said}");
    assert!(said.contains("another brede") && said.contains("hint: wait"), "{said}");
    drop(held);
    assert_eq!(chart(&path).marks.len(), 2);
}

#[test]
fn changes_are_undone_to_the_beginning_and_done_again_without_what_was_kept() {
    let (folder, path) = pool(30);
    std::fs::remove_file(brede::ground::store::earlier(&path)).unwrap();
    let run_mark = |path: &Path, what: &str| run(what, command(["mark"]).arg(path).arg(what));
    assert!(changing(&path, "first").status().unwrap().success());
    assert!(changing(&path, "second").status().unwrap().success());
    // Through a link, and with nothing but the chart itself left.
    let link = folder.path().join("link.chart.json");
    symlink("pool.chart.json", &link).unwrap();
    for (way, path_given, wanted) in [
        ("undo", &path, "first"),
        ("undo", &link, "0"),
        ("redo", &link, "first"),
        ("redo", &path, "second"),
        ("undo", &path, "first"),
    ] {
        std::fs::remove_file(brede::ground::store::earlier(&path)).unwrap();
        assert_eq!(run_mark(path_given, way).code, 0);
        assert_eq!(text(&chart(&path)), wanted, "{way}");
    }
    assert_eq!(run_mark(&path, "undo").code, 0);
    assert_eq!(run_mark(&path, "undo").code, 0);
    assert!(chart(&path).marks.is_empty());
    let ended = run_mark(&path, "undo");
    assert!(ended.code == 1 && ended.said.contains("nothing has been done"), "{}", ended.said);
    // Each change has a number of its own, those of undo and redo among them.
    assert_eq!(chart(&path).stamp().revision.number(), 11);
    // A new change takes the place of what was undone.
    assert_eq!(run_mark(&path, "redo").code, 0);
    assert!(changing(&path, "third").status().unwrap().success());
    let ended = run_mark(&path, "redo");
    assert!(ended.code == 1 && ended.said.contains("nothing has been undone"), "{}", ended.said);
    std::fs::write(&path, "damaged").unwrap();
    let ended = run_mark(&path, "undo");
    assert!(ended.code == 1 && ended.said.contains("earlier.json"), "{}", ended.said);
}

#[test]
fn a_chart_that_make_writes_over_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("pool.png");
    std::fs::write(&photo, good().remove(0).1).unwrap();
    let make = |columns: &str| {
        let mut make = command(["make", "--columns", columns, "--colours", "4", "--out"]);
        run("make", make.arg(folder.path()).arg(&photo))
    };
    assert!(!make("12").said.contains("kept as"));
    assert!(!make("12").said.contains("kept as"), "the same again is no change");
    let ended = make("16");
    assert!(
        ended.said.contains("kept as") && ended.said.contains("pool.chart.earlier.json"),
        "{}",
        ended.said
    );
    let path = folder.path().join("pool.chart.json");
    assert_eq!(chart(&brede::ground::store::earlier(&path)).size().columns(), 12);
}

#[test]
fn a_full_disk_keeps_what_was_there_and_says_so() {
    let (folder, path) = pool(100);
    let before = std::fs::read(&path).unwrap();
    // Blocks of 512 bytes (POSIX, ulimit): less than the chart takes.
    let within = |arguments: &[&str]| {
        let mut command = Command::new("sh");
        command.args(["-c", "ulimit -f 16; exec \"$0\" \"$@\""]).arg(env!("CARGO_BIN_EXE_brede"));
        command.args(arguments).stdin(Stdio::null());
        run("full disk", &mut command)
    };
    let shown = path.to_str().unwrap();
    let ended = within(&["mark", shown, "change", "year", "--text", "new"]);
    assert!(ended.code == 1 && ended.said.contains("make room"), "{}", ended.said);
    assert!(std::fs::read(&path).unwrap() == before);
    assert_eq!(parts(folder.path()), Vec::<PathBuf>::new());
    // Of several files none is changed where one of them has no room, and no empty folder is left.
    let photo = folder.path().join("pool.png");
    std::fs::write(&photo, good().remove(0).1).unwrap();
    let out = folder.path().join("out");
    let arguments =
        |columns| ["make", photo.to_str().unwrap(), "--columns", columns, "--out", out.to_str().unwrap()];
    let ended = within(&arguments("12"));
    assert!(ended.code == 1 && ended.said.contains("make room"), "{}", ended.said);
    assert!(!out.exists());
    assert_eq!(run("make", &mut command(arguments("12"))).code, 0);
    let old = contents(&out);
    assert_eq!(old.len(), 5);
    let ended = within(&arguments("14"));
    assert!(ended.code == 1 && ended.said.contains("make room"), "{}", ended.said);
    assert!(contents(&out) == old);
    let ended = run("/dev/full", command(["print"]).arg(&path).args(["-o", "/dev/full"]));
    assert!(ended.code == 1 && ended.said.contains("make room"), "{}", ended.said);
}

#[test]
fn a_folder_that_may_not_be_written_to_is_told() {
    let (folder, path) = pool(20);
    let before = std::fs::read(&path).unwrap();
    // A copy of the command that everybody may run: the superuser, whom no permission stops, becomes nobody.
    let binary = folder.path().join("brede");
    std::fs::copy(env!("CARGO_BIN_EXE_brede"), &binary).unwrap();
    let is_superuser = std::fs::metadata(&binary).unwrap().uid() == 0;
    let mode = |mode| std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(mode)).unwrap();
    mode(0o555);
    let mut change = Command::new(&binary);
    change.arg("mark").arg(&path).args(["change", "year", "--text", "new"]).stdin(Stdio::null());
    if is_superuser {
        change.uid(65_534).gid(65_534);
    }
    let ended = run("read-only", &mut change);
    mode(0o755);
    assert!(ended.code == 1 && ended.said.contains("may write to"), "{}", ended.said);
    assert!(std::fs::read(&path).unwrap() == before);
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o444)).unwrap();
    let ended = run("write-protected", &mut changing(&path, "new"));
    assert!(ended.code == 1 && ended.said.contains("write-protected"), "{}", ended.said);
    assert!(std::fs::read(&path).unwrap() == before);
}

#[test]
fn a_link_to_a_chart_stays_a_link() {
    let (folder, path) = pool(20);
    let link = folder.path().join("link.chart.json");
    symlink("pool.chart.json", &link).unwrap();
    assert_eq!(run("link", &mut changing(&link, "through the link")).code, 0);
    assert!(std::fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(text(&chart(&path)), "through the link");
    let pdf = folder.path().join("pages.pdf");
    symlink("not there yet.pdf", &pdf).unwrap();
    assert_eq!(run("link", command(["print"]).arg(&path).arg("-o").arg(&pdf)).code, 0);
    assert!(std::fs::symlink_metadata(&pdf).unwrap().is_symlink());
    assert!(std::fs::read(folder.path().join("not there yet.pdf")).unwrap().starts_with(b"%PDF"));
    // A pipe is written to, not replaced.
    let pipe = folder.path().join("pipe");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let end = pipe.clone();
    let reader = std::thread::spawn(move || std::fs::read(end));
    assert_eq!(run("pipe", command(["print"]).arg(&path).arg("-o").arg(&pipe)).code, 0);
    assert!(reader.join().unwrap().unwrap().starts_with(b"%PDF"));
}
