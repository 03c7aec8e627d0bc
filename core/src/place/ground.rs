//! The inner geometry of a face: a plane for all that unrolls, a sphere for the dome.
//!
//! Rules speak of distances over the surface and turns in it, nothing else, so they are written
//! on the *ground*: chart points become plane points (cylinder and cone unrolled) or unit
//! vectors (dome); with two radii and on a scan the chart itself stays, and ways are found by integration. A hollow dome has the same ground as a bulging one: seen by the one who lays
//! the template its chart runs the same way round.

use super::dual::Real;
use super::error::PlaceError;
use crate::surface::two_radii::Radii;
use crate::surface::way::{self, Walked};
use crate::surface::{Shape, Surface};

/// Which inner geometry, with its size as numbers that carry derivatives.
#[derive(Debug, Clone, Copy)]
pub(super) enum Ground<'a, T> {
    /// Flat, or unrolled about an axis: the chart is the plane.
    Plane,
    /// A cone: the chart is a sector; radius at v = 0 and change of radius along the slant.
    Sector { reference: T, taper: T },
    /// A sphere of this radius.
    Sphere { radius: T },
    /// Two radii or a scan: places are chart points, directions have unit parts along u and square
    /// to it.
    Walked { face: Walked<'a, T> },
}

/// A place on the ground: a point of the plane (third component unused), or a unit vector.
pub(super) type Place<T> = [T; 3];

/// A place with the direction *along* there: a unit vector of the plane or of the tangent plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stand<T> {
    pub(super) at: Place<T>,
    pub(super) along: Place<T>,
}

pub(super) fn dot<T: Real>(a: Place<T>, b: Place<T>) -> T {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
pub(super) fn cross<T: Real>(a: Place<T>, b: Place<T>) -> Place<T> {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
pub(super) fn add<T: Real>(a: Place<T>, b: Place<T>) -> Place<T> {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}
pub(super) fn sub<T: Real>(a: Place<T>, b: Place<T>) -> Place<T> {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
pub(super) fn times<T: Real>(a: Place<T>, k: T) -> Place<T> {
    [a[0] * k, a[1] * k, a[2] * k]
}
pub(super) fn constant<T: Real>(a: Place<f64>) -> Place<T> {
    a.map(T::of)
}
pub(super) fn values<T: Real>(a: Place<T>) -> Place<f64> {
    a.map(T::value)
}

impl<'a, T: Real> Ground<'a, T> {
    /// The ground of a face, its sizes replaced by numbers that may carry derivatives.
    pub(super) fn of(surface: &'a Surface, sizes: &[T]) -> Self {
        let size = |k: usize| sizes.get(k).copied().unwrap_or_else(|| T::of(0.0));
        match surface {
            Surface::Flat(_) | Surface::Cylinder(_) => Self::Plane,
            Surface::Cone(_) => Self::Sector {
                reference: size(0),
                taper: size(1),
            },
            Surface::TwoRadii(_) => Self::Walked {
                face: Walked::TwoRadii(Radii {
                    across: size(0),
                    up: size(1),
                }),
            },
            Surface::Scan(scan) => Self::Walked {
                face: scan.walked_at(size(0)),
            },
            Surface::Dome(dome) => Self::Sphere {
                radius: size(0) * T::of(dome.bulge().sign()),
            },
        }
    }

    /// A chart point on the ground.
    pub(super) fn place(&self, u: T, v: T) -> Place<T> {
        let zero = T::of(0.0);
        match *self {
            Self::Plane | Self::Walked { .. } => [u, v, zero],
            Self::Sector { reference, taper } => {
                // Distance to the tip is r/t; written as v + chord so that t → 0 is the cylinder.
                let phi = u * taper / reference;
                let q = phi * phi;
                let share = T::of(1.0) + taper * v / reference;
                // x = s sin φ with s = r/t, y = v·cos φ − (1 − cos φ)·r₀/t, both smooth in t.
                let x = share * u * q.sinc_of_square();
                let half = q / T::of(4.0);
                let versine = q / T::of(2.0) * half.sinc_of_square() * half.sinc_of_square();
                // (1 − cos φ)/t = φ²/2·sinc²(φ/2)/t = u²·t/(2 r₀²)·sinc²(φ/2).
                let drop = u * u * taper / (T::of(2.0) * reference)
                    * half.sinc_of_square()
                    * half.sinc_of_square();
                let y = v * (T::of(1.0) - versine) - drop;
                [x, y, zero]
            }
            Self::Sphere { radius } => {
                let q = (u * u + v * v) / (radius * radius);
                let s = q.sinc_of_square() / radius;
                [u * s, v * s, q.cos_of_square()]
            }
        }
    }

    /// Distance over the surface.
    ///
    /// # Errors
    /// With two radii: places too far apart round the face.
    pub(super) fn distance(&self, a: Place<T>, b: Place<T>) -> Result<T, PlaceError> {
        Ok(match *self {
            Self::Plane | Self::Sector { .. } => {
                let d = sub(b, a);
                dot(d, d).sqrt()
            }
            Self::Sphere { radius } => {
                let n = cross(a, b);
                dot(n, n).sqrt().atan2(dot(a, b)) * radius
            }
            Self::Walked { face } => {
                let [x, y] = way::step_between(&face, [a[0], a[1]], [b[0], b[1]])?;
                (x * x + y * y).sqrt()
            }
        })
    }

    /// Standing at `a`, looking towards `b`; refused when they are too close to have a direction.
    pub(super) fn look(&self, a: Place<T>, b: Place<T>) -> Result<Stand<T>, PlaceError> {
        if self.distance(a, b)?.value() < 1.0 {
            return Err(PlaceError::MarksTooClose);
        }
        let ahead = match self {
            Self::Plane | Self::Sector { .. } => sub(b, a),
            Self::Sphere { .. } => sub(b, times(a, dot(a, b))),
            Self::Walked { face } => {
                let [x, y] = way::step_between(face, [a[0], a[1]], [b[0], b[1]])?;
                [x, y, T::of(0.0)]
            }
        };
        Ok(Stand {
            at: a,
            along: times(ahead, T::of(1.0) / dot(ahead, ahead).sqrt()),
        })
    }

    /// To the left of *along* at a stand.
    pub(super) fn left(&self, stand: &Stand<T>) -> Place<T> {
        match self {
            Self::Plane | Self::Sector { .. } | Self::Walked { .. } => {
                [-stand.along[1], stand.along[0], T::of(0.0)]
            }
            Self::Sphere { .. } => cross(stand.at, stand.along),
        }
    }

    /// Straight ahead by a distance (mm, may be negative), the direction carried along.
    pub(super) fn ahead(&self, stand: &Stand<T>, by: T) -> Stand<T> {
        match *self {
            Self::Plane | Self::Sector { .. } => Stand {
                at: add(stand.at, times(stand.along, by)),
                along: stand.along,
            },
            Self::Sphere { radius } => {
                let (s, c) = ((by / radius).sin(), (by / radius).cos());
                Stand {
                    at: add(times(stand.at, c), times(stand.along, s)),
                    along: sub(times(stand.along, c), times(stand.at, s)),
                }
            }
            Self::Walked { face } => stand_of(way::ahead(&face, &heading(stand), by)),
        }
    }

    /// Sideways to the left by a distance, still looking the same way.
    pub(super) fn sideways(&self, stand: &Stand<T>, by: T) -> Stand<T> {
        let left = self.left(stand);
        match *self {
            Self::Plane | Self::Sector { .. } => Stand {
                at: add(stand.at, times(left, by)),
                along: stand.along,
            },
            Self::Sphere { radius } => {
                let (s, c) = ((by / radius).sin(), (by / radius).cos());
                Stand {
                    at: add(times(stand.at, c), times(left, s)),
                    along: stand.along,
                }
            }
            Self::Walked { face } => {
                // Carried along, *along* stays a quarter-turn to the right of the way gone.
                let leaving = Stand {
                    at: stand.at,
                    along: left,
                };
                let there = stand_of(way::ahead(&face, &heading(&leaving), by));
                Stand {
                    at: there.at,
                    along: [there.along[1], -there.along[0], T::of(0.0)],
                }
            }
        }
    }

    /// The same place, *along* turned anticlockwise.
    pub(super) fn turned(&self, stand: &Stand<T>, by: T) -> Stand<T> {
        let left = self.left(stand);
        Stand {
            at: stand.at,
            along: add(times(stand.along, by.cos()), times(left, by.sin())),
        }
    }

    /// Where another place lies as seen from a stand: (ahead, left) of the straight way there
    /// over the surface, in mm (the logarithm of the surface at the stand).
    ///
    /// # Errors
    /// With two radii: a place too far round the face.
    pub(super) fn seen(&self, stand: &Stand<T>, place: Place<T>) -> Result<[T; 2], PlaceError> {
        let left = self.left(stand);
        Ok(match *self {
            Self::Walked { face } => {
                let at = [stand.at[0], stand.at[1]];
                let [x, y] = way::step_between(&face, at, [place[0], place[1]])?;
                let step = [x, y, T::of(0.0)];
                [dot(step, stand.along), dot(step, left)]
            }
            Self::Plane | Self::Sector { .. } => {
                let d = sub(place, stand.at);
                [dot(d, stand.along), dot(d, left)]
            }
            Self::Sphere { radius } => {
                let (x, y, z) = (
                    dot(place, stand.along),
                    dot(place, left),
                    dot(place, stand.at),
                );
                let flat = (x * x + y * y).sqrt();
                // Angle over its sine; 1 straight above the place itself.
                let k = if flat.value() < 1e-12 {
                    T::of(1.0)
                } else {
                    flat.atan2(z) / flat
                };
                [x * k * radius, y * k * radius]
            }
        })
    }

    /// The place seen at (ahead, left) from a stand: the way back of [`Ground::seen`].
    pub(super) fn stretch_out(&self, stand: &Stand<T>, seen: [T; 2]) -> Place<T> {
        let left = self.left(stand);
        let step = add(times(stand.along, seen[0]), times(left, seen[1]));
        match *self {
            Self::Plane | Self::Sector { .. } => add(stand.at, step),
            Self::Walked { face } => {
                let going = Stand {
                    at: stand.at,
                    along: step,
                };
                stand_of(way::ahead(&face, &heading(&going), T::of(1.0))).at
            }
            Self::Sphere { radius } => {
                let q = (seen[0] * seen[0] + seen[1] * seen[1]) / (radius * radius);
                add(
                    times(stand.at, q.cos_of_square()),
                    times(step, q.sinc_of_square() / radius),
                )
            }
        }
    }
}

/// The sizes of a face as plain numbers, in the order of its parameters.
pub(super) fn sizes_of(surface: &Surface) -> Vec<f64> {
    surface.values()[..surface.parameters().len()].to_vec()
}

impl<T: Real> Ground<'_, T> {
    /// How far along, and how far to the left of, the straight way ahead a place lies: distance
    /// to its foot on that way, and the square offset from it (both signed, mm).
    ///
    /// # Errors
    /// With two radii: a place too far round the face.
    pub(super) fn offsets(&self, stand: &Stand<T>, place: Place<T>) -> Result<[T; 2], PlaceError> {
        let left = self.left(stand);
        Ok(match *self {
            Self::Walked { face } => way::offsets(&face, &heading(stand), [place[0], place[1]])?,
            Self::Plane | Self::Sector { .. } => {
                let d = sub(place, stand.at);
                [dot(d, stand.along), dot(d, left)]
            }
            Self::Sphere { radius } => {
                let (x, y, z) = (
                    dot(place, stand.along),
                    dot(place, left),
                    dot(place, stand.at),
                );
                [
                    x.atan2(z) * radius,
                    y.atan2((x * x + z * z).sqrt()) * radius,
                ]
            }
        })
    }
}

fn heading<T: Real>(stand: &Stand<T>) -> way::Heading<T> {
    way::Heading {
        at: [stand.at[0], stand.at[1]],
        along: [stand.along[0], stand.along[1]],
    }
}

fn stand_of<T: Real>(heading: way::Heading<T>) -> Stand<T> {
    let ([u, v], [x, y]) = (heading.at, heading.along);
    Stand {
        at: [u, v, T::of(0.0)],
        along: [x, y, T::of(0.0)],
    }
}
