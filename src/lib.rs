//! brede.
