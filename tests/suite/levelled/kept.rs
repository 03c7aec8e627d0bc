//! A turn kept to level, against the sine of what the level read.

use super::{level, pattern};
use samespot_core::job::*;
use samespot_core::prepare::holes::holes_view;
use samespot_core::prepare::walk::{AskState, walk};
use samespot_core::prepare::{Prepared, Source, prepare, prepare_sheet};
use samespot_core::units::Angle;
use samespot_tests::jobs::{Script, id, mm, point};

/// How far B stands above A on the casting, mm, over 400: asin(7/400) = 1.0026° (by hand).
const HIGHER_MM: f64 = 7.0;

fn kept(levels: bool, turn: TurnKept) -> Script {
    let mut s = pattern();
    for (from, to, value) in [("a", "b", 400.0), ("a", "c", 300.0), ("b", "c", 500.0)] {
        s.over("c1", from, to, value);
    }
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            turn_kept: Some(turn),
            ..FeatureEdit::default()
        },
    );
    if levels {
        s.read("pattern", level("a", "b"), 0.0);
        s.read("c1", level("a", "b"), HIGHER_MM);
    }
    s
}

fn made(s: &Script) -> Result<Prepared, String> {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare(&source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
}

/// From A–B to the feature's up, degrees.
fn stands(p: &Prepared) -> f64 {
    let at = |name: &str| p.marks.at(&point(name)).unwrap();
    let line = at("b") - at("a");
    let turn = p.placed.pose.up.direction_rad() - line.direction_rad();
    turn.to_degrees().rem_euclid(360.0)
}

#[test]
fn what_is_kept_level_stands_as_on_the_pattern_whatever_its_line_does() {
    let wanted = 90.0 - (HIGHER_MM / 400.0_f64).asin().to_degrees();
    let level = made(&kept(true, TurnKept::ToLevel)).unwrap();
    // What the level and the tape leave moves the answer by less than this.
    assert!((stands(&level) - wanted).abs() < 0.02, "{}", stands(&level));
    let line = made(&kept(true, TurnKept::ToLine)).unwrap();
    assert!((stands(&line) - 90.0).abs() < 1e-6);
    assert!(
        level
            .warnings
            .iter()
            .any(|w| w.starts_with("kept level: turned 1.0° clockwise")),
        "{:?}",
        level.warnings
    );
    // How well the level tells it turns the outline: that is in this budget, and in no other.
    assert_eq!(line.basis.shares.turn, Angle::ZERO);
    let turns = level.basis.shares.turn;
    assert!((0.05..0.3).contains(&turns.deg()), "{turns:?}");
    let worst = |turn: Angle| {
        let mut basis = level.basis.clone();
        basis.shares.turn = turn;
        let left = basis.leaves(&level.placed, &level.laying, &[]).unwrap();
        left.1.worst.mm()
    };
    assert!((worst(turns) - level.budget.worst.mm()).abs() < 1e-12);
    assert!(worst(turns) > worst(Angle::ZERO));
    // A radian is everything: 2.4477 of the 30 mm to the edge (`../shared/checks` D11).
    assert!(worst(Angle::from_rad(1.0)) > 2.4477 * 30.0);
}

#[test]
fn what_was_not_levelled_is_asked_for_by_name() {
    let none = made(&kept(false, TurnKept::ToLevel)).unwrap_err();
    assert!(
        none.contains("A–B was not levelled on the pattern"),
        "{none}"
    );
    let mut s = kept(false, TurnKept::ToLevel);
    s.read("pattern", level("a", "b"), 0.0);
    let casting = made(&s).unwrap_err();
    assert!(
        casting.contains("take a level to A–B") && !casting.contains("the pattern"),
        "{casting}"
    );
}

#[test]
fn the_walk_asks_for_the_level_and_says_what_it_should_come_to() {
    let look = |s: &Script| {
        let job = s.ledger.fold();
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        let walk = walk(&source, &id("c1")).unwrap();
        let mut asks = walk.asks.into_iter();
        asks.find(|a| a.of == level("a", "b"))
    };
    let mut s = kept(false, TurnKept::ToLevel);
    // The pattern falls by 10 towards B; castings are 2 in 1000 smaller, marks stray by 2 mm each.
    s.read("pattern", level("a", "b"), -10.0);
    let ask = look(&s).unwrap();
    assert_eq!(ask.state, AskState::ToRead);
    let expected = ask.expected.unwrap();
    assert!((expected.middle.mm() + 9.98).abs() < 0.05, "{expected:?}");
    let reach = expected.high.mm() - expected.middle.mm();
    // 3·√(2² + 2²) = 8.49 of the marks, with the level's own.
    assert!((8.4..9.4).contains(&reach), "{reach}");
    s.read("c1", level("a", "b"), -12.0);
    let read = look(&s).unwrap();
    assert!(matches!(read.state, AskState::Read { .. }));
    let narrow = read.expected.unwrap();
    assert!((narrow.middle.mm() + 12.0).abs() < 0.1, "{narrow:?}");
    assert!(narrow.high.mm() - narrow.middle.mm() < reach / 2.0);
    // Nothing is kept level: no level is asked for.
    assert_eq!(look(&kept(false, TurnKept::ToLine)), None);
}

/// A bracket 120 right of C and 60 below, its two holes 100 apart on the level, with a keep-out.
fn bracket(turn: TurnKept) -> Script {
    let mut s = kept(true, TurnKept::ToLine);
    s.set(
        EntityRef::Fixing(id("bolts")),
        &FixingEdit {
            name: Some("Bolts".into()),
            thread: Some("M8".into()),
            face: Some(id("face")),
            rule: Some(RuleSpec::Line {
                from: id("a"),
                to: id("b"),
                side: None,
                along: Follow::FixedDistance,
                across: None,
            }),
            turn_kept: Some(turn),
            from: Some(id("c")),
            right: Some(mm(120.0)),
            up: Some(mm(-60.0)),
            pattern: Some(HolePattern::Row {
                count: 2,
                pitch: mm(100.0),
            }),
            ..FixingEdit::default()
        },
    );
    s
}

fn sheet(s: &Script, of: SheetOf) -> Result<Prepared, String> {
    let job = s.ledger.fold();
    assert!(job.problems.is_empty(), "{:?}", job.problems);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare_sheet(&source, &of, &id("p1")).map_err(|e| e.to_string())
}

#[test]
fn a_bracket_that_is_kept_level_turns_with_its_template_jig_and_plate() {
    let wanted = 90.0 - (HIGHER_MM / 400.0_f64).asin().to_degrees();
    let kinds: [fn(FixingId) -> SheetOf; 3] = [SheetOf::Fixing, SheetOf::Jig, SheetOf::Plate];
    for of in kinds {
        let of = of(id("bolts"));
        let level = sheet(&bracket(TurnKept::ToLevel), of.clone()).unwrap();
        let line = sheet(&bracket(TurnKept::ToLine), of).unwrap();
        assert!((stands(&level) - wanted).abs() < 0.02, "{}", stands(&level));
        assert!((stands(&line) - 90.0).abs() < 1e-6, "{}", stands(&line));
        let says = |p: &Prepared| {
            let mut all = p.warnings.iter();
            all.any(|w| w.starts_with("kept level: turned 1.0° clockwise"))
        };
        assert!(says(&level) && !says(&line), "{:?}", level.warnings);
        // What the level leaves turns the holes: 50 mm from the middle, 2.4477 · sd each.
        assert_eq!(line.basis.shares.turn, Angle::ZERO);
        assert!(level.basis.shares.turn > Angle::ZERO);
        let mut known = level.basis.clone();
        known.shares.turn = Angle::ZERO;
        let sure = known.leaves(&level.placed, &level.laying, &[]).unwrap().1;
        assert!(level.budget.worst > sure.worst, "{:?}", level.budget.worst);
    }
}

#[test]
fn a_bracket_kept_level_asks_for_its_level_and_minds_its_keep_outs_as_it_is_turned() {
    let job = |s: &Script| s.ledger.fold();
    let mut s = bracket(TurnKept::ToLevel);
    let holes = |s: &Script| {
        let job = job(s);
        let source = Source {
            job: &job,
            attachments: &s.attachments,
        };
        holes_view(&source, &id("p1")).unwrap().fixings.remove(0)
    };
    let view = holes(&s);
    assert_eq!(view.cannot, None);
    assert!(
        view.notes
            .iter()
            .any(|n| n.starts_with("Kept level: turned 1.0° clockwise")),
        "{:?}",
        view.notes
    );
    // A hole of M8 is 9 across; the right one goes down by 50·sin 1.0° = 0.87 mm. A keep-out 10 across
    // whose middle lies 9.9 below it is clear of it on the line (0.4 left) and not as it is turned.
    let out = |s: &mut Script| {
        s.set(
            EntityRef::Fixing(id("bolts")),
            &FixingEdit {
                keep_outs: Some(vec![KeepOut {
                    right: mm(120.0 + 50.0),
                    up: mm(-60.0 - 9.9),
                    across: mm(10.0),
                    why: "armature".into(),
                }]),
                ..FixingEdit::default()
            },
        );
    };
    let mut on_the_line = bracket(TurnKept::ToLine);
    out(&mut on_the_line);
    assert_eq!(holes(&on_the_line).cannot, None);
    out(&mut s);
    let why = holes(&s).cannot.unwrap();
    assert!(why.contains("hole 2") && why.contains("armature"), "{why}");
    // Nothing levelled on this casting: said by name; and the walk asks for it.
    let mut bare = kept(false, TurnKept::ToLine);
    bare.read("pattern", level("a", "b"), 0.0);
    bare.set(
        EntityRef::Fixing(id("bolts")),
        &job(&bracket(TurnKept::ToLevel)).fixings[&id::<FixingId>("bolts")].clone(),
    );
    let why = holes(&bare).cannot.unwrap();
    assert!(why.contains("take a level to A–B"), "{why}");
    let job = job(&bare);
    let source = Source {
        job: &job,
        attachments: &bare.attachments,
    };
    let asks = walk(&source, &id("c1")).unwrap().asks;
    let ask = asks.iter().find(|a| a.of == level("a", "b")).unwrap();
    assert!(ask.why.as_deref().unwrap().contains("kept level"));
}

#[test]
fn what_follows_all_its_marks_is_told_that_it_can_not_be_kept_level() {
    let mut s = kept(true, TurnKept::ToLevel);
    let marks = ["a", "b", "c"].map(|m| WeightedMark {
        mark: id(m),
        weight: 1.0,
    });
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::BestFit {
                marks: marks.to_vec(),
                scale: false,
            }),
            ..FeatureEdit::default()
        },
    );
    let why = made(&s).unwrap_err();
    assert!(why.contains("only what follows two marks has one"), "{why}");
}

#[test]
fn of_a_pair_on_one_sheet_both_are_kept_level_or_neither() {
    let mut s = kept(true, TurnKept::ToLevel);
    let spot = s.ledger.fold().features[&id::<FeatureId>("spot")].clone();
    let other = FeatureEdit {
        name: Some("Other spot".into()),
        turn_kept: Some(TurnKept::ToLine),
        ..spot
    };
    s.set(EntityRef::Feature(id("spot-2")), &other);
    for (from, value) in [
        ("a", 330.0_f64.hypot(150.0)),
        ("b", 70.0_f64.hypot(150.0)),
        ("c", 330.0_f64.hypot(150.0)),
    ] {
        s.read(
            "pattern",
            Measured::Over {
                from: point(from),
                to: PointRef::Feature(id("spot-2")),
            },
            value,
        );
    }
    s.set(
        EntityRef::Pair(id("spots")),
        &PairEdit {
            name: Some("Spots".into()),
            left: Some(id("spot")),
            right: Some(id("spot-2")),
            ..PairEdit::default()
        },
    );
    let why = sheet(&s, SheetOf::Pair(id("spots"))).unwrap_err();
    assert!(
        why.contains("one of the two is kept level") && why.contains("keep both level"),
        "{why}"
    );
    s.set(
        EntityRef::Feature(id("spot-2")),
        &FeatureEdit {
            turn_kept: Some(TurnKept::ToLevel),
            ..FeatureEdit::default()
        },
    );
    let both = sheet(&s, SheetOf::Pair(id("spots"))).unwrap();
    assert!(
        both.warnings
            .iter()
            .any(|w| w.starts_with("kept level: turned 1.0° clockwise"))
    );
}
