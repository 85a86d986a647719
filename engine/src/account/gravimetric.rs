//! What do the difference weighings alone say, if the residue is what it is taken for?
//!
//! The calculation of the bench, without priors beyond the label:
//!
//! ```text
//! fraction  r = (m₃ − m₁)/(m₂ − m₁)        empty m₁, with portion m₂, with residue m₃, one vessel
//! element   m_E = m_bulk · r · w_E(residue)
//! loss on ignition = 1 − r
//! ```
//! Each reading carries its own repeatability; the slope of a balance is common to its readings, so it
//! cancels in r and stays in m_bulk. First-order propagation (GUM 5.1); zero errors cancel in differences.
//!
//! Source: JCGM 100:2008 (GUM), section 5.1.

/// A figure with its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Value.
    pub value: f64,
    /// Standard uncertainty.
    pub standard_uncertainty: f64,
}

/// Three weighings of one vessel: empty, with the portion, with its residue (kg), and the standard deviation
/// of each figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PortionWeighings {
    /// Vessel empty.
    pub empty: Figure,
    /// Vessel with the portion.
    pub with_portion: Figure,
    /// Vessel with the residue.
    pub with_residue: Figure,
}

impl PortionWeighings {
    /// Residue as a fraction of the portion; `None` if no portion was weighed in.
    #[must_use]
    pub fn residue_fraction(&self) -> Option<Figure> {
        let portion = self.with_portion.value - self.empty.value;
        let residue = self.with_residue.value - self.empty.value;
        if portion <= 0.0 {
            return None;
        }
        let r = residue / portion;
        let by_residue = self.with_residue.standard_uncertainty / portion;
        let by_portion = r * self.with_portion.standard_uncertainty / portion;
        let by_empty = (r - 1.0) * self.empty.standard_uncertainty / portion;
        let u = (by_residue * by_residue + by_portion * by_portion + by_empty * by_empty).sqrt();
        Some(Figure { value: r, standard_uncertainty: u })
    }
}

/// Mass of an element in a bulk whose portion left a residue of known composition, kg.
///
/// | argument   | symbol | unit | range |
/// |------------|--------|------|-------|
/// | `bulk`     | m_bulk | kg   | > 0   |
/// | `slope`    | u(slope) of the balance that weighed the bulk | 1 | ≥ 0 |
/// | `residue`  | r      | 1    | 0 to 1 (above 1 for oxidised metals) |
/// | `content`  | w_E    | 1    | mass fraction of the element in the residue |
#[must_use]
pub fn element_in_bulk(bulk: Figure, slope: f64, residue: Figure, content: f64) -> Figure {
    let value = bulk.value * residue.value * content;
    let relative =
        (bulk.standard_uncertainty / bulk.value).hypot(slope).hypot(residue.standard_uncertainty / residue.value);
    Figure { value, standard_uncertainty: value.abs() * relative }
}

/// Quotient of two independent figures, for a yield.
#[must_use]
pub fn quotient(part: Figure, whole: Figure) -> Figure {
    let value = part.value / whole.value;
    let relative = (part.standard_uncertainty / part.value).hypot(whole.standard_uncertainty / whole.value);
    Figure { value, standard_uncertainty: value.abs() * relative }
}

/// Product of independent factors, for a chain of yields.
#[must_use]
pub fn product(factors: &[Figure]) -> Figure {
    let value: f64 = factors.iter().map(|f| f.value).product();
    let relative: f64 = factors.iter().map(|f| (f.standard_uncertainty / f.value).powi(2)).sum::<f64>().sqrt();
    Figure { value, standard_uncertainty: value.abs() * relative }
}
