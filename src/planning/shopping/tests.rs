#![allow(clippy::unwrap_used)]
use proptest::prelude::*;

use super::super::route::tests::chart;
use super::*;
use crate::ground::progress::Silent;
use crate::thread::cloth::StitchKind;

fn project(cells: &[u8]) -> Project {
    Project::new(chart(20, cells, StitchKind::FullCross), Vec::new(), &Handling::default(), &Silent).unwrap()
}

fn item(skeins_exact: f64, owned: &str, price: Option<&str>) -> Item {
    Item {
        code: "A".into(),
        name: "A".into(),
        colour: Srgb8::BLACK,
        charts: vec![0],
        stitches: 0,
        backstitches: 0,
        strand_metres: 0.0,
        skeins_exact,
        owned: owned.parse().unwrap(),
        price: price.map(|price| price.parse().unwrap()),
        skein: Skein::of(None, None, None),
    }
}

#[test]
fn what_is_owned_is_taken_off_before_rounding() {
    // By hand: 2.4 skeins needed and half a one owned are 1.9 to buy, so 2.
    assert_eq!(item(2.4, "0.5", None).to_buy(), 2);
    assert_eq!(item(2.4, "1.4", None).to_buy(), 1);
    assert_eq!(item(2.4, "3", None).to_buy(), 0);
    assert_eq!(item(0.01, "0", None).to_buy(), 1);
    assert_eq!((item(2.4, "3", None).skeins(), item(0.01, "0", None).skeins()), (3, 1));
}

#[test]
fn prices_are_decimals_and_lose_no_digit() {
    // 0.1 + 0.2 in binary floating point is not 0.3; 3 x 0.10 here is.
    assert_eq!(item(3.0, "0", Some("0.10")).cost().unwrap().to_string(), "0.30");
    let mut list = ShoppingList { items: Vec::new(), warnings: Vec::new() };
    list.items = vec![item(1.0, "0", Some("0.1")), item(1.0, "0", Some("0.2")), item(1.0, "0", None)];
    assert_eq!(list.total().to_string(), "0.3");
    assert_eq!(list.unpriced(), ["A"]);
    // Large amounts of a currency with small units, to the last digit.
    assert_eq!(item(7.0, "0", Some("999999.99")).cost().unwrap().to_string(), "6999999.93");
}

#[test]
fn less_than_a_tenth_left_is_nearly_used_up() {
    assert!(item(0.95, "0", None).nearly_used_up() && !item(0.85, "0", None).nearly_used_up());
    assert!(item(9.2, "0", None).nearly_used_up() && !item(9.2, "11", None).nearly_used_up());
    assert!(item(2.0, "0", None).nearly_used_up(), "nothing is left");
}

#[test]
fn the_forecast_counts_crosses_and_begun_threads() {
    let project = project(&[1; 20 * 10]);
    let needlefuls = project.needlefuls as f64;
    assert!(needlefuls >= 4.0, "{needlefuls}");
    let forecast = forecast(&[project], 100.0, Some(4.0));
    // 200 crosses at 100 an hour: a fifth less to a third more, and half a minute to a minute a thread.
    let least = 1.6 + needlefuls / 120.0;
    assert!((forecast.hours[0] - least).abs() < 1e-9);
    assert!((forecast.hours[1] - (2.0 / 0.75 + needlefuls / 60.0)).abs() < 1e-9);
    assert!((forecast.weeks.unwrap()[0] - least / 4.0).abs() < 1e-9);
}

#[test]
fn scattered_stitches_raise_both_ends_of_the_forecast() {
    // A hundred crosses beyond reach of each other, and a hundred in a block.
    let lone: Vec<u8> = (0..200 * 200).map(|at| u8::from(at % 200 % 20 == 0 && at / 200 % 20 == 0)).collect();
    let scattered =
        Project::new(chart(200, &lone, StitchKind::FullCross), Vec::new(), &Handling::default(), &Silent)
            .unwrap();
    assert_eq!(scattered.needlefuls, 100);
    let [block, scattered] =
        [project(&[1; 20 * 5]), scattered].map(|project| forecast(&[project], 100.0, None).hours);
    // Common practice, no source: a thread begun and ended is half a minute at the least, 100 of them 50 minutes.
    assert!((scattered[0] - (0.8 + 100.0 / 120.0)).abs() < 1e-9, "{scattered:?}");
    assert!(scattered[0] > 1.9 * block[0] && scattered[1] > 2.0 * block[1], "{scattered:?} {block:?}");
}

#[test]
fn codes_match_whatever_their_capitals_and_spaces() {
    // Two charts and a drawer, each with a hand of its own.
    let one = project(&[1; 20 * 5]);
    let mut needles = one.chart.needles().to_vec();
    needles[0].threads[0].code = "n 1".into();
    let cells = one.chart.cells().to_vec();
    let other = Chart::new("u".into(), one.chart.size(), one.chart.cloth, needles, cells).unwrap();
    let other = Project::new(other, Vec::new(), &Handling::default(), &Silent).unwrap();
    let drawer = Drawer::from([(" N1".to_owned(), Stock { owned: Some(5.into()), ..Stock::default() })]);
    let list = pool(&[one, other], &drawer);
    assert_eq!(list.items.len(), 1, "{list:?}");
    assert_eq!((list.items[0].charts.as_slice(), list.items[0].to_buy()), ([0, 1].as_slice(), 0));
}

#[test]
fn what_a_card_says_of_a_reel_counts_before_what_the_chart_remembers() {
    let project = [project(&[1; 20 * 10])];
    let card = |row: &str| {
        let text = format!("code,name,colour,length_m,strands,kind\nN1,Silver,#c0c0c0,{row}\n");
        drawer_of(&ShadeCard::read("card", text.as_bytes()).unwrap())
    };
    let used = |row: &str| pool(&project, &card(row)).items[0].skeins_exact;
    let cotton = used("8,,cotton");
    // By hand: 8 m of six strands are 48 m, 20 m on a reel 20 m, 20 m of three strands 60 m.
    assert!((used("20,,metallic") / cotton - 48.0 / 20.0).abs() < 1e-9);
    assert!((used("20,3,metallic") / cotton - 48.0 / 60.0).abs() < 1e-9);
    let csv = shopping_csv(&pool(&project, &card("20,,metallic")), &project);
    assert!(csv.contains("a skein is taken as 20 m of 1 strand"), "{csv}");
}

#[test]
fn a_shared_thread_is_listed_once_and_formulas_are_not_written_raw() {
    let mut second = chart(20, &[2; 20 * 5], StitchKind::FullCross);
    second.title = "=evil()".into();
    let projects =
        [project(&[2; 20 * 5]), Project::new(second, Vec::new(), &Handling::default(), &Silent).unwrap()];
    let drawer = Drawer::from([("N2".to_owned(), Stock { price: Some(Decimal::ONE), ..Stock::default() })]);
    let list = pool(&projects, &drawer);
    let shared: Vec<&Item> = list.items.iter().filter(|item| item.charts.len() == 2).collect();
    assert_eq!(shared.len(), 1, "N1 is a needle of both, but nothing is worked with it");
    let csv = shopping_csv(&list, &projects);
    assert_eq!(csv.lines().count(), 1 + list.items.len());
    assert!(csv.contains("t; =evil()") && !csv.contains(",=evil()"), "{csv}");
}

#[test]
fn one_code_of_two_colours_is_told() {
    let one = project(&[1; 20 * 5]);
    let mut other = one.clone();
    let mut needles = other.chart.needles().to_vec();
    needles[0].threads[0].colour = "#ff0000".parse().unwrap();
    let cells = other.chart.cells().to_vec();
    other.chart = Chart::new("u".into(), one.chart.size(), one.chart.cloth, needles, cells).unwrap();
    assert_eq!(pool(&[one, other], &Drawer::new()).warnings.len(), 1);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn pooled_is_never_more_skeins_than_apart_and_never_fewer_metres(
        charts in prop::collection::vec(prop::collection::vec(0u8..=3, 20 * 15), 1..5),
        owned in prop::collection::vec(0u32..40, 3),
    ) {
        let projects: Vec<Project> = charts.iter().map(|cells| project(cells)).collect();
        let drawer: Drawer = (1..).zip(&owned).map(|(index, &tenths)| {
            let owned = Some(Decimal::new(i64::from(tenths), 1));
            (format!("N{index}"), Stock { owned, ..Stock::default() })
        }).collect();
        let pooled = pool(&projects, &drawer);
        let apart: Vec<ShoppingList> =
            projects.iter().map(|project| pool(std::slice::from_ref(project), &Drawer::new())).collect();
        for item in &pooled.items {
            let each = || apart.iter().flat_map(|list| &list.items).filter(|other| other.code == item.code);
            prop_assert!(item.skeins() <= each().map(Item::skeins).sum::<u64>());
            let metres: f64 = each().map(|other| other.strand_metres).sum();
            prop_assert!((item.strand_metres - metres).abs() < 1e-9);
            // What is at hand in the end is enough, and not a whole skein too much.
            let have = item.owned.to_f64().unwrap() + item.to_buy() as f64;
            prop_assert!(have >= item.skeins_exact - 1e-6);
            prop_assert!(item.to_buy() == 0 || have < item.skeins_exact + 1.0 + 1e-6);
        }
    }
}

#[test]
fn the_list_is_in_the_order_of_its_codes_with_numbers_as_numbers() {
    let mut codes = ["K10", "K2", "A7", "12", "9", "K002", "K2B", "K", "é3"];
    codes.sort_by(|one, other| by_number(one).cmp(&by_number(other)));
    assert_eq!(codes, ["9", "12", "A7", "K", "K002", "K2", "K2B", "K10", "é3"]);
}
