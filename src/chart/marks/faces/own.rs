//! brede's own drawings of letters, read from `fonts-open/brede-letters`: the head of each file says how.

use super::{Glyphs, Strokes};

/// Adds the letters of a file. A letter begins so far from its left, and ends so far from its rightmost hole where no
/// stroke leads on to the next letter.
pub(super) fn add(glyphs: &mut Glyphs, text: &str, [before, after]: [i32; 2]) {
    for line in lines(text) {
        let mut characters = line.chars();
        let Some(letter) = characters.next() else { continue };
        let rest = characters.as_str().trim();
        let glyph = match rest.strip_prefix("= ").and_then(|like| like.chars().next()) {
            Some(like) => glyphs.get(&like).cloned(),
            None => drawn(rest, [before, after]),
        };
        glyphs.extend(glyph.map(|glyph| (letter, glyph)));
    }
}

/// The lines that draw a letter.
pub(super) fn lines(text: &str) -> impl Iterator<Item = &str> {
    text.lines().filter(|line| !line.is_empty() && !line.starts_with("# "))
}

fn drawn(text: &str, [before, after]: [i32; 2]) -> Option<Strokes> {
    let mut glyph = Strokes { left: -before, ..Strokes::default() };
    let mut leaves = None;
    for stroke in text.split('/') {
        let stroke = stroke.trim();
        let (kind, points) = match stroke.strip_prefix(['^', '>']) {
            Some(points) => (stroke.chars().next(), points),
            None => (None, stroke),
        };
        let points: Vec<[i32; 2]> = points.split_whitespace().map(point).collect::<Option<_>>()?;
        match kind {
            Some('^') => glyph.from_high = points,
            kind => {
                leaves = kind.and(points.last().copied()).or(leaves);
                glyph.strokes.push(points);
            }
        }
    }
    let rightmost = glyph.strokes.iter().flatten().map(|&[x, _]| x).max()?;
    glyph.right = leaves.map_or(rightmost + after, |[x, _]| x);
    glyph.leaves = leaves.map(|[_, y]| y);
    Some(glyph)
}

/// `x,y`, or a digit of base 36 each.
fn point(text: &str) -> Option<[i32; 2]> {
    if let Some((x, y)) = text.split_once(',') {
        return Some([x.parse().ok()?, y.parse().ok()?]);
    }
    let mut digits = text.chars().map(|digit| digit.to_digit(36).map(|digit| digit as i32));
    let point = [digits.next()??, digits.next()??];
    digits.next().is_none().then_some(point)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use std::collections::BTreeSet;

    use super::super::{JOINED, TINY, UPRIGHT};
    use super::*;
    use crate::chart::mark::LetterFace;

    #[test]
    fn every_line_draws_a_letter_once() {
        for (face, text) in
            [(LetterFace::Tiny, TINY), (LetterFace::Joined, JOINED), (LetterFace::Line, UPRIGHT)]
        {
            let letters: Vec<char> = lines(text).map(|line| line.chars().next().unwrap()).collect();
            let apart: BTreeSet<char> = letters.iter().copied().collect();
            assert!(letters.len() > 60 && letters.len() == apart.len(), "{}", face.name());
            for letter in letters {
                let drawn = face.letter(letter, None).unwrap();
                assert!(!drawn.strokes.is_empty(), "{} lacks {letter}", face.name());
            }
        }
    }

    #[test]
    fn own_letters_stay_within_their_line_and_are_told_apart() {
        for (face, below, small) in [(LetterFace::Tiny, 2, 2), (LetterFace::Joined, 3, 4)] {
            let mut drawings = BTreeSet::new();
            for letter in ('a'..='z').chain('A'..='Z').chain('1'..='9') {
                let Strokes { strokes, .. } = super::super::strokes_of(face, letter).unwrap();
                let holes = || strokes.iter().flatten();
                let bottom = face.capitals(None) + below;
                assert!(holes().all(|&[x, y]| x >= 0 && (0..=bottom).contains(&y)), "{letter}");
                let plain = "acegmnopqrsuvwxyz".contains(letter);
                assert!(!plain || holes().all(|&[_, y]| y >= small), "{} {letter}", face.name());
                assert!(drawings.insert(strokes), "{} {letter}", face.name());
            }
        }
    }

    #[test]
    fn each_joined_letter_begins_where_the_one_before_may_leave() {
        for letter in ('a'..='z').chain('а'..='я').chain("æœøłđßëéйёіїєґђјљњћџ".chars())
        {
            let glyph = super::super::strokes_of(LetterFace::Joined, letter).unwrap();
            let leaves = glyph.leaves.unwrap();
            assert!(leaves == 7 || leaves == 5, "{letter} leaves at {leaves}");
            assert_eq!(glyph.strokes[0].first(), Some(&[0, 7]), "{letter} from the line");
            let high = glyph.from_high.first().unwrap();
            assert!([[0, 5]].contains(high), "{letter} from high");
        }
    }
}
