//! What time it is: pages are dated and pieces are changed with it.

use brede::desk::Moment;
use brede::ground::day::{Day, When};

/// Now.
pub(super) fn moment() -> Moment {
    let now = std::time::UNIX_EPOCH.elapsed().map_or(0, |since| since.as_secs().cast_signed());
    Moment::from_seconds(now).unwrap_or_default()
}

/// Now, and the day where the person is.
pub(super) fn when() -> When {
    let seconds = moment().seconds();
    let ahead = jiff::Timestamp::from_second(seconds)
        .map_or(0, |now| jiff::tz::TimeZone::system().to_offset(now).seconds());
    When { seconds, day: Day::of(seconds, ahead) }
}
