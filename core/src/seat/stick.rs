//! A locating stick: a lath with a GOES and a DOESN'T end for each station, and a stepped shim gauge
//! that says by how much it goes.
//!
//! ```text
//!   figure's mark ──────────────
//!                    ▟ step that just goes
//!      GOES ▛▀▀▀▀▀▜
//!           ▌     ▌▀▀▜ DOESN'T   (a second lane of the same lath, longer)
//!   base    ▙▄▄▄▄▄▙▄▄▟
//! ```

use crate::readings::{Tape, TapeClass};
use crate::units::Length;

/// From one step of the shim gauge to the next: a sheet of card.
pub const STEP: Length = Length::from_mm(0.5);
/// Steps of the shim gauge.
pub const STEPS: u32 = 12;
/// A lath is sawn and filed to its line within this (common practice, no source).
const SAWN_WITHIN: f64 = 0.3;
/// A printer that was proved is true within one in a thousand (design/04: 0.1 % of 400 is 0.4).
const PRINTED_WITHIN: f64 = 0.001;
/// Standing it on the foot and bringing its end under the mark, one standard deviation each (as a rule
/// is pointed: common practice, no source).
const POINTED: f64 = 0.15;
const ROOT_3: f64 = 1.732_050_807_568_877_2;

/// With what a locating dimension is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadWith {
    /// A steel rule or height gauge, read to half a millimetre.
    Rule,
    /// A pocket tape on its hook.
    Tape,
    /// The locating stick and its shim gauge.
    Stick,
}

/// A rule held between two ends by hand, one standard deviation (common practice, no source).
const RULE_SD: Length = Length::from_mm(0.35);

impl ReadWith {
    /// Standard uncertainty of one reading of a length.
    ///
    /// The stick: half a step either way counts q/√12, bounds ±a count a/√3 (JCGM 100:2008, F.2.2.1
    /// and 4.3.7). Its U (k = 2) over 200 to 400 mm is about the ±0.7 that workshops give a story rod
    /// (design/10 §1.7). The tape: class II, OIML R 35-1:2007.
    #[must_use]
    pub fn standard_uncertainty(self, length: Length) -> Length {
        let mm = match self {
            Self::Rule => return RULE_SD,
            Self::Tape => {
                let tape = Tape::of_class(TapeClass::II);
                root_sum(&[
                    TapeClass::II.largest_error(length).mm() / ROOT_3,
                    tape.hook.mm() / ROOT_3,
                    tape.each.resolution.mm() / libm::sqrt(12.0),
                    tape.each.repeatability.mm(),
                    tape.each.pointing.mm(),
                    tape.each.pointing.mm(),
                ])
            }
            Self::Stick => root_sum(&[
                STEP.mm() / libm::sqrt(12.0),
                SAWN_WITHIN / ROOT_3,
                PRINTED_WITHIN * length.mm() / ROOT_3,
                POINTED,
                POINTED,
            ]),
        };
        Length::from_mm(mm)
    }
}

fn root_sum(parts: &[f64]) -> f64 {
    libm::sqrt(parts.iter().map(|p| p * p).sum())
}

/// The two ends of a stick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stick {
    /// It goes under the mark where the station is within.
    pub goes: Length,
    /// It does not where the station is within.
    pub doesnt: Length,
}

/// The tolerance is no larger than what the stick itself may be out: it could pass nothing.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "a stick is sure to ± {:.1} mm, and the locating dimension may be only {:.1} mm out: no stick can pass that. Read it with a height gauge",
    .sure.mm(),
    .within.mm()
)]
pub struct TooFine {
    /// The stick's U.
    pub sure: Length,
    /// The tolerance.
    pub within: Length,
}

impl Stick {
    /// For a station that should read `aim` within `within`: the ends stand inside the limits by the
    /// stick's own U, so that what goes and doesn't is within (ISO 14253-1, guarded acceptance).
    ///
    /// # Errors
    /// [`TooFine`].
    pub fn of(aim: Length, within: Length) -> Result<Self, TooFine> {
        let sure = ReadWith::Stick.standard_uncertainty(aim) * 2.0;
        if within.to_um() <= sure.to_um() {
            return Err(TooFine { sure, within });
        }
        Ok(Self {
            goes: aim - (within - sure),
            doesnt: aim + (within - sure),
        })
    }

    /// What a station reads where this step of the shim gauge just goes on the GOES end and the next
    /// does not: the middle between the two.
    #[must_use]
    pub fn reads(self, step: Length) -> Length {
        self.goes + step + STEP / 2.0
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    const fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }

    #[test]
    fn a_stick_is_as_good_as_workshops_say_and_better_than_a_tape() {
        // design/10 §1.7: story rod or go/no-go against a master ±0.7 (k = 2), common practice.
        let stick = ReadWith::Stick.standard_uncertainty(mm(300.0)).mm() * 2.0;
        assert!((stick - 0.7).abs() < 0.05, "{stick}");
        // The same table: class II tape, hooked, 1 m, ±1.35, with temperature between steel and
        // laminate (0.19 mm/m, here left out) and repeatability 0.25 to 0.4.
        let tape = ReadWith::Tape.standard_uncertainty(mm(1000.0)).mm() * 2.0;
        assert!((tape - 1.35).abs() < 0.25, "{tape}");
        for length in [50.0, 184.0, 600.0] {
            let of = |with: ReadWith| with.standard_uncertainty(mm(length));
            assert!(of(ReadWith::Stick) < of(ReadWith::Tape));
        }
    }

    #[test]
    fn what_goes_and_does_not_is_within_whatever_the_stick_is_out_by() {
        let stick = Stick::of(mm(184.0), mm(2.0)).unwrap();
        let sure = ReadWith::Stick.standard_uncertainty(mm(184.0)) * 2.0;
        // The longest that still lets GOES in by mistake, the shortest that still stops DOESN'T.
        assert!((stick.goes - sure - mm(182.0)).abs() < mm(1e-9));
        assert!((stick.doesnt + sure - mm(186.0)).abs() < mm(1e-9));
        assert!(Stick::of(mm(184.0), mm(0.6)).is_err());
        // Step 1.5 goes, 2.0 does not: between.
        let read = stick.reads(mm(1.5)) - stick.goes;
        assert!((read.mm() - 1.75).abs() < 1e-9);
    }
}
