//! The fewest templates of the invented example, against the readings it was made from.
//!
//! What is promised for each piece is checked by laying the shared template again, apart from how
//! it was chosen: the sheet that is printed carries crosses for all pieces it serves.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where something is missing"
)]

use samespot_core::answer::{Answer, Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::{FeatureId, Job, JobId, SheetOf};
use samespot_core::prepare::{Source, fewest_templates, issue_shared, prepare};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::units::Length;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn features() -> Vec<FeatureId> {
    let job = Job::fold(&open(FILE).unwrap().ledger);
    job.features.keys().cloned().collect()
}

#[test]
fn every_piece_is_served_once_and_within_what_is_asked() {
    let opened = open(FILE).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let (mut shared, mut flat) = (0, 0);
    for feature in features() {
        let Ok(found) = fewest_templates(&source, &feature, None) else {
            continue;
        };
        let mut pieces: Vec<_> = found
            .templates
            .iter()
            .flat_map(|t| t.serves.iter().map(|(p, _)| p.clone()))
            .chain(found.without.iter().map(|(p, _)| p.clone()))
            .collect();
        pieces.sort();
        pieces.dedup();
        assert_eq!(pieces.len(), job.pieces.len(), "{feature}");
        assert!(found.at_least <= found.templates.len());
        for template in &found.templates {
            let alone = template.serves.len() == 1;
            shared += usize::from(!alone);
            for (piece, left) in &template.serves {
                assert!(
                    alone || left.worst.mm() <= found.allowed.mm() + 0.0015,
                    "{feature} on {piece}: {}",
                    left.worst.mm()
                );
                // Sharing can only add to what the same laying leaves with a template of its own;
                // on a dome it may happen to cancel what flat paper leaves.
                let own = prepare(&source, &feature, piece).unwrap();
                if own.basis.flattening.iter().any(|f| f.norm_mm() > 0.0) {
                    continue;
                }
                flat += 1;
                let (_, same) = own
                    .basis
                    .leaves(&own.placed, &template.laying, &[])
                    .unwrap();
                assert!(left.worst.mm() >= same.worst.mm() - 1e-6);
            }
            for cross in &template.crosses {
                assert!(cross.within.mm() > 0.0);
            }
        }
        // More tolerance never takes more templates.
        for pair in found.curve.windows(2) {
            assert!(
                pair[0].templates > pair[1].templates || pair[0].beyond > pair[1].beyond,
                "{feature}: {pair:?}"
            );
            assert!(
                pair[0].templates >= pair[1].templates,
                "{feature}: {pair:?}"
            );
        }
    }
    assert!(flat > 0, "some faces unroll");
    assert!(
        shared > 0,
        "the example has templates that several pieces share"
    );
}

#[test]
fn a_shared_sheet_names_its_pieces_and_is_stale_when_a_reading_of_one_changes() {
    let opened = open(FILE).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let (template, count) = features()
        .iter()
        .filter_map(|f| fewest_templates(&source, f, None).ok())
        .find_map(|f| {
            let count = f.templates.len();
            f.templates
                .into_iter()
                .find(|t| t.serves.len() > 1)
                .map(|t| (t, count))
        })
        .unwrap();
    let (drawing, printed) =
        issue_shared(&source, &template, (1, count), Paper::A3, "2026-11-25").unwrap();
    assert_eq!(printed.pieces.len(), template.serves.len());
    let (again, _) = issue_shared(&source, &template, (1, count), Paper::A3, "2026-11-26").unwrap();
    assert_eq!(
        drawing.reference, again.reference,
        "the date is no part of it"
    );
    let said = drawing.readable.join("\n");
    assert!(said.contains("serves pieces"), "{said}");
    assert!(said.contains(&template.laying_words));

    let mut job = job.clone();
    let piece = printed.pieces.last().unwrap().clone();
    job.printed.keep(samespot_core::job::Kept {
        id: job.readings[0].id,
        lamport: job.readings[0].lamport,
        wall: String::new(),
        who: String::new(),
        says: printed.clone(),
    });
    let stale = |job: &Job| {
        let source = Source {
            job,
            attachments: &opened.attachments,
        };
        samespot_core::prepare::staleness(&source, &printed.of, &piece)
    };
    assert_eq!(stale(&job), None);
    let face = job.features[printed.of.feature().unwrap()]
        .face
        .clone()
        .unwrap();
    let part = job.faces[&face].part.clone().unwrap();
    let other = printed.pieces.first().unwrap();
    let casting = job.casting_of(other, &part).unwrap().clone();
    let mut reading = job.readings.about(&casting).next().unwrap().clone();
    reading.says.value.mm = Length::from_mm(reading.says.value.mm.mm() + 2.0);
    let others = job.readings.iter().filter(|r| r.id != reading.id).cloned();
    job.readings = others.chain([reading.clone()]).collect();
    let said = stale(&job).unwrap();
    assert!(said.contains("readings changed"), "{said}");
}

#[test]
fn the_door_answers_with_the_templates_and_their_pdf() {
    let mut desk = Desk::default();
    let job: JobId = desk.take(open(FILE).unwrap());
    let mut ask = |ask: Ask| -> Answer {
        let text = serde_json::to_string(&Request { number: 1, ask }).unwrap();
        answer(&mut desk, serde_json::from_str(&text).unwrap())
    };
    let feature = features().remove(0);
    let Ok(Reply::Fewest(view)) = ask(Ask::Fewest {
        job: job.clone(),
        of: SheetOf::from(&feature),
        within: None,
    })
    .says
    else {
        panic!("the fewest templates")
    };
    let file = ask(Ask::FewestFile {
        job,
        of: SheetOf::from(&feature),
        within: None,
        kind: FileKind::Pdf,
        paper: Paper::A3,
        day: "2026-11-25".into(),
    });
    let Ok(Reply::File { pages, printed, .. }) = file.says else {
        panic!("a file: {:?}", file.says)
    };
    assert_eq!(printed.len(), view.templates.len());
    let read = lopdf::Document::load_mem(&file.bytes).unwrap();
    assert_eq!(read.get_pages().len(), pages);
}
