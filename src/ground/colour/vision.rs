//! How colours look to people whose eyes tell fewer of them apart.
//!
//! The matrices are those of Machado, Oliveira & Fernandes (2009), "A physiologically-based model for simulation
//! of color vision deficiency", IEEE Trans. Vis. Comput. Graph. 15(6): 1291-1298, at severity 1, and work on
//! linear light. The paper gives its figures for tritan eyes as an approximation.

use super::LinearRgb;

/// A kind of colour vision that lacks one kind of cone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Vision {
    /// Without cones for long waves: red is dark and near to green.
    Protan,
    /// Without cones for middle waves, the most common: red and green run together.
    Deutan,
    /// Without cones for short waves, rare: blue and green, and yellow and pink, run together.
    Tritan,
}

impl Vision {
    /// All three.
    pub const ALL: [Self; 3] = [Self::Protan, Self::Deutan, Self::Tritan];

    /// Its name, in lower case.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Protan => "protan",
            Self::Deutan => "deutan",
            Self::Tritan => "tritan",
        }
    }

    /// What it is called in plain words.
    #[must_use]
    pub fn plain_name(self) -> &'static str {
        match self {
            Self::Protan => "red-blind",
            Self::Deutan => "green-blind",
            Self::Tritan => "blue-blind",
        }
    }

    fn matrix(self) -> [[f64; 3]; 3] {
        match self {
            Self::Protan => [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
            Self::Deutan => [
                [0.367_322, 0.860_646, -0.227_968],
                [0.280_085, 0.672_501, 0.047_413],
                [-0.011_820, 0.042_940, 0.968_881],
            ],
            Self::Tritan => [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        }
    }
}

impl LinearRgb {
    /// What eyes of this kind see of the colour, as a colour that usual eyes would see so; held within 0 to 1.
    #[must_use]
    pub fn seen_by(self, vision: Vision) -> Self {
        let [r, g, b] = self.channels;
        let channels =
            vision.matrix().map(|[red, green, blue]| (red * r + green * g + blue * b).clamp(0.0, 1.0));
        Self { channels }
    }
}
