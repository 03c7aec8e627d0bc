//! Distances over the surface against a shortest path found by numbers alone.
//!
//! A chain of points is pulled tight on the surface: each is moved to the place of the surface
//! nearest the middle of its neighbours, which makes the sum of squared links least. The surfaces
//! are written here once more, from axis, slope and centre; nothing of the chart formulas is used.

use super::random::{cases, close, face_and_two};
use nalgebra::Vector3;
use proptest::prelude::*;
use samespot_core::frames::{Face, Point2};
use samespot_core::surface::{Axis, Shape, Surface};
use samespot_core::units::Length;

/// The nearest point of the surface.
fn onto(face: &Surface, x: Vector3<f64>) -> Vector3<f64> {
    match face {
        Surface::Flat(_) | Surface::Scan(_) => Vector3::new(0.0, x.y, x.z),
        Surface::TwoRadii(f) => {
            // In the half-plane through the axis the face is an arc about (across − up, 0).
            let (a, b) = (f.signed_across().mm(), f.signed_up().mm());
            let away = x.x.hypot(x.y) * a.signum();
            let k = b.abs() / (away - (a - b)).hypot(x.z);
            let there = (a - b) + (away - (a - b)) * k;
            Vector3::new(x.x * there / away, x.y * there / away, x.z * k)
        }
        Surface::Dome(d) => x.normalize() * d.radius().mm(),
        Surface::Cylinder(c) => {
            let r = c.radius().mm();
            match c.axis() {
                Axis::Up => {
                    let k = r / x.x.hypot(x.y);
                    Vector3::new(x.x * k, x.y * k, x.z)
                }
                Axis::Across => {
                    let k = r / x.x.hypot(x.z);
                    Vector3::new(x.x * k, x.y, x.z * k)
                }
            }
        }
        Surface::Cone(c) => {
            // In the half-plane through the axis the cone is a line from (r₀, 0) along (t, rise).
            let (r0, t) = (
                c.reference_radius().mm(),
                c.signed_taper() * c.bulge().sign(),
            );
            let rise = (1.0 - t * t).sqrt();
            let away = x.x.hypot(x.y);
            let along = (away - r0) * t + x.z * rise;
            let k = (r0 + along * t) / away;
            Vector3::new(x.x * k, x.y * k, along * rise)
        }
    }
}

fn pulled_tight(face: &Surface, start: &[Vector3<f64>]) -> f64 {
    let mut chain = start.to_vec();
    let n = chain.len() - 1;
    // Successive over-relaxation at the best rate for a straight chain of n links.
    let rate = 2.0 / (1.0 + (core::f64::consts::PI / n as f64).sin());
    for _ in 0..8 * n {
        for i in 1..n {
            let tight = onto(face, (chain[i - 1] + chain[i + 1]) / 2.0);
            chain[i] = onto(face, chain[i] + (tight - chain[i]) * rate);
        }
    }
    chain
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).norm())
        .sum()
}

proptest! {
    #![proptest_config(cases(120))]

    #[test]
    fn as_a_chain_pulled_tight((face, a, b) in face_and_two()) {
        prop_assume!(face.values()[0].abs() < 6000.0);
        let Ok(over) = face.over_surface(a, b, 0) else { return Ok(()) };
        prop_assume!(over.mm > 3.0);
        // Close to the tip or nearly half round it the chain needs ever more links.
        if let Surface::Cone(cone) = face {
            let turn = (b.x_mm() - a.x_mm()) / cone.reference_radius().mm();
            prop_assume!((turn * cone.signed_taper()).abs() < 1.8);
            let sharp = |p: Point2<Face>| cone.radius_at(Length::from_mm(p.y_mm())).unwrap().mm();
            prop_assume!(sharp(a).min(sharp(b)) > 0.15 * over.mm);
        }
        let length = |n: usize| {
            let chain: Vec<_> = (0..=n)
                .map(|i| face.jet(a.lerp(b, i as f64 / n as f64)).unwrap().at.mm())
                .collect();
            pulled_tight(&face, &chain)
        };
        // The error of n links goes as 1/n², then 1/n⁴: two extrapolations.
        let (l1, l2, l3) = (length(16), length(32), length(64));
        let (m1, m2) = (l2 + (l2 - l1) / 3.0, l3 + (l3 - l2) / 3.0);
        let best = m2 + (m2 - m1) / 15.0;
        // What the last extrapolation moved, as a measure of what is left; 1e-9 of rounding.
        let left = (best - m2).abs() * 0.2 + 1e-9 * best;
        close(&format!("{face:?} {a:?} {b:?}"), over.mm, best, left);
    }
}
