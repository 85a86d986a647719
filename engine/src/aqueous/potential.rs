//! Which form of an element is stable at a pH and a potential?
//!
//! For each form the logarithm of the activity that the element itself would have is a plane over pH and pe:
//!
//! ```text
//! λ = (log a − log K + h pH − n pe) / a
//! ```
//! for a form of a atoms, made of the element with h hydrogen ions and n electrons given up, log a being that of the total
//! dissolved for a dissolved form and nothing for a solid. The lowest plane is stable; where two are alike is a line of the
//! diagram. Its fields are convex and are cut out of the window by half planes, exactly. Neglected: that several forms share
//! the total near a line (the line is where their activities, or a solid and the total, are alike); activity coefficients.
//!
//! Source: M. Pourbaix, Atlas d'équilibres électrochimiques (1963); W. Nernst, Z. phys. Chem. 4 (1889) 129.

/// R, J/(mol·K).
const GAS_CONSTANT: f64 = 8.314_462_618;
/// F, C/mol.
pub const FARADAY: f64 = 96_485.332_12;

/// RT ln 10 / F, V: potential per unit of pe.
#[must_use]
pub fn volts_per_decade(temperature: f64) -> f64 {
    GAS_CONSTANT * temperature * std::f64::consts::LN_10 / FARADAY
}

/// Potential of a half reaction, V.
///
/// ```text
/// E = E° + (RT ln 10 / nF) · (log(ox/red) − h pH)
/// ```
/// | argument    | symbol      | unit | range |
/// |-------------|-------------|------|-------|
/// | `standard`  | E°          | V    | any   |
/// | `electrons` | n           | 1    | > 0   |
/// | `log_ratio` | log(ox/red) | 1    | any; all activities but the hydrogen ion's |
/// | `hydrogen`  | h           | 1    | taken up on reduction |
/// | `ph`        |             | 1    | any   |
/// | `temperature` | T         | K    | > 0   |
///
/// # Source
/// W. Nernst, Z. phys. Chem. 4 (1889) 129.
#[must_use]
pub fn nernst(standard: f64, electrons: f64, log_ratio: f64, hydrogen: f64, ph: f64, temperature: f64) -> f64 {
    standard + volts_per_decade(temperature) / electrons * (log_ratio - hydrogen * ph)
}

/// Potentials between which water is stable under one bar of hydrogen and of oxygen, V: low, high.
///
/// `gibbs_water` is the Gibbs energy of formation of liquid water, J/mol.
#[must_use]
pub fn water_lines(ph: f64, gibbs_water: f64, temperature: f64) -> (f64, f64) {
    let oxygen = -gibbs_water / (2.0 * FARADAY);
    (nernst(0.0, 1.0, 0.0, 1.0, ph, temperature), nernst(oxygen, 4.0, 0.0, 4.0, ph, temperature))
}

/// A form of the element over pH and pe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Value at pH 0 and pe 0.
    pub constant: f64,
    /// Slope with pH.
    pub per_ph: f64,
    /// Slope with pe.
    pub per_pe: f64,
}

impl Plane {
    /// Value at a point.
    #[must_use]
    pub fn at(&self, ph: f64, pe: f64) -> f64 {
        self.constant + self.per_ph * ph + self.per_pe * pe
    }
}

/// The part of the plane that is looked at: pH and pe, each from low to high.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// pH.
    pub ph: (f64, f64),
    /// pe.
    pub pe: (f64, f64),
}

/// A field: number of its plane, and its corners (pH, pe) in order.
pub type Field = (usize, Vec<(f64, f64)>);

/// The number of the lowest plane at a point; `None` where there is none.
#[must_use]
pub fn stable(planes: &[Plane], ph: f64, pe: f64) -> Option<usize> {
    (0..planes.len()).min_by(|a, b| planes[*a].at(ph, pe).total_cmp(&planes[*b].at(ph, pe)))
}

/// Fields in which each plane is lowest.
///
/// ```
/// use engine::aqueous::potential::{Plane, Window, fields};
/// // Ion and metal, two electrons, E° = 0: the metal below pe = 0 at unit activity.
/// let ion = Plane { constant: 0.0, per_ph: 0.0, per_pe: -2.0 };
/// let metal = Plane { constant: 0.0, per_ph: 0.0, per_pe: 0.0 };
/// let found = fields(&[ion, metal], Window { ph: (0.0, 14.0), pe: (-10.0, 10.0) });
/// assert_eq!(found.len(), 2);
/// assert!(found[1].1.iter().all(|(_, pe)| *pe <= 1e-12));
/// ```
#[must_use]
pub fn fields(planes: &[Plane], window: Window) -> Vec<Field> {
    let ((a, b), (c, d)) = (window.ph, window.pe);
    let whole = [(a, c), (b, c), (b, d), (a, d)];
    let own = |number: usize| {
        let mut corners = whole.to_vec();
        for (other, plane) in planes.iter().enumerate() {
            // Of two like planes the first has the field.
            if other == number || (*plane == planes[number] && other > number) {
                continue;
            }
            let above = |(ph, pe): (f64, f64)| planes[number].at(ph, pe) - plane.at(ph, pe);
            corners = cut(&corners, above, *plane == planes[number]);
            if corners.len() < 3 {
                return None;
            }
        }
        Some((number, corners))
    };
    (0..planes.len()).filter_map(own).collect()
}

/// Keeps the part of a convex polygon where a linear function is not above zero.
fn cut(corners: &[(f64, f64)], above: impl Fn((f64, f64)) -> f64, all: bool) -> Vec<(f64, f64)> {
    let mut kept = Vec::with_capacity(corners.len() + 1);
    if all {
        return kept;
    }
    for (place, from) in corners.iter().enumerate() {
        let to = corners[(place + 1) % corners.len()];
        let (x, y) = (above(*from), above(to));
        if x <= 0.0 {
            kept.push(*from);
        }
        if (x < 0.0 && y > 0.0) || (x > 0.0 && y < 0.0) {
            let share = x / (x - y);
            kept.push((from.0 + share * (to.0 - from.0), from.1 + share * (to.1 - from.1)));
        }
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: f64 = 298.15;

    /// Water lines at pH 0, 7 and 14, permanganate at pH 3 with E° 1.507 V, and the cell Zn | Zn²⁺ (0.01) ‖ Cu²⁺ (1) | Cu with
    /// −0.7618 and 0.3419 V (Electrochemical Series, CRC Handbook of Chemistry and Physics, from memory): published 0.81488,
    /// 0.40076, −0.41412, 1.223032 V within 1 mV, cell 1.16286 V within 0.5 mV, constant 2.05e37 within 10 %.
    #[test]
    fn nernst_and_the_lines_of_water() {
        let water = -237.129e3;
        for (ph, oxygen, hydrogen) in [(0.0, 1.229, 0.0), (7.0, 0.81488, -0.41412), (14.0, 0.40076, -0.82824)] {
            let (low, high) = water_lines(ph, water, ROOM);
            assert!((high - oxygen).abs() < 1e-3 && (low - hydrogen).abs() < 1e-3, "{ph} {low} {high}");
        }
        assert!((nernst(1.507, 5.0, 0.0, 8.0, 3.0, ROOM) - 1.223_032).abs() < 1e-3);
        let copper = nernst(0.3419, 2.0, 0.0, 0.0, 0.0, ROOM);
        let zinc = nernst(-0.7618, 2.0, -2.0, 0.0, 0.0, ROOM);
        assert!((copper - zinc - 1.162_86).abs() < 5e-4);
        let constant = 10f64.powf(2.0 * (0.3419 + 0.7618) / volts_per_decade(ROOM));
        assert!((constant / 2.052_925_67e37 - 1.0).abs() < 0.1, "{constant:e}");
    }

    /// Fields tile the window: areas add up to it, and the point in the middle of each is in its own.
    #[test]
    fn fields_tile_the_window() {
        let mut state = 7u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
        };
        let window = Window { ph: (-1.0, 15.0), pe: (-20.0, 25.0) };
        for _ in 0..200 {
            let mut plane = || Plane { constant: 60.0 * random(), per_ph: 8.0 * random(), per_pe: 8.0 * random() };
            let mut planes: Vec<Plane> = (0..12).map(|_| plane()).collect();
            planes.push(planes[0]);
            let found = fields(&planes, window);
            let area = |c: &[(f64, f64)]| {
                let pairs = c.iter().zip(c.iter().cycle().skip(1));
                0.5 * pairs.map(|((a, b), (x, y))| a * y - x * b).sum::<f64>()
            };
            let whole: f64 = found.iter().map(|(_, corners)| area(corners)).sum();
            assert!((whole - 16.0 * 45.0).abs() < 1e-6, "{whole}");
            for (number, corners) in &found {
                let count = corners.len() as f64;
                let middle = corners.iter().fold((0.0, 0.0), |m, c| (m.0 + c.0 / count, m.1 + c.1 / count));
                let lowest = stable(&planes, middle.0, middle.1).expect("there are planes");
                assert!((planes[lowest].at(middle.0, middle.1) - planes[*number].at(middle.0, middle.1)).abs() < 1e-9);
            }
        }
    }
}
