//! What are enthalpy, entropy and Gibbs energy of a substance and of a reaction at a temperature?
//!
//! Molar SI units at the standard pressure of 1 bar; the enthalpies of the elements' reference forms are zero at
//! 298.15 K. Pressure enters through ideal gases only; condensed phases are pure.
//!
//! Source: beside each function.

pub mod fit;
pub mod form;
pub mod reaction;
pub mod standard;

pub use fit::{Fit, Interval};
pub use reaction::{Known, Participant, ReactionState};
