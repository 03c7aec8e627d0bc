//! Random faces and points on them, near-degenerate ones among them, and how to compare.

use core::f64::consts::PI;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use samespot_core::frames::{Face, Point2};
use samespot_core::surface::{Axis, Bulge, Cone, Cylinder, Dome, FlatFace, Surface};
use samespot_core::units::Length;

pub(crate) fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

pub(crate) fn point(u: f64, v: f64) -> Point2<Face> {
    Point2::from_mm(u, v)
}

pub(crate) fn dome(radius: f64, bulge: Bulge) -> Surface {
    Surface::Dome(Dome::new(mm(radius), bulge).unwrap())
}

#[track_caller]
pub(crate) fn close(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!(
        (got - wanted).abs() <= tolerance,
        "{what}: got {got:.15e}, wanted {wanted:.15e} ± {tolerance:e}"
    );
}

/// The same cases on every machine and every run; nothing written beside the tests.
pub(crate) fn cases(count: u32) -> ProptestConfig {
    ProptestConfig {
        cases: count,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_250_117),
        max_global_rejects: 200_000,
        ..ProptestConfig::default()
    }
}

fn bulge() -> impl Strategy<Value = Bulge> {
    prop_oneof![Just(Bulge::Bulging), Just(Bulge::Hollow)]
}

fn radius() -> impl Strategy<Value = f64> {
    // 30 mm to 5 m evenly in ratio, and some as good as flat.
    prop_oneof![
        9 => (30f64.ln()..5_000f64.ln()).prop_map(f64::exp),
        1 => 20_000.0..90_000.0,
    ]
}

fn taper() -> impl Strategy<Value = f64> {
    prop_oneof![8 => -0.8..0.8, 1 => -1e-3..1e-3, 1 => -1e-9..1e-9, 1 => Just(0.0)]
}

/// Any face of any kind.
pub(crate) fn face() -> impl Strategy<Value = Surface> {
    prop_oneof![
        Just(Surface::Flat(FlatFace)),
        (
            radius(),
            bulge(),
            prop_oneof![Just(Axis::Up), Just(Axis::Across)]
        )
            .prop_map(|(r, b, a)| Surface::Cylinder(Cylinder::new(mm(r), a, b).unwrap())),
        (radius(), taper(), bulge())
            .prop_map(|(r, t, b)| Surface::Cone(Cone::new(mm(r), t, b).unwrap())),
        (radius(), bulge()).prop_map(|(r, b)| dome(r, b)),
    ]
}

/// A number in −1…1, often tiny or nothing.
fn share() -> impl Strategy<Value = f64> {
    prop_oneof![8 => -1.0..1.0, 1 => -1e-6..1e-6, 1 => Just(0.0)]
}

/// A place on a face from two shares: up to a patch of 2 m, at most 0.9 of the way round and, on
/// a cone, 0.95 of the way to the tip.
pub(crate) fn place(face: &Surface, (a, b): (f64, f64)) -> Point2<Face> {
    match face {
        Surface::Flat(_) | Surface::Scan(_) => point(a * 1000.0, b * 1000.0),
        Surface::Cylinder(c) => {
            let arc = (0.9 * PI * c.radius().mm()).min(1000.0);
            match c.axis() {
                Axis::Up => point(a * arc, b * 1000.0),
                Axis::Across => point(a * 1000.0, b * arc),
            }
        }
        Surface::Cone(c) => {
            let r = c.reference_radius().mm();
            let arc = (0.9 * PI * r).min(1000.0);
            let slant = c
                .slant_to_tip()
                .map_or(1000.0, |tip| (0.95 * tip.abs().mm()).min(1000.0));
            point(a * arc, b * slant)
        }
        Surface::TwoRadii(f) => {
            let reach = 0.5 * f.signed_across().mm().abs().min(f.signed_up().mm().abs());
            point(a * reach, b * reach)
        }
        Surface::Dome(d) => {
            // At most 70 degrees from the origin, so that no two are over 140 apart.
            let reach = (70f64.to_radians() * d.radius().mm()).min(1000.0);
            let (angle, away) = (a * PI, b * reach);
            point(away * angle.cos(), away * angle.sin())
        }
    }
}

/// A face and two places on it.
pub(crate) fn face_and_two() -> impl Strategy<Value = (Surface, Point2<Face>, Point2<Face>)> {
    let nearby = prop_oneof![3 => Just(false), 1 => Just(true)];
    (face(), (share(), share()), (share(), share()), nearby).prop_map(|(face, a, b, nearby)| {
        let from = place(&face, a);
        let to = place(&face, b);
        // A quarter of the pairs lie a few millimetres apart.
        let to = if nearby && from != to {
            let step = to - from;
            from + step * (2.0 / step.norm_mm().max(2.0))
        } else {
            to
        };
        (face, from, to)
    })
}
