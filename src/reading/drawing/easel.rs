//! Takes from a page what is drawn on it: hayro's interpreter draws, and this keeps what it draws.

use std::collections::HashMap;

use hayro::hayro_interpret::font::{Glyph, GlyphRun};
use hayro::hayro_interpret::hayro_cmap::BfString;
use hayro::hayro_interpret::pattern::Pattern;
use hayro::hayro_interpret::{
    BlendMode, CacheKey as _, ClipPath, Context, Device, DrawMode, DrawProps, Image, ImageDrawProps,
    InterpreterCache, InterpreterSettings, Paint, SoftMask, StrokeProps, TransformExt as _, interpret_page,
};
use hayro::hayro_syntax::page::Page;
use hayro::kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape as _, Vec2};

use super::bitmap::{self, Traced};
use super::paint::ink;
use super::shape::Shape;
use super::tile;
use super::{Area, Drawn, Fill, Ink, Item, Line, Sign, Text};

/// The most things that are kept of a page: a page of 200 x 200 squares, each filled, framed and signed, has 120,000.
const MOST: usize = 600_000;

/// The most pieces of paths that are kept of a page: five for each of those things. A piece takes 56 bytes.
const MOST_PIECES: usize = 3_000_000;

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
    /// An outline that is drawn again and again.
    Placed {
        outline: usize,
        place: Affine,
        ink: Ink,
        letter: Option<Written>,
    },
    /// With the outline of the pattern that it is filled with.
    Filled {
        path: BezPath,
        ink: Ink,
        pattern: Option<usize>,
    },
    /// A letter that consists of drawing; the width of its strokes, where it is some.
    Drawn {
        path: BezPath,
        ink: Ink,
        width: Option<f64>,
        letter: Written,
    },
    Stroked {
        path: BezPath,
        ink: Ink,
        width: f64,
        dash: Vec<f64>,
        cut: Option<Rect>,
    },
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
    /// Small pictures by their keys, with the places of their outlines.
    traced: HashMap<u128, Option<(Traced, Option<usize>)>>,
    /// Outlines of patterns by their keys.
    patterns: HashMap<u128, Option<(usize, Ink)>>,
    pieces: usize,
    full: bool,
    /// How much is seen through the groups that are drawn now.
    groups: Vec<f32>,
    /// A letter that consists of drawing is gathered here.
    letter: Option<Letter>,
}

/// What a letter stands for, its place, and how far from there the next is in thousandths, where the file tells.
#[derive(Clone)]
struct Written {
    letter: String,
    place: Affine,
    advance: Option<f64>,
}

/// A letter that consists of drawing.
struct Letter {
    written: Written,
    path: BezPath,
    ink: Option<Ink>,
    width: Option<f64>,
}

impl Easel {
    fn clip(&self) -> Rect {
        self.clips.last().copied().unwrap_or(Rect::ZERO)
    }

    /// How much is seen of what is drawn now.
    fn seen(&self) -> f32 {
        self.groups.iter().product()
    }

    fn keep(&mut self, raw: Raw) {
        self.pieces += match &raw {
            Raw::Filled { path, .. } | Raw::Drawn { path, .. } | Raw::Stroked { path, .. } => {
                path.elements().len()
            }
            Raw::Placed { .. } => 1,
        };
        if self.raw.len() < MOST && self.pieces < MOST_PIECES {
            self.raw.push(raw);
        } else {
            self.full = true;
        }
    }

    fn path(&mut self, path: BezPath, paint: &Paint<'_>, mode: &DrawMode, scale: f64) {
        let Some(mut ink) = ink(paint, self.seen()) else { return };
        if let Some(letter) = &mut self.letter {
            letter.ink.get_or_insert(ink);
            if let DrawMode::Stroke(stroke) = mode {
                letter.width = Some(f64::from(stroke.line_width) * scale);
            }
            letter.path.extend(path);
            return;
        }
        let bounds = path.bounding_box();
        let clip = self.clip();
        if !bounds.is_finite() || !bounds.overlaps(clip) {
            return;
        }
        if matches!(mode, DrawMode::Fill(_) | DrawMode::FillAndStroke(..)) {
            let pattern = self.pattern(paint);
            ink = pattern.map_or(ink, |(_, ink)| ink);
            self.filled(&path, bounds, ink, pattern.map(|(outline, _)| outline));
        }
        if let DrawMode::Stroke(stroke) | DrawMode::FillAndStroke(_, stroke) = mode {
            self.stroked(path, bounds, ink, stroke, scale);
        }
    }

    /// The outline and the ink of the pattern that a path is filled with.
    fn pattern(&mut self, paint: &Paint<'_>) -> Option<(usize, Ink)> {
        let Paint::Pattern(pattern) = paint else { return None };
        let Pattern::Tiling(tiling) = &**pattern else { return None };
        if let Some(known) = self.patterns.get(&pattern.cache_key()) {
            return *known;
        }
        let found = tile::drawn(tiling).map(|(path, ink)| {
            self.outlines.push(path);
            (self.outlines.len() - 1, ink)
        });
        self.patterns.insert(pattern.cache_key(), found);
        found
    }

    fn filled(&mut self, path: &BezPath, bounds: Rect, ink: Ink, pattern: Option<usize>) {
        if let Some(rectangles) = rectangles(path) {
            for part in rectangles {
                self.keep(Raw::Filled { path: part, ink, pattern });
            }
            return;
        }
        if bounds.width().max(bounds.height()) <= LARGE {
            self.keep(Raw::Filled { path: path.clone(), ink, pattern });
            return;
        }
        for part in apart(path) {
            if part.bounding_box().overlaps(self.clip()) {
                self.keep(Raw::Filled { path: part, ink, pattern });
            }
        }
    }

    /// A small picture, as its outline and the colour round it; whether it is one.
    fn small_picture(&mut self, image: &Image<'_, '_>, transform: Affine, area: Rect) -> bool {
        let side = area.width().max(area.height());
        if !(0.5..=LARGE * 1.5).contains(&side) || !bitmap::is_small(image) {
            return false;
        }
        let key = image.cache_key();
        if !self.traced.contains_key(&key) {
            let traced = bitmap::traced(image, self.seen()).filter(|_| self.traced.len() < bitmap::MOST);
            let found = traced.map(|mut traced| {
                let outline = (!traced.path.is_empty()).then(|| {
                    self.outlines.push(std::mem::take(&mut traced.path));
                    self.outlines.len() - 1
                });
                (traced, outline)
            });
            self.traced.insert(key, found);
        }
        let Some(Some((traced, outline))) = self.traced.get(&key) else { return false };
        let (ground, ink, outline) = (traced.ground, traced.ink, *outline);
        if let Some(ground) = ground {
            self.keep(Raw::Filled { path: area.to_path(0.1), ink: ground, pattern: None });
        }
        if let Some(outline) = outline {
            let letter = self.letter.as_ref().map(|letter| letter.written.clone());
            self.keep(Raw::Placed { outline, place: transform, ink, letter });
        }
        true
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
        with_sizes(&mut finished.drawn.items);
        finished.drawn
    }
}

/// The most rectangles of one path that are squares or bars, each for itself: more are a picture.
const MOST_RECTANGLES: usize = 12;

/// The rectangles that a path consists of, if it does of some that lie apart or only touch: squares of one colour.
fn rectangles(path: &BezPath) -> Option<Vec<BezPath>> {
    let parts = parts(path);
    if !(2..=MOST_RECTANGLES).contains(&parts.len()) {
        return None;
    }
    let boxes: Vec<Rect> =
        parts.iter().map(|part| Some(rectangle(part)?.inflate(-0.02, -0.02))).collect::<Option<_>>()?;
    let is_apart =
        boxes.iter().enumerate().all(|(at, one)| boxes[..at].iter().all(|other| !one.overlaps(*other)));
    is_apart.then_some(parts)
}

/// The parts of a path.
fn parts(path: &BezPath) -> Vec<BezPath> {
    let mut parts: Vec<BezPath> = Vec::new();
    for element in path.elements() {
        match (element, parts.last_mut()) {
            (PathEl::MoveTo(_), _) | (_, None) => parts.push(BezPath::from_vec(vec![*element])),
            (_, Some(part)) => part.push(*element),
        }
    }
    parts.retain(|part| part.elements().len() > 1);
    parts
}

/// The parts of a path that lie apart from each other: parts whose boxes meet stay together.
fn apart(path: &BezPath) -> Vec<BezPath> {
    let parts = parts(path);
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

    fn push_transparency_group(&mut self, seen: f32, _: Option<SoftMask<'a>>, _: BlendMode) {
        self.groups.push(seen);
    }

    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, 'a>, props: DrawProps<'a>, mode: &DrawMode) {
        let ink = ink(&props.paint, self.seen()).filter(|_| !matches!(mode, DrawMode::Invisible));
        for glyph in run.glyphs() {
            let letter = match glyph.as_unicode() {
                Some(BfString::Char(letter)) => letter.to_string(),
                Some(BfString::String(letters)) => letters,
                None => String::new(),
            };
            let place = props.transform * glyph.transform();
            let [a, b, ..] = place.as_coeffs();
            let direction = usize::from(direction(a, b));
            match &**glyph {
                Glyph::Outline(outline) => {
                    let Some(ink) = ink else { continue };
                    let key = outline.identifier().cache_key();
                    let outlines = &mut self.outlines;
                    let at = *self.places.entry(key).or_insert_with(|| {
                        outlines.push(outline.outline());
                        outlines.len() - 1
                    });
                    let advance = Some(outline.advance_width().map_or(0.0, f64::from));
                    let written = Written { letter, place, advance };
                    let at_point = place * Point::ORIGIN;
                    if self.clip().inflate(1.0, 1.0).contains(at_point) {
                        self.directions[direction] += 1;
                        self.keep(Raw::Placed { outline: at, place, ink, letter: Some(written) });
                    }
                }
                Glyph::Type3(drawing) => {
                    if self.letter.is_some() {
                        continue;
                    }
                    if ink.is_none() {
                        continue;
                    }
                    let before = self.raw.len();
                    let written = Written { letter, place, advance: None };
                    self.letter = Some(Letter { written, path: BezPath::new(), ink: None, width: None });
                    drawing.interpret(self, props.transform, glyph.transform(), &props.paint);
                    let Some(Letter { written, path, ink: own, width }) = self.letter.take() else {
                        continue;
                    };
                    let is_seen = !path.is_empty() && path.bounding_box().overlaps(self.clip());
                    // Letters may be pictures: those stand for themselves already.
                    if is_seen || self.raw.len() > before {
                        self.directions[direction] += 1;
                    }
                    let Some(ink) = own.or(ink).filter(|_| is_seen) else { continue };
                    if width.is_none() && is_tint(&path, place) {
                        self.keep(Raw::Filled { path, ink, pattern: None });
                    } else {
                        self.keep(Raw::Drawn { path, ink, width, letter: written });
                    }
                }
            }
        }
    }

    fn draw_image(&mut self, image: Image<'a, '_>, props: ImageDrawProps<'a>) {
        let sides = [f64::from(image.width()), f64::from(image.height())];
        // The transform of a picture is that of its pixels.
        let area = props.transform.transform_rect_bbox(Rect::new(0.0, 0.0, sides[0], sides[1]));
        let shown = area.intersect(self.clip()).area().max(0.0);
        if shown > 0.0 && self.small_picture(&image, props.transform, area) {
            return;
        }
        self.pictures += shown;
    }

    fn pop_clip(&mut self) {
        if self.clips.len() > 1 {
            self.clips.pop();
        }
    }

    fn pop_transparency_group(&mut self) {
        self.groups.pop();
    }
}

/// Whether a letter is no letter but a rectangle about as wide and as tall as its type: the colour of a square.
fn is_tint(path: &BezPath, place: Affine) -> bool {
    let [a, b, c, d, ..] = place.as_coeffs();
    let em = [libm::hypot(a, b), libm::hypot(c, d)].map(|side| side * 1000.0);
    let whole = |side: f64, em: f64| side > 0.86 * em;
    rectangle(path).is_some_and(|area| {
        let sides = [area.width(), area.height()];
        (whole(sides[0], em[0]) && whole(sides[1], em[1]))
            || (whole(sides[0], em[1]) && whole(sides[1], em[0]))
    })
}

impl Written {
    /// It on the page as it is read, its outline in a box.
    fn text(self, turn: Affine, bounds: Rect) -> Text {
        let [a, b, c, d, x, y] = (turn * self.place).as_coeffs();
        let em = libm::hypot(c, d) * 1000.0;
        // Fonts whose letters are drawings may have any size: their lines tell (`with_sizes`).
        let is_known = self.advance.is_some() || (0.1..1.4).contains(&(bounds.height() / em));
        Text {
            letter: self.letter,
            origin: [rounded(x), rounded(y)],
            advance: rounded(self.advance.map_or(bounds.x1 - x, |advance| advance * libm::hypot(a, b))),
            em: if is_known { rounded(em) } else { 0.0 },
            turn: direction(a, b),
        }
    }
}

/// Gives letters of no known size one by the tallest letter of their line, which is three quarters of it.
fn with_sizes(items: &mut [Item]) {
    let line = |text: &Text| (text.origin[1] * 2.0).round() as i64;
    let mut tallest: HashMap<i64, f32> = HashMap::new();
    for item in items.iter() {
        if let Item::Sign(Sign { text: Some(text), size, .. }) = item
            && text.em <= 0.0
        {
            let known = tallest.entry(line(text)).or_default();
            *known = known.max(size[1]);
        }
    }
    for item in items {
        if let Item::Sign(Sign { text: Some(text), .. }) = item
            && text.em <= 0.0
        {
            text.em = tallest.get(&line(text)).copied().unwrap_or_default() / 0.75;
        }
    }
}

/// Where letters point to whose x axis is this: right, down, left, up.
fn direction(a: f64, b: f64) -> u8 {
    match (a.abs() >= b.abs(), a >= 0.0, b > 0.0) {
        (true, true, _) => 0,
        (true, false, _) => 2,
        (false, _, true) => 1,
        (false, _, false) => 3,
    }
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
    shapes: HashMap<(String, u16, Vec<[i16; 2]>), u32>,
    /// Shapes and boxes of glyphs by outline and the first four numbers of their place.
    glyphs: HashMap<Placed, Option<(u32, Rect)>>,
}

impl Finished {
    fn shape(&mut self, shape: Shape) -> u32 {
        let key = (shape.pieces.clone(), shape.width, shape.points.clone());
        *self.shapes.entry(key).or_insert_with(|| {
            self.drawn.shapes.push(shape);
            (self.drawn.shapes.len() - 1) as u32
        })
    }

    /// The shape of an outline at a place, and its box from there.
    fn placed(&mut self, outline: usize, place: Affine, outlines: &[BezPath]) -> Option<(u32, Rect)> {
        let [a, b, c, d, ..] = place.as_coeffs();
        let key = (outline, [a, b, c, d].map(|part| (part * 1e9).round() as i64));
        if let Some(found) = self.glyphs.get(&key) {
            return *found;
        }
        let path = Affine::new([a, b, c, d, 0.0, 0.0]) * outlines[outline].clone();
        let found = Shape::of(&path, None).map(|(shape, bounds)| (self.shape(shape), bounds));
        self.glyphs.insert(key, found);
        found
    }

    fn put(&mut self, raw: Raw, turn: Affine, outlines: &[BezPath]) {
        match raw {
            Raw::Placed { outline, place, ink, letter } => {
                let place = turn * place;
                let [.., x, y] = place.as_coeffs();
                // A letter without an outline is a space.
                let Some((shape, bounds)) = self.placed(outline, place, outlines) else { return };
                let middle = bounds.center();
                let at = bounds + Vec2::new(x, y);
                let text = letter.map(|letter| letter.text(turn, at));
                self.drawn.items.push(Item::Sign(Sign {
                    shape,
                    at: [rounded(x + middle.x), rounded(y + middle.y)],
                    size: [rounded(bounds.width()), rounded(bounds.height())],
                    ink,
                    text,
                }));
            }
            Raw::Filled { path, ink, pattern } => {
                let path = turn * path;
                if let Some(rect) = rectangle(&path) {
                    let pattern = pattern.and_then(|outline| self.placed(outline, turn, outlines));
                    let pattern = pattern.map(|(shape, _)| shape);
                    self.drawn.items.push(Item::Fill(Fill { area: area(rect), ink, pattern }));
                    return;
                }
                self.sign(&path, None, ink, None);
            }
            Raw::Drawn { path, ink, width, letter } => {
                let path = turn * path;
                let text = letter.text(turn, path.bounding_box());
                self.sign(&path, width, ink, Some(text));
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

    fn sign(&mut self, path: &BezPath, stroke: Option<f64>, ink: Ink, text: Option<Text>) {
        let Some((shape, bounds)) = Shape::of(path, stroke) else { return };
        let shape = self.shape(shape);
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
