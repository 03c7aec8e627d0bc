//! Whatever was printed goes stale as a stencil does, and says by what: a shell, one sheet for both of a pair,
//! rods, a drill template, a jig, a setting plate.

use super::*;
use samespot_core::prepare::print_is_stale;
use samespot_core::prepare::rod::rods_of;
use samespot_core::read::job::{Opened, open};
use samespot_core::write::job::Attachments;

/// Two eyes on one face, holes with edges.
const OTTERS: &[u8] = include_bytes!("../../../public/examples/regatta-otters.samespot");
/// A ball.
const PUFFINS: &[u8] = include_bytes!("../../../public/examples/quay-puffins.samespot");

/// Large enough for a jig on one sheet.
const PAPER: Paper = Paper::Typed {
    width: Length::from_mm(841.0),
    height: Length::from_mm(594.0),
};

/// A job of which somebody prints.
struct Bench {
    ledger: Ledger,
    attachments: Attachments,
}

impl Bench {
    fn of(file: &[u8]) -> Self {
        let Opened {
            ledger,
            attachments,
            ..
        } = open(file).unwrap();
        Self {
            ledger,
            attachments,
        }
    }

    fn looking<T>(&self, look: impl FnOnce(&Source<'_>) -> T) -> T {
        let job = self.ledger.fold();
        look(&Source {
            job: &job,
            attachments: &self.attachments,
        })
    }

    fn say(&mut self, payload: &Payload) {
        let writer = Writer {
            replica: ReplicaId(77),
            who: "test".into(),
            wall: String::new(),
        };
        self.ledger.write(&writer, payload).unwrap();
    }

    fn set(&mut self, on: EntityRef, fields: &impl serde::Serialize) {
        self.say(&Payload::Edit(Edit::of(on, fields).unwrap()));
    }

    /// Prints it for a piece.
    fn print(&mut self, of: &SheetOf, piece: &str) -> Printed {
        let printed = self.looking(|source| match of {
            SheetOf::Rods(feature) => {
                rods_of(source, feature, &[id(piece)], Paper::A3, "2026-11-24")
                    .unwrap()
                    .printed
            }
            _ => issue(source, of, &id(piece), PAPER, "2026-11-24")
                .unwrap()
                .printed("2026-11-24"),
        });
        self.say(&Payload::Printed(printed.clone()));
        printed
    }

    fn stale(&self, of: &SheetOf, piece: &str) -> Option<String> {
        self.looking(|source| staleness(source, of, &id(piece)))
    }

    /// The first reading of the casting of a piece on which a face lies is said to have been read otherwise.
    fn read_otherwise(&mut self, of: &SheetOf, piece: &str) {
        let (target, value) = {
            let job = self.ledger.fold();
            let face = match of.fixing() {
                Some(fixing) => job.fixings[fixing].face.clone(),
                None => job.features[job.carried_by(of)[0]].face.clone(),
            };
            let face = face.unwrap();
            let part = job.faces[&face].part.clone().unwrap();
            let casting = job.casting_of(&id(piece), &part).unwrap();
            let on_face = |p: &PointRef| match p {
                PointRef::Mark(m) => job.marks[m].face.as_ref() == Some(&face),
                PointRef::Feature(_) => false,
            };
            let mut about = job.readings.about(casting);
            let reading = about
                .find(|r| {
                    let points = r.says.of.points();
                    let there = !points.is_empty() && points.into_iter().all(on_face);
                    there && r.says.set_aside.is_none()
                })
                .unwrap();
            (reading.id, reading.says.value.mm.mm())
        };
        self.say(&Payload::Correct(Correction {
            target,
            value: mm(value + 1.5),
            reason: "read again".into(),
        }));
    }

    fn amend(&mut self, feature: &str, change: Change) {
        self.set(
            EntityRef::Issue(id("i2")),
            &IssueEdit {
                number: Some(2),
                from_piece: Some(1),
                amends: Some(vec![Amendment {
                    feature: id(feature),
                    change,
                }]),
                ..IssueEdit::default()
            },
        );
    }
}

fn down() -> Change {
    Change::Moved {
        right: mm(-6.0),
        up: mm(-14.0),
    }
}

/// The kinds of sheet that carry a feature, on the ball; an eye needs no patches, whose going stale is with the
/// others' of their run (`darts/patches_of_run`).
fn of_a_feature() -> Vec<SheetOf> {
    vec![
        SheetOf::Feature(id("eye-left")),
        SheetOf::Shell(id("eye-left")),
        SheetOf::Rods(id("eye-left")),
    ]
}

fn of_a_fixing() -> Vec<SheetOf> {
    vec![
        SheetOf::Fixing(id("saddle-left")),
        SheetOf::Jig(id("saddle-left")),
        SheetOf::Plate(id("saddle-left")),
    ]
}

#[test]
fn a_reading_taken_otherwise_makes_each_stale_and_each_says_so() {
    let both = SheetOf::Pair(id("eyes"));
    let all = of_a_feature()
        .into_iter()
        .map(|of| (PUFFINS, of))
        .chain([(OTTERS, both)])
        .chain(of_a_fixing().into_iter().map(|of| (OTTERS, of)));
    for (file, of) in all {
        let mut bench = Bench::of(file);
        bench.print(&of, "p7");
        assert_eq!(bench.stale(&of, "p7"), None, "{of}");
        bench.read_otherwise(&of, "p7");
        let why = bench
            .stale(&of, "p7")
            .unwrap_or_else(|| panic!("{of} still holds"));
        assert!(why.contains("readings changed"), "{of}: {why}");
        assert!(
            why.contains("printed on 2026-11-24") && why.contains("and print again"),
            "{of}: {why}"
        );
        // Printed once more, it holds.
        bench.print(&of, "p7");
        assert_eq!(bench.stale(&of, "p7"), None, "{of}");
    }
}

#[test]
fn an_issue_makes_each_stale_with_its_words() {
    for of in of_a_feature() {
        let mut bench = Bench::of(PUFFINS);
        bench.print(&of, "p10");
        bench.amend("eye-left", down());
        let why = bench
            .stale(&of, "p10")
            .unwrap_or_else(|| panic!("{of} still holds"));
        assert!(
            why.contains("issue 2 has it moved 14 mm down and 6 mm left"),
            "{of}: {why}"
        );
        // Taken off the design, nothing can be printed in its stead, and that is said.
        bench.amend("eye-left", Change::Dropped);
        let why = bench
            .stale(&of, "p10")
            .unwrap_or_else(|| panic!("{of} still holds"));
        assert!(
            why.contains("not made on piece 10") || why.contains("issue 2 has it no longer made"),
            "{of}: {why}"
        );
    }
}

/// Of two on one sheet it is said which.
#[test]
fn a_sheet_of_both_says_which_of_the_two_an_issue_moves() {
    let of = SheetOf::Pair(id("eyes"));
    let mut bench = Bench::of(OTTERS);
    bench.print(&of, "p7");
    bench.amend("eye-right", down());
    let why = bench.stale(&of, "p7").unwrap();
    assert!(
        why.contains("issue 2 has Eye, right moved 14 mm down and 6 mm left"),
        "{why}"
    );
    assert!(!why.contains("Eye, left"), "{why}");
}

/// What an issue says of one it says of its image: by the name of the one that was moved, whose left is the
/// image's right.
#[test]
fn an_image_says_which_one_an_issue_moved() {
    let mut s = run(FaceShape::Flat);
    s.set(
        EntityRef::Feature(id("other")),
        &FeatureEdit {
            face: Some(id("face")),
            name: Some("Other".into()),
            ..FeatureEdit::default()
        },
    );
    let mut bench = Bench {
        ledger: s.ledger,
        attachments: s.attachments,
    };
    let made = PairEdit {
        name: Some("Both".into()),
        left: Some(id("spot")),
        right: Some(id("other")),
        mirror: Some(Mirror::Halfway {
            from: id("a"),
            to: id("b"),
        }),
        made: Some(Hand::Right),
        ..PairEdit::default()
    };
    bench.set(EntityRef::Pair(id("both")), &made);
    let of = SheetOf::Feature(id("other"));
    bench.print(&of, "p3");
    bench.amend("spot", down());
    let why = bench.stale(&of, "p3").unwrap();
    assert!(
        why.contains("issue 2 has Spot moved 14 mm down and 6 mm left"),
        "{why}"
    );
}

#[test]
fn what_is_drilled_by_goes_stale_with_the_bracket_it_is_for() {
    for of in of_a_fixing() {
        let mut bench = Bench::of(OTTERS);
        bench.print(&of, "p7");
        let right = bench.ledger.fold().fixings[&id("saddle-left")]
            .right
            .clone()
            .unwrap();
        bench.set(
            EntityRef::Fixing(id("saddle-left")),
            &FixingEdit {
                right: Some(mm(right.mm.mm() + 10.0)),
                ..FixingEdit::default()
            },
        );
        let why = bench
            .stale(&of, "p7")
            .unwrap_or_else(|| panic!("{of} still holds"));
        assert!(why.contains("the design changed"), "{of}: {why}");
    }
}

/// Sheets for several pieces and rods are judged by what they were made from: the edges of their face too.
#[test]
fn an_edge_that_changes_makes_rods_stale() {
    let mut s = run(FaceShape::Flat);
    s.set(
        EntityRef::Edge(id("rim")),
        &EdgeEdit {
            face: Some(id("face")),
            letter: Some("E".into()),
            ..EdgeEdit::default()
        },
    );
    let mut bench = Bench {
        ledger: s.ledger,
        attachments: s.attachments,
    };
    let of = SheetOf::Rods(id("spot"));
    let printed = bench.print(&of, "p3");
    assert_eq!(bench.stale(&of, "p3"), None);
    bench.set(
        EntityRef::Edge(id("rim")),
        &EdgeEdit {
            lies: Some(EdgeLies::Right),
            ..EdgeEdit::default()
        },
    );
    let why = bench.stale(&of, "p3").unwrap();
    assert!(
        why.contains("an edge of the face changed") && why.contains("Scrap them"),
        "{why}"
    );
    // A print of before edges were kept with it says nothing of them.
    let mut old = printed;
    old.inputs.edges = None;
    let why = bench.looking(|source| print_is_stale(source, &old, &id("p3")));
    assert_eq!(why, None);
    old.inputs.program = "0.0.9".into();
    let why = bench.looking(|source| print_is_stale(source, &old, &id("p3")));
    assert!(why.unwrap().contains("the program is another version"));
}
