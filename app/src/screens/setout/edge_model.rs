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

/// To how many places of the pattern square distances were read from an edge.
pub fn squares(job: &Job, edge: &EdgeId) -> usize {
    let pattern = |c: &CastingId| job.castings.get(c).is_some_and(|c| c.pattern == Some(true));
    let mut places: Vec<&PointRef> = Vec::new();
    for reading in &job.readings {
        if let Measured::Square { edge: from, to } = &reading.says.of
            && from == edge
            && pattern(&reading.says.casting)
            && !places.contains(&to)
        {
            places.push(to);
        }
    }
    places.len()
}

/// What is still to be read from the edges of a face before it is set out: two places at least from
/// one that something follows, one from any other. What only stops of a jig touch is read on each casting.
pub fn to_read(job: &Job, face: &FaceId) -> Vec<String> {
    let followed = |id: &EdgeId| {
        let rules = job.features.values().filter_map(|f| f.rule.as_ref());
        let of_brackets = job.fixings.values().filter_map(|f| f.rule.as_ref());
        rules
            .chain(of_brackets)
            .any(|rule| rule.edges().contains(&id))
    };
    edges(job, face)
        .into_iter()
        .filter_map(|(id, letter)| {
            let stops = job.fixings.values().filter_map(|f| f.stops.as_ref());
            let only_touched = stops.flatten().any(|s| s.edge == id);
            let wanted = match (followed(&id), only_touched) {
                (true, _) => 2,
                (false, true) => 0,
                (false, false) => 1,
            };
            let read = squares(job, &id);
            let lies = job.edges.get(&id).and_then(|e| e.lies).unwrap_or_default();
            (read < wanted).then(|| {
                format!(
                    "Read edge {letter}, the {}, on the pattern: square from it to the marks, under Edges",
                    lies.words()
                )
            })
        })
        .collect()
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

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{
        CastingEdit, FaceEdit, FixingEdit, FixingId, JigStop, JobId, Ledger, MarkEdit, MarkId,
        ReplicaId, Writer,
    };

    /// An edge is asked for until a place of the pattern is read square from it; one that only a stop
    /// touches is read on each casting.
    #[test]
    fn edges_are_asked_for_until_they_are_read() {
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        let (face, pattern) = (FaceId::new("front").unwrap(), CastingId::new("p").unwrap());
        let mut say = |all: Vec<Payload>| {
            for p in &all {
                ledger.write(&writer, p).unwrap();
            }
            ledger.fold()
        };
        let master = CastingEdit {
            pattern: Some(true),
            ..CastingEdit::default()
        };
        say(edit(EntityRef::Casting(pattern.clone()), &master));
        let named = FaceEdit {
            name: Some("front".into()),
            ..FaceEdit::default()
        };
        let mut job = say(edit(EntityRef::Face(face.clone()), &named));
        let (edge, added) = add(&job, &face, &mut || "1".into()).unwrap();
        job = say(added);
        let asked = to_read(&job, &face);
        assert!(
            asked.len() == 1 && asked[0].contains("edge below"),
            "{asked:?}"
        );
        let mark = MarkId::new("a").unwrap();
        let stands = MarkEdit {
            face: Some(face.clone()),
            letter: Some("A".into()),
            ..MarkEdit::default()
        };
        job = say(edit(EntityRef::Mark(mark.clone()), &stands));
        let to = PointRef::Mark(mark.clone());
        let read = square(&job, &pattern, (&edge, &to), Entry::of_mm(150.0));
        let read_job = say(read);
        assert_eq!(squares(&read_job, &edge), 1);
        assert!(to_read(&read_job, &face).is_empty());
        let stopped = FixingEdit {
            stops: Some(vec![JigStop { edge, at: mark }]),
            ..FixingEdit::default()
        };
        job.fixings.insert(FixingId::new("b").unwrap(), stopped);
        assert!(to_read(&job, &face).is_empty());
    }
}
