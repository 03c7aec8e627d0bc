//! How much wider than its size a hole may come out: tolerance classes H12 to H14 (ISO 286-1:2010).
//! An H hole is never smaller than its size.

use crate::units::Length;

/// A class of holes, by its grade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HoleClass {
    /// For fine clearance holes.
    H12,
    /// For medium ones.
    H13,
    /// For coarse ones, and what a drill by hand is held to where nothing else is said.
    H14,
}

/// Sizes up to and including this, and IT12, IT13, IT14 there, mm (ISO 286-1:2010, table 1).
const GRADES: [(f64, [f64; 3]); 8] = [
    (3.0, [0.10, 0.14, 0.25]),
    (6.0, [0.12, 0.18, 0.30]),
    (10.0, [0.15, 0.22, 0.36]),
    (18.0, [0.18, 0.27, 0.43]),
    (30.0, [0.21, 0.33, 0.52]),
    (50.0, [0.25, 0.39, 0.62]),
    (80.0, [0.30, 0.46, 0.74]),
    (120.0, [0.35, 0.54, 0.87]),
];

impl HoleClass {
    /// As it is written.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::H12 => "H12",
            Self::H13 => "H13",
            Self::H14 => "H14",
        }
    }

    /// How much wider than this size a hole of the class may be; nothing for a size the table does
    /// not have.
    #[must_use]
    pub fn wider(self, size: Length) -> Option<Length> {
        let at = match self {
            Self::H12 => 0,
            Self::H13 => 1,
            Self::H14 => 2,
        };
        GRADES
            .iter()
            .find(|(up_to, _)| size > Length::ZERO && size.mm() <= up_to + 1e-9)
            .map(|(_, grades)| Length::from_mm(grades[at]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(class: HoleClass, size: f64) -> Option<i64> {
        class.wider(Length::from_mm(size)).map(Length::to_um)
    }

    /// The grades are 160, 250 and 400 times the standard's unit, i = 0.45 ∛D + 0.001 D µm, D the
    /// geometric mean of the range, rounded (ISO 286-1:2010, 4.2; not for sizes up to 3 mm).
    #[test]
    fn grades_are_multiples_of_the_standards_unit() {
        let mut from = 3.0_f64;
        for (to, _) in &GRADES[1..] {
            let d = libm::sqrt(from * to);
            let unit = 0.45 * libm::cbrt(d) + 0.001 * d;
            for (class, times) in [
                (HoleClass::H12, 160.0),
                (HoleClass::H13, 250.0),
                (HoleClass::H14, 400.0),
            ] {
                #[allow(clippy::cast_precision_loss, reason = "a few hundred")]
                let is = um(class, *to).map_or(0.0, |um| um as f64);
                let should = unit * times;
                assert!((is - should).abs() < 0.05 * should, "{to} {is} {should}");
            }
            from = *to;
        }
    }

    #[test]
    fn a_range_holds_its_upper_end() {
        assert_eq!(um(HoleClass::H14, 10.0), Some(360));
        assert_eq!(um(HoleClass::H14, 10.001), Some(430));
        assert_eq!(um(HoleClass::H13, 11.0), Some(270));
        assert_eq!(um(HoleClass::H12, 0.0), None);
        assert_eq!(um(HoleClass::H12, 121.0), None);
    }
}
