//! What a flat sheet on a face round both ways leaves: how far each outline point lands from its place.
//!
//! A sheet laid with its crosses on the marks can keep true distances from one point only. The
//! rest is said as a number over the outline (design/11, *Flattening error*), never hidden.

use super::series::sinc;
use super::{Development, Linear2, Shape, Surface, SurfaceError};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::units::{Angle, Length};

/// Registers whose directions of arrival span less than this can't hold a point sideways, and
/// the sheet's centre joins them (design/11, *Flattening error*).
pub(super) const SPAN_THAT_HOLDS: Angle = Angle::from_deg(30.0);

/// Below this share of the squared trace the normal matrix has one direction only.
const ONE_DIRECTION: f64 = 1e-9;

/// A place where the sheet is held to the face: a cross laid on its mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Register {
    /// The mark on the face, written on the branch of the outline ([`Surface::nearest`]).
    pub at: Point2<Face>,
    /// How much it counts against the others, zero or more; one for all alike.
    pub weight: f64,
}

/// One outline point and how far from its place it lands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LandingPoint {
    /// The point on the face.
    pub at: Point2<Face>,
    /// From its place to where the sheet puts it, in the sheet's directions.
    pub error: Vector2<Flat>,
    /// The registers alone would not hold it sideways: the sheet's centre was counted as one.
    pub centre_joined: bool,
}

/// The landing error over an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Landing {
    /// Every point, in the order of the outline.
    pub points: Vec<LandingPoint>,
    /// The greatest error.
    pub worst: Length,
    /// Which point has it; `None` for an outline without points.
    pub worst_at: Option<usize>,
    /// The root of the mean square.
    pub rms: Length,
}

/// The least that any flat map of a cap can be stretched: ln(greatest/least scale) = ln(r/sin r)
/// for the angular radius r, attained by the azimuthal equidistant map alone (Milnor 1969,
/// *A problem in cartography*, Amer. Math. Monthly 76(10), 1101–1112).
#[must_use]
pub fn least_stretch(cap_radius: Angle) -> f64 {
    -libm::log(sinc(cap_radius.rad() * cap_radius.rad()))
}

impl Development {
    /// How far each outline point lands from its place when the sheet's crosses lie on the marks.
    ///
    /// For register mⱼ and outline point p, eⱼ = |φ(mⱼ) − φ(p)| − d(mⱼ, p) in the middle of the
    /// sheet, and the error is (Σ w t tᵀ)⁻¹ Σ w t e with t the direction in which the shortest
    /// way from mⱼ arrives. A point within 1 mm of a register is held by it. With no register at
    /// all the sheet lies by its centre. Where the development is exact the answer is nothing.
    ///
    /// # Errors
    /// A point off the face, or a register so far from the outline that no tape would run there.
    pub fn landing(
        &self,
        outline: &[Point2<Face>],
        registers: &[Register],
    ) -> Result<Landing, SurfaceError> {
        let flat_registers = registers
            .iter()
            .map(|register| self.flat(register.at))
            .collect::<Result<Vec<_>, _>>()?;
        let mut points = Vec::with_capacity(outline.len());
        for &at in outline {
            points.push(self.landing_of(at, registers, &flat_registers)?);
        }
        let (mut worst_mm, mut worst_at, mut squares) = (0.0, None, 0.0);
        for (index, point) in points.iter().enumerate() {
            let mm = point.error.norm_mm();
            squares += mm * mm;
            if worst_at.is_none() || mm > worst_mm {
                (worst_mm, worst_at) = (mm, Some(index));
            }
        }
        #[expect(
            clippy::cast_precision_loss,
            reason = "an outline has far fewer than 2^53 points"
        )]
        let count = points.len().max(1) as f64;
        let rms = Length::from_mm(libm::sqrt(squares / count));
        Ok(Landing {
            points,
            worst: Length::from_mm(worst_mm),
            worst_at,
            rms,
        })
    }

    /// The least that any flat sheet over this outline's cap could be stretched
    /// ([`least_stretch`]): nothing where the face unrolls exactly, and nothing claimed with two radii.
    ///
    /// # Errors
    /// A point off the face.
    pub fn bound_on_stretch(&self, outline: &[Point2<Face>]) -> Result<f64, SurfaceError> {
        let Surface::Dome(dome) = self.middle() else {
            return Ok(0.0);
        };
        let mut furthest_mm: f64 = 0.0;
        for &at in outline {
            furthest_mm = furthest_mm.max(self.flat(at)?.from_origin().norm_mm());
        }
        Ok(least_stretch(Angle::from_rad(
            furthest_mm / dome.radius().mm(),
        )))
    }

    fn landing_of(
        &self,
        at: Point2<Face>,
        registers: &[Register],
        flat_registers: &[Point2<Flat>],
    ) -> Result<LandingPoint, SurfaceError> {
        let held = |centre_joined| LandingPoint {
            at,
            error: Vector2::ZERO,
            centre_joined,
        };
        let mut arrivals = Vec::with_capacity(registers.len() + 1);
        let laid = self.laid(at)?;
        for (register, &flat) in registers.iter().zip(flat_registers) {
            match self.arrival(register.at, flat, (at, &laid))? {
                Some((direction, too_long_mm)) => {
                    arrivals.push(Arrival {
                        direction,
                        too_long_mm,
                        weight: register.weight,
                    });
                }
                None => return Ok(held(false)),
            }
        }
        let centre_joined = span_rad(&arrivals) < SPAN_THAT_HOLDS.rad();
        if centre_joined {
            match self.arrival(self.centre(), Point2::ORIGIN, (at, &laid))? {
                Some((direction, too_long_mm)) => {
                    let weight = mean_weight(registers);
                    arrivals.push(Arrival {
                        direction,
                        too_long_mm,
                        weight,
                    });
                }
                None => return Ok(held(true)),
            }
        }
        Ok(LandingPoint {
            at,
            error: least_squares(&arrivals),
            centre_joined,
        })
    }

    /// Direction in which the way from a register arrives, and how much too long the sheet has
    /// it; `None` within 1 mm of the register.
    fn arrival(
        &self,
        register: Point2<Face>,
        flat_register: Point2<Flat>,
        (at, laid): (Point2<Face>, &Laid),
    ) -> Result<Option<(Vector2<Flat>, f64)>, SurfaceError> {
        let Some(way) = self.way_from(register, (at, laid))? else {
            return Ok(None);
        };
        let mm = (laid.flat - flat_register).norm_mm();
        Ok(Some((way.arrives, mm - way.mm)))
    }

    /// A place as the sheet has it.
    pub(super) fn laid(&self, at: Point2<Face>) -> Result<Laid, SurfaceError> {
        let (flat, slopes) = self.flat_from_middle(self.middle_from_face(at))?;
        Ok(Laid { flat, slopes })
    }

    /// The way over the middle of the sheet from a register to a place; `None` within 1 mm.
    pub(super) fn way_from(
        &self,
        register: Point2<Face>,
        (at, laid): (Point2<Face>, &Laid),
    ) -> Result<Option<WayThere>, SurfaceError> {
        let (m, p) = (self.middle_from_face(register), self.middle_from_face(at));
        let distance = match self.middle().over_surface(m, p, 0) {
            Ok(distance) => distance,
            Err(SurfaceError::TooClose) => return Ok(None),
            Err(other) => return Err(other),
        };
        let ahead = self.middle().jet(p)?.raise(distance.d_to);
        let arrives = laid
            .slopes
            .vector(ahead)
            .unit()
            .ok_or(SurfaceError::NoDirection)?;
        Ok(Some(WayThere {
            mm: distance.mm,
            arrives,
        }))
    }
}

/// A way over the middle of the sheet.
pub(super) struct WayThere {
    /// Its length.
    pub(super) mm: f64,
    /// The direction in which it arrives, on the sheet.
    pub(super) arrives: Vector2<Flat>,
}

/// A place of the face on the sheet: looked up once for all the ways that lead there.
pub(super) struct Laid {
    pub(super) flat: Point2<Flat>,
    slopes: Linear2<Flat, Face>,
}

/// The end of the way from one register.
pub(super) struct Arrival {
    pub(super) direction: Vector2<Flat>,
    pub(super) too_long_mm: f64,
    pub(super) weight: f64,
}

fn mean_weight(registers: &[Register]) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "far fewer than 2^53 registers")]
    let count = registers.len() as f64;
    let sum: f64 = registers.iter().map(|register| register.weight).sum();
    if sum > 0.0 { sum / count } else { 1.0 }
}

/// The greatest angle between any two lines of arrival.
pub(super) fn span_rad(arrivals: &[Arrival]) -> f64 {
    let mut sine: f64 = 0.0;
    for (index, a) in arrivals.iter().enumerate() {
        for b in arrivals.iter().skip(index + 1) {
            sine = sine.max(a.direction.cross(b.direction).abs());
        }
    }
    libm::asin(sine.min(1.0))
}

/// (Σ w t tᵀ)⁻¹ Σ w t e; along the one direction there is where there is only one.
pub(super) fn least_squares(arrivals: &[Arrival]) -> Vector2<Flat> {
    let (mut xx, mut xy, mut yy, mut right) = (0.0, 0.0, 0.0, Vector2::ZERO);
    for Arrival {
        direction,
        too_long_mm,
        weight,
    } in arrivals
    {
        let (x, y) = (direction.x_mm(), direction.y_mm());
        xx += weight * x * x;
        xy += weight * x * y;
        yy += weight * y * y;
        right = right + *direction * (weight * too_long_mm);
    }
    let (trace, determinant) = (xx + yy, xx * yy - xy * xy);
    if trace <= 0.0 {
        Vector2::ZERO
    } else if determinant > ONE_DIRECTION * trace * trace {
        let (x, y) = (right.x_mm(), right.y_mm());
        Vector2::from_mm(yy * x - xy * y, xx * y - xy * x) * (1.0 / determinant)
    } else {
        right * (1.0 / trace)
    }
}
