//! How far apart two holes may be and still take their bolt.

use crate::units::Length;

/// Whether a hand and a spanner reach the far side once everything is closed: about 70 mm is the
/// least gap that a hand works in (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FarSide {
    /// A nut can be held there: both parts have clearance holes.
    Reached,
    /// Nobody gets there: a tapped plate or captive nut holds the bolt.
    NotReached,
}

/// What holds the bolt, and so which rule applies (ASME Y14.5-2018, appendix B).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// Clearance holes in both parts: the bolt floats.
    Floating,
    /// A thread or a captive nut in one part: the bolt is fixed there.
    Fixed,
}

impl FarSide {
    /// The rule that follows.
    #[must_use]
    pub const fn held(self) -> Held {
        match self {
            Self::Reached => Held::Floating,
            Self::NotReached => Held::Fixed,
        }
    }
}

/// A bolt that does not go through its hole.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("a hole of {} mm doesn't take a bolt of {} mm", .hole.mm(), .bolt.mm())]
pub struct HoleTooSmall {
    /// The hole.
    pub hole: Length,
    /// The bolt.
    pub bolt: Length,
}

/// Position tolerance of each part, as a zone diameter, for holes alike: H − F floating,
/// (H − F)/2 fixed (with a projected zone).
///
/// # Errors
/// [`HoleTooSmall`].
pub fn position_tolerance(hole: Length, bolt: Length, held: Held) -> Result<Length, HoleTooSmall> {
    let play = hole - bolt;
    if play.mm() < 0.0 {
        return Err(HoleTooSmall { hole, bolt });
    }
    Ok(match held {
        Held::Floating => play,
        Held::Fixed => play / 2.0,
    })
}

/// How far the two axes may be apart (a radius): (H₁ + H₂)/2 − F floating, (H − F)/2 fixed.
///
/// # Errors
/// [`HoleTooSmall`].
pub fn may_be_apart(
    hole: Length,
    other: Option<Length>,
    bolt: Length,
) -> Result<Length, HoleTooSmall> {
    for h in [Some(hole), other].into_iter().flatten() {
        if h.mm() < bolt.mm() {
            return Err(HoleTooSmall { hole: h, bolt });
        }
    }
    let play = (hole - bolt) / 2.0;
    Ok(other.map_or(play, |o| play + (o - bolt) / 2.0))
}

/// Position tolerance of each part, as a zone diameter, where a thread may stand askew in a plate:
/// T = (H − F) / (2 + 2P/D), from H = F + T₁ + T₂·(1 + 2P/D) with T₁ = T₂ (ASME Y14.5-2018, B-5, from
/// memory); P how far the bolt stands out of the thread, D how deep the thread is.
///
/// # Errors
/// [`HoleTooSmall`].
pub fn position_tolerance_askew(
    hole: Length,
    bolt: Length,
    stands_out: Length,
    thread_depth: Length,
) -> Result<Length, HoleTooSmall> {
    let play = position_tolerance(hole, bolt, Held::Floating)?;
    let lean = stands_out.mm().max(0.0) / thread_depth.mm().max(1e-6);
    Ok(play / (2.0 + 2.0 * lean))
}

/// The slot that absorbs what the round hole can't: its overall length, its width the hole's.
/// `need` is how far the axes may come to lie apart along the slot. `None`: the round hole does.
#[must_use]
pub fn slot(hole: Length, apart: Length, need: Length) -> Option<Length> {
    let rest = need.mm() - apart.mm();
    (rest > 0.0).then(|| {
        // Slots are filed to the half millimetre above.
        Length::from_mm(libm::ceil((hole.mm() + 2.0 * rest) * 2.0 - 1e-9) / 2.0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }

    #[test]
    fn floating_and_fixed_as_published() {
        // CHECKS F4, F5 (ASME Y14.5-2018 B-3, B-4): F 6, H 6.44.
        let t = |held| position_tolerance(mm(6.44), mm(6.0), held).map_or(9.0, Length::mm);
        assert!((t(Held::Floating) - 0.44).abs() < 1e-9);
        assert!((t(FarSide::NotReached.held()) - 0.22).abs() < 1e-9);
        // CHECKS F6 (B-5): F 6, P 10, D 15 and T1 = T2 = 0.2 ask for 6.6667; from there back.
        let t = position_tolerance_askew(mm(6.666_667), mm(6.0), mm(10.0), mm(15.0));
        assert!(t.is_ok_and(|t| (t.mm() - 0.2).abs() < 1e-6), "{t:?}");
        // A bolt that doesn't stand out of its thread can't lean: F5 again.
        let t = position_tolerance_askew(mm(6.44), mm(6.0), Length::ZERO, mm(15.0));
        assert!(t.is_ok_and(|t| (t.mm() - 0.22).abs() < 1e-9), "{t:?}");
    }

    #[test]
    fn a_hole_drilled_larger_may_lie_as_much_further_out() {
        // CHECKS F7 (ISO 2692): Ø 10.5 +0.3, zone 0.5 at the least hole, so a bolt of 10.0 enters.
        let allowed =
            |hole| position_tolerance(mm(hole), mm(10.0), Held::Floating).map_or(9.0, Length::mm);
        assert!((allowed(10.5) - 0.5).abs() < 1e-9);
        assert!((allowed(10.62) - 0.62).abs() < 1e-9, "bonus 0.12");
        assert!((allowed(10.8) - 0.8).abs() < 1e-9);
        let deviation = 2.0 * libm::hypot(0.25, 0.15);
        assert!((deviation - 0.583_10).abs() < 1e-5);
        assert!(deviation > allowed(10.5) && deviation < allowed(10.62));
    }

    #[test]
    fn axes_apart_follow_the_same_rules() {
        assert_eq!(
            may_be_apart(mm(11.0), Some(mm(11.0)), mm(10.0)),
            Ok(mm(1.0))
        );
        assert_eq!(may_be_apart(mm(11.0), None, mm(10.0)), Ok(mm(0.5)));
        assert!(may_be_apart(mm(11.0), Some(mm(9.0)), mm(10.0)).is_err());
    }

    #[test]
    fn a_slot_takes_the_rest() {
        assert_eq!(slot(mm(11.0), mm(0.5), mm(2.0)), Some(mm(14.0)));
        assert_eq!(slot(mm(11.0), mm(0.5), mm(0.4)), None);
        // A bolt moved by the whole need still lies inside the slot's half length.
        let long = slot(mm(11.0), mm(0.5), mm(1.7)).map_or(0.0, Length::mm);
        assert!((long - 10.0) / 2.0 >= 1.7);
    }
}
