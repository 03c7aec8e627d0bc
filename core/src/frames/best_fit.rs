//! The turn and shift that lay one set of places on another best, and what that leaves.

use super::{Frame, Point3, Rigid3};
use crate::num::cholesky::Symmetric;
use crate::num::small::eigen;
use crate::units::Length;
use nalgebra::{Matrix3, Vector3 as Column3};

/// Marks that lie within this of one line do not hold the turn about it, mm (root mean square;
/// common practice, no source).
const ASIDE_MM: f64 = 10.0;

/// One set of places laid on another.
#[derive(Debug, Clone, PartialEq)]
pub struct BestFit<To: Frame, From: Frame> {
    /// The turn and shift.
    pub to_from: Rigid3<To, From>,
    /// How far each is then from its own place in the other set.
    pub left: Vec<Length>,
}

impl<To: Frame, From: Frame> BestFit<To, From> {
    /// The sum of what is left, squared, mm².
    #[must_use]
    pub fn square_mm2(&self) -> f64 {
        self.left.iter().map(|l| l.mm() * l.mm()).sum()
    }
}

/// Why places do not tie two sets together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NotTied {
    /// Fewer than three.
    #[error("three marks tie them, and there are fewer")]
    Few,
    /// All near one line, or on one place.
    #[error("the marks lie nearly in one line: a third well off the line of the others ties them")]
    InLine,
    /// Not numbers, or past all measure.
    #[error("a place is no number")]
    NoNumber,
}

fn middle(all: impl ExactSizeIterator<Item = Column3<f64>>) -> Column3<f64> {
    let n = all.len().max(1) as f64;
    all.fold(Column3::zeros(), |sum, p| sum + p) / n
}

/// How places spread about their middle: mean squares along three axes, mm², smallest first, each
/// with its axis.
fn spread(arms: &[Column3<f64>]) -> Vec<(f64, Vec<f64>)> {
    let n = arms.len().max(1) as f64;
    let mut s = Symmetric::zero(3);
    for arm in arms {
        for i in 0..3 {
            for j in 0..=i {
                s.add(i, j, arm[i] * arm[j] / n);
            }
        }
    }
    eigen(&s)
}

/// The turn and shift by which the second of each pair comes nearest to the first: the sum of
/// squares of what is left is the smallest there is, and nothing is mirrored (Horn 1987, J. Opt.
/// Soc. Am. A 4:629-642, by unit quaternion).
///
/// # Errors
/// [`NotTied`].
pub fn best_fit<To: Frame, From: Frame>(
    pairs: &[(Point3<To>, Point3<From>)],
) -> Result<BestFit<To, From>, NotTied> {
    if pairs.len() < 3 {
        return Err(NotTied::Few);
    }
    let to = middle(pairs.iter().map(|p| p.0.mm()));
    let from = middle(pairs.iter().map(|p| p.1.mm()));
    let arms: Vec<_> = pairs
        .iter()
        .map(|(t, f)| (t.mm() - to, f.mm() - from))
        .collect();
    let finite = |c: &Column3<f64>| c.iter().all(|x| x.abs() < 1e9);
    if !arms.iter().all(|(t, f)| finite(t) && finite(f)) {
        return Err(NotTied::NoNumber);
    }
    for side in [
        arms.iter().map(|a| a.0).collect::<Vec<_>>(),
        arms.iter().map(|a| a.1).collect(),
    ] {
        let second = spread(&side).get(1).map_or(0.0, |s| s.0);
        if second < ASIDE_MM * ASIDE_MM {
            return Err(NotTied::InLine);
        }
    }
    let mut m = Matrix3::<f64>::zeros();
    for (t, f) in &arms {
        m += f * t.transpose();
    }
    let [xx, yx, zx, xy, yy, zy, xz, yz, zz] = m.as_slice().try_into().unwrap_or([0.0; 9]);
    let mut k = Symmetric::zero(4);
    for (i, j, value) in [
        (0, 0, xx + yy + zz),
        (1, 0, yz - zy),
        (1, 1, xx - yy - zz),
        (2, 0, zx - xz),
        (2, 1, xy + yx),
        (2, 2, yy - xx - zz),
        (3, 0, xy - yx),
        (3, 1, zx + xz),
        (3, 2, yz + zy),
        (3, 3, zz - xx - yy),
    ] {
        k.set(i, j, value);
    }
    let largest = eigen(&k).pop().ok_or(NotTied::NoNumber)?.1;
    let [w, x, y, z] = <[f64; 4]>::try_from(largest).map_err(|_| NotTied::NoNumber)?;
    let turn = Matrix3::new(
        w * w + x * x - y * y - z * z,
        2.0 * (x * y - w * z),
        2.0 * (x * z + w * y),
        2.0 * (x * y + w * z),
        w * w - x * x + y * y - z * z,
        2.0 * (y * z - w * x),
        2.0 * (x * z - w * y),
        2.0 * (y * z + w * x),
        w * w - x * x - y * y + z * z,
    );
    let to_from = Rigid3::new(turn, Point3::from_column_mm(to - turn * from))
        .map_err(|_| NotTied::NoNumber)?;
    let left = pairs
        .iter()
        .map(|(t, f)| t.distance(to_from.point(*f)))
        .collect();
    Ok(BestFit { to_from, left })
}

/// How far a place that a best fit carries is expected to be out, root mean square, where each mark
/// is out by `found` (root mean square, in space): FLE²/N · (1 + ⅓ Σ d²/f²), d its distance from
/// each main axis of the marks and f the marks' own root mean square distance from that axis
/// (Fitzpatrick, West and Maurer 1998, IEEE Trans. Med. Imaging 17:694-702).
///
/// `None` for fewer than three marks, or all near one line.
#[must_use]
pub fn carried_out_by<F: Frame>(
    marks: &[Point3<F>],
    found: Length,
    at: Point3<F>,
) -> Option<Length> {
    let c = middle(marks.iter().map(|m| m.mm()));
    let arms: Vec<_> = marks.iter().map(|m| m.mm() - c).collect();
    let axes = spread(&arms);
    if marks.len() < 3 || axes.get(1)?.0 < ASIDE_MM * ASIDE_MM {
        return None;
    }
    let total: f64 = axes.iter().map(|a| a.0).sum();
    let arm = at.mm() - c;
    let far = arm.x * arm.x + arm.y * arm.y + arm.z * arm.z;
    let mut share = 1.0;
    for (along, axis) in &axes {
        let on_it: f64 = axis.iter().zip(arm.iter()).map(|(a, b)| a * b).sum();
        share += (far - on_it * on_it).max(0.0) / (total - along) / 3.0;
    }
    let square = found.mm() * found.mm() / marks.len() as f64 * share;
    Some(Length::from_mm(libm::sqrt(square)))
}
