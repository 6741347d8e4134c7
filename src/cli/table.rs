//! Plain tables for a terminal: columns set apart by two spaces, figures flush right.

/// Which side a column is flush with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flush {
    Left,
    Right,
}

/// The rows under their headings, with a line of dashes between.
pub(super) fn table(headings: &[(&str, Flush)], rows: &[Vec<String>]) -> String {
    let wide = |text: &str| text.chars().count();
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
        for ((cell, &width), (_, flush)) in cells.zip(&widths).zip(headings) {
            if !line.is_empty() || width == 0 {
                line.push_str("  ");
            }
            let pad = " ".repeat(width - wide(cell));
            match flush {
                Flush::Left => line.extend([cell, &pad]),
                Flush::Right => line.extend([&pad, cell]),
            }
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
        let text = table(&[("name", Flush::Left), ("n", Flush::Right)], &rows);
        assert_eq!(text, "name   n\n----  --\na      1\nété   20\n");
    }
}
