//! Printed pages changed at random, read as `brede proof` reads them.
//!
//! Every second round changes what is in the file rather than its bytes: numbers, names, references, and the
//! operators of unpacked streams, which changed bytes of a packed stream would hardly ever reach.

use brede::ground::progress::Silent;
use brede::ground::units::Millimetres;
use brede::printing::ink::{PdfOptions, pdf};
use brede::printing::picture::preview;
use brede::printing::sheet::{Paper, SheetOptions, lay_out};
use brede::printing::worked as compose;
use brede::reading::proof::{ProofOptions, Reader, proof};
use lopdf::{Document, Object, ObjectId};

use super::asking::Dice;
use super::fuzz::{change, fuzz, small, taken};

/// Numbers that pages stumble over.
const NUMBERS: [f32; 14] =
    [0.0, -1.0, 1.0, 2.0, 13.0, 255.0, 65_536.0, 1e6, -1e6, 4e9, 1e30, -1e30, 1e-9, 0.3];

/// One change of an object, or of something in it.
fn change_object(object: &mut Object, ids: &[ObjectId], dice: &mut Dice) {
    let deeper = dice.roll(8);
    if let Object::Stream(stream) = object
        && deeper > 1
    {
        // Packed again or not: what reads it must manage either.
        if stream.decompress().is_ok() {
            change(&mut stream.content, &[b"q 1 0 0 1 5 5 cm [3 2] 0 d BT ET Q".to_vec()], dice);
            if dice.roll(2) == 0 {
                _ = stream.compress();
            }
        }
        return;
    }
    let mut inner: Vec<&mut Object> = match object {
        Object::Array(parts) => parts.iter_mut().collect(),
        Object::Dictionary(fields) => fields.iter_mut().map(|(_, value)| value).collect(),
        Object::Stream(stream) => stream.dict.iter_mut().map(|(_, value)| value).collect(),
        _ => Vec::new(),
    };
    let (count, chosen) = (inner.len(), dice.roll(inner.len().max(1) as u64));
    if count > 0 && deeper > 0 {
        return change_object(inner.swap_remove(chosen), ids, dice);
    }
    match object {
        Object::Array(parts) if count > 0 && dice.roll(2) == 0 => _ = parts.remove(chosen),
        Object::Array(parts) if count > 0 => parts.insert(chosen, parts[chosen].clone()),
        Object::Dictionary(fields) if count > 0 => {
            let key = fields.iter().nth(chosen).map(|(key, _)| key.clone()).unwrap();
            fields.remove(&key);
        }
        Object::Integer(_) | Object::Real(_) => {
            let number = NUMBERS[dice.roll(NUMBERS.len() as u64)];
            *object = if dice.roll(2) == 0 { Object::Real(number) } else { Object::Integer(number as i64) };
        }
        Object::Name(text) | Object::String(text, _) => change(text, &[b"Type3 Page Image".to_vec()], dice),
        Object::Boolean(truth) => *truth = !*truth,
        other => *other = Object::Reference(ids[dice.roll(ids.len() as u64)]),
    }
}

/// The same of some object of a file, which stays a file.
fn change_file(bytes: &mut Vec<u8>, dice: &mut Dice) {
    let Ok(mut document) = Document::load_mem(bytes) else { return };
    let ids: Vec<ObjectId> = document.objects.keys().copied().collect();
    let id = ids[dice.roll(ids.len() as u64)];
    if let Some(object) = document.objects.get_mut(&id) {
        change_object(object, &ids, dice);
    }
    let mut changed = Vec::new();
    if document.save_to(&mut changed).is_ok() {
        *bytes = changed;
    }
}

#[test]
fn printed_pages() {
    let chart = small();
    let composed = compose(&chart).unwrap();
    let side = |mm: f64| Millimetres::new(mm).unwrap();
    let paper = Paper::Custom { width: side(100.0), height: side(140.0) };
    let print = |paper| {
        let picture = preview(&chart, &[], &Silent).unwrap();
        let laid = lay_out(&chart, &[], picture, &SheetOptions { paper, ..SheetOptions::default() }, &Silent)
            .unwrap();
        pdf(&laid.sheet, &PdfOptions::default(), &Silent).unwrap()
    };
    let packed = print(paper);
    let mut unpacked = Vec::new();
    let mut document = Document::load_mem(&packed).unwrap();
    document.decompress();
    document.save_to(&mut unpacked).unwrap();
    let seeds = [packed, unpacked];
    let options = ProofOptions { dpi: 100.0, ..ProofOptions::default() };
    fuzz("pages", &seeds, 120, Some(&change_file), |bytes| {
        let found = proof(bytes, &composed, options, &Reader::Here, &Silent);
        if let Ok(found) = &found {
            assert_eq!(found.own.cells, chart.size().cells() as u64);
            assert!(found.own.right <= found.own.cells);
        }
        taken(&found)
    });
}

/// Charts that were printed elsewhere, changed at random, as `brede read` reads them: what is read is a chart that can be
/// kept, what is not is refused.
#[test]
fn pages_from_elsewhere() {
    use brede::reading::read::{ReadOptions, read};
    let printed = |name: &str| {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/printed");
        let mut document = Document::load(folder.join(name)).unwrap();
        document.decompress();
        let mut bytes = Vec::new();
        document.save_to(&mut bytes).unwrap();
        bytes
    };
    let seeds = ["stamp.pdf", "twin.pdf", "jetty.pdf"].map(printed);
    fuzz("foreign", &seeds, 24, Some(&change_file), |bytes| {
        let found = read(&[bytes.to_vec()], [None; 2], &Reader::Here, &Silent)
            .and_then(|shown| shown.chart(&ReadOptions::default()));
        if let Ok(found) = &found {
            let json = found.chart.to_json();
            assert_eq!(brede::chart::Chart::from_json(json.as_bytes()).unwrap().size(), found.chart.size());
            assert!(found.symbols.iter().all(|symbol| symbol.stitches > 0));
        }
        taken(&found)
    });
}

/// Pages of operators in any order, with any numbers.
#[test]
fn pages_of_anything() {
    use brede::reading::read::{ReadOptions, read};
    use lopdf::{Stream, dictionary};
    const OPERATORS: [(&str, usize); 18] = [
        ("m", 2),
        ("l", 2),
        ("c", 6),
        ("re", 4),
        ("h", 0),
        ("S", 0),
        ("f", 0),
        ("B", 0),
        ("n", 0),
        ("W n", 0),
        ("q", 0),
        ("Q", 0),
        ("cm", 6),
        ("w", 1),
        ("rg", 3),
        ("g", 1),
        ("G", 1),
        ("[3 2] 0 d", 0),
    ];
    let mut dice = Dice(0x5eed);
    for round in 0..40 {
        let mut content = String::new();
        // A lattice of something, so that a grid is nearly there.
        let [across, down] = [4 + dice.roll(30), 4 + dice.roll(30)];
        let side = 4 + dice.roll(14);
        let thing: String = (0..1 + dice.roll(12))
            .map(|_| {
                let (operator, numbers) = OPERATORS[dice.roll(OPERATORS.len() as u64)];
                let mut all: String =
                    (0..numbers).map(|_| format!("{} ", dice.roll(side as u64 + 2) as f64 - 1.0)).collect();
                all.push_str(operator);
                all + " "
            })
            .collect();
        for y in 0..down {
            for x in 0..across {
                if dice.roll(4) > 0 {
                    content += &format!("q 1 0 0 1 {} {} cm {thing} Q ", 40 + x * side, 60 + y * side);
                }
            }
        }
        for _ in 0..dice.roll(60) {
            let (operator, numbers) = OPERATORS[dice.roll(OPERATORS.len() as u64)];
            for _ in 0..numbers {
                let number = if dice.roll(9) == 0 {
                    f64::from(NUMBERS[dice.roll(NUMBERS.len() as u64)])
                } else {
                    dice.roll(800) as f64
                };
                content += &format!("{number} ");
            }
            content += operator;
            content += " ";
        }
        let mut file = Document::with_version("1.7");
        let tree = file.new_object_id();
        let content = file.add_object(Stream::new(dictionary! {}, content.into_bytes()));
        let page = file.add_object(dictionary! {
            "Type" => "Page", "Parent" => tree, "Contents" => content,
            "MediaBox" => vec![0.into(), 0.into(), 595.into(), 842.into()],
        });
        file.set_object(tree, dictionary! { "Type" => "Pages", "Kids" => vec![page.into()], "Count" => 1 });
        let catalog = file.add_object(dictionary! { "Type" => "Catalog", "Pages" => tree });
        file.trailer.set("Root", catalog);
        let mut bytes = Vec::new();
        file.save_to(&mut bytes).unwrap();
        let found = read(&[bytes], [None; 2], &Reader::Here, &Silent)
            .and_then(|shown| shown.chart(&ReadOptions::default()));
        if let Ok(found) = found {
            let squares: u64 = found.chart.stitches().iter().sum();
            assert!(squares <= found.chart.size().cells() as u64, "round {round}");
            // What was read can be kept.
            assert!(
                brede::chart::Chart::from_json(found.chart.to_json().as_bytes()).is_ok(),
                "round {round}"
            );
        }
    }
}
