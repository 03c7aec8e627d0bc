//! The second way of checking: distances from marks to the painted middle.

use super::*;
use samespot_core::check::DecisionRule;
use samespot_core::prepare::check_marks::{judge_marks, ways_words};
use samespot_core::prepare::{PrepareError, record_table};

/// A (0, 0), B (120, 0), the spot at (60, 60), so that A and B are square to each other as seen from
/// it; everything read to a thousandth.
fn exact() -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], 3);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    let square = (60.0_f64 * 60.0 * 2.0).sqrt();
    for casting in ["pattern", "c1", "c2", "c3"] {
        for (from, to, mm) in [
            ("a", "b", 120.0),
            // C at (60, 160).
            ("a", "c", 60.0_f64.hypot(160.0)),
            ("b", "c", 60.0_f64.hypot(160.0)),
        ] {
            let to = PointRef::Mark(id(to));

            s.say(&Payload::Reading(read(casting, from, to, mm, 0.001)));
        }
    }
    for from in ["a", "b"] {
        let spot = PointRef::Feature(id("spot"));
        s.say(&Payload::Reading(read(
            "pattern", from, spot, square, 0.001,
        )));
    }
    s
}

fn read(casting: &str, from: &str, to: PointRef, value: f64, within: f64) -> Reading {
    Reading {
        casting: id(casting),
        of: Measured::Over {
            from: PointRef::Mark(id(from)),
            to,
        },
        value: mm(value),
        instrument: None,
        hooked: false,
        stage: None,
        within: (within > 0.0).then(|| Length::from_mm(within)),
        set_aside: None,
    }
}

const MARKS: [(&str, f64, f64); 3] = [("a", 0.0, 0.0), ("b", 120.0, 0.0), ("c", 60.0, 160.0)];

/// Distances by plane geometry from marks to a spot painted off its place by so much.
fn distances(of: &[&str], right: f64, up: f64, within: f64) -> Vec<Reading> {
    (MARKS.iter())
        .filter(|(m, ..)| of.contains(m))
        .map(|(m, x, y)| {
            let far = (60.0 + right - x).hypot(60.0 + up - y);
            read("c3", m, PointRef::Feature(id("spot")), far, within)
        })
        .collect()
}

fn by_marks(s: &Script, readings: &[Reading]) -> Result<Judgement, PrepareError> {
    looking(s, |source| {
        judge_marks(source, &id("spot"), &id("p3"), readings)
    })
}

#[test]
fn distances_from_marks_become_a_verdict_in_words() {
    let s = exact();
    for of in [&["a", "b"][..], &["a", "b", "c"], &["b", "c"]] {
        let j = by_marks(&s, &distances(of, -0.8, 1.1, 0.0)).unwrap();
        assert_eq!(j.says, "0.8 left, 1.1 up", "{of:?}");
        assert!((j.found.right.mm() + 0.8).abs() < 0.01 && (j.found.up.mm() - 1.1).abs() < 0.01);
    }
    let straight: Vec<Reading> = distances(&["a", "b"], -0.8, 1.1, 0.0)
        .into_iter()
        .map(|r| match r.of {
            Measured::Over { from, to } => Reading {
                of: Measured::Straight { from, to },
                ..r
            },
            _ => r,
        })
        .collect();
    assert_eq!(by_marks(&s, &straight).unwrap().says, "0.8 left, 1.1 up");
    let far = by_marks(&s, &distances(&["a", "b"], 0.0, -9.0, 0.0)).unwrap();
    assert_eq!((far.found.verdict, far.settle), (Verdict::Outside, None));
}

/// Two distances square to each other, each good for 0.2, place a point with 0.2 each way; finding the
/// middle adds its 0.3 (JCGM 100, 5.1.2): √(0.2² + 0.3²) = 0.361.
#[test]
fn the_uncertainty_is_that_of_the_readings_and_of_finding_the_middle() {
    let s = exact();
    let sd = |readings: &[Reading]| by_marks(&s, readings).unwrap().found.sd.unwrap().mm();
    let two = sd(&distances(&["a", "b"], 0.0, 0.0, 0.2));
    assert!((two - 0.2_f64.hypot(0.3)).abs() < 0.002, "{two}");
    // The third lies along up: up is then known from three, right still from two.
    let three = sd(&distances(&["a", "b", "c"], 0.0, 0.0, 0.2));
    assert!((three - two).abs() < 0.002, "{three}");
    // One way is told by one distance about as well as it is read.
    let one = sd(&distances(&["c"], 0.0, 0.0, 0.0));
    let all = sd(&distances(&["a", "b", "c"], 0.0, 0.0, 0.0));
    assert!(one > 0.3 && one < 1.2 * all, "{one} {all}");
    // 2 u is the guard, up to the next micrometre.
    let found = by_marks(&s, &distances(&["a", "b"], 0.0, 0.0, 0.2))
        .unwrap()
        .found;
    assert!((found.guard.mm() - 2.0 * two).abs() < 0.0011);
}

/// Down by 0.5 or by 9 as far as C tells: one way can show that it is outside, never that it is within.
#[test]
fn one_distance_shows_one_way() {
    let s = exact();
    let near = by_marks(&s, &distances(&["c"], 0.0, -0.5, 0.0)).unwrap();
    assert_eq!(near.says, "0.5 down, as far as C tells");
    assert_eq!(near.found.verdict, Verdict::NotProven);
    assert!(near.settle.unwrap().contains("to the side of this one"));
    let far = by_marks(&s, &distances(&["c"], 0.0, -9.0, 0.0)).unwrap();
    assert_eq!(far.found.verdict, Verdict::Outside);
}

#[test]
fn distances_that_contradict_each_other_prove_nothing() {
    let s = exact();
    let mut readings = distances(&["a", "b", "c"], 0.2, 0.2, 0.0);
    readings[2].value = mm(readings[2].value.mm.mm() + 10.0);
    let j = by_marks(&s, &readings).unwrap();
    assert_eq!(j.found.verdict, Verdict::NotProven);
    assert!(j.doubt.unwrap().contains("do not go together"));
    // A mark nobody read on this casting holds nothing.
    let other = read("c3", "z", PointRef::Feature(id("spot")), 80.0, 0.0);
    let two = [readings[0].clone(), other];
    let why = by_marks(&s, &two).unwrap_err().to_string();
    assert!(why.contains("was not read on this casting"), "{why}");
}

#[test]
fn both_ways_are_told_before_choosing() {
    let s = exact();
    let c = seen(&s);
    let from = c.from_marks.unwrap();
    let letters: Vec<&str> = from.marks.iter().map(|(_, l)| l.as_str()).collect();
    assert_eq!(letters, ["A", "B", "C"]);
    let says = ways_words(c.lay_back_sd, &from);
    assert!(
        says.starts_with("By lay-back ± ") && says.contains("from the marks ± "),
        "{says}"
    );
    // What was said before is what comes of it.
    let then = by_marks(&s, &distances(&["a", "b", "c"], 0.0, 0.0, 0.0)).unwrap();
    assert!((then.found.sd.unwrap().mm() - from.sd.mm()).abs() < 0.005);
}

/// Deviation, uncertainty and gauge stay with the check, whichever way and whichever rule.
#[test]
fn a_check_keeps_its_uncertainty_and_its_gauge() {
    let mut s = exact();
    s.set(
        EntityRef::Job,
        &JobEdit {
            decision_rule: Some(DecisionRule::Simple),
            ..JobEdit::default()
        },
    );
    s.set(
        EntityRef::Instrument(id("tape-2")),
        &InstrumentEdit {
            name: Some("soft tape 2".into()),
            kind: Some(InstrumentKind::SoftTape),
            ..InstrumentEdit::default()
        },
    );
    let mut readings = distances(&["a", "b"], -0.8, 1.1, 0.0);
    for r in &mut readings {
        r.instrument = Some(id("tape-2"));
    }
    let found = by_marks(&s, &readings).unwrap().found;
    assert_eq!(
        (found.guard, found.verdict),
        (Length::ZERO, Verdict::Within)
    );
    assert!(found.sd.unwrap().mm() > 0.3);
    let check = |readings: Vec<Reading>, gauge: Option<InstrumentId>, found: Found| {
        Payload::Check(Box::new(CheckFact {
            piece: id("p3"),
            feature: id("spot"),
            readings,
            note: String::new(),
            lay_back: None,
            found: Some(found),
            stage: None,
            gauge,
            reference: None,
        }))
    };
    s.say(&check(readings, None, found));
    let page = recorded(&s, Some("p3"));
    for words in [
        "measured from the marks",
        "A to the middle of Spot, over the surface",
        "soft tape 2",
        "none; u ",
    ] {
        assert!(page.contains(words), "{words} is not in:\n{page}");
    }
    let table = looking(&s, |source| record_table(source, None));
    let rows: Vec<&str> = table.lines().collect();
    assert_eq!(rows.len(), 4, "{table}");
    let sd = format!("{:.3}", found.sd.unwrap().mm());
    for cell in ["-0.800", "1.100", "1.360", &sd, "soft tape 2", "within"] {
        assert!(rows[3].contains(cell), "{cell} is not in {}", rows[3]);
    }
    assert!(rows[1].contains("not checked"));
    // A lay-back's gauge, and a finding of an older program, without its uncertainty.
    let laid = judged(&s, &gaps(0.1, 0.1, -0.1, -0.1)).found;
    assert!(laid.sd.is_some());
    let mut old = serde_json::to_value(laid).unwrap();
    old.as_object_mut().unwrap().remove("sd");
    let old: Found = serde_json::from_value(old).unwrap();
    assert_eq!(old.sd, None);
    s.say(&check(Vec::new(), Some(id("tape-2")), old));
    assert!(recorded(&s, Some("p3")).contains("soft tape 2"));
}

/// Ages by counting days: demoulded on 1 October, read on the 5th and the 8th, checked on the 21st.
#[test]
fn how_old_and_how_warm_stands_on_the_record_and_in_the_table() {
    let mut s = exact();
    let said = |s: &Script| recorded(s, Some("p3"));
    assert!(!said(&s).contains("demoulded"), "nobody noted anything");
    s.set(
        EntityRef::Casting(id("c3")),
        &CastingEdit {
            demoulded: Some("2026-10-01".into()),
            ..CastingEdit::default()
        },
    );
    s.at("2026-10-05 09:00");
    s.over("c3", "a", "b", 120.0);
    s.at("2026-10-08 09:00");
    s.over("c3", "a", "b", 120.0);
    let page = said(&s);
    assert!(
        page.contains(
            "demoulded 2026-10-01; its marks read 4 to 7 days after; how warm the shop was is not noted"
        ),
        "{page}"
    );
    s.say(&Payload::Measuring(MeasuringFact {
        casting: id("c3"),
        says: MeasuringSays::ShopAt { celsius: 17 },
    }));
    s.at("2026-10-21 14:00");
    keep(&mut s, "p3", 0.3, 0.2);
    let page = said(&s);
    assert!(
        page.contains("its marks read 4 to 7 days after, checked 20 days after; the shop at 17 °C"),
        "{page}"
    );
    let table = looking(&s, |source| record_table(source, Some(&id("p3"))));
    // The last two of each row: cells before them hold commas of their own.
    let last = |line: &str| -> Vec<String> {
        let line = line.trim_end_matches('\r');
        line.rsplit(',').take(2).map(str::to_owned).collect()
    };
    let mut rows = table.lines();
    assert_eq!(
        last(rows.next().unwrap()),
        ["shop (°C)", "days since demoulding"]
    );
    assert_eq!(last(rows.next().unwrap()), ["17", "20"], "{table}");
    // Of another casting nothing was noted: empty, not nought.
    keep(&mut s, "p1", 0.3, 0.2);
    let other = looking(&s, |source| record_table(source, Some(&id("p1"))));
    assert_eq!(last(other.lines().nth(1).unwrap()), ["", ""], "{other}");
}
