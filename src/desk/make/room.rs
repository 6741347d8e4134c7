//! How large a picture is worked, and on which count, so that it fits the cloth in the drawer and the frame on the shelf.

use serde::Serialize;

use super::SizeWish;
use crate::desk::Error;
use crate::desk::figures::{displayed, places3};
use crate::ground::colour::Srgb8;
use crate::ground::units::{FabricCount, GridSize, Millimetres, SIDE_LIMITS};
use crate::making::frame::{self, FrameOptions, Size};
use crate::making::photo::Photo;
use crate::planning::fit::{Eyes, FitOptions, OnPiece, Piece, minutes_of_arc};
use crate::thread::cloth::Cloth;

/// The counts that are offered where none is asked for (common practice, no source): of these three, from the coarsest
/// that holds enough of a picture.
const COUNTS: [u16; 6] = [11, 14, 16, 18, 20, 22];
const OFFERS: usize = 3;

/// Stitches along the longer side that are enough for a photo: with fewer, faces are no longer known (looked at).
const ENOUGH: u32 = 100;

/// Cloth and frame that are there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// The piece of cloth.
    pub cloth: Piece,
    /// A frame, measured inside; where there is none, the cloth alone decides.
    pub frame: Option<Piece>,
    /// Cloth that is left on each side.
    pub margin: Millimetres,
    /// The count, where it is asked for.
    pub count: Option<FabricCount>,
}

/// The picture as large as cloth and frame allow, on one count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Offer {
    /// The count.
    #[serde(serialize_with = "displayed")]
    pub count: FabricCount,
    /// Stitches across.
    pub columns: u32,
    /// Stitches down.
    pub rows: u32,
    /// Width and height as finished.
    #[serde(rename = "finished_mm", serialize_with = "places3")]
    pub finished: [Millimetres; 2],
    /// How the piece of cloth is laid.
    pub cloth: OnPiece,
    /// How large a stitch looks from 40 cm, in minutes of arc.
    #[serde(rename = "stitch_arc_minutes", serialize_with = "places3")]
    pub minutes: f64,
    /// How that is to the eyes.
    pub eyes: Eyes,
    /// The best for the eyes: of those that are easiest the one with most stitches.
    pub best: bool,
    /// What to ask for.
    #[serde(skip)]
    pub(super) wish: SizeWish,
}

impl Room {
    /// Two or three offers, or the one on the count that is asked for.
    pub(super) fn offers(
        &self,
        photo: &Photo,
        frame: &FrameOptions,
        colour: Srgb8,
    ) -> Result<Vec<Offer>, Error> {
        let counts = match self.count {
            Some(count) => vec![count],
            None => COUNTS.into_iter().filter_map(|count| FabricCount::new(count).ok()).collect(),
        };
        let offer = |count| self.offer(Cloth { count, colour }, photo, frame);
        let mut offers: Vec<Offer> = counts.into_iter().filter_map(offer).collect();
        let enough = |offer: &Offer| offer.columns.max(offer.rows) >= ENOUGH;
        let last = offers.len().saturating_sub(OFFERS);
        let first = offers.iter().position(enough).unwrap_or(last).min(last);
        offers.drain(..first);
        offers.truncate(OFFERS);
        let best = (0..offers.len()).rev().min_by_key(|&place| offers[place].eyes);
        let Some(best) = best else {
            let Self { cloth, frame, margin, .. } = *self;
            return Err(Error::NoRoom { cloth, frame, margin });
        };
        offers[best].best = true;
        Ok(offers)
    }

    /// The picture on one cloth, either turned as is larger; `None` where there is no room for it.
    fn offer(&self, on: Cloth, photo: &Photo, frame: &FrameOptions) -> Option<Offer> {
        let turned = |piece: Piece| [piece, Piece { width: piece.height, height: piece.width }];
        let frames = self.frame.map_or_else(Vec::new, |frame| turned(frame).to_vec());
        let within = |cloth: Piece| {
            let free = |side: Millimetres| side - self.margin - self.margin;
            let room = [free(cloth.width), free(cloth.height)];
            let framed =
                frames.iter().map(move |frame| [least(room[0], frame.width), least(room[1], frame.height)]);
            let framed: Vec<[Millimetres; 2]> = framed.collect();
            if framed.is_empty() { vec![room] } else { framed }
        };
        let rooms = turned(self.cloth).into_iter().flat_map(within);
        let sizes = rooms.filter_map(|room| size_in(room.map(|side| cells(side, on.count)), photo, frame));
        // Of equals the first: the cloth as it was given.
        let (size, wish) =
            sizes.reduce(|best, next| if next.0.cells() > best.0.cells() { next } else { best })?;
        let finished = [size.columns(), size.rows()].map(|side| on.count.length_of(side));
        let [width, height] = finished.map(|side| side.with_margin(self.margin));
        Some(Offer {
            count: on.count,
            columns: size.columns(),
            rows: size.rows(),
            finished,
            cloth: OnPiece::of(&Piece { width, height }, &self.cloth),
            minutes: minutes_of_arc(on.count.cell(), FitOptions::default().distance),
            eyes: Eyes::of(&on),
            best: false,
            wish,
        })
    }
}

fn least(one: Millimetres, two: Millimetres) -> Millimetres {
    if one.mm() < two.mm() { one } else { two }
}

/// Whole stitches that lie within a length, a thousandth of one for rounding.
fn cells(length: Millimetres, count: FabricCount) -> u32 {
    #[allow(clippy::cast_sign_loss, reason = "a length is not negative")]
    let cells = (length.mm() / count.cell().mm() + 1e-3) as u32;
    cells.min(*SIDE_LIMITS.end())
}

/// The largest size of the picture with no more than so many columns and rows.
fn size_in([columns, rows]: [u32; 2], photo: &Photo, frame: &FrameOptions) -> Option<(GridSize, SizeWish)> {
    let of = |wish: SizeWish, size: Size| {
        let options = FrameOptions { size, crop: frame.crop, ..FrameOptions::default() };
        let size = frame::size_of(photo, &options).ok()?;
        (size.columns() <= columns && size.rows() <= rows).then_some((size, wish))
    };
    of(SizeWish { columns: Some(columns), ..SizeWish::default() }, Size::Columns(columns))
        .or_else(|| of(SizeWish { rows: Some(rows), ..SizeWish::default() }, Size::Rows(rows)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::ground::progress::Silent;
    use crate::making::photo::Limits;

    fn offers(pixels: [u32; 2], cloth: &str, frame: Option<&str>, colour: &str) -> Result<Vec<Offer>, Error> {
        let mut bytes = std::io::Cursor::new(Vec::new());
        image::RgbImage::new(pixels[0], pixels[1]).write_to(&mut bytes, image::ImageFormat::Png).unwrap();
        let photo = Photo::read("p.png", bytes.get_ref(), &Limits::default(), &Silent).unwrap();
        let room = Room {
            cloth: cloth.parse().unwrap(),
            frame: frame.map(|frame| frame.parse().unwrap()),
            margin: "5cm".parse().unwrap(),
            count: None,
        };
        room.offers(&photo, &FrameOptions::default(), colour.parse().unwrap())
    }

    #[test]
    fn a_picture_is_as_large_as_cloth_and_frame_allow() {
        let told = |offers: &[Offer]| -> Vec<(String, u32, u32)> {
            offers.iter().map(|offer| (offer.count.to_string(), offer.columns, offer.rows)).collect()
        };
        let sizes = |told: &[(&str, u32, u32)]| -> Vec<(String, u32, u32)> {
            told.iter().map(|&(count, columns, rows)| (count.to_owned(), columns, rows)).collect()
        };
        // By hand: 40 x 30 cm less 5 cm a side is 30 x 20 cm, 4 : 3 within it 26.67 x 20 cm; 25.4 mm to the inch.
        let wide = offers([400, 300], "40x30cm", None, "#f4ecd8").unwrap();
        assert_eq!(told(&wide), sizes(&[("11", 115, 86), ("14", 147, 110), ("16", 167, 125)]));
        assert!(wide.iter().all(|offer| offer.cloth == OnPiece::Upright));
        // The frame is smaller: 20 x 15 cm within 20 x 20.
        let framed = offers([400, 300], "40x30cm", Some("20cm"), "#f4ecd8").unwrap();
        assert_eq!(told(&framed), sizes(&[("14", 110, 83), ("16", 125, 94), ("18", 141, 106)]));
        // A tall picture lies on the cloth turned.
        let tall = offers([300, 400], "40x30cm", None, "#f4ecd8").unwrap();
        assert!(tall.iter().all(|offer| offer.cloth == OnPiece::Turned && offer.rows > offer.columns));
        let none = offers([400, 300], "10x10cm", None, "#f4ecd8");
        assert!(matches!(none, Err(Error::NoRoom { .. })), "{none:?}");
    }

    #[test]
    fn the_best_for_the_eyes_is_the_finest_of_the_easiest_and_dark_cloth_is_a_step_harder() {
        let best = |cloth: &str, colour: &str| {
            let offers = offers([400, 300], cloth, None, colour).unwrap();
            assert_eq!(offers.iter().filter(|offer| offer.best).count(), 1);
            let best = offers.into_iter().find(|offer| offer.best).unwrap();
            (best.count.to_string(), best.eyes)
        };
        assert_eq!(best("40x30cm", "#f4ecd8"), ("14".to_owned(), Eyes::Easy));
        assert_eq!(best("40x30cm", "#1b2a41"), ("14".to_owned(), Eyes::Fine));
        // Of 12 cm only 22 count has a hundred stitches: 18, 20 and 22 are offered.
        assert_eq!(best("22x22cm", "#1b2a41"), ("22".to_owned(), Eyes::Trying));
    }
}
