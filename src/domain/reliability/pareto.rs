//! What comes most often, first, and how much of the whole the first few make.

/// One kind, with its share of the whole and that of all up to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked<T> {
    pub kind: T,
    pub count: i64,
    /// Between 0 and 1.
    pub share: f64,
    pub up_to_here: f64,
}

/// Most first; of as many, the lesser kind first, so that the order is always the same. What never came is left out.
pub fn pareto<T: Ord>(counts: impl IntoIterator<Item = (T, i64)>) -> Vec<Ranked<T>> {
    let mut counts: Vec<(T, i64)> = counts.into_iter().filter(|(_, n)| *n > 0).collect();
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    let whole: i64 = counts.iter().map(|(_, n)| n).sum();
    let of = |n: i64| {
        #[expect(clippy::cast_precision_loss, reason = "nothing comes 2^53 times")]
        let share = n as f64 / whole as f64;
        share
    };
    let mut sum = 0;
    counts
        .into_iter()
        .map(|(kind, count)| {
            sum += count;
            Ranked { kind, count, share: of(count), up_to_here: of(sum) }
        })
        .collect()
}

/// How many of the first kinds make at least this share of the whole.
pub fn first_to_make<T>(ranked: &[Ranked<T>], share: f64) -> usize {
    ranked.iter().position(|r| r.up_to_here >= share - 1e-12).map_or(ranked.len(), |n| n + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// HSAUR's pistonrings: 166 failures of four compressors; percentages computed with scipy's Python.
    #[test]
    fn piston_rings() {
        let ranked = pareto([("C1", 46), ("C2", 33), ("C3", 38), ("C4", 49), ("C5", 0)]);
        let expected = [
            ("C4", 29.518_072, 29.518_072),
            ("C1", 27.710_843, 57.228_916),
            ("C3", 22.891_566, 80.120_482),
            ("C2", 19.879_518, 100.0),
        ];
        assert_eq!(ranked.len(), expected.len());
        for (r, (kind, share, up_to)) in ranked.iter().zip(expected) {
            assert_eq!(r.kind, kind);
            assert!((r.share * 100.0 - share).abs() < 1e-6 && (r.up_to_here * 100.0 - up_to).abs() < 1e-6);
        }
        assert_eq!(first_to_make(&ranked, 0.8), 3);
        assert_eq!(first_to_make::<&str>(&[], 0.8), 0);
    }
}
