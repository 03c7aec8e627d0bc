//! A network of taped distances in space with its covariance.

use super::Inputs;
use super::timing::{Of, measured};
use samespot_core::num::least_squares::{Model, Rows, Stop, minimise};
use std::convert::Infallible;

/// Distances of 1 mm between points, some of whose starts count as well.
struct Taped {
    start: Vec<f64>,
    between: Vec<[u32; 2]>,
    read_mm: Vec<f64>,
    prior: Vec<f64>,
}

impl Model for Taped {
    type Error = Infallible;
    fn unknowns(&self) -> usize {
        self.start.len()
    }
    fn scale(&self) -> Vec<f64> {
        vec![5.0; self.start.len()]
    }
    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), Infallible> {
        out.clear();
        for (&[a, b], &mm) in self.between.iter().zip(&self.read_mm) {
            let (a, b) = (3 * a as usize, 3 * b as usize);
            let step = [x[a] - x[b], x[a + 1] - x[b + 1], x[a + 2] - x[b + 2]];
            let d = step.iter().map(|s| s * s).sum::<f64>().sqrt();
            let [p, q, r] = step.map(|s| s / d);
            let terms = [
                (a, p),
                (a + 1, q),
                (a + 2, r),
                (b, -p),
                (b + 1, -q),
                (b + 2, -r),
            ];
            out.push(&terms, mm - d, 1.0);
        }
        for (k, start) in self.start.iter().enumerate() {
            let sd = 1.0 / self.prior[k / 3].sqrt();
            out.push(&[(k, 1.0)], start - x[k], sd);
        }
        Ok(())
    }
}

pub(super) fn network(inputs: &Inputs, points: usize) {
    let size = points.to_string();
    let net = Taped {
        start: inputs.numbers(&format!("net_{size}.x0.f64")),
        between: inputs
            .whole(&format!("net_{size}.e.u32"))
            .as_chunks::<2>()
            .0
            .to_vec(),
        read_mm: inputs.numbers(&format!("net_{size}.d.f64")),
        prior: inputs.numbers(&format!("net_{size}.prior.f64")),
    };
    measured(
        &Of {
            kernel: "network",
            way: "",
            size: &size,
            items: points,
        },
        || {
            let stop = Stop {
                most_steps: 60,
                step: 1e-8,
            };
            let Ok(solution) = minimise(&net, &net.start, &stop);
            let q = solution.covariance().unwrap();
            let trace: f64 = (0..q.size()).map(|i| q.get(i, i)).sum();
            // Of the distances alone, as the yardstick has it.
            let rows = net.between.len();
            let cost: f64 = solution.rows.misclosures()[..rows]
                .iter()
                .map(|m| m * m)
                .sum();
            (solution.steps, cost, trace)
        },
        |(steps, cost, trace)| format!("it {steps} cost {cost:.6} tr {trace:.6}"),
    );
}
