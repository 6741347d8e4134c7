//! Now: the library has no clock.

use brede::desk::{Moment, MomentError};
use brede::ground::day::{Day, When};

use super::Failure;

/// The moment of making: now, or as `SOURCE_DATE_EPOCH` says (reproducible-builds.org), so that the same input can
/// give the same bytes.
pub(super) fn moment() -> Result<Moment, Failure> {
    let Some(said) = std::env::var_os(EPOCH) else {
        let now = std::time::UNIX_EPOCH.elapsed().map_or(0, |since| since.as_secs().cast_signed());
        return Ok(Moment::from_seconds(now).unwrap_or_default());
    };
    let hint = format!("set {EPOCH} to seconds since 1970, or take it away");
    said.to_string_lossy().parse().map_err(|error: MomentError| Failure::new(error, hint))
}

/// Whether the moment is said from outside.
fn said_moment() -> bool {
    std::env::var_os(EPOCH).is_some()
}

/// Sets the date of what is made (reproducible-builds.org).
const EPOCH: &str = "SOURCE_DATE_EPOCH";

/// The moment, and the day where the person is; in UTC where the moment is said from outside.
pub(super) fn when() -> Result<When, Failure> {
    let seconds = moment()?.seconds();
    let ahead = match (said_moment(), jiff::Timestamp::from_second(seconds)) {
        (false, Ok(now)) => jiff::tz::TimeZone::system().to_offset(now).seconds(),
        _ => 0,
    };
    Ok(When { seconds, day: Day::of(seconds, ahead) })
}
