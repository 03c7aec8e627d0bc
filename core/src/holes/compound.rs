//! An axis as a machine is set to it: two view angles, or a lean and the way it leans.

use crate::frames::{Part, Vector3};
use crate::units::Angle;

/// A lean split over the two axes of a machine or a vice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compound {
    /// Seen from the front: from square, in the plane of the first axis.
    pub front: Angle,
    /// Seen from the side, in the plane of the second.
    pub side: Angle,
    /// Turn from the plane of the second axis to the plane the drill leans in.
    pub turn: Angle,
    /// The whole lean, in that plane.
    pub lean: Angle,
}

impl Compound {
    /// From how the axis looks from the front and from the side, both from square:
    /// tan R = tan A/tan B, tan² C = tan² A + tan² B (Machinery's Handbook, compound angles).
    #[must_use]
    pub fn of_views(front: Angle, side: Angle) -> Self {
        let (a, b) = (libm::tan(front.rad()), libm::tan(side.rad()));
        Self {
            front,
            side,
            turn: Angle::from_rad(libm::atan2(a, b)),
            lean: Angle::from_rad(libm::atan(libm::hypot(a, b))),
        }
    }

    /// Of an axis against a face: `normal` square to it, `across` the first machine axis.
    /// `None` where these span nothing or the axis lies in the face.
    #[must_use]
    pub fn of_axis(
        axis: Vector3<Part>,
        normal: Vector3<Part>,
        across: Vector3<Part>,
    ) -> Option<Self> {
        let n = normal.unit()?;
        let x = (across - n * n.dot(across)).unit()?;
        let y = n.cross(x);
        let d = if axis.dot(n) < 0.0 { -axis } else { axis }.unit()?;
        let up = d.dot(n);
        (up > 1e-9).then(|| {
            let view = |part: f64| Angle::from_rad(libm::atan2(part, up));
            Self::of_views(view(d.dot(x)), view(d.dot(y)))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const UP: Vector3<Part> = Vector3::from_mm(0.0, 0.0, 1.0);

    fn to(x: f64, y: f64, z: f64) -> Vector3<Part> {
        Vector3::from_mm(x, y, z)
    }

    #[test]
    fn compound_angles_as_in_the_handbook() {
        // 30° and 20° lean 34.31358° (CHECKS I3) at atan(tan 30°/tan 20°) = 57.77206°, recomputed by
        // Python; CHECKS prints 57.77244 there.
        let c = Compound::of_views(Angle::from_deg(30.0), Angle::from_deg(20.0));
        assert!((c.turn.deg() - 57.772_06).abs() < 1e-5, "{}", c.turn.deg());
        assert!((c.lean.deg() - 34.313_58).abs() < 1e-5, "{}", c.lean.deg());
        // The same axis from its direction.
        let d = to(
            libm::tan(30f64.to_radians()),
            libm::tan(20f64.to_radians()),
            1.0,
        );
        let Some(again) = Compound::of_axis(d, UP, to(1.0, 0.0, 0.0)) else {
            unreachable!("it stands up")
        };
        assert!(
            (again.front.deg() - 30.0).abs() < 1e-9
                && (again.lean.deg() - c.lean.deg()).abs() < 1e-9
        );
        // CHECKS I1: A 47° 14′, B 38° 10′: R 36° 0.98′, C 53° 11.93′, with R from the other plane.
        let (a, b) = (47.0 + 14.0 / 60.0, 38.0 + 10.0 / 60.0);
        let c = Compound::of_views(Angle::from_deg(b), Angle::from_deg(a));
        assert!(
            (c.turn.deg() - (36.0 + 0.98 / 60.0)).abs() < 1e-3,
            "{}",
            c.turn.deg()
        );
        assert!(
            (c.lean.deg() - (53.0 + 11.93 / 60.0)).abs() < 1e-3,
            "{}",
            c.lean.deg()
        );
    }
}
