//! names
