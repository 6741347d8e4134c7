//! Places of a chart as people write them: whole numbers with commas between.

use std::str::FromStr;

/// So many whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Numbers<const N: usize>(pub [i32; N]);

/// A text that is not so many whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{wanted} whole numbers with commas between are wanted")]
pub struct NumbersError {
    /// How many.
    pub wanted: usize,
}

impl<const N: usize> FromStr for Numbers<N> {
    type Err = NumbersError;
    fn from_str(text: &str) -> Result<Self, NumbersError> {
        let numbers: Result<Vec<i32>, _> = text.split(',').map(|part| part.trim().parse()).collect();
        let numbers = numbers.ok().and_then(|numbers| numbers.try_into().ok());
        numbers.map(Self).ok_or(NumbersError { wanted: N })
    }
}

/// Columns and rows of three corners or more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Corners(pub Vec<[i32; 2]>);

/// A text that is no corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("COLUMN,ROW of three corners at least are wanted, with commas between")]
pub struct CornersError;

impl FromStr for Corners {
    type Err = CornersError;
    fn from_str(text: &str) -> Result<Self, CornersError> {
        let numbers = text.split(',').map(|part| part.trim().parse().map_err(|_| CornersError));
        let numbers: Vec<i32> = numbers.collect::<Result<_, _>>()?;
        if numbers.len() < 6 || !numbers.len().is_multiple_of(2) {
            return Err(CornersError);
        }
        Ok(Self(numbers.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_numbers_as_are_wanted_and_no_fewer_corners_than_three() {
        assert_eq!("34, -60".parse(), Ok(Numbers([34, -60])));
        for bad in ["34", "34,60,1", "a,b", ""] {
            assert_eq!(bad.parse::<Numbers<2>>(), Err(NumbersError { wanted: 2 }), "{bad}");
        }
        assert_eq!("1,1,5,1,3,4".parse(), Ok(Corners(vec![[1, 1], [5, 1], [3, 4]])));
        for bad in ["1,1,5,1", "1,1,5,1,3", "1,1,5,1,3,x"] {
            assert_eq!(bad.parse::<Corners>(), Err(CornersError), "{bad}");
        }
    }
}
