//! brede on the command line.
fn main() {}
