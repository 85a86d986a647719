//! What a substance is and what is known of it.
//!
//! This crate holds the facts every other part stands on: elements and their atomic weights, formulas, species with a
//! phase, exactly balanced reactions, and quantities with unit and uncertainty as people write them. It reads text
//! and answers with values or with an error that points at the offending bytes; it opens no file, prints nothing and
//! computes no chemistry beyond composition and stoichiometry.
//!
//! ```
//! use chem::{Formula, Element};
//! let bluestone = Formula::parse("CuSO4.5H2O")?;
//! assert_eq!(bluestone.to_string(), "CuSO4·5H2O");
//! assert!((bluestone.molar_mass()?.value - 249.677).abs() < 1e-9);
//! let copper = Element::from_symbol("Cu").ok_or("no such element")?;
//! assert!((bluestone.mass_fraction(copper) - 0.25451).abs() < 1e-5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod aqueous;
pub mod element;
pub mod formula;
pub mod hazard;
pub mod isotope;
pub mod label;
pub mod quantity;

pub mod reaction;
pub mod solubility;
mod solution_density;
mod solution_heat;
pub mod source;
pub mod species;
pub mod substance;
pub mod table;
pub mod thermo;
pub mod uncertain;
pub mod unit;

pub use element::{AtomicWeight, Element};
pub use formula::{Formula, FormulaError, FormulaErrorKind, OxidationRefusal, OxidationRule, OxidationState};
pub use isotope::Isotope;
pub use quantity::{Basis, Quantity, QuantityError, QuantityErrorKind, Sourced, Status, Value};

pub use reaction::{
    Balance, Closure, Component, Equation, EquationError, Freedom, Reaction, ReactionError, Term, conversion,
};
pub use solution_density::SolutionDensity;
pub use solution_heat::SolutionHeat;
pub use source::{Source, SourceKey};
pub use species::{Phase, Species, SpeciesPattern};
pub use uncertain::Uncertain;
pub use unit::{Dimension, Unit};
