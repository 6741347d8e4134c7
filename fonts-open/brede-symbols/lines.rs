//! Figures drawn with the pen: bars, crosses, chevrons, arrows, arcs, waves, and letters without look-alikes.

use kurbo::{BezPath, Point};

use super::Figure;
use super::pen::{
    Drawing, MIDDLE, PEN, arc, at, cross, disc, polar, polygon, rectangle, regular, through, turned,
};

const QUARTERS: [(&str, f64); 4] = [("up", 0.0), ("left", 90.0), ("down", 180.0), ("right", 270.0)];
const SLANTS: [(&str, f64); 4] = [("across", 0.0), ("rising", 45.0), ("upright", 90.0), ("falling", 135.0)];

/// Everything drawn with the pen.
pub(super) fn figures() -> Vec<Figure> {
    let mut all = bars();
    all.extend(crosses());
    all.extend(turned_figures());
    all.extend(waves());
    all.extend(letters());
    all
}

fn figure(name: impl Into<String>, parts: u8, drawing: Drawing) -> Figure {
    Figure::new(name, parts, drawing)
}

fn points(list: &[(f64, f64)]) -> Vec<Point> {
    list.iter().map(|&(x, y)| at(x, y)).collect()
}

fn lines(list: &[(f64, f64)]) -> Drawing {
    Drawing::new().lines(&points(list))
}

/// One to three bars, level, slanted and upright, and bars with dots.
fn bars() -> Vec<Figure> {
    let mut all = Vec::new();
    for (name, degrees) in SLANTS {
        let bar = |y: f64| rectangle(130.0, y - 55.0, 870.0, y + 55.0);
        let thick = rectangle(130.0, 390.0, 870.0, 610.0);
        let one = Drawing::new().fill(&bar(500.0));
        let two = Drawing::new().fill(&bar(350.0)).fill(&bar(650.0));
        let three = Drawing::new().fill(&bar(250.0)).fill(&bar(500.0)).fill(&bar(750.0));
        let dots = one.clone().dot(at(500.0, 770.0), 95.0).dot(at(500.0, 230.0), 95.0);
        let pair = Drawing::new().fill(&rectangle(130.0, 560.0, 870.0, 780.0)).fill(&bar(300.0));
        let bead = one.clone().dot(MIDDLE, 190.0);
        let ends = one.clone().dot(at(200.0, 500.0), 145.0).dot(at(800.0, 500.0), 145.0);
        all.push(figure(format!("bar-{name}"), 1, one.turn(degrees)));
        all.push(figure(format!("plank-{name}"), 1, Drawing::new().fill(&thick).turn(degrees)));
        all.push(figure(format!("bars-two-{name}"), 2, two.turn(degrees)));
        all.push(figure(format!("bars-three-{name}"), 3, three.turn(degrees)));
        all.push(figure(format!("bar-between-dots-{name}"), 3, dots.turn(degrees)));
        all.push(figure(format!("bar-beaded-{name}"), 2, bead.turn(degrees)));
        all.push(figure(format!("bar-knobbed-{name}"), 2, ends.turn(degrees)));
        all.push(figure(format!("bars-uneven-{name}"), 2, pair.turn(degrees)));
    }
    all
}

/// Crosses, upright and turned, thin and thick, with things between their arms.
fn crosses() -> Vec<Figure> {
    let thin = cross(MIDDLE, 390.0, 110.0);
    let thick = cross(MIDDLE, 370.0, 250.0);
    let spokes = |count: u32, first: f64| {
        (0..count).fold(Drawing::new(), |drawing, index| {
            let degrees = first + 360.0 / f64::from(count) * f64::from(index);
            drawing.lines(&[MIDDLE, polar(MIDDLE, 410.0, degrees)])
        })
    };
    let long = turned(&cross(MIDDLE, 450.0, 110.0), 45.0);
    let hash = [0.0, 90.0].into_iter().fold(Drawing::new(), |drawing, degrees| {
        drawing
            .fill(&turned(&rectangle(130.0, 320.0, 870.0, 410.0), degrees))
            .fill(&turned(&rectangle(130.0, 590.0, 870.0, 680.0), degrees))
    });
    vec![
        figure("plus-thin", 1, Drawing::new().fill(&thin)),
        figure("plus-thick", 1, Drawing::new().fill(&thick)),
        figure("cross-thin", 1, Drawing::new().fill(&long)),
        figure("cross-thick", 1, Drawing::new().fill(&turned(&cross(MIDDLE, 430.0, 230.0), 45.0))),
        figure("spokes-six", 3, spokes(6, 90.0)),
        figure("spokes-six-turned", 3, spokes(6, 0.0)),
        figure("spokes-eight", 4, spokes(8, 0.0)),
        figure("spokes-three-up", 2, spokes(3, 90.0)),
        figure("spokes-three-down", 2, spokes(3, 270.0)),
        figure("spokes-three-left", 2, spokes(3, 180.0)),
        figure("spokes-three-right", 2, spokes(3, 0.0)),
        figure("plus-beaded", 3, Drawing::new().fill(&thin).dot(MIDDLE, 200.0)),
        figure("cross-beaded", 3, Drawing::new().fill(&long).dot(MIDDLE, 200.0)),
        figure("hash", 4, hash),
    ]
}

/// What comes in four turns, and the arrows with two heads.
fn turned_figures() -> Vec<Figure> {
    let mut all = Vec::new();
    for (name, parts, drawing) in pointed().into_iter().chain(angular()) {
        for (way, degrees) in QUARTERS {
            all.push(figure(format!("{name}-{way}"), parts, drawing.clone().turn(degrees)));
        }
    }
    for (way, degrees) in [("rising", 45.0), ("falling", 135.0)] {
        let bolt = lines(&[(500.0, 100.0), (500.0, 900.0)])
            .lines(&points(&[(300.0, 650.0), (500.0, 850.0), (700.0, 650.0)]))
            .lines(&points(&[(300.0, 350.0), (500.0, 150.0), (700.0, 350.0)]));
        all.push(figure(format!("arrow-double-{way}"), 3, bolt.turn(degrees - 90.0)));
    }
    all
}

/// Arrows, chevrons and arches, upwards: name, parts and drawing.
fn pointed() -> Vec<(&'static str, u8, Drawing)> {
    let head = polygon(&points(&[(150.0, 480.0), (850.0, 480.0), (500.0, 860.0)]));
    let arrow = Drawing::new().fill(&head).fill(&rectangle(400.0, 140.0, 600.0, 500.0));
    let thin_arrow = lines(&[(180.0, 500.0), (500.0, 820.0), (820.0, 500.0)])
        .lines(&points(&[(500.0, 140.0), (500.0, 800.0)]));
    let tent = |y: f64| points(&[(140.0, y), (500.0, y + 340.0), (860.0, y)]);
    let thick_tent = polygon(&points(&[
        (130.0, 200.0),
        (500.0, 480.0),
        (870.0, 200.0),
        (870.0, 480.0),
        (500.0, 790.0),
        (130.0, 480.0),
    ]));
    let bow = arc(at(500.0, 480.0), 330.0, 0.0, 180.0);
    let arch = |drawing: Drawing| drawing.stroke(&arch_path());
    vec![
        ("arrow", 1, arrow),
        ("arrow-thin", 2, thin_arrow),
        ("chevron", 1, Drawing::new().lines(&tent(330.0))),
        ("chevron-thick", 1, Drawing::new().fill(&thick_tent)),
        ("chevrons-two", 2, Drawing::new().lines(&tent(180.0)).lines(&tent(460.0))),
        ("chevron-dot", 2, Drawing::new().lines(&tent(400.0)).dot(at(500.0, 330.0), 110.0)),
        (
            "chevron-bar",
            2,
            Drawing::new().lines(&tent(460.0)).lines(&points(&[(140.0, 250.0), (860.0, 250.0)])),
        ),
        ("arch", 1, arch(Drawing::new())),
        ("arch-dot", 2, arch(Drawing::new()).dot(at(500.0, 290.0), 115.0)),
        ("arch-bar", 2, arch(Drawing::new()).lines(&points(&[(140.0, 200.0), (860.0, 200.0)]))),
        ("bow", 1, Drawing::new().stroke_wide(&bow, PEN)),
        ("bow-thick", 1, Drawing::new().stroke_wide(&arc(at(500.0, 350.0), 300.0, 0.0, 180.0), 200.0)),
    ]
}

/// Tees, corners, brackets and the like: name, parts and drawing.
fn angular() -> Vec<(&'static str, u8, Drawing)> {
    vec![
        (
            "tee",
            2,
            lines(&[(140.0, 790.0), (860.0, 790.0)]).lines(&points(&[(500.0, 800.0), (500.0, 150.0)])),
        ),
        (
            "tee-thick",
            3,
            Drawing::new()
                .fill(&rectangle(140.0, 600.0, 860.0, 850.0))
                .fill(&rectangle(385.0, 150.0, 615.0, 700.0)),
        ),
        ("corner", 1, lines(&[(200.0, 150.0), (200.0, 800.0), (850.0, 800.0)])),
        (
            "corner-thick",
            2,
            Drawing::new()
                .stroke_wide(&through(&points(&[(265.0, 150.0), (265.0, 735.0), (850.0, 735.0)])), 230.0),
        ),
        (
            "corner-dot",
            2,
            lines(&[(200.0, 150.0), (200.0, 800.0), (850.0, 800.0)]).dot(at(590.0, 410.0), 140.0),
        ),
        ("bracket", 1, lines(&[(200.0, 220.0), (200.0, 780.0), (800.0, 780.0), (800.0, 220.0)])),
        (
            "bracket-dot",
            2,
            lines(&[(180.0, 200.0), (180.0, 800.0), (820.0, 800.0), (820.0, 200.0)])
                .dot(at(500.0, 400.0), 150.0),
        ),
        (
            "fork",
            3,
            lines(&[(200.0, 850.0), (200.0, 500.0), (800.0, 500.0), (800.0, 850.0)])
                .lines(&points(&[(500.0, 850.0), (500.0, 150.0)])),
        ),
        (
            "table",
            2,
            lines(&[(130.0, 750.0), (870.0, 750.0)])
                .lines(&points(&[(320.0, 750.0), (320.0, 200.0)]))
                .lines(&points(&[(680.0, 750.0), (680.0, 200.0)])),
        ),
        (
            "pin",
            2,
            Drawing::new().dot(at(500.0, 660.0), 210.0).lines(&points(&[(500.0, 660.0), (500.0, 120.0)])),
        ),
        (
            "pennant",
            2,
            lines(&[(250.0, 120.0), (250.0, 880.0)]).fill(&polygon(&points(&[
                (240.0, 870.0),
                (800.0, 650.0),
                (240.0, 430.0),
            ]))),
        ),
        ("hook", 3, hook()),
    ]
}

/// A gate: straight sides, round top.
fn arch_path() -> BezPath {
    let mut path = through(&points(&[(800.0, 160.0), (800.0, 540.0)]));
    path.extend(arc(at(500.0, 540.0), 300.0, 0.0, 180.0).iter().skip(1));
    path.line_to(at(200.0, 160.0));
    path
}

fn hook() -> Drawing {
    let mut path = through(&points(&[(700.0, 880.0), (700.0, 380.0)]));
    path.extend(arc(at(470.0, 380.0), 230.0, 0.0, -190.0).iter().skip(1));
    Drawing::new().stroke(&path)
}

/// Waves and zigzags, upright and level.
fn waves() -> Vec<Figure> {
    let mut wave = BezPath::new();
    wave.move_to(at(110.0, 440.0));
    wave.quad_to(at(305.0, 820.0), at(500.0, 500.0));
    wave.quad_to(at(695.0, 180.0), at(890.0, 560.0));
    let zig =
        through(&points(&[(120.0, 370.0), (310.0, 660.0), (500.0, 350.0), (690.0, 660.0), (880.0, 370.0)]));
    let ess = through(&points(&[
        (800.0, 800.0),
        (200.0, 800.0),
        (200.0, 500.0),
        (800.0, 500.0),
        (800.0, 200.0),
        (200.0, 200.0),
    ]));
    let step = through(&points(&[
        (130.0, 200.0),
        (380.0, 200.0),
        (380.0, 500.0),
        (640.0, 500.0),
        (640.0, 800.0),
        (890.0, 800.0),
    ]));
    let mut all = Vec::new();
    for (name, degrees) in [("level", 0.0), ("upright", 90.0)] {
        let one = Drawing::new().stroke_wide(&wave, 130.0);
        let two = Drawing::new().stroke(&wave).shift(0.0, 260.0).and(&Drawing::new().stroke(&wave));
        all.push(figure(format!("wave-{name}"), 1, one.turn(degrees)));
        all.push(figure(format!("waves-two-{name}"), 3, two.turn(degrees)));
        all.push(figure(format!("zigzag-{name}"), 2, Drawing::new().stroke(&zig).turn(degrees)));
        all.push(figure(format!("meander-{name}"), 3, Drawing::new().stroke(&ess).turn(degrees)));
        all.push(figure(format!("stairs-{name}"), 3, Drawing::new().stroke(&step).turn(degrees)));
    }
    all
}

/// Letters and digits that no other letter, digit or figure is like.
fn letters() -> Vec<Figure> {
    let stem = |x: f64| points(&[(x, 130.0), (x, 870.0)]);
    let bowl = |top: f64, low: f64| {
        let middle = (top + low) / 2.0;
        let mut path = through(&points(&[(240.0, top), (540.0, top)]));
        path.extend(arc(at(540.0, middle), (top - low) / 2.0, 90.0, -90.0).iter().skip(1));
        path.line_to(at(240.0, low));
        path
    };
    let mut three = arc(at(480.0, 660.0), 160.0, 150.0, -90.0);
    three.extend(arc(at(480.0, 310.0), 190.0, 90.0, -150.0).iter().skip(1));
    let mut jay = through(&points(&[(640.0, 870.0), (640.0, 370.0)]));
    jay.extend(arc(at(440.0, 370.0), 200.0, 0.0, -180.0).iter().skip(1));
    let six = Drawing::new().fill(&disc(at(500.0, 370.0), 270.0)).hole(&disc(at(500.0, 370.0), 165.0));
    vec![
        figure(
            "letter-a",
            3,
            lines(&[(150.0, 130.0), (500.0, 850.0), (850.0, 130.0)])
                .lines(&points(&[(280.0, 350.0), (720.0, 350.0)])),
        ),
        figure(
            "letter-e",
            3,
            lines(&[(780.0, 820.0), (260.0, 820.0), (260.0, 180.0), (780.0, 180.0)])
                .lines(&points(&[(260.0, 500.0), (700.0, 500.0)])),
        ),
        figure(
            "letter-f",
            3,
            lines(&[(780.0, 820.0), (260.0, 820.0), (260.0, 130.0)])
                .lines(&points(&[(260.0, 490.0), (690.0, 490.0)])),
        ),
        figure(
            "letter-h",
            3,
            Drawing::new()
                .lines(&stem(220.0))
                .lines(&stem(780.0))
                .lines(&points(&[(220.0, 500.0), (780.0, 500.0)])),
        ),
        figure("letter-j", 2, Drawing::new().stroke(&jay)),
        figure(
            "letter-k",
            3,
            Drawing::new().lines(&stem(240.0)).lines(&points(&[
                (790.0, 860.0),
                (300.0, 480.0),
                (800.0, 140.0),
            ])),
        ),
        figure(
            "letter-m",
            3,
            lines(&[(170.0, 130.0), (170.0, 800.0), (500.0, 330.0), (830.0, 800.0), (830.0, 130.0)]),
        ),
        figure("letter-n", 2, lines(&[(210.0, 130.0), (210.0, 760.0), (790.0, 240.0), (790.0, 870.0)])),
        figure("letter-p", 2, Drawing::new().lines(&stem(240.0)).stroke(&bowl(820.0, 430.0))),
        figure(
            "letter-r",
            3,
            Drawing::new()
                .lines(&stem(240.0))
                .stroke(&bowl(820.0, 450.0))
                .lines(&points(&[(460.0, 470.0), (790.0, 140.0)])),
        ),
        figure(
            "letter-w",
            3,
            lines(&[(110.0, 850.0), (290.0, 190.0), (500.0, 650.0), (710.0, 190.0), (890.0, 850.0)]),
        ),
        figure(
            "letter-y",
            2,
            lines(&[(170.0, 860.0), (500.0, 480.0), (830.0, 860.0)])
                .lines(&points(&[(500.0, 500.0), (500.0, 130.0)])),
        ),
        figure("letter-z", 2, lines(&[(200.0, 810.0), (760.0, 810.0), (240.0, 190.0), (800.0, 190.0)])),
        figure("digit-three", 2, Drawing::new().stroke(&three)),
        figure("digit-four", 2, lines(&[(640.0, 130.0), (640.0, 820.0), (190.0, 340.0), (860.0, 340.0)])),
        figure(
            "digit-six",
            2,
            six.stroke(&{
                let mut path = BezPath::new();
                path.move_to(at(620.0, 870.0));
                path.quad_to(at(300.0, 700.0), at(283.0, 370.0));
                path
            }),
        ),
        figure("digit-seven", 2, lines(&[(190.0, 810.0), (800.0, 810.0), (400.0, 130.0)])),
        figure(
            "slashed-ring",
            2,
            Drawing::new()
                .fill(&disc(MIDDLE, 290.0))
                .hole(&disc(MIDDLE, 190.0))
                .lines(&points(&[(150.0, 150.0), (850.0, 850.0)])),
        ),
        figure("pentagon-open", 1, Drawing::new().stroke(&regular(MIDDLE, 350.0, 5, 90.0))),
    ]
}
