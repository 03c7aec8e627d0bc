//! Against handbooks and closed forms (`shared/checks`, H).

use super::{as_drawn, close, gap, locator, mm, on_base, on_figure, stop, way};
use samespot_core::seat::{Holds, Locator, LocatorFault, Outcome, Start, locate};

fn along(name: &str, p: [f64; 3], direction: [f64; 3]) -> Locator {
    let holds = Holds::Along {
        on: on_figure(p),
        from: on_base(p),
        direction: way(direction),
    };
    locator(name, holds, 0.0)
}

/// Level in both ways and square to the view: what the two slopes of a vee or ridge leave open.
fn upright() -> Vec<Locator> {
    let level = |name: &str, one, other, up| {
        let holds = Holds::Level {
            one: on_figure(one),
            other: on_figure(other),
            up: way(up),
        };
        locator(name, holds, 0.0)
    };
    let (o, x, y) = ([0.0; 3], [100.0, 0.0, 0.0], [0.0, 100.0, 0.0]);
    vec![
        level("level from side to side", o, x, [0.0, 0.0, 1.0]),
        level("level from front to back", o, y, [0.0, 0.0, 1.0]),
        level("square", o, y, [1.0, 0.0, 0.0]),
        along("end stop", o, [0.0, 1.0, 0.0]),
    ]
}

/// H1, Machinery's Handbook (vee block): a pin of radius r in a vee of half-angle a lies with its
/// centre r / sin a above the vertex.
#[test]
fn pin_in_a_vee() {
    for (included, centre) in [
        (60.0_f64, 2.0),
        (90.0, core::f64::consts::SQRT_2),
        (120.0, 1.154_700_538_4),
    ] {
        let (s, c) = (included.to_radians() / 2.0).sin_cos();
        let r = 20.0;
        let mut all = upright();
        for side in [1.0, -1.0] {
            let n = [-side * c, 0.0, s];
            all.push(gap("flank", [0.0; 3], [0.0; 3], n, r));
        }
        let outcome = locate(&all, &Start::at(as_drawn())).unwrap();
        let at = outcome
            .seated()
            .unwrap()
            .base_from_figure
            .point(on_figure([0.0; 3]))
            .mm();
        close(at.z, r * centre, 1e-8);
        close(at.x, 0.0, 1e-9);
        close(at.z + r, r * (centre + 1.0), 1e-8);
    }
}

/// H3, Machinery's Handbook (measuring dovetail slides): a pin of diameter D in a corner of angle α
/// reaches D/2·(1 + cot(α/2)) from the corner; two of them D·(1 + cot(α/2)).
#[test]
fn pin_in_a_dovetail_corner() {
    for (angle, diameter, both) in [
        (60.0_f64, 0.5, 1.366_025),
        (90.0, 20.0, 40.0),
        (55.0, 12.0, 35.051_79),
    ] {
        let (s, c) = angle.to_radians().sin_cos();
        let r = diameter / 2.0;
        let mut all = upright();
        // The floor, and the flank over it.
        all.push(gap("floor", [0.0; 3], [0.0; 3], [0.0, 0.0, 1.0], r));
        all.push(gap("flank", [0.0; 3], [0.0; 3], [s, 0.0, -c], r));
        let outcome = locate(&all, &Start::at(as_drawn())).unwrap();
        let seated = outcome.seated().unwrap();
        let at = seated.base_from_figure.point(on_figure([0.0; 3])).mm();
        close(2.0 * (at.x + r), both, 1e-5);
    }
}

fn astride(half_angle: f64, beds: [f64; 2]) -> nalgebra::Vector3<f64> {
    let (s, c) = half_angle.to_radians().sin_cos();
    let mut all = upright();
    for (side, bed) in [(1.0, beds[0]), (-1.0, beds[1])] {
        // A foot on each slope, 80 mm down from the ridge.
        let foot = [side * 80.0 * s, 0.0, -80.0 * c];
        all.push(gap("slope", foot, [0.0; 3], [side * c, 0.0, s], bed));
    }
    let outcome = locate(&all, &Start::at(as_drawn())).unwrap();
    let seating = outcome.seated().unwrap();
    seating.base_from_figure.point(on_figure([0.0; 3])).mm()
}

/// H4: bed t on both slopes of half-angle a lifts t / sin a; unequal beds also shift.
#[test]
fn part_astride_a_ridge() {
    let even = astride(50.0, [3.0, 3.0]);
    close(even.z, 3.916_222, 1e-6);
    close(even.x, 0.0, 1e-9);
    let uneven = astride(50.0, [3.0, 5.0]);
    close(uneven.z, 5.221_629, 1e-6);
    // Toward the thinner side, here the right one.
    close(uneven.x, -1.555_724, 1e-6);
}

const H5: [([f64; 3], [f64; 3], f64); 6] = [
    ([0.0, 0.0, 0.0], [0.0, 0.0, 1.0], 0.1),
    ([200.0, 0.0, 0.0], [0.0, 0.0, 1.0], 0.0),
    ([100.0, 150.0, 0.0], [0.0, 0.0, 1.0], 0.0),
    ([30.0, 0.0, 40.0], [0.0, 1.0, 0.0], 0.0),
    ([170.0, 0.0, 40.0], [0.0, 1.0, 0.0], 0.2),
    ([0.0, 75.0, 40.0], [1.0, 0.0, 0.0], -0.1),
];

fn six_stops(errors: bool) -> Vec<Locator> {
    let name = |i: usize| format!("stop {}", i + 1);
    let one = |(i, (p, n, e)): (usize, &([f64; 3], [f64; 3], f64))| {
        stop(&name(i), *p, *n, if errors { *e } else { 0.0 })
    };
    H5.iter().enumerate().map(one).collect()
}

/// H5 (method: Cai, Hu & Yuan 1997): what each of six stops moves at a place 500 mm up.
#[test]
fn six_stops_move_a_feature() {
    let outcome = locate(&six_stops(false), &Start::at(as_drawn())).unwrap();
    let seating = outcome.seated().unwrap();
    let feature = on_figure([100.0, 75.0, 500.0]);
    let want = [
        [2.3, -2.3, 0.0, 0.0, 0.0, 1.0],
        [1.533_333_333, 1.533_333_333, -3.066_666_667, 0.5, 0.5, 0.0],
        [0.25, 0.25, 0.5, 0.0, 0.0, 0.0],
    ];
    let mut shift = nalgebra::Vector3::zeros();
    let mut turn = nalgebra::Vector3::zeros();
    for (i, (.., error)) in H5.iter().enumerate() {
        let d = seating.moves(i, feature).mm();
        for k in 0..3 {
            close(d[k], want[k][i], 1e-8);
        }
        shift += d * *error;
        turn += seating.twist(i).1.mm() * *error;
    }
    for (k, want) in [0.13, 0.253_333_333, 0.025].into_iter().enumerate() {
        close(shift[k], want, 1e-8);
    }
    for (k, want) in [-0.000_333_333_333, 0.000_5, 0.001_428_571_43]
        .into_iter()
        .enumerate()
    {
        close(turn[k], want, 1e-10);
    }
    // Each stop read to 1 mm: the root sum of squares of its row.
    let c = seating.covariance(feature);
    for (k, want) in [3.402_94, 3.821_87, 0.612_37].into_iter().enumerate() {
        close(c[k][k].sqrt(), want, 1e-5);
    }
}

/// H5's exact twin: the stops really moved, the contact solved without small angles.
#[test]
fn six_stops_exactly() {
    let outcome = locate(&six_stops(true), &Start::at(as_drawn())).unwrap();
    let seating = outcome.seated().unwrap();
    let feature = on_figure([100.0, 75.0, 500.0]);
    let shift = (seating.base_from_figure.point(feature) - on_base([100.0, 75.0, 500.0])).mm();
    for (k, want) in [0.129_984, 0.253_279, 0.024_941].into_iter().enumerate() {
        close(shift[k], want, 1e-6);
    }
    assert!(seating.off_by.iter().all(|v| v.mm().abs() < 1e-9));
}

/// H6 (Asada & By 1985): two stops on one line, or three on a line, leave it free; it is said how.
#[test]
fn stops_that_leave_it_free_are_refused() {
    let free = |all: &[Locator]| match locate(all, &Start::at(as_drawn())).unwrap() {
        Outcome::NotHeld { seating, free } => {
            assert_eq!(seating.held(), 5);
            free.iter().map(ToString::to_string).collect::<Vec<_>>()
        }
        other => panic!("held: {other:?}"),
    };
    let mut same = six_stops(false);
    same[4] = stop("stop 5", [30.0, 0.0, 90.0], [0.0, 1.0, 0.0], 0.0);
    // Five of six hold: the pair over one another also holds what the floor holds.
    assert_eq!(free(&same), ["free to turn about a line up and down"]);
    let mut line = six_stops(false);
    line[2] = stop("stop 3", [100.0, 0.0, 0.0], [0.0, 0.0, 1.0], 0.0);
    assert_eq!(free(&line).len(), 1);
    assert!(
        free(&line)[0].starts_with("free to turn about a line"),
        "{:?}",
        free(&line)
    );
}

/// Astride a ridge without an end stop it slides along it; named by the job, not by an axis.
#[test]
fn what_is_free_has_a_name() {
    let mut start = Start::at(as_drawn());
    start
        .names
        .directions
        .insert(0, ("along the ridge".into(), way([0.02, 1.0, 0.0])));
    let mut all = upright();
    all.remove(3);
    for side in [1.0, -1.0] {
        all.push(gap(
            "slope",
            [side * 50.0, 0.0, -40.0],
            [0.0; 3],
            [side * 0.6, 0.0, 0.8],
            3.0,
        ));
    }
    match locate(&all, &start).unwrap() {
        Outcome::NotHeld { free, .. } => {
            let words: Vec<String> = free.iter().map(ToString::to_string).collect();
            assert_eq!(words, ["free to slide along the ridge"]);
        }
        other => panic!("held: {other:?}"),
    }
    // Three pads alone: a slide each way on the level and a turn.
    let pads: Vec<Locator> = [[0.0, 60.0], [-50.0, -40.0], [50.0, -40.0]]
        .into_iter()
        .map(|[x, y]| gap("pad", [x, y, 0.0], [x, y, 0.0], [0.0, 0.0, 1.0], 4.0))
        .collect();
    match locate(&pads, &Start::at(as_drawn())).unwrap() {
        Outcome::NotHeld { seating, free } => {
            let words: Vec<String> = free.iter().map(ToString::to_string).collect();
            let want = [
                "free to slide from side to side",
                "free to slide from front to back",
                "free to turn about a line up and down",
            ];
            assert_eq!(words, want);
            // As far as it is held it is right: 4 mm up.
            close(
                seating.base_from_figure.point(on_figure([0.0; 3])).mm().z,
                4.0,
                1e-9,
            );
        }
        other => panic!("held: {other:?}"),
    }
}

/// A pin through two holes leaves a turn about the pin, through both.
#[test]
fn a_turn_names_the_points_on_its_line() {
    let mut start = Start::at(as_drawn());
    start.names.points = vec![
        ("P1".into(), on_base([0.0, -100.0, 20.0])),
        ("P2".into(), on_base([0.0, 100.0, 20.0])),
        ("P3".into(), on_base([90.0, 0.0, 0.0])),
    ];
    let mut all = Vec::new();
    for y in [-100.0, 100.0] {
        for direction in [[1.0, 0.0, 0.0], [0.0, 0.0, 1.0]] {
            all.push(along("pin", [0.0, y, 20.0], direction));
        }
    }
    all.push(along("shoulder", [0.0, -100.0, 20.0], [0.0, 1.0, 0.0]));
    match locate(&all, &start).unwrap() {
        Outcome::NotHeld { free, .. } => assert_eq!(
            free[0].to_string(),
            "free to turn about a line from front to back through P1 and P2"
        ),
        other => panic!("held: {other:?}"),
    }
}

/// A locator that contradicts the others is named; with the least of checks two could be it.
#[test]
fn contradicting_locators_are_named() {
    let mut all = six_stops(false);
    all.push(stop("stop 7", [100.0, 50.0, 0.0], [0.0, 0.0, 1.0], 0.0));
    all.push(stop("stop 8", [20.0, 140.0, 0.0], [0.0, 0.0, 1.0], 0.0));
    all.iter_mut().for_each(|l| l.within = mm(0.3));
    let contradict = |all: &[Locator]| {
        locate(all, &Start::at(as_drawn()))
            .unwrap()
            .seating()
            .contradict
            .clone()
    };
    assert!(contradict(&all).is_empty());
    all[7].reads = mm(8.0);
    assert_eq!(contradict(&all)[0], 7);
    // One check too many only: any of the four on the floor could be wrong.
    all.remove(6);
    assert!(contradict(&all).len() >= 4, "{:?}", contradict(&all));
}

/// Distances that can't meet: the two ends of a rod 100 mm long can't be 400 mm apart.
#[test]
fn what_cannot_be_met_is_not_called_seated() {
    let far = |name: &str, on: [f64; 3], from: [f64; 3], reads: f64| {
        let holds = Holds::Distance {
            on: on_figure(on),
            from: on_base(from),
        };
        locator(name, holds, reads)
    };
    let mut start = Start::at(as_drawn());
    start.most_steps = 1;
    let all: Vec<Locator> = (0..6)
        .map(|i| {
            let a = f64::from(i);
            far(
                "d",
                [a.cos() * 50.0, a.sin() * 70.0, a * 9.0],
                [a.sin() * 200.0, 90.0 * a.cos(), -150.0],
                260.0 + 9.0 * a,
            )
        })
        .collect();
    assert!(matches!(locate(&all, &start).unwrap(), Outcome::GaveUp(_)));
    let close_by = far("spike", [0.0; 3], [0.0, 0.0, 0.5], 3.0);
    assert_eq!(
        locate(&[close_by], &start).unwrap_err(),
        LocatorFault::TooClose {
            name: "spike".into()
        }
    );
    assert_eq!(locate(&[], &start).unwrap_err(), LocatorFault::Nothing);
    let mut vague = gap("pad", [0.0; 3], [0.0; 3], [0.0, 0.0, 1.0], 1.0);
    vague.within = mm(0.0);
    assert!(locate(&[vague], &start).is_err());
    let nowhere = gap("pad", [0.0; 3], [0.0; 3], [0.0; 3], 1.0);
    assert_eq!(
        locate(&[nowhere], &start).unwrap_err(),
        LocatorFault::NoDirection { name: "pad".into() }
    );
}
