//! Within, outside, or not proven: a deviation against its limit, with the uncertainty of what it
//! was measured with (ISO 14253-1; JCGM 106).

use crate::num::distribution::normal_below;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What a check came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It is where it should be, whatever the measuring error.
    Within,
    /// It is not, whatever the measuring error.
    Outside,
    /// What it was measured with can't tell.
    NotProven,
}

/// How the uncertainty counts. The default keeps both sides safe; another is the customer's choice
/// and stands in the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum DecisionRule {
    /// Guarded by U, k = 2.
    #[default]
    TwoSigma,
    /// Guarded by 1.65 u: 95 % sure one way (ISO 14253-1:2017).
    OneSided95,
    /// The measured value alone: half of what lies on the limit is passed wrongly.
    Simple,
}

impl DecisionRule {
    /// What the standard uncertainty is multiplied by.
    #[must_use]
    pub const fn factor(self) -> f64 {
        match self {
            Self::TwoSigma => 2.0,
            Self::OneSided95 => 1.65,
            Self::Simple => 0.0,
        }
    }

    /// As it stands in the record.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::TwoSigma => "guarded by the measuring uncertainty, k = 2 (ISO 14253-1)",
            Self::OneSided95 => "guarded by 1.65 u, 95 % sure (ISO 14253-1:2017)",
            Self::Simple => "the measured value alone, by agreement",
        }
    }
}

/// A deviation judged.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Judged {
    /// How far out it is, as a radius, whole µm.
    pub deviation: Length,
    /// The limit, as a radius.
    pub limit: Length,
    /// The guard: the factor of the rule times the standard uncertainty, rounded up to a µm.
    pub guard: Length,
    /// What it came to.
    pub verdict: Verdict,
}

fn um(length: Length) -> i64 {
    length.to_um()
}

/// Judges a deviation (a radius) against a limit, given one standard deviation of measuring it.
///
/// Whole micrometres decide, the deviation to the nearest, the guard upwards: within if
/// dev ≤ T − U, outside if dev > T + U, else not proven (design/11).
#[must_use]
pub fn judge(deviation: Length, limit: Length, sd: Length, rule: DecisionRule) -> Judged {
    // What is no number proves nothing, and as whole micrometres it would be nought.
    if [deviation, limit, sd].iter().any(|l| !l.mm().is_finite()) {
        return Judged {
            deviation,
            limit,
            guard: Length::ZERO,
            verdict: Verdict::NotProven,
        };
    }
    let guard_um = libm::ceil(rule.factor() * sd.mm().max(0.0) * 1000.0 - 1e-6);
    let guard = Length::from_mm(guard_um / 1000.0);
    let (dev, t, u) = (um(deviation), um(limit), um(guard));
    // A guard as wide as the limit proves nothing (design/10 §7.2).
    let verdict = if dev <= t - u && (u == 0 || u < t) {
        Verdict::Within
    } else if dev > t + u {
        Verdict::Outside
    } else {
        Verdict::NotProven
    };
    Judged {
        deviation,
        limit,
        guard,
        verdict,
    }
}

/// Whether a method can ever say *within*: its guard is less than the limit.
#[must_use]
pub fn capable(limit: Length, sd: Length, rule: DecisionRule) -> bool {
    judge(Length::ZERO, limit, sd, rule).verdict == Verdict::Within
}

/// How probable it is that the true value lies between two limits (either may be infinite), for a
/// normal estimate (JCGM 106:2012, 7.2).
#[must_use]
pub fn conformance(low: f64, high: f64, estimate: f64, sd: f64) -> f64 {
    let below = |limit: f64| {
        if limit.is_infinite() {
            f64::from(u8::from(limit > 0.0))
        } else {
            normal_below((limit - estimate) / sd)
        }
    };
    below(high) - below(low)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(v: f64) -> Length {
        Length::from_mm(v)
    }

    /// The project's own exact cases (design/10 §7.2): T = 2, U = 1.2.
    #[test]
    fn exact_at_its_limits() {
        let says = |dev: f64| judge(mm(dev), mm(2.0), mm(0.6), DecisionRule::TwoSigma).verdict;
        assert_eq!(says(0.8), Verdict::Within);
        assert_eq!(says(0.801), Verdict::NotProven);
        assert_eq!(says(3.2), Verdict::NotProven);
        assert_eq!(says(3.201), Verdict::Outside);
        // 0.1 + 0.2 is 0.30000000000000004: whole micrometres decide.
        let simple = judge(mm(0.1 + 0.2), mm(0.3), Length::ZERO, DecisionRule::Simple);
        assert_eq!(simple.verdict, Verdict::Within);
    }

    /// Position is given as a zone's diameter: twice how far the axis is out (ASME Y14.5-2018, ISO 1101).
    #[test]
    fn a_position_is_judged_by_half_its_zone() {
        // CHECKS F1: 0.006 and −0.001 in, 0.01217 in; F2: 0.1 and 0.15 mm, 0.36056 mm.
        for (dx, dy, zone) in [
            (0.006 * 25.4, -0.001 * 25.4, 0.012_17 * 25.4),
            (0.1, 0.15, 0.360_56),
        ] {
            let out = mm(libm::hypot(dx, dy));
            // A thousandth of a millimetre either side of the handbook's zone decides.
            let says = |half: f64| judge(out, mm(half), Length::ZERO, DecisionRule::Simple).verdict;
            assert_eq!(says(zone / 2.0 + 0.001), Verdict::Within);
            assert_eq!(says(zone / 2.0 - 0.001), Verdict::Outside);
        }
    }

    #[test]
    fn what_is_no_number_is_never_within() {
        let (nan, far) = (Length::ZERO / 0.0, mm(1.0) / 0.0);
        for rule in [DecisionRule::TwoSigma, DecisionRule::Simple] {
            for bad in [nan, far] {
                for (dev, limit, sd) in [
                    (bad, mm(2.0), mm(0.1)),
                    (mm(0.1), bad, mm(0.1)),
                    (mm(0.1), mm(2.0), bad),
                ] {
                    let judged = judge(dev, limit, sd, rule);
                    assert_eq!(
                        judged.verdict,
                        Verdict::NotProven,
                        "{dev:?} {limit:?} {sd:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn a_guard_as_large_as_the_limit_passes_nothing() {
        assert!(capable(mm(2.0), mm(0.6), DecisionRule::TwoSigma));
        assert!(!capable(mm(1.0), mm(0.6), DecisionRule::TwoSigma));
        assert!(!capable(mm(1.2), mm(0.6), DecisionRule::TwoSigma));
        assert!(capable(mm(1.0), mm(0.6), DecisionRule::OneSided95));
    }

    /// JCGM 106:2012 7.3.3 Examples 1 and 2, 7.4: 0.9192, 0.98901, 0.8609 (shared checks E6–E8).
    #[test]
    fn published_conformance_probabilities() {
        let far = f64::INFINITY;
        let cases = [
            (conformance(-far, -5.40, -5.47, 0.05), 0.9192),
            (conformance(490.0, far, 509.7, 8.6), 0.989_01),
            (conformance(12.5, 16.3, 13.6, 1.0), 0.8609),
        ];
        for (found, published) in cases {
            assert!((found - published).abs() < 1e-4, "{found} {published}");
        }
    }

    /// Guard 2u accepts 2.275 % wrongly at the acceptance limit, 1.645u 5 % (shared checks E10).
    #[test]
    fn the_guard_is_what_its_rule_promises() {
        let at = |factor: f64| 1.0 - conformance(f64::NEG_INFINITY, factor, 0.0, 1.0);
        assert!((at(DecisionRule::TwoSigma.factor()) - 0.022_75).abs() < 1e-5);
        assert!((at(DecisionRule::OneSided95.factor()) - 0.05).abs() < 6e-4);
        // Simple acceptance has no guard: at the limit itself it is wrong every other time.
        assert!((at(DecisionRule::Simple.factor()) - 0.5).abs() < 1e-12);
    }
}
