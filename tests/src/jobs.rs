//! Small jobs written fact by fact, for tests.

use samespot_core::job::*;
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;
use serde::Serialize;

/// A job being written by one replica.
pub struct Script {
    /// Its facts.
    pub ledger: Ledger,
    /// Its attachments.
    pub attachments: Attachments,
    writer: Writer,
}

/// An id that a test wrote.
#[must_use]
pub fn id<T: TryFrom<String>>(text: &str) -> T {
    T::try_from(text.to_owned()).unwrap_or_else(|_| unreachable!("'{text}' is no id"))
}

/// A length typed in plain millimetres.
#[must_use]
pub fn mm(value: f64) -> Entry {
    Entry::of_mm(value)
}

impl Script {
    /// An empty job.
    #[must_use]
    pub fn new(job: &str) -> Self {
        let writer = Writer {
            replica: ReplicaId(7),
            who: "test".into(),
            wall: String::new(),
        };
        Self {
            ledger: Ledger::new(id(job)),
            attachments: Attachments::new(),
            writer,
        }
    }

    /// Says something.
    pub fn say(&mut self, payload: &Payload) -> FactId {
        match self.ledger.write(&self.writer, payload) {
            Ok(fact) => fact.envelope.id,
            Err(e) => unreachable!("a payload that can't be written: {e}"),
        }
    }

    /// From now on it is said at this time, in the words of a device.
    pub fn at(&mut self, wall: &str) {
        self.writer.wall = wall.to_owned();
    }

    /// Sets fields of a thing.
    pub fn set(&mut self, on: EntityRef, fields: &impl Serialize) -> FactId {
        match Edit::of(on, fields) {
            Ok(edit) => self.say(&Payload::Edit(edit)),
            Err(e) => unreachable!("fields that can't be written: {e}"),
        }
    }

    /// Reads something on a casting with a soft tape.
    pub fn read(&mut self, casting: &str, of: Measured, value_mm: f64) -> FactId {
        self.say(&Payload::Reading(Reading {
            casting: id(casting),
            of,
            value: mm(value_mm),
            instrument: None,
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        }))
    }

    /// Reads over the surface between two marks.
    pub fn over(&mut self, casting: &str, from: &str, to: &str, value_mm: f64) -> FactId {
        self.read(
            casting,
            Measured::Over {
                from: point(from),
                to: point(to),
            },
            value_mm,
        )
    }

    /// One face with marks A, B (and more), one circle on it, a pattern, and pieces 1 to `pieces`
    /// each with a casting `c1`, `c2`, …; the rule splits any difference between A and B.
    #[must_use]
    pub fn one_face(shape: FaceShape, marks: &[&str], pieces: u32) -> Self {
        let mut s = Self::new("test-job");
        s.set(
            EntityRef::Job,
            &JobEdit {
                title: Some("Test job".into()),
                pieces: Some(pieces),
                ..JobEdit::default()
            },
        );
        s.set(
            EntityRef::Issue(id("i1")),
            &IssueEdit {
                number: Some(1),
                date: Some("2026-10-05".into()),
                ..IssueEdit::default()
            },
        );
        s.set(
            EntityRef::Part(id("part")),
            &PartEdit {
                name: Some("part".into()),
                mould: None,
            },
        );
        s.set(
            EntityRef::Face(id("face")),
            &FaceEdit {
                part: Some(id("part")),
                name: Some("face".into()),
                shape: Some(shape),
                seen_from: None,
            },
        );
        for mark in marks {
            s.set(
                EntityRef::Mark(id(mark)),
                &MarkEdit {
                    face: Some(id("face")),
                    letter: Some(mark.to_uppercase()),
                    ..MarkEdit::default()
                },
            );
        }
        s.set(
            EntityRef::Feature(id("spot")),
            &FeatureEdit {
                face: Some(id("face")),
                name: Some("Spot".into()),
                outline: Some(OutlineSpec::Circle { diameter: mm(60.0) }),
                side: Some(LineSide::Above),
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
        s.set(
            EntityRef::Casting(id("pattern")),
            &CastingEdit {
                part: Some(id("part")),
                pattern: Some(true),
                ..CastingEdit::default()
            },
        );
        for n in 1..=pieces {
            let casting = format!("c{n}");
            s.set(
                EntityRef::Casting(id(&casting)),
                &CastingEdit {
                    part: Some(id("part")),
                    number: Some(n.to_string()),
                    ..CastingEdit::default()
                },
            );
            s.set(
                EntityRef::Piece(id(&format!("p{n}"))),
                &PieceEdit {
                    number: Some(n),
                    batch: Some(1),
                },
            );
            s.say(&Payload::Marriage(Marriage {
                reason: None,
                piece: id(&format!("p{n}")),
                castings: vec![id(&casting)],
            }));
        }
        s
    }
}

/// A point by name: a mark, or the feature `spot`.
#[must_use]
pub fn point(name: &str) -> PointRef {
    if name == "spot" {
        PointRef::Feature(id("spot"))
    } else {
        PointRef::Mark(id(name))
    }
}
