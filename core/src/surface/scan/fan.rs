//! Many ways from one place of a patch at once: a fan of rays, between which all others are read off.
//!
//! The rays leave the place evenly and are followed as single ways are ([`super::follow`]), each with
//! its Jacobi field J. Where they have got to at ρ along a ray of bearing θ is P(ρ, θ), whose slope
//! along the ray is its direction t and whose slope by θ is J·n, n being the direction to the left of
//! t (Gauss's lemma; do Carmo, *Differential Geometry of Curves and Surfaces*, 4-6). n is carried
//! along as t is. So P is known with both slopes and the mixed one
//! at every station of every ray, and a bicubic Hermite piece lies between four of them: the fourth
//! power of a cell's side is left, under 0.001 mm. A place is found in it by Newton's method.

use super::follow::{Scanned, run, slopes};
use crate::surface::way::LEAST_SPREAD;

/// Rays: as many as keep them a cell apart at the rim, within these.
const RAYS: (f64, f64) = (32.0, 512.0);

/// How often Newton's method is tried.
const MOST_STEPS: usize = 16;

/// What is known of a ray at a station, each with its slope along the ray (mm in the chart).
#[derive(Debug, Clone, Copy, Default)]
struct Station {
    /// The place, and the direction.
    at: [[f64; 2]; 2],
    /// How the place goes aside for each radian, and how that grows.
    aside: [[f64; 2]; 2],
}

/// The rays from a place.
pub(crate) struct Fan<'a> {
    scan: Scanned<'a, f64>,
    from: [f64; 2],
    /// Between stations.
    step_mm: f64,
    /// Between rays.
    turn_rad: f64,
    rays: usize,
    /// Ray by ray.
    stations: Vec<Station>,
    each: usize,
}

/// A way of the fan.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ray {
    /// The step at the start, along u and square to it: as long as the way.
    pub(crate) step_mm: [f64; 2],
    /// Its Jacobi field over its length: 1 in a plane.
    pub(crate) spread: f64,
}

impl Ray {
    /// Well within what single ways are found to.
    pub(crate) fn holds(&self) -> bool {
        self.spread > LEAST_SPREAD + 0.01
    }
}

impl<'a> Fan<'a> {
    /// Far enough to reach all that is within some distance in the chart; `None` where a ray does not
    /// get there.
    pub(crate) fn about(scan: Scanned<'a, f64>, from: [f64; 2], reach_mm: f64) -> Option<Self> {
        let cell_mm = scan.patch.spacing_mm * scan.size;
        let around = core::f64::consts::TAU * reach_mm / cell_mm;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "32 to 512; NaN becomes 32"
        )]
        let rays = libm::ceil(around.clamp(RAYS.0, RAYS.1)) as usize;
        #[expect(clippy::cast_precision_loss, reason = "at most 512")]
        let mut fan = Self {
            scan,
            from,
            step_mm: cell_mm,
            turn_rad: core::f64::consts::TAU / rays as f64,
            rays,
            stations: Vec::new(),
            each: 0,
        };
        let mut fronts: Vec<[f64; 6]> = (0..rays).map(|k| fan.leaving(k)).collect();
        // Station by station, so that all rays have as many.
        let mut rings = vec![fan.ring(&fronts)];
        let far = reach_mm + cell_mm;
        let reached = |y: &[f64; 6]| libm::hypot(y[0] - from[0], y[1] - from[1]) >= far;
        #[expect(clippy::cast_precision_loss, reason = "some thousand")]
        while !fronts.iter().all(reached) {
            if rings.len() as f64 * cell_mm > scan.longest_mm() {
                return None;
            }
            for front in &mut fronts {
                *front = run(
                    |y: &[f64; 6]| {
                        let ([a, b, c, d], curvature) = slopes(&scan, [y[0], y[1], y[2], y[3]]);
                        [a, b, c, d, y[5], -curvature * y[4]]
                    },
                    *front,
                    cell_mm,
                    2,
                );
            }
            rings.push(fan.ring(&fronts));
        }
        fan.each = rings.len();
        fan.stations = (0..rays)
            .flat_map(|k| rings.iter().filter_map(move |ring| ring.get(k).copied()))
            .collect();
        (fan.stations.len() == rays * fan.each && fan.each > 1).then_some(fan)
    }

    /// u, v, u̇, v̇, J, J′ where a ray begins.
    fn leaving(&self, ray: usize) -> [f64; 6] {
        #[expect(clippy::cast_precision_loss, reason = "at most 512")]
        let bearing = self.turn_rad * ray as f64;
        let [du, dv] = self
            .scan
            .frame(self.from)
            .chart([libm::cos(bearing), libm::sin(bearing)]);
        [self.from[0], self.from[1], du, dv, 0.0, 1.0]
    }

    fn ring(&self, fronts: &[[f64; 6]]) -> Vec<Station> {
        let station = |&[u, v, du, dv, field, grows]: &[f64; 6]| {
            let form = self.scan.form([u, v]);
            let frame = form.frame();
            let [x, y] = frame.over(du, dv);
            let n = frame.chart([-y, x]);
            let carried = form.carried([du, dv], n);
            Station {
                at: [[u, v], [du, dv]],
                aside: [
                    n.map(|x| field * x),
                    [0, 1].map(|k| grows * n[k] + field * carried[k]),
                ],
            }
        };
        fronts.iter().map(station).collect()
    }

    /// Where a ray of a length and a bearing has got to, and the slopes by both.
    fn place(&self, mm: f64, bearing: f64) -> Option<[[f64; 2]; 3]> {
        let (i, s) = part(mm / self.step_mm)?;
        let turns = bearing / core::f64::consts::TAU;
        let (j, t) = part((turns - libm::floor(turns)) * core::f64::consts::TAU / self.turn_rad)?;
        let (along, slope) = (cubic(s), cubic_slope(s));
        let ray = |j: usize| {
            let first = (j % self.rays) * self.each;
            let two = self
                .stations
                .get(first + i..(first + i + 2).min(first + self.each))?;
            let [a, b] = two else { return None };
            let blend = |w: &[f64; 4], one: &[[f64; 2]; 2], two: &[[f64; 2]; 2]| {
                core::array::from_fn(|k| {
                    w[0] * one[0][k]
                        + w[2] * two[0][k]
                        + self.step_mm * (w[1] * one[1][k] + w[3] * two[1][k])
                })
            };
            let four: [[f64; 2]; 4] = [
                blend(&along, &a.at, &b.at),
                blend(&along, &a.aside, &b.aside),
                blend(&slope, &a.at, &b.at),
                blend(&slope, &a.aside, &b.aside),
            ];
            Some(four)
        };
        let (one, two) = (ray(j)?, ray(j + 1)?);
        let (across, turning) = (cubic(t), cubic_slope(t));
        let blend = |w: &[f64; 4], at: usize| -> [f64; 2] {
            core::array::from_fn(|k| {
                w[0] * one[at][k]
                    + w[2] * two[at][k]
                    + self.turn_rad * (w[1] * one[at + 1][k] + w[3] * two[at + 1][k])
            })
        };
        let by_mm = blend(&across, 2).map(|x| x / self.step_mm);
        let by_rad = blend(&turning, 0).map(|x| x / self.turn_rad);
        Some([blend(&across, 0), by_mm, by_rad])
    }

    /// The way to a place of the chart; `None` beyond the fan or where it is not found.
    pub(crate) fn to(&self, aim: [f64; 2]) -> Option<Ray> {
        let frame = self.scan.frame(self.from);
        let mut step = frame.over(aim[0] - self.from[0], aim[1] - self.from[1]);
        for _ in 0..MOST_STEPS {
            let mm = libm::hypot(step[0], step[1]);
            if mm < 1e-9 {
                return None;
            }
            let bearing = libm::atan2(step[1], step[0]);
            let [at, t, by_rad] = self.place(mm, bearing)?;
            let n = by_rad.map(|x| x / mm);
            let miss = [aim[0] - at[0], aim[1] - at[1]];
            let turn = t[0] * n[1] - t[1] * n[0];
            let on = (miss[0] * n[1] - miss[1] * n[0]) / turn;
            let off = (t[0] * miss[1] - t[1] * miss[0]) / turn;
            if !(on.is_finite() && off.is_finite()) {
                return None;
            }
            let ahead = step.map(|x| x / mm);
            step = [
                step[0] + ahead[0] * on - ahead[1] * off,
                step[1] + ahead[1] * on + ahead[0] * off,
            ];
            if libm::hypot(on, off) <= 1e-9 * (1.0 + mm) {
                // How much of the face a step of the chart is: the Jacobi field is an area.
                let here = self.scan.frame(aim);
                return Some(Ray {
                    step_mm: step,
                    spread: turn * here.u * here.v,
                });
            }
        }
        None
    }
}

/// Which step something is in, and how far.
fn part(x: f64) -> Option<(usize, f64)> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "kept to what a fan holds"
    )]
    (0.0..1e6).contains(&x).then(|| {
        let whole = x as usize;
        (whole, x - whole as f64)
    })
}

/// Hermite's cubics: the value and the slope at the start, then at the end.
fn cubic(t: f64) -> [f64; 4] {
    let s = 1.0 - t;
    [
        s * s * (1.0 + 2.0 * t),
        s * s * t,
        t * t * (1.0 + 2.0 * s),
        -t * t * s,
    ]
}

fn cubic_slope(t: f64) -> [f64; 4] {
    let s = 1.0 - t;
    [
        -6.0 * t * s,
        s * (s - 2.0 * t),
        6.0 * t * s,
        t * (t - 2.0 * s),
    ]
}
