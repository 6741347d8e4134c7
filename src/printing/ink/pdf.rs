//! Shapes become PDF operators.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};

use image::RgbImage;
use printpdf::{
    ExternalStream, ExternalXObject, FontId, Layer as PdfLayer, LayerInternalId, Op, PdfDocument, PdfFont,
    PdfFontHandle, PdfPage, PdfSaveOptions, Pt, Px, TextItem, XObject, XObjectId,
};
use rayon::prelude::*;

use super::content::{Content, points};
use super::fonts::Codes;
use super::tints::Squares;
use super::{finish, fonts};
use crate::ground::colour::Srgb8;
use crate::ground::progress::{Progress, Stage, Stopped, tell};
use crate::printing::sheet::{self, Align, Area, Block, Layer, Page, Shape, Sheet, SymbolRun, TintedCells};
use crate::printing::symbols::SymbolId;
use crate::printing::typeface;
use crate::thread::cloth::Corner;

/// The fonts of a file by the names of their resources.
pub(super) type Fonts = BTreeMap<FontId, (PdfFont, Codes)>;

/// PDF points in a millimetre (ISO 32000-1, 8.3.2.3: 72 to the inch).
pub(super) const POINTS_PER_MM: f64 = 72.0 / 25.4;

/// How well pictures are kept: below 80, the legs of stitches smear; above 90 the file grows for nothing.
const JPEG_QUALITY: u8 = 82;

/// What a PDF says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PdfOptions {
    /// When it was made, in seconds since 1970.
    pub created: i64,
    /// Who made the chart, if they say so.
    pub author: String,
    /// The charts that the pages belong to, as their stamps say it in full, spaces between.
    pub stamp: Option<String>,
}

/// A sheet that could not be turned into a file.
#[derive(Debug, thiserror::Error)]
pub enum InkError {
    /// A font that cannot be cut down.
    #[error("a font that comes with brede cannot be embedded: {0}")]
    Font(String),
    /// A picture that cannot be encoded.
    #[error("a picture of the sheet cannot be encoded")]
    Picture(#[source] image::ImageError),
    /// A number that is not finite would spoil the file.
    #[error("page {page} cannot be drawn: a fault of brede's own")]
    Nowhere {
        /// From 1.
        page: usize,
    },
    /// The file could not be put together.
    #[error("the PDF cannot be put together")]
    Write(#[source] std::io::Error),
    /// The job was told to stop.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

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
    let squares = Squares::of(sheet);
    let total = sheet.pages.len() as u64;
    let done = AtomicU64::new(0);
    let contents: Vec<Vec<u8>> = sheet
        .pages
        .par_iter()
        .map(|page| {
            tell(progress, Stage::Inking, done.fetch_add(1, Ordering::Relaxed), total)?;
            finish::packed(&Pen::new(page, &fonts, &squares).draw(sheet)).map_err(InkError::Write)
        })
        .collect::<Result<_, _>>()?;
    let frame = frame(sheet, &fonts)?;
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
        let size = |mm: f64| printpdf::Mm(mm as f32);
        document.pages.push(PdfPage::new(size(page.width), size(page.height), ops));
    }
    let save =
        PdfSaveOptions { optimize: false, subset_fonts: false, secure: false, image_optimization: None };
    Ok(printpdf::to_lopdf_doc(&document, &save, &mut Vec::new()))
}

pub(super) fn layer_id(layer: Layer) -> LayerInternalId {
    LayerInternalId(format!("Layer{}", layer.name()))
}

pub(super) fn picture_id(index: usize) -> XObjectId {
    XObjectId(format!("Picture{index}"))
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
    let points = |points: &[[f64; 2]]| points.iter().flatten().all(|v| v.is_finite());
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

/// Draws one page.
struct Pen<'a> {
    page: &'a Page,
    fonts: &'a Fonts,
    squares: &'a Squares,
    content: Content,
}

impl<'a> Pen<'a> {
    fn new(page: &'a Page, fonts: &'a Fonts, squares: &'a Squares) -> Self {
        Self { page, fonts, squares, content: Content::default() }
    }

    fn draw(mut self, sheet: &Sheet) -> Vec<u8> {
        let mut open: Option<Layer> = None;
        for (layer, shape) in &self.page.shapes {
            if *layer != open {
                if open.is_some() {
                    self.content.end_layer();
                }
                if let Some(layer) = *layer {
                    self.content.begin_layer(layer);
                }
                open = *layer;
            }
            self.shape(shape, sheet);
        }
        if open.is_some() {
            self.content.end_layer();
        }
        self.content.into_bytes()
    }

    fn y(&self, y: f64) -> f32 {
        points(self.page.height - y)
    }

    fn point(&self, [x, y]: [f64; 2]) -> [f32; 2] {
        [points(x), self.y(y)]
    }

    fn rectangle(&mut self, area: &Area) {
        let place = [points(area.x), self.y(area.y + area.height), points(area.width), points(area.height)];
        self.content.rectangle(place);
    }

    fn shape(&mut self, shape: &Shape, sheet: &Sheet) {
        match shape {
            Shape::Fill { area, colour } => {
                self.content.fill_colour(*colour);
                self.rectangle(area);
                self.content.fill();
            }
            Shape::Frame { area, stroke } => {
                self.content.stroke(stroke);
                self.rectangle(area);
                self.content.draw();
            }
            Shape::Line { points, stroke } => {
                let points: Vec<[f32; 2]> = points.iter().map(|&point| self.point(point)).collect();
                self.content.line(points, stroke);
            }
            Shape::Polygon { points, colour } => {
                self.content.fill_colour(*colour);
                let points: Vec<[f32; 2]> = points.iter().map(|&point| self.point(point)).collect();
                self.content.path(points);
                self.content.close();
                self.content.fill();
            }
            Shape::Text { x, y, text, size, weight, align, colour } => {
                let width = typeface::width(text, *weight, *size);
                let left = match align {
                    Align::Left => *x,
                    Align::Centre => x - width / 2.0,
                    Align::Right => x - width,
                };
                self.text([left, *y], text, *size, *weight, *colour);
            }
            Shape::Symbol { area, symbol } => self.symbol(area, *symbol),
            Shape::Tints { block, tints } => self.tints(block, tints),
            Shape::Symbols { block, runs, colour } => self.symbols(block, runs, *colour),
            Shape::Corners { block, corners, colour } => self.corners(block, corners, *colour),
            Shape::Picture { area, picture } => {
                if sheet.pictures.get(*picture).is_some() {
                    let place = [
                        points(area.x),
                        self.y(area.y + area.height),
                        points(area.width),
                        points(area.height),
                    ];
                    self.content.picture(*picture, place);
                }
            }
        }
    }

    fn text(&mut self, [x, y]: [f64; 2], text: &str, size: f64, weight: typeface::Weight, colour: Srgb8) {
        let mut x = x;
        let y = self.y(y);
        self.content.fill_colour(colour);
        self.content.begin_text();
        for run in typeface::runs(text, weight) {
            let Some((_, codes)) = self.fonts.get(&fonts::face_id(run.face)) else { continue };
            self.content.font(codes, points(size));
            self.content.text_at([points(x), y]);
            self.content.show(codes, run.text.chars());
            x += typeface::width(&run.text, weight, size);
        }
        self.content.end_text();
    }

    /// Whole cells from here on: one unit is a cell, upwards from the block's lower left.
    fn enter_cells(&mut self, block: &Block) {
        self.content.save();
        let cell = (block.cell * POINTS_PER_MM) as f32;
        let bottom = self.page.height - block.y - f64::from(block.rows) * block.cell;
        let (x, y) = ((block.x * POINTS_PER_MM) as f32, (bottom * POINTS_PER_MM) as f32);
        self.content.transform([cell, 0.0, 0.0, cell, x, y]);
    }

    fn tints(&mut self, block: &Block, tints: &[TintedCells]) {
        self.enter_cells(block);
        if let Some(runs) = self.squares.runs(block, tints) {
            self.content.begin_text();
            self.content.squares();
            for ([column, row], codes) in runs {
                self.content.text_at([column as f32, (block.rows - row - 1) as f32]);
                self.content.show_codes(&codes);
            }
            self.content.end_text();
            self.content.restore();
            return;
        }
        for TintedCells { colour, rects } in tints {
            self.content.fill_colour(*colour);
            for &[column, row, columns, rows] in rects {
                self.content.cells([column, block.rows - row - rows, columns, rows]);
            }
            self.content.fill();
        }
        self.content.restore();
    }

    fn symbol(&mut self, area: &Area, symbol: SymbolId) {
        let Some((_, codes)) = self.fonts.get(&fonts::symbols_id()) else { return };
        self.content.fill_colour(Srgb8::BLACK);
        self.content.begin_text();
        self.content.font(codes, points(area.width));
        self.content.text_at(self.point([area.x, area.y + area.width]));
        self.content.show(codes, [fonts::symbol_character(symbol)]);
        self.content.end_text();
    }

    fn symbols(&mut self, block: &Block, runs: &[SymbolRun], colour: Srgb8) {
        let Some((_, codes)) = self.fonts.get(&fonts::symbols_id()).filter(|_| !runs.is_empty()) else {
            return;
        };
        self.enter_cells(block);
        self.content.fill_colour(colour);
        self.content.begin_text();
        self.content.font(codes, 1.0);
        for SymbolRun { column, row, symbols } in runs {
            let up = block.rows - row - 1;
            self.content.text_at([*column as f32, up as f32]);
            self.content.show(codes, symbols.iter().map(|&symbol| fonts::symbol_character(symbol)));
        }
        self.content.end_text();
        self.content.restore();
    }

    /// All corners as one path: a path each would make the file many times larger.
    fn corners(&mut self, block: &Block, corners: &[([u32; 2], Corner)], colour: Srgb8) {
        let long = sheet::CORNER * block.cell;
        self.content.fill_colour(colour);
        for &([column, row], corner) in corners {
            let [across, down] = corner.place();
            let x = block.x + (f64::from(column) + f64::from(across)) * block.cell;
            let y = block.y + (f64::from(row) + f64::from(down)) * block.cell;
            // Inwards from the corner.
            let (dx, dy) = (long * f64::from(1 - 2 * across), long * f64::from(1 - 2 * down));
            let triangle = [[x, y], [x + dx, y], [x, y + dy]].map(|point| self.point(point));
            self.content.path(triangle);
            self.content.close();
        }
        self.content.fill();
    }
}
