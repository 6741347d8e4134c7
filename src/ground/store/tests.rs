#![allow(clippy::unwrap_used, clippy::panic)]
use std::cell::Cell;
use std::fs::File;

use super::*;
use crate::ground::advice::Advice;

/// What counts as brede's own in these tests.
fn is_ours(bytes: &[u8]) -> bool {
    bytes.starts_with(b"brede")
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn write_over(path: &Path, bytes: &[u8], over: Over) -> Result<Option<PathBuf>, StoreError> {
    let kept = write_all(&Hand::default(), None, &[Target { path, bytes, over }], &is_ours)?;
    Ok(kept.into_iter().next().unwrap())
}

fn write(path: &Path, bytes: &[u8]) -> Result<Option<PathBuf>, StoreError> {
    write_over(path, bytes, Over::Ours)
}

#[test]
fn a_file_is_replaced_whole_and_what_it_was_is_kept_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    assert_eq!(write(&path, b"brede one").unwrap(), None);
    assert_eq!(names(folder.path()), ["pool.chart.json"]);
    let at = folder.path().join("pool.chart.earlier.json");
    assert_eq!(earlier(&path), at);
    assert_eq!(write(&path, b"brede two").unwrap().as_ref(), Some(&at));
    assert_eq!(
        (fs::read(&path).unwrap(), fs::read(&at).unwrap()),
        (b"brede two".into(), b"brede one".into())
    );
    // The same again is no change: what was before the last change stays.
    assert_eq!(write(&path, b"brede two").unwrap(), None);
    assert_eq!(fs::read(&at).unwrap(), b"brede one");
    assert_eq!(write(&path, b"brede three").unwrap().as_ref(), Some(&at));
    assert_eq!(fs::read(&at).unwrap(), b"brede two");
    assert_eq!(names(folder.path()), ["pool.chart.earlier.json", "pool.chart.json"]);
}

#[test]
fn what_is_not_ours_is_replaced_only_when_that_is_asked_for_and_is_kept_then() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("card.csv");
    fs::write(&path, "theirs").unwrap();
    assert!(matches!(may_write(&path, Over::Ours, &is_ours), Err(StoreError::NotOurs { .. })));
    assert!(matches!(write(&path, b"brede"), Err(StoreError::NotOurs { .. })));
    assert_eq!(fs::read(&path).unwrap(), b"theirs");
    assert_eq!(names(folder.path()), ["card.csv"]);
    let at = folder.path().join("card.earlier.csv");
    assert_eq!(write_over(&path, b"brede", Over::Anything).unwrap().as_ref(), Some(&at));
    assert_eq!(fs::read(&at).unwrap(), b"theirs");
    // Now somebody else's file is where an earlier one of ours would go.
    let second = folder.path().join("card.earlier-2.csv");
    for (text, was) in [(&b"brede 2"[..], &b"brede"[..]), (b"brede 3", b"brede 2")] {
        assert_eq!(write(&path, text).unwrap().as_ref(), Some(&second));
        assert_eq!((fs::read(&at).unwrap(), fs::read(&second).unwrap()), (b"theirs".into(), was.into()));
    }
    assert_eq!(names(folder.path()), ["card.csv", "card.earlier-2.csv", "card.earlier.csv"]);
}

#[cfg(unix)]
#[test]
fn a_link_where_the_earlier_one_would_go_is_neither_followed_nor_replaced() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("elsewhere"), "brede, elsewhere").unwrap();
    symlink("elsewhere", at("a.earlier.txt")).unwrap();
    symlink("nowhere", at("a.earlier-2.txt")).unwrap();
    for text in ["brede one", "brede two", "brede three"] {
        write(&at("a.txt"), text.as_bytes()).unwrap();
    }
    assert_eq!(fs::read(at("elsewhere")).unwrap(), b"brede, elsewhere");
    assert!(!at("nowhere").exists());
    assert!(["a.earlier.txt", "a.earlier-2.txt"].iter().all(|name| at(name).is_symlink()));
    assert_eq!(fs::read(at("a.earlier-3.txt")).unwrap(), b"brede two");
}

#[cfg(unix)]
#[test]
fn the_earlier_one_and_the_new_one_have_the_permissions_of_the_file() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.txt");
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    write(&path, b"brede one").unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    write(&path, b"brede two").unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    write(&path, b"brede three").unwrap();
    assert_eq!((mode(&path), mode(&earlier(&path))), (0o640, 0o640));
}

#[cfg(unix)]
#[test]
fn a_symbolic_link_stays_a_link_even_where_its_file_is_not_there_yet() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::create_dir(at("inner")).unwrap();
    symlink("inner/real", at("link")).unwrap();
    symlink("link", at("link to it")).unwrap();
    for text in ["brede", "brede, newer"] {
        write(&at("link to it"), text.as_bytes()).unwrap();
        assert_eq!(fs::read_to_string(at("inner/real")).unwrap(), text);
        assert!(fs::symlink_metadata(at("link")).unwrap().is_symlink());
        assert!(fs::symlink_metadata(at("link to it")).unwrap().is_symlink());
    }
    assert_eq!(fs::read(at("inner/real.earlier")).unwrap(), b"brede");
    symlink("round", at("round")).unwrap();
    assert!(matches!(write(&at("round"), b"x"), Err(StoreError::Write { .. })));
}

#[cfg(unix)]
#[test]
fn a_device_is_written_to_and_never_replaced() {
    use std::os::unix::fs::FileTypeExt as _;
    write(Path::new("/dev/null"), b"gone").unwrap();
    assert!(fs::symlink_metadata("/dev/null").unwrap().file_type().is_char_device());
}

#[test]
fn a_write_protected_file_and_a_folder_are_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.txt");
    write(&path, b"brede, mine").unwrap();
    let mut permissions = fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&path, permissions).unwrap();
    for error in [
        may_write(&path, Over::Anything, &is_ours).unwrap_err(),
        write_over(&path, b"yours", Over::Anything).unwrap_err(),
    ] {
        assert_eq!(error.advice(), Advice::WritablePlace, "{error:?}");
    }
    assert_eq!(fs::read(&path).unwrap(), b"brede, mine");
    assert!(write(folder.path(), b"x").is_err() && may_write(folder.path(), Over::Ours, &is_ours).is_err());
    assert_eq!(names(folder.path()), ["a.txt"]);
}

/// A stick that was made for Windows says `EINVAL` (invalid input) to `pool: 2.json` on Linux; Windows itself may say
/// nothing, and write into a hidden part of another file.
#[test]
fn a_name_that_the_disk_does_not_take_is_told_with_one_that_it_does() {
    let error = StoreError::Write { path: "pool: 2.json".into(), source: io::ErrorKind::InvalidInput.into() };
    assert_eq!(error.advice(), Advice::PlainName);
    let folder = tempfile::tempdir().unwrap();
    for name in ["pool: 2.json", "con.json", "pool./chart.json"] {
        let path = folder.path().join(name);
        let refused = may_write(&path, Over::Ours, &is_ours).err();
        assert_eq!(refused.map(|error| error.advice()), cfg!(windows).then_some(Advice::PlainName), "{name}");
        if cfg!(windows) {
            assert_eq!(write(&path, b"brede").unwrap_err().advice(), Advice::PlainName, "{name}");
        }
    }
}

#[test]
fn a_folder_that_nobody_may_write_in_is_told_from_a_file_that_another_program_has_open() {
    let told = |source| StoreError::Write { path: "pool.pdf".into(), source }.advice();
    assert_eq!(told(io::ErrorKind::PermissionDenied.into()), Advice::WritablePlace);
    assert_eq!(told(io::ErrorKind::ResourceBusy.into()), Advice::CloseElsewhere);
    if cfg!(windows) {
        // `ERROR_ACCESS_DENIED`, `ERROR_SHARING_VIOLATION` (Microsoft, system error codes).
        let numbered = |number| told(io::Error::from_raw_os_error(number));
        assert_eq!((numbered(5), numbered(32)), (Advice::WritablePlace, Advice::CloseElsewhere));
    }
}

/// As a program does that shows the pages (others may read), and as one does that wants the file for itself.
#[cfg(windows)]
#[test]
fn a_file_that_another_program_has_open_stays_as_it_is_and_that_is_told() {
    use std::os::windows::fs::OpenOptionsExt as _;
    /// `FILE_SHARE_READ` (Microsoft, `CreateFileW`).
    const OTHERS_READ: u32 = 1;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.pdf");
    write(&path, b"brede one").unwrap();
    for shared in [OTHERS_READ, 0] {
        let shown = File::options().read(true).share_mode(shared).open(&path).unwrap();
        let error = write(&path, b"brede two").unwrap_err();
        assert_eq!(error.advice(), Advice::CloseElsewhere, "{shared}: {error:?}");
        drop(shown);
        assert_eq!(fs::read(&path).unwrap(), b"brede one");
        assert_eq!(names(folder.path()), ["pool.pdf"], "{shared}");
    }
    // One that closes it meanwhile is waited for.
    let shown = File::options().read(true).share_mode(OTHERS_READ).open(&path).unwrap();
    let closing = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_millis(200));
        drop(shown);
    });
    write(&path, b"brede two").unwrap();
    closing.join().unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"brede two");
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("no/such/file");
    let error = write(&path, b"x").unwrap_err();
    assert!(error.to_string().contains("no/such/file"), "{error}");
}

#[test]
fn a_folder_that_is_asked_for_is_made_and_stays_only_if_files_come_into_it() {
    let folder = tempfile::tempdir().unwrap();
    let made = folder.path().join("of/many/parts");
    let (good, bad) = (made.join("a"), made.join("no/b"));
    let target = |path| Target { path, bytes: b"brede", over: Over::Ours };
    let hand = Hand::default();
    assert!(write_all(&hand, Some(&made), &[target(&good), target(&bad)], &is_ours).is_err());
    assert_eq!(names(folder.path()), Vec::<String>::new());
    write_all(&hand, Some(&made), &[target(&good)], &is_ours).unwrap();
    assert_eq!(names(&made), ["a"]);
    fs::write(folder.path().join("file"), "x").unwrap();
    let into_file = folder.path().join("file/inner");
    assert!(write_all(&hand, Some(&into_file), &[target(&good)], &is_ours).is_err());
}

#[test]
fn a_name_that_the_disk_does_not_take_is_told_before() {
    let folder = tempfile::tempdir().unwrap();
    // 255 bytes (POSIX, NAME_MAX on the usual disks), also where folders are not there yet, and with room for `.earlier`.
    let long = "n".repeat(256);
    for path in [
        folder.path().join(&long),
        folder.path().join("new").join(&long),
        folder.path().join(&long).join("a"),
    ] {
        let error = may_write(&path, Over::Ours, &is_ours).unwrap_err();
        assert!(
            matches!(&error, StoreError::Write { source, .. } if source.kind() == io::ErrorKind::InvalidFilename),
            "{error:?}"
        );
    }
    let full = folder.path().join("n".repeat(250));
    assert!(may_write(&full, Over::Ours, &is_ours).is_ok());
    write(&full, b"brede").unwrap();
    assert!(may_write(&full, Over::Ours, &is_ours).is_err());
    assert!(may_write(&folder.path().join("new/name"), Over::Ours, &is_ours).is_ok());
}

#[test]
fn a_file_that_another_has_changed_is_not_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    for there in [Some("theirs"), None] {
        match there {
            Some(text) => fs::write(&path, text).unwrap(),
            None => fs::remove_file(&path).unwrap(),
        }
        let error = write_over(&path, b"mine", Over::Read(b"old"));
        match there {
            Some(text) => {
                assert!(matches!(error, Err(StoreError::Changed { .. })));
                assert_eq!(fs::read_to_string(&path).unwrap(), text);
                assert_eq!(names(folder.path()), ["pool.chart.json"]);
            }
            // Nothing can be lost where nothing is.
            None => assert!(error.is_ok()),
        }
    }
    assert!(write_over(&path, b"newer", Over::Read(b"mine")).unwrap().is_some());
}

#[test]
fn where_one_of_several_cannot_be_written_none_is() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("good"), "brede, old").unwrap();
    fs::write(at("theirs"), "theirs").unwrap();
    for bad in ["no/bad", "theirs", "good", "./good"] {
        let (good, bad) = (at("good"), at(bad));
        let target = |path| Target { path, bytes: b"brede, new", over: Over::Ours };
        assert!(write_all(&Hand::default(), None, &[target(&good), target(&bad)], &is_ours).is_err());
        assert_eq!(fs::read(&good).unwrap(), b"brede, old");
        assert_eq!(names(folder.path()), ["good", "theirs"]);
    }
}

/// A file system that will not rename the second of three files, made with what there is: a folder in its way that
/// comes between looking and renaming.
#[test]
fn where_the_last_steps_fail_all_is_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("a"), "brede, old").unwrap();
    let paths = [at("a"), at("b"), at("c")];
    let targets =
        [&paths[0], &paths[1], &paths[2]].map(|path| Target { path, bytes: b"brede, new", over: Over::Ours });
    let in_the_way = at("c");
    // Three files staged, one kept, flushed, one renamed: then the folder comes.
    at_step(6, move || fs::create_dir(&in_the_way).unwrap());
    assert!(write_all(&Hand::default(), None, &targets, &is_ours).is_err());
    assert_eq!(names(folder.path()), ["a", "c"]);
    assert_eq!(fs::read(at("a")).unwrap(), b"brede, old");
}

#[test]
fn leftovers_go_when_they_are_old_and_only_then() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for name in [".brede-aaaaaa.part", ".brede-bbbbbb.part", ".brede-mine", "part"] {
        let file = File::create(at(name)).unwrap();
        if !name.contains("bbbbbb") {
            file.set_modified(std::time::SystemTime::now() - Duration::from_secs(7200)).unwrap();
        }
    }
    write(&at("a"), b"x").unwrap();
    assert_eq!(names(folder.path()), [".brede-bbbbbb.part", ".brede-mine", "a", "part"]);
}

#[test]
fn giving_up_leaves_no_part_and_no_empty_folder() {
    let folder = tempfile::tempdir().unwrap();
    let made = folder.path().join("made");
    let path = made.join("a");
    let hand = Hand::default();
    let (tell, told) = std::sync::mpsc::channel();
    // The writer gets no further, as its process is about to end.
    std::thread::spawn({
        let hand = hand.clone();
        let made = made.clone();
        move || {
            at_step(1, move || {
                tell.send(()).unwrap();
                std::thread::sleep(Duration::from_secs(3600));
            });
            let target = Target { path: &path, bytes: b"brede", over: Over::Ours };
            write_all(&hand, Some(&made), &[target], &is_ours)
        }
    });
    told.recv().unwrap();
    assert_eq!(names(&made).len(), 1);
    hand.give_up();
    assert_eq!(names(folder.path()), Vec::<String>::new());
}

#[test]
fn one_waits_for_another_that_holds_a_file_and_gives_up_after_a_while() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a");
    write(&path, b"brede").unwrap();
    let first = hold(&path).unwrap();
    assert!(matches!(hold(&path), Err(StoreError::Busy { .. })));
    let waiting = std::thread::spawn({
        let path = path.clone();
        move || hold(&path).map(|_| fs::read(&path).unwrap())
    });
    // Replaced while the other waits: it must then hold the new file, and see what is in it.
    write(&path, b"brede, changed").unwrap();
    drop(first);
    assert_eq!(waiting.join().unwrap().unwrap(), b"brede, changed");
    assert!(hold(&folder.path().join("not there")).is_ok() && hold(folder.path()).is_ok());
}

/// What is done after so many steps.
type Fault = (u32, Option<Box<dyn FnOnce()>>);

thread_local! {
    static STEPS: Cell<Fault> = const { Cell::new((0, None)) };
}

/// Does something when so many steps are done.
fn at_step(step: u32, work: impl FnOnce() + 'static) {
    STEPS.set((step, Some(Box::new(work))));
}

/// A step is done.
pub(super) fn step() {
    match STEPS.take() {
        (1, Some(work)) => work(),
        (left, work) => STEPS.set((left.saturating_sub(1), work)),
    }
}

/// What the test below runs in a process of its own.
const CHILD: &str = "ground::store::tests::a_process_that_ends_at_a_step";
const FOLDER: &str = "BREDE_TEST_FOLDER";
const STEP: &str = "BREDE_TEST_STEP";

/// Writes a set of three files over an older one and is killed at a step. Does nothing unless it is asked to.
#[test]
fn a_process_that_ends_at_a_step() {
    let (Ok(folder), Ok(step)) = (std::env::var(FOLDER), std::env::var(STEP)) else { return };
    let paths = ["a.json", "b.pdf", "c.csv"].map(|name| Path::new(&folder).join(name));
    let targets =
        [&paths[0], &paths[1], &paths[2]].map(|path| Target { path, bytes: b"brede 3", over: Over::Ours });
    at_step(step.parse().unwrap(), || std::process::abort());
    write_all(&Hand::default(), None, &targets, &is_ours).unwrap();
}

/// Every state that a killed process can leave: each file is whole, old or new; the version before the change and,
/// until it is replaced, the one before that are there; and the next change goes through.
#[test]
fn killed_after_any_step_nothing_is_lost() {
    let mut step = 0;
    let mut seen = std::collections::BTreeSet::new();
    loop {
        step += 1;
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        // The second file is new in this change; the others have been changed before.
        for (name, texts) in [("a.json", ["brede 1", "brede 2"]), ("c.csv", ["brede 1", "brede 2"])] {
            texts.iter().for_each(|text| _ = write(&at(name), text.as_bytes()).unwrap());
        }
        let ended = std::process::Command::new(std::env::current_exe().unwrap())
            .args([CHILD, "--exact", "--test-threads=1"])
            .env(FOLDER, folder.path())
            .env(STEP, step.to_string())
            .output()
            .unwrap();
        let read = |name: &str| fs::read_to_string(at(name)).ok();
        let state: Vec<Option<String>> = ["a.json", "b.pdf", "c.csv"].iter().map(|name| read(name)).collect();
        for (name, ending) in [("a", "json"), ("c", "csv")] {
            let present = read(&format!("{name}.{ending}")).unwrap();
            let kept: Vec<String> = ["earlier", "earlier-2"]
                .iter()
                .filter_map(|kept| read(&format!("{name}.{kept}.{ending}")))
                .collect();
            let wanted: &[&str] = match present.as_str() {
                "brede 2" => &["brede 1"],
                "brede 3" => &["brede 2"],
                other => panic!("{name} holds {other}"),
            };
            assert!(
                wanted.iter().all(|text| kept.iter().any(|kept| kept == text)),
                "step {step}: {name} {present}, {kept:?}"
            );
        }
        assert!(state[1].is_none() || state[1].as_deref() == Some("brede 3"));
        for name in ["a.json", "b.pdf", "c.csv"] {
            let before = read(name);
            let kept = write(&at(name), b"brede 4").unwrap();
            assert_eq!(kept.map(|kept| fs::read_to_string(kept).unwrap()), before, "step {step}: {name}");
        }
        seen.insert(state);
        if ended.status.success() {
            break;
        }
        assert!(step < 100, "{}", String::from_utf8_lossy(&ended.stderr));
    }
    // Three staged, two kept, flushed, three renamed, flushed, and the end at least.
    assert!(step > 10, "only {step} steps");
    assert_eq!(seen.len(), 4, "all old, one new, two new, all new: {seen:?}");
}
