//! A turn kept to level, against the sine of what the level read.

use super::{level, pattern};
use samespot_core::job::{EntityRef, FeatureEdit, TurnKept};
use samespot_core::prepare::walk::{AskState, walk};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::units::Angle;
use samespot_tests::jobs::{Script, id, point};

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
