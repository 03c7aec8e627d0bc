//! What QA may get wrong: a feature that was never made, a template that was never proved, a sheet of
//! another job.

use super::*;
use samespot_core::answer::{Hanging, Reply};

#[test]
fn a_feature_never_made_is_not_checked_and_that_is_said() {
    let mut s = run();
    drop_from(&mut s, 3);
    let judged = |s: &Script, feature: &str, piece: &str| {
        looking(s, |source| {
            judge_gaps(source, &id(feature), &id(piece), &gaps(0.0, 0.0, 0.0, 0.0))
                .map(|j| j.found.verdict)
                .map_err(|why| why.to_string())
        })
    };
    let why = judged(&s, "spot", "p3").unwrap_err();
    assert!(
        why.contains("is not made on piece 3: issue 2 says so"),
        "{why}"
    );
    assert_eq!(judged(&s, "spot", "p2"), Ok(Verdict::Within));
    // Nor is one that the job does not have, which is named.
    let why = judged(&s, "nose", "p2").unwrap_err();
    assert!(why.contains("nose"), "{why}");
}

/// A print of the spot for piece 3.
fn printed(s: &mut Script, paper: Paper) -> Printed {
    let printed = looking(s, |source| {
        let spot: FeatureId = id("spot");
        let issued = issue(source, &spot, &id("p3"), paper, "2026-11-20").unwrap();
        issued.printed("2026-11-20")
    });
    s.say(&Payload::Printed(printed.clone()));
    printed
}

/// The same, and a template made from it.
fn printed_and_made(s: &mut Script) -> Printed {
    let printed = printed(s, Paper::A4);
    made_from(s, &printed.reference);
    printed
}

fn made_from(s: &mut Script, reference: &str) {
    template(s, "t1", reference);
}

fn retired(s: &mut Script, template: &str) {
    s.say(&Payload::Template(TemplateFact {
        template: id(template),
        day: "2026-11-21".into(),
        says: TemplateSays::Retired { why: String::new() },
    }));
}

fn template(s: &mut Script, own: &str, reference: &str) {
    s.set(
        EntityRef::Template(id(own)),
        &TemplateEdit {
            number: Some(1),
            kind: Some(TemplateKind::Stencil),
            feature: Some(id("spot")),
            reference: Some(reference.to_owned()),
            ..TemplateEdit::default()
        },
    );
}

#[test]
fn a_template_never_proved_is_told_before_it_is_laid_back_and_no_longer_once_it_is() {
    let mut s = run();
    let says = |s: &Script| seen(s).before.join("\n");
    assert!(says(&s).contains("No template of it has been printed"));
    let printed = printed_and_made(&mut s);
    assert!(!printed.distances.is_empty());
    assert!(says(&s).contains("was never proved"), "{}", says(&s));
    let read = |s: &mut Script, off: f64, step: f64| {
        let read = printed.distances.iter().map(|d| DistanceRead {
            between: d.between.clone(),
            read: mm(d.drawn.mm() + off),
        });
        let says = TemplateSays::Measured {
            read: read.collect(),
            class: ClassMark::I,
            step: Length::from_mm(step),
        };
        s.say(&Payload::Template(TemplateFact {
            template: id("t1"),
            day: "2026-11-20".into(),
            says,
        }));
    };
    read(&mut s, 0.0, 0.5);
    assert!(says(&s).contains("was proved"), "{}", says(&s));
    read(&mut s, 9.0, 0.5);
    assert!(says(&s).contains("don’t lay it back"), "{}", says(&s));
    read(&mut s, 0.0, 10.0);
    assert!(says(&s).contains("can’t tell"), "{}", says(&s));
    // A retired one proves nothing.
    retired(&mut s, "t1");
    assert!(says(&s).contains("was never proved"), "{}", says(&s));
}

#[test]
fn the_template_in_hand_may_be_any_that_was_printed_and_is_not_retired() {
    let mut s = run();
    let offered = |s: &Script, piece: &str| -> Vec<String> {
        let job = s.ledger.fold();
        let prints = job.may_be_laid_back(&id("spot"), &id(piece));
        prints.iter().map(|p| p.says.reference.clone()).collect()
    };
    assert!(offered(&s, "p3").is_empty());
    let older = printed(&mut s, Paper::A4);
    let newer = printed(&mut s, Paper::A3);
    assert_ne!(older.reference, newer.reference);
    // Rods to its middle have no line to be laid back, and another piece has no sheet at all.
    s.say(&Payload::Printed(Printed {
        of: SheetOf::Rods(id("spot")),
        reference: "ROD2345678".into(),
        ..newer.clone()
    }));
    let (older, newer) = (older.reference, newer.reference);
    assert_eq!(offered(&s, "p3"), [newer.clone(), older.clone()]);
    assert!(offered(&s, "p2").is_empty());
    // One of two made from the newer is retired, then both.
    template(&mut s, "t1", &newer);
    template(&mut s, "t2", &newer);
    retired(&mut s, "t1");
    assert_eq!(offered(&s, "p3"), [newer.clone(), older.clone()]);
    retired(&mut s, "t2");
    assert_eq!(offered(&s, "p3"), std::slice::from_ref(&older));
    // The older one again: a reference is asked about once.
    printed(&mut s, Paper::A4);
    assert_eq!(offered(&s, "p3"), [older]);
}

fn hanging(s: &Script) -> Hanging {
    let mut desk = Desk::default();
    let facts = s.ledger.facts().map(|f| f.bytes().to_owned()).collect();
    let job = s.ledger.job_id().clone();
    let asks = [
        Ask::Facts {
            job: job.clone(),
            facts,
            attachments: Vec::new(),
        },
        Ask::Rack {
            job,
            feature: Some(id("spot")),
            piece: id("p3"),
        },
    ];
    for (number, ask) in (0..).zip(asks) {
        if let Ok(Reply::Rack(view)) = answer(&mut desk, Request { number, ask }).says {
            return view.hanging.into_iter().next().unwrap();
        }
    }
    panic!("no rack")
}

#[test]
fn a_template_with_the_reference_of_another_job_holds_for_nothing_here() {
    let mut s = run();
    let ours = printed_and_made(&mut s);
    assert_eq!(hanging(&s).stale, None);
    // Letters of a sheet that this job never printed.
    let theirs = "ZZZZZ77777";
    assert_ne!(ours.reference, theirs);
    made_from(&mut s, theirs);
    let stale = hanging(&s).stale.unwrap();
    assert!(
        stale.contains("isn’t in this copy of the job") && stale.contains("can’t be told"),
        "{stale}"
    );
    // And it says nothing of the size of this job's own print.
    assert!(seen(&s).before.join("\n").contains("was never proved"));
}
