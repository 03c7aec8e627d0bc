//! Exact fractions, so that what was typed reaches millimetres with one rounding.

use super::{Length, Unit};

/// A fraction in lowest terms, denominator above zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ratio {
    num: i128,
    den: i128,
}

impl Ratio {
    /// `None` for a zero denominator.
    pub(super) fn new(num: i128, den: i128) -> Option<Self> {
        if den <= 0 {
            return None;
        }
        let g = gcd(num.unsigned_abs(), den.unsigned_abs());
        let g = i128::try_from(g).ok().filter(|g| *g > 0)?;
        Some(Self {
            num: num / g,
            den: den / g,
        })
    }

    /// `digits` with the last `places` of them behind the decimal mark.
    pub(super) fn decimal(digits: i128, places: u32) -> Option<Self> {
        Self::new(digits, 10_i128.checked_pow(places)?)
    }

    pub(super) fn plus(self, o: Self) -> Option<Self> {
        let left = self.num.checked_mul(o.den)?;
        let right = o.num.checked_mul(self.den)?;
        Self::new(left.checked_add(right)?, self.den.checked_mul(o.den)?)
    }

    /// This many of `unit`, in nanometres.
    pub(super) fn of(self, unit: Unit) -> Option<Self> {
        Self::new(self.num.checked_mul(unit.nm())?, self.den)
    }

    pub(super) fn negated(self) -> Self {
        Self {
            num: -self.num,
            den: self.den,
        }
    }

    pub(super) fn is_whole(self) -> bool {
        self.den == 1
    }

    pub(super) fn below(self, n: i128) -> bool {
        n.checked_mul(self.den).is_none_or(|limit| self.num < limit)
    }

    /// Nanometres to a length: exact operands, one division, so the nearest double. Zero never
    /// has a sign.
    pub(super) fn nm_to_length(self) -> Option<Length> {
        let mm = Self::new(self.num, self.den.checked_mul(Unit::Mm.nm())?)?;
        Length::try_from_mm(mm.to_f64()).ok()
    }

    /// The nearest double where both terms are below 2^53; else within two roundings more.
    pub(super) fn to_f64(self) -> f64 {
        self.num as f64 / self.den as f64
    }
}

fn gcd(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}
