//! Does a new name follow to every place that calls the thing?

use prep::edit::{EditError, Named, rename};

const BLUESTONE: &str = include_str!("../../examples/bluestone.toml");

fn read(text: &str) -> prep::Preparation {
    let reading = prep::read(text.as_bytes());
    reading.preparation.unwrap_or_else(|| panic!("{:?}\n{text}", reading.findings))
}

#[test]
fn every_call_follows_and_the_file_reads_as_before() {
    let cases = [
        (Named::Supply, "washing soda", "soda", 2),
        (Named::Instrument, "milligram balance", "fine balance", 4),
        (Named::Vessel, "crucible 3", "crucible 4", 4),
        (Named::Vessel, "beaker", "large beaker", 2),
        (Named::Step, "dry", "dry in the oven", 2),
        (Named::Lot, "precipitate", "green solid", 3),
        (Named::Lot, "cake", "wet cake", 2),
    ];
    for (what, from, to, places) in cases {
        let after = rename(BLUESTONE, what, from, to).expect("renamed");
        let changed = BLUESTONE.lines().zip(after.lines()).filter(|(a, b)| a != b).count();
        assert_eq!(changed, places, "{from}\n{after}");
        assert_eq!(BLUESTONE.lines().count(), after.lines().count());
        assert_eq!(read(&after).steps.len(), read(BLUESTONE).steps.len(), "{from}");
    }
}

#[test]
fn a_name_that_is_taken_or_missing_is_refused() {
    let taken = |what, from, to| matches!(rename(BLUESTONE, what, from, to), Err(EditError::AlreadyThere(_)));
    assert!(taken(Named::Supply, "washing soda", "bluestone"));
    assert!(taken(Named::Supply, "washing soda", "cake"));
    assert!(taken(Named::Lot, "cake", "bluestone"));
    assert!(taken(Named::Step, "dry", "filter"));
    assert!(matches!(rename(BLUESTONE, Named::Step, "x", "y"), Err(EditError::NoSuchPlace(_))));
    assert_eq!(rename(BLUESTONE, Named::Step, "dry", "dry").as_deref(), Ok(BLUESTONE));
}
