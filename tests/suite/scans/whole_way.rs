//! From a scan to a stencil: a ball as a scan and as a dome, and a model that somebody really scanned.

use super::{V, fitted};
use samespot_core::job::{FaceAxis, FaceShape, Measured, Payload, Reading, Size};
use samespot_core::prepare::setout::{FaceView, face_view};
use samespot_core::prepare::{Prepared, Source, prepare, read_scans};
use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::fit::{Fitted, Wanted, fit};
use samespot_core::read::mesh::view::View;
use samespot_core::read::mesh::{ScanUnit, read};
use samespot_core::units::Length;
use samespot_core::write::job::attachment_hash;
use samespot_tests::jobs::{Script, id, mm, point};
use samespot_tests::meshes::patch;

const NAMES: [&str; 4] = ["a", "b", "c", "spot"];

/// A job whose face is a fitted scan with its marks picked: A, B, C and the spot.
fn job(fitted: &Fitted) -> Script {
    let bytes = serde_json::to_vec(&fitted.patch).unwrap();
    let hash = attachment_hash(&bytes);
    let shape = FaceShape::Scan {
        attachment: hash.clone(),
        file: "invented.stl".into(),
        unit: "mm".into(),
    };
    let mut s = Script::one_face(shape, &NAMES[..3], 1);
    s.attachments.insert(hash, bytes);
    for (name, laid) in NAMES.iter().zip(&fitted.marks) {
        for (axis, value) in [(FaceAxis::U, laid.uv_mm[0]), (FaceAxis::V, laid.uv_mm[1])] {
            s.say(&Payload::Reading(Reading {
                casting: id("pattern"),
                of: Measured::Coordinate {
                    of: point(name),
                    axis,
                },
                value: mm(value),
                instrument: None,
                hooked: false,
                stage: None,
                within: Some(Length::from_mm(0.5)),
                set_aside: None,
            }));
        }
    }
    s
}

fn prepared(s: &Script) -> Result<Prepared, String> {
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare(&source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
}

#[test]
fn a_stencil_from_a_scan_is_that_of_the_ball_it_is_a_scan_of() {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let marks = [[-0.3, -0.1], [0.35, -0.05], [0.05, 0.4], [0.02, 0.12]].map(|[a, b]| ball(a, b));
    let over = |i: usize, j: usize| {
        let dot: f64 = marks[i].iter().zip(&marks[j]).map(|(a, b)| a * b).sum();
        r * (dot / r / r).acos()
    };
    let scan = read(&patch((-0.9, 0.9), (-0.9, 0.9), (150, 170), ball).stl()).unwrap();
    let mut scanned = job(&fitted(&scan, &marks, None, None));
    let dome = FaceShape::Dome {
        hollow: false,
        size: Size::Radius { radius: mm(r) },
    };
    let mut domed = Script::one_face(dome, &NAMES[..3], 1);
    domed.set(
        samespot_core::job::EntityRef::Mark(id("c")),
        &samespot_core::job::MarkEdit {
            side: Some(samespot_core::job::LineSide::Above),
            ..Default::default()
        },
    );
    for (i, j) in [(0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (2, 3)] {
        domed.over("pattern", NAMES[i], NAMES[j], over(i, j));
    }
    // A casting two millimetres wider between A and B.
    for s in [&mut scanned, &mut domed] {
        for (i, j) in [(0, 1), (0, 2), (1, 2)] {
            s.over(
                "c1",
                NAMES[i],
                NAMES[j],
                over(i, j) + if j == 1 { 2.0 } else { 0.5 },
            );
        }
    }
    let (one, other) = (prepared(&scanned).unwrap(), prepared(&domed).unwrap());
    let mut worst: f64 = 0.0;
    for (p, q) in one.placed.marks.iter().zip(&other.placed.marks) {
        worst = worst.max((*p - *q).norm_mm());
    }
    eprintln!(
        "marks as the stencil sees them differ by {worst:.3} mm; {} | {}",
        one.leaves, other.leaves
    );
    // A dome's radius moves with the readings by its prior, a scan's size by its own.
    assert!(worst < 0.3, "{worst}");
    assert!(
        one.warnings
            .iter()
            .any(|w| w.contains("from a scan, smoothed over")),
        "{:?}",
        one.warnings
    );
    assert!((one.paint_edge.area_mm2() - other.paint_edge.area_mm2()).abs() < 1.0);
}

#[test]
fn what_is_missing_of_a_scan_is_said() {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let scan = read(&patch((-0.9, 0.9), (-0.9, 0.9), (80, 90), ball).stl()).unwrap();
    let marks = [[-0.3, -0.1], [0.35, -0.05], [0.05, 0.4], [0.02, 0.12]].map(|[a, b]| ball(a, b));
    let fitted = fitted(&scan, &marks, None, None);
    let mut s = job(&fitted);
    s.over("c1", "a", "b", 97.0);
    assert!(prepared(&s).is_ok(), "{:?}", prepared(&s).err());
    let whole = s.attachments.clone();
    s.attachments.clear();
    let why = prepared(&s).unwrap_err();
    assert!(
        why.contains("is missing from this copy of the job"),
        "{why}"
    );
    s.attachments = whole
        .into_iter()
        .map(|(h, mut b)| (h, b.split_off(9)))
        .collect();
    let why = prepared(&s).unwrap_err();
    assert!(why.contains("is damaged"), "{why}");
}

/// A pick that the tape contradicts is named by its mark, with what the others say.
#[test]
fn a_mark_that_fits_the_scan_badly_is_named() {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let places = [[-0.3, -0.1], [0.35, -0.05], [0.05, 0.4], [0.02, 0.12]].map(|[a, b]| ball(a, b));
    let over = |i: usize, j: usize| {
        let dot: f64 = places[i].iter().zip(&places[j]).map(|(a, b)| a * b).sum();
        r * (dot / r / r).acos()
    };
    let scan = read(&patch((-0.9, 0.9), (-0.9, 0.9), (120, 130), ball).stl()).unwrap();
    let pairs = [(0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (2, 3)];
    let view = |fitted: &Fitted| {
        let mut s = job(fitted);
        for (i, j) in pairs {
            s.over("pattern", NAMES[i], NAMES[j], over(i, j));
        }
        let mut job = s.ledger.fold();
        read_scans(&mut job, &s.attachments);
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        face_view(&source, &id("face")).unwrap()
    };
    let doubted = |view: &FaceView| -> Vec<String> {
        let of = view.readings.iter();
        of.filter_map(|r| Some(format!("{}: {}", r.words, r.doubt.as_ref()?)))
            .collect()
    };
    let good = fitted(&scan, &places, None, None);
    assert_eq!(doubted(&view(&good)), Vec::<String>::new());
    // C was tapped 9 mm beside its cross.
    let mut beside = fitted(&scan, &places, None, None);
    beside.marks[2].uv_mm[0] += 9.0;
    let odd = doubted(&view(&beside));
    assert!(
        odd.iter()
            .any(|w| w.starts_with('C') && w.contains("The others say")),
        "{odd:?}"
    );
}

/// The scanned model of the shared data, 10 of its units to 100 mm: load, place, patch, stencil.
#[test]
fn a_model_that_was_really_scanned_goes_the_whole_way() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../shared/data/meshes/bunny.obj"
    );
    let Ok(bytes) = std::fs::read(path) else {
        eprintln!("skipped: shared data not here");
        return;
    };
    let scan = read(&bytes).unwrap();
    // ../shared/data/README.md: what its area and volume are expected to be.
    assert_eq!(
        (scan.mesh.points.len(), scan.mesh.triangles.len()),
        (1839, 3674)
    );
    assert!(
        (scan.look.area - 218.6893).abs() < 1e-3,
        "{}",
        scan.look.area
    );
    assert!(
        (scan.look.volume.unwrap() - 194.2884).abs() < 1e-3,
        "{:?}",
        scan.look.volume
    );
    // Picked on its flank as somebody would, in the picture.
    let boxes = Boxes::over(&scan.mesh);
    let up = [0.0, 1.0, 0.0];
    let view = View::of(&scan.look, up, (0.0, 0.0), (1.0, None), [480, 480]);
    let picture = view.picture(&scan.mesh);
    if let Some(dir) = std::env::var_os("SAMESPOT_PICTURES") {
        std::fs::write(std::path::Path::new(&dir).join("bunny.png"), &picture).unwrap();
    }
    let under = |x: f64, y: f64| {
        view.under(&scan.mesh, &boxes, &scan.look, [x, y])
            .unwrap()
            .at
    };
    let marks: [V; 4] = [
        under(215.0, 330.0),
        under(285.0, 335.0),
        under(250.0, 270.0),
        under(250.0, 310.0),
    ];
    let named: Vec<(String, V)> = NAMES
        .iter()
        .zip(marks)
        .map(|(n, m)| ((*n).to_owned(), m))
        .collect();
    let wanted = Wanted {
        marks: &named,
        toward: Some(view.toward),
        up,
        // One of its units is taken as 40 mm: a piece some 35 cm tall.
        unit_mm: 4.0 * ScanUnit::Cm.mm(),
        smooth_mm: None,
    };
    let fitted = fit(&scan.mesh, &boxes, &scan.look, &wanted).unwrap();
    eprintln!(
        "edges {:.1} mm, smoothed over {:.0}, moved {:.2} at most, {:.2} on the whole, {} triangles",
        fitted.edge_mm,
        fitted.patch.smoothed_over_mm,
        fitted.patch.moved_most_mm,
        fitted.patch.moved_rms_mm,
        fitted.triangles
    );
    let mut s = job(&fitted);
    let apart = |i: usize, j: usize| {
        let d: f64 = (0..3).map(|k| (marks[i][k] - marks[j][k]).powi(2)).sum();
        d.sqrt() * wanted.unit_mm
    };
    s.read(
        "c1",
        Measured::Straight {
            from: point("a"),
            to: point("b"),
        },
        apart(0, 1) + 1.0,
    );
    let stencil = prepared(&s).unwrap();
    eprintln!(
        "{}{} {:?}",
        stencil.laying_words, stencil.leaves, stencil.warnings
    );
    assert!((stencil.paint_edge.area_mm2() - 900.0 * core::f64::consts::PI).abs() < 5.0);
}
