//! An outline drawn as it is seen, on a face that was scanned: through the sheet, read back from its SVG,
//! it lies where the closed form of what was scanned says.
//!
//! Outside values: the orthographic projection of a sphere (Snyder 1987, section 20) with the azimuthal
//! equidistant map the sheet is (section 25), and of a cylinder (elementary: x = R sin θ, arc = Rθ).

use super::{V, fitted};
use samespot_core::job::{
    EntityRef, FaceAxis, FaceShape, FeatureEdit, FeatureId, Measured, OutlineSpec, Payload,
    Reading, SeenFrom,
};
use samespot_core::prepare::setout::face_view;
use samespot_core::prepare::{PrepareError, Prepared, Source, issue, prepare, read_scans};
use samespot_core::read::mesh::read;
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_core::write::job::attachment_hash;
use samespot_core::write::svg::svg_page;
use samespot_tests::jobs::{Script, id, mm, point};
use samespot_tests::meshes::{Made, patch};

const NAMES: [&str; 5] = ["a", "b", "c", "d", "spot"];

/// A, B, C, D and the spot picked on a scan; a circle of a diameter on the spot, as it is seen. The
/// casting is like the pattern: its distances are those the surface says of the picked places.
fn job(made: &Made, marks: [V; 5], across: f64, seen: SeenFrom) -> Script {
    let scan = read(&made.stl()).unwrap();
    let fitted = fitted(&scan, &marks, None, None);
    let bytes = serde_json::to_vec(&fitted.patch).unwrap();
    let hash = attachment_hash(&bytes);
    let shape = FaceShape::Scan {
        attachment: hash.clone(),
        file: "invented.stl".into(),
        unit: "mm".into(),
    };
    let mut s = Script::one_face(shape, &NAMES[..4], 1);
    s.attachments.insert(hash, bytes);
    for casting in ["pattern", "c1"] {
        for (name, laid) in NAMES.iter().zip(&fitted.marks) {
            if casting == "c1" && *name == "spot" {
                continue;
            }
            for (axis, value) in [(FaceAxis::U, laid.uv_mm[0]), (FaceAxis::V, laid.uv_mm[1])] {
                s.say(&Payload::Reading(Reading {
                    casting: id(casting),
                    of: Measured::Coordinate {
                        of: point(name),
                        axis,
                    },
                    value: mm(value),
                    instrument: None,
                    hooked: false,
                    stage: None,
                    within: Some(Length::from_mm(0.2)),
                    set_aside: None,
                }));
            }
        }
    }
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Circle {
                diameter: mm(across),
            }),
            seen: Some(seen),
            // One sheet without darts, as thin as nothing.
            tolerance: Some(Length::from_mm(12.0)),
            thickness: Some(Length::from_mm(0.001)),
            ..FeatureEdit::default()
        },
    );
    s
}

/// The paint edge about the middle of the feature, y up, from the sheet; and what it was made from.
fn from_its_sheet(s: &Script) -> (Vec<(f64, f64)>, Prepared) {
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let made = issue(
        &source,
        &id::<FeatureId>("spot"),
        &id("p1"),
        Paper::A3,
        "2026-11-28",
    )
    .unwrap();
    assert_eq!(made.drawing.pages.len(), 1);
    let svg = svg_page(&made.drawing, 0).unwrap();
    let doc = roxmltree::Document::parse(&svg).unwrap();
    let lines = |name: &str| -> Vec<Vec<(f64, f64)>> {
        let group = doc.descendants().find(|n| n.attribute("id") == Some(name));
        let all = group.unwrap().descendants();
        all.filter_map(|n| n.attribute("d"))
            .map(|d| {
                let mut points = Vec::new();
                kurbo::flatten(kurbo::BezPath::from_svg(d).unwrap(), 0.005, |el| match el {
                    kurbo::PathEl::MoveTo(p) | kurbo::PathEl::LineTo(p) => points.push((p.x, -p.y)),
                    _ => {}
                });
                points
            })
            .collect()
    };
    let (lying, standing): (Vec<_>, Vec<_>) = lines("centre-line")
        .into_iter()
        .partition(|l| (l[0].1 - l[1].1).abs() < 1e-6);
    let (x, y) = (standing[0][0].0, lying[0][0].1);
    let edge = lines("paint-edge").concat();
    assert!(edge.len() > 50);
    let about = edge.into_iter().map(|p| (p.0 - x, p.1 - y)).collect();
    (about, made.prepared)
}

fn refused(s: &Script) -> String {
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let view = face_view(&source, &id("face")).unwrap();
    let shown = view.features.first().unwrap();
    // What is turned away is drawn broken on Setting out, what is not stays whole.
    assert!(!shown.away.is_empty() && !shown.outline.is_empty());
    assert!(shown.size.contains("75°"), "{}", shown.size);
    let why = prepare(&source, &id("spot"), &id("p1")).unwrap_err();
    assert!(matches!(why, PrepareError::Elevation { .. }), "{why}");
    why.to_string()
}

const BALL: f64 = 150.0;

fn ball(a: f64, b: f64) -> V {
    [
        BALL * b.cos() * a.cos(),
        BALL * b.cos() * a.sin(),
        BALL * b.sin(),
    ]
}

/// A scanned ball with D turned 55° from the spot.
fn scanned_ball(across: f64, seen: SeenFrom) -> Script {
    let made = patch((-1.0, 1.0), (-0.9, 0.9), (170, 170), ball);
    let at = [
        [-0.6, -0.25],
        [0.1, -0.25],
        [-0.2, 0.35],
        [0.66, 0.05],
        [-0.3, 0.05],
    ];
    job(&made, at.map(|[a, b]| ball(a, b)), across, seen)
}

/// A place of the sheet on the ball with the spot as its pole (Snyder 1987, section 25).
fn on_ball((x, y): (f64, f64)) -> V {
    let far = x.hypot(y).max(1e-12);
    let c = far / BALL;
    [
        BALL * c.sin() * x / far,
        BALL * c.sin() * y / far,
        BALL * c.cos(),
    ]
}

/// How far from the spot a place is seen, looking along the normal of another.
fn seen_off(p: V, towards: V) -> f64 {
    let d = [p[0], p[1], p[2] - BALL];
    let along: f64 = d.iter().zip(&towards).map(|(a, b)| a * b / BALL).sum();
    (d.iter().map(|x| x * x).sum::<f64>() - along * along).sqrt()
}

#[test]
fn on_a_scanned_ball_straight_on_and_from_another_mark() {
    let across = 70.0;
    let (edge, _) = from_its_sheet(&scanned_ball(across, SeenFrom::Middle));
    // Snyder 1987, eq. 20-18: ρ = R sin c.
    let out = BALL * (across / 2.0 / BALL).asin();
    let worst = |far: &dyn Fn(&(f64, f64)) -> f64| edge.iter().map(far).fold(0.0, f64::max);
    let off = worst(&|p| (p.0.hypot(p.1) - out).abs());
    assert!(off < 0.03, "{off}");
    assert!(out - across / 2.0 > 0.3, "and that is another circle");

    let small = 24.0;
    let (edge, made) = from_its_sheet(&scanned_ball(small, SeenFrom::Mark { mark: id("d") }));
    let d = made.crosses.iter().position(|c| c.letter == "D").unwrap();
    let d = made.placed.marks[d];
    let towards = on_ball((d.x_mm(), d.y_mm()));
    let turned = (towards[2] / BALL).acos().to_degrees();
    assert!((50.0..60.0).contains(&turned), "{turned}");
    // A hair on the drawing is nearly twice as long there: 0.05 on the face is less in the view.
    for p in &edge {
        let off = (seen_off(on_ball(*p), towards) - small / 2.0).abs();
        assert!(off < 0.03, "{off} at {p:?}");
    }
    let longest = edge.iter().map(|p| p.0.hypot(p.1)).fold(0.0, f64::max);
    assert!(longest > 0.75 * small, "an oval there: {longest}");
}

/// The spot is turned 55° from the eye: a drawing 24 out from it on the far side is at
/// asin(sin 55° + 24/150) = 78°, past 75°.
#[test]
fn on_a_scanned_ball_what_is_turned_away_is_broken_and_not_printed() {
    let why = refused(&scanned_ball(48.0, SeenFrom::Mark { mark: id("d") }));
    assert!(
        why.contains("75°") && why.contains("over the surface"),
        "{why}"
    );
}

#[test]
fn on_a_scanned_post_straight_on() {
    const POST: f64 = 120.0;
    let across = 100.0;
    let post = |a: f64, b: f64| [POST * a.cos(), POST * a.sin(), POST * b];
    let made = patch((-1.1, 1.1), (-0.9, 0.9), (170, 140), post);
    // A and B on one level, so that up on the sheet is up the post.
    let at = [
        [-0.5, -0.4],
        [0.5, -0.4],
        [0.05, 0.6],
        [-0.4, 0.5],
        [0.0, 0.1],
    ];
    let s = job(&made, at.map(|[a, b]| post(a, b)), across, SeenFrom::Middle);
    let (edge, _) = from_its_sheet(&s);
    for (x, y) in &edge {
        let off = ((POST * (x / POST).sin()).hypot(*y) - across / 2.0).abs();
        assert!(off < 0.03, "{off} at {x}, {y}");
    }
    let wide = edge.iter().map(|p| p.0.abs()).fold(0.0, f64::max);
    assert!(
        (wide - POST * (across / 2.0 / POST).asin()).abs() < 0.03,
        "{wide}"
    );
    assert!(wide > 51.5, "and that is wider than drawn");
}
