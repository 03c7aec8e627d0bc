//! Laws any adjustment obeys, on seeded networks of every face kind.

use samespot_core::frames::{Face, Point2, Vector2};
use samespot_core::readings::{
    Adjusted, Held, Motion, Network, PointStart, Precision, Reading, ReadingKind, SizeHeld, Tape,
    adjust,
};
use samespot_core::surface::{
    Axis, Bulge, Cone, Cylinder, Dome, FlatFace, Shape, Surface, TwoRadii,
};
use samespot_core::units::Length;

/// splitmix64 (Steele, Lea & Flood 2014): the same networks on every machine.
struct Seeded(u64);

impl Seeded {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (z ^ (z >> 31)) as f64 / u64::MAX as f64
    }
    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

fn faces() -> Vec<Surface> {
    let mm = Length::from_mm;
    vec![
        Surface::Flat(FlatFace),
        Surface::Cylinder(Cylinder::new(mm(260.0), Axis::Up, Bulge::Bulging).unwrap()),
        Surface::Cylinder(Cylinder::new(mm(300.0), Axis::Across, Bulge::Hollow).unwrap()),
        Surface::Cone(Cone::new(mm(320.0), -0.25, Bulge::Bulging).unwrap()),
        Surface::Dome(Dome::new(mm(240.0), Bulge::Bulging).unwrap()),
    ]
}

/// Two radii, negative where hollow.
fn two_radii(across: f64, up: f64) -> Surface {
    let way = |r: f64| {
        let bulge = if r < 0.0 {
            Bulge::Hollow
        } else {
            Bulge::Bulging
        };
        (Length::from_mm(r.abs()), bulge)
    };
    Surface::TwoRadii(TwoRadii::new(way(across), way(up)).unwrap())
}

/// Both radii unknown and started a tenth off: exact distances, laid over and straight, find them and
/// every mark again.
#[test]
fn two_unknown_radii_are_found_from_distances_alone() {
    for (across, up) in [
        (320.0, 240.0),
        (180.0, 400.0),
        (300.0, -420.0),
        (-500.0, -260.0),
    ] {
        let truth = two_radii(across, up);
        let mut net = network(truth.clone(), &mut Seeded(3));
        let places: Vec<_> = net.points.iter().map(|p| p.start).collect();
        for reading in &mut net.readings {
            let d = match reading.kind {
                ReadingKind::Straight { from, to } => truth.straight(places[from], places[to]),
                ReadingKind::Over { from, to, .. } => {
                    truth.over_surface(places[from], places[to], 0)
                }
                _ => unreachable!("only distances here"),
            };
            reading.value = Length::from_mm(d.unwrap().mm);
        }
        net.sizes[0] = SizeHeld::Free;
        net.sizes[1] = SizeHeld::Free;
        net.surface = two_radii(1.1 * across, 0.9 * up);
        let mut random = Seeded(5);
        for p in &mut net.points {
            p.start = p.start + Vector2::from_mm(random.within(-3., 3.), random.within(-3., 3.));
        }
        let got = solved(&net);
        // The turn about its axis is free, and nothing else.
        assert_eq!(got.motions.len(), 1);
        let values = got.surface.values();
        assert!(
            (values[0] / across - 1.0).abs() < 1e-6,
            "{values:?} for {across}, {up}"
        );
        assert!(
            (values[1] / up - 1.0).abs() < 1e-6,
            "{values:?} for {across}, {up}"
        );
        let mut wanted = Vec::new();
        for i in 0..places.len() {
            for j in 0..i {
                wanted.push(truth.straight(places[i], places[j]).unwrap().mm);
            }
        }
        alike(&distances(&got), &wanted, 1e-5);
    }
}

/// Six marks on a face, all fifteen distances, half of them straight, through one tape.
fn network(surface: Surface, random: &mut Seeded) -> Network {
    let mut out = Network::on(surface.clone());
    if !matches!(surface, Surface::Flat(_)) {
        out.sizes[0] = SizeHeld::Prior { sd: 3.0 };
    }
    let grid = [
        (-170., -120.),
        (10., -150.),
        (160., -90.),
        (-150., 60.),
        (20., 110.),
        (170., 130.),
    ];
    out.points = grid
        .iter()
        .map(|(u, v)| PointStart {
            start: Point2::from_mm(u + random.within(-25., 25.), v + random.within(-25., 25.)),
            held: Held::Free,
        })
        .collect();
    out.tapes = vec![Tape::default()];
    for a in 0..6 {
        for b in 0..a {
            let start = |k: usize| out.points[k].start;
            let (kind, d) = if (a + b) % 2 == 0 {
                let d = surface.straight(start(a), start(b)).unwrap();
                (ReadingKind::Straight { from: a, to: b }, d)
            } else {
                let d = surface.over_surface(start(a), start(b), 0).unwrap();
                (
                    ReadingKind::Over {
                        from: a,
                        to: b,
                        turns: 0,
                    },
                    d,
                )
            };
            out.readings.push(Reading {
                kind,
                value: Length::from_mm(d.mm + random.within(-1.5, 1.5)),
                precision: Precision::Tape {
                    tape: 0,
                    hooked: a > 2,
                },
            });
        }
    }
    out
}

fn solved(network: &Network) -> Adjusted {
    super::plain(network)
}

fn each(mut law: impl FnMut(Network, &mut Seeded)) {
    let mut random = Seeded(7);
    for surface in faces() {
        for _ in 0..6 {
            let network = network(surface.clone(), &mut random);
            law(network, &mut random);
        }
    }
}

/// Distances between adjusted marks that do not hang on where the pattern lies.
fn distances(a: &Adjusted) -> Vec<f64> {
    let mut out = Vec::new();
    for i in 0..a.points.len() {
        for j in 0..i {
            out.push(
                a.surface
                    .straight(a.points[i].at, a.points[j].at)
                    .unwrap()
                    .mm,
            );
        }
    }
    out
}

#[track_caller]
fn alike(a: &[f64], b: &[f64], tolerance: f64) {
    assert_eq!(a.len(), b.len());
    for (x, y) in a.iter().zip(b) {
        assert!((x - y).abs() <= tolerance, "{x} and {y}");
    }
}

#[test]
fn the_isometries_of_each_face_are_held_and_no_more() {
    let wanted = [
        vec![Motion::Across, Motion::Up, Motion::Turn],
        vec![Motion::Across, Motion::Up],
        vec![Motion::Across, Motion::Up],
        vec![Motion::Across],
        vec![Motion::Across, Motion::Up, Motion::Turn],
    ];
    for (surface, wanted) in faces().into_iter().zip(wanted) {
        let mut net = network(surface.clone(), &mut Seeded(1));
        assert_eq!(solved(&net).motions.len(), wanted.len(), "{surface:?}");
        // With every reading on the surface a developable face keeps three.
        net.sizes[0] = SizeHeld::Fixed;
        for r in &mut net.readings {
            if let ReadingKind::Straight { from, to } = r.kind {
                r.kind = ReadingKind::Over { from, to, turns: 0 };
            }
        }
        assert_eq!(solved(&net).motions.len(), 3, "{surface:?}");
    }
}

#[test]
fn where_the_pattern_starts_changes_no_distance() {
    each(|net, random| {
        let before = distances(&solved(&net));
        let mut moved = net.clone();
        // Along the motion every face here but the dome has in its chart; on the dome a turn.
        let shift = random.within(-30., 30.);
        for p in &mut moved.points {
            p.start = match net.surface {
                Surface::Dome(_) => Point2::ORIGIN + p.start.from_origin().turned(shift / 30.),
                _ => p.start + Vector2::from_mm(shift, 0.0),
            };
        }
        // Convergence is to 5e-9 mm in places; distances follow.
        alike(&distances(&solved(&moved)), &before, 1e-7);
    });
}

#[test]
fn order_changes_nothing() {
    each(|net, _| {
        let straight = solved(&net);
        let mut turned = net.clone();
        turned.readings.reverse();
        turned.points.reverse();
        let last = net.points.len() - 1;
        for r in &mut turned.readings {
            r.kind = match r.kind {
                ReadingKind::Straight { from, to } => ReadingKind::Straight {
                    from: last - to,
                    to: last - from,
                },
                ReadingKind::Over { from, to, .. } => ReadingKind::Over {
                    from: last - to,
                    to: last - from,
                    turns: 0,
                },
                other => other,
            };
        }
        let back = solved(&turned);
        for k in 0..=last {
            let (a, b) = (straight.points[k], back.points[last - k]);
            assert!((a.at - b.at).norm_mm() < 1e-7);
            assert!((a.worst.mm() - b.worst.mm()).abs() < 1e-8 * a.worst.mm());
        }
    });
}

#[test]
fn a_mirrored_pattern_gives_the_mirrored_result() {
    each(|net, _| {
        let mirror = |p: Point2<Face>| Point2::from_mm(-p.x_mm(), p.y_mm());
        let straight = solved(&net);
        let mut other = net.clone();
        for p in &mut other.points {
            p.start = mirror(p.start);
        }
        let image = solved(&other);
        for (a, b) in straight.points.iter().zip(&image.points) {
            assert!((mirror(a.at) - b.at).norm_mm() < 1e-7);
        }
        let all: Vec<usize> = (0..net.points.len()).collect();
        let (p, q) = (straight.covariance(&all), image.covariance(&all));
        for i in 0..p.size() {
            for j in 0..p.size() {
                let sign = if (i + j) % 2 == 0 { 1.0 } else { -1.0 };
                let scale = (p.get(i, i) * p.get(j, j)).sqrt();
                assert!((p.get(i, j) - sign * q.get(i, j)).abs() < 1e-8 * scale);
            }
        }
    });
}

/// x' Q x for a seeded x: never negative for a covariance.
fn form(a: &Adjusted, random: &mut Seeded) -> f64 {
    let all: Vec<usize> = (0..a.points.len()).collect();
    let q = a.covariance(&all);
    let x: Vec<f64> = (0..q.size()).map(|_| random.within(-1., 1.)).collect();
    let mut sum = 0.0;
    for i in 0..q.size() {
        for j in 0..q.size() {
            sum += x[i] * q.get(i, j) * x[j];
        }
    }
    sum
}

#[test]
fn a_reading_more_never_makes_it_less_sure() {
    each(|mut net, random| {
        // Readings without error, so that both are linearised at the same place.
        for r in &mut net.readings {
            r.value = match r.kind {
                ReadingKind::Straight { from, to } => Length::from_mm(
                    net.surface
                        .straight(net.points[from].start, net.points[to].start)
                        .unwrap()
                        .mm,
                ),
                ReadingKind::Over { from, to, .. } => Length::from_mm(
                    net.surface
                        .over_surface(net.points[from].start, net.points[to].start, 0)
                        .unwrap()
                        .mm,
                ),
                _ => r.value,
            };
        }
        let full = solved(&net);
        net.readings.pop();
        let fewer = solved(&net);
        let seed = random.0;
        for k in 0..20 {
            let (mut one, mut two) = (Seeded(seed + k), Seeded(seed + k));
            let (after, before) = (form(&full, &mut one), form(&fewer, &mut two));
            assert!(after > 0.0, "a covariance is positive");
            assert!(after <= before * (1.0 + 1e-8), "{after} after {before}");
        }
    });
}

#[test]
fn reading_twice_does_not_halve_what_the_tape_has_wrong() {
    let mut net = Network::on(Surface::Flat(FlatFace));
    let place = |x: f64, held| PointStart {
        start: Point2::from_mm(x, 0.0),
        held,
    };
    net.points = vec![place(0.0, Held::Fixed), place(2000.0, Held::Free)];
    net.tapes = vec![Tape::default()];
    let reading = Reading {
        kind: ReadingKind::Straight { from: 0, to: 1 },
        value: Length::from_mm(2000.0),
        precision: Precision::Tape {
            tape: 0,
            hooked: true,
        },
    };
    let along = |times: usize| {
        let mut net = net.clone();
        net.readings = vec![reading; times];
        net.readings.push(Reading {
            kind: ReadingKind::Coordinate {
                point: 1,
                axis: samespot_core::readings::CoordinateAxis::V,
            },
            value: Length::ZERO,
            precision: Precision::Sd(Length::from_mm(1.0)),
        });
        adjust(&net, &samespot_core::readings::Options::default())
            .unwrap()
            .covariance(&[1])
            .get(0, 0)
    };
    // Class II over 2 m: (0.7/√3)² of scale and (0.2/√3)² of hook stay however often it is read;
    // each reading adds 1/12 + 0.3² + 2·0.15².
    let shared = (0.49 + 0.04) / 3.0;
    let own = 1.0 / 12.0 + 0.09 + 2.0 * 0.0225;
    for times in [1, 2, 100] {
        let want = shared + own / times as f64;
        assert!(
            (along(times) - want).abs() < 1e-6 * want,
            "{times}: {} for {want}",
            along(times)
        );
    }
}

#[test]
fn laid_on_a_then_b() {
    each(|net, _| {
        let free = solved(&net);
        let laid = free.in_datum(0, 2, Some(4)).unwrap();
        alike(&distances(&laid), &distances(&free), 1e-8);
        let (a, b) = (net.points[0].start, net.points[2].start);
        let q = laid.covariance(&[0, 2]);
        match laid.motions.len() {
            3 => {
                assert!((laid.points[0].at - a).norm_mm() < 1e-9);
                assert!(q.get(0, 0).abs() < 1e-9 && q.get(1, 1).abs() < 1e-9);
                if let Surface::Flat(_) = net.surface {
                    let line = (b - a).unit().unwrap();
                    assert!(line.cross(laid.points[2].at - a).abs() < 1e-9);
                    // Nothing across the line, and along it what the distance has.
                    let n = line.perp();
                    let across = n.x_mm() * n.x_mm() * q.get(2, 2)
                        + 2.0 * n.x_mm() * n.y_mm() * q.get(2, 3)
                        + n.y_mm() * n.y_mm() * q.get(3, 3);
                    assert!(across.abs() < 1e-9);
                }
            }
            2 => assert!((laid.points[0].at - a).norm_mm() < 1e-9),
            _ => assert!((laid.points[0].at.x_mm() - a.x_mm()).abs() < 1e-9),
        }
        // Fixing the datums beforehand gives the same covariance of the rest.
        if let Surface::Flat(_) = net.surface {
            let mut held = net.clone();
            held.points[0].held = Held::Fixed;
            let turned = solved(&held).in_datum(0, 2, None).unwrap();
            let (p, r) = (laid.covariance(&[1, 5]), turned.covariance(&[1, 5]));
            for i in 0..4 {
                assert!((p.get(i, i) - r.get(i, i)).abs() < 1e-6 * p.get(i, i));
            }
            for (x, y) in laid.points.iter().zip(&turned.points) {
                assert!((x.at - y.at).norm_mm() < 1e-6);
            }
        }
    });
}

#[test]
fn c_picks_the_side() {
    let mut net = network(Surface::Flat(FlatFace), &mut Seeded(3));
    let straight = solved(&net).in_datum(0, 2, Some(4)).unwrap();
    // Start from the mirror image, but ask for the nominal side of C.
    let starts: Vec<_> = net.points.iter().map(|p| p.start).collect();
    let line = (starts[2] - starts[0]).unit().unwrap();
    for (p, s) in net.points.iter_mut().zip(&starts) {
        let arm = *s - starts[0];
        p.start = starts[0] + line * (2.0 * arm.dot(line)) + -arm;
    }
    net.points[4].start = starts[4];
    let mirrored = solved(&net);
    let laid = mirrored.in_datum(0, 2, Some(4)).unwrap();
    for (a, b) in straight.points.iter().zip(&laid.points) {
        assert!((a.at - b.at).norm_mm() < 1e-6, "{:?} {:?}", a.at, b.at);
    }
}

/// What a reading is promised to bring is what it brings: the network solved again with it, at
/// the value expected, has the covariance that the rank-one step foretold.
#[test]
fn a_gain_foretold_is_the_gain_had() {
    each(|network, random| {
        let before = solved(&network);
        let count = network.points.len();
        let chance = random.within(0.0, count as f64);
        let from = (0..count - 1)
            .find(|k| chance < (k + 1) as f64)
            .unwrap_or(count - 1);
        let to = (from + 1) % count;
        let kind = ReadingKind::Over { from, to, turns: 0 };
        let reading = Reading {
            kind,
            value: Length::ZERO,
            precision: Precision::Sd(Length::from_mm(0.4)),
        };
        let gain = before.gain(&reading).unwrap();
        let turns = before
            .surface
            .nearest_turns(before.points[from].at, before.points[to].at);
        let expected = before
            .surface
            .over_surface(before.points[from].at, before.points[to].at, turns)
            .unwrap()
            .mm;
        let mut more = network.clone();
        more.readings.push(Reading {
            kind: ReadingKind::Over { from, to, turns },
            value: Length::from_mm(expected),
            ..reading
        });
        let after = solved(&more);
        let all: Vec<usize> = (0..count).collect();
        let foretold = gain.after(&before.covariance(&all), &all);
        let had = after.covariance(&all);
        for r in 0..had.size() {
            for c in 0..had.size() {
                // The derivatives stand still at the solution: rounding of two inversions only.
                let (a, b) = (foretold.get(r, c), had.get(r, c));
                assert!((a - b).abs() < 1e-6 * (1.0 + b.abs()), "{a} {b}");
            }
        }
        let r = after.readings.last().unwrap().redundancy;
        assert!(
            (r - gain.redundancy).abs() < 1e-6,
            "{r} {}",
            gain.redundancy
        );
    });
}
