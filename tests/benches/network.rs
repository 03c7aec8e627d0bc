//! Networks of taped distances, side by side with a dense linear-algebra library on the same
//! data. Run by hand:
//! `cargo bench -p samespot-tests --features bench --bench network --profile tool`.
//!
//! Both sides run Gauss-Newton from the same start until the next step would be under 5e-9 mm,
//! and end with the full covariance. The least of many runs is printed: on a shared machine everything above it is
//! somebody else's work.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a measurement that fails should stop"
)]

use faer::linalg::solvers::{DenseSolveCore, Solve};
use faer::{Mat, Side};
use samespot_core::frames::Point2;
use samespot_core::num::least_squares::{Model, Rows, Solution, Status, Stop, minimise};
use samespot_core::readings::{
    Held, Network, Options, PointStart, Precision, Reading, ReadingKind, adjust,
};
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;
use std::convert::Infallible;
use std::hint::black_box;
use std::time::Instant;

fn main() {
    for marks in [12, 50] {
        // Two unknowns a mark on a face; three in space is the yardstick's network.
        for dimensions in [2, 3] {
            let net = Taped::new(marks, dimensions);
            let steps = net.solved().steps;
            let ours = best(|| net.trace());
            let theirs = best(|| net.by_faer());
            let off = (net.trace() / net.by_faer() - 1.0).abs();
            let what = format!("{marks} marks, {dimensions} unknowns each, {steps} steps");
            println!(
                "{what}: ours {ours:.0} us, faer dense {theirs:.0} us, ratio {:.2}, differ by {off:.1e}",
                ours / theirs
            );
        }
        let network = Taped::new(marks, 2).network();
        let options = Options {
            drawing_spread: None,
            ..Options::default()
        };
        let whole = best(|| adjust(&network, &options).unwrap().points[0].at.x_mm());
        println!("{marks} marks, everything `adjust` does: {whole:.0} us");
    }
}

fn best<T>(mut run: impl FnMut() -> T) -> f64 {
    let mut least = f64::INFINITY;
    let begun = Instant::now();
    let mut runs = 0;
    while runs < 200 || begun.elapsed().as_secs_f64() < 1.0 {
        let start = Instant::now();
        black_box(run());
        least = least.min(start.elapsed().as_secs_f64());
        runs += 1;
    }
    least * 1e6
}

/// Marks in a ragged grid in no order, each read to its neighbours: about six distances a mark.
/// The first two (in space six) marks are fixed.
struct Taped {
    places: Vec<[f64; 3]>,
    dimensions: usize,
    readings: Vec<(usize, usize, f64)>,
}

/// Standard deviation of a reading, mm.
const SD_MM: f64 = 0.5;

impl Taped {
    fn new(marks: usize, dimensions: usize) -> Self {
        let side = (1..).find(|side| side * side >= marks).unwrap();
        let places: Vec<[f64; 3]> = (0..marks)
            .map(|k| {
                let cell = (k * 17) % marks;
                let ragged = |s: usize| ((k * s) % 17) as f64 * 2.0 - 17.0;
                let height = if dimensions == 3 {
                    ((k * 71) % 31) as f64 * 8.0
                } else {
                    0.0
                };
                let (i, j) = (cell % side, cell / side);
                [
                    i as f64 * 150.0 + ragged(7),
                    j as f64 * 150.0 + ragged(11),
                    height,
                ]
            })
            .collect();
        let reach = if dimensions == 3 { 420.0 } else { 290.0 };
        let mut readings = Vec::new();
        for (a, from) in places.iter().enumerate() {
            for (b, to) in places.iter().enumerate().take(a) {
                let d = distance(*from, *to);
                if d < reach {
                    let noise = ((readings.len() * 13) % 7) as f64 * 0.2 - 0.6;
                    readings.push((a, b, d + noise));
                }
            }
        }
        Self {
            places,
            dimensions,
            readings,
        }
    }

    fn fixed(&self) -> usize {
        if self.dimensions == 3 { 6 } else { 2 }
    }

    fn start(&self) -> Vec<f64> {
        let free = &self.places[self.fixed()..];
        let off = |k: usize, c: usize| ((k * 3 + c * 5) % 5) as f64 * 0.5 - 1.0;
        free.iter()
            .enumerate()
            .flat_map(|(k, p)| (0..self.dimensions).map(move |c| p[c] + off(k, c)))
            .collect()
    }

    fn place(&self, x: &[f64], k: usize) -> [f64; 3] {
        let (fixed, d) = (self.fixed(), self.dimensions);
        let mut p = self.places[k];
        if k >= fixed {
            p[..d].copy_from_slice(&x[d * (k - fixed)..d * (k - fixed) + d]);
        }
        p
    }

    /// The derivatives of a distance by the free places at its ends, and how many they are.
    fn terms(
        &self,
        (from, p): (usize, [f64; 3]),
        (to, q): (usize, [f64; 3]),
        d: f64,
    ) -> ([(usize, f64); 6], usize) {
        let (fixed, dim) = (self.fixed(), self.dimensions);
        let mut terms = [(0, 0.0); 6];
        let mut count = 0;
        for (c, (a, b)) in p.iter().zip(q).enumerate().take(dim) {
            let u = (b - a) / d;
            for (k, v) in [(from, -u), (to, u)] {
                if k >= fixed {
                    terms[count] = (dim * (k - fixed) + c, v);
                    count += 1;
                }
            }
        }
        (terms, count)
    }

    fn solved(&self) -> Solution {
        let Ok(solution) = minimise(
            self,
            &self.start(),
            &Stop {
                most_steps: 60,
                step: 1e-9,
            },
        );
        solution
    }

    fn trace(&self) -> f64 {
        let q = self.solved().covariance().unwrap();
        (0..q.size()).map(|i| q.get(i, i)).sum()
    }

    /// The same written plainly on the library.
    fn by_faer(&self) -> f64 {
        let mut done = false;
        let mut x = self.start();
        let n = x.len();
        let weight = 1.0 / (SD_MM * SD_MM);
        for _ in 0..60 {
            let mut a = Mat::<f64>::zeros(n, n);
            let mut g = Mat::<f64>::zeros(n, 1);
            for &(from, to, value) in &self.readings {
                let (p, q) = (self.place(&x, from), self.place(&x, to));
                let d = distance(p, q);
                let (terms, count) = self.terms((from, p), (to, q), d);
                for &(i, v) in &terms[..count] {
                    g[(i, 0)] += weight * v * (value - d);
                    for &(j, u) in &terms[..count] {
                        if i >= j {
                            a[(i, j)] += weight * v * u;
                        }
                    }
                }
            }
            let l = a.llt(Side::Lower).unwrap();
            if done {
                let inverse = l.inverse();
                return (0..n).map(|i| inverse[(i, i)]).sum();
            }
            let dx = l.solve(&g);
            let mut longest = 0.0_f64;
            for (k, x) in x.iter_mut().enumerate() {
                *x += dx[(k, 0)];
                longest = longest.max(dx[(k, 0)].abs());
            }
            // The step at which the core stops: 1e-9 of 5 mm, or what the next would bring.
            done = longest < 1e-6;
        }
        0.0
    }

    /// The flat one as a network of the core.
    fn network(&self) -> Network {
        let start = self.start();
        let mut out = Network::on(Surface::Flat(FlatFace));
        out.points = (0..self.places.len())
            .map(|k| {
                let p = self.place(&start, k);
                let held = if k < self.fixed() {
                    Held::Fixed
                } else {
                    Held::Free
                };
                PointStart {
                    start: Point2::from_mm(p[0], p[1]),
                    held,
                }
            })
            .collect();
        out.readings = self
            .readings
            .iter()
            .map(|&(from, to, value)| Reading {
                kind: ReadingKind::Straight { from, to },
                value: Length::from_mm(value),
                precision: Precision::Sd(Length::from_mm(SD_MM)),
            })
            .collect();
        out
    }
}

impl Model for Taped {
    type Error = Infallible;
    fn unknowns(&self) -> usize {
        self.dimensions * (self.places.len() - self.fixed())
    }
    fn scale(&self) -> Vec<f64> {
        vec![5.0; self.unknowns()]
    }
    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), Infallible> {
        out.clear();
        for &(from, to, value) in &self.readings {
            let (p, q) = (self.place(x, from), self.place(x, to));
            let d = distance(p, q);
            let (terms, count) = self.terms((from, p), (to, q), d);
            out.push(&terms[..count], value - d, SD_MM);
        }
        Ok(())
    }
}

fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
    ((a[0] - b[0]).powi(2) + (a[1] - b[1]).powi(2) + (a[2] - b[2]).powi(2)).sqrt()
}
