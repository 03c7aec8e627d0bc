//! Advice against what the readings do once they are taken.

use super::World;
use samespot_core::frames::Point2;
use samespot_core::readings::*;
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn triangle(readings: &[(usize, usize)]) -> Adjusted {
    let mut network = Network::on(Surface::Flat(FlatFace));
    for (x, y) in [(0.0, 0.0), (300.0, 0.0), (100.0, 200.0)] {
        network.points.push(PointStart {
            start: Point2::from_mm(x, y),
            held: Held::Free,
        });
    }
    for &(from, to) in readings {
        let d = network.points[to].start - network.points[from].start;
        network.readings.push(Reading {
            kind: ReadingKind::Straight { from, to },
            value: mm(d.norm_mm()),
            precision: Precision::Sd(mm(0.5)),
        });
    }
    adjust(&network, &Options::default()).unwrap()
}

#[test]
fn what_the_drawing_holds_is_not_to_spare() {
    // A plane frame of j marks takes 2j - 3 distances (Maxwell 1864, Phil. Mag. 27, 294): three
    // for a triangle, so two leave a mark to the drawing and nothing to check anything.
    let check = |readings: &[(usize, usize)], spare: usize| {
        let got = triangle(readings);
        assert_eq!(got.spare, spare, "{readings:?}");
    };
    check(&[(0, 1), (0, 2)], 0);
    check(&[(0, 1), (0, 2), (1, 2)], 0);
    check(&[(0, 1), (0, 2), (1, 2), (0, 1)], 1);
    // Set aside by its weight, a reading checks nothing.
    let four = triangle(&[(0, 1), (0, 2), (1, 2), (0, 1)]);
    let without = four.without(3, &Options::default()).unwrap();
    assert_eq!(without.spare, 0);
    assert!(without.chi_square.is_none());
}

#[test]
fn what_several_have_wrong_in_common_comes_out_with_its_own_certainty() {
    // Two readings of one length against two of the same: the error of the first two in common is
    // the difference of the means, and its variance 0.5²/2 + 0.5²/2 (JCGM 100:2008, 5.1.2).
    let mut network = Network::on(Surface::Flat(FlatFace));
    for x in [0.0, 300.0] {
        network.points.push(PointStart {
            start: Point2::from_mm(x, 0.0),
            held: Held::Free,
        });
    }
    for value in [301.0, 302.0, 300.0, 300.2] {
        network.readings.push(Reading {
            kind: ReadingKind::Straight { from: 0, to: 1 },
            value: mm(value),
            precision: Precision::Sd(mm(0.5)),
        });
    }
    let options = Options {
        drawing_spread: None,
        ..Options::default()
    };
    let found = adjust(&network, &options)
        .unwrap()
        .common_error(&[0, 1])
        .unwrap();
    assert!((found.by.mm() - 1.4).abs() < 1e-9, "{found:?}");
    assert!((found.sd.mm() - 0.5).abs() < 1e-9, "{found:?}");
}

#[test]
fn the_advised_reading_brings_what_was_said() {
    let mut world = World::new();
    // Only A-B with one tape on the left of the head, and nothing on the right.
    world.leave_only("puffin-12", &[0]);
    let walk = world.walk("puffin-12");
    let more: Vec<_> = walk
        .advice
        .iter()
        .filter(|a| a.starts_with("One more"))
        .collect();
    assert!(!more.is_empty() && more.len() <= 3, "{:?}", walk.advice);
    assert!(more[0].contains("Eye, right from ±"), "{more:?}");
    let number = |text: &str, k: usize| -> f64 {
        let part = text.split('±').nth(k).unwrap();
        part.split(' ').next().unwrap().parse().unwrap()
    };
    assert!(number(more[0], 1) > number(more[0], 2) + 0.09, "{more:?}");
}

#[test]
fn every_feature_is_weighed_against_the_tapes_beforehand() {
    let walk = World::new().walk("puffin-12");
    assert_eq!(walk.proofs.len(), 2);
    for proof in &walk.proofs {
        // Three tapes of the example can be laid over a head.
        assert_eq!(proof.by.len(), 3, "{proof:?}");
        assert!(proof.by.windows(2).all(|w| w[0].1 <= w[1].1));
        assert!(proof.instead.is_none());
    }
}

#[test]
fn a_tolerance_no_tape_proves_gets_what_it_hangs_on() {
    use samespot_core::job::*;
    let mut world = World::new();
    let feature = FeatureId::new("eye-left").unwrap();
    let ask = |world: &mut World, tolerance: f64| {
        let edit = FeatureEdit {
            tolerance: Some(mm(tolerance)),
            ..FeatureEdit::default()
        };
        let edit = Edit::of(EntityRef::Feature(feature.clone()), &edit).unwrap();
        world.say(&Payload::Edit(edit));
        let walk = world.walk("puffin-12");
        let proof = walk.proofs.into_iter().find(|p| p.feature == "Eye, left");
        (proof.unwrap().instead, walk.advice)
    };
    // What the pattern's own readings leave no reading of a casting makes less: that is said, and where.
    let (instead, _) = ask(&mut world, 1.2);
    assert_eq!(instead, None);
    let (instead, advice) = ask(&mut world, 1.1);
    let instead = instead.unwrap();
    assert!(
        instead.contains("those of the pattern leave ±1.2 mm"),
        "{instead}"
    );
    assert!(
        advice
            .iter()
            .any(|a| a.contains("the readings of the pattern leave 1.2")),
        "{advice:?}"
    );
    // Laying and marking alone leave more than this.
    let (instead, advice) = ask(&mut world, 0.5);
    assert!(instead.unwrap().contains("lay the template back"));
    assert!(
        advice
            .iter()
            .any(|a| a.contains("can't prove Eye, left within 0.5 mm")),
        "{advice:?}"
    );
}

#[test]
fn what_nothing_checks_is_named() {
    let mut world = World::new();
    // Four marks take five distances (Maxwell 1864): the sixth shows a slip, but not in which.
    let cap = world.walk("cap-12").advice;
    assert!(
        cap.iter()
            .any(|a| a.starts_with("Cap, front: a slip in A–B")
                && a.contains("not in which")
                && a.contains("one more, ")),
        "{cap:?}"
    );
    world.leave_only("bollard-12", &[0, 2, 4]);
    let advice = world.walk("bollard-12").advice;
    let said = "nothing checks these readings; one more, A to C, would";
    assert!(advice.iter().any(|a| a.contains(said)), "{advice:?}");
}
