//! Two of a pair judged together; a record signed off over what it says.

use super::*;
use samespot_core::check::DecisionRule;
use samespot_core::prepare::pair_checks::{pair_ahead, pair_checks, pair_is_open, pair_state};
use samespot_core::prepare::record_table;
use samespot_core::prepare::sign_off::seal;

/// Two spots either side of the line halfway between A and B, laid back one by one. What they come to
/// together is arithmetic on their shifts.
#[test]
fn two_of_a_pair_are_judged_together() {
    let mut s = run();
    s.set(
        EntityRef::Feature(id("other")),
        &FeatureEdit {
            face: Some(id("face")),
            name: Some("Other spot".into()),
            side: Some(LineSide::Above),
            ..s.ledger.fold().features[&id("spot")].clone()
        },
    );
    for _ in 0..3 {
        for (mark, mm) in [("a", 85.0), ("b", 80.0)] {
            s.read(
                "pattern",
                Measured::Over {
                    from: PointRef::Mark(id(mark)),
                    to: PointRef::Feature(id("other")),
                },
                mm,
            );
        }
    }
    // The figure's left one is on the right as seen from outside.
    s.set(
        EntityRef::Pair(id("spots")),
        &PairEdit {
            name: Some("Spots".into()),
            left: Some(id("other")),
            right: Some(id("spot")),
            level: Some(Length::from_mm(5.0)),
            apart: Some(Length::from_mm(0.5)),
            ..PairEdit::default()
        },
    );
    let see = |s: &Script| looking(s, |source| pair_checks(source, &id("p3")));
    assert!(see(&s).is_empty());
    keep_of(&mut s, "spot", "p3", 0.5, 0.2);
    let one = see(&s).remove(0);
    assert!(one.rows.is_empty());
    assert_eq!(
        one.note.as_deref(),
        Some("check Other spot too: then the pair is judged")
    );
    keep_of(&mut s, "other", "p3", -0.3, 1.0);
    let both = see(&s).remove(0);
    let says: Vec<_> = both.rows.iter().map(|r| r.says.as_str()).collect();
    assert_eq!(
        says,
        [
            "the left one 0.8 higher",
            "0.8 too near each other",
            "the left one 0.2 further from the middle"
        ]
    );
    let verdicts: Vec<_> = both
        .rows
        .iter()
        .map(|r| r.judged.map(|j| j.verdict))
        .collect();
    // 0.8 of 5 is within; half a millimetre apart can't be told by two lay-backs; nothing was asked of
    // the last.
    assert_eq!(
        verdicts,
        [Some(Verdict::Within), Some(Verdict::NotProven), None]
    );
    assert_eq!(pair_state(&both), Some(Verdict::NotProven));
    // The same in the table: a row for each thing looked at, behind those of the piece's features.
    let table = looking(&s, |source| record_table(source, Some(&id("p3"))));
    let rows: Vec<&str> = table.lines().skip(3).collect();
    assert_eq!(rows.len(), 3, "{table}");
    for (row, words) in rows.iter().zip([
        ["Spots: level", "0.800", "within", "the left one 0.8 higher"],
        [
            "Spots: distance apart",
            "0.800",
            "can’t tell",
            "0.8 too near each other",
        ],
        ["Spots: equal", "not asked", "", "the left one 0.2 further"],
    ]) {
        for word in words {
            assert!(row.contains(word), "{word} is not in {row}");
        }
    }
    // Found by an older program by the measured value alone: how well is not known, so it is not told
    // by a rule that counts it.
    let mut old = s.ledger.fold();
    let mut earlier: Vec<_> = old.checks.iter().cloned().collect();
    for check in &mut earlier {
        if let Some(found) = &mut check.says.found {
            (found.rule, found.guard, found.sd) = (DecisionRule::Simple, Length::ZERO, None);
        }
    }
    old.checks = earlier.into_iter().collect();
    let source = Source {
        job: &old,
        attachments: &s.attachments,
    };
    let unknown = pair_checks(&source, &id("p3")).remove(0);
    let verdicts: Vec<_> = unknown
        .rows
        .iter()
        .map(|r| r.judged.map(|j| j.verdict))
        .collect();
    let cant_tell = Some(Verdict::NotProven);
    assert_eq!(verdicts, [cant_tell, cant_tell, None]);
    assert!(unknown.note.unwrap().contains("check it again"));
    // Before anything is painted: √2 of one template's deviation, 1.96 of it for a difference along a
    // line (JCGM 100, table G.1).
    let (own, ahead) = looking(&s, |source| {
        let one = issue(
            source,
            &FeatureId::new("spot").unwrap(),
            &id("p3"),
            Paper::A4,
            "2026-11-26",
        )
        .unwrap();
        let ahead = pair_ahead(source, &id("spot"), &id("p3"), &one.prepared).unwrap();
        (one.prepared.budget.worst.mm(), ahead)
    });
    let other = looking(&s, |source| {
        let two = issue(
            source,
            &FeatureId::new("other").unwrap(),
            &id("p3"),
            Paper::A4,
            "2026-11-26",
        )
        .unwrap();
        two.prepared.budget.worst.mm()
    });
    let within = 1.96 * own.hypot(other) / 2.4477;
    assert_eq!(
        ahead.says,
        format!(
            "As a pair with other spot: within {within:.1} mm of each other; level 5, apart 0.5 asked"
        )
    );
    assert!(!ahead.fits);
    // Two independent shifts: the guard of the difference is √2 of twice the deviation of one
    // (JCGM 100, 5.1.2).
    let one = looking(&s, |source| checks(source, &id("p3")))
        .iter()
        .filter_map(|c| c.latest.as_ref()?.found.sd)
        .map(|sd| 4.0 * sd.mm() * sd.mm())
        .sum::<f64>()
        .sqrt();
    let guard = both.rows[0].judged.unwrap().guard.mm();
    assert!((guard - one).abs() < 0.002, "{guard} {one}");
    // And in the record.
    let page = looking(&s, |source| {
        record(source, Some(&id("p3")), Paper::A4, "2026-11-26").unwrap()
    });
    let read = page.readable.join("\n");
    // Somebody who may lets it stand; checked again, that is over.
    let stands = |s: &mut Script, piece: &str| {
        s.say(&Payload::PairConcession(PairConcessionFact {
            piece: id(piece),
            pair: id("spots"),
            by: "A. Client, architect".into(),
            reason: "seen from one side only".into(),
        }))
    };
    let open = |s: &Script| pair_is_open(&see(s).remove(0));
    let record_of = |s: &Script| {
        looking(s, |source| {
            record(source, Some(&id("p3")), Paper::A4, "2026-11-26")
                .unwrap()
                .readable
                .join("\n")
        })
    };
    stands(&mut s, "p4");
    assert!(open(&s));
    stands(&mut s, "p3");
    assert!(!open(&s));
    let settled = record_of(&s);
    assert!(
        settled.contains("let stand by A. Client, architect: seen from one side only")
            && !settled.contains("pair is not within"),
        "{settled}"
    );
    keep_of(&mut s, "other", "p3", -0.3, 1.1);
    assert!(open(&s));
    for words in ["the left one 0.8 higher", "0.8 too near each other"] {
        assert!(read.contains(words), "{words} not in {read}");
    }
    assert!(read.contains("1 pair is not within"), "{read}");
}

/// A record is signed off over what it says: anything that changes later breaks the seal, and what
/// changes nothing of it does not.
#[test]
fn a_signature_breaks_when_the_record_changes() {
    let mut s = run();
    keep(&mut s, "p3", 0.3, 0.2);
    let of = |s: &Script| looking(s, |source| seal(source, Some(&id("p3"))));
    let first = of(&s);
    assert_eq!((first.open, first.signed.is_none()), (0, true));
    // 20 letters of base 32 in groups of five (RFC 4648).
    assert_eq!(first.seal.len(), 23);
    assert!(
        first
            .seal
            .chars()
            .all(|c| c.is_ascii_uppercase() || "234567-".contains(c))
    );
    s.say(&Payload::SignedOff(SignOffFact {
        piece: Some(id("p3")),
        by: "AB, QA".into(),
        reason: "fit to leave".into(),
        seal: first.seal.clone(),
    }));
    let holds = of(&s);
    assert!(holds.signed.clone().is_some_and(|s| s.holds));
    assert_eq!(holds.seal, first.seal);
    // Another piece is another record.
    keep(&mut s, "p4", 1.0, 1.0);
    assert!(of(&s).signed.is_some_and(|s| s.holds));
    let page = |s: &Script| {
        looking(s, |source| {
            record(source, Some(&id("p3")), Paper::A4, "2026-11-26")
                .unwrap()
                .readable
                .join("\n")
        })
    };
    let read = page(&s);
    assert!(
        read.contains("Signed off by AB, QA") && read.contains(&first.seal),
        "{read}"
    );
    assert!(read.contains("It is not a signature in law"), "{read}");
    keep(&mut s, "p3", 0.3, 0.3);
    let broken = of(&s);
    assert!(broken.signed.is_some_and(|s| !s.holds));
    assert!(page(&s).contains("CHANGED SINCE IT WAS SIGNED OFF"));
}

/// The run is signed as a whole: any piece's finding breaks that seal, and a piece's own does not count.
#[test]
fn the_run_is_signed_off_by_itself() {
    let mut s = run();
    for n in 1..=8 {
        keep(&mut s, &format!("p{n}"), 0.3, 0.2);
    }
    let of = |s: &Script| looking(s, |source| seal(source, None));
    let sign = |s: &mut Script, piece: Option<PieceId>, seal: String| {
        s.say(&Payload::SignedOff(SignOffFact {
            piece,
            by: "AB, QA".into(),
            reason: "the run may leave".into(),
            seal,
        }))
    };
    let now = of(&s);
    assert_eq!((now.open, now.signed), (0, None));
    sign(&mut s, Some(id("p3")), now.seal.clone());
    assert_eq!(of(&s).signed, None);
    sign(&mut s, None, now.seal);
    assert!(of(&s).signed.is_some_and(|s| s.holds));
    keep(&mut s, "p8", 0.3, 0.4);
    assert!(of(&s).signed.is_some_and(|s| !s.holds));
}

/// The first and the last article are marked on the record of the run, with how far features moved
/// between them; a record of one piece says nothing of it.
#[test]
fn the_first_and_the_last_article_are_told_apart() {
    let mut s = run();
    assert!(!recorded(&s, None).contains("From the first article"));
    keep(&mut s, "p1", 0.3, 0.2);
    keep(&mut s, "p8", 0.7, -0.1);
    let text = recorded(&s, None);
    for words in [
        "(first article)",
        "(last article)",
        "Spot: 0.4 right, 0.3 down (± ",
    ] {
        assert!(text.contains(words), "{words} is not in:\n{text}");
    }
    assert_eq!(text.matches("article)").count(), 2);
    assert!(!recorded(&s, Some("p8")).contains("article"));
}
