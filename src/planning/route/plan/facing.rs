//! Sides of a cell, and how its legs run by the side that it faces.

/// The side of a cell that faces the one it was reached from. It settles in which holes its legs begin:
///
/// | faces | lower leg | upper leg |
/// |---|---|---|
/// | left | lower left to upper right | lower right to upper left |
/// | down | lower left to upper right | upper left to lower right |
/// | right | upper right to lower left | upper left to lower right |
/// | up | upper right to lower left | lower right to upper left |
///
/// A neighbour on any other side can then be joined in: right after the lower leg where that ends on this
/// side, or right before the upper leg where that begins there. Both holes are the neighbour's too, and the
/// neighbour, facing back, begins or ends one side away from them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Facing {
    Left = 0b00,
    Up = 0b01,
    Down = 0b10,
    Right = 0b11,
}

impl Facing {
    pub(super) const ALL: [Self; 4] = [Self::Left, Self::Up, Self::Right, Self::Down];

    /// The bits of all sides.
    pub(super) const EVERY: u8 = 0b1111;

    /// Bit 0: the lower leg begins at the upper right. Bit 1: the upper leg begins at the upper left.
    pub(super) fn bits(self) -> u8 {
        self as u8
    }

    pub(super) fn opposite(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }

    /// The one with these bits.
    pub(super) fn of(bits: u8) -> Self {
        Self::ALL.into_iter().find(|facing| facing.bits() == bits).unwrap_or(Self::Left)
    }

    /// The bit of this side among those of a cell.
    pub(super) fn side(self) -> u8 {
        1 << self.bits()
    }

    /// Whether the lower leg of a cell facing this side ends on side `on`.
    pub(super) fn lower_ends_on(self, on: Self) -> bool {
        match self {
            Self::Left | Self::Down => matches!(on, Self::Right | Self::Up),
            Self::Right | Self::Up => matches!(on, Self::Left | Self::Down),
        }
    }
}
