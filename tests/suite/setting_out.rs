//! A face set out from readings on the pattern alone, against plane geometry.
//!
//! The triangle with sides 3, 4 and 5 is right-angled (Euclid I.48): where two arcs cross at a
//! right angle each reading holds its own direction, so that the 95 % radius is that of one
//! reading times √χ²₂(0.95) = 2.4477 (Mikhail 1976; `../shared/checks` D11).
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a failed unwrap fails the test"
)]

#[path = "setting_out/half_read.rs"]
mod half_read;
#[path = "setting_out/put_down_on_a_scan.rs"]
mod put_down_on_a_scan;

use samespot_core::answer::{Answer, Ask, Desk, Refusal, Reply, Request, answer};
use samespot_core::job::{
    AxisChoice, CastingEdit, CastingId, Curve, Edit, EntityRef, Entry, FaceAxis, FaceEdit, FaceId,
    FaceShape, FeatureEdit, FeatureId, JobId, Ledger, LineSide, MarkEdit, MarkId, Measured,
    OutlineSpec, PartEdit, PartId, Payload, PointRef, Reading, ReplicaId, Size, Writer,
};
use samespot_core::prepare::setout::{FaceView, Stands, drawn_place, face_view};
use samespot_core::prepare::{Source, read_scans};
use samespot_core::read::mesh::bvh::Boxes;
use samespot_core::read::mesh::fit::{Wanted, fit};
use samespot_core::read::mesh::read;
use samespot_core::units::Length;
use samespot_core::write::job::{Attachments, attachment_hash};
use samespot_tests::jobs::{Script, id, mm, point};
use samespot_tests::meshes::patch;

struct Design(Ledger);

fn mark(letter: &str) -> PointRef {
    PointRef::Mark(MarkId::new(&letter.to_lowercase()).unwrap())
}

fn eye() -> PointRef {
    PointRef::Feature(FeatureId::new("eye").unwrap())
}

impl Design {
    fn begin() -> Self {
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
                shape: Some(FaceShape::Flat),
                ..FaceEdit::default()
            },
        );
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

    fn marks(mut self, letters: &[&str]) -> Self {
        for letter in letters {
            self.edit(
                EntityRef::Mark(MarkId::new(&letter.to_lowercase()).unwrap()),
                &MarkEdit {
                    face: Some(FaceId::new("front").unwrap()),
                    letter: Some((*letter).into()),
                    ..MarkEdit::default()
                },
            );
        }
        self
    }

    fn side(mut self, letter: &str, side: LineSide) -> Self {
        self.edit(
            EntityRef::Mark(MarkId::new(&letter.to_lowercase()).unwrap()),
            &MarkEdit {
                side: Some(side),
                ..MarkEdit::default()
            },
        );
        self
    }

    fn eye(mut self, side: Option<LineSide>) -> Self {
        self.edit(
            EntityRef::Feature(FeatureId::new("eye").unwrap()),
            &FeatureEdit {
                face: Some(FaceId::new("front").unwrap()),
                name: Some("Eye".into()),
                outline: Some(OutlineSpec::Circle {
                    diameter: Entry::of_mm(40.0),
                }),
                tolerance: Some(Length::from_mm(2.0)),
                side,
                ..FeatureEdit::default()
            },
        );
        self
    }

    fn read(mut self, from: &PointRef, to: &PointRef, mm: f64, sd_mm: f64) -> Self {
        self.say(&Payload::Reading(Reading {
            casting: CastingId::new("pattern").unwrap(),
            of: Measured::Straight {
                from: from.clone(),
                to: to.clone(),
            },
            value: Entry::of_mm(mm),
            instrument: None,
            hooked: false,
            stage: None,
            within: Some(Length::from_mm(sd_mm)),
            set_aside: None,
        }));
        self
    }

    fn view(&self) -> FaceView {
        let job = self.0.fold();
        assert!(job.problems.is_empty(), "{:?}", job.problems);
        let source = Source {
            job: &job,
            attachments: &Attachments::new(),
        };
        face_view(&source, &FaceId::new("front").unwrap()).unwrap()
    }
}

#[track_caller]
fn at(stands: &Stands) -> [f64; 2] {
    match stands {
        Stands::Held { at_mm, .. } => *at_mm,
        other => panic!("not held: {other:?}"),
    }
}

#[track_caller]
fn near(a: [f64; 2], b: [f64; 2]) {
    // The solution stops well below a micrometre; the readings are exact.
    let off = (a[0] - b[0]).hypot(a[1] - b[1]);
    assert!(off < 1e-3, "{a:?} is {off} mm from {b:?}");
}

/// Exact for a reading: its own error plays no part beside the others'.
const SURE_MM: f64 = 0.001;

/// A and B 500 apart, the eye 300 from A and 400 from B.
fn right_angled(from_a_sd_mm: f64, from_b_sd_mm: f64) -> Design {
    Design::begin()
        .marks(&["A", "B"])
        .eye(Some(LineSide::Above))
        .read(&mark("A"), &mark("B"), 500.0, SURE_MM)
        .read(&mark("A"), &eye(), 300.0, from_a_sd_mm)
        .read(&mark("B"), &eye(), 400.0, from_b_sd_mm)
}

#[test]
fn readings_alone_set_out_a_triangle_of_3_4_and_5() {
    let view = right_angled(0.5, 0.5).view();
    let (a, b) = (at(&view.marks[0].stands), at(&view.marks[1].stands));
    let spot = at(&view.features[0].stands);
    near([b[0] - a[0], b[1] - a[1]], [500.0, 0.0]);
    // The foot of the height divides 500 into 180 and 320; the height is 240 (Euclid VI.8).
    near([spot[0] - a[0], spot[1] - a[1]], [180.0, 240.0]);
    assert_eq!(view.features[0].tolerance, "within 2 mm (zone ⌀ 4)");
    assert_eq!(view.readings.len(), 3);
    let run = &view.features[0].outline[0];
    assert!(run.iter().all(|p| {
        let r = (p[0] - spot[0]).hypot(p[1] - spot[1]);
        (r - 20.0).abs() < 0.1
    }));
}

#[track_caller]
fn check_sure(from_a_sd_mm: f64, from_b_sd_mm: f64, within_mm: f64, sentence: &str) {
    let view = right_angled(from_a_sd_mm, from_b_sd_mm).view();
    match view.features[0].stands {
        // A line of 500 known to 0.001 adds less than the last figure compared.
        Stands::Held { within, .. } => assert!(
            (within.mm() - within_mm).abs() < 2e-3,
            "{} is not {within_mm}",
            within.mm()
        ),
        ref other => panic!("not held: {other:?}"),
    }
    assert_eq!(view.features[0].sentence, sentence);
}

#[test]
fn where_arcs_cross_squarely_the_worse_reading_is_the_one_to_repeat() {
    check_sure(
        0.5,
        0.5,
        1.2239,
        "The readings place its middle to ± 1.2 mm.",
    );
    check_sure(
        1.0,
        0.5,
        2.4477,
        "The readings place its middle to ± 2.4 mm. Reading A to the middle of Eye once more \
         would bring it to ± 1.7.",
    );
}

#[test]
fn what_is_not_held_is_named_with_the_reading_that_would_hold_it() {
    let design = Design::begin()
        .marks(&["A", "B", "C"])
        .read(&mark("A"), &mark("B"), 400.0, 0.5)
        .read(&mark("A"), &mark("C"), 300.0, 0.5);
    let view = design.view();
    near(
        {
            let (a, b) = (at(&view.marks[0].stands), at(&view.marks[1].stands));
            [b[0] - a[0], b[1] - a[1]]
        },
        [400.0, 0.0],
    );
    assert_eq!(
        view.marks[2].stands,
        Stands::Open {
            need: "read it from B as well".into(),
            next: Some([mark("B"), mark("C")]),
        }
    );
    let design = design.read(&mark("B"), &mark("C"), 500.0, 0.5);
    match &design.view().marks[2].stands {
        Stands::EitherSide {
            question,
            either_mm,
        } => {
            assert!(question.contains("side"), "{question}");
            let view = design.view();
            let a = at(&view.marks[0].stands);
            let [above, below] = either_mm.unwrap();
            // 3, 4, 5 again, at A: square above the line, and square below it.
            near([above[0] - a[0], above[1] - a[1]], [0.0, 300.0]);
            near([below[0] - a[0], below[1] - a[1]], [0.0, -300.0]);
        }
        other => panic!("a side was guessed: {other:?}"),
    }
    let below = design.side("C", LineSide::Below).view();
    let (a, c) = (at(&below.marks[0].stands), at(&below.marks[2].stands));
    near([c[0] - a[0], c[1] - a[1]], [0.0, -300.0]);
}

#[test]
fn a_face_with_nothing_on_it_says_what_to_begin_with() {
    let view = Design::begin().view();
    assert!(view.marks.is_empty() && view.readings.is_empty());
    assert_eq!(
        view.notes,
        ["A face needs two marks that can be found again on every casting"]
    );
    let one = Design::begin().marks(&["A"]).view();
    assert_eq!(
        one.marks[0].stands,
        Stands::Open {
            need: "add a second mark, and read it from this one".into(),
            next: None,
        }
    );
}

#[test]
fn the_desk_answers_about_a_face_and_the_answer_survives_the_wire() {
    let design = right_angled(0.5, 0.5);
    let mut desk = Desk::default();
    let job = JobId::new("j").unwrap();
    let ask = |face: &str| Ask::Face {
        job: job.clone(),
        face: FaceId::new(face).unwrap(),
    };
    let first = answer(
        &mut desk,
        Request {
            number: 1,
            ask: ask("front"),
        },
    );
    assert_eq!(first.says, Err(Refusal::UnknownJob));
    let facts = design
        .0
        .everything()
        .map(|f| f.bytes().to_owned())
        .collect();
    answer(
        &mut desk,
        Request {
            number: 2,
            ask: Ask::Facts {
                job: job.clone(),
                facts,
                attachments: Vec::new(),
            },
        },
    );
    let told = answer(
        &mut desk,
        Request {
            number: 3,
            ask: ask("front"),
        },
    );
    let back: Answer = serde_json::from_str(&serde_json::to_string(&told).unwrap()).unwrap();
    match (told.says, back.says) {
        (Ok(Reply::Face(sent)), Ok(Reply::Face(came))) => {
            assert_eq!(sent.features[0].sentence, came.features[0].sentence);
            assert_eq!(sent.readings.len(), came.readings.len());
            // Text keeps a figure to its last bit but one.
            near(at(&sent.features[0].stands), at(&came.features[0].stands));
        }
        other => panic!("{other:?}"),
    }
    let nowhere = answer(
        &mut desk,
        Request {
            number: 4,
            ask: ask("back"),
        },
    );
    assert!(matches!(nowhere.says, Err(Refusal::CannotDo { .. })));
}

#[test]
fn a_point_put_down_is_where_its_distances_put_it() {
    let design =
        Design::begin()
            .marks(&["A", "B"])
            .eye(None)
            .read(&mark("A"), &mark("B"), 500.0, SURE_MM);
    let view = design.view();
    let a = at(&view.marks[0].stands);
    let job = design.0.fold();
    let put = |x: f64, y: f64| {
        let source = Source {
            job: &job,
            attachments: &Attachments::new(),
        };
        let face = FaceId::new("front").unwrap();
        drawn_place(&source, &face, &eye(), [a[0] + x, a[1] + y]).unwrap()
    };
    // The foot of the height of 3, 4, 5 (Euclid VI.8), below the line this time.
    let place = put(180.0, -240.0);
    assert_eq!(place.side, LineSide::Below);
    let lengths: Vec<i64> = place.distances.iter().map(|d| d.value.to_um()).collect();
    assert_eq!(lengths, [300_000, 400_000]);
    let mut read = design.eye(Some(place.side));
    for distance in place.distances {
        let Measured::Over { from, to } = &distance.of else {
            panic!("{distance:?}")
        };
        read = read.read(from, to, distance.value.mm(), 0.5);
    }
    let view = read.view();
    let (a, spot) = (at(&view.marks[0].stands), at(&view.features[0].stands));
    near([spot[0] - a[0], spot[1] - a[1]], [180.0, -240.0]);
}

/// On every kind of face: what is put down stays where it was put, so that putting it down there again
/// says the same.
#[test]
fn a_point_put_down_stays_there_on_every_kind_of_face() {
    let radius = |r: f64| Size::Radius { radius: mm(r) };
    let bulging = |r: f64| Curve::Bulging { size: radius(r) };
    let post = |axis| FaceShape::Cylinder {
        axis,
        hollow: false,
        size: radius(150.0),
    };
    let kinds = [
        FaceShape::Flat,
        post(AxisChoice::Up),
        post(AxisChoice::Across),
        FaceShape::Cone {
            lower: radius(170.0),
            upper: radius(120.0),
            slant: mm(400.0),
        },
        FaceShape::Dome {
            hollow: false,
            size: radius(160.0),
        },
        FaceShape::Dome {
            hollow: true,
            size: radius(160.0),
        },
        FaceShape::TwoRadii {
            across: bulging(140.0),
            up: bulging(210.0),
        },
        FaceShape::TwoRadii {
            across: bulging(200.0),
            up: Curve::Hollow {
                size: radius(300.0),
            },
        },
    ];
    for shape in kinds {
        let name = format!("{shape:?}");
        let mut s = Script::one_face(shape, &["a", "b", "c"], 1);
        s.set(
            EntityRef::Mark(id("c")),
            &MarkEdit {
                side: Some(LineSide::Above),
                ..MarkEdit::default()
            },
        );
        for (from, to, far) in [("a", "b", 150.0), ("a", "c", 120.0), ("b", "c", 125.0)] {
            s.over("pattern", from, to, far);
        }
        let put = |s: &Script, at: [f64; 2]| {
            let job = s.ledger.fold();
            let source = Source {
                job: &job,
                attachments: &s.attachments,
            };
            drawn_place(&source, &id("face"), &point("spot"), at).unwrap()
        };
        let held = |s: &Script| {
            let job = s.ledger.fold();
            let source = Source {
                job: &job,
                attachments: &s.attachments,
            };
            let view = face_view(&source, &id("face")).unwrap();
            match &view.features[0].stands {
                Stands::Held { at_mm, .. } => *at_mm,
                other => panic!("{name}: {other:?}"),
            }
        };
        let first = put(&s, [8.0, 14.0]);
        assert_eq!(first.distances.len(), 3, "{name}");
        assert_eq!(first.picked, None);
        for d in &first.distances {
            s.read("pattern", d.of.clone(), d.value.mm());
        }
        s.set(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                side: Some(first.side),
                ..FeatureEdit::default()
            },
        );
        let again = put(&s, held(&s));
        assert_eq!(again.side, first.side, "{name}");
        for (one, other) in first.distances.iter().zip(&again.distances) {
            let by = (one.value - other.value).abs().mm();
            assert!(by < 0.15, "{name}: {one:?} {other:?}");
        }
    }
}

/// On a face from a scan a place is picked: what is put down is picked there, and stays.
/// What is set out on a pattern that stands at a stage joins what was read of it before.
#[test]
fn one_more_reading_of_the_pattern_leaves_the_others_standing() {
    let file = include_bytes!("../../public/examples/quay-puffins.samespot");
    let opened = samespot_core::read::job::open(file).unwrap();
    let mut ledger = opened.ledger;
    let read = |ledger: &Ledger| {
        let job = samespot_core::job::Job::fold(ledger);
        let source = Source {
            job: &job,
            attachments: &opened.attachments,
        };
        face_view(&source, &id("cap-front")).unwrap()
    };
    let before = read(&ledger);
    assert!(before.readings.len() > 10);
    let writer = Writer {
        replica: ReplicaId(77),
        who: String::new(),
        wall: String::new(),
    };
    let at = |m: &str| PointRef::Mark(id(m));
    let more = Reading {
        casting: id("cap-pattern"),
        of: Measured::Over {
            from: at("cap-front-a"),
            to: at("cap-front-b"),
        },
        value: Entry::of_mm(124.5),
        instrument: None,
        hooked: false,
        stage: None,
        within: None,
        set_aside: None,
    };
    ledger.write(&writer, &Payload::Reading(more)).unwrap();
    let after = read(&ledger);
    assert_eq!(after.readings.len(), before.readings.len() + 1);
    let held = |view: &FaceView| {
        let stands = view.marks.iter().map(|m| &m.stands);
        stands.filter(|s| matches!(s, Stands::Held { .. })).count()
    };
    assert_eq!(held(&after), held(&before));
}
