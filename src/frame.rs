//! A photo becomes a field of stitches: one colour, or bare cloth, for each cell.

use crate::units::GridSize;

/// The picture at one value a stitch, row by row from the top left.
#[derive(Debug, Clone, PartialEq)]
pub struct StitchField {
    size: GridSize,
    cells: Vec<Option<[f32; 3]>>,
}

impl StitchField {
    /// A field of `size.cells()` values: CIELAB (D65) as `[L*, a*, b*]`, or `None` for a bare cell.
    ///
    /// # Panics
    /// When the number of cells is not that of the size: a caller's mistake.
    #[must_use]
    pub fn new(size: GridSize, cells: Vec<Option<[f32; 3]>>) -> Self {
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
    pub fn cells(&self) -> &[Option<[f32; 3]>] {
        &self.cells
    }
}

use crate::photo::{Crop, Photo};
use crate::progress::{Progress, Stopped};
use crate::units::UnitError;

/// How large.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Size {
    /// As is usual.
    #[default]
    Usual,
    /// So many columns.
    Columns(u32),
    /// So many rows.
    Rows(u32),
    /// Both.
    Both {
        /// Columns.
        columns: u32,
        /// Rows.
        rows: u32,
    },
}

/// How a photo is framed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FrameOptions {
    /// How large.
    pub size: Size,
    /// Which part.
    pub crop: Option<Crop>,
}

/// Why not.
#[derive(Debug, thiserror::Error)]
pub enum FrameError {
    /// Bad size.
    #[error(transparent)]
    Size(#[from] UnitError),
    /// Stopped.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

impl FrameError {
    /// What to do.
    #[must_use]
    pub fn hint(&self) -> String {
        match self {
            Self::Size(error) => error.hint(),
            Self::Stopped(_) => String::new(),
        }
    }
}

/// A framed photo.
#[derive(Debug)]
pub struct Framed {
    /// The field.
    pub field: StitchField,
}

/// Frames.
///
/// # Errors
/// [`FrameError`].
pub fn frame(photo: &Photo, options: &FrameOptions, _: &dyn Progress) -> Result<Framed, FrameError> {
    let (width, height) = photo.pixels().dimensions();
    let columns = match options.size {
        Size::Columns(columns) | Size::Both { columns, .. } => columns,
        Size::Rows(rows) => rows * width / height,
        Size::Usual => 140.min(width),
    };
    let size = GridSize::new(columns, (columns * height + width / 2) / width)?;
    let small = image::imageops::resize(
        photo.pixels(),
        size.columns(),
        size.rows(),
        image::imageops::FilterType::Triangle,
    );
    let cells = small
        .pixels()
        .map(|p| {
            (p.0[3] >= 128).then(|| {
                let lab = crate::colour::Srgb8 { r: p.0[0], g: p.0[1], b: p.0[2] }.lab();
                [lab.l as f32, lab.a as f32, lab.b as f32]
            })
        })
        .collect();
    Ok(Framed { field: StitchField::new(size, cells) })
}
