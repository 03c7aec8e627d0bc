//! Layings: how a finisher brings crosses and marks together, and where the feature then lands.

use crate::frames::{Flat, Point2, Vector2};
use crate::place::Jacobian;
use crate::units::Angle;
use nalgebra::{DMatrix, Matrix3, Matrix3x2, Vector3};

/// How a template is laid on the marks. Numbers are places in the list of crosses.
#[derive(Debug, Clone, PartialEq)]
pub enum Laying {
    /// The first cross on its mark, then turned until the second mark lies on the line of the two.
    FirstThenAlong {
        /// On its mark.
        first: usize,
        /// On the line.
        then: usize,
    },
    /// Both marks on the line of their crosses, both off along it by the same.
    SplitAlong {
        /// One.
        first: usize,
        /// The other.
        then: usize,
    },
    /// All crosses as near their marks as they come, by least squares.
    BestFit {
        /// A weight for each cross; zero leaves it out.
        weights: Vec<f64>,
    },
    /// Each of three is on its mark in one direction only: stops against edges.
    Stops {
        /// Which, and square to its edge, of unit length.
        touch: Vec<(usize, Vector2<Flat>)>,
    },
}

/// Why a laying does not fix the template.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LayingError {
    /// Two crosses that should give a direction are all but the same, or there is only one.
    #[error("this laying does not hold the template from turning: it needs two crosses well apart")]
    NotHeld,
    /// The template does not settle on these marks.
    #[error("the crosses do not come near these marks: is this the right piece?")]
    NotSettled,
}

/// Where a laid template leaves the feature, against where it should be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Landing {
    /// Shift of the centre, in the feature's own axes.
    pub shift: Vector2<Flat>,
    /// Turn about the centre.
    pub turn: Angle,
}

impl Landing {
    /// How far a point of the outline lands from where it should.
    #[must_use]
    pub fn at(&self, p: Point2<Flat>) -> Vector2<Flat> {
        let v = p.from_origin();
        self.shift + (v.turned(self.turn.rad()) - v)
    }
}

type Seen = [Point2<Flat>];

fn weights_of(laying: &Laying, count: usize) -> Vec<f64> {
    match laying {
        Laying::BestFit { weights } => (0..count)
            .map(|k| weights.get(k).copied().unwrap_or(0.0))
            .collect(),
        Laying::FirstThenAlong { first, then } | Laying::SplitAlong { first, then } => (0..count)
            .map(|k| f64::from(u8::from(k == *first || k == *then)))
            .collect(),
        Laying::Stops { touch } => (0..count)
            .map(|k| f64::from(u8::from(touch.iter().any(|t| t.0 == k))))
            .collect(),
    }
}

/// The three conditions of a laying; all zero when the template lies as it says.
fn conditions(laying: &Laying, crosses: &Seen, marks: &Seen) -> Vector3<f64> {
    let at = |list: &Seen, k: usize| list.get(k).copied().unwrap_or(Point2::ORIGIN);
    match laying {
        Laying::FirstThenAlong { first, then } => {
            let off = at(marks, *first) - at(crosses, *first);
            let line = at(crosses, *then) - at(crosses, *first);
            let seen = at(marks, *then) - at(marks, *first);
            Vector3::new(off.x_mm(), off.y_mm(), line.cross(seen))
        }
        Laying::SplitAlong { first, then } => {
            let a = at(marks, *first) - at(crosses, *first);
            let b = at(marks, *then) - at(crosses, *then);
            let line = at(crosses, *then) - at(crosses, *first);
            let seen = at(marks, *then) - at(marks, *first);
            Vector3::new(a.x_mm() + b.x_mm(), a.y_mm() + b.y_mm(), line.cross(seen))
        }
        Laying::Stops { touch } => {
            let mut miss = Vector3::zeros();
            for (row, (k, way)) in miss.iter_mut().zip(touch) {
                *row = way.dot(at(marks, *k) - at(crosses, *k));
            }
            miss
        }
        Laying::BestFit { .. } => {
            let mut sum = Vector3::zeros();
            for (k, w) in weights_of(laying, crosses.len()).into_iter().enumerate() {
                let off = at(marks, k) - at(crosses, k);
                let moment = at(crosses, k)
                    .from_origin()
                    .cross(at(marks, k).from_origin());
                sum += Vector3::new(off.x_mm(), off.y_mm(), moment) * w;
            }
            sum
        }
    }
}

/// Derivative of the conditions by the place where mark `k` is seen.
fn by_mark(laying: &Laying, crosses: &Seen, k: usize) -> Matrix3x2<f64> {
    let at = |k: usize| crosses.get(k).copied().unwrap_or(Point2::ORIGIN);
    match laying {
        Laying::FirstThenAlong { first, then } => {
            let line = at(*then) - at(*first);
            let turn = [-line.y_mm(), line.x_mm()];
            if k == *first {
                Matrix3x2::new(1.0, 0.0, 0.0, 1.0, -turn[0], -turn[1])
            } else if k == *then {
                Matrix3x2::new(0.0, 0.0, 0.0, 0.0, turn[0], turn[1])
            } else {
                Matrix3x2::zeros()
            }
        }
        Laying::SplitAlong { first, then } => {
            let line = at(*then) - at(*first);
            let turn = [-line.y_mm(), line.x_mm()];
            if k == *first {
                Matrix3x2::new(1.0, 0.0, 0.0, 1.0, -turn[0], -turn[1])
            } else if k == *then {
                Matrix3x2::new(1.0, 0.0, 0.0, 1.0, turn[0], turn[1])
            } else {
                Matrix3x2::zeros()
            }
        }
        Laying::Stops { touch } => {
            let mut rows = Matrix3x2::zeros();
            for (row, (_, way)) in touch.iter().take(3).enumerate().filter(|(_, t)| t.0 == k) {
                rows[(row, 0)] = way.x_mm();
                rows[(row, 1)] = way.y_mm();
            }
            rows
        }
        Laying::BestFit { weights } => {
            let w = weights.get(k).copied().unwrap_or(0.0);
            let c = at(k);
            Matrix3x2::new(1.0, 0.0, 0.0, 1.0, -c.y_mm(), c.x_mm()) * w
        }
    }
}

/// How the place where a mark is seen changes as the feature moves across, up and turns: a column each.
///
/// On a dome of radius R a mark at distance r = cR: along the ray as in the plane, square to it
/// by c·cot c (the second side of a spherical triangle against the first; do Carmo, ch. 4). Where
/// the ball is a saddle's (R negative) the same with hyperbolic functions.
#[must_use]
pub fn by_pose(seen: Point2<Flat>, radius_mm: Option<f64>) -> nalgebra::Matrix2x3<f64> {
    let (x, y) = (seen.x_mm(), seen.y_mm());
    let r = libm::hypot(x, y);
    let k = match radius_mm {
        Some(radius) if r > 1e-9 => {
            let c = r / radius;
            if c < 0.0 {
                c / libm::tanh(c)
            } else {
                c * libm::cos(c) / libm::sin(c)
            }
        }
        _ => 1.0,
    };
    let (ex, ey) = if r > 1e-9 { (x / r, y / r) } else { (1.0, 0.0) };
    let xx = ex * ex + k * ey * ey;
    let xy = (1.0 - k) * ex * ey;
    let yy = ey * ey + k * ex * ex;
    nalgebra::Matrix2x3::new(-xx, -xy, y, -xy, -yy, -x)
}

/// The marks as seen after the feature has moved by `landing` (its own axes).
#[must_use]
pub fn seen_after(
    marks: &[Point2<Flat>],
    landing: &Landing,
    radius_mm: Option<f64>,
) -> Vec<Point2<Flat>> {
    let turn = -landing.turn.rad();
    let back = |v: Vector2<Flat>| Point2::ORIGIN + v.turned(turn);
    let Some(radius) = radius_mm else {
        return marks
            .iter()
            .map(|&m| back(m - (Point2::ORIGIN + landing.shift)))
            .collect();
    };
    let saddle = radius < 0.0;
    let radius = radius.abs();
    let sine = |c: f64| if saddle { libm::sinh(c) } else { libm::sin(c) };
    let cosine = |c: f64| if saddle { libm::cosh(c) } else { libm::cos(c) };
    // The third axis counts negatively on a saddle (the hyperboloid; do Carmo, *Riemannian
    // Geometry*, ch. 8).
    let third = if saddle { -1.0 } else { 1.0 };
    let product = |a: &Vector3<f64>, b: &Vector3<f64>| a.x * b.x + a.y * b.y + third * a.z * b.z;
    // Unit vectors in the frame (across, up, out) at the target; the moved frame by parallel transport.
    let unit = |v: Vector2<Flat>| {
        let r = v.norm_mm();
        let c = r / radius;
        let s = if r > 1e-12 { sine(c) / r } else { 1.0 / radius };
        Vector3::new(v.x_mm() * s, v.y_mm() * s, cosine(c))
    };
    let out = unit(landing.shift);
    let ray = landing.shift.unit();
    let carry = |axis: Vector3<f64>| match ray {
        None => axis,
        Some(e) => {
            let from = Vector3::new(e.x_mm(), e.y_mm(), 0.0);
            let c = landing.shift.norm_mm() / radius;
            let to = from * cosine(c) - Vector3::z() * (third * sine(c));
            let share = product(&axis, &from);
            axis - from * share + to * share
        }
    };
    let (across, up) = (carry(Vector3::x()), carry(Vector3::y()));
    marks
        .iter()
        .map(|&m| {
            let p = unit(m.from_origin());
            let (x, y, z) = (
                product(&p, &across),
                product(&p, &up),
                third * product(&p, &out),
            );
            let flat = libm::hypot(x, y);
            let k = if flat > 1e-12 {
                let away = if saddle {
                    libm::asinh(flat)
                } else {
                    libm::atan2(flat, z)
                };
                away / flat * radius
            } else {
                radius
            };
            back(Vector2::from_mm(x * k, y * k))
        })
        .collect()
}

/// A laying in which a millimetre at one cross swings the template by more than this does not hold
/// it from turning: two crosses less than 3 mm apart.
const MOST_SWING_RAD_PER_MM: f64 = 1.0 / 3.0;

/// A determinant under this share of what its rows could span is rounding: two crosses 3 mm apart and
/// 3 m from the feature still have three times as much.
const SINGULAR: f64 = 1e-14;

/// How the pose answers the conditions at these marks, refused where the laying leaves the template
/// free to turn.
fn held(
    laying: &Laying,
    crosses: &Seen,
    marks: &Seen,
    radius_mm: Option<f64>,
) -> Result<Matrix3<f64>, LayingError> {
    let mut slopes = Matrix3::zeros();
    for (k, &seen) in marks.iter().enumerate() {
        slopes += by_mark(laying, crosses, k) * by_pose(seen, radius_mm);
    }
    // Crosses on one spot: rounding alone keeps the three conditions from being two.
    let room: f64 = (0..3).map(|r| slopes.row(r).norm()).product();
    if slopes.determinant().abs() <= SINGULAR * room {
        return Err(LayingError::NotHeld);
    }
    let inverse = slopes.try_inverse().ok_or(LayingError::NotHeld)?;
    let swings = |k: usize| {
        let turn = inverse.row(2) * by_mark(laying, crosses, k);
        libm::hypot(turn[0], turn[1])
    };
    // What is no number is not held either.
    if (0..marks.len()).all(|k| swings(k) <= MOST_SWING_RAD_PER_MM) {
        Ok(inverse)
    } else {
        Err(LayingError::NotHeld)
    }
}

/// Where the feature of a template lands when laid on marks seen from the target.
///
/// `crosses` are the template's, about its feature; `marks` are the casting's, as seen from the
/// target; `radius_mm` is that of the ball curved alike, negative on a saddle (nothing on a face
/// that unrolls).
///
/// # Errors
/// [`LayingError`].
pub fn land(
    laying: &Laying,
    crosses: &[Point2<Flat>],
    marks: &[Point2<Flat>],
    radius_mm: Option<f64>,
) -> Result<Landing, LayingError> {
    let mut landing = Landing {
        shift: Vector2::ZERO,
        turn: Angle::ZERO,
    };
    for _ in 0..50 {
        let seen = seen_after(marks, &landing, radius_mm);
        let miss = conditions(laying, crosses, &seen);
        let slopes = held(laying, crosses, &seen, radius_mm)?;
        let step = -(slopes * miss);
        let turned = Vector2::from_mm(step.x, step.y).turned(landing.turn.rad());
        landing.shift = landing.shift + turned;
        landing.turn = landing.turn + Angle::from_rad(step.z);
        if step.x.abs() + step.y.abs() < 1e-11 && step.z.abs() < 1e-14 {
            return Ok(landing);
        }
        if landing.shift.norm_mm() > 1e5 {
            break;
        }
    }
    Err(LayingError::NotSettled)
}

/// How the laid feature moves: with the casting's marks and sizes, with pointing at each cross,
/// and with the template's scale across and up.
#[derive(Debug, Clone, PartialEq)]
pub struct LaySlopes {
    /// 3 × inputs of the casting.
    pub by_casting: DMatrix<f64>,
    /// 3 × (2 for each mark): pointing.
    pub by_pointing: DMatrix<f64>,
    /// 3 × 2: relative scale of the sheet, across and up.
    pub by_scale: [Vector3<f64>; 2],
}

/// The slopes of a laying at a template whose crosses stand where the marks are seen.
///
/// # Errors
/// [`LayingError::NotHeld`].
pub fn lay_slopes(
    laying: &Laying,
    marks: &[Point2<Flat>],
    marks_by_casting: &[Jacobian<2>],
    radius_mm: Option<f64>,
) -> Result<LaySlopes, LayingError> {
    let inverse = held(laying, marks, marks, radius_mm)?;
    let inputs = marks_by_casting.first().map_or(0, |j| j.0[0].len());
    let mut by_casting = DMatrix::zeros(3, inputs);
    let mut by_pointing = DMatrix::zeros(3, 2 * marks.len());
    for (k, slopes) in marks_by_casting.iter().enumerate() {
        let through = -(inverse * by_mark(laying, marks, k));
        by_pointing
            .fixed_view_mut::<3, 2>(0, 2 * k)
            .copy_from(&through);
        for column in 0..inputs {
            for row in 0..3 {
                by_casting[(row, column)] += through[(row, 0)] * slopes.0[0][column]
                    + through[(row, 1)] * slopes.0[1][column];
            }
        }
    }
    let scaled = |sx: f64, sy: f64| {
        // The conditions are bilinear in crosses and marks: this difference is the derivative.
        let moved: Vec<_> = marks
            .iter()
            .map(|c| Point2::from_mm(c.x_mm() * (1.0 + sx), c.y_mm() * (1.0 + sy)))
            .collect();
        let change = conditions(laying, &moved, marks) - conditions(laying, marks, marks);
        -(inverse * change)
    };
    Ok(LaySlopes {
        by_casting,
        by_pointing,
        by_scale: [scaled(1.0, 0.0), scaled(0.0, 1.0)],
    })
}

/// Every laying worth trying for a rule that speaks of two marks, the plainest first.
#[must_use]
pub fn candidates(line: (usize, usize), crosses: usize) -> Vec<Laying> {
    let (a, b) = line;
    let mut all = vec![
        Laying::FirstThenAlong { first: a, then: b },
        Laying::FirstThenAlong { first: b, then: a },
        Laying::SplitAlong { first: a, then: b },
    ];
    if crosses > 2 {
        all.push(Laying::BestFit {
            weights: vec![1.0; crosses],
        });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A millimetre at one of two crosses turns the template by one over their distance.
    #[test]
    fn crosses_that_are_all_but_one_hold_no_turn() {
        let crosses = |apart: f64| {
            [
                Point2::<Flat>::from_mm(80.0, 40.0),
                Point2::from_mm(80.0 + apart, 40.0),
            ]
        };
        let layings = [
            Laying::FirstThenAlong { first: 0, then: 1 },
            Laying::SplitAlong { first: 0, then: 1 },
            Laying::BestFit {
                weights: vec![1.0, 1.0],
            },
        ];
        for laying in layings {
            let lands = |apart: f64| {
                let at = crosses(apart);
                land(&laying, &at, &at, None)
            };
            assert_eq!(lands(2.0), Err(LayingError::NotHeld), "{laying:?}");
            assert_eq!(lands(0.0), Err(LayingError::NotHeld), "{laying:?}");
            assert!(lands(4.0).is_ok(), "{laying:?}");
        }
    }
}
