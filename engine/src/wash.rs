//! What do washings leave, and what do they take?
//!
//! A cake holds a volume of liquor; a wash mixes with it and drains off again down to the same volume. With an efficiency E
//! (1 for perfect mixing; 0.5 to 0.9 in a filter with channels),
//!
//! ```text
//! c' = c · (1 − E · V / (V + V_h))
//! ```
//! Each wash also takes product at its solubility. Neglected: what is shut up inside crystals or adsorbed (does not wash
//! out at all), a cake that cracks, a product that turns colloidal.
//!
//! Source: dilution by portions, any text of analytical chemistry; displacement and mixing limits after R. J. Wakeman, E. S.
//! Tarleton, Filtration (1999).

/// What one wash leaves of what is dissolved in the held liquor, a share.
///
/// | argument     | symbol | unit | range |
/// |--------------|--------|------|-------|
/// | `volume`     | V      | m³   | ≥ 0   |
/// | `held`       | V_h    | m³   | > 0   |
/// | `efficiency` | E      | 1    | 0 to 1 |
#[must_use]
pub fn left_by_one(volume: f64, held: f64, efficiency: f64) -> f64 {
    1.0 - efficiency * volume / (volume + held)
}

/// What several equal washes leave, a share.
///
/// ```
/// // Four washes of 100 mL on 60 mL of held liquor leave 2 %, one of 400 mL leaves 13 %.
/// let small = engine::wash::left_by(4, 100e-6, 60e-6, 1.0);
/// let large = engine::wash::left_by(1, 400e-6, 60e-6, 1.0);
/// assert!((small - 0.0198).abs() < 1e-4 && (large - 0.1304).abs() < 1e-4);
/// ```
#[must_use]
pub fn left_by(count: u32, volume: f64, held: f64, efficiency: f64) -> f64 {
    left_by_one(volume, held, efficiency).powi(i32::try_from(count).unwrap_or(i32::MAX))
}

/// What a steady stream leaves of a cake that mixes ideally, a share: exp(−E V / V_h).
#[must_use]
pub fn left_by_stream(volume: f64, held: f64, efficiency: f64) -> f64 {
    (-efficiency * volume / held).exp()
}

/// What a steady stream leaves where it pushes the liquor out like a plug, a share.
#[must_use]
pub fn left_by_plug(volume: f64, held: f64) -> f64 {
    (1.0 - volume / held).max(0.0)
}

/// Volume of each of so many washes that leave a share, m³; `None` where the efficiency does not allow it.
#[must_use]
pub fn volume_for(share: f64, count: u32, held: f64, efficiency: f64) -> Option<f64> {
    let each = share.powf(1.0 / f64::from(count.max(1)));
    let taken = (1.0 - each) / efficiency;
    (share > 0.0 && taken < 1.0).then(|| held * taken / (1.0 - taken))
}

/// A plan of washing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// How many washes.
    pub count: u32,
    /// Volume of each, m³.
    pub volume: f64,
    /// Product taken along, kg.
    pub lost: f64,
}

/// Plans that reach a share, from one wash to `most`; a wash smaller than `least` is made that large, for it must cover the
/// cake.
#[must_use]
pub fn plans(share: f64, held: f64, efficiency: f64, solubility: f64, least: f64, most: u32) -> Vec<Plan> {
    let plan = |count: u32| {
        let volume = volume_for(share, count, held, efficiency)?.max(least);
        Some(Plan { count, volume, lost: lost(count, volume, solubility, 1.0) })
    };
    (1..=most).filter_map(plan).collect()
}

/// The plan to be taken: the fewest washes beyond which one more saves less than a tenth of the water.
#[must_use]
pub fn best(plans: &[Plan]) -> Option<Plan> {
    let water = |plan: &Plan| f64::from(plan.count) * plan.volume;
    let enough = plans.windows(2).find(|pair| water(&pair[1]) > 0.9 * water(&pair[0])).map(|pair| pair[0]);
    enough.or_else(|| plans.last().copied())
}

/// Product that washes take along, kg.
///
/// | argument     | unit  | meaning |
/// |--------------|-------|---------|
/// | `solubility` | kg/m³ | of the product in the wash liquor |
/// | `saturation` | 1     | how far the wash is saturated when it drains |
#[must_use]
pub fn lost(count: u32, volume: f64, solubility: f64, saturation: f64) -> f64 {
    f64::from(count) * volume * solubility * saturation
}

/// Volume of liquor that a wet cake holds, m³, from its masses wet and dry and the density of the liquor.
#[must_use]
pub fn held_by_weight(wet: f64, dry: f64, density: f64) -> f64 {
    ((wet - dry) / density).max(0.0)
}

/// Held liquor from a series of readings proportional to what is dissolved in equal washes, such as conductivities less that
/// of the water: m³ with its standard uncertainty; `None` with fewer than two readings above zero or where they do not fall.
///
/// ```text
/// ln κ = a + i · ln q,   V_h = V · q / (1 − q)
/// ```
#[must_use]
pub fn held_by_readings(readings: &[f64], volume: f64) -> Option<(f64, f64)> {
    let logs: Vec<f64> = readings.iter().take_while(|r| **r > 0.0).map(|r| r.ln()).collect();
    let n = logs.len() as f64;
    if logs.len() < 2 {
        return None;
    }
    let (mean_i, mean) = (0.5 * (n - 1.0), logs.iter().sum::<f64>() / n);
    let spread: f64 = (0..logs.len()).map(|i| (i as f64 - mean_i).powi(2)).sum();
    let slope = logs.iter().enumerate().map(|(i, log)| (i as f64 - mean_i) * (log - mean)).sum::<f64>() / spread;
    let q = slope.exp();
    if q >= 1.0 {
        return None;
    }
    let rest: f64 = logs.iter().enumerate().map(|(i, log)| (log - mean - slope * (i as f64 - mean_i)).powi(2)).sum();
    let deviation = if logs.len() > 2 { (rest / (n - 2.0) / spread).sqrt() } else { f64::NAN };
    // dV_h/d slope = V q / (1 − q)².
    Some((volume * q / (1.0 - q), volume * q / (1.0 - q).powi(2) * deviation))
}

/// What equal extractions leave in water, a share, where the other liquid takes up `distribution` times as much per volume.
///
/// ```text
/// (1 / (1 + K V / V_w))ⁿ
/// ```
#[must_use]
pub fn left_by_extraction(count: u32, volume: f64, water: f64, distribution: f64) -> f64 {
    (1.0 + distribution * volume / water).powi(i32::try_from(count).unwrap_or(i32::MAX)).recip()
}
