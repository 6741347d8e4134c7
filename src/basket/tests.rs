#![allow(clippy::unwrap_used)]
use std::collections::BTreeMap;

use proptest::prelude::*;

use super::*;
use crate::chart::{Cell, CellMap, Chart, Needle, Thread};
use crate::ground::advice::Advice;
use crate::ground::day::{Day, When};
use crate::ground::units::GridSize;
use crate::thread::cloth::{Cloth, StitchKind};

fn needle(code: &str) -> Needle {
    let thread = Thread {
        code: code.into(),
        name: format!("{code} of the pool"),
        colour: "#204060".parse().unwrap(),
        strands: 2,
        price: None,
        skein_mm: None,
        skein_strands: None,
        kind: None,
    };
    Needle { symbol: String::new(), threads: vec![thread], stitch: StitchKind::FullCross }
}

/// A chart of these needles whose cells are 0, 1, ... of them, and bare beyond the last.
pub(super) fn chart(size: [u32; 2], codes: &[&str], cell: impl Fn(usize) -> usize) -> Chart {
    let size = GridSize::new(size[0], size[1]).unwrap();
    let cell = |at: usize| Some(cell(at)).filter(|&n| n < codes.len()).map_or(Cell::BARE, Cell::worked);
    let cells = (0..size.cells()).map(cell).collect();
    Chart::new("Pool".into(), size, Cloth::default(), codes.iter().map(|code| needle(code)).collect(), cells)
        .unwrap()
}

/// Twelve columns, ten rows; the last row bare.
fn pool() -> Chart {
    chart([12, 10], &["A", "B"], |at| if at >= 108 { 9 } else { at % 2 })
}

fn on_day(day: &str) -> When {
    let day: Day = day.parse().unwrap();
    When { seconds: day.number() * 86_400, day }
}

fn work(chart: &Chart) -> Work {
    let stitches = chart.cells().iter().filter(|cell| cell.needle().is_some()).count() as u64;
    Work { stitches, threads: chart.needles().len() as u64, ..Work::default() }
}

struct Trial {
    basket: Basket,
    id: PieceId,
    _folder: tempfile::TempDir,
}

fn kept(chart: &Chart) -> Trial {
    let folder = tempfile::tempdir().unwrap();
    let mut basket = Basket::open(&folder.path().join("basket"), Missing::Make).unwrap();
    let (document, work) = (chart.to_json().into_bytes(), work(chart));
    let new = KeptChart { chart, document: &document, work: &work };
    let id = basket.keep(new, None, on_day("2026-03-07")).unwrap().id;
    Trial { basket, id, _folder: folder }
}

fn tick(device: &str, counter: Option<u64>, way: Way, cells: Cells) -> Tick {
    let (device, what) = (device.parse().unwrap(), Ticked::Cells(cells));
    Tick { device, counter, form: None, when: on_day("2026-03-08"), what, way }
}

impl Trial {
    fn tick(&mut self, way: Way, cells: [u32; 2]) -> TickResult {
        let tick = tick("commands", None, way, Cells::of_runs([cells]));
        self.basket.tick(&self.id, &[tick]).unwrap()
    }

    /// The code that each cell was worked in, `!` where it must come out.
    fn states(&self) -> String {
        let done = self.basket.done_of(&self.id).unwrap();
        let code = |(cell, state): (usize, &Option<u16>)| match state {
            Some(place) => done.needles[usize::from(*place)].code(),
            None if done.unpick.has(cell) => "!".to_owned(),
            None => ".".to_owned(),
        };
        done.cells.iter().enumerate().map(code).collect()
    }

    fn change(
        &mut self,
        chart: &Chart,
        moved: CellMap,
        unpicking: Unpicking,
    ) -> Result<Carried, BasketError> {
        let (document, work) = (chart.to_json().into_bytes(), work(chart));
        let new = KeptChart { chart, document: &document, work: &work };
        let kept = self.basket.change_chart(&self.id, None, (new, moved), unpicking, on_day("2026-03-09"));
        kept.map(|kept| kept.carried)
    }

    fn done(&self) -> u64 {
        self.basket.piece(&self.id).unwrap().done
    }
}

#[test]
fn a_piece_is_found_by_its_id_its_beginning_and_its_name() {
    let trial = kept(&pool());
    let id = trial.id.as_str();
    for asked in [id, &id.to_uppercase(), &id[..4], "pool", " Pool ", "po-ol"] {
        assert_eq!(trial.basket.find(asked).unwrap(), trial.id, "{asked}");
    }
    let error = trial.basket.find("tide").unwrap_err();
    assert_eq!(error.advice(), Some(Advice::PiecesThere { pieces: vec![format!("{id} Pool")] }));
    let piece = trial.basket.piece(&trial.id).unwrap();
    assert_eq!((piece.stitches, piece.done, piece.last_day), (Some(108), 0, None));
    assert_eq!(piece.chart, Some(pool().stamp()));
    assert_eq!(trial.basket.chart(&trial.id).unwrap().document, pool().to_json().into_bytes());
}

#[test]
fn ticks_are_kept_counted_and_taken_back() {
    let mut trial = kept(&pool());
    // The last two are bare.
    assert_eq!(trial.tick(Way::Done, [96, 110]).done, 12);
    assert_eq!(trial.tick(Way::Done, [106, 108]).done, 0);
    assert_eq!(trial.tick(Way::NotDone, [0, 98]).undone, 2);
    assert_eq!(trial.done(), 10);
    assert_eq!(trial.states(), format!("{}{}{}", ".".repeat(98), "AB".repeat(5), ".".repeat(12)));
    assert_eq!(trial.basket.piece(&trial.id).unwrap().last_day, Some("2026-03-08".parse().unwrap()));
    let beyond = tick("commands", None, Way::Done, Cells::of_runs([[119, 121]]));
    assert!(matches!(trial.basket.tick(&trial.id, &[beyond]), Err(BasketError::NothingToTick { .. })));
}

#[test]
fn a_tick_sent_twice_changes_nothing_and_another_under_its_counter_is_refused() {
    let mut trial = kept(&pool());
    let one = tick("window-1", Some(7), Way::Done, Cells::of_runs([[0, 5]]));
    assert_eq!(trial.basket.tick(&trial.id, std::slice::from_ref(&one)).unwrap().done, 5);
    trial.tick(Way::NotDone, [0, 2]);
    let again = trial.basket.tick(&trial.id, &[one.clone(), one]).unwrap();
    assert_eq!((again.known, again.done, again.undone), (2, 0, 0));
    assert_eq!(trial.done(), 3);
    let other = tick("window-1", Some(7), Way::Done, Cells::of_runs([[0, 6]]));
    let error = trial.basket.tick(&trial.id, &[other]).unwrap_err();
    assert!(matches!(error, BasketError::OtherTick { counter: 7, .. }), "{error}");
    assert_eq!(trial.done(), 3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn ticks_in_any_order_and_however_often_come_to_the_same_end(
        ticks in proptest::collection::vec((0usize..3, 1u64..9, any::<bool>(), 0u32..110, 1u32..30), 1..14),
        order in proptest::collection::vec(0usize..14, 0..30),
    ) {
        let mut seen = BTreeMap::new();
        for (device, counter, done, from, length) in ticks {
            // A device gives each counter once.
            let way = if done { Way::Done } else { Way::NotDone };
            let cells = Cells::of_runs([[from, (from + length).min(120)]]);
            seen.entry((counter, device)).or_insert(tick(["a", "b", "c"][device], Some(counter), way, cells));
        }
        let ticks: Vec<Tick> = seen.values().cloned().collect();
        // What the last writer of each cell says, by the rule itself.
        let mut wanted = vec![false; 120];
        for tick in &ticks {
            let Ticked::Cells(cells) = &tick.what else { unreachable!() };
            cells.iter().for_each(|cell| wanted[cell] = tick.way == Way::Done && cell < 108);
        }
        let mut trial = kept(&pool());
        for at in order {
            if let Some(tick) = ticks.get(at) {
                trial.basket.tick(&trial.id, std::slice::from_ref(tick)).unwrap();
            }
        }
        for tick in ticks.iter().rev() {
            trial.basket.tick(&trial.id, std::slice::from_ref(tick)).unwrap();
        }
        let done: Vec<bool> = trial.states().chars().map(|state| state != '.').collect();
        prop_assert_eq!(done, wanted.clone());
        prop_assert_eq!(trial.done(), wanted.iter().filter(|&&done| done).count() as u64);
        prop_assert!(trial.basket.faults().unwrap().is_empty());
    }

    #[test]
    fn ticks_that_come_after_a_change_of_the_chart_end_as_if_they_had_come_before(
        ticks in proptest::collection::vec((any::<bool>(), 0u32..110, 1u32..30), 1..8),
        early in 0usize..8,
        shift in -3i32..4,
    ) {
        let first = pool();
        // A swap of B, one painted row, and the whole moved.
        let way = CellMap::shifted(shift, 1);
        let (from, to) = (first.size(), GridSize::new(14, 12).unwrap());
        let back = |at: usize| way.back().place(to, from, at).map_or(9, |cell| match cell {
            24..=35 => 2,
            108.. => 9,
            cell => cell % 2,
        });
        let second = chart([14, 12], &["A", "C", "D"], back);
        let ticks: Vec<Tick> = ticks.into_iter().zip(1..).map(|((done, from, length), counter)| {
            let cells = Cells::of_runs([[from, (from + length).min(120)]]);
            let way = if done { Way::Done } else { Way::NotDone };
            Tick { form: Some(1), ..tick("tablet", Some(counter), way, cells) }
        }).collect();
        let end = |early: usize| {
            let mut trial = kept(&first);
            let (before, after) = ticks.split_at(early.min(ticks.len()));
            before.iter().for_each(|tick| _ = trial.basket.tick(&trial.id, std::slice::from_ref(tick)).unwrap());
            trial.change(&second, way, Unpicking::Agreed).unwrap();
            after.iter().rev().for_each(|tick| _ = trial.basket.tick(&trial.id, std::slice::from_ref(tick)).unwrap());
            (trial.states(), trial.done())
        };
        prop_assert_eq!(end(early), end(ticks.len()));
    }
}

#[test]
fn a_swap_of_threads_keeps_what_is_done_and_knows_what_it_was_worked_in() {
    let mut trial = kept(&pool());
    trial.tick(Way::Done, [0, 12]);
    let swapped = chart([12, 10], &["A", "C"], |at| if at >= 108 { 9 } else { at % 2 });
    let carried = trial.change(&swapped, CellMap::STAY, Unpicking::Refused).unwrap();
    assert_eq!((carried.kept, carried.otherwise, carried.unpick, carried.lost), (6, 6, 0, 0));
    assert_eq!(trial.done(), 12);
    trial.tick(Way::Done, [12, 14]);
    assert_eq!(&trial.states()[..16], "ABABABABABABAC..");
}

#[test]
fn what_would_have_to_be_unpicked_is_counted_and_agreed_to_first() {
    let mut trial = kept(&pool());
    trial.tick(Way::Done, [0, 12]);
    // Three cells of the first row painted, one left bare.
    let cell = |at: usize| match at {
        0..=2 => 2,
        3 | 108.. => 9,
        at => at % 2,
    };
    let painted = chart([12, 10], &["A", "B", "D"], cell);
    let error = trial.change(&painted, CellMap::STAY, Unpicking::Refused).unwrap_err();
    assert_eq!(error.to_string(), "4 stitches of Pool that are done would have to be unpicked");
    assert_eq!(error.advice(), Some(Advice::AgreeToUnpick));
    assert_eq!(trial.states()[..12], "AB".repeat(6));
    let carried = trial.change(&painted, CellMap::STAY, Unpicking::Agreed).unwrap();
    assert_eq!((carried.kept, carried.unpick), (8, 4));
    assert_eq!((&trial.states()[..12], trial.done()), ("!!!!ABABABAB", 8));
    // Worked anew, or taken back: what was there is right again.
    trial.tick(Way::Done, [0, 2]);
    assert_eq!(&trial.states()[..5], "DD!!A");
    trial.change(&pool(), CellMap::STAY, Unpicking::Agreed).unwrap();
    assert_eq!((&trial.states()[..5], trial.done()), ("!!ABA", 10));
}

#[test]
fn cells_that_move_take_their_ticks_along_and_what_is_cut_off_is_told() {
    let first = pool();
    let turned = CellMap::turned(first.size());
    let mut trial = kept(&first);
    trial.tick(Way::Done, [0, 13]);
    let to = GridSize::new(10, 12).unwrap();
    let back = |at: usize| {
        turned.back().place(to, first.size(), at).map_or(9, |cell| if cell >= 108 { 9 } else { cell % 2 })
    };
    let second = chart([10, 12], &["A", "B"], back);
    assert_eq!(trial.change(&second, turned, Unpicking::Refused).unwrap().kept, 13);
    let states = trial.states();
    // The first row is the last column, the first cell of the second stands left of its top.
    let column: String = states.chars().skip(9).step_by(10).collect();
    assert_eq!((column.as_str(), &states[8..10]), ("ABABABABABAB", "AA"));
    // Four columns are cut off at the right, and the last with them.
    let cut = chart([6, 12], &["A", "B"], |at| second.cells()[at / 6 * 10 + at % 6].needle().unwrap_or(9));
    let error = trial.change(&cut, CellMap::STAY, Unpicking::Refused).unwrap_err();
    assert!(error.to_string().starts_with("13 stitches"), "{error}");
    assert_eq!(trial.change(&cut, CellMap::STAY, Unpicking::Agreed).unwrap().lost, 13);
    assert_eq!(trial.done(), 0);
    // Taken back, all is there again; and the turn too.
    trial.tick(Way::Done, [0, 2]);
    trial.change(&second, CellMap::STAY, Unpicking::Refused).unwrap();
    assert_eq!((&trial.states()[2..], trial.done()), (&states[2..], 14));
    trial.change(&first, CellMap::STAY, Unpicking::Refused).unwrap();
    assert_eq!((&trial.states()[..13], trial.done()), ("ABABABABABABA", 14));
}

#[test]
fn who_saw_another_revision_is_refused() {
    let mut trial = kept(&pool());
    let swapped = chart([12, 10], &["A", "C"], |at| if at >= 108 { 9 } else { at % 2 });
    trial.change(&swapped, CellMap::STAY, Unpicking::Refused).unwrap();
    let (document, work) = (pool().to_json().into_bytes(), work(&pool()));
    let new = KeptChart { chart: &pool(), document: &document, work: &work };
    let error = trial.basket.change_chart(
        &trial.id,
        Some(1),
        (new, CellMap::STAY),
        Unpicking::Agreed,
        on_day("2026-03-09"),
    );
    assert!(matches!(error, Err(BasketError::Stale { found: 2, seen: 1, .. })), "{error:?}");
}

#[test]
fn changes_of_others_are_seen() {
    let mut trial = kept(&pool());
    let other = Basket::open(trial.basket.folder(), Missing::Refuse).unwrap();
    let (version, changes) = (other.version_of_others().unwrap(), other.changes().unwrap());
    assert!(other.changed_since(changes).unwrap().is_empty());
    assert_eq!(other.version_of_others().unwrap(), version);
    trial.tick(Way::Done, [0, 2]);
    assert_ne!(other.version_of_others().unwrap(), version);
    let changed = other.changed_since(changes).unwrap();
    assert_eq!((changed.len(), &changed[0].id, changed[0].done), (1, &trial.id, 2));
}

#[test]
fn another_brede_at_work_is_waited_for() {
    let mut trial = kept(&pool());
    let folder = trial.basket.folder().to_owned();
    let id = trial.id.clone();
    let others: Vec<_> = (0..4)
        .map(|at| {
            let (folder, id) = (folder.clone(), id.clone());
            std::thread::spawn(move || {
                let mut basket = Basket::open(&folder, Missing::Refuse).unwrap();
                for cell in 0..20 {
                    let cells = Cells::of_runs([[at * 20 + cell, at * 20 + cell + 1]]);
                    basket.tick(&id, &[tick(&format!("window-{at}"), None, Way::Done, cells)]).unwrap();
                }
            })
        })
        .collect();
    trial.tick(Way::Done, [90, 92]);
    others.into_iter().for_each(|other| other.join().unwrap());
    assert_eq!(trial.done(), 82);
    assert!(trial.basket.faults().unwrap().is_empty());
}

#[test]
fn files_of_other_programs_and_of_later_bredes_are_refused_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("basket.sqlite");
    std::fs::write(&path, "Dear Ines, the tide is out.".repeat(40)).unwrap();
    let error = Basket::open(folder.path(), Missing::Make).unwrap_err();
    assert!(matches!(error, BasketError::NotABasket { .. }), "{error:?}");
    assert_eq!(error.advice(), Some(Advice::OtherBasket));
    std::fs::remove_file(&path).unwrap();
    let other = rusqlite::Connection::open(&path).unwrap();
    other.execute_batch("CREATE TABLE shells (name TEXT)").unwrap();
    drop(other);
    assert!(matches!(Basket::open(folder.path(), Missing::Make), Err(BasketError::NotABasket { .. })));
    std::fs::remove_file(&path).unwrap();
    drop(Basket::open(folder.path(), Missing::Make).unwrap());
    let later = rusqlite::Connection::open(&path).unwrap();
    later.execute_batch(&format!("PRAGMA user_version = {}", VERSION + 1)).unwrap();
    drop(later);
    let error = Basket::open(folder.path(), Missing::Make).unwrap_err();
    assert!(matches!(error, BasketError::Newer { .. }), "{error:?}");
    assert_eq!(error.advice(), Some(Advice::UpdateBrede));
    assert!(matches!(
        Basket::open(&folder.path().join("none"), Missing::Refuse),
        Err(BasketError::None { .. })
    ));
    assert!(!folder.path().join("none").exists());
}

#[cfg(unix)]
#[test]
fn what_is_kept_is_for_the_person_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let mut trial = kept(&pool());
    trial.tick(Way::Done, [0, 2]);
    trial.basket.keep_photo("pool.jpg", b"not really a photo").unwrap();
    let mut seen = 0;
    for entry in std::fs::read_dir(trial.basket.folder()).unwrap() {
        let entry = entry.unwrap();
        assert_eq!(entry.metadata().unwrap().permissions().mode() & 0o077, 0, "{:?}", entry.file_name());
        seen += 1;
    }
    // The file, its log, its shared memory, the folder of photos.
    assert!(seen >= 4, "{seen}");
}

#[test]
fn a_full_disk_loses_nothing_that_was_kept() {
    let mut trial = kept(&chart([200, 200], &["A", "B"], |at| at % 2));
    trial.tick(Way::Done, [0, 100]);
    let pages: i64 = trial.basket.store.query_row("PRAGMA page_count", [], |row| row.get(0)).unwrap();
    trial.basket.store.execute_batch(&format!("PRAGMA max_page_count = {pages}")).unwrap();
    let comb = |shift: usize| (0..200).map(move |row| row * 200 + (row * 7 + shift) % 199).collect();
    let full = (0..200)
        .find_map(|at| trial.basket.tick(&trial.id, &[tick("commands", None, Way::Done, comb(at))]).err());
    let error = full.expect("no room was left");
    assert!(matches!(error, BasketError::Full), "{error:?}");
    assert_eq!(error.advice(), Some(Advice::MakeRoom));
    let done = trial.done();
    assert!(done >= 100 && trial.basket.faults().unwrap().is_empty());
    let states = trial.states();
    assert_eq!(states.chars().filter(|state| *state != '.').count() as u64, done);
    trial.basket.store.execute_batch("PRAGMA max_page_count = 100000").unwrap();
    assert_eq!(trial.tick(Way::NotDone, [0, 40_000]).undone, done);
}

#[test]
fn every_version_of_the_file_is_opened_as_it_was() {
    // Files of each version as SQL text, made by the brede that had it: tests/baskets.
    let past = [include_str!("../../tests/baskets/1.sql"), include_str!("../../tests/baskets/2.sql")];
    assert_eq!(past.len() as i64, VERSION);
    for sql in past {
        let folder = tempfile::tempdir().unwrap();
        rusqlite::Connection::open(folder.path().join("basket.sqlite")).unwrap().execute_batch(sql).unwrap();
        let basket = Basket::open(folder.path(), Missing::Refuse).unwrap();
        assert!(basket.faults().unwrap().is_empty());
        let id = basket.find("Pool").unwrap();
        let piece = basket.piece(&id).unwrap();
        assert_eq!((piece.done, piece.stitches), (30, Some(108)));
        let done = basket.done_of(&id).unwrap();
        assert_eq!(done.cells.iter().filter(|state| state.is_some()).count(), 30);
        let chart = Chart::from_json(&basket.chart(&id).unwrap().document).unwrap();
        assert_eq!(Some(chart.stamp()), piece.chart);
        let readings = basket.readings().unwrap();
        // Charts are read since version 2.
        assert_eq!(readings.len(), usize::from(sql.contains("user_version = 2")));
        for reading in readings {
            assert_eq!((reading.name.as_str(), reading.open), ("Shells", Some(3)));
            assert_eq!(basket.answers(&reading.id).unwrap().len(), 1);
        }
    }
}

/// A chart that is being read, with one answer.
fn half_read(basket: &mut Basket) -> PieceId {
    let when = on_day("2026-03-09");
    let id = basket.begin_reading("Shells", &[("shells.pdf".to_owned(), b"%PDF".to_vec())], when).unwrap();
    basket.answer(&id, "0123", Some("{\"code\":\"P12\"}"), when).unwrap();
    let size = GridSize::new(20, 30).unwrap();
    basket.tell_reading(&id, &ReadingFigures { size, symbols: 9, open: 3, picture: vec![1] }).unwrap();
    id
}

#[test]
fn what_was_said_of_a_printed_chart_is_there_when_it_is_opened_again() {
    let mut trial = kept(&pool());
    let id = half_read(&mut trial.basket);
    trial.basket.answer(&id, "4567", Some("{}"), on_day("2026-03-11")).unwrap();
    trial.basket.answer(&id, "0123", Some("{\"bare\":true}"), on_day("2026-03-10")).unwrap();
    let folder = trial.basket.folder().to_owned();
    drop(trial.basket);
    let mut basket = Basket::open(&folder, Missing::Refuse).unwrap();
    let reading = basket.reading(&id).unwrap();
    assert_eq!((reading.last_day.unwrap().to_string(), reading.symbols), ("2026-03-11".to_owned(), Some(9)));
    let said =
        [("0123", "{\"bare\":true}"), ("4567", "{}")].map(|(one, two)| (one.to_owned(), two.to_owned()));
    assert_eq!(basket.answers(&id).unwrap(), said);
    assert_eq!(basket.reading_files(&id).unwrap(), [("shells.pdf".to_owned(), b"%PDF".to_vec())]);
    basket.answer(&id, "4567", None, on_day("2026-03-11")).unwrap();
    assert_eq!(basket.answers(&id).unwrap().len(), 1);
    // What comes to the same is no news to who watches; what is put away is.
    let changes = basket.changes().unwrap();
    let size = GridSize::new(20, 30).unwrap();
    basket.tell_reading(&id, &ReadingFigures { size, symbols: 9, open: 3, picture: vec![1] }).unwrap();
    assert_eq!(basket.changes().unwrap(), changes);
    basket.put_reading_away(&id, true).unwrap();
    assert!(basket.changes().unwrap() > changes && basket.reading(&id).unwrap().away);
    assert!(matches!(
        basket.answer(&trial.id, "0123", None, on_day("2026-03-11")),
        Err(BasketError::NoPiece { .. })
    ));
}

/// Writes tests/baskets/VERSION.sql, once, before the version is given to anybody.
#[test]
#[ignore = "writes a reference: BREDE_WRITE_BASKET=1, and not where CI is set"]
fn write_the_file_of_this_version() {
    if std::env::var_os("CI").is_some() || std::env::var_os("BREDE_WRITE_BASKET").is_none() {
        return;
    }
    let mut trial = kept(&pool());
    trial.tick(Way::Done, [0, 32]);
    trial.tick(Way::NotDone, [4, 6]);
    half_read(&mut trial.basket);
    let store = &trial.basket.store;
    let mut text =
        format!("PRAGMA application_id = {};\nPRAGMA user_version = {VERSION};\nBEGIN;\n", 0x6272_6564);
    let mut schema = store
        .prepare("SELECT sql, name, type FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY rowid")
        .unwrap();
    let rows = schema.query_map([], |row| {
        Ok((row.get::<_, String>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
    });
    let rows: Vec<_> = rows.unwrap().map(Result::unwrap).collect();
    for (sql, ..) in &rows {
        let plain: Vec<&str> = sql.lines().filter(|line| !line.trim_start().starts_with("--")).collect();
        text += &format!("{};\n", plain.join("\n"));
    }
    for (_, table, _) in rows.iter().filter(|(.., kind)| kind == "table") {
        let mut columns = store.prepare(&format!("SELECT name FROM pragma_table_info('{table}')")).unwrap();
        let names: Vec<String> =
            columns.query_map([], |row| row.get(0)).unwrap().map(Result::unwrap).collect();
        let quoted: Vec<String> = names.iter().map(|name| format!("quote({name})")).collect();
        let mut values =
            store.prepare(&format!("SELECT {} FROM {table}", quoted.join(" || ', ' || "))).unwrap();
        for row in values.query_map([], |row| row.get::<_, String>(0)).unwrap() {
            text += &format!("INSERT INTO {table} VALUES ({});\n", row.unwrap());
        }
    }
    text += "COMMIT;\n";
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/baskets/{VERSION}.sql"));
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    std::fs::write(path, text).unwrap();
}
