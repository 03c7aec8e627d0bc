//! What a straight line between two points of a face has to do with the face.

use super::{Distance, MAX_PARAMETERS, Shape, Surface, SurfaceError, too_close};
use crate::frames::{Face, Part, Point2, Vector2, Vector3};
use crate::units::{Angle, Length};

/// A straight line that dips more than this into the face can't be a tape pulled straight:
/// *trammel, or laid over?* (design/11, *Branches*). 0.2 mm is what the eye sees under a tape.
pub const DIP_WORTH_ASKING: Length = Length::from_mm(0.2);

/// Up is no use to a template whose normal runs within 20° of it, either way: projected, it has
/// shrunk to a third and a degree of tilt turns it by three (design/11, *Frames and charts*).
pub const UP_WITHIN: Angle = Angle::from_deg(20.0);

/// Halvings of the chord in the search for the deepest place on a cone: 60 leave 1e-18 of it.
const HALVINGS: usize = 60;

impl Surface {
    /// The straight distance in space between two chart points, with derivatives.
    ///
    /// # Errors
    /// Points under 1 mm apart, or off the face.
    pub fn straight(&self, from: Point2<Face>, to: Point2<Face>) -> Result<Distance, SurfaceError> {
        let (a, b) = (self.jet(from)?, self.jet(to)?);
        let chord = b.at - a.at;
        let mm = chord.norm().mm();
        too_close(mm)?;
        let along = chord * (1.0 / mm);
        let mut d_param = [0.0; MAX_PARAMETERS];
        for (by, (of_a, of_b)) in d_param.iter_mut().zip(a.dparam.iter().zip(&b.dparam)) {
            *by = along.dot(*of_b - *of_a);
        }
        Ok(Distance {
            mm,
            d_from: Vector2::from_mm(-along.dot(a.du), -along.dot(a.dv)),
            d_to: Vector2::from_mm(along.dot(b.du), along.dot(b.dv)),
            d_param,
        })
    }

    /// How deep the straight line between two points runs inside a bulging face at its deepest,
    /// square to the face; nothing on a flat face or in a hollow.
    ///
    /// # Errors
    /// A point off the face.
    pub fn dip(&self, from: Point2<Face>, to: Point2<Face>) -> Result<Length, SurfaceError> {
        let mm = match self {
            Self::Flat(_) => 0.0,
            Self::Cylinder(face) => {
                let r_mm = face.signed_radius().mm().max(0.0);
                // The line is deepest half-way; across the axis it never is deeper than R.
                let (a, b) = (self.normal(from)?, self.normal(to)?);
                sagitta_mm(r_mm, a, b)
            }
            Self::Dome(face) => {
                let r_mm = face.signed_radius().mm().max(0.0);
                sagitta_mm(r_mm, self.normal(from)?, self.normal(to)?)
            }
            Self::TwoRadii(face) => face.dip_mm(from, to)?,
            Self::Scan(face) => face.dip_mm(from, to)?,
            Self::Cone(face) if face.signed_reference_radius().mm() < 0.0 => 0.0,
            Self::Cone(face) => {
                let (a, b) = (self.jet(from)?.at.mm(), self.jet(to)?.at.mm());
                let (ra, rb) = (libm::hypot(a.x, a.y), libm::hypot(b.x, b.y));
                let (dx, dy, dr) = (b.x - a.x, b.y - a.y, rb - ra);
                // Depth r(s) − |p(s)| is concave along the chord: halve on the sign of its slope.
                let (mut low, mut high) = (0.0, 1.0);
                for _ in 0..HALVINGS {
                    let s = 0.5 * (low + high);
                    let (x, y) = (a.x + s * dx, a.y + s * dy);
                    if dr * libm::hypot(x, y) > x * dx + y * dy {
                        low = s
                    } else {
                        high = s
                    }
                }
                let s = 0.5 * (low + high);
                let deep = ra + s * dr - libm::hypot(a.x + s * dx, a.y + s * dy);
                deep.max(0.0) * libm::cos(face.half_angle().rad())
            }
        };
        Ok(Length::from_mm(mm))
    }

    /// The part's up as a chart direction at a template's centre: projected on the tangent
    /// plane, of length one over the surface; `None` where up runs within 20° of the normal
    /// (there the direction A to B of the feature's rule is up; design/11, *Frames and charts*).
    ///
    /// # Errors
    /// A point off the face; [`SurfaceError::NoDirection`] for an up of no length.
    pub fn up_at(
        &self,
        at: Point2<Face>,
        up: Vector3<Part>,
    ) -> Result<Option<Vector2<Face>>, SurfaceError> {
        let up = up.unit().ok_or(SurfaceError::NoDirection)?;
        let normal = self.normal(at)?;
        if up.dot(normal).abs() >= libm::cos(UP_WITHIN.rad()) {
            return Ok(None);
        }
        let tangent = up - normal * up.dot(normal);
        let jet = self.jet(at)?;
        Ok(tangent.unit().map(|t| jet.chart(t)))
    }
}

/// R·(1 − cos(ψ/2)) for the directions at the two ends, without cancelling.
fn sagitta_mm(r_mm: f64, a: Vector3<Part>, b: Vector3<Part>) -> f64 {
    // |a − b| = 2 sin(ψ/2) and |a + b| = 2 cos(ψ/2).
    let (half_sin, half_cos) = ((a - b).norm().mm() / 2.0, (a + b).norm().mm() / 2.0);
    r_mm * half_sin * half_sin / (1.0 + half_cos)
}
