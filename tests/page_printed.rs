//! Charts that were printed elsewhere, read on the page: what is sent, what is asked, what is kept, and what becomes of it.
//!
//! `tests/printed` holds the charts with their truth; those without a key are drawn here. Threads, names and codes are
//! invented.

use serde_json::{Value, json};

use crate::page::{Inside, Page};
use crate::read::{pdf, printed, ruled};

/// Reads files as one chart; gives the last event.
fn brought(inside: &Inside, files: &[(&str, Vec<u8>)]) -> (String, Value) {
    let mut paper = String::new();
    for (at, (name, bytes)) in files.iter().enumerate() {
        if at == 0 {
            let told = inside.send(&format!("/api/papers?name={name}"), bytes);
            assert_eq!(told.status, 200, "{}", told.text());
            paper = told.json()["paper"].as_str().unwrap().to_owned();
        } else {
            assert_eq!(inside.send(&format!("/api/papers/{paper}?name={name}"), bytes).status, 204);
        }
    }
    inside.post(&format!("/api/papers/{paper}/read"), &json!({})).events().pop().unwrap()
}

fn reading(inside: &Inside, files: &[(&str, Vec<u8>)]) -> String {
    let (event, told) = brought(inside, files);
    assert_eq!(event, "done", "{told}");
    told["reading"].as_str().unwrap().to_owned()
}

fn look(inside: &Inside, reading: &str) -> Value {
    inside.get(&format!("/api/readings/{reading}")).framed().0
}

fn says(inside: &Inside, reading: &str, number: usize, said: Value) -> Value {
    let asked = json!({ "number": number, "said": said });
    inside.post(&format!("/api/readings/{reading}/answer"), &asked).framed().0
}

fn file(name: &str) -> Vec<u8> {
    std::fs::read(printed(name)).unwrap()
}

/// The piece, as `brede read` would have written it.
fn kept(inside: &Inside, reading: &str) -> Value {
    let kept = inside.send(&format!("/api/readings/{reading}/keep"), b"");
    assert_eq!(kept.status, 201, "{}", kept.text());
    kept.json()
}

#[test]
fn two_files_are_joined_named_by_their_key_and_kept_as_a_piece() {
    let basket = tempfile::tempdir().unwrap();
    let inside = Page::open(basket.path()).enter();
    let files = [("lantern-1.pdf", file("lantern-1.pdf")), ("lantern-2.pdf", file("lantern-2.pdf"))];
    let id = reading(&inside, &files);
    let listed = inside.get("/api/pieces").json();
    assert_eq!(
        (&listed["readings"][0]["name"], &listed["readings"][0]["id"]),
        (&json!("Lantern 1"), &json!(id))
    );
    assert!(inside.get(&format!("/api/readings/{id}/picture")).body.starts_with(b"\x89PNG"));
    let found = look(&inside, &id);
    let truth: Value = serde_json::from_slice(&file("lantern.json")).unwrap();
    assert_eq!(found["look"]["size"], json!({ "columns": truth["columns"], "rows": truth["rows"] }));
    assert_eq!(found["open"], 0, "{found:#}");
    // Every page has its place, and all of them cover the chart.
    let places = found["places"].as_array().unwrap();
    let end = |axis: usize| {
        places
            .iter()
            .map(|place| place["at"][axis].as_u64().unwrap() + place["size"][axis].as_u64().unwrap())
            .max()
    };
    assert!(places.len() > 1);
    assert_eq!([end(0), end(1)], [truth["columns"].as_u64(), truth["rows"].as_u64()]);
    assert!(
        found["symbols"].as_array().unwrap().iter().all(|symbol| !symbol["printed"][0]["path"].is_null())
    );

    let told = kept(&inside, &id);
    let piece = told["piece"].as_str().unwrap();
    let (chart, _) = inside.chart(piece);
    assert_eq!(chart["reading"], json!(id));
    let needles = chart["look"]["needles"].as_array().unwrap();
    assert_eq!(needles.len(), truth["threads"].as_array().unwrap().len());
    assert!(
        needles.iter().all(|needle| !needle["printed"][0].as_array().unwrap().is_empty()),
        "{needles:#?}"
    );
    // It is a piece now, and nothing that is half read.
    let listed = inside.get("/api/pieces").json();
    assert_eq!((listed["pieces"].as_array().unwrap().len(), &listed["readings"]), (1, &json!([])));
    // Square by square the truth's threads.
    let (chart, cells) = inside.chart(piece);
    shows(&chart["look"], &cells, &truth);
}

/// Every square is worked in the thread of the truth.
fn shows(look: &Value, cells: &[u8], truth: &Value) {
    let code = |place: Option<u64>, threads: &Value| place.map(|at| threads[at as usize]["code"].clone());
    let wanted = truth["cells"].as_array().unwrap().iter().map(|cell| code(cell.as_u64(), &truth["threads"]));
    let found = cells.iter().map(|&cell| code((cell != 255).then_some(u64::from(cell)), &look["needles"]));
    assert_eq!(found.zip(wanted).filter(|(one, other)| one != other).count(), 0);
    assert_eq!(cells.len(), truth["cells"].as_array().unwrap().len());
}

#[test]
fn what_is_not_known_is_asked_kept_through_a_kill_and_taken_back() {
    let folder = tempfile::tempdir().unwrap();
    let inside = Page::open(folder.path()).enter();
    let plain = pdf(&[ruled([12, 12], false, &[])]);
    let id = reading(&inside, &[("grandmothers-letters.pdf", plain)]);
    let found = look(&inside, &id);
    assert_eq!((&found["name"], &found["open"]), (&json!("Grandmothers letters"), &json!(4)));
    let stitches = |found: &Value, at: usize| found["symbols"][at]["stitches"].as_u64().unwrap();
    let (one, two, three) = (stitches(&found, 0), stitches(&found, 1), stitches(&found, 2));

    let plum = json!({ "code": "P12", "name": "plum", "colour": "#704070", "strands": 3 });
    let found = says(&inside, &id, 1, plum.clone());
    assert_eq!((&found["open"], &found["symbols"][0]["said"]["code"]), (&json!(3), &json!("P12")));
    says(&inside, &id, 2, json!({ "same": 1 }));
    let found = says(&inside, &id, 3, json!({ "bare": true }));
    assert_eq!(found["open"], 1);
    let needle = &found["look"]["needles"][0];
    assert_eq!(
        [&needle["code"], &needle["colour"], &needle["strands"]],
        [&json!("P12"), &json!("#704070"), &json!(3)]
    );
    assert_eq!(needle["stitches"], one + two);
    assert_eq!(found["look"]["stitches"], 400 - three);
    // Two symbols of the paper stand for the one of ours.
    assert_eq!(needle["printed"].as_array().unwrap().len(), 2);

    // Killed, and another day.
    let mut page = inside.page;
    page.child.kill().unwrap();
    page.child.wait().unwrap();
    let inside = Page::open(folder.path()).enter();
    assert_eq!(inside.get("/api/pieces").json()["readings"][0]["open"], 1);
    let opened = inside.post(&format!("/api/readings/{id}/open"), &json!({})).events();
    assert_eq!(opened.last().unwrap().0, "done");
    let again = look(&inside, &id);
    assert_eq!((&again["look"], &again["symbols"]), (&found["look"], &found["symbols"]));

    // What was said is taken back, and said otherwise.
    let back = says(&inside, &id, 3, Value::Null);
    assert_eq!((&back["open"], &back["look"]["stitches"]), (&json!(2), &json!(400)));
    assert_eq!(back["symbols"][2]["said"], Value::Null);

    // Kept with a question open: what is said later goes into the same piece, as long as that is as it was.
    let piece = kept(&inside, &id)["piece"].clone();
    says(&inside, &id, 3, json!({ "code": "S4", "name": "sand", "colour": "#d8c8a0" }));
    let told = kept(&inside, &id);
    assert_eq!((&told["piece"], &told["came"]), (&piece, &json!("changed")));
    let (chart, _) = inside.chart(piece.as_str().unwrap());
    let codes: Vec<&str> = chart["look"]["needles"]
        .as_array()
        .unwrap()
        .iter()
        .map(|needle| needle["code"].as_str().unwrap())
        .collect();
    assert!(codes.contains(&"S4") && codes.contains(&"P12"), "{codes:?}");
    assert_eq!(inside.get("/api/pieces").json()["pieces"].as_array().unwrap().len(), 1);

    // What cannot be is refused, and what was said before stays.
    let before = look(&inside, &id);
    for (number, said) in [
        (5, json!({ "code": "P1" })),
        (0, json!({ "code": "P1" })),
        (1, json!({ "same": 9 })),
        (1, json!({ "strands": 200, "code": "P1" })),
        (1, json!({ "colour": "blue" })),
        (1, json!({ "code": "x".repeat(3000) })),
        (1, json!({ "secret": 1 })),
    ] {
        let asked = json!({ "number": number, "said": said });
        let answer = inside.post(&format!("/api/readings/{id}/answer"), &asked);
        assert!(matches!(answer.status, 400 | 422), "{said}: {}", answer.text());
    }
    assert_eq!(look(&inside, &id), before);
}

#[test]
fn what_the_key_counts_otherwise_is_told_and_the_same_files_are_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let inside = Page::open(folder.path()).enter();
    // A page is missing, and the key is of all.
    let mut whole = lopdf::Document::load_mem(&file("b.pdf")).unwrap();
    whole.delete_pages(&[2]);
    let mut bytes = Vec::new();
    whole.save_to(&mut bytes).unwrap();
    let files = [("half.pdf", bytes)];
    let id = reading(&inside, &files);
    let found = look(&inside, &id);
    let symbols = found["symbols"].as_array().unwrap();
    let asked: Vec<&Value> = symbols.iter().filter(|symbol| symbol["open"] == true).collect();
    assert!(asked.len() > 10, "{asked:#?}");
    for symbol in &asked {
        let doubt = symbol["doubts"].as_array().unwrap().iter().find(|doubt| doubt["doubt"] == "other-count");
        let told = doubt.map(|doubt| (&doubt["key"], &symbol["stitches"]));
        assert!(told.is_some_and(|(key, counted)| key.as_u64() > counted.as_u64()), "{symbol}");
    }
    assert_eq!(found["open"], asked.len());
    let first = asked[0]["number"].as_u64().unwrap() as usize;
    // Right as it is: told still, and asked no more.
    let right = says(&inside, &id, first, json!({}));
    assert_eq!(
        (&right["open"], &right["symbols"][first - 1]["doubts"]),
        (&json!(asked.len() - 1), &asked[0]["doubts"])
    );
    // Put away, and its file brought once more.
    let away = inside.post(&format!("/api/readings/{id}/change"), &json!("put-away"));
    assert_eq!((away.status, reading(&inside, &files)), (204, id.clone()));
    let listed = inside.get("/api/pieces").json();
    assert_eq!(
        (listed["readings"].as_array().unwrap().len(), &listed["readings"][0]["away"]),
        (1, &json!(false))
    );
    assert_eq!(listed["readings"][0]["open"], asked.len() - 1);
}

#[test]
fn symbols_that_are_drawn_alike_stand_side_by_side_until_somebody_says() {
    let folder = tempfile::tempdir().unwrap();
    let inside = Page::open(folder.path()).enter();
    // Every S becomes an X of another size.
    let larger = |sign: &str| match sign.contains("(S) Tj") {
        true => sign.replace("/F1 8 Tf", "/F1 9 Tf").replace("(S)", "(X)"),
        false => sign.to_owned(),
    };
    let page: Vec<String> = ruled([12, 12], false, &[]).split("BT ").map(larger).collect();
    let id = reading(&inside, &[("twins.pdf", pdf(&[page.join("BT ")]))]);
    let like = |found: &Value| {
        let symbols = found["symbols"].as_array().unwrap().iter();
        let doubts = |symbol: &Value| symbol["doubts"].as_array().unwrap().clone();
        let twins = symbols.flat_map(|symbol| {
            let number = symbol["number"].as_u64().unwrap() as usize;
            doubts(symbol)
                .into_iter()
                .filter(|doubt| doubt["doubt"] == "like")
                .map(move |doubt| (number, doubt))
        });
        twins.map(|(number, doubt)| (number, doubt["number"].as_u64().unwrap() as usize)).collect::<Vec<_>>()
    };
    let found = look(&inside, &id);
    let [(one, other)] = like(&found)[..] else { panic!("{found:#}") };
    assert_eq!(found["open"], 4);
    // Two threads: that is asked no more, but both are still to be named.
    let two = says(&inside, &id, one, json!({}));
    assert_eq!(
        (like(&two).len(), &two["open"], two["look"]["needles"].as_array().unwrap().len()),
        (0, &json!(4), 4)
    );
    // One thread.
    let same = says(&inside, &id, one, json!({ "same": other }));
    assert_eq!((&same["open"], same["look"]["needles"].as_array().unwrap().len()), (&json!(3), 3));
    assert_eq!(same["symbols"][one - 1]["needle"], same["symbols"][other - 1]["needle"]);
}

#[test]
fn a_card_of_ones_own_gives_threads_their_colours() {
    let folder = tempfile::tempdir().unwrap();
    let inside = Page::open(folder.path()).enter();
    let id = reading(&inside, &[("tens.pdf", file("tens.pdf"))]);
    // Its pages do not say how they join.
    let answer = inside.post(&format!("/api/readings/{id}/open"), &json!({})).events().pop().unwrap();
    assert_eq!((answer.0.as_str(), &answer.1["advice"]["do"]), ("failed", &json!("say-columns-and-rows")));
    assert_eq!(inside.get("/api/pieces").json()["readings"][0]["open"], Value::Null);
    let size = inside.post(&format!("/api/readings/{id}/change"), &json!({ "size": [55, 40] }));
    assert_eq!(size.status, 204, "{}", size.text());
    let truth: Value = serde_json::from_slice(&file("tens.json")).unwrap();
    let thread = &truth["threads"][0];
    let card = format!("code,name,colour\n{},of my box,#123456\n", thread["code"].as_str().unwrap());
    assert_eq!(inside.send("/api/card?name=box.csv", card.as_bytes()).status, 200);
    let (found, cells) = inside.get(&format!("/api/readings/{id}")).framed();
    shows(&found["look"], &cells, &truth);
    assert_eq!(found["card"], true);
    let needles = found["look"]["needles"].as_array().unwrap();
    let own = needles.iter().find(|needle| needle["code"] == thread["code"]).unwrap();
    assert_eq!([&own["name"], &own["colour"]], [&json!("of my box"), &json!("#123456")]);
    // What the card lacks is told of, and is no question.
    let lacking = found["symbols"].as_array().unwrap().iter().filter(|symbol| {
        symbol["doubts"].as_array().unwrap().iter().any(|doubt| doubt["doubt"] == "not-on-card")
    });
    assert_eq!((lacking.count(), &found["open"]), (11, &json!(0)));

    let change = |what: Value| inside.post(&format!("/api/readings/{id}/change"), &what).status;
    assert_eq!(
        [change(json!({ "name": "Tens" })), change(json!("put-away")), change(json!({ "name": " " }))],
        [204, 204, 400]
    );
    let listed = inside.get("/api/pieces").json();
    assert_eq!(
        (&listed["readings"][0]["name"], &listed["readings"][0]["away"]),
        (&json!("Tens"), &json!(true))
    );
    assert_eq!(change(json!("bring-back")), 204);
}

#[test]
fn what_cannot_be_read_says_what_to_do_and_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let inside = Page::open(folder.path()).enter();
    let text = format!("BT /F1 9 Tf 60 700 Td ({}) Tj ET", "How to work a French knot. ".repeat(12));
    let cases = [
        ("text", pdf(&[text]), "pages-of-chart"),
        ("empty", pdf(&["0 0 m 10 10 l S".to_owned()]), "pages-of-chart"),
        ("knitting", pdf(&[ruled([12, 9], true, &["knit", "purl"])]), "cross-stitch-chart"),
        ("many", pdf(&vec![String::new(); 500]), "pages-of-chart"),
        (
            "photo",
            std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/samples-own/rock-pool.jpg")).unwrap(),
            "pages-of-chart",
        ),
    ];
    for (name, bytes, advice) in cases {
        let (event, told) = brought(&inside, &[("a.pdf", bytes)]);
        assert_eq!((event.as_str(), &told["advice"]["do"]), ("failed", &json!(advice)), "{name}: {told}");
        assert!(told["said"].as_array().unwrap().len() > 1, "{told}");
    }
    assert_eq!(inside.get("/api/pieces").json()["readings"], json!([]));
    // Nothing leads out of the workbasket.
    for path in ["/api/readings/..%2fhidden", "/api/readings/hktm-rafc-yxle", "/api/readings/x/picture"] {
        assert!(matches!(inside.get(path).status, 404 | 422), "{path}");
    }
    assert_eq!(inside.post("/api/papers/x/read", &json!({})).status, 404);
}
