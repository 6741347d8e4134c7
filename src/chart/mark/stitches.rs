//! The mark that says how an area is worked.

use serde::{Deserialize, Serialize};

use super::{Holes, Motif, Pick, is_default};
use crate::thread::cloth::StitchKind;

/// How the stitches of an area are worked: in another kind of stitch, with other strands, with a strand of
/// another thread added. The colours of the area stay those of the base; bare cells stay bare. Where two such
/// marks meet, the upper one has its way, and strands that both add are both added.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stitches<T> {
    /// What it is called, once in a chart.
    pub name: String,
    /// The area. Other than with outlines, its holes are kept where nothing else is asked: what a background
    /// lies round is no background.
    #[serde(with = "area")]
    pub motif: Motif,
    /// The kind of stitch, where it is to be another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stitch: Option<StitchKind>,
    /// All strands in the needle, where they are to be others; a blend keeps its proportions as near as can be.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strands: Option<u8>,
    /// Threads that join those in the needle, such as a strand that glitters.
    #[serde(default = "Option::default", skip_serializing_if = "Option::is_none")]
    pub add: Option<T>,
}

/// An area as it is written: a motif whose holes are kept unless it says otherwise.
mod area {
    use serde::{Deserializer, Serializer};

    use super::{Deserialize, Holes, Motif, Pick, Serialize, is_default};

    const fn kept() -> Holes {
        Holes::Kept
    }

    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
    fn is_kept(holes: &Holes) -> bool {
        *holes == Holes::Kept
    }

    #[derive(Serialize, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Area {
        pick: Vec<Pick>,
        #[serde(default, skip_serializing_if = "is_default")]
        bridge: u8,
        #[serde(default = "kept", skip_serializing_if = "is_kept")]
        holes: Holes,
        #[serde(default, skip_serializing_if = "is_default")]
        grow: i16,
    }

    pub(super) fn serialize<S: Serializer>(motif: &Motif, serializer: S) -> Result<S::Ok, S::Error> {
        let Motif { pick, bridge, holes, grow } = motif.clone();
        Area { pick, bridge, holes, grow }.serialize(serializer)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Motif, D::Error> {
        let Area { pick, bridge, holes, grow } = Area::deserialize(deserializer)?;
        Ok(Motif { pick, bridge, holes, grow })
    }
}
