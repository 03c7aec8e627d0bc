//! Lean and edge step from readings round a joint.

use crate::units::{Angle, Length};

/// A place in plan, mm, and how far off nominal it reads.
pub type Read = ([f64; 2], Length);

/// How the figure leans by what was read round the joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lean {
    /// How much it is high in the middle.
    pub high: Length,
    /// Its lean.
    pub tilt: Angle,
    /// Towards where it is high, in plan: from *across* anticlockwise towards *back*.
    pub high_towards: Angle,
    /// The worst step round the edge: between its highest and lowest place, or between two
    /// readings where they differ more.
    pub step: Length,
}

/// The level plane through readings off nominal at places in plan (mm), by least squares.
/// `None` for fewer than three places or places on one line.
#[must_use]
pub fn lean(read: &[Read], edge: Length) -> Option<Lean> {
    if read.len() < 3 {
        return None;
    }
    let n = read.len() as f64;
    let mean = |of: fn(&Read) -> f64| read.iter().map(of).sum::<f64>() / n;
    let (mx, my, mz) = (mean(|r| r.0[0]), mean(|r| r.0[1]), mean(|r| r.1.mm()));
    let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ([x, y], z) in read {
        let (x, y, z) = (x - mx, y - my, z.mm() - mz);
        xx += x * x;
        xy += x * y;
        yy += y * y;
        xz += x * z;
        yz += y * z;
    }
    let det = xx * yy - xy * xy;
    // On one line when their spread across it is under a thousandth of that along it.
    if det <= 1e-6 * (xx + yy) * (xx + yy) {
        return None;
    }
    let (a, b) = ((yy * xz - xy * yz) / det, (xx * yz - xy * xz) / det);
    let slope = libm::hypot(a, b);
    let most = read.iter().fold(f64::MIN, |m, r| m.max(r.1.mm()));
    let least = read.iter().fold(f64::MAX, |m, r| m.min(r.1.mm()));
    Some(Lean {
        high: Length::from_mm(mz - a * mx - b * my),
        tilt: Angle::from_rad(libm::atan(slope)),
        high_towards: Angle::from_rad(libm::atan2(b, a)),
        step: Length::from_mm((2.0 * edge.mm() * slope).max(most - least)),
    })
}
