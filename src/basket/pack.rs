//! Bytes made small (DEFLATE, RFC 1951), and made whole again within a limit.

use std::io::{Read as _, Write as _};

use flate2::Compression;
use flate2::read::DeflateDecoder;
use flate2::write::DeflateEncoder;

use super::BasketError;

/// Made small; as fast as it goes, since a tick waits for it.
pub(super) fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = DeflateEncoder::new(Vec::with_capacity(bytes.len() / 16 + 64), Compression::fast());
    let invariant = "writing to memory does not fail";
    encoder.write_all(bytes).expect(invariant);
    encoder.finish().expect(invariant)
}

/// Made whole again: no more than `most` bytes, whatever the packed ones say.
pub(super) fn whole(packed: &[u8], most: usize, what: &str) -> Result<Vec<u8>, BasketError> {
    let damaged = |why: String| BasketError::Damaged { what: format!("{what} {why}") };
    let mut bytes = Vec::new();
    let mut decoder = DeflateDecoder::new(packed).take(most as u64 + 1);
    decoder.read_to_end(&mut bytes).map_err(|error| damaged(format!("cannot be unpacked: {error}")))?;
    if bytes.len() > most { Err(damaged("is larger than it can be".to_owned())) } else { Ok(bytes) }
}
