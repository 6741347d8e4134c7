//! A photo becomes a field of stitches: one colour, or bare cloth, for each cell.
//!
//! Owns the part of the picture that is used, the size in cells, and the resampling in linear light. Leaves
//! files to `photo` and threads to `reduce`.

use image::RgbaImage;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::ground::advice::Advice;
use crate::ground::colour::{Lab32, LinearRgb, Srgb8};
use crate::ground::progress::{Progress, Stage, Stopped, ask, tell};
use crate::ground::units::{GridSize, SIDE_LIMITS, UnitError};
use crate::making::photo::Photo;

mod crisp;
mod crop;
mod flat;
mod resample;
mod tone;

pub use crop::{Crop, CropError, Spot};
pub use tone::{Tone, ToneError};

/// The longest side of a chart whose size was not asked for: an evening piece of some 25 cm on 14 count.
pub const USUAL_SIDE: u32 = 140;

/// A cell is worked where at least half of it is opaque.
const OPAQUE: u8 = 128;

/// The picture at one value a stitch, row by row from the top left.
#[derive(Debug, Clone, PartialEq)]
pub struct StitchField {
    size: GridSize,
    cells: Vec<Option<Lab32>>,
}

impl StitchField {
    /// A field of `size.cells()` values, `None` for a bare cell.
    ///
    /// # Panics
    /// When the number of cells is not that of the size: a caller's mistake.
    #[must_use]
    pub fn new(size: GridSize, cells: Vec<Option<Lab32>>) -> Self {
        assert_eq!(cells.len(), size.cells(), "a value for each cell");
        Self { size, cells }
    }

    /// Columns and rows.
    #[must_use]
    pub fn size(&self) -> GridSize {
        self.size
    }

    /// The cells, row by row.
    #[must_use]
    pub fn cells(&self) -> &[Option<Lab32>] {
        &self.cells
    }
}

/// How large the chart is, in cells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// [`USUAL_SIDE`] on the longer side; the picture's own pixels where it has fewer.
    #[default]
    Usual,
    /// So many columns; rows follow from the picture's shape.
    Columns(u32),
    /// So many rows; columns follow from the picture's shape.
    Rows(u32),
    /// Both: what does not fit the shape is cut off evenly on both sides.
    Both {
        /// Stitches across.
        columns: u32,
        /// Stitches down.
        rows: u32,
    },
}

/// How a photo is framed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FrameOptions {
    /// How large.
    pub size: Size,
    /// Which part of the picture; else all of it.
    pub crop: Option<Crop>,
    /// Parts of the picture whose detail is protected.
    pub detail: Vec<Protected>,
    /// Lighter, stronger, more colourful, or less so.
    pub tone: Tone,
    /// What the picture is; [`Kind::Auto`] finds out.
    pub kind: Kind,
    /// How a photo is made smaller.
    pub sampling: Sampling,
}

/// A part of the picture whose detail is protected.
#[derive(Debug, Clone, PartialEq)]
pub enum Protected {
    /// A rectangle, measured on the whole picture as a crop is.
    Part(Crop),
    /// A picture of the whole, of any size: what is light (half of white or more) and opaque there is protected.
    Mask(RgbaImage),
    /// A mark for each cell of the chart, row by row; what is missing at the end is not protected.
    Cells(Vec<bool>),
}

/// How a photo is made smaller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sampling {
    /// A cell is the plain mean of what it covers.
    #[default]
    Even,
    /// What stands out within a cell counts more, so that small things of strong contrast stay.
    Crisp,
}

/// What a picture is, which settles how it is made smaller.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A drawing where few colours with hard edges make up nearly all of it, else a photo.
    #[default]
    Auto,
    /// Soft: a cell is a mean of what it covers.
    Photo,
    /// Flat: a cell is the colour that most of it has.
    Drawing,
}

/// A photo that cannot be framed as asked.
#[derive(Debug, thiserror::Error)]
pub enum FrameError {
    /// A side of the chart is out of bounds.
    #[error(transparent)]
    Size(#[from] UnitError),
    /// The part asked for is not in the picture.
    #[error(transparent)]
    Crop(#[from] CropError),
    /// Every cell is bare.
    #[error("the picture is transparent all over: there is nothing to stitch")]
    Transparent,
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl FrameError {
    /// What to do about it.
    #[must_use]
    pub fn advice(&self) -> Option<Advice> {
        match self {
            Self::Size(error) => Some(error.advice()),
            Self::Crop(error) => Some(error.advice()),
            Self::Transparent => Some(Advice::SomethingOpaque),
            Self::Stopped(_) => None,
        }
    }
}

/// A framed photo.
#[derive(Debug, Clone)]
pub struct Framed {
    /// The picture at one value a stitch.
    pub field: StitchField,
    /// What the picture was taken for: [`Kind::Photo`] or [`Kind::Drawing`].
    pub kind: Kind,
    /// A mark for each cell of the protected parts; `None` when there are none.
    pub detail: Option<Vec<bool>>,
}

/// A part of the picture in pixels, with fractions of pixels at its edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Part {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) width: f64,
    pub(crate) height: f64,
}

impl Part {
    /// Whether the part is a block of whole pixels, `size` of them.
    fn is_exactly(&self, size: GridSize) -> bool {
        self.left.fract() == 0.0
            && self.top.fract() == 0.0
            && self.width == f64::from(size.columns())
            && self.height == f64::from(size.rows())
    }

    /// The largest part of this shape about the same centre.
    fn cut_to_shape(self, columns: u32, rows: u32) -> Self {
        let (columns, rows) = (f64::from(columns), f64::from(rows));
        // Compared by cross products: a shape that fits exactly is left alone to the last bit.
        if self.width * rows == self.height * columns {
            return self;
        }
        let (mut width, mut height) = (self.width, self.height);
        if self.width * rows > self.height * columns {
            width = self.height * columns / rows;
        } else {
            height = self.width * rows / columns;
        }
        Self {
            left: self.left + (self.width - width) / 2.0,
            top: self.top + (self.height - height) / 2.0,
            width,
            height,
        }
    }
}

/// Cuts a photo and brings it to one value a stitch.
///
/// The aspect of the picture is kept; with both sides given, the picture is cut to fit about its centre.
/// Where the part's pixels are as many as the cells, each cell is its pixel, untouched. Otherwise the picture
/// is resampled in linear light, colours weighted by their opacity. A cell less than half opaque is bare.
///
/// # Errors
/// [`FrameError`].
pub fn frame(photo: &Photo, options: &FrameOptions, progress: &dyn Progress) -> Result<Framed, FrameError> {
    tell(progress, Stage::Framing, 0, 1)?;
    let (width, height) = photo.pixels().dimensions();
    let (size, part) = framing(photo, options)?;
    let kind = told(photo, options, part);
    let cells: Vec<_> = if part.is_exactly(size) {
        exact(photo, part, size)
    } else if kind == Kind::Drawing {
        let colours = flat::by_majority(photo.pixels(), part, size, progress)?;
        colours.into_par_iter().map(|colour| colour.map(|colour| colour.lab().into())).collect()
    } else {
        let mut means = resample::resample(photo, part, size, progress)?;
        let smaller = part.width > f64::from(size.columns()) && part.height > f64::from(size.rows());
        if smaller && options.sampling == Sampling::Crisp {
            means = crisp::resample(photo.pixels(), part, size, &means, progress)?;
        }
        let cells = means.into_par_iter().map(|mean| ask(progress).map(|()| lab_of(mean)));
        cells.collect::<Result<_, Stopped>>()?
    };
    if cells.iter().all(Option::is_none) {
        return Err(FrameError::Transparent);
    }
    ask(progress)?;
    let cells = cells.into_iter().map(|cell| cell.map(|lab| options.tone.apply(lab))).collect();
    ask(progress)?;
    let detail = detail(&options.detail, (width, height), part, size)?;
    Ok(Framed { field: StitchField::new(size, cells), kind, detail })
}

/// The size of the chart that [`frame`] makes of a photo.
///
/// # Errors
/// [`FrameError`] where the size or the part cannot be.
pub fn size_of(photo: &Photo, options: &FrameOptions) -> Result<GridSize, FrameError> {
    framing(photo, options).map(|(size, _)| size)
}

/// What [`frame`] takes a picture for: [`Kind::Photo`] or [`Kind::Drawing`].
///
/// # Errors
/// [`FrameError`] where the size or the part cannot be.
pub fn kind_of(photo: &Photo, options: &FrameOptions) -> Result<Kind, FrameError> {
    framing(photo, options).map(|(_, part)| told(photo, options, part))
}

fn told(photo: &Photo, options: &FrameOptions, part: Part) -> Kind {
    match options.kind {
        Kind::Auto if flat::is_drawing(photo.pixels(), part) => Kind::Drawing,
        Kind::Auto => Kind::Photo,
        told => told,
    }
}

/// Where the part of a photo that is used begins and ends: left, top, width and height in pixels of the photo.
///
/// # Errors
/// [`FrameError`] where the size or the part cannot be.
pub fn part_of(photo: &Photo, options: &FrameOptions) -> Result<[f64; 4], FrameError> {
    framing(photo, options).map(|(_, part)| [part.left, part.top, part.width, part.height])
}

/// The part of a photo that is used, made smaller so that its longer side has no more than so many pixels, and where
/// the part begins and ends: left, top, width and height in pixels of the photo.
///
/// # Errors
/// [`FrameError`].
pub fn view(
    photo: &Photo,
    options: &FrameOptions,
    longest: u32,
    progress: &dyn Progress,
) -> Result<(RgbaImage, [f64; 4]), FrameError> {
    let (_, part) = framing(photo, options)?;
    let scale = (f64::from(longest) / part.width.max(part.height)).min(1.0);
    #[allow(clippy::cast_sign_loss, reason = "a part has sides")]
    let side = |length: f64| ((length * scale).round() as u32).max(*SIDE_LIMITS.start());
    let size = GridSize::new(side(part.width), side(part.height))?;
    tell(progress, Stage::Framing, 0, 1)?;
    let picture = resample::glance(photo, part, size);
    Ok((picture, [part.left, part.top, part.width, part.height]))
}

/// The cells of the chart that lie at these places of the photo.
///
/// # Errors
/// [`FrameError::Crop`] for a place outside the part that is used.
pub fn cells_at(photo: &Photo, options: &FrameOptions, spots: &[Spot]) -> Result<Vec<usize>, FrameError> {
    let (size, part) = framing(photo, options)?;
    let (width, height) = photo.pixels().dimensions();
    let cell = |spot: &Spot| {
        let [x, y] = spot.place_in(width, height);
        let within = [(x - part.left) / part.width, (y - part.top) / part.height];
        if within.iter().any(|share| !(0.0..1.0).contains(share)) {
            return Err(CropError::SpotOutside { spot: *spot }.into());
        }
        #[allow(clippy::cast_sign_loss, reason = "within the part")]
        let [column, row] =
            [0, 1].map(|axis| (within[axis] * [size.width(), size.height()][axis] as f64) as usize);
        Ok(row * size.width() + column)
    };
    spots.iter().map(cell).collect()
}

/// A mark for each cell of the chart whose centre lies in one of these areas of the photo.
///
/// # Errors
/// [`FrameError`].
pub fn cells_in(photo: &Photo, options: &FrameOptions, areas: &[Protected]) -> Result<Vec<bool>, FrameError> {
    let (size, part) = framing(photo, options)?;
    Ok(detail(areas, photo.pixels().dimensions(), part, size)?.unwrap_or_default())
}

fn framing(photo: &Photo, options: &FrameOptions) -> Result<(GridSize, Part), FrameError> {
    let (width, height) = photo.pixels().dimensions();
    let whole = Part { left: 0.0, top: 0.0, width: f64::from(width), height: f64::from(height) };
    let part = options.crop.as_ref().map_or(Ok(whole), |crop| crop.part_of(width, height))?;
    Ok(size_and_part(options.size, part)?)
}

/// The size in cells, and the part of the picture that has its shape.
fn size_and_part(size: Size, part: Part) -> Result<(GridSize, Part), UnitError> {
    #[allow(clippy::cast_sign_loss, reason = "both sides are positive; too large a side is refused below")]
    let side = |given: u32, of: f64, against: f64| (f64::from(given) * of / against).round() as u32;
    let longest = part.width.max(part.height);
    let (columns, rows) = match size {
        Size::Columns(columns) => (columns, side(columns, part.height, part.width)),
        Size::Rows(rows) => (side(rows, part.width, part.height), rows),
        Size::Both { columns, rows } => {
            let size = GridSize::new(columns, rows)?;
            return Ok((size, part.cut_to_shape(columns, rows)));
        }
        Size::Usual => {
            let longest_side = side(1, longest, 1.0).min(USUAL_SIDE);
            (side(longest_side, part.width, longest), side(longest_side, part.height, longest))
        }
    };
    Ok((GridSize::new(columns, rows)?, part))
}

/// The cells whose centre lies in one of the protected parts.
fn detail(
    protected: &[Protected],
    (width, height): (u32, u32),
    part: Part,
    size: GridSize,
) -> Result<Option<Vec<bool>>, CropError> {
    if protected.is_empty() {
        return Ok(None);
    }
    let mut parts = Vec::new();
    let mut masks = Vec::new();
    let mut marks = Vec::new();
    for area in protected {
        match area {
            Protected::Part(crop) => parts.push(crop.part_of(width, height)?),
            Protected::Mask(mask) => masks.push(mask),
            Protected::Cells(cells) => marks.push(cells),
        }
    }
    let along = |start: f64, length: f64, cell: usize, cells: usize| {
        start + (cell as f64 + 0.5) * length / cells as f64
    };
    let inside = |cell: usize| {
        let x = along(part.left, part.width, cell % size.width(), size.width());
        let y = along(part.top, part.height, cell / size.width(), size.height());
        parts.iter().any(|part| {
            (part.left..part.left + part.width).contains(&x)
                && (part.top..part.top + part.height).contains(&y)
        }) || masks.iter().any(|mask| is_light(mask, x / f64::from(width), y / f64::from(height)))
            || marks.iter().any(|marks| marks.get(cell) == Some(&true))
    };
    Ok(Some((0..size.cells()).map(inside).collect()))
}

/// Whether a mask is light and opaque at a place, as shares of its sides from the top left.
fn is_light(mask: &RgbaImage, x: f64, y: f64) -> bool {
    #[allow(clippy::cast_sign_loss, reason = "a place within the picture")]
    let along = |share: f64, side: u32| ((share * f64::from(side)) as u32).min(side - 1);
    let [r, g, b, alpha] = mask.get_pixel(along(x, mask.width()), along(y, mask.height())).0;
    let grey = Srgb8 { r, g, b }.grey();
    alpha >= OPAQUE && grey.g >= OPAQUE
}

/// Each cell its own pixel.
fn exact(photo: &Photo, part: Part, size: GridSize) -> Vec<Option<Lab32>> {
    #[allow(clippy::cast_sign_loss, reason = "whole pixels within the picture")]
    let (left, top) = (part.left as usize, part.top as usize);
    let (pixels, across) = (photo.pixels().as_raw(), photo.pixels().width() as usize);
    (0..size.cells())
        .into_par_iter()
        .map(|cell| {
            let place = (top + cell / size.width()) * across + left + cell % size.width();
            let [r, g, b, alpha] = pixels[place * 4..place * 4 + 4] else { unreachable!("four channels") };
            (alpha >= OPAQUE).then(|| Srgb8 { r, g, b }.lab().into())
        })
        .collect()
}

/// The colour of a cell of linear light with opacity, both 0 to 1; bare where it is less than half opaque.
fn lab_of([r, g, b, alpha]: [f32; 4]) -> Option<Lab32> {
    (alpha >= f32::from(OPAQUE) / 255.0)
        .then(|| LinearRgb { channels: [f64::from(r), f64::from(g), f64::from(b)] }.lab().into())
}

#[cfg(test)]
mod tests;
