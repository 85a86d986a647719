//! The heat of a reaction in words and tables.

use super::{Align, Block, Cell, Table};
use crate::number;
use prep::outcome::{BalanceTemperature, Figure, ReactionHeat};

/// Kelvin at 0 °C.
const ZERO_CELSIUS: f64 = 273.15;

/// Heat, entropy, Gibbs energy, where it turns, and what the values stand on.
pub(super) fn section(heat: &ReactionHeat) -> Vec<Block> {
    if heat.species.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::Heading(format!("Heat and equilibrium at {}", celsius(heat.temperature.value)))];
    blocks.extend(verdict(heat).map(Block::Claim));
    blocks.push(Block::Table(values(heat)));
    blocks.extend(heat.balances.iter().map(|balance| Block::Paragraph(turns(balance, heat))));
    blocks.push(Block::Table(species(heat)));
    if !heat.table.is_empty() {
        blocks.push(Block::Table(over_temperature(heat)));
    }
    blocks.push(Block::Paragraph(
        "For one mole of the reaction as balanced, gases at 1 bar unless a pressure is given; equilibrium says what may happen, not when. ± is one standard uncertainty of the tabulated values."
            .to_owned(),
    ));
    blocks
}

fn celsius(kelvin: f64) -> String {
    number::unit(&number::significant(kelvin - ZERO_CELSIUS, 3), "°C")
}

/// Whether it gives heat or takes it, and which way it runs.
fn verdict(heat: &ReactionHeat) -> Option<String> {
    let enthalpy = heat.enthalpy.as_ref()?;
    let released = match &heat.heat_per_gram {
        Some(per_gram) if enthalpy.value < 0.0 => {
            format!("It releases {} of reactants", number::figure(per_gram).replace("kJ/g", "kJ for each gram"))
        }
        Some(per_gram) => {
            let taken = Figure { value: -per_gram.value, ..per_gram.clone() };
            format!("It takes up {} of reactants", number::figure(&taken).replace("kJ/g", "kJ for each gram"))
        }
        None if enthalpy.value < 0.0 => "It releases heat".to_owned(),
        None => "It takes up heat".to_owned(),
    };
    let driving = heat.gibbs_energy_at_pressures.as_ref().or(heat.gibbs_energy.as_ref());
    let way = driving.map(|g| {
        let sure = g.standard_uncertainty.is_some_and(|u| g.value.abs() > 2.0 * u);
        match (g.value < 0.0, sure) {
            (true, true) => "; equilibrium lies with the products",
            (false, true) => "; equilibrium lies with the reactants",
            (_, false) => "; on which side equilibrium lies is open within the uncertainty",
        }
    });
    Some(format!("{released}{}.", way.unwrap_or_default()))
}

fn values(heat: &ReactionHeat) -> Table {
    let mut table = Table::new(&[("", Align::Left), ("", Align::Point), ("unit", Align::Left)]);
    let lines: [(&str, &Option<Figure>); 8] = [
        ("enthalpy", &heat.enthalpy),
        ("entropy", &heat.entropy),
        ("Gibbs energy", &heat.gibbs_energy),
        ("Gibbs energy at the pressures given", &heat.gibbs_energy_at_pressures),
        ("heat capacity", &heat.heat_capacity),
        ("log10 K", &heat.log10_k),
        ("heat released", &heat.heat_per_gram),
        ("gas formed, at this temperature and 1 atm", &heat.gas_volume),
    ];
    for (name, figure) in lines {
        let Some(figure) = figure else { continue };
        let unit = if figure.unit == "1" { "" } else { figure.unit };
        table.push(vec![Cell::text(name), Cell::text(number::figure_bare(figure)), Cell::text(unit)]);
    }
    table
}

/// Where Gibbs energy is zero.
fn turns(balance: &BalanceTemperature, heat: &ReactionHeat) -> String {
    let at = number::with_uncertainty(balance.temperature.value, balance.temperature.standard_uncertainty);
    let pressures: Vec<String> = heat
        .pressures
        .iter()
        .map(|(gas, bar)| format!("{gas} at {}", number::unit(&number::significant(*bar, 3), "bar")))
        .collect();
    let given = if pressures.is_empty() { "gases at 1 bar".to_owned() } else { pressures.join(", ") };
    let others: Vec<String> = balance
        .with_other_tables
        .iter()
        .map(|(table, kelvin)| format!("{} with {table}", number::unit(&number::significant(*kelvin, 4), "K")))
        .collect();
    let others = if others.is_empty() { String::new() } else { format!("; {}", others.join("; ")) };
    format!(
        "Balance at {} ({}), {given}: {} it the reaction runs as written{others}.",
        number::unit(&at, "K"),
        celsius(balance.temperature.value),
        if balance.runs_above { "above" } else { "below" },
    )
}

fn species(heat: &ReactionHeat) -> Table {
    let mut table = Table::new(&[
        ("species", Align::Left),
        ("taken as", Align::Left),
        ("enthalpy, kJ/mol", Align::Point),
        ("entropy, J/(mol K)", Align::Point),
    ]);
    for species in &heat.species {
        // An element's enthalpy is nothing but for the rounding of its coefficients.
        let cell = |figure: &Option<Figure>| {
            let told =
                |figure: &Figure| if figure.value.abs() < 1e-6 { "0".to_owned() } else { number::figure_bare(figure) };
            Cell::text(figure.as_ref().map_or_else(String::new, told))
        };
        table.push(vec![
            Cell::text(species.species.clone()),
            Cell::text(species.form.clone()),
            cell(&species.enthalpy),
            cell(&species.entropy),
        ]);
    }
    table
}

fn over_temperature(heat: &ReactionHeat) -> Table {
    let mut table = Table::new(&[
        ("K", Align::Point),
        ("enthalpy, kJ/mol", Align::Point),
        ("Gibbs energy, kJ/mol", Align::Point),
        ("log10 K", Align::Point),
        ("from here on", Align::Left),
    ]);
    for row in &heat.table {
        let bare = |figure: Option<&Figure>| Cell::text(figure.map_or_else(String::new, number::figure_bare));
        table.push(vec![
            Cell::text(number::fixed(row.temperature, 0)),
            bare(Some(&row.enthalpy)),
            bare(row.gibbs_energy.as_ref()),
            bare(row.log10_k.as_ref()),
            Cell::text(row.changes.join(", ")),
        ]);
    }
    table
}
