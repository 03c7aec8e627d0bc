//! Boxes and triangles by eights, in few bytes: what is looked at in passing must fit near the processor.
//!
//! Eight numbers side by side are reckoned at once wherever the processor can (Wald, Benthin and Boulos
//! 2008, *Getting rid of packets*, IEEE Symp. Interactive Ray Tracing, 49–57); boxes are kept as bytes
//! of the box around them (Ylitie, Karras and Laine 2017, *Efficient incoherent ray traversal on GPUs
//! through compressed wide BVHs*, High Performance Graphics).

use super::Ray;

/// Boxes in a box, and triangles in the smallest.
pub(super) const EIGHT: usize = 8;

/// A place that holds nothing.
pub(super) const NONE: u32 = u32::MAX;

/// What is inside is triangles, not boxes.
const TRIANGLES: u32 = 1 << 31;

/// One number of each of eight.
pub(super) type Eight<T> = [T; EIGHT];

pub(super) fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}
pub(super) fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// A box in single precision.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    pub(super) low: [f32; 3],
    pub(super) high: [f32; 3],
}

impl Around {
    pub(super) const NOTHING: Self = Self {
        low: [f32::INFINITY; 3],
        high: [f32::NEG_INFINITY; 3],
    };
    pub(super) fn with(&self, other: &Self) -> Self {
        Self {
            low: core::array::from_fn(|k| less(self.low[k], other.low[k])),
            high: core::array::from_fn(|k| more(self.high[k], other.high[k])),
        }
    }
    /// Half its surface.
    pub(super) fn surface(&self) -> f32 {
        let [a, b, c] = [0, 1, 2].map(|k| self.high[k] - self.low[k]);
        a * b + b * c + c * a
    }
}

/// The power of two of which so many reach as far.
fn step(far: f64, most: f64) -> f32 {
    let each = far / most;
    // The exponent as it stands, one more: over it, and no more than twice.
    let exponent = (each.to_bits() >> 52) & 0x7ff;
    let exponent = (exponent + 1).clamp(1023 - 100, 1023 + 100) + 127 - 1023;
    f32::from_bits(u32::try_from(exponent).unwrap_or(127) << 23)
}

/// Eight boxes in a box.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub(super) struct Node {
    origin: [f32; 3],
    step: [f32; 3],
    low: [Eight<u8>; 3],
    high: [Eight<u8>; 3],
    /// What is inside each.
    at: Eight<u32>,
    pub(super) count: u32,
}

/// What is inside a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Inside {
    Boxes(usize),
    Triangles(usize),
}

impl Inside {
    pub(super) fn kept(self) -> u32 {
        let whole = |n: usize| u32::try_from(n).unwrap_or(NONE);
        match self {
            Self::Boxes(n) => whole(n),
            Self::Triangles(n) => whole(n) | TRIANGLES,
        }
    }
    pub(super) const fn of(kept: u32) -> Self {
        if kept & TRIANGLES == 0 {
            Self::Boxes(kept as usize)
        } else {
            Self::Triangles((kept & !TRIANGLES) as usize)
        }
    }
}

impl Node {
    /// Round boxes, each of them let out by some slack.
    pub(super) fn over(boxes: &[Around], inside: &[u32], slack: f32) -> Self {
        let all = boxes.iter().fold(Around::NOTHING, |sum, b| sum.with(b));
        let mut node = Self {
            origin: all.low.map(|x| x - slack),
            step: [1.0; 3],
            low: [[0; EIGHT]; 3],
            high: [[0; EIGHT]; 3],
            at: [NONE; EIGHT],
            count: u32::try_from(boxes.len()).unwrap_or(0),
        };
        for k in 0..3 {
            let origin = f64::from(node.origin[k]);
            let slack = f64::from(slack);
            let step = step(f64::from(all.high[k]) + slack - origin, 255.0);
            let over = 1.0 / f64::from(step);
            node.step[k] = step;
            for (c, b) in boxes.iter().enumerate().take(EIGHT) {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "from 0 to 255 by the step; NaN becomes 0"
                )]
                let byte = |x: f64| x.clamp(0.0, 255.0) as u8;
                node.low[k][c] = byte((f64::from(b.low[k]) - slack - origin) * over);
                node.high[k][c] = byte(libm::ceil((f64::from(b.high[k]) + slack - origin) * over));
            }
        }
        for (at, inside) in node.at.iter_mut().zip(inside) {
            *at = *inside;
        }
        node
    }

    pub(super) fn inside(&self) -> impl Iterator<Item = (usize, u32)> {
        self.at.into_iter().take(self.count as usize).enumerate()
    }

    /// Squares of how far each box is from a place at least.
    pub(super) fn away2(&self, to: [f32; 3], slack: f32) -> Eight<f32> {
        let mut sum = [0.0; EIGHT];
        for (k, to) in to.into_iter().enumerate() {
            let (from, step) = (self.origin[k] - to, self.step[k]);
            for (c, sum) in sum.iter_mut().enumerate() {
                let below = from + step * f32::from(self.low[k][c]);
                let above = from + step * f32::from(self.high[k][c]);
                let d = more(more(below, -above) - slack, 0.0);
                *sum += d * d;
            }
        }
        sum
    }

    /// Where a ray enters each box, infinity where it does not before a distance (slabs; Kay and
    /// Kajiya 1986).
    pub(super) fn enters(&self, ray: &Ray, within: f64) -> Eight<f64> {
        let (mut enters, mut leaves) = ([0.0; EIGHT], [within; EIGHT]);
        for k in 0..3 {
            let origin = f64::from(self.origin[k]) - ray.from[k];
            let (step, over) = (f64::from(self.step[k]), ray.over[k]);
            for c in 0..EIGHT {
                let low = origin + step * f64::from(self.low[k][c]);
                let high = origin + step * f64::from(self.high[k][c]);
                let (near, far) = if ray.level[k] {
                    let beside = low > 0.0 || high < 0.0;
                    let never = if beside {
                        f64::INFINITY
                    } else {
                        f64::NEG_INFINITY
                    };
                    (never, -never)
                } else if over < 0.0 {
                    (high * over, low * over)
                } else {
                    (low * over, high * over)
                };
                enters[c] = if near > enters[c] { near } else { enters[c] };
                leaves[c] = if far < leaves[c] { far } else { leaves[c] };
            }
        }
        core::array::from_fn(|c| {
            // A hair of room: a flat box must not be missed by rounding.
            if enters[c] <= leaves[c] * (1.0 + 1e-12) + 1e-12 {
                enters[c]
            } else {
                f64::INFINITY
            }
        })
    }
}

/// Up to eight triangles, their corners in steps of a 255th of what they reach: enough to tell most
/// of them to be too far without the mesh's own corners being fetched. As nodes, it begins where what
/// is fetched in one go does.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub(super) struct Leaf {
    origin: [f32; 3],
    /// No corner is further from its own place than this.
    pub(super) step: f32,
    /// By corner and coordinate.
    corners: [[Eight<u8>; 3]; 3],
    /// [`NONE`] where there are fewer.
    pub(super) triangles: Eight<u32>,
}

impl Leaf {
    /// Of triangles with the box around them.
    pub(super) fn of(all: &[([[f64; 3]; 3], u32)], around: &Around) -> Self {
        let far = (0..3).map(|k| f64::from(around.high[k]) - f64::from(around.low[k]));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "any step about as long will do"
        )]
        let step = more((far.fold(0.0, f64::max) / 255.0) as f32, f32::MIN_POSITIVE);
        let over = 1.0 / f64::from(step);
        let mut leaf = Self {
            origin: around.low,
            step,
            corners: [[[0; EIGHT]; 3]; 3],
            triangles: [NONE; EIGHT],
        };
        for i in 0..EIGHT {
            // Where there are fewer the first stands again, and is never the nearest before itself.
            let Some((three, t)) = all.get(i).or_else(|| all.first()) else {
                continue;
            };
            leaf.triangles[i] = if i < all.len() { *t } else { NONE };
            for (corner, p) in three.iter().enumerate() {
                for (k, x) in p.iter().enumerate() {
                    let steps = (x - f64::from(around.low[k])) * over + 0.5;
                    #[expect(
                        clippy::cast_possible_truncation,
                        clippy::cast_sign_loss,
                        reason = "kept to the steps; NaN becomes 0"
                    )]
                    let whole = steps.clamp(0.0, 255.0) as u8;
                    leaf.corners[corner][k][i] = whole;
                }
            }
        }
        leaf
    }

    /// The corners less a place: by corner and coordinate.
    #[inline]
    fn seen_from(&self, place: [f32; 3]) -> [[Eight<f32>; 3]; 3] {
        let mut seen = [[[0.0; EIGHT]; 3]; 3];
        for (seen, kept) in seen.iter_mut().zip(&self.corners) {
            for (k, (seen, kept)) in seen.iter_mut().zip(kept).enumerate() {
                let from = self.origin[k] - place[k];
                for (seen, kept) in seen.iter_mut().zip(kept) {
                    *seen = from + self.step * f32::from(*kept);
                }
            }
        }
        seen
    }

    /// Squares of how far each triangle is from a place, but for its corners' steps and rounding.
    ///
    /// Over a triangle the height above it, elsewhere the nearest of its three sides: neither is
    /// reckoned more too far than the corners are off, however thin the triangle is.
    pub(super) fn away2(&self, to: [f32; 3]) -> Eight<f32> {
        let [a, b, c] = self.seen_from(to);
        let mut away = [0.0; EIGHT];
        for (i, away) in away.iter_mut().enumerate() {
            let [a, b, c] = [&a, &b, &c].map(|p| [p[0][i], p[1][i], p[2][i]]);
            let (u, v, w) = (sub(b, a), sub(c, b), sub(a, c));
            let n = cross(u, v);
            let beside = [(a, u), (b, v), (c, w)].map(|(p, e)| to_side2(p, e));
            let over = [(a, u), (b, v), (c, w)].map(|(p, e)| dot(cross(p, e), n));
            let high = dot(a, n);
            let nearest = less(less(beside[0], beside[1]), beside[2]);
            let above = (over[0] > 0.0) & (over[1] > 0.0) & (over[2] > 0.0);
            *away = if above {
                high * (high / dot(n, n))
            } else {
                nearest
            };
        }
        away
    }

    /// Which triangles a ray may meet: those whose round about their middle it passes through.
    pub(super) fn may_meet(&self, from: [f32; 3], unit: [f32; 3], slack: f32) -> Eight<bool> {
        let [a, b, c] = self.seen_from(from);
        let mut may = [true; EIGHT];
        for (i, may) in may.iter_mut().enumerate() {
            let [a, b, c] = [&a, &b, &c].map(|p| [p[0][i], p[1][i], p[2][i]]);
            let middle = [0, 1, 2].map(|k| (a[k] + b[k] + c[k]) * (1.0 / 3.0));
            let off = cross(middle, unit);
            let wide = [a, b, c].map(|p| {
                let d = sub(p, middle);
                dot(d, d)
            });
            let wide = more(more(wide[0], wide[1]), wide[2]);
            // More than (√wide + 3 slack)².
            let apart = dot(off, off);
            let beside = apart > 1.01 * wide + 100.0 * slack * slack + 3.0 * slack * (wide + 1.0);
            *may = !beside;
        }
        may
    }
}

fn to_side2(p: [f32; 3], e: [f32; 3]) -> f32 {
    let t = -dot(p, e) / more(dot(e, e), f32::MIN_POSITIVE);
    let t = less(more(t, 0.0), 1.0);
    let d = [0, 1, 2].map(|k| p[k] + t * e[k]);
    dot(d, d)
}
fn sub(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
fn cross(a: [f32; 3], b: [f32; 3]) -> [f32; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
