//! A sector of an outline about the middle of its feature, and what of the outline lies in it.
//!
//! ```text
//!        to ╲   ╭──╮   / from        the outline is cut along straight ways out of the middle;
//!            ╲ ╭    ╮ /              in a sector of at most half a turn that is two cuts along
//!             ╲│    │/               a line, one after the other
//!              ╲    /
//!               ╲  /
//!                 · middle
//! ```

use crate::frames::{Flat, Point2, Vector2};
use core::f64::consts::TAU;

/// A place on the line itself lies in both sectors.
const ON_THE_LINE_MM: f64 = 1e-9;

/// From one bearing anticlockwise to another, at most half a turn on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sector {
    /// Where the first of all begins, how many there are, which this is.
    first: f64,
    count: u32,
    which: u32,
}

impl Sector {
    /// The sectors of a turn divided into `count` alike, two at least, the first from a bearing on.
    pub(super) fn alike(count: u32, first_rad: f64) -> Vec<Self> {
        let count = count.max(2);
        (0..count)
            .map(|which| Self {
                first: first_rad,
                count,
                which,
            })
            .collect()
    }

    fn sweep(&self) -> f64 {
        TAU / f64::from(self.count)
    }

    fn bearing(&self, which: u32) -> f64 {
        self.first + self.sweep() * f64::from(which)
    }

    /// The way out along the bearing it begins at.
    pub(super) fn begins(&self) -> Vector2<Flat> {
        out(self.bearing(self.which))
    }

    /// The way out along the bearing it ends at.
    pub(super) fn ends(&self) -> Vector2<Flat> {
        out(self.bearing((self.which + 1) % self.count))
    }

    /// Whether a place lies in it; on a bearing that two share, in the one that begins there.
    pub(super) fn holds(&self, p: Point2<Flat>) -> bool {
        let turned = p.from_origin().direction_rad() - self.first;
        let turned = turned - TAU * libm::floor(turned / TAU);
        let last = f64::from(self.count - 1);
        (libm::floor(turned / self.sweep()).min(last) - f64::from(self.which)).abs() < 0.5
    }

    /// How far inside each of its two lines a place is, mm.
    fn inside(&self, p: Point2<Flat>) -> [f64; 2] {
        let v = p.from_origin();
        [self.begins().cross(v), v.cross(self.ends())]
    }

    /// The runs of a ring of lines that lie in it.
    pub(super) fn runs(&self, ring: &[Point2<Flat>]) -> Vec<Vec<Point2<Flat>>> {
        let mut runs: Vec<Vec<Point2<Flat>>> = Vec::new();
        let n = ring.len();
        // Whether the last run goes on.
        let mut open = false;
        for (k, &a) in ring.iter().enumerate() {
            let Some(&b) = ring.get((k + 1) % n) else {
                break;
            };
            let Some([start, end]) = self.within(a, b) else {
                open = false;
                continue;
            };
            match runs.last_mut().filter(|_| open && start == 0.0) {
                Some(run) => run.push(a + (b - a) * end),
                None => runs.push(vec![a + (b - a) * start, a + (b - a) * end]),
            }
            open = end >= 1.0;
        }
        // The ring closes within the sector: its first run goes on from the last.
        let closes = open && runs.len() > 1 && runs.first().and_then(|r| r.first()) == ring.first();
        if closes {
            let first = runs.remove(0);
            if let Some(last) = runs.last_mut() {
                last.extend(first.into_iter().skip(1));
            }
        }
        runs
    }

    /// What of a straight line lies in it, as shares of the way.
    fn within(&self, a: Point2<Flat>, b: Point2<Flat>) -> Option<[f64; 2]> {
        let (mut start, mut end) = (0.0_f64, 1.0_f64);
        for (va, vb) in self.inside(a).into_iter().zip(self.inside(b)) {
            if va < -ON_THE_LINE_MM && vb < -ON_THE_LINE_MM {
                return None;
            }
            if va < -ON_THE_LINE_MM {
                start = start.max(va / (va - vb));
            } else if vb < -ON_THE_LINE_MM {
                end = end.min(va / (va - vb));
            }
        }
        (end - start > 1e-12).then_some([start, end])
    }

    /// A ring with everything outside the sector cut off (Sutherland and Hodgman 1974).
    pub(super) fn cut(&self, ring: &[Point2<Flat>]) -> Vec<Point2<Flat>> {
        let mut left = ring.to_vec();
        for side in 0..2 {
            let all = core::mem::take(&mut left);
            let n = all.len();
            for (k, &a) in all.iter().enumerate() {
                let Some(&b) = all.get((k + 1) % n) else {
                    break;
                };
                let (va, vb) = (self.inside(a)[side], self.inside(b)[side]);
                if va >= 0.0 {
                    left.push(a);
                }
                if (va > 0.0 && vb < 0.0) || (va < 0.0 && vb > 0.0) {
                    left.push(a + (b - a) * (va / (va - vb)));
                }
            }
        }
        left
    }
}

fn out(bearing_rad: f64) -> Vector2<Flat> {
    Vector2::from_mm(libm::cos(bearing_rad), libm::sin(bearing_rad))
}

/// How far out rings of lines are last met along a way out of the middle, mm; nothing where none is.
pub(super) fn reach_mm(rings: &[Vec<Point2<Flat>>], along: Vector2<Flat>) -> Option<f64> {
    let mut furthest: Option<f64> = None;
    for ring in rings {
        for (k, a) in ring.iter().enumerate() {
            let Some(b) = ring.get((k + 1) % ring.len()) else {
                continue;
            };
            let (a, b) = (a.from_origin(), b.from_origin());
            let (sa, sb) = (along.cross(a), along.cross(b));
            if sa * sb > 0.0 || (sa - sb).abs() < 1e-12 {
                continue;
            }
            let mm = (a + (b - a) * (sa / (sa - sb))).dot(along);
            if mm > 0.0 {
                furthest = Some(furthest.map_or(mm, |f: f64| f.max(mm)));
            }
        }
    }
    furthest
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(r: f64) -> Vec<Point2<Flat>> {
        (0..360)
            .map(|k| {
                let a = f64::from(k) * TAU / 360.0;
                Point2::from_mm(r * libm::cos(a), r * libm::sin(a))
            })
            .collect()
    }

    fn long(run: &[Point2<Flat>]) -> f64 {
        run.windows(2).map(|w| w[0].distance(w[1]).mm()).sum()
    }

    fn area(ring: &[Point2<Flat>]) -> f64 {
        let n = ring.len();
        (0..n)
            .map(|k| ring[k].from_origin().cross(ring[(k + 1) % n].from_origin()) / 2.0)
            .sum()
    }

    #[test]
    fn sectors_share_an_outline_out_with_nothing_left_over() {
        let whole = ring(40.0);
        for count in 2..=6 {
            for first in [0.0, 0.3, 2.0, -4.0] {
                let sectors = Sector::alike(count, first);
                let (mut lengths, mut areas) = (0.0, 0.0);
                for s in &sectors {
                    let runs = s.runs(&whole);
                    assert_eq!(runs.len(), 1, "{count} from {first}");
                    lengths += long(&runs[0]);
                    areas += area(&s.cut(&whole));
                }
                // The whole ring, its last side too.
                let round = long(&whole) + whole[359].distance(whole[0]).mm();
                assert!((lengths - round).abs() < 1e-6, "{count} from {first}");
                assert!((areas - area(&whole)).abs() < 1e-6);
                for p in &whole {
                    assert_eq!(sectors.iter().filter(|s| s.holds(*p)).count(), 1);
                }
            }
        }
    }

    #[test]
    fn a_way_out_meets_the_outline_where_it_leaves_it_for_good() {
        let rings = [ring(40.0), ring(10.0)];
        let along = Vector2::from_mm(0.6, 0.8);
        let met = reach_mm(&rings, along).unwrap_or(0.0);
        assert!((met - 40.0).abs() < 0.01, "{met}");
        let beside: Vec<_> = ring(5.0)
            .iter()
            .map(|p| *p + Vector2::from_mm(100.0, 0.0))
            .collect();
        assert_eq!(reach_mm(&[beside], along), None);
    }
}
