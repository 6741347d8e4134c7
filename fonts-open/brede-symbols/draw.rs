//! Draws brede's symbols and writes the font and its tables beside this file:
//!
//! ```text
//! cargo run --release --features workshop --example draw-symbols [-- --matrix FILE.png] [--sheet FILE.png]
//! ```
//!
//! `--matrix` writes the distances as a picture, `--sheet` the symbols, large and as small as they are printed.

#[path = "pictures.rs"]
mod pictures;
#[path = "symbol_set.rs"]
mod symbol_set;

use std::error::Error;
use std::path::Path;

/// The folder of the font.
const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fonts-open/brede-symbols");

#[allow(clippy::print_stdout, reason = "the figures of the set are what the command is run for")]
fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let drawn = symbol_set::figures().len();
    let set = symbol_set::SymbolSet::draw();
    for pair in arguments.chunks(2) {
        match pair {
            [option, file] if option == "--matrix" => pictures::matrix(&set).save(file)?,
            [option, file] if option == "--sheet" => pictures::sheet(&set).save(file)?,
            _ => return Err("give nothing, --matrix FILE.png or --sheet FILE.png".into()),
        }
    }
    let folder = Path::new(FOLDER);
    std::fs::write(folder.join("BredeSymbols.ttf"), set.font())?;
    std::fs::write(folder.join("symbols.csv"), set.table())?;
    std::fs::write(folder.join("distances.bin"), set.distance_bytes())?;
    std::fs::write(folder.join("likeness.bin"), set.likeness_bytes())?;
    for (name, distance, like) in &set.dropped {
        println!("dropped {name}: {:.3} from {like}", f64::from(*distance) / 255.0);
    }
    let count = set.symbols.len() - 1;
    let least = set.distance_bytes().into_iter().min().unwrap_or_default();
    let closed = set.symbols.iter().filter(|symbol| symbol.open > 20);
    let closed: Vec<String> = closed.map(|symbol| format!("{} ({})", symbol.name, symbol.open)).collect();
    println!("white parts stay open from tenths of a millimetre: {}", closed.join(", "));
    println!("{drawn} drawn, {count} kept; least distance {:.3}", f64::from(least) / 255.0);
    for first in [10, 20, 30, 50, 80, 100, 150, count] {
        let least = (0..first.min(count)).flat_map(|a| set.distances[a][..a].iter().copied()).min();
        println!("  first {first}: {:.3}", f64::from(least.unwrap_or_default()) / 255.0);
    }
    Ok(())
}
