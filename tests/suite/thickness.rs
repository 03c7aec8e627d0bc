//! What a template is made of: the middle of a sheet keeps its length, half its thickness off the
//! face (neutral line of a bent sheet: sheet-metal handbooks; shared checks J).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops at the first fault"
)]

use samespot_core::job::{
    AxisChoice, Curve, Entry, FaceShape, Job, JobId, Ledger, LineSide, OutlineSpec, QuickCards,
    QuickIds, QuickPiece, ReplicaId, Size, Writer,
};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::{Shape, Surface};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;

fn job(face: &FaceShape, thickness_mm: f64) -> Job {
    let mm = Entry::of_mm;
    let cards = QuickCards {
        title: "Thickness (invented)".into(),
        outline: Some(OutlineSpec::Oval {
            width: mm(62.0),
            height: mm(48.0),
        }),
        lies_on: Some(face.clone()),
        a_to_b: Some(mm(90.0)),
        a_to_centre: Some(mm(60.0)),
        b_to_centre: Some(mm(60.0)),
        side: Some(LineSide::Above),
        thickness: Length::from_mm(thickness_mm),
        pieces: vec![QuickPiece {
            number: 1,
            a_to_b: Some(mm(90.0)),
        }],
        ..QuickCards::default()
    };
    let mut ledger = Ledger::new(JobId::new("thick").unwrap());
    let writer = Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    };
    for payload in cards.payloads("2026-11-26").unwrap() {
        ledger.write(&writer, &payload).unwrap();
    }
    let job = ledger.fold();
    assert_eq!(QuickCards::of_job(&job).unwrap().thickness, cards.thickness);
    job
}

fn prepared(face: &FaceShape, thickness_mm: f64) -> Result<Prepared, String> {
    let job = job(face, thickness_mm);
    let source = Source {
        job: &job,
        attachments: &Attachments::new(),
    };
    let spot = QuickIds::fixed().unwrap().spot;
    let piece = QuickIds::piece(1).unwrap().1;
    prepare(&source, &spot, &piece).map_err(|e| e.to_string())
}

fn size(mm: f64) -> Size {
    Size::Radius {
        radius: Entry::of_mm(mm),
    }
}

/// Across and up of the paint edge, and how far A stands from the centre on its own place.
fn drawn(face: &FaceShape, thickness_mm: f64) -> ([f64; 3], Surface) {
    let p = prepared(face, thickness_mm).unwrap();
    let b = p.paint_edge.bounds().unwrap();
    let a = (p.crosses[0].at - p.crosses[0].eased).from_origin();
    ([b.width().mm(), b.height().mm(), a.norm_mm()], p.surface)
}

#[track_caller]
fn close(what: &str, got: f64, wanted: f64) {
    // The grid of 1/1024 mm on both sides of a width.
    assert!((got - wanted).abs() < 3e-3, "{what}: {got} for {wanted}");
}

#[test]
fn each_kind_of_face_is_longer_or_shorter_by_half_the_thickness() {
    let board = 2.0;
    let ([w, h, _], _) = drawn(&FaceShape::Flat, board);
    close("flat across", w, 62.0);
    close("flat up", h, 48.0);

    let post = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: size(100.0),
    };
    let ([w, h, _], s) = drawn(&post, board);
    let r = s.values()[0];
    close("post across", w, 62.0 * (r + 1.0) / r);
    close("post up", h, 48.0);

    for hollow in [false, true] {
        let dome = FaceShape::Dome {
            hollow,
            size: size(200.0),
        };
        let ([w, h, a], s) = drawn(&dome, board);
        let r = s.values()[0];
        let k = (r + 1.0) / r;
        close("dome across", w, 62.0 * k);
        close("dome up", h, 48.0 * k);
        let ([.., bare], _) = drawn(&dome, 1e-3);
        close("a cross", a / k, bare);
        assert!((w > 62.0) != hollow, "{w}");
    }

    let barrel = FaceShape::TwoRadii {
        across: Curve::Bulging { size: size(120.0) },
        up: Curve::Bulging { size: size(220.0) },
    };
    let ([w, h, _], s) = drawn(&barrel, board);
    let [across, up, _] = s.values();
    // Along each way through the middle, near enough the girth for its narrowing to be under 0.03 mm.
    assert!((w - 62.0 * (across + 1.0) / across).abs() < 0.05, "{w}");
    assert!((h - 48.0 * (up + 1.0) / up).abs() < 0.05, "{h}");
    assert!(
        h < w * 48.0 / 62.0 - 0.1,
        "one scale for both ways would do"
    );
}

#[test]
fn a_hollow_tighter_than_the_sheet_is_refused_in_words() {
    let bowl = FaceShape::Dome {
        hollow: true,
        size: size(70.0),
    };
    let why = prepared(&bowl, 80.0).unwrap_err();
    assert!(why.contains("can't lie in a hollow"), "{why}");
    // What is printed says what it was made for.
    let p = prepared(&bowl, 0.5).unwrap();
    assert_eq!(p.thickness.to_um(), 500);
}
