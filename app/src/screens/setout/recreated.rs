//! Example (a) set up again by what the screens do, from what was typed: parts, faces, marks and
//! features added as by their keys, the pattern read in Setting out, castings numbered, married and
//! brought from stage to stage as in Job, measured by *Next*; what was read again with another tape
//! comes back from a table. Its sheets are those of the file.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test stops where something is missing"
)]

use super::model::{self, TakenWith};
use super::outlined;
use crate::say::measure::{self, Next};
use crate::screens::job::model::{add_castings, add_part, edit, marry, set_up_pieces};
use crate::widgets::length::Heard;
use samespot_core::job::*;
use samespot_core::prepare::spreadsheet::read_sheet;
use samespot_core::prepare::walk::walk_with;
use samespot_core::prepare::{Source, issue};
use samespot_core::read::table::Lay;
use samespot_core::sheet::Paper;
use samespot_core::units::{FieldOptions, Unit};
use samespot_core::write::job::Attachments;
use samespot_core::write::table;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

const FILE: &[u8] = include_bytes!("../../../../public/examples/quay-puffins.samespot");
const DAY: &str = "2026-11-28";
/// Of the 18 pieces, those that are measured and whose sheets are compared.
const PIECES: [u32; 3] = [1, 7, 18];

/// What the field understands where a person types what stands in the file, and answers what is asked.
fn typed(there: &Entry, options: &FieldOptions) -> Heard {
    match Heard::of(&there.typed, None, options) {
        Heard::Ask { readings, .. } => {
            let meant = readings
                .iter()
                .position(|r| (r.mm.mm() - there.mm.mm()).abs() < 1e-9);
            Heard::of(&there.typed, meant, options)
        }
        heard => heard,
    }
}

fn entry(there: &Entry) -> Entry {
    let heard = typed(there, &FieldOptions::size(Unit::Mm));
    heard
        .entry()
        .unwrap_or_else(|| panic!("“{}”: {heard:?}", there.typed))
}

/// The job as it grows, and under which names its things stand in it.
struct Again {
    ledger: Ledger,
    job: Job,
    names: u32,
    ids: BTreeMap<String, String>,
    none: Attachments,
}

impl Again {
    fn new() -> Self {
        let ledger = Ledger::new(JobId::new("again").unwrap());
        Self {
            job: ledger.fold(),
            ledger,
            names: 0,
            ids: BTreeMap::new(),
            none: Attachments::new(),
        }
    }

    fn say(&mut self, all: &[Payload]) {
        let writer = Writer {
            replica: ReplicaId(0x77),
            who: "test".into(),
            wall: DAY.into(),
        };
        for payload in all {
            self.ledger.write(&writer, payload).unwrap();
        }
        self.job = self.ledger.fold();
    }

    /// Does what a key does, with names for new things.
    fn key<T>(&mut self, does: impl FnOnce(&Job, &mut dyn FnMut() -> String) -> T) -> T {
        let mut n = self.names;
        let made = does(&self.job, &mut || {
            n += 1;
            format!("{n:04}")
        });
        self.names = n;
        made
    }

    fn known<T: TryFrom<String>>(&self, id: &impl ToString) -> T {
        let there = self.ids.get(&id.to_string());
        let there = there.unwrap_or_else(|| panic!("{} was not made", id.to_string()));
        T::try_from(there.clone()).unwrap_or_else(|_| panic!("{there} is no id"))
    }

    fn call(&mut self, file: &impl ToString, here: &impl ToString) {
        self.ids.insert(file.to_string(), here.to_string());
    }

    fn point(&self, of: &PointRef) -> PointRef {
        match of {
            PointRef::Mark(m) => PointRef::Mark(self.known(m)),
            PointRef::Feature(f) => PointRef::Feature(self.known(f)),
        }
    }

    fn of(&self, of: &Measured) -> Measured {
        match of {
            Measured::Over { from, to } => Measured::Over {
                from: self.point(from),
                to: self.point(to),
            },
            other => panic!("{other:?} is not in the example"),
        }
    }
}

/// Job: its words, stages, tools, parts with their moulds, pieces.
fn set_up(again: &mut Again, file: &Job) {
    again.say(&edit(
        EntityRef::Job,
        &JobEdit {
            pieces: None,
            ..file.about.clone()
        },
    ));
    for (id, issue) in &file.issues {
        again.say(&edit(EntityRef::Issue(id.clone()), issue));
    }
    // A key of Setting out takes the first tape of its kind: the pattern was read with this one.
    let mut tools: Vec<_> = file.instruments.iter().collect();
    tools.sort_by_key(|(id, _)| id.as_str() != "fine-tape");
    for (id, fields) in tools {
        let name = again.key(|_, name| InstrumentId::new(&format!("t{}", name())).unwrap());
        again.say(&edit(EntityRef::Instrument(name.clone()), fields));
        again.call(id, &name);
    }
    for (id, part) in &file.parts {
        let mould = part.mould.as_ref().and_then(|m| file.moulds.get(m));
        let sections = mould.and_then(|m| m.sections.clone()).unwrap_or_default();
        let names: Vec<_> = sections.iter().map(|s| s.name.clone()).collect();
        let called = part.name.clone().unwrap();
        let said = again.key(|_, name| add_part(&called, &names.join(","), name));
        again.say(&said);
        let made = again.job.parts.iter().find(|(_, p)| p.name == part.name);
        let (here, fields) = made.map(|(id, p)| (id.clone(), p.clone())).unwrap();
        again.call(id, &here);
        let mould_here = fields.mould.unwrap();
        again.say(&edit(
            EntityRef::Mould(mould_here.clone()),
            &MouldEdit {
                name: mould.and_then(|m| m.name.clone()),
                shrinkage_per_mille: mould.and_then(|m| m.shrinkage_per_mille),
                ..MouldEdit::default()
            },
        ));
        let made = again.job.moulds[&mould_here].sections.clone().unwrap();
        for (there, here) in sections.iter().zip(&made) {
            again.call(&there.id, &here.id);
        }
    }
    let said = again.key(|job, name| set_up_pieces(job, 18, 6, name));
    again.say(&said);
    for (id, piece) in &file.pieces {
        let here = again.job.pieces.iter();
        let here = here.filter(|(_, p)| p.number == piece.number);
        let here = here.map(|(id, _)| id.clone()).next().unwrap();
        // Its batches are not all of one size.
        let batch = PieceEdit {
            batch: piece.batch,
            ..PieceEdit::default()
        };
        again.say(&edit(EntityRef::Piece(here.clone()), &batch));
        again.call(id, &here);
    }
}

/// Setting out: faces with their marks and features, read on the pattern.
fn set_out(again: &mut Again, file: &Job) {
    for (id, face) in &file.faces {
        let part: PartId = again.known(face.part.as_ref().unwrap());
        let called = face.name.clone().unwrap();
        let (here, said) = again
            .key(|job, name| model::add_face(job, Ok(part), &called, name))
            .unwrap();
        again.say(&said);
        again.call(id, &here);
        again.say(&edit(
            EntityRef::Face(here.clone()),
            &FaceEdit {
                shape: face.shape.clone(),
                seen_from: face.seen_from.clone(),
                ..FaceEdit::default()
            },
        ));
        for (mark, letter) in model::marks(file, id) {
            let (made, said) = again
                .key(|job, name| model::add_mark(job, &here, name))
                .unwrap();
            again.say(&said);
            again.call(&mark, &made);
            let there = &file.marks[&mark];
            assert_eq!(again.job.marks[&made].letter.as_ref(), Some(&letter));
            let fields = MarkEdit {
                section: there.section.as_ref().map(|s| again.known(s)),
                side: None,
                face: None,
                letter: None,
                ..there.clone()
            };
            again.say(&edit(EntityRef::Mark(made.clone()), &fields));
            if let Some(side) = there.side {
                again.say(&model::side(&PointRef::Mark(made), side));
            }
        }
        for (feature, there) in &file.features {
            if there.face.as_ref() == Some(id) {
                add_feature(again, &here, feature, there);
            }
        }
    }
}

/// A feature with its outline from the keys and fields, and how it follows by its key.
fn add_feature(again: &mut Again, face: &FaceId, id: &FeatureId, there: &FeatureEdit) {
    let called = there.name.clone().unwrap();
    let (here, said) = again
        .key(|job, name| model::add_feature(job, face, &called, name))
        .unwrap();
    again.say(&said);
    again.call(id, &here);
    let sizes = outlined::sizes(there.outline.as_ref());
    let words = match &there.outline {
        Some(OutlineSpec::Lettering { text, .. }) => text.clone(),
        _ => String::new(),
    };
    let size = |key: &str| sizes.sizes.get(key).map(|e| entry(e));
    let outline = outlined::outline(sizes.shape, &size, "", &words);
    assert_eq!(outline.is_some(), there.outline.is_some());
    let how = model::follows(there.rule.as_ref());
    let old = again.job.features[&here].rule.clone();
    let rule = again.key(|job, _| model::rule(job, face, old.as_ref(), how));
    let fields = FeatureEdit {
        outline,
        rule,
        face: None,
        name: None,
        side: None,
        ..there.clone()
    };
    again.say(&edit(EntityRef::Feature(here.clone()), &fields));
    if let Some(side) = there.side {
        again.say(&model::side(&PointRef::Feature(here), side));
    }
}

/// Readings of a casting by the first of each distance, and those that were taken again.
fn read_first(file: &Job, casting: &CastingId) -> [Vec<Reading>; 2] {
    let all = file.readings.iter().map(|r| &r.says);
    let all = all.filter(|r| r.casting == *casting);
    let mut seen = BTreeSet::new();
    let mut both = [Vec::new(), Vec::new()];
    for reading in all {
        let first = seen.insert(format!("{:?}", reading.of));
        both[usize::from(!first)].push(reading.clone());
    }
    both
}

/// A table of readings saved from this job, opened again.
fn from_table(again: &mut Again, readings: &[Reading]) {
    let renamed: Vec<Reading> = readings
        .iter()
        .map(|r| Reading {
            casting: again.known(&r.casting),
            of: again.of(&r.of),
            instrument: r.instrument.as_ref().map(|i| again.known(i)),
            ..r.clone()
        })
        .collect();
    let text = table::readings(&renamed);
    let view = read_sheet(&again.job, &text, Lay::Over).unwrap();
    assert!(view.refused.is_empty(), "{:?}", view.refused);
    let new: Vec<Payload> = view
        .readings
        .into_iter()
        .filter(|r| !r.known)
        .map(|r| Payload::Reading(r.reading))
        .collect();
    assert_eq!(new.len(), readings.len(), "what was read again is no copy");
    again.say(&new);
}

fn read_patterns(again: &mut Again, file: &Job) {
    for (id, casting) in &file.castings {
        if casting.pattern != Some(true) {
            continue;
        }
        let part: PartId = again.known(casting.part.as_ref().unwrap());
        let here = again.job.pattern_of(&part).unwrap().clone();
        again.call(id, &here);
        let [first, more] = read_first(file, id);
        for reading in &first {
            let Measured::Over { from, to } = again.of(&reading.of) else {
                panic!()
            };
            let value = entry(&reading.value);
            let said = model::read(&again.job, &here, [from, to], value, TakenWith::Over);
            again.say(&said);
        }
        from_table(again, &more);
    }
}

/// Job: castings of a part with their numbers, the ones in hand married to their pieces.
fn add_all_castings(again: &mut Again, file: &Job) {
    for part_id in file.parts.keys() {
        let part: PartId = again.known(part_id);
        let said = again.key(|job, name| add_castings(job, &part, 18, name));
        again.say(&said);
        let mut made: Vec<_> = (again.job.castings.iter())
            .filter(|(_, c)| c.part.as_ref() == Some(&part) && c.pattern != Some(true))
            .map(|(id, c)| (c.pull, id.clone()))
            .collect();
        made.sort();
        let mut there: Vec<_> = (file.castings.iter())
            .filter(|(_, c)| c.part.as_ref() == Some(part_id) && c.pattern != Some(true))
            .map(|(id, c)| (c.pull, id, c))
            .collect();
        there.sort_by_key(|c| c.0);
        assert_eq!(made.len(), there.len());
        for ((_, here), (_, id, casting)) in made.iter().zip(there) {
            let fields = CastingEdit {
                number: casting.number.clone(),
                pull: casting.pull,
                demoulded: casting.demoulded.clone(),
                ..CastingEdit::default()
            };
            again.say(&edit(EntityRef::Casting(here.clone()), &fields));
            again.call(id, here);
        }
    }
    for (piece, marriage) in &file.marriages {
        let piece: PieceId = again.known(piece);
        for casting in &marriage.castings {
            let casting: CastingId = again.known(casting);
            let said = marry(&again.job, &casting, Some(&piece));
            again.say(&said);
        }
    }
}

/// Measure: the casting comes to *measured*, is walked round once, and goes on.
fn measure_casting(again: &mut Again, file: &Job, id: &CastingId) {
    let here: CastingId = again.known(id);
    let mut stages: Vec<_> = (file.stages.iter())
        .filter(|s| s.says.casting == *id)
        .map(|s| s.says.clone())
        .collect();
    let measured = stages.iter().position(|s| s.stage == "measured").unwrap();
    let later = stages.split_off(measured + 1);
    let step = |again: &mut Again, says: StageFact| {
        again.say(&[Payload::Stage(StageFact {
            casting: here.clone(),
            ..says
        })]);
    };
    for says in stages {
        step(again, says);
    }
    let [first, more] = read_first(file, id);
    let source = Source {
        job: &again.job,
        attachments: &again.none,
    };
    // What the usual list leaves out is asked for by *Another reading*.
    let also: Vec<Measured> = first.iter().map(|r| again.of(&r.of)).collect();
    let round = walk_with(&source, &here, &also).unwrap();
    let mut kept = Vec::new();
    for reading in &first {
        let of = again.of(&reading.of);
        let ask = round.asks.iter().find(|a| model::same_ends(&a.of, &of));
        let ask = ask.unwrap_or_else(|| panic!("{of:?} is not asked for"));
        let heard = typed(&reading.value, &measure::options(Some(ask), Unit::Mm));
        let held = ask
            .held
            .filter(|_| reading.hooked)
            .map(|_| samespot_core::prepare::walk::HeldAt::Hook);
        let mut in_hand = ask.clone();
        in_hand.instrument = reading.instrument.as_ref().map(|i| again.known(i));
        // Where it looks like a slip it is kept all the same: the file has some.
        match measure::next(&round, &in_hand, &heard, true, held) {
            Next::Keep(payload) => kept.push(*payload),
            other => panic!("{}: {other:?}", reading.value.typed),
        }
    }
    again.say(&kept);
    from_table(again, &more);
    for says in later {
        step(again, says);
    }
}

/// The same but for numbers that differ by no more than so many of their own units.
#[track_caller]
fn same(a: &Value, b: &Value, within: f64, at: &str) {
    match (a, b) {
        (Value::Number(x), Value::Number(y)) => {
            let off = (x.as_f64().unwrap() - y.as_f64().unwrap()).abs();
            assert!(off <= within, "{at}: {x} and {y}");
        }
        (Value::Array(x), Value::Array(y)) => {
            assert_eq!(x.len(), y.len(), "{at}");
            for (k, (x, y)) in x.iter().zip(y).enumerate() {
                same(x, y, within, &format!("{at}/{k}"));
            }
        }
        (Value::Object(x), Value::Object(y)) => {
            assert!(x.keys().eq(y.keys()), "{at}");
            for (key, x) in x {
                same(x, &y[key], within, &format!("{at}/{key}"));
            }
        }
        _ => assert_eq!(a, b, "{at}"),
    }
}

#[test]
fn example_a_set_up_by_what_the_screens_do_gives_the_sheets_of_its_file() {
    let file = samespot_core::read::job::open(FILE).unwrap().ledger.fold();
    let mut again = Again::new();
    set_up(&mut again, &file);
    set_out(&mut again, &file);
    read_patterns(&mut again, &file);
    add_all_castings(&mut again, &file);
    let pieces: Vec<PieceId> = (file.pieces.iter())
        .filter(|(_, p)| p.number.is_some_and(|n| PIECES.contains(&n)))
        .map(|(id, _)| id.clone())
        .collect();
    for piece in &pieces {
        for casting in &file.marriages[piece].castings {
            measure_casting(&mut again, &file, casting);
        }
    }
    assert!(again.job.problems.is_empty(), "{:?}", again.job.problems);
    let none = Attachments::new();
    let sheet = |job: &Job, feature: &FeatureId, piece: &PieceId| {
        let source = Source {
            job,
            attachments: &none,
        };
        let issued = issue(&source, feature, piece, Paper::A4, DAY);
        issued.map(|i| i.drawing).map_err(|e| e.to_string())
    };
    let mut made = 0;
    for piece in &pieces {
        for feature in file.features.keys() {
            let at = format!("{feature} on {piece}");
            let here = (again.known(feature), again.known(piece));
            match (
                sheet(&file, feature, piece),
                sheet(&again.job, &here.0, &here.1),
            ) {
                (Ok(one), Ok(two)) => {
                    made += 1;
                    let [one, two] = [one, two].map(|d| serde_json::to_value(d.pages).unwrap());
                    // Whole micrometres: ten of them are 0.01 mm.
                    same(&one, &two, 10.0, &at);
                }
                (one, two) => assert_eq!(one.err(), two.err(), "{at}"),
            }
        }
    }
    assert!(made >= 8, "{made} sheets");
}
