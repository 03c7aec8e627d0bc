//! An axis through layers: where it enters and leaves each, how far it leans, how deep, how long.

use super::laminate::Thickness;
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::surface::{Shape, Surface, SurfaceError};
use crate::units::{Angle, Length};

/// One side of a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ground<'f> {
    /// A plane through a point, square to a direction.
    Plane {
        /// A point on it.
        at: Point3<Part>,
        /// Square to it.
        normal: Vector3<Part>,
    },
    /// The side of a skin: so deep behind a face, square to it everywhere.
    Skin {
        /// The face, at its outside.
        face: &'f Surface,
        /// How deep behind it.
        deep: Length,
        /// A place of the face near the axis.
        near: Point2<Face>,
    },
}

/// A layer that the drill goes through, in the order it meets them.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer<'f> {
    /// What it is: *skin*, *bracket*.
    pub name: String,
    /// The side the drill comes to first.
    pub near: Ground<'f>,
    /// The side it comes out of.
    pub far: Ground<'f>,
}

/// The axis of a hole: from a point on the drill's side, along the way it is drilled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Where the drill stands.
    pub from: Point3<Part>,
    /// The way it goes.
    pub along: Vector3<Part>,
}

/// Where the axis meets one side of a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// The mark.
    pub at: Point3<Part>,
    /// How far the axis leans from square to the face here.
    pub tilt: Angle,
    /// Which way the drill's top leans, along the face; nothing where it stands square.
    pub top_leans: Option<Vector3<Part>>,
}

/// One layer passed.
#[derive(Debug, Clone, PartialEq)]
pub struct Passed {
    /// Its name.
    pub name: String,
    /// In.
    pub entry: Crossing,
    /// Out.
    pub exit: Crossing,
    /// Material on the way.
    pub length: Length,
}

/// The whole way.
#[derive(Debug, Clone, PartialEq)]
pub struct Through {
    /// Each layer in order.
    pub layers: Vec<Passed>,
    /// From the first mark in to the last mark out: what a bolt clamps.
    pub grip: Length,
}

/// Why there is no such hole.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ThroughError {
    /// No direction.
    #[error("this hole has no direction: say which way it is drilled")]
    NoDirection,
    /// No layer.
    #[error("nothing to drill through: name the layers this hole passes, in order")]
    NoLayers,
    /// It doesn't meet a layer.
    #[error(
        "the drill misses {layer}: drawn on, its axis never meets it. Check where the hole is and which way it goes"
    )]
    Misses {
        /// Which.
        layer: String,
    },
    /// It runs along a layer.
    #[error(
        "the drill would graze {layer}: it comes in only {shallow_deg:.0}° off lying flat, and a bit wanders below {LEAST_ENTRY_DEG:.0}°. Turn the hole, or give the bit a flat seat"
    )]
    Grazes {
        /// Which.
        layer: String,
        /// How shallow.
        shallow_deg: f64,
    },
    /// The layers are not in the order of the drill.
    #[error(
        "{layer} would be left before it is entered: the layers are not in the order the drill meets them"
    )]
    Order {
        /// Which.
        layer: String,
    },
}

/// A bit that comes in shallower than this wanders (common practice, no source).
pub const LEAST_ENTRY_DEG: f64 = 30.0;
/// The bit passes the far side by this, and the stop lets it no further.
pub const OVERRUN: Length = Length::from_mm(3.0);
/// Farther than this from where the drill stands nothing is drilled, mm.
const REACH_MM: f64 = 2000.0;
/// Straight drill with its bit, angle drill with its bit (common practice, no source).
pub const STRAIGHT_DRILL: Length = Length::from_mm(300.0);
/// See [`STRAIGHT_DRILL`].
pub const ANGLE_DRILL: Length = Length::from_mm(110.0);

/// Newton's method on a skin: five steps are enough on any face a bracket lies on.
const STEPS: usize = 30;
/// Over this much of the chart the change of the square direction is taken, mm: its third order is
/// below a micrometre on any radius over 50 mm.
const PROBE_MM: f64 = 0.05;

impl Ground<'_> {
    /// The first place past `after` along a ray, with the square direction there.
    fn meets(self, axis: Axis, after: f64) -> Option<(f64, Vector3<Part>)> {
        let d = axis.along;
        let (t, n) = match self {
            Self::Plane { at, normal } => {
                let n = normal.unit()?;
                let speed = n.dot(d);
                if speed.abs() < 1e-9 {
                    return None;
                }
                (n.dot(at - axis.from) / speed, n)
            }
            Self::Skin { face, deep, near } => pierces(face, deep, near, axis).ok()??,
        };
        (t > after && t < REACH_MM).then_some((t, n))
    }
}

/// A place so deep behind a face, and the square direction there.
fn behind(
    face: &Surface,
    deep: Length,
    at: Point2<Face>,
) -> Result<(Point3<Part>, Vector3<Part>), SurfaceError> {
    let n = face.normal(at)?;
    Ok((face.jet(at)?.at + n * -deep.mm(), n))
}

/// Where a ray meets the skin so deep behind a face: S(u, v) − deep·n(u, v) = from + t·along.
fn pierces(
    face: &Surface,
    deep: Length,
    near: Point2<Face>,
    axis: Axis,
) -> Result<Option<(f64, Vector3<Part>)>, SurfaceError> {
    let (mut at, d) = (near, axis.along);
    let mut t = d.dot(behind(face, deep, at)?.0 - axis.from);
    for _ in 0..STEPS {
        let (there, normal) = behind(face, deep, at)?;
        let miss = (axis.from + d * t) - there;
        let slope = |step: Vector2<Face>| -> Result<Vector3<Part>, SurfaceError> {
            let (a, b) = (
                behind(face, deep, at + step)?.0,
                behind(face, deep, at + step * -1.0)?.0,
            );
            Ok((a - b) * (0.5 / PROBE_MM))
        };
        let a = slope(Vector2::from_mm(PROBE_MM, 0.0))?;
        let b = slope(Vector2::from_mm(0.0, PROBE_MM))?;
        // a·du + b·dv − d·dt = miss, by Cramer's rule.
        let det = a.dot(b.cross(-d));
        if det.abs() < 1e-6 * (a.norm().mm() * b.norm().mm()).max(1e-12) {
            return Ok(None);
        }
        let step = Vector2::from_mm(miss.dot(b.cross(-d)) / det, a.dot(miss.cross(-d)) / det);
        let by = a.dot(b.cross(miss)) / det;
        at = at + step;
        t += by;
        if step.norm_mm() < 1e-9 && by.abs() < 1e-9 {
            return Ok(Some((t, normal)));
        }
    }
    Ok(None)
}

fn crossing(axis: Axis, t: f64, normal: Vector3<Part>) -> Crossing {
    let back = -axis.along;
    let n = if normal.dot(back) < 0.0 {
        -normal
    } else {
        normal
    };
    let leans = back - n * n.dot(back);
    let sine = leans.norm().mm();
    Crossing {
        at: axis.from + axis.along * t,
        tilt: Angle::from_rad(libm::atan2(sine, n.dot(back))),
        top_leans: (sine > 1e-9).then(|| leans.unit()).flatten(),
    }
}

/// Follows the axis through its layers.
///
/// # Errors
/// [`ThroughError`]: a miss, a graze, layers out of order.
pub fn through(axis: Axis, layers: &[Layer<'_>]) -> Result<Through, ThroughError> {
    let along = axis.along.unit().ok_or(ThroughError::NoDirection)?;
    let axis = Axis { along, ..axis };
    let mut passed = Vec::new();
    let mut ends: Option<(f64, f64)> = None;
    let mut after = -1e-9;
    for layer in layers {
        let named = || layer.name.clone();
        let misses = || ThroughError::Misses { layer: named() };
        let (t_in, n_in) = layer.near.meets(axis, after).ok_or_else(misses)?;
        let entry = crossing(axis, t_in, n_in);
        let shallow = 90.0 - entry.tilt.deg();
        if shallow < LEAST_ENTRY_DEG {
            return Err(ThroughError::Grazes {
                layer: named(),
                shallow_deg: shallow,
            });
        }
        let (t_out, n_out) = match layer.far.meets(axis, t_in) {
            Some(found) => found,
            None if layer.far.meets(axis, -REACH_MM).is_some() => {
                return Err(ThroughError::Order { layer: named() });
            }
            None => return Err(misses()),
        };
        passed.push(Passed {
            name: named(),
            entry,
            exit: crossing(axis, t_out, n_out),
            length: Length::from_mm(t_out - t_in),
        });
        ends = Some((ends.map_or(t_in, |e| e.0), t_out));
        after = t_out - 1e-6;
    }
    let (start, end) = ends.ok_or(ThroughError::NoLayers)?;
    Ok(Through {
        layers: passed,
        grip: Length::from_mm(end - start),
    })
}

/// The point of a 118° bit: the part of it that doesn't yet make the hole its full width.
#[must_use]
pub fn tip(bit: Length) -> Length {
    bit / (2.0 * libm::tan(59.0_f64.to_radians()))
}

/// Where the collar stands on the bit, from its tip: what the drill may go in at most.
///
/// Through a bracket the stop is the bracket and [`OVERRUN`], so that the finish behind can't be
/// reached. Through skins it is the most they may be, the bit's tip and the overrun; `None` while
/// a thickness is only reckoned from glass: no such depth is shown large.
#[must_use]
pub fn collar_at(way: Length, skin: Option<Thickness>, bit: Length) -> Option<Length> {
    match skin {
        None => Some(way + OVERRUN),
        Some(Thickness::FromGlass(_)) => None,
        Some(Thickness::Measured(_)) => {
            Some(Length::from_mm(libm::ceil((way + tip(bit) + OVERRUN).mm())))
        }
    }
}

/// How wide a bit has made the far edge when its stop lets it out no further than [`OVERRUN`].
///
/// The stop is never let out for a thick bit: the finish behind comes first. A bit over 9.98 mm
/// (2 · 3 mm · tan 59°) then leaves the edge narrower than itself, and it is opened afterwards
/// from the far side or with a reamer.
#[must_use]
pub fn far_edge(bit: Length) -> Length {
    let out = OVERRUN * (2.0 * libm::tan(59.0_f64.to_radians()));
    if out < bit { out } else { bit }
}

/// The least length of bit: what goes in, a collar of 15 mm and 30 mm held in the chuck
/// (common practice, no source).
#[must_use]
pub fn bit_length(goes_in: Length) -> Length {
    goes_in + Length::from_mm(45.0)
}

/// The drill that the room behind the hole takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Drill {
    /// A straight drill.
    Straight,
    /// An angle drill.
    Angle,
}

/// Which drill fits into this much room along the axis; `None`: neither.
#[must_use]
pub fn drill_for(room: Length) -> Option<Drill> {
    if room.mm() >= STRAIGHT_DRILL.mm() {
        Some(Drill::Straight)
    } else if room.mm() >= ANGLE_DRILL.mm() {
        Some(Drill::Angle)
    } else {
        None
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests;
