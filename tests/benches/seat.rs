//! The seat of one piece, all pairs of a run, and the chance that bolts enter. Run by hand:
//! `cargo bench -p samespot-tests --bench seat --profile tool`.
//!
//! The least of many runs is printed: on a shared machine everything above it is somebody else's work.
#![allow(clippy::unwrap_used, reason = "a measurement that fails should stop")]

use samespot_core::frames::{Base, Figure, Flat, Point3, Rigid3, Vector2, Vector3};
use samespot_core::holes::chance::{Alike, Bracket, Budget, all_enter, enough};
use samespot_core::seat::{Fit, Holds, Locator, Start, assign, locate, pairing};
use samespot_core::units::Length;
use std::hint::black_box;
use std::time::{Duration, Instant};

fn least(runs: usize, mut work: impl FnMut()) -> Duration {
    (0..runs)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed()
        })
        .min()
        .unwrap()
}

fn locators(shift: f64) -> Vec<Locator> {
    let legs = [[-60.0, -45.0], [60.0, -45.0], [0.0, 75.0]];
    let stations = [[0.0, -130.0], [-112.0, 66.0], [112.0, 66.0]];
    let one = |at: [f64; 3], normal: [f64; 3], reads: f64| Locator {
        name: "a locator".into(),
        holds: Holds::Gap {
            on: Point3::<Figure>::from_mm(at[0], at[1], at[2]),
            face: Point3::<Base>::from_mm(at[0], at[1], at[2]),
            normal: Vector3::from_mm(normal[0], normal[1], normal[2]),
        },
        reads: Length::from_mm(reads),
        within: Length::from_mm(0.35),
    };
    let mut all: Vec<Locator> = stations
        .iter()
        .map(|[x, y]| one([*x, *y, 0.0], [0.0, 0.0, 1.0], 1.0 + shift + 0.01 * x))
        .collect();
    all.extend(
        legs.iter()
            .map(|[x, y]| one([*x, *y, 60.0], [*x / 240.0, *y / 240.0, 0.95], shift)),
    );
    all.push(one([90.0, 0.0, 0.0], [1.0, 0.0, 0.0], 0.4));
    all.push(one([0.0, 90.0, 0.0], [0.0, 1.0, 0.0], -0.3));
    all.push(one([0.0, -90.0, 0.0], [1.0, 0.0, 0.0], 0.2));
    all
}

fn main() {
    let start = Start::at(Rigid3::laid_on());
    let point = Point3::<Figure>::from_mm(10.0, -40.0, 640.0);
    let all = locators(2.0);
    let one = least(2000, || {
        let outcome = locate(black_box(&all), &start).unwrap();
        black_box(outcome.seating().covariance(point));
    });
    println!("place with covariance, {} locators: {one:?}", all.len());
    let many: Vec<Vec<Locator>> = (0..576).map(|k| locators(f64::from(k) * 0.004)).collect();
    let pairs = least(30, || {
        let fits: Vec<Vec<Option<Fit>>> = many
            .chunks(24)
            .map(|row| {
                row.iter()
                    .map(|l| {
                        let outcome = locate(l, &start).unwrap();
                        let shims = outcome.seating().off_by[3..6].to_vec();
                        Some(Fit::of(shims, Length::from_mm(2.0), Length::from_mm(6.0)))
                    })
                    .collect()
            })
            .collect();
        black_box(pairing(&fits, Length::ZERO, &[]));
    });
    println!("24 x 24 pairs, each placed, and the pairing: {pairs:?}");
    let mut seed = 1_u64;
    let costs: Vec<Vec<Option<i64>>> = (0..24)
        .map(|_| {
            (0..24)
                .map(|_| {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    i64::try_from(seed >> 52).ok()
                })
                .collect()
        })
        .collect();
    let alone = least(200, || {
        black_box(assign(black_box(&costs)));
    });
    println!("24 x 24 pairing alone: {alone:?}");
    let holes: Vec<Vector2<Flat>> = [(-60.0, -40.0), (60.0, -40.0), (60.0, 40.0), (-60.0, 40.0)]
        .map(|(x, y)| Vector2::from_mm(x, y))
        .to_vec();
    // Marks read to about 1 mm, M10 in coarse holes.
    let alike = Alike::of_pose(&holes, [0.4, 0.1, 0.4, 0.0, 0.0, 2.5e-5]);
    let budget = Budget {
        apart: Length::from_mm(1.0),
        one: Length::from_mm(1.0),
        other: Length::from_mm(0.3),
    };
    let nothing = Alike::default();
    for (what, alike, bracket) in [
        ("held, measured", &alike, Bracket::Stays),
        ("may move", &nothing, Bracket::MayMove),
    ] {
        let first = all_enter(&holes, budget, alike, bracket);
        let took = least(20, || {
            let again = all_enter(black_box(&holes), budget, alike, bracket);
            assert!(again.to_bits() == first.to_bits(), "another answer");
        });
        println!("chance that four bolts enter, {what}: {first:.4} in {took:?}");
    }
    let four_ways = least(20, || {
        let mm = Length::from_mm;
        black_box(enough(
            &holes,
            mm(1.0),
            mm(0.3),
            |_| Some(alike.clone()),
            0.95,
        ));
    });
    println!("the same by every method: {four_ways:?}");
}
