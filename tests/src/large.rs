//! A job as large as any: many pieces and features, and a long history of everything said of them.

use crate::jobs::{Script, id, mm};
use samespot_core::check::{DecisionRule, Verdict};
use samespot_core::job::*;
use samespot_core::units::Length;

/// How large.
#[derive(Debug, Clone, Copy)]
pub struct Large {
    /// Pieces of the run.
    pub pieces: u32,
    /// Features on each, ten to a face.
    pub features: u32,
    /// Entries in all.
    pub facts: usize,
}

const ON_A_FACE: u32 = 10;

fn set_out(s: &mut Script, of: Large) {
    for face in 0..of.features.div_ceil(ON_A_FACE) {
        s.set(
            EntityRef::Face(id(&format!("face-{face}"))),
            &FaceEdit {
                part: Some(id("part")),
                name: Some(format!("face {face}")),
                shape: Some(FaceShape::Flat),
                seen_from: None,
            },
        );
        for (letter, side) in [("a", None), ("b", None), ("c", Some(LineSide::Above))] {
            s.set(
                EntityRef::Mark(id(&format!("{letter}{face}"))),
                &MarkEdit {
                    face: Some(id(&format!("face-{face}"))),
                    letter: Some(letter.to_uppercase()),
                    side,
                    ..MarkEdit::default()
                },
            );
        }
        distances(s, "pattern", face, 0);
    }
    for n in 0..of.features {
        let face = n / ON_A_FACE;
        let feature: FeatureId = id(&format!("f{n}"));
        s.set(
            EntityRef::Feature(feature.clone()),
            &FeatureEdit {
                face: Some(id(&format!("face-{face}"))),
                name: Some(format!("Feature {n}")),
                outline: Some(OutlineSpec::Circle {
                    diameter: mm(40.0 + f64::from(n % 10)),
                }),
                side: Some(LineSide::Above),
                rule: Some(RuleSpec::Line {
                    from: id(&format!("a{face}")),
                    to: id(&format!("b{face}")),
                    side: None,
                    along: Follow::DifferenceSplit,
                    across: None,
                }),
                tolerance: Some(Length::from_mm(3.0)),
                ..FeatureEdit::default()
            },
        );
        let shift = f64::from(n % ON_A_FACE);
        for (letter, value) in [("a", 80.0), ("b", 85.0), ("c", 60.0)] {
            s.read(
                "pattern",
                Measured::Over {
                    from: PointRef::Mark(id(&format!("{letter}{face}"))),
                    to: PointRef::Feature(feature.clone()),
                },
                value + shift / 10.0,
            );
        }
    }
}

fn distances(s: &mut Script, casting: &str, face: u32, salt: u32) -> [FactId; 3] {
    // Spread over ± 2 mm without a pattern: multiples of the golden section.
    let off = |k: f64| 4.0 * ((f64::from(salt) * 0.618_034 * k).fract() - 0.5);
    [
        ("a", "b", 120.0 + off(1.0)),
        ("a", "c", 100.0 + off(2.0)),
        ("b", "c", 110.0 + off(3.0)),
    ]
    .map(|(from, to, value)| {
        let mark = |letter: &str| PointRef::Mark(id(&format!("{letter}{face}")));
        let (from, to) = (mark(from), mark(to));
        s.read(casting, Measured::Over { from, to }, value)
    })
}

fn check(n: u32, of: Large) -> Payload {
    let gap = |k: u32| mm(f64::from((n * 7 + k) % 13) / 10.0 - 0.6);
    let off = Length::from_mm(f64::from(n % 11) / 10.0 - 0.5);
    Payload::Check(Box::new(CheckFact {
        piece: id(&format!("p{}", n % of.pieces + 1)),
        feature: id(&format!("f{}", n / of.pieces % of.features)),
        readings: Vec::new(),
        note: String::new(),
        lay_back: Some(LayBackRead {
            top: gap(1),
            right: gap(2),
            bottom: gap(3),
            left: gap(4),
        }),
        found: Some(Found {
            right: off,
            up: off,
            size: Length::ZERO,
            limit: Length::from_mm(3.0),
            guard: Length::from_mm(0.4),
            verdict: Verdict::Within,
            rule: DecisionRule::default(),
            sd: Some(Length::from_mm(0.2)),
        }),
        stage: None,
        gauge: None,
        reference: None,
    }))
}

/// The job. Of everything said after setting out, two in ten are corrections, two checks, two
/// settings, one a reading taken again; the rest is work done, stages, and entries taken back.
#[must_use]
pub fn large(of: Large) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], of.pieces);
    set_out(&mut s, of);
    let mut read = Vec::new();
    for piece in 1..=of.pieces {
        for face in 0..of.features.div_ceil(ON_A_FACE) {
            read.extend(distances(
                &mut s,
                &format!("c{piece}"),
                face,
                piece * 31 + face,
            ));
        }
    }
    let mut last = None;
    for n in 0_u32.. {
        if s.ledger.len() >= of.facts {
            break;
        }
        let casting: CastingId = id(&format!("c{}", n / 3 % of.pieces + 1));
        last = Some(match n % 10 {
            0 | 1 => s.say(&Payload::Correct(Correction {
                target: read[(n as usize * 13) % read.len()],
                value: mm(100.0 + f64::from(n % 40) / 10.0),
                reason: "read again".into(),
            })),
            2 | 3 => s.say(&check(n / 5, of)),
            4 | 5 => s.set(
                EntityRef::Feature(id(&format!("f{}", n / 10 % of.features))),
                &FeatureEdit {
                    tolerance: Some(Length::from_mm(2.0 + f64::from(n % 20) / 10.0)),
                    ..FeatureEdit::default()
                },
            ),
            6 => {
                let faces = of.features.div_ceil(ON_A_FACE);
                let [.., id] = distances(&mut s, casting.as_str(), n / 10 % faces, n);
                id
            }
            7 => s.say(&Payload::Done(DoneFact {
                casting,
                what: "sanded".into(),
                on: None,
                kind: Some(DoneKind::Sanded),
                near: Vec::new(),
            })),
            8 => s.say(&Payload::Stage(StageFact {
                casting,
                stage: "primed".into(),
                day: "2026-11-27".into(),
                reason: None,
            })),
            _ => match last {
                Some(target) => s.say(&Payload::Withdraw(Withdrawal { target })),
                None => continue,
            },
        });
    }
    s
}
