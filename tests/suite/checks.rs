//! QA's way: lay the template back, read four gaps, know whether it is within, keep the record.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

#[path = "checks/bad_input.rs"]
mod bad_input;
#[path = "checks/doubted.rs"]
mod doubted;
#[path = "checks/marks.rs"]
mod marks;
#[path = "checks/published.rs"]
mod published;
#[path = "checks/together.rs"]
mod together;

use samespot_core::answer::{Answer, Ask, Desk, Request, answer};
use samespot_core::check::{Gaps, Verdict};
use samespot_core::job::*;
use samespot_core::prepare::checks::{
    FeatureCheck, Judgement, Standing, checks, judge_gaps, method_words, offset_words, piece_stands,
};
use samespot_core::prepare::{Source, issue, record};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm};

fn run() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 8);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            tolerance: Some(Length::from_mm(5.0)),
            ..FeatureEdit::default()
        },
    );
    let castings = (1..=8).map(|n| format!("c{n}"));
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

fn looking<T>(s: &Script, look: impl FnOnce(&Source<'_>) -> T) -> T {
    let job = s.ledger.fold();
    look(&Source {
        job: &job,
        attachments: &s.attachments,
    })
}

fn gaps(top: f64, right: f64, bottom: f64, left: f64) -> Gaps {
    let mm = Length::from_mm;
    Gaps {
        top: mm(top),
        right: mm(right),
        bottom: mm(bottom),
        left: mm(left),
    }
}

fn judged(s: &Script, g: &Gaps) -> Judgement {
    looking(s, |source| {
        judge_gaps(source, &id("spot"), &id("p3"), g).unwrap()
    })
}

fn seen(s: &Script) -> FeatureCheck {
    looking(s, |source| checks(source, &id("p3")).remove(0))
}

fn keep(s: &mut Script, piece: &str, right: f64, up: f64) {
    keep_of(s, "spot", piece, right, up);
}

fn keep_of(s: &mut Script, feature: &str, piece: &str, right: f64, up: f64) {
    let found = looking(s, |source| {
        judge_gaps(
            source,
            &id(feature),
            &id(piece),
            &gaps(up, right, -up, -right),
        )
        .unwrap()
        .found
    });
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(piece),
        feature: id(feature),
        readings: Vec::new(),
        note: String::new(),
        lay_back: Some(LayBackRead {
            top: mm(up),
            right: mm(right),
            bottom: mm(-up),
            left: mm(-right),
        }),
        found: Some(found),
        stage: None,
        gauge: None,
        reference: None,
    })));
}

#[test]
fn four_gaps_become_a_verdict_in_words() {
    let s = run();
    // Paint 0.8 to the left and 1.1 up, drawn 0.2 large.
    let j = judged(&s, &gaps(1.3, -0.6, -0.9, 1.0));
    assert_eq!(j.says, "0.8 left, 1.1 up");
    assert_eq!(j.size_says.as_deref(), Some("drawn 0.2 large all round"));
    assert_eq!(j.found.verdict, Verdict::Within);
    assert_eq!(j.doubt, None);
    // The template's own doubt is never nought, and two repeats of a gap do not take it away.
    assert!(j.found.guard.mm() > 1.0, "{:?}", j.found.guard);

    // Large all round, or pulled into an oval: the middle is right, the edge is not.
    for wrong in [gaps(9.0, 9.0, 9.0, 9.0), gaps(9.0, -9.0, 9.0, -9.0)] {
        assert_eq!(judged(&s, &wrong).found.verdict, Verdict::Outside);
    }

    let far = judged(&s, &gaps(9.0, 0.0, -9.0, 0.0));
    assert_eq!((far.found.verdict, far.settle), (Verdict::Outside, None));
    let between = judged(&s, &gaps(4.9, 0.0, -4.9, 0.0));
    assert_eq!(between.found.verdict, Verdict::NotProven);
    assert!(
        between
            .settle
            .unwrap()
            .contains("Measure it from the marks")
    );
    assert!(
        judged(&s, &gaps(3.0, 0.0, 0.0, 0.0))
            .doubt
            .unwrap()
            .contains("largest")
    );
    assert_eq!(
        offset_words(Length::ZERO, Length::from_mm(0.02)),
        "on the spot"
    );
}

/// Turning the gaps round the clock turns the answer with them; its mirror image swaps left and
/// right.
#[test]
fn the_answer_turns_and_mirrors_with_the_gaps() {
    let s = run();
    let a = judged(&s, &gaps(1.3, -0.6, -0.9, 1.0)).found;
    let turned = judged(&s, &gaps(-0.6, -0.9, 1.0, 1.3)).found;
    assert_eq!((turned.right, turned.up), (-a.up, a.right));
    assert_eq!(
        (turned.guard, turned.verdict, turned.size),
        (a.guard, a.verdict, a.size)
    );
    let mirrored = judged(&s, &gaps(1.3, 1.0, -0.9, -0.6)).found;
    assert_eq!((mirrored.right, mirrored.up), (-a.right, a.up));
}

#[test]
fn what_a_method_can_prove_is_said_before() {
    let mut s = run();
    let c = seen(&s);
    assert!(
        c.can_prove
            && method_words(&c).contains("out is allowed. Laid back, it can be told within")
    );
    assert!(
        c.before
            .iter()
            .any(|b| b.contains("No template of it has been printed"))
    );
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            tolerance: Some(Length::from_mm(0.5)),
            ..FeatureEdit::default()
        },
    );
    let c = seen(&s);
    assert!(!c.can_prove && method_words(&c).contains("never that it is within"));
}

#[test]
fn the_run_is_charted_and_a_drift_is_said_although_all_are_within() {
    let mut s = run();
    for n in 1..=8 {
        keep(
            &mut s,
            &format!("p{n}"),
            0.1,
            -0.15 * f64::from(n) + 0.02 * f64::from(n % 2),
        );
    }
    let c = seen(&s);
    assert_eq!(c.run.checked.len(), 8);
    assert!(
        c.run
            .checked
            .iter()
            .all(|r| r.found.verdict == Verdict::Within)
    );
    let drift = c.run.drift.unwrap();
    assert!(
        drift.starts_with("Within, but drifting: 0.15 mm down from piece to piece"),
        "{drift}"
    );
    let (across, up) = c.run.charts.unwrap();
    assert!(!across.drifts() && up.drifts());
}

/// The drift is by piece: checking one again and again adds nothing to it, a look without a finding
/// takes nothing away, and pieces nobody checked count on the way.
#[test]
fn repeats_of_one_piece_are_not_pieces_of_the_run() {
    let up = |n: u32| 0.1 * f64::from(n) + 0.02 * f64::from(n % 2);
    let every_piece = |pieces: &[u32]| {
        let mut s = run();
        for n in pieces {
            keep(&mut s, &format!("p{n}"), 0.1, up(*n));
        }
        s
    };
    let mut s = every_piece(&[1, 2, 3, 4, 5, 6, 7, 8]);
    let once = seen(&s);
    for _ in 0..6 {
        keep(&mut s, "p8", 0.1, 1.9);
    }
    keep(&mut s, "p8", 0.1, up(8));
    only_looked(&mut s, "p8");
    let again = seen(&s);
    assert_eq!(again.run.checked.len(), 8);
    assert_eq!(again.run.charts, once.run.charts);

    let some = seen(&every_piece(&[1, 3, 5, 6, 8]));
    let drift = some.run.drift.unwrap();
    assert!(drift.contains("0.10 mm up from piece to piece"), "{drift}");
}

#[test]
fn a_concession_stands_until_it_is_checked_again() {
    let mut s = run();
    keep(&mut s, "p3", 0.0, 9.0);
    assert_eq!(seen(&s).concession, None);
    s.say(&Payload::Concession(ConcessionFact {
        piece: id("p3"),
        feature: id("spot"),
        by: "A. Client, architect".into(),
        reason: "behind the pillar".into(),
    }));
    assert_eq!(seen(&s).concession.unwrap().0, "A. Client, architect");
    keep(&mut s, "p3", 0.0, 8.0);
    assert_eq!(seen(&s).concession, None);
}

#[test]
fn the_record_says_what_was_found_by_which_rule() {
    let mut s = run();
    keep(&mut s, "p3", -0.8, 1.1);
    let says = |s: &Script, piece: Option<&PieceId>| {
        looking(s, |source| {
            let pages = record(source, piece, Paper::A4, "2026-11-25").unwrap();
            (pages.readable.join("\n"), pages.pages.len())
        })
    };
    let (one, pages) = says(&s, Some(&id("p3")));
    assert_eq!(pages, 1);
    for words in [
        "Every feature is settled",
        "0.8 left, 1.1 up",
        "within",
        "k = 2 (ISO 14253-1)",
        "signature",
    ] {
        assert!(one.contains(words), "{words} is not in:\n{one}");
    }
    let (all, _) = says(&s, None);
    assert!(
        all.contains("7 features are not settled") && all.contains("not checked"),
        "{all}"
    );
    s.set(
        EntityRef::Job,
        &JobEdit {
            decision_rule: Some(samespot_core::check::DecisionRule::Simple),
            ..JobEdit::default()
        },
    );
    keep(&mut s, "p3", -0.8, 1.1);
    assert!(says(&s, Some(&id("p3"))).0.contains("by agreement"));
}

#[test]
fn a_check_written_by_an_older_program_is_carried() {
    let text = r#"{"piece":"p3","feature":"spot","readings":[],"note":"looked fine"}"#;
    let old: CheckFact = serde_json::from_str(text).unwrap();
    let mut s = run();
    s.say(&Payload::Check(Box::new(old)));
    let c = seen(&s);
    assert_eq!((c.latest, c.run.checked.len()), (None, 0));
}

fn only_looked(s: &mut Script, piece: &str) {
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(piece),
        feature: id("spot"),
        readings: Vec::new(),
        note: "looked fine".into(),
        lay_back: None,
        found: None,
        stage: None,
        gauge: None,
        reference: None,
    })));
}

#[test]
fn a_look_without_a_finding_takes_no_finding_away() {
    let mut s = run();
    keep(&mut s, "p3", 0.0, 9.0);
    only_looked(&mut s, "p3");
    let c = seen(&s);
    let kept = c.latest.unwrap();
    assert_eq!(
        (kept.says.as_str(), kept.found.verdict, c.run.checked.len()),
        ("9.0 up", Verdict::Outside, 1)
    );
    s.say(&Payload::Concession(ConcessionFact {
        piece: id("p3"),
        feature: id("spot"),
        by: "A. Client, architect".into(),
        reason: "behind the pillar".into(),
    }));
    only_looked(&mut s, "p3");
    assert!(seen(&s).concession.is_some());
}

#[test]
fn the_worst_checked_feature_stands_for_its_piece() {
    let mut s = run();
    let stands = |s: &Script| {
        let job = s.ledger.fold();
        let stands = piece_stands(&job, &id("p3"));
        (stands.worst.map(|(standing, _)| standing), stands.to_check)
    };
    let worst = |s: &Script| stands(s).0;
    assert_eq!(stands(&s), (None, 1));
    for (up, standing) in [
        (0.1, Standing::Within),
        (4.9, Standing::CantTell),
        (9.0, Standing::Outside),
    ] {
        keep(&mut s, "p3", 0.0, up);
        assert_eq!(stands(&s), (Some(standing), 0));
    }
    s.say(&Payload::Concession(ConcessionFact {
        piece: id("p3"),
        feature: id("spot"),
        by: "A. Client, architect".into(),
        reason: "behind the pillar".into(),
    }));
    assert_eq!(worst(&s), Some(Standing::LetStand));
    drop_from(&mut s, 3);
    assert_eq!(worst(&s), None);
}

fn drop_from(s: &mut Script, piece: u32) {
    s.set(
        EntityRef::Issue(id("i2")),
        &IssueEdit {
            number: Some(2),
            from_piece: Some(piece),
            amends: Some(vec![Amendment {
                feature: id("spot"),
                change: Change::Dropped,
            }]),
            ..IssueEdit::default()
        },
    );
}

fn recorded(s: &Script, piece: Option<&str>) -> String {
    looking(s, |source| {
        let piece = piece.map(id);
        record(source, piece.as_ref(), Paper::A4, "2026-11-25")
            .unwrap()
            .readable
            .join("\n")
    })
}

#[test]
fn a_feature_dropped_for_a_piece_is_settled_there() {
    let mut s = run();
    drop_from(&mut s, 3);
    let text = recorded(&s, Some("p3"));
    assert!(
        text.contains("Every feature is settled")
            && text.contains("not made")
            && text.contains("issue 2: not on this piece"),
        "{text}"
    );
    // Pieces 1 and 2 have it still.
    assert!(recorded(&s, None).contains("2 features are not settled"));
}

/// Painted first, dropped after: it is on the piece until somebody says what becomes of it.
#[test]
fn a_feature_dropped_after_it_was_painted_has_to_be_decided() {
    let mut s = run();
    keep(&mut s, "p3", 0.1, 0.1);
    drop_from(&mut s, 3);
    let text = recorded(&s, Some("p3"));
    assert!(
        text.contains("1 feature is not settled") && text.contains("take it off"),
        "{text}"
    );
    let mut decide = |issue: &str| {
        s.say(&Payload::Amended(AmendedFact {
            issue: id(issue),
            piece: id("p3"),
            feature: id("spot"),
            decided: Decided::Reworked,
        }));
        recorded(&s, Some("p3")).contains("Every feature is settled")
    };
    // What was decided on another issue says nothing of this one.
    assert!(!decide("i1"));
    assert!(decide("i2"));
}

/// A finding on paper is worth what it rests on: everything the check says of how it was read.
#[test]
fn the_record_says_what_each_finding_rests_on() {
    let mut s = run();
    let printed = looking(&s, |source| {
        issue(
            source,
            &id::<FeatureId>("spot"),
            &id("p3"),
            Paper::A4,
            "2026-11-24",
        )
        .unwrap()
        .printed("2026-11-24")
    });
    let reference = printed.reference.clone();
    s.say(&Payload::Printed(printed));
    let found = judged(&s, &gaps(1.1, -0.8, -1.1, 0.8)).found;
    s.set(
        EntityRef::Instrument(id("steel-rule")),
        &InstrumentEdit {
            name: Some("steel rule 3".into()),
            ..InstrumentEdit::default()
        },
    );
    let check = CheckFact {
        piece: id("p3"),
        feature: id("spot"),
        readings: vec![Reading {
            casting: id("c3"),
            of: Measured::Straight {
                from: PointRef::Mark(id("a")),
                to: PointRef::Mark(id("b")),
            },
            value: mm(120.0),
            instrument: Some(id("steel-rule")),
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        }],
        note: String::new(),
        lay_back: Some(LayBackRead {
            top: Entry {
                typed: "3/64\"".into(),
                mm: Length::from_mm(1.190_625),
                unit: Some("in".into()),
                rule: None,
            },
            right: mm(-0.8),
            bottom: mm(-1.1),
            left: mm(0.0),
        }),
        found: Some(found),
        stage: Some("painted".into()),
        gauge: None,
        reference: Some(reference.clone()),
    };
    s.say(&Payload::Check(Box::new(check)));
    let text = recorded(&s, Some("p3"));
    let shown: String = text.split_whitespace().collect();
    assert!(shown.contains(&reference), "{reference} is not in:\n{text}");
    for words in [
        "laid back, four gaps by rule",
        "+1.2 (typed 3/64\"), −0.8, −1.1, 0.0",
        "printed 2026-11-24",
        "· painted ·",
        "steel rule 3",
    ] {
        assert!(text.contains(words), "{words} is not in:\n{text}");
    }
    only_looked(&mut s, "p3");
    let text = recorded(&s, Some("p3"));
    for words in ["no finding: “looked fine”", "steel rule 3", "not recorded"] {
        assert!(text.contains(words), "{words} is not in:\n{text}");
    }
    // Nothing checked, nothing to say of how.
    assert!(!recorded(&s, Some("p2")).contains("not recorded"));
}

/// What crosses between worker and page is text: every answer has to survive it.
#[test]
fn answers_cross_to_the_page_and_back() {
    let mut s = run();
    keep(&mut s, "p3", -0.8, 1.1);
    let mut desk = Desk::default();
    let job: JobId = id("test-job");
    let facts = s.ledger.facts().map(|f| f.bytes().to_owned()).collect();
    let asks = [
        Ask::Facts {
            job: job.clone(),
            facts,
            attachments: Vec::new(),
        },
        Ask::Checks {
            job: job.clone(),
            piece: id("p3"),
        },
        Ask::Judge {
            job: job.clone(),
            piece: id("p3"),
            feature: id("spot"),
            gaps: gaps(1.0, 0.0, 0.0, 0.0),
        },
        Ask::Record {
            job,
            piece: None,
            paper: Paper::A4,
            day: "2026-11-25".into(),
        },
    ];
    for ask in asks {
        let request = serde_json::to_string(&Request { number: 1, ask }).unwrap();
        let answered = answer(&mut desk, serde_json::from_str(&request).unwrap());
        let text = serde_json::to_string(&answered).unwrap();
        let back: Answer = serde_json::from_str(&text).unwrap();
        assert!(
            back.says.is_ok() && back.says == answered.says,
            "{request:.80}"
        );
    }
}
