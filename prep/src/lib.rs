//! The preparation file: text → model → outcome, with findings that point at the line.
//!
//! [`read`] understands a file and reports every slip at once; [`plan`] says what to expect at each weighing;
//! [`account`] says what was made, given what was weighed; [`ask`] answers single questions. An outcome
//! ([`outcome`]) holds plain values and no type of the engine.

mod action;
mod aqueous;
pub mod ask;
pub mod bench_test;
mod check;
pub mod edit;
mod equilibria;
mod evaluate;
pub mod fields;
pub mod freeze;
mod heating;
mod layout;
pub mod losses;
pub mod model;
pub mod outcome;
mod read;
mod record;
pub mod screen;
pub mod skeleton;
mod spelling;
mod syntax;
mod thermochemistry;
mod ware;
mod world;

pub use evaluate::history;
pub use evaluate::{
    AccountSettings, Fits, Mishap, Truth, check_claim, mishaps, next, next_after, replicates, simulate,
};
pub use evaluate::{entry, plan_again, readings_in_question};
pub use layout::{Untidied, tidy, tidy_beside};
pub use model::Preparation;
pub use read::{LARGEST_FILE, Reading, read, read_beside};
pub use record::record;
pub use screen::{account, live_account, live_account_after, live_account_with, plan};
pub use world::{Nowhere, World};
