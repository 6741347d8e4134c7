//! Words on a page: letters of one base line that stand close to each other.

use crate::reading::drawing::{Area, Drawn, Item, Sign};

/// Letters without a space between them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Word {
    pub(super) text: String,
    pub(super) area: Area,
    pub(super) em: f32,
    pub(super) base: f32,
    /// Where the last letter's advance ends.
    pub(super) end: f32,
    /// Its letters among the items of the page.
    pub(super) items: Vec<usize>,
    /// Where it runs to: 0 to the right, 1 down, 2 to the left, 3 up. All but `area` is as if the page were turned so
    /// that it runs to the right.
    turn: u8,
}

/// A place on a page that is turned so that what runs there runs to the right, and back by the turns that are left to four.
fn turned([x, y]: [f32; 2], turn: u8) -> [f32; 2] {
    match turn % 4 {
        0 => [x, y],
        1 => [y, -x],
        2 => [-x, -y],
        _ => [-y, x],
    }
}

fn turned_area([x0, y0, x1, y1]: Area, turn: u8) -> Area {
    let ([a, b], [c, d]) = (turned([x0, y0], turn), turned([x1, y1], turn));
    [a.min(c), b.min(d), a.max(c), b.max(d)]
}

impl Word {
    /// The middle of its box.
    pub(super) fn middle(&self) -> [f32; 2] {
        [(self.area[0] + self.area[2]) / 2.0, (self.area[1] + self.area[3]) / 2.0]
    }

    /// How far the middle of its letters is from a height.
    pub(super) fn off(&self, y: f32) -> f32 {
        (self.base - 0.33 * self.em - y).abs()
    }

    /// The whole number that it is.
    pub(super) fn number(&self) -> Option<i32> {
        let text = self.text.trim();
        (text.len() <= 5 && text.bytes().all(|byte| byte.is_ascii_digit())).then(|| text.parse().ok())?
    }

    /// Whether it stands so close behind another that both are one phrase.
    pub(super) fn follows(&self, other: &Self) -> bool {
        self.turn == other.turn
            && (self.base - other.base).abs() < 0.6
            && (0.0..IN_FIELD * self.em).contains(&(self.from() - other.end))
    }

    /// Where it begins, in its own direction.
    fn from(&self) -> f32 {
        turned_area(self.area, self.turn)[0]
    }

    fn of(at: usize, sign: &Sign) -> Option<Self> {
        let text = sign.text.as_ref()?;
        let area = turned_area(box_of(sign), text.turn);
        let origin = turned(text.origin, text.turn);
        Some(Self {
            text: text.letter.clone(),
            area,
            em: text.em,
            base: origin[1],
            end: (origin[0] + text.advance).max(area[2]),
            items: vec![at],
            turn: text.turn,
        })
    }

    fn join(&mut self, other: Self, between: &str) {
        self.text.push_str(between);
        self.text.push_str(&other.text);
        self.area = [
            self.area[0].min(other.area[0]),
            self.area[1].min(other.area[1]),
            self.area[2].max(other.area[2]),
            self.area[3].max(other.area[3]),
        ];
        self.end = other.end;
        self.em = self.em.max(other.em);
        self.items.extend(other.items);
    }
}

impl Word {
    /// Takes what goes on in another line.
    pub(super) fn go_on(&mut self, other: Self) {
        self.join(other, "\n");
    }
}

/// The box of a sign.
pub(super) fn box_of(sign: &Sign) -> Area {
    let [x, y] = sign.at;
    let [half_x, half_y] = sign.size.map(|side| side / 2.0);
    [x - half_x, y - half_y, x + half_x, y + half_y]
}

/// How wide a gap within a word may be, and within a field of words, in ems.
const IN_WORD: f32 = 0.14;
const IN_FIELD: f32 = 0.75;

/// The words among those letters that `is_wanted` takes, line by line from the top, each from left to right.
pub(super) fn words(drawn: &Drawn, is_wanted: impl Fn(&Sign) -> bool) -> Vec<Word> {
    let mut letters: Vec<Word> = drawn
        .items
        .iter()
        .enumerate()
        .filter_map(|(at, item)| match item {
            Item::Sign(sign) if is_wanted(sign) => Word::of(at, sign),
            _ => None,
        })
        .collect();
    // Letters of one line differ in the last digits of their base.
    letters.sort_by(|one, other| {
        let line = |word: &Word| (word.base * 2.0).round() as i64;
        one.turn
            .cmp(&other.turn)
            .then(line(one).cmp(&line(other)))
            .then(one.area[0].total_cmp(&other.area[0]))
    });
    let mut words: Vec<Word> = Vec::new();
    for letter in letters {
        match words.last_mut() {
            Some(word)
                if word.turn == letter.turn
                    && (word.base - letter.base).abs() < 0.6
                    && (word.em - letter.em).abs() < 0.2 * word.em
                    && letter.area[0] - word.end < IN_WORD * letter.em
                    && letter.area[0] > word.area[0] - 0.1 * letter.em =>
            {
                word.join(letter, "");
            }
            _ => words.push(letter),
        }
    }
    for word in &mut words {
        word.area = turned_area(word.area, 4 - word.turn);
    }
    words
}

/// Words that stand as far apart as the words of a sentence do, joined; those that are turned are no part of tables.
pub(super) fn fields(words: &[Word]) -> Vec<Word> {
    let mut fields: Vec<Word> = Vec::new();
    for word in words.iter().filter(|word| word.turn == 0) {
        match fields.last_mut() {
            Some(field)
                if (field.base - word.base).abs() < 0.6
                    && word.area[0] - field.end < IN_FIELD * word.em
                    && word.area[0] > field.area[0] =>
            {
                field.join(word.clone(), " ");
            }
            _ => fields.push(word.clone()),
        }
    }
    fields
}
