//! Cells that still look for neighbours, the nearest first.

/// Bits of a word.
const WORD: usize = u64::BITS as usize;

/// What is looked for from: a cell, and the place in the reach from which on it looks.
pub(super) type Looking = (u32, u32);

/// Cells that still look for neighbours, by the square of the distance at which they look next.
pub(super) struct Search {
    buckets: Vec<Vec<Looking>>,
    /// Which of them hold any, as bits.
    filled: Vec<u64>,
}

impl Search {
    /// For squares up to `most`.
    pub(super) fn new(most: usize) -> Self {
        Self { buckets: vec![Vec::new(); most + 1], filled: vec![0; most / WORD + 1] }
    }

    pub(super) fn push(&mut self, square: usize, looking: Looking) {
        self.buckets[square].push(looking);
        self.filled[square / WORD] |= 1 << (square % WORD);
    }

    /// The least square at which any looks.
    fn lowest(&self) -> Option<usize> {
        let word = self.filled.iter().position(|&word| word != 0)?;
        Some(word * WORD + self.filled[word].trailing_zeros() as usize)
    }

    pub(super) fn has_nearer(&self, square: usize) -> bool {
        self.lowest().is_some_and(|lowest| lowest < square)
    }

    /// The nearest; of equals the last pushed, so that the thread goes on from where it is.
    pub(super) fn pop(&mut self) -> Option<Looking> {
        let lowest = self.lowest()?;
        let looking = self.buckets[lowest].pop();
        if self.buckets[lowest].is_empty() {
            self.filled[lowest / WORD] &= !(1 << (lowest % WORD));
        }
        looking
    }
}
