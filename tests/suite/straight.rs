//! Straight readings on round faces: a chord among laid tapes sees a little of where on the face
//! all marks lie, and that little must not run away with them.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where something is missing"
)]

use samespot_core::job::*;
use samespot_core::prepare::{Source, prepare};
use samespot_core::surface::Shape;
use samespot_core::write::job::Attachments;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn example() -> Job {
    samespot_core::read::job::open(FILE).unwrap().ledger.fold()
}

fn mark(id: &str) -> PointRef {
    PointRef::Mark(MarkId::new(id).unwrap())
}

fn runs(of: &Measured, from: &PointRef, to: &PointRef) -> bool {
    matches!(of, Measured::Over { from: a, to: b } if a == from && b == to)
}

/// The same job, with one distance of every bollard taken straight by trammel instead, the
/// pattern's too: the chord between the marks as its own laid tapes have them, to half a millimetre.
fn by_trammel(feature: &str, from: &str, to: &str) -> Job {
    let mut job = example();
    let attachments = Attachments::default();
    let feature = FeatureId::new(feature).unwrap();
    let (from, to) = (mark(from), mark(to));
    let part = job.faces[job.features[&feature].face.as_ref().unwrap()]
        .part
        .clone()
        .unwrap();
    let trammel = InstrumentId::new("trammel").unwrap();
    job.instruments.insert(
        trammel.clone(),
        InstrumentEdit {
            kind: Some(InstrumentKind::Trammel),
            ..InstrumentEdit::default()
        },
    );
    let pieces: Vec<PieceId> = job.pieces.keys().cloned().collect();
    let source = Source {
        job: &example(),
        attachments: &attachments,
    };
    let mut chords = std::collections::BTreeMap::new();
    let mut shorter_mm = 0.0;
    for piece in &pieces {
        let done = prepare(&source, &feature, piece).unwrap();
        let marks = &done.marks;
        let chord = marks
            .adjusted
            .surface
            .straight(marks.at(&from).unwrap(), marks.at(&to).unwrap())
            .unwrap();
        let casting = job.casting_of(piece, &part).unwrap().clone();
        let surface = &marks.adjusted.surface;
        let (a, b) = (marks.at(&from).unwrap(), marks.at(&to).unwrap());
        let turns = surface.nearest_turns(a, b);
        shorter_mm += surface.over_surface(a, b, turns).unwrap().mm - chord.mm;
        chords.insert(casting, (2.0 * chord.mm).round() / 2.0);
    }
    shorter_mm /= pieces.len() as f64;
    let mut readings: Vec<_> = job.readings.iter().cloned().collect();
    for reading in &mut readings {
        if !runs(&reading.says.of, &from, &to) {
            continue;
        }
        let on_pattern = job.castings[&reading.says.casting].pattern == Some(true);
        let chord = match chords.get(&reading.says.casting) {
            Some(mm) => Some(*mm),
            None => on_pattern.then(|| reading.says.value.mm.mm() - shorter_mm),
        };
        if let Some(mm) = chord {
            reading.says.of = Measured::Straight {
                from: from.clone(),
                to: to.clone(),
            };
            reading.says.value = Entry::of_mm(mm);
            reading.says.instrument = Some(trammel.clone());
            reading.says.hooked = false;
        }
    }
    job.readings = readings.into_iter().collect();
    job
}

/// Every piece still gets its template, in the same place and about as sure, and nobody is asked
/// whether the trammel was laid over.
#[track_caller]
fn check(feature: &str, from: &str, to: &str) {
    let attachments = Attachments::default();
    let (before, after) = (example(), by_trammel(feature, from, to));
    let feature = FeatureId::new(feature).unwrap();
    for piece in before.pieces.keys() {
        let on = |job: &Job| {
            let source = Source {
                job,
                attachments: &attachments,
            };
            prepare(&source, &feature, piece).unwrap_or_else(|e| panic!("{piece}: {e}"))
        };
        let (laid, straight) = (on(&before), on(&after));
        // Distances on the template from the feature to each cross: what the paint depends on.
        let worst = laid
            .crosses
            .iter()
            .zip(&straight.crosses)
            .map(|(a, b)| (a.at - b.at).norm_mm())
            .fold(0.0, f64::max);
        // Readings are rounded to half a millimetre and weighed a little differently.
        assert!(worst < 1.0, "{piece}: a cross moved {worst:.2} mm");
        let more = straight.budget.worst.mm() - laid.budget.worst.mm();
        assert!(more < 0.3, "{piece}: {more:.2} mm less sure");
        let asked = straight.warnings.iter().find(|w| w.contains("laid over?"));
        assert_eq!(asked, None, "{piece}");
    }
}

#[test]
fn a_chord_up_the_cone() {
    check("band", "bollard-front-a", "bollard-front-c");
}

#[test]
fn a_chord_across_the_cone() {
    check("band", "bollard-front-a", "bollard-front-b");
}

#[test]
fn a_chord_on_the_dome() {
    check("eye-right", "head-right-a", "head-right-b");
}
