//! A shell for a face round both ways: what marks it, and the run it serves.
//!
//! Outside values: a cap of reach ρ on a ball of radius R is ρ²/2R high (to second order, any
//! handbook of geometry); a way on the outside of a skin t thick is (R + t)/R as long (design/11,
//! *Thickness*).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops at the first fault"
)]

use samespot_core::answer::{Answer, Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::{FeatureId, Job, JobId, PieceId, SheetOf};
use samespot_core::prepare::{
    Prepared, Source, USUAL_SKIN, fewest_templates, issue, prepare, prepare_sheet,
};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::surface::Surface;
use samespot_core::units::Length;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn eye() -> FeatureId {
    FeatureId::new("eye-left").unwrap()
}

fn shell() -> SheetOf {
    SheetOf::Shell(eye())
}

fn piece(n: u32) -> PieceId {
    PieceId::new(&format!("p{n}")).unwrap()
}

#[test]
fn its_sheet_is_as_much_longer_as_the_skin_lifts_it() {
    let opened = open(FILE).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let paper = prepare(&source, &eye(), &piece(7)).unwrap();
    let made = prepare_sheet(&source, &shell(), &piece(7)).unwrap();
    let Surface::Dome(dome) = &made.surface else {
        panic!("the head is a dome")
    };
    let radius = dome.radius().mm();
    // The middle of paper 0.1 mm thick on the skin.
    let lifted = (radius + USUAL_SKIN.mm() + 0.05) / radius;
    for (k, cross) in made.crosses.iter().enumerate() {
        let bare = made.placed.marks[k].from_origin();
        let there = cross.at.from_origin();
        assert!((there.norm_mm() / bare.norm_mm() - lifted).abs() < 1e-6);
        assert!(cross.eased.norm_mm() < 1e-12, "arms need no easing");
    }
    let wide = |p: &Prepared| p.paint_edge.bounds().unwrap().width().mm();
    assert!((wide(&made) / wide(&paper) - lifted / ((radius + 0.05) / radius)).abs() < 1e-4);
    // Wedges between the arms are clear of the opening and of every arm.
    assert!(!made.darts.is_empty());
    for dart in &made.darts {
        for p in made.cut.as_ref().unwrap().samples(Length::from_mm(1.0)) {
            assert!(dart.clear_of(p).mm() > 5.0);
        }
        for cross in &made.crosses {
            assert!(dart.clear_of(cross.at).mm() > 10.0, "{}", cross.letter);
        }
    }
    assert!(
        made.laying_words.contains(" open. "),
        "{}",
        made.laying_words
    );
}

#[test]
fn it_serves_the_run_and_says_off_which_casting_it_comes() {
    let opened = open(FILE).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let found = fewest_templates(&source, shell(), None).unwrap();
    let served: usize = found.templates.iter().map(|t| t.serves.len()).sum();
    assert_eq!(served + found.without.len(), job.pieces.len());
    let here = (found.curve.iter().rev()).find(|p| p.tolerance <= found.allowed);
    assert_eq!(here.unwrap().templates, found.templates.len());
    for template in &found.templates {
        let rest = template.rest.as_ref().unwrap();
        let heights: Vec<(PieceId, f64)> = template
            .serves
            .iter()
            .map(|(p, _)| {
                let one = prepare_sheet(&source, &shell(), p).unwrap();
                let reach = one
                    .crosses
                    .iter()
                    .map(|c| c.at.from_origin().norm_mm())
                    .fold(0.0, f64::max);
                let radius = one.surface.ball_radius_mm(one.placed.pose.centre).unwrap();
                (p.clone(), reach * reach / (2.0 * radius))
            })
            .collect();
        let worst = |own: f64| {
            heights
                .iter()
                .map(|h| (h.1 - own).abs())
                .fold(0.0, f64::max)
        };
        let least = heights.iter().map(|h| worst(h.1)).fold(f64::MAX, f64::min);
        assert!((rest.gap.mm() - least).abs() < 1e-9);
        assert!(template.serves.iter().any(|(p, _)| *p == rest.off));
    }
}

#[test]
fn a_thicker_skin_is_another_sheet_and_a_tape_finds_holes_from_the_opening() {
    let opened = open(FILE).unwrap();
    let mut job = Job::fold(&opened.ledger);
    let made = |job: &Job| {
        let source = Source {
            job,
            attachments: &opened.attachments,
        };
        issue(&source, shell(), &piece(7), Paper::A3, "").unwrap()
    };
    let thin = made(&job);
    assert!(thin.distances.len() >= 2);
    for distance in &thin.distances {
        assert!(distance.between.contains("to the opening"), "{distance:?}");
        assert!(distance.drawn.mm() > 10.0 && distance.within > Length::ZERO);
    }
    job.features.get_mut(&eye()).unwrap().skin = Some(Length::from_mm(4.0));
    assert_ne!(made(&job).drawing.reference, thin.drawing.reference);
    // The stencil of the same eye has nothing to do with it.
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let stencil = issue(&source, &eye(), &piece(7), Paper::A3, "").unwrap();
    assert!(!stencil.prepared.laying_words.contains("shell"));
}

#[test]
fn the_door_answers_with_the_shells_and_what_marks_them() {
    let mut desk = Desk::default();
    let job: JobId = desk.take(open(FILE).unwrap());
    let mut ask = |ask: Ask| -> Answer {
        let text = serde_json::to_string(&Request { number: 1, ask }).unwrap();
        answer(&mut desk, serde_json::from_str(&text).unwrap())
    };
    let Ok(Reply::Fewest(view)) = ask(Ask::Fewest {
        job: job.clone(),
        of: shell(),
        within: None,
    })
    .says
    else {
        panic!("the shells")
    };
    assert_eq!(view.name, "Eye, left, shell");
    assert!(view.templates.iter().all(|t| t.rests.is_some()));
    let file = ask(Ask::FewestFile {
        job,
        of: shell(),
        within: None,
        kind: FileKind::Pdf,
        paper: Paper::A3,
        day: "2026-11-27".into(),
    });
    let Ok(Reply::File { printed, .. }) = file.says else {
        panic!("a file: {:?}", file.says)
    };
    assert!(printed.iter().all(|p| p.of == shell()));
    assert!(lopdf::Document::load_mem(&file.bytes).is_ok());
}
