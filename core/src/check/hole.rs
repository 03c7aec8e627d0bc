//! A hole against its place: where asked for, a hole that came out bigger gives more room (ISO 2692,
//! maximum material requirement).
//!
//! ```text
//!   allowed Ø = zone Ø + (hole as drilled − smallest hole), never more than the widest hole gives
//! ```
//! which says the same as: no part of the hole's edge comes inside a bolt of the smallest hole less
//! the zone (its virtual condition).

use super::lay_back::GAP_SD;
use super::verdict::{DecisionRule, Judged, Verdict, judge};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What is asked of a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleAsked {
    /// The smallest it may be: Ø.
    pub smallest: Length,
    /// The widest it may be: Ø; none where nobody said.
    pub widest: Option<Length>,
    /// How far out its middle may be, any way, as a zone: Ø (ISO 1101).
    pub zone: Length,
    /// A bigger hole gives more room.
    pub more_room: bool,
}

/// What was found of a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HoleRead {
    /// Across: Ø.
    pub across: Length,
    /// Its middle to the right of where it should be.
    pub right: Length,
    /// And up.
    pub up: Length,
    /// One standard deviation of the place, each way.
    pub place_sd: Length,
    /// One standard deviation of the width.
    pub across_sd: Length,
}

/// What a hole is read with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum HoleTool {
    /// A steel rule.
    #[default]
    Rule,
    /// Calipers; for the width as well the largest drill shank that goes in.
    Calipers,
}

impl HoleTool {
    /// One standard deviation of a reading: calipers over a cut edge of laminate, which is ragged
    /// (common practice, no source).
    #[must_use]
    pub const fn sd(self) -> Length {
        match self {
            Self::Rule => GAP_SD,
            Self::Calipers => Length::from_mm(0.05),
        }
    }
}

/// A hole judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct HoleJudged {
    /// Its place, as diameters: twice how far out it is against the zone it is allowed.
    pub place: Judged,
    /// How much of that zone it has from being bigger: Ø.
    pub more: Length,
    /// Its width against the smallest and the widest it may be.
    pub width: Verdict,
}

/// Judges a hole.
///
/// Whole micrometres decide. The zone without the bonus is tried first: a bigger hole never makes
/// worse what is within without it, although its width adds to the uncertainty.
#[must_use]
pub fn judge_hole(asked: &HoleAsked, read: &HoleRead, rule: DecisionRule) -> HoleJudged {
    let out = Length::from_mm(2.0 * libm::hypot(read.right.mm(), read.up.mm()));
    let sd = read.place_sd * 2.0;
    let bare = judge(out, asked.zone, sd, rule);
    let more_um = bonus_um(asked, read.across);
    #[expect(clippy::cast_precision_loss, reason = "micrometres of a hole")]
    let more = Length::from_mm(more_um as f64 / 1000.0);
    let both = Length::from_mm(libm::hypot(sd.mm(), read.across_sd.mm()));
    let place = if bare.verdict == Verdict::Within || more_um == 0 {
        Judged {
            limit: asked.zone + more,
            ..bare
        }
    } else {
        judge(out, asked.zone + more, both, rule)
    };
    HoleJudged {
        place,
        more,
        width: width(asked, read, rule),
    }
}

fn bonus_um(asked: &HoleAsked, across: Length) -> i64 {
    // Without a widest hole there is no end to it: then there is none.
    let Some(widest) = asked.widest.filter(|_| asked.more_room) else {
        return 0;
    };
    let smallest = asked.smallest.to_um();
    let most = (widest.to_um() - smallest).max(0);
    (across.to_um() - smallest).clamp(0, most)
}

// Where nobody said how wide it may become, nothing is wide enough to be wrong, nor proved right.
fn width(asked: &HoleAsked, read: &HoleRead, rule: DecisionRule) -> Verdict {
    let guard = judge(Length::ZERO, Length::ZERO, read.across_sd, rule)
        .guard
        .to_um();
    let across = read.across.to_um();
    let (least, most) = (asked.smallest.to_um(), asked.widest.map(Length::to_um));
    if across + guard < least || most.is_some_and(|most| across - guard > most) {
        Verdict::Outside
    } else if across - guard >= least && most.is_some_and(|most| across + guard <= most) {
        Verdict::Within
    } else {
        Verdict::NotProven
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(v: f64) -> Length {
        Length::from_mm(v)
    }

    fn asked(more_room: bool) -> HoleAsked {
        HoleAsked {
            smallest: mm(10.5),
            widest: Some(mm(10.8)),
            zone: mm(0.5),
            more_room,
        }
    }

    fn read(across: f64, right: f64, up: f64) -> HoleRead {
        HoleRead {
            across: mm(across),
            right: mm(right),
            up: mm(up),
            place_sd: Length::ZERO,
            across_sd: Length::ZERO,
        }
    }

    /// Hole 10.5 +0.3/0, position Ø 0.5 with the maximum material requirement; 10.62 across, 0.25 and
    /// 0.15 out: bonus 0.12, allowed 0.62, out 0.58310: within; without the bonus outside; at 10.8
    /// allowed 0.8 (ISO 2692:2021, ASME Y14.5-2018; shared checks F7).
    #[test]
    fn the_worked_case() {
        let simple = DecisionRule::Simple;
        let j = judge_hole(&asked(true), &read(10.62, 0.25, 0.15), simple);
        assert_eq!((j.more.to_um(), j.place.limit.to_um()), (120, 620));
        assert!((j.place.deviation.mm() - 0.583_10).abs() < 5e-6);
        assert_eq!(j.place.verdict, Verdict::Within);
        let j = judge_hole(&asked(false), &read(10.62, 0.25, 0.15), simple);
        assert_eq!(
            (j.place.verdict, j.place.limit.to_um()),
            (Verdict::Outside, 500)
        );
        let widest = judge_hole(&asked(true), &read(10.8, 0.4, 0.0), simple);
        assert_eq!(
            (widest.place.limit.to_um(), widest.place.verdict),
            (800, Verdict::Within)
        );
        // Wider than allowed is outside by its width, and gives no more room than the widest.
        let wide = judge_hole(&asked(true), &read(11.4, 0.4, 0.0), simple);
        assert_eq!((wide.width, wide.more.to_um()), (Verdict::Outside, 300));
        let small = judge_hole(&asked(true), &read(10.4, 0.0, 0.0), simple);
        assert_eq!((small.width, small.more.to_um()), (Verdict::Outside, 0));
    }

    /// Ø 10 H14: 10 to 10.36 (ISO 286-1, table 1). With calipers a hole of 10.2 is within, one of 12
    /// or 30 is not; a rule tells nothing of 10.2 and 10.8 and finds 11 too wide. Without a widest
    /// nothing is within.
    #[test]
    fn a_width_is_judged_against_its_tolerance() {
        let h14 = HoleAsked {
            smallest: mm(10.0),
            widest: Some(mm(10.36)),
            zone: mm(0.5),
            more_room: false,
        };
        let says = |asked: &HoleAsked, tool: HoleTool, across: f64| {
            let mut r = read(across, 0.0, 0.0);
            r.across_sd = tool.sd();
            judge_hole(asked, &r, DecisionRule::TwoSigma).width
        };
        let calipers = |across| says(&h14, HoleTool::Calipers, across);
        assert_eq!(
            [9.8, 10.2, 10.4, 10.6, 12.0, 30.0].map(calipers),
            [
                Verdict::Outside,
                Verdict::Within,
                Verdict::NotProven,
                Verdict::Outside,
                Verdict::Outside,
                Verdict::Outside
            ]
        );
        let by_rule = |across| says(&h14, HoleTool::Rule, across);
        assert_eq!(
            [10.2, 10.8, 11.0, 12.0].map(by_rule),
            [
                Verdict::NotProven,
                Verdict::NotProven,
                Verdict::Outside,
                Verdict::Outside
            ]
        );
        let unsaid = HoleAsked {
            widest: None,
            ..h14
        };
        assert_eq!(
            [9.0, 10.2, 30.0].map(|w| says(&unsaid, HoleTool::Calipers, w)),
            [Verdict::Outside, Verdict::NotProven, Verdict::NotProven]
        );
    }

    /// On the limit is inside, a micrometre past it is not; with a guard the same at either end of
    /// what can't be told.
    #[test]
    fn exact_at_its_limits() {
        let says = |right: f64, sd: f64| {
            let mut r = read(10.62, right, 0.0);
            r.place_sd = mm(sd);
            judge_hole(&asked(true), &r, DecisionRule::TwoSigma)
                .place
                .verdict
        };
        assert_eq!(says(0.31, 0.0), Verdict::Within);
        assert_eq!(says(0.310_5, 0.0), Verdict::Outside);
        // U = 2·2·0.05 = 0.2 as a diameter: 0.42 within, 0.421 not proven, 0.82 not proven, 0.821 out.
        assert_eq!(says(0.21, 0.05), Verdict::Within);
        assert_eq!(says(0.210_5, 0.05), Verdict::NotProven);
        assert_eq!(says(0.41, 0.05), Verdict::NotProven);
        assert_eq!(says(0.410_5, 0.05), Verdict::Outside);
    }

    /// The virtual condition says the same: the hole's edge stays outside a bolt of 10.0. And asking
    /// for the bonus never makes anything worse.
    #[test]
    fn the_bonus_is_the_virtual_condition_and_never_harms() {
        let rank = |v: Verdict| match v {
            Verdict::Within => 0,
            Verdict::NotProven => 1,
            Verdict::Outside => 2,
        };
        for across_um in (10_500..=10_800).step_by(7) {
            for out_um in (0..=450).step_by(5) {
                let mut r = read(
                    f64::from(across_um) / 1000.0,
                    f64::from(out_um) / 1000.0,
                    0.0,
                );
                let with = judge_hole(&asked(true), &r, DecisionRule::Simple)
                    .place
                    .verdict;
                let clears = across_um - 2 * out_um >= 10_000;
                assert_eq!(with == Verdict::Within, clears, "{across_um} {out_um}");
                (r.place_sd, r.across_sd) = (mm(0.03), mm(0.1));
                let with = judge_hole(&asked(true), &r, DecisionRule::TwoSigma)
                    .place
                    .verdict;
                let without = judge_hole(&asked(false), &r, DecisionRule::TwoSigma)
                    .place
                    .verdict;
                assert!(rank(with) <= rank(without), "{across_um} {out_um}");
            }
        }
    }
}
