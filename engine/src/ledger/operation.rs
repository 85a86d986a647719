//! What can happen to matter?
//!
//! Every action of the bench comes down to these operations. Each moves rows of amounts between lots, or
//! turns species into others by balanced coefficients, so none can create an atom. What is taken from the
//! surroundings (air, moisture) is written into a lot of its own that counts as drawn.

/// Number of a lot in the ledger.
pub type Lot = usize;
/// Number of a species in the ledger.
pub type SpeciesIndex = usize;

/// A number of the model: known, or an unknown with a prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Value {
    /// Known.
    Constant(f64),
    /// The unknown with this number.
    Unknown(usize),
}

/// How a species behaves at a filter and on heating.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Stays in the cake.
    Solid,
    /// Is solvent or melt: runs with the liquor.
    Liquid,
    /// Leaves.
    Gas,
    /// Runs with the liquor, stays behind when the solvent leaves.
    Dissolved,
}

/// The four kinds of foreign matter: does it dissolve, does it burn?
///
/// Row order of the foreign masses in a lot.
pub const FOREIGN_KINDS: usize = 4;
/// Dissolves and is still there after ignition (a salt).
pub const SOLUBLE_PERMANENT: usize = 0;
/// Dissolves and burns (sugar).
pub const SOLUBLE_COMBUSTIBLE: usize = 1;
/// Stays on the filter and is still there after ignition (sand, glaze).
pub const INSOLUBLE_PERMANENT: usize = 2;
/// Stays on the filter and burns (fibre, starch).
pub const INSOLUBLE_COMBUSTIBLE: usize = 3;

/// Amounts of species, mol per mol of extent, all positive.
pub type Amounts = Box<[(SpeciesIndex, f64)]>;

/// Where gases and water go to and come from in one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Surroundings {
    /// What has left in this step; the first source of anything that comes back.
    pub vent: Lot,
    /// What the air and its moisture had to supply beyond that.
    pub drawn: Lot,
}

/// One primitive of the ledger.
#[derive(Clone, Debug)]
pub enum Operation {
    /// Weigh `mass` (kg) of a supply into a lot.
    Charge {
        /// Number of the supply.
        supply: usize,
        /// Mass charged, kg.
        mass: Value,
        /// Receiving lot.
        into: Lot,
    },
    /// Pour all of a lot into another. The row of the emptied lot stays as it was given: from now on it counts as
    /// empty, but readings and books find in it what it held.
    Move {
        /// Emptied lot.
        from: Lot,
        /// Receiving lot.
        into: Lot,
    },
    /// Take a portion of the stated mass (kg), at most all of it.
    Portion {
        /// Lot that gives.
        from: Lot,
        /// Receiving lot.
        into: Lot,
        /// Mass taken, kg.
        mass: Value,
    },
    /// Turn all of a species into others (dissolving a hydrate).
    Transform {
        /// Lot in which it happens.
        lot: Lot,
        /// Species that disappears.
        from: SpeciesIndex,
        /// What one mole of it becomes.
        into: Amounts,
        /// Fraction of it that does.
        share: Value,
    },
    /// A written reaction, to a fraction `conversion` of its limiting reagent.
    React {
        /// Lot in which it happens.
        lot: Lot,
        /// Consumed per mole of extent.
        consumed: Amounts,
        /// Produced per mole of extent.
        produced: Amounts,
        /// Conversion of the limiting reagent, 0 to 1.
        conversion: Value,
        /// Where the run notes which reagent limited.
        note: usize,
    },
    /// All gases leave.
    Vent {
        /// Lot they leave.
        lot: Lot,
        /// Lot of what has left.
        vent: Lot,
    },
    /// Parts a lot into cake and liquor; the lot itself becomes the cake.
    Separate {
        /// Keeps the solids and the held liquor.
        cake: Lot,
        /// Receives the rest.
        liquor: Lot,
        /// Fraction of the solids that passes the filter.
        passes: Value,
        /// Liquor held by filter and vessel, kg.
        held: Value,
        /// Liquor held for each kg of solids, kg/kg.
        held_per_solid: Value,
    },
    /// Part of a liquid leaves: the stated mass, at most all of it.
    Boil {
        /// Lot that is heated.
        lot: Lot,
        /// The liquid.
        liquid: SpeciesIndex,
        /// The gas it becomes.
        gas: SpeciesIndex,
        /// Mass that leaves, kg.
        mass: Value,
        /// Lot of what has left.
        vent: Lot,
    },
    /// Liquids leave as the gas named beside them.
    Evaporate {
        /// Lot that dries.
        lot: Lot,
        /// Pairs of condensed species and the gas it becomes.
        pairs: Box<[(SpeciesIndex, SpeciesIndex)]>,
        /// Lot of what has left.
        vent: Lot,
    },
    /// Each dissolved species becomes its own solid.
    Solidify {
        /// Lot that has lost its solvent.
        lot: Lot,
        /// Pairs of dissolved and solid species.
        pairs: Box<[(SpeciesIndex, SpeciesIndex)]>,
    },
    /// A fraction of a solid becomes another, exchanging gases with the surroundings.
    Convert {
        /// Lot in which it happens.
        lot: Lot,
        /// Species converted.
        from: SpeciesIndex,
        /// Species it becomes.
        into: SpeciesIndex,
        /// Moles of `into` for each mole of `from`.
        gives: f64,
        /// Gases given off (positive) or taken up (negative) for each mole of `from`.
        exchange: Box<[(SpeciesIndex, f64)]>,
        /// Fraction converted.
        share: Value,
        /// Where the gases go to and come from.
        surroundings: Surroundings,
    },
    /// Binds `water` moles of water to each mole of a host.
    Hydrate {
        /// Lot in which it happens.
        lot: Lot,
        /// Host, as if anhydrous.
        host: SpeciesIndex,
        /// Bound water, a species of its own.
        bound: SpeciesIndex,
        /// Water vapour.
        vapour: SpeciesIndex,
        /// Moles of water for each mole of host.
        water: Value,
        /// Where the water comes from.
        surroundings: Surroundings,
    },
    /// Leaves loose water in a lot, as a mass fraction of the moist lot.
    Moisten {
        /// Lot.
        lot: Lot,
        /// Liquid water.
        liquid: SpeciesIndex,
        /// Water vapour.
        vapour: SpeciesIndex,
        /// Mass fraction of water in the moist lot, below 1.
        fraction: Value,
        /// Where the water comes from.
        surroundings: Surroundings,
    },
    /// A trace of a solid that the lot kept from an earlier liquor.
    Occlude {
        /// Liquor it comes from, if one is still at hand.
        liquor: Option<Lot>,
        /// The species in that liquor.
        dissolved: SpeciesIndex,
        /// Lot that holds the trace.
        lot: Lot,
        /// The species in the lot.
        solid: SpeciesIndex,
        /// Mass fraction of the trace in the lot, below 1.
        fraction: Value,
        /// Where a shortfall is written.
        drawn: Lot,
    },
    /// Combustible foreign matter burns away.
    Burn {
        /// Lot that is ignited.
        lot: Lot,
        /// Lot of what has left.
        vent: Lot,
    },
    /// A film and a fraction stay behind, uniform in composition.
    Lose {
        /// Lot.
        lot: Lot,
        /// Lot of what was lost.
        lost: Lot,
        /// Mass of the film, kg.
        film: Value,
        /// Fraction.
        fraction: Value,
    },
    /// Foreign matter comes in.
    PickUp {
        /// Lot.
        lot: Lot,
        /// Kind of foreign matter.
        kind: usize,
        /// Mass, kg.
        mass: Value,
        /// Where it is written as drawn.
        drawn: Lot,
    },
}
