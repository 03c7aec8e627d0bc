//! What runs along the level line of a cone or of a face with two radii.
//!
//! Outside values: the frustum of shared checks J10 (radial-line development, sheet-metal
//! handbooks); the geodesic curvature of a parallel of a surface of revolution (do Carmo 1976, 4-4).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops at the first fault"
)]

use samespot_core::job::{
    BetweenMarks, Curve, Edit, EntityRef, Entry, FaceEdit, FaceShape, Job, JobId, Ledger, LineSide,
    OutlineSpec, Payload, QuickCards, QuickIds, QuickPiece, ReplicaId, Runs, Size, Writer,
};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::{Shape, Surface};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;

#[path = "level/drawn_by.rs"]
mod drawn_by;

const STRIP: [f64; 2] = [200.0, 4.0];

fn job(face: &FaceShape, runs: Runs, readings: [f64; 3]) -> Job {
    let job = told(&facts(face, runs, readings));
    assert_eq!(QuickCards::of_job(&job).unwrap().runs, runs);
    job
}

fn told(payloads: &[Payload]) -> Job {
    let mut ledger = Ledger::new(JobId::new("level").unwrap());
    let writer = Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    };
    for payload in payloads {
        ledger.write(&writer, payload).unwrap();
    }
    ledger.fold()
}

fn facts(face: &FaceShape, runs: Runs, [ab, ac, bc]: [f64; 3]) -> Vec<Payload> {
    let mm = Entry::of_mm;
    let cards = QuickCards {
        title: "Level (invented)".into(),
        outline: Some(OutlineSpec::RoundedBox {
            width: mm(STRIP[0]),
            height: mm(STRIP[1]),
            corner: mm(0.5),
        }),
        lies_on: Some(FaceShape::Flat),
        a_to_b: Some(mm(ab)),
        a_to_centre: Some(mm(ac)),
        b_to_centre: Some(mm(bc)),
        side: Some(LineSide::Above),
        thickness: Length::from_mm(0.001),
        runs,
        pieces: vec![QuickPiece {
            number: 1,
            a_to_b: Some(mm(ab)),
        }],
        ..QuickCards::default()
    };
    let mut payloads = cards.payloads("2026-11-26").unwrap();
    let edit = Edit::of(
        EntityRef::Face(QuickIds::fixed().unwrap().face),
        &FaceEdit {
            shape: Some(face.clone()),
            ..FaceEdit::default()
        },
    );
    payloads.push(Payload::Edit(edit.unwrap()));
    payloads
}

fn prepared(job: &Job) -> Prepared {
    let source = Source {
        job,
        attachments: &Attachments::new(),
    };
    let spot = QuickIds::fixed().unwrap().spot;
    let piece = QuickIds::piece(1).unwrap().1;
    prepare(&source, &spot, &piece).unwrap()
}

/// The lower long side, away from its corners.
fn lower_side(p: &Prepared) -> Vec<(f64, f64)> {
    let all = p.paint_edge.samples(Length::from_mm(1.0));
    let side: Vec<(f64, f64)> = all
        .iter()
        .map(|q| (q.x_mm(), q.y_mm()))
        .filter(|q| q.0.abs() < STRIP[0] / 2.0 - 3.0)
        .collect();
    let height = |x: f64| {
        let near = side.iter().filter(|q| (q.0 - x).abs() < 2.0);
        near.map(|q| q.1).sum::<f64>() / near_count(&side, x)
    };
    side.iter().copied().filter(|q| q.1 < height(q.0)).collect()
}

fn near_count(side: &[(f64, f64)], x: f64) -> f64 {
    let n = side.iter().filter(|q| (q.0 - x).abs() < 2.0).count();
    f64::from(u32::try_from(n).unwrap())
}

/// The circle through the ends and the middle of a side: the height of its middle, and its radius.
fn circle(side: &[(f64, f64)]) -> (f64, f64) {
    let at = |x: f64| {
        *side
            .iter()
            .min_by(|a, b| (a.0 - x).abs().total_cmp(&(b.0 - x).abs()))
            .unwrap()
    };
    let (a, b, c) = (at(-95.0), at(0.0), at(95.0));
    let (u, v) = ((b.0 - a.0, b.1 - a.1), (c.0 - a.0, c.1 - a.1));
    let (uu, vv) = (u.0 * u.0 + u.1 * u.1, v.0 * v.0 + v.1 * v.1);
    let d = 2.0 * (u.0 * v.1 - u.1 * v.0);
    let y = a.1 + (u.0 * vv - v.0 * uu) / d;
    let x = a.0 + (v.1 * uu - u.1 * vv) / d;
    (y, (a.0 - x).hypot(a.1 - y))
}

fn girth(diameter: f64) -> Size {
    Size::Girth {
        girth: Entry::of_mm(diameter * core::f64::consts::PI),
    }
}

/// D = 300, d = 200, height 400: the foot of the frustum unrolls to an arc of 1209.3387 mm.
#[test]
fn a_level_line_of_a_cone_is_an_arc_about_its_tip() {
    let frustum = FaceShape::Cone {
        lower: girth(300.0),
        upper: girth(200.0),
        slant: Entry::of_mm(403.112_887),
    };
    let p = prepared(&job(&frustum, Runs::Level, [160.0, 100.0, 100.0]));
    let Surface::Cone(cone) = p.surface else {
        panic!("no cone")
    };
    assert!(p.size_words.ends_with("along the level line"));
    // The casting's own cone, at the height where the strip runs.
    let [r0, taper, _] = cone.values();
    assert!((r0 / -taper / 1_209.338_662 - 1.0).abs() < 0.01);
    let v = p.placed.pose.centre.y_mm();
    let tip = r0 / -taper - v;
    let (y, radius) = circle(&lower_side(&p));
    let turned = p.placed.pose.up.x_mm().abs() < 1e-3;
    assert!(turned, "{:?}", p.placed.pose.up);
    // The lower side runs 2 mm under the middle, the tip stands above.
    assert!(
        (radius - (tip + STRIP[1] / 2.0)).abs() < 2.0,
        "{radius} for {tip}"
    );
    assert!((y - tip).abs() < 0.5, "{y} for {tip}");
    let straight = prepared(&job(&frustum, Runs::Straight, [160.0, 100.0, 100.0]));
    let (_, flat) = circle(&lower_side(&straight));
    assert!(flat > 1e5, "straight is straight: {flat}");
}

/// Two radii: at a height v the parallel's geodesic curvature is sin(v/up)/ρ with ρ its own radius.
#[test]
fn a_level_line_above_the_girth_of_a_barrel_bends_as_a_parallel_does() {
    let by = |mm: f64| Curve::Bulging {
        size: Size::Radius {
            radius: Entry::of_mm(mm),
        },
    };
    let barrel = FaceShape::TwoRadii {
        across: by(300.0),
        up: by(420.0),
    };
    let p = prepared(&job(&barrel, Runs::Level, [160.0, 130.0, 130.0]));
    let [across, up, _] = p.surface.values();
    let v = p.placed.pose.centre.y_mm();
    assert!(v.abs() > 30.0, "on its girth nothing would bend: {v}");
    let own = across + up * ((v / up).cos() - 1.0);
    let wanted = own / (v / up).sin().abs();
    let (_, radius) = circle(&lower_side(&p));
    // Of the chord of 190 mm; the polar map keeps the curvature at its middle only.
    assert!(
        (radius / wanted - 1.0).abs() < 0.08,
        "{radius} for {wanted}"
    );
}

/// The strip on a ball, its middle so far from A and from B, running along the line between them.
fn along_on_a_ball(radius: f64, readings: [f64; 3]) -> Prepared {
    let ball = FaceShape::Dome {
        hollow: false,
        size: Size::Radius {
            radius: Entry::of_mm(radius),
        },
    };
    let mut job = job(&ball, Runs::Straight, readings);
    let ids = QuickIds::fixed().unwrap();
    let spot = job.features.get_mut(&ids.spot).unwrap();
    spot.runs = Some(Runs::Along);
    spot.along = Some(BetweenMarks {
        from: ids.a,
        to: ids.b,
    });
    prepared(&job)
}

/// A place of the sheet on the ball, its middle at the pole (azimuthal equidistant: Snyder 1987,
/// section 25).
fn on_ball(r: f64, (x, y): (f64, f64)) -> [f64; 3] {
    let c = x.hypot(y);
    let s = if c > 0.0 { (c / r).sin() / c } else { 0.0 };
    [s * x, s * y, (c / r).cos()]
}

/// The radius of the casting's own ball.
fn ball(p: &Prepared) -> f64 {
    match &p.surface {
        Surface::Dome(d) => d.radius().mm(),
        _ => panic!("no ball"),
    }
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn unit(a: [f64; 3]) -> [f64; 3] {
    let n = dot(a, a).sqrt();
    a.map(|c| c / n)
}

#[test]
fn a_parallel_keeps_its_distance_from_the_line_and_its_own_length() {
    // Off the line by some 90 mm; the line is a great circle, a parallel of it a small one.
    let p = along_on_a_ball(170.0, [160.0, 120.0, 120.0]);
    let r = ball(&p);
    assert!(
        p.size_words.ends_with("along the line A–B"),
        "{}",
        p.size_words
    );
    let mark = |k: usize| {
        let m = p.placed.marks[k];
        on_ball(r, (m.x_mm(), m.y_mm()))
    };
    let pole = unit(cross(mark(0), mark(1)));
    let off = |at: [f64; 3]| r * dot(at, pole).asin();
    let middle = off(on_ball(r, (0.0, 0.0)));
    // Spherical right triangle: cos c = cos a · cos b.
    let wanted = r * ((120.0 / r).cos() / (80.0 / r).cos()).acos();
    assert!((middle.abs() - wanted).abs() < 0.1, "{middle} {wanted}");
    let (mut left, mut right): (f64, f64) = (0.0, 0.0);
    let east = unit(cross(pole, on_ball(r, (0.0, 0.0))));
    let ahead = cross(east, pole);
    for q in p.paint_edge.samples(Length::from_mm(1.0)) {
        let at = on_ball(r, (q.x_mm(), q.y_mm()));
        let aside = off(at) - middle;
        assert!(aside.abs() <= STRIP[1] / 2.0 + 0.02, "{aside} at {q:?}");
        // Two straight sides, at two distances, but for the corners.
        let round = f64::atan2(dot(at, east), dot(at, ahead));
        let long = round * r * (middle / r).cos();
        (left, right) = (left.min(long), right.max(long));
        if long.abs() < STRIP[0] / 2.0 - 3.0 {
            assert!((aside.abs() - STRIP[1] / 2.0).abs() < 0.02, "{aside}");
        }
    }
    for end in [left.abs(), right] {
        assert!((end - STRIP[0] / 2.0).abs() < 0.06, "{left} to {right}");
    }
    // It bends on the sheet: straight it would not.
    let ends = |x: f64| {
        let all = p.paint_edge.samples(Length::from_mm(1.0));
        let near = all.iter().filter(|q| (q.x_mm() - x).abs() < 2.0);
        near.map(|q| q.y_mm()).fold(f64::MIN, f64::max)
    };
    assert!((ends(0.0) - ends(85.0)).abs() > 5.0);
}

#[test]
fn next_to_the_line_it_runs_as_straight_as_the_line() {
    let p = along_on_a_ball(170.0, [160.0, 82.0, 82.0]);
    let r = ball(&p);
    let all = p.paint_edge.samples(Length::from_mm(1.0));
    let mark = |k: usize| {
        let m = p.placed.marks[k];
        on_ball(r, (m.x_mm(), m.y_mm()))
    };
    let pole = unit(cross(mark(0), mark(1)));
    let off = dot(on_ball(r, (0.0, 0.0)), pole).asin();
    let high = all.iter().map(|q| q.y_mm().abs()).fold(0.0, f64::max);
    // The outer corner of the strip, on the parallel so far off, seen from its middle (azimuthal
    // equidistant: Snyder 1987, 25-2 to 25-4; a parallel is shorter than the line by the cosine).
    let off = off.abs();
    let lat = off + STRIP[1] / 2.0 / r;
    let long = STRIP[0] / 2.0 / (r * off.cos());
    let c = (off.sin() * lat.sin() + off.cos() * lat.cos() * long.cos()).acos();
    let wanted = r * c / c.sin() * (off.cos() * lat.sin() - off.sin() * lat.cos() * long.cos());
    assert!(wanted < 6.0, "{wanted}");
    // Places are looked at a millimetre apart, and the strip rises by 0.07 a millimetre there.
    assert!((high - wanted).abs() < 0.07, "{high}, {wanted}");
}

#[test]
fn a_line_needs_two_marks_that_are_there() {
    let ball = FaceShape::Dome {
        hollow: false,
        size: Size::Radius {
            radius: Entry::of_mm(170.0),
        },
    };
    let mut job = job(&ball, Runs::Straight, [160.0, 120.0, 120.0]);
    let ids = QuickIds::fixed().unwrap();
    let told = |job: &Job| {
        let source = Source {
            job,
            attachments: &Attachments::new(),
        };
        let piece = QuickIds::piece(1).unwrap().1;
        prepare(&source, &ids.spot, &piece).unwrap_err().to_string()
    };
    job.features.get_mut(&ids.spot).unwrap().runs = Some(Runs::Along);
    assert!(told(&job).contains("say which two"), "{}", told(&job));
    job.features.get_mut(&ids.spot).unwrap().along = Some(BetweenMarks {
        from: ids.a.clone(),
        to: ids.a.clone(),
    });
    assert!(told(&job).contains("choose another"), "{}", told(&job));
    job.features.get_mut(&ids.spot).unwrap().along = Some(BetweenMarks {
        from: ids.a.clone(),
        to: samespot_core::job::MarkId::new("gone").unwrap(),
    });
    assert!(told(&job).contains("is not placed on this face"));
}
