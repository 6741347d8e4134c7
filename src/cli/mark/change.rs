//! Changes to marks that are there, from arguments.

use brede::desk::mark::{
    Course, Holes, LetterFace, LinePattern, MarkChange, MarkSettings, Numbers, Order, Place, Which,
};
use clap::Args;

use super::super::values::one_of;
use super::new::{PLACES, PickArgs, by_name};
use super::stitches::HowArgs;

#[derive(Debug, Args)]
pub(super) struct ChangeArgs {
    /// The mark
    name: String,
    /// Call it something else
    #[arg(long, value_name = "NAME")]
    rename: Option<String>,
    /// Another thread; it keeps its strands unless `2 of P12` is said
    #[arg(long)]
    thread: Option<String>,
    /// Another label
    #[arg(long)]
    label: Option<String>,
    /// Another way to draw an outline
    #[arg(long, value_parser = by_name::<LinePattern>)]
    pattern: Option<LinePattern>,
    /// eased or exact, for an outline
    #[arg(long, value_parser = by_name::<Course>)]
    course: Option<Course>,
    /// The longest stitch of an outline, in squares
    #[arg(long, value_name = "SQUARES")]
    longest: Option<f64>,
    /// Other letters
    #[arg(long)]
    text: Option<String>,
    /// Another face, for letters and the key
    #[arg(long, value_parser = by_name::<LetterFace>)]
    face: Option<LetterFace>,
    /// Another title of the key
    #[arg(long)]
    title: Option<String>,
    /// Another date in the key
    #[arg(long)]
    date: Option<String>,
    /// Other initials in the key
    #[arg(long)]
    initials: Option<String>,
    /// Another place of the key, on cloth added there
    #[arg(long, value_parser = one_of::<Place>(&PLACES))]
    place: Option<Place>,
    /// The top left square of the key instead, over the design
    #[arg(long, value_name = "COLUMN,ROW", conflicts_with = "place", allow_hyphen_values = true)]
    key_at: Option<Numbers<2>>,
    /// Cells between the design and the key
    #[arg(long, value_name = "SQUARES")]
    gap: Option<u8>,
    #[command(flatten)]
    how: HowArgs,
    #[command(flatten)]
    pick: PickArgs,
}

impl ChangeArgs {
    pub(super) fn change(&self) -> MarkChange {
        let to = MarkSettings {
            name: self.rename.clone(),
            thread: self.thread.clone(),
            label: self.label.clone(),
            pattern: self.pattern,
            course: self.course,
            longest: self.longest,
            text: self.text.as_ref().map(|text| text.replace("\\n", "\n")),
            face: self.face,
            title: self.title.clone(),
            date: self.date.clone(),
            initials: self.initials.clone(),
            place: self.key_at.map(|at| Place::At(at.0)).or(self.place),
            gap: self.gap,
            motif: self.pick.is_given().then(|| self.pick.motif()),
            holes: self.pick.keep_holes.then_some(Holes::Kept),
            ..self.how.settings()
        };
        MarkChange::Change { name: self.name.clone(), to: Box::new(to) }
    }
}

#[derive(Debug, Args)]
pub(super) struct MoveArgs {
    /// The mark
    name: String,
    /// So many columns to the right and rows down; fewer than none to the left and up
    #[arg(value_name = "COLUMNS,ROWS", allow_hyphen_values = true)]
    by: Numbers<2>,
}

impl MoveArgs {
    pub(super) fn change(&self) -> MarkChange {
        MarkChange::Move { name: self.name.clone(), by: self.by.0 }
    }
}

#[derive(Debug, Args)]
pub(super) struct RemoveArgs {
    /// The marks
    #[arg(required_unless_present = "all")]
    names: Vec<String>,
    /// All of them
    #[arg(long, conflicts_with = "names")]
    all: bool,
}

impl RemoveArgs {
    pub(super) fn change(&self) -> MarkChange {
        MarkChange::Remove { marks: if self.all { Which::All } else { Which::Named(self.names.clone()) } }
    }
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false, id = "place")]
struct OrderArgs {
    /// Over all others
    #[arg(long)]
    top: bool,
    /// Under all others
    #[arg(long)]
    bottom: bool,
    /// Just over another mark
    #[arg(long, value_name = "NAME")]
    over: Option<String>,
    /// Just under another mark
    #[arg(long, value_name = "NAME")]
    under: Option<String>,
}

#[derive(Debug, Args)]
pub(super) struct ReorderArgs {
    /// The mark
    name: String,
    #[command(flatten)]
    to: OrderArgs,
}

impl ReorderArgs {
    pub(super) fn change(&self) -> MarkChange {
        let to = match &self.to {
            OrderArgs { over: Some(name), .. } => Order::Over(name.clone()),
            OrderArgs { under: Some(name), .. } => Order::Under(name.clone()),
            OrderArgs { bottom: true, .. } => Order::Bottom,
            OrderArgs { .. } => Order::Top,
        };
        MarkChange::Reorder { name: self.name.clone(), to }
    }
}
