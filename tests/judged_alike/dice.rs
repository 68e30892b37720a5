//! Chance that comes out the same from the same seed, on every machine and in every version of every crate.

pub struct Dice(pub u64);

impl Dice {
    /// SplitMix64 (Steele, Lea, Flood 2014; from memory).
    pub fn roll(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.roll() % n.max(1) as u64).expect("below n")
    }

    pub fn between(&mut self, least: i64, most: i64) -> i64 {
        least + i64::try_from(self.roll() % most.abs_diff(least).saturating_add(1)).expect("a small span")
    }

    pub fn percent(&mut self, chance: usize) -> bool {
        self.below(100) < chance
    }

    pub fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }

    pub fn of_mut<'a, T, const N: usize>(&mut self, all: [&'a mut T; N]) -> &'a mut T {
        let at = self.below(N);
        all.into_iter().nth(at).expect("one of them")
    }

    /// From 0 up to 1.
    pub fn share(&mut self) -> f64 {
        (self.roll() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Of the sizes a check can lead to, and far beyond; often with few digits, or exactly between two tenths or wholes.
    pub fn figure(&mut self) -> f64 {
        let size = 10_f64.powi(i32::try_from(self.between(-9, 12)).expect("small"));
        match self.below(4) {
            0 => self.share() * size,
            1 => self.between(-4_000, 4_000) as f64 / 4.0,
            2 => self.between(-100_000, 100_000) as f64 / 1_000.0,
            _ => -self.share() * size,
        }
    }

    pub fn maybe<T>(&mut self, chance: usize, make: impl FnOnce(&mut Self) -> T) -> Option<T> {
        if self.percent(chance) { Some(make(self)) } else { None }
    }
}
