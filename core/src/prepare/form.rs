//! What a face's sizes, or the smoothing of its scan, leave out of its true shape, and what that does to
//! where an outline lands.
//!
//! Where the true face stands off the one reckoned with by δ along its normal, a way over it is longer by
//! ∫ κ·δ ds (first variation of length: do Carmo 1976, 5-4): at most δ times the angle that it turns
//! through. The ways that matter are those from the crosses to the outline.

use crate::frames::{Flat, Point2};
use crate::place::Placed;
use crate::surface::Surface;
use crate::units::Length;

/// How far a real face stands off one of two radii that was fitted to it, one standard deviation: what a
/// gauge card or a straight-edge still shows as no light (common practice, no source).
const TWO_RADII_OFF: Length = Length::from_mm(0.3);

/// Standard deviation, each way, of where an outline lands because the face has a shape of its own:
/// nothing on faces whose sizes say all there is to say.
pub(super) fn form_leaves(
    surface: &Surface,
    placed: &Placed,
    outline: &[Point2<Flat>],
    registers: &[usize],
) -> Length {
    let off_mm = match surface {
        Surface::TwoRadii(_) => TWO_RADII_OFF.mm(),
        Surface::Scan(scan) => scan.patch().moved_rms_mm,
        _ => return Length::ZERO,
    };
    let Some(radius_mm) = surface.tightest_mm(placed.pose.centre) else {
        return Length::ZERO;
    };
    let from: Vec<Point2<Flat>> = (registers.iter())
        .filter_map(|&k| placed.marks.get(k).copied())
        .collect();
    // An outline point is held by all crosses together: the root of the mean square of the ways.
    let far = |p: &Point2<Flat>| {
        let squares = from.iter().map(|m| {
            let mm = m.distance(*p).mm();
            mm * mm
        });
        #[expect(clippy::cast_precision_loss, reason = "a handful of crosses")]
        let count = from.len().max(1) as f64;
        libm::sqrt(squares.sum::<f64>() / count)
    };
    let furthest = outline.iter().map(far).fold(0.0, f64::max);
    Length::from_mm(off_mm * (furthest / radius_mm).min(core::f64::consts::FRAC_PI_2))
}
