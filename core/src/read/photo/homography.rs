//! The map between two pictures of one flat thing.

use kurbo::Point;
use nalgebra::{Matrix2, Matrix3, SMatrix, SVector, Vector3};

/// A projective map of the plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Homography {
    m: Matrix3<f64>,
}

impl Homography {
    /// The map that takes four places to four others; none where three of either lie in line.
    ///
    /// The last entry is held at one (Hartley and Zisserman, *Multiple View Geometry*, 2nd ed.,
    /// 4.1): no frame in front of a camera has it at nought once both sides are taken about their
    /// middles and to unit size, as is done here.
    #[must_use]
    pub fn through(from: [Point; 4], to: [Point; 4]) -> Option<Self> {
        let (a, b) = (unit(&from)?, unit(&to)?);
        let mut rows = SMatrix::<f64, 8, 8>::zeros();
        let mut right = SVector::<f64, 8>::zeros();
        for (k, (p, q)) in from.iter().zip(&to).enumerate() {
            let (p, q) = (applied(&a, *p)?, applied(&b, *q)?);
            let (i, j) = (2 * k, 2 * k + 1);
            for (row, on, is) in [(i, 0, q.x), (j, 3, q.y)] {
                rows[(row, on)] = p.x;
                rows[(row, on + 1)] = p.y;
                rows[(row, on + 2)] = 1.0;
                rows[(row, 6)] = -is * p.x;
                rows[(row, 7)] = -is * p.y;
                right[row] = is;
            }
        }
        let h = rows.lu().solve(&right)?;
        let m = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0);
        let m = b.try_inverse()? * m * a;
        let all = m.iter().all(|v| v.is_finite());
        all.then_some(Self { m })
    }

    /// The map that turns, scales and shifts: `x` goes to `slope x + shift`.
    pub(super) const fn plain(slope: Matrix2<f64>, shift: Point) -> Self {
        let [[a, b], [c, d]] = slope.data.0;
        let m = Matrix3::new(a, c, shift.x, b, d, shift.y, 0.0, 0.0, 1.0);
        Self { m }
    }

    /// Where a place comes to; none for what is behind the camera or at its horizon.
    #[must_use]
    pub fn at(&self, p: Point) -> Option<Point> {
        applied(&self.m, p)
    }

    /// Which side of the horizon a place lies on, by its sign; nothing at the horizon itself.
    pub(super) fn depth(&self, p: Point) -> f64 {
        (self.m * Vector3::new(p.x, p.y, 1.0)).z
    }

    /// How a place moves when what it comes from does: by its columns, across and up.
    pub(super) fn slope(&self, p: Point) -> Option<Matrix2<f64>> {
        let v = self.m * Vector3::new(p.x, p.y, 1.0);
        let of = |row: usize, column: usize| {
            (self.m[(row, column)] * v.z - v[row] * self.m[(2, column)]) / (v.z * v.z)
        };
        let ok = v.z.abs() > 1e-12;
        ok.then(|| Matrix2::new(of(0, 0), of(0, 1), of(1, 0), of(1, 1)))
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Option<Self> {
        let m = self.m.try_inverse()?;
        Some(Self { m })
    }
}

fn applied(m: &Matrix3<f64>, p: Point) -> Option<Point> {
    let v = m * Vector3::new(p.x, p.y, 1.0);
    let ok = v.z.abs() > 1e-12;
    ok.then(|| Point::new(v.x / v.z, v.y / v.z))
}

/// Moves the middle of four places to nought and makes their mean distance from it √2.
fn unit(all: &[Point; 4]) -> Option<Matrix3<f64>> {
    let (x, y) = all
        .iter()
        .fold((0.0, 0.0), |(x, y), p| (x + p.x / 4.0, y + p.y / 4.0));
    let away = all
        .iter()
        .map(|p| libm::hypot(p.x - x, p.y - y) / 4.0)
        .sum::<f64>();
    let s = core::f64::consts::SQRT_2 / away;
    s.is_finite()
        .then(|| Matrix3::new(s, 0.0, -s * x, 0.0, s, -s * y, 0.0, 0.0, 1.0))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn the_unit_square_seen_as_a_trapezium() {
        // Heckbert 1989 (Fundamentals of Texture Mapping, 2.2.3): the square to (0,0), (4,0),
        // (3,2), (1,2) takes its middle to where the diagonals cross: (2, 4/3).
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from);
        let to = [(0.0, 0.0), (4.0, 0.0), (3.0, 2.0), (1.0, 2.0)].map(Point::from);
        let h = Homography::through(square, to).unwrap();
        for (p, q) in square.iter().zip(&to) {
            assert!((h.at(*p).unwrap() - *q).hypot() < 1e-12);
        }
        let middle = h.at(Point::new(0.5, 0.5)).unwrap();
        assert!((middle - Point::new(2.0, 4.0 / 3.0)).hypot() < 1e-12);
        let back = h.inverse().unwrap().at(middle).unwrap();
        assert!((back - Point::new(0.5, 0.5)).hypot() < 1e-12);
    }

    #[test]
    fn three_in_a_line_are_refused() {
        let square = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(Point::from);
        let line = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (0.0, 1.0)].map(Point::from);
        let one = [Point::ZERO; 4];
        assert!(Homography::through(square, one).is_none());
        // What comes of it, if anything, can't be turned round.
        let flat = Homography::through(line, square).and_then(|h| h.inverse());
        assert!(flat.is_none_or(|h| {
            h.at(Point::new(0.5, 0.5))
                .is_none_or(|p| !p.is_finite() || p.x.abs() < 1e12)
        }));
    }
}
