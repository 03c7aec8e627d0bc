//! What a tape, rule or other instrument gets wrong, and what of it is shared.
//!
//! A reading is `(1 + s)·d + o·[hook] + ε` (design/11, *Instruments*): the scale error `s` and
//! the hook error `o` belong to one tape and spoil all its readings alike, so reading twice does
//! not halve them; only ε is fresh each time.

use crate::units::Length;

/// √3: a bound ±a with nothing else known counts as a standard deviation of a/√3
/// (JCGM 100:2008, 4.3.7).
pub(crate) const ROOT_3: f64 = 1.732_050_807_568_877_2;

/// Accuracy class of a material measure of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TapeClass {
    /// Class I.
    I,
    /// Class II: what a good pocket tape is.
    #[default]
    II,
    /// Class III.
    III,
}

impl TapeClass {
    /// The constants a (mm), b (mm per metre) and c (mm, when one end is a surface or a hook):
    /// OIML R 35-1:2007, 3.2 and 3.3; the same figures are in Directive 2014/32/EU, annex X
    /// chapter I.
    const fn constants(self) -> (f64, f64, f64) {
        match self {
            Self::I => (0.1, 0.1, 0.1),
            Self::II => (0.3, 0.2, 0.2),
            Self::III => (0.6, 0.4, 0.3),
        }
    }

    /// Largest error allowed over a length, which is rounded up to the next whole metre first.
    ///
    /// ```
    /// use samespot_core::readings::TapeClass;
    /// use samespot_core::units::Length;
    /// let allowed = TapeClass::II.largest_error(Length::from_mm(1001.0));
    /// assert!((allowed.mm() - 0.7).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn largest_error(self, length: Length) -> Length {
        let (a, b, _) = self.constants();
        let metres = libm::ceil(length.mm().abs() / 1000.0).max(1.0);
        Length::from_mm(a + b * metres)
    }

    /// What a hook or butt end may add to that.
    #[must_use]
    pub const fn hook_error(self) -> Length {
        Length::from_mm(self.constants().2)
    }
}

/// One tape or rule, whose scale and hook errors are shared by all its readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tape {
    /// How far out its scale may be.
    pub scale: ScaleError,
    /// Largest error of its hook or butt end (the class's c); none where it has no hook.
    pub hook: Length,
    /// Largest error for each metre because the shop is not at 20 °C and the tape grows otherwise
    /// than the casting; counted from [`WARMTH_FROM`] on.
    pub warmth: Length,
    /// What one reading adds on its own.
    pub each: ReadingError,
}

/// Shorter readings are not told from their repeats by how warm it is (design/10 §1.8).
pub const WARMTH_FROM: Length = Length::from_mm(2000.0);

/// Steel against a glass-fibre casting, a metre long and ten degrees off: 12·10⁻⁶ against about
/// 30·10⁻⁶ for each degree (design/10 §1.8; handbook values, from memory).
const STEEL_WARMTH: Length = Length::from_mm(0.19);

/// How far out a scale may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ScaleError {
    /// By its class.
    Class(TapeClass),
    /// As typed in from a calibration: a largest error for each metre.
    PerMetre(Length),
    /// A comparison (rod, lay-back, calipers set to the work) has none.
    Comparison,
}

/// What one reading adds on its own, fresh each time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingError {
    /// Smallest step read, q; counts as q/√12 (JCGM 100:2008, F.2.2.1).
    pub resolution: Length,
    /// Standard deviation of laying and reading the same length again.
    pub repeatability: Length,
    /// Standard deviation of setting the tape on one mark; once for each mark of the reading.
    pub pointing: Length,
}

impl Tape {
    /// A pocket tape of a class, read to the millimetre.
    ///
    /// Repeatability 0.3 mm and pointing 0.15 mm at each mark are common practice, no source:
    /// with class II over 1 m from a mark they give ±1.1 mm (k = 2), the figure workshops work to.
    #[must_use]
    pub const fn of_class(class: TapeClass) -> Self {
        Self {
            scale: ScaleError::Class(class),
            hook: class.hook_error(),
            warmth: STEEL_WARMTH,
            each: ReadingError {
                resolution: Length::from_mm(1.0),
                repeatability: Length::from_mm(0.3),
                pointing: Length::from_mm(0.15),
            },
        }
    }

    /// An engraved steel rule of class I without a hook, read to half a millimetre.
    ///
    /// Repeatability 0.2 mm and pointing 0.15 mm: common practice, no source.
    #[must_use]
    pub const fn steel_rule() -> Self {
        Self {
            scale: ScaleError::Class(TapeClass::I),
            hook: Length::ZERO,
            warmth: STEEL_WARMTH,
            each: ReadingError {
                resolution: Length::from_mm(0.5),
                repeatability: Length::from_mm(0.2),
                pointing: Length::from_mm(0.15),
            },
        }
    }

    /// A trammel or outside calipers: set to the work, then read against a steel rule.
    ///
    /// The rule's scale and step are those of [`Tape::steel_rule`]; setting points to marks and
    /// rule is done once more, so repeatability is 0.3 mm (common practice, no source).
    #[must_use]
    pub const fn set_to_the_work() -> Self {
        let mut tool = Self::steel_rule();
        tool.each.repeatability = Length::from_mm(0.3);
        tool
    }

    /// Standard deviation of the share of the scale's error in a reading, for each millimetre
    /// read: mpe(L)/(√3·L), evaluated at the reading L, with what warmth adds to a long one.
    pub(crate) fn scale_sd_per_mm(&self, reading_mm: f64) -> f64 {
        let length_mm = reading_mm.abs().max(1.0);
        let warmth = match self.scale {
            ScaleError::Class(_) if length_mm > WARMTH_FROM.mm() => {
                self.warmth.mm() / (1000.0 * ROOT_3)
            }
            _ => 0.0,
        };
        let own = match self.scale {
            ScaleError::Class(class) => {
                class.largest_error(Length::from_mm(length_mm)).mm() / (ROOT_3 * length_mm)
            }
            ScaleError::PerMetre(bound) => bound.mm().abs() / (1000.0 * ROOT_3),
            ScaleError::Comparison => 0.0,
        };
        if warmth > 0.0 {
            libm::hypot(own, warmth)
        } else {
            own
        }
    }

    /// Standard deviation of the hook's error, mm.
    pub(crate) fn hook_sd_mm(&self) -> f64 {
        self.hook.mm().abs() / ROOT_3
    }
}

impl Default for Tape {
    fn default() -> Self {
        Self::of_class(TapeClass::II)
    }
}

impl ReadingError {
    /// Variance of one reading that touches so many marks, mm².
    pub(crate) fn variance_mm2(&self, marks: usize) -> f64 {
        let (q, r, p) = (
            self.resolution.mm(),
            self.repeatability.mm(),
            self.pointing.mm(),
        );
        let at_marks = match marks {
            0 => 0.0,
            1 => 1.0,
            _ => 2.0,
        };
        q * q / 12.0 + r * r + at_marks * p * p
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(class: TapeClass, length_mm: f64, allowed_mm: f64) {
        let got = class.largest_error(Length::from_mm(length_mm)).mm();
        // The table is given to a tenth; the sum of two decimals is exact to rounding.
        assert!(
            (got - allowed_mm).abs() < 1e-12,
            "{class:?} {length_mm}: {got}"
        );
    }

    #[test]
    fn largest_errors_are_those_of_the_recommendation() {
        // OIML R 35-1 table: class, length, largest error (design/10, 1.8).
        check(TapeClass::I, 1000.0, 0.2);
        check(TapeClass::I, 3000.0, 0.4);
        check(TapeClass::II, 350.0, 0.5);
        check(TapeClass::II, 1001.0, 0.7);
        check(TapeClass::II, 2000.0, 0.7);
        check(TapeClass::II, 3000.0, 0.9);
        check(TapeClass::III, 1000.0, 1.0);
        check(TapeClass::III, 3000.0, 1.8);
    }

    #[test]
    fn a_long_reading_carries_how_warm_the_shop_is() {
        let tape = Tape::of_class(TapeClass::II);
        let sd = |mm: f64| tape.scale_sd_per_mm(mm) * mm;
        // Class II to 3 m is 0.9 (OIML R 35-1); ten degrees add 0.19 a metre; a bound counts a/√3.
        let wanted = libm::sqrt(0.9 * 0.9 + 2.4 * 0.19 * 2.4 * 0.19) / ROOT_3;
        assert!((sd(2400.0) - wanted).abs() < 1e-12);
        assert!((sd(2000.0) - 0.7 / ROOT_3).abs() < 1e-12);
        let rod = Tape {
            scale: ScaleError::Comparison,
            ..tape
        };
        assert!(rod.scale_sd_per_mm(2400.0).abs() < 1e-15);
    }

    #[test]
    fn a_hook_adds_its_constant() {
        let with_hook = |class: TapeClass, mm: f64| {
            class.largest_error(Length::from_mm(mm)).mm() + class.hook_error().mm()
        };
        assert!((with_hook(TapeClass::II, 1000.0) - 0.7).abs() < 1e-12);
        assert!((with_hook(TapeClass::II, 3000.0) - 1.1).abs() < 1e-12);
        assert!((with_hook(TapeClass::III, 3000.0) - 2.1).abs() < 1e-12);
    }
}
