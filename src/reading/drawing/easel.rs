//! Takes from a page what is drawn on it: hayro's interpreter draws, and this keeps what it draws.

use std::collections::HashMap;

use hayro::hayro_interpret::font::{Glyph, GlyphRun};
use hayro::hayro_interpret::hayro_cmap::BfString;
use hayro::hayro_interpret::{
    BlendMode, ClipPath, Context, Device, DrawMode, DrawProps, Image, ImageDrawProps, InterpreterCache,
    InterpreterSettings, Paint, SoftMask, StrokeProps, TransformExt as _, interpret_page,
};
use hayro::hayro_syntax::page::Page;
use hayro::kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape as _};

use super::shape::Shape;
use super::{Area, Drawn, Fill, Ink, Item, Line, Sign, Text};

/// The most things that are kept of a page: a page of 200 x 200 squares, each filled, framed and signed, has 120,000.
const MOST: usize = 600_000;

/// A path of many parts that is wider than this, in points, is no sign: its parts are.
const LARGE: f64 = 30.0;

/// What is drawn on a page.
pub(in crate::reading) fn drawn<'a>(
    page: &'a Page<'a>,
    cache: &InterpreterCache<'a>,
    settings: &InterpreterSettings,
) -> Drawn {
    let (width, height) = page.render_dimensions();
    let whole = Rect::new(0.0, 0.0, width.into(), height.into());
    let begin = page.initial_transform(true).to_kurbo();
    let mut context = Context::new(begin, whole, cache, page.xref(), settings.clone());
    let mut easel = Easel { clips: vec![whole], ..Easel::default() };
    interpret_page(page, &mut context, &mut easel);
    easel.finish([f64::from(width), f64::from(height)])
}

/// Something as it was drawn, before the page is turned.
enum Raw {
    Glyph { outline: usize, place: Affine, ink: Ink, letter: String, advance: f64 },
    Filled { path: BezPath, ink: Ink, letter: Option<(String, Affine)> },
    Stroked { path: BezPath, ink: Ink, width: f64, dash: Vec<f64>, cut: Option<Rect> },
}

#[derive(Default)]
struct Easel {
    raw: Vec<Raw>,
    clips: Vec<Rect>,
    /// Outlines of glyphs, in thousandths of an em, by their keys.
    places: HashMap<u128, usize>,
    outlines: Vec<BezPath>,
    /// Where letters point to: right, down, left, up.
    directions: [usize; 4],
    pictures: f64,
    full: bool,
    /// A letter that consists of drawing is gathered here.
    letter: Option<BezPath>,
}

fn ink(paint: &Paint<'_>) -> Option<Ink> {
    match paint {
        Paint::Color(colour) => {
            let [r, g, b, a] = colour.to_rgba().to_rgba8();
            // What is nearly clear is not seen; what is half clear lies on white paper.
            let over = |value: u8| {
                let (value, a) = (u32::from(value), u32::from(a));
                u8::try_from((value * a + 255 * (255 - a) + 127) / 255).unwrap_or(u8::MAX)
            };
            (a > 12).then(|| [over(r), over(g), over(b)])
        }
        // The colour of a pattern is many.
        Paint::Pattern(_) => Some([128; 3]),
    }
}

impl Easel {
    fn clip(&self) -> Rect {
        self.clips.last().copied().unwrap_or(Rect::ZERO)
    }

    fn keep(&mut self, raw: Raw) {
        if self.raw.len() < MOST {
            self.raw.push(raw);
        } else {
            self.full = true;
        }
    }

    fn path(&mut self, path: BezPath, paint: &Paint<'_>, mode: &DrawMode, scale: f64) {
        let Some(ink) = ink(paint) else { return };
        if let Some(letter) = &mut self.letter {
            letter.extend(path);
            return;
        }
        let bounds = path.bounding_box();
        let clip = self.clip();
        if !bounds.is_finite() || !bounds.overlaps(clip) {
            return;
        }
        if matches!(mode, DrawMode::Fill(_) | DrawMode::FillAndStroke(..)) {
            self.filled(&path, bounds, ink);
        }
        if let DrawMode::Stroke(stroke) | DrawMode::FillAndStroke(_, stroke) = mode {
            self.stroked(path, bounds, ink, stroke, scale);
        }
    }

    fn filled(&mut self, path: &BezPath, bounds: Rect, ink: Ink) {
        if bounds.width().max(bounds.height()) <= LARGE {
            self.keep(Raw::Filled { path: path.clone(), ink, letter: None });
            return;
        }
        for part in apart(path) {
            if part.bounding_box().overlaps(self.clip()) {
                self.keep(Raw::Filled { path: part, ink, letter: None });
            }
        }
    }

    fn stroked(&mut self, path: BezPath, bounds: Rect, ink: Ink, stroke: &StrokeProps, scale: f64) {
        let clip = self.clip();
        let is_cut = bounds.intersect(clip) != bounds;
        let width = f64::from(stroke.line_width) * scale;
        let mut dash: Vec<f64> = stroke.dash_array.iter().map(|&length| f64::from(length) * scale).collect();
        if dash.iter().all(|&length| length <= 0.0) || dash.iter().any(|length| !length.is_finite()) {
            dash.clear();
        }
        dash.truncate(16);
        self.keep(Raw::Stroked { path, ink, width, dash, cut: is_cut.then_some(clip) });
    }

    /// What was kept, turned upright by its letters.
    fn finish(self, [width, height]: [f64; 2]) -> Drawn {
        let most = (0..4).max_by_key(|&turn| (self.directions[turn], 3 - turn)).unwrap_or(0);
        let (turn, size) = match most {
            1 => (Affine::new([0.0, -1.0, 1.0, 0.0, 0.0, width]), [height, width]),
            2 => (Affine::new([-1.0, 0.0, 0.0, -1.0, width, height]), [width, height]),
            3 => (Affine::new([0.0, 1.0, -1.0, 0.0, height, 0.0]), [height, width]),
            _ => (Affine::IDENTITY, [width, height]),
        };
        let pictures = (self.pictures / (width * height).max(1.0)).min(1.0) as f32;
        let mut finished = Finished {
            drawn: Drawn {
                size: size.map(|side| side as f32),
                pictures,
                full: self.full,
                ..Drawn::default()
            },
            ..Finished::default()
        };
        for raw in self.raw {
            finished.put(raw, turn, &self.outlines);
        }
        finished.drawn
    }
}

/// The parts of a path that lie apart from each other: parts whose boxes meet stay together.
fn apart(path: &BezPath) -> Vec<BezPath> {
    let mut parts: Vec<BezPath> = Vec::new();
    for element in path.elements() {
        match (element, parts.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => parts.push(BezPath::from_vec(vec![*element])),
            (_, Some(part)) => part.push(*element),
        }
    }
    parts.retain(|part| part.elements().len() > 1);
    // Squares that only touch lie apart.
    let boxes: Vec<Rect> = parts.iter().map(|part| part.bounding_box().inflate(-0.02, -0.02)).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by(|&one, &other| boxes[one].x0.total_cmp(&boxes[other].x0));
    let mut owner: Vec<usize> = (0..parts.len()).collect();
    fn root(owner: &mut [usize], mut at: usize) -> usize {
        while owner[at] != at {
            owner[at] = owner[owner[at]];
            at = owner[at];
        }
        at
    }
    for (place, &one) in order.iter().enumerate() {
        for &other in order[place + 1..].iter().take(400) {
            if boxes[other].x0 > boxes[one].x1 {
                break;
            }
            if boxes[one].overlaps(boxes[other]) {
                let (a, b) = (root(&mut owner, one), root(&mut owner, other));
                owner[a.max(b)] = a.min(b);
            }
        }
    }
    let mut groups: Vec<BezPath> = Vec::new();
    let mut place: HashMap<usize, usize> = HashMap::new();
    for (at, part) in parts.into_iter().enumerate() {
        let root = root(&mut owner, at);
        let at = *place.entry(root).or_insert_with(|| {
            groups.push(BezPath::new());
            groups.len() - 1
        });
        groups[at].extend(part);
    }
    groups
}

impl<'a> Device<'a> for Easel {
    fn draw_path(&mut self, path: &BezPath, props: DrawProps<'a>, mode: &DrawMode) {
        let scale = props.transform.determinant().abs().sqrt();
        self.path(props.transform * path.clone(), &props.paint, mode, scale);
    }

    fn push_clip_path(&mut self, clip: &ClipPath) {
        let clip = self.clip().intersect(clip.path.bounding_box());
        self.clips.push(clip);
    }

    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'a>>, _: BlendMode) {}

    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, 'a>, props: DrawProps<'a>, mode: &DrawMode) {
        let ink = ink(&props.paint).filter(|_| !matches!(mode, DrawMode::Invisible));
        for glyph in run.glyphs() {
            let letter = match glyph.as_unicode() {
                Some(BfString::Char(letter)) => letter.to_string(),
                Some(BfString::String(letters)) => letters,
                None => String::new(),
            };
            let place = props.transform * glyph.transform();
            let [a, b, ..] = place.as_coeffs();
            let direction = if a.abs() >= b.abs() {
                if a >= 0.0 { 0 } else { 2 }
            } else if b > 0.0 {
                1
            } else {
                3
            };
            match &**glyph {
                Glyph::Outline(outline) => {
                    let Some(ink) = ink else { continue };
                    let key = outline.identifier().cache_key();
                    let outlines = &mut self.outlines;
                    let at = *self.places.entry(key).or_insert_with(|| {
                        outlines.push(outline.outline());
                        outlines.len() - 1
                    });
                    let advance = outline.advance_width().map_or(0.0, f64::from);
                    let at_point = place * Point::ORIGIN;
                    if self.clip().inflate(1.0, 1.0).contains(at_point) {
                        self.directions[direction] += 1;
                        self.keep(Raw::Glyph { outline: at, place, ink, letter, advance });
                    }
                }
                Glyph::Type3(drawing) => {
                    if self.letter.is_some() {
                        continue;
                    }
                    let Some(ink) = ink else { continue };
                    self.letter = Some(BezPath::new());
                    drawing.interpret(self, props.transform, glyph.transform(), &props.paint);
                    let path = self.letter.take().unwrap_or_default();
                    if !path.is_empty() && path.bounding_box().overlaps(self.clip()) {
                        self.directions[direction] += 1;
                        self.keep(Raw::Filled { path, ink, letter: Some((letter, place)) });
                    }
                }
            }
        }
    }

    fn draw_image(&mut self, image: Image<'a, '_>, props: ImageDrawProps<'a>) {
        let sides = [f64::from(image.width()), f64::from(image.height())];
        // The transform of a picture is that of its pixels.
        let area = props.transform.transform_rect_bbox(Rect::new(0.0, 0.0, sides[0], sides[1]));
        self.pictures += area.intersect(self.clip()).area().max(0.0);
    }

    fn pop_clip(&mut self) {
        if self.clips.len() > 1 {
            self.clips.pop();
        }
    }

    fn pop_transparency_group(&mut self) {}
}

/// To thousandths of a point, so that it is short to hand over.
fn rounded(value: f64) -> f32 {
    ((value * 1000.0).round() / 1000.0) as f32
}

fn area(rect: Rect) -> Area {
    [rect.x0, rect.y0, rect.x1, rect.y1].map(rounded)
}

/// A glyph by its outline and the first four numbers of its place.
type Placed = (usize, [i64; 4]);

#[derive(Default)]
struct Finished {
    drawn: Drawn,
    /// Shapes by their pieces and points.
    shapes: HashMap<(String, Vec<[i16; 2]>), u32>,
    /// Shapes and boxes of glyphs by outline and the first four numbers of their place.
    glyphs: HashMap<Placed, Option<(u32, Rect)>>,
}

impl Finished {
    fn shape(&mut self, shape: Shape) -> u32 {
        let key = (shape.pieces.clone(), shape.points.clone());
        *self.shapes.entry(key).or_insert_with(|| {
            self.drawn.shapes.push(shape);
            (self.drawn.shapes.len() - 1) as u32
        })
    }

    fn put(&mut self, raw: Raw, turn: Affine, outlines: &[BezPath]) {
        match raw {
            Raw::Glyph { outline, place, ink, letter, advance } => {
                let place = turn * place;
                let [a, b, c, d, x, y] = place.as_coeffs();
                let key = (outline, [a, b, c, d].map(|part| (part * 1e9).round() as i64));
                let found = match self.glyphs.get(&key) {
                    Some(found) => *found,
                    None => {
                        let path = Affine::new([a, b, c, d, 0.0, 0.0]) * outlines[outline].clone();
                        let found = Shape::of(&path, None).map(|(shape, bounds)| (self.shape(shape), bounds));
                        self.glyphs.insert(key, found);
                        found
                    }
                };
                // A letter without an outline is a space.
                let Some((shape, bounds)) = found else { return };
                let middle = bounds.center();
                let text = Text {
                    letter,
                    origin: [rounded(x), rounded(y)],
                    advance: rounded(advance * libm::hypot(a, b)),
                    em: rounded(libm::hypot(c, d) * 1000.0),
                };
                self.drawn.items.push(Item::Sign(Sign {
                    shape,
                    at: [rounded(x + middle.x), rounded(y + middle.y)],
                    size: [rounded(bounds.width()), rounded(bounds.height())],
                    ink,
                    text: Some(text),
                }));
            }
            Raw::Filled { path, ink, letter } => {
                let path = turn * path;
                if let (Some(rect), None) = (rectangle(&path), &letter) {
                    self.drawn.items.push(Item::Fill(Fill { area: area(rect), ink }));
                    return;
                }
                self.sign(&path, None, ink, letter.map(|(letter, place)| (letter, turn * place)));
            }
            Raw::Stroked { path, ink, width, dash, cut } => {
                let path = turn * path;
                let cut = cut.map(|cut| area(turn.transform_rect_bbox(cut)));
                let Some(lines) = straight(&path) else {
                    self.sign(&path, Some(width), ink, None);
                    return;
                };
                for points in lines {
                    self.drawn.items.push(Item::Line(Line {
                        points: points
                            .into_iter()
                            .map(|point| [rounded(point.x), rounded(point.y)])
                            .collect(),
                        width: rounded(width),
                        dash: dash.iter().map(|&length| rounded(length)).collect(),
                        ink,
                        cut,
                    }));
                }
            }
        }
    }

    fn sign(&mut self, path: &BezPath, stroke: Option<f64>, ink: Ink, letter: Option<(String, Affine)>) {
        let Some((shape, bounds)) = Shape::of(path, stroke) else { return };
        let shape = self.shape(shape);
        let text = letter.map(|(letter, place)| {
            let [_, _, c, d, x, y] = place.as_coeffs();
            Text {
                letter,
                origin: [rounded(x), rounded(y)],
                advance: rounded(bounds.x1 - x),
                em: rounded(libm::hypot(c, d) * 1000.0),
            }
        });
        let middle = bounds.center();
        self.drawn.items.push(Item::Sign(Sign {
            shape,
            at: [rounded(middle.x), rounded(middle.y)],
            size: [rounded(bounds.width()), rounded(bounds.height())],
            ink,
            text,
        }));
    }
}

/// The rectangle that a path is, its sides upright.
fn rectangle(path: &BezPath) -> Option<Rect> {
    let mut points: Vec<Point> = Vec::new();
    for (at, element) in path.elements().iter().enumerate() {
        match *element {
            PathEl::MoveTo(point) if at == 0 => points.push(point),
            PathEl::LineTo(point) => points.push(point),
            PathEl::ClosePath => {}
            _ => return None,
        }
    }
    if points.len() == 5 && points[0].distance(points[4]) < 1e-3 {
        points.pop();
    }
    if points.len() != 4 {
        return None;
    }
    let upright = |one: Point, other: Point| (one.x - other.x).abs() < 2e-3 || (one.y - other.y).abs() < 2e-3;
    let is_so = (0..4).all(|at| upright(points[at], points[(at + 1) % 4]));
    is_so.then(|| path.bounding_box())
}

/// The straight pieces of a path, part by part; nothing where it is curved.
fn straight(path: &BezPath) -> Option<Vec<Vec<Point>>> {
    let mut lines: Vec<Vec<Point>> = Vec::new();
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(point) => lines.push(vec![point]),
            PathEl::LineTo(point) => lines.last_mut()?.push(point),
            PathEl::ClosePath => {
                let line = lines.last_mut()?;
                let first = *line.first()?;
                if line.last().is_some_and(|last| last.distance(first) > 1e-3) {
                    line.push(first);
                }
            }
            PathEl::QuadTo(..) | PathEl::CurveTo(..) => return None,
        }
    }
    lines.retain(|line| line.len() > 1);
    Some(lines)
}
