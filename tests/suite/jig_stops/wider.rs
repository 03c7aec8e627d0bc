//! A bracket wider than its face.

use super::*;

/// The face ends 50 below A and B. Its middle lies at (140, 60) from A: holes 200 apart up and down come
/// to −40 at the lower ones, and a hole of 9 (M8, ISO 273 medium) to −44.5: on the face. 220 apart they
/// come to −54.5, 4.5 over its edge.
#[test]
fn a_bracket_wider_than_its_face_is_refused_by_its_hole_and_edge() {
    let mut s = run();
    edges(
        &mut s,
        "c1",
        [
            ("below", "a", 50.0),
            ("below", "b", 50.0),
            ("left", "a", 40.0),
        ],
    );
    let tall = |s: &mut Script, up: f64| {
        s.set(
            EntityRef::Fixing(id("bolts")),
            &FixingEdit {
                pattern: Some(HolePattern::Rectangle {
                    across: mm(70.0),
                    up: mm(up),
                }),
                ..FixingEdit::default()
            },
        );
        view(s).cannot
    };
    assert_eq!(tall(&mut s, 200.0), None);
    let why = tall(&mut s, 220.0).unwrap();
    assert!(
        why.contains("hole 1 would come 4.5 mm over the edge below, as that was read from"),
        "{why}"
    );
    assert!(why.contains("a smaller pattern, or another place"), "{why}");
    // An edge that runs down to the right, 50 under A and 80 under B: opposite hole 2, 175 along, it
    // lies 67.5 low, and the same hole is on the face.
    edges(
        &mut s,
        "c1",
        [
            ("below", "a", 50.0),
            ("below", "b", 80.0),
            ("left", "a", 40.0),
        ],
    );
    assert_eq!(tall(&mut s, 220.0), None);
    // On a post of 60 the face turns away before it ends: marks 60 apart, holes 150.
    let mut s = Script::one_face(
        FaceShape::Cylinder {
            axis: AxisChoice::Up,
            hollow: false,
            size: Size::Radius { radius: mm(60.0) },
        },
        &["a", "b", "c"],
        1,
    );
    c_above(&mut s);
    for casting in ["pattern", "c1"] {
        s.over(casting, "a", "b", 60.0);
        s.over(casting, "a", "c", 30.0_f64.hypot(60.0));
        s.over(casting, "b", "c", 30.0_f64.hypot(60.0));
    }
    let pattern = HolePattern::Row {
        count: 2,
        pitch: mm(150.0),
    };
    bolts(&mut s, ("a", 30.0, 30.0), pattern);
    let why = view(&s).cannot.unwrap();
    assert!(why.contains("only grazes the face or misses it"), "{why}");
}
