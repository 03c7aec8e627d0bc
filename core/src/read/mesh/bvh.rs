//! Boxes in boxes over a mesh: what a ray meets first, and the place nearest to another.

use super::Mesh;
use super::look::{add, cross, dot, sub, times};

/// Triangles in a box that is not divided further.
const LEAF: usize = 4;

#[derive(Debug, Clone, Copy)]
struct Node {
    low: [f64; 3],
    high: [f64; 3],
    /// First triangle of a leaf, or the second of two boxes (the first follows its parent).
    at: u32,
    /// Triangles of a leaf; nought for a box of boxes.
    count: u32,
}

/// The boxes over a mesh; asked with that mesh.
#[derive(Debug, Clone, Default)]
pub struct Boxes {
    nodes: Vec<Node>,
    order: Vec<u32>,
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

impl Boxes {
    /// Halved at the middle triangle along the longest side, again and again.
    #[must_use]
    pub fn over(mesh: &Mesh) -> Self {
        let middles: Vec<[f64; 3]> = (0_u32..)
            .take(mesh.triangles.len())
            .map(|t| {
                let [a, b, c] = corners(mesh, t);
                times(add(add(a, b), c), 1.0 / 3.0)
            })
            .collect();
        let mut order: Vec<u32> = (0_u32..).take(middles.len()).collect();
        let mut nodes = Vec::with_capacity(middles.len() / 2 + 1);
        if !order.is_empty() {
            let all = order.len();
            build(mesh, &middles, &mut order, 0..all, &mut nodes);
        }
        Self { nodes, order }
    }

    /// The first place that a ray meets, from either side.
    #[must_use]
    pub fn first_met(&self, mesh: &Mesh, from: [f64; 3], towards: [f64; 3]) -> Option<OnMesh> {
        let mut best: Option<OnMesh> = None;
        let mut stack = vec![0_usize];
        while let Some(k) = stack.pop() {
            let Some(node) = self.nodes.get(k) else {
                continue;
            };
            let within = best.map_or(f64::INFINITY, |b| b.distance);
            if !meets_box(node, from, towards, within) {
                continue;
            }
            if node.count == 0 {
                stack.push(node.at as usize);
                stack.push(k + 1);
                continue;
            }
            for &t in self.leaf(node) {
                if let Some(distance) = meets(corners(mesh, t), from, towards)
                    && best.is_none_or(|b| distance < b.distance)
                {
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
        let mut best: Option<(f64, OnMesh)> = None;
        let mut stack = vec![(0_usize, 0.0)];
        while let Some((k, away)) = stack.pop() {
            let Some(node) = self.nodes.get(k) else {
                continue;
            };
            if best.is_some_and(|b| away >= b.0) {
                continue;
            }
            if node.count == 0 {
                let mut two = [k + 1, node.at as usize]
                    .map(|n| (n, self.nodes.get(n).map_or(f64::INFINITY, |n| away2(n, to))));
                if two[0].1 < two[1].1 {
                    two.swap(0, 1);
                }
                stack.extend(two);
                continue;
            }
            for &t in self.leaf(node) {
                let at = nearest_on(corners(mesh, t), to);
                let d = sub(at, to);
                let square = dot(d, d);
                if best.is_none_or(|b| square < b.0) {
                    let distance = libm::sqrt(square);
                    best = Some((
                        square,
                        OnMesh {
                            at,
                            triangle: t,
                            distance,
                        },
                    ));
                }
            }
        }
        best.map(|b| b.1)
    }

    fn leaf(&self, node: &Node) -> &[u32] {
        let first = node.at as usize;
        self.order
            .get(first..first + node.count as usize)
            .unwrap_or_default()
    }
}

fn build(
    mesh: &Mesh,
    middles: &[[f64; 3]],
    order: &mut [u32],
    range: core::ops::Range<usize>,
    nodes: &mut Vec<Node>,
) {
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    let (mut least, mut most) = (low, high);
    for &t in &order[range.clone()] {
        for p in corners(mesh, t) {
            for k in 0..3 {
                low[k] = low[k].min(p[k]);
                high[k] = high[k].max(p[k]);
            }
        }
        for k in 0..3 {
            least[k] = least[k].min(middles[t as usize][k]);
            most[k] = most[k].max(middles[t as usize][k]);
        }
    }
    let whole = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    let this = nodes.len();
    nodes.push(Node {
        low,
        high,
        at: whole(range.start),
        count: whole(range.len()),
    });
    if range.len() <= LEAF {
        return;
    }
    let side = |k: usize| most[k] - least[k];
    let longest = (0..3).fold(0, |best, k| if side(k) > side(best) { k } else { best });
    let half = range.len() / 2;
    order[range.clone()].select_nth_unstable_by(half, |&a, &b| {
        middles[a as usize][longest]
            .total_cmp(&middles[b as usize][longest])
            .then(a.cmp(&b))
    });
    let middle = range.start + half;
    build(mesh, middles, order, range.start..middle, nodes);
    nodes[this].at = whole(nodes.len());
    nodes[this].count = 0;
    build(mesh, middles, order, middle..range.end, nodes);
}

fn away2(node: &Node, to: [f64; 3]) -> f64 {
    (0..3)
        .map(|k| {
            let d = (node.low[k] - to[k]).max(to[k] - node.high[k]).max(0.0);
            d * d
        })
        .sum()
}

/// Whether a ray meets a box before a distance (slabs; Kay and Kajiya 1986).
fn meets_box(node: &Node, from: [f64; 3], towards: [f64; 3], within: f64) -> bool {
    let (mut enters, mut leaves) = (0.0_f64, within);
    for k in 0..3 {
        if towards[k].abs() < 1e-300 {
            if from[k] < node.low[k] || from[k] > node.high[k] {
                return false;
            }
            continue;
        }
        let (a, b) = (
            (node.low[k] - from[k]) / towards[k],
            (node.high[k] - from[k]) / towards[k],
        );
        enters = enters.max(a.min(b));
        leaves = leaves.min(a.max(b));
    }
    // A hair of room: a flat box must not be missed by rounding.
    enters <= leaves * (1.0 + 1e-12) + 1e-12
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
