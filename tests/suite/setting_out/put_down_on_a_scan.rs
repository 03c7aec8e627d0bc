//! A point put down on a face from a scan is a place of that scan.

use super::*;

#[test]
fn a_point_put_down_on_a_scan_is_picked_anew() {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let scan = read(&patch((-0.8, 0.8), (-0.8, 0.8), (80, 90), ball).stl()).unwrap();
    let names = ["a", "b", "c", "spot"];
    let places = [[-0.3, -0.1], [0.35, -0.05], [0.05, 0.4], [0.02, 0.12]];
    let marks: Vec<(String, [f64; 3])> = names
        .iter()
        .zip(places)
        .map(|(n, [a, b])| ((*n).to_owned(), ball(a, b)))
        .collect();
    let wanted = Wanted {
        marks: &marks,
        toward: None,
        up: [0.0, 0.0, 1.0],
        unit_mm: 1.0,
        smooth_mm: None,
    };
    let fitted = fit(&scan.mesh, &Boxes::over(&scan.mesh), &scan.look, &wanted).unwrap();
    let bytes = serde_json::to_vec(&fitted.patch).unwrap();
    let hash = attachment_hash(&bytes);
    let shape = FaceShape::Scan {
        attachment: hash.clone(),
        file: "invented.stl".into(),
        unit: "mm".into(),
    };
    let mut s = Script::one_face(shape, &names[..3], 1);
    s.attachments.insert(hash, bytes);
    let pick = |s: &mut Script, name: &str, at: [f64; 2]| {
        for (axis, value) in [(FaceAxis::U, at[0]), (FaceAxis::V, at[1])] {
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
    };
    for (name, laid) in names[..3].iter().zip(&fitted.marks) {
        pick(&mut s, name, laid.uv_mm);
    }
    let ask = |s: &Script, at: [f64; 2]| {
        let mut job = s.ledger.fold();
        read_scans(&mut job, &s.attachments);
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        drawn_place(&source, &id("face"), &point("spot"), at)
    };
    let first = ask(&s, [8.0, 14.0]).unwrap();
    assert!(first.distances.is_empty());
    let [u, v] = first.picked.unwrap();
    pick(&mut s, "spot", [u.mm(), v.mm()]);
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let view = face_view(&source, &id("face")).unwrap();
    let Stands::Held { face_mm, at_mm, .. } = view.features[0].stands else {
        panic!("{:?}", view.features[0].stands);
    };
    assert!(
        (face_mm[0] - u.mm()).hypot(face_mm[1] - v.mm()) < 0.01,
        "{face_mm:?}"
    );
    let [again_u, again_v] = ask(&s, at_mm).unwrap().picked.unwrap();
    assert!((again_u - u).abs().mm() < 0.01 && (again_v - v).abs().mm() < 0.01);
    // Off the scan nothing is kept.
    let why = ask(&s, [900.0, 0.0]).unwrap_err().to_string();
    assert!(why.contains("off the part of the scan"), "{why}");
}
