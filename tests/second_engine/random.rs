//! Random numbers from a seed: SplitMix64 (Steele, Lea and Flood 2014, from memory, not checked against the text).

pub struct Rng(u64);

impl Rng {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x5851_F42D_4C95_7F2D)
    }

    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// At least `low`, below `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From `low` to `high`, both included.
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.bits() % (high - low + 1) as u64) as usize
    }

    pub fn chance(&mut self, share: f64) -> bool {
        self.between(0.0, 1.0) < share
    }

    pub fn pick<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.whole(0, from.len() - 1)].clone()
    }
}
