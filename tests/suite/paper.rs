//! How much paper the example's run takes on A4, the paper that every workshop has.
#![allow(clippy::unwrap_used, reason = "a test stops where it fails")]

use samespot_core::job::{Job, SheetOf};
use samespot_core::prepare::{Source, issue};
use samespot_core::read::job::open;
use samespot_core::sheet::Paper;
use samespot_core::sheet::drawing::{Contour, Drawing, Meaning, Shape, Spot};
use samespot_tests::jobs::id;

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// Sheets of one kind over the whole run.
fn sheets(of: &SheetOf) -> usize {
    let opened = open(FILE).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    let pieces = job.pieces_in_order().into_iter();
    let made = pieces.map(|(piece, _)| {
        let made = issue(&source, of.clone(), piece, Paper::A4, "2026-11-28").unwrap();
        keeps_its_letters(&made.drawing);
        made.drawing.pages.len()
    });
    made.sum()
}

/// No boxed letter of a cross comes nearer to the trim line than a knife strays.
fn keeps_its_letters(drawing: &Drawing) {
    for page in &drawing.pages {
        let trims: Vec<(f64, f64)> = page
            .items
            .iter()
            .filter(|i| i.meaning == Meaning::Trim)
            .flat_map(|i| match &i.shape {
                Shape::Line(contours) => contours.iter().flat_map(points).collect(),
                _ => Vec::new(),
            })
            .collect();
        for item in &page.items {
            let Shape::Lettering { text, outlines } = &item.shape else {
                continue;
            };
            if !text.starts_with("within ") {
                continue;
            }
            for (x, y) in outlines.iter().flat_map(points) {
                let near = trims.iter().map(|(a, b)| (a - x).hypot(b - y));
                let near = near.fold(f64::INFINITY, f64::min);
                assert!(near > 1.5, "{}: {text} {near} mm from the trim", page.name);
            }
        }
    }
}

/// Points along a contour, straight from one end of a segment to the next, a millimetre apart.
fn points(contour: &Contour) -> Vec<(f64, f64)> {
    let at = |s: Spot| (f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0);
    let mut from = at(contour.start);
    let mut out = vec![from];
    for segment in &contour.segments {
        let to = at(segment.to());
        let long = (to.0 - from.0).hypot(to.1 - from.1);
        let steps = (1..=200_u8).map(f64::from).map(|k| k / 200.0);
        out.extend(
            steps
                .filter(|_| long > 2.0)
                .map(|t| (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t)),
        );
        out.push(to);
        from = to;
    }
    out
}

/// Where the trim ran 10 mm outside everything whatever that cost, badges took 47 sheets of A4 and jigs
/// 39; 6 mm there saves one of each of these.
#[test]
fn where_paper_is_short_the_trim_runs_closer() {
    assert_eq!(sheets(&SheetOf::Feature(id("badge"))), 36);
    assert_eq!(sheets(&SheetOf::Jig(id("bracket"))), 36);
}
