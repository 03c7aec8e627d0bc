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
    OutlineSpec, Payload, PointRef, QuickCards, QuickIds, QuickPiece, ReplicaId, SeenFrom, Size,
    Writer,
};
use samespot_core::prepare::setout::{ViewPlace, face_view, place_in_view};
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

/// The approved viewpoint at a finite distance: every place of the outline, taken back to the eye, is
/// seen on the circle that was drawn (central projection, elementary).
#[test]
fn from_the_approved_viewpoint_the_outline_is_seen_as_it_was_drawn() {
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: round(),
    };
    let a = QuickIds::fixed().unwrap().a;
    let (away, above) = (700.0, 250.0);
    let seen = SeenFrom::Eye {
        mark: a,
        away: Entry::of_mm(away),
        above: Entry::of_mm(above),
    };
    let job = job(post, 60.0, &seen, [150.0, 90.0, 90.0]);
    let p = prepared(&job).unwrap();
    assert!(
        p.size_words
            .ends_with("as seen from 700 mm in front of mark A, eyes 250 mm above it"),
        "{}",
        p.size_words
    );
    // A at bearing nought and height nought; the middle is 75 round from it and above it.
    let (round_to, high) = (75.0 / RADIUS, (90.0_f64 * 90.0 - 75.0 * 75.0).sqrt());
    let on = |round: f64, high: f64| [RADIUS * round.cos(), RADIUS * round.sin(), high];
    let (eye, middle) = ([RADIUS + away, 0.0, above], on(round_to, high));
    let minus = |a: [f64; 3], b: [f64; 3]| [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
    let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
    let ahead = minus(middle, eye);
    let far = dot(ahead, ahead).sqrt();
    let mut squashed = f64::MAX;
    for q in p.paint_edge.samples(Length::from_mm(0.5)) {
        let at = on(round_to + q.x_mm() / RADIUS, high + q.y_mm());
        let ray = minus(at, eye);
        let scale = far * far / dot(ray, ahead);
        let seen = minus(ray.map(|c| c * scale), ahead);
        let off = dot(seen, seen).sqrt();
        assert!((off - 30.0).abs() < 0.03, "{off} at {q:?}");
        squashed = squashed.min(q.from_origin().norm_mm());
    }
    // It is no circle on the sheet.
    assert!(squashed > 30.1 || reach(&p)[2] > 33.0, "{:?}", reach(&p));
}

/// A place on the client's drawing, from its one anchor: carried onto the face it is as far over the
/// surface as the arc of what the drawing shows (x = R sin θ), and it is kept as distances.
#[test]
fn a_place_on_a_drawing_is_carried_onto_the_face_from_its_anchor() {
    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: round(),
    };
    let job = job(post, 60.0, &SeenFrom::Surface, [150.0, 90.0, 90.0]);
    let attachments = Attachments::new();
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    let ids = QuickIds::fixed().unwrap();
    let (right, up) = (70.0, 40.0);
    let view = |right: f64| ViewPlace {
        from: SeenFrom::Mark {
            mark: ids.a.clone(),
        },
        right: Length::from_mm(right),
        up: Length::from_mm(up),
    };
    let of = PointRef::Feature(ids.spot.clone());
    let place = place_in_view(&source, &ids.face, &of, &view(right)).unwrap();
    let round_to = RADIUS * (right / RADIUS).asin();
    // A to B is 150 round on one girth; unrolled, the distances are those of the plane.
    let wanted = [round_to.hypot(up), (150.0 - round_to).hypot(up)];
    assert_eq!(place.distances.len(), 2);
    for (found, wanted) in place.distances.iter().zip(wanted) {
        // Kept in whole tenths.
        assert!(
            (found.value.mm() - wanted).abs() < 0.051,
            "{:?} for {wanted}",
            found.value
        );
    }
    assert_eq!(place.side, LineSide::Above);
    // Past 75° a hair on the drawing is a long way.
    let why = place_in_view(&source, &ids.face, &of, &view(156.0)).unwrap_err();
    assert!(why.to_string().contains("more than 75°"), "{why}");
    let why = place_in_view(&source, &ids.face, &of, &view(170.0)).unwrap_err();
    assert!(why.to_string().contains("edge-on or not at all"), "{why}");
    let mut gone = view(10.0);
    gone.from = SeenFrom::Level {
        mark: samespot_core::job::MarkId::new("gone").unwrap(),
    };
    let why = place_in_view(&source, &ids.face, &of, &gone).unwrap_err();
    assert!(
        why.to_string().contains("is not placed on this face"),
        "{why}"
    );
}
