//! In which form is an element of this solution stable, over pH and potential?
//!
//! The element that is asked for in the dissolved total of the solution; all other ions of it as they are (a sulfate is no
//! sulfide: at the bench it does not become one), each in the form that its pH gives. The Gibbs energies of species and
//! solids follow from the constants of the association set and `data/redox.tsv`, at 25 °C, so potentials are those that
//! the tables imply. Activities are taken as molalities (errs by some 10 to 30 mV in strong solutions).
//!
//! Source: `engine::aqueous::potential`, `chem::aqueous`.

use super::Asked;
use crate::aqueous::{Allowed, Chosen, plain};
use crate::outcome::{PotentialField, PotentialPh};
use chem::aqueous::{DissolvedSpecies, Form, Model, RedoxKind, Terms, master_gibbs, redox, solids, species};
use chem::formula::to_f64;
use chem::{Element, Formula};
use engine::aqueous::potential::{Plane, Window, fields, stable, volts_per_decade, water_lines};

/// Temperature of the Gibbs energies, K.
const ROOM: f64 = 298.15;
/// What is shown: pH, V.
const PH: (f64, f64) = (-1.0, 15.0);
pub(super) const VOLTS: (f64, f64) = (-1.4, 2.0);
/// Least dissolved total that makes sense, mol/kg.
const LEAST: f64 = 1e-9;

/// A form of the element: made of atoms, hydrogen ions, electrons and companions.
struct Made {
    name: String,
    solid: bool,
    atoms: f64,
    /// Decadic logarithm of the constant of its formation from the element.
    log_k: f64,
    hydrogen: f64,
    electrons: f64,
    /// Other masters in it.
    companions: Vec<(&'static str, f64)>,
}

/// Decades for an energy in J/mol.
fn decades(energy: f64) -> f64 {
    energy / (volts_per_decade(ROOM) * engine::aqueous::potential::FARADAY)
}

fn count(formula: &Formula, symbol: &str) -> f64 {
    Element::from_symbol(symbol).map_or(0.0, |element| to_f64(formula.count(element)))
}

/// The dissolved ion that a companion is, with the forms that it takes: log K, hydrogen ions.
struct Companion {
    name: &'static str,
    total: f64,
    forms: Vec<(f64, f64)>,
}

impl Companion {
    /// log a of the master as a line over pH, in the form that is there at a pH.
    fn line(&self, ph: f64) -> (f64, f64) {
        let of = |(log_k, hydrogen): &(f64, f64)| (self.total.log10() - log_k, *hydrogen);
        let lines = self.forms.iter().map(of);
        lines.min_by(|a, b| (a.0 + a.1 * ph).total_cmp(&(b.0 + b.1 * ph))).unwrap_or((0.0, 0.0))
    }

    /// pH values at which another form takes over.
    fn turns(&self) -> Vec<f64> {
        let mut list = Vec::new();
        for (k, h) in &self.forms {
            for (l, i) in self.forms.iter().filter(|(_, i)| i > h) {
                list.push((l - k) / (i - h));
            }
        }
        list.retain(|ph| (PH.0..PH.1).contains(ph));
        list
    }
}

fn made_of(
    name: String,
    formula: &Formula,
    solid: bool,
    element: Element,
    gibbs: f64,
    companions: Vec<(&'static str, f64)>,
) -> Option<Made> {
    let atoms = to_f64(formula.count(element));
    let parts: Vec<(Formula, f64)> =
        companions.iter().filter_map(|(name, n)| Some((Formula::parse(name).ok()?, *n))).collect();
    let of = |symbol: &str| parts.iter().map(|(f, n)| n * count(f, symbol)).sum::<f64>();
    let water = count(formula, "O") - of("O");
    let hydrogen = count(formula, "H") - of("H") - 2.0 * water;
    let charges: f64 = parts.iter().map(|(f, n)| n * f64::from(f.charge())).sum();
    let electrons = f64::from(formula.charge()) - hydrogen - charges;
    (atoms > 0.0).then(|| Made {
        name,
        solid,
        atoms,
        log_k: -decades(gibbs - water * master_gibbs("H2O").unwrap_or(0.0)),
        hydrogen,
        electrons,
        companions,
    })
}

/// Gibbs energy of what these terms add up to, companions counted as nothing; with the companions.
fn sum(terms: &Terms, own: &[&'static str]) -> Option<(f64, Vec<(&'static str, f64)>)> {
    let (mut gibbs, mut companions) = (0.0, Vec::new());
    for (name, n) in terms {
        if own.contains(name) || *name == "H2O" || *name == "H^+" {
            gibbs += n * master_gibbs(name)?;
        } else {
            companions.push((*name, *n));
        }
    }
    Some((gibbs, companions))
}

/// All forms of an element that the solution can have.
fn forms(element: Element, there: &[&'static str], allowed: Allowed) -> Vec<Made> {
    let masters = species(Model::Association).filter(|s| s.is_master());
    let own: Vec<&'static str> = masters
        .filter(|s| s.formula.count(element) > 0.into() && master_gibbs(s.name).is_some())
        .map(|s| s.name)
        .collect();
    let known = |terms: &Terms| {
        let ours = terms.iter().filter(|(name, _)| own.contains(name)).count();
        let fits = |name: &str| own.contains(&name) || matches!(name, "H2O" | "H^+") || there.contains(&name);
        ours == 1 && terms.iter().all(|(name, _)| fits(name))
    };
    let per_decade = decades(1.0).recip();
    let mut list = Vec::new();
    for one in species(Model::Association).filter(|s| known(&s.terms)) {
        let Some((gibbs, companions)) = sum(&one.terms, &own) else { continue };
        let gibbs = gibbs - one.constant.log_k * per_decade;
        list.extend(made_of(plain(one.name), &one.formula, false, element, gibbs, companions));
    }
    let never = |form: Option<Form>| matches!(form, Some(Form::Slow) | None) || matches!(allowed, Allowed::None);
    let late = |form: Option<Form>| matches!((form, allowed), (Some(Form::Aged), Allowed::Fresh));
    let lets = |form: Option<Form>| !never(form) && !late(form);
    for solid in solids(Model::Association).filter(|s| known(&s.terms) && lets(s.form)) {
        let Some((gibbs, companions)) = sum(&solid.terms, &own) else { continue };
        let gibbs = gibbs + solid.constant.log_k * per_decade;
        list.extend(made_of(format!("{}(s)", solid.formula), &solid.formula, true, element, gibbs, companions));
    }
    for row in redox().iter().filter(|row| row.formula.count(element) > 0.into()) {
        let (solid, name) = match row.kind {
            RedoxKind::Species => (false, plain(row.name)),
            RedoxKind::Solid => (true, format!("{}(s)", row.formula)),
            _ => continue,
        };
        list.extend(made_of(name, &row.formula, solid, element, row.gibbs, Vec::new()));
    }
    list
}

/// The other ions with the forms that acid gives them.
fn companions(chosen: &Chosen, element: Element) -> Vec<Companion> {
    let water = chosen.mixture.water * engine::aqueous::water::MOLAR_MASS;
    let mut list = Vec::new();
    for number in 1..chosen.chemistry.network.masters() {
        let master: &DissolvedSpecies = chosen.chemistry.species[number];
        let total = chosen.mixture.totals[number] / water;
        if master.formula.count(element) > 0.into() || total <= LEAST {
            continue;
        }
        let alone = |s: &&DissolvedSpecies| {
            s.terms.iter().all(|(name, n)| matches!(*name, "H^+" | "H2O") || (*name == master.name && *n == 1.0))
                && s.terms.iter().any(|(name, _)| *name == master.name)
        };
        let hydrogen = |s: &DissolvedSpecies| s.terms.iter().filter(|(name, _)| *name == "H^+").map(|(_, n)| *n).sum();
        let own = species(Model::Association).filter(|s| alone(s));
        list.push(Companion {
            name: master.name,
            total,
            forms: own.map(|s| (s.constant.log_k, hydrogen(s))).collect(),
        });
    }
    list
}

fn plane(made: &Made, total: f64, at: &dyn Fn(&str) -> (f64, f64)) -> Plane {
    let level = if made.solid { 0.0 } else { (total / made.atoms).log10() };
    let lines = made.companions.iter().map(|(name, n)| (at(name), n));
    let (constant, slope) = lines.fold((0.0, 0.0), |sum, ((a, b), n)| (sum.0 + n * a, sum.1 + n * b));
    Plane {
        constant: (level - made.log_k - constant) / made.atoms,
        per_ph: (made.hydrogen - slope) / made.atoms,
        per_pe: -made.electrons / made.atoms,
    }
}

/// The diagram of an element; `None` where the solution does not hold it or its Gibbs energy is not known.
pub(super) fn diagram(chosen: &Chosen, asked: &Asked, element: Element, potential: Option<f64>) -> Option<PotentialPh> {
    let water = chosen.mixture.water * engine::aqueous::water::MOLAR_MASS;
    let masters = 1..chosen.chemistry.network.masters();
    let held = |n: usize| to_f64(chosen.chemistry.species[n].formula.count(element)) * chosen.mixture.totals[n];
    let total = masters.map(held).sum::<f64>() / water;
    if total < LEAST {
        return None;
    }
    let others = companions(chosen, element);
    let there: Vec<&'static str> = others.iter().map(|c| c.name).collect();
    let made = forms(element, &there, asked.allowed);
    if made.iter().all(|m| m.solid) {
        return None;
    }
    let per_pe = volts_per_decade(ROOM);
    let mut turns: Vec<f64> = others.iter().flat_map(Companion::turns).chain([PH.0, PH.1]).collect();
    turns.sort_by(f64::total_cmp);
    let planes_at = |ph: f64| -> Vec<Plane> {
        let at = |name: &str| others.iter().find(|c| c.name == name).map_or((0.0, 0.0), |c| c.line(ph));
        made.iter().map(|m| plane(m, total, &at)).collect()
    };
    let mut found: Vec<PotentialField> = Vec::new();
    for pair in turns.windows(2).filter(|pair| pair[1] - pair[0] > 1e-9) {
        let window = Window { ph: (pair[0], pair[1]), pe: (VOLTS.0 / per_pe, VOLTS.1 / per_pe) };
        for (number, corners) in fields(&planes_at(0.5 * (pair[0] + pair[1])), window) {
            let corners = corners.into_iter().map(|(ph, pe)| (ph, pe * per_pe)).collect();
            found.push(PotentialField { form: made[number].name.clone(), solid: made[number].solid, corners });
        }
    }
    let ph = chosen.solver.ph();
    let couple = couple(chosen, &made);
    let own = potential.or(couple.as_ref().map(|(volts, _)| *volts));
    let planes = planes_at(ph);
    let form = |volts: f64| stable(&planes, ph, volts / per_pe).map(|number| made[number].name.clone());
    let mut ladder: Vec<(f64, String)> = Vec::new();
    for step in 0..=680 {
        let volts = VOLTS.0 + f64::from(step) * (VOLTS.1 - VOLTS.0) / 680.0;
        if let Some(name) = form(volts).filter(|name| ladder.last().is_none_or(|(_, last)| last != name)) {
            ladder.push((volts, name));
        }
    }
    let line = |ph: f64| water_lines(ph, master_gibbs("H2O").unwrap_or(0.0), ROOM);
    Some(PotentialPh {
        element: element.symbol().to_owned(),
        total,
        beside: others.iter().map(|c| (plain(c.name), c.total)).collect(),
        fields: found,
        hydrogen: [(PH.0, line(PH.0).0), (PH.1, line(PH.1).0)],
        oxygen: [(PH.0, line(PH.0).1), (PH.1, line(PH.1).1)],
        ph,
        potential: own,
        from_couple: potential.is_none().then_some(couple).flatten().map(|(_, names)| names),
        form: own.and_then(form),
        ladder,
    })
}

/// The potential that two dissolved oxidation states set, V, with their names.
fn couple(chosen: &Chosen, made: &[Made]) -> Option<(f64, String)> {
    let list = chosen.chemistry.species.iter().zip(chosen.solver.molalities()).zip(chosen.solver.ln_gamma());
    let there = list.filter(|((s, m), _)| s.is_master() && **m > 1e-12).filter_map(|((s, m), g)| {
        let own = made.iter().find(|form| !form.solid && form.name == plain(s.name) && form.companions.is_empty())?;
        Some((own, m.log10() + g / std::f64::consts::LN_10))
    });
    let mut there: Vec<(&Made, f64)> = there.collect();
    there.sort_by(|a, b| a.0.electrons.total_cmp(&b.0.electrons));
    let [(low, a), (high, b)] = there[..] else { return None };
    // Where both give the element the same activity.
    let ph = chosen.solver.ph();
    let level = |made: &Made, log: f64| (log - made.log_k + made.hydrogen * ph) / made.atoms;
    let per = |made: &Made| made.electrons / made.atoms;
    let apart = per(high) - per(low);
    let pe = (level(high, b) - level(low, a)) / apart;
    (apart > 0.0).then(|| (pe * volts_per_decade(ROOM), format!("{} and {}", low.name, high.name)))
}
