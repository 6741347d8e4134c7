//! The file as a whole: fonts, layers, pictures and pages, and what the pages show.

use std::sync::atomic::{AtomicU64, Ordering};

use image::RgbImage;
use printpdf::{
    ExternalStream, ExternalXObject, Layer as PdfLayer, Op, PdfDocument, PdfFontHandle, PdfPage,
    PdfSaveOptions, Pt, Px, TextItem, XObject,
};
use rayon::prelude::*;

use super::fonts::{self, Fonts};
use super::names::{layer_id, picture_id};
use super::pen::Pen;
use super::tags::PageTree;
use super::tints::Squares;
use super::{InkError, PdfOptions, file, finish};
use crate::ground::progress::{Progress, Stage, ask, tell};
use crate::printing::length::{Length, Point};
use crate::printing::sheet::{Area, Layer, Shape, Sheet};

/// How well pictures are kept: below 80, the legs of stitches smear; above 90 the file grows for nothing.
const JPEG_QUALITY: u8 = 82;

/// The sheet as a PDF file.
///
/// # Errors
/// [`InkError`]; none is to be expected of a sheet from `sheet::lay_out` but [`InkError::Stopped`].
pub fn pdf(sheet: &Sheet, options: &PdfOptions, progress: &dyn Progress) -> Result<Vec<u8>, InkError> {
    if let Some(page) =
        sheet.pages.iter().position(|page| !page.shapes.iter().all(|(_, at)| is_somewhere(at)))
    {
        return Err(InkError::Nowhere { page: page + 1 });
    }
    let fonts = fonts::embed(&fonts::Used::in_sheet(sheet))?;
    ask(progress)?;
    let squares = Squares::of(sheet);
    let total = sheet.pages.len() as u64;
    let done = AtomicU64::new(0);
    let contents = || {
        let content = |page| {
            tell(progress, Stage::Inking, done.fetch_add(1, Ordering::Relaxed), total)?;
            let (operators, places) = Pen::new(page, &fonts, &squares).draw(sheet);
            let tree = PageTree::of(page, &places);
            Ok((file::packed(&operators).map_err(InkError::Write)?, tree))
        };
        sheet.pages.par_iter().map(content).collect::<Result<Vec<(Vec<u8>, PageTree)>, InkError>>()
    };
    // Pictures are packed meanwhile.
    let (contents, frame) = rayon::join(contents, || frame(sheet, &fonts));
    let (contents, frame) = (contents?, frame?);
    ask(progress)?;
    finish::finish(frame, contents, &fonts, &squares, sheet, options).map_err(InkError::Write)
}

/// The file without what its pages show: `printpdf` lays down fonts, layers, pictures and pages. It is given which of
/// them each page uses, not how: all operators of all pages at once would take several times the file's memory.
fn frame(sheet: &Sheet, fonts: &Fonts) -> Result<lopdf::Document, InkError> {
    let mut document = PdfDocument::new(&sheet.title);
    for (id, (font, _)) in fonts {
        document.resources.fonts.map.insert(id.clone(), font.clone());
    }
    for layer in Layer::ALL {
        document.resources.layers.map.insert(layer_id(layer), PdfLayer::new(layer.name()));
    }
    for (index, picture) in sheet.pictures.iter().enumerate() {
        document.resources.xobjects.map.insert(picture_id(index), jpeg(picture)?);
    }
    for (index, page) in sheet.pages.iter().enumerate() {
        let mut ops = Vec::new();
        for layer in Layer::ALL {
            if page.shapes.iter().any(|(at, _)| *at == Some(layer)) {
                ops.extend([Op::BeginLayer { layer_id: layer_id(layer) }, Op::EndLayer]);
            }
        }
        // A font that no page uses is not written: the first uses them all.
        for (id, (_, codes)) in fonts.iter().filter(|_| index == 0) {
            let font = PdfFontHandle::External(id.clone());
            ops.extend([
                Op::StartTextSection,
                Op::SetFont { font, size: Pt(1.0) },
                Op::ShowText { items: vec![TextItem::Text(codes.characters())] },
                Op::EndTextSection,
            ]);
        }
        let size = |length: Length| printpdf::Mm(length.to_mm() as f32);
        document.pages.push(PdfPage::new(size(page.width), size(page.height), ops));
    }
    let save =
        PdfSaveOptions { optimize: false, subset_fonts: false, secure: false, image_optimization: None };
    Ok(printpdf::to_lopdf_doc(&document, &save, &mut Vec::new()))
}

fn jpeg(picture: &RgbImage) -> Result<XObject, InkError> {
    use printpdf::DictItem;
    let mut content = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut content, JPEG_QUALITY)
        .encode_image(picture)
        .map_err(InkError::Picture)?;
    let name = |text: &str| DictItem::Name(text.as_bytes().to_vec());
    let dict = [
        ("Type", name("XObject")),
        ("Subtype", name("Image")),
        ("Width", DictItem::Int(i64::from(picture.width()))),
        ("Height", DictItem::Int(i64::from(picture.height()))),
        ("BitsPerComponent", DictItem::Int(8)),
        ("ColorSpace", name("DeviceRGB")),
        ("Filter", name("DCTDecode")),
    ];
    let dict = dict.into_iter().map(|(key, value)| (key.to_owned(), value)).collect();
    Ok(XObject::External(ExternalXObject {
        stream: ExternalStream { dict, content, compress: false },
        width: Some(Px(picture.width() as usize)),
        height: Some(Px(picture.height() as usize)),
        dpi: None,
    }))
}

/// Not-a-number in a PDF stops every reader.
fn is_somewhere(shape: &Shape) -> bool {
    let area = |area: &Area| [area.x, area.y, area.width, area.height].iter().all(|v| v.is_finite());
    let points = |points: &[Point]| points.iter().flatten().all(|v| v.is_finite());
    match shape {
        Shape::Fill { area: a, .. }
        | Shape::Frame { area: a, .. }
        | Shape::Symbol { area: a, .. }
        | Shape::Picture { area: a, .. } => area(a),
        Shape::Line { points: p, .. } | Shape::Polygon { points: p, .. } => points(p),
        Shape::Text { x, y, size, .. } => [x, y, size].iter().all(|v| v.is_finite()),
        Shape::Tints { block, .. } | Shape::Symbols { block, .. } | Shape::Corners { block, .. } => {
            [block.x, block.y, block.cell].iter().all(|v| v.is_finite())
        }
    }
}
