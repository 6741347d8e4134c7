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
