//! Boxes in boxes over a mesh: what a ray meets first, and the place nearest to another.
//!
//! Boxes and the first look at a triangle are in single precision with slack for what that leaves;
//! every answer is reckoned in doubles from the mesh itself. Of places alike, the first triangle's.

mod build;
mod curve;
mod packed;

use super::Mesh;
use super::look::{add, cross, dot, sub, times, unit};
use build::DEEPEST;
use curve::{along_curve, which};
use packed::{EIGHT, Eight, Inside, Leaf, NONE, Node, more};

/// The most boxes that wait to be looked at: seven a level, and what is looked at now.
const MOST_WAITING: usize = (EIGHT - 1) * (DEEPEST + 1) + 1;

/// What single precision may leave of a distance, of the furthest coordinate: sixteen of its last digits.
const SLACK: f32 = 16.0 * f32::EPSILON;

/// Where products of four lengths keep to single precision; beyond, every triangle is looked at.
const SINGLE: core::ops::RangeInclusive<f32> = 1e-3..=1e8;

/// The boxes over a mesh; asked with that mesh.
#[derive(Debug, Clone, Default)]
pub struct Boxes {
    nodes: Vec<Node>,
    leaves: Vec<Leaf>,
    /// The furthest coordinate.
    furthest: f32,
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
struct Waiting<D> {
    boxes: [(D, u32); MOST_WAITING],
    count: usize,
}

impl<D: Copy + PartialOrd> Waiting<D> {
    const fn new(all: D) -> Self {
        Self {
            boxes: [(all, 0); MOST_WAITING],
            count: 0,
        }
    }
    /// With the box of all.
    fn begin(&mut self, all: D) {
        self.boxes[0] = (all, 0);
        self.count = 1;
    }
    fn pop(&mut self) -> Option<(D, u32)> {
        self.count = self.count.checked_sub(1)?;
        self.boxes.get(self.count).copied()
    }
    /// What is in a box, as far as it is near enough; the nearest last, so that it is looked at first.
    fn push(&mut self, node: &Node, away: &Eight<D>, near: impl Fn(D) -> bool) {
        let first = self.count;
        for (c, inside) in node.inside() {
            if !near(away[c]) || self.count == MOST_WAITING {
                continue;
            }
            let mut at = self.count;
            while at > first && self.boxes[at - 1].0 < away[c] {
                self.boxes[at] = self.boxes[at - 1];
                at -= 1;
            }
            self.boxes[at] = (away[c], inside);
            self.count += 1;
        }
    }
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "what that leaves is in the slack"
)]
fn single(p: [f64; 3]) -> [f32; 3] {
    p.map(|x| x as f32)
}

/// How far something may be to be looked at.
struct Reach {
    /// The nearest yet.
    best: Option<(u32, [f64; 3])>,
    square: f64,
    /// Its distance and the slack.
    single: f32,
}

impl Reach {
    /// The square of the reach, a little more still.
    fn square(&self, more: f32) -> f32 {
        let far = self.single + more;
        far * far * 1.000_01
    }
}

impl Boxes {
    /// What single precision may leave of how far something is from a place.
    fn slack(&self, from: [f32; 3]) -> f32 {
        let far = from.map(f32::abs);
        let far = more(more(far[0], far[1]), far[2]);
        let reckoned = SINGLE.contains(&self.furthest) && far <= *SINGLE.end();
        if reckoned && from.iter().all(|x| x.is_finite()) {
            (self.furthest + far) * SLACK
        } else {
            f32::INFINITY
        }
    }

    /// The first place that a ray meets, from either side.
    #[must_use]
    pub fn first_met(&self, mesh: &Mesh, from: [f64; 3], towards: [f64; 3]) -> Option<OnMesh> {
        let ray = Ray::new(from, towards);
        let start = single(from);
        let way = unit(towards).map(single);
        let slack = way.map_or(f32::INFINITY, |_| self.slack(start));
        let way = way.unwrap_or([0.0; 3]);
        let mut best: Option<OnMesh> = None;
        let mut within = f64::INFINITY;
        let mut waiting = Waiting::new(0.0_f64);
        if self.nodes.is_empty() {
            return None;
        }
        waiting.begin(0.0);
        while let Some((enters, inside)) = waiting.pop() {
            let room = within * (1.0 + 1e-12) + 1e-12;
            if enters > room {
                continue;
            }
            match Inside::of(inside) {
                Inside::Boxes(at) => {
                    let Some(node) = self.nodes.get(at) else {
                        continue;
                    };
                    let enters = node.enters(&ray, within);
                    waiting.push(node, &enters, |enters| enters < f64::INFINITY);
                }
                Inside::Triangles(at) => {
                    let Some(leaf) = self.leaves.get(at) else {
                        continue;
                    };
                    let may = leaf.may_meet(start, way, slack + leaf.step);
                    for (t, _) in leaf
                        .triangles
                        .iter()
                        .zip(may)
                        .filter(|(t, may)| *may && **t != NONE)
                    {
                        let Some(distance) = meets(corners(mesh, *t), from, towards) else {
                            continue;
                        };
                        let first = best.is_some_and(|b| *t < b.triangle);
                        if distance < within || (distance <= within && first) {
                            within = distance;
                            best = Some(OnMesh {
                                at: add(from, times(towards, distance)),
                                triangle: *t,
                                distance,
                            });
                        }
                    }
                }
            }
        }
        best
    }

    /// The place of the mesh nearest to another.
    #[must_use]
    pub fn nearest(&self, mesh: &Mesh, to: [f64; 3]) -> Option<OnMesh> {
        self.nearest_from(mesh, to, None, &mut Waiting::new(0.0))
    }

    /// The same for many places: one after the other along a curve, so that what one needed is at hand
    /// for the next, and the triangle that was nearest to one is the first that is looked at.
    #[must_use]
    pub fn nearest_all(&self, mesh: &Mesh, to: &[[f64; 3]]) -> Vec<Option<OnMesh>> {
        let mut all = vec![None; to.len()];
        let mut waiting = Waiting::new(0.0);
        let mut last = None;
        for key in along_curve(to.iter().copied(), to.len(), |i| to[i]) {
            let at = which(key) as usize;
            let near = self.nearest_from(mesh, to[at], last, &mut waiting);
            last = near.map(|n| n.triangle).or(last);
            all[at] = near;
        }
        all
    }

    fn nearest_from(
        &self,
        mesh: &Mesh,
        to: [f64; 3],
        first: Option<u32>,
        waiting: &mut Waiting<f32>,
    ) -> Option<OnMesh> {
        let place = single(to);
        let slack = self.slack(place);
        let mut reach = Reach {
            best: None,
            square: f64::INFINITY,
            single: f32::INFINITY,
        };
        if self.nodes.is_empty() {
            return None;
        }
        if let Some(t) = first {
            reach.look(mesh, to, t, slack);
        }
        waiting.begin(0.0);
        while let Some((away, inside)) = waiting.pop() {
            let near = reach.square(0.0);
            if away > near {
                continue;
            }
            match Inside::of(inside) {
                Inside::Boxes(at) => {
                    if let Some(node) = self.nodes.get(at) {
                        let away = node.away2(place, slack);
                        waiting.push(node, &away, |away| away <= near);
                    }
                }
                Inside::Triangles(at) => {
                    if let Some(leaf) = self.leaves.get(at) {
                        reach.look_into(leaf, mesh, to, slack);
                    }
                }
            }
        }
        reach.best.map(|(triangle, at)| OnMesh {
            at,
            triangle,
            distance: libm::sqrt(reach.square),
        })
    }
}

impl Reach {
    /// Looks at the triangles of a leaf that may be near enough.
    fn look_into(&mut self, leaf: &Leaf, mesh: &Mesh, to: [f64; 3], slack: f32) {
        let away = leaf.away2(single(to));
        // The nearest first: then most of the others need no second look.
        let mut first = 0;
        for (i, far) in away.iter().enumerate() {
            first = if *far < away[first] { i } else { first };
        }
        let others = (0..EIGHT).filter(|i| *i != first);
        for i in core::iter::once(first).chain(others) {
            // No number is no reason to leave it out.
            let too_far = away[i] > self.square(leaf.step);
            if !too_far {
                self.look(mesh, to, leaf.triangles[i], slack);
            }
        }
    }

    /// Looks at a triangle itself.
    fn look(&mut self, mesh: &Mesh, to: [f64; 3], t: u32, slack: f32) {
        if t == NONE {
            return;
        }
        let place = nearest_on(corners(mesh, t), to);
        let d = sub(place, to);
        let square = dot(d, d);
        let first = self.best.is_some_and(|b| t < b.0);
        if square < self.square || (square <= self.square && first) {
            self.square = square;
            self.best = Some((t, place));
            let [far, ..] = single([libm::sqrt(square); 3]);
            self.single = far + slack;
        }
    }
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

    /// Every triangle looked at, one after the other; of those as near the first.
    fn looked_for(mesh: &Mesh, to: [f64; 3]) -> Option<OnMesh> {
        let mut best: Option<OnMesh> = None;
        let mut least = f64::INFINITY;
        for (t, triangle) in (0..mesh.triangles.len()).zip(0..) {
            let at = nearest_on(mesh.triangles[t].map(|k| mesh.points[k as usize]), to);
            let d = sub(at, to);
            if dot(d, d) < least {
                least = dot(d, d);
                let distance = libm::sqrt(least);
                best = Some(OnMesh {
                    at,
                    triangle,
                    distance,
                });
            }
        }
        best
    }

    /// A hill of squares cut across: each corner is of six triangles, which are as near from above it.
    fn hill(size: f64, away: f64) -> Mesh {
        let mut mesh = Mesh::default();
        for (i, j) in (0..=20).flat_map(|i| (0..=20).map(move |j| (f64::from(i), f64::from(j)))) {
            let high = 4.0 - ((i - 10.0) * (i - 10.0) + (j - 10.0) * (j - 10.0)) / 50.0;
            mesh.points.push([i, j, high].map(|x| away + size * x));
        }
        for (i, j) in (0..20).flat_map(|i| (0..20).map(move |j| (i, j))) {
            let [a, b] = [21 * i + j, 21 * (i + 1) + j];
            mesh.triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
        mesh
    }

    /// Bit for bit, alone and among many, of whatever size, however far out, also where single precision
    /// says nothing any more; slivers and triangles without any width among them.
    #[test]
    fn the_nearest_is_the_first_of_the_nearest_whatever_the_size() {
        for (size, away) in [
            (1.0, 0.0),
            (1.0, 3e4),
            (1e-3, 0.0),
            (1e-9, 0.0),
            (1e7, 0.0),
            (1.0, 9e8),
        ] {
            let mut mesh = hill(size, away);
            let [low, high] = [0.0, 20.0].map(|x| away + size * x);
            for by in [0.0, 1e-7, 1e-4] {
                let first = u32::try_from(mesh.points.len()).unwrap_or(0);
                for p in [
                    [low, low, high],
                    [high, high, high],
                    [high, high + by * size, high],
                ] {
                    mesh.points.push(p);
                }
                mesh.triangles.push([first, first + 1, first + 2]);
            }
            let boxes = Boxes::over(&mesh);
            let mut state = 3;
            let mut asked: Vec<[f64; 3]> = (0..300)
                .map(|_| [(); 3].map(|()| low + (high - low) * (1.6 * strewn(&mut state) - 0.3)))
                .collect();
            // Corners themselves, where all about them are as near.
            asked.extend(mesh.points.iter().step_by(7));
            let far = [1e5, -1e12, 1e300, f64::INFINITY];
            asked.extend(far.map(|x| [low, low + x, low]));
            asked.push([f64::NAN; 3]);
            let among_many = boxes.nearest_all(&mesh, &asked);
            for (p, near) in asked.iter().zip(among_many) {
                assert_eq!(
                    boxes.nearest(&mesh, *p),
                    looked_for(&mesh, *p),
                    "{size} {away} {p:?}"
                );
                assert_eq!(
                    near,
                    looked_for(&mesh, *p),
                    "among many, {size} {away} {p:?}"
                );
            }
        }
    }

    /// A ray that meets an edge or a corner meets the first of its triangles, wherever it comes from.
    #[test]
    fn a_ray_meets_the_first_of_the_triangles_at_a_corner() {
        for (size, away) in [(1.0, 0.0), (1e-3, 0.0), (1.0, 3e4), (1e7, 0.0)] {
            let mesh = hill(size, away);
            let boxes = Boxes::over(&mesh);
            for p in &mesh.points {
                for towards in [[0.0, 0.0, -1.0], [0.3, 0.2, -2.0]] {
                    let from = sub(*p, times(towards, 40.0 * size));
                    let (mut first, mut least) = (None, f64::INFINITY);
                    for (three, t) in mesh.triangles.iter().zip(0_u32..) {
                        let three = three.map(|k| mesh.points[k as usize]);
                        if let Some(d) = meets(three, from, towards).filter(|d| *d < least) {
                            (first, least) = (Some(t), d);
                        }
                    }
                    let met = boxes.first_met(&mesh, from, towards);
                    assert_eq!(met.map(|m| m.triangle), first, "{size} {away} {p:?}");
                }
            }
        }
    }

    /// Against every triangle looked at, one after the other.
    #[test]
    fn boxes_find_what_looking_at_all_of_them_finds() {
        let mut state = 7;
        for (count, alike) in [
            (1, 0),
            (4, 0),
            (5, 0),
            (300, 0),
            (300, 40),
            (0, 9),
            (9, 3000),
        ] {
            let mesh = confetti(count, alike, &mut state);
            let boxes = Boxes::over(&mesh);
            let all = || 0..count + alike;
            for _ in 0..200 {
                let p = [(); 3].map(|()| 160.0 * strewn(&mut state) - 30.0);
                assert_eq!(boxes.nearest(&mesh, p), looked_for(&mesh, p));
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
