//! One of a pair made from the other by mirroring, against plane and spherical geometry.
//!
//! A reflection keeps every distance and undoes itself (Coxeter, *Introduction to Geometry* 2nd
//! ed. 1969, §1.3 and §3.1, cited from memory); in the line halfway between two points it exchanges them.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a failed unwrap fails the test"
)]

use proptest::prelude::*;
use samespot_core::frames::{Face, Flat, Point2, Vector2};
use samespot_core::job::{
    Amendment, AxisChoice, CastingEdit, CastingId, Change, Curve, Edit, EntityRef, Entry, FaceEdit,
    FaceId, FaceShape, FeatureEdit, FeatureId, Follow, Hand, IssueEdit, IssueId, Job, JobId,
    Ledger, LineSide, MarkEdit, MarkId, Measured, Mirror, OutlineSpec, PairEdit, PairId, PartEdit,
    PartId, Payload, PieceId, PointRef, Reading, ReplicaId, RuleSpec, Size, Writer,
};
use samespot_core::outline::Outline;
use samespot_core::outline::lettering::Weight;
use samespot_core::prepare::setout::{FaceView, FeatureView, Stands, face_view};
use samespot_core::prepare::{Source, pattern_face, prepare};
use samespot_core::surface::{Shape, Surface};
use samespot_core::units::{Angle, Length};
use samespot_core::write::job::Attachments;

struct Design(Ledger);

fn id(letter: &str) -> MarkId {
    MarkId::new(&letter.to_lowercase()).unwrap()
}

fn mark(letter: &str) -> PointRef {
    PointRef::Mark(id(letter))
}

fn eye(which: &str) -> FeatureId {
    FeatureId::new(which).unwrap()
}

fn halfway() -> Mirror {
    Mirror::Halfway {
        from: id("A"),
        to: id("B"),
    }
}

impl Design {
    fn begin(shape: FaceShape) -> Self {
        let mut design = Self(Ledger::new(JobId::new("j").unwrap()));
        let part = PartId::new("head").unwrap();
        design.edit(EntityRef::Part(part.clone()), &PartEdit::default());
        design.edit(
            EntityRef::Casting(CastingId::new("pattern").unwrap()),
            &CastingEdit {
                part: Some(part.clone()),
                pattern: Some(true),
                ..CastingEdit::default()
            },
        );
        design.edit(
            EntityRef::Face(FaceId::new("front").unwrap()),
            &FaceEdit {
                part: Some(part),
                shape: Some(shape),
                ..FaceEdit::default()
            },
        );
        for letter in ["A", "B"] {
            design.edit(
                EntityRef::Mark(id(letter)),
                &MarkEdit {
                    face: Some(FaceId::new("front").unwrap()),
                    letter: Some(letter.into()),
                    ..MarkEdit::default()
                },
            );
        }
        design
    }

    fn say(&mut self, payload: &Payload) {
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        self.0.write(&writer, payload).unwrap();
    }

    fn edit(&mut self, on: EntityRef, fields: &impl serde::Serialize) {
        self.say(&Payload::Edit(Edit::of(on, fields).unwrap()));
    }

    fn read(&mut self, from: &PointRef, to: &PointRef, mm: f64) {
        self.say(&Payload::Reading(Reading {
            casting: CastingId::new("pattern").unwrap(),
            of: Measured::Over {
                from: from.clone(),
                to: to.clone(),
            },
            value: Entry::of_mm(mm),
            instrument: None,
            hooked: false,
            stage: None,
            within: Some(Length::from_mm(0.5)),
            set_aside: None,
        }));
    }

    /// An eye with readings of its own, above the line A–B.
    fn original(&mut self, which: &str, turn_deg: f64, outline: OutlineSpec, from: [f64; 2]) {
        self.edit(
            EntityRef::Feature(eye(which)),
            &FeatureEdit {
                face: Some(FaceId::new("front").unwrap()),
                name: Some("Eye".into()),
                outline: Some(outline),
                tolerance: Some(Length::from_mm(2.0)),
                side: Some(LineSide::Above),
                turn: Some(Angle::from_deg(turn_deg)),
                rule: Some(RuleSpec::Line {
                    from: id("A"),
                    to: id("B"),
                    side: None,
                    along: Follow::DifferenceSplit,
                    across: None,
                }),
                ..FeatureEdit::default()
            },
        );
        let middle = PointRef::Feature(eye(which));
        self.read(&mark("A"), &middle, from[0]);
        self.read(&mark("B"), &middle, from[1]);
    }

    /// The other eye, made from the left one.
    fn made(&mut self, mirror: Mirror) {
        self.edit(
            EntityRef::Feature(eye("right")),
            &FeatureEdit {
                face: Some(FaceId::new("front").unwrap()),
                hand: Some(Hand::Right),
                ..FeatureEdit::default()
            },
        );
        self.edit(
            EntityRef::Pair(PairId::new("eyes").unwrap()),
            &PairEdit {
                left: Some(eye("left")),
                right: Some(eye("right")),
                mirror: Some(mirror),
                made: Some(Hand::Right),
                ..PairEdit::default()
            },
        );
    }

    fn job(&self) -> Job {
        let job = self.0.fold();
        assert!(job.problems.is_empty(), "{:?}", job.problems);
        job
    }

    fn view_with(&self, attachments: &Attachments) -> FaceView {
        let job = self.job();
        let source = Source {
            job: &job,
            attachments,
        };
        face_view(&source, &FaceId::new("front").unwrap()).unwrap()
    }

    fn view(&self) -> FaceView {
        self.view_with(&Attachments::new())
    }
}

fn feature<'a>(view: &'a FaceView, which: &str) -> &'a FeatureView {
    view.features
        .iter()
        .find(|f| f.feature == eye(which))
        .unwrap()
}

#[track_caller]
fn held(stands: &Stands) -> ([f64; 2], Length) {
    match stands {
        Stands::Held { at_mm, within, .. } => (*at_mm, *within),
        other => panic!("not held: {other:?}"),
    }
}

#[track_caller]
fn on_face(stands: &Stands) -> Point2<Face> {
    match stands {
        Stands::Held { face_mm, .. } => Point2::from_mm(face_mm[0], face_mm[1]),
        other => panic!("not held: {other:?}"),
    }
}

#[track_caller]
fn near(a: [f64; 2], b: [f64; 2]) {
    // Readings are exact and the solution stops well below a micrometre.
    let off = (a[0] - b[0]).hypot(a[1] - b[1]);
    assert!(off < 1e-3, "{a:?} is {off} mm from {b:?}");
}

fn oval() -> OutlineSpec {
    OutlineSpec::Oval {
        width: Entry::of_mm(62.0),
        height: Entry::of_mm(40.0),
    }
}

/// A and B 500 apart, the left eye 300 from A and 400 from B: its foot divides A–B into 180 and
/// 320, its height is 240 (Euclid VI.8).
fn flat(turn_deg: f64, outline: OutlineSpec) -> Design {
    let mut design = Design::begin(FaceShape::Flat);
    design.read(&mark("A"), &mark("B"), 500.0);
    design.original("left", turn_deg, outline, [300.0, 400.0]);
    design
}

#[test]
fn across_the_line_halfway_between_two_marks() {
    let mut design = flat(15.0, oval());
    design.made(halfway());
    let view = design.view();
    let (a, _) = held(&view.marks[0].stands);
    let (right, sure) = held(&feature(&view, "right").stands);
    near([right[0] - a[0], right[1] - a[1]], [320.0, 240.0]);
    // As sure as one that was read so itself: 400 from A and 300 from B by the same tape.
    let mut read_so = Design::begin(FaceShape::Flat);
    read_so.read(&mark("A"), &mark("B"), 500.0);
    read_so.original("left", 15.0, oval(), [400.0, 300.0]);
    let (_, as_sure) = held(&feature(&read_so.view(), "left").stands);
    assert!(
        (sure.mm() - as_sure.mm()).abs() < 1e-6,
        "{sure:?} {as_sure:?}"
    );
    assert_eq!(
        feature(&view, "right").made.as_ref().unwrap().says,
        "Eye, mirrored across the line halfway between A and B"
    );
    // Nothing is asked of it.
    assert!(
        !view
            .features
            .iter()
            .any(|f| matches!(f.stands, Stands::Open { .. }))
    );
}

#[test]
fn across_the_line_through_two_marks() {
    let mut design = flat(15.0, oval());
    design.made(Mirror::Through {
        from: id("A"),
        to: id("B"),
    });
    let view = design.view();
    let (a, _) = held(&view.marks[0].stands);
    let (right, _) = held(&feature(&view, "right").stands);
    near([right[0] - a[0], right[1] - a[1]], [180.0, -240.0]);
    mirrored_drawing(&view, |[x, y]| [x, 2.0 * a[1] - y]);
}

/// Every corner of the one drawn outline, mirrored, is a corner of the other.
#[track_caller]
fn mirrored_drawing(view: &FaceView, mirror: impl Fn([f64; 2]) -> [f64; 2]) {
    let (left, right) = (feature(view, "left"), feature(view, "right"));
    assert!(!left.outline.is_empty());
    assert_eq!(left.outline.len(), right.outline.len());
    for (one, other) in left.outline.iter().zip(&right.outline) {
        for p in one {
            let [x, y] = mirror(*p);
            let off = other
                .windows(2)
                .map(|w| to_segment([x, y], w[0], w[1]))
                .fold(f64::INFINITY, f64::min);
            // Both are cut into chords no further than 0.04 mm from their curves.
            assert!(off < 0.1, "{off} mm off at {p:?}");
        }
    }
}

fn to_segment(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let long = (dx * dx + dy * dy).max(1e-12);
    let t = (((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long).clamp(0.0, 1.0);
    (p[0] - a[0] - t * dx).hypot(p[1] - a[1] - t * dy)
}

#[test]
fn an_outline_that_is_not_its_own_image_is_turned_over_and_letters_are_not() {
    let letter = Outline::<Flat>::text("R", Length::from_mm(60.0), Weight::SemiBold)
        .unwrap()
        .0;
    let width = letter.bounds().unwrap().width();
    let mut attachments = Attachments::new();
    attachments.insert("r".into(), serde_json::to_vec(&letter).unwrap());
    let artwork = OutlineSpec::Artwork {
        attachment: "r".into(),
        file: "r.svg".into(),
        width: Entry::of_mm(width.mm()),
        ignored: Vec::new(),
    };
    let mut design = flat(20.0, artwork);
    design.made(halfway());
    let view = design.view_with(&attachments);
    let (a, _) = held(&view.marks[0].stands);
    let (b, _) = held(&view.marks[1].stands);
    mirrored_drawing(&view, |[x, y]| [a[0] + b[0] - x, y]);

    // Words read forwards on both sides: the same shape, moved.
    let words = OutlineSpec::Lettering {
        text: "R".into(),
        capitals: Entry::of_mm(60.0),
    };
    let mut design = flat(0.0, words);
    design.made(halfway());
    let view = design.view();
    let (left, right) = (feature(&view, "left"), feature(&view, "right"));
    let shift = Vector2::<Flat>::from_mm(
        held(&right.stands).0[0] - held(&left.stands).0[0],
        held(&right.stands).0[1] - held(&left.stands).0[1],
    );
    for (p, q) in left.outline[0].iter().zip(&right.outline[0]) {
        near([p[0] + shift.x_mm(), p[1] + shift.y_mm()], *q);
    }
}

#[test]
fn what_changes_on_the_one_changes_on_the_other() {
    let mut design = flat(15.0, oval());
    design.made(halfway());
    design.edit(
        EntityRef::Feature(eye("left")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Circle {
                diameter: Entry::of_mm(44.0),
            }),
            tolerance: Some(Length::from_mm(3.0)),
            ..FeatureEdit::default()
        },
    );
    design.edit(
        EntityRef::Issue(IssueId::new("2").unwrap()),
        &IssueEdit {
            number: Some(2),
            from_piece: Some(9),
            amends: Some(vec![Amendment {
                feature: eye("left"),
                change: Change::Moved {
                    right: Entry::of_mm(6.0),
                    up: Entry::of_mm(-14.0),
                },
            }]),
            ..IssueEdit::default()
        },
    );
    let job = design.job();
    let right = &job.features[&eye("right")];
    assert_eq!(right.outline, job.features[&eye("left")].outline);
    assert_eq!(right.tolerance, Some(Length::from_mm(3.0)));
    // Moved away from the middle on the one side is moved away from it on the other.
    let moved = job.in_force(&eye("right"), 9).unwrap().moved;
    assert_eq!(moved, (Length::from_mm(-6.0), Length::from_mm(-14.0)));
    let before = job.in_force(&eye("right"), 8).unwrap().moved;
    assert_eq!(before, (Length::ZERO, Length::ZERO));
    assert_eq!(job.issue_of(&eye("right"), 9).unwrap().0.as_str(), "2");
}

#[test]
fn an_image_has_no_image() {
    let mut design = flat(0.0, oval());
    design.made(halfway());
    design.edit(
        EntityRef::Pair(PairId::new("more").unwrap()),
        &PairEdit {
            left: Some(eye("left")),
            right: Some(eye("right")),
            mirror: Some(halfway()),
            made: Some(Hand::Left),
            ..PairEdit::default()
        },
    );
    let job = design.job();
    assert!(job.made_from(&eye("left")).is_none());
    assert!(job.made_from(&eye("right")).is_none());
}

fn shapes() -> impl Strategy<Value = FaceShape> {
    let radius = |mm: f64| Size::Radius {
        radius: Entry::of_mm(mm),
    };
    (0..5_u8, 150.0..900.0_f64, 1.2..3.0_f64).prop_map(move |(kind, mm, more)| match kind {
        0 => FaceShape::Flat,
        1 => FaceShape::Cylinder {
            axis: AxisChoice::Up,
            hollow: false,
            size: radius(mm),
        },
        2 => FaceShape::Cylinder {
            axis: AxisChoice::Across,
            hollow: false,
            size: radius(mm),
        },
        3 => FaceShape::Dome {
            hollow: false,
            size: radius(mm),
        },
        _ => FaceShape::TwoRadii {
            across: Curve::Bulging { size: radius(mm) },
            up: Curve::Bulging {
                size: radius(mm * more),
            },
        },
    })
}

fn surface_of(design: &Design) -> Surface {
    let job = design.job();
    pattern_face(&job, &job.faces[&FaceId::new("front").unwrap()])
        .unwrap()
        .surface
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Rigid: as far from B as the original is from A, and the other way round. Its own inverse:
    /// measured where it came out and mirrored again, it is the original.
    #[test]
    fn a_mirror_keeps_distances_and_undoes_itself(
        shape in shapes(),
        apart in 80.0..160.0_f64,
        share in 0.1..0.9_f64,
        height in 20.0..90.0_f64,
        turn in -60.0..60.0_f64,
    ) {
        let x = apart * share;
        let from = [x.hypot(height), (apart - x).hypot(height)];
        let design = |from: [f64; 2], turn: f64| {
            let mut design = Design::begin(shape.clone());
            design.read(&mark("A"), &mark("B"), apart);
            design.original("left", turn, oval(), from);
            design.made(halfway());
            design
        };
        let first = design(from, turn);
        let surface = surface_of(&first);
        let view = first.view();
        let over = |view: &FaceView, m: usize, which: &str| {
            let (a, c) = (
                on_face(&view.marks[m].stands),
                on_face(&feature(view, which).stands),
            );
            surface.over_surface(a, c, surface.nearest_turns(a, c)).unwrap().mm
        };
        let (to_a, to_b) = (over(&view, 0, "right"), over(&view, 1, "right"));
        prop_assert!((to_a - over(&view, 1, "left")).abs() < 1e-3);
        prop_assert!((to_b - over(&view, 0, "left")).abs() < 1e-3);
        let back = design([to_a, to_b], -turn).view();
        prop_assert!((over(&back, 0, "right") - over(&view, 0, "left")).abs() < 1e-3);
        prop_assert!((over(&back, 1, "right") - over(&view, 1, "left")).abs() < 1e-3);
        // Two places are as far from both marks: it is the one above the line, on both sides.
        let above = |view: &FaceView, which: &str| {
            let at = |k: usize| held(&view.marks[k].stands).0;
            let (a, b, c) = (at(0), at(1), held(&feature(view, which).stands).0);
            (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0.0
        };
        prop_assert!(above(&view, "left") && above(&view, "right") && above(&back, "right"));
    }
}

#[test]
fn a_wrong_mirror_is_told_by_one_reading() {
    let mut design = flat(15.0, oval());
    design.made(halfway());
    let proof = |design: &Design| {
        feature(&design.view(), "right")
            .made
            .clone()
            .unwrap()
            .proofs
    };
    let first = proof(&design).remove(1);
    assert_eq!(first.letter, "A");
    assert!((first.must_be.mm() - 400.0).abs() < 1e-3);
    assert!((first.unturned.unwrap().mm() - 300.0).abs() < 1e-3);
    assert_eq!((first.read, first.wrong), (None, false));
    // On the pattern the right eye is where the left one is: it was to be mirrored the other way.
    let right = PointRef::Feature(eye("right"));
    design.read(&mark("A"), &right, 300.0);
    assert!(proof(&design)[1].wrong);
    // The reading checks and does not place: nothing else is upset by it.
    let view = design.view();
    assert!(view.notes.is_empty(), "{:?}", view.notes);
    let (a, _) = held(&view.marks[0].stands);
    let (spot, _) = held(&feature(&view, "right").stands);
    near([spot[0] - a[0], spot[1] - a[1]], [320.0, 240.0]);
    design.read(&mark("A"), &right, 400.6);
    assert!(!proof(&design)[1].wrong);
}

/// The invented example's right eye has readings of its own. Made from the left one instead, it
/// must land where those have it: its generator draws both heads from one plan, turned over
/// (`reference/quay-puffins/design.py`).
#[test]
fn on_another_face_it_lands_where_its_own_readings_have_it() {
    const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");
    let opened = samespot_core::read::job::open(FILE).unwrap();
    let mut ledger = opened.ledger;
    let placed = |ledger: &Ledger| {
        let job = ledger.fold();
        let source = Source {
            job: &job,
            attachments: &opened.attachments,
        };
        let piece = PieceId::new("p7").unwrap();
        prepare(&source, &eye("eye-right"), &piece).unwrap()
    };
    let read = placed(&ledger);
    let twin = |name: &str| MarkId::new(name).unwrap();
    let writer = Writer {
        replica: ReplicaId(1),
        who: String::new(),
        wall: String::new(),
    };
    // A is at the root of the bill on the left head, B on the right one.
    let edit = Edit::of(
        EntityRef::Pair(PairId::new("eyes").unwrap()),
        &PairEdit {
            made: Some(Hand::Right),
            mirror: Some(Mirror::Twins {
                from: twin("head-left-a"),
                to: twin("head-left-b"),
                from_twin: twin("head-right-b"),
                to_twin: twin("head-right-a"),
            }),
            ..PairEdit::default()
        },
    );
    ledger
        .write(&writer, &Payload::Edit(edit.unwrap()))
        .unwrap();
    let made = placed(&ledger);
    // The marks as seen from its middle, its up upwards: the wrong twins would turn them by 32° or
    // over, which moves them by tens of millimetres. Each place is known to about 1.5 mm (95 %).
    assert_eq!(read.placed.marks.len(), made.placed.marks.len());
    for (p, q) in read.placed.marks.iter().zip(&made.placed.marks) {
        let off = p.distance(*q).mm();
        assert!(off < 3.0, "{off} mm: {p:?} {q:?}");
    }
}
