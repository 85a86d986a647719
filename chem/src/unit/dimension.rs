//! What does a unit measure?
//!
//! A dimension is the vector of exponents of mass, length, time, temperature, amount and electric current, and of three
//! currencies, which nothing here converts into one another.

use std::ops::{Add, Sub};

/// Largest exponent of a unit.
pub(super) const EXPONENT_LIMIT: i8 = 9;

/// What a unit measures: exponents of the base quantities.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Dimension {
    /// Exponents of mass, length, time, temperature, amount, electric current, euro, dollar, pound sterling.
    exponents: [i8; 9],
}

impl Dimension {
    /// Pure number, fraction, percent.
    pub const DIMENSIONLESS: Dimension = Dimension::base([0; 6]);
    /// Mass, kg.
    pub const MASS: Dimension = Dimension::base([1, 0, 0, 0, 0, 0]);
    /// Length, m.
    pub const LENGTH: Dimension = Dimension::base([0, 1, 0, 0, 0, 0]);
    /// Area, m².
    pub const AREA: Dimension = Dimension::base([0, 2, 0, 0, 0, 0]);
    /// Volume, m³.
    pub const VOLUME: Dimension = Dimension::base([0, 3, 0, 0, 0, 0]);
    /// Time, s.
    pub const TIME: Dimension = Dimension::base([0, 0, 1, 0, 0, 0]);
    /// Temperature, K.
    pub const TEMPERATURE: Dimension = Dimension::base([0, 0, 0, 1, 0, 0]);
    /// Amount of substance, mol.
    pub const AMOUNT: Dimension = Dimension::base([0, 0, 0, 0, 1, 0]);
    /// Electric current, A.
    pub const CURRENT: Dimension = Dimension::base([0, 0, 0, 0, 0, 1]);
    /// Electric charge, A·s.
    pub const ELECTRIC_CHARGE: Dimension = Dimension::base([0, 0, 1, 0, 0, 1]);
    /// Voltage, V.
    pub const VOLTAGE: Dimension = Dimension::base([1, 2, -3, 0, 0, -1]);
    /// Pressure, Pa.
    pub const PRESSURE: Dimension = Dimension::base([1, -1, -2, 0, 0, 0]);
    /// Energy, J.
    pub const ENERGY: Dimension = Dimension::base([1, 2, -2, 0, 0, 0]);
    /// Power, W.
    pub const POWER: Dimension = Dimension::base([1, 2, -3, 0, 0, 0]);
    /// Density or mass concentration, kg/m³.
    pub const DENSITY: Dimension = Dimension::base([1, -3, 0, 0, 0, 0]);
    /// Molar mass, kg/mol.
    pub const MOLAR_MASS: Dimension = Dimension::base([1, 0, 0, 0, -1, 0]);
    /// Molality (or amount per mass), mol/kg.
    pub const MOLALITY: Dimension = Dimension::base([-1, 0, 0, 0, 1, 0]);
    /// Amount concentration, mol/m³.
    pub const CONCENTRATION: Dimension = Dimension::base([0, -3, 0, 0, 1, 0]);
    /// Molar energy, J/mol.
    pub const MOLAR_ENERGY: Dimension = Dimension::base([1, 2, -2, 0, -1, 0]);
    /// Molar entropy or heat capacity, J/(mol·K).
    pub const MOLAR_HEAT_CAPACITY: Dimension = Dimension::base([1, 2, -2, -1, -1, 0]);
    /// Energy per mass, J/kg.
    pub const SPECIFIC_ENERGY: Dimension = Dimension::base([0, 2, -2, 0, 0, 0]);
    /// Specific heat capacity, J/(kg·K).
    pub const SPECIFIC_HEAT_CAPACITY: Dimension = Dimension::base([0, 2, -2, -1, 0, 0]);
    /// Volume per time, m³/s.
    pub const VOLUME_FLOW: Dimension = Dimension::base([0, 3, -1, 0, 0, 0]);
    /// Mass per time, kg/s.
    pub const MASS_FLOW: Dimension = Dimension::base([1, 0, -1, 0, 0, 0]);
    /// Temperature per time, K/s.
    pub const HEATING_RATE: Dimension = Dimension::base([0, 0, -1, 1, 0, 0]);

    const fn base(six: [i8; 6]) -> Dimension {
        let [mass, length, time, temperature, amount, current] = six;
        Dimension { exponents: [mass, length, time, temperature, amount, current, 0, 0, 0] }
    }

    pub(super) const fn currency(index: usize) -> Dimension {
        let mut exponents = [0; 9];
        exponents[6 + index] = 1;
        Dimension { exponents }
    }

    /// Whether this is a price or contains one.
    pub fn has_currency(self) -> bool {
        self.exponents.iter().skip(6).any(|exponent| *exponent != 0)
    }

    /// The dimension to a power; `None` beyond the largest exponent.
    pub(super) fn power(self, power: i8) -> Option<Dimension> {
        let mut raised = self;
        for exponent in &mut raised.exponents {
            *exponent = exponent.checked_mul(power).filter(|value| value.abs() <= EXPONENT_LIMIT)?;
        }
        Some(raised)
    }

    /// Name with article and an example, for messages: `a mass`, `100 g`.
    fn known(self) -> Option<(&'static str, &'static str)> {
        let table = [
            (Dimension::DIMENSIONLESS, "a pure number or fraction", "98 %"),
            (Dimension::MASS, "a mass", "100 g"),
            (Dimension::LENGTH, "a length", "10 cm"),
            (Dimension::AREA, "an area", "20 cm2"),
            (Dimension::VOLUME, "a volume", "100 mL"),
            (Dimension::TIME, "a time", "30 min"),
            (Dimension::TEMPERATURE, "a temperature", "105 °C"),
            (Dimension::AMOUNT, "an amount of substance", "0.1 mol"),
            (Dimension::CURRENT, "an electric current", "0.5 A"),
            (Dimension::ELECTRIC_CHARGE, "an electric charge", "100 A·s"),
            (Dimension::VOLTAGE, "a voltage", "1.1 V"),
            (Dimension::PRESSURE, "a pressure", "1 bar"),
            (Dimension::ENERGY, "an energy", "10 kJ"),
            (Dimension::POWER, "a power", "50 W"),
            (Dimension::DENSITY, "a density", "1.05 g/mL"),
            (Dimension::MOLAR_MASS, "a molar mass", "249.7 g/mol"),
            (Dimension::MOLALITY, "a molality", "0.4 mol/kg"),
            (Dimension::CONCENTRATION, "a concentration", "0.1 mol/L"),
            (Dimension::MOLAR_ENERGY, "a molar energy", "-50 kJ/mol"),
            (Dimension::MOLAR_HEAT_CAPACITY, "a molar heat capacity or entropy", "75 J/(mol·K)"),
            (Dimension::SPECIFIC_ENERGY, "an energy per mass", "2.5 kJ/g"),
            (Dimension::SPECIFIC_HEAT_CAPACITY, "a specific heat capacity", "4.18 J/(g·K)"),
            (Dimension::VOLUME_FLOW, "a volume flow", "5 mL/min"),
            (Dimension::MASS_FLOW, "a mass flow", "2 g/min"),
            (Dimension::HEATING_RATE, "a heating rate", "10 K/min"),
        ];
        table.into_iter().find(|(dimension, _, _)| *dimension == self).map(|(_, name, example)| (name, example))
    }

    /// Name with article: `a mass`; the product of base units where it has no name.
    pub fn name(self) -> String {
        match self.known() {
            Some((name, _)) => name.to_owned(),
            None if self.has_currency() => format!("a price ({})", self.si_text()),
            None => format!("a quantity in {}", self.si_text()),
        }
    }

    /// An example of a quantity of this dimension.
    pub fn example(self) -> Option<&'static str> {
        self.known().map(|(_, example)| example)
    }

    /// The coherent unit as a product of base units, such as `kg·m^-3`; `1` for a pure number.
    pub fn si_text(self) -> String {
        let symbols = ["kg", "m", "s", "K", "mol", "A", "EUR", "USD", "GBP"];
        let factors: Vec<String> = symbols
            .iter()
            .zip(self.exponents)
            .filter(|(_, exponent)| *exponent != 0)
            .map(|(symbol, exponent)| if exponent == 1 { (*symbol).to_owned() } else { format!("{symbol}^{exponent}") })
            .collect();
        if factors.is_empty() { "1".to_owned() } else { factors.join("·") }
    }
}

impl Add for Dimension {
    type Output = Dimension;
    /// Dimension of a product.
    fn add(self, other: Dimension) -> Dimension {
        let mut sum = self;
        for (exponent, added) in sum.exponents.iter_mut().zip(other.exponents) {
            *exponent = exponent.saturating_add(added);
        }
        sum
    }
}

impl Sub for Dimension {
    type Output = Dimension;
    /// Dimension of a quotient.
    fn sub(self, other: Dimension) -> Dimension {
        let mut difference = self;
        for (exponent, taken) in difference.exponents.iter_mut().zip(other.exponents) {
            *exponent = exponent.saturating_sub(taken);
        }
        difference
    }
}
