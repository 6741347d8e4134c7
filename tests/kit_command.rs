//! `brede cloth`, `brede kit` and `brede shades` as a person meets them. All threads are invented.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use brede::chart::{Cell, Chart, Needle, Thread};
use brede::ground::units::GridSize;
use brede::thread::cloth::{Cloth, StitchKind};
use serde_json::Value;

/// A pool of three threads, 40 x 30, saved in a folder of its own with a card that knows prices.
fn pool() -> (tempfile::TempDir, PathBuf) {
    let needle = |(index, (code, colour)): (usize, (&str, &str))| Needle {
        symbol: brede::printing::symbols::SymbolId::all().nth(index).unwrap().id().into(),
        threads: vec![Thread {
            code: code.into(),
            name: format!("{code} of the pool"),
            colour: colour.parse().unwrap(),
            strands: 2,
            price: None,
            skein_mm: None,
            skein_strands: None,
            kind: None,
        }],
        stitch: StitchKind::FullCross,
    };
    let needles = [("ROCK", "#8a8378"), ("KELP", "#3b5a2e"), ("WRACK", "#405f31")];
    let size = GridSize::new(40, 30).unwrap();
    let cells = (0..1200).map(|at| Cell::worked([0, 0, 1, 2][at / 10 % 4])).collect();
    let needles = needles.into_iter().enumerate().map(needle).collect();
    let chart = Chart::new("Pool".into(), size, Cloth::default(), needles, cells).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pool.chart.json");
    std::fs::write(&path, chart.to_json()).unwrap();
    let card = "code,name,colour,price,owned\nROCK,Rock,#8a8378,1.15,0.5\nKELP,Kelp,#3b5a2e,1.15,\n\
                WRACK,Wrack,#405f31,1.15,\nGULL,Gull,#f0f0ee,1.15,3\n";
    std::fs::write(folder.path().join("card.csv"), card).unwrap();
    (folder, path)
}

fn brede(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brede")).args(arguments).output().unwrap()
}

fn done(arguments: &[&str]) -> String {
    let output = brede(arguments);
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{arguments:?}: {said}");
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str]) -> Value {
    serde_json::from_str(&done(arguments)).unwrap()
}

fn fails(arguments: &[&str]) -> String {
    let output = brede(arguments);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}");
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.starts_with("error: ") && said.contains("\nhint: "), "{said}");
    said
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_chart_is_held_against_eight_counts_and_what_is_at_hand() {
    let (folder, chart) = pool();
    let table = done(&["cloth", text(&chart), "--have", "13x20cm", "--frame", "9cm"]);
    for count in ["11", "14", "16", "18", "20", "22", "28/2", "32/2"] {
        assert!(table.lines().any(|line| line.split_whitespace().next() == Some(count)), "{count}\n{table}");
    }
    let value = json(&["cloth", text(&chart), "--json", "--have", "16x18cm", "--frame", "9.1cm"]);
    let counts = value["charts"][0]["counts"].as_array().unwrap();
    assert_eq!(counts.len(), 8);
    // By hand: 40 x 30 stitches of 25.4/14 mm are 72.571 x 54.429 mm, a diagonal of 90.71 mm; 10 cm more to cut.
    let fourteen = &counts[1];
    assert_eq!(fourteen["finished_mm"], serde_json::json!([72.571, 54.429]));
    assert_eq!(fourteen["cloth_to_cut_mm"], serde_json::json!([172.571, 154.429]));
    assert_eq!((&fourteen["fits_cloth"], &fourteen["fits_frame"]), (&"turned".into(), &"hoop".into()));
    // Peirce 1937: 190 g/m² at 28 threads to the inch each way is 86.2 tex, K = 10.70, so (1 - K/28)² = 0.382 is open.
    let weighed = json(&["cloth", text(&chart), "--json", "--count", "14,28/2", "--weight", "190"]);
    let open = |count: usize| weighed["charts"][0]["counts"][count]["cloth_open"].clone();
    assert!(open(0).is_null() && (open(1).as_f64().unwrap() - 0.382).abs() < 1e-3, "{weighed}");
    assert!(done(&["cloth", text(&chart), "--count", "28/2", "--weight", "190"]).contains("38 %"));
    let refused = brede(&["cloth", text(&chart), "--weight", "heavy"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8(refused.stderr).unwrap().contains("grams to the square metre"));
    let png = folder.path().join("sheet.png");
    done(&["cloth", text(&chart), "--count", "14,18", "--cloth", "#aa1515", "--png", text(&png)]);
    let picture = image::open(&png).unwrap().into_rgb8();
    assert!(picture.pixels().any(|pixel| pixel.0 == [0xaa, 0x15, 0x15]), "the red cloth is seen");
}

fn codes(list: &Value) -> Vec<&str> {
    list["threads"].as_array().unwrap().iter().map(|thread| thread["code"].as_str().unwrap()).collect()
}

#[test]
fn the_kit_pools_two_charts_takes_off_what_is_owned_and_adds_up() {
    let (folder, chart) = pool();
    let card = folder.path().join("card.csv");
    let one = json(&["kit", text(&chart), "--shades", text(&card), "--json"]);
    let two = json(&["kit", text(&chart), text(&chart), "--shades", text(&card), "--json"]);
    let of = |value: &Value, place: usize, field: &str| value["threads"][place][field].as_f64().unwrap();
    for place in 0..3 {
        let (single, double) = (of(&one, place, "skeins_used"), of(&two, place, "skeins_used"));
        assert!((double - 2.0 * single).abs() < 0.002, "{single} {double}");
        assert_eq!(two["threads"][place]["charts"], serde_json::json!([0, 1]));
    }
    // Half a skein of rock is owned and two thirds of one are not needed by one chart alone.
    assert_eq!(codes(&one), ["KELP", "ROCK", "WRACK"]);
    assert!(of(&one, 1, "skeins_used") < 0.5);
    assert_eq!(one["threads"][1]["buy"], 0);
    assert_eq!((&one["total"], &one["buy"]), (&"2.30".into(), &2.into()));
    let csv = folder.path().join("list.csv");
    let pdf = folder.path().join("list.pdf");
    let sorter = folder.path().join("sorter.pdf");
    let said = done(&[
        "kit",
        text(&chart),
        "--shades",
        text(&card),
        "--currency",
        "EUR",
        "--csv",
        text(&csv),
        "--pdf",
        text(&pdf),
        "--sorter",
        text(&sorter),
        "--hours-a-week",
        "4",
    ]);
    assert!(
        said.contains("2.30 EUR in all") && said.contains("weeks") && said.contains("boxed set"),
        "{said}"
    );
    assert_eq!(std::fs::read_to_string(&csv).unwrap().lines().count(), 4);
    for path in [pdf, sorter] {
        assert!(std::fs::read(path).unwrap().starts_with(b"%PDF-"));
    }
}

#[test]
fn a_file_of_what_is_owned_goes_before_the_card() {
    let (folder, chart) = pool();
    let (card, owned) = (folder.path().join("card.csv"), folder.path().join("owned.csv"));
    std::fs::write(&owned, "\u{feff}Code;Owned\nKELP;1,5\nROCK;0\n").unwrap();
    let list = json(&["kit", text(&chart), "--shades", text(&card), "--owned", text(&owned), "--json"]);
    let buy: Vec<u64> = (0..3).map(|place| list["threads"][place]["buy"].as_u64().unwrap()).collect();
    assert_eq!(buy, [0, 1, 1]);
    // What it does not use is told, but for a name, which is there for people.
    std::fs::write(&owned, "code,owned,name,price,shelf\nKELP,1,Kelp,2.50,top\n").unwrap();
    let said = String::from_utf8(brede(&["kit", text(&chart), "--owned", text(&owned)]).stderr).unwrap();
    assert!(
        said.contains("warning: the columns `price`, `shelf` of ") && said.contains("--shades"),
        "{said}"
    );
    // Lines as some systems end them; an empty field says nothing.
    std::fs::write(&owned, "code,owned\r\nROCK,\r\nKELP,some\r\n").unwrap();
    assert!(fails(&["kit", text(&chart), "--owned", text(&owned)]).contains("row 3"));
    for (bad, said) in [("code,owned\nKELP,some\n", "row 2"), ("thread,number\nKELP,1\n", "no columns")] {
        std::fs::write(&owned, bad).unwrap();
        let error = fails(&["kit", text(&chart), "--owned", text(&owned)]);
        assert!(error.contains(said), "{error}");
    }
}

#[test]
fn a_budget_is_met_by_the_change_that_is_seen_least() {
    let (folder, chart) = pool();
    let card = folder.path().join("card.csv");
    let list = json(&["kit", text(&chart), "--shades", text(&card), "--budget", "1.15", "--json"]);
    let offers = list["savings"]["offers"].as_array().unwrap();
    assert_eq!(offers.len(), 1, "{offers:?}");
    let change = offers[0]["change"].as_str().unwrap();
    assert!(change == "work KELP in WRACK" || change == "work WRACK in KELP", "{change}");
    assert!(offers[0]["delta_e"].as_f64().unwrap() < 3.0);
    assert_eq!(list["savings"]["after"], "1.15");
}

#[test]
fn a_chart_moves_to_another_card_and_poor_changes_are_told() {
    let (folder, chart) = pool();
    let other = folder.path().join("other.csv");
    std::fs::write(&other, "code,name,colour\nX1,Stone,#8b8479\nX2,Weed,#3c5b2f\nX3,Sun,#ffd000\n").unwrap();
    let moved = folder.path().join("moved.chart.json");
    let output = brede(&["shades", "move", text(&chart), text(&other), "-o", text(&moved)]);
    assert!(output.status.success());
    let chart = Chart::from_json(&std::fs::read(&moved).unwrap()).unwrap();
    let codes: Vec<String> = chart.needles().iter().map(Needle::code).collect();
    assert_eq!(codes[..2], ["X1", "X2"]);
    // The two weeds are alike to within 2 ΔE, so they share one rather than one turning yellow.
    assert_eq!(codes[2], "X2");
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("same as for KELP"), "{said}");
    std::fs::write(&other, "code,name,colour\nX3,Sun,#ffd000\n").unwrap();
    let output = brede(&["shades", "move", text(&moved), text(&other), "-o", text(&moved)]);
    assert!(String::from_utf8(output.stderr).unwrap().contains("more than 5 ΔE from what it was"));
}

#[test]
fn cards_are_shown_and_compared() {
    let (folder, _) = pool();
    let (card, pdf) = (folder.path().join("card.csv"), folder.path().join("card.pdf"));
    let said = done(&["shades", "show", text(&card), "-o", text(&pdf)]);
    assert!(said.contains("4 threads") && said.contains("GULL"), "{said}");
    assert!(std::fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
    let other = folder.path().join("other.csv");
    std::fs::write(&other, "code,name,colour\nX1,Stone,#8a8378\nX2,Weed,#3c5b2f\n").unwrap();
    let pairs = json(&["shades", "compare", text(&card), text(&other), "--json"]);
    assert_eq!(pairs["poor"], 1, "white has no near one: {pairs}");
    let rock = &pairs["pairs"][0];
    assert_eq!((&rock["nearest"], rock["delta_e"].as_f64()), (&"X1".into(), Some(0.0)));
}

#[test]
fn a_card_is_read_off_a_photo() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("photo.png");
    let colours = [[40u8, 90, 130], [170, 60, 50], [90, 130, 60], [200, 180, 150]];
    // Paper of 85 % above, two by two threads below; nothing is tinted, so the colours come back as they are.
    let paper = 237;
    image::RgbImage::from_fn(200, 250, |x, y| {
        let place = (x / 100 + (y.max(50) - 50) / 100 * 2) as usize;
        image::Rgb(if y < 50 { [paper; 3] } else { colours[place] })
    })
    .save(&photo)
    .unwrap();
    let (codes, card, check) =
        (folder.path().join("codes.txt"), folder.path().join("card.csv"), folder.path().join("check.png"));
    std::fs::write(&codes, "S1,Deep water\nS2,Beadlet\nS3,Weed\nS4,Sand\n").unwrap();
    let arguments = [
        "shades",
        "from-photo",
        text(&photo),
        "--columns",
        "2",
        "--rows",
        "2",
        "--paper",
        "10,10,180,30",
        "--grid",
        "0,50,200,200",
        "--codes",
        text(&codes),
        "-o",
        text(&card),
        "--check",
        text(&check),
    ];
    done(&arguments);
    let card = brede::thread::shades::ShadeCard::read("x", &std::fs::read(&card).unwrap()).unwrap();
    for (shade, [r, g, b]) in card.shades().iter().zip(colours) {
        let wanted = brede::ground::colour::Srgb8 { r, g, b };
        assert!(shade.lab.ciede2000(wanted.lab()) < 1.0, "{} {wanted}", shade.colour);
    }
    assert_eq!(card.shades()[1].name, "Beadlet");
    assert_eq!(image::open(&check).unwrap().width(), 200);
    let error = fails(&[
        "shades",
        "from-photo",
        text(&photo),
        "--columns",
        "2",
        "--rows",
        "2",
        "--paper",
        "150,10,180,30",
    ]);
    assert!(error.contains("paper"), "{error}");
    // Burnt-out paper is refused, and light that falls off by 40 % is told, both with how to photograph again.
    let lit = |lamp: &dyn Fn(u32) -> f64| {
        let picture = image::open(&photo).unwrap().into_rgb8();
        let lit = image::RgbImage::from_fn(200, 250, |x, y| {
            let [r, g, b] = picture.get_pixel(x, y).0;
            let light = brede::ground::colour::Srgb8 { r, g, b }.linear().channels.map(|part| part * lamp(x));
            let colour = brede::ground::colour::LinearRgb { channels: light }.srgb8();
            image::Rgb([colour.r, colour.g, colour.b])
        });
        lit.save(&photo).unwrap();
        let output = brede(&arguments);
        lit_back(&photo, paper, colours);
        String::from_utf8(output.stderr).unwrap()
    };
    let said = lit(&|_| 1.2);
    assert!(said.contains("burnt out") && said.contains("hint: "), "{said}");
    let said = lit(&|x| 1.0 - 0.4 * f64::from(x) / 200.0);
    assert!(said.contains("light falls off by about") && said.contains("photograph them again"), "{said}");
    assert!(!lit(&|_| 1.0).contains("light falls off"));
}

/// The photo as it was.
fn lit_back(photo: &Path, paper: u8, colours: [[u8; 3]; 4]) {
    image::RgbImage::from_fn(200, 250, |x, y| {
        let place = (x / 100 + (y.max(50) - 50) / 100 * 2) as usize;
        image::Rgb(if y < 50 { [paper; 3] } else { colours[place] })
    })
    .save(photo)
    .unwrap();
}

#[test]
fn measures_of_thread_change_what_covers_and_bad_ones_are_refused() {
    let (folder, chart) = pool();
    let cover = folder.path().join("cover.toml");
    std::fs::write(&cover, "strand_tex = 12.0\n").unwrap();
    let strands = |arguments: &[&str]| {
        let value = json(&[&["cloth", text(&chart), "--count", "14", "--json"], arguments].concat());
        value["charts"][0]["counts"][0]["strands_that_cover"].as_u64().unwrap()
    };
    assert_eq!(strands(&[]), 2);
    assert!(strands(&["--cover", text(&cover)]) > 2, "thinner thread wants more strands");
    std::fs::write(&cover, "strand_tex = -1.0\n").unwrap();
    assert!(fails(&["cloth", text(&chart), "--cover", text(&cover)]).contains("strand_tex"));
}

#[test]
fn make_warns_of_needles_that_the_cloth_shows_through() {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("weed.png");
    image::RgbImage::from_fn(20, 20, |x, _| image::Rgb([60, 90 + (x / 10 * 90) as u8, 50]))
        .save(&photo)
        .unwrap();
    let out = folder.path().join("out");
    let make = |strands: &str| {
        let arguments = ["make", text(&photo), "--columns", "20", "--colours", "2", "--cloth", "#aa1515"];
        let output = brede(&[&arguments[..], &["--strands", strands, "--out", text(&out)]].concat());
        assert!(output.status.success());
        String::from_utf8(output.stderr).unwrap()
    };
    let said = make("1");
    assert!(said.contains("the cloth shows through") && said.contains("2 strands"), "{said}");
    assert!(!make("2").contains("shows through"));
}

#[test]
fn blends_bring_the_chart_nearer_to_the_picture_and_stand_in_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let (photo, card, out) =
        (folder.path().join("water.png"), folder.path().join("card.csv"), folder.path().join("out"));
    // Three threads of the card, and a colour midway in light between two of them.
    let stripes = [[192, 48, 32], [64, 106, 144], [81, 126, 149], [95, 143, 154]];
    image::RgbImage::from_fn(24, 24, |x, _| image::Rgb(stripes[x as usize / 6])).save(&photo).unwrap();
    std::fs::write(&card, "code,name,colour\nA,Deep,#406a90\nB,Shoal,#5f8f9a\nC,Beadlet,#c03020\n").unwrap();
    let mut make = vec!["make", text(&photo), "--shades", text(&card), "--columns", "24", "--colours", "3"];
    make.extend(["--out", text(&out), "--json"]);
    let mean = |arguments: &[&str]| json(&[&make, arguments].concat())["mean_delta_e"].as_f64().unwrap();
    let (plain, blended) = (mean(&[]), mean(&["--blends", "1"]));
    assert!(blended < plain / 2.0, "{blended} {plain}");
    let chart = Chart::from_json(&std::fs::read(out.join("water.chart.json")).unwrap()).unwrap();
    assert!(
        chart.needles().iter().any(|needle| needle.code() == "A + B" && needle.strands_text() == "1 + 1")
    );
    let list = std::fs::read_to_string(out.join("water.threads.csv")).unwrap();
    assert_eq!(list.lines().count(), 4, "{list}");
    let error = fails(&[&make, &["--blends", "--strands", "1"][..]].concat());
    assert!(error.contains("one strand"), "{error}");
}

#[test]
fn half_crosses_take_half_the_thread_and_the_key_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let (photo, card, out) =
        (folder.path().join("sand.png"), folder.path().join("card.csv"), folder.path().join("out"));
    image::RgbImage::from_fn(40, 40, |x, _| image::Rgb(if x < 20 { [224, 208, 168] } else { [48, 80, 96] }))
        .save(&photo)
        .unwrap();
    std::fs::write(&card, "code,name,colour\nS,Sand,#e0d0a8\nW,Water,#305060\n").unwrap();
    let mut make = vec!["make", text(&photo), "--shades", text(&card), "--columns", "40", "--colours", "2"];
    make.extend(["--out", text(&out), "-q"]);
    let metres = |arguments: &[&str]| {
        done(&[&make, arguments].concat());
        let chart = out.join("sand.chart.json");
        let list = json(&["kit", text(&chart), "--json", "--waste", "0", "--start", "0mm", "--end", "0mm"]);
        let of = |code: &str| {
            let threads = list["threads"].as_array().unwrap().clone();
            threads.iter().find(|thread| thread["code"] == code).unwrap()["strand_metres"].as_f64().unwrap()
        };
        [of("S"), of("W"), list["crosses"].as_f64().unwrap()]
    };
    let full = metres(&[]);
    let half = metres(&["--half-cross", "S"]);
    // A half cross takes one leg and one side behind, a full one two of each.
    assert!((half[0] / full[0] - 0.5).abs() < 0.005, "{half:?} {full:?}");
    assert!((half[1] - full[1]).abs() < 1e-9);
    assert_eq!([full[2], half[2]], [1600.0, 1200.0]);
    let chart = Chart::from_json(&std::fs::read(out.join("sand.chart.json")).unwrap()).unwrap();
    let sand = chart.needles().iter().find(|needle| needle.code() == "S").unwrap();
    assert_eq!(sand.stitch, StitchKind::HalfCross);
    let options = brede::printing::sheet::SheetOptions::default();
    let laid = brede::printing::sheet::lay_out(
        &chart,
        &[],
        image::RgbImage::new(40, 40),
        &options,
        &brede::ground::progress::Silent,
    )
    .unwrap();
    let key = format!("{:?}", laid.sheet.pages[1].shapes);
    assert!(key.contains("Sand, half cross /") && !key.contains("Water, half"), "{key}");
    assert!(fails(&[&make, &["--half-cross", "X"][..]].concat()).contains("no thread `X`"));
    // A thread that the picture does not call for is told, and used where that is asked for.
    std::fs::write(&card, "code,name,colour\nS,Sand,#e0d0a8\nW,Water,#305060\nR,Rust,#a04020\n").unwrap();
    let said_of = |arguments: &[&str]| {
        let loud: Vec<&str> = make.iter().copied().filter(|argument| *argument != "-q").collect();
        let output = brede(&[&loud, arguments].concat());
        assert!(output.status.success());
        String::from_utf8(output.stderr).unwrap()
    };
    let said = said_of(&["--half-cross", "S,r"]);
    assert!(said.contains("in half crosses with r: ") && said.contains("give --use r too"), "{said}");
    let said = said_of(&["--half-cross", "S"]);
    assert!(!said.contains("half crosses with"), "{said}");
}

#[test]
fn orders_and_bobbin_labels_are_printed_and_a_wrong_thread_is_told() {
    let (folder, chart) = pool();
    let (order, labels) = (folder.path().join("order.pdf"), folder.path().join("labels.pdf"));
    done(&["kit", text(&chart), "--order", text(&order), "--bobbins", text(&labels)]);
    let (one, all) = (folder.path().join("one.pdf"), std::fs::read(&order).unwrap());
    done(&["kit", text(&chart), "--order", text(&one), "--only", "KELP"]);
    let one = std::fs::read(&one).unwrap();
    for pdf in [&all, &one, &std::fs::read(&labels).unwrap()] {
        assert!(pdf.starts_with(b"%PDF-") && pdf.trim_ascii_end().ends_with(b"%%EOF"));
    }
    assert!(one.len() < all.len());
    let said = fails(&["kit", text(&chart), "--order", text(&order), "--only", "SEAL"]);
    assert!(said.contains("the chart has no thread `SEAL`"), "{said}");
    let said = fails(&["kit", text(&chart), text(&chart), "--order", text(&order)]);
    assert!(said.contains("a working order is for one chart, and 2 were given"), "{said}");
}

#[test]
fn an_outline_has_its_walk_among_the_order_pages_and_many_pages_are_warned_of() {
    let (folder, chart) = pool();
    let (card, order) = (folder.path().join("card.csv"), folder.path().join("order.pdf"));
    let outline = [
        "outline",
        "frame",
        "--rectangle",
        "3,3,12,12",
        "--thread",
        "1 of GULL",
        "--stitch",
        "double-running",
    ];
    done(&[&["mark", text(&chart)], &outline[..], &["--shades", text(&card)]].concat());
    let list = json(&["kit", text(&chart), "--json"]);
    assert_eq!(codes(&list), ["GULL", "KELP", "ROCK", "WRACK"]);
    for (only, pages) in [("GULL", 2), ("ROCK,GULL", 3)] {
        done(&["kit", text(&chart), "--order", text(&order), "--only", only]);
        assert_eq!(lopdf::Document::load(&order).unwrap().get_pages().len(), pages, "{only}");
    }
    let said = brede(&["kit", text(&chart), "--order", text(&order)]).stderr;
    assert!(!String::from_utf8(said).unwrap().contains("--only"));
    // Sixty needles all over a chart that has no room on one page.
    let (_other, plain) = pool();
    let plain = Chart::from_json(&std::fs::read(&plain).unwrap()).unwrap();
    let needles = (0..60).map(|index| {
        let mut needle = plain.needles()[0].clone();
        needle.threads[0].code = format!("N{index}");
        needle.symbol = brede::printing::symbols::SymbolId::all().nth(index).unwrap().id().into();
        needle
    });
    let size = GridSize::new(90, 60).unwrap();
    let cells = (0..5400).map(|at| Cell::worked(at * 7 % 60)).collect();
    let wide = Chart::new("Wide".into(), size, Cloth::default(), needles.collect(), cells).unwrap();
    std::fs::write(&chart, wide.to_json()).unwrap();
    let order_of = |arguments: &[&str]| {
        let output = brede(&[&["kit", text(&chart), "--order", text(&order)], arguments].concat());
        assert!(output.status.success());
        // Pages are objects of their own in the file.
        let pdf = lopdf::Document::load(&order).unwrap();
        (String::from_utf8(output.stderr).unwrap(), pdf.get_pages().len())
    };
    let (said, pages) = order_of(&[]);
    assert!(
        said.starts_with("warning: the working order shows ") && said.contains("of 60 threads"),
        "{said}"
    );
    assert!(said.contains("no room on 40 pages") && said.contains("--only N"), "{said}");
    assert!((30..=42).contains(&pages), "{pages}");
    let (said, more) = order_of(&["--order-pages", "2000"]);
    assert!(said.is_empty() && more > pages + 20, "{said} {more}");
    let (said, few) = order_of(&["--only", "n59", "--order-pages", "1"]);
    assert!(few == 2, "{few}");
    assert!(
        said.contains("of N59 alone has no room on 1 page: only its beginning is shown; allow more"),
        "{said}"
    );
    let (said, _) = order_of(&["--order-pages", "1"]);
    assert!(
        said.contains("of N0 alone has no room on 1 page") && said.contains("nothing of 59 more threads"),
        "{said}"
    );
}

#[test]
fn a_reel_of_metallic_is_told_and_bought_by_its_own_length_and_unknown_columns_are_told() {
    let (folder, chart) = pool();
    let card = folder.path().join("reels.csv");
    let kit = |columns: &str, row: &str| {
        let text_of = format!("code,name,colour,{columns}\nkelp,Gold,#c0a040,{row}\n");
        std::fs::write(&card, text_of).unwrap();
        let output = brede(&["kit", text(&chart), "--shades", text(&card), "--json"]);
        assert!(output.status.success());
        let list: Value = serde_json::from_slice(&output.stdout).unwrap();
        (list["threads"][0].clone(), String::from_utf8(output.stderr).unwrap())
    };
    let (cotton, said) = kit("length_m,kind", "8,cotton");
    assert!(!said.contains("not known"), "{said}");
    let (reel, said) = kit("length_m,kind,Shelf", "20,metallic,top");
    assert!(
        said.contains("the column `Shelf` of ") && said.contains("reels.csv is not known and left out"),
        "{said}"
    );
    let used = |thread: &Value| thread["skeins_used"].as_f64().unwrap();
    // By hand: a skein of 8 m in six strands is 48 m, a reel of 20 m in one strand 20 m.
    assert!((used(&reel) / used(&cotton) - 48.0 / 20.0).abs() < 0.02, "{reel} {cotton}");
    assert_eq!((&reel["skein_m"], &reel["skein_strands"]), (&20.0.into(), &1.into()));
    assert!(reel["note"].as_str().unwrap().contains("20 m of 1 strand"), "{reel}");
    let (three, _) = kit("length_m,kind,strands", "20,metallic,3");
    assert!((used(&three) / used(&cotton) - 48.0 / 60.0).abs() < 0.02, "{three}");
}

#[test]
fn cloth_that_is_cut_as_it_is_named_is_large_enough() {
    let (_folder, chart) = pool();
    for count in ["11", "14", "16", "18", "20", "22", "28/2", "32/2"] {
        let table = done(&["cloth", text(&chart), "--count", count]);
        let row = table.lines().find(|line| line.split_whitespace().next() == Some(count)).unwrap();
        let cells: Vec<&str> = row.split_whitespace().collect();
        // count, finished w x h, cut w x h.
        let piece = format!("{}x{}cm", cells[4], cells[6]);
        let held = json(&["cloth", text(&chart), "--count", count, "--have", &piece, "--json"]);
        assert_eq!(held["charts"][0]["counts"][0]["fits_cloth"], "upright", "{count}: {piece}");
    }
    let frames = |frame: &str| done(&["cloth", text(&chart), "--count", "14", "--frame", frame]);
    assert!(frames("8x7cm").contains("fits") && !frames("8x7cm").contains("if round"));
    assert!(frames("8cm").contains("not if round"));
}

#[test]
fn what_cloth_suggests_is_not_warned_of_by_make() {
    let folder = tempfile::tempdir().unwrap();
    let (photo, out) = (folder.path().join("night.png"), folder.path().join("out"));
    image::RgbImage::from_fn(40, 40, |x, y| image::Rgb([x as u8, y as u8, 60])).save(&photo).unwrap();
    let make = |count: &str, strands: &str| {
        let arguments = ["make", text(&photo), "--columns", "40", "--colours", "4", "--cloth", "#ffffff"];
        let more = ["--count", count, "--strands", strands, "--out", text(&out), "--json"];
        json(&[&arguments[..], &more].concat())["warnings"].to_string()
    };
    // Two strands leave 11 count open, and white cloth shows through dark thread; so does one strand on 22.
    for (count, few) in [("11", "2"), ("22", "1")] {
        assert!(make(count, few).contains("shows through"), "{count}");
        let chart = out.join("night.chart.json");
        let value = json(&["cloth", text(&chart), "--count", count, "--json"]);
        let suggested = value["charts"][0]["counts"][0]["strands_that_cover"].to_string();
        assert!(!make(count, &suggested).contains("shows through"), "{suggested} on {count}");
    }
}

#[test]
fn several_charts_move_together_within_what_the_box_holds() {
    let (folder, chart) = pool();
    let second = folder.path().join("second.chart.json");
    std::fs::copy(&chart, &second).unwrap();
    let card = folder.path().join("box.csv");
    // Of each green there is as much as one thread of one chart takes (0.15 of a skein), and there are four.
    std::fs::write(
        &card,
        "code,name,colour,owned\nG1,Stone,#8b8479,3\nG2,Weed,#3c5b2f,0.2\nG3,Moss,#3f5e32,0.2\nG4,Fern,#3a572b,0.2\n\
         G5,Ivy,#43643a,0.2\n",
    )
    .unwrap();
    let out = folder.path().join("from-box");
    let moved =
        json(&["shades", "move", text(&chart), text(&second), text(&card), "--out", text(&out), "--json"]);
    assert_eq!(moved["short"], serde_json::json!([]), "{moved}");
    let (one, two) = (out.join("pool.chart.json"), out.join("second.chart.json"));
    let list = json(&["kit", text(&one), text(&two), "--shades", text(&card), "--json"]);
    assert_eq!(list["buy"], 0, "{list}");
    // Where anything may be asked for, both take the nearest, which is more than there is.
    let other = folder.path().join("any");
    let any = [
        "shades",
        "move",
        text(&chart),
        text(&second),
        text(&card),
        "--out",
        text(&other),
        "--supply",
        "any",
    ];
    done(&any);
    let (one, two) = (other.join("pool.chart.json"), other.join("second.chart.json"));
    let list = json(&["kit", text(&one), text(&two), "--shades", text(&card), "--json"]);
    assert!(list["buy"].as_u64().unwrap() > 0, "{list}");
    let said = fails(&["shades", "move", text(&chart), text(&chart), text(&card), "--out", text(&other)]);
    assert!(said.contains("two of them would be called pool.chart.json"), "{said}");
    let said = fails(&["shades", "move", text(&chart), text(&second), text(&card), "-o", text(&one)]);
    assert!(said.contains("--out"), "{said}");
    // What the box has not is told.
    std::fs::write(&card, "code,name,colour,owned\nG1,Stone,#8b8479,0.1\n").unwrap();
    let alone = folder.path().join("s.chart.json");
    let short = ["shades", "move", text(&chart), text(&card), "--supply", "owned", "-o", text(&alone)];
    let said = String::from_utf8(brede(&short).stderr).unwrap();
    assert!(said.contains("more skeins are asked for than are owned of G1 Stone"), "{said}");
}

#[test]
fn print_writes_the_thread_list_of_the_chart_as_it_is_now() {
    let (folder, chart) = pool();
    let (card, pdf) = (folder.path().join("card.csv"), folder.path().join("pool.pdf"));
    let list = || std::fs::read_to_string(folder.path().join("pool.threads.csv")).unwrap();
    done(&["print", text(&chart), "-o", text(&pdf)]);
    assert_eq!(list().lines().count(), 1 + 3);
    let mark =
        ["mark", text(&chart), "outline", "frame", "--rectangle", "3,3,12,12", "--thread", "1 of GULL"];
    done(&[&mark[..], &["--shades", text(&card)]].concat());
    // An area in one strand: its thread is then worked with one and two.
    let area = ["mark", text(&chart), "stitches", "thin", "--rectangle", "20,3,30,12", "--strands", "1"];
    done(&area);
    done(&["print", text(&chart), "-o", text(&pdf)]);
    let list = list();
    assert!(list.lines().any(|line| line.starts_with("GULL,")), "{list}");
    assert!(list.lines().any(|line| line.contains(",1 and 2,")), "{list}");
}

/// A chart may name a symbol that the set does not know, or none: print gives it one, and so must the cards.
#[test]
fn cards_show_the_symbols_that_print_gives() {
    let (folder, chart) = pool();
    let path = |name: &str| folder.path().join(name);
    let document = std::fs::read_to_string(&chart).unwrap();
    let symbol = brede::printing::symbols::SymbolId::all().nth(1).unwrap();
    assert!(document.contains(symbol.id()));
    std::fs::write(&chart, document.replace(symbol.id(), "no-such-figure")).unwrap();
    let kept = path("kept.chart.json");
    done(&["print", text(&chart), "-o", text(&path("pages.pdf")), "--keep", text(&kept)]);
    let sorter = |chart: &Path, name: &str| {
        let arguments = ["kit", text(chart), "--sorter", text(&path(name))].map(str::to_owned);
        let mut command = Command::new(env!("CARGO_BIN_EXE_brede"));
        let output = command.args(arguments).env("SOURCE_DATE_EPOCH", "1700000000").output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        symbol_font(&path(name))
    };
    // The rest may differ: the cards carry the stamps of two charts.
    assert!(sorter(&chart, "one.pdf") == sorter(&kept, "two.pdf"));
}

/// The font with the symbols that a PDF shows, and no others.
fn symbol_font(pdf: &Path) -> Vec<u8> {
    let document = lopdf::Document::load(pdf).unwrap();
    let file = |object: &lopdf::Object| {
        let font = object.as_dict().ok()?;
        let name = font.get(b"FontName").and_then(lopdf::Object::as_name).ok()?;
        let file = font.get(b"FontFile2").and_then(lopdf::Object::as_reference).ok()?;
        String::from_utf8_lossy(name).contains("Symbols").then_some(file)
    };
    let files: Vec<_> = document.objects.values().filter_map(file).collect();
    assert_eq!(files.len(), 1);
    document.get_object(files[0]).unwrap().as_stream().unwrap().decompressed_content().unwrap()
}

#[test]
fn a_swatch_makes_the_file_that_cover_reads() {
    let (folder, chart) = pool();
    let path = |name: &str| folder.path().join(name);
    // One strand 0.6 mm wide on 14 count, drawn from geometry at 23.7 pixels a cell, saved as JPEG under a lamp that
    // falls off by a third; bare cloth to the left of it, a bit of skein above.
    let (side, cell) = (23.7, 25.4 / 14.0);
    let half = 0.6 / cell / std::f64::consts::SQRT_2;
    let photo = image::RgbImage::from_fn(24 * 28, 24 * 24, |x, y| {
        let [u, v] = [x, y].map(|at| ((f64::from(at) + 0.5) / side).fract());
        let on_leg = (u - v).abs().min((u + v - 1.0).abs()) < half;
        let is_thread = x >= 96 && (y < 48 || on_leg);
        let lamp = 1.0 - f64::from(x) / 2000.0;
        let colour = if is_thread { [0x2a, 0x5a, 0x9a] } else { [0xf4, 0xec, 0xd8] };
        image::Rgb(colour.map(|channel: u8| (f64::from(channel) * lamp) as u8))
    });
    photo.save(path("swatch.jpg")).unwrap();
    let (swatch, mine) = (path("swatch.jpg"), path("mine.toml"));
    let colours = ["--cloth", "#f4ecd8", "--thread", "#2a5a9a"];
    let places = ["--cloth-at", "4,100,80,400", "--thread-at", "110,4,500,36"];
    for known in [colours, places] {
        let arguments = ["cloth", "--calibrate", text(&swatch), "--count", "14", "--strands", "1"];
        let part = ["--part", "96,48,576,528", "-o", text(&mine)];
        let said = done(&[arguments.as_slice(), &part, &known].concat());
        assert!(said.contains("% hidden, a strand lies 0."), "{said}");
        let model =
            brede::thread::cloth::CoverModel::from_toml(&std::fs::read_to_string(&mine).unwrap()).unwrap();
        assert!((model.width_mm(1) - 0.6).abs() < 0.03, "{}", model.width_mm(1));
    }
    done(&["cloth", text(&chart), "--cover", text(&mine)]);
    let measured = done(&["cloth", "--measured", "75%", "--count", "14", "--strands", "1"]);
    assert!(measured.contains("flattening = 2.99"), "{measured}");
    let holes = done(&["cloth", "--measured", "97", "--count", "14", "--holes"]);
    assert!(holes.contains("bare_holes = 0.0300"), "{holes}");
    let said = fails(&["cloth", "--measured", "75"]);
    assert!(said.contains("the count of the swatch's cloth is not said"), "{said}");
    let said = fails(&["cloth", "--calibrate", text(&swatch), "--count", "14", "--cloth", "#f4ecd8"]);
    assert!(said.contains("the colour of the thread is not said"), "{said}");
}
