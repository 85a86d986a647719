//! How active are ions in strong solutions, where each pair of ions counts?
//!
//! Pitzer's equations in the form of Harvie, Møller and Weare: a Debye–Hückel term, second virial coefficients of cation and
//! anion that depend on ionic strength, constant third ones, mixing terms of like charges with their electrostatic part, and
//! interactions of neutral species. What a table lacks counts as zero: nothing specific is then known of that pair.
//!
//! Source: K. S. Pitzer, J. Phys. Chem. 77 (1973) 268; K. S. Pitzer, J. Solution Chem. 4 (1975) 249 (mixing of unlike
//! charges, approximation of J); C. E. Harvie, N. Møller, J. H. Weare, Geochim. Cosmochim. Acta 48 (1984) 723.

use super::constants::REFERENCE;
use super::water;

/// Parameter b of the Debye–Hückel term, kg^½ mol^−½.
const B: f64 = 1.2;
/// Ionic strength below which only the limiting law counts, mol/kg.
const FAINT: f64 = 1e-14;

/// Value of a parameter at a temperature, from its value at 25 °C and five coefficients.
///
/// ```text
/// P(T) = p₀ + p₁ (1/T − 1/Tᵣ) + p₂ ln(T/Tᵣ) + p₃ (T − Tᵣ) + p₄ (T² − Tᵣ²) + p₅ (1/T² − 1/Tᵣ²)
/// ```
#[must_use]
pub fn parameter(p: &[f64; 6], temperature: f64) -> f64 {
    let (t, r) = (temperature, REFERENCE);
    p[0] + p[1] * (1.0 / t - 1.0 / r)
        + p[2] * (t / r).ln()
        + p[3] * (t - r)
        + p[4] * (t * t - r * r)
        + p[5] * (1.0 / (t * t) - 1.0 / (r * r))
}

/// A cation with an anion.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pair {
    /// Place of the cation among the species.
    pub cation: usize,
    /// Place of the anion.
    pub anion: usize,
    /// β⁽⁰⁾, kg/mol.
    pub beta0: f64,
    /// β⁽¹⁾, kg/mol.
    pub beta1: f64,
    /// β⁽²⁾, kg/mol.
    pub beta2: f64,
    /// C^φ, kg²/mol².
    pub c_phi: f64,
}

/// The interactions of a set of species at one temperature.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pitzer {
    /// Charge of each species.
    pub charges: Vec<i32>,
    /// Limiting slope A_φ.
    pub slope: f64,
    /// Cation with anion.
    pub pairs: Vec<Pair>,
    /// θ of two ions of like sign; pairs of unlike charge number stand here with zero where the table has none.
    pub mixing: Vec<(usize, usize, f64)>,
    /// ψ of two ions of like sign and one of the other sign, which stands last.
    pub triples: Vec<(usize, usize, usize, f64)>,
    /// λ of a neutral species, which stands first, with any other.
    pub neutral: Vec<(usize, usize, f64)>,
    /// ζ of a neutral species, a cation and an anion.
    pub neutral_triples: Vec<(usize, usize, usize, f64)>,
}

fn g(x: f64) -> f64 {
    if x < 1e-3 { 1.0 - 2.0 * x / 3.0 } else { 2.0 * (1.0 - (1.0 + x) * (-x).exp()) / (x * x) }
}

fn g_prime(x: f64) -> f64 {
    if x < 1e-3 { -x / 3.0 } else { -2.0 * (1.0 - (1.0 + x + 0.5 * x * x) * (-x).exp()) / (x * x) }
}

/// Pitzer's J of the electrostatic mixing, and its derivative.
fn j(x: f64) -> (f64, f64) {
    if x <= 0.0 {
        return (0.0, 0.0);
    }
    let (c1, c2, c3, c4) = (4.581, 0.7237, 0.0120, 0.528);
    let power = x.powf(c4);
    let tail = c1 * x.powf(-c2) * (-c3 * power).exp();
    let below = 4.0 + tail;
    let slope = tail * (-c2 / x - c3 * c4 * power / x);
    (x / below, (below - x * slope) / (below * below))
}

/// Electrostatic mixing of charges, and its derivative to the ionic strength.
fn electrostatic(first: i32, second: i32, slope: f64, strength: f64) -> (f64, f64) {
    if first == second {
        return (0.0, 0.0);
    }
    let (zi, zj) = (f64::from(first.abs()), f64::from(second.abs()));
    let x = |product: f64| 6.0 * product * slope * strength.sqrt();
    let (xij, xii, xjj) = (x(zi * zj), x(zi * zi), x(zj * zj));
    let ((jij, dij), (jii, dii), (jjj, djj)) = (j(xij), j(xii), j(xjj));
    let theta = zi * zj / (4.0 * strength) * (jij - 0.5 * jii - 0.5 * jjj);
    let bend = zi * zj / (8.0 * strength * strength) * (xij * dij - 0.5 * xii * dii - 0.5 * xjj * djj);
    (theta, bend - theta / strength)
}

impl Pitzer {
    /// Species without interactions yet, at a temperature in K.
    #[must_use]
    pub fn new(charges: Vec<i32>, temperature: f64) -> Self {
        let mut mixing = Vec::new();
        for first in 0..charges.len() {
            for second in first + 1..charges.len() {
                if charges[first] * charges[second] > 0 && charges[first] != charges[second] {
                    mixing.push((first, second, 0.0));
                }
            }
        }
        Self { charges, slope: water::slope(temperature), mixing, ..Self::default() }
    }

    /// Sets θ of a pair of like sign.
    pub fn set_mixing(&mut self, first: usize, second: usize, theta: f64) {
        let (first, second) = (first.min(second), first.max(second));
        match self.mixing.iter_mut().find(|(a, b, _)| (*a, *b) == (first, second)) {
            Some(entry) => entry.2 = theta,
            None => self.mixing.push((first, second, theta)),
        }
    }

    /// Natural logarithms of the activity coefficients, and of the activity of water.
    ///
    /// | argument     | symbol | unit   |
    /// |--------------|--------|--------|
    /// | `molalities` | m      | mol/kg |
    /// | `ln_gamma`   | ln γ   | 1, overwritten |
    pub fn activities(&self, molalities: &[f64], ln_gamma: &mut [f64]) -> f64 {
        let m = molalities;
        let (mut twice, mut big_z, mut sum) = (0.0, 0.0, 0.0);
        for (molality, charge) in m.iter().zip(&self.charges) {
            let z = f64::from(charge.abs());
            twice += molality * z * z;
            big_z += molality * z;
            sum += molality;
        }
        let strength = 0.5 * twice;
        ln_gamma.fill(0.0);
        if strength < FAINT {
            return -water::MOLAR_MASS * sum;
        }
        let root = strength.sqrt();
        let mut f = -self.slope * (root / (1.0 + B * root) + 2.0 / B * (1.0 + B * root).ln());
        let mut osmotic = -self.slope * strength * root / (1.0 + B * root);
        let mut third = 0.0;
        for pair in &self.pairs {
            self.add_pair(pair, m, (strength, root, big_z), ln_gamma, (&mut f, &mut osmotic, &mut third));
        }
        self.add_mixing(m, strength, ln_gamma, &mut f, &mut osmotic);
        for &(first, second, other, psi) in &self.triples {
            let (a, b, c) = (m[first], m[second], m[other]);
            ln_gamma[first] += psi * b * c;
            ln_gamma[second] += psi * a * c;
            ln_gamma[other] += psi * a * b;
            osmotic += psi * a * b * c;
        }
        for (value, charge) in ln_gamma.iter_mut().zip(&self.charges) {
            let z = f64::from(charge.abs());
            *value += z * z * f + z * third;
        }
        self.add_neutral(m, ln_gamma, &mut osmotic);
        -water::MOLAR_MASS * (sum + 2.0 * osmotic)
    }

    fn add_pair(
        &self,
        pair: &Pair,
        m: &[f64],
        (strength, root, big_z): (f64, f64, f64),
        ln_gamma: &mut [f64],
        (f, osmotic, third): (&mut f64, &mut f64, &mut f64),
    ) {
        let (mc, ma) = (m[pair.cation], m[pair.anion]);
        let (zc, za) = (self.charges[pair.cation].abs(), self.charges[pair.anion].abs());
        let alpha1 = if zc > 1 && za > 1 && zc == za { 1.4 } else { 2.0 };
        let alpha2 = if zc.min(za) > 1 && zc.max(za) > 2 { 50.0 } else { 12.0 };
        let (x1, x2) = (alpha1 * root, alpha2 * root);
        let mut b = pair.beta0 + pair.beta1 * g(x1);
        let mut slope = pair.beta1 * g_prime(x1);
        let mut b_phi = pair.beta0 + pair.beta1 * (-x1).exp();
        if pair.beta2 != 0.0 {
            b += pair.beta2 * g(x2);
            slope += pair.beta2 * g_prime(x2);
            b_phi += pair.beta2 * (-x2).exp();
        }
        let c = pair.c_phi / (2.0 * f64::from(zc * za).sqrt());
        ln_gamma[pair.cation] += ma * (2.0 * b + big_z * c);
        ln_gamma[pair.anion] += mc * (2.0 * b + big_z * c);
        *f += mc * ma * slope / strength;
        *third += mc * ma * c;
        *osmotic += mc * ma * (b_phi + big_z * c);
    }

    fn add_mixing(&self, m: &[f64], strength: f64, ln_gamma: &mut [f64], f: &mut f64, osmotic: &mut f64) {
        // Few different pairs of charges occur; the last one is kept.
        let mut kept = (0, 0, 0.0, 0.0);
        for &(first, second, theta) in &self.mixing {
            let (zi, zj) = (self.charges[first].abs(), self.charges[second].abs());
            let key = (zi.min(zj), zi.max(zj));
            if (kept.0, kept.1) != key {
                let (value, slope) = electrostatic(key.0, key.1, self.slope, strength);
                kept = (key.0, key.1, value, slope);
            }
            let (phi, slope) = (theta + kept.2, kept.3);
            let (a, b) = (m[first], m[second]);
            ln_gamma[first] += 2.0 * b * phi;
            ln_gamma[second] += 2.0 * a * phi;
            *f += a * b * slope;
            *osmotic += a * b * (phi + strength * slope);
        }
    }

    fn add_neutral(&self, m: &[f64], ln_gamma: &mut [f64], osmotic: &mut f64) {
        for &(neutral, other, lambda) in &self.neutral {
            if neutral == other {
                ln_gamma[neutral] += 2.0 * m[neutral] * lambda;
                *osmotic += 0.5 * m[neutral] * m[neutral] * lambda;
                continue;
            }
            ln_gamma[neutral] += 2.0 * m[other] * lambda;
            ln_gamma[other] += 2.0 * m[neutral] * lambda;
            *osmotic += m[neutral] * m[other] * lambda;
        }
        for &(neutral, cation, anion, zeta) in &self.neutral_triples {
            let (n, c, a) = (m[neutral], m[cation], m[anion]);
            ln_gamma[neutral] += zeta * c * a;
            ln_gamma[cation] += zeta * n * a;
            ln_gamma[anion] += zeta * n * c;
            *osmotic += zeta * n * c * a;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Sodium chloride alone: K. S. Pitzer and G. Mayorga, J. Phys. Chem. 77 (1973) 2300 (β⁽⁰⁾ 0.0765, β⁽¹⁾ 0.2664, C^φ
    /// 0.00127, from memory) against the coefficients of Robinson and Stokes, Electrolyte Solutions, Appendix 8.10: to 1.5 %.
    #[test]
    fn sodium_chloride() {
        let mut salt = Pitzer::new(vec![1, -1], 298.15);
        salt.pairs.push(Pair { cation: 0, anion: 1, beta0: 0.0765, beta1: 0.2664, beta2: 0.0, c_phi: 0.00127 });
        for (molality, gamma) in [(0.1, 0.778), (0.5, 0.681), (1.0, 0.657), (2.0, 0.668), (3.0, 0.714)] {
            let mut ln_gamma = [0.0; 2];
            let ln_water = salt.activities(&[molality, molality], &mut ln_gamma);
            assert!((ln_gamma[0].exp() / gamma - 1.0).abs() < 0.015, "{molality}: {}", ln_gamma[0].exp());
            assert!(ln_water < 0.0);
        }
        // Osmotic coefficient at 1 mol/kg: 0.936 (Robinson and Stokes).
        let ln_water = salt.activities(&[1.0, 1.0], &mut [0.0; 2]);
        assert!((-ln_water / (2.0 * water::MOLAR_MASS) - 0.936).abs() < 0.003);
    }

    /// Gibbs–Duhem: along a mixture, Σ m d ln γ + 55.5 d ln a(w) + dΣm is zero, whatever the parameters.
    #[test]
    fn activities_are_those_of_one_free_energy() {
        let mut mix = Pitzer::new(vec![1, 2, -1, -2, 0], 298.15);
        mix.pairs.push(Pair { cation: 0, anion: 2, beta0: 0.1, beta1: 0.3, beta2: 0.0, c_phi: 0.004 });
        mix.pairs.push(Pair { cation: 1, anion: 3, beta0: 0.2, beta1: 3.1, beta2: -37.0, c_phi: 0.02 });
        mix.pairs.push(Pair { cation: 0, anion: 3, beta0: 0.03, beta1: 1.0, beta2: 0.0, c_phi: 0.005 });
        mix.set_mixing(0, 1, 0.07);
        mix.triples.push((0, 1, 3, -0.015));
        mix.neutral.push((4, 0, 0.085));
        mix.neutral.push((4, 4, -0.01));
        mix.neutral_triples.push((4, 0, 3, -0.015));
        let at = |s: f64| [1.0 * s, 0.4 * s, 0.6 * s, 0.6 * s, 0.2 * s];
        let (mut low, mut high) = ([0.0; 5], [0.0; 5]);
        let step = 1e-5;
        let before = mix.activities(&at(1.0 - step), &mut low);
        let after = mix.activities(&at(1.0 + step), &mut high);
        let sum: f64 = at(1.0).iter().sum();
        let change: f64 = at(1.0).iter().zip(low.iter().zip(&high)).map(|(m, (l, h))| m * (h - l)).sum();
        let total = change + (after - before) / water::MOLAR_MASS + 2.0 * step * sum;
        assert!(total.abs() < 1e-9, "{total}");
    }
}
