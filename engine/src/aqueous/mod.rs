//! What is in a solution?
//!
//! So far two questions: how active an ion is, and how much strong base brings a weak acid to a pH.

pub mod activity;
pub mod buffer;
