#![allow(clippy::unwrap_used)]
use super::*;
use crate::ground::advice::Advice;

fn read(text: &str) -> Result<ShadeCard, ShadesError> {
    ShadeCard::read("test", text.as_bytes())
}

#[test]
fn a_spreadsheet_card_with_mark_semicolons_and_crlf_is_read() {
    let card = read(
        "\u{feff}Code;Name;Colour;price;owned\r\nW1;\"Foam; white\";#F8F8F4;1,15;2\r\n\r\nW2;Kelp;#334422;;\r\n",
    )
    .unwrap();
    assert_eq!(card.shades().len(), 2);
    let foam = &card.shades()[0];
    assert_eq!((foam.code.as_str(), foam.name.as_str()), ("W1", "Foam; white"));
    assert_eq!(foam.price, Some("1.15".parse().unwrap()));
    assert_eq!(foam.owned, Some(2.into()));
    assert_eq!(card.position("W2"), Some(1));
    assert_eq!(card.shades()[1].price, None);
}

#[test]
fn lab_columns_serve_instead_of_a_colour() {
    let card = read("code\tname\tL\ta\tb\nx\tMid grey\t53.585\t0\t0\n").unwrap();
    // CIE 1976: L* 53.585 is the grey #808080 (tests/checks/greys_lstar_contrast.csv).
    assert_eq!(card.shades()[0].colour.to_string(), "#808080");
}

#[test]
fn faults_name_the_row_and_the_column() {
    let cases = [
        ("", "no shade"),
        ("code,name,colour\n", "no shade"),
        ("code,name\nx,y\n", "no column `colour`"),
        ("code,name,colour,code\nx,y,#000000,z\n", "twice"),
        ("code,name,colour\nx,y,#00000\n", "row 2, column `colour`"),
        ("code,name,colour\nx,y,\n", "row 2, column `colour`"),
        ("code,name,colour\nx,y,#000000\n,y,#000000\n", "row 3, column `code`"),
        ("code,name,colour\nx,y,#000000\nx,z,#000001\n", "as row 2 has"),
        ("code,name,colour\nS 01,y,#000000\ns01,z,#000001\n", "as row 2 has (`S 01`: capitals and spaces"),
        ("code,name,colour,strands\nx,y,#000000,0\n", "column `strands`"),
        ("code,name,colour,strands\nx,y,#000000,six\n", "column `strands`"),
        ("code,name,colour,price\nx,y,#000000,NaN\n", "column `price`"),
        ("code,name,colour,price\nx,y,#000000,-1\n", "column `price`"),
        ("code,name,colour,length_m\nx,y,#000000,1e308\n", "column `length_m`"),
        ("code,name,colour,length_m\nx,y,#000000,0\n", "column `length_m`"),
        ("code,name,L,a,b\nx,y,NaN,0,0\n", "column `l`"),
        ("code,name,L,a,b\nx,y,50,1e308,0\n", "column `a`"),
    ];
    for (text, part) in cases {
        let error = read(text).unwrap_err();
        assert!(error.to_string().contains(part), "{text:?}: {error}");
        let colour = text.starts_with("code,name,colour\n") && part.contains("column `colour`");
        assert_eq!(error.advice() == Advice::WriteColour, colour, "{error:?}");
    }
    let error = ShadeCard::read("test", b"code,name,colour\nx,\xff,#000000\n").unwrap_err();
    assert!(error.to_string().contains("row 2"), "{error}");
}

#[test]
fn a_card_of_over_ten_thousand_shades_is_refused() {
    let mut text = String::from("code,name,colour\n");
    for i in 0..=MAX_SHADES {
        text.push_str(&format!("c{i},n,#000000\n"));
    }
    assert!(matches!(read(&text), Err(ShadesError::TooMany)));
}

#[test]
fn the_demonstration_card_has_the_267_names_of_iscc_nbs() {
    // NBS Circular 553 (Kelly & Judd 1955): 267 level-3 names.
    let card = ShadeCard::demonstration();
    assert_eq!(card.shades().len(), 267);
    assert!(card.shades().iter().any(|shade| shade.name == "Vivid Pink"));
}

#[test]
fn columns_that_are_not_known_are_told_and_empty_ones_are_not() {
    let card = read("code,name,colour,lenght_m,,Shelf\nx,y,#000000,8,,2\n").unwrap();
    let columns = vec!["lenght_m".to_owned(), "Shelf".to_owned()];
    assert_eq!(card.warnings(), [CardWarning::UnknownColumns { columns }]);
    let all = "code,name,colour,L,a,b,price,length_m,strands,owned,kind\nx,y,#000000,,,,1,20,1,2,metallic\n";
    let card = read(all).unwrap();
    assert!(card.warnings().is_empty() && ShadeCard::demonstration().warnings().is_empty());
    assert_eq!(card.shades()[0].strands, Some(1));
}

#[test]
fn a_shade_is_found_by_its_code_whatever_its_capitals_and_spaces() {
    let card = read("code,name,colour\nS 01,Foam,#f8f8f4\n").unwrap();
    assert_eq!((card.position("s01"), card.position(" S01 "), card.position("S1")), (Some(0), Some(0), None));
}
