//! What fonts, layers and pictures are called in the file.

use printpdf::{FontId, LayerInternalId, XObjectId};

use crate::printing::sheet::Layer;
use crate::printing::typeface::{Face, Weight};

/// The name of the font of coloured squares.
pub(super) const TINTS: &str = "Tints";

/// The name of a face's resource in the file.
pub(super) fn face_id(face: Face) -> FontId {
    let name = match face {
        Face::Text(Weight::Regular) => "Text",
        Face::Text(Weight::Bold) => "TextBold",
        Face::Text(Weight::Code) => "TextCode",
        Face::Reach(Weight::Regular) => "Reach",
        Face::Reach(Weight::Bold) => "ReachBold",
        Face::Reach(Weight::Code) => "ReachCode",
    };
    FontId(name.to_owned())
}

/// The name of the symbol font's resource in the file.
pub(super) fn symbols_id() -> FontId {
    FontId("Symbols".to_owned())
}

/// The name of a layer.
pub(super) fn layer_id(layer: Layer) -> LayerInternalId {
    LayerInternalId(format!("Layer{}", layer.name()))
}

/// The name of a picture, by its place in the sheet.
pub(super) fn picture_id(index: usize) -> XObjectId {
    XObjectId(format!("Picture{index}"))
}
