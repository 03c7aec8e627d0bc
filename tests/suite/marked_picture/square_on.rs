//! Fewer than four places, of a picture that is said to be taken square on.

use super::{CROSS, FIFTH, FOUR, TILTED, known, picture, tap};
use samespot_core::read::marked_picture::{MarkedError, MarkedPicture};
use samespot_core::read::photo::on_places;

/// A phone's main camera, which sees 70° across: as wide as 1.4 times how far it is away.
fn seen(camera: [f64; 3], [x, y]: [f64; 2]) -> [f64; 2] {
    let [a, b, c] = camera.map(f64::to_radians);
    let (x, y, z) = (x - 200.0, y - 150.0, 0.0_f64);
    let (x, y) = (x * c.cos() - y * c.sin(), x * c.sin() + y * c.cos());
    let (x, z) = (x * b.cos() + z * b.sin(), z * b.cos() - x * b.sin());
    let (y, z) = (y * a.cos() - z * a.sin(), y * a.sin() + z * a.cos());
    let away = 450.0 + z;
    [500.0 + 714.0 * x / away, 400.0 - 714.0 * y / away]
}

fn by(n: usize, camera: [f64; 3]) -> MarkedPicture {
    let mut all = picture(&[CROSS]);
    all.square_on = true;
    all.known.truncate(n);
    for place in &mut all.known {
        place.tap.at = seen(camera, place.at_mm);
    }
    all.line = vec![tap(seen(camera, CROSS))];
    all
}

#[test]
fn two_or_three_places_do_where_the_picture_was_taken_square_on() {
    for n in [2, 3] {
        for roll in [0.0, 33.0, -140.0] {
            let (came, _) = on_places(&by(n, [0.0, 0.0, roll])).unwrap();
            let off = (came.middle_mm[0] - CROSS[0]).hypot(came.middle_mm[1] - CROSS[1]);
            assert!(off < 1e-6, "{n} {roll}: {off}");
            assert_eq!((came.square_on, came.fifth), (Some(n), None));
        }
    }
    // Three are surer than two; four need not be square on.
    let said = |n: usize| on_places(&by(n, [0.0; 3])).unwrap().0.middle_within;
    assert!(said(2) > said(3), "{} {}", said(2), said(3));
    let four = on_places(&by(4, [0.0; 3])).unwrap().0;
    assert_eq!(four.square_on, None);
}

/// What it promises is what happens: places, taps and how square on the camera is, strewn.
#[test]
fn what_is_said_holds_for_a_camera_held_by_eye() {
    let mut seed = 11_u64;
    let mut uniform = || {
        // Knuth, MMIX.
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((seed >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    };
    // Box and Muller 1958: 95 % within.
    let mut strewn = |within: f64| {
        let (r, t) = (
            (-2.0 * uniform().ln()).sqrt() * within / 2.4477,
            std::f64::consts::TAU * uniform(),
        );
        [r * t.cos(), r * t.sin()]
    };
    for n in [2, 3] {
        let (rounds, mut inside, mut refused) = (3000, 0, 0);
        for _ in 0..rounds {
            let [back, aside] = strewn(3.0);
            let mut all = by(n, [back, aside, 12.0]);
            for place in &mut all.known {
                let (at, off) = (strewn(place.within_mm), strewn(2.0));
                for (stands, by) in place.at_mm.iter_mut().zip(at) {
                    *stands += by;
                }
                for (stands, by) in place.tap.at.iter_mut().zip(off) {
                    *stands += by;
                }
            }
            let off = strewn(2.0);
            for (at, off) in all.line[0].at.iter_mut().zip(off) {
                *at += off;
            }
            // Three that fit far worse than they should are sent back, now and then one of these.
            let came = match on_places(&all) {
                Ok((came, _)) => came,
                Err(MarkedError::NotSquareOn { .. }) => {
                    refused += 1;
                    continue;
                }
                Err(other) => panic!("{other}"),
            };
            let off = (came.middle_mm[0] - CROSS[0]).hypot(came.middle_mm[1] - CROSS[1]);
            inside += usize::from(off <= came.middle_within);
        }
        let share = inside as f64 / f64::from(rounds);
        assert!(refused * 500 < rounds, "{n}: {refused} sent back");
        println!("by {n}: held {share:.3}");
        assert!(share >= 0.945, "{n}: {share}");
    }
}

#[test]
fn what_was_not_square_on_or_says_too_little_is_refused_in_words() {
    // Held as four places would take it: three tell that it was not square on.
    let why = on_places(&by(3, TILTED)).unwrap_err();
    assert!(matches!(why, MarkedError::NotSquareOn { .. }), "{why}");
    assert!(why.to_string().contains("Four places"), "{why}");
    // Unsaid, three are too few; one always is.
    let mut unsaid = by(3, [0.0; 3]);
    unsaid.square_on = false;
    let why = on_places(&unsaid).unwrap_err();
    assert_eq!(why, MarkedError::TooFew(3));
    assert!(why.to_string().contains("square on"), "{why}");
    assert_eq!(
        on_places(&by(1, [0.0; 3])).unwrap_err(),
        MarkedError::TooFew(1)
    );
    // Two tapped for each other are seen in three; a round face needs its fifth.
    let mut swapped = by(3, [0.0; 3]);
    let first = swapped.known[0].tap;
    swapped.known[0].tap = swapped.known[1].tap;
    swapped.known[1].tap = first;
    assert_eq!(on_places(&swapped).unwrap_err(), MarkedError::Mirrored);
    let mut round = by(3, [0.0; 3]);
    round.fifth_needed = true;
    assert_eq!(on_places(&round).unwrap_err(), MarkedError::NeedsFifth);
    let mut near = by(2, [0.0; 3]);
    near.known[1].tap.at = near.known[0].tap.at.map(|v| v + 3.0);
    assert!(matches!(
        on_places(&near).unwrap_err(),
        MarkedError::TooNear(..)
    ));
    // Far away from two places near each other nothing is known.
    let mut far = by(2, [0.0; 3]);
    far.known[0] = known("A", FIFTH);
    far.known[1] = known("B", [FIFTH[0] + 30.0, FIFTH[1]]);
    for place in &mut far.known {
        place.tap.at = seen([0.0; 3], place.at_mm);
    }
    far.line = vec![tap(seen([0.0; 3], FOUR[1]))];
    assert_eq!(on_places(&far).unwrap_err(), MarkedError::Horizon);
}
