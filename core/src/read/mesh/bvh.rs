//! Boxes in boxes over a mesh: what a ray meets first, and the place nearest to another.
//!
//! Boxes are singles rounded outwards; every answer is reckoned in doubles from the mesh itself.

mod build;

use super::Mesh;
use super::look::{add, cross, dot, sub, times, unit};
use build::{Boxed, HALVED_FROM, Part, Reach, build};

/// Triangles in a box that is not divided further.
const LEAF: usize = 4;

/// The most boxes that wait to be looked at: one a level, with 32 halvings after [`HALVED_FROM`].
const DEEPEST: usize = HALVED_FROM + 32;

/// Two boxes side by side: 64 bytes, which a processor fetches in one go.
#[derive(Debug, Clone, Copy)]
struct Pair {
    low: [[f32; 3]; 2],
    high: [[f32; 3]; 2],
    /// First triangle of a leaf in the order, or which pair is inside.
    at: [u32; 2],
    /// Triangles of a leaf; nought for a box of boxes. The second of a pair may be nowhere: its box is
    /// inside out.
    count: [u32; 2],
}

/// A round disc that holds a triangle: in most boxes near a place it alone tells that the triangle is
/// no nearer than another, without its corners being fetched.
#[derive(Debug, Clone, Copy)]
struct Disc {
    centre: [f32; 3],
    radius: f32,
    normal: [f32; 3],
    triangle: u32,
}

/// How long a disc's normal may be against one.
const UNIT: (f64, f64) = (1.0 - 1e-6, 1.0 + 1e-6);

/// The boxes over a mesh; asked with that mesh.
#[derive(Debug, Clone, Default)]
pub struct Boxes {
    pairs: Vec<Pair>,
    /// Those of a leaf side by side.
    discs: Vec<Disc>,
    /// How far any corner is off its disc's plane: what single precision leaves.
    off_disc: f64,
}

impl Disc {
    #[expect(
        clippy::cast_possible_truncation,
        reason = "what that leaves is reckoned with"
    )]
    fn round(three: [[f64; 3]; 3], triangle: u32) -> (Self, f64) {
        let [a, b, c] = three;
        let centre = times(add(add(a, b), c), 1.0 / 3.0).map(|x| x as f32);
        let normal = unit(cross(sub(b, a), sub(c, a))).unwrap_or([0.0; 3]);
        let normal = normal.map(|x| x as f32);
        let (mut square, mut off) = (0.0_f64, 0.0_f64);
        for p in three {
            let d = sub(p, centre.map(f64::from));
            square = square.max(dot(d, d));
            off = off.max(dot(d, normal.map(f64::from)).abs());
        }
        let disc = Self {
            centre,
            radius: (libm::sqrt(square) as f32).next_up(),
            normal,
            triangle,
        };
        (disc, off)
    }
    /// A square of a distance that no place of the triangle is nearer than.
    fn away2(&self, to: [f64; 3], off: f64) -> f64 {
        let d = sub(to, self.centre.map(f64::from));
        let high = dot(d, self.normal.map(f64::from)).abs();
        let above = more(high * UNIT.0 - off, 0.0);
        let wide = high * UNIT.1 + off;
        let beside = libm::sqrt(more(dot(d, d) - wide * wide, 0.0));
        let beside = more(beside - f64::from(self.radius), 0.0);
        above * above + beside * beside
    }
}

fn more(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

/// A place on a mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnMesh {
    /// Where.
    pub at: [f64; 3],
    /// On which triangle.
    pub triangle: u32,
    /// How far from what was asked.
    pub distance: f64,
}

fn corners(mesh: &Mesh, t: u32) -> [[f64; 3]; 3] {
    mesh.triangles[t as usize].map(|k| mesh.points[k as usize])
}

/// Boxes that wait to be looked at, each with how near it is.
struct Waiting {
    boxes: [(f64, u32, u32); DEEPEST],
    count: usize,
}

impl Waiting {
    fn new(all: (f64, u32, u32)) -> Self {
        Self {
            boxes: [all; DEEPEST],
            count: 1,
        }
    }
    fn push(&mut self, one: (f64, u32, u32)) {
        if let Some(slot) = self.boxes.get_mut(self.count) {
            *slot = one;
            self.count += 1;
        }
    }
    fn pop(&mut self) -> Option<(f64, u32, u32)> {
        self.count = self.count.checked_sub(1)?;
        self.boxes.get(self.count).copied()
    }
}

impl Boxes {
    /// Over all of a mesh.
    #[must_use]
    pub fn over(mesh: &Mesh) -> Self {
        let mut all: Vec<Boxed> = (0_u32..)
            .take(mesh.triangles.len())
            .map(|t| Boxed::around(corners(mesh, t), t))
            .collect();
        let mut pairs = Vec::with_capacity(all.len() / 2 + 1);
        if !all.is_empty() {
            let part = Part {
                first: 0,
                depth: 0,
                reach: Reach::of(&all),
            };
            if all.len() <= LEAF {
                // A leaf needs a pair that holds it.
                let mut pair = Pair::nowhere();
                pair.set(0, &part.reach, 0, all.len());
                pairs.push(pair);
            } else {
                build(&mut all, &part, &mut pairs);
            }
        }
        let mut off_disc = 0.0_f64;
        let round = |b: &Boxed| {
            let (disc, off) = Disc::round(corners(mesh, b.triangle), b.triangle);
            off_disc = off_disc.max(off);
            disc
        };
        let discs = all.iter().map(round).collect();
        Self {
            pairs,
            discs,
            off_disc,
        }
    }

    /// The first place that a ray meets, from either side.
    #[must_use]
    pub fn first_met(&self, mesh: &Mesh, from: [f64; 3], towards: [f64; 3]) -> Option<OnMesh> {
        let ray = Ray::new(from, towards);
        let mut best: Option<OnMesh> = None;
        let mut within = f64::INFINITY;
        let mut waiting = Waiting::new((0.0, 0, 0));
        while let Some((enters, at, count)) = waiting.pop() {
            if enters > within {
                continue;
            }
            if count == 0 {
                let Some(pair) = self.pairs.get(at as usize) else {
                    continue;
                };
                let [a, b] = [0, 1].map(|k| ray.enters(&pair.low[k], &pair.high[k], within));
                let two = [
                    (a, pair.at[0], pair.count[0]),
                    (b, pair.at[1], pair.count[1]),
                ];
                // The nearer last, so that it is looked at first.
                for (enters, at, count) in if a < b { [two[1], two[0]] } else { two } {
                    if enters < f64::INFINITY {
                        waiting.push((enters, at, count));
                    }
                }
                continue;
            }
            for t in self.leaf(at, count).iter().map(|d| d.triangle) {
                if let Some(distance) = meets(corners(mesh, t), from, towards)
                    && distance < within
                {
                    within = distance;
                    best = Some(OnMesh {
                        at: add(from, times(towards, distance)),
                        triangle: t,
                        distance,
                    });
                }
            }
        }
        best
    }

    /// The place of the mesh nearest to another.
    #[must_use]
    pub fn nearest(&self, mesh: &Mesh, to: [f64; 3]) -> Option<OnMesh> {
        let mut best: Option<(u32, [f64; 3])> = None;
        let mut least = f64::INFINITY;
        let mut waiting = Waiting::new((0.0, 0, 0));
        while let Some((away, at, count)) = waiting.pop() {
            if away >= least {
                continue;
            }
            if count == 0 {
                let Some(pair) = self.pairs.get(at as usize) else {
                    continue;
                };
                let [a, b] = [0, 1].map(|k| away2(&pair.low[k], &pair.high[k], to));
                let two = [
                    (a, pair.at[0], pair.count[0]),
                    (b, pair.at[1], pair.count[1]),
                ];
                for one in if a < b { [two[1], two[0]] } else { two } {
                    if one.0 < least {
                        waiting.push(one);
                    }
                }
                continue;
            }
            for disc in self.leaf(at, count) {
                if disc.away2(to, self.off_disc) >= least {
                    continue;
                }
                let t = disc.triangle;
                let place = nearest_on(corners(mesh, t), to);
                let d = sub(place, to);
                let square = dot(d, d);
                if square < least {
                    least = square;
                    best = Some((t, place));
                }
            }
        }
        best.map(|(triangle, at)| OnMesh {
            at,
            triangle,
            distance: libm::sqrt(least),
        })
    }

    fn leaf(&self, at: u32, count: u32) -> &[Disc] {
        let first = at as usize;
        self.discs
            .get(first..first + count as usize)
            .unwrap_or_default()
    }
}

impl Pair {
    const fn nowhere() -> Self {
        Self {
            low: [[f32::INFINITY; 3]; 2],
            high: [[f32::NEG_INFINITY; 3]; 2],
            at: [0; 2],
            count: [0; 2],
        }
    }
    fn set(&mut self, side: usize, reach: &Reach, at: usize, count: usize) {
        let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        self.low[side] = reach.low;
        self.high[side] = reach.high;
        self.at[side] = whole(at);
        self.count[side] = whole(count);
    }
}

fn away2(low: &[f32; 3], high: &[f32; 3], to: [f64; 3]) -> f64 {
    let mut sum = 0.0;
    for k in 0..3 {
        let (below, above) = (f64::from(low[k]) - to[k], to[k] - f64::from(high[k]));
        let d = if below > above { below } else { above };
        let d = if d > 0.0 { d } else { 0.0 };
        sum += d * d;
    }
    sum
}

/// A ray with one over its direction.
struct Ray {
    from: [f64; 3],
    over: [f64; 3],
    level: [bool; 3],
}

impl Ray {
    fn new(from: [f64; 3], towards: [f64; 3]) -> Self {
        Self {
            from,
            over: towards.map(|x| 1.0 / x),
            level: towards.map(|x| x.abs() < 1e-300),
        }
    }
    /// Where it enters a box, infinity where it does not before a distance (slabs; Kay and Kajiya
    /// 1986).
    fn enters(&self, low: &[f32; 3], high: &[f32; 3], within: f64) -> f64 {
        if low[0] > high[0] {
            return f64::INFINITY;
        }
        let (mut enters, mut leaves) = (0.0_f64, within);
        for k in 0..3 {
            let (low, high) = (f64::from(low[k]), f64::from(high[k]));
            if self.level[k] {
                if self.from[k] < low || self.from[k] > high {
                    return f64::INFINITY;
                }
                continue;
            }
            let (a, b) = (
                (low - self.from[k]) * self.over[k],
                (high - self.from[k]) * self.over[k],
            );
            let (near, far) = if a < b { (a, b) } else { (b, a) };
            enters = if near > enters { near } else { enters };
            leaves = if far < leaves { far } else { leaves };
        }
        // A hair of room: a flat box must not be missed by rounding.
        if enters <= leaves * (1.0 + 1e-12) + 1e-12 {
            enters
        } else {
            f64::INFINITY
        }
    }
}

/// Möller and Trumbore 1997, *Fast, minimum storage ray–triangle intersection*.
fn meets([a, b, c]: [[f64; 3]; 3], from: [f64; 3], towards: [f64; 3]) -> Option<f64> {
    let (e, f) = (sub(b, a), sub(c, a));
    let p = cross(towards, f);
    let det = dot(e, p);
    if det.abs() <= 0.0 {
        return None;
    }
    let s = sub(from, a);
    let u = dot(s, p) / det;
    let q = cross(s, e);
    let v = dot(towards, q) / det;
    let t = dot(f, q) / det;
    let edge = -1e-12;
    (u >= edge && v >= edge && u + v <= 1.0 - edge && t > 0.0).then_some(t)
}

/// Ericson 2004, *Real-Time Collision Detection*, 5.1.5.
fn nearest_on([a, b, c]: [[f64; 3]; 3], p: [f64; 3]) -> [f64; 3] {
    let (ab, ac, ap) = (sub(b, a), sub(c, a), sub(p, a));
    let (d1, d2) = (dot(ab, ap), dot(ac, ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let bp = sub(p, b);
    let (d3, d4) = (dot(ab, bp), dot(ac, bp));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return add(a, times(ab, d1 / (d1 - d3)));
    }
    let cp = sub(p, c);
    let (d5, d6) = (dot(ab, cp), dot(ac, cp));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return add(a, times(ac, d2 / (d2 - d6)));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        let w = (d4 - d3) / ((d4 - d3) + (d5 - d6));
        return add(b, times(sub(c, b), w));
    }
    let k = 1.0 / (va + vb + vc);
    add(a, add(times(ab, vb * k), times(ac, vc * k)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Numbers strewn evenly from nought to one (Knuth's linear congruences, MMIX).
    fn strewn(state: &mut u64) -> f64 {
        *state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(*state >> 33).unwrap_or(0)) / f64::from(1_u32 << 31)
    }

    /// Small triangles strewn about; the last of them all in one place, where no side parts them.
    fn confetti(count: u32, alike: u32, state: &mut u64) -> Mesh {
        let mut mesh = Mesh::default();
        for k in 0..count + alike {
            let at = if k < count {
                [(); 3].map(|()| 100.0 * strewn(state))
            } else {
                [50.0, 50.0, 120.0]
            };
            for by in [[0.0, 0.0, 0.0], [3.0, 0.5, 0.0], [0.0, 2.0, 1.0]] {
                mesh.points.push(add(at, by));
            }
            mesh.triangles.push([3 * k, 3 * k + 1, 3 * k + 2]);
        }
        mesh
    }

    /// Against every triangle looked at, one after the other.
    #[test]
    fn boxes_find_what_looking_at_all_of_them_finds() {
        let mut state = 7;
        for (count, alike) in [(1, 0), (4, 0), (5, 0), (300, 0), (300, 40), (0, 9)] {
            let mesh = confetti(count, alike, &mut state);
            let boxes = Boxes::over(&mesh);
            let all = || 0..count + alike;
            for _ in 0..200 {
                let p = [(); 3].map(|()| 160.0 * strewn(&mut state) - 30.0);
                let near = boxes.nearest(&mesh, p).map_or(0.0, |n| n.distance);
                let least = all()
                    .map(|t| {
                        let d = sub(nearest_on(corners(&mesh, t), p), p);
                        libm::sqrt(dot(d, d))
                    })
                    .fold(f64::INFINITY, f64::min);
                assert!((near - least).abs() < 1e-12, "{near} {least}");
                // Along an axis as well: one over nothing must not hide a box.
                let slanted = sub([(); 3].map(|()| 100.0 * strewn(&mut state)), p);
                for towards in [slanted, [0.0, 0.0, 1.0]] {
                    let met = boxes.first_met(&mesh, p, towards);
                    let first = all()
                        .filter_map(|t| meets(corners(&mesh, t), p, towards))
                        .fold(f64::INFINITY, f64::min);
                    let met = met.map_or(f64::INFINITY, |m| m.distance);
                    assert!(met.total_cmp(&first).is_eq(), "{met} {first}");
                }
            }
        }
        assert!(
            Boxes::over(&Mesh::default())
                .nearest(&Mesh::default(), [0.0; 3])
                .is_none()
        );
    }
}
