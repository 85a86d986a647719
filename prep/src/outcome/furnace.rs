//! When a heated bed is done.

use super::Finding;

/// A bed in a furnace.
#[derive(Clone, Debug, PartialEq)]
pub struct FurnaceAnswer {
    /// The solid before.
    pub solid: String,
    /// The reaction.
    pub equation: String,
    /// Furnace, °C.
    pub furnace: f64,
    /// Shape and size, in words.
    pub bed: String,
    /// From the middle to the surface, mm.
    pub depth: f64,
    /// How it reacts, in words.
    pub law: String,
    /// Heat taken up, kJ for a gram of bed.
    pub heat: f64,
    /// Temperature of the front, °C, where it is one.
    pub front: Option<f64>,
    /// Time until the middle is done, min, for the least, the usual and the greatest conductivity; `None` where it is not done
    /// within a week.
    pub done: [Option<f64>; 3],
    /// The same for half the depth.
    pub half_depth: [Option<f64>; 3],
    /// Conductivities, W/(m K).
    pub conductivity: [f64; 3],
    /// Time asked about, min, with what is then the case.
    pub asked: Option<FurnaceMoment>,
    /// Moments, with the usual conductivity.
    pub moments: Vec<FurnaceMoment>,
    /// The same with the least and the greatest conductivity.
    pub bounds: [Vec<FurnaceMoment>; 2],
    /// Assumptions, in words.
    pub assumed: Vec<String>,
    /// What must be said.
    pub findings: Vec<Finding>,
}

/// A bed at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FurnaceMoment {
    /// min
    pub minutes: f64,
    /// Temperature of the middle, °C.
    pub middle: f64,
    /// Unreacted in the middle, percent.
    pub middle_left: f64,
    /// Unreacted in all, percent.
    pub left: f64,
}
