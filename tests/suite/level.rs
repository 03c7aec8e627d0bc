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
    Curve, Edit, EntityRef, Entry, FaceEdit, FaceShape, Job, JobId, Ledger, LineSide, OutlineSpec,
    Payload, QuickCards, QuickIds, QuickPiece, ReplicaId, Runs, Size, Writer,
};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::{Shape, Surface};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;

const STRIP: [f64; 2] = [200.0, 4.0];

fn job(face: &FaceShape, runs: Runs, [ab, ac, bc]: [f64; 3]) -> Job {
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
    let mut ledger = Ledger::new(JobId::new("level").unwrap());
    let writer = Writer {
        replica: ReplicaId(7),
        who: String::new(),
        wall: String::new(),
    };
    for payload in cards.payloads("2026-11-26").unwrap() {
        ledger.write(&writer, &payload).unwrap();
    }
    let edit = Edit::of(
        EntityRef::Face(QuickIds::fixed().unwrap().face),
        &FaceEdit {
            shape: Some(face.clone()),
            ..FaceEdit::default()
        },
    );
    ledger
        .write(&writer, &Payload::Edit(edit.unwrap()))
        .unwrap();
    let job = ledger.fold();
    assert_eq!(QuickCards::of_job(&job).unwrap().runs, runs);
    job
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
