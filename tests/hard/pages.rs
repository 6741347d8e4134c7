//! Files given to `brede proof` that are no pages of brede's, or were, before they were forged.

use std::ffi::OsStr;
use std::path::{Path, PathBuf};

use lopdf::{
    Document, EncryptionState, EncryptionVersion, Object, ObjectId, Permissions, Stream, dictionary,
};

use super::bounded::{Ended, command, run};
use super::making::{good, zeros};
use super::noise;

/// A small chart, its pages, and a folder for more.
pub(crate) struct Table {
    folder: tempfile::TempDir,
    pub(crate) chart: PathBuf,
    pub(crate) pdf: Vec<u8>,
}

impl Table {
    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let photo = folder.path().join("pool.png");
        std::fs::write(&photo, good().remove(0).1).unwrap();
        let mut make = command(["make", "--quiet", "--columns", "12", "--colours", "4", "--out"]);
        assert_eq!(run("make", make.arg(folder.path()).arg(&photo)).code, 0);
        let pdf = std::fs::read(folder.path().join("pool.pdf")).unwrap();
        Self { chart: folder.path().join("pool.chart.json"), folder, pdf }
    }

    fn proof_of(&self, name: &str, pdf: &Path, options: &[&str]) -> Ended {
        let mut proof = command([OsStr::new("proof"), pdf.as_os_str(), self.chart.as_os_str()]);
        run(name, proof.args(options))
    }

    fn proof(&self, name: &str, bytes: &[u8]) -> Ended {
        let path = self.folder.path().join("hard.pdf");
        std::fs::write(&path, bytes).unwrap();
        self.proof_of(name, &path, &[])
    }

    /// The pages with something forged in them.
    pub(crate) fn forged(&self, forge: impl FnOnce(&mut Document)) -> Vec<u8> {
        let mut document = Document::load_mem(&self.pdf).unwrap();
        forge(&mut document);
        let mut bytes = Vec::new();
        document.save_to(&mut bytes).unwrap();
        bytes
    }

    /// Refused, with an error that says this.
    fn refused(&self, name: &str, bytes: &[u8], why: &str) {
        let ended = self.proof(name, bytes);
        assert_eq!(ended.code, 1, "{name}");
        assert!(ended.said.contains(why), "{name}: {}", ended.said);
    }
}

/// The page that shows the cells: the last.
fn last_page(document: &Document) -> ObjectId {
    document.get_pages().into_values().next_back().unwrap()
}

fn field(document: &mut Document, id: ObjectId, key: &str, value: Object) {
    document.get_dictionary_mut(id).unwrap().set(key, value);
}

/// Gives the chart page another content.
pub(crate) fn content(document: &mut Document, stream: Stream) {
    let page = last_page(document);
    let content = document.add_object(stream);
    field(document, page, "Contents", content.into());
}

#[test]
fn what_is_no_pdf_is_refused() {
    let table = Table::new();
    let kept = table.proof("the pages themselves", &table.pdf);
    assert_eq!(kept.code, 0, "{}", kept.said);
    let no_pdf = "not a PDF";
    table.refused("empty", b"", no_pdf);
    table.refused("text", b"Found at low tide\n", no_pdf);
    table.refused("a picture", &good().remove(0).1, no_pdf);
    table.refused("a chart", &std::fs::read(&table.chart).unwrap(), no_pdf);
    for seed in 0..8 {
        table.refused("noise", &[b"%PDF-1.7\n".to_vec(), noise(seed, 3000)].concat(), no_pdf);
    }
    let folder = table.proof_of("a folder", table.folder.path(), &[]);
    assert!(folder.code == 1 && folder.said.contains("could not read"), "{}", folder.said);
    let nothing = table.proof_of("nothing", &table.folder.path().join("none.pdf"), &[]);
    assert!(nothing.code == 1 && nothing.said.contains("could not read"), "{}", nothing.said);
}

#[test]
fn pages_cut_short_are_read_or_refused() {
    let table = Table::new();
    for part in 1..16 {
        let ended = table.proof(&format!("{part}/16"), &table.pdf[..table.pdf.len() * part / 16]);
        assert_eq!(ended.code, 1, "the last pages are missing: {}", ended.result);
    }
}

#[test]
fn pages_of_something_else_and_locked_ones_are_refused() {
    let table = Table::new();
    let mut other = Document::with_version("1.7");
    let pages = other.new_object_id();
    let text = other.add_object(Stream::new(dictionary! {}, b"0 0 m 50 50 l S".to_vec()));
    let page = dictionary! {
        "Type" => "Page", "Parent" => pages, "Contents" => text,
        "MediaBox" => vec![0.into(), 0.into(), 200.into(), 200.into()],
    };
    let page = other.add_object(page);
    other.set_object(pages, dictionary! { "Type" => "Pages", "Kids" => vec![page.into()], "Count" => 1 });
    let catalog = other.add_object(dictionary! { "Type" => "Catalog", "Pages" => pages });
    other.trailer.set("Root", catalog);
    let mut bytes = Vec::new();
    other.save_to(&mut bytes).unwrap();
    table.refused("a drawing", &bytes, "no page of this PDF says that it shows");
    for password in ["", "low tide"] {
        let locked = table.forged(|document| {
            let version = EncryptionVersion::V2 {
                document,
                owner_password: "neap",
                user_password: password,
                key_length: 128,
                permissions: Permissions::all(),
            };
            let state = EncryptionState::try_from(version).unwrap();
            document.encrypt(&state).unwrap();
        });
        table.refused(&format!("locked by `{password}`"), &locked, "encrypted");
    }
}

#[test]
fn pages_of_any_size_are_held_to_their_pixels() {
    let table = Table::new();
    for [width, height] in [[14_400, 14_400], [2_000_000, 600], [2_147_483_647, 2_147_483_647]] {
        let huge = table.forged(|document| {
            let page = last_page(document);
            for key in ["MediaBox", "CropBox"] {
                let area = vec![0.into(), 0.into(), width.into(), height.into()];
                field(document, page, key, area.into());
            }
        });
        table.refused(&format!("{width} x {height}"), &huge, "more than the 100 million pixels");
    }
    // No area at all, or turned inside out: whatever the renderer makes of it.
    for area in [[0, 0, 0, 0], [600, 800, 0, 0], [-5, -5, -4, -4]] {
        let odd = table.forged(|document| {
            let page = last_page(document);
            for key in ["MediaBox", "CropBox"] {
                field(document, page, key, area.map(Object::from).to_vec().into());
            }
        });
        table.proof(&format!("{area:?}"), &odd);
    }
}

#[test]
fn tables_of_contents_that_run_in_a_ring_end() {
    let table = Table::new();
    let ring = |key: &'static str, back: bool| {
        table.forged(|document| {
            let entries: Vec<ObjectId> = document
                .objects
                .iter()
                .filter(|(_, object)| {
                    object.as_dict().is_ok_and(|entry| entry.has(b"Dest") && entry.has(b"Title"))
                })
                .map(|(&id, _)| id)
                .collect();
            for (at, &id) in entries.iter().enumerate() {
                let to = if back { entries[0] } else { entries[(at + 1) % entries.len()] };
                field(document, id, key, to.into());
            }
        })
    };
    for (key, back) in [("Next", true), ("Next", false), ("First", true), ("First", false)] {
        table.proof(&format!("{key} {back}"), &ring(key, back));
    }
    // A target with nothing in it: what a page shows is read elsewhere.
    let nowhere = table.forged(|document| {
        for object in document.objects.values_mut() {
            if let Ok(entry) = object.as_dict_mut()
                && entry.has(b"Dest")
            {
                entry.set("Dest", Vec::<Object>::new());
            }
        }
    });
    let ended = table.proof("nowhere", &nowhere);
    assert_eq!(ended.code, 0, "{}", ended.result);
}

#[test]
fn pages_that_say_nothing_or_nonsense_of_what_they_show_are_refused() {
    let table = Table::new();
    let unsaid = "it is no chart, or an earlier brede printed it";
    // What each page bears as `PieceInfo`, and the page.
    let forged = |change: fn(&mut Document, ObjectId)| {
        table.forged(|document| {
            let pages: Vec<ObjectId> = document.page_iter().collect();
            pages.into_iter().for_each(|page| change(document, page));
        })
    };
    let none = forged(|document, page| {
        document.get_dictionary_mut(page).unwrap().remove(b"PieceInfo");
    });
    table.refused("as an earlier brede printed", &none, unsaid);
    let ring = forged(|document, page| {
        let ring = document.new_object_id();
        document.set_object(ring, Object::Reference(ring));
        field(document, page, "PieceInfo", ring.into());
    });
    table.refused("a ring", &ring, unsaid);
    let within = forged(|document, page| {
        field(document, page, "PieceInfo", dictionary! { "Brede" => Object::Reference(page) }.into());
    });
    table.refused("the page itself", &within, unsaid);
    for (name, columns) in [("none", [1, 0]), ("from 0", [0, 9]), ("without end", [1, i64::MAX])] {
        let nonsense = table.forged(|document| {
            let pages: Vec<ObjectId> = document.page_iter().collect();
            for page in pages {
                let span = columns.map(Object::from).to_vec();
                let cells = dictionary! { "Shows" => "Cells", "Columns" => span.clone(), "Rows" => span };
                let pieces = dictionary! { "Brede" => dictionary! { "Private" => cells } };
                field(document, page, "PieceInfo", pieces.into());
            }
        });
        table.refused(name, &nonsense, unsaid);
    }
    // Cells on every page, but no key to know them by; and as many as no chart has.
    fn cells(document: &mut Document, page: ObjectId, last: u32) {
        let span: Vec<Object> = vec![1.into(), i64::from(last).into()];
        let cells = dictionary! { "Shows" => "Cells", "Columns" => span.clone(), "Rows" => span };
        let pieces = dictionary! { "Brede" => dictionary! { "Private" => cells } };
        field(document, page, "PieceInfo", pieces.into());
    }
    table.refused("no key", &forged(|document, page| cells(document, page, 12)), unsaid);
    let far = table.forged(|document| {
        let page = last_page(document);
        cells(document, page, u32::MAX);
    });
    table.refused("far", &far, "the pages show 4294967295 x 4294967295 squares");
}

#[test]
fn a_page_for_a_screen_is_told_from_pages_on_paper() {
    let table = Table::new();
    let screen = table.forged(|document| {
        let page = last_page(document);
        let pieces = dictionary! {
            "Brede" => dictionary! { "Private" => dictionary! { "Shows" => "All" } },
        };
        field(document, page, "PieceInfo", pieces.into());
    });
    table.refused("a screen", &screen, "one page for a screen");
}

#[test]
fn pages_that_would_run_without_end_or_fill_the_memory_are_refused() {
    let table = Table::new();
    let foreign = "holds what no page of brede's does";
    let packed = |bytes: Vec<u8>| Stream::new(dictionary! { "Filter" => "FlateDecode" }, bytes);
    let bomb = table.forged(|document| content(document, packed(zeros(1 << 30))));
    table.refused("a gibibyte of zeros", &bomb, "larger than any");
    let bombs = table.forged(|document| {
        let page = last_page(document);
        let part = document.add_object(packed(zeros(15 << 20)));
        field(document, page, "Contents", vec![Object::from(part); 4000].into());
    });
    table.refused("fifteen mebibytes four thousand times", &bombs, "larger than any");
    for (name, text) in [
        ("dashes", "[0.000001] 0 d 0 0 m 500 500 l S".to_owned()),
        ("many dashes", "[1 0.5] 0 d 0 0 m 1000000 1000000 l S ".repeat(20)),
        ("a picture in line", "BI /W 65000 /H 65000 /BPC 8 /CS /G /F /AHx ID 00> EI".to_owned()),
        ("a shading", "/Sh1 sh".to_owned()),
        ("a form", "/Fm1 Do".to_owned()),
        ("numbers without measure", "10000000 0 0 10000000 0 0 cm 0 0 1 1 re S".to_owned()),
    ] {
        let forged = table.forged(|document| content(document, Stream::new(dictionary! {}, text.into())));
        table.refused(name, &forged, foreign);
    }
    // Things that are drawn, if slowly, and leave nothing that can be read.
    for (name, text) in [
        ("saved and never restored", "q ".repeat(1_000_000)),
        ("restored and never saved", "Q ".repeat(1_000_000)),
        ("dictionaries in dictionaries", "<</A".repeat(200_000)),
        ("larger and larger", format!("{} 0 0 1 1 re f", "1000 0 0 1000 0 0 cm ".repeat(200))),
        ("a long curve", "0 0 m 1000000 0 0 1000000 500 500 c 900000 w S ".repeat(1000)),
        ("as many dashes as may be", "[3 3] 0 d 0 0 m 400000 400000 l S ".repeat(20)),
    ] {
        let forged = table.forged(|document| content(document, Stream::new(dictionary! {}, text.into())));
        assert_eq!(table.proof(name, &forged).code, 1, "{name}");
    }
}
