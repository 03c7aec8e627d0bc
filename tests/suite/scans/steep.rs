//! Scans of faces that turn far round, to 75° from how they face in the middle, rough as a scanner leaves
//! them.
//!
//! Outside values: a cylinder unrolled, great circles and the azimuthal equidistant map of a ball (Snyder
//! 1987, eqs 25-1 to 25-4), and for a ring Clairaut's ways as `Surface::TwoRadii` has them, which
//! `two_radii.rs` holds to closed forms and to values worked outside.

use super::*;
use samespot_tests::meshes::shaken;

/// What scanners leave, each way (issue 5: 0.08 mm on the heads).
const ROUGH_MM: f64 = 0.08;

/// Distances and places laid flat are right to this: a tenth of a millimetre, roughness included.
const WITHIN_MM: f64 = 0.1;

/// A patch of a surface given with its outward normal, shaken along it.
fn rough(
    across: (f64, f64),
    up: (f64, f64),
    cells: (u32, u32),
    rough_mm: f64,
    at: impl Fn(f64, f64) -> (V, V),
) -> Made {
    let mut seed = 0x00C0_FFEE_u64;
    patch(across, up, cells, |a, b| {
        let (p, n) = at(a, b);
        let by = rough_mm * shaken(&mut seed);
        [0, 1, 2].map(|k| p[k] + by * n[k])
    })
}

/// Every distance between marks, and where each lies in the polar map about the first, up to a turn.
/// `over` is no number where a way is longer than what is promised.
#[track_caller]
fn steep(
    name: &str,
    made: &Made,
    marks: &[V],
    over: impl Fn(usize, usize) -> f64,
    flat: impl Fn(usize) -> [f64; 2],
    within_mm: f64,
) {
    let scan = read(&made.stl()).unwrap();
    let fitted = fitted(&scan, marks, Some([1.0, 0.0, 0.0]), None);
    let surface = face(&fitted);
    let places: Vec<Point2<Face>> = fitted.marks.iter().map(|m| at(m.uv_mm)).collect();
    let mut off: f64 = 0.0;
    let mut count = 0;
    for i in 0..marks.len() {
        for j in 0..i {
            let true_mm = over(i, j);
            if true_mm.is_nan() {
                continue;
            }
            let d = surface.over_surface(places[i], places[j], 0).unwrap();
            off = off.max((d.mm - true_mm).abs());
            count += 1;
        }
    }
    let map = Development::new(&surface, places[0], Vector2::from_mm(0.0, 1.0)).unwrap();
    let laid: Vec<[f64; 2]> = places[1..]
        .iter()
        .map(|p| map.flat(*p).unwrap())
        .map(|q| [q.x_mm(), q.y_mm()])
        .collect();
    let wanted: Vec<[f64; 2]> = (1..marks.len()).map(flat).collect();
    let (mut c, mut s) = (0.0, 0.0);
    for (p, q) in laid.iter().zip(&wanted) {
        c += p[0] * q[0] + p[1] * q[1];
        s += p[0] * q[1] - p[1] * q[0];
    }
    let (sin, cos) = s.atan2(c).sin_cos();
    let aside = laid.iter().zip(&wanted).fold(0.0_f64, |worst, (p, q)| {
        let x = p[0] * cos - p[1] * sin - q[0];
        let y = p[0] * sin + p[1] * cos - q[1];
        worst.max(x.hypot(y))
    });
    eprintln!(
        "{name}: {count} ways {off:.4} mm off at worst, laid {aside:.4}; edges {:.2}, smoothed over {:.1}, moved {:.4} ({:.4}), base {:?}",
        fitted.edge_mm,
        fitted.patch.smoothed_over_mm,
        fitted.patch.moved_most_mm,
        fitted.patch.moved_rms_mm,
        fitted.patch.base
    );
    assert!(off < within_mm, "{name}: {off}");
    assert!(aside < within_mm, "{name}: laid {aside}");
}

/// Rough and smooth: what roughness adds is told apart from what the face itself leaves.
const BOTH: [(f64, f64); 2] = [(0.0, 0.02), (ROUGH_MM, WITHIN_MM)];

const FAR: f64 = 75.0 / 180.0 * std::f64::consts::PI;

#[test]
fn a_cylinder_far_round() {
    // Upright, and leaning 35° from plumb.
    for lean in [0.0, 35.0_f64.to_radians()] {
        let r = 120.0;
        let skew = |a: f64, b: f64| {
            let turned = |across: f64, along: f64| {
                [
                    across * lean.cos() - along * lean.sin(),
                    across * lean.sin() + along * lean.cos(),
                ]
            };
            let ([y, z], [ny, nz]) = (turned(r * a.sin(), r * b), turned(a.sin(), 0.0));
            ([r * a.cos(), y, z], [a.cos(), ny, nz])
        };
        let places = [
            [0.02, 0.03],
            [FAR, 0.4],
            [-FAR, 0.1],
            [0.9, -0.6],
            [-1.1, 0.55],
            [0.4, 0.7],
        ];
        for (rough_mm, within_mm) in BOTH {
            let made = rough((-1.5, 1.5), (-1.0, 1.0), (210, 150), rough_mm, skew);
            steep(
                "cylinder",
                &made,
                &places.map(|[a, b]| skew(a, b).0),
                |i, j| r * (places[i][0] - places[j][0]).hypot(places[i][1] - places[j][1]),
                |k| [0, 1].map(|c| r * (places[k][c] - places[0][c])),
                within_mm,
            );
        }
    }
}

#[test]
fn a_ball_far_round() {
    let r = 110.0;
    let ball = |a: f64, b: f64| {
        let n = [b.cos() * a.cos(), b.cos() * a.sin(), b.sin()];
        (n.map(|x| r * x), n)
    };
    // So far from the middle, in a direction.
    let toward = |far: f64, way: f64| {
        let (s, c) = far.sin_cos();
        [c * r, s * way.cos() * r, s * way.sin() * r]
    };
    let mut marks = vec![toward(0.0, 0.0)];
    marks.extend((0..8).map(|k| toward(FAR, 0.3 + f64::from(k) * std::f64::consts::FRAC_PI_4)));
    marks.extend((0..5).map(|k| toward(0.7, 0.1 + f64::from(k) * 1.25)));
    for (rough_mm, within_mm) in BOTH {
        let made = rough((-1.5, 1.5), (-1.5, 1.5), (220, 220), rough_mm, ball);
        let angle = |i: usize, j: usize| {
            let dot: f64 = (0..3).map(|k| marks[i][k] * marks[j][k]).sum();
            (dot / (r * r)).clamp(-1.0, 1.0).acos()
        };
        steep(
            "ball",
            &made,
            &marks,
            |i, j| {
                let far = angle(i, j);
                // Beyond 110° a ball's ways lie too near to each other to be told apart to a tenth.
                if far < 1.92 { r * far } else { f64::NAN }
            },
            |k| {
                let [x, y, z] = marks[k].map(|c| c / r);
                let far = x.acos();
                [far * r * y / far.sin(), far * r * z / far.sin()]
            },
            within_mm,
        );
    }
}

#[test]
fn a_ring_far_round() {
    // The tube of a fat ring, 75° both ways; and a waist, hollow up, 75° round and as far up as it goes.
    for (across, up, bulge, high) in [
        (190.0, 90.0, Bulge::Bulging, FAR),
        (130.0, 210.0, Bulge::Hollow, 0.45),
    ] {
        let signed = if bulge == Bulge::Bulging { up } else { -up };
        let ring = |a: f64, b: f64| {
            let rho: f64 = across + signed * (b.cos() - 1.0);
            let n = [
                b.cos() * a.cos(),
                b.cos() * a.sin(),
                signed.signum() * b.sin(),
            ];
            ([rho * a.cos(), rho * a.sin(), up * b.sin()], n)
        };
        let formula = Surface::TwoRadii(
            TwoRadii::new(
                (Length::from_mm(across), Bulge::Bulging),
                (Length::from_mm(up), bulge),
            )
            .unwrap(),
        );
        let places = [
            [0.02, 0.03],
            [FAR, 0.1],
            [-FAR, -0.2],
            [0.2, high],
            [-0.4, -high],
            [0.7, 0.7 * high],
            [-0.8, 0.6 * high],
        ];
        let chart = |[a, b]: [f64; 2]| Point2::<Face>::from_mm(across * a, up * b);
        let map = Development::new(&formula, chart(places[0]), Vector2::from_mm(0.0, 1.0)).unwrap();
        for (rough_mm, within_mm) in BOTH {
            let wide = (high + 0.18).min(1.5);
            let made = rough((-1.5, 1.5), (-wide, wide), (240, 150), rough_mm, ring);
            steep(
                "ring",
                &made,
                &places.map(|[a, b]| ring(a, b).0),
                |i, j| {
                    formula
                        .over_surface(chart(places[i]), chart(places[j]), 0)
                        .map_or(f64::NAN, |d| d.mm)
                },
                |k| {
                    let q = map.flat(chart(places[k])).unwrap();
                    [q.x_mm(), q.y_mm()]
                },
                within_mm,
            );
        }
    }
}

/// A patch of one cell at no height, as a program of before kept it; changed.
fn kept(
    change: &dyn Fn(&mut serde_json::Value),
) -> Result<samespot_core::surface::scan::Patch, String> {
    let mut patch = serde_json::json!({
        "spacing-mm": 10.0, "corner-mm": [-5.0, -5.0], "cells": [1, 1], "weights": vec![0.0; 16],
        "covered": "x", "smoothed-over-mm": 8.0, "moved-rms-mm": 0.0, "moved-most-mm": 0.0,
    });
    change(&mut patch);
    let bytes = serde_json::to_vec(&patch).unwrap();
    samespot_core::surface::scan::Patch::read(&bytes).map_err(|e| e.to_string())
}

#[test]
fn a_patch_kept_before_opens_as_it_was_and_one_on_a_bent_base_is_not_taken_for_it() {
    let before = kept(&|_| {}).unwrap();
    assert!(before.base.is_plane());
    for (got, wanted) in before.place_mm(3.0, -2.0).iter().zip([0.0, 3.0, -2.0]) {
        assert!((got - wanted).abs() < 1e-12, "{got} and {wanted}");
    }
    // Written again, it is as programs of before read it.
    assert!(!serde_json::to_string(&before).unwrap().contains("base"));
    let bent = |round: [f64; 2], covered: &'static str| {
        kept(&move |p| {
            p["base"] = serde_json::json!({ "along": [1.0, 0.0], "round": round });
            p["covered"] = covered.into();
        })
    };
    // A quarter of the way round a cylinder of 4 mm: 4·π/2 along it is 4 across and 4 deep.
    let post = bent([0.25, 0.0], "o").unwrap();
    let quarter = 4.0 * std::f64::consts::FRAC_PI_2;
    let at = post.place_mm(quarter, 1.0);
    for (got, wanted) in at.iter().zip([-4.0, 4.0, 1.0]) {
        assert!((got - wanted).abs() < 1e-12, "{at:?}");
    }
    // Programs that know no base look for `x`: they refuse it instead of laying a flat face.
    assert!(bent([0.25, 0.0], "x").is_err());
    assert!(bent([f64::MAX, 0.0], "o").is_err());
    // The inside of a ring thinner than its hole is none.
    assert!(
        kept(&|p| {
            p["base"] = serde_json::json!({ "along": [1.0, 0.0], "round": [0.25, 0.0] });
            p["covered"] = "o".into();
            p["weights"] = vec![-4.0; 16].into();
        })
        .is_err()
    );
}
