//! 200 random networks on each face kind against scipy's `least_squares`
//! (`reference/networks/make_networks.py`, which shares no formula with the core).

use samespot_core::frames::Point2;
use samespot_core::readings::{
    CoordinateAxis, EdgeKind, EdgeStart, Held, Network, Options, PointStart, Precision, Reading,
    ReadingKind, SizeHeld, Status, Tape, TapeClass, adjust,
};
use samespot_core::surface::{Axis, Bulge, Cone, Cylinder, Dome, FlatFace, Surface};
use samespot_core::units::{Angle, Length};
use serde_json::Value;

fn mm(v: &Value) -> Length {
    Length::from_mm(v.as_f64().unwrap())
}

fn index(v: &Value) -> usize {
    usize::try_from(v.as_u64().unwrap()).unwrap()
}

fn list(v: &Value) -> &[Value] {
    v.as_array().unwrap()
}

fn held(v: &Value) -> Held {
    match v.as_str() {
        Some("free") => Held::Free,
        Some("fixed") => Held::Fixed,
        _ => Held::Prior { sd: mm(v) },
    }
}

fn surface(kind: &str, values: &[Value]) -> Surface {
    let value = |k: usize| values[k].as_f64().unwrap();
    let bulge = |v: f64| {
        if v < 0.0 {
            Bulge::Hollow
        } else {
            Bulge::Bulging
        }
    };
    match kind {
        "flat" => Surface::Flat(FlatFace),
        "cylinder" => Surface::Cylinder(
            Cylinder::new(Length::from_mm(value(0).abs()), Axis::Up, bulge(value(0))).unwrap(),
        ),
        "cone" => {
            let (r, b) = (value(0), bulge(value(0)));
            Surface::Cone(Cone::new(Length::from_mm(r.abs()), value(1) * r.signum(), b).unwrap())
        }
        _ => Surface::Dome(Dome::new(Length::from_mm(value(0).abs()), bulge(value(0))).unwrap()),
    }
}

fn reading(r: &Value) -> Reading {
    let at = |name: &str| index(&r[name]);
    let kind = match r["kind"].as_str().unwrap() {
        "straight" => ReadingKind::Straight {
            from: at("a"),
            to: at("b"),
        },
        "over" => ReadingKind::Over {
            from: at("a"),
            to: at("b"),
            turns: 0,
        },
        "square" => ReadingKind::Square {
            edge: at("a"),
            to: at("b"),
        },
        "u" => ReadingKind::Coordinate {
            point: at("a"),
            axis: CoordinateAxis::U,
        },
        "v" => ReadingKind::Coordinate {
            point: at("a"),
            axis: CoordinateAxis::V,
        },
        "girth" => ReadingKind::Girth { at_v: mm(&r["at"]) },
        _ => ReadingKind::Size { index: 0 },
    };
    let precision = if r["tape"].is_null() {
        Precision::Sd(mm(&r["sd"]))
    } else {
        Precision::Tape {
            tape: at("tape"),
            hooked: r["hook"].as_bool().unwrap(),
        }
    };
    Reading {
        kind,
        value: mm(&r["value"]),
        precision,
    }
}

fn network(kind: &str, n: &Value) -> Network {
    let mut out = Network::on(surface(kind, list(&n["values"])));
    for (k, s) in list(&n["sizes"]).iter().enumerate() {
        out.sizes[k] = match s.as_f64() {
            Some(sd) => SizeHeld::Prior { sd },
            None => SizeHeld::Free,
        };
    }
    let place = |v: &Value| Point2::new(mm(&v[0]), mm(&v[1]));
    out.points = list(&n["points"])
        .iter()
        .map(|p| PointStart {
            start: place(&p["start"]),
            held: held(&p["held"]),
        })
        .collect();
    out.edges = list(&n["edges"])
        .iter()
        .map(|e| EdgeStart {
            slope_sd: None,
            through: place(&e["through"]),
            along: Angle::from_rad(e["along"].as_f64().unwrap()),
            kind: match e["kind"].as_str().unwrap() {
                "moulded" => EdgeKind::Moulded,
                "trimmed" => EdgeKind::Trimmed,
                _ => EdgeKind::Straight,
            },
            held: held(&e["held"]),
        })
        .collect();
    out.tapes = list(&n["tapes"])
        .iter()
        .map(|t| {
            let mut tape = Tape::of_class(match t.as_str().unwrap() {
                "I" => TapeClass::I,
                "II" => TapeClass::II,
                _ => TapeClass::III,
            });
            // The script's girths are over 2 m, and its shop is at 20 °C.
            tape.warmth = Length::ZERO;
            tape
        })
        .collect();
    out.readings = list(&n["readings"]).iter().map(reading).collect();
    out
}

/// What scipy found, compared as the issue asks: places to 1e-6 mm, covariance to 1e-6 of the
/// standard deviations it belongs to.
#[track_caller]
fn check(kind: &str, text: &str) {
    let all: Value = serde_json::from_str(text).unwrap();
    assert_eq!(list(&all).len(), 200);
    let (mut worst_place, mut worst_share) = (0.0_f64, 0.0_f64);
    for (number, n) in list(&all).iter().enumerate() {
        let net = network(kind, n);
        let options = Options {
            drawing_spread: None,
            ..Options::default()
        };
        let got = adjust(&net, &options).unwrap_or_else(|e| panic!("{kind} {number}: {e}"));
        assert_eq!(got.status, Status::Converged, "{kind} {number}");
        assert_eq!(
            got.motions.len(),
            index(&n["motions"]),
            "{kind} {number}: motions"
        );
        let free: Vec<usize> = (0..net.points.len())
            .filter(|k| net.points[*k].held != Held::Fixed)
            .collect();
        let sizes: Vec<usize> = (0..list(&n["sizes"]).len()).collect();
        let mut x: Vec<f64> = free
            .iter()
            .flat_map(|k| [got.points[*k].at.x_mm(), got.points[*k].at.y_mm()])
            .collect();
        let values = samespot_core::surface::Shape::values(&got.surface);
        x.extend(sizes.iter().map(|k| values[*k]));
        for (a, b) in x.iter().zip(list(&n["x"])) {
            let off = (a - b.as_f64().unwrap()).abs();
            worst_place = worst_place.max(off);
            assert!(off < 1e-6, "{kind} {number}: {off} mm off");
        }
        let covariance = got.covariance(&free);
        let coupling = got.size_coupling(&free);
        let of_sizes = got.size_covariance();
        let marks = covariance.size();
        let q = |i: usize, j: usize| match (i < marks, j < marks) {
            (true, true) => covariance.get(i, j),
            (true, false) => coupling[i][j - marks],
            (false, true) => coupling[j][i - marks],
            (false, false) => of_sizes[i - marks][j - marks],
        };
        let mut at = 0;
        for i in 0..marks + sizes.len() {
            for j in 0..=i {
                let want = n["q"][at].as_f64().unwrap();
                let scale = (q(i, i) * q(j, j)).sqrt();
                let share = (q(i, j) - want).abs() / scale.max(1e-30);
                worst_share = worst_share.max(share);
                assert!(
                    share < 1e-6,
                    "{kind} {number}: ({i}, {j}) {} for {want}",
                    q(i, j)
                );
                at += 1;
            }
        }
        let sum = n["sum_of_squares"].as_f64().unwrap();
        if let Some(all) = got.chi_square {
            let (s0, freedom) = (all.s0, all.freedom as f64);
            assert!(
                (s0 * s0 * freedom - sum).abs() < 1e-7 * (1.0 + sum),
                "{kind} {number}: s0"
            );
        }
    }
    println!("{kind}: worst place {worst_place:.1e} mm, worst covariance {worst_share:.1e}");
}

#[test]
fn flat() {
    check("flat", include_str!("../../reference/networks/flat.json"));
}

#[test]
fn cylinder() {
    check(
        "cylinder",
        include_str!("../../reference/networks/cylinder.json"),
    );
}

#[test]
fn cone() {
    check("cone", include_str!("../../reference/networks/cone.json"));
}

#[test]
fn dome() {
    check("dome", include_str!("../../reference/networks/dome.json"));
}
