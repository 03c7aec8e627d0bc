//! The template laid back on the painted feature: four gaps by rule, at 12, 3, 6 and 9 o'clock,
//! give the shift and the size.
//!
//! ```text
//!            top  (+ paint outside the line)
//!             |
//!   left ─── (·) ─── right        gap_i = n_i · shift + size + error
//!             |
//!           bottom
//! ```

use crate::frames::{Flat, Vector2};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// Gaps between the template's line and the paint's edge, paint outside the line positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub struct Gaps {
    /// At 12 o'clock.
    pub top: Length,
    /// At 3 o'clock.
    pub right: Length,
    /// At 6 o'clock.
    pub bottom: Length,
    /// At 9 o'clock.
    pub left: Length,
}

/// Standard deviations of what a lay-back compares, each way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sources {
    /// One gap read by rule.
    pub gap: Length,
    /// The template brought back onto its crosses.
    pub laying: Length,
    /// The template's own place: what it was made from, printed with, and how it lies. Never nought.
    pub template: Length,
}

/// Half a millimetre read on a rule (0.5/√12) and a paint edge judged to 0.2 mm, together
/// (common practice, no source).
pub const GAP_SD: Length = Length::from_mm(0.25);

impl Default for Sources {
    fn default() -> Self {
        Self {
            gap: GAP_SD,
            laying: Length::from_mm(0.3),
            template: Length::from_mm(0.3),
        }
    }
}

/// What four gaps say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayBack {
    /// Where the paint lies against the template: right and up positive.
    pub shift: Vector2<Flat>,
    /// How far the paint's edge lies outside the line on the mean: the outline drawn large.
    pub size: Length,
    /// What shift and size leave over: the outline is out of shape, or a gap was misread. Four gaps
    /// less three unknowns check each other once.
    pub out_of_shape: Length,
    /// One standard deviation of the shift, the worse way.
    pub sd: Length,
    /// How far out the worst edge is: a single gap, or the shift where that is more.
    pub edge: Length,
    /// One standard deviation of that.
    pub edge_sd: Length,
}

/// Least squares of shift and size from four gaps whose directions are square to each other.
///
/// The normal equations are diagonal there: x = (r − l)/2, y = (t − b)/2, size the mean, and what is
/// left has one degree of freedom, (t + b − r − l)/4.
#[must_use]
pub fn lay_back(gaps: &Gaps, sources: &Sources) -> LayBack {
    let Gaps {
        top,
        right,
        bottom,
        left,
    } = *gaps;
    let shift = Vector2::from_mm(
        (right.mm() - left.mm()) / 2.0,
        (top.mm() - bottom.mm()) / 2.0,
    );
    LayBack {
        shift,
        size: (top + right + bottom + left) * 0.25,
        out_of_shape: (top + bottom - right - left) * 0.25,
        sd: typical_uncertainty(sources),
        edge: [top, right, bottom, left]
            .into_iter()
            .map(Length::abs)
            .fold(
                shift.norm(),
                |worst, gap| if gap > worst { gap } else { worst },
            ),
        edge_sd: edge_uncertainty(sources),
    }
}

/// One standard deviation of where one edge lies before anything is measured: its own gap is not
/// halved by another, so that this is more than that of the shift.
#[must_use]
pub fn edge_uncertainty(sources: &Sources) -> Length {
    let square = |l: Length| l.mm() * l.mm();
    Length::from_mm(libm::sqrt(
        square(sources.gap) + square(sources.laying) + square(sources.template),
    ))
}

/// One standard deviation of a lay-back's shift before anything is measured: two gaps halve their
/// error by √2, the laying and the template do not.
#[must_use]
pub fn typical_uncertainty(sources: &Sources) -> Length {
    let square = |l: Length| l.mm() * l.mm();
    Length::from_mm(libm::sqrt(
        square(sources.gap) / 2.0 + square(sources.laying) + square(sources.template),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::{DecisionRule, Verdict, judge};

    fn gaps(top: f64, right: f64, bottom: f64, left: f64) -> Gaps {
        let mm = Length::from_mm;
        Gaps {
            top: mm(top),
            right: mm(right),
            bottom: mm(bottom),
            left: mm(left),
        }
    }

    /// A circle of radius 30 moved by (−0.8, 1.1) and drawn 0.4 large: its gaps by geometry.
    #[test]
    fn a_moved_circle_is_found() {
        let (x, y, large) = (-0.8_f64, 1.1_f64, 0.4);
        // Along a normal the moved circle's edge is where |p − c| = r + large.
        let gap = |nx: f64, ny: f64| {
            let r = 30.0 + large;
            let (along, across) = (x * nx + y * ny, x * ny - y * nx);
            along + libm::sqrt(r * r - across * across) - 30.0
        };
        let found = lay_back(
            &gaps(gap(0.0, 1.0), gap(1.0, 0.0), gap(0.0, -1.0), gap(-1.0, 0.0)),
            &Sources::default(),
        );
        assert!((found.shift.x_mm() - x).abs() < 1e-9 && (found.shift.y_mm() - y).abs() < 1e-9);
        // The sagitta of the sideways step, 0.02 mm, is all that is lost on size.
        assert!((found.size.mm() - large).abs() < 0.03, "{:?}", found.size);
        assert!(found.out_of_shape.mm().abs() < 0.01);
    }

    #[test]
    fn what_the_four_leave_over_shows_a_misread_gap() {
        let found = lay_back(&gaps(2.0, 0.0, 0.0, 0.0), &Sources::default());
        assert!((found.shift.y_mm() - 1.0).abs() < 1e-12 && found.shift.x_mm().abs() < 1e-12);
        assert!((found.size.mm() - 0.5).abs() < 1e-12);
        assert!((found.out_of_shape.mm() - 0.5).abs() < 1e-12);
    }

    /// What is judged is the worst edge. Paint that is moved right to its limit, and laid back and read
    /// many times with errors of the sizes stated, is called outside no oftener than a guard of k = 2
    /// allows: 2.275 % (the normal distribution beyond two deviations).
    #[test]
    fn an_edge_on_its_limit_is_seldom_called_outside() {
        let mut state = 17_u64;
        // splitmix64 (Steele, Lea & Flood 2014), twelve of them summed: near enough normal.
        let mut normal = |sd: f64| {
            let mut sum = -6.0;
            for _ in 0..12 {
                state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
                let mut z = state;
                z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
                z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
                sum += ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64;
            }
            sd * sum
        };
        let sources = Sources::default();
        let limit = Length::from_mm(3.0);
        let (tries, mut outside) = (20_000, 0);
        for _ in 0..tries {
            let [x, y] =
                [0, 1].map(|_| normal(libm::hypot(sources.laying.mm(), sources.template.mm())));
            let mut read = |along: f64| along + normal(sources.gap.mm());
            let found = lay_back(&gaps(read(y), read(3.0 + x), read(-y), read(-x)), &sources);
            let judged = judge(found.edge, limit, found.edge_sd, DecisionRule::TwoSigma);
            outside += u32::from(judged.verdict == Verdict::Outside);
        }
        // Three standard errors of a share of 2.275 % in 20 000 are 0.32 %.
        let share = f64::from(outside) / f64::from(tries);
        assert!(share < 0.022_75 + 0.003_2, "{share}");
    }

    /// Against the general least-squares formula with A = [n | 1]: (AᵀA)⁻¹ is diag(1/2, 1/2, 1/4).
    #[test]
    fn the_uncertainty_is_that_of_the_normal_equations() {
        let only = |gap: f64| Sources {
            gap: Length::from_mm(gap),
            laying: Length::ZERO,
            template: Length::ZERO,
        };
        let sd = typical_uncertainty(&only(0.25)).mm();
        assert!((sd - 0.25 / libm::sqrt(2.0)).abs() < 1e-12);
        assert!(typical_uncertainty(&Sources::default()).mm() > 0.4);
    }
}
