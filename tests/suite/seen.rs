//! An outline drawn as it is seen, carried onto a round face.
//!
//! Outside values: the orthographic projection of a sphere (Snyder 1987, section 20) and of a
//! cylinder (elementary: x = R sin θ, arc = Rθ).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops at the first fault"
)]

use samespot_core::job::{
    AxisChoice, Edit, EntityRef, Entry, FaceShape, FeatureEdit, Job, JobId, Ledger, LineSide,
    OutlineSpec, Payload, QuickCards, QuickIds, QuickPiece, ReplicaId, SeenFrom, Size, Writer,
};
use samespot_core::prepare::setout::face_view;
use samespot_core::prepare::{PrepareError, Prepared, Source, prepare};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;

const RADIUS: f64 = 160.0;

fn round() -> Size {
    Size::Radius {
        radius: Entry::of_mm(RADIUS),
    }
}

/// A circle on a face, A and B and its middle read over the surface from both.
fn job(face: FaceShape, across: f64, seen: &SeenFrom, [ab, ac, bc]: [f64; 3]) -> Job {
    let mm = Entry::of_mm;
    let cards = QuickCards {
        title: "Seen (invented)".into(),
        outline: Some(OutlineSpec::Circle {
            diameter: mm(across),
        }),
        lies_on: Some(face),
        a_to_b: Some(mm(ab)),
        a_to_centre: Some(mm(ac)),
        b_to_centre: Some(mm(bc)),
        side: Some(LineSide::Above),
        thickness: Length::from_mm(0.001),
        pieces: vec![QuickPiece {
            number: 1,
            a_to_b: Some(mm(ab)),
        }],
        ..QuickCards::default()
    };
    let mut ledger = Ledger::new(JobId::new("seen").unwrap());
    let writer = Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    };
    let mut payloads = cards.payloads("2026-11-27").unwrap();
    let ids = QuickIds::fixed().unwrap();
    let edit = FeatureEdit {
        seen: Some(seen.clone()),
        ..FeatureEdit::default()
    };
    payloads.push(Payload::Edit(
        Edit::of(EntityRef::Feature(ids.spot), &edit).unwrap(),
    ));
    for payload in payloads {
        ledger.write(&writer, &payload).unwrap();
    }
    ledger.fold()
}

fn prepared(job: &Job) -> Result<Prepared, PrepareError> {
    let attachments = Attachments::new();
    let source = Source {
        job,
        attachments: &attachments,
    };
    let spot = QuickIds::fixed().unwrap().spot;
    prepare(&source, &spot, &QuickIds::piece(1).unwrap().1)
}

/// Left, low, right, high of the paint edge on the sheet, mm.
fn reach(p: &Prepared) -> [f64; 4] {
    p.paint_edge.samples(Length::from_mm(0.5)).iter().fold(
        [f64::MAX, f64::MAX, f64::MIN, f64::MIN],
        |[l, b, r, t], q| {
            let (x, y) = (q.x_mm(), q.y_mm());
            [l.min(x), b.min(y), r.max(x), t.max(y)]
        },
    )
}

fn near(got: [f64; 4], wanted: [f64; 4], within: f64) {
    for (g, w) in got.iter().zip(wanted) {
        assert!((g - w).abs() < within, "{got:?} for {wanted:?}");
    }
}

#[test]
fn a_circle_seen_straight_on_is_larger_on_a_ball() {
    let dome = FaceShape::Dome {
        hollow: false,
        size: round(),
    };
    let job = job(dome, 120.0, &SeenFrom::Middle, [150.0, 90.0, 90.0]);
    let p = prepared(&job).unwrap();
    // Snyder 1987, eq. 20-18: ρ = R sin c, and the sheet is laid c round from its middle.
    let out = RADIUS * (60.0 / RADIUS).asin();
    assert!((out - 61.5035).abs() < 0.0001);
    near(reach(&p), [-out, -out, out, out], 0.02);
    assert!(
        p.size_words.ends_with("as seen straight on at its middle"),
        "{}",
        p.size_words
    );
}

#[test]
fn on_a_post_the_far_side_of_what_is_seen_from_the_front_is_longer() {
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: round(),
    };
    let a = QuickIds::fixed().unwrap().a;
    let seen = SeenFrom::Level { mark: a };
    // A and B on one girth, the middle as far from both, so half way round from A to B.
    let job = job(post, 60.0, &seen, [150.0, 90.0, 90.0]);
    let p = prepared(&job).unwrap();
    // A to B was read round it: half of that lies between A and the middle.
    let round_to = 75.0 / RADIUS;
    let arc = |x: f64| RADIUS * ((round_to.sin() + x / RADIUS).asin() - round_to);
    near(reach(&p), [arc(-30.0), -30.0, arc(30.0), 30.0], 0.03);
    assert!(
        arc(30.0) > 35.9,
        "the far side is a fifth longer: {}",
        arc(30.0)
    );
}

#[test]
fn what_turns_away_is_shown_broken_and_is_not_printed() {
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: round(),
    };
    // sin 75° of the radius is 154.5 mm.
    let readings = [150.0, 90.0, 90.0];
    let wide = job(post.clone(), 312.0, &SeenFrom::Middle, readings);
    let why = prepared(&wide).unwrap_err();
    assert!(matches!(why, PrepareError::Elevation { .. }), "{why}");
    let words = why.to_string();
    assert!(
        words.contains("75°") && words.contains("over the surface"),
        "{words}"
    );
    let attachments = Attachments::new();
    let look = |job: &Job| {
        let source = Source {
            job,
            attachments: &attachments,
        };
        let face = QuickIds::fixed().unwrap().face;
        face_view(&source, &face).unwrap().features.remove(0)
    };
    let shown = look(&wide);
    let at = |far: fn(f64) -> bool| shown.away.iter().flatten().any(|p| far(p[0]));
    let middle = (shown.outline.iter().flatten().map(|p| p[0])).sum::<f64>()
        / shown.outline.iter().map(Vec::len).sum::<usize>() as f64;
    assert!(at(|x| x < -100.0) && at(|x| x > 100.0), "left and right");
    assert!(
        middle.abs() < 40.0,
        "what is in sight lies between: {middle}"
    );
    assert!(!shown.outline.is_empty() && shown.size.contains("75°"));
    // Just in sight: nothing is broken, and it is printed.
    let slim = job(post, 308.0, &SeenFrom::Middle, readings);
    assert!(prepared(&slim).is_ok());
    assert!(look(&slim).away.is_empty());
}

#[test]
fn a_mark_of_another_face_is_refused_in_words() {
    let a = QuickIds::fixed().unwrap().a;
    let dome = FaceShape::Dome {
        hollow: false,
        size: round(),
    };

    let gone = SeenFrom::Mark {
        mark: samespot_core::job::MarkId::new("elsewhere").unwrap(),
    };
    let why = prepared(&job(dome.clone(), 60.0, &gone, [150.0, 90.0, 90.0])).unwrap_err();
    assert!(
        why.to_string().contains("is not placed on this face"),
        "{why}"
    );
    let level = SeenFrom::Level { mark: a };
    assert!(prepared(&job(dome, 60.0, &level, [150.0, 90.0, 90.0])).is_ok());
}
