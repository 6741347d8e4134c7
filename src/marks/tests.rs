//! Tests of the marks as a whole.
