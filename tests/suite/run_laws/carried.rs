//! A template laid on crosses that were carried over lands within what it promises: simulated
//! with geometry of this file alone (two distances and a turn in the plane).

use samespot_core::job::*;
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::template::Laying;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, point};

type Place = (f64, f64);

/// Numerical Recipes' quick generator (Press et al. 1992, 7.1), and Box and Muller 1958.
struct Chance(u32);
impl Chance {
    fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (f64::from(self.0) + 0.5) / 4_294_967_296.0
    }
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.even(), self.even());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

const READ_SD_MM: f64 = 0.5;

fn apart(a: Place, b: Place) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// A run in which A and B vanish before primer, and K and L were scribed for them.
fn run(chance: &mut Chance, carried: bool) -> (Script, Vec<(&'static str, Place)>) {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c", "k", "l"], 1);
    let drawn: [(&str, Place); 4] = [
        ("a", (0.0, 0.0)),
        ("b", (400.0, 0.0)),
        ("c", (210.0, 260.0)),
        ("spot", (200.0, 120.0)),
    ];
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            hidden: Some(true),
            ..MarkEdit::default()
        },
    );
    for (mark, instead) in [("a", "k"), ("b", "l")] {
        let gone = MarkEdit {
            to_stage: Some("measured".into()),
            ..MarkEdit::default()
        };
        s.set(EntityRef::Mark(id(mark)), &gone);
        let cross = MarkEdit {
            carries: Some(id(mark)),
            ..MarkEdit::default()
        };
        s.set(EntityRef::Mark(id(instead)), &cross);
    }
    for (i, (from, a)) in drawn.iter().enumerate() {
        for (to, b) in &drawn[i + 1..] {
            s.read_within("pattern", from, to, apart(*a, *b), 0.05, None);
        }
    }
    let mut truth: Vec<(&str, Place)> = drawn[..3]
        .iter()
        .map(|(n, p)| {
            (
                *n,
                (
                    p.0 * 0.998 + 1.5 * chance.normal(),
                    p.1 * 0.998 + 1.5 * chance.normal(),
                ),
            )
        })
        .collect();
    // Scribed by eye, at another place on every casting.
    truth.push((
        "k",
        (-20.0 + 8.0 * chance.normal(), 90.0 + 8.0 * chance.normal()),
    ));
    truth.push((
        "l",
        (430.0 + 8.0 * chance.normal(), 110.0 + 8.0 * chance.normal()),
    ));
    for (i, (from, a)) in truth.iter().enumerate() {
        for (to, b) in &truth[i + 1..] {
            if carried || (!["k", "l"].contains(from) && !["k", "l"].contains(to)) {
                let read = apart(*a, *b) + READ_SD_MM * chance.normal();
                s.read_within("c1", from, to, read, READ_SD_MM, Some("measured"));
            }
        }
    }
    s.say(&Payload::Stage(StageFact {
        casting: id("c1"),
        stage: "primed".into(),
        day: String::new(),
        reason: Some("simulated".into()),
    }));
    (s, truth)
}

trait ReadWithin {
    fn read_within(&mut self, on: &str, from: &str, to: &str, mm: f64, sd: f64, at: Option<&str>);
}
impl ReadWithin for Script {
    fn read_within(&mut self, on: &str, from: &str, to: &str, mm: f64, sd: f64, at: Option<&str>) {
        self.say(&Payload::Reading(Reading {
            casting: id(on),
            of: Measured::Straight {
                from: point(from),
                to: point(to),
            },
            value: Entry::of_mm(mm),
            instrument: None,
            hooked: false,
            stage: at.map(Into::into),
            within: Some(Length::from_mm(sd)),
            set_aside: None,
        }));
    }
}

fn prepared(s: &Script) -> Result<Prepared, String> {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    prepare(&source, &id("spot"), &id("p1")).map_err(|e| e.to_string())
}

/// Where the middle of the template comes to lie: its crosses on the true marks.
fn lands(p: &Prepared, truth: &[(&str, Place)]) -> Place {
    let at = |k: usize| {
        let c = &p.crosses[k];
        let real = truth
            .iter()
            .find(|(n, _)| n.eq_ignore_ascii_case(&c.letter))
            .unwrap()
            .1;
        ((c.at.x_mm(), c.at.y_mm()), real)
    };
    // Which crosses hold it, each with its weight in shift.
    let held: Vec<usize> = match &p.laying {
        Laying::FirstThenAlong { first, then } | Laying::SplitAlong { first, then } => {
            vec![*first, *then]
        }
        Laying::BestFit { weights } => (0..weights.len()).filter(|&k| weights[k] > 0.0).collect(),
        Laying::Stops { .. } => panic!("no template of the example stands on stops"),
    };
    for &k in &held {
        assert!(
            p.crosses[k].gone.is_none(),
            "laid on {}, which is gone",
            p.crosses[k].letter
        );
    }
    let n = held.len() as f64;
    let middle = |f: &dyn Fn(usize) -> Place| {
        let sum = held
            .iter()
            .map(|&k| f(k))
            .fold((0.0, 0.0), |s, q| (s.0 + q.0, s.1 + q.1));
        (sum.0 / n, sum.1 / n)
    };
    let (mut paper, mut real) = (middle(&|k| at(k).0), middle(&|k| at(k).1));
    let (mut same, mut square) = (0.0_f64, 0.0_f64);
    for &k in &held {
        let (q, r) = at(k);
        let (q, r) = ((q.0 - paper.0, q.1 - paper.1), (r.0 - real.0, r.1 - real.1));
        same += q.0 * r.0 + q.1 * r.1;
        square += q.0 * r.1 - q.1 * r.0;
    }
    if let Laying::FirstThenAlong { first, .. } = p.laying {
        (paper, real) = at(first);
    }
    let turn = square.atan2(same);
    let (c, s) = (turn.cos(), turn.sin());
    (
        real.0 - (c * paper.0 - s * paper.1),
        real.1 - (s * paper.0 + c * paper.1),
    )
}

/// The rule by hand: any difference halved along A–B, the drawing's distance square to it.
fn wanted(truth: &[(&str, Place)]) -> Place {
    let (a, b) = (truth[0].1, truth[1].1);
    let length = apart(a, b);
    let (x, y) = ((b.0 - a.0) / length, (b.1 - a.1) / length);
    let along = 200.0 + (length - 400.0) / 2.0;
    (a.0 + x * along - y * 120.0, a.1 + y * along + x * 120.0)
}

#[test]
fn through_carried_crosses_it_lands_within_what_is_promised() {
    let mut chance = Chance(20_261_125);
    let (mut out, mut runs) = (0, 0);
    for _ in 0..60 {
        let (s, truth) = run(&mut chance, true);
        let p = prepared(&s).unwrap();
        let drawn: Vec<_> = p
            .crosses
            .iter()
            .filter(|c| c.gone.is_none())
            .map(|c| c.letter.as_str())
            .collect();
        assert_eq!(drawn, ["C", "K", "L"]);
        assert!(
            p.warnings
                .iter()
                .any(|w| w.contains("A is gone after “measured”")),
            "{:?}",
            p.warnings
        );
        let error = apart(lands(&p, &truth), wanted(&truth));
        runs += 1;
        out += usize::from(error > p.budget.worst.mm());
        assert!(p.budget.worst.mm() < 3.0, "{}", p.budget.worst.mm());
    }
    // 95 % is promised for the whole budget, of which this simulates the readings alone: of 60,
    // three may be out; seven or more would come up once in 50 times at 95 % exactly.
    assert!(out <= 6, "{out} of {runs} out");
}

#[test]
fn what_was_not_carried_over_is_said() {
    let (s, _) = run(&mut Chance(7), false);
    let said = prepared(&s).unwrap_err();
    assert!(
        said.contains("A is gone after “measured”") && said.contains("C alone holds no template"),
        "{said}"
    );
}
