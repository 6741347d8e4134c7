//! Lines over logarithmic axes as SVG, told apart without colour: by dashes, by marks, and by their names beside them.

use std::fmt::Write as _;

/// A named line through points.
pub(super) struct Line {
    pub(super) name: &'static str,
    pub(super) points: Vec<(f64, f64)>,
}

const PANEL: [f64; 2] = [430.0, 420.0];
const LEFT: f64 = 70.0;
const TOP: f64 = 30.0;
/// Between panels, for the names at the lines' ends and the next axis.
const APART: f64 = 200.0;
/// The least distance of two names, from one's foot to the other's.
const NAME: f64 = 13.0;
const DASHES: [&str; 4] = ["", "7 3", "2 3", "9 3 2 3"];

/// Where a value stands between the decades `from` and `to`, 0 to 1.
fn along(value: f64, [from, to]: [i32; 2]) -> f64 {
    (value.log10() - f64::from(from)) / f64::from(to - from)
}

/// The whole decades that hold all values.
fn decades(values: impl Iterator<Item = f64>) -> [i32; 2] {
    let (least, most) =
        values.fold((f64::MAX, f64::MIN), |(least, most), value| (least.min(value), most.max(value)));
    [least.log10().floor() as i32, most.log10().ceil() as i32]
}

/// Panels side by side, each with what it shows and its lines; all have cells across.
pub(super) fn svg(panels: &[(&str, &Vec<Line>)]) -> String {
    let [width, height] = [LEFT + panels.len() as f64 * (PANEL[0] + APART) - 60.0, TOP + PANEL[1] + 50.0];
    let mut text = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width} {height}' font-family='sans-serif' \
         font-size='12'>\n<rect width='{width}' height='{height}' fill='white'/>\n"
    );
    for (at, (shown, lines)) in panels.iter().enumerate() {
        panel(&mut text, LEFT + at as f64 * (PANEL[0] + APART), shown, lines);
    }
    text + "</svg>\n"
}

fn panel(text: &mut String, left: f64, shown: &str, lines: &[Line]) {
    let points = || lines.iter().flat_map(|line| &line.points);
    let (across, up) = (decades(points().map(|point| point.0)), decades(points().map(|point| point.1)));
    let x = |value: f64| left + along(value, across) * PANEL[0];
    let y = |value: f64| TOP + (1.0 - along(value, up)) * PANEL[1];
    let (right, foot) = (left + PANEL[0], TOP + PANEL[1]);
    let mut rule = |from: [f64; 2], to: [f64; 2], grey: &str| {
        _ = writeln!(
            text,
            "<path d='M{:.1} {:.1}L{:.1} {:.1}' stroke='{grey}' stroke-width='.7'/>",
            from[0], from[1], to[0], to[1]
        );
    };
    for ([from, to], is_up) in [(across, false), (up, true)] {
        for (decade, step) in (from..=to).flat_map(|decade| (1..10).map(move |step| (decade, step))) {
            let value = 10_f64.powi(decade) * f64::from(step);
            if decade == to && step > 1 {
                continue;
            }
            let grey = if step == 1 { "#888" } else { "#ddd" };
            if is_up {
                rule([left, y(value)], [right, y(value)], grey);
            } else {
                rule([x(value), TOP], [x(value), foot], grey);
            }
        }
    }
    for decade in across[0]..=across[1] {
        let value = 10_f64.powi(decade);
        _ = writeln!(
            text,
            "<text x='{:.1}' y='{}' text-anchor='middle'>{value}</text>",
            x(value),
            foot + 17.0
        );
    }
    for decade in up[0]..=up[1] {
        let value = 10_f64.powi(decade);
        let [x, y] = [left - 6.0, y(value) + 4.0];
        _ = writeln!(text, "<text x='{x:.1}' y='{y:.1}' text-anchor='end'>{value}</text>");
    }
    _ = writeln!(text, "<text x='{left}' y='{}' font-weight='bold'>{shown}</text>", TOP - 10.0);
    _ = writeln!(
        text,
        "<text x='{right}' y='{}' text-anchor='end' font-weight='bold'>cells</text>",
        foot + 36.0
    );
    for (at, line) in lines.iter().enumerate() {
        let places: Vec<[f64; 2]> = line.points.iter().map(|&(cells, value)| [x(cells), y(value)]).collect();
        let path: Vec<String> = places.iter().map(|[x, y]| format!("{x:.1} {y:.1}")).collect();
        let dash = DASHES[at % DASHES.len()];
        _ = writeln!(
            text,
            "<path d='M{}' fill='none' stroke='black' stroke-width='1.3' stroke-dasharray='{dash}'/>",
            path.join("L")
        );
        places.iter().for_each(|&place| mark(text, place, at / DASHES.len()));
    }
    names(text, right, lines, [&x, &y]);
}

/// A mark on a point: one kind for each round of dashes.
fn mark(text: &mut String, [x, y]: [f64; 2], kind: usize) {
    let r = 3.2;
    let d = match kind {
        0 => format!("M{:.1} {y:.1}a{r} {r} 0 1 0 {} 0a{r} {r} 0 1 0 -{} 0z", x - r, 2.0 * r, 2.0 * r),
        1 => format!("M{:.1} {:.1}h{}v{}h-{}z", x - r, y - r, 2.0 * r, 2.0 * r, 2.0 * r),
        2 => format!("M{x:.1} {:.1}l{} {}h-{}z", y - r - 0.8, r + 0.8, 2.0 * r, 2.0 * (r + 0.8)),
        _ => format!("M{x:.1} {:.1}l{r} {r}l-{r} {r}l-{r} -{r}z", y - r),
    };
    let fill = if kind == 1 { "white" } else { "black" };
    _ = writeln!(text, "<path d='{d}' fill='{fill}' stroke='black'/>");
}

/// The lines' names at their ends, moved apart where they would run into each other, each tied to its line.
fn names(text: &mut String, right: f64, lines: &[Line], [x, y]: [&dyn Fn(f64) -> f64; 2]) {
    let end = |line: &Line| line.points.last().map_or(0.0, |point| y(point.1));
    let mut order: Vec<&Line> = lines.iter().collect();
    order.sort_by(|one, other| end(one).total_cmp(&end(other)));
    let mut feet: Vec<f64> = order.iter().map(|line| end(line)).collect();
    // Downwards, then back up from the foot of the panel.
    for at in 1..feet.len() {
        feet[at] = feet[at].max(feet[at - 1] + NAME);
    }
    let mut lowest = TOP + PANEL[1];
    for foot in feet.iter_mut().rev() {
        *foot = foot.min(lowest);
        lowest = *foot - NAME;
    }
    for (line, foot) in order.iter().zip(feet) {
        let from = line.points.last().map_or(right, |point| x(point.0)) + 5.0;
        let (last, name, left) = (end(line), line.name, right + 12.0);
        _ = writeln!(text, "<text x='{left:.1}' y='{:.1}'>{name}</text>", foot + 4.0);
        let to = left - 2.0;
        _ = writeln!(
            text,
            "<path d='M{from:.1} {last:.1}L{to:.1} {foot:.1}' stroke='#555' stroke-width='.6'/>"
        );
    }
}
