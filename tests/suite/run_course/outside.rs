//! Short runs against scipy and statsmodels (`reference/run/make_run.py`, which shares no code with
//! the core).

use samespot_core::check::{Course, centred_interval, course, line, mean, step, tolerance_factor};
use serde_json::Value;

fn reference() -> Value {
    serde_json::from_str(include_str!("../../reference/run/run.json")).unwrap()
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array()
        .unwrap()
        .iter()
        .map(|x| x.as_f64().unwrap())
        .collect()
}

#[track_caller]
fn near(found: f64, wanted: f64, within: f64) {
    assert!(
        (found - wanted).abs() <= within * wanted.abs().max(1.0),
        "{found} instead of {wanted}"
    );
}

#[test]
fn slopes_steps_and_means_are_scipys() {
    let mut courses = [0, 0, 0, 0];
    for run in reference()["runs"].as_array().unwrap() {
        let values = numbers(&run["values"]);
        let placed: Vec<(f64, f64)> = numbers(&run["places"])
            .into_iter()
            .zip(values.iter().copied())
            .collect();
        let after: Vec<bool> = run["after"]
            .as_array()
            .unwrap()
            .iter()
            .map(|b| b.as_bool().unwrap())
            .collect();
        let of = |key: &str| run[key].as_f64().unwrap();
        let l = line(&placed).unwrap();
        near(l.slope, of("slope"), 1e-10);
        near(l.by_chance.unwrap(), of("slope_by_chance"), 1e-9);
        let s = step(&values, &after).unwrap();
        near(s.by, of("step"), 1e-10);
        near(s.by_chance, of("step_by_chance"), 1e-9);
        let m = mean(&values).unwrap();
        near(m.mean, of("mean"), 1e-10);
        near(m.half, of("half"), 1e-9);
        near(m.by_chance, of("mean_by_chance"), 1e-9);
        // What is said follows from scipy's probabilities and statsmodels' AIC alone.
        let rare = |key: &str| of(key) < 0.05;
        let aic = of("aic_line_less_step");
        let wanted = match (rare("slope_by_chance"), rare("step_by_chance")) {
            (false, false) => 0,
            (true, false) => 1,
            (false, true) => 2,
            (true, true) if aic >= 2.0 => 2,
            (true, true) if aic <= -2.0 => 1,
            (true, true) => 3,
        };
        let found = match course(&placed, &[after]) {
            Course::Steady => 0,
            Course::Drifts(_) => 1,
            Course::Stepped(..) => 2,
            Course::Either(..) => 3,
        };
        assert_eq!(found, wanted, "{run}");
        courses[found] += 1;
    }
    // All four were met.
    assert!(courses.iter().all(|n| *n > 0), "{courses:?}");
}

#[test]
fn tolerance_factors_are_those_of_a_double_integral() {
    for case in reference()["tolerance"].as_array().unwrap() {
        let of = |key: &str| case[key].as_f64().unwrap();
        let n = usize::try_from(case["n"].as_u64().unwrap()).unwrap();
        let found = tolerance_factor(n, of("share"), of("sure")).unwrap();
        near(found, of("factor"), 1e-6);
    }
}

#[test]
fn intervals_of_a_centred_index_are_chi_squares() {
    for case in reference()["centred"].as_array().unwrap() {
        let n = usize::try_from(case["n"].as_u64().unwrap()).unwrap();
        let (low, high) = centred_interval(case["index"].as_f64().unwrap(), n);
        let wanted = numbers(&case["interval"]);
        near(low, wanted[0], 1e-9);
        near(high, wanted[1], 1e-9);
    }
}
