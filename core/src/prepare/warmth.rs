//! How warm the shop is while a casting is read: a steel tape grows otherwise than a casting.

use crate::job::{CastingId, Job, MeasuringSays};
use crate::readings::{Tape, WARMTH_FROM};
use crate::units::Length;

/// What tapes and drawings are made for (ISO 1:2016).
const STANDARD_C: f64 = 20.0;

/// Steel against a glass-fibre casting, for each metre and degree: 12·10⁻⁶ against about 30·10⁻⁶
/// (design/10 §1.8; handbook values, from memory).
const EACH_DEGREE: Length = Length::from_mm(0.018);

/// A casting is as warm as the air to within this (common practice, no source).
const AS_WARM_AS_C: f64 = 2.0;

/// What was noted last for a casting, °C.
pub(super) fn noted(job: &Job, casting: &CastingId) -> Option<i16> {
    let mut latest = job.measuring.about(casting).rev();
    latest.find_map(|m| match m.says.says {
        MeasuringSays::ShopAt { celsius } => Some(celsius),
        _ => None,
    })
}

/// A tape that grows otherwise than a casting, allowed for as warm as the shop is said to be; where
/// nobody said, as for ten degrees off. One that grows as the casting does stays as it is.
pub(super) fn allowed(mut tape: Tape, noted: Option<i16>) -> Tape {
    if let (Some(celsius), true) = (noted, tape.warmth > Length::ZERO) {
        tape.warmth = EACH_DEGREE * ((f64::from(celsius) - STANDARD_C).abs() + AS_WARM_AS_C);
    }
    tape
}

/// What is said of it beside a walk that reads further than warmth leaves alone.
pub(super) fn words(noted: Option<i16>) -> String {
    let metres = WARMTH_FROM.mm() / 1000.0;
    match noted {
        None => format!(
            "Over {metres:.0} m it counts how warm the shop is: note it below. Until then ten degrees off 20 °C are allowed for"
        ),
        Some(celsius) => {
            let off = EACH_DEGREE * (f64::from(celsius) - STANDARD_C);
            if off.abs().mm() < 0.05 {
                return format!(
                    "Shop at {celsius} °C: a steel tape reads as it should over {metres:.0} m too"
                );
            }
            let way = if off > Length::ZERO { "long" } else { "short" };
            format!(
                "Shop at {celsius} °C: over {metres:.0} m a steel tape reads about {:.1} mm in a metre {way} on glass fibre. The readings stay as they are; it is in how sure they are",
                off.abs().mm()
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readings::TapeClass;

    #[test]
    fn ten_degrees_are_what_was_allowed_for_where_nobody_said() {
        // design/10 §1.8: steel and glass fibre differ by about 0.19 mm in a metre for ten degrees;
        // from the expansions themselves it is (30 − 12)·10⁻⁶·10 = 0.18.
        let tape = Tape::of_class(TapeClass::II);
        assert_eq!(allowed(tape, None), tape);
        let warm = |c| allowed(tape, Some(c)).warmth.mm();
        assert!((warm(28) - 0.18).abs() < 1e-12);
        assert!((warm(12) - 0.18).abs() < 1e-12);
        assert!((warm(20) - 0.036).abs() < 1e-12);
        assert!(warm(35) > tape.warmth.mm());
    }

    #[test]
    fn what_grows_as_the_casting_does_is_left_alone() {
        let mut soft = Tape::of_class(TapeClass::II);
        soft.warmth = Length::ZERO;
        assert_eq!(allowed(soft, Some(35)), soft);
    }
}
