//! Levels, plumb lines and heights against scipy, closed forms and the setting-out screen.
#![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

#[path = "levelled/kept.rs"]
mod kept;
#[path = "levelled/strewn.rs"]
mod strewn;

use samespot_core::frames::Point2;
use samespot_core::job::{EntityRef, FaceShape, LineSide, MarkEdit, Measured};
use samespot_core::prepare::Source;
use samespot_core::prepare::setout::{Stands, face_view};
use samespot_core::prepare::walk::{AskState, walk, walk_with};
use samespot_core::readings::*;
use samespot_core::surface::{Axis, Bulge, Cylinder, Dome, FlatFace, Surface};
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, point};
use serde_json::Value;

fn l(mm: f64) -> Length {
    Length::from_mm(mm)
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

fn index(v: &Value) -> usize {
    usize::try_from(v.as_u64().unwrap()).unwrap()
}

fn reading(r: &Value) -> Reading {
    let (from, to, stance) = (index(&r[1]), index(&r[2]), 0);
    let kind = match r[0].as_str().unwrap() {
        "straight" => ReadingKind::Straight { from, to },
        "level" => ReadingKind::Level { from, to, stance },
        "plumb" => ReadingKind::Plumb {
            high: from,
            low: to,
            stance,
        },
        _ => ReadingKind::Height { of: to, stance },
    };
    Reading {
        kind,
        value: l(number(&r[3])),
        precision: Precision::Sd(l(number(&r[4]))),
    }
}

fn free(points: &[(f64, f64)], surface: Surface) -> Network {
    let mut network = Network::on(surface);
    network.points = points
        .iter()
        .map(|(u, v)| PointStart {
            start: Point2::from_mm(*u, *v),
            held: Held::Free,
        })
        .collect();
    network.stances = vec![Stance::default()];
    network
}

fn solved(network: &Network) -> Adjusted {
    let options = Options {
        drawing_spread: None,
        // What readings hold of a turn round a post by its lean alone is next to nothing: it is held
        // at the start, as in scipy's rows.
        weak_motion: Some(l(5.0)),
        ..Options::default()
    };
    let got = adjust(network, &options).unwrap();
    assert_eq!(got.status, Status::Converged);
    got
}

/// tests/reference/networks/levelled.py: scipy's solution, by formulas of its own.
#[test]
fn levelled_networks_agree_with_scipy() {
    let text = include_str!("../reference/networks/levelled.json");
    let cases: Vec<Value> = serde_json::from_str(text).unwrap();
    assert!(cases.len() >= 20);
    for case in &cases {
        let radius = l(number(&case["radius"]));
        let surface = match case["kind"].as_str().unwrap() {
            "flat" => Surface::Flat(FlatFace),
            "dome" => Surface::Dome(Dome::new(radius, Bulge::Bulging).unwrap()),
            _ => Surface::Cylinder(Cylinder::new(radius, Axis::Up, Bulge::Bulging).unwrap()),
        };
        let points: Vec<(f64, f64)> = case["start"]
            .as_array()
            .unwrap()
            .iter()
            .map(|p| (number(&p[0]), number(&p[1])))
            .collect();
        let mut network = free(&points, surface);
        network.readings = case["readings"]
            .as_array()
            .unwrap()
            .iter()
            .map(reading)
            .collect();
        let got = solved(&network);
        // Differences for derivatives and stiff rows leave scipy some 1e-6 of its steps; on a ball the
        // stance's own weak knowledge turns the whole by as much again.
        let (near_mm, near_rad, near_share) = match &network.surface {
            Surface::Dome(_) => (1e-3, 5e-4, 1e-2),
            // Where round the post the marks are held says a little of which way it leans.
            Surface::Cylinder(_) => (5e-4, 5e-4, 2e-3),
            _ => (1e-4, 1e-5, 2e-3),
        };
        let mut k = 0;
        for i in 0..points.len() {
            for j in 0..i {
                let (a, b) = (got.points[i].at, got.points[j].at);
                let d = got.surface.straight(a, b).unwrap();
                let wanted = number(&case["distances"][k]);
                assert!(
                    (d.mm - wanted).abs() < near_mm,
                    "{}: {wanted} {}",
                    case["kind"],
                    d.mm
                );
                let c = got.covariance(&[i, j]);
                let g = [
                    d.d_from.x_mm(),
                    d.d_from.y_mm(),
                    d.d_to.x_mm(),
                    d.d_to.y_mm(),
                ];
                let mut variance = 0.0;
                for (r, x) in g.iter().enumerate() {
                    for (s, y) in g.iter().enumerate() {
                        variance += x * y * c.get(r, s);
                    }
                }
                let sd = number(&case["sds"][k]);
                assert!(
                    (variance.sqrt() - sd).abs() < near_share * sd,
                    "{} {sd}",
                    variance.sqrt()
                );
                k += 1;
            }
        }
        for (k, r) in got.readings.iter().enumerate() {
            // Off by is adjusted less read, in both.
            let (off, wanted) = (r.off_by.mm(), number(&case["off"][k]));
            // A plumb line is seen along the normal of the start there, of the adjusted place here.
            let near = match &network.surface {
                Surface::Flat(_) => near_mm,
                _ => 2e-3,
            };
            assert!((off - wanted).abs() < near, "{k}: {off} for {wanted}");
        }
        let turn = got.stances[0].unwrap().turn.rad();
        assert!(
            (turn - number(&case["turn"])).abs() < near_rad,
            "{}: {turn} for {}",
            case["kind"],
            case["turn"]
        );
    }
}

/// A level says up and nothing else: no distance between marks changes by it, and it checks none.
#[test]
fn one_level_alone_moves_no_mark() {
    let points = [(0.0, 0.0), (400.0, 0.0), (180.0, 300.0)];
    let mut network = free(&points, Surface::Flat(FlatFace));
    for (from, to) in [(0, 1), (0, 2), (1, 2)] {
        let d = network.points[to]
            .start
            .distance(network.points[from].start);
        network.readings.push(Reading {
            kind: ReadingKind::Straight { from, to },
            value: d,
            precision: Precision::Sd(l(0.5)),
        });
    }
    let before = solved(&network);
    // 400·sin 3° (a sine table: 0.05234): B stands 20.93 above A.
    network.readings.push(Reading {
        kind: ReadingKind::Level {
            from: 0,
            to: 1,
            stance: 0,
        },
        value: l(400.0 * 0.052_336),
        precision: Precision::Sd(l(0.5)),
    });
    network.stances[0].turn = turn_from_readings(&network, 0);
    let got = solved(&network);
    assert_eq!(got.motions, before.motions);
    for (p, q) in got.points.iter().zip(&before.points) {
        // The stance's own weak knowledge pulls by a millionth of what it allows.
        assert!((p.at - q.at).norm_mm() < 1e-3, "{p:?} {q:?}");
    }
    assert!(got.readings[3].redundancy < 1e-3);
    // From A to B, which rises by 3°, up is a quarter turn less 3°, the other way round.
    let up = got.up_against(0, 0, 1).unwrap();
    assert!((up.turn.deg() - 87.0).abs() < 0.01, "{}", up.turn.deg());
    // 0.5 mm over 400 mm: 0.072° (JCGM 100:2008, 5.1.2), and what the lean allows of 3°.
    assert!((up.sd.deg() - 0.125).abs() < 0.02, "{}", up.sd.deg());
}

/// A plumb line through the higher of two marks says up by itself, whichever way the face was
/// set out.
#[test]
fn a_plumb_line_finds_up_from_any_start() {
    let points = [(0.0, 0.0), (400.0, 0.0), (180.0, 300.0)];
    for quarter in 0..4 {
        let turned: Vec<(f64, f64)> = points
            .iter()
            .map(|&(x, y)| match quarter {
                0 => (x, y),
                1 => (-y, x),
                2 => (-x, -y),
                _ => (y, -x),
            })
            .collect();
        let mut network = free(&turned, Surface::Flat(FlatFace));
        network.readings.push(Reading {
            kind: ReadingKind::Plumb {
                high: 1,
                low: 0,
                stance: 0,
            },
            value: Length::ZERO,
            precision: Precision::Sd(l(0.5)),
        });
        let turn = turn_from_readings(&network, 0);
        // Up runs from A to B, which lies so many quarters on from u.
        let wanted = 90.0 * f64::from(quarter) - 90.0;
        let off = (turn.deg() - wanted).rem_euclid(360.0);
        assert!(off.min(360.0 - off) < 1e-6, "{quarter} {turn:?}");
    }
}

/// The triangle 3-4-5 (Euclid I.48) with what is said of it.
fn pattern() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("pattern", from, to, value);
    }
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    for (from, value) in [("a", 250.0), ("b", 250.0), ("c", 250.0)] {
        s.over("pattern", from, "spot", value);
    }
    s
}

fn level(from: &str, to: &str) -> Measured {
    Measured::Level {
        from: point(from),
        to: point(to),
        stood: 0,
    }
}

#[test]
fn up_of_a_face_is_told_by_a_level_on_the_pattern() {
    let look = |s: &Script| {
        let job = s.ledger.fold();
        assert!(job.problems.is_empty(), "{:?}", job.problems);
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        face_view(&source, &id("face")).unwrap()
    };
    let mut s = pattern();
    assert_eq!(look(&s).up, None);
    s.read("pattern", level("a", "b"), 0.0);
    let view = look(&s);
    let up = view.up.unwrap();
    assert!(up.sentence.starts_with("A–B is level"), "{}", up.sentence);
    assert!((up.towards_rad.to_degrees() - 90.0).abs() < 0.3);
    assert!(view.features[0].upright.unwrap().deg().abs() < 0.3);
    assert!(
        view.marks
            .iter()
            .all(|m| matches!(m.stands, Stands::Held { .. }))
    );
    // A fall of 400·sin 2° = 13.96 towards B: what follows the line stands up once it is turned
    // anticlockwise by 2°.
    let mut s = pattern();
    s.read("pattern", level("a", "b"), -13.96);
    let view = look(&s);
    let up = view.up.unwrap();
    assert!(
        up.sentence.starts_with("A–B falls 2.0° towards B"),
        "{}",
        up.sentence
    );
    assert!((view.features[0].upright.unwrap().deg() - 2.0).abs() < 0.05);
}

#[test]
fn a_level_alone_places_no_mark_and_is_asked_for_as_a_distance_still() {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 1);
    s.over("pattern", "a", "b", 400.0);
    s.read("pattern", level("a", "c"), 12.0);
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let view = face_view(&source, &id("face")).unwrap();
    let c = view.marks.iter().find(|m| m.letter == "C").unwrap();
    match &c.stands {
        Stands::Open { need, next } => {
            assert_eq!(need, "read it from A and B");
            assert_eq!(*next, Some([point("a"), point("c")]));
        }
        other => unreachable!("{other:?}"),
    }
}

#[test]
fn what_is_read_besides_the_list_stands_in_the_walk() {
    let s = pattern();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let before = walk(&source, &id("c1")).unwrap();
    let asked = walk_with(&source, &id("c1"), &[level("a", "b")]).unwrap();
    assert_eq!(asked.asks.len(), before.asks.len() + 1);
    let ask = asked.asks.iter().find(|a| a.of == level("a", "b")).unwrap();
    assert_eq!(ask.title, "B above A, by level");
    assert_eq!(ask.short, "A–B level");
    assert_eq!(ask.with, "level and rule");
    assert_eq!(ask.state, AskState::ToRead);
    // A reading that is on the list is asked for once.
    let twice = before.asks[0].of.clone();
    assert_eq!(
        walk_with(&source, &id("c1"), &[twice]).unwrap().asks.len(),
        before.asks.len()
    );
    // Once read it stays in sight, and the walk is what it was.
    let mut s = pattern();
    s.read("c1", level("a", "b"), 1.0);
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let after = walk(&source, &id("c1")).unwrap();
    let read = after.asks.iter().find(|a| a.of == level("a", "b")).unwrap();
    assert!(matches!(read.state, AskState::Read { .. }));
}

#[test]
fn heights_of_a_casting_check_its_distances() {
    // A stick's heights of all marks of 3-4-5 standing upright, in two stances: with the distances
    // read as they are nothing is odd; C misread by 20 mm is the odd one out.
    let heights = |s: &mut Script, wrong: f64, stood: u32, lift: f64| {
        for (mark, height) in [("a", 0.0), ("b", 0.0), ("c", 300.0 + wrong), ("d", 300.0)] {
            s.read(
                "c1",
                Measured::Height {
                    of: point(mark),
                    stood,
                },
                height + lift,
            );
        }
    };
    let build = |wrong: f64| {
        let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "d"], 1);
        for casting in ["pattern", "c1"] {
            for (from, to, value) in [
                ("a", "b", 400.0),
                ("a", "c", 300.0),
                ("b", "c", 500.0),
                ("b", "d", 300.0),
                ("a", "d", 500.0),
                ("c", "d", 400.0),
            ] {
                s.over(casting, from, to, value);
            }
        }
        for mark in ["c", "d"] {
            s.set(
                EntityRef::Mark(id(mark)),
                &MarkEdit {
                    side: Some(LineSide::Above),
                    ..MarkEdit::default()
                },
            );
        }
        s.over("pattern", "a", "spot", 250.0);
        s.over("pattern", "b", "spot", 250.0);
        heights(&mut s, wrong, 0, 812.0);
        heights(&mut s, 0.0, 1, 30.0);
        s
    };
    let odd = |s: &Script| {
        let job = s.ledger.fold();
        assert!(job.problems.is_empty(), "{:?}", job.problems);
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        walk(&source, &id("c1")).unwrap()
    };
    let good = odd(&build(0.0));
    assert_eq!(good.odd, None, "{:?}", good.says);
    let found = odd(&build(20.0)).odd.unwrap();
    assert_eq!(found.short, "C height");
    assert!(found.says.contains("20 mm long"), "{}", found.says);
}

#[test]
fn a_levelled_reading_survives_the_spreadsheet_and_the_file() {
    let mut s = pattern();
    s.read("c1", level("a", "b"), -3.5);
    s.read(
        "c1",
        Measured::Plumb {
            high: point("c"),
            low: point("a"),
            stood: 2,
        },
        1.5,
    );
    s.read(
        "c1",
        Measured::Height {
            of: point("c"),
            stood: 2,
        },
        812.0,
    );
    let job = s.ledger.fold();
    let all: Vec<_> = job.readings.iter().map(|r| r.says.clone()).collect();
    let text = samespot_core::write::table::readings(&all);
    assert_eq!(samespot_core::read::table::read_own(&text).unwrap(), all);
    // Facts of before say nothing of how a casting stood, and mean the first way.
    let old: Measured =
        serde_json::from_str(r#"{"read":"level","from":{"mark":"a"},"to":{"mark":"b"}}"#).unwrap();
    assert_eq!(old, level("a", "b"));
}
