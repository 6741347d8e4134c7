//! Days as a person counts them: those of the calendar where they are, whatever the clock of the machine says elsewhere.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A day of the calendar, counted from 1 January 1970.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Day(jiff::civil::Date);

/// A text or a number that is no day.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{text}` is no day; write it as 2026-03-07")]
pub struct DayError {
    /// What was given.
    pub text: String,
}

impl Day {
    /// The day so many days after 1 January 1970; `None` where no calendar reaches.
    #[must_use]
    pub fn from_number(days: i64) -> Option<Self> {
        let first = jiff::civil::date(1970, 1, 1);
        let span = jiff::Span::new().try_days(days).ok()?;
        first.checked_add(span).ok().map(Self)
    }

    /// How many days after 1 January 1970 it is.
    #[must_use]
    pub fn number(self) -> i64 {
        let first = jiff::civil::date(1970, 1, 1);
        first.until(self.0).map_or(0, |span| i64::from(span.get_days()))
    }

    /// The day on which a moment falls, in seconds after the beginning of 1970, `ahead` seconds before UTC's.
    #[must_use]
    pub fn of(seconds: i64, ahead: i32) -> Self {
        Self::from_number(seconds.saturating_add(i64::from(ahead)).div_euclid(86_400)).unwrap_or(Self::FIRST)
    }

    /// 1 January 1970.
    pub const FIRST: Self = Self(jiff::civil::date(1970, 1, 1));

    /// As people write it, such as `7 March 2026`.
    #[must_use]
    pub fn words(self) -> String {
        self.0.strftime("%-d %B %Y").to_string()
    }

    /// The day written in one of the ways of a spreadsheet: `2026-03-07`, `7.3.2026`, `07/03/2026`; where the day and
    /// the month could be taken for one another, `order` says which comes first.
    ///
    /// # Errors
    /// [`DayError`].
    pub fn read(text: &str, order: DayOrder) -> Result<Self, DayError> {
        let fail = || DayError { text: text.chars().take(40).collect() };
        // What follows is the time of day.
        let text = text.trim().split([' ', 'T']).next().unwrap_or_default();
        let parts: Vec<&str> = text.trim_end_matches('.').split(['-', '.', '/']).collect();
        let [one, two, three] = parts.as_slice() else { return Err(fail()) };
        let number = |part: &str| part.parse::<i16>().ok();
        let year = |part: &str| number(part).map(|year| if part.len() <= 2 { 2000 + year } else { year });
        let read = || match order {
            _ if one.len() == 4 => Some((number(one)?, number(two)?, number(three)?)),
            DayOrder::DayFirst => Some((year(three)?, number(two)?, number(one)?)),
            DayOrder::MonthFirst => Some((year(three)?, number(one)?, number(two)?)),
        };
        let (year, month, day) = read().ok_or_else(fail)?;
        let (Ok(month), Ok(day)) = (i8::try_from(month), i8::try_from(day)) else { return Err(fail()) };
        jiff::civil::Date::new(year, month, day).map(Self).map_err(|_| fail())
    }
}

/// Which of day and month is written first, where the year is not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DayOrder {
    /// The day, as most of the world writes it.
    #[default]
    DayFirst,
    /// The month.
    MonthFirst,
}

/// As ISO 8601 has it: `2026-03-07`.
impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Day {
    type Err = DayError;
    fn from_str(text: &str) -> Result<Self, DayError> {
        text.parse().map(Self).map_err(|_| DayError { text: text.chars().take(40).collect() })
    }
}

impl TryFrom<String> for Day {
    type Error = DayError;
    fn try_from(text: String) -> Result<Self, DayError> {
        text.parse()
    }
}

impl From<Day> for String {
    fn from(day: Day) -> Self {
        day.to_string()
    }
}

/// A moment, and the day that it is where the person is. It comes from the face: the library has no clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct When {
    /// Seconds after the beginning of 1970 (UTC).
    pub seconds: i64,
    /// The day.
    pub day: Day,
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn days_are_counted_as_the_calendar_does() {
        // RFC 3339 dates, and Julian day numbers of the US Naval Observatory: 2000-01-01 is 10,957 days after 1970-01-01.
        let day: Day = "2000-01-01".parse().unwrap();
        assert_eq!(day.number(), 10_957);
        assert_eq!(Day::from_number(10_957), Some(day));
        assert_eq!(Day::from_number(i64::MAX), None);
        assert_eq!(Day::of(-1, 0).to_string(), "1969-12-31");
        assert_eq!(Day::of(86_399, 1).to_string(), "1970-01-02");
        assert_eq!(day.words(), "1 January 2000");
    }

    #[test]
    fn days_of_spreadsheets_are_read() {
        for (text, order, wanted) in [
            ("2026-03-07", DayOrder::DayFirst, "2026-03-07"),
            ("7.3.2026", DayOrder::DayFirst, "2026-03-07"),
            ("07.03.26", DayOrder::DayFirst, "2026-03-07"),
            ("3/7/2026", DayOrder::MonthFirst, "2026-03-07"),
            ("2026-03-07T21:40", DayOrder::MonthFirst, "2026-03-07"),
        ] {
            assert_eq!(Day::read(text, order).unwrap().to_string(), wanted, "{text}");
        }
        for text in ["", "soon", "31.2.2026", "1.2", "99999-1-1"] {
            assert!(Day::read(text, DayOrder::DayFirst).is_err(), "{text}");
        }
    }
}
