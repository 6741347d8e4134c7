//! brede turns a picture into a counted cross-stitch chart in the threads a stitcher owns, makes it theirs
//! with outlines and a stitched key, and prints it so that it can be followed from a black-and-white page.
//!
//! The library does the work and prints nothing; the `brede` binary is a thin face over it. Imports point
//! one way: `units` and `colour` at the bottom, `cli` at the top.

mod assignment;
pub mod chart;
pub mod cloth;
pub mod colour;
pub mod exact;
pub mod frame;
pub mod ink;
pub mod kit;
pub mod make;
pub mod marks;
pub mod photo;
pub mod picture;
pub mod progress;
pub mod proof;
pub mod reduce;
pub mod rethread;
pub mod shades;
pub mod sheet;
pub mod store;
pub mod symbols;
pub mod typeface;
pub mod units;
