//! The preparation file: text → model → outcome, with findings that point at the line.
//!
//! [`read`] understands a file and reports every slip at once; [`plan`] says what to expect at each weighing;
//! [`account`] says what was made, given what was weighed; [`ask`] answers single questions. An outcome
//! ([`outcome`]) holds plain values and no type of the engine.

mod action;
pub mod ask;
mod check;
pub mod edit;
mod evaluate;
pub mod fields;
pub mod freeze;
mod layout;
mod losses;
pub mod model;
pub mod outcome;
mod read;
pub mod skeleton;
mod spelling;
mod syntax;
mod thermochemistry;
mod world;

pub use evaluate::{AccountSettings, Truth, account, live_account, plan, replicates, simulate};
pub use layout::{Untidied, tidy, tidy_beside};
pub use model::Preparation;
pub use read::{LARGEST_FILE, Reading, read, read_beside};
pub use world::{Nowhere, World};
