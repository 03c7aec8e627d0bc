//! A published network in space: taped distances of a room with two known slips among them.

use samespot_core::num::least_squares::{Model, Rows, Solution, Status, Stop, minimise};
use samespot_core::readings::ODD_ONE_OUT;
use serde_json::Value;
use std::convert::Infallible;

/// Blankenbach & Willert 2009, AVN 8-9:320-327; the figures as printed again by Krumm, *Geodetic
/// Network Adjustment Examples*, Univ. Stuttgart, rev. 3.5 (2020). Name, place, distance read (m).
const ROOM: [(&str, [f64; 3], f64); 8] = [
    ("51", [-8.62, 27.42, 10.29], 8.20),
    ("37", [-4.95, 27.30, 10.04], 3.85),
    ("31", [-4.85, 20.69, 10.51], 4.35),
    ("102", [0.52, 22.59, 9.77], 3.51),
    ("331", [-6.12, 25.48, 10.92], 3.98),
    ("35", [0.45, 27.39, 10.75], 4.37),
    ("103", [0.61, 17.19, 9.71], 8.17),
    ("101", [-7.88, 22.45, 10.16], 5.73),
];

/// The start they give.
const START: [f64; 3] = [-2.59, 24.22, 9.62];
/// The standard deviation they give, m.
const SIGMA: f64 = 0.05;

/// A place in space from distances to known ones.
struct FromKnown(Vec<([f64; 3], f64)>);

impl Model for FromKnown {
    type Error = Infallible;
    fn unknowns(&self) -> usize {
        3
    }
    fn scale(&self) -> Vec<f64> {
        vec![1.0; 3]
    }
    fn rows(&self, x: &[f64], out: &mut Rows) -> Result<(), Infallible> {
        out.clear();
        for (known, read) in &self.0 {
            let off: Vec<f64> = (0..3).map(|k| x[k] - known[k]).collect();
            let d = off.iter().map(|a| a * a).sum::<f64>().sqrt();
            let terms: Vec<(usize, f64)> = off.iter().map(|a| a / d).enumerate().collect();
            out.push(&terms, read - d, SIGMA);
        }
        Ok(())
    }
}

struct Found {
    solution: Solution,
    /// Of each reading, as `readings::Adjusted` has it: off by over its own deviation.
    w: Vec<f64>,
}

impl Found {
    fn of(known: &[(&str, [f64; 3], f64)]) -> Self {
        let model = FromKnown(known.iter().map(|(_, at, read)| (*at, *read)).collect());
        let stop = Stop {
            most_steps: 100,
            step: 1e-12,
        };
        let Ok(solution) = minimise(&model, &START, &stop);
        assert_eq!(solution.status, Status::Converged);
        let q = solution.covariance().unwrap();
        let rows = &solution.rows;
        let w = (0..known.len())
            .map(|k| -rows.misclosures()[k] / (1.0 - rows.form(k, &q, k)).sqrt())
            .collect();
        Self { solution, w }
    }
    fn s0(&self) -> f64 {
        let freedom = (self.w.len() - 3) as f64;
        SIGMA * (self.solution.rows.sum_of_squares() / freedom).sqrt()
    }
    fn sd(&self, k: usize) -> f64 {
        let q = self.solution.covariance().unwrap();
        q.get(k, k).sqrt() * self.s0() / SIGMA
    }
    fn worst(&self) -> usize {
        (0..self.w.len())
            .max_by(|a, b| self.w[*a].abs().total_cmp(&self.w[*b].abs()))
            .unwrap()
    }
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64) {
    assert!((got - want).abs() <= tolerance, "{got} instead of {want}");
}

#[test]
fn d9_two_slips_are_found_in_order_and_no_third() {
    let mut left = ROOM.to_vec();
    let all = Found::of(&left);
    // Printed: the place, its deviations and s0 with all eight.
    for (k, want) in [-2.3042, 24.3101, 9.5248].into_iter().enumerate() {
        near(all.solution.x[k], want, 6e-5);
    }
    for (k, want) in [0.2991, 0.3322, 1.1943].into_iter().enumerate() {
        near(all.sd(k), want, 6e-5);
    }
    near(all.s0(), 0.5791, 6e-5);
    // Printed to two digits; the first is only the worst of seven over the bound.
    near(all.w[0], -25.09, 6e-3);
    near(all.w[6], -11.41, 6e-3);
    near(all.w[4], 6.53, 6e-3);
    near(all.w[2], 5.10, 6e-3);
    assert_eq!(all.w.iter().filter(|w| w.abs() > ODD_ONE_OUT).count(), 7);
    let mut named = Vec::new();
    loop {
        let found = Found::of(&left);
        let worst = found.worst();
        if found.w[worst].abs() <= ODD_ONE_OUT {
            near(found.w[worst].abs(), 1.03, 6e-3);
            break;
        }
        named.push((left.remove(worst).0, found.w[worst]));
    }
    let names: Vec<&str> = named.iter().map(|n| n.0).collect();
    assert_eq!(names, ["51", "103"]);
    near(named[1].1, -6.35, 6e-3);
    // The clean place was recomputed by the checks' own script.
    let clean = Found::of(&left);
    for (k, want) in [-2.507_75, 24.320_22, 9.775_32].into_iter().enumerate() {
        near(clean.solution.x[k], want, 6e-6);
    }
    near(clean.s0(), 0.030_65, 6e-6);
    for (k, want) in [0.0177, 0.0212, 0.0833].into_iter().enumerate() {
        near(clean.sd(k), want, 6e-5);
    }
}

#[test]
fn the_shared_row_is_the_one_above() {
    let Some(all) = super::published::shared() else {
        return;
    };
    let rows = all["rows"].as_array().unwrap();
    let data = &rows.iter().find(|r| r["id"] == "D9").unwrap()["data"];
    let number = |v: &Value| v.as_f64().unwrap();
    let found = Found::of(&ROOM);
    for (k, (name, at, read)) in ROOM.iter().enumerate() {
        near(*read, number(&data["dist"][name]), 1e-12);
        for (axis, x) in at.iter().enumerate() {
            near(*x, number(&data["fixed"][name][axis]), 1e-12);
        }
        near(found.w[k], number(&data["w"][name]), 1e-6);
    }
    for k in 0..3 {
        near(found.solution.x[k], number(&data["all"][k]), 1e-8);
        near(found.sd(k), number(&data["all_sd"][k]), 1e-8);
    }
}
