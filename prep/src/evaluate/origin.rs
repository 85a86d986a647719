//! What does a lot of another preparation bring along?
//!
//! The other preparation is accounted for, by the live view where its weights hold and by the sampler where they do not,
//! and the draws of the lot's composition are kept as a path with one unknown ([`engine::account::path`]). Compositions
//! that its readings cannot tell apart stay open, and figures that are known across them, as the content of an element,
//! stay known.
//! Neglected: that both preparations may have used the same balance or the same bottle.

use super::account::worked;
use super::books::Books;
use super::compile::Variation;
use super::drawn::Instrument;
use super::fits::Fits;
use super::table::SpeciesTable;
use crate::model::Preparation;
use chem::{Element, Species};
use engine::account::importance::TAIL_LIMIT;
use engine::account::path::path;
use engine::account::sampler::SamplerSettings;
use engine::account::summary::spread;

/// Amounts below this share of the lot are rounding, mol/kg.
const NOTHING: f64 = 1e-9;

/// A lot as its own account leaves it.
#[derive(Clone, Debug, PartialEq)]
pub struct Brought {
    /// Species, with the place of the host for bound water.
    pub(super) contents: Vec<(Species, Option<usize>)>,
    /// Stations of the path: amounts (mol) of the species and masses (kg) of foreign matter in a kilogram.
    pub(super) stations: Vec<f64>,
    /// Mass fraction of each element: mean, standard uncertainty, 95 % point.
    pub(super) elements: Vec<(Element, [f64; 3])>,
    /// Mass of the lot, kg: mean and standard uncertainty.
    pub(super) mass: (f64, f64),
}

impl Brought {
    /// Species that are substances of their own.
    pub fn species(&self) -> impl Iterator<Item = &Species> {
        self.contents.iter().filter(|(_, host)| host.is_none()).map(|(species, _)| species)
    }

    /// Mass of the lot, kg: mean and standard uncertainty.
    pub fn mass(&self) -> (f64, f64) {
        self.mass
    }

    /// Mass fraction of an element: mean, standard uncertainty, 95 % point.
    pub fn fraction(&self, element: Element) -> [f64; 3] {
        self.elements.iter().find(|(e, _)| *e == element).map_or([0.0; 3], |(_, told)| *told)
    }
}

/// The composition of a lot; nothing where no draw has it.
pub(crate) fn brought(preparation: &Preparation, lot: &str) -> Option<Brought> {
    let mut table = SpeciesTable::default();
    let mut account = |instrument| {
        worked(preparation, &mut table, Variation::PLAIN, None, (instrument, &Fits::default()), &mut |_| {})
    };
    let (plain, mut cases, _) = account(Instrument::Live);
    if cases.iter().any(|w| w.tail() > TAIL_LIMIT) {
        cases = account(Instrument::Sampler(SamplerSettings::default())).1;
    }
    let clouds = super::account::clouds(&cases);
    let books = Books::sum(preparation, &table, &clouds, &plain);
    let (rows, width, groups) = books.draws_of(lot)?;
    let molar: Vec<f64> = (0..table.len()).map(|s| table.molar_mass(s)).collect();
    let unit = |k: usize| molar.get(k).copied().unwrap_or(1.0);
    let masses: Vec<f64> =
        rows.chunks_exact(width).map(|r| r.iter().enumerate().map(|(k, x)| x * unit(k)).sum()).collect();
    let mut weights: Vec<f64> =
        books.weights.iter().zip(&masses).map(|(w, m)| if *m > 0.0 { *w } else { 0.0 }).collect();
    let whole: f64 = weights.iter().sum();
    if whole.is_nan() || whole <= 0.0 {
        return None;
    }
    weights.iter_mut().for_each(|w| *w /= whole);
    // A kilogram of each draw.
    let scaled: Vec<f64> = rows
        .chunks_exact(width)
        .zip(&masses)
        .flat_map(|(row, mass)| row.iter().map(move |x| if *mass > 0.0 { x / mass } else { 0.0 }))
        .collect();
    let present: Vec<usize> =
        (0..table.len()).filter(|s| scaled.chunks_exact(width).any(|row| row[*s] > NOTHING)).collect();
    let kept: Vec<usize> = present.iter().copied().chain(table.len()..width).collect();
    let columns: Vec<f64> = scaled.chunks_exact(width).flat_map(|row| kept.iter().map(move |k| row[*k])).collect();
    let contents = present
        .iter()
        .map(|s| (table.species(*s).clone(), table.host(*s).and_then(|h| present.iter().position(|p| *p == h))))
        .collect();
    let fractions = |element: Element| {
        let (counts, atom) = (table.counts(element), element.atomic_weight()?.value * 1e-3);
        let fraction = |row: &[f64]| row.iter().zip(&counts).map(|(n, c)| n * c).sum::<f64>() * atom;
        Some(scaled.chunks_exact(width).map(fraction).collect::<Vec<f64>>())
    };
    // Without an element that matters, the order within a group is that of the draws.
    let figure = preparation.account_for.first().and_then(|e| fractions(*e)).unwrap_or_else(|| vec![0.0; masses.len()]);
    let elements = Element::all()
        .filter_map(|element| {
            let told = spread(&fractions(element)?, &weights);
            (told.mean > 0.0).then_some((element, [told.mean, told.standard_uncertainty, told.high]))
        })
        .collect();
    let mass = spread(&masses, &weights);
    Some(Brought {
        contents,
        stations: path(&columns, kept.len(), &weights, &groups, &figure),
        elements,
        mass: (mass.mean, mass.standard_uncertainty),
    })
}
