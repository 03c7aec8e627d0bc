//! A piece keeps what it was built to: until somebody says what becomes of it, no check of before makes it right.

use super::*;
use samespot_core::check::{DecisionRule, Verdict};
use samespot_core::prepare::amendments::older;
use samespot_core::prepare::checks::{Standing, checks, piece_stands};
use samespot_core::prepare::record_table;
use samespot_core::prepare::run_checks::{Mark, overview};

fn spot() -> FeatureId {
    id("spot")
}

fn check(s: &mut Script, piece: &str, laid: Option<String>, verdict: Verdict) {
    s.say(&Payload::Check(Box::new(CheckFact {
        piece: id(piece),
        feature: spot(),
        readings: Vec::new(),
        note: String::new(),
        lay_back: None,
        found: Some(Found {
            right: Length::from_mm(0.5),
            up: Length::from_mm(0.5),
            size: Length::ZERO,
            limit: Length::from_mm(3.0),
            guard: Length::from_mm(1.0),
            verdict,
            rule: DecisionRule::TwoSigma,
            sd: None,
        }),
        stage: None,
        gauge: None,
        reference: laid,
    })));
}

fn last_reference(s: &Script, piece: &str) -> String {
    let job = s.ledger.fold();
    let print = job.last_print(&spot(), &id(piece)).unwrap();
    print.says.reference.clone()
}

fn standing(s: &Script, piece: &str) -> Option<Standing> {
    Standing::of(&s.ledger.fold(), &spot(), &id(piece))
}

fn outcome(s: &Script, number: u32) -> Outcome {
    let found = view(s).consequences.into_iter();
    found
        .filter(|c| c.number == number)
        .map(|c| c.outcome)
        .next()
        .unwrap()
}

fn decide(s: &mut Script, piece: &str, decided: Decided) {
    s.say(&Payload::Amended(AmendedFact {
        issue: id("i2"),
        piece: id(piece),
        feature: spot(),
        decided,
    }));
}

/// Painted and found within to issue 1; issue 2 has it lower. Nothing of before makes it right then: neither
/// the check that stands, nor the old template laid back once more.
#[test]
fn what_was_painted_to_the_older_issue_is_to_be_made_again() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p3");
    let old = last_reference(&s, "p3");
    stage(&mut s, "c3", "painted");
    check(&mut s, "p3", Some(old.clone()), Verdict::Within);
    assert_eq!(standing(&s, "p3"), Some(Standing::Within));

    amend(&mut s, 2, 1, down_and_left());
    let again = |s: &Script| {
        assert_eq!(standing(s, "p3"), Some(Standing::MakeAgain));
        let job = s.ledger.fold();
        let stands = piece_stands(&job, &id("p3"));
        assert_eq!(stands.worst.map(|w| w.0), Some(Standing::MakeAgain));
        let said = older(&job, &spot(), &id("p3")).unwrap().sentence();
        assert!(
            said.starts_with("Issue 2 has it moved 14 mm down and 6 mm left; here it is as before"),
            "{said}"
        );
        looking(s, |source| {
            let seen = checks(source, &id("p3"));
            assert_eq!(seen[0].older.as_ref().map(|o| o.issue), Some(2));
            assert_eq!(overview(source).features[0].marks[2], Mark::MakeAgain);
            let table = record_table(source, Some(&id("p3")));
            assert!(table.contains("make again (issue 2)"), "{table}");
        });
        assert_eq!(
            outcome(s, 3),
            Outcome::Rework {
                because: "checked".into()
            }
        );
    };
    again(&s);
    check(&mut s, "p3", Some(old), Verdict::Within);
    again(&s);
    // The new sheet printed, and the old paint not touched.
    print(&mut s, "p3");
    again(&s);
    let new = last_reference(&s, "p3");
    check(&mut s, "p3", Some(new.clone()), Verdict::Outside);
    again(&s);

    // Made again: what was found before says nothing of it; then it is checked like any other.
    decide(&mut s, "p3", Decided::Reworked);
    assert_eq!(standing(&s, "p3"), None);
    check(&mut s, "p3", Some(new), Verdict::Within);
    assert_eq!(standing(&s, "p3"), Some(Standing::Within));
    assert_eq!(outcome(&s, 3), Outcome::Reworked);
}

#[test]
fn a_template_of_the_issue_found_within_settles_it_without_a_word() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p3");
    stage(&mut s, "c3", "painted");
    amend(&mut s, 2, 1, down_and_left());
    print(&mut s, "p3");
    let new = last_reference(&s, "p3");
    check(&mut s, "p3", Some(new), Verdict::Within);
    assert_eq!(standing(&s, "p3"), Some(Standing::Within));
    assert_eq!(outcome(&s, 3), Outcome::Printed);
}

#[test]
fn what_stays_by_decision_is_as_it_was_found() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p3");
    stage(&mut s, "c3", "painted");
    let old = last_reference(&s, "p3");
    check(&mut s, "p3", Some(old), Verdict::Within);
    amend(&mut s, 2, 1, down_and_left());
    decide(
        &mut s,
        "p3",
        Decided::Concession {
            by: "the client's architect".into(),
            reason: "nobody sees that side".into(),
        },
    );
    assert_eq!(standing(&s, "p3"), Some(Standing::Within));
}

/// A piece that was only measured when the issue came is printed, painted and checked to it: nothing of that is
/// to be made again.
#[test]
fn what_is_made_after_a_sheet_of_the_issue_was_printed_is_of_that_issue() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p4");
    amend(&mut s, 2, 3, down_and_left());
    assert!(matches!(outcome(&s, 4), Outcome::PrintAgain { .. }));
    print(&mut s, "p4");
    let new = last_reference(&s, "p4");
    stage(&mut s, "c4", "painted");
    s.say(&Payload::Done(DoneFact {
        casting: id("c4"),
        what: "painted".into(),
        on: Some(EntityRef::Feature(spot())),
        kind: None,
        near: Vec::new(),
    }));
    assert_eq!(outcome(&s, 4), Outcome::Printed);
    assert_eq!(standing(&s, "p4"), None);
    check(&mut s, "p4", Some(new), Verdict::Within);
    assert_eq!(outcome(&s, 4), Outcome::Printed);
    assert_eq!(standing(&s, "p4"), Some(Standing::Within));
    // Painted with the sheet of before, although the issue was there.
    stage(&mut s, "c5", "painted");
    assert!(matches!(outcome(&s, 5), Outcome::Rework { .. }));
    // Taken back to primer, it is no longer on the piece.
    stage(&mut s, "c5", "primed");
    assert_eq!(outcome(&s, 5), Outcome::NotMade);
    // Piece 1 is of issue 1 and stays so.
    stage(&mut s, "c1", "painted");
    assert_eq!(older(&s.ledger.fold(), &spot(), &id("p1")), None);
}

/// A sheet printed to an issue stays right while the issue is added to elsewhere and then approved; only what was
/// printed before it goes to scrap.
#[test]
fn a_new_sheet_stays_when_its_issue_grows_and_is_approved() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p4");
    let old = last_reference(&s, "p4");
    stage(&mut s, "c4", "painted");
    amend(&mut s, 2, 1, down_and_left());
    print(&mut s, "p4");
    let new = last_reference(&s, "p4");
    assert_ne!(old, new);
    let holds = |s: &Script| {
        assert_eq!(looking(s, |j| staleness(j, &spot(), &id("p4"))), None);
        let scrap: Vec<String> = view(s).scrap.into_iter().map(|t| t.reference).collect();
        assert_eq!(scrap, std::slice::from_ref(&old));
    };
    holds(&s);
    let mut more = down_and_left();
    more.push(Amendment {
        feature: id("other"),
        change: Change::Moved {
            right: mm(0.0),
            up: mm(-14.0),
        },
    });
    amend(&mut s, 2, 1, more);
    holds(&s);
    s.set(
        EntityRef::Issue(id("i2")),
        &IssueEdit {
            approved_by: Some("the client".into()),
            approved_on: Some("2026-11-26".into()),
            ..IssueEdit::default()
        },
    );
    holds(&s);
    // Moved once more before anybody painted to it: now it is of before.
    let mut further = down_and_left();
    further.extend(down_and_left());
    amend(&mut s, 2, 1, further);
    let stale = looking(&s, |j| staleness(j, &spot(), &id("p4"))).unwrap();
    assert!(stale.contains("issue 2 has it moved"), "{stale}");
    assert_eq!(view(&s).scrap.len(), 2);
}
