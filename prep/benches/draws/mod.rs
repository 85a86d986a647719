//! Where do random solutions of the benchmarks come from?
//!
//! A small generator of its own, so that a seed means the same solutions for ever: splitmix64 (Steele, Lea, Flood, OOPSLA 2014,
//! from memory). Neglected: it is good enough to choose ions, not to draw from a posterior.

/// Numbers from a seed.
pub struct Draws(pub u64);

impl Draws {
    /// Evenly between 0 and 1.
    pub fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.next() * count as f64) as usize
    }
}
