//! Files from outside are read in a child, and whatever becomes of it, its parent goes on.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};

use brede::chart::Chart;
use brede::chart::marks::Composed;
use brede::ground::progress::{Progress, Silent, Stage};
use brede::printing::worked;
use brede::reading::proof::{Proof, ProofError, ProofOptions, proof};
use brede::reading::{Limits, Program, Reader};
use lopdf::{Stream, dictionary};

use super::pages::{Table, content};
use super::running::{brede, make};

/// What begins a child of brede.
const WORD: &str = "reads-a-file-for-brede";

fn child() -> Program {
    Program::new(PathBuf::from(env!("CARGO_BIN_EXE_brede")), vec![WORD.into()])
}

/// Any other program in its place.
fn other(script: &str, patience: Duration) -> Reader {
    let mut program = Program::new("/bin/sh".into(), vec!["-c".into(), script.into()]);
    program.limits.patience = patience;
    Reader::Child(program)
}

fn composed(chart: &Path) -> Composed {
    worked(&Chart::from_json(&std::fs::read(chart).unwrap()).unwrap()).unwrap()
}

fn read(table: &Table, pdf: &[u8], reader: &Reader, progress: &dyn Progress) -> Result<Proof, ProofError> {
    proof(pdf, &composed(&table.chart), ProofOptions::default(), reader, progress)
}

#[test]
fn a_child_reads_what_this_process_reads() {
    let made = make(
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/bee.jpg"),
        &["--columns", "90", "--colours", "12", "--cell", "3mm", "--quiet"],
    );
    let (pdf, composed) = (std::fs::read(made.file("pdf")).unwrap(), composed(&made.file("chart.json")));
    let by = |reader: &Reader| {
        let found = proof(&pdf, &composed, ProofOptions::default(), reader, &Silent).unwrap();
        let picture = found.picture(&pdf, &composed.lines, reader, &Silent).unwrap();
        (found, picture)
    };
    let apart = by(&Reader::Child(child()));
    assert!(apart.0.pages > 1 && apart.0.is_right());
    assert!(apart == by(&Reader::Here), "the same pages, the same picture");
}

#[test]
fn what_is_refused_here_is_refused_there_for_the_same_reason() {
    let table = Table::new();
    let plain = |text: &str| Stream::new(dictionary! {}, text.as_bytes().to_vec());
    let files = [
        b"no pdf".to_vec(),
        table.pdf[..table.pdf.len() / 2].to_vec(),
        table.forged(|document| content(document, plain("/Fm1 Do"))),
        table.forged(|document| _ = document.trailer.remove(b"Root")),
    ];
    for file in files {
        let [here, there] = [Reader::Here, Reader::Child(child())]
            .map(|reader| read(&table, &file, &reader, &Silent).unwrap_err().to_string());
        assert_eq!(here, there);
    }
}

#[test]
fn a_file_that_fills_the_memory_ends_the_child_alone() {
    let table = Table::new();
    // Forty mebibytes that are nowhere shown: the file is let pass, but this child may not hold them twice.
    let full = table.forged(|document| {
        _ = document.add_object(Stream::new(dictionary! {}, vec![b' '; 40 << 20]));
    });
    let mut program = child();
    program.limits = Limits { memory: 96 << 20, ..Limits::default() };
    let error = read(&table, &full, &Reader::Child(program.clone()), &Silent).unwrap_err();
    assert!(matches!(error, ProofError::Memory { limit } if limit == 96 << 20), "{error:?}");
    // With the memory that children usually have there is enough for that.
    let error = read(&table, &full, &Reader::Child(child()), &Silent).unwrap_err();
    assert!(matches!(error, ProofError::TooLarge), "{error:?}");
}

#[test]
fn a_child_that_falls_is_told_from_one_that_talks_nonsense() {
    let table = Table::new();
    let begun = Instant::now();
    for (script, how) in [
        ("kill -9 $$", "signal: 9"),
        ("kill -ABRT $$", "signal: 6"),
        ("exit 101", "exit status: 101"),
        ("exit 0", "exit status: 0"),
    ] {
        let reader = other(script, Duration::from_secs(600));
        match read(&table, &table.pdf, &reader, &Silent).unwrap_err() {
            ProofError::Fell { how: found } => assert!(found.starts_with(how), "{script}: {found}"),
            error => panic!("{script}: {error:?}"),
        }
    }
    // What a child ends with that watches its memory itself, as on Windows and macOS.
    let error = read(&table, &table.pdf, &other("exit 112", Duration::from_secs(600)), &Silent).unwrap_err();
    assert!(matches!(error, ProofError::Memory { .. }), "{error:?}");
    for script in [
        "exec yes",
        "printf '\\002\\000\\000\\000{}\\000\\000\\000\\000\\000\\000\\000\\000'; exec sleep 600",
    ] {
        let error = read(&table, &table.pdf, &other(script, Duration::from_secs(600)), &Silent).unwrap_err();
        assert!(matches!(error, ProofError::Answer), "{script}: {error:?}");
    }
    let none = Reader::Child(Program::new("/no/such/program".into(), Vec::new()));
    let error = read(&table, &table.pdf, &none, &Silent).unwrap_err();
    assert!(matches!(error, ProofError::Process(_)) && error.advice().is_some(), "{error:?}");
    assert!(begun.elapsed() < Duration::from_secs(600), "nothing was waited for");
}

#[test]
fn a_child_that_never_answers_is_ended_when_its_time_is_over() {
    let table = Table::new();
    for script in ["exec sleep 100000", "while :; do :; done"] {
        let error =
            read(&table, &table.pdf, &other(script, Duration::from_millis(300)), &Silent).unwrap_err();
        assert!(matches!(error, ProofError::TooLong { .. }), "{script}: {error:?}");
    }
}

/// Goes on for some questions, then no more.
struct After(AtomicU32);

impl Progress for After {
    fn at(&self, _: Stage, _: u64, _: u64) -> ControlFlow<()> {
        self.ask()
    }

    fn ask(&self) -> ControlFlow<()> {
        let left = self.0.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |left| left.checked_sub(1));
        if left.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    }
}

#[test]
fn a_wish_to_stop_is_heard_while_a_child_is_silent() {
    let table = Table::new();
    let reader = other("exec sleep 100000", Duration::from_secs(100_000));
    let error = read(&table, &table.pdf, &reader, &After(AtomicU32::new(3))).unwrap_err();
    assert!(matches!(error, ProofError::Stopped(_)), "{error:?}");
}

/// The processes that a process has begun, by the system's own list (proc(5)).
#[cfg(target_os = "linux")]
fn children(parent: &Child) -> Vec<u32> {
    let tasks = std::fs::read_dir(format!("/proc/{}/task", parent.id()));
    let mut found = Vec::new();
    for task in tasks.into_iter().flatten().flatten() {
        let list = std::fs::read_to_string(task.path().join("children")).unwrap_or_default();
        found.extend(list.split_whitespace().filter_map(|id| id.parse::<u32>().ok()));
    }
    found
}

#[cfg(target_os = "linux")]
fn runs(process: u32) -> bool {
    // One that has ended and was not looked after yet has no command any more.
    std::fs::read(format!("/proc/{process}/cmdline")).is_ok_and(|words| !words.is_empty())
}

/// A proof of pages that take a while, as soon as it has begun a child.
#[cfg(target_os = "linux")]
fn proof_with_child(pdf: &Path, chart: &Path) -> (Child, u32) {
    for _ in 0..100 {
        let mut command = Command::new(env!("CARGO_BIN_EXE_brede"));
        command.arg("proof").arg(pdf).arg(chart).args(["--dpi", "600", "--quiet"]);
        let mut parent = command.stdin(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        while parent.try_wait().unwrap().is_none() {
            if let Some(&child) = children(&parent).first() {
                return (parent, child);
            }
        }
    }
    panic!("no child was seen")
}

#[test]
#[cfg(target_os = "linux")]
fn a_killed_child_is_told_and_a_killed_parent_leaves_none() {
    let made = make(
        concat!(env!("CARGO_MANIFEST_DIR"), "/tests/photos/bee.jpg"),
        &["--columns", "120", "--colours", "12", "--cell", "3mm", "--quiet"],
    );
    let (pdf, chart) = (made.file("pdf"), made.file("chart.json"));
    let kill = |process: u32| {
        assert!(Command::new("kill").args(["-9", &process.to_string()]).status().unwrap().success());
    };
    let (parent, child) = proof_with_child(&pdf, &chart);
    kill(child);
    let ended = parent.wait_with_output().unwrap();
    let said = String::from_utf8(ended.stderr).unwrap();
    assert_eq!(ended.status.code(), Some(1), "{said}");
    assert!(said.contains("brought down") && said.contains("hint: "), "{said}");

    let (mut parent, child) = proof_with_child(&pdf, &chart);
    kill(parent.id());
    parent.wait().unwrap();
    // The limit stands only against one that stays for ever.
    let begun = Instant::now();
    while runs(child) {
        assert!(begun.elapsed() < Duration::from_secs(600), "the child goes on without its parent");
        std::thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn the_word_that_begins_a_child_is_no_command() {
    let said = brede().args([WORD, "--help"]).output().unwrap();
    assert_eq!(said.status.code(), Some(2));
    // Nothing is asked, so it ends.
    let ended = brede().arg(WORD).stdin(Stdio::null()).output().unwrap();
    assert!(ended.status.success() && ended.stdout.is_empty() && ended.stderr.is_empty());
}
