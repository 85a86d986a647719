//! Do the hazard tables hang together, and do groups, classes and bounds say what a textbook says?
#![allow(clippy::unwrap_used, missing_docs)]

use chem::hazard::{self, Class, Group, Reach, bound, classes, groups, named};
use chem::substance::Substance;
use chem::{Formula, Phase, SourceKey, table};
use std::collections::BTreeSet;

fn formula(text: &str) -> Formula {
    Formula::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

#[test]
fn every_row_is_complete_and_reaches_the_program() {
    for (name, text, count) in [
        ("statements", hazard::TABLE, hazard::all().len()),
        ("limits", hazard::exposure::TABLE, hazard::exposure::all().len()),
        ("pairs", hazard::pairs::TABLE, hazard::pairs().len()),
    ] {
        let rows = table::rows(text);
        assert_eq!(rows.len(), count, "{name}");
        for row in rows {
            for key in row.cell("source").split(';') {
                assert!(SourceKey::from_text(key.trim()).is_some(), "{name} line {}", row.line);
            }
        }
    }
    for row in table::rows(hazard::TABLE) {
        let found = hazard::all().iter().find(|h| h.formula.text() == formula(row.cell("formula")).text()).unwrap();
        let codes = row.cell("codes");
        let wanted = if codes == "-" { 0 } else { codes.split_whitespace().count() };
        assert_eq!(found.statements.len(), wanted, "line {}", row.line);
    }
    for row in table::rows(hazard::bounds::TABLE) {
        assert!(!row.cell("formulas").is_empty() || !row.cell("names").is_empty(), "line {}", row.line);
        for text in row.cell("formulas").split('|').filter(|text| !text.is_empty()) {
            let found = bound(&formula(text)).unwrap_or_else(|| panic!("line {}: {text}", row.line));
            assert_eq!(found.group.word(), row.cell("group"), "{text}");
        }
        for name in row.cell("names").split('|').filter(|name| !name.is_empty()) {
            let purpose = row.cell("group") == "for swallowing";
            assert!(named(&format!("some {name}, pure"), purpose).is_some(), "{name}");
        }
    }
}

#[test]
fn every_substance_of_the_shelf_has_its_hazards() {
    assert!(hazard::all().len() >= 200);
    for substance in Substance::all() {
        assert!(hazard::statements(&substance.formula).is_some(), "{}", substance.formula);
    }
}

/// What is sold on shelves is not out of bounds, but for peroxide, which is bought and not made.
#[test]
fn the_shelf_is_within_bounds() {
    let made: BTreeSet<String> = Substance::all()
        .iter()
        .filter_map(|row| bound(&row.formula).map(|b| format!("{} {}", row.formula, b.group.word())))
        .collect();
    assert_eq!(made, BTreeSet::from(["H2O2 concentrated peroxide".to_owned()]));
    assert!(Substance::all().iter().all(|row| bound(&row.formula).is_none_or(|b| b.reach == Reach::Made)));
    for substance in Substance::all() {
        for name in substance.names() {
            assert_eq!(named(name, false), None, "{name}");
        }
    }
}

/// A formula is known by its composition, however it is written.
#[test]
fn bounds_do_not_depend_on_the_spelling() {
    for (texts, group, reach) in [
        (
            &["NH4NO3", "(NH4NO3)2", "(NH4)NO3", "N2H4O3", "NH4(NO3)", "NH4NO3·H2O"][..],
            Group::AmmoniumNitrate,
            Reach::Made,
        ),
        (&["KClO3", "ClKO3", "KO3Cl"], Group::Chlorate, Reach::Made),
        (&["Pb(N3)2", "PbN6", "N6Pb"], Group::Explosive, Reach::Always),
        (&["Hg(CNO)2", "Hg(ONC)2", "HgC2N2O2", "Hg(CNO)2·0.5H2O"], Group::Explosive, Reach::Always),
        (&["[Cu(NH3)4](ClO4)2", "Co(NH3)6(NO3)3"], Group::Explosive, Reach::Always),
        (&["C6H2(NO2)3CH3", "C7H5N3O6", "C14H10N6O12", "CH3C6H2N3O6"], Group::Explosive, Reach::Always),
        (&["C2H5NO3", "C3H5(NO3)3"], Group::Explosive, Reach::Always),
        (&["NaCN", "CNK", "Zn(CN)2", "CuCN"], Group::Cyanide, Reach::Made),
        (&["HCN", "C8H20F2O4P2"], Group::ToxicAgent, Reach::Always),
        (&["UO2(NO3)2·6H2O", "ThO2", "RaBr2"], Group::Radioactive, Reach::Always),
        (&["Ca3P2", "AlP", "Zn3P2"], Group::Phosphide, Reach::Made),
        (&["P4", "P"], Group::Phosphorus, Reach::Made),
        (&["C6H14N2", "C9H10O3"], Group::UnknownOrganic, Reach::Made),
    ] {
        for text in texts {
            let found = bound(&formula(text)).map(|b| (b.group, b.reach));
            assert_eq!(found, Some((group, reach)), "{text}");
        }
    }
    for text in [
        "CuSO4·5H2O",
        "K4[Fe(CN)6]·3H2O",
        "K3[Fe(CN)6]",
        "KSCN",
        "KOCN",
        "[Cu(NH3)4]SO4·H2O",
        "[Co(NH3)6]Cl3",
        "Cu(NO3)2",
        "NaNO2",
        "KMnO4",
        "Na2Cr2O7",
        "CO(NH2)2",
        "NH4Cl",
        "Fe0.947O",
        "HNO3·3H2O",
        "MnO2",
        "NaHCO3",
        "K[Al(OH)4]",
        "CuC2O4·2H2O",
        "Fe2(C2O4)3",
        "K3[Fe(C2O4)3]·3H2O",
        "Na2SO4·10H2O",
        "C2H5NO2",
        "SiC",
        "Fe3C",
        "TiN",
        "CH4O",
        "AgCl",
        "[Cr(N2H4CO)6]4[Cr(CN)6]3",
        "[Co(NH3)5NO2]Cl2",
    ] {
        let found = bound(&formula(text));
        assert!(found.is_none_or(|b| text.starts_with("HNO3") && b.reach == Reach::Made), "{text}: {found:?}");
    }
}

#[test]
fn groups_are_those_of_a_textbook() {
    for (text, names) in [
        ("NaClO", &["hypochlorite"][..]),
        ("Cu2(OH)3Cl", &["hydroxide", "chloride"]),
        ("KH2PO4", &["phosphate", "hydrogen"]),
        ("NH4HCO3", &["ammonium", "carbonate", "hydrogen"]),
        ("K2C2O4·H2O", &["oxalate"]),
        ("HSO3NH2", &["sulfamate", "hydrogen"]),
        ("Na2S2O5", &["disulfite"]),
        ("2Na2CO3·3H2O2", &["peroxide"]),
        ("H2O2", &["peroxide"]),
        ("BaO2", &["peroxide"]),
        ("MnO2", &["oxide"]),
        ("(NH4)2Fe(SO4)2·6H2O", &["ammonium", "sulfate"]),
    ] {
        let found = groups(&formula(text));
        for name in names {
            assert!(found.has(name), "{text}: {found:?}");
        }
    }
    // A formula of very many atoms is not parted, and not waited for.
    assert!(!groups(&formula("C900H1800N40O300S9Cl5")).understood);
    drop(groups(&formula("C96H180N40O150S19Cl15Br8I7P9F11")));
}

#[test]
fn classes_are_those_of_a_textbook() {
    let of = |text: &str, phase, strength| classes(&formula(text), Some(phase), strength);
    let holds = |text: &str, phase, strength, class| of(text, phase, strength).contains(&class);
    use Class as C;
    use Phase::{Aqueous, Liquid, Solid};
    for (text, phase, strength, class) in [
        ("HCl", Aqueous, 0.1, C::HydrochloricAcid),
        ("H3C6H5O7·H2O", Solid, 1.0, C::Acid),
        ("NaHSO4", Solid, 1.0, C::StrongAcid),
        ("HSO3NH2", Solid, 1.0, C::Acid),
        ("H2SO4", Liquid, 0.96, C::ConcentratedSulfuricAcid),
        ("NaOH", Solid, 1.0, C::Alkali),
        ("Ca(OH)2", Solid, 1.0, C::Alkali),
        ("K2Cr2O7", Solid, 1.0, C::Chromate),
        ("KMnO4", Solid, 1.0, C::Permanganate),
        ("MnO2", Solid, 1.0, C::ChlorineFormer),
        ("Pb3O4", Solid, 1.0, C::ChlorineFormer),
        ("K4[Fe(CN)6]·3H2O", Solid, 1.0, C::Hexacyanoferrate),
        ("Na2S2O5", Solid, 1.0, C::Sulfite),
        ("FeS", Solid, 1.0, C::Sulfide),
        ("AgNO3", Solid, 1.0, C::Silver),
    ] {
        assert!(holds(text, phase, strength, class), "{text}: {:?}", of(text, phase, strength));
    }
    for (text, phase, strength, class) in [
        ("H2SO4", Aqueous, 0.2, C::ConcentratedSulfuricAcid),
        ("H3BO3", Solid, 1.0, C::Acid),
        ("CaSO4·2H2O", Solid, 1.0, C::Acid),
        ("NaHCO3", Solid, 1.0, C::Acid),
        ("KHC4H4O6", Solid, 1.0, C::StrongAcid),
        ("Mn3O4", Solid, 1.0, C::Permanganate),
        ("CuO", Solid, 1.0, C::Alkali),
        ("Cu(OH)2", Solid, 1.0, C::Alkali),
        ("Cu", Solid, 1.0, C::Metal),
        ("K4[Fe(CN)6]", Solid, 1.0, C::Cyanide),
    ] {
        assert!(!holds(text, phase, strength, class), "{text}: {:?}", of(text, phase, strength));
    }
}
