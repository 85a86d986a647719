//! How are substances, amounts and reagents of a solution read?

use crate::aqueous::{Allowed, Held};
use crate::ask::pointed;
use crate::outcome::Finding;
use chem::aqueous::{Model, gases, species};
use chem::{Dimension, Element, Formula, Quantity, SolutionDensity, Species, Value};
use engine::aqueous::dose::DoseError;
use engine::aqueous::speciate::Status;

/// Density of water at room temperature, kg/L: what a litre is taken as.
const PER_LITRE: f64 = 0.997;

/// How much of a substance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Amount {
    /// mol.
    Moles(f64),
    /// mol per kg of water.
    PerWater(f64),
    /// mol per litre.
    PerLitre(f64),
}

impl Amount {
    /// An amount per litre as one per water, where the density of such solutions is tabled.
    pub(super) fn by_density(self, formula: &Formula) -> Self {
        let Self::PerLitre(concentration) = self else { return self };
        let found = formula.without_hydrate_water().molar_mass().ok().and_then(|molar| {
            let molar = molar.value * 1e-3;
            let fraction = SolutionDensity::of(formula)?.fraction(1e3 * concentration * molar)?;
            Some(Self::PerWater(fraction / (molar * (1.0 - fraction))))
        });
        found.unwrap_or(self)
    }

    /// In a mass of water, kg.
    pub(super) fn moles(self, water: f64) -> f64 {
        match self {
            Self::Moles(moles) => moles,
            Self::PerWater(molality) => molality * water,
            Self::PerLitre(concentration) => concentration * water / PER_LITRE,
        }
    }
}

/// A reagent as it is sold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Sold {
    /// Pure.
    Pure,
    /// A solution of so many mol per litre.
    Concentration(f64),
    /// A solution of this mass fraction.
    Fraction(f64),
}

/// Reads the parts and gathers what is wrong with them.
#[derive(Default)]
pub(super) struct Reader {
    pub(super) errors: Vec<Finding>,
}

impl Reader {
    pub(super) fn slip(&mut self, code: &'static str, text: &str, message: String, hint: &str) {
        self.errors.push(pointed(code, text, 0, text.len(), message, hint));
    }

    fn quantity(&mut self, what: &str, text: &str) -> Option<(f64, Dimension)> {
        match Quantity::parse(text) {
            Ok(quantity) => match quantity.si() {
                Value::Point { value, .. } => return Some((value, quantity.dimension())),
                _ => self.slip("bad-quantity", text, format!("{what} is `{text}`"), "give one value"),
            },
            Err(e) => {
                self.errors.push(pointed("bad-quantity", text, e.offset, e.length, format!("{what}: {e}"), ""));
            }
        }
        None
    }

    pub(super) fn water(&mut self, text: Option<&str>) -> f64 {
        let Some(text) = text else { return 1.0 };
        match self.quantity("the water", text) {
            Some((value, Dimension::MASS)) if value > 0.0 => value,
            Some((value, Dimension::VOLUME)) if value > 0.0 => value * 1e3 * PER_LITRE,
            Some(_) => {
                self.slip("bad-quantity", text, format!("the water is `{text}`"), "give a mass or a volume, `500 g`");
                1.0
            }
            None => 1.0,
        }
    }

    pub(super) fn temperature(&mut self, text: Option<&str>) -> f64 {
        const ROOM: f64 = 298.15;
        let Some(text) = text else { return ROOM };
        match self.quantity("the temperature", text) {
            Some((value, Dimension::TEMPERATURE)) if (273.149..=373.151).contains(&value) => value,
            Some(_) => {
                let hint = "solutions are reckoned from 0 to 100 °C";
                self.slip("out-of-range", text, format!("the temperature is `{text}`"), hint);
                ROOM
            }
            None => ROOM,
        }
    }

    pub(super) fn number(&mut self, what: &str, text: &str) -> Option<f64> {
        match self.quantity(what, text) {
            Some((value, Dimension::DIMENSIONLESS)) if value >= 0.0 => Some(value),
            Some(_) => {
                self.slip("bad-quantity", text, format!("{what} is `{text}`"), "give a number, not below zero");
                None
            }
            None => None,
        }
    }

    /// `1 L 0.5 mol/L`: L and mol/L.
    pub(super) fn volume_and_strength(&mut self, text: &str) -> Option<(f64, f64)> {
        let words: Vec<&str> = text.split_whitespace().collect();
        let read = |words: &[&str], dimension: Dimension| {
            let value = Quantity::parse_as(&words.join(" "), dimension).ok()?.si().central();
            (value > 0.0 && value.is_finite()).then_some(value)
        };
        let found = (1..words.len()).find_map(|n| {
            let (volume, strength) = words.split_at(n);
            Some((1e3 * read(volume, Dimension::VOLUME)?, 1e-3 * read(strength, Dimension::CONCENTRATION)?))
        });
        if found.is_none() {
            let hint = "write volume and strength, `1 L 0.5 mol/L`";
            self.slip("bad-quantity", text, format!("`{text}` is no volume with a strength"), hint);
        }
        found
    }

    /// Elements by their symbols, between commas.
    pub(super) fn elements(&mut self, text: &str) -> Vec<Element> {
        let mut found = Vec::new();
        for symbol in text.split(',').map(str::trim) {
            match Element::from_symbol(symbol) {
                Some(element) if found.contains(&element) => {}
                Some(element) if matches!(element.symbol(), "H" | "O") => {
                    let message = format!("{symbol} is part of the water and has no diagram of its own");
                    self.slip("unknown-word", text, message, "name another element, `Fe`");
                }
                Some(element) => found.push(element),
                None => {
                    let hint = "give its symbol, `Fe`, several as `Fe, Cu`";
                    self.slip("unknown-word", text, format!("`{symbol}` is no element"), hint);
                }
            }
        }
        found
    }

    /// A potential in V.
    pub(super) fn volts(&mut self, text: &str) -> Option<f64> {
        match self.quantity("the potential", text) {
            Some((value, Dimension::VOLTAGE)) if (-5.0..=5.0).contains(&value) => Some(value),
            Some(_) => {
                self.slip("bad-quantity", text, format!("the potential is `{text}`"), "give it in V, `0.45 V`");
                None
            }
            None => None,
        }
    }

    pub(super) fn ph(&mut self, text: &str) -> Option<f64> {
        match self.quantity("pH", text) {
            Some((value, Dimension::DIMENSIONLESS)) if (-2.0..=16.0).contains(&value) => Some(value),
            Some(_) => {
                self.slip("out-of-range", text, format!("pH is `{text}`"), "give a number from −2 to 16");
                None
            }
            None => None,
        }
    }

    fn formula(&mut self, text: &str, weighed: bool) -> Option<Formula> {
        let error = match Species::parse(text) {
            Ok(species) => return Some(species.formula),
            Err(error) => error,
        };
        let known: Vec<&Formula> =
            chem::substance::Substance::find(text).iter().map(|substance| &substance.formula).collect();
        match known[..] {
            [] => {
                self.errors.push(pointed("bad-formula", text, error.offset, error.length, error.to_string(), ""));
                None
            }
            [only] => Some(only.clone()),
            // Hydrates differ on the balance, not in solution.
            [first, ..] => {
                let dry = first.without_hydrate_water();
                if !weighed && known.iter().all(|formula| formula.without_hydrate_water().same_substance(&dry)) {
                    return Some(dry);
                }
                let names: Vec<String> = known.iter().map(ToString::to_string).collect();
                let hint = format!("name one of {}", names.join(", "));
                self.slip("ambiguous-substance", text, format!("`{text}` stands for several substances"), &hint);
                None
            }
        }
    }

    /// `CuSO4 0.4 mol/kg`: a formula or a name, then a quantity.
    fn apart<'t>(&mut self, text: &'t str) -> (&'t str, &'t str) {
        let text = text.trim();
        let starts = |rest: &str| rest.trim_start().starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == '<');
        let gap = text.char_indices().filter(|(_, c)| c.is_whitespace()).map(|(i, _)| i).find(|i| starts(&text[*i..]));
        match gap {
            Some(gap) => (text[..gap].trim(), text[gap..].trim()),
            None => (text, ""),
        }
    }

    pub(super) fn substance(&mut self, text: &str) -> Option<(Formula, Amount)> {
        let (name, amount) = self.apart(text);
        if amount.is_empty() {
            let hint = "write formula and amount, `CuSO4 0.4 mol/kg` or `CuSO4·5H2O 25 g`";
            self.slip("bad-quantity", text, format!("`{text}` has no amount"), hint);
            return None;
        }
        let (value, dimension) = self.quantity(name, amount)?;
        let formula = self.formula(name, dimension == Dimension::MASS)?;
        if value.is_nan() || value < 0.0 {
            self.slip(
                "out-of-range",
                text,
                format!("the amount of {name} is below zero"),
                "give an amount of zero or more",
            );
            return None;
        }
        let amount = match dimension {
            Dimension::MOLALITY => Amount::PerWater(value),
            Dimension::CONCENTRATION => Amount::PerLitre(value * 1e-3),
            Dimension::DIMENSIONLESS if value < 1.0 => match formula.without_hydrate_water().molar_mass() {
                Ok(molar) => Amount::PerWater(value / (molar.value * 1e-3 * (1.0 - value))),
                Err(error) => {
                    self.slip("no-atomic-weight", text, error.to_string(), "");
                    return None;
                }
            },
            Dimension::AMOUNT => Amount::Moles(value),
            Dimension::MASS => match formula.molar_mass() {
                Ok(molar) => Amount::Moles(1e3 * value / molar.value),
                Err(error) => {
                    self.slip("no-atomic-weight", text, error.to_string(), "");
                    return None;
                }
            },
            _ => {
                let hint = "amounts are in mol/kg of water, mol/L, mol, g or % w/w";
                self.slip("bad-quantity", text, format!("`{amount}` is no amount of a substance"), hint);
                return None;
            }
        };
        Some((formula, amount))
    }

    pub(super) fn reagent(&mut self, text: &str) -> Option<(Formula, Sold)> {
        let (name, strength) = self.apart(text);
        let formula = self.formula(name, false)?;
        if strength.is_empty() {
            return Some((formula, Sold::Pure));
        }
        let sold = match self.quantity("the strength", strength)? {
            (value, Dimension::CONCENTRATION) if value > 0.0 => Sold::Concentration(value * 1e-3),
            (value, Dimension::DIMENSIONLESS) if value > 0.0 && value <= 1.0 => Sold::Fraction(value),
            _ => {
                let hint = "write a strength as sold, `NaOH 2 mol/L` or `HCl 37 %`";
                self.slip("bad-quantity", text, format!("`{strength}` is no strength"), hint);
                return None;
            }
        };
        Some((formula, sold))
    }

    pub(super) fn gas(&mut self, text: &str) -> Option<Held> {
        let (name, pressure) = self.apart(text);
        let name = name.trim_end_matches("(g)");
        let known: Vec<&'static str> = gases(Model::Association).map(|gas| gas.name).collect();
        let Some(found) = known.iter().find(|gas| **gas == name) else {
            let hint = format!("gases of the tables: {}", known.join(", "));
            self.slip("not-in-tables", text, format!("`{name}` is no gas of the tables"), &hint);
            return None;
        };
        match self.quantity("the pressure", pressure)? {
            (value, Dimension::PRESSURE) if value > 0.0 && value <= 1e7 => Some(Held { name: found, pressure: value }),
            _ => {
                self.slip("bad-quantity", text, format!("the pressure is `{pressure}`"), "write `CO2 0.0004 bar`");
                None
            }
        }
    }

    pub(super) fn allowed(&mut self, text: Option<&str>) -> Allowed {
        match text {
            None | Some("allow" | "fresh") => Allowed::Fresh,
            Some("aged") => Allowed::Aged,
            Some("none") => Allowed::None,
            Some(other) => {
                self.slip("unknown-word", other, format!("solids are `{other}`"), "one of allow, aged, none");
                Allowed::Fresh
            }
        }
    }

    /// A master by its name, `Na`, `SO4`, `Na+`.
    pub(super) fn ion(&mut self, text: &str) -> Option<&'static str> {
        let bare = text.trim();
        let written = Formula::parse(bare).ok();
        let fits = |name: &str| {
            let (body, _) = name.split_once('^').unwrap_or((name, ""));
            let formula = Formula::parse(name).ok();
            name == bare || body == bare || written.as_ref().zip(formula.as_ref()).is_some_and(|(a, b)| a == b)
        };
        let found = species(Model::Association).filter(|s| s.is_master() && s.name != "H^+").find(|s| fits(s.name));
        if found.is_none() {
            let hint = "name an ion of the tables, `Na`, `K`, `Cl`, `SO4`";
            self.slip("not-in-tables", text, format!("`{text}` is no ion of the tables"), hint);
        }
        found.map(|s| s.name)
    }

    pub(super) fn excess(&mut self, text: &str, of: Option<&str>) -> Option<(Formula, &'static str)> {
        let formula = self.formula(text.trim(), true)?;
        let Some(of) = of else {
            self.slip("missing-field", text, "what it is to take out is not given".to_owned(), "name the ion, `Zn`");
            return None;
        };
        Some((formula, self.ion(of)?))
    }
}

/// Why a solution has no answer.
pub(super) fn unsolved(status: Status) -> Finding {
    let (why, hint) = match status {
        Status::NotConverged => ("the balances could not be closed", "check the amounts for a slip"),
        Status::SolidsUnsettled => ("which solids are there did not settle", "try --solids none, or fewer substances"),
        Status::Unbounded => ("a solid would form from the gas without end", "lower the pressure of the gas"),
        Status::NoWater => ("hydrates would take up nearly all of the water", "check the amount of water"),
        Status::BadTotals => ("a total is not a number, or below zero", "check the amounts"),
        Status::NoPotential => (
            "each element stands in one oxidation state: nothing sets a potential",
            "state the potential, or name a second state among the substances",
        ),
        Status::Solved | Status::Almost => ("it was solved", ""),
    };
    pointed("no-solution", "", 0, 0, why.to_owned(), hint)
}

/// Why there is no dose.
pub(super) fn no_dose(error: &DoseError, reagent: &Formula, target: f64, text: &str) -> Finding {
    let (message, hint) = match error {
        DoseError::OtherWay(before) => (
            format!("the solution has pH {before:.2}; {reagent} leads away from {target}"),
            "add an acid to go down, a base to go up",
        ),
        DoseError::NotReached(reached) => {
            (format!("{reagent} leads no further than pH {reached:.2}"), "take a stronger acid or base, or a nearer pH")
        }
        DoseError::Unsolved(status) => return unsolved(*status),
    };
    pointed("no-solution", text, 0, text.len(), message, hint)
}
