//! Laying against rule: what a laying leaves, told by its slopes, is what re-laying shows.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use proptest::prelude::*;
use samespot_core::frames::{Face, Point2};
use samespot_core::job::*;
use samespot_core::place::{Follow as Following, Layout, Nominal, Placed, Rule, place};
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::{Axis, Bulge, Cone, Cylinder, Dome, FlatFace, Surface};
use samespot_core::template::{Laying, candidates, land, lay_slopes};
use samespot_core::units::{Angle, Length};
use samespot_tests::jobs::{Script, id, mm, point};

fn surface(kind: u8) -> Surface {
    let mm = Length::from_mm;
    match kind {
        0 => Surface::Flat(FlatFace),
        1 => Surface::Cylinder(Cylinder::new(mm(150.0), Axis::Up, Bulge::Bulging).unwrap()),
        2 => Surface::Cone(Cone::new(mm(200.0), -0.1, Bulge::Bulging).unwrap()),
        _ => Surface::Dome(Dome::new(mm(120.0), Bulge::Bulging).unwrap()),
    }
}

const MARKS: [[f64; 2]; 4] = [[-60.0, -8.0], [55.0, 4.0], [-4.0, 66.0], [10.0, -50.0]];

fn layout(surface: Surface, steps: &[[f64; 2]]) -> Layout {
    let marks = MARKS
        .iter()
        .zip(steps)
        .map(|(m, s)| Point2::from_mm(m[0] + s[0], m[1] + s[1]))
        .collect();
    Layout { surface, marks }
}

fn rules() -> Vec<Rule> {
    let line = |along| Rule::Line {
        from: 0,
        to: 1,
        side: Some(2),
        along,
        across: None,
    };
    vec![
        line(Following::FixedDistance),
        line(Following::DifferenceSplit),
        line(Following::InProportion),
        Rule::BestFit {
            line: (0, 1),
            weights: vec![1.0, 2.0, 1.0, 0.5],
            scale: false,
        },
    ]
}

fn nominal(surface: Surface, rule: Rule) -> Nominal {
    Nominal {
        layout: layout(surface, &[[0.0; 2]; 4]),
        centre: Point2::<Face>::from_mm(3.0, 11.0),
        rule,
        turn: Angle::from_deg(14.0),
    }
}

fn radius(surface: &Surface) -> Option<f64> {
    match surface {
        Surface::Dome(d) => Some(d.radius().mm()),
        _ => None,
    }
}

fn steps() -> impl Strategy<Value = [[f64; 2]; 4]> {
    prop::array::uniform4(prop::array::uniform2(-2.0..2.0_f64))
}

/// How a placed target has moved from another, in the first one's axes, by the marks it sees: the
/// motion that carries the seen marks of one onto those of the other where the marks stand still.
fn relaid(from: &Placed, to: &Placed, marks_at: &Layout, rule: &Nominal) -> (f64, f64, f64) {
    // Both see the same marks: place again from `marks_at` and lay one picture on the other.
    let again = place(rule, marks_at).unwrap();
    let fit = Laying::BestFit {
        weights: vec![1.0; 4],
    };
    let landing = land(&fit, &to.marks, &again.marks, radius(&marks_at.surface)).unwrap();
    let _ = from;
    (
        landing.shift.x_mm(),
        landing.shift.y_mm(),
        landing.turn.rad(),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// A template cut for the readings and laid on marks that are really elsewhere lands, against
    /// the target of the real marks, where (J_lay − J_rule)(m − m̂) says.
    #[test]
    fn slopes_say_where_a_template_lands(kind in 0_u8..4, off in steps(), wrong in steps()) {
        let face = surface(kind);
        for rule in rules() {
            let design = nominal(face.clone(), rule);
            let read = layout(face.clone(), &off);
            let scale = 0.02;
            let mut real_steps = off;
            for (r, w) in real_steps.iter_mut().zip(&wrong) {
                *r = [r[0] + scale * w[0], r[1] + scale * w[1]];
            }
            let real = layout(face.clone(), &real_steps);
            let (by_reading, by_truth) = (place(&design, &read).unwrap(), place(&design, &real).unwrap());
            for laying in candidates((0, 1), 4) {
                let slopes = lay_slopes(&laying, &by_reading.marks, &by_reading.marks_by_casting, radius(&face)).unwrap();
                let landing = land(&laying, &by_reading.marks, &by_truth.marks, radius(&face)).unwrap();
                let mut said = [0.0; 3];
                for (row, s) in said.iter_mut().enumerate() {
                    for k in 0..8 {
                        let leaves = slopes.by_casting[(row, k)] - by_reading.by_casting.0[row][k];
                        *s += leaves * scale * wrong[k / 2][k % 2];
                    }
                }
                let found = [landing.shift.x_mm(), landing.shift.y_mm(), landing.turn.rad() * 60.0];
                for (row, f) in found.iter().enumerate() {
                    let s = said[row] * if row == 2 { 60.0 } else { 1.0 };
                    // Steps of up to 0.04 mm; what is left is of second order, under 0.1 % of them.
                    prop_assert!((s - f).abs() < 2e-4, "{:?} row {} said {} found {}", laying, row, s, f);
                }
            }
        }
    }

    /// Laying the template that belongs to a rule follows it: nothing of the readings is left.
    #[test]
    fn the_laying_that_follows_its_rule_leaves_nothing(kind in 0_u8..3, off in steps()) {
        let face = surface(kind);
        let follows = [
            (Following::FixedDistance, Laying::FirstThenAlong { first: 0, then: 1 }),
            (Following::DifferenceSplit, Laying::SplitAlong { first: 0, then: 1 }),
        ];
        for (along, laying) in follows {
            let design = nominal(face.clone(), Rule::Line { from: 0, to: 1, side: None, along, across: None });
            let placed = place(&design, &layout(face.clone(), &off)).unwrap();
            let slopes = lay_slopes(&laying, &placed.marks, &placed.marks_by_casting, None).unwrap();
            for row in 0..3 {
                for k in 0..8 {
                    let leaves = slopes.by_casting[(row, k)] - placed.by_casting.0[row][k];
                    prop_assert!(leaves.abs() < 1e-9, "{:?} row {} column {}: {}", laying, row, k, leaves);
                }
            }
        }
    }

    /// With L′ = L all three ways along agree; A and B exchanged leave split and proportion alone.
    #[test]
    fn rules_agree_where_they_should(kind in 0_u8..4, off in steps()) {
        let face = surface(kind);
        let at_home = layout(face.clone(), &[[0.0; 2]; 4]);
        let home: Vec<Placed> = rules().into_iter().map(|r| place(&nominal(face.clone(), r), &at_home).unwrap()).collect();
        for p in &home {
            prop_assert!((p.pose.centre - Point2::from_mm(3.0, 11.0)).norm_mm() < 1e-9);
        }
        let here = layout(face.clone(), &off);
        for along in [Following::DifferenceSplit, Following::InProportion] {
            let line = |from, to, turn| Nominal {
                turn: Angle::from_deg(turn),
                ..nominal(face.clone(), Rule::Line { from, to, side: None, along, across: None })
            };
            let (one, other) = (place(&line(0, 1, 0.0), &here).unwrap(), place(&line(1, 0, 180.0), &here).unwrap());
            prop_assert!((one.pose.centre - other.pose.centre).norm_mm() < 1e-8);
            prop_assert!((one.pose.up - other.pose.up).norm_mm() < 1e-9);
        }
    }

    /// Moving all marks rigidly over a face moves the target with them.
    #[test]
    fn a_target_moves_with_its_marks(kind in 0_u8..2, off in steps(), turn in -0.5..0.5_f64, x in -20.0..20.0_f64) {
        let face = surface(kind);
        let turn = if kind == 0 { turn } else { 0.0 };
        for rule in rules() {
            let design = nominal(face.clone(), rule);
            let here = layout(face.clone(), &off);
            let mut there = here.clone();
            for m in &mut there.marks {
                *m = Point2::ORIGIN + m.from_origin().turned(turn) + samespot_core::frames::Vector2::from_mm(x, 7.0);
            }
            let (a, b) = (place(&design, &here).unwrap(), place(&design, &there).unwrap());
            for (p, q) in a.marks.iter().zip(&b.marks) {
                prop_assert!((*p - *q).norm_mm() < 1e-8);
            }
            let (x, y, t) = relaid(&a, &b, &here, &design);
            prop_assert!(x.abs() + y.abs() + t.abs() < 1e-8);
        }
    }
}

fn with_coordinates(shape: FaceShape, spot: [f64; 2]) -> Prepared {
    let mut s = Script::one_face(shape, &["a", "b"], 1);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            rule: Some(RuleSpec::Line {
                from: id("a"),
                to: id("b"),
                side: None,
                along: Follow::FixedDistance,
                across: None,
            }),
            ..FeatureEdit::default()
        },
    );
    for (name, at) in [("a", [-90.0, 250.0]), ("b", [90.0, 250.0]), ("spot", spot)] {
        for (axis, value) in [(FaceAxis::U, at[0]), (FaceAxis::V, at[1])] {
            s.read(
                "pattern",
                Measured::Coordinate {
                    of: point(name),
                    axis,
                },
                value,
            );
        }
    }
    s.over("c1", "a", "b", 178.0);
    let job = s.ledger.fold();
    prepare(
        &Source {
            job: &job,
            attachments: &s.attachments,
        },
        &id("spot"),
        &id("p1"),
    )
    .unwrap()
}

/// Under *fixed distance*, moving the feature by 14 mm moves the crosses by −14.000 against the outline.
#[test]
fn a_feature_moved_by_14_moves_its_crosses_by_minus_14() {
    let girth = |g: f64| Size::Girth { girth: mm(g) };
    for shape in [
        FaceShape::Flat,
        FaceShape::Cylinder {
            axis: AxisChoice::Up,
            hollow: false,
            size: girth(1200.0),
        },
        FaceShape::Cone {
            lower: girth(1400.0),
            upper: girth(1100.0),
            slant: mm(600.0),
        },
    ] {
        let (here, up) = (
            with_coordinates(shape.clone(), [0.0, 280.0]),
            with_coordinates(shape.clone(), [0.0, 294.0]),
        );
        for (a, b) in here.crosses.iter().zip(&up.crosses) {
            let (dx, dy) = (b.at.x_mm() - a.at.x_mm(), b.at.y_mm() - a.at.y_mm());
            // Whole micrometres: what a file prints.
            assert_eq!(
                (Length::from_mm(dx).to_um(), Length::from_mm(dy).to_um()),
                (0, -14_000),
                "{shape:?} {}",
                a.letter
            );
        }
    }
}

#[test]
fn marks_exchanged_on_a_casting_are_named_not_mirrored() {
    let face = surface(0);
    let design = nominal(
        face.clone(),
        Rule::Line {
            from: 0,
            to: 1,
            side: Some(2),
            along: Following::DifferenceSplit,
            across: None,
        },
    );
    let mut exchanged = layout(face, &[[0.0; 2]; 4]);
    exchanged.marks.swap(0, 1);
    let why = place(&design, &exchanged).unwrap_err().to_string();
    assert!(why.contains("exchanged"), "{why}");
}
