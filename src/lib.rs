//! brede turns a picture into a counted cross-stitch chart in the threads a stitcher owns, makes it theirs
//! with outlines and a stitched key, and prints it so that it can be followed from a black-and-white page.
//!
//! The library does the work and prints nothing; the `brede` binary is a thin face over it. The rooms stand
//! below in the order of their imports: each may use those after it, never one before it (`tests/rooms.rs`).

pub mod basket;
pub mod chart;
pub mod desk;
pub mod ground;
pub mod making;
pub mod planning;
pub mod printing;
pub mod reading;
pub mod thread;
