//! The cloth in the drawer and the frame on the shelf: on which count a picture fits them, and how large.

use super::{MakeSettings, SizeWish};
use crate::desk::{Error, Offer};
use crate::ground::units::{FabricCount, GridSize, Millimetres, SIDE_LIMITS};
use crate::making::frame;
use crate::making::photo::Photo;
use crate::planning::fit::{DesignFit, Ease, FitOptions, Piece};

/// What a piece is to be worked on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtHand {
    /// The cloth.
    pub cloth: Piece,
    /// A frame, measured inside, in which the design is to lie.
    pub frame: Option<Piece>,
    /// Cloth to leave on each side of the design.
    pub margin: Millimetres,
    /// The count, where it is decided.
    pub count: Option<FabricCount>,
}

/// What is left of the cloth on each side where nothing is said: room for a hoop and for framing (common practice, no source).
pub const USUAL_MARGIN: &str = "5cm";

/// The counts that are offered: what is woven for counted work (common practice, no source).
const COUNTS: [&str; 7] = ["11", "14", "16", "18", "20", "22", "25"];

impl AtHand {
    /// The settings with the count and size that fit, and what else there is to choose: two or three offers, or one where
    /// the count is decided. The finest count that is easy for the eyes is taken; where none is, the finest that is fine;
    /// else the coarsest.
    ///
    /// # Errors
    /// [`Error::NoRoomOnCloth`] where no count fits; what is wrong with the size or the part of the photo.
    pub(in crate::desk) fn settle(
        &self,
        photo: &Photo,
        settings: &MakeSettings,
    ) -> Result<(MakeSettings, Vec<Offer>), Error> {
        let counts: Vec<FabricCount> = match self.count {
            Some(count) => vec![count],
            None => COUNTS.iter().filter_map(|count| count.parse().ok()).collect(),
        };
        let mut fitting: Vec<Offer> = Vec::new();
        for count in counts {
            if let Some(size) = self.size_on(count, photo, settings)? {
                fitting.push(offer(count, size, settings));
            }
        }
        let finest = |ease: Ease| fitting.iter().rposition(|offer| offer.ease == ease);
        let chosen = finest(Ease::Easy).or_else(|| finest(Ease::Fine)).unwrap_or_default();
        let Some(offer) = fitting.get_mut(chosen) else {
            return Err(Error::NoRoomOnCloth { cloth: self.cloth, frame: self.frame, margin: self.margin });
        };
        offer.chosen = true;
        let mut settled = settings.clone();
        settled.cloth.count = offer.count;
        settled.size =
            SizeWish { columns: Some(offer.columns), rows: Some(offer.rows), ..SizeWish::default() };
        let shown = chosen.saturating_sub(1)..(chosen + 2).min(fitting.len());
        Ok((settled, fitting.drain(shown).collect()))
    }

    /// The largest size of the picture that the cloth and the frame hold on a count, or the one that is asked for.
    fn size_on(
        &self,
        count: FabricCount,
        photo: &Photo,
        settings: &MakeSettings,
    ) -> Result<Option<GridSize>, Error> {
        let is_asked = settings.size != SizeWish::default();
        let size = |wish: SizeWish| {
            let mut settings = settings.clone();
            settings.cloth.count = count;
            settings.size = wish;
            frame::size_of(photo, &settings.options(String::new(), Vec::new()).frame)
        };
        let mut best: Option<GridSize> = None;
        for room in self.rooms() {
            let [most_columns, most_rows] = room.map(|side| stitches_within(count, side));
            let holds = |size: &GridSize| size.columns() <= most_columns && size.rows() <= most_rows;
            let wishes = if is_asked {
                vec![settings.size]
            } else {
                let sides = SIDE_LIMITS;
                let (columns, rows) = (most_columns.min(*sides.end()), most_rows.min(*sides.end()));
                if columns.min(rows) < *sides.start() {
                    continue;
                }
                vec![
                    SizeWish { columns: Some(columns), ..SizeWish::default() },
                    SizeWish { rows: Some(rows), ..SizeWish::default() },
                ]
            };
            for wish in wishes {
                // A picture so narrow that its other side has too few stitches or too many does not fit so.
                match size(wish) {
                    Ok(size) if holds(&size) && best.is_none_or(|best| best.cells() < size.cells()) => {
                        best = Some(size);
                    }
                    Ok(_) => {}
                    Err(error) if is_asked => return Err(error.into()),
                    Err(_) => {}
                }
            }
        }
        Ok(best)
    }

    /// Width and height that a design may have: the cloth as it lies and turned, each with the frame as it lies and turned.
    fn rooms(&self) -> Vec<[f64; 2]> {
        let turned =
            |piece: Piece| [[piece.width.mm(), piece.height.mm()], [piece.height.mm(), piece.width.mm()]];
        let cloths = turned(self.cloth).map(|sides| sides.map(|side| side - 2.0 * self.margin.mm()));
        let frames = self.frame.map_or_else(|| vec![[f64::INFINITY; 2]], |frame| turned(frame).to_vec());
        let both = cloths.iter().flat_map(|[width, height]| {
            frames.iter().map(move |[across, down]| [width.min(*across), height.min(*down)])
        });
        both.collect()
    }
}

/// Whole stitches within a length.
fn stitches_within(count: FabricCount, length: f64) -> u32 {
    #[allow(clippy::cast_sign_loss, reason = "no less than 0")]
    let stitches = (length / count.cell().mm() + 1e-6).max(0.0) as u32;
    stitches
}

fn offer(count: FabricCount, size: GridSize, settings: &MakeSettings) -> Offer {
    let options = FitOptions { cover: settings.cover(), ..FitOptions::default() };
    let design = DesignFit::of(size, count, settings.cloth.colour, &options);
    Offer {
        count,
        columns: size.columns(),
        rows: size.rows(),
        finished: [design.finished.width, design.finished.height],
        ease: design.ease,
        strands: design.customary,
        chosen: false,
    }
}
