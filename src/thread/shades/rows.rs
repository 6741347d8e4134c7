//! A card as a chart keeps it: the lines of a CSV file with brede's own columns, which `read` reads again.

use super::{Shade, ShadeCard, ShadesError};

/// Columns of every card; those of measured colours stand after them.
const COLUMNS: [&str; 8] = ["code", "name", "colour", "price", "length_m", "strands", "owned", "kind"];

/// The columns of a measured colour.
const MEASURED: [&str; 3] = ["L", "a", "b"];

/// A line of fields, those quoted that need it (RFC 4180). What is read again trims blanks, as they were trimmed before.
fn line(fields: &[String]) -> String {
    let quoted = |field: &String| {
        if field.contains([',', ';', '\t', '"', '\n', '\r']) {
            format!("\"{}\"", field.replace('"', "\"\""))
        } else {
            field.clone()
        }
    };
    fields.iter().map(quoted).collect::<Vec<_>>().join(",")
}

fn fields(shade: &Shade, is_measured: bool) -> Vec<String> {
    let text = |value: Option<String>| value.unwrap_or_default();
    let mut fields = vec![
        shade.code.clone(),
        shade.name.clone(),
        shade.colour.to_string(),
        text(shade.price.map(|price| price.to_string())),
        text(shade.length.map(|length| metres(length.mm()))),
        text(shade.strands.map(|strands| strands.to_string())),
        text(shade.owned.map(|owned| owned.to_string())),
        text(shade.kind.clone()),
    ];
    if is_measured {
        let lab = [shade.lab.l, shade.lab.a, shade.lab.b];
        let is_own = shade.lab == shade.colour.lab();
        fields.extend(lab.map(|part| if is_own { String::new() } else { part.to_string() }));
    }
    fields
}

/// A length as metres that are read as the same number of millimetres again.
fn metres(mm: f64) -> String {
    let metres = mm / 1000.0;
    // The nearest decimals: a thousandth off in the last place would be another card.
    let near = [metres, metres.next_up(), metres.next_down()];
    near.into_iter().find(|metres| metres * 1000.0 == mm).unwrap_or(metres).to_string()
}

impl ShadeCard {
    /// Whether any of its colours were given as measured, in the columns L, a and b.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        self.shades().iter().any(|shade| shade.lab != shade.colour.lab())
    }

    /// The card as lines of CSV, the first of which names the columns.
    #[must_use]
    pub fn rows(&self) -> Vec<String> {
        let is_measured = self.is_measured();
        let mut columns: Vec<String> = COLUMNS.map(str::to_owned).to_vec();
        if is_measured {
            columns.extend(MEASURED.map(str::to_owned));
        }
        let mut rows = vec![line(&columns)];
        rows.extend(self.shades().iter().map(|shade| line(&fields(shade, is_measured))));
        rows
    }

    /// The card of such lines.
    ///
    /// # Errors
    /// [`ShadesError`] names the line and column at fault.
    pub fn from_rows(name: &str, rows: &[String]) -> Result<Self, ShadesError> {
        Self::read(name, rows.join("\n").as_bytes())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_card_is_read_as_it_was_written() {
        let text = "code,name,L,a,b,colour,price,length_m,strands,owned,kind,shelf\n\
            R1,\"Foam, \"\"white\"\"\",97.1,-0.25,1.125,,1.150,8.7,6,0.5,cotton,top\n\
            R;2,Kelp,,,,#334422,,0.3333,,,\nR3,Sand,20.5,3,4,#c0b090,0,,1,12,metallic,\n";
        for card in [ShadeCard::read("tin", text.as_bytes()).unwrap(), ShadeCard::demonstration()] {
            let rows = card.rows();
            assert_eq!(rows.len(), card.shades().len() + 1);
            assert_eq!(ShadeCard::from_rows(card.name(), &rows).unwrap(), card);
        }
    }

    proptest! {
        #[test]
        fn lengths_are_read_as_they_were_written(metres in 0.1f64..100.0, shift in 0i32..6) {
            let metres = (metres * 10f64.powi(shift)).round() / 10f64.powi(shift);
            prop_assume!(metres >= 0.1);
            let text = format!("code,name,colour,length_m\nR1,Foam,#f8f8f4,{metres}\n");
            let card = ShadeCard::read("tin", text.as_bytes()).unwrap();
            prop_assert_eq!(ShadeCard::from_rows("tin", &card.rows()).unwrap(), card);
        }
    }
}
