//! Are the embedded tables complete and consistent?
#![allow(clippy::unwrap_used, missing_docs)]

use std::collections::BTreeSet;

use chem::{Element, Source, SourceKey, element, source, table};

#[test]
fn every_element_has_one_complete_row() {
    let rows = table::rows(element::TABLE);
    assert_eq!(rows.len(), 118);
    let mut symbols = BTreeSet::new();
    let mut names = BTreeSet::new();
    for (index, row) in rows.iter().enumerate() {
        assert!(row.is_complete(), "line {}", row.line);
        assert_eq!(row.number("atomic_number"), Some(index as f64 + 1.0), "line {}", row.line);
        assert!(symbols.insert(row.cell("symbol")) && names.insert(row.cell("name")), "line {}", row.line);
        assert!(SourceKey::from_text(row.cell("source")).is_some(), "line {}", row.line);
        for column in ["atomic_weight", "uncertainty", "interval_low", "interval_high"] {
            assert!(row.cell(column).is_empty() || row.number(column).is_some(), "line {}: {column}", row.line);
        }
        let paired = |left, right| row.cell(left).is_empty() == row.cell(right).is_empty();
        assert!(paired("atomic_weight", "uncertainty") && paired("interval_low", "interval_high"), "line {}", row.line);
    }
}

#[test]
fn every_row_reaches_the_program() {
    for (row, element) in table::rows(element::TABLE).iter().zip(Element::all()) {
        assert_eq!(element.symbol(), row.cell("symbol"));
        assert_eq!(Element::from_symbol(row.cell("symbol")), Some(element));
        assert_eq!(element.atomic_weight().map(|weight| weight.value), row.number("atomic_weight"));
    }
}

/// 84 elements have a standard atomic weight (Prohaska et al. 2022), 14 of them as an interval.
#[test]
fn weights_are_plausible() {
    let weights: Vec<_> = Element::all().filter_map(Element::atomic_weight).collect();
    assert_eq!(weights.len(), 84);
    assert_eq!(weights.iter().filter(|weight| weight.interval.is_some()).count(), 14);
    for element in Element::all() {
        let Some(weight) = element.atomic_weight() else {
            continue;
        };
        let ratio = weight.value / f64::from(element.atomic_number());
        assert!((0.99..2.7).contains(&ratio), "{element}");
        assert!(weight.standard_uncertainty > 0.0 && weight.standard_uncertainty < 0.006 * weight.value, "{element}");
    }
    // An abridged value is rounded: O 15.999 ± 0.001 lies just below its interval [15.99903, 15.99977].
    for row in table::rows(element::TABLE) {
        let Some((low, high)) = row.number("interval_low").zip(row.number("interval_high")) else {
            continue;
        };
        let value = row.number("atomic_weight").unwrap();
        let rounding = row.number("uncertainty").unwrap();
        assert!(low < high && value > low - rounding && value < high + rounding, "line {}", row.line);
    }
}

#[test]
fn sources_are_complete() {
    let rows = table::rows(source::TABLE);
    let keys: BTreeSet<&str> = rows.iter().map(|row| row.cell("key")).collect();
    assert_eq!(keys.len(), rows.len());
    for row in &rows {
        assert!(
            row.is_complete() && !row.cell("citation").is_empty() && !row.cell("terms").is_empty(),
            "line {}",
            row.line
        );
    }
    let constants = [
        SourceKey::CIAAW_2021,
        SourceKey::CIAAW_2024,
        SourceKey::COMMON_PRACTICE,
        SourceKey::ESTIMATED,
        SourceKey::FROM_MEMORY,
        SourceKey::LABEL,
        SourceKey::FILE,
    ];
    for key in constants {
        assert!(key.source().is_some(), "{key}");
    }
    assert_eq!(Source::all().len(), rows.len());
}
