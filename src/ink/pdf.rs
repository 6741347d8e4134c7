//! Shapes become PDF operators.

use std::fmt::Write as _;

use image::RgbImage;
use printpdf::{
    Color, CurTransMat, ExternalStream, ExternalXObject, Layer as PdfLayer, LayerInternalId, Line,
    LineDashPattern, LinePoint, Op, PaintMode, PdfDocument, PdfFontHandle, PdfPage, PdfSaveOptions, Point,
    Polygon, PolygonRing, Pt, Px, Rect, Rgb, TextItem, TextMatrix, WindingOrder, XObject, XObjectId,
    XObjectTransform,
};

use super::{finish, fonts};
use crate::cloth::Corner;
use crate::colour::Srgb8;
use crate::progress::{Progress, Stopped, tell};
use crate::sheet::{self, Align, Area, Block, Layer, Page, Shape, Sheet, Stroke, SymbolRun, TintedCells};
use crate::typeface;

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
    let mut document = PdfDocument::new(&sheet.title);
    document.resources.fonts.map = fonts::embed(&fonts::Used::in_sheet(sheet))?;
    for layer in Layer::ALL {
        document.resources.layers.map.insert(layer_id(layer), PdfLayer::new(layer.name()));
    }
    for (index, picture) in sheet.pictures.iter().enumerate() {
        document.resources.xobjects.map.insert(picture_id(index), jpeg(picture)?);
    }
    let total = sheet.pages.len() as u64;
    for (index, page) in sheet.pages.iter().enumerate() {
        tell(progress, "pages", index as u64, total)?;
        if !page.shapes.iter().all(|(_, shape)| is_somewhere(shape)) {
            return Err(InkError::Nowhere { page: index + 1 });
        }
        document.pages.push(Pen::new(page).draw(sheet));
    }
    // Not `secure`: that drops operators which printpdf does not know, such as our paths of many rectangles.
    let save =
        PdfSaveOptions { optimize: false, subset_fonts: false, secure: false, image_optimization: None };
    let mut warnings = Vec::new();
    let file = printpdf::to_lopdf_doc(&document, &save, &mut warnings);
    drop(document);
    finish::finish(file, sheet, options).map_err(InkError::Write)
}

fn layer_id(layer: Layer) -> LayerInternalId {
    LayerInternalId(format!("Layer{}", layer.name()))
}

fn picture_id(index: usize) -> XObjectId {
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

/// A length in points, to a hundredth: 0.004 mm, finer than any printer.
fn points(mm: f64) -> f32 {
    ((mm * POINTS_PER_MM * 100.0).round() / 100.0) as f32
}

fn colour(colour: Srgb8) -> Color {
    // Three figures keep every 8-bit value apart.
    let part = |value: u8| ((f64::from(value) / 255.0 * 1000.0).round() / 1000.0) as f32;
    Color::Rgb(Rgb::new(part(colour.r), part(colour.g), part(colour.b), None))
}

/// Draws one page.
struct Pen<'a> {
    page: &'a Page,
    ops: Vec<Op>,
}

impl<'a> Pen<'a> {
    fn new(page: &'a Page) -> Self {
        Self { page, ops: Vec::new() }
    }

    fn draw(mut self, sheet: &Sheet) -> PdfPage {
        let mut open: Option<Layer> = None;
        for (layer, shape) in &self.page.shapes {
            if *layer != open {
                if open.is_some() {
                    self.ops.push(Op::EndLayer);
                }
                if let Some(layer) = *layer {
                    self.ops.push(Op::BeginLayer { layer_id: layer_id(layer) });
                }
                open = *layer;
            }
            self.shape(shape, sheet);
        }
        if open.is_some() {
            self.ops.push(Op::EndLayer);
        }
        let size = |mm: f64| printpdf::Mm(mm as f32);
        PdfPage::new(size(self.page.width), size(self.page.height), self.ops)
    }

    fn y(&self, y: f64) -> f32 {
        points(self.page.height - y)
    }

    fn point(&self, [x, y]: [f64; 2]) -> LinePoint {
        LinePoint { p: Point { x: Pt(points(x)), y: Pt(self.y(y)) }, bezier: false }
    }

    fn rect(&self, area: &Area, mode: PaintMode) -> Op {
        Op::DrawRectangle {
            rectangle: Rect {
                x: Pt(points(area.x)),
                y: Pt(self.y(area.y + area.height)),
                width: Pt(points(area.width)),
                height: Pt(points(area.height)),
                mode: Some(mode),
                winding_order: None,
            },
        }
    }

    fn shape(&mut self, shape: &Shape, sheet: &Sheet) {
        match shape {
            Shape::Fill { area, colour: fill } => {
                self.ops.push(Op::SetFillColor { col: colour(*fill) });
                self.ops.push(self.rect(area, PaintMode::Fill));
            }
            Shape::Frame { area, stroke } => {
                self.stroke(stroke);
                self.ops.push(self.rect(area, PaintMode::Stroke));
            }
            Shape::Line { points, stroke } => {
                self.stroke(stroke);
                let points = points.iter().map(|&point| self.point(point)).collect();
                self.ops.push(Op::DrawLine { line: Line { points, is_closed: false } });
            }
            Shape::Polygon { points, colour: fill } => {
                self.ops.push(Op::SetFillColor { col: colour(*fill) });
                let points = points.iter().map(|&point| self.point(point)).collect();
                let polygon = Polygon {
                    rings: vec![PolygonRing { points }],
                    mode: PaintMode::Fill,
                    winding_order: WindingOrder::NonZero,
                };
                self.ops.push(Op::DrawPolygon { polygon });
            }
            Shape::Text { x, y, text, size, weight, align, colour: ink } => {
                let width = typeface::width(text, *weight, *size);
                let left = match align {
                    Align::Left => *x,
                    Align::Centre => x - width / 2.0,
                    Align::Right => x - width,
                };
                self.text([left, *y], text, *size, *weight, *ink);
            }
            Shape::Symbol { area, symbol } => {
                let block = Block { x: area.x, y: area.y, cell: area.width, columns: 1, rows: 1 };
                let runs = [SymbolRun { column: 0, row: 0, symbols: vec![*symbol] }];
                self.symbols(&block, &runs, Srgb8::BLACK);
            }
            Shape::Tints { block, tints } => self.tints(block, tints),
            Shape::Symbols { block, runs, colour } => self.symbols(block, runs, *colour),
            Shape::Corners { block, corners, colour } => self.corners(block, corners, *colour),
            Shape::Picture { area, picture } => self.picture(area, *picture, sheet),
        }
    }

    fn stroke(&mut self, stroke: &Stroke) {
        self.ops.push(Op::SetOutlineColor { col: colour(stroke.colour) });
        self.ops.push(Op::SetOutlineThickness { pt: Pt(points(stroke.width)) });
        let pattern: Vec<f32> = stroke.dash.iter().map(|&mm| points(mm)).collect();
        self.ops.push(Op::SetLineDashPattern { dash: LineDashPattern::new(0.0, &pattern) });
    }

    fn text(&mut self, [x, y]: [f64; 2], text: &str, size: f64, weight: typeface::Weight, ink: Srgb8) {
        let mut x = x;
        self.ops.push(Op::SetFillColor { col: colour(ink) });
        self.ops.push(Op::StartTextSection);
        for run in typeface::runs(text, weight) {
            let font = PdfFontHandle::External(fonts::face_id(run.face));
            self.ops.push(Op::SetFont { font, size: Pt(points(size)) });
            let matrix = TextMatrix::Translate(Pt(points(x)), Pt(self.y(y)));
            self.ops.push(Op::SetTextMatrix { matrix });
            x += typeface::width(&run.text, weight, size);
            self.ops.push(Op::ShowText { items: vec![TextItem::Text(run.text)] });
        }
        self.ops.push(Op::EndTextSection);
    }

    /// Whole cells from here on: one unit is a cell, upwards from the block's lower left.
    fn enter_cells(&mut self, block: &Block) {
        self.ops.push(Op::SaveGraphicsState);
        let cell = (block.cell * POINTS_PER_MM) as f32;
        let bottom = self.page.height - block.y - f64::from(block.rows) * block.cell;
        let (x, y) = ((block.x * POINTS_PER_MM) as f32, (bottom * POINTS_PER_MM) as f32);
        let matrix = CurTransMat::Raw([cell, 0.0, 0.0, cell, x, y]);
        self.ops.push(Op::SetTransformationMatrix { matrix });
    }

    fn tints(&mut self, block: &Block, tints: &[TintedCells]) {
        self.enter_cells(block);
        for TintedCells { colour: fill, rects } in tints {
            self.ops.push(Op::SetFillColor { col: colour(*fill) });
            // One operator for all: an operation of printpdf a rectangle would take 200 bytes of memory each, and
            // paint each by itself. ISO 32000-1, 8.5.2.1: x y width height re; then f fills the whole path.
            let mut path = String::new();
            for &[column, row, columns, rows] in rects {
                let up = block.rows - row - rows;
                _ = writeln!(path, "{column} {up} {columns} {rows} re");
            }
            path.push('f');
            self.ops.push(Op::Unknown { key: path, value: Vec::new() });
        }
        self.ops.push(Op::RestoreGraphicsState);
    }

    fn symbols(&mut self, block: &Block, runs: &[SymbolRun], ink: Srgb8) {
        if runs.is_empty() {
            return;
        }
        self.enter_cells(block);
        self.ops.push(Op::SetFillColor { col: colour(ink) });
        self.ops.push(Op::StartTextSection);
        let font = PdfFontHandle::External(fonts::symbols_id());
        self.ops.push(Op::SetFont { font, size: Pt(1.0) });
        for SymbolRun { column, row, symbols } in runs {
            let up = block.rows - row - 1;
            let matrix = TextMatrix::Translate(Pt(*column as f32), Pt(up as f32));
            self.ops.push(Op::SetTextMatrix { matrix });
            let text = symbols.iter().map(|&symbol| fonts::symbol_character(symbol)).collect();
            self.ops.push(Op::ShowText { items: vec![TextItem::Text(text)] });
        }
        self.ops.push(Op::EndTextSection);
        self.ops.push(Op::RestoreGraphicsState);
    }

    /// All corners as one path: a path each would make the file many times larger.
    fn corners(&mut self, block: &Block, corners: &[([u32; 2], Corner)], ink: Srgb8) {
        let long = sheet::CORNER * block.cell;
        let triangle = |&([column, row], corner): &([u32; 2], Corner)| {
            let [across, down] = corner.place();
            let x = block.x + (f64::from(column) + f64::from(across)) * block.cell;
            let y = block.y + (f64::from(row) + f64::from(down)) * block.cell;
            // Inwards from the corner.
            let (dx, dy) = (long * f64::from(1 - 2 * across), long * f64::from(1 - 2 * down));
            let points = [[x, y], [x + dx, y], [x, y + dy]].map(|point| self.point(point)).to_vec();
            PolygonRing { points }
        };
        let polygon = Polygon {
            rings: corners.iter().map(triangle).collect(),
            mode: PaintMode::Fill,
            winding_order: WindingOrder::NonZero,
        };
        self.ops.push(Op::SetFillColor { col: colour(ink) });
        self.ops.push(Op::DrawPolygon { polygon });
    }

    fn picture(&mut self, area: &Area, picture: usize, sheet: &Sheet) {
        if sheet.pictures.get(picture).is_none() {
            return;
        }
        let transform = XObjectTransform {
            translate_x: Some(Pt(points(area.x))),
            translate_y: Some(Pt(self.y(area.y + area.height))),
            scale_x: Some(points(area.width)),
            scale_y: Some(points(area.height)),
            no_auto_scale: true,
            ..XObjectTransform::default()
        };
        self.ops.push(Op::UseXobject { id: picture_id(picture), transform });
    }
}
