//! A client's marked-up picture by four places of it that are known. The camera here is a pinhole
//! turned by three angles, ray by ray: by no formula that the reader uses.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

#[path = "marked_picture/square_on.rs"]
mod square_on;

use samespot_core::read::marked_picture::{KnownPlace, MarkedError, MarkedPicture, Tap};
use samespot_core::read::photo::on_places;
use samespot_core::units::Length;

/// Where a camera sees a place of the plane, thousandths of the picture's width from its upper left.
fn seen(camera: [f64; 3], [x, y]: [f64; 2]) -> [f64; 2] {
    let [a, b, c] = camera.map(f64::to_radians);
    let (x, y, z) = (x - 200.0, y - 150.0, 0.0_f64);
    let (x, y) = (x * c.cos() - y * c.sin(), x * c.sin() + y * c.cos());
    let (x, z) = (x * b.cos() + z * b.sin(), z * b.cos() - x * b.sin());
    let (y, z) = (y * a.cos() - z * a.sin(), y * a.sin() + z * a.cos());
    let away = 900.0 + z;
    [500.0 + 1300.0 * x / away, 400.0 - 1300.0 * y / away]
}

const TILTED: [f64; 3] = [28.0, -17.0, 8.0];
const FOUR: [[f64; 2]; 4] = [[20.0, 15.0], [390.0, 40.0], [350.0, 280.0], [45.0, 260.0]];
const FIFTH: [f64; 2] = [210.0, 160.0];

fn tap(at: [f64; 2]) -> Tap {
    Tap { at, within: 2.0 }
}

fn known(name: &str, at_mm: [f64; 2]) -> KnownPlace {
    KnownPlace {
        name: format!("mark {name}"),
        at_mm,
        within_mm: 0.8,
        tap: tap(seen(TILTED, at_mm)),
    }
}

fn picture(line: &[[f64; 2]]) -> MarkedPicture {
    MarkedPicture {
        high: 800.0,
        known: ["A", "B", "C", "D"]
            .into_iter()
            .zip(FOUR)
            .map(|(n, p)| known(n, p))
            .collect(),
        fifth_needed: false,
        square_on: false,
        line: line.iter().map(|p| tap(seen(TILTED, *p))).collect(),
        smooth: false,
    }
}

const CROSS: [f64; 2] = [231.5, 122.25];

#[test]
fn a_cross_is_found_where_it_was_drawn_however_the_picture_is_taken() {
    for camera in [
        [0.0, 0.0, 0.0],
        TILTED,
        [-35.0, 22.0, 100.0],
        [10.0, 40.0, -170.0],
    ] {
        let mut all = picture(&[]);
        for place in &mut all.known {
            place.tap.at = seen(camera, place.at_mm);
        }
        all.line = vec![tap(seen(camera, CROSS))];
        let (came, outline) = on_places(&all).unwrap();
        let off = (came.middle_mm[0] - CROSS[0]).hypot(came.middle_mm[1] - CROSS[1]);
        assert!(off < 1e-6, "{camera:?}: {off}");
        assert!(outline.is_empty());
    }
}

#[test]
fn an_outline_comes_at_true_size_round_or_straight() {
    let square = [
        [180.0, 100.0],
        [260.0, 100.0],
        [260.0, 150.0],
        [180.0, 150.0],
    ];
    let (came, outline) = on_places(&picture(&square)).unwrap();
    assert!((came.across - 80.0).abs() < 1e-6 && (came.up - 50.0).abs() < 1e-6);
    assert!((outline.area_mm2().abs() - 4000.0).abs() < 1e-3);
    assert!((came.middle_mm[0] - 220.0).abs() < 1e-6 && (came.middle_mm[1] - 125.0).abs() < 1e-6);
    // Sixteen places on a circle of 30 mm, unevenly: the smooth curve keeps to it.
    let round: Vec<[f64; 2]> = (0..16)
        .map(|k| {
            let turn = f64::from(k) / 16.0 * std::f64::consts::TAU + 0.12 * f64::from(k % 3);
            [220.0 + 30.0 * turn.cos(), 130.0 + 30.0 * turn.sin()]
        })
        .collect();
    let mut all = picture(&round);
    all.smooth = true;
    let (_, outline) = on_places(&all).unwrap();
    let strays = outline
        .polylines(Length::from_mm(0.01))
        .iter()
        .flatten()
        .map(|p| p.x_mm().hypot(p.y_mm()))
        .fold(0.0_f64, f64::max);
    assert!((strays - 30.0).abs() < 0.9, "{strays}");
    assert!((outline.area_mm2().abs() / (std::f64::consts::PI * 900.0) - 1.0).abs() < 0.01);
}

/// What it promises is what happens: taps and places strewn 4000 times; 95 % of the crosses within
/// what is said, give or take what 4000 tell.
#[test]
fn what_is_said_of_a_cross_is_what_strewn_taps_do() {
    let all = picture(&[CROSS]);
    let (said, _) = on_places(&all).unwrap();
    let mut seed = 9_u64;
    let mut uniform = || {
        // Knuth, MMIX.
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    };
    // Box and Muller 1958.
    let mut strewn = |at: [f64; 2], within: f64| {
        let (r, t) = (
            (-2.0 * uniform().ln()).sqrt() * within / 2.4477,
            std::f64::consts::TAU * uniform(),
        );
        [at[0] + r * t.cos(), at[1] + r * t.sin()]
    };
    let n = 4000;
    let mut inside = 0;
    for _ in 0..n {
        let mut one = all.clone();
        for place in &mut one.known {
            place.at_mm = strewn(place.at_mm, place.within_mm);
            place.tap.at = strewn(place.tap.at, 2.0);
        }
        one.line[0].at = strewn(one.line[0].at, 2.0);
        let (came, _) = on_places(&one).unwrap();
        let off = (came.middle_mm[0] - CROSS[0]).hypot(came.middle_mm[1] - CROSS[1]);
        inside += usize::from(off <= said.middle_within);
    }
    let share = inside as f64 / f64::from(n);
    println!("said {:.2} mm, held {share:.3}", said.middle_within);
    // The radius is by the longer axis of the ellipse, so that a little more than 95 % lie in it.
    assert!((0.945..0.985).contains(&share), "{share}");
    // A finger that is surer makes it surer.
    let mut surer = all.clone();
    surer.line[0].within = 0.5;
    assert!(on_places(&surer).unwrap().0.middle_within < said.middle_within);
}

#[test]
fn a_fifth_place_proves_the_four() {
    let mut all = picture(&[CROSS]);
    all.known.push(known("E", FIFTH));
    let (came, _) = on_places(&all).unwrap();
    let [off, expected] = came.fifth.unwrap();
    assert!(
        off < 1e-6 && (0.5..4.0).contains(&expected),
        "{off} {expected}"
    );
    // Twelve millimetres proud of the plane: what is pictured is not flat.
    all.known[4].tap.at[0] += 25.0;
    let why = on_places(&all).unwrap_err();
    assert!(
        matches!(&why, MarkedError::Fifth { name, off, .. } if name == "mark E" && *off > 10.0),
        "{why}"
    );
    // Not flat, and no fifth.
    all.known.pop();
    all.fifth_needed = true;
    assert_eq!(on_places(&all).unwrap_err(), MarkedError::NeedsFifth);
}

#[test]
fn places_tapped_for_each_other_are_named() {
    for (a, b) in [(0, 1), (1, 2), (2, 3), (0, 3)] {
        let mut all = picture(&[CROSS]);
        let tap = all.known[a].tap;
        all.known[a].tap = all.known[b].tap;
        all.known[b].tap = tap;
        let why = on_places(&all).unwrap_err();
        let names = ["A", "B", "C", "D"].map(|n| format!("mark {n}"));
        assert_eq!(
            why,
            MarkedError::Swapped(names[a].clone(), names[b].clone())
        );
    }
    // Two opposite ones: the same as a mirror image.
    let mut all = picture(&[CROSS]);
    let tap = all.known[0].tap;
    all.known[0].tap = all.known[2].tap;
    all.known[2].tap = tap;
    assert_eq!(on_places(&all).unwrap_err(), MarkedError::Mirrored);
    // The fifth for one of the four.
    let mut all = picture(&[CROSS]);
    all.known.push(known("E", FIFTH));
    let tap = all.known[1].tap;
    all.known[1].tap = all.known[4].tap;
    all.known[4].tap = tap;
    let why = on_places(&all).unwrap_err();
    assert_eq!(why, MarkedError::Swapped("mark B".into(), "mark E".into()));
}

#[test]
fn what_would_come_out_wrong_is_refused_in_words() {
    let line = |k: usize, at: [f64; 2]| {
        let mut all = picture(&[CROSS]);
        all.known[k] = known("D", at);
        on_places(&all).unwrap_err()
    };
    assert!(matches!(line(3, [205.0, 29.0]), MarkedError::OnALine(..)));
    let mut few = picture(&[CROSS]);
    few.known.pop();
    assert_eq!(on_places(&few).unwrap_err(), MarkedError::TooFew(3));
    let mut out = picture(&[CROSS]);
    out.known[2].tap.at[0] = 1040.0;
    assert_eq!(
        on_places(&out).unwrap_err(),
        MarkedError::Outside("mark C".into())
    );
    let mut none = picture(&[CROSS]);
    none.known[1].at_mm[0] = f64::NAN;
    assert_eq!(on_places(&none).unwrap_err(), MarkedError::NoSize);
    assert_eq!(on_places(&picture(&[])).unwrap_err(), MarkedError::NoLine);
    assert_eq!(
        on_places(&picture(&[CROSS, FIFTH])).unwrap_err(),
        MarkedError::NoLine
    );
    let eight = [
        [180.0, 100.0],
        [260.0, 150.0],
        [260.0, 100.0],
        [180.0, 150.0],
    ];
    assert_eq!(
        on_places(&picture(&eight)).unwrap_err(),
        MarkedError::Crosses
    );
    // A sheet seen almost edge on, and something drawn above its horizon.
    let flat = [72.0, 0.0, 0.0];
    let mut all = picture(&[]);
    for place in &mut all.known {
        place.tap.at = seen(flat, place.at_mm);
    }
    all.line = vec![tap([500.0, 1.0])];
    let edge_on = on_places(&all);
    assert!(
        matches!(
            edge_on,
            Err(MarkedError::Horizon | MarkedError::OnALine(..))
        ),
        "{edge_on:?}"
    );
}
