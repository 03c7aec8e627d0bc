//! Both of a pair on one template.
//!
//! Outside: the distance between the two middles over a ball is the great circle (haversine formula,
//! Sinnott 1984), worked out here from the two centres in space.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops at the first fault"
)]

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::{FeatureId, Job, PairId, PieceId, SheetOf};
use samespot_core::prepare::{
    PrepareError, Source, fewest_templates, issue, prepare, prepare_sheet,
};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::surface::{Shape, Surface};
use samespot_core::units::Length;

const OTTERS: &[u8] = include_bytes!("../../public/examples/regatta-otters.samespot");
const PUFFINS: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

fn both() -> SheetOf {
    SheetOf::Pair(PairId::new("eyes").unwrap())
}

fn piece(n: u32) -> PieceId {
    PieceId::new(&format!("p{n}")).unwrap()
}

fn first_piece(job: &Job) -> PieceId {
    job.pieces_in_order()[0].0.clone()
}

/// The middle of each closed line.
fn middles(p: &samespot_core::prepare::Prepared) -> Vec<Point2<Flat>> {
    let mut all: Vec<_> = p
        .paint_edge
        .polylines(Length::from_mm(0.01))
        .into_iter()
        .map(|run| {
            let n = run.len() as f64;
            let (x, y) = run
                .iter()
                .fold((0.0, 0.0), |s, p| (s.0 + p.x_mm() / n, s.1 + p.y_mm() / n));
            Point2::from_mm(x, y)
        })
        .collect();
    all.sort_by(|a, b| a.x_mm().total_cmp(&b.x_mm()));
    all
}

#[test]
fn both_outlines_are_as_far_apart_as_the_pattern_has_them() {
    let opened = open(OTTERS).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let on = first_piece(&job);
    let two = prepare_sheet(&source, &both(), &on).unwrap();
    assert_eq!(two.paint_edge.contours().len(), 2);
    let seen = middles(&two);
    let apart = (seen[1] - seen[0]).norm_mm();
    // Where each eye by itself goes on this casting, as a chord through the head.
    let own = |id: &str| prepare(&source, &FeatureId::new(id).unwrap(), &on).unwrap();
    let (left, right) = (own("eye-left"), own("eye-right"));
    let at = |p: &samespot_core::prepare::Prepared| p.surface.jet(p.placed.pose.centre).unwrap().at;
    let chord = at(&left).distance(at(&right)).mm();
    let over = match &two.surface {
        Surface::Dome(dome) => {
            let r = dome.radius().mm();
            2.0 * r * (chord / 2.0 / r).asin()
        }
        _ => chord,
    };
    // On a casting the eyes keep the design's spacing, whatever its own marks say: near, not equal.
    assert!((apart - over).abs() < 3.0, "{apart} for {over}");
    // The middles lie level and alike about the middle of the sheet.
    assert!((seen[0].x_mm() + seen[1].x_mm()).abs() < 0.5, "{seen:?}");
    assert!((seen[0].y_mm() - seen[1].y_mm()).abs() < 1.5, "{seen:?}");
    assert!(
        two.size_words.starts_with("both, ⌀ 34"),
        "{}",
        two.size_words
    );
    // One sheet can't be better on both than each with its own.
    let own = [&left, &right].map(|p| p.budget.worst.mm());
    assert!(two.budget.worst.mm() >= own[0].min(own[1]));
}

#[test]
fn it_is_printed_shared_and_stale_like_any_other() {
    let opened = open(OTTERS).unwrap();
    let mut job = Job::fold(&opened.ledger);
    let on = first_piece(&job);
    let reference = |job: &Job| {
        let source = Source {
            job,
            attachments: &opened.attachments,
        };
        let made = issue(&source, both(), &on, Paper::A3, "").unwrap();
        (made.drawing.reference.clone(), made.inputs)
    };
    let (before, inputs) = reference(&job);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let found = fewest_templates(&source, both(), None).unwrap();
    let served: usize = found.templates.iter().map(|t| t.serves.len()).sum();
    assert_eq!(served + found.without.len(), job.pieces.len());
    // Either of the two changed makes another sheet.
    let right = FeatureId::new("eye-right").unwrap();
    job.features.get_mut(&right).unwrap().turn = Some(samespot_core::units::Angle::from_deg(3.0));
    job.features.get_mut(&right).unwrap().outline = Some(samespot_core::job::OutlineSpec::Circle {
        diameter: samespot_core::job::Entry::of_mm(30.0),
    });
    let (after, now) = reference(&job);
    assert_ne!(before, after);
    assert_ne!(inputs.design, now.design);
    assert_eq!(inputs.readings, now.readings);
}

#[test]
fn on_two_faces_each_has_its_own() {
    let opened = open(PUFFINS).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let why = prepare_sheet(&source, &both(), &piece(7)).unwrap_err();
    assert!(matches!(why, PrepareError::Pair { .. }), "{why}");
    assert!(why.to_string().contains("two faces"), "{why}");
}
