//! Is every pair of the list of incompatible substances told, in the order of the list?
//!
//! The list is that of published tables (American Chemical Society, Prudent Practices in the Laboratory, AS 2243.10, the
//! Emergency Response Guidebook, common practice); what reacts as an explosive when it is dried or mixed dry is refused. Two
//! entries stand otherwise than printed, with the reason beside them.

use Way::{Dry, Hot, Jar, Refused, Shelf, Wet};
use prep::outcome::{Finding, Severity};

/// How two things meet.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    /// Stirred into 100 g water.
    Wet,
    /// Brought together as they are.
    Dry,
    /// Heated together in 100 g water at 90 °C.
    Hot,
    /// In a waste jar.
    Jar,
    /// Side by side on a shelf.
    Shelf,
    /// Brought together, and no answer.
    Refused,
}

/// What meets, how, and a word of what is told.
const LIST: &[(&[&str], Way, &str)] = &[
    // Hypochlorite and pool chlorine.
    (&["HCl(aq)", "NaClO(aq)"], Wet, "chlorine"),
    (&["H2SO4(aq)", "Ca(ClO)2(s)"], Wet, "chlorine"),
    (&["CH3COOH(aq)", "NaClO(aq)"], Jar, "chlorine"),
    (&["Ca(ClO)2(s)", "NH3(aq)"], Wet, "chloramines"),
    (&["NaClO(aq)", "NH4Cl(s)"], Wet, "chloramines"),
    (&["NaClO(aq)", "CO(NH2)2(s)"], Wet, "chloramines"),
    (&["NaClO(aq)", "H3NSO3(s)"], Wet, "chloramines"),
    (&["NaC3Cl2N3O3·2H2O(s)", "NaClO(aq)"], Wet, "nitrogen trichloride"),
    (&["NaC3Cl2N3O3·2H2O(s)", "NH4Cl(s)"], Wet, "nitrogen trichloride"),
    (&["NaC3Cl2N3O3·2H2O(s)", "NH3(aq)"], Wet, "nitrogen trichloride"),
    (&["C3Cl3N3O3(s)", "CO(NH2)2(s)"], Wet, "nitrogen trichloride"),
    (&["C3Cl3N3O3(s)", "H3NSO3(s)"], Shelf, "nitrogen trichloride"),
    (&["C3Cl3N3O3(s)", "Ca(ClO)2(s)"], Shelf, "exploded"),
    (&["MnO2(s)", "HCl(aq)"], Wet, "chlorine"),
    (&["PbO2(s)", "HCl(aq)"], Wet, "chlorine"),
    (&["K2Cr2O7(s)", "HCl(aq)"], Wet, "chlorine"),
    (&["HNO3(aq)", "HCl(aq)"], Wet, "nitrosyl chloride"),
    (&["NH3(aq)", "Cl2(aq)"], Wet, "nitrogen trichloride"),
    (&["NH3(aq)", "I2(s)"], Wet, "nitrogen triiodide"),
    (&["NH3(aq)", "Br2(l)"], Wet, "nitrogen tribromide"),
    (&["Ca(ClO)2(s)", "C(s)"], Dry, "activated carbon"),
    (&["NaClO(aq)", "H2O2(aq)"], Wet, "oxygen"),
    (&["NaClO(aq)", "C2H6O(l)"], Wet, "chloroform"),
    (&["NaClO(aq)", "C3H6O(l)"], Wet, "chloroform"),
    // Peroxide.
    (&["H2O2(aq)", "CuSO4·5H2O(s)"], Wet, "oxygen"),
    (&["H2O2(aq)", "FeSO4·7H2O(s)"], Wet, "oxygen"),
    (&["H2O2(aq)", "CrCl3·6H2O(s)"], Wet, "oxygen"),
    (&["H2O2(aq)", "Cu(s)"], Wet, "oxygen"),
    (&["H2O2(aq)", "Fe(s)"], Wet, "oxygen"),
    (&["H2O2(aq)", "C3H6O(l)"], Refused, "peroxide and acetone"),
    (&["H2O2(aq)", "C2H6O(l)"], Wet, "explosive"),
    (&["H2O2(aq)", "H3C6H5O7(s)"], Hot, "organic matter"),
    // Nitric acid, nitrite, nitrate.
    (&["HNO3(aq)", "CH3COOH(l)"], Dry, "run away"),
    (&["HNO3(aq)", "C3H6O(l)"], Wet, "run away"),
    (&["HNO3(aq)", "C2H6O(l)"], Wet, "run away"),
    (&["HNO3(aq)", "H3C6H5O7(s)"], Dry, "brown gas"),
    (&["HNO3(aq)", "Cu(s)"], Wet, "nitrogen dioxide"),
    (&["HNO3(aq)", "Na2S(s)"], Wet, "nitrogen dioxide"),
    (&["HNO3(aq)", "C12H22O11(s)"], Wet, "brown gas"),
    (&["NaNO2(s)", "HCl(aq)"], Wet, "nitrogen dioxide"),
    // Dilute acid leaves a nitrate as it is; with a metal that reduces it, nitrogen monoxide forms (test for nitrate with
    // copper turnings; Vogel, Qualitative Inorganic Analysis, from memory).
    (&["KNO3(s)", "H2SO4(aq)", "Cu(s)"], Wet, "from nitrate, acid and metal"),
    (&["NaNO3(s)", "HCl(aq)", "Zn(s)"], Wet, "from nitrate, acid and metal"),
    (&["KNO3(s)", "H2SO4(aq)", "Cu(s)"], Jar, "nitrogen oxides"),
    (&["NaNO2(s)", "NH4Cl(s)"], Wet, "ammonium nitrite"),
    // Ammonium nitrate.
    (&["NH4NO3(s)", "HCl(aq)"], Hot, "fall apart more easily"),
    (&["NH4NO3(s)", "Zn(s)"], Wet, "ammonium nitrate and metal powder"),
    (&["NH4NO3(s)", "KClO3(s)"], Wet, "ammonium chlorate"),
    (&["NH4NO3(s)", "NaNO2(s)"], Wet, "ammonium nitrite"),
    (&["NH4NO3(s)", "S(s)"], Refused, "explosive"),
    (&["NH4NO3(s)", "C12H22O11(s)"], Refused, "explosive"),
    // Chlorate, perchlorate, permanganate.
    (&["KClO3(s)", "H2SO4(l)"], Dry, "chlorine dioxide"),
    (&["KClO4(s)", "H2SO4(l)"], Dry, "explodes"),
    (&["KMnO4(s)", "H2SO4(l)"], Dry, "manganese heptoxide"),
    (&["KClO3(s)", "C12H22O11(s)"], Refused, "explosive"),
    (&["KClO3(s)", "Al(s)"], Refused, "explosive"),
    (&["KClO4(s)", "S(s)"], Refused, "explosive"),
    (&["KMnO4(s)", "S(s)"], Refused, "explosive"),
    (&["KMnO4(s)", "Zn(s)"], Refused, "explosive"),
    (&["KClO3(s)", "NH4Cl(s)"], Wet, "ammonium chlorate"),
    (&["KMnO4(s)", "NH4Cl(s)"], Dry, "ammonium permanganate"),
    (&["KMnO4(s)", "C3H8O3(l)"], Wet, "catch fire"),
    (&["KMnO4(s)", "C2H6O2(l)"], Shelf, "catch fire"),
    (&["KMnO4(s)", "H2O2(aq)"], Wet, "oxygen"),
    (&["KMnO4(s)", "HCl(aq)"], Wet, "chlorine"),
    (&["KMnO4(s)", "C12H22O11(s)"], Refused, "explosive"),
    (&["KMnO4(s)", "C(s)"], Refused, "explosive"),
    // Oxalates of silver and mercury. The list names the metals; clean silver is not attacked, its oxide and salts are.
    (&["H2C2O4·2H2O(s)", "AgNO3(s)"], Wet, "silver oxalate"),
    (&["H2C2O4·2H2O(s)", "Ag(s)"], Wet, "silver oxalate"),
    (&["H2C2O4·2H2O(s)", "Hg(NO3)2(s)"], Wet, "mercury oxalate"),
    (&["H2C2O4·2H2O(s)", "Hg(l)"], Jar, "mercury oxalate"),
    // Gases that acids set free.
    (&["NH4HF2(s)", "HCl(aq)"], Wet, "hydrogen fluoride"),
    (&["NaF(s)", "H2SO4(aq)"], Shelf, "hydrogen fluoride"),
    (&["K4Fe(CN)6·3H2O(s)", "H2SO4(aq)"], Hot, "hydrogen cyanide"),
    (&["K3Fe(CN)6(s)", "H2SO4(aq)"], Hot, "hydrogen cyanide"),
    (&["Na2C2O4(s)", "H2SO4(l)"], Dry, "carbon monoxide"),
    (&["HCOONa(s)", "H2SO4(l)"], Dry, "carbon monoxide"),
    (&["NaNO3(s)", "H2SO4(l)"], Dry, "brown gas"),
    (&["NaBr(s)", "H2SO4(l)"], Dry, "bromine"),
    (&["KI(s)", "H2SO4(l)"], Dry, "iodine vapour"),
    (&["NH4Cl(s)", "NaOH(s)"], Wet, "ammonia"),
    (&["Na2S(s)", "HCl(aq)"], Wet, "hydrogen sulfide"),
    (&["NaCN(s)", "HCl(aq)"], Wet, "hydrogen cyanide"),
    (&["Na2SO3(s)", "HCl(aq)"], Wet, "sulfur dioxide"),
    (&["Na2S2O5(s)", "HCl(aq)"], Wet, "sulfur dioxide"),
    (&["Na2S2O4(s)", "HCl(aq)"], Wet, "sulfur dioxide"),
    (&["Na2S2O3·5H2O(s)", "HCl(aq)"], Wet, "sulfur dioxide"),
    (&["Na2S2O4(s)", "H2O(l)"], Dry, "damp dithionite"),
    (&["Na2S2O4(s)", "H2O(l)"], Jar, "damp dithionite"),
    // Oxidisers with what burns.
    (&["KNO3(s)", "S(s)"], Refused, "explosive"),
    (&["KNO3(s)", "C(s)"], Refused, "explosive"),
    (&["NaNO3(s)", "C12H22O11(s)"], Refused, "explosive"),
    (&["KNO3(s)", "Mg(s)"], Refused, "explosive"),
    (&["Na2S2O8(s)", "S(s)"], Refused, "explosive"),
    (&["K2S2O8(s)", "C(s)"], Refused, "explosive"),
    (&["(NH4)2S2O8(s)", "Al(s)"], Refused, "explosive"),
    (&["Na2S2O8(s)", "C12H22O11(s)"], Shelf, "feeds the fire"),
    (&["Zn(s)", "S(s)"], Dry, "burn at once"),
    (&["KNO3(s)", "H3C6H5O7(s)"], Dry, "smoulder"),
    (&["CrO3(s)", "C12H22O11(s)"], Dry, "catch fire"),
    // Azides.
    (&["NaN3(s)", "HCl(aq)"], Wet, "hydrazoic"),
    (&["NaN3(s)", "CuSO4·5H2O(s)"], Refused, "azide"),
    (&["NaN3(s)", "Cu(s)"], Wet, "explode"),
    (&["NaN3(s)", "KMnO4(s)"], Wet, "explosive"),
    (&["NaN3(s)", "K2Cr2O7(s)"], Wet, "explosive"),
    // Iodine, acetylene.
    (&["C2H2(g)", "CuSO4·5H2O(s)"], Shelf, "copper acetylide"),
    (&["C2H2(g)", "Cu(s)"], Shelf, "copper acetylide"),
    (&["C2H2(g)", "AgNO3(s)"], Shelf, "silver acetylide"),
    (&["C2H2(g)", "Ag(s)"], Shelf, "silver acetylide"),
    (&["C2H2(g)", "Hg(l)"], Shelf, "mercury acetylide"),
    (&["C2H2(g)", "Br2(l)"], Shelf, "halogens"),
    (&["C2H2(g)", "I2(s)"], Shelf, "halogens"),
    // Metals.
    (&["Mg(s)", "H2O(l)"], Hot, "hydrogen"),
    (&["Al(s)", "HCl(aq)"], Wet, "hydrogen"),
    (&["Zn(s)", "NaOH(s)"], Wet, "hydrogen"),
    (&["Al(s)", "I2(s)"], Dry, "catch fire"),
    (&["Mg(s)", "Br2(l)"], Dry, "catch fire"),
    (&["Al(s)", "CHCl3(l)"], Shelf, "chlorinated"),
    (&["Al(s)", "Fe2O3(s)"], Dry, "white-hot"),
    (&["Al(s)", "KClO3(s)"], Refused, "explosive"),
    // Silver.
    (&["AgNO3(s)", "NH3(aq)"], Wet, "when they are kept"),
    (&["AgNO3(s)", "C2H6O(l)"], Wet, "fulminate"),
    // What heats water.
    (&["CaO(s)", "H2O(l)"], Wet, "warm the batch"),
    (&["H2SO4(l)", "H2O(l)"], Wet, "warm the batch"),
    (&["P2O5(s)", "H2O(l)"], Wet, "hiss"),
    // Chromium(VI).
    (&["CrO3(s)", "CH3COOH(l)"], Dry, "catch fire"),
    (&["CrO3(s)", "C3H8O3(l)"], Wet, "catch fire"),
    (&["CrO3(s)", "C2H6O(l)"], Wet, "catch fire"),
    // Hydrofluoric acid, as it is bought.
    (&["HF(aq)", "SiO2(s)"], Wet, "eats glass"),
    (&["HF(aq)", "NH3(aq)"], Wet, "ammonium fluoride"),
    // Phosphides and carbides.
    (&["Zn3P2(s)", "H2O(l)"], Wet, "phosphine"),
    (&["CaC2(s)", "H2O(l)"], Wet, "acetylene"),
    // Salts of mercury, lead and thallium.
    (&["Hg(NO3)2(s)", "NaN3(s)"], Refused, "azide"),
    (&["Pb(NO3)2(s)", "NaN3(s)"], Refused, "azide"),
    (&["TlNO3(s)", "NaN3(s)"], Refused, "azide"),
    (&["Hg(NO3)2(s)", "NaCNO(s)"], Refused, "fulminate"),
    (&["Hg(NO3)2(s)", "NaCNO(s)"], Shelf, "mercury fulminate"),
    (&["AgNO3(s)", "KCNO(s)"], Refused, "fulminate"),
    (&["Hg(l)", "HNO3(aq)", "C2H6O(l)"], Refused, "mercury or silver"),
];

fn strength(formula: &str) -> &'static str {
    match formula {
        "HNO3(aq)" => "65 %",
        "NaClO(aq)" => "5 %",
        "Cl2(aq)" => "0.5 %",
        _ => "20 %",
    }
}

/// A preparation in which they meet.
fn text(parts: &[&str], way: Way) -> String {
    let mut text = "title = \"A meeting\"\n".to_owned();
    let (mut takes, mut held) = (Vec::new(), Vec::new());
    for (place, formula) in parts.iter().enumerate() {
        held.push(format!("\"{formula}\""));
        if way == Jar {
            continue;
        }
        if *formula == "H2O(l)" {
            takes.push(format!("water = \"{} g\"", if way == Dry { "5" } else { "20" }));
            continue;
        }
        text += &format!("[[supply]]\nname = \"part {place}\"\nholds = \"{formula}\"\n");
        if formula.ends_with("(aq)") {
            text += &format!("strength = \"{}\"\n", strength(formula));
        } else {
            text += "assay = \"99 .. 100 %\"\n";
        }
        takes.push(format!("\"part {place}\" = \"{} g\"", if formula.ends_with("(aq)") { 50 } else { 5 }));
    }
    let asked = matches!(way, Wet | Hot);
    let water = asked && !parts.contains(&"H2O(l)");
    takes.extend(water.then(|| "water = \"100 g\"".to_owned()));
    let liquid = parts.iter().any(|p| p.ends_with("(aq)") || p.ends_with("(l)"));
    match way {
        Wet | Dry | Hot | Refused => {
            let action = if asked || liquid { "dissolve" } else { "combine" };
            let heat = if way == Hot { "temperature = \"90 °C\"\n" } else { "" };
            text += &format!(
                "[[step]]\nname = \"meet\"\naction = \"{action}\"\n{heat}take = {{ {} }}\ngives = {{ lot = \"all\" }}\n",
                takes.join(", ")
            );
        }
        Jar | Shelf => {
            text += "[[supply]]\nname = \"gypsum\"\nholds = \"CaSO4·2H2O(s)\"\n[[step]]\nname = \"stand by\"\naction = \"transfer\"\ntake = { gypsum = \"1 g\" }\ngives = { lot = \"all\" }\n";
        }
    }
    if way == Jar {
        text += &format!("[[waste]]\nname = \"jar\"\nholds = [{}]\n", held.join(", "));
    }
    text
}

fn findings(text: &str) -> (Vec<Finding>, bool) {
    let read = prep::read(text.as_bytes());
    let wrong = read.findings.iter().filter(|f| f.severity == Severity::Error);
    let slips: Vec<&Finding> = wrong.filter(|f| f.code != prep::screen::OUT_OF_BOUNDS).collect();
    assert!(slips.is_empty(), "{slips:#?}\n{text}");
    let mut list = read.findings.clone();
    if let Some(preparation) = &read.preparation {
        list.extend(prep::plan(preparation).findings);
    }
    let refused = list.iter().any(|f| f.code == prep::screen::OUT_OF_BOUNDS);
    (list, refused)
}

#[test]
fn every_pair_of_the_list_is_told_for_its_reason() {
    let mut wrong = Vec::new();
    for (parts, way, word) in LIST {
        let (list, refused) = findings(&text(parts, *way));
        let counts = |f: &&Finding| f.code == prep::screen::OUT_OF_BOUNDS || f.severity == Severity::Caution;
        let told: Vec<String> = list.iter().filter(counts).map(|f| f.message.clone()).collect();
        if refused != (*way == Refused) || !told.iter().any(|message| message.to_lowercase().contains(word)) {
            wrong.push(format!("{parts:?} {way:?} ({word}): {told:?}"));
        }
    }
    assert!(wrong.is_empty(), "{} of {}: {wrong:#?}", wrong.len(), LIST.len());
}

/// Dilute acid and nitrate without a metal, dithionite in plenty of water, magnesium heated in air: nothing of the list.
#[test]
fn what_only_looks_like_the_list_is_left_in_peace() {
    for (parts, way) in [
        (&["KNO3(s)", "H2SO4(aq)"][..], Wet),
        (&["NaNO3(s)", "HCl(aq)"], Jar),
        (&["Na2S2O4(s)", "Na2CO3(s)"], Wet),
        (&["Ag(s)", "NaCl(s)"], Wet),
        (&["SiO2(s)", "HCl(aq)"], Wet),
        (&["KCNO(s)", "NaCl(s)"], Wet),
    ] {
        let (list, refused) = findings(&text(parts, way));
        let told: Vec<&Finding> = list.iter().filter(|f| f.severity == Severity::Caution).collect();
        assert!(told.is_empty() && !refused, "{parts:?}: {told:#?}");
    }
}

/// Metals that go on burning in carbon dioxide, where it is taken for an inert gas.
#[test]
fn carbon_dioxide_is_no_inert_gas_for_magnesium() {
    let heated = |gas: &str| {
        format!(
            "title = \"A heat\"\n[[supply]]\nname = \"metal\"\nholds = \"Mg(s)\"\n[[step]]\nname = \"heat\"\naction = \"ignite\"\ntemperature = \"600 °C\"\natmosphere = \"{gas}\"\ntake = {{ metal = \"5 g\" }}\nmay_hold = \"MgO(s)\"\ngives = {{ lot = \"all\" }}\n"
        )
    };
    let told = |gas: &str| {
        let (list, _) = findings(&heated(gas));
        list.iter().any(|f| f.severity == Severity::Caution && f.message.contains("carbon dioxide"))
    };
    assert!(told("carbon dioxide") && !told("air"));
}
