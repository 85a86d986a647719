//! What follows from what is known of a substance: pure functions on SI numbers.
//!
//! The crate reads no file, no clock and no text. A preparation arrives as a [`ledger::Ledger`]: lots,
//! operations that move matter between them, and unknowns with their priors. The same ledger is run
//! forward on the priors (the plan) and conditioned on readings (the account, [`account`]).
//!
//! Units throughout: kg, mol, kg/mol, K; fractions are numbers from 0 to 1.

pub mod account;
pub mod aqueous;
pub mod crystallise;
pub mod dry;
pub mod equilibrium;
pub mod furnace;
pub mod gas;
pub mod hazard;
pub mod heat;
pub mod least_squares;
pub mod ledger;
pub mod propagation;
pub mod scalar;
pub mod solution;
pub mod stoichiometry;
pub mod thermochemistry;
pub mod titration;
pub mod wash;
