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

/// A piece smaller than this is none.
const NO_AREA_MM2: f64 = 1e-6;

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

    /// What of a region lies in it, each piece a ring of lines. The region is what an odd number of
    /// the given rings go round; they don't cross.
    ///
    /// Each run in the sector ends on one of the two straight ways out. From the furthest end
    /// inwards the region lies between every second two; an end left over goes round by the middle.
    pub(super) fn pieces(&self, rings: &[Vec<Point2<Flat>>]) -> Vec<Vec<Point2<Flat>>> {
        let mut pieces = Vec::new();
        let mut runs = Vec::new();
        for ring in rings {
            for mut run in self.runs(ring) {
                if run.len() > 3 && run.first() == run.last() {
                    run.pop();
                    pieces.push(run);
                } else {
                    runs.push(run);
                }
            }
        }
        let next = self.ends_joined(&runs);
        let mut done = vec![false; runs.len()];
        for start in 0..runs.len() {
            let mut piece: Vec<Point2<Flat>> = Vec::new();
            // The run that is walked, and whether from its last place to its first.
            let mut at = (start, false);
            while let Some(slot) = done.get_mut(at.0).filter(|d| !**d) {
                *slot = true;
                let run = runs.get(at.0).map(Vec::as_slice).unwrap_or_default();
                if at.1 {
                    piece.extend(run.iter().rev());
                } else {
                    piece.extend(run);
                }
                let end = 2 * at.0 + usize::from(!at.1);
                let Some(&Some((to, by_the_middle))) = next.get(end) else {
                    break;
                };
                if by_the_middle {
                    piece.push(Point2::ORIGIN);
                }
                at = (to / 2, to % 2 == 1);
            }
            // An edge along a straight way out bounds nothing.
            if area_mm2(&piece).abs() > NO_AREA_MM2 {
                pieces.push(piece);
            }
        }
        pieces
    }

    /// For both ends of each run, the first before the last, which end follows it along the straight
    /// ways out, and whether by the middle.
    fn ends_joined(&self, runs: &[Vec<Point2<Flat>>]) -> Vec<Option<(usize, bool)>> {
        let mut ends: [Vec<(f64, usize)>; 2] = [Vec::new(), Vec::new()];
        for (k, run) in runs.iter().enumerate() {
            for (n, p) in [(2 * k, run.first()), (2 * k + 1, run.last())] {
                let Some(v) = p.map(|p| p.from_origin()) else {
                    continue;
                };
                let (first, last) = (v.dot(self.begins()), v.dot(self.ends()));
                if first >= last {
                    ends[0].push((first, n));
                } else {
                    ends[1].push((last, n));
                }
            }
        }
        let mut next = vec![None; 2 * runs.len()];
        let mut join = |a: usize, b: usize, by_the_middle: bool| {
            for (from, to) in [(a, b), (b, a)] {
                if let Some(slot) = next.get_mut(from) {
                    *slot = Some((to, by_the_middle));
                }
            }
        };
        for way in &mut ends {
            way.sort_by(|a, b| b.0.total_cmp(&a.0));
            for two in way.chunks_exact(2) {
                if let [a, b] = two {
                    join(a.1, b.1, false);
                }
            }
        }
        let [first, last] = &ends;
        if let ([a], [b]) = (
            first.chunks_exact(2).remainder(),
            last.chunks_exact(2).remainder(),
        ) {
            join(a.1, b.1, true);
        }
        next
    }
}

fn area_mm2(ring: &[Point2<Flat>]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    ring.iter()
        .zip(next)
        .map(|(a, b)| a.from_origin().cross(b.from_origin()) / 2.0)
        .sum()
}

fn out(bearing_rad: f64) -> Vector2<Flat> {
    Vector2::from_mm(libm::cos(bearing_rad), libm::sin(bearing_rad))
}

/// How far out rings of lines are met along a way out of the middle, mm, the nearest first.
pub(super) fn crossings_mm(rings: &[Vec<Point2<Flat>>], along: Vector2<Flat>) -> Vec<f64> {
    let mut met = Vec::new();
    for ring in rings {
        for (k, a) in ring.iter().enumerate() {
            let Some(b) = ring.get((k + 1) % ring.len()) else {
                continue;
            };
            let (a, b) = (a.from_origin(), b.from_origin());
            let (sa, sb) = (along.cross(a), along.cross(b));
            // A corner on the way is met once.
            if (sa > 0.0) == (sb > 0.0) {
                continue;
            }
            let mm = (a + (b - a) * (sa / (sa - sb))).dot(along);
            if mm > 0.0 {
                met.push(mm);
            }
        }
    }
    met.sort_by(f64::total_cmp);
    met
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::f64::consts::PI;

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
                    areas += s
                        .pieces(std::slice::from_ref(&whole))
                        .iter()
                        .map(|p| area_mm2(p))
                        .sum::<f64>();
                }
                // The whole ring, its last side too.
                let round = long(&whole) + whole[359].distance(whole[0]).mm();
                assert!((lengths - round).abs() < 1e-6, "{count} from {first}");
                assert!((areas - area_mm2(&whole)).abs() < 1e-6);
                for p in &whole {
                    assert_eq!(sectors.iter().filter(|s| s.holds(*p)).count(), 1);
                }
            }
        }
    }

    /// The piece of a ring between two parallels is b(r² − s²), b half the angle (elementary); a ring
    /// with bridges falls into as many pieces as it has there.
    #[test]
    fn a_ring_comes_as_gores_with_nothing_left_over() {
        let rings = [ring(40.0), ring(10.0)];
        let whole = area_mm2(&rings[0]) - area_mm2(&rings[1]);
        for count in 2..=12 {
            for first in [0.0, 0.3, 2.0, -4.0] {
                let mut all = 0.0;
                for s in Sector::alike(count, first) {
                    let pieces = s.pieces(&rings);
                    assert_eq!(pieces.len(), 1, "{count} from {first}");
                    let area = area_mm2(&pieces[0]).abs();
                    let wanted = PI / f64::from(count) * (1600.0 - 100.0);
                    assert!((area - wanted).abs() < 1.0, "{area} for {wanted}");
                    // None goes through the middle.
                    assert!(pieces[0].iter().all(|p| p.from_origin().norm_mm() > 9.9));
                    all += area;
                }
                assert!((all - whole).abs() < 1e-6, "{count} from {first}");
            }
        }
        // One bridge straight up, 2° wide: a C, which the last sector has both ends of.
        let arc = |r: f64, back: bool| {
            let mut arc: Vec<Point2<Flat>> = (91..=449)
                .map(|deg| f64::from(deg).to_radians())
                .map(|a| Point2::from_mm(r * libm::cos(a), r * libm::sin(a)))
                .collect();
            if back {
                arc.reverse();
            }
            arc
        };
        let c = [[arc(40.0, false), arc(10.0, true)].concat()];
        let mut all = 0.0;
        let sectors = Sector::alike(3, 30_f64.to_radians());
        for (s, wanted) in sectors.iter().zip([2, 1, 1]) {
            let pieces = s.pieces(&c);
            assert_eq!(pieces.len(), wanted);
            all += pieces.iter().map(|p| area_mm2(p).abs()).sum::<f64>();
        }
        assert!((all - area_mm2(&c[0])).abs() < 1e-6, "{all}");
        // A hole beside the middle stays a ring of its own.
        let beside: Vec<_> = ring(5.0)
            .iter()
            .map(|p| *p + Vector2::from_mm(0.0, 25.0))
            .collect();
        let pieces = sectors[0].pieces(&[ring(40.0), beside]);
        assert_eq!(pieces.len(), 2);
    }

    #[test]
    fn a_way_out_meets_each_edge_once() {
        let rings = [ring(40.0), ring(10.0)];
        let along = Vector2::from_mm(0.6, 0.8);
        let met = crossings_mm(&rings, along);
        assert_eq!(met.len(), 2);
        assert!(
            (met[0] - 10.0).abs() < 0.01 && (met[1] - 40.0).abs() < 0.01,
            "{met:?}"
        );
        // Along a corner too.
        assert_eq!(crossings_mm(&rings, Vector2::from_mm(1.0, 0.0)).len(), 2);
        let beside: Vec<_> = ring(5.0)
            .iter()
            .map(|p| *p + Vector2::from_mm(100.0, 0.0))
            .collect();
        assert_eq!(crossings_mm(&[beside], along), Vec::<f64>::new());
    }
}
