//! What is said of edges: which there are, and what was read square from them.

use super::model;
use crate::screens::job::model::edit;
use samespot_core::job::{
    CastingId, Correction, EdgeEdit, EdgeId, EdgeLies, EdgeMade, EntityRef, Entry, FaceId,
    InstrumentEdit, InstrumentId, InstrumentKind, Job, Measured, Payload, PointRef, Reading,
};

/// Edges of a face with their letters.
pub fn edges(job: &Job, face: &FaceId) -> Vec<(EdgeId, String)> {
    let mut all: Vec<(EdgeId, String)> = job
        .edges
        .iter()
        .filter(|(_, e)| e.face.as_ref() == Some(face))
        .map(|(id, e)| {
            (
                id.clone(),
                e.letter.clone().unwrap_or_else(|| id.to_string()),
            )
        })
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// A side of the face by its name on the keys.
const SIDES: [(&str, EdgeLies); 4] = [
    ("below", EdgeLies::Below),
    ("above", EdgeLies::Above),
    ("left", EdgeLies::Left),
    ("right", EdgeLies::Right),
];

/// The name on the keys of the side where an edge lies.
pub fn key(lies: EdgeLies) -> &'static str {
    SIDES.iter().find(|s| s.1 == lies).map_or("", |s| s.0)
}

/// The side with that name.
pub fn lies(key: &str) -> Option<EdgeLies> {
    SIDES.iter().find(|s| s.0 == key).map(|s| s.1)
}

/// Which way round they usually come: the bottom, then the left.
const USUAL: [EdgeLies; 4] = [
    EdgeLies::Below,
    EdgeLies::Left,
    EdgeLies::Above,
    EdgeLies::Right,
];

/// One edge more, with a letter that neither a mark nor another edge has.
pub fn add(
    job: &Job,
    face: &FaceId,
    name: &mut dyn FnMut() -> String,
) -> Option<(EdgeId, Vec<Payload>)> {
    let there = edges(job, face);
    let marks = model::marks(job, face);
    let letter = ('E'..='Z').map(|l| l.to_string()).find(|l| {
        let taken = there.iter().map(|e| &e.1).chain(marks.iter().map(|m| &m.1));
        !taken.into_iter().any(|t| t == l)
    })?;
    let id = EdgeId::new(&format!("e{}", name())).ok()?;
    let said = edit(
        EntityRef::Edge(id.clone()),
        &EdgeEdit {
            face: Some(face.clone()),
            letter: Some(letter),
            lies: USUAL.get(there.len()).copied().or(Some(EdgeLies::Below)),
            made: Some(EdgeMade::Moulded),
            reason: None,
        },
    );
    Some((id, said))
}

/// What was read square from an edge to a point.
pub fn read(job: &Job, casting: &CastingId, edge: &EdgeId, to: &PointRef) -> Option<Entry> {
    let of = of(edge, to);
    job.readings
        .iter()
        .rev()
        .find(|r| r.says.casting == *casting && r.says.of == of)
        .map(|r| r.says.value.clone())
}

fn of(edge: &EdgeId, to: &PointRef) -> Measured {
    Measured::Square {
        edge: edge.clone(),
        to: to.clone(),
    }
}

/// A square distance on the pattern; read again it corrects what was read before.
pub fn square(
    job: &Job,
    casting: &CastingId,
    (edge, to): (&EdgeId, &PointRef),
    value: Entry,
) -> Vec<Payload> {
    let of = of(edge, to);
    let before = job
        .readings
        .iter()
        .find(|r| r.says.casting == *casting && r.says.of == of);
    if let Some(kept) = before {
        return vec![Payload::Correct(Correction {
            target: kept.id,
            value,
            reason: "typed again while setting out".into(),
        })];
    }
    let kind = InstrumentKind::Square;
    let known = job.instruments.iter().find(|(_, i)| i.kind == Some(kind));
    let mut all = Vec::new();
    let instrument = match known {
        Some((id, _)) => id.clone(),
        None => {
            let Ok(id) = InstrumentId::new("square") else {
                return all;
            };
            all = edit(
                EntityRef::Instrument(id.clone()),
                &InstrumentEdit {
                    name: Some("square and rule".into()),
                    kind: Some(kind),
                    ..InstrumentEdit::default()
                },
            );
            id
        }
    };
    all.push(Payload::Reading(Reading {
        casting: casting.clone(),
        of,
        value,
        instrument: Some(instrument),
        // The rule's end butts against the edge.
        hooked: true,
        stage: None,
        within: None,
        set_aside: None,
    }));
    all
}
