//! What is in a solution?
//!
//! [`activity`] and [`pitzer`] say how active an ion is, [`speciate`] what is dissolved as what and which solids are there,
//! [`dose`] how much acid or base brings it to a pH and where each solid starts, [`recorded`] what a recorded curve shows,
//! [`couples`] lets oxidation states follow from a potential, [`potential`] which form is stable at a pH and a potential, [`buffer`] the closed form for one weak acid.

pub mod activity;
pub mod buffer;
pub mod constants;
pub mod couples;
pub mod dose;
mod linear;
pub mod network;
pub mod pitzer;
pub mod potential;
pub mod recorded;
mod reduced;
pub mod speciate;
pub mod water;
