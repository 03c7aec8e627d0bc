//! Verdicts on a casting whose readings disagree more than the tools allow (design/11, *The network*).

use super::*;
use samespot_core::prepare::check_marks::judge_marks;

/// The run with B to C of the third casting read again, 8 mm longer.
fn disagreeing() -> Script {
    let mut s = run();
    s.over("c3", "b", "c", 118.0);
    s
}

/// Laid on A and then along B although the rule splits the difference: half of what A to B was read
/// wrong is in its place.
fn laid_on_a(s: &mut Script) {
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            laying: Some(LayingChoice::FirstThenAlong {
                first: id("a"),
                then: id("b"),
            }),
            ..FeatureEdit::default()
        },
    );
}

fn distances(s: &Script, of: &[(&str, f64)]) -> Judgement {
    let readings: Vec<Reading> = (of.iter())
        .map(|(from, far)| Reading {
            casting: id("c3"),
            of: Measured::Over {
                from: PointRef::Mark(id(from)),
                to: PointRef::Feature(id("spot")),
            },
            value: mm(*far),
            instrument: None,
            hooked: false,
            stage: None,
            within: None,
            set_aside: None,
        })
        .collect();
    looking(s, |source| {
        judge_marks(source, &id("spot"), &id("p3"), &readings).unwrap()
    })
}

#[test]
fn a_lay_back_stands_where_the_template_took_nothing_from_the_readings() {
    let s = disagreeing();
    let j = judged(&s, &gaps(0.1, 0.1, -0.1, -0.1));
    assert_eq!((j.found.verdict, j.doubt), (Verdict::Within, None));
    let far = judged(&s, &gaps(9.0, 0.0, -9.0, 0.0));
    assert_eq!(far.found.verdict, Verdict::Outside);
    // And the screen says why, beforehand.
    let c = seen(&s);
    assert!(c.can_prove && c.proves_nothing.is_none());
    assert!(
        c.before[0].contains("A lay-back stands all the same"),
        "{:?}",
        c.before
    );
    // Nothing of it where the readings agree.
    assert!(!seen(&run()).before.join("\n").contains("disagree"));
}

#[test]
fn a_lay_back_proves_nothing_where_the_template_rests_on_the_readings() {
    let mut s = disagreeing();
    laid_on_a(&mut s);
    for g in [gaps(0.1, 0.1, -0.1, -0.1), gaps(9.0, 0.0, -9.0, 0.0)] {
        let j = judged(&s, &g);
        assert_eq!((j.found.verdict, j.settle), (Verdict::NotProven, None));
        let doubt = j.doubt.unwrap();
        assert!(doubt.contains("this template took up to"), "{doubt}");
    }
    let c = seen(&s);
    assert!(!c.can_prove);
    assert!(method_words(&c).contains("proves nothing until they are settled"));

    // The same laying on readings that agree.
    let mut agree = run();
    laid_on_a(&mut agree);
    let j = judged(&agree, &gaps(0.1, 0.1, -0.1, -0.1));
    assert_eq!((j.found.verdict, j.doubt), (Verdict::Within, None));
}

/// From 80, 85 and 60 of the pattern, which fit it: as painted, or 20 mm too far from C.
#[test]
fn distances_from_marks_prove_nothing_there_however_many() {
    let s = disagreeing();
    for of in [
        &[("a", 80.0), ("b", 85.0)][..],
        &[("a", 80.0), ("b", 85.0), ("c", 60.0)],
        &[("c", 80.0)],
    ] {
        let j = distances(&s, of);
        assert_eq!(j.found.verdict, Verdict::NotProven, "{of:?}");
        assert!(
            j.doubt
                .unwrap()
                .contains("disagree more than the tools allow")
        );
        assert_eq!(j.settle, None);
    }
    let one = distances(&run(), &[("c", 80.0)]);
    assert_eq!((one.found.verdict, one.doubt), (Verdict::Outside, None));
}
