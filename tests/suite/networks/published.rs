//! Published distance networks, with tapes and priors switched off (the plain model).
//!
//! The numbers stand here by value, so that the clone alone tests them; where the shared checks
//! lie beside the clone they are read as well. Re-published with results in Krumm, *Geodetic
//! Network Adjustment Examples*, Univ. Stuttgart, rev. 3.5 (2020); first sources at each test.

use super::{flat, plain};
use samespot_core::frames::Point2;
use samespot_core::num::arcs::{Crossing, three_balls, two_arcs};
use samespot_core::num::distribution::tau_critical;
use samespot_core::readings::{
    Adjusted, CannotLocate, Side, StartError, Status, start_from_readings,
};
use samespot_core::units::Length;
use serde_json::Value;

/// A published network in metres (or feet): name, x, y, fixed; from, to, distance; new point
/// and its adjusted place; residuals in thousandths; s₀; redundancy numbers.
struct Published {
    points: &'static [(f64, f64, bool)],
    distances: &'static [(usize, usize, f64)],
    adjusted: &'static [(usize, f64, f64)],
    off_by_thousandths: &'static [f64],
    s0: f64,
    redundancy: &'static [f64],
    spare: usize,
}

/// Unit weight is one unit of the network, as in the sources.
fn network(points: &[(f64, f64, bool)], distances: &[(usize, usize, f64)]) -> Adjusted {
    let points: Vec<_> = points
        .iter()
        .map(|(x, y, f)| (1000.0 * x, 1000.0 * y, *f))
        .collect();
    let distances: Vec<_> = distances
        .iter()
        .map(|(a, b, d)| (*a, *b, 1000.0 * d, 1000.0))
        .collect();
    plain(&flat(&points, &distances))
}

#[track_caller]
fn near(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: {got} instead of {want}"
    );
}

/// Places to half the last digit printed (1e-4 of the unit), the rest likewise.
#[track_caller]
fn check(p: &Published) -> Adjusted {
    let got = network(p.points, p.distances);
    assert_eq!(got.status, Status::Converged);
    assert_eq!(got.spare, p.spare);
    for (k, x, y) in p.adjusted {
        near(got.points[*k].at.x_mm() / 1000.0, *x, 6e-5, "x");
        near(got.points[*k].at.y_mm() / 1000.0, *y, 6e-5, "y");
    }
    for (r, v) in got.readings.iter().zip(p.off_by_thousandths) {
        near(r.off_by.mm(), *v, 6e-2, "off by");
    }
    for (r, want) in got.readings.iter().zip(p.redundancy) {
        near(r.redundancy, *want, 6e-4, "redundancy");
    }
    near(got.s0().unwrap(), p.s0, 6e-6, "s0");
    got
}

#[test]
fn d1_three_fixed_points_and_no_way_to_tell_the_odd_one() {
    // Strang & Borre 1997, Linear Algebra, Geodesy, and GPS, ex. 10.1, p. 345.
    let got = check(&Published {
        points: &[
            (170.71, 270.71, true),
            (100.0, 100.0, true),
            (241.42, 100.0, true),
            (170.71, 170.71, false),
        ],
        distances: &[(0, 3, 100.01), (1, 3, 100.02), (2, 3, 100.03)],
        adjusted: &[(3, 170.7029, 170.7234)],
        off_by_thousandths: &[-23.356, -16.516, -16.512],
        s0: 0.033_029,
        redundancy: &[0.5, 0.25, 0.25],
        spare: 1,
    });
    // Standard deviations 33.0 and 23.4 mm, printed with s0 in them.
    let s0 = got.s0().unwrap();
    let q = got.covariance(&[3]);
    near(s0 * q.get(0, 0).sqrt(), 33.0, 0.06, "sd x");
    near(s0 * q.get(1, 1).sqrt(), 23.4, 0.06, "sd y");
    // With one spare reading every normalised residual is the same.
    for k in 0..3 {
        near(got.tau(k).unwrap().abs(), 1.0, 1e-6, "tau");
    }
    assert_eq!(got.suspects(), Err(CannotLocate::TooFewSpare { spare: 1 }));
    assert!(!got.is_checked(0));
}

#[test]
fn d3_square_with_both_diagonals() {
    // Benning 2011, Statistik in Geodäsie, ex. 8-2, p. 256.
    let got = check(&Published {
        points: &[
            (0.0, 1000.0, true),
            (1000.0, 1000.0, true),
            (0.0, 0.0, false),
            (1000.0, 0.0, false),
        ],
        distances: &[
            (0, 2, 1000.02),
            (0, 3, 1414.2),
            (1, 2, 1414.24),
            (1, 3, 999.98),
            (2, 3, 1000.0),
        ],
        adjusted: &[(2, -0.009_585, -0.022_601), (3, 999.993_016, 0.017_399)],
        off_by_thousandths: &[2.601, -3.679, -3.679, 2.601, 2.601],
        s0: 0.006_882,
        redundancy: &[0.142_852, 0.285_706, 0.285_722, 0.142_863, 0.142_857],
        spare: 1,
    });
    // Standard deviations 9.01 and 6.37 mm; larger semi-axis 9.733 mm at 153.435 degrees.
    let s0 = got.s0().unwrap();
    let q = got.covariance(&[2]);
    near(s0 * q.get(0, 0).sqrt(), 9.01, 0.006, "sd x");
    near(s0 * q.get(1, 1).sqrt(), 6.37, 0.006, "sd y");
    near(s0 * got.points[2].worst.mm(), 9.733, 0.006, "semi-axis");
    let along = (got.points[2].worst_along.deg() + 180.0) % 180.0;
    near(along, 153.435, 6e-3, "direction");
}

#[test]
fn d4_a_reading_nothing_checks() {
    // Benning 2011, ex. 8-8, pp. 285-291.
    let got = check(&Published {
        points: &[
            (3000.0, 2000.0, true),
            (1000.0, 2000.0, true),
            (3000.0, 2100.0, true),
            (1000.0, 2100.0, true),
            (2000.0, 1000.0, true),
            (2000.0, 2000.0, false),
        ],
        distances: &[
            (5, 0, 1000.0),
            (5, 1, 1000.0),
            (5, 2, 1005.0),
            (5, 3, 1005.0),
            (5, 4, 1000.0),
        ],
        adjusted: &[(5, 2000.0, 1999.9976)],
        off_by_thousandths: &[0.0, 0.0, -12.196, -12.196, -2.427],
        s0: 0.010_056,
        redundancy: &[0.7488, 0.7488, 0.7415, 0.7415, 0.0194],
        spare: 3,
    });
    assert!(got.is_checked(0));
    assert!(!got.is_checked(4), "an error of 10 cm would show as 2 mm");
}

#[test]
fn d5_large_coordinates() {
    // Ghilani 2010, Adjustment Computations, 5th ed., ex. 14.5, p. 251 (feet).
    let got = check(&Published {
        points: &[
            (2_410_000.0, 390_000.0, true),
            (2_411_820.0, 386_881.222, true),
            (2_416_892.67, 387_603.45, false),
            (2_415_776.819, 391_043.461, false),
        ],
        distances: &[
            (0, 3, 5870.302),
            (0, 2, 7297.588),
            (3, 2, 3616.434),
            (3, 1, 5742.878),
            (2, 1, 5123.76),
        ],
        adjusted: &[
            (2, 2_416_892.6955, 387_603.2551),
            (3, 2_415_776.9044, 391_043.2945),
        ],
        off_by_thousandths: &[54.684, -79.011, 36.751, -61.645, 63.927],
        s0: 0.135_905,
        redundancy: &[0.1619, 0.3380, 0.0731, 0.2057, 0.2213],
        spare: 1,
    });
    let s0 = got.s0().unwrap();
    let q = got.covariance(&[3, 2]);
    for (k, want) in [0.1488, 0.2206, 0.1038, 0.2705].into_iter().enumerate() {
        near(s0 * q.get(k, k).sqrt() / 1000.0, want, 6e-5, "sd");
    }
}

/// Höpke 1980, Fehlerlehre und Ausgleichungsrechnung, ex. 35.5, pp. 120-123: marks 1006, 1011,
/// 1059, 1087, 20, 75, 86, 87.
const D7: &[(f64, f64, bool)] = &[
    (3_578_284.289, 5_708_758.641, false),
    (3_577_052.332, 5_708_103.204, false),
    (3_576_852.894, 5_706_633.642, false),
    (3_576_213.699, 5_709_199.889, false),
    (3_579_041.416, 5_707_194.412, false),
    (3_575_403.277, 5_707_682.612, false),
    (3_575_322.061, 5_708_700.952, false),
    (3_576_581.778, 5_709_938.106, false),
];

/// Its distances; number 23 is 1059-75.
fn d7_distances(doubtful: f64) -> [(usize, usize, f64); 27] {
    [
        (6, 0, 2962.832),
        (6, 7, 1765.657),
        (6, 3, 1021.768),
        (6, 5, 1021.536),
        (6, 1, 1830.646),
        (6, 4, 4012.921),
        (6, 2, 2572.516),
        (3, 7, 824.863),
        (3, 4, 3466.722),
        (3, 2, 2644.789),
        (3, 5, 1720.13),
        (3, 0, 2117.134),
        (3, 1, 1380.633),
        (0, 5, 3075.373),
        (0, 4, 1737.824),
        (0, 2, 2562.134),
        (0, 1, 1395.459),
        (0, 7, 2071.154),
        (1, 7, 1894.263),
        (1, 5, 1701.824),
        (1, 2, 1483.088),
        (1, 4, 2186.853),
        (2, 4, 2259.167),
        (2, 5, doubtful),
        (2, 7, 3315.63),
        (4, 7, 3684.782),
        (4, 5, 3670.735),
    ]
}

#[test]
fn d7_free_network_as_published() {
    let got = network(D7, &d7_distances(1789.449));
    assert_eq!((got.spare, got.motions.len()), (14, 3));
    // A priori 1 mm is 0.001 of the unit weight of one metre used here.
    near(got.s0().unwrap() * 1000.0, 4.954, 6e-4, "s0");
    for (k, x, y) in [
        (2, 3_576_852.9606, 5_706_633.5764),
        (4, 3_579_041.4042, 5_707_194.4039),
    ] {
        near(got.points[k].at.x_mm() / 1000.0, x, 1e-4, "x");
        near(got.points[k].at.y_mm() / 1000.0, y, 1e-4, "y");
    }
    let taus: Vec<f64> = (0..27).map(|k| got.tau(k).unwrap().abs()).collect();
    let largest = (0..27)
        .max_by(|a, b| taus[*a].total_cmp(&taus[*b]))
        .unwrap();
    assert_eq!(largest, 8, "1087-20");
    near(taus[8], 2.532, 6e-4, "largest tau");
    near(got.readings[23].off_by.mm(), -0.06, 0.006, "1059-75");
    // Inner constraints: the middle of the marks stays.
    let middle = |f: &dyn Fn(usize) -> f64| (0..8).map(f).sum::<f64>();
    near(
        middle(&|k| got.points[k].at.x_mm() - 1000.0 * D7[k].0),
        0.0,
        1e-4,
        "middle x",
    );
    near(
        middle(&|k| got.points[k].at.y_mm() - 1000.0 * D7[k].1),
        0.0,
        1e-4,
        "middle y",
    );
}

#[test]
fn d7_the_books_own_list_has_the_odd_one_out() {
    let points: Vec<_> = D7
        .iter()
        .map(|(x, y, f)| (1000.0 * x, 1000.0 * y, *f))
        .collect();
    let distances: Vec<_> = d7_distances(1789.499)
        .iter()
        .map(|(a, b, d)| (*a, *b, 1000.0 * d, 1.0))
        .collect();
    let got = plain(&flat(&points, &distances));
    near(got.s0().unwrap(), 10.411, 6e-4, "s0");
    near(got.readings[23].off_by.mm(), -23.4, 0.06, "off by");
    near(got.readings[23].redundancy, 0.467, 6e-4, "redundancy");
    let suspects = got.suspects().unwrap();
    assert_eq!(suspects[0].reading, 23, "1059-75");
    near(suspects[0].tau.abs(), 3.291, 6e-4, "tau");
    // Tau of 27 readings at 5 % for the family: only one is over it.
    let family = tau_critical(1.0 - libm_root(0.95, 27.0), 14.0).unwrap();
    let over = (0..27)
        .filter(|k| got.tau(*k).unwrap().abs() > family)
        .count();
    assert_eq!(over, 1);
    assert!(got.chi_square.unwrap().too_high);
}

/// p to the 1/n.
fn libm_root(p: f64, n: f64) -> f64 {
    p.powf(1.0 / n)
}

#[test]
fn d12_two_arcs_and_three_balls() {
    // 3-4-5 triangles.
    assert_eq!(
        two_arcs(6.0, 5.0, 5.0, 0.0),
        Crossing::Two {
            along: 3.0,
            aside: 4.0
        }
    );
    assert_eq!(two_arcs(6.0, 2.0, 3.0, 0.0), Crossing::Apart { by: 1.0 });
    assert_eq!(
        two_arcs(5.0, 2.0, 3.0, 1e-9),
        Crossing::Touch { along: 2.0 }
    );
    assert_eq!(
        two_arcs(2.0, 5.0, 3.0, 1e-9),
        Crossing::Touch { along: 5.0 }
    );
    assert_eq!(two_arcs(1.0, 5.0, 3.0, 0.0), Crossing::Apart { by: 1.0 });
    let both = three_balls(
        [
            [1200.0, 900.0, 900.0],
            [900.0, 600.0, 900.0],
            [600.0, 900.0, 900.0],
        ],
        [500.0; 3],
    )
    .unwrap();
    for want in [[900.0, 900.0, 1300.0], [900.0, 900.0, 500.0]] {
        let found = both
            .iter()
            .any(|p| p.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-9));
        assert!(found, "{want:?} among {both:?}");
    }
}

#[test]
fn d12_as_a_start_from_readings() {
    let mm = Length::from_mm;
    let distances = [(0, 1, mm(600.0)), (0, 2, mm(500.0)), (1, 2, mm(500.0))];
    let place = |side| start_from_readings(&[None, None, side], &distances);
    assert_eq!(
        place(Some(Side::Left)).unwrap()[2],
        Point2::from_mm(300.0, 400.0)
    );
    assert_eq!(
        place(Some(Side::Right)).unwrap()[2],
        Point2::from_mm(300.0, -400.0)
    );
    assert_eq!(place(None), Err(StartError::EitherSide { mark: 2 }));
    let short = [(0, 1, mm(600.0)), (0, 2, mm(200.0)), (1, 2, mm(300.0))];
    assert_eq!(
        start_from_readings(&[None, None, Some(Side::Left)], &short),
        Err(StartError::ArcsMiss {
            mark: 2,
            about: (0, 1),
            by_mm: 100.0
        })
    );
    let few = [(0, 1, mm(600.0)), (0, 2, mm(200.0))];
    assert_eq!(
        start_from_readings(&[None, None, Some(Side::Left)], &few),
        Err(StartError::TooFew { mark: 2 })
    );
}

/// The shared checks, found by walking up from the clone.
pub(super) fn shared() -> Option<Value> {
    let mut here = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    loop {
        let file = here.join("shared/checks/checks.json");
        if let Ok(text) = std::fs::read_to_string(file) {
            return serde_json::from_str(&text).ok();
        }
        if !here.pop() {
            println!("skipped: shared data not here");
            return None;
        }
    }
}

#[test]
fn the_shared_rows_come_out_as_published() {
    let Some(all) = shared() else { return };
    for id in ["D1", "D3", "D4", "D5", "D7"] {
        let rows = all["rows"].as_array().unwrap();
        let data = &rows.iter().find(|r| r["id"] == id).unwrap()["data"];
        let names: Vec<&String> = data["points"].as_object().unwrap().keys().collect();
        let at = |name: &Value| {
            names
                .iter()
                .position(|n| *n == name.as_str().unwrap())
                .unwrap()
        };
        let points: Vec<_> = names
            .iter()
            .map(|n| {
                let p = &data["points"][n.as_str()];
                let xyz = &p["xyz"];
                let fixed = p["fixed"].as_bool().unwrap();
                (xyz[0].as_f64().unwrap(), xyz[1].as_f64().unwrap(), fixed)
            })
            .collect();
        let distances: Vec<_> = data["obs"]
            .as_array()
            .unwrap()
            .iter()
            .map(|o| (at(&o[0]), at(&o[1]), o[2].as_f64().unwrap()))
            .collect();
        let got = network(&points, &distances);
        for (name, place) in data["adjusted"].as_object().unwrap() {
            let p = got.points[names.iter().position(|n| *n == name).unwrap()].at;
            near(p.x_mm() / 1000.0, place[0].as_f64().unwrap(), 1e-4, id);
            near(p.y_mm() / 1000.0, place[1].as_f64().unwrap(), 1e-4, id);
        }
        for (k, r) in got.readings.iter().enumerate() {
            near(r.off_by.mm(), data["v_mm"][k].as_f64().unwrap(), 1e-3, id);
            near(
                r.redundancy,
                data["redundancy"][k].as_f64().unwrap(),
                1e-4,
                id,
            );
        }
        near(
            got.s0().unwrap(),
            data["sigma0_m"].as_f64().unwrap(),
            1e-7,
            id,
        );
    }
}
