#![allow(clippy::unwrap_used)]
use super::*;
use crate::ground::advice::Advice;

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn kept<'a>(path: &'a Path, bytes: &'a [u8], before: Before<'a>) -> [Target<'a>; 1] {
    [Target { path, bytes, before }]
}

#[test]
fn a_file_is_replaced_whole_and_nothing_is_left_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.txt");
    write(&path, b"one").unwrap();
    write(&path, b"two").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"two");
    assert_eq!(names(folder.path()), ["a.txt"]);
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
    for text in ["new", "newer"] {
        write(&at("link to it"), text.as_bytes()).unwrap();
        assert_eq!(fs::read_to_string(at("inner/real")).unwrap(), text);
        assert!(fs::symlink_metadata(at("link")).unwrap().is_symlink());
        assert!(fs::symlink_metadata(at("link to it")).unwrap().is_symlink());
    }
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
    write(&path, b"mine").unwrap();
    let mut permissions = fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&path, permissions).unwrap();
    let error = write(&path, b"yours").unwrap_err();
    assert_eq!(error.advice(), Advice::WritablePlace, "{error:?}");
    assert_eq!(fs::read(&path).unwrap(), b"mine");
    assert!(write(folder.path(), b"x").is_err());
    assert_eq!(names(folder.path()), ["a.txt"]);
}

#[test]
fn a_folder_that_is_not_there_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("no/such/file");
    let error = write(&path, b"x").unwrap_err();
    assert!(error.to_string().contains("no/such/file"), "{error}");
}

#[test]
fn what_a_file_was_is_kept_beside_it_and_swapping_brings_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    assert!(write_all(&kept(&path, b"one", Before::Kept)).unwrap().is_empty());
    let at = earlier(&path);
    assert_eq!(at.file_name().unwrap(), "pool.chart.earlier.json");
    assert_eq!(write_all(&kept(&path, b"two", Before::Kept)).unwrap(), std::slice::from_ref(&at));
    assert_eq!(fs::read(&at).unwrap(), b"one");
    // The same again is no change: what was before the last change stays.
    assert!(write_all(&kept(&path, b"two", Before::Kept)).unwrap().is_empty());
    assert_eq!(fs::read(&at).unwrap(), b"one");
    let before = fs::read(&at).unwrap();
    write_all(&kept(&path, &before, Before::Read(b"two"))).unwrap();
    assert_eq!((fs::read(&path).unwrap(), fs::read(&at).unwrap()), (b"one".to_vec(), b"two".to_vec()));
}

#[test]
fn a_file_that_another_has_changed_is_not_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    write(&path, b"theirs").unwrap();
    let error = write_all(&kept(&path, b"mine", Before::Read(b"old"))).unwrap_err();
    assert!(matches!(error, StoreError::Changed { .. }));
    assert_eq!(fs::read(&path).unwrap(), b"theirs");
    assert_eq!(names(folder.path()), ["pool.chart.json"]);
}

#[test]
fn where_one_of_several_cannot_be_written_none_is() {
    let folder = tempfile::tempdir().unwrap();
    let (good, bad) = (folder.path().join("good"), folder.path().join("no/bad"));
    write(&good, b"old").unwrap();
    let target = |path| Target { path, bytes: b"new", before: Before::Dropped };
    assert!(write_all(&[target(&good), target(&bad)]).is_err());
    assert_eq!(fs::read(&good).unwrap(), b"old");
    assert_eq!(names(folder.path()), ["good"]);
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
