//! What is said when something is set out: facts, from the job and what was typed or put down.

use samespot_core::job::{
    CastingEdit, CastingId, ClassMark, Correction, DrawnSide, Edit, EntityRef, Entry, FaceAxis,
    FaceEdit, FaceId, FactId, FeatureEdit, FeatureId, Follow, Hand, InstrumentEdit, InstrumentId,
    InstrumentKind, Job, LineSide, MarkEdit, MarkId, Marker, Measured, PartId, Payload, PointRef,
    Reading, RuleSpec, WeightedMark, Withdrawal,
};
use samespot_core::prepare::setout::{DrawnDistance, DrawnPlace};
use samespot_core::units::Length;

use crate::screens::job::model::{add_part, edit};

/// 95 % of a round spread in the plane lie within so many deviations.
const ROUND_95: f64 = 2.4477;

/// With what a distance was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TakenWith {
    /// A soft tape laid over the surface.
    Over,
    /// A tape held straight.
    Straight,
    /// The drawing says so: no tape was held.
    Drawing,
    /// How far the second stands above the first.
    Level,
    /// How far the second lies right of the plumb line through the first.
    Plumb,
    /// A rod goes at one length and doesn't at another.
    Rod,
}

impl TakenWith {
    /// By its name on the keys.
    pub fn named(name: &str) -> Self {
        match name {
            "straight" => Self::Straight,
            "drawing" => Self::Drawing,
            "level" => Self::Level,
            "plumb" => Self::Plumb,
            "rod" => Self::Rod,
            _ => Self::Over,
        }
    }

    fn kind(self) -> InstrumentKind {
        match self {
            Self::Over => InstrumentKind::SoftTape,
            Self::Straight => InstrumentKind::PocketTape,
            Self::Drawing => InstrumentKind::Drawing,
            Self::Level => InstrumentKind::Level,
            Self::Plumb => InstrumentKind::Plumb,
            Self::Rod => InstrumentKind::Rod,
        }
    }
}

/// Parts by name.
pub fn parts(job: &Job) -> Vec<(PartId, String)> {
    let mut all: Vec<(PartId, String)> = job
        .parts
        .iter()
        .map(|(id, p)| (id.clone(), p.name.clone().unwrap_or_else(|| id.to_string())))
        .collect();
    all.sort_by(|a, b| a.1.cmp(&b.1));
    all
}

/// Faces with their names: *front of the head*.
pub fn faces(job: &Job) -> Vec<(FaceId, String)> {
    let mut all: Vec<(String, FaceId, String)> = job
        .faces
        .iter()
        .map(|(id, f)| {
            let part = f.part.as_ref().and_then(|p| job.parts.get(p)?.name.clone());
            let own = f.name.clone().unwrap_or_else(|| id.to_string());
            // *Bollard, front* of the bollard says once what it is of.
            let words = match &part {
                Some(part) if !own.to_lowercase().starts_with(&part.to_lowercase()) => {
                    format!("{part}, {own}")
                }
                _ => own,
            };
            (part.unwrap_or_default(), id.clone(), words)
        })
        .collect();
    all.sort_by(|a, b| (&a.0, &a.2).cmp(&(&b.0, &b.2)));
    all.into_iter().map(|(_, id, words)| (id, words)).collect()
}

/// A face of a part; a part that is new comes with its mould, one without a pattern with that.
pub fn add_face(
    job: &Job,
    part: Result<PartId, &str>,
    called: &str,
    name: &mut dyn FnMut() -> String,
) -> Option<(FaceId, Vec<Payload>)> {
    let mut all = Vec::new();
    let part = match part {
        Ok(part) => part,
        Err(new) => {
            all = add_part(new, "", name);
            all.iter().find_map(|p| match p {
                Payload::Edit(Edit {
                    on: EntityRef::Part(id),
                    ..
                }) => Some(id.clone()),
                _ => None,
            })?
        }
    };
    if job.pattern_of(&part).is_none() {
        let casting = CastingId::new(&format!("c{}", name())).ok()?;
        all.extend(edit(
            EntityRef::Casting(casting),
            &CastingEdit {
                part: Some(part.clone()),
                number: Some("pattern".into()),
                pattern: Some(true),
                ..CastingEdit::default()
            },
        ));
    }
    let face = FaceId::new(&format!("f{}", name())).ok()?;
    all.extend(edit(
        EntityRef::Face(face.clone()),
        &FaceEdit {
            part: Some(part),
            name: Some(called.trim().to_owned()),
            ..FaceEdit::default()
        },
    ));
    Some((face, all))
}

/// Marks of a face by letter.
pub fn marks(job: &Job, face: &FaceId) -> Vec<(MarkId, String)> {
    let mut all: Vec<(MarkId, String)> = job
        .marks
        .iter()
        .filter(|(_, m)| m.face.as_ref() == Some(face))
        .map(|(id, m)| (id.clone(), m.letter.clone().unwrap_or_default()))
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// Marks of all faces of the part that a face is of, by letter; where two faces have the same letter,
/// with the face's name.
pub fn marks_of_part(job: &Job, face: &FaceId) -> Vec<(MarkId, String)> {
    let part = job.faces.get(face).and_then(|f| f.part.as_ref());
    let of_part = job
        .faces
        .iter()
        .filter(|(_, f)| part.is_some() && f.part.as_ref() == part);
    let mut all = Vec::new();
    for (id, f) in of_part {
        let name = f.name.clone().unwrap_or_default();
        all.extend(
            marks(job, id)
                .into_iter()
                .map(|(m, l)| (m, l, name.clone())),
        );
    }
    let letters: Vec<String> = all.iter().map(|(_, l, _)| l.clone()).collect();
    let shared = |letter: &String| letters.iter().filter(|l| *l == letter).count() > 1;
    let mut named: Vec<(MarkId, String)> = all
        .into_iter()
        .map(|(m, l, name)| {
            let words = if shared(&l) {
                format!("{l}, {name}")
            } else {
                l
            };
            (m, words)
        })
        .collect();
    named.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    named
}

/// The next mark, with the next letter; features that had nothing to follow yet follow the first two.
pub fn add_mark(
    job: &Job,
    face: &FaceId,
    name: &mut dyn FnMut() -> String,
) -> Option<(MarkId, Vec<Payload>)> {
    let there = marks(job, face);
    let letter = ('A'..='Z').find(|l| !there.iter().any(|(_, t)| *t == l.to_string()))?;
    // Marks come in the order of their ids: the first two carry the line of the face.
    let id = MarkId::new(&format!("{}-{letter}", face.as_str()).to_lowercase())
        .ok()
        .filter(|id| !job.marks.contains_key(id))
        .or_else(|| MarkId::new(&format!("m{}", name())).ok())?;
    let mut all = edit(
        EntityRef::Mark(id.clone()),
        &MarkEdit {
            face: Some(face.clone()),
            letter: Some(letter.to_string()),
            ..MarkEdit::default()
        },
    );
    if let [(first, _)] = there.as_slice() {
        for (feature, edited) in &job.features {
            if edited.face.as_ref() == Some(face) && edited.rule.is_none() {
                all.extend(edit(
                    EntityRef::Feature(feature.clone()),
                    &FeatureEdit {
                        rule: Some(between(first, &id)),
                        ..FeatureEdit::default()
                    },
                ));
            }
        }
    }
    Some((id, all))
}

fn between(from: &MarkId, to: &MarkId) -> RuleSpec {
    RuleSpec::Line {
        from: from.clone(),
        to: to.clone(),
        side: None,
        along: Follow::DifferenceSplit,
        across: None,
    }
}

/// A feature, with what is usual until somebody says otherwise.
pub fn add_feature(
    job: &Job,
    face: &FaceId,
    called: &str,
    name: &mut dyn FnMut() -> String,
) -> Option<(FeatureId, Vec<Payload>)> {
    let id = FeatureId::new(&format!("s{}", name())).ok()?;
    let rule = match marks(job, face).as_slice() {
        [(a, _), (b, _), ..] => Some(between(a, b)),
        _ => None,
    };
    // *Eye, left* says its side too: kept in the name, every sheet would say it twice.
    let called = called.trim();
    let of_side = |word, hand| Some((called.strip_suffix(word)?.trim_end(), Some(hand)));
    let (called, hand) = of_side(", left", Hand::Left)
        .or_else(|| of_side(", right", Hand::Right))
        .filter(|(name, _)| !name.is_empty())
        .unwrap_or((called, None));
    let all = edit(
        EntityRef::Feature(id.clone()),
        &FeatureEdit {
            face: Some(face.clone()),
            name: Some(called.to_owned()),
            hand,
            tolerance: Some(Length::from_mm(3.0)),
            rule,
            marker: Some(Marker::SoftPencil),
            drawn: Some(DrawnSide::Inside),
            ..FeatureEdit::default()
        },
    );
    Some((id, all))
}

/// How a feature follows, by its name on the keys.
pub fn rule(job: &Job, face: &FaceId, old: Option<&RuleSpec>, how: &str) -> Option<RuleSpec> {
    let all = marks(job, face);
    if how == "best" {
        return (all.len() >= 2).then(|| RuleSpec::BestFit {
            marks: all
                .into_iter()
                .map(|(mark, _)| WeightedMark { mark, weight: 1.0 })
                .collect(),
            scale: false,
        });
    }
    if how == "edges" {
        return match super::edge_model::edges(job, face).as_slice() {
            [(edge, _), (end, _), ..] => Some(RuleSpec::Edges {
                edge: edge.clone(),
                end: end.clone(),
            }),
            _ => None,
        };
    }
    let mut spec = match (old, all.as_slice()) {
        (Some(line @ (RuleSpec::Line { .. } | RuleSpec::OffEdge { .. })), _) => line.clone(),
        (_, [(a, _), (b, _), ..]) => between(a, b),
        _ => return None,
    };
    if let RuleSpec::Line { along, .. } | RuleSpec::OffEdge { along, .. } = &mut spec {
        *along = match how {
            "from-a" => Follow::FixedDistance,
            "stretch" => Follow::InProportion,
            _ => Follow::DifferenceSplit,
        };
    }
    Some(spec)
}

/// The name on the keys of how it follows.
pub fn follows(spec: Option<&RuleSpec>) -> &'static str {
    match spec {
        Some(RuleSpec::BestFit { .. }) => "best",
        Some(RuleSpec::Edges { .. }) => "edges",
        Some(RuleSpec::Line { along, .. } | RuleSpec::OffEdge { along, .. }) => match along {
            Follow::FixedDistance => "from-a",
            Follow::InProportion => "stretch",
            Follow::DifferenceSplit => "split",
        },
        None => "split",
    }
}

/// The instrument of a kind that is in the job, or a new one.
fn instrument(job: &Job, with: TakenWith) -> Option<(InstrumentId, Vec<Payload>)> {
    let kind = with.kind();
    if let Some((id, _)) = job.instruments.iter().find(|(_, i)| i.kind == Some(kind)) {
        return Some((id.clone(), Vec::new()));
    }
    let (id, called) = match with {
        TakenWith::Over => ("soft-tape", "soft tape"),
        TakenWith::Straight => ("pocket-tape", "pocket tape"),
        TakenWith::Drawing => ("drawing", "the drawing"),
        TakenWith::Level => ("level", "spirit level"),
        TakenWith::Plumb => ("plumb-line", "plumb line"),
        TakenWith::Rod => ("rod", "rod: goes and doesn't"),
    };
    let taped = matches!(with, TakenWith::Over | TakenWith::Straight);
    let id = InstrumentId::new(id).ok()?;
    let said = edit(
        EntityRef::Instrument(id.clone()),
        &InstrumentEdit {
            name: Some(called.into()),
            kind: Some(kind),
            class: taped.then_some(ClassMark::II),
            ..InstrumentEdit::default()
        },
    );
    Some((id, said))
}

pub(super) fn ends(of: &Measured) -> Option<[&PointRef; 2]> {
    match of {
        Measured::Straight { from, to } | Measured::Over { from, to } => Some([from, to]),
        _ => None,
    }
}

pub(super) fn same_ends(a: &Measured, b: &Measured) -> bool {
    match (ends(a), ends(b)) {
        (Some([p, q]), Some([r, s])) => (p, q) == (r, s) || (p, q) == (s, r),
        _ => false,
    }
}

fn from_drawing(job: &Job, instrument: Option<&InstrumentId>) -> bool {
    instrument
        .and_then(|id| job.instruments.get(id))
        .is_some_and(|i| i.kind == Some(InstrumentKind::Drawing))
}

/// A distance on the pattern. Where the same was read before, this corrects it; where the drawing
/// gave it, a tape's word takes its place.
pub fn read(
    job: &Job,
    casting: &CastingId,
    [from, to]: [PointRef; 2],
    value: Entry,
    with: TakenWith,
) -> Vec<Payload> {
    // The pattern stands as it was approved.
    let stood = 0;
    let of = match with {
        TakenWith::Straight | TakenWith::Rod => Measured::Straight { from, to },
        TakenWith::Over | TakenWith::Drawing => Measured::Over { from, to },
        TakenWith::Level => Measured::Level { from, to, stood },
        TakenWith::Plumb => Measured::Plumb {
            high: from,
            low: to,
            stood,
        },
    };
    let Some((instrument, mut all)) = instrument(job, with) else {
        return Vec::new();
    };
    if of.stood().is_some() {
        let before = job.readings.iter().find(|k| {
            k.says.casting == *casting
                && k.says.of == of
                && k.says.instrument.as_ref() == Some(&instrument)
        });
        match before {
            Some(kept) => all.push(correct(kept.id, value)),
            None => all.push(reading(casting, of, value, instrument)),
        }
        return all;
    }
    for kept in &job.readings {
        if kept.says.casting != *casting || !same_ends(&kept.says.of, &of) {
            continue;
        }
        if with == TakenWith::Rod && kept.says.instrument.as_ref() == Some(&instrument) {
            // How wide it lies between its ends is the rod's own: the old word goes.
            all.push(Payload::Withdraw(Withdrawal { target: kept.id }));
            continue;
        }
        let same = kept.says.instrument.as_ref() == Some(&instrument)
            && core::mem::discriminant(&kept.says.of) == core::mem::discriminant(&of);
        if same {
            all.push(correct(kept.id, value));
            return all;
        }
        if from_drawing(job, kept.says.instrument.as_ref()) || with == TakenWith::Drawing {
            all.push(Payload::Withdraw(Withdrawal { target: kept.id }));
        }
    }
    all.push(reading(casting, of, value, instrument));
    all
}

/// A reading of the pattern, from a mark of the tape and at no stage.
fn reading(casting: &CastingId, of: Measured, value: Entry, instrument: InstrumentId) -> Payload {
    Payload::Reading(Reading {
        casting: casting.clone(),
        of,
        value,
        instrument: Some(instrument),
        hooked: false,
        stage: None,
        within: None,
        set_aside: None,
    })
}

/// Another value for a reading.
pub fn correct(target: FactId, value: Entry) -> Payload {
    Payload::Correct(Correction {
        target,
        value,
        reason: "typed again while setting out".into(),
    })
}

/// A tape's readings go to this point: it is not for dragging.
pub fn taped(job: &Job, casting: &CastingId, point: &PointRef) -> bool {
    job.readings.iter().any(|r| {
        r.says.casting == *casting
            && ends(&r.says.of).is_some_and(|e| e.contains(&point))
            && !from_drawing(job, r.says.instrument.as_ref())
    })
}

/// A point put down on the drawing.
pub fn put_down(
    job: &Job,
    casting: &CastingId,
    point: &PointRef,
    place: &DrawnPlace,
    within: Option<f64>,
) -> Vec<Payload> {
    // Each distance stands for the same place: taken as so many readings apart, they would hold it
    // better than it is known.
    let shares = (place.distances.len().max(2) as f64 / 2.0).sqrt();
    let sd = within.map(|w| Length::from_mm(w / ROUND_95 * shares));
    if let Some(at) = place.picked {
        return picked_anew(job, casting, point, at);
    }
    let Some((instrument, mut all)) = instrument(job, TakenWith::Drawing) else {
        return Vec::new();
    };
    all.extend(side(point, place.side));
    let mut kept: Vec<FactId> = Vec::new();
    for distance in &place.distances {
        let value = Entry::of_mm(distance.value.mm());
        let before = job.readings.iter().find(|r| {
            r.says.casting == *casting
                && r.says.instrument.as_ref() == Some(&instrument)
                && same_ends(&r.says.of, &distance.of)
        });
        match before.filter(|r| sd.is_none() && r.says.within.is_none()) {
            Some(reading) => {
                kept.push(reading.id);
                all.push(correct(reading.id, value));
            }
            None => {
                let mut said = reading(casting, distance.of.clone(), value, instrument.clone());
                if let Payload::Reading(reading) = &mut said {
                    reading.within = sd;
                }
                all.push(said);
            }
        }
    }
    // What the drawing said of it before holds no more.
    for reading in &job.readings {
        let stale = reading.says.casting == *casting
            && reading.says.instrument.as_ref() == Some(&instrument)
            && ends(&reading.says.of).is_some_and(|e| e[1] == point)
            && !kept.contains(&reading.id);
        if stale {
            all.push(Payload::Withdraw(Withdrawal { target: reading.id }));
        }
    }
    all
}

/// A feature traced together with marks: the distances between them, which the tracing holds within
/// so much (95 %, mm), and the side of the line of the first two. Crosses from the feature's middle,
/// mm, in the order of the marks' letters.
pub fn traced(
    job: &Job,
    casting: &CastingId,
    feature: &FeatureId,
    crosses: &[(MarkId, [f64; 2])],
    within: f64,
) -> Vec<Payload> {
    let to = PointRef::Feature(feature.clone());
    let distances = crosses.iter().map(|(mark, [x, y])| DrawnDistance {
        of: Measured::Over {
            from: PointRef::Mark(mark.clone()),
            to: to.clone(),
        },
        value: Length::from_mm((x.hypot(*y) * 10.0).round() / 10.0),
    });
    let side = match crosses {
        [(_, [ax, ay]), (_, [bx, by]), ..] if (bx - ax) * -ay - (by - ay) * -ax < 0.0 => {
            LineSide::Below
        }
        _ => LineSide::Above,
    };
    let place = DrawnPlace {
        distances: distances.collect(),
        picked: None,
        side,
    };
    put_down(job, casting, &to, &place, Some(within))
}

/// On which side of the line of the first two marks a point lies.
pub fn side(point: &PointRef, side: LineSide) -> Vec<Payload> {
    let side = Some(side);
    match point {
        PointRef::Mark(id) => edit(
            EntityRef::Mark(id.clone()),
            &MarkEdit {
                side,
                ..MarkEdit::default()
            },
        ),
        PointRef::Feature(id) => edit(
            EntityRef::Feature(id.clone()),
            &FeatureEdit {
                side,
                ..FeatureEdit::default()
            },
        ),
    }
}

/// A place of a scan picked anew: what was picked is corrected; what never was is picked now.
fn picked_anew(
    job: &Job,
    casting: &CastingId,
    point: &PointRef,
    [u, v]: [Length; 2],
) -> Vec<Payload> {
    [(FaceAxis::U, u), (FaceAxis::V, v)]
        .into_iter()
        .map(|(axis, at)| {
            let of = Measured::Coordinate {
                of: point.clone(),
                axis,
            };
            let before = job
                .readings
                .iter()
                .find(|r| r.says.casting == *casting && r.says.of == of);
            match before {
                Some(reading) => correct(reading.id, Entry::of_mm(at.mm())),
                None => super::scan_model::picked(casting, of, at.mm()),
            }
        })
        .collect()
}
