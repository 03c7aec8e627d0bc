//! Rods: the distance from the stop to each mark is the one on the piece, on paper of any size.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use proptest::prelude::*;
use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
use samespot_core::job::*;
use samespot_core::prepare::rod::rods_of;
use samespot_core::prepare::{Source, prepare};
use samespot_core::sheet::drawing::{Contour, Drawing, Meaning, Shape, Spot};
use samespot_core::sheet::{Lane, Paper, ProofState, Rod, RodSheet, ScaleCorrection, rods};
use samespot_core::units::Length;
use samespot_core::write::pdf::{Part, pdf};
use samespot_tests::jobs::{Script, id};

/// Castings like the pattern. A (0, 0), B (500, 0) and C (180, 240) make a 3-4-5 triangle; the spot stands
/// at (200, 100): √50000, √100000 and √20000 from them (Euclid I.47).
fn run() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 3);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    for casting in ["pattern", "c1", "c2", "c3"] {
        s.over(casting, "a", "b", 500.0);
        s.over(casting, "a", "c", 300.0);
        s.over(casting, "b", "c", 400.0);
    }
    for _ in 0..3 {
        s.over("pattern", "a", "spot", 223.607);
        s.over("pattern", "b", "spot", 316.228);
        s.over("pattern", "c", "spot", 141.421);
    }
    s
}

fn mm(um: i32) -> f64 {
    f64::from(um) / 1000.0
}

fn ends(c: &Contour) -> (Spot, Spot) {
    (c.start, c.segments.last().unwrap().to())
}

/// What a person finds with a rule: every strip with its stop or joins, and its crosses, in sheet mm.
struct Found {
    strips: Vec<(kurbo::Rect, String)>,
    stops: Vec<(usize, f64, f64)>,
    joins: Vec<(String, usize, f64, f64)>,
    crosses: Vec<(String, usize, f64, f64)>,
}

fn found(drawing: &Drawing) -> Found {
    let mut f = Found {
        strips: Vec::new(),
        stops: Vec::new(),
        joins: Vec::new(),
        crosses: Vec::new(),
    };
    for (n, page) in drawing.pages.iter().enumerate() {
        for item in &page.items {
            let Shape::Line(contours) = &item.shape else {
                continue;
            };
            let (from, to) = ends(&contours[0]);
            let label = item.label.clone().unwrap_or_default();
            match item.meaning {
                Meaning::Trim => {
                    let across = contours[0].segments[1].to();
                    let r = kurbo::Rect::new(mm(from.x), mm(from.y), mm(across.x), mm(across.y));
                    f.strips.push((r, label));
                }
                Meaning::RegisterEdge if !label.is_empty() => {
                    f.stops.push((n, mm(from.x), mm(from.y)));
                }
                Meaning::Join => f.joins.push((label, n, mm(from.x), mm(from.y))),
                Meaning::Register if from.x == to.x => {
                    f.crosses
                        .push((label, n, mm(from.x), mm(from.y + to.y) / 2.0));
                }
                _ => {}
            }
        }
    }
    f
}

fn points(shape: &Shape) -> Vec<Spot> {
    let contours = match shape {
        Shape::Line(c) | Shape::Solid(c) => c,
        Shape::Lettering { outlines, .. } => outlines,
        Shape::Circle { .. } | Shape::Picture(_) => return Vec::new(),
    };
    let all = contours.iter();
    all.flat_map(|c| std::iter::once(c.start).chain(c.segments.iter().map(|s| s.to())))
        .collect()
}

#[test]
fn a_rod_of_one_piece_carries_the_distances_of_that_piece() {
    let s = run();
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let p = prepare(&source, &id("spot"), &id("p2")).unwrap();
    let made = rods_of(&source, &id("spot"), &[id("p2")], Paper::A3, "2026-11-26").unwrap();
    let f = found(&made.drawing);
    assert_eq!((f.stops.len(), f.crosses.len()), (1, 3));
    let (_, stop, _) = f.stops[0];
    let by_hand = [("A", 50_000.0_f64), ("B", 100_000.0), ("C", 20_000.0)];
    for (letter, square) in by_hand {
        let of = |(label, ..): &&(String, usize, f64, f64)| label.starts_with(letter);
        let (_, _, x, _) = f.crosses.iter().find(of).unwrap();
        let rod = x - stop;
        assert!((rod - square.sqrt()).abs() < 0.15, "{letter}: {rod}");
        // The piece is flat: the way over the paper is the distance on the piece.
        let cross = p.crosses.iter().find(|c| c.letter == letter).unwrap();
        let long = cross.at.x_mm().hypot(cross.at.y_mm());
        assert!((rod - long).abs() < 0.002, "{letter}: {rod} for {long}");
    }
    assert!(made.left_out.is_empty());
}

#[test]
fn rods_for_the_run_have_a_lane_for_each_piece_and_a_rod_for_each_mark() {
    let s = run();
    let mut desk = Desk::default();
    let job: JobId = id("test-job");
    let asks = [
        Ask::Facts {
            job: job.clone(),
            facts: s.ledger.facts().map(|f| f.bytes().to_owned()).collect(),
            attachments: Vec::new(),
        },
        Ask::Rods {
            job,
            feature: id("spot"),
            pieces: Vec::new(),
            paper: Paper::A4,
            day: "2026-11-26".into(),
        },
    ];
    let mut last = None;
    for (number, ask) in (0..).zip(asks) {
        last = Some(answer(&mut desk, Request { number, ask }));
    }
    let last = last.unwrap();
    let Ok(Reply::File {
        name,
        pages,
        left_out,
        ..
    }) = last.says
    else {
        panic!("no file")
    };
    assert_eq!(name, "test-job-spot-rods-run-a4.pdf");
    assert!(left_out.is_empty());
    let read = lopdf::Document::load_mem(&last.bytes).unwrap();
    assert_eq!(read.get_pages().len(), pages);
}

#[test]
fn what_can_be_no_rod_is_refused() {
    let one = |at: f64| sheet(&[vec![at]]);
    for at in [0.0, -5.0, 1e9] {
        assert!(rods(&one(at), Paper::A4).is_err(), "{at}");
    }
    assert!(rods(&sheet(&[]), Paper::A4).is_err());
    let many = vec![vec![100.0; 200]];
    assert!(rods(&sheet(&many), Paper::A4).is_err());
    let narrow = Paper::Typed {
        width: Length::from_mm(60.0),
        height: Length::from_mm(90.0),
    };
    assert!(rods(&one(400.0), narrow).is_err());
}

fn sheet(all: &[Vec<f64>]) -> RodSheet {
    RodSheet {
        rods: all
            .iter()
            .enumerate()
            .map(|(r, marks)| Rod {
                title: format!("rod {r}"),
                stop: "STOP on A".into(),
                lanes: marks
                    .iter()
                    .enumerate()
                    .map(|(n, at)| Lane {
                        name: (n + 1).to_string(),
                        at: Length::from_mm(*at),
                    })
                    .collect(),
            })
            .collect(),
        title: "Rods".into(),
        how: vec!["Print at 100 %.".into()],
        proof: ProofState::NotProved,
        issue: 1,
        made: "2026-11-26".into(),
        correction: None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Strips joined line on line carry every mark at its distance from the stop, on any paper; none
    /// of it lies in the margin, and no mark lies under a join.
    #[test]
    fn strips_joined_line_on_line_carry_every_distance(
        all in prop::collection::vec(prop::collection::vec(20.0_f64..1500.0, 1..9), 1..4),
        paper in prop::sample::select(vec![Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid]),
        scale in prop::sample::select(vec![None, Some((1.003, 0.997))]),
    ) {
        let mut asked = sheet(&all);
        asked.correction = scale.map(|(across, up)| ScaleCorrection { across, up });
        let across = scale.map_or(1.0, |s| s.0);
        let drawing = rods(&asked, paper).unwrap();
        let f = found(&drawing);
        for page in &drawing.pages {
            let room = kurbo::Rect::new(0.0, 0.0, mm(page.paper.width), mm(page.paper.height));
            let room = room.inset(-11.99);
            for item in &page.items {
                for p in points(&item.shape) {
                    prop_assert!(room.contains((mm(p.x), mm(p.y))), "{:?} {:?} {p:?}", item.label, item.shape);
                }
            }
        }
        // On each strip, place 0 of the rod: by its stop, or by the join it shares with the one before.
        let mut crosses = f.crosses.iter();
        let (mut strips, mut stops) = (f.strips.iter(), f.stops.iter());
        let mut joins = f.joins.iter();
        for (r, marks) in all.iter().enumerate() {
            let mut left: Vec<(usize, f64)> = marks.iter().copied().enumerate().collect();
            let mut strip = strips.next().unwrap();
            let mut nought = stops.next().unwrap().1;
            loop {
                prop_assert_eq!(&strip.1, &format!("rod rod {r}"));
                let inside = |m: f64| nought + m * across < strip.0.x1 - 2.0 && nought + m * across > strip.0.x0 + 2.0;
                left.retain(|(n, m)| {
                    if !inside(*m) {
                        return true;
                    }
                    let (label, _, x, _) = crosses.next().unwrap();
                    assert!(label.starts_with(&format!("{} at", n + 1)), "{label}");
                    assert!((x - nought - m * across).abs() < 0.003, "{label}: {x}");
                    false
                });
                if left.is_empty() {
                    break;
                }
                let (before, after) = (joins.next().unwrap(), joins.next().unwrap());
                prop_assert_eq!(&before.0, &after.0);
                let along = (before.2 - nought) / across;
                for m in marks {
                    prop_assert!((along - m).abs() > 8.9, "a mark under a join");
                }
                nought = after.2 - along * across;
                strip = strips.next().unwrap();
            }
        }
        prop_assert!(crosses.next().is_none() && strips.next().is_none() && joins.next().is_none());
        let part = Part { bookmark: "rods", drawing: &drawing };
        let bytes = pdf("rods", &[part]).unwrap();
        prop_assert!(!bytes.is_empty());
    }
}
