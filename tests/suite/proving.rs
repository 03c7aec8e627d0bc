//! A template's first use is a proving piece: its sheets bear PROVING until one is checked and within.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::check::{DecisionRule, HoleJudged, Judged, Verdict};
use samespot_core::job::*;
use samespot_core::prepare::{Proving, Source, issue, print_is_stale, proving};
use samespot_core::sheet::{Drawing, Paper};
use samespot_core::units::Length;
use samespot_core::write::svg::svg_pages;
use samespot_tests::jobs::{Script, id, mm};

fn run(pieces: u32) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], pieces);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    let castings = (1..=pieces).map(|n| format!("c{n}"));
    for casting in std::iter::once("pattern".to_owned()).chain(castings) {
        s.over(&casting, "a", "b", 120.0);
        s.over(&casting, "a", "c", 100.0);
        s.over(&casting, "b", "c", 110.0);
    }
    for _ in 0..3 {
        s.over("pattern", "a", "spot", 80.0);
        s.over("pattern", "b", "spot", 85.0);
        s.over("pattern", "c", "spot", 60.0);
    }
    s
}

fn sheet(s: &Script, piece: u32, paper: Paper) -> (Drawing, Printed) {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let spot: FeatureId = id("spot");
    let issued = issue(
        &source,
        &spot,
        &id(&format!("p{piece}")),
        paper,
        "2026-11-27",
    )
    .unwrap();
    let printed = issued.printed("2026-11-27");
    (issued.drawing, printed)
}

fn bears(s: &Script, piece: u32) -> bool {
    let (drawing, _) = sheet(s, piece, Paper::A4);
    let said = drawing.readable.iter().any(|l| l.starts_with("PROVING"));
    // What can be read of the file is what stands on every page.
    for page in svg_pages(&drawing) {
        assert_eq!(page.contains("PROVING"), said);
    }
    said
}

fn print(s: &mut Script, piece: u32) {
    let (_, printed) = sheet(s, piece, Paper::A4);
    s.say(&Payload::Printed(printed));
}

fn check(s: &mut Script, piece: u32, verdict: Verdict) {
    let found = Found {
        right: Length::ZERO,
        up: Length::ZERO,
        size: Length::ZERO,
        limit: Length::from_mm(3.0),
        guard: Length::from_mm(1.0),
        verdict,
        rule: DecisionRule::TwoSigma,
        sd: None,
    };
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(&format!("p{piece}")),
        feature: id("spot"),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: Some(found),
        stage: None,
        gauge: None,
        reference: None,
    })));
}

fn stands(s: &Script, pieces: &[u32]) -> Option<Proving> {
    let pieces: Vec<PieceId> = pieces.iter().map(|n| id(&format!("p{n}"))).collect();
    proving(&s.ledger.fold(), &SheetOf::Feature(id("spot")), &pieces)
}

#[test]
fn sheets_bear_proving_until_a_piece_is_within_and_keep_their_reference() {
    let mut s = run(3);
    assert!(bears(&s, 1) && bears(&s, 2));
    print(&mut s, 1);
    print(&mut s, 2);
    let before = [1, 2].map(|n| sheet(&s, n, Paper::A4).0.reference);
    check(&mut s, 1, Verdict::NotProven);
    assert_eq!(stands(&s, &[2]), Some(Proving::NoneWithin));
    assert!(bears(&s, 2));
    check(&mut s, 1, Verdict::Within);
    assert!(!bears(&s, 1) && !bears(&s, 2) && !bears(&s, 3));
    // It was a stamp: what was printed with it still holds.
    let after = [1, 2].map(|n| sheet(&s, n, Paper::A4).0.reference);
    assert_eq!(before, after);
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    for print in &job.printed {
        assert_eq!(
            print_is_stale(&source, &print.says, &print.says.pieces[0]),
            None
        );
    }
    // Looked at again and found out: PROVING is back.
    check(&mut s, 1, Verdict::Outside);
    assert!(bears(&s, 2));
}

#[test]
fn one_piece_alone_proves_nothing_for_others() {
    assert!(!bears(&run(1), 1));
}

/// The stamp stands inside the frame, in a line's own free end, on every paper and with the mark for
/// invented data beside it; nothing else moves.
#[test]
fn the_stamp_moves_nothing_and_lies_on_nothing() {
    for invented in [false, true] {
        for paper in [Paper::A4, Paper::A3, Paper::Letter] {
            let mut s = run(2);
            s.set(
                EntityRef::Job,
                &JobEdit {
                    invented: Some(invented),
                    ..JobEdit::default()
                },
            );
            let (with, _) = sheet(&s, 1, paper);
            check(&mut s, 1, Verdict::Within);
            let (without, _) = sheet(&s, 1, paper);
            assert_eq!(with.reference, without.reference);
            for (a, b) in with.pages.iter().zip(&without.pages) {
                let more: Vec<_> = a.items.iter().filter(|i| !b.items.contains(i)).collect();
                assert!(!more.is_empty() && more.iter().all(|i| i.stamp));
                // Stamps may share a line.
                assert!((b.items.iter()).all(|i| i.stamp || a.items.contains(i)));
                let [x0, y0, x1, y1] = bounds(&more);
                for item in b.items.iter().filter(|i| !i.stamp) {
                    if let samespot_core::sheet::drawing::Shape::Lettering { .. } = item.shape {
                        let [u0, v0, u1, v1] = bounds(&[item]);
                        let apart = u1 < x0 || u0 > x1 || v1 < y0 || v0 > y1;
                        assert!(apart, "{paper:?} {invented}: on {:?}", item.shape);
                    }
                }
            }
        }
    }
}

fn bounds(items: &[&samespot_core::sheet::drawing::Item]) -> [f64; 4] {
    use samespot_core::sheet::drawing::{Segment, Shape};
    let mut b = [f64::MAX, f64::MAX, f64::MIN, f64::MIN];
    let mut take = |x: i64, y: i64| {
        #[allow(clippy::cast_precision_loss, reason = "a page")]
        let (x, y) = (x as f64, y as f64);
        b = [b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)];
    };
    for item in items {
        let contours = match &item.shape {
            Shape::Line(c) | Shape::Solid(c) | Shape::Lettering { outlines: c, .. } => c,
            Shape::Circle { .. } | Shape::Picture(_) => continue,
        };
        for c in contours {
            take(c.start.x.into(), c.start.y.into());
            for s in &c.segments {
                let (Segment::Line { to } | Segment::Arc { to, .. } | Segment::Cubic { to, .. }) =
                    s;
                take(to.x.into(), to.y.into());
            }
        }
    }
    b
}

/// A shared template is a thing of its own: checks of other pieces say nothing of it.
#[test]
fn a_shared_template_is_proved_on_a_piece_it_serves() {
    let mut s = run(4);
    print(&mut s, 1);
    check(&mut s, 1, Verdict::Within);
    assert_eq!(stands(&s, &[2]), None);
    assert_eq!(stands(&s, &[3, 4]), Some(Proving::NotChecked));
    check(&mut s, 4, Verdict::Within);
    assert_eq!(stands(&s, &[3, 4]), None);
}

/// An issue that moves the feature makes a new template: a check of what was painted before says
/// nothing of it, on pieces that stay as they were it goes on counting.
#[test]
fn an_issue_is_proved_anew() {
    let mut s = run(4);
    print(&mut s, 1);
    check(&mut s, 1, Verdict::Within);
    s.set(
        EntityRef::Issue(id("i2")),
        &IssueEdit {
            number: Some(2),
            from_piece: Some(3),
            amends: Some(vec![Amendment {
                feature: id("spot"),
                change: Change::Moved {
                    right: mm(6.0),
                    up: mm(0.0),
                },
            }]),
            approved_by: Some("A. Client".into()),
            ..IssueEdit::default()
        },
    );
    assert_eq!(stands(&s, &[2]), None);
    assert_eq!(stands(&s, &[3]), Some(Proving::NotChecked));
    // A check of a piece that was painted before the issue's sheet was printed is none of it.
    check(&mut s, 3, Verdict::Within);
    assert_eq!(stands(&s, &[4]), Some(Proving::NotChecked));
    print(&mut s, 3);
    check(&mut s, 3, Verdict::Within);
    assert_eq!(stands(&s, &[4]), None);
}

/// Drills a hole of the bracket on a piece and checks it.
fn drill(s: &mut Script, piece: u32, hole: u32, place: Verdict, width: Verdict) {
    let found = HoleFound {
        across: mm(11.0),
        right: mm(0.1),
        up: mm(0.1),
        judged: HoleJudged {
            place: Judged {
                deviation: Length::from_mm(0.3),
                limit: Length::from_mm(1.0),
                guard: Length::from_mm(0.4),
                verdict: place,
            },
            more: Length::ZERO,
            width,
        },
        rule: DecisionRule::TwoSigma,
    };
    s.say(&Payload::Drilled(DrilledFact {
        piece: id(&format!("p{piece}")),
        fixing: id("bracket"),
        hole,
        became: None,
        found: Some(Box::new(found)),
    }));
}

/// Drill templates and jigs are proved by a piece whose holes are all within, each by what was drilled
/// with it.
#[test]
fn drill_templates_and_jigs_are_proved_by_a_piece_drilled_with_them() {
    let (template, jig) = (SheetOf::Fixing(id("bracket")), SheetOf::Jig(id("bracket")));
    let stands = |s: &Script, of: &SheetOf| proving(&s.ledger.fold(), of, &[id("p2")]);
    let mut s = run(3);
    s.set(
        EntityRef::Fixing(id("bracket")),
        &FixingEdit {
            pattern: Some(HolePattern::Row {
                count: 2,
                pitch: mm(60.0),
            }),
            ..FixingEdit::default()
        },
    );
    assert_eq!(stands(&s, &template), Some(Proving::NotChecked));
    assert_eq!(stands(&s, &jig), Some(Proving::NotChecked));
    drill(&mut s, 1, 1, Verdict::Within, Verdict::Within);
    // One of two holes proves nothing yet.
    assert_eq!(stands(&s, &template), Some(Proving::NoneWithin));
    drill(&mut s, 1, 2, Verdict::Within, Verdict::Outside);
    assert_eq!(stands(&s, &template), Some(Proving::NoneWithin));
    drill(&mut s, 1, 2, Verdict::Within, Verdict::Within);
    assert_eq!(stands(&s, &template), None);
    assert_eq!(stands(&s, &jig), None);
    // Drilled again with the jig: the drill template has nothing left that proves it.
    let (_, as_feature) = sheet(&s, 1, Paper::A4);
    let of = jig.clone();
    s.say(&Payload::Printed(Printed { of, ..as_feature }));
    for hole in [1, 2] {
        drill(&mut s, 1, hole, Verdict::Within, Verdict::Within);
    }
    assert_eq!(stands(&s, &jig), None);
    assert_eq!(stands(&s, &template), Some(Proving::NotChecked));
    drill(&mut s, 1, 2, Verdict::NotProven, Verdict::Within);
    assert_eq!(stands(&s, &jig), Some(Proving::NoneWithin));
    // What holds for no holes holds for none of these either: one piece alone is its own proof.
    let mut alone = run(1);
    alone.set(EntityRef::Fixing(id("bracket")), &FixingEdit::default());
    assert_eq!(proving(&alone.ledger.fold(), &jig, &[id("p1")]), None);
}
