//! Motions of a face onto itself: what readings between its marks can never see.
//!
//! Three are always considered (for a cylinder and a cone the third, or two of them, exist only
//! while every reading lies on the surface); which of them the readings really leave free is
//! found from the readings, not assumed.

use super::revolved;
use crate::frames::{Face, Part, Point2, Vector2, Vector3};
use crate::surface::two_radii::Radii;
use crate::surface::way::Walked;
use crate::surface::{Axis, Parameter, ScanFace, Shape, Surface, UP};

/// One way in which the whole pattern of marks may move over the face without any reading
/// changing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Motion {
    /// All marks shift across (on a cone: turn about its axis).
    Across,
    /// All marks shift up.
    Up,
    /// All marks turn.
    Turn,
}

/// Coefficients of the three generators.
pub(super) type Coefficients = [f64; 3];

/// The group of motions of one face. Generators: across and up in mm at the middle of the
/// chart, and a turn in radians (on a cone: across is the turn about the axis in mm at the
/// reference girth, up and "turn" the two shifts of the developed sector).
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Group {
    /// The chart is the plane it unrolls into.
    Plane { centre: Point2<Face> },
    /// The chart is that of a cone.
    Sector { reference_mm: f64, taper: f64 },
    /// The chart of a face with two radii: only the shift across, a turn about its axis, is a
    /// motion of the face; the others are near ones, and the readings say so.
    Revolved {
        radii: Radii<f64>,
        centre: Point2<Face>,
    },
    /// A scan: no motion of it is one, near ones are.
    Scan {
        face: ScanFace,
        centre: Point2<Face>,
    },
    /// The chart is azimuthal equidistant.
    Sphere { radius_mm: f64 },
}

/// A cone with less taper than this moves like a cylinder: over a metre its developed sector
/// then bends by under a micrometre.
const NO_TAPER: f64 = 1e-9;

impl Group {
    pub(super) fn of(surface: &Surface, centre: Point2<Face>) -> Self {
        let values = surface.values();
        let value = |wanted: Parameter| {
            surface
                .parameters()
                .iter()
                .position(|p| *p == wanted)
                .map_or(0.0, |k| values[k])
        };
        match surface {
            Surface::Flat(_) | Surface::Cylinder(_) => Self::Plane { centre },
            Surface::TwoRadii(_) => Self::Revolved {
                radii: Radii {
                    across: value(Parameter::AcrossRadius),
                    up: value(Parameter::UpRadius),
                },
                centre,
            },
            Surface::Scan(face) => Self::Scan {
                face: face.clone(),
                centre,
            },
            Surface::Dome(_) => Self::Sphere {
                radius_mm: value(Parameter::Radius),
            },
            Surface::Cone(_) => {
                let (reference_mm, taper) =
                    (value(Parameter::ReferenceRadius), value(Parameter::Taper));
                if taper.abs() < NO_TAPER {
                    Self::Plane { centre }
                } else {
                    Self::Sector {
                        reference_mm,
                        taper,
                    }
                }
            }
        }
    }

    /// How a point moves under each generator.
    pub(super) fn generators(&self, at: Point2<Face>) -> [Vector2<Face>; 3] {
        match self {
            Self::Revolved { radii, centre } => {
                revolved::generators(&Walked::TwoRadii(*radii), *centre, at)
            }
            Self::Scan { face, centre } => revolved::generators(&face.walked(), *centre, at),
            Self::Plane { centre } => {
                let arm = at - *centre;
                [
                    Vector2::from_mm(1.0, 0.0),
                    Vector2::from_mm(0.0, 1.0),
                    arm.perp(),
                ]
            }
            Self::Sector {
                reference_mm,
                taper,
            } => {
                let (reference_mm, taper) = (*reference_mm, *taper);
                let angle = taper * at.x_mm() / reference_mm;
                let (s, c) = (libm::sin(angle), libm::cos(angle));
                let wide = reference_mm / (reference_mm + taper * at.y_mm());
                [
                    Vector2::from_mm(1.0, 0.0),
                    Vector2::from_mm(-s * wide, c),
                    Vector2::from_mm(c * wide, s),
                ]
            }
            Self::Sphere { radius_mm } => {
                let radius_mm = *radius_mm;
                let out = at.from_origin();
                let r_mm = out.norm_mm();
                let angle = r_mm / radius_mm.abs();
                // angle / tan(angle), whose limit at the origin is one.
                let shrink = if angle < 1e-4 {
                    1.0 - angle * angle / 3.0
                } else {
                    angle / libm::tan(angle)
                };
                let along = |e: Vector2<Face>| match out.unit() {
                    None => e,
                    Some(radial) => {
                        let tangent = radial.perp();
                        radial * radial.dot(e) + tangent * (tangent.dot(e) * shrink)
                    }
                };
                [
                    along(Vector2::from_mm(1.0, 0.0)),
                    along(Vector2::from_mm(0.0, 1.0)),
                    out.perp(),
                ]
            }
        }
    }

    /// The same as a movement in space, where it is one of the whole face onto itself: turning at
    /// this rate about the origin of the face's own space, and shifting at that. Nothing for what
    /// only slides marks over the face.
    pub(super) fn in_space(
        &self,
        surface: &Surface,
        by: &Coefficients,
    ) -> (Vector3<Part>, Vector3<Part>) {
        let still = Vector3::from_mm(0.0, 0.0, 0.0);
        let value = |wanted: Parameter| {
            let values = surface.values();
            let found = surface.parameters().iter().position(|p| *p == wanted);
            found.map_or(f64::INFINITY, |k| values[k])
        };
        let about = |axis: Vector3<Part>, rate: f64| axis * rate;
        match surface {
            Surface::Flat(_) => {
                let Self::Plane { centre } = self else {
                    return (still, still);
                };
                // About the middle of the marks: x out of the face, y across, z up.
                let (y, z) = (centre.x_mm(), centre.y_mm());
                (
                    Vector3::from_mm(by[2], 0.0, 0.0),
                    Vector3::from_mm(0.0, by[0] + by[2] * z, by[1] - by[2] * y),
                )
            }
            Surface::Cylinder(face) => {
                let rate = 1.0 / value(Parameter::Radius);
                match face.axis() {
                    Axis::Up => (about(UP, by[0] * rate), Vector3::from_mm(0.0, 0.0, by[1])),
                    Axis::Across => (
                        Vector3::from_mm(0.0, -by[1] * rate, 0.0),
                        Vector3::from_mm(0.0, by[0], 0.0),
                    ),
                }
            }
            Surface::Cone(_) => (about(UP, by[0] / value(Parameter::ReferenceRadius)), still),
            Surface::TwoRadii(_) => (about(UP, by[0] / value(Parameter::AcrossRadius)), still),
            Surface::Dome(_) => {
                let [x, y, z] = rotation_vector(by, value(Parameter::Radius));
                (Vector3::from_mm(x, y, z), still)
            }
            Surface::Scan(_) => (still, still),
        }
    }

    /// The finite motion: follows the combined generators for unit time.
    pub(super) fn moved(&self, by: &Coefficients, at: Point2<Face>) -> Point2<Face> {
        match self {
            Self::Revolved { radii, centre } => {
                revolved::moved(&Walked::TwoRadii(*radii), *centre, by, at)
            }
            Self::Scan { face, centre } => revolved::moved(&face.walked(), *centre, by, at),
            Self::Plane { centre } => {
                *centre + screw(by[2], Vector2::from_mm(by[0], by[1]), at - *centre)
            }
            Self::Sector {
                reference_mm,
                taper,
            } => {
                let (reference_mm, taper) = (*reference_mm, *taper);
                if by[1].abs() + by[2].abs() <= 0.0 {
                    return Point2::from_mm(at.x_mm() + by[0], at.y_mm());
                }
                let tip_mm = reference_mm / taper;
                let (slant_mm, angle) = (tip_mm + at.y_mm(), taper * at.x_mm() / reference_mm);
                let developed = Vector2::<Face>::from_mm(
                    slant_mm * libm::sin(angle),
                    slant_mm * libm::cos(angle),
                );
                let there = screw(
                    -taper * by[0] / reference_mm,
                    Vector2::from_mm(by[2], by[1]),
                    developed,
                );
                let sign = slant_mm.signum();
                let near = there.turned(angle);
                let more = libm::atan2(sign * near.x_mm(), sign * near.y_mm());
                Point2::from_mm(
                    (angle + more) * reference_mm / taper,
                    sign * there.norm_mm() - tip_mm,
                )
            }
            Self::Sphere { radius_mm } => {
                let radius_mm = *radius_mm;
                let unit = unit_of(at, radius_mm);
                chart_of(rotated(rotation_vector(by, radius_mm), unit), radius_mm)
            }
        }
    }

    /// Derivative of [`Group::moved`] by the chart coordinates, by rows.
    pub(super) fn moved_jacobian(&self, by: &Coefficients, at: Point2<Face>) -> [[f64; 2]; 2] {
        let there = self.moved(by, at);
        match self {
            Self::Revolved { radii, centre } => {
                revolved::moved_jacobian(&Walked::TwoRadii(*radii), *centre, by, at)
            }
            Self::Scan { face, centre } => {
                revolved::moved_jacobian(&face.walked(), *centre, by, at)
            }
            Self::Plane { .. } => {
                let (s, c) = (libm::sin(by[2]), libm::cos(by[2]));
                [[c, -s], [s, c]]
            }
            Self::Sector {
                reference_mm,
                taper,
            } => {
                let (reference_mm, taper) = (*reference_mm, *taper);
                let turn = -taper * by[0] / reference_mm;
                let frame = |p: Point2<Face>| {
                    let angle = taper * p.x_mm() / reference_mm;
                    let wide = (reference_mm + taper * p.y_mm()) / reference_mm;
                    (angle, wide)
                };
                let ((a0, w0), (a1, w1)) = (frame(at), frame(there));
                // In the developed sector the chart's axes stand turned by −angle.
                let turned = turn - a0 + a1;
                let (s, c) = (libm::sin(turned), libm::cos(turned));
                [[c * w0 / w1, -s / w1], [s * w0, c]]
            }
            Self::Sphere { radius_mm } => {
                let radius_mm = *radius_mm;
                let (here, new) = (tangents(at, radius_mm), tangents(there, radius_mm));
                let spin = rotation_vector(by, radius_mm);
                let carried = [rotated(spin, here[0]), rotated(spin, here[1])];
                in_tangents(new, carried)
            }
        }
    }

    /// The mirror image of a point in the line through two others, with its derivative by rows;
    /// `None` where the line has no direction, on a cone, with two radii or on a scan.
    pub(super) fn mirrored(
        &self,
        line: (Point2<Face>, Point2<Face>),
        at: Point2<Face>,
    ) -> Option<(Point2<Face>, [[f64; 2]; 2])> {
        match self {
            Self::Plane { .. } => {
                let e = (line.1 - line.0).unit()?;
                let arm = at - line.0;
                let image = line.0 + e * (2.0 * arm.dot(e)) + -arm;
                let (x, y) = (e.x_mm(), e.y_mm());
                let aside = 2.0 * x * y;
                Some((image, [[x * x - y * y, aside], [aside, y * y - x * x]]))
            }
            Self::Sphere { radius_mm } => {
                let radius_mm = *radius_mm;
                let (a, b) = (unit_of(line.0, radius_mm), unit_of(line.1, radius_mm));
                let n = cross3(a, b);
                let nn = dot3(n, n);
                let reflect = |x: [f64; 3]| {
                    let by = 2.0 * dot3(n, x) / nn;
                    core::array::from_fn(|k| x[k] - by * n[k])
                };
                if nn < 1e-12 {
                    return None;
                }
                let image = chart_of(reflect(unit_of(at, radius_mm)), radius_mm);
                let carried = tangents(at, radius_mm).map(reflect);
                Some((image, in_tangents(tangents(image, radius_mm), carried)))
            }
            Self::Sector { .. } | Self::Revolved { .. } | Self::Scan { .. } => None,
        }
    }

    /// What the user would call a combination of generators.
    pub(super) fn name(&self, c: &Coefficients, reach_mm: f64) -> Motion {
        let sizes = [c[0].abs(), c[1].abs(), c[2].abs()];
        match self {
            Self::Sector { .. } => {
                if sizes[0] >= sizes[1].max(sizes[2]) {
                    Motion::Across
                } else if sizes[1] >= sizes[2] {
                    Motion::Up
                } else {
                    Motion::Turn
                }
            }
            Self::Plane { .. }
            | Self::Revolved { .. }
            | Self::Scan { .. }
            | Self::Sphere { .. } => {
                if sizes[2] * reach_mm >= sizes[0].max(sizes[1]) {
                    Motion::Turn
                } else if sizes[0] >= sizes[1] {
                    Motion::Across
                } else {
                    Motion::Up
                }
            }
        }
    }
}

/// exp of a plane motion: turning by `turn` while shifting at rate `shift`.
fn screw(turn: f64, shift: Vector2<Face>, arm: Vector2<Face>) -> Vector2<Face> {
    // sin(a)/a and (1 − cos a)/a with their limits.
    let (along, aside) = if turn.abs() < 1e-4 {
        (1.0 - turn * turn / 6.0, turn / 2.0)
    } else {
        let half = libm::sin(turn / 2.0);
        (libm::sin(turn) / turn, 2.0 * half * half / turn)
    };
    arm.turned(turn) + shift * along + shift.perp() * aside
}

fn dot3(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross3(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// Two tangent vectors in the basis of two others, by rows.
fn in_tangents(basis: [[f64; 3]; 2], carried: [[f64; 3]; 2]) -> [[f64; 2]; 2] {
    let (a, b, d) = (
        dot3(basis[0], basis[0]),
        dot3(basis[0], basis[1]),
        dot3(basis[1], basis[1]),
    );
    let det = a * d - b * b;
    let mut out = [[0.0; 2]; 2];
    for (k, x) in carried.iter().enumerate() {
        let (p, q) = (dot3(basis[0], *x), dot3(basis[1], *x));
        out[0][k] = (d * p - b * q) / det;
        out[1][k] = (a * q - b * p) / det;
    }
    out
}

fn rotation_vector(by: &Coefficients, radius_mm: f64) -> [f64; 3] {
    [by[2], -by[1] / radius_mm, by[0] / radius_mm]
}

/// Rodrigues' formula.
fn rotated(spin: [f64; 3], x: [f64; 3]) -> [f64; 3] {
    let angle = libm::sqrt(dot3(spin, spin));
    let (first, second) = if angle < 1e-4 {
        (1.0 - angle * angle / 6.0, 0.5 - angle * angle / 24.0)
    } else {
        let half = libm::sin(angle / 2.0);
        (
            libm::sin(angle) / angle,
            2.0 * half * half / (angle * angle),
        )
    };
    let once = cross3(spin, x);
    let twice = cross3(spin, once);
    core::array::from_fn(|k| x[k] + first * once[k] + second * twice[k])
}

/// sin(c)/c and its derivative by c, over c.
fn sinc(c: f64) -> (f64, f64) {
    if c.abs() < 1e-3 {
        let q = c * c;
        (1.0 - q / 6.0 + q * q / 120.0, -1.0 / 3.0 + q / 30.0)
    } else {
        let s = libm::sin(c) / c;
        (s, (libm::cos(c) - s) / (c * c))
    }
}

fn unit_of(at: Point2<Face>, radius_mm: f64) -> [f64; 3] {
    let (y, z) = (at.x_mm() / radius_mm, at.y_mm() / radius_mm);
    let c = libm::hypot(y, z);
    let (s, _) = sinc(c);
    [libm::cos(c), y * s, z * s]
}

/// Derivatives of [`unit_of`] by u and v, times the radius.
fn tangents(at: Point2<Face>, radius_mm: f64) -> [[f64; 3]; 2] {
    let (y, z) = (at.x_mm() / radius_mm, at.y_mm() / radius_mm);
    let (s, ds) = sinc(libm::hypot(y, z));
    [
        [-y * s, s + y * y * ds, y * z * ds],
        [-z * s, y * z * ds, s + z * z * ds],
    ]
}

fn chart_of(unit: [f64; 3], radius_mm: f64) -> Point2<Face> {
    let aside = libm::hypot(unit[1], unit[2]);
    let c = libm::atan2(aside, unit[0]);
    let stretch = if aside < 1e-12 { 1.0 } else { c / aside };
    Point2::from_mm(radius_mm * stretch * unit[1], radius_mm * stretch * unit[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    const GROUPS: [Group; 6] = [
        Group::Plane {
            centre: Point2::from_mm(30.0, -40.0),
        },
        Group::Sector {
            reference_mm: 250.0,
            taper: -0.3,
        },
        Group::Sector {
            reference_mm: -180.0,
            taper: -0.2,
        },
        Group::Sphere { radius_mm: 160.0 },
        Group::Revolved {
            radii: Radii {
                across: 220.0,
                up: 340.0,
            },
            centre: Point2::from_mm(10.0, -25.0),
        },
        Group::Revolved {
            radii: Radii {
                across: -260.0,
                up: 310.0,
            },
            centre: Point2::from_mm(10.0, -25.0),
        },
    ];

    #[test]
    fn generators_are_the_start_of_the_motion() {
        for group in GROUPS {
            for at in [Point2::from_mm(0.0, 0.0), Point2::from_mm(120.0, 75.0)] {
                for k in 0..3 {
                    let step = if k == 2 && !matches!(group, Group::Sector { .. }) {
                        1e-6
                    } else {
                        1e-4
                    };
                    let mut by = [0.0; 3];
                    by[k] = step;
                    let ahead = group.moved(&by, at);
                    by[k] = -step;
                    let behind = group.moved(&by, at);
                    let numeric = (ahead - behind) * (0.5 / step);
                    // Central difference: rounding 1e-13/1e-6.
                    let off = (numeric - group.generators(at)[k]).norm_mm();
                    assert!(off < 3e-6, "{group:?} {at:?} {k}: {off}");
                }
            }
        }
    }

    #[test]
    fn jacobian_is_that_of_the_motion() {
        for group in GROUPS {
            let (by, at) = ([12.0, -7.0, 0.3], Point2::from_mm(80.0, 55.0));
            let j = group.moved_jacobian(&by, at);
            for k in 0..2 {
                let e = if k == 0 {
                    Vector2::from_mm(1e-3, 0.0)
                } else {
                    Vector2::from_mm(0.0, 1e-3)
                };
                let d = (group.moved(&by, at + e) - group.moved(&by, at + -e)) * 500.0;
                assert!(
                    (d.x_mm() - j[0][k]).abs() < 1e-8,
                    "{group:?} {k} {d:?} {j:?}"
                );
                assert!(
                    (d.y_mm() - j[1][k]).abs() < 1e-8,
                    "{group:?} {k} {d:?} {j:?}"
                );
            }
        }
    }
}
