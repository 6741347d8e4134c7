//! Spans of time as a person says them; both faces tell the same.

/// Hours at the least and at the most, as closely as they are known: `20 to 45 minutes`, `1.5 to 3 hours`, `12 to 21 hours`.
#[must_use]
pub fn hours([low, high]: [f64; 2]) -> String {
    if high < 1.5 {
        // To five minutes: nobody can say it closer.
        let minutes = [(low * 12.0).floor() * 5.0, (high * 12.0).ceil() * 5.0];
        return range(minutes, "minute");
    }
    if high < 10.0 {
        return range([(low * 2.0).floor() / 2.0, (high * 2.0).ceil() / 2.0], "hour");
    }
    range([low.round(), high.round()], "hour")
}

/// From so many to so many: `2 to 3 weeks`, `up to 5 minutes`, `1 week`.
#[must_use]
pub fn range([low, high]: [f64; 2], noun: &str) -> String {
    let plural = if high == 1.0 { "" } else { "s" };
    if low <= 0.0 {
        format!("up to {high} {noun}{plural}")
    } else if low == high {
        format!("{high} {noun}{plural}")
    } else {
        format!("{low} to {high} {noun}{plural}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_told_as_closely_as_they_are_known() {
        let told = [[0.0, 0.02], [0.3, 0.7], [0.8, 2.6], [12.2, 20.8], [0.5, 1.0]].map(hours);
        let wanted =
            ["up to 5 minutes", "15 to 45 minutes", "0.5 to 3 hours", "12 to 21 hours", "30 to 60 minutes"];
        assert_eq!(told, wanted);
        assert_eq!([range([1.0, 1.0], "week"), range([1.0, 3.0], "week")], ["1 week", "1 to 3 weeks"]);
    }
}
