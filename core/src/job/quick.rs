//! The quick template: four cards, and the ordinary job they add up to.
//!
//! ```text
//!  cards ── payloads ──▶ facts ── fold ──▶ Job ── of_job ──▶ cards
//! ```
//!
//! The cards hold nothing of their own: whatever is complete becomes facts, and the cards are read
//! back from the job. Undo, a second tab and a reopened file therefore need nothing special.

use super::design::*;
use super::face_shape::FaceShape;
use super::fact::FactId;
use super::fold::Job;
use super::ids::*;
use super::ledger::Ledger;
use super::measured::Measured;
use super::outline_spec::OutlineSpec;
use super::payload::{Correction, Edit, Marriage, Payload, Reading, Withdrawal};
use super::rule_spec::{Follow, RuleSpec};
use crate::sheet::Paper;
use crate::template::LAID;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// How the tape lay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TapeLay {
    /// Laid over the surface.
    #[default]
    Over,
    /// Straight, through the air.
    Straight,
}

/// One piece on the fourth card.
#[derive(Debug, Clone, PartialEq)]
pub struct QuickPiece {
    /// Its number.
    pub number: u32,
    /// A to B on it.
    pub a_to_b: Option<Entry>,
}

/// What the four cards say, as far as they are filled in.
#[derive(Debug, Clone, PartialEq)]
pub struct QuickCards {
    /// What the job is called.
    pub title: String,
    /// The first card.
    pub outline: Option<OutlineSpec>,
    /// The second card.
    pub lies_on: Option<FaceShape>,
    /// A to B on the good one.
    pub a_to_b: Option<Entry>,
    /// A to the centre of the spot.
    pub a_to_centre: Option<Entry>,
    /// B to the centre of the spot.
    pub b_to_centre: Option<Entry>,
    /// On which side of A–B the spot is.
    pub side: Option<LineSide>,
    /// How far its up is turned from square to A–B, anticlockwise seen from outside.
    pub turn: Angle,
    /// How the tape lay.
    pub lay: TapeLay,
    /// The class on the tape's blade.
    pub tape_class: ClassMark,
    /// How far out may it be, any way?
    pub within: Length,
    /// What happens to a difference between the pieces.
    pub along: Follow,
    /// What marks it.
    pub marker: Marker,
    /// On which side of the edge it is drawn.
    pub drawn: DrawnSide,
    /// How thick the sheet is that is laid.
    pub thickness: Length,
    /// How it runs over the face.
    pub runs: Runs,
    /// The paper.
    pub paper: Paper,
    /// The pieces, in the order of their numbers.
    pub pieces: Vec<QuickPiece>,
}

impl Default for QuickCards {
    fn default() -> Self {
        Self {
            title: String::new(),
            outline: None,
            lies_on: None,
            a_to_b: None,
            a_to_centre: None,
            b_to_centre: None,
            side: None,
            turn: Angle::ZERO,
            lay: TapeLay::Over,
            tape_class: ClassMark::II,
            within: Length::from_mm(3.0),
            along: Follow::DifferenceSplit,
            marker: Marker::SoftPencil,
            drawn: DrawnSide::Inside,
            thickness: LAID[0].thickness,
            runs: Runs::Straight,
            paper: Paper::A4,
            pieces: Vec::new(),
        }
    }
}

/// The things every quick template is made of. Their ids are the same in each such job, so that
/// filling a card in twice on two tabs makes one thing and not two.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuickIds {
    /// The part.
    pub part: PartId,
    /// What the template lies on.
    pub face: FaceId,
    /// Mark A.
    pub a: MarkId,
    /// Mark B.
    pub b: MarkId,
    /// The spot.
    pub spot: FeatureId,
    /// The tape.
    pub tape: InstrumentId,
    /// The pattern, or the first good piece standing in for it.
    pub good_one: CastingId,
}

impl QuickIds {
    /// The ids.
    ///
    /// # Errors
    /// Never: the texts are ids. The type says so only to avoid a panic.
    pub fn fixed() -> Result<Self, NotAnId> {
        Ok(Self {
            part: PartId::new("quick")?,
            face: FaceId::new("quick")?,
            a: MarkId::new("a")?,
            b: MarkId::new("b")?,
            spot: FeatureId::new("spot")?,
            tape: InstrumentId::new("tape")?,
            good_one: CastingId::new("good-one")?,
        })
    }

    /// The casting and the piece that carry a number.
    ///
    /// # Errors
    /// Never, as above.
    pub fn piece(number: u32) -> Result<(CastingId, PieceId), NotAnId> {
        Ok((
            CastingId::new(&format!("c{number}"))?,
            PieceId::new(&number.to_string())?,
        ))
    }
}

/// Why the cards could not be turned into facts.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuickError {
    /// An id was refused.
    #[error(transparent)]
    Id(#[from] NotAnId),
    /// The JSON writer's word; never for finite values.
    #[error("{0}")]
    Json(String),
}

impl From<serde_json::Error> for QuickError {
    fn from(e: serde_json::Error) -> Self {
        Self::Json(e.to_string())
    }
}

impl QuickCards {
    /// Everything the cards say so far, as the facts of a new job.
    ///
    /// `day` is the date of the first issue. What is not filled in yet is left out; nothing is
    /// invented for it.
    ///
    /// # Errors
    /// Never for cards made of finite values.
    pub fn payloads(&self, day: &str) -> Result<Vec<Payload>, QuickError> {
        let ids = QuickIds::fixed()?;
        let mut all = Vec::new();
        self.design(&ids, day, &mut all)?;
        self.readings(&ids, &mut all);
        for piece in &self.pieces {
            self.piece(&ids, piece, &mut all)?;
        }
        Ok(all)
    }

    fn design(&self, ids: &QuickIds, day: &str, all: &mut Vec<Payload>) -> Result<(), QuickError> {
        let mut edit = |on: EntityRef, fields: &dyn erased::Fields| -> Result<(), QuickError> {
            all.push(Payload::Edit(Edit {
                on,
                set: fields.map()?,
            }));
            Ok(())
        };
        edit(
            EntityRef::Job,
            &JobEdit {
                title: Some(self.title.clone()).filter(|t| !t.is_empty()),
                unit: Some("mm".into()),
                paper: Some(self.paper),
                pieces: u32::try_from(self.pieces.len()).ok().filter(|n| *n > 0),
                ..JobEdit::default()
            },
        )?;
        edit(
            EntityRef::Issue(IssueId::new("1")?),
            &IssueEdit {
                number: Some(1),
                date: Some(day.to_owned()),
                reason: Some("quick template".into()),
                ..IssueEdit::default()
            },
        )?;
        edit(
            EntityRef::Part(ids.part.clone()),
            &PartEdit {
                name: Some("piece".into()),
                ..PartEdit::default()
            },
        )?;
        edit(
            EntityRef::Instrument(ids.tape.clone()),
            &InstrumentEdit {
                name: Some(match self.lay {
                    TapeLay::Over => "soft tape".into(),
                    TapeLay::Straight => "tape".into(),
                }),
                kind: Some(match self.lay {
                    TapeLay::Over => InstrumentKind::SoftTape,
                    TapeLay::Straight => InstrumentKind::PocketTape,
                }),
                class: Some(self.tape_class),
                ..InstrumentEdit::default()
            },
        )?;
        edit(
            EntityRef::Casting(ids.good_one.clone()),
            &CastingEdit {
                part: Some(ids.part.clone()),
                number: Some("pattern".into()),
                pattern: Some(true),
                ..CastingEdit::default()
            },
        )?;
        if let Some(shape) = &self.lies_on {
            edit(
                EntityRef::Face(ids.face.clone()),
                &FaceEdit {
                    part: Some(ids.part.clone()),
                    name: Some("front".into()),
                    shape: Some(shape.clone()),
                    ..FaceEdit::default()
                },
            )?;
        }
        for (id, letter) in [(&ids.a, "A"), (&ids.b, "B")] {
            edit(
                EntityRef::Mark(id.clone()),
                &MarkEdit {
                    face: Some(ids.face.clone()),
                    letter: Some(letter.into()),
                    ..MarkEdit::default()
                },
            )?;
        }
        edit(
            EntityRef::Feature(ids.spot.clone()),
            &FeatureEdit {
                face: Some(ids.face.clone()),
                name: self.spot_name(),
                outline: self.outline.clone(),
                turn: Some(self.turn),
                side: self.side,
                rule: Some(RuleSpec::Line {
                    from: ids.a.clone(),
                    to: ids.b.clone(),
                    side: None,
                    along: self.along.clone(),
                    across: None,
                }),
                tolerance: Some(self.within),
                marker: Some(self.marker),
                drawn: Some(self.drawn),
                thickness: Some(self.thickness),
                runs: Some(self.runs),
                ..FeatureEdit::default()
            },
        )
    }

    /// What the spot is called; while the first card is empty its name stays as it is.
    fn spot_name(&self) -> Option<String> {
        Some(self.outline.as_ref()?.name())
    }

    fn readings(&self, ids: &QuickIds, all: &mut Vec<Payload>) {
        let (a, b) = (PointRef::Mark(ids.a.clone()), PointRef::Mark(ids.b.clone()));
        let spot = PointRef::Feature(ids.spot.clone());
        let three = [
            (&a, &b, &self.a_to_b),
            (&a, &spot, &self.a_to_centre),
            (&b, &spot, &self.b_to_centre),
        ];
        for (from, to, value) in three {
            if let Some(value) = value {
                all.push(self.reading(ids, &ids.good_one, from, to, value));
            }
        }
    }

    fn reading(
        &self,
        ids: &QuickIds,
        casting: &CastingId,
        from: &PointRef,
        to: &PointRef,
        value: &Entry,
    ) -> Payload {
        let (from, to) = (from.clone(), to.clone());
        Payload::Reading(Reading {
            casting: casting.clone(),
            of: match self.lay {
                TapeLay::Over => Measured::Over { from, to },
                TapeLay::Straight => Measured::Straight { from, to },
            },
            value: value.clone(),
            instrument: Some(ids.tape.clone()),
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        })
    }

    fn piece(
        &self,
        ids: &QuickIds,
        piece: &QuickPiece,
        all: &mut Vec<Payload>,
    ) -> Result<(), QuickError> {
        let (casting, id) = QuickIds::piece(piece.number)?;
        all.push(Payload::Edit(Edit::of(
            EntityRef::Casting(casting.clone()),
            &CastingEdit {
                part: Some(ids.part.clone()),
                number: Some(piece.number.to_string()),
                ..CastingEdit::default()
            },
        )?));
        all.push(Payload::Edit(Edit::of(
            EntityRef::Piece(id.clone()),
            &PieceEdit {
                number: Some(piece.number),
                batch: Some(1),
            },
        )?));
        all.push(Payload::Marriage(Marriage {
            reason: None,
            piece: id,
            castings: vec![casting.clone()],
        }));
        if let Some(value) = &piece.a_to_b {
            let (a, b) = (PointRef::Mark(ids.a.clone()), PointRef::Mark(ids.b.clone()));
            all.push(self.reading(ids, &casting, &a, &b, value));
        }
        Ok(())
    }

    /// The facts that take a job from what it says now to what the cards say.
    ///
    /// A changed number is a correction of its reading, an emptied one a withdrawal; settings that
    /// stand already are not said again. Nothing outside the quick template's own things is touched.
    ///
    /// # Errors
    /// As [`Self::payloads`].
    pub fn changes(
        &self,
        ledger: &Ledger,
        job: &Job,
        day: &str,
    ) -> Result<Vec<Payload>, QuickError> {
        let day = job
            .issues
            .get(&IssueId::new("1")?)
            .and_then(|i| i.date.clone())
            .unwrap_or_else(|| day.to_owned());
        let mut changes = Vec::new();
        let mut said = Vec::new();
        for payload in self.payloads(&day)? {
            match payload {
                Payload::Edit(edit) => changes.extend(edit.still_to_say(job)?.map(Payload::Edit)),
                Payload::Marriage(m) => {
                    if job.marriages.get(&m.piece) != Some(&m) {
                        changes.push(Payload::Marriage(m));
                    }
                }
                Payload::Reading(reading) => {
                    said.push((reading.casting.clone(), reading.of.clone()));
                    changes.extend(reading_change(job, reading));
                }
                other => changes.push(other),
            }
        }
        for kept in own_readings(job)? {
            let stands = said
                .iter()
                .any(|(c, of)| *c == kept.1.casting && *of == kept.1.of);
            if !stands && ledger.get(kept.0).is_some() {
                changes.push(Payload::Withdraw(Withdrawal { target: kept.0 }));
            }
        }
        Ok(changes)
    }

    /// The cards of a job, where it is a quick template.
    #[must_use]
    pub fn of_job(job: &Job) -> Option<Self> {
        let ids = QuickIds::fixed().ok()?;
        let feature = job.features.get(&ids.spot)?;
        job.marks.get(&ids.a)?;
        let mut cards = Self {
            title: job.about.title.clone().unwrap_or_default(),
            outline: feature.outline.clone(),
            lies_on: job.faces.get(&ids.face).and_then(|f| f.shape.clone()),
            paper: job.about.paper.unwrap_or(Paper::A4),
            ..Self::default()
        };
        cards.side = feature.side;
        cards.turn = feature.turn.unwrap_or(cards.turn);
        cards.within = feature.tolerance.unwrap_or(cards.within);
        cards.marker = feature.marker.unwrap_or(cards.marker);
        cards.drawn = feature.drawn.unwrap_or(cards.drawn);
        cards.runs = feature.runs.unwrap_or_default();
        cards.thickness = feature.thickness.unwrap_or(cards.thickness);
        if let Some(RuleSpec::Line { along, .. }) = &feature.rule {
            cards.along = along.clone();
        }
        if let Some(tape) = job.instruments.get(&ids.tape) {
            cards.tape_class = tape.class.unwrap_or(cards.tape_class);
            if tape.kind == Some(InstrumentKind::PocketTape) {
                cards.lay = TapeLay::Straight;
            }
        }
        for (number, piece) in job.pieces_in_order() {
            if let (Some(n), true) = (piece.number, job.marriages.contains_key(number)) {
                cards.pieces.push(QuickPiece {
                    number: n,
                    a_to_b: None,
                });
            }
        }
        cards.take_readings(&ids, job);
        Some(cards)
    }

    fn take_readings(&mut self, ids: &QuickIds, job: &Job) {
        let (a, b) = (PointRef::Mark(ids.a.clone()), PointRef::Mark(ids.b.clone()));
        let spot = PointRef::Feature(ids.spot.clone());
        for kept in &job.readings {
            let (casting, value) = (&kept.says.casting, &kept.says.value);
            match &kept.says.of {
                Measured::Over { from, to } | Measured::Straight { from, to } => {
                    if *casting == ids.good_one {
                        let slot = match (from == &a, to == &b, from == &b, to == &spot) {
                            (true, true, _, _) => &mut self.a_to_b,
                            (true, _, _, true) => &mut self.a_to_centre,
                            (_, _, true, true) => &mut self.b_to_centre,
                            _ => continue,
                        };
                        *slot = Some(value.clone());
                    } else if from == &a && to == &b {
                        let piece = self
                            .pieces
                            .iter_mut()
                            .find(|p| QuickIds::piece(p.number).is_ok_and(|(c, _)| c == *casting));
                        if let Some(piece) = piece {
                            piece.a_to_b = Some(value.clone());
                        }
                    }
                }
                _ => {}
            }
        }
    }

    /// The pattern and one piece say enough for a template.
    #[must_use]
    pub fn ready(&self, number: u32) -> bool {
        self.outline.is_some()
            && self.lies_on.is_some()
            && self.a_to_b.is_some()
            && self.a_to_centre.is_some()
            && self.b_to_centre.is_some()
            && self.side.is_some()
            && self
                .pieces
                .iter()
                .any(|p| p.number == number && p.a_to_b.is_some())
    }
}

fn reading_change(job: &Job, reading: Reading) -> Option<Payload> {
    let stands = job
        .readings
        .about(&reading.casting)
        .find(|k| k.says.of == reading.of);
    match stands {
        None => Some(Payload::Reading(reading)),
        Some(kept) if kept.says.value == reading.value => None,
        Some(kept) => Some(Payload::Correct(Correction {
            target: kept.id,
            value: reading.value,
            reason: String::new(),
        })),
    }
}

/// Readings that the cards own: those of A, B and the spot.
fn own_readings(job: &Job) -> Result<Vec<(FactId, &Reading)>, QuickError> {
    let ids = QuickIds::fixed()?;
    let own = |p: &PointRef| match p {
        PointRef::Mark(m) => *m == ids.a || *m == ids.b,
        PointRef::Feature(f) => *f == ids.spot,
    };
    Ok(job
        .readings
        .iter()
        .filter(|k| match &k.says.of {
            Measured::Over { from, to } | Measured::Straight { from, to } => own(from) && own(to),
            _ => false,
        })
        .map(|k| (k.id, &k.says))
        .collect())
}

mod erased {
    use serde::Serialize;
    use serde_json::{Map, Value};

    /// Any of the edits, so that one closure can take them all.
    pub(super) trait Fields {
        fn map(&self) -> Result<Map<String, Value>, serde_json::Error>;
    }
    impl<T: Serialize> Fields for T {
        fn map(&self) -> Result<Map<String, Value>, serde_json::Error> {
            match serde_json::to_value(self)? {
                Value::Object(map) => Ok(map),
                _ => Ok(Map::new()),
            }
        }
    }
}
