//! What the checks of a run say together: steps told from drifts, room inside the limit, left against
//! right, shrinkage by age.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

#[path = "run_course/outside.rs"]
mod outside;

use samespot_core::check::{DecisionRule, Verdict};
use samespot_core::job::*;
use samespot_core::prepare::run_checks::{
    FeatureRun, Mark, RunOrder, feature_run, overview, pair_runs, shrinkage,
};
use samespot_core::prepare::{Source, record};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id};

/// Twelve pieces, each from a pull of one mould.
fn run() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 12);
    s.set(
        EntityRef::Mould(id("mould")),
        &MouldEdit {
            name: Some("mould one".into()),
            shrinkage_per_mille: Some(2.0),
            ..MouldEdit::default()
        },
    );
    s.set(
        EntityRef::Part(id("part")),
        &PartEdit {
            mould: Some(id("mould")),
            ..PartEdit::default()
        },
    );
    for n in 1..=12 {
        s.set(
            EntityRef::Casting(id(&format!("c{n}"))),
            &CastingEdit {
                mould: Some(id("mould")),
                pull: Some(n),
                demoulded: Some("2026-10-01".into()),
                ..CastingEdit::default()
            },
        );
    }
    s
}

/// Little noise that adds up to nought over any four pieces.
fn noise(n: u32) -> f64 {
    0.1 * f64::from([1, -1, -1, 1][(n % 4) as usize])
}

fn keep(s: &mut Script, feature: &str, n: u32, right: f64, up: f64, sheet: Option<&str>) {
    let found = Found {
        right: Length::from_mm(right),
        up: Length::from_mm(up),
        size: Length::ZERO,
        limit: Length::from_mm(3.0),
        guard: Length::from_mm(1.0),
        verdict: if right.hypot(up) <= 2.0 {
            Verdict::Within
        } else {
            Verdict::Outside
        },
        rule: DecisionRule::TwoSigma,
        sd: Some(Length::from_mm(0.5)),
    };
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(&format!("p{n}")),
        feature: id(feature),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: Some(found),
        stage: None,
        gauge: None,
        reference: sheet.map(str::to_owned),
    })));
}

fn seen(s: &Script) -> FeatureRun {
    feature_run(&s.ledger.fold(), &id("spot"))
}

fn repaired(s: &mut Script, after: u32, kind: Option<MouldEvent>) {
    s.say(&Payload::Mould(MouldFact {
        mould: id("mould"),
        what: "flange dressed".into(),
        after_pull: Some(after),
        kind,
        sections: Vec::new(),
    }));
}

#[test]
fn a_step_at_a_repair_is_told_from_a_drift() {
    let mut s = run();
    repaired(&mut s, 7, Some(MouldEvent::Repaired));
    for n in 1..=12 {
        let step = if n > 7 { 0.9 } else { 0.0 };
        keep(&mut s, "spot", n, noise(n), step + noise(n + 1), None);
    }
    let run = seen(&s);
    assert_eq!(run.order, RunOrder::Pulls);
    let said = run.drift.unwrap();
    assert!(
        said.starts_with("Within, but 0.9 mm further up since the mould was repaired after pull 7"),
        "{said}"
    );
    assert!(said.contains("a step, not a drift"), "{said}");
    // Nothing is promised of a run that does not stay.
    assert!(run.says.is_empty(), "{:?}", run.says);

    // The same repair, and a drift: the repair is not blamed.
    let mut s = crate::run();
    repaired(&mut s, 7, Some(MouldEvent::Repaired));
    for n in 1..=12 {
        keep(
            &mut s,
            "spot",
            n,
            noise(n),
            0.12 * f64::from(n) + noise(n + 3),
            None,
        );
    }
    let said = seen(&s).drift.unwrap();
    assert!(
        said.starts_with("Within, but drifting: 0.12 mm up from pull to pull"),
        "{said}"
    );
    assert!(!said.contains("repaired"), "{said}");
}

/// Pieces married out of the order of their pulls: what a repair does follows the pulls.
#[test]
fn a_repair_follows_the_pulls_not_the_pieces() {
    let mut s = run();
    repaired(&mut s, 6, None);
    let pull = |n: u32| (5 * n) % 13;
    for n in 1..=12 {
        s.set(
            EntityRef::Casting(id(&format!("c{n}"))),
            &CastingEdit {
                pull: Some(pull(n)),
                ..CastingEdit::default()
            },
        );
    }
    for n in 1..=12 {
        // The noise is 0.07 less before than after.
        let step = if pull(n) > 6 { -1.1 } else { 0.0 };
        keep(
            &mut s,
            "spot",
            n,
            step + noise(pull(n)),
            noise(pull(n)),
            None,
        );
    }
    let run = seen(&s);
    let order: Vec<u32> = run.checked.iter().map(|c| pull(c.number)).collect();
    assert_eq!(order, (1..=12).collect::<Vec<_>>());
    let said = run.drift.unwrap();
    assert!(
        said.contains(
            "1.0 mm further left since the mould was seen to after pull 6: flange dressed"
        ),
        "{said}"
    );
}

#[test]
fn another_template_is_a_cause_and_a_template_each_is_none() {
    let from = |sheets: &dyn Fn(u32) -> String| {
        let mut s = run();
        for n in 1..=12 {
            let step = if n % 3 == 0 { 1.0 } else { 0.0 };
            keep(
                &mut s,
                "spot",
                n,
                step + noise(n),
                noise(n + 1),
                Some(&sheets(n)),
            );
        }
        seen(&s)
    };
    let two = from(&|n| {
        if n % 3 == 0 {
            "TEMPLATETW"
        } else {
            "TEMPLATEON"
        }
        .to_owned()
    });
    let said = two.drift.unwrap();
    assert!(
        said.contains("1.0 mm further right since they are from another template (TEMPLATETW)"),
        "{said}"
    );
    let each = from(&|n| format!("SHEET{n}"));
    assert!(each.divides.is_empty() && each.drift.is_none());
}

/// A repair of another mould, or of a section the feature is not on, divides nothing.
#[test]
fn what_happened_elsewhere_is_no_cause() {
    let mut s = run();
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            section: Some(id("left")),
            ..FeatureEdit::default()
        },
    );
    for (mould, sections) in [("other", vec![]), ("mould", vec![id("right")])] {
        s.say(&Payload::Mould(MouldFact {
            mould: id(mould),
            what: String::new(),
            after_pull: Some(7),
            kind: Some(MouldEvent::Repaired),
            sections,
        }));
    }
    for n in 1..=12 {
        keep(&mut s, "spot", n, noise(n), noise(n), None);
    }
    assert!(seen(&s).divides.is_empty());
}

#[test]
fn a_steady_run_says_how_much_room_it_has_and_how_little_twelve_pieces_say() {
    let mut s = run();
    for n in 1..=12 {
        keep(&mut s, "spot", n, 0.4 + noise(n), 2.0 * noise(n + 1), None);
    }
    let run = seen(&s);
    assert_eq!(run.drift, None);
    // Up: mean 0, s = 0.2·√(12/11) = 0.2089; the least room is a little off straight up, for the
    // mean 0.4 right: by hand min over θ of (3 − 0.4 cos θ)/(3·√(0.1044²cos² + 0.2089²sin²)) = 4.72.
    let room = run.says.iter().find(|t| t.starts_with("Room")).unwrap();
    assert!(room.starts_with("Room inside the limit: 4.7"), "{room}");
    assert!(
        room.contains("From 12 pieces it may be anything from 2.7"),
        "{room}"
    );
    assert!(room.contains("too few to promise"), "{room}");
    // k = 3.1747 for 12 (ISO 16269-6): 0.4 ± 3.1747·0.1044 = 0.07 to 0.73, 0 ± 0.66.
    let expected = run.says.iter().find(|t| t.starts_with("Of 100")).unwrap();
    assert!(
        expected.contains("between 0.1 right and 0.7 right, and between 0.7 down and 0.7 up"),
        "{expected}"
    );
    // Four are too few for anything.
    let mut few = crate::run();
    for n in 1..=4 {
        keep(&mut few, "spot", n, noise(n), noise(n), None);
    }
    assert!(seen(&few).says.is_empty() && seen(&few).drift.is_none());
}

#[test]
fn a_piece_unlike_the_others_is_named() {
    let mut s = run();
    for n in 1..=12 {
        let own = if n == 6 { 1.6 } else { 0.0 };
        keep(
            &mut s,
            "spot",
            n,
            noise(n) / 2.0,
            own + noise(n + 1) / 2.0,
            None,
        );
    }
    let run = seen(&s);
    assert!(
        run.says
            .iter()
            .any(|t| t.starts_with("Unlike the others: piece 6 (1.") || t.contains("piece 6 (")),
        "{:?}",
        run.says
    );
}

fn with_pair() -> Script {
    let mut s = run();
    for (feature, hand) in [("eye-left", Hand::Left), ("eye-right", Hand::Right)] {
        s.set(
            EntityRef::Feature(id(feature)),
            &FeatureEdit {
                face: Some(id("face")),
                name: Some("Eye".into()),
                hand: Some(hand),
                tolerance: Some(Length::from_mm(3.0)),
                ..FeatureEdit::default()
            },
        );
    }
    s.set(
        EntityRef::Pair(id("eyes")),
        &PairEdit {
            name: Some("Eyes".into()),
            left: Some(id("eye-left")),
            right: Some(id("eye-right")),
            level: Some(Length::from_mm(2.0)),
            ..PairEdit::default()
        },
    );
    s
}

#[test]
fn left_against_right_shows_over_the_run() {
    let mut s = with_pair();
    for n in 1..=9 {
        // The figure's left is 0.6 higher on each, 0.1 either way; no one piece is out.
        keep(&mut s, "eye-left", n, noise(n), 0.6 + noise(n + 1), None);
        keep(&mut s, "eye-right", n, -noise(n), 0.0, None);
    }
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let runs = pair_runs(&source);
    assert_eq!((runs.len(), runs[0].count), (1, 9));
    assert!(
        runs[0].leans && runs[0].says.contains("the left one 0.6 mm higher (± 0.1)"),
        "{}",
        runs[0].says
    );

    let mut even = with_pair();
    for n in 1..=9 {
        keep(&mut even, "eye-left", n, noise(n), noise(n + 1), None);
        keep(&mut even, "eye-right", n, noise(n + 2), noise(n + 3), None);
    }
    let job = even.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &even.attachments,
    };
    assert!(!pair_runs(&source)[0].leans);
}

/// Castings of one size shrink by 0.05 in 1000 a day: the same ones read again show it, and one that
/// came out small is not taken for one that shrank.
#[test]
fn shrinkage_with_age_comes_from_the_same_castings_read_again() {
    let read = |again: bool| {
        let mut s = run();
        s.over("pattern", "a", "b", 600.0);
        s.over("pattern", "a", "c", 500.0);
        for n in 1..=12 {
            // Older castings happen to have come out smaller.
            let own = 2.4 + 0.02 * f64::from(n);
            let mut days = vec![u32::from(n > 6) * 8 + 1];
            if again {
                days.push(days[0] + 10);
            }
            for day in days {
                s.at(&format!("2026-10-{:02} 09:00", 1 + day));
                let size = 1.0 - (own + 0.05 * f64::from(day) + noise(n + day) / 5.0) / 1000.0;
                s.over(&format!("c{n}"), "a", "b", 600.0 * size);
                s.over(&format!("c{n}"), "c", "a", 500.0 * size);
            }
        }
        shrinkage(&s.ledger.fold()).remove(0)
    };
    let twice = read(true);
    assert_eq!(twice.castings, 12);
    let a_day = twice.a_day.unwrap();
    assert!((a_day - 0.05).abs() < 0.01, "{a_day}");
    assert!(
        twice.says.iter().any(
            |t| t.contains("They go on shrinking: 0.5 in 1000 in ten days")
                && t.contains("the same castings read again later show it")
        ),
        "{:?}",
        twice.says
    );
    assert!(
        twice.says[1].starts_with("The mould is set up with 2.0 in 1000"),
        "{:?}",
        twice.says
    );
    let once = read(false);
    assert!(
        once.says
            .iter()
            .any(|t| t.contains("the same ones read again would be surer")),
        "{:?}",
        once.says
    );
}

#[test]
fn the_overview_counts_every_piece_once_and_names_the_worst() {
    let mut s = with_pair();
    keep(&mut s, "spot", 1, 0.2, 0.1, None);
    keep(&mut s, "spot", 2, 2.5, 0.0, None);
    keep(&mut s, "spot", 2, 2.6, 0.0, None);
    keep(&mut s, "spot", 3, 0.0, -2.9, None);
    s.say(&Payload::Concession(ConcessionFact {
        piece: id("p2"),
        feature: id("spot"),
        by: "A. Client, architect".into(),
        reason: "behind the pillar".into(),
    }));
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let all = overview(&source);
    assert_eq!(all.pieces.len(), 12);
    let spot = &all.features[0];
    assert_eq!(spot.feature, id("spot"));
    assert_eq!(
        (
            spot.count(Mark::Within),
            spot.count(Mark::LetStand),
            spot.count(Mark::Outside),
            spot.count(Mark::ToCheck)
        ),
        (1, 1, 1, 9)
    );
    let (piece, number, says) = spot.worst.clone().unwrap();
    assert_eq!((piece, number, says.as_str()), (id("p3"), 3, "2.9 down"));
    for feature in &all.features {
        assert_eq!(feature.marks.len(), 12);
    }
    // An empty job has an honest, empty overview.
    let empty = Script::new("nothing");
    let job = empty.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &empty.attachments,
    };
    assert_eq!(overview(&source), Default::default());
}

/// What the run says stands on its record, too, and under its seal; not on that of one piece.
#[test]
fn the_record_of_the_run_says_what_the_run_says() {
    let mut s = run();
    repaired(&mut s, 7, Some(MouldEvent::Repaired));
    for n in 1..=12 {
        let step = if n > 7 { 0.9 } else { 0.0 };
        keep(&mut s, "spot", n, noise(n), step + noise(n + 1), None);
    }
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let over = overview(&source);
    assert!(!over.features[0].says.is_empty());
    let read = |piece: Option<&PieceId>| {
        let page = record(&source, piece, Paper::A4, "2026-11-27").unwrap();
        page.readable.join("\n")
    };
    let (all, one) = (read(None), read(Some(&id("p3"))));
    for says in &over.features[0].says {
        assert!(all.contains(says.as_str()), "{says} is not in\n{all}");
        assert!(!one.contains(says.as_str()));
    }
    assert!(all.contains("12 within"), "{all}");
}
