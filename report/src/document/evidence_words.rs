//! Which words does the evidence carry?
//!
//! A pure substance whose calculated loss lies more than [`EXCLUDED_AT`] standard uncertainties from the loss observed
//! is called excluded; up to [`DOUBTFUL_AT`] it is consistent; between the two, doubtful. For a normal error three
//! standard uncertainties are passed by chance once in 370 times (JCGM 100:2008, table G.1: coverage 99.73 %). This
//! neglects that a residue may be impure, which the alternatives of the account take up.

use crate::number;
use prep::outcome::{Hypothesis, LossLevel};

/// Distance in standard uncertainties beyond which a pure substance is excluded.
pub(super) const EXCLUDED_AT: f64 = 3.0;
/// Distance in standard uncertainties beyond which it is doubtful.
pub(super) const DOUBTFUL_AT: f64 = 2.0;

/// The word for a pure substance at this distance.
pub(super) fn level_word(distance: f64) -> &'static str {
    let distance = distance.abs();
    if distance.is_nan() {
        "not known"
    } else if distance > EXCLUDED_AT {
        "excluded"
    } else if distance > DOUBTFUL_AT {
        "doubtful"
    } else {
        "consistent"
    }
}

/// A distance for a sentence; one decimal, which is all that an uncertainty of two digits carries.
pub(super) fn distance(distance: f64) -> String {
    number::fixed(distance.abs(), 1)
}

/// Pure substances that the loss on heating excludes, each with its distance.
pub(super) fn excluded_levels(levels: &[LossLevel]) -> Vec<String> {
    levels
        .iter()
        .flat_map(|level| &level.levels)
        .filter(|(_, _, away)| level_word(*away) == "excluded")
        .map(|(substance, _, away)| format!("pure {substance} ({} standard uncertainties away)", distance(*away)))
        .collect()
}

/// Alternatives that fit, by group, best group first: those of one group cannot be told apart.
pub(super) fn groups(hypotheses: &[Hypothesis]) -> Vec<Vec<String>> {
    let mut numbers: Vec<usize> =
        hypotheses.iter().filter(|hypothesis| hypothesis.fits).filter_map(|hypothesis| hypothesis.group).collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
        .into_iter()
        .map(|group| {
            hypotheses
                .iter()
                .filter(|hypothesis| hypothesis.fits && hypothesis.group == Some(group))
                .map(|hypothesis| hypothesis.text.clone())
                .collect()
        })
        .collect()
}

/// The word for an alternative.
pub(super) fn hypothesis_word(hypothesis: &Hypothesis) -> &'static str {
    match (hypothesis.fits, hypothesis.decided) {
        (true, true) => "consistent, settled",
        (true, false) => "consistent, undecided",
        (false, true) => "excluded",
        (false, false) => "doubtful",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_follow_the_distance_on_either_side() {
        assert_eq!(level_word(-18.7), "excluded");
        assert_eq!(level_word(2.4), "doubtful");
        assert_eq!(level_word(-0.3), "consistent");
        assert_eq!(level_word(f64::NAN), "not known");
    }
}
