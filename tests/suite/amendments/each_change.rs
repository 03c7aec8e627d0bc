//! Every change that an issue can make, from the printed sheet through what is stale and what is made again to
//! the slip.

use super::*;
use samespot_core::prepare::amendments::change_words;

fn text(s: &Script, which: AmendmentPaper) -> String {
    looking(s, |source| {
        let page = amendment_paper(source, &id("i2"), which, (Paper::A4, "2026-11-25"));
        page.unwrap().unwrap().readable.join("\n")
    })
}

fn outcomes(s: &Script) -> Vec<(u32, Outcome)> {
    let all = view(s).consequences.into_iter();
    all.map(|c| (c.number, c.outcome)).collect()
}

fn stale(s: &Script, piece: &str) -> Option<String> {
    looking(s, |j| staleness(j, &id::<FeatureId>("spot"), &id(piece)))
}

/// Printed for pieces 2 to 4, painted on piece 3, changed from piece 3 on.
fn changed(change: &Change) -> Script {
    let mut s = run(FaceShape::Flat);
    for piece in ["p2", "p3", "p4"] {
        print(&mut s, piece);
    }
    stage(&mut s, "c3", "painted");
    let amends = vec![Amendment {
        feature: id("spot"),
        change: change.clone(),
    }];
    amend(&mut s, 2, 3, amends);
    s
}

#[test]
fn moved_raised_turned_over_and_dropped_go_through_stale_rework_and_slip() {
    let raised = Change::Finish {
        finish: "raised, 3 mm".into(),
    };
    let [Amendment { change: moved, .. }] = <[_; 1]>::try_from(down_and_left()).unwrap();
    for (change, words) in [
        (moved, "moved 14 mm down and 6 mm left"),
        (raised, "finish: raised, 3 mm"),
        (Change::Mirrored, "mirrored, left for right"),
        (Change::Dropped, "no longer made"),
    ] {
        assert_eq!(change_words(&change), words);
        let mut s = changed(&change);
        // Who was painted before stays as it is; from piece 3 on the sheets are stale, and say by what.
        assert_eq!(stale(&s, "p2"), None, "{words}");
        let why = stale(&s, "p4").unwrap_or_else(|| panic!("{words}: the sheet still holds"));
        let dropped = change == Change::Dropped;
        let by = if dropped {
            "not made on piece 4"
        } else {
            words
        };
        assert!(
            why.contains(by) && why.contains("issue 2"),
            "{words}: {why}"
        );
        assert_eq!(view(&s).changes, [format!("Spot: {words}")]);
        let found = outcomes(&s);
        let [
            (3, Outcome::Rework { because }),
            (4, Outcome::PrintAgain { .. }),
            (5, Outcome::NotMade),
        ] = found.as_slice()
        else {
            panic!("{words}: {found:?}")
        };
        assert_eq!(because, "painted");
        assert_eq!((view(&s).rework, view(&s).hours), (1, Some(1.5)));
        let scrap: Vec<u32> = view(&s)
            .scrap
            .iter()
            .flat_map(|t| t.pieces.clone())
            .collect();
        assert_eq!(scrap, [3, 4], "{words}");
        // On both papers, each a page.
        for which in [AmendmentPaper::Approval, AmendmentPaper::Slip] {
            let says = text(&s, which);
            assert!(says.contains(words), "{words} is not in:\n{says}");
        }
        // The slip says what to do on each.
        let slip = text(&s, AmendmentPaper::Slip);
        let (off, no_new) = ("take it off", "it is not made");
        let (again, new) = ("make it again", "print the new one");
        let many = "1 finished feature to";
        for (says, does) in [
            (&*format!("{many} take off, about 1.5 hours"), dropped),
            (&*format!("{many} make again, about 1.5 hours"), !dropped),
            (off, dropped),
            (no_new, dropped),
            (again, !dropped),
            (new, !dropped),
        ] {
            assert_eq!(slip.contains(says), does, "{words}: {says}\n{slip}");
        }
        // Made again: no longer on the list.
        s.say(&Payload::Amended(AmendedFact {
            issue: id("i2"),
            piece: id("p3"),
            feature: id("spot"),
            decided: Decided::Reworked,
        }));
        assert_eq!(view(&s).rework, 0, "{words}");
        let slip = text(&s, AmendmentPaper::Slip);
        assert!(slip.contains("Nothing finished to make again"), "{slip}");
        assert_eq!(outcomes(&s)[0].1, Outcome::Reworked);
        if dropped {
            // There is no new sheet to print.
            let none = looking(&s, |j| prepare(j, &id("spot"), &id("p4")));
            assert!(none.is_err());
        } else {
            print(&mut s, "p4");
            assert_eq!(outcomes(&s)[1].1, Outcome::Printed, "{words}");
            assert_eq!(stale(&s, "p4"), None, "{words}");
        }
    }
}

#[test]
fn added_is_not_made_before_its_issue_and_is_on_the_slip_from_then_on() {
    let mut s = run(FaceShape::Flat);
    stage(&mut s, "c3", "painted");
    let added = vec![Amendment {
        feature: id("spot"),
        change: Change::Added,
    }];
    amend(&mut s, 2, 3, added);
    let why = looking(&s, |j| prepare(j, &id("spot"), &id("p2"))).unwrap_err();
    assert!(why.to_string().contains("not made on piece 2"), "{why}");
    // Piece 3 is painted already: that it has to go on there is work somebody has to be told of.
    let found = outcomes(&s);
    assert!(
        matches!(
            found.as_slice(),
            [
                (3, Outcome::Rework { .. }),
                (4, Outcome::NotMade),
                (5, Outcome::NotMade)
            ]
        ),
        "{found:?}"
    );
    assert!(view(&s).scrap.is_empty());
    for which in [AmendmentPaper::Approval, AmendmentPaper::Slip] {
        assert!(text(&s, which).contains("Spot: new"));
    }
    let slip = text(&s, AmendmentPaper::Slip);
    assert!(
        slip.contains("put it on") && slip.contains("print its template"),
        "{slip}"
    );
    assert!(!slip.contains("make it again"), "{slip}");
    assert!(
        slip.contains("1 feature to put on a finished piece"),
        "{slip}"
    );
    print(&mut s, "p4");
    assert_eq!(outcomes(&s)[1].1, Outcome::Printed);
}

#[test]
fn an_issue_for_pieces_the_run_does_not_have_touches_nothing_and_breaks_nothing() {
    let mut s = run(FaceShape::Flat);
    print(&mut s, "p4");
    // The screen refuses it in words (`app/src/screens/changes/model.rs`); a file may hold it all the same.
    amend(&mut s, 2, 40, down_and_left());
    assert!(view(&s).consequences.is_empty() && view(&s).scrap.is_empty());
    assert_eq!(view(&s).pieces, "pieces 40 and on");
    assert_eq!(stale(&s, "p4"), None);
    assert!(text(&s, AmendmentPaper::Slip).contains("moved 14 mm down"));
    // From a piece to one before it: none at all.
    s.set(
        EntityRef::Issue(id("i2")),
        &IssueEdit {
            from_piece: Some(4),
            to_piece: Some(2),
            ..IssueEdit::default()
        },
    );
    assert!(view(&s).consequences.is_empty());
    assert_eq!(stale(&s, "p4"), None);
}
