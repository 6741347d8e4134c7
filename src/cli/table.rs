//! Plain tables for a terminal: columns set apart by two spaces, figures flush right.

/// The rows under their headings, with a line of dashes between. Headings are parted by `|`; one that begins with `>`
/// stands over a column that is flush right.
pub(super) fn table(headings: &str, rows: &[Vec<String>]) -> String {
    let wide = |text: &str| text.chars().count();
    let heading = |text| str::strip_prefix(text, '>').map_or((text, false), |text| (text, true));
    let headings: Vec<(&str, bool)> = headings.split('|').map(heading).collect();
    let widths: Vec<usize> = headings
        .iter()
        .enumerate()
        .map(|(column, (heading, _))| {
            let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| wide(cell));
            cells.chain([wide(heading)]).max().unwrap_or(0)
        })
        .collect();
    let mut text = String::new();
    let mut line = |cells: &mut dyn Iterator<Item = &str>| {
        let mut line = String::new();
        for ((cell, &width), (_, is_right)) in cells.zip(&widths).zip(&headings) {
            if !line.is_empty() || width == 0 {
                line.push_str("  ");
            }
            let pad = " ".repeat(width - wide(cell));
            line.extend(if *is_right { [&pad, cell] } else { [cell, &pad] });
        }
        text.push_str(line.trim_end());
        text.push('\n');
    };
    line(&mut headings.iter().map(|(heading, _)| *heading));
    let dashes: Vec<String> = widths.iter().map(|&width| "-".repeat(width)).collect();
    line(&mut dashes.iter().map(String::as_str));
    for row in rows {
        line(&mut row.iter().map(String::as_str));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_stand_under_each_other() {
        let rows = vec![vec!["a".to_owned(), "1".to_owned()], vec!["été".to_owned(), "20".to_owned()]];
        let text = table("name|>n", &rows);
        assert_eq!(text, "name   n\n----  --\na      1\nété   20\n");
    }
}
