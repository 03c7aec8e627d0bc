//! The plane of a patch, tilted, shifted and bent to the roundness of the part of a scan around its marks.
//!
//! Σ area·h² is made least, h being how far a triangle's middle stands off the bent plane
//! ([`Base::foot`], which is square to it): six numbers, by the method of Levenberg and Marquardt
//! (Nocedal and Wright, *Numerical Optimization*, 10.3). The base need not be near: the patch's own height
//! takes up what it leaves. It only has to lean with the face.

use super::Mesh;
use super::fit::{Frame, Region};
use super::look::{add, cross, dot, sub, times, unit};
use crate::surface::scan::Base;

/// So many triangles say how a region is bent.
const ENOUGH: usize = 3000;

/// The most steps; from a plane it needs about eight.
const MOST_STEPS: usize = 40;

/// Curvatures this near to each other are one: the base is a ball, and the first bend goes across.
const ALIKE: f64 = 0.05;

/// Over how much of a turn less than this the base is left as it is: 0.3 mm on 300.
const LEAST_TURN: f64 = 0.002;

/// A base is no guide where a step along it is less than this share of one at its height.
pub(super) const NARROWEST: f64 = 0.3;

/// Tilt about across and up, shift outwards, and the form: how far it falls for half of u², uv, half of v².
type Numbers = [f64; 6];

struct Places {
    /// Across, up and outwards, and the area.
    all: Vec<([f64; 3], f64)>,
    /// How far they reach.
    reach_mm: f64,
}

impl Places {
    fn of(frame: &Frame, region: &Region, mesh: &Mesh, mm: f64) -> Self {
        let each = region.triangles.len().div_ceil(ENOUGH).max(1);
        let all: Vec<([f64; 3], f64)> = region
            .triangles
            .iter()
            .step_by(each)
            .map(|&t| {
                let [a, b, c] =
                    mesh.triangles[t as usize].map(|k| frame.seen(mesh.points[k as usize]));
                let middle = times(add(add(a, b), c), mm / 3.0);
                let twice = cross(sub(b, a), sub(c, a));
                (middle, libm::sqrt(dot(twice, twice)) * mm * mm)
            })
            .collect();
        let reach_mm = all
            .iter()
            .fold(1e-3, |far: f64, (p, _)| far.max(libm::hypot(p[0], p[1])));
        Self { all, reach_mm }
    }

    /// Numbers of size one: turns over the reach, and a shift as a share of it.
    fn bent(&self, numbers: &Numbers) -> Bent {
        Bent::of(numbers, self.reach_mm)
    }

    /// [`Places::bent`], with what is too little to matter left out.
    fn told(&self, numbers: &Numbers) -> Bent {
        let mut bent = self.bent(numbers);
        let Base { along, round } = &mut bent.base;
        let [p, q] = round.map(|k| {
            if k.abs() * self.reach_mm < LEAST_TURN {
                0.0
            } else {
                k
            }
        });
        *round = if (p - q).abs() < ALIKE * p.abs().max(q.abs()) {
            [0.5 * (p + q); 2]
        } else {
            [p, q]
        };
        if is_ball(round) {
            *along = Base::PLANE.along;
        }
        bent
    }

    fn off(&self, numbers: &Numbers) -> f64 {
        let bent = self.bent(numbers);
        self.all
            .iter()
            .map(|(p, area)| {
                let h = bent.height_mm(*p);
                area * h * h
            })
            .sum()
    }

    /// The six numbers that leave least, looked for from a base.
    fn fitted(&self, from: &Base) -> Numbers {
        const STEP: f64 = 1e-5;
        let ([c, s], [p, q]) = (from.along, from.round.map(|k| k * self.reach_mm));
        let mut best: Numbers = [
            0.0,
            0.0,
            0.0,
            p * c * c + q * s * s,
            (p - q) * c * s,
            p * s * s + q * c * c,
        ];
        let mut least = self.off(&best);
        let mut damped = 1e-3;
        for _ in 0..MOST_STEPS {
            let here = self.bent(&best);
            let beside: [Bent; 6] = core::array::from_fn(|k| {
                let mut there = best;
                there[k] += STEP;
                self.bent(&there)
            });
            let (mut normal, mut right) = ([[0.0; 6]; 6], [0.0; 6]);
            for (p, area) in &self.all {
                let h = here.height_mm(*p);
                let by: [f64; 6] = core::array::from_fn(|k| (beside[k].height_mm(*p) - h) / STEP);
                for i in 0..6 {
                    right[i] -= area * by[i] * h;
                    for j in 0..6 {
                        normal[i][j] += area * by[i] * by[j];
                    }
                }
            }
            let mut moved = 0.0;
            while damped < 1e6 {
                let mut more = normal;
                for (k, row) in more.iter_mut().enumerate() {
                    row[k] *= 1.0 + damped;
                }
                let step = solved(more, right);
                let there: Option<Numbers> =
                    step.map(|step| core::array::from_fn(|k| best[k] + step[k]));
                let off = there.map_or(f64::INFINITY, |n| self.off(&n));
                if let (Some(there), true) = (there, off < least) {
                    moved = 1.0 - off / least;
                    (best, least) = (there, off);
                    damped = (damped * 0.1).max(1e-9);
                    break;
                }
                damped *= 10.0;
            }
            if moved < 1e-6 {
                break;
            }
        }
        best
    }
}

/// A frame turned and shifted within the one the places are given in, and its base.
struct Bent {
    origin: [f64; 3],
    across: [f64; 3],
    up: [f64; 3],
    out: [f64; 3],
    base: Base,
}

impl Bent {
    fn of(numbers: &Numbers, reach_mm: f64) -> Self {
        let [a, b, shift, uu, uv, vv] = *numbers;
        let long = libm::sqrt(1.0 + a * a + b * b);
        let out = [a / long, b / long, 1.0 / long];
        let level = libm::sqrt(out[0] * out[0] + out[2] * out[2]);
        let across = [out[2] / level, 0.0, -out[0] / level];
        // The form's own directions (Jacobi's turn).
        let turn = 0.5 * libm::atan2(2.0 * uv, uu - vv);
        let half = 0.5 * libm::hypot(uu - vv, 2.0 * uv);
        let mean = 0.5 * (uu + vv);
        let (c, s) = (libm::cos(turn), libm::sin(turn));
        let (more, less) = (mean + half, mean - half);
        // The ring goes the way that is less round, so that it does not run into itself.
        let (along, round) = if more.abs() < less.abs() {
            ([c, s], [more, less])
        } else {
            ([-s, c], [less, more])
        };
        Self {
            origin: [0.0, 0.0, shift * reach_mm],
            across,
            up: cross(out, across),
            out,
            base: Base {
                along,
                round: round.map(|k| k / reach_mm),
            },
        }
    }

    fn height_mm(&self, p: [f64; 3]) -> f64 {
        let d = sub(p, self.origin);
        let seen = [dot(d, self.out), dot(d, self.across), dot(d, self.up)];
        self.base.foot(seen)[2]
    }
}

/// Gauss's elimination; the matrix is positive.
fn solved(mut a: [[f64; 6]; 6], mut b: [f64; 6]) -> Option<[f64; 6]> {
    for k in 0..6 {
        let pivot = a[k][k];
        if !(pivot.is_finite() && pivot > 0.0) {
            return None;
        }
        for i in k + 1..6 {
            let by = a[i][k] / pivot;
            let row = a[k];
            for (x, y) in a[i].iter_mut().zip(row).skip(k) {
                *x -= by * y;
            }
            b[i] -= by * b[k];
        }
    }
    for k in (0..6).rev() {
        for j in k + 1..6 {
            b[k] -= a[k][j] * b[j];
        }
        b[k] /= a[k][k];
    }
    b.iter().all(|x| x.is_finite()).then_some(b)
}

/// The frame and the base that lean with a region, looked for from others; `upright` makes a frame that
/// looks a way and stands somewhere. `None` where no bent plane is a guide to it.
pub(super) fn bent(
    (frame, from): (&Frame, &Base),
    region: &Region,
    mesh: &Mesh,
    mm: f64,
    upright: impl Fn([f64; 3], [f64; 3]) -> Frame,
) -> Option<(Frame, Base)> {
    let places = Places::of(frame, region, mesh, mm);
    let found = places.told(&places.fitted(from));
    let base = found.base;
    let wide = |p: &[f64; 3]| {
        let d = sub(*p, found.origin);
        let seen = [dot(d, found.out), dot(d, found.across), dot(d, found.up)];
        base.widths(base.foot(seen)).iter().all(|w| *w > NARROWEST)
    };
    if !places.all.iter().all(|(p, _)| wide(p)) {
        return None;
    }
    let out = unit(frame.in_space(found.out))?;
    let origin = add(
        frame.origin(),
        times(frame.in_space(found.origin), 1.0 / mm),
    );
    let upright = upright(out, origin);
    let [c, d] = base.along;
    let along = frame.in_space(add(times(found.across, c), times(found.up, d)));
    let base = turned(&base, along, &upright);
    Some((upright, base))
}

/// Round alike both ways, to the last bit.
fn is_ball([p, q]: &[f64; 2]) -> bool {
    p.total_cmp(q).is_eq()
}

/// A base whose first bend goes along a direction of the scan, as a frame has it.
pub(super) fn turned(base: &Base, along: [f64; 3], frame: &Frame) -> Base {
    let [across, up, _] = frame.directed(along);
    let long = libm::hypot(across, up);
    let along = if is_ball(&base.round) || long < 0.5 {
        Base::PLANE.along
    } else {
        [across / long, up / long]
    };
    Base { along, ..*base }
}
