//! How far off may a flask, pipette, burette or cylinder be?
//!
//! The largest permitted error of its kind, class and size, from `data/ware.tsv`; the error of one piece is the same each
//! time it is used. As nothing else is known of it, it is taken as anywhere within (rectangular); class B where none
//! is stated. Neglected: temperature unlike 20 °C (0.02 % for each kelvin of water), faulty drainage.
//!
//! Source: row by row in the table; JCGM 100:2008, 4.3.7.

/// The table.
const WARE: &str = include_str!("../../data/ware.tsv");

/// The kinds of ware.
pub const KINDS: [&str; 5] = ["flask", "pipette", "graduated pipette", "burette", "cylinder"];
/// The classes of accuracy.
pub const CLASSES: [&str; 2] = ["A", "B"];

/// Whether ware of this kind has one mark only.
#[must_use]
pub fn has_one_mark(kind: &str) -> bool {
    matches!(kind, "flask" | "pipette")
}

/// The largest permitted error of a kind and class of ware of this volume, m³, with the key of its source.
///
/// # Errors
/// The volumes that are in the table, mL.
pub fn permitted_error(kind: &str, class: &str, volume: f64) -> Result<(f64, &'static str), Vec<&'static str>> {
    let rows = chem::table::rows(WARE);
    let fitting = || rows.iter().filter(|row| row.cell("ware") == kind && row.cell("class") == class);
    let found = fitting().find(|row| row.number("volume_ml").is_some_and(|v| (v * 1e-6 - volume).abs() < 1e-9));
    match found.and_then(|row| row.number("tolerance_ml").map(|error| (error * 1e-6, row.cell("source")))) {
        Some((error, source)) => Ok((error, source.split(';').next().unwrap_or(source))),
        None => Err(fitting().map(|row| row.cell("volume_ml")).collect()),
    }
}

/// Standard uncertainty of a volume whose error is anywhere within ± `error`.
#[must_use]
pub fn standard_uncertainty(error: f64) -> f64 {
    error / 3f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sizes rise and errors with them; class B is no better than A; every kind is there in both classes.
    #[test]
    fn the_table_is_in_order() {
        let rows = chem::table::rows(WARE);
        for kind in KINDS {
            for class in CLASSES {
                let list: Vec<(f64, f64)> = rows
                    .iter()
                    .filter(|row| row.cell("ware") == kind && row.cell("class") == class)
                    .filter_map(|row| row.number("volume_ml").zip(row.number("tolerance_ml")))
                    .collect();
                assert!(list.len() >= 5, "{kind} {class}");
                assert!(list.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 <= pair[1].1), "{kind} {class}");
            }
        }
        for row in rows.iter().filter(|row| row.cell("class") == "A") {
            let (a, volume) = (row.number("tolerance_ml"), row.number("volume_ml").unwrap_or(0.0) * 1e-6);
            let b = permitted_error(row.cell("ware"), "B", volume).map(|(error, _)| error * 1e6).ok();
            assert!(a < b, "{} {}", row.cell("ware"), row.cell("volume_ml"));
        }
    }

    /// Spot values. Source: Eichordnung 1988, annex 12, 3.2, 6.2.1 and 7.2 (class A).
    #[test]
    fn some_permitted_errors() {
        for (kind, millilitres, error) in
            [("flask", 250.0, 0.15), ("burette", 50.0, 0.05), ("pipette", 25.0, 0.03), ("cylinder", 100.0, 0.5)]
        {
            let (found, _) = permitted_error(kind, "A", millilitres * 1e-6).expect("in the table");
            assert!((found * 1e6 - error).abs() < 1e-12);
        }
        assert!(permitted_error("flask", "A", 77e-6).is_err());
    }
}
