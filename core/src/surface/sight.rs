//! A face looked at from far off along one direction, or from an eye, and what is drawn there carried onto it.
//!
//! ```text
//!        up │   ╭── the face           a place of the view lies on the line through it along the
//!           │  (  ◀───── sight         sight; the face is met where its chart point (u, v) makes
//!           └──╯  right                both (X − X₀)·right and (X − X₀)·up what the view says
//! ```
//! Two equations in two unknowns, regular wherever the face is not seen edge-on; the sheet of the
//! face nearest the viewer is followed outwards from a place that is known to be in sight.

use super::{Shape, Surface, SurfaceError};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3, View};
use crate::units::Angle;
use nalgebra::{Matrix2, Vector2 as Column2};

/// How far one step of following goes, mm in the view.
const STEP_MM: f64 = 5.0;

/// How near a place must be met, mm.
const MET_MM: f64 = 1e-9;

/// Newton's steps at most: four halve no more than rounding on any face that is in sight.
const MOST_STEPS: usize = 30;

/// An eye nearer than this to what it looks at sees nothing of it, mm.
const LEAST_FAR_MM: f64 = 1.0;

/// Past this from the line of sight a small slip of the drawing is a long way on the face: such a
/// part of an outline is not carried over (design/11, *Frames and charts*).
pub const TURNED_AWAY: Angle = Angle::from_rad(75.0 * core::f64::consts::PI / 180.0);

/// A direction of view upon a face, and which way is up in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    /// Unit vectors: towards the viewer, to the viewer's right, up in the view.
    towards: Vector3<Part>,
    right: Vector3<Part>,
    up: Vector3<Part>,
    /// The eye, and how far from it the view is at its true size; nothing where it is far off.
    eye: Option<(Point3<Part>, f64)>,
}

/// Where a place of a view lies on the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// The chart point.
    pub at: Point2<Face>,
    /// How far the face is turned from the line of sight there: nought straight on, a quarter turn
    /// edge-on.
    pub turned: Angle,
}

impl Sight {
    /// A view towards a direction, with the part of `up` that is square to it for up.
    ///
    /// # Errors
    /// [`SurfaceError::NoDirection`] for a direction of no length, or an up along it.
    pub fn new(towards: Vector3<Part>, up: Vector3<Part>) -> Result<Self, SurfaceError> {
        let towards = towards.unit().ok_or(SurfaceError::NoDirection)?;
        let square = up - towards * up.dot(towards);
        let up = square.unit().ok_or(SurfaceError::NoDirection)?;
        Ok(Self {
            towards,
            right: up.cross(towards),
            up,
            eye: None,
        })
    }

    /// A view from an eye, at its true size where `middle` is, towards which it looks.
    ///
    /// # Errors
    /// [`SurfaceError::InTheEye`] for an eye at the middle; [`SurfaceError::NoDirection`] for an up
    /// along the sight.
    pub fn from_eye(
        eye: Point3<Part>,
        middle: Point3<Part>,
        up: Vector3<Part>,
    ) -> Result<Self, SurfaceError> {
        let way = eye - middle;
        let far = way.norm().mm();
        if far < LEAST_FAR_MM {
            return Err(SurfaceError::InTheEye);
        }
        let eye = Some((eye, far));
        Self::new(way, up).map(|sight| Self { eye, ..sight })
    }

    /// Which way the viewer is from a place.
    fn towards_from(&self, at: Point3<Part>) -> Result<Vector3<Part>, SurfaceError> {
        match self.eye {
            None => Ok(self.towards),
            Some((eye, _)) => (eye - at).unit().ok_or(SurfaceError::InTheEye),
        }
    }

    /// Where a place is seen, across and up, and how that changes along two ways, per mm of each.
    ///
    /// From an eye at distance D, X is seen at D·(w·right, w·up)/(w·ahead) with w from the eye to X
    /// (central projection, elementary).
    fn seen(
        &self,
        at: Point3<Part>,
        origin: Point3<Part>,
        ways: [Vector3<Part>; 2],
    ) -> Result<([f64; 2], Matrix2<f64>), SurfaceError> {
        let axes = [self.right, self.up];
        let Some((eye, far)) = self.eye else {
            let way = at - origin;
            let slope = |r: usize, c: usize| ways[c].dot(axes[r]);
            return Ok((axes.map(|a| way.dot(a)), Matrix2::from_fn(slope)));
        };
        let (way, ahead) = (at - eye, self.towards * -1.0);
        let deep = way.dot(ahead);
        if deep < LEAST_FAR_MM {
            return Err(SurfaceError::InTheEye);
        }
        let scale = far / deep;
        // What stands at the origin need not be seen at nought: the view is measured from there.
        let from = origin - eye;
        let origin_scale = far / from.dot(ahead).max(LEAST_FAR_MM);
        let seen = axes.map(|a| way.dot(a) * scale - from.dot(a) * origin_scale);
        let slope = |r: usize, c: usize| {
            scale * (ways[c].dot(axes[r]) - way.dot(axes[r]) / deep * ways[c].dot(ahead))
        };
        Ok((seen, Matrix2::from_fn(slope)))
    }

    /// Which way the viewer is.
    #[must_use]
    pub const fn towards(&self) -> Vector3<Part> {
        self.towards
    }

    /// How far the face is turned from the line of sight at a place.
    ///
    /// # Errors
    /// A place off the face.
    pub fn turned(&self, surface: &Surface, at: Point2<Face>) -> Result<Angle, SurfaceError> {
        let towards = self.towards_from(surface.jet(at)?.at)?;
        let cos = surface.normal(at)?.dot(towards).clamp(-1.0, 1.0);
        Ok(Angle::from_rad(libm::acos(cos)))
    }

    /// Where two places of a face are from each other in the view, mm.
    ///
    /// # Errors
    /// A place off the face.
    pub fn between(
        &self,
        surface: &Surface,
        from: Point2<Face>,
        to: Point2<Face>,
    ) -> Result<Vector2<View>, SurfaceError> {
        let (to, from) = (surface.jet(to)?, surface.jet(from)?.at);
        let ([x, y], _) = self.seen(to.at, from, [to.du, to.dv])?;
        Ok(Vector2::from_mm(x, y))
    }

    /// Where a place of the view, `away` from where `from` is seen, lies on the face.
    ///
    /// # Errors
    /// [`SurfaceError::OutOfSight`] where the face turns away before that; places off the face.
    pub fn met(
        &self,
        surface: &Surface,
        from: Point2<Face>,
        away: Vector2<View>,
    ) -> Result<Seen, SurfaceError> {
        let origin = surface.jet(from)?.at;
        let far = away.norm().mm();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "an outline is metres at most: saturates far above"
        )]
        let steps = (libm::ceil(far / STEP_MM) as usize).clamp(1, 10_000);
        let mut at = from;
        for k in 1..=steps {
            let to = away * (k as f64 / steps as f64);
            at = self.newton(surface, origin, to, at)?;
        }
        Ok(Seen {
            at,
            turned: self.turned(surface, at)?,
        })
    }

    fn newton(
        &self,
        surface: &Surface,
        origin: Point3<Part>,
        to: Vector2<View>,
        near: Point2<Face>,
    ) -> Result<Point2<Face>, SurfaceError> {
        let mut at = near;
        for _ in 0..MOST_STEPS {
            let jet = surface.jet(at)?;
            if surface.normal(at)?.dot(self.towards_from(jet.at)?) <= 0.0 {
                return Err(SurfaceError::OutOfSight);
            }
            let ([x, y], slopes) = self.seen(jet.at, origin, [jet.du, jet.dv])?;
            let miss = Column2::new(to.x_mm() - x, to.y_mm() - y);
            if libm::hypot(miss.x, miss.y) < MET_MM {
                return Ok(at);
            }
            let step = slopes.lu().solve(&miss).ok_or(SurfaceError::OutOfSight)?;
            let long = libm::hypot(step.x, step.y);
            if !long.is_finite() {
                return Err(SurfaceError::OutOfSight);
            }
            // Near the edge of what is seen a whole step would jump over it.
            let share = (4.0 * STEP_MM / long).min(1.0);
            at = at + Vector2::from_mm(step.x * share, step.y * share);
        }
        Err(SurfaceError::OutOfSight)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::surface::{Axis, Bulge, Cone, Cylinder, Dome, FlatFace, TwoRadii, UP};
    use crate::units::Length;

    fn straight_on(surface: &Surface) -> Sight {
        Sight::new(surface.normal(Point2::ORIGIN).unwrap(), UP).unwrap()
    }

    #[test]
    fn a_round_face_seen_straight_on_is_met_at_the_arc_sine() {
        // Elementary: a place x beside the middle of a circle of radius R lies R·asin(x/R) round it.
        let r = 150.0;
        let cylinder =
            Surface::Cylinder(Cylinder::new(Length::from_mm(r), Axis::Up, Bulge::Bulging).unwrap());
        let seen = straight_on(&cylinder)
            .met(&cylinder, Point2::ORIGIN, Vector2::from_mm(90.0, 40.0))
            .unwrap();
        assert!((seen.at.x_mm() - r * libm::asin(90.0 / r)).abs() < 1e-8);
        assert!((seen.at.y_mm() - 40.0).abs() < 1e-8);
        assert!((seen.turned.rad() - libm::asin(90.0 / r)).abs() < 1e-10);

        // Snyder 1987, eqs 20-3, 20-4 and 20-14 (orthographic, equatorial: φ₁ = 0): x = R cos φ sin λ,
        // y = R sin φ; the chart is azimuthal about the origin, so the distance there is R·asin(ρ/R).
        let dome = Surface::Dome(Dome::new(Length::from_mm(r), Bulge::Bulging).unwrap());
        let seen = straight_on(&dome)
            .met(&dome, Point2::ORIGIN, Vector2::from_mm(60.0, -80.0))
            .unwrap();
        let out = libm::hypot(seen.at.x_mm(), seen.at.y_mm());
        assert!((out - r * libm::asin(100.0 / r)).abs() < 1e-8);
        assert!((seen.at.x_mm() * 80.0 + seen.at.y_mm() * 60.0).abs() < 1e-6);
    }

    #[test]
    fn what_is_met_is_seen_where_it_was_drawn_on_every_kind() {
        let mm = Length::from_mm;
        let faces = [
            Surface::Flat(FlatFace),
            Surface::Cylinder(Cylinder::new(mm(120.0), Axis::Across, Bulge::Hollow).unwrap()),
            Surface::Cone(Cone::new(mm(160.0), -0.2, Bulge::Bulging).unwrap()),
            Surface::Dome(Dome::new(mm(140.0), Bulge::Bulging).unwrap()),
            Surface::TwoRadii(
                TwoRadii::new((mm(150.0), Bulge::Bulging), (mm(90.0), Bulge::Hollow)).unwrap(),
            ),
        ];
        for face in &faces {
            let from = Point2::from_mm(12.0, -7.0);
            let tilted = Sight::new(
                face.normal(from).unwrap() + Vector3::from_mm(0.1, 0.25, -0.2),
                UP,
            )
            .unwrap();
            for away in [(30.0, 0.0), (-25.0, 20.0), (0.0, -30.0), (0.0, 0.0)] {
                let away = Vector2::from_mm(away.0, away.1);
                let met = tilted.met(face, from, away).unwrap();
                let back = tilted.between(face, from, met.at).unwrap();
                assert!((back - away).norm().mm() < 1e-8, "{face:?}");
                assert!(met.turned < Angle::from_deg(90.0));
            }
        }
    }

    #[test]
    fn from_an_eye_a_ball_is_met_where_its_ray_meets_it() {
        // The ray from an eye D in front of a ball of radius R through a place x of the plane that
        // touches it in front: elementary (a line and a sphere), the nearer meeting.
        let (r, far, x) = (150.0, 900.0, 60.0);
        let dome = Surface::Dome(Dome::new(Length::from_mm(r), Bulge::Bulging).unwrap());
        let middle = dome.jet(Point2::ORIGIN).unwrap().at;
        let out = dome.normal(Point2::ORIGIN).unwrap();
        let sight = Sight::from_eye(middle + out * far, middle, UP).unwrap();
        let met = sight
            .met(&dome, Point2::ORIGIN, Vector2::from_mm(x, 0.0))
            .unwrap();
        // With z from the ball's middle to the eye: (x·t)² + (R + D − D·t)² = R².
        let (a, b, c) = (
            x * x + far * far,
            (r + far) * far,
            (r + far) * (r + far) - r * r,
        );
        let t = (b - libm::sqrt(b * b - a * c)) / a;
        let round = r * libm::atan2(x * t, r + far - far * t);
        assert!((met.at.x_mm() - round).abs() < 1e-8, "{:?} {round}", met.at);
        assert!(met.at.y_mm().abs() < 1e-8);
        // Nearer than from far off, where x is met at R asin(x/R).
        assert!(round > r * libm::asin(x / r));
        // The ray leans by atan(x/D) more than the normal does.
        let leans = round / r + libm::atan2(x, far);
        assert!((met.turned.rad() - leans).abs() < 1e-9);
        assert_eq!(
            Sight::from_eye(middle, middle, UP),
            Err(SurfaceError::InTheEye)
        );
        // From very far off it is the view from far off.
        let off = Sight::from_eye(middle + out * 1e5, middle, UP).unwrap();
        let met = off
            .met(&dome, Point2::ORIGIN, Vector2::from_mm(x, 0.0))
            .unwrap();
        assert!((met.at.x_mm() - r * libm::asin(x / r)).abs() < 0.02);
    }

    #[test]
    fn what_the_face_turns_away_from_is_not_met() {
        let dome = Surface::Dome(Dome::new(Length::from_mm(100.0), Bulge::Bulging).unwrap());
        let sight = straight_on(&dome);
        let met = |x: f64| sight.met(&dome, Point2::ORIGIN, Vector2::from_mm(x, 0.0));
        assert!(met(99.0).unwrap().turned > TURNED_AWAY);
        assert_eq!(met(101.0), Err(SurfaceError::OutOfSight));
        assert!(Sight::new(UP, UP).is_err());
    }
}
