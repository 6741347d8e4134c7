//! What a try of a picture found out and the next one need not find out again: threads, cloth and what becomes of single
//! stitches change nothing of where squares lie, and another size nothing of what the picture is about.

use std::sync::{Arc, Mutex, PoisonError};

use crate::desk::Error;
use crate::making::frame::{FrameOptions, Framed};
use crate::making::subject::Seen;

/// What is remembered: the last of each, and what it was found for.
#[derive(Debug, Default)]
struct Found {
    framed: Option<(FrameOptions, Framed)>,
    seen: Option<([f64; 4], Seen)>,
}

/// What earlier tries of one picture found.
#[derive(Debug, Clone, Default)]
pub(in crate::desk) struct Earlier(Arc<Mutex<Found>>);

/// What was found for the same, else what is found now. Nobody waits for another's finding.
fn known<K: PartialEq + Clone, V: Clone>(
    found: &Mutex<Found>,
    place: fn(&mut Found) -> &mut Option<(K, V)>,
    of: &K,
    find: impl FnOnce() -> Result<V, Error>,
) -> Result<V, Error> {
    let held = || found.lock().unwrap_or_else(PoisonError::into_inner);
    let before = place(&mut held()).as_ref().filter(|(known, _)| known == of).map(|(_, value)| value.clone());
    if let Some(value) = before {
        return Ok(value);
    }
    let value = find()?;
    *place(&mut held()) = Some((of.clone(), value.clone()));
    Ok(value)
}

impl Earlier {
    /// The picture at one value a stitch.
    pub(super) fn framed(
        &self,
        of: &FrameOptions,
        find: impl FnOnce() -> Result<Framed, Error>,
    ) -> Result<Framed, Error> {
        known(&self.0, |found| &mut found.framed, of, find)
    }

    /// What a part of it shows.
    pub(super) fn seen(
        &self,
        part: &[f64; 4],
        find: impl FnOnce() -> Result<Seen, Error>,
    ) -> Result<Seen, Error> {
        known(&self.0, |found| &mut found.seen, part, find)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use std::cell::Cell;

    use super::*;
    use crate::desk::Limits;
    use crate::ground::progress::Silent;
    use crate::making::frame::{Size, frame};
    use crate::making::photo::Photo;

    #[test]
    fn what_was_found_for_the_same_is_not_sought_again_and_for_another_is() {
        let mut bytes = std::io::Cursor::new(Vec::new());
        let picture = image::RgbImage::from_fn(40, 30, |x, y| image::Rgb([x as u8 * 6, y as u8 * 8, 90]));
        picture.write_to(&mut bytes, image::ImageFormat::Png).unwrap();
        let photo = Photo::read("pool.png", bytes.get_ref(), &Limits::default(), &Silent).unwrap();
        let (earlier, sought) = (Earlier::default(), Cell::new(0));
        let framed = |columns: u32| {
            let options = FrameOptions { size: Size::Columns(columns), ..FrameOptions::default() };
            let found = earlier.framed(&options, || {
                sought.set(sought.get() + 1);
                Ok(frame(&photo, &options, &Silent)?)
            });
            found.unwrap().field
        };
        let first = framed(10);
        assert_eq!((framed(10), sought.get()), (first.clone(), 1));
        assert_ne!(framed(20), first);
        assert_eq!((framed(10), sought.get()), (first, 3));
    }
}
