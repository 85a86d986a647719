//! Tests of portions: two sums over the row of the lot for each.

use super::Builder;
use crate::bench_test::{BenchTest, Measure, Share};
use crate::evaluate::table::{SpeciesTable, exchanged};
use crate::model::{Atmosphere, Found, Preparation};
use chem::{Element, Formula, Phase, Species};
use engine::account::determination::{Determination, Outcome};
use engine::ledger::FOREIGN_KINDS;
use std::collections::BTreeSet;

/// Row slots of foreign matter: whether it dissolves, whether it burns.
const FOREIGN: [(bool, bool); FOREIGN_KINDS] = {
    use engine::ledger::{INSOLUBLE_COMBUSTIBLE, INSOLUBLE_PERMANENT, SOLUBLE_COMBUSTIBLE, SOLUBLE_PERMANENT};
    let mut kinds = [(false, false); FOREIGN_KINDS];
    kinds[SOLUBLE_PERMANENT] = (true, false);
    kinds[SOLUBLE_COMBUSTIBLE] = (true, true);
    kinds[INSOLUBLE_PERMANENT] = (false, false);
    kinds[INSOLUBLE_COMBUSTIBLE] = (false, true);
    kinds
};

impl Builder<'_> {
    /// The tests that stand, made or not, with their places.
    pub(super) fn determinations(&self) -> Vec<((usize, usize), Determination)> {
        let steps = &self.preparation.steps;
        let corrected: BTreeSet<&str> = steps
            .iter()
            .flat_map(|s| &s.determinations)
            .filter_map(|d| Some(d.corrects.as_ref()?.value.as_str()))
            .collect();
        let mut list = Vec::new();
        for (i, step) in steps.iter().enumerate() {
            for (k, made) in step.determinations.iter().enumerate() {
                if corrected.contains(made.id.value.as_str()) {
                    continue;
                }
                let Some(lot) = self.by_name.get(made.of.value.as_str()).copied() else { continue };
                let counted_as = made.counted_as.clone();
                let measure = measure(self.preparation, made.test, counted_as);
                let Some((counted, per)) = sums(&measure, self.table, &self.lots[lot].contents) else { continue };
                // A test still to be made has no figure; it is no evidence and only expected.
                let nothing = Outcome::Figure { value: f64::NAN, deviation: 1.0 };
                let outcome = made.found.as_ref().map_or(nothing, |found| outcome(made.test, found.value));
                list.push(((i, k), Determination { lot, counted, per, outcome }));
            }
        }
        list
    }
}

/// What a test found, as the likelihood sees it.
pub(crate) fn outcome(test: &BenchTest, found: Found) -> Outcome {
    match found {
        Found::Figure { value, standard_uncertainty } => {
            let usual = test.uncertainty(value * test.per_si) / test.per_si;
            Outcome::Figure { value, deviation: standard_uncertainty.unwrap_or(usual).max(1e-9) }
        }
        Found::Seen(yes) => Outcome::Seen {
            yes,
            threshold: test.noticed.unwrap_or(0.0) / test.per_si,
            blur: (test.absolute / test.per_si).max(1e-9),
        },
    }
}

/// What a test of this preparation is read against.
pub(crate) fn measure<'t>(
    preparation: &Preparation,
    test: &'t BenchTest,
    counted_as: Option<(Element, Option<Formula>)>,
) -> Measure<'t> {
    let (element, stated_as) = match counted_as {
        Some((element, formula)) => (Some(element), formula),
        None => (preparation.account_for.first().copied(), None),
    };
    Measure {
        test,
        element,
        stated_as,
        end: preparation.account_for.first().and_then(|element| end_form(preparation, *element)),
        exchanged: exchanged(Atmosphere::default()).to_vec(),
    }
}

/// The form in which an element ends on ignition: the first that an ignition of the file may give, else the target.
fn end_form(preparation: &Preparation, element: Element) -> Option<Species> {
    let holds = |species: &Species| species.phase == Some(Phase::Solid) && *species.formula.count(element).numer() != 0;
    let fire = preparation.steps.iter().filter(|s| s.action.value.manner().heat == crate::action::Heat::Fire);
    let listed = fire.flat_map(|s| &s.may_hold).map(|p| p.value.species()).find(|species| holds(species));
    let target = preparation.target.as_ref().map(|t| &t.substance).filter(|species| holds(species));
    listed.or(target).cloned()
}

/// Whether hot water takes a species out of a solid: it came out of a liquor, or stands in one.
pub(crate) fn soluble(table: &SpeciesTable, species: &Species) -> bool {
    species.phase == Some(Phase::Aqueous)
        || (0..table.len())
            .filter(|s| !table.is_sparing(*s))
            .map(|s| table.species(s))
            .any(|other| other.phase == Some(Phase::Aqueous) && other.formula == species.formula)
}

/// The two sums of a test over a row: foreign matter, then species; `None` where it says nothing of one of `contents`.
pub(crate) fn sums(
    measure: &Measure<'_>,
    table: &SpeciesTable,
    contents: &BTreeSet<usize>,
) -> Option<(Vec<f64>, Vec<f64>)> {
    let foreign = FOREIGN.map(|(soluble, combustible)| measure.of_foreign(soluble, combustible));
    let mut shares: Vec<Share> = foreign.to_vec();
    for s in 0..table.len() {
        let species = table.species(s);
        match measure.of(species, soluble(table, species)) {
            Some(share) => shares.push(share),
            None if contents.contains(&s) => return None,
            None => shares.push(Share::default()),
        }
    }
    Some((shares.iter().map(|s| s.counted).collect(), shares.iter().map(|s| s.per).collect()))
}
