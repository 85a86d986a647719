//! The heat of a reaction as a section of its page.

use super::{Align, Block, Cell, Table};
use crate::number;
use prep::outcome::{BalanceTemperature, Figure, ReactionHeat, SpeciesHeat, TemperatureRow};

/// Zero of the Celsius scale, K.
const CELSIUS: f64 = 273.15;

/// Heat, entropy, Gibbs energy, equilibrium constant, and what they rest on.
pub(super) fn section(heat: &ReactionHeat) -> Vec<Block> {
    let celsius = number::unit(&number::significant(heat.temperature.value - CELSIUS, 6), "°C");
    let mut blocks = vec![Block::Heading(format!("Heat and equilibrium at {celsius}"))];
    if heat.enthalpy.is_none() {
        blocks.push(Block::Paragraph("Not known: see the findings.".to_owned()));
    } else {
        blocks.push(Block::Paragraph(verdict(heat)));
        blocks.push(Block::Table(values(heat)));
    }
    blocks.extend(balances(heat));
    blocks.extend(table(&heat.table));
    if !heat.species.is_empty() {
        blocks.push(Block::Subheading("What the species bring".to_owned()));
        blocks.push(Block::Table(species(&heat.species)));
    }
    let sources = heat.enthalpy.iter().flat_map(|figure| &figure.sources);
    let sources: Vec<&str> = sources.map(String::as_str).collect();
    if !sources.is_empty() {
        blocks.push(Block::Paragraph(format!("Sources: {}.", sources.join("; "))));
        blocks.push(Block::Paragraph(
            "For one mole of the reaction as balanced, gases at 1 bar each; ± is one standard uncertainty. It says which way the reaction can run, not whether it does, nor how fast."
                .to_owned(),
        ));
    }
    blocks
}

/// Heat and direction in one sentence.
fn verdict(heat: &ReactionHeat) -> String {
    let warmth = match &heat.enthalpy {
        Some(figure) if figure.value < 0.0 => "Releases heat",
        Some(_) => "Takes up heat",
        None => return String::new(),
    };
    let (figure, at) = match &heat.gibbs_energy_at_pressures {
        Some(figure) => (Some(figure), "at the pressures given"),
        None => (heat.gibbs_energy.as_ref(), "at 1 bar"),
    };
    let direction = match figure {
        Some(figure) if figure.value.abs() < 2.0 * figure.standard_uncertainty.unwrap_or(0.0) => {
            "is near balance: its direction is not decided by these values"
        }
        Some(figure) if figure.value < 0.0 => "can run as written",
        Some(_) => "runs backwards, if at all",
        None => return format!("{warmth}; which way it can run is not known."),
    };
    format!("{warmth}; {at} it {direction}.")
}

fn values(heat: &ReactionHeat) -> Table {
    let mut table = Table::new(&[("", Align::Left), ("value", Align::Point), ("unit", Align::Left), ("", Align::Left)]);
    let rows = [
        ("enthalpy ΔrH", &heat.enthalpy),
        ("entropy ΔrS", &heat.entropy),
        ("Gibbs energy ΔrG, gases at 1 bar", &heat.gibbs_energy),
        ("Gibbs energy at the pressures given", &heat.gibbs_energy_at_pressures),
        ("heat capacity ΔrCp", &heat.heat_capacity),
        ("log₁₀ K, gases in bar", &heat.log10_k),
        ("heat released for each gram of reactants", &heat.heat_per_gram),
        ("gas formed", &heat.gas_volume),
    ];
    for (name, figure) in rows {
        let Some(figure) = figure else { continue };
        if name == "gas formed" && figure.value == 0.0 {
            continue;
        }
        let unit = if figure.unit == "1" { "" } else { figure.unit };
        let mark = if figure.status == chem::Status::Estimated { "estimated" } else { "" };
        table.push(vec![
            Cell::text(name),
            Cell::text(number::figure_bare(figure)),
            Cell::text(unit),
            Cell::text(figure.basis.clone().unwrap_or_else(|| mark.to_owned())),
        ]);
    }
    table
}

/// Where the Gibbs energy is zero.
fn balances(heat: &ReactionHeat) -> Vec<Block> {
    if heat.balances.is_empty() {
        return Vec::new();
    }
    let at = if heat.pressures.is_empty() {
        "with all gases at 1 bar".to_owned()
    } else {
        let list: Vec<String> = heat
            .pressures
            .iter()
            .map(|(gas, bar)| format!("{gas} at {}", number::unit(&number::significant(*bar, 4), "bar")))
            .collect();
        format!("with {}, other gases at 1 bar", list.join(", "))
    };
    let mut blocks = vec![Block::Subheading(format!("In balance, {at}"))];
    blocks.extend(heat.balances.iter().map(|balance| Block::Paragraph(balance_words(balance))));
    blocks
}

fn balance_words(balance: &BalanceTemperature) -> String {
    let kelvin = &balance.temperature;
    let celsius = Figure { value: kelvin.value - CELSIUS, unit: "°C", ..kelvin.clone() };
    let side = if balance.runs_above { "above" } else { "below" };
    let mut text = format!("{} ({}); it can run as written {side}.", number::figure(&celsius), number::figure(kelvin));
    if !balance.with_other_tables.is_empty() {
        let others: Vec<String> = balance
            .with_other_tables
            .iter()
            .map(|(words, t)| format!("{} with {words}", number::unit(&number::fixed(t - CELSIUS, 0), "°C")))
            .collect();
        text += &format!(" With other tables: {}.", others.join("; "));
    }
    text
}

fn table(rows: &[TemperatureRow]) -> Option<Block> {
    if rows.is_empty() {
        return None;
    }
    let mut table = Table::new(&[
        ("°C", Align::Point),
        ("ΔrH, kJ/mol", Align::Point),
        ("ΔrS, J/(mol K)", Align::Point),
        ("ΔrG, kJ/mol", Align::Point),
        ("log₁₀ K", Align::Point),
        ("from here on", Align::Left),
    ]);
    for row in rows {
        let bare = |figure: &Option<Figure>| figure.as_ref().map_or_else(String::new, number::figure_bare);
        table.push(vec![
            Cell::text(number::significant(row.temperature - CELSIUS, 6)),
            Cell::text(number::figure_bare(&row.enthalpy)),
            Cell::text(bare(&row.entropy)),
            Cell::text(bare(&row.gibbs_energy)),
            Cell::text(bare(&row.log10_k)),
            Cell::text(row.changes.join("; ")),
        ]);
    }
    Some(Block::Table(table))
}

fn species(list: &[SpeciesHeat]) -> Table {
    let mut table = Table::new(&[
        ("species", Align::Left),
        ("taken as", Align::Left),
        ("H, kJ/mol", Align::Point),
        ("S, J/(mol K)", Align::Point),
        ("known for, K", Align::Left),
    ]);
    for one in list {
        let bare = |figure: &Option<Figure>| figure.as_ref().map_or_else(String::new, number::figure_bare);
        let (low, high) = one.range;
        table.push(vec![
            Cell::text(one.species.clone()),
            Cell::text(if one.form == one.species { String::new() } else { one.form.clone() }),
            Cell::text(bare(&one.enthalpy)),
            Cell::text(bare(&one.entropy)),
            Cell::text(format!("{} to {}", number::fixed(low, 0), number::fixed(high, 0))),
        ]);
    }
    table
}
