//! Sums whose answers are known, worked out where the program runs: a browser that gets them wrong must
//! not be trusted with a size.

use core::hint::black_box;

/// What one of them should come to, to the last bit where the standard says so.
struct Known {
    found: f64,
    answer: f64,
    /// Units in the last place that a good library may be off.
    within: u64,
}

const fn exactly(found: f64, answer: f64) -> Known {
    Known {
        found,
        answer,
        within: 0,
    }
}

const fn nearly(found: f64, answer: f64) -> Known {
    Known {
        found,
        answer,
        within: 1,
    }
}

impl Known {
    fn holds(&self) -> bool {
        self.found.to_bits().abs_diff(self.answer.to_bits()) <= self.within
    }
}

/// Arithmetic as IEEE 754-2019 has it, roots, sines and logarithms (answers by mpmath to 30 digits,
/// rounded), whole numbers modulo 2⁶⁴, and numbers read from text and written again.
fn sums() -> [Known; 10] {
    let of = black_box::<f64>;
    // SplitMix64's first number from 0 (Steele, Lea, Flood 2014): 0xe220a8397b1dcdaf.
    let mut z = black_box(0_u64).wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^= z >> 31;
    let whole = z == 0xe220_a839_7b1d_cdaf;
    let text: f64 = black_box("1879.6").parse().unwrap_or(0.0);
    [
        exactly(of(0.1) + of(0.2), 0.300_000_000_000_000_04),
        exactly(of(1.0) / of(3.0), 0.333_333_333_333_333_3),
        // Numbers longer than the standard's would have 1.
        exactly((of(1e16) + of(1.0)) - of(1e16), 0.0),
        exactly(libm::sqrt(of(2.0)), core::f64::consts::SQRT_2),
        nearly(libm::hypot(of(231.0), of(160.0)), 281.0),
        nearly(libm::sin(of(1.0)), 0.841_470_984_807_896_5),
        nearly(libm::atan2(of(3.0), of(4.0)), 0.643_501_108_793_284_4),
        nearly(libm::log(of(10.0)), core::f64::consts::LN_10),
        exactly(if whole { 1.0 } else { 0.0 }, 1.0),
        exactly(text, 74.0 * 25.4),
    ]
}

/// Every sum comes to its known answer.
#[must_use]
pub fn computes_right() -> bool {
    sums().iter().all(Known::holds)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_sums_come_to_their_answers() {
        for (n, sum) in sums().iter().enumerate() {
            assert!(sum.holds(), "{n}: {} instead of {}", sum.found, sum.answer);
        }
        assert!(computes_right());
    }

    #[test]
    fn a_sum_that_is_off_is_noticed() {
        let next = |x: f64| f64::from_bits(x.to_bits() + 1);
        assert!(!exactly(next(0.5), 0.5).holds());
        assert!(nearly(next(0.5), 0.5).holds());
        assert!(!nearly(next(next(0.5)), 0.5).holds());
        assert!(!exactly(f64::NAN, 0.5).holds());
    }
}
