//! What is half read leaves alone what is finished: on every kind of face, a second feature or a fourth
//! mark with the first of its readings changes nothing of a template that was there before.

use super::*;
use samespot_core::frames::{Face, Point2};
use samespot_core::job::{Follow, RuleSpec};
use samespot_core::prepare::{Prepared, prepare};
use samespot_core::surface::{Cylinder, Dome, FlatFace, ScanFace, Shape, Surface};

/// Where A, B, C, the spot, the crest and D are on the chart of the face.
const PLACES: [(&str, [f64; 2]); 6] = [
    ("a", [-60.0, -30.0]),
    ("b", [60.0, -34.0]),
    ("c", [4.0, 62.0]),
    ("spot", [-3.0, 12.0]),
    ("crest", [38.0, 20.0]),
    ("d", [45.0, 40.0]),
];

fn named(name: &str) -> PointRef {
    if name == "crest" {
        PointRef::Feature(id("crest"))
    } else {
        point(name)
    }
}

fn place(name: &str) -> Point2<Face> {
    let at = PLACES.iter().find(|(n, _)| *n == name).unwrap().1;
    Point2::from_mm(at[0], at[1])
}

/// A face with its pattern finished: three marks and the spot; and what a tape reads on it.
struct Finished {
    kind: &'static str,
    script: Script,
    surface: Surface,
}

impl Finished {
    fn tape(&mut self, from: &str, to: &str) {
        let far = self
            .surface
            .over_surface(place(from), place(to), 0)
            .unwrap();
        let of = Measured::Over {
            from: named(from),
            to: named(to),
        };
        self.script.read("pattern", of, far.mm);
    }

    /// Something is read on the casting that the template is for.
    fn with_a_casting_read(mut self) -> Self {
        let far = self
            .surface
            .over_surface(place("a"), place("b"), 0)
            .unwrap();
        self.script.over("c1", "a", "b", far.mm + 1.0);
        self
    }

    fn pick(&mut self, name: &str) {
        let at = place(name);
        for (axis, value) in [(FaceAxis::U, at.x_mm()), (FaceAxis::V, at.y_mm())] {
            let of = Measured::Coordinate {
                of: named(name),
                axis,
            };
            self.script.read("pattern", of, value);
        }
    }

    fn with_crest_and_d(mut self) -> Self {
        self.script.set(
            EntityRef::Feature(id("crest")),
            &FeatureEdit {
                face: Some(id("face")),
                name: Some("Crest".into()),
                outline: Some(OutlineSpec::Circle { diameter: mm(20.0) }),
                rule: Some(RuleSpec::Line {
                    from: id("a"),
                    to: id("b"),
                    side: None,
                    along: Follow::DifferenceSplit,
                    across: None,
                }),
                tolerance: Some(Length::from_mm(3.0)),
                ..FeatureEdit::default()
            },
        );
        self.script.set(
            EntityRef::Mark(id("d")),
            &MarkEdit {
                face: Some(id("face")),
                letter: Some("D".into()),
                ..MarkEdit::default()
            },
        );
        self
    }

    fn ask<T>(&self, of: impl FnOnce(&Source<'_>) -> T) -> T {
        let mut job = self.script.ledger.fold();
        assert!(job.problems.is_empty(), "{:?}", job.problems);
        read_scans(&mut job, &self.script.attachments);
        of(&Source {
            job: &job,
            attachments: &self.script.attachments,
        })
    }

    fn template(&self, of: &str) -> Result<Prepared, String> {
        self.ask(|source| prepare(source, &id(of), &id("p1")).map_err(|e| e.to_string()))
    }

    fn view(&self) -> FaceView {
        self.ask(|source| face_view(source, &id("face")).unwrap())
    }
}

/// One whose marks were taped from each other.
fn taped(kind: &'static str, shape: FaceShape, surface: Surface) -> Finished {
    let mut script = Script::one_face(shape, &["a", "b", "c"], 1);
    script.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    let mut face = Finished {
        kind,
        script,
        surface,
    };
    for (from, to) in [("a", "b"), ("a", "c"), ("b", "c")] {
        face.tape(from, to);
    }
    for from in ["a", "b", "c"] {
        face.tape(from, "spot");
    }
    face.with_a_casting_read()
}

/// One whose places were picked or typed.
fn picked(kind: &'static str, shape: FaceShape, surface: Surface) -> Finished {
    let mut face = Finished {
        kind,
        script: Script::one_face(shape, &["a", "b", "c"], 1),
        surface,
    };
    for name in ["a", "b", "c", "spot"] {
        face.pick(name);
    }
    face.with_a_casting_read()
}

fn on_a_scan() -> Finished {
    let r = 150.0;
    let ball = |a: f64, b: f64| [r * b.cos() * a.cos(), r * b.cos() * a.sin(), r * b.sin()];
    let scan = read(&patch((-0.9, 0.9), (-0.9, 0.9), (80, 90), ball).stl()).unwrap();
    let marks: Vec<(String, [f64; 3])> = [("A", -0.4, -0.2), ("B", 0.4, -0.2), ("C", 0.0, 0.4)]
        .map(|(n, a, b)| (n.to_owned(), ball(a, b)))
        .to_vec();
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
    let surface = Surface::Scan(ScanFace::new(fitted.patch).unwrap());
    let mut face = picked("scan, picked", shape, surface);
    face.script.attachments.insert(hash, bytes);
    face
}

fn faces() -> Vec<Finished> {
    let radius = || Size::Radius { radius: mm(150.0) };
    let round = Length::from_mm(150.0);
    let dome = || FaceShape::Dome {
        hollow: false,
        size: radius(),
    };
    let dome_face =
        || Surface::Dome(Dome::new(round, samespot_core::surface::Bulge::Bulging).unwrap());
    let cylinder = FaceShape::Cylinder {
        hollow: false,
        axis: AxisChoice::Up,
        size: radius(),
    };
    let post = Surface::Cylinder(
        Cylinder::new(
            round,
            samespot_core::surface::Axis::Up,
            samespot_core::surface::Bulge::Bulging,
        )
        .unwrap(),
    );
    vec![
        taped("flat", FaceShape::Flat, Surface::Flat(FlatFace)),
        picked("flat, typed", FaceShape::Flat, Surface::Flat(FlatFace)),
        taped("dome", dome(), dome_face()),
        picked("dome, typed", dome(), dome_face()),
        taped("post", cylinder, post),
        on_a_scan(),
    ]
}

#[track_caller]
fn same(kind: &str, before: &Prepared, after: &Prepared) {
    assert_eq!(before.placed.marks, after.placed.marks, "{kind}");
    assert_eq!(before.budget.worst, after.budget.worst, "{kind}");
    assert_eq!(before.crosses.len(), after.crosses.len(), "{kind}");
}

#[test]
fn a_second_feature_with_half_its_readings_leaves_the_first_as_it_was() {
    for face in faces() {
        let before = face.template("spot").unwrap();
        let mut face = face.with_crest_and_d();
        face.tape("a", "crest");
        let kind = face.kind;
        let after = face
            .template("spot")
            .unwrap_or_else(|e| panic!("{kind}: {e}"));
        same(kind, &before, &after);
        let view = face.view();
        for mark in view.marks.iter().filter(|m| m.letter != "D") {
            assert!(
                matches!(mark.stands, Stands::Held { .. }),
                "{kind}: {mark:?}"
            );
        }
        let of = |title: &str| view.features.iter().find(|f| f.title == title).unwrap();
        assert!(
            matches!(of("Spot").stands, Stands::Held { .. }),
            "{kind}: {:?}",
            of("Spot").stands
        );
        let Stands::Open { need, .. } = &of("Crest").stands else {
            panic!("{kind}: {:?}", of("Crest").stands)
        };
        assert_eq!(need, "read it from B as well", "{kind}");
        // What is asked of the crest itself is said with the crest.
        let why = face.template("crest").unwrap_err();
        assert!(
            why.contains("nothing places the middle of Crest") && why.contains("read it from"),
            "{kind}: {why}"
        );
    }
}

#[test]
fn a_feature_that_fits_on_either_side_asks_for_itself_alone() {
    for face in faces() {
        let before = face.template("spot").unwrap();
        let mut face = face.with_crest_and_d();
        face.tape("a", "crest");
        face.tape("b", "crest");
        let kind = face.kind;
        same(kind, &before, &face.template("spot").unwrap());
        let view = face.view();
        let asked: Vec<&str> = (view.marks.iter().map(|m| (m.letter.as_str(), &m.stands)))
            .chain(view.features.iter().map(|f| (f.title.as_str(), &f.stands)))
            .filter(|(_, s)| matches!(s, Stands::EitherSide { .. }))
            .map(|(n, _)| n)
            .collect();
        assert_eq!(asked, ["Crest"], "{kind}");
        let why = face.template("crest").unwrap_err();
        assert!(why.contains("say on which side"), "{kind}: {why}");
        // Once it is told, it is where it was put.
        face.script.set(
            EntityRef::Feature(id("crest")),
            &FeatureEdit {
                side: Some(LineSide::Above),
                ..FeatureEdit::default()
            },
        );
        let view = face.view();
        let crest = view.features.iter().find(|f| f.title == "Crest").unwrap();
        assert!(matches!(crest.stands, Stands::Held { .. }), "{kind}");
        let marks = face.template("crest").unwrap().placed.marks;
        let far = |k: usize, from: &str| {
            let over = face.surface.over_surface(place(from), place("crest"), 0);
            // Seen from the crest, what was rolled out keeps its distances (a casting's allowance is 2 in 1000).
            (marks[k].from_origin().norm_mm() - over.unwrap().mm).abs()
        };
        for (k, from) in ["a", "b"].iter().enumerate() {
            assert!(far(k, from) < 0.5, "{kind}: {from} {}", far(k, from));
        }
    }
}

#[test]
fn a_mark_with_one_reading_leaves_the_others_as_they_were() {
    for face in faces() {
        let before = face.template("spot").unwrap();
        let mut face = face.with_crest_and_d();
        face.tape("b", "d");
        let kind = face.kind;
        same(kind, &before, &face.template("spot").unwrap());
        // What follows that mark says what the mark wants.
        face.script.set(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                rule: Some(RuleSpec::Line {
                    from: id("a"),
                    to: id("d"),
                    side: None,
                    along: Follow::DifferenceSplit,
                    across: None,
                }),
                ..FeatureEdit::default()
            },
        );
        let why = face.template("spot").unwrap_err();
        assert!(
            why.contains("nothing places D") && why.contains("read it from"),
            "{kind}: {why}"
        );
    }
}

/// Two that hang on each other: what is wanted of the first is what is said of the second.
#[test]
fn where_one_hangs_on_another_the_first_is_asked_for() {
    for face in faces() {
        let mut face = face.with_crest_and_d();
        face.tape("b", "d");
        face.tape("a", "crest");
        face.tape("d", "crest");
        let kind = face.kind;
        assert!(face.template("spot").is_ok(), "{kind}");
        let why = face.template("crest").unwrap_err();
        assert!(why.contains("nothing places D"), "{kind}: {why}");
    }
}
