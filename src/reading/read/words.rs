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

    fn of(at: usize, sign: &Sign) -> Option<Self> {
        let text = sign.text.as_ref()?;
        Some(Self {
            text: text.letter.clone(),
            area: box_of(sign),
            em: text.em,
            base: text.origin[1],
            end: (text.origin[0] + text.advance).max(sign.at[0] + sign.size[0] / 2.0),
            items: vec![at],
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
        line(one).cmp(&line(other)).then(one.area[0].total_cmp(&other.area[0]))
    });
    let mut words: Vec<Word> = Vec::new();
    for letter in letters {
        match words.last_mut() {
            Some(word)
                if (word.base - letter.base).abs() < 0.6
                    && (word.em - letter.em).abs() < 0.2 * word.em
                    && letter.area[0] - word.end < IN_WORD * letter.em
                    && letter.area[0] > word.area[0] - 0.1 * letter.em =>
            {
                word.join(letter, "");
            }
            _ => words.push(letter),
        }
    }
    words
}

/// Words that stand as far apart as the words of a sentence do, joined.
pub(super) fn fields(words: &[Word]) -> Vec<Word> {
    let mut fields: Vec<Word> = Vec::new();
    for word in words {
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
