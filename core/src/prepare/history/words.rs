//! What facts say, in plain words: which thing, which of its particulars, what it is now.

use super::settings::{entry, setting};
use crate::job::*;
use crate::prepare::checks::verdict_words;
use crate::prepare::naming::{casting_words, reading_words};
use crate::prepare::words::feature_title;

/// A thing of the job, by what people call it.
pub(super) fn thing(job: &Job, on: &EntityRef) -> String {
    let named = |what: &str, name: Option<String>, id: &str| match name {
        Some(name) if !name.trim().is_empty() => format!("{what} {name}"),
        _ => format!("{what} {id}"),
    };
    match on {
        EntityRef::Job => "the job".into(),
        EntityRef::Issue(id) => match job.issues.get(id).and_then(|i| i.number) {
            Some(number) => format!("issue {number}"),
            None => format!("issue {id}"),
        },
        EntityRef::Mould(id) => named(
            "mould",
            job.moulds.get(id).and_then(|m| m.name.clone()),
            id.as_str(),
        ),
        EntityRef::Part(id) => named(
            "part",
            job.parts.get(id).and_then(|p| p.name.clone()),
            id.as_str(),
        ),
        EntityRef::Face(id) => named(
            "face",
            job.faces.get(id).and_then(|f| f.name.clone()),
            id.as_str(),
        ),
        EntityRef::Mark(id) => {
            let mark = job.marks.get(id);
            let face = mark
                .and_then(|m| m.face.as_ref())
                .and_then(|f| job.faces.get(f))
                .and_then(|f| f.name.clone());
            let letter = named("mark", mark.and_then(|m| m.letter.clone()), id.as_str());
            face.map_or_else(|| letter.clone(), |face| format!("{letter} on {face}"))
        }
        EntityRef::Edge(id) => named(
            "edge",
            job.edges.get(id).and_then(|e| e.letter.clone()),
            id.as_str(),
        ),
        EntityRef::Feature(id) => job
            .features
            .get(id)
            .map_or_else(|| format!("feature {id}"), feature_title),
        EntityRef::Pair(id) => named(
            "pair",
            job.pairs.get(id).and_then(|p| p.name.clone()),
            id.as_str(),
        ),
        EntityRef::MeasuringList(id) => {
            let part = job.lists.get(id).and_then(|l| l.part.as_ref());
            let name = part.and_then(|p| job.parts.get(p)?.name.clone());
            name.map_or_else(
                || format!("measuring list {id}"),
                |of| format!("measuring list of {of}"),
            )
        }
        EntityRef::Joint(id) => named(
            "joint",
            job.joints.get(id).and_then(|j| j.name.clone()),
            id.as_str(),
        ),
        EntityRef::Fixing(id) => (job.fixings.get(id).and_then(|f| f.name.clone()))
            .filter(|name| !name.trim().is_empty())
            .unwrap_or_else(|| format!("fixing {id}")),
        EntityRef::Instrument(id) => named(
            "instrument",
            job.instruments.get(id).and_then(|i| i.name.clone()),
            id.as_str(),
        ),
        EntityRef::Printer(id) => named(
            "printer",
            job.printers.get(id).and_then(|p| p.name.clone()),
            id.as_str(),
        ),
        EntityRef::Template(id) => match job.templates.get(id).and_then(|t| t.number) {
            Some(number) => format!("template {number}"),
            None => format!("template {id}"),
        },
        EntityRef::Casting(id) => casting_words(job, id),
        EntityRef::Piece(id) => match job.pieces.get(id).and_then(|p| p.number) {
            Some(number) => format!("piece {number}"),
            None => format!("piece {id}"),
        },
    }
}

fn feature(job: &Job, id: &FeatureId) -> String {
    thing(job, &EntityRef::Feature(id.clone()))
}

/// *piece 4*; *pieces 4, 5, 6*.
pub(super) fn pieces(job: &Job, ids: &[PieceId]) -> String {
    let number = |id: &PieceId| {
        let number = job.pieces.get(id).and_then(|p| p.number);
        number.map_or_else(|| id.to_string(), |n| n.to_string())
    };
    match ids {
        [] => "no piece".into(),
        [one] => format!("piece {}", number(one)),
        all => {
            let all: Vec<String> = all.iter().map(number).collect();
            format!("pieces {}", all.join(", "))
        }
    }
}

/// What a fact is about, and each particular it gives with what that is from then on.
pub(super) type Told = (EntityRef, Vec<(String, String)>);

fn one(on: EntityRef, label: impl Into<String>, is: impl Into<String>) -> Told {
    (on, vec![(label.into(), is.into())])
}

/// What was read, and on which face: a casting has an A on each.
fn reading(job: &Job, of: &Measured) -> String {
    let Some(point) = of.points().into_iter().next() else {
        return reading_words(job, of);
    };
    let face = match point {
        PointRef::Mark(id) => job.marks.get(id).and_then(|m| m.face.as_ref()),
        PointRef::Feature(id) => job.features.get(id).and_then(|f| f.face.as_ref()),
    };
    match face
        .and_then(|f| job.faces.get(f))
        .and_then(|f| f.name.as_ref())
    {
        Some(face) => format!("{}, on {face}", reading_words(job, of)),
        None => reading_words(job, of),
    }
}

/// What a fact says. Undoing, correcting and taking out change what other facts said, and are not
/// told here.
pub(super) fn told(job: &Job, payload: &Payload) -> Option<Told> {
    Some(match payload {
        Payload::Edit(e) => {
            let lines = (e.set.iter())
                .map(|(name, v)| setting(job, name, v))
                .collect();
            (e.on.clone(), lines)
        }
        Payload::Reading(r) => {
            let mut is = entry(&r.value);
            if let Some(why) = &r.set_aside {
                is.push_str(&format!(", left out: {why}"));
            }
            one(
                EntityRef::Casting(r.casting.clone()),
                reading(job, &r.of),
                is,
            )
        }
        Payload::Stage(s) => {
            let mut is = s.stage.clone();
            if let Some(reason) = &s.reason {
                is.push_str(&format!(" ({reason})"));
            }
            one(EntityRef::Casting(s.casting.clone()), "stage", is)
        }
        Payload::Marriage(m) => {
            let all: Vec<String> = m.castings.iter().map(|c| casting_words(job, c)).collect();
            let is = if all.is_empty() {
                "taken apart".to_owned()
            } else {
                all.join(", ")
            };
            one(EntityRef::Piece(m.piece.clone()), "made of", is)
        }
        Payload::Done(d) => {
            let on = d.on.as_ref().map(|on| format!(" on {}", thing(job, on)));
            one(
                EntityRef::Casting(d.casting.clone()),
                // Each piece of work is a line of its own: a later one does not replace it.
                format!("{}{}", d.what, on.unwrap_or_default()),
                "done",
            )
        }
        Payload::Mould(m) => {
            let after = m.after_pull.map(|n| format!("after pull {n}"));
            one(
                EntityRef::Mould(m.mould.clone()),
                m.what.clone(),
                after.unwrap_or_else(|| "done".into()),
            )
        }
        Payload::Check(c) => {
            let is = c.found.as_ref().map_or_else(
                || "checked, nothing found yet".to_owned(),
                |f| verdict_words(f.verdict).to_owned(),
            );
            one(
                EntityRef::Piece(c.piece.clone()),
                format!("check of {}", feature(job, &c.feature)),
                is,
            )
        }
        Payload::Concession(c) => one(
            EntityRef::Piece(c.piece.clone()),
            format!("{} let stand", feature(job, &c.feature)),
            format!("by {}: {}", c.by, c.reason),
        ),
        Payload::PairConcession(c) => one(
            EntityRef::Piece(c.piece.clone()),
            format!("{} let stand", thing(job, &EntityRef::Pair(c.pair.clone()))),
            format!("by {}: {}", c.by, c.reason),
        ),
        Payload::SignedOff(s) => one(
            s.piece.clone().map_or(EntityRef::Job, EntityRef::Piece),
            "record signed off".to_owned(),
            format!("by {}: {}; check sum {}", s.by, s.reason, s.seal),
        ),
        Payload::Printed(p) => one(
            p.of.entity(),
            format!(
                "{} printed for {}",
                TemplateKind::of_sheet(&p.of).name(),
                pieces(job, &p.pieces)
            ),
            p.reference.clone(),
        ),
        Payload::Proof(p) => one(
            EntityRef::Printer(p.printer.clone()),
            format!("proof page of {}", p.day),
            format!("A to B {}, A to D {}", entry(&p.across), entry(&p.up)),
        ),
        Payload::Measuring(m) => {
            let on = EntityRef::Casting(m.casting.clone());
            match &m.says {
                MeasuringSays::CannotReach { of } => one(on, reading(job, of), "can’t be reached"),
                MeasuringSays::Kept { reading, why } => {
                    one(on, read_as(job, *reading), stands(why))
                }
                MeasuringSays::SetAside { reading, why } => {
                    one(on, read_as(job, *reading), format!("left out: {why}"))
                }
                MeasuringSays::ShopAt { celsius } => {
                    one(on, "the shop".to_owned(), format!("{celsius} °C"))
                }
            }
        }
        Payload::Amended(a) => {
            let is = match &a.decided {
                Decided::Reworked => "made again".to_owned(),
                Decided::Concession { by, reason } => format!("stays, by {by}: {reason}"),
            };
            one(
                EntityRef::Piece(a.piece.clone()),
                format!(
                    "{} by {}",
                    feature(job, &a.feature),
                    thing(job, &EntityRef::Issue(a.issue.clone()))
                ),
                is,
            )
        }
        Payload::Seat(s) => {
            let when = |w: &SeatWhen| match w {
                SeatWhen::Dry => "dry",
                SeatWhen::Wet => "in wet filler",
                SeatWhen::Cured => "cured",
            };
            let joint = job.joints.get(&s.joint);
            let spot = |id: &SpotId| {
                joint
                    .into_iter()
                    .flat_map(|j| j.pads.iter().flatten().chain(j.stations.iter().flatten()))
                    .find(|s| s.id == *id)
                    .map_or_else(|| id.to_string(), |s| s.name.clone())
            };
            let (on, label) = match &s.of {
                SeatRead::Height { casting, spot: at } => (
                    EntityRef::Casting(casting.clone()),
                    format!("height at {}", spot(at)),
                ),
                SeatRead::Gap {
                    piece,
                    pad,
                    when: w,
                } => (
                    EntityRef::Piece(piece.clone()),
                    format!("gap at {}, {}", spot(pad), when(w)),
                ),
                SeatRead::Locating {
                    piece,
                    station,
                    when: w,
                } => (
                    EntityRef::Piece(piece.clone()),
                    format!("locating dimension at {}, {}", spot(station), when(w)),
                ),
            };
            one(on, label, entry(&s.value))
        }
        Payload::Drilled(d) => one(
            EntityRef::Piece(d.piece.clone()),
            format!(
                "hole {} of {}",
                d.hole,
                thing(job, &EntityRef::Fixing(d.fixing.clone()))
            ),
            match (&d.became, &d.found) {
                (Some(became), _) => became.clone(),
                (None, Some(found)) => crate::prepare::holes::found_words(found),
                (None, None) => "drilled as asked".into(),
            },
        ),
        Payload::Cured(c) => one(
            EntityRef::Piece(c.piece.clone()),
            format!(
                "hole {} of {} after cure, from {}",
                c.hole,
                thing(job, &EntityRef::Fixing(c.fixing.clone())),
                thing(job, &EntityRef::Mark(c.from.clone()))
            ),
            entry(&c.value),
        ),
        Payload::Template(t) => {
            let on = EntityRef::Template(t.template.clone());
            match &t.says {
                TemplateSays::Measured { read, .. } => (
                    on,
                    read.iter()
                        .map(|r| (r.between.clone(), entry(&r.read)))
                        .collect(),
                ),
                TemplateSays::LaidBack { on: laid, gaps, .. } => {
                    let four = [&gaps.top, &gaps.right, &gaps.bottom, &gaps.left].map(entry);
                    one(on, "laid back", format!("on {laid}: {}", four.join(", ")))
                }
                TemplateSays::Worn { how } => one(on, "worn", how.clone()),
                TemplateSays::Retired { why } => one(on, "retired", why.clone()),
            }
        }
        Payload::Withdraw(_) | Payload::Correct(_) | Payload::Remove(_) => return None,
    })
}

/// A reading by what was read, as it was typed.
pub(in crate::prepare) fn read_as(job: &Job, fact: FactId) -> String {
    job.readings.named(fact).map_or_else(
        || "a reading".to_owned(),
        |r| format!("{}, {}", reading(job, &r.says.of), r.says.value.typed),
    )
}

/// That an odd reading was looked at and stands, and why.
pub(in crate::prepare) fn stands(why: &str) -> String {
    if why.is_empty() {
        "looked at again, stands".to_owned()
    } else {
        format!("looked at again, stands: {why}")
    }
}
