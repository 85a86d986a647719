//! What heat does a reaction of a preparation release, and how hot does a dry mix get?
//!
//! The reaction as written, each species in the form that is stable at 25 °C, a dissolved salt as its ions at infinite
//! dilution. One species without values leaves the heat of the whole reaction open. A dry mix of an oxide and a metal is
//! taken to give the metal of the oxide and the usual oxide of the other, as far as the scarcer goes; the rest stays and
//! is heated along. Suboxides and decomposition are left out, so that the temperature is too high rather than too low.
//!
//! Source: the tables of [`super`]; first law.

use chem::{Formula, Phase, Reaction, Species};
use engine::heat::{Adiabatic, Product, adiabatic};
use engine::thermochemistry::form;
use engine::thermochemistry::standard::STANDARD_TEMPERATURE;

use super::{Form, forms, ions::ions_of};

/// Enthalpy of formation at 25 °C, J/mol; `None` where no table has it.
pub(crate) fn enthalpy(species: &Species) -> Option<f64> {
    let list: Vec<Form> = forms(&species.formula, species.phase)
        .into_iter()
        .filter(|f| !f.only_if_named && (species.phase.is_some() || f.species.phase != Some(Phase::Aqueous)))
        .collect();
    let place = form::stable(list.iter().map(|f| &f.fit), STANDARD_TEMPERATURE)
        .or_else(|| form::nearest(list.iter().map(|f| &f.fit), STANDARD_TEMPERATURE));
    if let Some(found) = place.and_then(|place| list.get(place)) {
        return Some(found.fit.enthalpy(STANDARD_TEMPERATURE)).filter(|value| value.is_finite());
    }
    if species.phase != Some(Phase::Aqueous) {
        return None;
    }
    ions_of(&species.formula)?.iter().map(|(number, ion)| Some(*number as f64 * enthalpy(ion)?)).sum()
}

/// Heat released by a reaction as written, J for a mole of it at 25 °C.
pub(crate) fn of_reaction(reaction: &Reaction) -> Option<f64> {
    let terms = reaction.species.iter().enumerate();
    let sum: Option<f64> = terms.map(|(i, species)| Some(reaction.coefficient_f64(i) * enthalpy(species)?)).sum();
    sum.map(|enthalpy| -enthalpy)
}

/// The usual oxides of metals that take oxygen from others.
const OXIDES: [(&str, &str); 9] = [
    ("Al", "Al2O3"),
    ("Mg", "MgO"),
    ("Ca", "CaO"),
    ("Zn", "ZnO"),
    ("Si", "SiO2"),
    ("Ti", "TiO2"),
    ("Mn", "MnO"),
    ("Cr", "Cr2O3"),
    ("Fe", "FeO"),
];

/// What a dry mix of an oxide and a metal comes to when it burns and keeps its heat.
#[derive(Clone, Debug)]
pub(crate) struct Burnt {
    /// Heat released at 25 °C, J.
    pub heat: f64,
    /// Temperature, K, where it could be computed.
    pub flame: Option<f64>,
}

/// Burns so many moles of an oxide with so many of a metal; `None` where the products are not known.
pub(crate) fn of_mix(oxide: (&Formula, f64), metal: (&Formula, f64)) -> Option<Burnt> {
    let single = |formula: &Formula| -> Option<chem::Element> {
        let mut elements = formula.elements();
        let first = elements.next()?.0;
        elements.next().is_none().then_some(first)
    };
    let reducer = single(metal.0)?;
    let formed = OXIDES.iter().find(|(symbol, _)| *symbol == reducer.symbol()).map(|(_, oxide)| *oxide)?;
    let formed = Formula::parse(formed).ok()?;
    let atoms = |formula: &Formula, symbol: &str| -> f64 {
        formula.elements().filter(|(e, _)| e.symbol() == symbol).map(|(_, n)| n).sum()
    };
    let other: Vec<(chem::Element, f64)> = oxide.0.elements().filter(|(e, _)| e.symbol() != "O").collect();
    let [(won, won_count)] = other.as_slice() else { return None };
    let oxygen = atoms(oxide.0, "O");
    let (metal_in, oxygen_in) = (atoms(&formed, reducer.symbol()), atoms(&formed, "O"));
    if oxygen <= 0.0 || metal_in <= 0.0 || oxygen_in <= 0.0 {
        return None;
    }
    // Metal for each mole of oxide, and how far it goes.
    let needed = oxygen / oxygen_in * metal_in;
    let metal_moles = metal.1 * atoms(metal.0, reducer.symbol());
    let extent = oxide.1.min(metal_moles / needed);
    let element = |symbol: &str| Formula::parse(symbol).ok();
    let products = [
        (element(won.symbol())?, extent * won_count),
        (formed, extent * oxygen / oxygen_in),
        (element(reducer.symbol())?, metal_moles - extent * needed),
        (oxide.0.clone(), oxide.1 - extent),
    ];
    let solid = |formula: &Formula| enthalpy(&Species::new(formula.clone(), Some(Phase::Solid)));
    let before = oxide.1 * solid(oxide.0)? + metal_moles * solid(&element(reducer.symbol())?)?;
    let present = products.iter().filter(|(_, amount)| *amount > 1e-12);
    let after: Option<f64> = present.clone().map(|(formula, amount)| Some(amount * solid(formula)?)).sum();
    let known: Vec<(f64, Vec<Form>)> = present.map(|(formula, amount)| (*amount, hot_forms(formula))).collect();
    let flame = adiabatic_of(&known, before).map(|found| found.temperature);
    Some(Burnt { heat: before - after?, flame })
}

/// Solid, liquid and gas of a formula.
pub(crate) fn hot_forms(formula: &Formula) -> Vec<Form> {
    [Phase::Solid, Phase::Liquid, Phase::Gas]
        .into_iter()
        .flat_map(|phase| forms(formula, Some(phase)))
        .filter(|form| !form.only_if_named && form.fit.entropy(STANDARD_TEMPERATURE).is_finite())
        .collect()
}

/// Where products end that hold an enthalpy.
pub(crate) fn adiabatic_of(products: &[(f64, Vec<Form>)], enthalpy: f64) -> Option<Adiabatic> {
    if products.iter().any(|(_, forms)| forms.is_empty()) {
        return None;
    }
    let products: Vec<Product<'_>> = products
        .iter()
        .map(|(amount, forms)| Product { amount: *amount, forms: forms.iter().map(|form| &form.fit).collect() })
        .collect();
    adiabatic(&products, enthalpy)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// S. Fischer, M. Grubelich, SAND98-1176C (1998), table 1: 3135 K and 2843 K, held at the boiling points of iron and
    /// copper; computed independently 3138.98 and 2844.07 K. Safety information of classical reductions.
    #[test]
    fn flames_are_held_at_the_boiling_point() {
        for (oxide, metal, kelvin, tolerance) in [
            (("Fe2O3", 1.0), 2.0, 3138.98, 20.0),
            (("Fe3O4", 3.0), 8.0, 3138.98, 20.0),
            (("CuO", 3.0), 2.0, 2844.07, 25.0),
            (("Cu2O", 3.0), 2.0, 2844.07, 25.0),
        ] {
            let formula = Formula::parse(oxide.0).expect("formula");
            let aluminium = Formula::parse("Al").expect("formula");
            let burnt = of_mix((&formula, oxide.1), (&aluminium, metal)).expect(oxide.0);
            let found = burnt.flame.expect(oxide.0);
            assert!((found - kelvin).abs() <= tolerance, "{}: {found} K", oxide.0);
            assert!(burnt.heat > 0.0);
        }
    }

    #[test]
    fn a_reaction_without_values_stays_open() {
        let read = |text: &str| Reaction::new(&chem::Equation::parse(text).expect(text)).expect(text);
        let found = of_reaction(&read("HCl(aq) + NaOH(aq) -> NaCl(aq) + H2O(l)")).expect("heat");
        // CODATA Key Values: 285.83 − 230.015 kJ/mol.
        assert!((found - 55_815.0).abs() < 20.0, "{found}");
        assert!(of_reaction(&read("2 YbCl3(s) -> 2 YbCl2(s) + Cl2(g)")).is_none());
    }
}
