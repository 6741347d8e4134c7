//! Dots in patterns, checks, bow-ties, and small things of shore and house.

use kurbo::{BezPath, Point};

use super::Figure;
use super::pen::{Drawing, MIDDLE, arc, at, disc, polar, polygon, rectangle, regular, scaled, turned};

/// All of them.
pub(super) fn figures() -> Vec<Figure> {
    let mut all = dots();
    all.extend(checks());
    all.extend(frames());
    all.extend(shore());
    all.extend(house());
    all
}

fn figure(name: impl Into<String>, parts: u8, drawing: Drawing) -> Figure {
    Figure::new(name, parts, drawing)
}

fn points(list: &[(f64, f64)]) -> Vec<Point> {
    list.iter().map(|&(x, y)| at(x, y)).collect()
}

fn dotted(radius: f64, list: &[(f64, f64)]) -> Drawing {
    points(list).into_iter().fold(Drawing::new(), |drawing, centre| drawing.dot(centre, radius))
}

/// Round dots in patterns.
fn dots() -> Vec<Figure> {
    let pair = dotted(160.0, &[(300.0, 500.0), (700.0, 500.0)]);
    let row = dotted(115.0, &[(230.0, 500.0), (500.0, 500.0), (770.0, 500.0)]);
    let three = dotted(155.0, &[(300.0, 330.0), (700.0, 330.0), (500.0, 680.0)]);
    let four = dotted(150.0, &[(300.0, 300.0), (700.0, 300.0), (300.0, 700.0), (700.0, 700.0)]);
    let corner = dotted(150.0, &[(300.0, 300.0), (700.0, 300.0), (300.0, 700.0)]);
    let rings = |list: &[(f64, f64)]| {
        points(list).iter().fold(Drawing::new(), |drawing, &centre| {
            drawing.fill(&disc(centre, 195.0)).hole(&disc(centre, 100.0))
        })
    };
    let mut all = vec![
        figure("dots-four", 4, four.clone()),
        figure("dots-four-turned", 4, four.turn(45.0)),
        figure(
            "dots-five",
            4,
            dotted(120.0, &[(250.0, 250.0), (750.0, 250.0), (250.0, 750.0), (750.0, 750.0), (500.0, 500.0)]),
        ),
        figure(
            "dots-five-turned",
            4,
            dotted(125.0, &[(500.0, 180.0), (820.0, 500.0), (500.0, 820.0), (180.0, 500.0), (500.0, 500.0)]),
        ),
        figure(
            "dots-six-round",
            4,
            (0..6).fold(Drawing::new(), |drawing, index| {
                drawing.dot(polar(MIDDLE, 300.0, 60.0 * f64::from(index)), 110.0)
            }),
        ),
        figure(
            "dots-nine",
            4,
            dotted(
                90.0,
                &[
                    (230.0, 230.0),
                    (500.0, 230.0),
                    (770.0, 230.0),
                    (230.0, 500.0),
                    (500.0, 500.0),
                    (770.0, 500.0),
                    (230.0, 770.0),
                    (500.0, 770.0),
                    (770.0, 770.0),
                ],
            ),
        ),
        figure(
            "dots-six-upright",
            4,
            dotted(
                110.0,
                &[
                    (340.0, 230.0),
                    (660.0, 230.0),
                    (340.0, 500.0),
                    (660.0, 500.0),
                    (340.0, 770.0),
                    (660.0, 770.0),
                ],
            ),
        ),
        figure(
            "dots-six-level",
            4,
            dotted(
                110.0,
                &[
                    (230.0, 340.0),
                    (230.0, 660.0),
                    (500.0, 340.0),
                    (500.0, 660.0),
                    (770.0, 340.0),
                    (770.0, 660.0),
                ],
            ),
        ),
        figure("ring-small", 1, rings(&[(500.0, 500.0)])),
    ];
    for (name, degrees) in [("level", 0.0), ("rising", 45.0), ("upright", 90.0), ("falling", 135.0)] {
        all.push(figure(format!("dots-two-{name}"), 2, pair.clone().turn(degrees)));
        all.push(figure(format!("dots-three-{name}"), 3, row.clone().turn(degrees)));
        let two = rings(&[(290.0, 500.0), (710.0, 500.0)]);
        all.push(figure(format!("rings-two-{name}"), 2, two.turn(degrees)));
        let mixed = rings(&[(270.0, 500.0)]).dot(at(725.0, 500.0), 185.0);
        all.push(figure(format!("ring-and-dot-{name}"), 2, mixed.turn(degrees)));
    }
    for (name, degrees) in [("up", 0.0), ("left", 90.0), ("down", 180.0), ("right", 270.0)] {
        all.push(figure(format!("dots-triangle-{name}"), 3, three.clone().turn(degrees)));
        all.push(figure(format!("dots-corner-{name}"), 3, corner.clone().turn(degrees)));
    }
    all
}

/// Squares and triangles in twos and fours.
fn checks() -> Vec<Figure> {
    let squares = |list: &[(f64, f64)]| {
        list.iter()
            .fold(Drawing::new(), |drawing, &(x, y)| drawing.fill(&rectangle(x, y, x + 330.0, y + 330.0)))
    };
    let two = squares(&[(170.0, 500.0), (500.0, 170.0)]);
    let open = rectangle(150.0, 150.0, 850.0, 850.0);
    let four = squares(&[(130.0, 130.0), (540.0, 130.0), (130.0, 540.0), (540.0, 540.0)]);
    let triangle = |list: [(f64, f64); 3]| polygon(&points(&list));
    let glass = Drawing::new()
        .fill(&triangle([(170.0, 840.0), (830.0, 840.0), (500.0, 470.0)]))
        .fill(&triangle([(170.0, 160.0), (830.0, 160.0), (500.0, 530.0)]));
    let lozenges = Drawing::new()
        .fill(&triangle([(150.0, 540.0), (850.0, 540.0), (500.0, 890.0)]))
        .fill(&triangle([(150.0, 460.0), (850.0, 460.0), (500.0, 110.0)]));
    let fish_bone = Drawing::new()
        .fill(&triangle([(160.0, 480.0), (840.0, 480.0), (500.0, 840.0)]))
        .fill(&triangle([(160.0, 130.0), (840.0, 130.0), (500.0, 490.0)]));
    let half_glass = Drawing::new()
        .fill(&triangle([(170.0, 840.0), (830.0, 840.0), (500.0, 460.0)]))
        .stroke(&triangle([(250.0, 200.0), (750.0, 200.0), (500.0, 490.0)]));
    let checks = |flip: f64| two.clone().fill(&open).hole(&scaled(&open, MIDDLE, 0.8)).turn(flip);
    vec![
        figure("squares-two-falling", 2, two.clone()),
        figure("squares-two-rising", 2, two.clone().turn(90.0)),
        figure("check-falling", 2, checks(0.0)),
        figure("check-rising", 2, checks(90.0)),
        figure("squares-four", 4, four.clone()),
        figure("diamonds-four", 4, four.turn(45.0)),
        figure("hourglass-solid", 2, glass.clone()),
        figure("bow-tie-solid", 2, glass.turn(90.0)),
        figure("triangles-apart", 2, lozenges.clone()),
        figure("triangles-apart-turned", 2, lozenges.turn(90.0)),
        figure("tree-up", 2, fish_bone.clone()),
        figure("tree-left", 2, fish_bone.clone().turn(90.0)),
        figure("tree-down", 2, fish_bone.clone().turn(180.0)),
        figure("tree-right", 2, fish_bone.turn(270.0)),
        figure("goblet-up", 2, half_glass.clone()),
        figure("goblet-left", 2, half_glass.clone().turn(90.0)),
        figure("goblet-down", 2, half_glass.clone().turn(180.0)),
        figure("goblet-right", 2, half_glass.turn(270.0)),
    ]
}

/// Frames and rings with a body of another kind inside, and nested ones.
fn frames() -> Vec<Figure> {
    let ring = Drawing::new().fill(&disc(MIDDLE, 390.0)).hole(&disc(MIDDLE, 300.0));
    let frame = Drawing::new()
        .fill(&rectangle(140.0, 140.0, 860.0, 860.0))
        .hole(&rectangle(230.0, 230.0, 770.0, 770.0));
    let small_ring = Drawing::new().fill(&disc(MIDDLE, 200.0)).hole(&disc(MIDDLE, 105.0));
    let diamond = regular(MIDDLE, 240.0, 4, 0.0);
    let gap = Drawing::new().stroke_wide(&arc(MIDDLE, 320.0, 40.0, 320.0), 110.0);
    let broken = Drawing::new()
        .stroke_wide(&arc(MIDDLE, 330.0, 25.0, 155.0), 110.0)
        .stroke_wide(&arc(MIDDLE, 330.0, 205.0, 335.0), 110.0);
    let corner = points(&[(190.0, 600.0), (190.0, 810.0), (400.0, 810.0)]);
    let corners = (0..4).fold(Drawing::new(), |drawing, _| drawing.turn(90.0).lines(&corner));
    let mut all = vec![
        figure("ring-diamond", 2, ring.clone().fill(&diamond)),
        figure("ring-square", 2, ring.fill(&rectangle(340.0, 340.0, 660.0, 660.0))),
        figure("frame-disc", 2, frame.clone().dot(MIDDLE, 190.0)),
        figure("frame-diamond", 2, frame.clone().fill(&diamond)),
        figure("frame-ring", 2, frame.and(&small_ring)),
        figure(
            "rings-nested",
            2,
            Drawing::new().fill(&disc(MIDDLE, 400.0)).hole(&disc(MIDDLE, 310.0)).and(&small_ring),
        ),
        figure("diamond-double", 2, {
            let outer = regular(MIDDLE, 470.0, 4, 0.0);
            let inner = regular(MIDDLE, 240.0, 4, 0.0);
            Drawing::new().fill(&outer).hole(&scaled(&outer, MIDDLE, 0.74)).fill(&inner)
        }),
        figure("ring-broken-level", 2, broken.clone()),
        figure("ring-broken-upright", 2, broken.turn(90.0)),
        figure("corners-four", 4, corners.clone()),
        figure("corners-four-dot", 4, corners.dot(MIDDLE, 130.0)),
    ];
    for (name, degrees) in [("right", 0.0), ("up", 90.0), ("left", 180.0), ("down", 270.0)] {
        all.push(figure(format!("ring-gap-{name}"), 3, gap.clone().turn(degrees)));
        let beaded = gap.clone().dot(MIDDLE, 130.0);
        all.push(figure(format!("ring-gap-dot-{name}"), 3, beaded.turn(degrees)));
    }
    all
}

/// Things of the shore.
fn shore() -> Vec<Figure> {
    let mut drop = BezPath::new();
    drop.move_to(at(500.0, 900.0));
    drop.quad_to(at(225.0, 560.0), at(225.0, 370.0));
    drop.extend(arc(at(500.0, 370.0), 275.0, 180.0, 360.0).iter().skip(1));
    drop.quad_to(at(775.0, 560.0), at(500.0, 900.0));
    drop.close_path();
    let mut leaf = BezPath::new();
    leaf.move_to(at(170.0, 170.0));
    leaf.quad_to(at(170.0, 830.0), at(830.0, 830.0));
    leaf.quad_to(at(830.0, 170.0), at(170.0, 170.0));
    leaf.close_path();
    let mut eye = BezPath::new();
    eye.move_to(at(80.0, 500.0));
    eye.quad_to(at(500.0, 1010.0), at(920.0, 500.0));
    eye.quad_to(at(500.0, -10.0), at(80.0, 500.0));
    eye.close_path();
    let hollow_eye = Drawing::new().fill(&eye).hole(&scaled(&eye, MIDDLE, 0.62)).dot(MIDDLE, 95.0);
    let mut body = BezPath::new();
    body.move_to(at(90.0, 500.0));
    body.quad_to(at(360.0, 860.0), at(660.0, 500.0));
    body.quad_to(at(360.0, 140.0), at(90.0, 500.0));
    body.close_path();
    let tail = polygon(&points(&[(600.0, 500.0), (900.0, 800.0), (900.0, 200.0)]));
    let fish = Drawing::new().fill(&body).fill(&tail);
    let hinge = at(500.0, 200.0);
    let mut dome = arc(at(500.0, 520.0), 370.0, -10.0, 190.0);
    dome.line_to(hinge);
    dome.close_path();
    let shell = [58.0, 90.0, 122.0].into_iter().fold(Drawing::new().fill(&dome), |drawing, degrees| {
        let rib = polygon(&[
            polar(hinge, 240.0, degrees),
            polar(hinge, 580.0, degrees - 4.5),
            polar(hinge, 580.0, degrees + 4.5),
        ]);
        drawing.hole(&rib)
    });
    let shell = shell.fill(&rectangle(370.0, 130.0, 630.0, 260.0));
    let kedge = Drawing::new()
        .fill(&disc(at(500.0, 790.0), 110.0))
        .lines(&points(&[(500.0, 800.0), (500.0, 130.0)]))
        .lines(&points(&[(320.0, 610.0), (680.0, 610.0)]))
        .stroke(&arc(at(500.0, 500.0), 330.0, 190.0, 350.0));
    let boat = Drawing::new()
        .fill(&polygon(&points(&[(120.0, 380.0), (880.0, 380.0), (720.0, 150.0), (280.0, 150.0)])))
        .fill(&polygon(&points(&[(450.0, 450.0), (450.0, 880.0), (800.0, 450.0)])));
    let petals = |count: u32, radius: f64, away: f64, first: f64| {
        (0..count).fold(Drawing::new(), |drawing, index| {
            drawing.dot(polar(MIDDLE, away, first + 360.0 / f64::from(count) * f64::from(index)), radius)
        })
    };
    let snail = Drawing::new().stroke(&{
        let mut path = arc(at(500.0, 500.0), 350.0, -60.0, 180.0);
        path.extend(arc(at(400.0, 500.0), 250.0, 180.0, 360.0).iter().skip(1));
        path.extend(arc(at(500.0, 500.0), 150.0, 0.0, 150.0).iter().skip(1));
        path
    });
    vec![
        figure("drop-solid", 1, Drawing::new().fill(&drop)),
        figure("drop-down", 1, Drawing::new().fill(&drop).turn(180.0)),
        figure("drop-open", 1, Drawing::new().fill(&drop).hole(&scaled(&drop, at(500.0, 400.0), 0.6))),
        figure("leaf-rising", 1, Drawing::new().fill(&leaf)),
        figure("leaf-falling", 1, Drawing::new().fill(&leaf).turn(90.0)),
        figure("leaf-open-rising", 1, Drawing::new().fill(&leaf).hole(&scaled(&leaf, MIDDLE, 0.6))),
        figure(
            "leaf-open-falling",
            1,
            Drawing::new().fill(&leaf).hole(&scaled(&leaf, MIDDLE, 0.6)).turn(90.0),
        ),
        figure("eye", 2, hollow_eye.clone()),
        figure("eye-upright", 2, hollow_eye.turn(90.0)),
        figure("fish-left", 2, fish.clone()),
        figure("fish-right", 2, fish.clone().turn(180.0)),
        figure("fish-up", 2, fish.clone().turn(270.0)),
        figure("fish-down", 2, fish.turn(90.0)),
        figure("shell-up", 3, shell.clone()),
        figure("shell-down", 3, shell.turn(180.0)),
        figure("kedge", 3, kedge),
        figure("boat", 2, boat),
        figure("petals-three", 3, petals(3, 215.0, 210.0, 90.0)),
        figure("petals-four", 3, petals(4, 205.0, 220.0, 45.0)),
        figure("snail", 2, snail),
    ]
}

/// Things of house and garden.
fn house() -> Vec<Figure> {
    let mut heart = BezPath::new();
    heart.move_to(at(500.0, 130.0));
    heart.line_to(at(170.0, 500.0));
    heart.quad_to(at(60.0, 680.0), at(190.0, 790.0));
    heart.quad_to(at(370.0, 900.0), at(500.0, 690.0));
    heart.quad_to(at(630.0, 900.0), at(810.0, 790.0));
    heart.quad_to(at(940.0, 680.0), at(830.0, 500.0));
    heart.close_path();
    let home =
        polygon(&points(&[(190.0, 150.0), (810.0, 150.0), (810.0, 520.0), (500.0, 860.0), (190.0, 520.0)]));
    let crown = polygon(&points(&[
        (150.0, 180.0),
        (850.0, 180.0),
        (850.0, 790.0),
        (660.0, 520.0),
        (500.0, 820.0),
        (340.0, 520.0),
        (150.0, 790.0),
    ]));
    let flash = polygon(&points(&[
        (600.0, 900.0),
        (200.0, 440.0),
        (440.0, 440.0),
        (380.0, 100.0),
        (800.0, 590.0),
        (540.0, 590.0),
    ]));
    let comb = (0..4).fold(Drawing::new().fill(&rectangle(130.0, 620.0, 870.0, 820.0)), |drawing, index| {
        let x = 180.0 + f64::from(index) * 213.0;
        drawing.fill(&rectangle(x - 50.0, 180.0, x + 50.0, 700.0))
    });
    let ladder = Drawing::new()
        .lines(&points(&[(260.0, 120.0), (260.0, 880.0)]))
        .lines(&points(&[(740.0, 120.0), (740.0, 880.0)]))
        .lines(&points(&[(260.0, 330.0), (740.0, 330.0)]))
        .lines(&points(&[(260.0, 670.0), (740.0, 670.0)]));
    let slab = polygon(&points(&[(100.0, 250.0), (600.0, 250.0), (900.0, 750.0), (400.0, 750.0)]));
    let tub = polygon(&points(&[(120.0, 760.0), (880.0, 760.0), (680.0, 240.0), (320.0, 240.0)]));
    vec![
        figure("heart-solid", 1, Drawing::new().fill(&heart)),
        figure("heart-open", 1, Drawing::new().fill(&heart).hole(&scaled(&heart, at(500.0, 520.0), 0.6))),
        figure("heart-down", 1, Drawing::new().fill(&heart).turn(180.0)),
        figure("house-solid", 1, Drawing::new().fill(&home)),
        figure("house-open", 1, Drawing::new().fill(&home).hole(&scaled(&home, at(500.0, 460.0), 0.68))),
        figure("crown", 2, Drawing::new().fill(&crown)),
        figure("flash", 2, Drawing::new().fill(&flash)),
        figure("flash-turned", 2, Drawing::new().fill(&flash).turn(90.0)),
        figure("comb-down", 4, comb.clone()),
        figure("comb-left", 4, comb.clone().turn(270.0)),
        figure("comb-up", 4, comb.clone().turn(180.0)),
        figure("comb-right", 4, comb.turn(90.0)),
        figure("ladder", 4, ladder),
        figure("slab-rising", 2, Drawing::new().fill(&slab)),
        figure("slab-falling", 2, Drawing::new().fill(&turned(&slab, 90.0))),
        figure("tub-solid", 1, Drawing::new().fill(&tub)),
        figure("tub-turned", 1, Drawing::new().fill(&tub).turn(180.0)),
        figure("tub-open", 1, Drawing::new().fill(&tub).hole(&scaled(&tub, MIDDLE, 0.55))),
        figure(
            "key",
            3,
            Drawing::new()
                .fill(&disc(at(500.0, 690.0), 210.0))
                .hole(&disc(at(500.0, 690.0), 105.0))
                .fill(&rectangle(450.0, 120.0, 550.0, 500.0))
                .fill(&rectangle(500.0, 130.0, 730.0, 220.0))
                .fill(&rectangle(500.0, 290.0, 680.0, 370.0)),
        ),
    ]
}
