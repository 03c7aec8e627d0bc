//! A tapered face.

use super::series::{sinc, sinc_by_square};
use super::{
    Bulge, Distance, Jet, MAX_PARAMETERS, OVER_THE_TIP_MARGIN, Parameter, Shape, Surface,
    SurfaceError, Turns, checked_size, too_close,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::{Angle, Length};
use core::f64::consts::{PI, TAU};

/// The greatest taper of a cone: the sine of a half-angle of 87.4°. Beyond it the face is as
/// good as flat, its height over the slant loses all its digits, and no workshop calls it a cone.
pub(super) const GREATEST_TAPER: f64 = 0.999;

/// A cone standing on the z axis, narrowing upwards or downwards, bulging or hollow.
///
/// Chart: u is the arc at the reference girth (v = 0), v the slant upwards from it. In its own
/// space frame the reference girth lies in z = 0, chart (0, 0) on the x axis. With r₀ the signed
/// reference radius (negative in a hollow) and t the taper dr/dv, r = r₀ + t·v, θ = u/r₀ and
/// the point is (r cos θ, r sin θ, v·√(1 − t²)).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cone {
    /// Radius where v = 0; negative in a hollow.
    reference_mm: f64,
    /// Change of the signed radius for each millimetre of slant upwards.
    taper: f64,
}

/// What every formula needs of one chart point.
struct Station {
    /// Signed radius there.
    r_mm: f64,
    sin: f64,
    cos: f64,
    /// u / r₀.
    turn: f64,
}

impl Cone {
    /// From the radius at the reference girth and the sine of the half-angle: negative where the
    /// face narrows upwards, positive where it widens.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for the radius, [`SurfaceError::Taper`] for the sine.
    pub fn new(reference: Length, taper: f64, bulge: Bulge) -> Result<Self, SurfaceError> {
        let reference_mm = checked_size("a radius", reference.mm())?;
        checked_taper(taper)?;
        Ok(Self {
            reference_mm: bulge.sign() * reference_mm,
            taper: bulge.sign() * taper,
        })
    }
    /// From two girths and the slant between them; v = 0 at the lower one.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a girth or slant that no face can have,
    /// [`SurfaceError::Taper`] when the radii differ by more than the slant allows.
    pub fn from_girths(
        lower: Length,
        upper: Length,
        slant: Length,
        bulge: Bulge,
    ) -> Result<Self, SurfaceError> {
        let lower_mm = checked_size("a girth", lower.mm())?;
        let upper_mm = checked_size("a girth", upper.mm())?;
        let slant_mm = checked_size("a slant", slant.mm())?;
        Self::new(
            Length::from_mm(lower_mm / TAU),
            (upper_mm - lower_mm) / (TAU * slant_mm),
            bulge,
        )
    }
    /// From two radii and the height between them, measured plumb; v = 0 at the lower one.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] for a radius or height that no face can have,
    /// [`SurfaceError::Taper`] for a face that is all but flat.
    pub fn from_radii(
        lower: Length,
        upper: Length,
        height: Length,
        bulge: Bulge,
    ) -> Result<Self, SurfaceError> {
        let lower_mm = checked_size("a radius", lower.mm())?;
        let upper_mm = checked_size("a radius", upper.mm())?;
        let height_mm = checked_size("a height", height.mm())?;
        let slant_mm = libm::hypot(upper_mm - lower_mm, height_mm);
        Self::new(lower, (upper_mm - lower_mm) / slant_mm, bulge)
    }
    /// The radius at the reference girth, without its sign.
    #[must_use]
    pub const fn reference_radius(&self) -> Length {
        Length::from_mm(self.reference_mm.abs())
    }
    /// The radius at the reference girth, negative in a hollow.
    #[must_use]
    pub const fn signed_reference_radius(&self) -> Length {
        Length::from_mm(self.reference_mm)
    }
    /// Change of the *signed* radius for each millimetre of slant upwards.
    #[must_use]
    pub const fn signed_taper(&self) -> f64 {
        self.taper
    }
    /// The angle between the slant and the axis, without a sign.
    #[must_use]
    pub fn half_angle(&self) -> Angle {
        Angle::from_rad(libm::asin(self.taper.abs()))
    }
    /// Slant from the reference girth up to the tip; negative when the tip is below, `None`
    /// when there is none.
    #[must_use]
    pub fn slant_to_tip(&self) -> Option<Length> {
        let mm = -self.reference_mm / self.taper;
        mm.is_finite().then(|| Length::from_mm(mm))
    }
    /// The radius at a slant, without its sign.
    ///
    /// # Errors
    /// [`SurfaceError::PastTheTip`].
    pub fn radius_at(&self, slant: Length) -> Result<Length, SurfaceError> {
        Ok(Length::from_mm(self.r_mm(slant.mm())?.abs()))
    }
    /// Whether one stands outside it or in it.
    #[must_use]
    pub fn bulge(&self) -> Bulge {
        Bulge::of(self.reference_mm)
    }
    /// Signed radius at slant `v_mm`, refused at the tip and past it.
    pub(super) fn r_mm(&self, v_mm: f64) -> Result<f64, SurfaceError> {
        let share = 1.0 + self.taper * v_mm / self.reference_mm;
        if share > 0.0 {
            Ok(share * self.reference_mm)
        } else {
            let past_mm = share.abs() * (self.reference_mm / self.taper).abs();
            Err(SurfaceError::PastTheTip { past_mm })
        }
    }
    /// Height for each millimetre of slant.
    fn rise(&self) -> f64 {
        libm::sqrt(1.0 - self.taper * self.taper)
    }
    fn station(&self, at: Point2<Face>) -> Result<Station, SurfaceError> {
        let r_mm = self.r_mm(at.y_mm())?;
        let turn = at.x_mm() / self.reference_mm;
        Ok(Station {
            r_mm,
            sin: libm::sin(turn),
            cos: libm::cos(turn),
            turn,
        })
    }
    /// The parallel cone through the middle of a sheet, `normal_mm` out along the normal, with
    /// the chart's v kept: same tip angle, and the same turn and slant for the same point.
    pub(super) fn offset(&self, normal_mm: f64) -> Self {
        Self {
            reference_mm: self.reference_mm + normal_mm * self.rise(),
            taper: self.taper,
        }
    }
}

fn checked_taper(taper: f64) -> Result<(), SurfaceError> {
    if taper.abs() <= GREATEST_TAPER {
        Ok(())
    } else {
        Err(SurfaceError::Taper { taper })
    }
}

impl Shape for Cone {
    fn parameters(&self) -> &'static [Parameter] {
        &[Parameter::ReferenceRadius, Parameter::Taper]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [self.reference_mm, self.taper, 0.0]
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        checked_size("a radius", values[0].abs())?;
        checked_taper(values[1])?;
        Ok(Surface::Cone(Self {
            reference_mm: values[0],
            taper: values[1],
        }))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        let Station {
            r_mm,
            sin,
            cos,
            turn,
        } = self.station(at)?;
        let (r0, t, rise, v_mm) = (self.reference_mm, self.taper, self.rise(), at.y_mm());
        // θ = u/r₀, so ∂θ/∂r₀ = −θ/r₀; r = r₀ + t·v.
        let round = r_mm * turn / r0;
        Ok(Jet {
            at: Point3::from_mm(r_mm * cos, r_mm * sin, v_mm * rise),
            du: Vector3::from_mm(-sin, cos, 0.0) * (r_mm / r0),
            dv: Vector3::from_mm(t * cos, t * sin, rise),
            dparam: [
                Vector3::from_mm(cos + round * sin, sin - round * cos, 0.0),
                Vector3::from_mm(v_mm * cos, v_mm * sin, -v_mm * t / rise),
                Vector3::from_mm(0.0, 0.0, 0.0),
            ],
        })
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        let Station { sin, cos, .. } = self.station(at)?;
        let rise = self.rise();
        Ok(Vector3::from_mm(cos * rise, sin * rise, -self.taper))
    }
    /// With Δθ the turn between the two, d² = Δv² + r₁r₂·Δθ²·(sin x / x)², x = t·Δθ/2.
    ///
    /// This is the law of cosines in the developed sector, s₁² + s₂² − 2 s₁s₂ cos(Δθ·sin a)
    /// (do Carmo 1976, §2-4, the cone as a developable), written with s = r/t so that nothing
    /// cancels for a slight taper; at t = 0 it is the cylinder's.
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        let (r0, t) = (self.reference_mm, self.taper);
        let (r1, r2) = (self.r_mm(from.y_mm())?, self.r_mm(to.y_mm())?);
        // One more girth along +u whichever way u turns about the axis.
        let around = (to.x_mm() - from.x_mm()) / r0;
        let turn = around + f64::from(turns) * TAU * r0.signum();
        if (turn * t).abs() >= PI - OVER_THE_TIP_MARGIN {
            return Err(SurfaceError::OverTheTip);
        }
        let x = t * turn / 2.0;
        let q = x * x;
        let s = sinc(q);
        let dv = to.y_mm() - from.y_mm();
        let arc2 = turn * turn * s * s;
        let mm = libm::sqrt(dv * dv + r1 * r2 * arc2);
        too_close(mm)?;
        // Derivatives of d²/2. S² changes with turn and t through q = t²·turn²/4.
        let s2_by_q = 2.0 * s * sinc_by_square(q);
        let half_by_turn = 0.5 * r1 * r2 * (2.0 * turn * s * s + turn * turn * s2_by_q * t * x);
        let half_by_t_direct = 0.5 * r1 * r2 * turn * turn * s2_by_q * turn * x;
        let (half_by_r1, half_by_r2) = (0.5 * r2 * arc2, 0.5 * r1 * arc2);
        let by = |half: f64| half / mm;
        let by_u = by(half_by_turn / r0);
        Ok(Distance {
            mm,
            d_from: Vector2::from_mm(-by_u, by(t * half_by_r1 - dv)),
            d_to: Vector2::from_mm(by_u, by(t * half_by_r2 + dv)),
            d_param: [
                by(half_by_r1 + half_by_r2 - half_by_turn * around / r0),
                by(half_by_r1 * from.y_mm() + half_by_r2 * to.y_mm() + half_by_t_direct),
                0.0,
            ],
        })
    }
    fn isometries(&self, any_straight: bool) -> usize {
        if any_straight { 1 } else { 3 }
    }
}
