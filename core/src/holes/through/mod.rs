//! An axis through layers: where it enters and leaves each, how far it leans, how deep, how long.

use super::fastener::{LongerThanStandard, next_length};
use super::laminate::Thickness;
use crate::frames::{Part, Point3, Vector3};
use crate::units::{Angle, Length};

/// One side of a layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ground {
    /// A plane through a point, square to a direction.
    Plane {
        /// A point on it.
        at: Point3<Part>,
        /// Square to it.
        normal: Vector3<Part>,
    },
    /// A sphere.
    Sphere {
        /// Its middle.
        centre: Point3<Part>,
        /// Its radius.
        radius: Length,
    },
    /// A cylinder.
    Cylinder {
        /// A point on its axis.
        at: Point3<Part>,
        /// Along its axis.
        along: Vector3<Part>,
        /// Its radius.
        radius: Length,
    },
}

/// A layer that the drill goes through, in the order it meets them.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is: *skin*, *bracket*.
    pub name: String,
    /// The side the drill comes to first.
    pub near: Ground,
    /// The side it comes out of.
    pub far: Ground,
}

/// The axis of a hole: from a point on the drill's side, along the way it is drilled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    /// Where the drill stands.
    pub from: Point3<Part>,
    /// The way it goes.
    pub along: Vector3<Part>,
}

/// Something no drill may come near: armature, lifting eye, wiring, foam.
#[derive(Debug, Clone, PartialEq)]
pub struct KeepOut {
    /// One end of it.
    pub from: Point3<Part>,
    /// The other end; the same point for a ball.
    pub to: Point3<Part>,
    /// How far round it nothing may come.
    pub radius: Length,
    /// Why.
    pub reason: String,
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
    /// Against plumb.
    pub off_plumb: Angle,
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
    /// It comes near something that must not be touched.
    #[error(
        "this hole comes within {near_mm:.0} mm of what must not be drilled: {reason}. Keep {keep_mm:.0} mm away"
    )]
    KeepOut {
        /// Why.
        reason: String,
        /// How near the side of the bit comes.
        near_mm: f64,
        /// How near it may.
        keep_mm: f64,
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

impl Ground {
    /// The side of a skin that lies `thickness` away: along the normal, or outward from the middle.
    #[must_use]
    pub fn parallel(self, thickness: Length) -> Self {
        match self {
            Self::Plane { at, normal } => Self::Plane {
                at: normal.unit().map_or(at, |n| at + n * thickness.mm()),
                normal,
            },
            Self::Sphere { centre, radius } => Self::Sphere {
                centre,
                radius: radius + thickness,
            },
            Self::Cylinder { at, along, radius } => Self::Cylinder {
                at,
                along,
                radius: radius + thickness,
            },
        }
    }

    /// The first place past `after` along a ray, with the square direction there.
    fn meets(self, axis: Axis, after: f64) -> Option<(f64, Vector3<Part>)> {
        let d = axis.along;
        let first = |a: f64, b: f64, c: f64| {
            // a·t² + 2b·t + c = 0
            let rest = b * b - a * c;
            if a < 1e-12 || rest < 0.0 {
                return None;
            }
            let root = libm::sqrt(rest);
            [(-b - root) / a, (-b + root) / a]
                .into_iter()
                .find(|t| *t > after)
        };
        let (t, n) = match self {
            Self::Plane { at, normal } => {
                let n = normal.unit()?;
                let speed = n.dot(d);
                if speed.abs() < 1e-9 {
                    return None;
                }
                (n.dot(at - axis.from) / speed, n)
            }
            Self::Sphere { centre, radius } => {
                let w = axis.from - centre;
                let t = first(1.0, w.dot(d), w.dot(w) - radius.mm() * radius.mm())?;
                (t, ((axis.from + d * t) - centre).unit()?)
            }
            Self::Cylinder { at, along, radius } => {
                let k = along.unit()?;
                let off = |v: Vector3<Part>| v - k * k.dot(v);
                let (w, dd) = (off(axis.from - at), off(d));
                let t = first(dd.dot(dd), w.dot(dd), w.dot(w) - radius.mm() * radius.mm())?;
                (t, off((axis.from + d * t) - at).unit()?)
            }
        };
        (t > after && t < REACH_MM).then_some((t, n))
    }
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
/// `up` is plumb, upward; `bit` the diameter of the bit.
///
/// # Errors
/// [`ThroughError`]: a miss, a graze, layers out of order, something that must not be drilled.
pub fn through(
    axis: Axis,
    layers: &[Layer],
    keep_outs: &[KeepOut],
    up: Vector3<Part>,
    bit: Length,
) -> Result<Through, ThroughError> {
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
    let last = axis.from + axis.along * (end + OVERRUN.mm() + tip(bit).mm());
    for keep in keep_outs {
        let near =
            between((axis.from + axis.along * start, last), (keep.from, keep.to)) - bit.mm() / 2.0;
        if near < keep.radius.mm() {
            return Err(ThroughError::KeepOut {
                reason: keep.reason.clone(),
                near_mm: near.max(0.0),
                keep_mm: keep.radius.mm(),
            });
        }
    }
    let lean = up.unit().map_or(0.0, |u| u.dot(axis.along).abs());
    Ok(Through {
        layers: passed,
        grip: Length::from_mm(end - start),
        off_plumb: Angle::from_rad(libm::acos(lean.min(1.0))),
    })
}

/// The point of a 118° bit: the part of it that doesn't yet make the hole its full width.
#[must_use]
pub fn tip(bit: Length) -> Length {
    bit / (2.0 * libm::tan(59.0_f64.to_radians()))
}

/// Least distance between two straight pieces, mm.
fn between(a: (Point3<Part>, Point3<Part>), b: (Point3<Part>, Point3<Part>)) -> f64 {
    let (u, v, w) = (a.1 - a.0, b.1 - b.0, a.0 - b.0);
    let (uu, uv, vv) = (u.dot(u), u.dot(v), v.dot(v));
    let (uw, vw) = (u.dot(w), v.dot(w));
    let gap = |s: f64, t: f64| (w + u * s - v * t).norm().mm();
    let on_b = |s: f64| {
        if vv > 0.0 {
            ((vw + s * uv) / vv).clamp(0.0, 1.0)
        } else {
            0.0
        }
    };
    let on_a = |t: f64| {
        if uu > 0.0 {
            ((t * uv - uw) / uu).clamp(0.0, 1.0)
        } else {
            0.0
        }
    };
    let det = uu * vv - uv * uv;
    let s = if det > 1e-12 {
        ((uv * vw - vv * uw) / det).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let t = on_b(s);
    let s = on_a(t);
    gap(s, t).min(gap(s, on_b(s)))
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

/// The standard screw for a grip: with its washer, and what it must reach into or past.
///
/// # Errors
/// [`LongerThanStandard`].
pub fn screw(grip: Length, washer: Length, beyond: Length) -> Result<Length, LongerThanStandard> {
    next_length(grip + washer + beyond)
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
mod tests;
