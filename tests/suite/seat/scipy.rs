//! Random seats against scipy's `least_squares` (`reference/seat/make_seat.py`, which shares no
//! formula with the core).

use super::{as_drawn, close, mm, on_base, on_figure, way};
use samespot_core::frames::Vector3;
use samespot_core::seat::{Holds, Locator, Start, locate};
use serde_json::Value;

fn three(v: &Value) -> [f64; 3] {
    let a: Vec<f64> = v
        .as_array()
        .unwrap()
        .iter()
        .map(|x| x.as_f64().unwrap())
        .collect();
    [a[0], a[1], a[2]]
}

fn locator(v: &Value) -> Locator {
    let at = |key: &str| three(&v[key]);
    let number = |key: &str| mm(v[key].as_f64().unwrap());
    let turned = |p: [f64; 3]| Vector3::from_mm(p[0], p[1], p[2]);
    let holds = match v["kind"].as_str().unwrap() {
        "gap" => Holds::Gap {
            on: on_figure(at("f")),
            face: on_base(at("b")),
            normal: way(at("n")),
        },
        "along" => Holds::Along {
            on: on_figure(at("f")),
            from: on_base(at("b")),
            direction: way(at("n")),
        },
        "stop" => Holds::Stop {
            on: on_base(at("b")),
            face: on_figure(at("f")),
            normal: turned(at("n")),
        },
        "distance" => Holds::Distance {
            on: on_figure(at("f")),
            from: on_base(at("b")),
        },
        "level" => Holds::Level {
            one: on_figure(at("f")),
            other: on_figure(at("g")),
            up: way(at("n")),
        },
        "parallel" => Holds::Parallel {
            line: turned(at("g")),
            square_to: way(at("n")),
            over: number("over"),
        },
        other => panic!("{other}"),
    };
    Locator {
        name: v["kind"].to_string(),
        holds,
        reads: number("reads"),
        within: number("within"),
    }
}

#[test]
fn random_seats_agree_with_scipy() {
    let cases: Value =
        serde_json::from_str(include_str!("../../reference/seat/pose.json")).unwrap();
    let cases = cases.as_array().unwrap();
    assert_eq!(cases.len(), 60);
    for case in cases {
        let locators: Vec<Locator> = case["locators"]
            .as_array()
            .unwrap()
            .iter()
            .map(locator)
            .collect();
        // Readings at random hold some ways loosely: that is not what is looked at here.
        let mut start = Start::at(as_drawn());
        start.spread = mm(1e4);
        let outcome = locate(&locators, &start).unwrap();
        let seating = outcome.seated().unwrap_or_else(|| panic!("{outcome:?}"));
        let point = on_figure(three(&case["point"]));
        let (at, want) = (
            seating.base_from_figure.point(point).mm(),
            three(&case["at"]),
        );
        for k in 0..3 {
            close(at[k], want[k], 2e-5);
        }
        let sum: f64 = seating
            .off_by
            .iter()
            .zip(&locators)
            .map(|(v, l)| (v.mm() / l.within.mm()).powi(2))
            .sum();
        close(sum, case["sum"].as_f64().unwrap(), 1e-6);
        for (i, row) in case["moves"].as_array().unwrap().iter().enumerate() {
            let (d, want) = (seating.moves(i, point).mm(), three(row));
            for k in 0..3 {
                close(d[k], want[k], 1e-4 * (1.0 + want[k].abs()));
            }
        }
        let c = seating.covariance(point);
        for (i, row) in case["covariance"].as_array().unwrap().iter().enumerate() {
            for (k, want) in three(row).into_iter().enumerate() {
                close(c[i][k], want, 1e-4 * (1.0 + want.abs()));
            }
        }
    }
}
