//! Plain bodies - disc, square, diamond, triangles, hexagon and others - solid, open, halved, marked and cut.

use kurbo::{BezPath, Point, Vec2};

use super::Figure;
use super::pen::{
    Drawing, MIDDLE, PEN, arc, at, chord, cross, cut, disc, polar, polygon, rectangle, regular, scaled, star,
    turned,
};

/// A closed form, the middle of its inscribed circle and that circle's radius.
struct Body {
    name: &'static str,
    form: BezPath,
    heart: Point,
    inside: f64,
}

impl Body {
    fn new(name: &'static str, form: BezPath, heart: Point, inside: f64) -> Self {
        Self { name, form, heart, inside }
    }

    /// The form so far inwards from the edge: exact where the circle touches every side.
    fn inset(&self, depth: f64) -> BezPath {
        scaled(&self.form, self.heart, (self.inside - depth) / self.inside)
    }

    fn solid(&self) -> Drawing {
        Drawing::new().fill(&self.form)
    }

    fn open(&self) -> Drawing {
        self.solid().hole(&self.inset(PEN))
    }

    /// Open, with the left side of a line through the heart inked.
    fn half(&self, direction: Vec2) -> Drawing {
        self.solid().hole(&self.inset(HALF_FRAME)).fill(&cut(&self.form, self.heart, direction))
    }

    /// Open, with bars through the heart.
    fn barred(&self, directions: &[Vec2]) -> Drawing {
        directions.iter().fold(self.open(), |drawing, &direction| {
            let [from, to] = chord(&self.inset(PEN / 2.0), self.heart, direction);
            drawing.lines(&[from, to])
        })
    }

    /// In two parts, with a gap along a line through the heart.
    fn split(&self, direction: Vec2, gap: f64) -> Drawing {
        let aside = Vec2::new(-direction.y, direction.x).normalize() * (gap / 2.0);
        Drawing::new().fill(&cut(&self.form, self.heart + aside, direction)).fill(&cut(
            &self.form,
            self.heart - aside,
            -direction,
        ))
    }
}

/// The frame round a half-inked body: thinner than the pen, so that the ink tells which half.
const HALF_FRAME: f64 = 75.0;

const RIGHT: Vec2 = Vec2::new(1.0, 0.0);
const UP: Vec2 = Vec2::new(0.0, 1.0);
const RISING: Vec2 = Vec2::new(1.0, 1.0);
const FALLING: Vec2 = Vec2::new(1.0, -1.0);

/// The four triangles, an isosceles one turned by quarters.
fn triangles() -> Vec<Body> {
    let corners = [at(120.0, 190.0), at(880.0, 190.0), at(500.0, 830.0)];
    // The inscribed circle: twice the area over the perimeter, on the middle line.
    let (width, height) = (760.0, 640.0);
    let inside = width * height / (width + 2.0 * f64::hypot(width / 2.0, height));
    let heart = at(500.0, 190.0 + inside);
    ["triangle-up", "triangle-left", "triangle-down", "triangle-right"]
        .into_iter()
        .zip([0.0, 90.0, 180.0, 270.0])
        .map(|(name, degrees)| {
            let form = turned(&polygon(&corners), degrees);
            let heart = polar(MIDDLE, heart.y - 500.0, 90.0 + degrees);
            Body::new(name, form, heart, inside)
        })
        .collect()
}

/// Everything made of a plain body.
pub(super) fn figures() -> Vec<Figure> {
    let round = Body::new("disc", disc(MIDDLE, 370.0), MIDDLE, 370.0);
    let square = Body::new("square", rectangle(165.0, 165.0, 835.0, 835.0), MIDDLE, 335.0);
    let diamond =
        Body::new("diamond", regular(MIDDLE, 430.0, 4, 0.0), MIDDLE, 430.0 * 45f64.to_radians().cos());
    let mut all = Vec::new();
    for body in [&round, &square, &diamond] {
        all.extend(marked(body));
        all.extend(pierced(body));
        all.extend(halved(body));
    }
    for body in &triangles() {
        all.extend(triangle(body));
    }
    all.extend(others());
    all
}

fn named(body: &Body, manner: &str, parts: u8, drawing: Drawing) -> Figure {
    Figure::new(format!("{}-{manner}", body.name), parts, drawing)
}

/// Solid, open, and open with marks inside.
fn marked(body: &Body) -> Vec<Figure> {
    let inner = scaled(&body.form, body.heart, 0.42);
    vec![
        named(body, "solid", 1, body.solid()),
        named(body, "open", 1, body.open()),
        named(body, "small", 1, Drawing::new().fill(&scaled(&body.form, body.heart, 0.55))),
        named(body, "dotted", 2, body.open().fill(&inner)),
        named(body, "barred-across", 3, body.barred(&[RIGHT])),
        named(body, "barred-upright", 3, body.barred(&[UP])),
        named(body, "barred-rising", 3, body.barred(&[RISING])),
        named(body, "barred-falling", 3, body.barred(&[FALLING])),
        named(body, "plus", 4, body.barred(&[RIGHT, UP])),
        named(body, "crossed", 4, body.barred(&[RISING, FALLING])),
    ]
}

/// Solid with a hole.
fn pierced(body: &Body) -> Vec<Figure> {
    let long = body.inside * 0.74;
    let slot = rectangle(500.0 - long, 415.0, 500.0 + long, 585.0);
    let plus = cross(MIDDLE, long, 160.0);
    vec![
        named(body, "holed", 2, body.solid().hole(&disc(MIDDLE, 190.0))),
        named(body, "slot-across", 2, body.solid().hole(&slot)),
        named(body, "slot-upright", 2, body.solid().hole(&turned(&slot, 90.0))),
        named(body, "slot-rising", 2, body.solid().hole(&turned(&slot, 45.0))),
        named(body, "slot-falling", 2, body.solid().hole(&turned(&slot, 135.0))),
        named(body, "cross-hole", 3, body.solid().hole(&turned(&plus, 45.0))),
    ]
}

/// Half inked, and cut in two.
fn halved(body: &Body) -> Vec<Figure> {
    vec![
        named(body, "half-left", 2, body.half(UP)),
        named(body, "half-right", 2, body.half(-UP)),
        named(body, "half-top", 2, body.half(RIGHT)),
        named(body, "half-bottom", 2, body.half(-RIGHT)),
        named(body, "half-top-left", 2, body.half(RISING)),
        named(body, "half-bottom-right", 2, body.half(-RISING)),
        named(body, "half-top-right", 2, body.half(FALLING)),
        named(body, "half-bottom-left", 2, body.half(-FALLING)),
        named(body, "split-across", 2, body.split(RIGHT, 150.0)),
        named(body, "split-upright", 2, body.split(UP, 150.0)),
        named(body, "split-rising", 2, body.split(RISING, 150.0)),
        named(body, "split-falling", 2, body.split(FALLING, 150.0)),
    ]
}

/// The kinds of a triangle.
fn triangle(body: &Body) -> Vec<Figure> {
    let lies = body.name == "triangle-left" || body.name == "triangle-right";
    let axis = if lies { RIGHT } else { UP };
    let aside = if lies { UP } else { RIGHT };
    let halves = if lies { ["half-top", "half-bottom"] } else { ["half-left", "half-right"] };
    let hole = disc(body.heart, body.inside * 0.62);
    let mut barred = body.open();
    let [from, to] = chord(&body.inset(PEN / 2.0), body.heart, aside);
    barred = barred.lines(&[from, to]);
    vec![
        named(body, "solid", 1, body.solid()),
        named(body, "open", 1, body.open()),
        named(body, "dotted", 2, body.open().dot(body.heart, 85.0)),
        named(body, "holed", 2, body.solid().hole(&hole)),
        named(body, "barred", 2, barred),
        named(body, halves[0], 2, body.half(axis)),
        named(body, halves[1], 2, body.half(-axis)),
        named(body, "split", 2, body.split(axis, 120.0)),
    ]
}

/// Bodies that come in fewer kinds.
fn others() -> Vec<Figure> {
    let mut all = Vec::new();
    let hexagon = regular(MIDDLE, 400.0, 6, 90.0);
    let hexagon = Body::new("hexagon", hexagon, MIDDLE, 400.0 * 30f64.to_radians().cos());
    all.push(named(&hexagon, "solid", 1, hexagon.solid()));
    all.push(named(&hexagon, "open", 1, hexagon.open()));
    all.push(named(&hexagon, "spoked", 3, {
        let spokes = [90.0, 210.0, 330.0].map(|degrees| polar(MIDDLE, 330.0, degrees));
        spokes.iter().fold(hexagon.open(), |drawing, &end| drawing.lines(&[MIDDLE, end]))
    }));
    let star5 = star(MIDDLE, 430.0, 175.0, 5, 90.0);
    all.push(Figure::new("star-solid", 1, Drawing::new().fill(&star5)));
    all.push(Figure::new("star-open", 2, Drawing::new().fill(&star5).hole(&scaled(&star5, MIDDLE, 0.5))));
    let star4 = star(MIDDLE, 450.0, 140.0, 4, 90.0);
    all.push(Figure::new("spark-solid", 1, Drawing::new().fill(&star4)));
    all.push(Figure::new(
        "spark-turned",
        2,
        Drawing::new().fill(&turned(&star(MIDDLE, 490.0, 140.0, 4, 90.0), 45.0)),
    ));
    all.push(Figure::new("burst", 2, Drawing::new().fill(&star(MIDDLE, 420.0, 250.0, 8, 90.0))));
    let turns = [
        ("top", "bottom-left", 0.0),
        ("left", "bottom-right", 90.0),
        ("bottom", "top-right", 180.0),
        ("right", "top-left", 270.0),
    ];
    for (name, place, degrees) in turns {
        let mut half = arc(at(500.0, 300.0), 400.0, 0.0, 180.0);
        half.close_path();
        let solid = Drawing::new().fill(&half);
        let hollow = scaled(&half, at(500.0, 480.0), 0.55);
        all.push(Figure::new(format!("dome-{name}-solid"), 1, solid.clone().turn(degrees)));
        all.push(Figure::new(format!("dome-{name}-open"), 2, solid.hole(&hollow).turn(degrees)));
        let corner = at(180.0, 180.0);
        let mut quarter = arc(corner, 640.0, 0.0, 90.0);
        quarter.line_to(corner);
        quarter.close_path();
        all.push(Figure::new(format!("fan-{place}-solid"), 1, Drawing::new().fill(&quarter).turn(degrees)));
        let inner = scaled(&quarter, at(390.0, 390.0), 0.58);
        all.push(Figure::new(
            format!("fan-{place}-open"),
            2,
            Drawing::new().fill(&quarter).hole(&inner).turn(degrees),
        ));
        let corner = polygon(&[at(170.0, 170.0), at(830.0, 170.0), at(170.0, 830.0)]);
        all.push(Figure::new(format!("wedge-{place}-solid"), 1, Drawing::new().fill(&corner).turn(degrees)));
        let inner = scaled(&corner, at(170.0 + 193.0, 170.0 + 193.0), 0.5);
        all.push(Figure::new(
            format!("wedge-{place}-open"),
            2,
            Drawing::new().fill(&corner).hole(&inner).turn(degrees),
        ));
        let moon = {
            let mut moon = arc(MIDDLE, 380.0, 50.0, 310.0);
            let end = polar(MIDDLE, 380.0, 50.0);
            moon.quad_to(at(330.0, 500.0 - 150.0), at(355.0, 500.0));
            moon.quad_to(at(330.0, 500.0 + 150.0), end);
            moon.close_path();
            moon
        };
        all.push(Figure::new(format!("moon-{name}"), 2, Drawing::new().fill(&moon).turn(degrees)));
    }
    all
}
