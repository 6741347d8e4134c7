//! Shade cards, and the other tables and settings that a person gives, as they should not be.

use std::path::{Path, PathBuf};

use super::bounded::{Ended, command, run};
use super::making::good;

/// A folder with a good photo in it, for cards beside it.
struct Table {
    folder: tempfile::TempDir,
    photo: PathBuf,
}

impl Table {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join("photo.png");
        std::fs::write(&photo, good().remove(0).1).unwrap();
        Self { folder, photo }
    }

    fn put(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    fn make(&self, name: &str, card: &Path) -> Ended {
        let out = tempfile::tempdir().unwrap();
        let mut command = command(["make", "--quiet", "--columns", "12", "--colours", "5"]);
        command.arg(&self.photo).arg("--out").arg(out.path()).arg("--shades").arg(card);
        run(name, &mut command)
    }

    /// Makes a chart with the card and shows the card; both end alike.
    fn with_card(&self, name: &str, bytes: &[u8]) -> Ended {
        let card = self.put("card.csv", bytes);
        let shown = run(name, command(["shades", "show"]).arg(&card));
        let made = self.make(name, &card);
        assert_eq!(made.code, shown.code, "{name}: {} / {}", made.said, shown.said);
        made
    }
}

#[test]
fn every_fault_of_a_card_is_named_with_its_place() {
    let table = Table::new();
    let faults: [(&str, &[u8], &str); 26] = [
        ("empty", b"", "holds no shade"),
        ("blank", b"\n\n  \n", "holds no shade"),
        ("header alone", b"code,name,colour\n", "holds no shade"),
        ("no header", b"A,Kelp,#123456\nB,Sand,#654321\n", "column `code`"),
        ("no colour", b"code,name\nA,Kelp\n", "column `colour`"),
        ("a column twice", b"code,code,name,colour\nA,B,Kelp,#123456\n", "column `code` twice"),
        ("a code twice", b"code,name,colour\nA,Kelp,#123456\nA,Sand,#654321\n", "row 3"),
        ("a word for a colour", b"code,name,colour\nA,Kelp,green\n", "#rrggbb"),
        ("a long colour", b"code,name,colour\nA,Kelp,#1234567\n", "row 2, column `colour`"),
        ("no code", b"code,name,colour\n,Kelp,#123456\n", "column `code`"),
        ("no name", b"code,name,colour\nA,,#123456\n", "column `name`"),
        ("too few fields", b"code,name,colour\nA\n", "row 2"),
        ("NaN", b"code,name,L,a,b\nA,Kelp,NaN,0,0\n", "column `l`"),
        ("infinite", b"code,name,L,a,b\nA,Kelp,50,inf,0\n", "column `a`"),
        ("1e308", b"code,name,L,a,b\nA,Kelp,50,0,1e308\n", "column `b`"),
        ("a huge price", b"code,name,colour,price\nA,Kelp,#123456,1e308\n", "column `price`"),
        ("a price that is none", b"code,name,colour,price\nA,Kelp,#123456,NaN\n", "column `price`"),
        ("a price below nothing", b"code,name,colour,price\nA,Kelp,#123456,-1\n", "column `price`"),
        (
            "many digits",
            b"code,name,colour,owned\nA,Kelp,#123456,99999999999999999999999999999999\n",
            "column `owned`",
        ),
        ("no length", b"code,name,colour,length_m\nA,Kelp,#123456,0\n", "column `length_m`"),
        ("an endless length", b"code,name,colour,length_m\nA,Kelp,#123456,1e9\n", "column `length_m`"),
        ("not UTF-8", b"code,name,colour\nA,Kelp,#123456\nB,K\xe9lp,#123457\n", "row 3"),
        ("UTF-16", b"\xff\xfec\0o\0d\0e\0", "UTF-8"),
        ("a nought", b"code,name,colour\nA\0B,Kelp,#123456\n", "one line"),
        ("a line within a name", b"code,name,colour\nA,\"Kelp\nand sand\",#123456\n", "one line"),
        ("an open quote", b"code,name,colour\nA,\"Kelp,#123456\nB,Sand,#654321\n", "row 2"),
    ];
    for (name, bytes, part) in faults {
        let ended = table.with_card(name, bytes);
        assert_eq!(ended.code, 1, "{name}");
        assert!(ended.said.contains(part), "{name}: {part} is missing in {}", ended.said);
    }
}

#[test]
fn a_card_of_one_thread_serves() {
    let ended = Table::new().with_card("one", b"code,name,colour\nA,Kelp,#123456\n");
    assert_eq!(ended.code, 0, "{}", ended.said);
}

#[test]
fn large_cards_are_read_or_refused_by_a_named_limit() {
    let table = Table::new();
    let row = |at: usize| format!("T{at},thread {at},#{:06x}\n", at * 1601 % 0xff_ffff);
    let card = |rows: usize| format!("code,name,colour\n{}", (0..rows).map(row).collect::<String>());
    let ended = table.with_card("10,001 rows", card(10_001).as_bytes());
    assert!(ended.said.contains("10000 shades"), "{}", ended.said);
    let wide = format!("code,name,colour{}\nA,Kelp,#123456\n", ",more".repeat(1_000_000));
    table.with_card("a million columns", wide.as_bytes());
    let wide = format!("code,name,colour\nA,Kelp,#123456{}\n", ",".repeat(1_000_000));
    table.with_card("a million fields", wide.as_bytes());
    let long = format!("code,name,colour\nA,{},#123456\n", "k".repeat(5_000_000));
    let ended = table.with_card("a name of five million letters", long.as_bytes());
    assert!(ended.said.contains("200 characters"), "{}", ended.said);
    let ended = table.make("no end of zeros", Path::new("/dev/zero"));
    assert!(ended.code == 1 && ended.said.contains("megabytes"), "{}", ended.said);
    assert_eq!(table.make("a folder", table.folder.path()).code, 1);
    assert_eq!(table.make("nothing there", Path::new("/no/such/card.csv")).code, 1);
}

#[test]
fn no_table_that_brede_writes_holds_a_formula() {
    // A spreadsheet takes a cell beginning with one of these as a formula (OWASP, CSV Injection).
    let table = Table::new();
    let signs = ["=", "+", "-", "@", "\t=", "\r="];
    let rows: String = signs
        .iter()
        .enumerate()
        .map(|(at, sign)| {
            format!(
                "\"{sign}1+{at}\",\"{sign}cmd|' /C calc'!A{at}\",#{:06x},1.5\n",
                at * 4_001_234 % 0xff_ffff
            )
        })
        .collect();
    let card = table.put("card.csv", format!("code,name,colour,price\n{rows}").as_bytes());
    let out = table.folder.path().join("out");
    let mut make = command(["make", "--quiet", "--columns", "12", "--colours", "4"]);
    make.arg(&table.photo).arg("--out").arg(&out).arg("--shades").arg(&card);
    assert_eq!(run("make", &mut make).code, 0);
    let chart = out.join("photo.chart.json");
    let (list, pairs) = (out.join("list.csv"), out.join("pairs.csv"));
    assert_eq!(run("kit", command(["kit"]).arg(&chart).arg("--csv").arg(&list)).code, 0);
    let mut compare = command(["shades", "compare"]);
    assert_eq!(run("compare", compare.arg(&card).arg(&card).arg("--csv").arg(&pairs)).code, 0);
    let mut judged = 0;
    for path in [out.join("photo.threads.csv"), list, pairs] {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).flexible(true).from_path(&path).unwrap();
        for record in reader.records() {
            for field in record.unwrap().iter() {
                let is_number = field.parse::<f64>().is_ok();
                let begins = field.trim_start().starts_with(['=', '+', '-', '@']);
                assert!(is_number || !begins, "{}: {field}", path.display());
                judged += 1;
            }
        }
    }
    assert!(judged > 60, "{judged} fields");
}

#[test]
fn settings_of_thread_and_lists_of_skeins_are_held_to_the_same() {
    let table = Table::new();
    let out = table.folder.path().join("out");
    let mut make = command(["make", "--quiet", "--columns", "12", "--colours", "4"]);
    assert_eq!(run("make", make.arg(&table.photo).arg("--out").arg(&out)).code, 0);
    let chart = out.join("photo.chart.json");
    let covers: [&[u8]; 9] = [
        b"flattening = ",
        b"strand_tex = nan",
        b"strand_tex = 1e308",
        b"strand_tex = -1",
        b"flattening = [[[[[[[[1]]]]]]]]",
        b"other = 1",
        b"\xff\xfe",
        b"strand_tex = '33'",
        &[b'['; 100_000],
    ];
    for bytes in covers {
        let cover = table.put("cover.toml", bytes);
        let ended = run("cover", command(["cloth"]).arg(&chart).arg("--cover").arg(&cover));
        assert_eq!(ended.code, 1, "{:?}", &bytes[..bytes.len().min(40)]);
    }
    let lists: [(&[u8], i32); 11] = [
        (b"", 1),
        (b"code\nA\n", 1),
        (b"code,owned\nA,1\nA,2\n", 1),
        (b"code,owned\nA,NaN\n", 1),
        (b"code,owned\nA,1e308\n", 1),
        (b"code,owned\nA,-1\n", 1),
        (b"code,owned\nA,\n", 0),
        (b"code,owned\nA,99999999999999999999999999999999999999\n", 1),
        (b"code,owned\n\xff,1\n", 1),
        (b"code,owned\n", 0),
        (b"code,owned\n=1+1,0.5\n", 0),
    ];
    for (bytes, code) in lists {
        let owned = table.put("owned.csv", bytes);
        let ended = run("owned", command(["kit"]).arg(&chart).arg("--owned").arg(&owned));
        assert_eq!(ended.code, code, "{}: {}", String::from_utf8_lossy(bytes), ended.said);
    }
}
