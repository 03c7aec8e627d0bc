//! Measured numbers on the screen.

use samespot_core::units::{DecimalStyle, Length, Unit, exact, fixed_mm};

/// An error or allowance in mm with one decimal: `1.2`.
#[must_use]
pub fn tenth(length: Length) -> String {
    fixed_mm(length, 1)
}

/// A size as short as it goes: `184`, `44.45`.
#[must_use]
pub fn size(length: Length) -> String {
    exact(length, Unit::Mm, DecimalStyle::Point)
}

/// A share of the largest, from 0 to 1, for a bar; nothing where there is none.
#[must_use]
pub fn share(part: Length, largest: Length) -> f64 {
    if largest > Length::ZERO {
        (part.mm() / largest.mm()).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bars_stay_inside_their_box() {
        let mm = Length::from_mm;
        assert!((share(mm(1.0), mm(2.0)) - 0.5).abs() < 1e-12);
        assert!(share(mm(3.0), mm(2.0)) <= 1.0);
        assert!(share(mm(1.0), mm(0.0)) <= 0.0);
    }
}
