//! New marks from arguments.

use std::path::PathBuf;

use brede::desk::mark::{
    Change, Corners, Course, Halo, Holes, Key, LetterAlign, LetterFace, LetterStyle, Lettering, LinePattern,
    LineStitch, Mark, Motif, Numbers, Outline, Pick, PickedCells, Place, Sample, Touching, Turn,
};
use clap::Args;

use super::super::values::one_of;

/// A value by the name that it has in a chart and in a file of marks.
pub(super) fn by_name<T: serde::de::DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_value(serde_json::Value::String(text.to_owned())).map_err(|error| error.to_string())
}

/// Where cloth is added for a key.
pub(super) const PLACES: [&str; 3] = ["below", "above", "beside"];

/// Which squares. Everything chosen is added first, then everything with `--less-` taken away.
#[derive(Debug, Args)]
#[command(next_help_heading = "Choosing the motif")]
pub(super) struct PickArgs {
    /// A square inside the motif: the connected squares of its colour
    #[arg(long, value_name = "COLUMN,ROW")]
    at: Vec<Numbers<2>>,
    /// With --at: colours this near (CIEDE2000) count as its colour too
    #[arg(long, value_name = "ΔE", default_value_t = 0.0, requires = "at")]
    within: f64,
    /// With --at: squares that touch at a corner are connected too
    #[arg(long)]
    corners: bool,
    /// All squares of a thread, by the code or name of its thread
    #[arg(long = "squares-of", alias = "needle", value_name = "CODE")]
    needle: Vec<String>,
    /// A rectangle by two corners
    #[arg(long, value_name = "C,R,C,R")]
    rectangle: Vec<Numbers<4>>,
    /// An ellipse in a rectangle
    #[arg(long, value_name = "C,R,C,R")]
    ellipse: Vec<Numbers<4>>,
    /// A shape by its corners
    #[arg(long = "shape", alias = "polygon", value_name = "C,R,C,R,C,R,...")]
    polygon: Vec<Corners>,
    /// A painted picture with one pixel a square: white (or opaque) is chosen
    #[arg(long = "painted", alias = "mask", value_name = "PNG")]
    mask: Vec<String>,
    /// Everything that is not bare cloth
    #[arg(long)]
    stitched: bool,
    /// Take away the connected squares of this square's colour
    #[arg(long, value_name = "COLUMN,ROW")]
    less_at: Vec<Numbers<2>>,
    /// Take away the squares of a thread
    #[arg(long = "less-squares-of", alias = "less-needle", value_name = "CODE")]
    less_needle: Vec<String>,
    /// Take away a rectangle
    #[arg(long, value_name = "C,R,C,R")]
    less_rectangle: Vec<Numbers<4>>,
    /// Take away an ellipse
    #[arg(long, value_name = "C,R,C,R")]
    less_ellipse: Vec<Numbers<4>>,
    /// Take away a shape
    #[arg(long = "less-shape", alias = "less-polygon", value_name = "C,R,C,R,C,R,...")]
    less_polygon: Vec<Corners>,
    /// Bridge gaps of up to so many squares
    #[arg(long, value_name = "SQUARES", default_value_t = 0)]
    bridge: u8,
    /// Keep holes in the motif; else they are filled
    #[arg(long)]
    pub(super) keep_holes: bool,
    /// Grow by so many squares, or shrink: --grow=-1
    #[arg(long, value_name = "SQUARES", default_value_t = 0, allow_hyphen_values = true)]
    grow: i16,
    /// Only write a picture of the choice; the chart is not changed
    #[arg(long, value_name = "PNG")]
    pub(super) show: Option<PathBuf>,
}

impl PickArgs {
    /// Whether anything is chosen at all.
    pub(super) fn is_given(&self) -> bool {
        !self.motif().pick.is_empty()
    }

    pub(super) fn motif(&self) -> Motif {
        let touching = if self.corners { Touching::Corners } else { Touching::Sides };
        let at = |cell: &Numbers<2>| PickedCells::At { cell: cell.0, within: self.within, touching };
        let cells = |cells: &[_], codes: &[_], rectangles: &[_], ellipses: &[_], polygons: &[Corners]| {
            let needles = (!codes.is_empty()).then(|| PickedCells::Needles(codes.to_vec()));
            let mut picked: Vec<PickedCells> = cells.iter().map(at).chain(needles).collect();
            picked.extend(rectangles.iter().map(|corners: &Numbers<4>| PickedCells::Rectangle(corners.0)));
            picked.extend(ellipses.iter().map(|corners: &Numbers<4>| PickedCells::Ellipse(corners.0)));
            picked.extend(polygons.iter().map(|corners| PickedCells::Polygon(corners.0.clone())));
            picked
        };
        let mut added = cells(&self.at, &self.needle, &self.rectangle, &self.ellipse, &self.polygon);
        added.extend(self.mask.iter().map(|path| PickedCells::MaskFile(path.clone())));
        added.extend(self.stitched.then_some(PickedCells::Stitched));
        let less = cells(
            &self.less_at,
            &self.less_needle,
            &self.less_rectangle,
            &self.less_ellipse,
            &self.less_polygon,
        );
        let pick = |change: Change| move |cells| Pick { change, cells };
        Motif {
            pick: added
                .into_iter()
                .map(pick(Change::Add))
                .chain(less.into_iter().map(pick(Change::TakeAway)))
                .collect(),
            bridge: self.bridge,
            holes: if self.keep_holes { Holes::Kept } else { Holes::Filled },
            grow: self.grow,
        }
    }
}

/// A mark round a motif.
#[derive(Debug, Args)]
pub(super) struct RoundArgs {
    /// What to call it
    name: String,
    #[command(flatten)]
    pub(super) pick: PickArgs,
    /// The thread: a code or name, `2 of P12`, or a blend `1 of P12 + 1 of P40`
    #[arg(long, required_unless_present = "show")]
    thread: Option<String>,
    /// What the key says of it; else its name; '' keeps it out of the key
    #[arg(long)]
    label: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct OutlineArgs {
    #[command(flatten)]
    pub(super) round: RoundArgs,
    /// eased makes stair-steps diagonals; exact follows every square
    #[arg(long, default_value = "eased", value_parser = by_name::<Course>)]
    course: Course,
    /// The longest stitch, in squares
    #[arg(long, value_name = "SQUARES", default_value_t = 3.0)]
    longest: f64,
    /// How it is drawn: solid, long-dash, short-dash, dots, dash-dot or double; else unlike its neighbours
    #[arg(long, value_parser = by_name::<LinePattern>)]
    pattern: Option<LinePattern>,
    /// How it is sewn: backstitch or double-running
    #[arg(long, default_value = "backstitch", value_parser = by_name::<LineStitch>)]
    stitch: LineStitch,
}

impl OutlineArgs {
    pub(super) fn mark(&self) -> Mark<String> {
        Mark::Outline(Outline {
            name: self.round.name.clone(),
            label: self.round.label.clone(),
            motif: self.round.pick.motif(),
            thread: self.round.thread.clone().unwrap_or_default(),
            course: self.course,
            longest: self.longest,
            pattern: self.pattern,
            stitch: self.stitch,
        })
    }
}

#[derive(Debug, Args)]
pub(super) struct HaloArgs {
    #[command(flatten)]
    pub(super) round: RoundArgs,
    /// How wide it is
    #[arg(long, value_name = "SQUARES", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=20))]
    wide: u8,
    /// How far from the motif
    #[arg(long, value_name = "SQUARES", default_value_t = 0, value_parser = clap::value_parser!(u8).range(0..=50))]
    away: u8,
}

impl HaloArgs {
    pub(super) fn mark(&self) -> Mark<String> {
        Mark::Halo(Halo {
            name: self.round.name.clone(),
            label: self.round.label.clone(),
            motif: self.round.pick.motif(),
            thread: self.round.thread.clone().unwrap_or_default(),
            wide: self.wide,
            away: self.away,
        })
    }
}

#[derive(Debug, Args)]
pub(super) struct LetteringArgs {
    /// What to call it
    name: String,
    /// What it says; \n begins a new line
    #[arg(long)]
    text: String,
    /// The top left square of its capitals; the middle or right with --align
    #[arg(long, value_name = "COLUMN,ROW", allow_hyphen_values = true)]
    at: Numbers<2>,
    /// The thread: a code or name, `2 of P12`, or a blend `1 of P12 + 1 of P40`
    #[arg(long)]
    thread: String,
    /// five, seven, ten (crosses, by the height of capitals); in backstitch tiny (for the back of a piece), line,
    /// joined, script (sloping)
    #[arg(long, default_value = "five", value_parser = by_name::<LetterFace>)]
    face: LetterFace,
    /// The height of capitals in line and script
    #[arg(long, value_name = "SQUARES", value_parser = clap::value_parser!(u8).range(5..=40))]
    capitals: Option<u8>,
    /// Turn it clockwise: 90, 180 or 270 degrees
    #[arg(long, value_name = "DEGREES", default_value = "0")]
    turn: Turn,
    /// left, centre or right
    #[arg(long, default_value = "left", value_parser = by_name::<LetterAlign>)]
    align: LetterAlign,
    /// Squares more between letters, or fewer
    #[arg(long, value_name = "SQUARES", default_value_t = 0, allow_hyphen_values = true)]
    letter_gap: i8,
    /// Squares more between lines, or fewer
    #[arg(long, value_name = "SQUARES", default_value_t = 0, allow_hyphen_values = true)]
    line_gap: i8,
    /// Break lines to stay within so many squares
    #[arg(long, value_name = "SQUARES")]
    wrap: Option<u16>,
}

impl LetteringArgs {
    pub(super) fn mark(&self) -> Mark<String> {
        Mark::Lettering(Lettering {
            name: self.name.clone(),
            text: self.text.replace("\\n", "\n"),
            at: self.at.0,
            thread: self.thread.clone(),
            style: LetterStyle {
                face: self.face,
                capitals: self.capitals,
                turn: self.turn,
                align: self.align,
                letter_gap: self.letter_gap,
                line_gap: self.line_gap,
                wrap: self.wrap,
            },
        })
    }
}

#[derive(Debug, Args)]
pub(super) struct KeyArgs {
    /// What to call it
    #[arg(long, default_value = "key")]
    name: String,
    /// The thread of its letters
    #[arg(long)]
    thread: String,
    /// Where it stands, on cloth added there
    #[arg(long, default_value = "below", value_parser = one_of::<Place>(&PLACES))]
    place: Place,
    /// Its top left square instead, over the design
    #[arg(long, value_name = "COLUMN,ROW", conflicts_with = "place", allow_hyphen_values = true)]
    at: Option<Numbers<2>>,
    /// A line over it
    #[arg(long)]
    title: Option<String>,
    /// The date, in its last line
    #[arg(long)]
    date: Option<String>,
    /// Initials, in its last line
    #[arg(long)]
    initials: Option<String>,
    /// five, seven, ten (crosses); tiny, line, joined, script (backstitch)
    #[arg(long, default_value = "five", value_parser = by_name::<LetterFace>)]
    face: LetterFace,
    /// Another face for the title
    #[arg(long, value_parser = by_name::<LetterFace>)]
    title_face: Option<LetterFace>,
    /// Beside each label a patch in the motif's main thread, or the motif made small
    #[arg(long, default_value = "patch", value_parser = by_name::<Sample>)]
    sample: Sample,
    /// How many columns; else as many as fit
    #[arg(long, value_name = "N")]
    columns: Option<u8>,
    /// Squares between the design and the key
    #[arg(long, value_name = "SQUARES", default_value_t = 4)]
    gap: u8,
    /// The thread of a line round it
    #[arg(long, value_name = "THREAD")]
    frame: Option<String>,
}

impl KeyArgs {
    pub(super) fn mark(&self) -> Mark<String> {
        Mark::Key(Key {
            name: self.name.clone(),
            thread: self.thread.clone(),
            place: self.at.map_or(self.place, |at| Place::At(at.0)),
            title: self.title.clone(),
            date: self.date.clone(),
            initials: self.initials.clone(),
            face: self.face,
            title_face: self.title_face,
            sample: self.sample,
            columns: self.columns,
            gap: self.gap,
            frame: self.frame.clone(),
        })
    }
}
