//! A face in space, to be turned: does what is shown lie where geometry has it?
//!
//! Outside values: the equations of ball and cylinder, the spherical law of cosines and the chord
//! 2 R sin(d / 2R) (`../shared/checks` K1), none of which the view is made from: it comes from the
//! chart of each face kind.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    reason = "a test stops at the first fault"
)]

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use samespot_core::answer::{Answer, Ask, Desk, Refusal, Reply, Request, answer};
use samespot_core::job::{
    AxisChoice, Curve, EntityRef, FaceShape, FeatureEdit, LineSide, MarkEdit, OutlineSpec,
    PointRef, Size,
};
use samespot_core::prepare::solid::{
    CHORD, CORNER_BYTES, Look, MOST_CELLS, MOST_DOTS, SolidName, SolidOf, SolidView, solid,
};
use samespot_core::prepare::{PrepareError, Source, prepare};
use samespot_tests::jobs::{Script, id, mm, point};

type V = [f64; 3];

/// What came, taken apart again.
struct Shown {
    view: SolidView,
    corners: Vec<[f64; 8]>,
    order: Vec<u32>,
}

fn shown(s: &Script, of: &SolidOf) -> Result<Shown, PrepareError> {
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let (view, bytes) = solid(&source, of)?;
    Ok(apart(view, &bytes))
}

fn apart(view: SolidView, bytes: &[u8]) -> Shown {
    let (corners, order) = bytes.split_at(view.corners as usize * CORNER_BYTES);
    let four = |b: &[u8]| <[u8; 4]>::try_from(b).unwrap();
    let corners = corners
        .chunks_exact(CORNER_BYTES)
        .map(|c| {
            core::array::from_fn(|k| f64::from(f32::from_le_bytes(four(&c[4 * k..4 * k + 4]))))
        })
        .collect();
    let order = order
        .chunks_exact(4)
        .map(|b| u32::from_le_bytes(four(b)))
        .collect();
    Shown {
        view,
        corners,
        order,
    }
}

impl Shown {
    fn triangles(&self, look: Look) -> Vec<[[f64; 8]; 3]> {
        let parts = self.view.parts.iter().filter(|p| p.look == look);
        let runs = parts.flat_map(|p| &self.order[p.first as usize..(p.first + p.count) as usize]);
        let corners: Vec<_> = runs.map(|k| self.corners[*k as usize]).collect();
        corners
            .chunks_exact(3)
            .map(|c| [c[0], c[1], c[2]])
            .collect()
    }
    fn name(&self, words: &str) -> &SolidName {
        let found = self.view.names.iter().find(|n| n.words.contains(words));
        found.unwrap_or_else(|| panic!("no {words} in {:?}", self.view.names))
    }
}

fn place(c: &[f64; 8]) -> V {
    [c[0], c[1], c[2]]
}

fn far(a: V, b: V) -> f64 {
    let d: V = core::array::from_fn(|k| a[k] - b[k]);
    d.iter().map(|x| x * x).sum::<f64>().sqrt()
}

fn on_face() -> SolidOf {
    SolidOf::Face(id("face"))
}

fn on_piece() -> SolidOf {
    SolidOf::Template {
        feature: id("spot"),
        piece: id("p1"),
    }
}

const NAMES: [&str; 4] = ["a", "b", "c", "spot"];

/// Three marks and a spot on a ball, by the angles across and up, each read from each.
fn on_ball(r: f64, places: [[f64; 2]; 4], diameter_mm: f64) -> (Script, [[f64; 4]; 4]) {
    let at = places.map(|[a, b]: [f64; 2]| [b.cos() * a.cos(), b.cos() * a.sin(), b.sin()]);
    let over: [[f64; 4]; 4] = core::array::from_fn(|i| {
        core::array::from_fn(|j| {
            let dot: f64 = at[i].iter().zip(&at[j]).map(|(a, b)| a * b).sum();
            r * dot.min(1.0).acos()
        })
    });
    let shape = FaceShape::Dome {
        hollow: false,
        size: Size::Radius { radius: mm(r) },
    };
    let mut s = Script::one_face(shape, &NAMES[..3], 1);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            found: Some("pip on the brow".into()),
            ..MarkEdit::default()
        },
    );
    circle(&mut s, diameter_mm);
    for i in 0..4 {
        for j in i + 1..4 {
            s.over("pattern", NAMES[i], NAMES[j], over[i][j]);
            if j < 3 {
                s.over("c1", NAMES[i], NAMES[j], over[i][j]);
            }
        }
    }
    (s, over)
}

fn circle(s: &mut Script, diameter_mm: f64) {
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Circle {
                diameter: mm(diameter_mm),
            }),
            ..FeatureEdit::default()
        },
    );
}

const PLACES: [[f64; 2]; 4] = [[-0.3, -0.1], [0.35, -0.05], [0.05, 0.4], [0.02, 0.12]];

#[test]
fn a_ball_is_shown_as_a_ball_with_everything_on_it() {
    let r = 150.0;
    let (s, over) = on_ball(r, PLACES, 60.0);
    let all = shown(&s, &on_face()).unwrap();
    // Looked at square on from its middle: the ball's own middle is straight behind it. Readings to a
    // tenth of a micrometre and more leave the radius as it was typed.
    let middle = [0.0, 0.0, -r];
    let skin = all.triangles(Look::Skin);
    assert!(skin.len() > 100, "{}", skin.len());
    let mut out: f64 = 0.0;
    for triangle in &skin {
        for c in triangle {
            assert!((far(place(c), middle) - r).abs() < 0.01, "{c:?}");
            let normal: V = core::array::from_fn(|k| (c[k] - middle[k]) / r);
            assert!(far(normal, [c[3], c[4], c[5]]) < 1e-3, "{c:?}");
        }
        // What a flat triangle leaves of a ball is most over the middle of its longest side, or
        // inside; both are looked at.
        for w in [
            [0.5, 0.5, 0.0],
            [0.5, 0.0, 0.5],
            [0.0, 0.5, 0.5],
            [0.34, 0.33, 0.33],
        ] {
            let p: V = core::array::from_fn(|k| (0..3).map(|c| w[c] * triangle[c][k]).sum());
            out = out.max(r - far(p, middle));
        }
        // Its outside is in front: the order of the corners turns about the normal.
        let [a, b, c] = triangle.map(|t| place(&t));
        let (u, v): (V, V) = (
            core::array::from_fn(|k| b[k] - a[k]),
            core::array::from_fn(|k| c[k] - a[k]),
        );
        let turn = [
            u[1] * v[2] - u[2] * v[1],
            u[2] * v[0] - u[0] * v[2],
            u[0] * v[1] - u[1] * v[0],
        ];
        let dot: f64 = (0..3).map(|k| turn[k] * triangle[0][3 + k]).sum();
        assert!(dot > 0.0);
    }
    let said = all.view.chord.mm();
    assert!(out <= said + 1e-4, "left by {out}, said {said}");
    assert!(said <= CHORD.mm() && said > 0.2 * out, "{said} for {out}");
    // Marks stand as far apart, straight through the ball, as the tape read over it.
    let at = |name: &str| all.name(name).at_mm;
    for (i, j) in [(0, 1), (0, 2), (1, 2)] {
        let chord = 2.0 * r * (over[i][j] / (2.0 * r)).sin();
        let got = far(at(&NAMES[i].to_uppercase()), at(&NAMES[j].to_uppercase()));
        assert!((got - chord).abs() < 0.05, "{i} {j}: {got} for {chord}");
    }
    // Every dot of a circle 60 across is 30 over the surface from its middle.
    let spot = at("Spot");
    let outline = all.triangles(Look::Outline);
    assert!(outline.len() > 40);
    for c in outline.iter().flatten() {
        let d = 2.0 * r * (far(place(c), spot) / (2.0 * r)).asin();
        assert!((d - 30.0).abs() < 0.05, "{d}");
        assert!((c[6].abs() - 1.0).abs() < 1e-6);
    }
    assert!(
        all.name("C").more.contains("pip on the brow"),
        "{:?}",
        all.name("C")
    );
    assert_eq!(all.name("C").point, Some(point("c")));
    assert!(all.view.notes.is_empty(), "{:?}", all.view.notes);
}

#[test]
fn a_post_is_shown_as_a_post() {
    let r = 120.0;
    let shape = FaceShape::Cylinder {
        axis: AxisChoice::Up,
        hollow: false,
        size: Size::Radius { radius: mm(r) },
    };
    let mut s = Script::one_face(shape, &["a", "b"], 1);
    s.over("pattern", "a", "b", 160.0);
    s.over("pattern", "a", "spot", 100.0);
    s.over("pattern", "b", "spot", 100.0);
    let all = shown(&s, &on_face()).unwrap();
    for look in [Look::Skin, Look::Outline, Look::Steps] {
        for c in all.triangles(look).iter().flatten() {
            // Its axis stands upright, one radius behind the middle.
            assert!(((c[0] * c[0] + (c[2] + r) * (c[2] + r)).sqrt() - r).abs() < 0.01);
        }
    }
    // Upright it is straight: one row of triangles would do, and the chord is that of the round.
    assert!(all.view.chord <= CHORD);
    // A reading more than the two marks is not asked for the view.
    let spot = all.name("Spot").at_mm;
    assert!((far(spot, all.name("A").at_mm) - 100.0).abs() < 5.0);
}

#[test]
fn a_template_lies_in_place_with_its_darts_and_what_it_leaves() {
    // So round that paper wants a dart between its crosses, and lands beside its place without one.
    let (s, _) = on_ball(
        90.0,
        [[-0.75, -0.45], [0.75, -0.45], [0.0, 0.85], [0.0, 0.0]],
        40.0,
    );
    let job = s.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let p = prepare(&source, &id("spot"), &id("p1")).unwrap();
    let all = shown(&s, &on_piece()).unwrap();
    assert!(!p.darts.is_empty(), "this template has darts");
    let named = |w: &str| all.view.names.iter().filter(|n| n.words == w).count();
    assert_eq!(named("dart") + named("slit"), p.darts.len());
    assert!(!all.triangles(Look::Dart).is_empty());
    // The worst place is named with the number that the screen has.
    let worst = all.name("the most");
    let tenth = (p.budget.worst.mm() * 10.0).round() / 10.0;
    assert!(
        worst.words.starts_with(&format!("{tenth:.1} mm")),
        "{worst:?} for {tenth}"
    );
    // Its shade is the darkest that there is, and the key says every shade there is and no other.
    let steps: std::collections::BTreeSet<u8> = all
        .triangles(Look::Band)
        .iter()
        .flatten()
        .map(|c| (c[7] * 4.0).round() as i64)
        .map(|step| u8::try_from(step).unwrap())
        .collect();
    let key: Vec<u8> = all
        .view
        .key
        .iter()
        .filter(|k| k.look == Look::Band)
        .map(|k| k.step)
        .collect();
    assert_eq!(steps.iter().copied().collect::<Vec<_>>(), key);
    let share = p.budget.worst.mm() / p.allowed.mm() * 4.0;
    let darkest = if share > 4.0 {
        4
    } else {
        share.ceil() as u8 - 1
    };
    assert_eq!(key.last(), Some(&darkest), "{share}");
    // Bands lie on the face like everything else.
    let r = p.surface.ball_radius_mm(p.placed.pose.centre).unwrap();
    let back = |c: &[f64; 8]| far(place(c), [0.0, 0.0, -r]);
    let flat = all.triangles(Look::Band);
    let middle_of_face = all.triangles(Look::Outline);
    for c in flat.iter().chain(&middle_of_face).flatten() {
        assert!((back(c) - r).abs() < 0.05, "{} for {r}", back(c));
    }
}

#[test]
fn what_nothing_holds_is_named_and_without_two_marks_there_is_a_sentence() {
    let mut s = Script::one_face(FaceShape::Flat, &NAMES[..3], 1);
    let why = shown(&s, &on_face()).map(|_| ()).unwrap_err().to_string();
    assert!(
        why.contains("read them from each other on the pattern"),
        "{why}"
    );
    s.over("pattern", "a", "b", 300.0);
    let all = shown(&s, &on_face()).unwrap();
    let says = all.view.notes.join(" ");
    assert!(says.contains('C') && says.contains("Spot"), "{says}");
    let why = shown(&s, &on_piece()).map(|_| ()).unwrap_err().to_string();
    assert!(why.contains("Spot"), "{why}");
}

#[test]
fn lettering_too_fine_is_left_out_with_a_word_and_the_answer_stays_small() {
    let (mut s, _) = on_ball(150.0, PLACES, 60.0);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Lettering {
                text: "SAMESPOT ".repeat(400),
                capitals: mm(1.0),
            }),
            ..FeatureEdit::default()
        },
    );
    let all = shown(&s, &on_face()).unwrap();
    let said = all.view.notes.join(" ");
    assert!(said.contains("too fine to be turned"), "{said}");
    let skin = (MOST_CELLS + 1) * (MOST_CELLS + 1);
    assert!(
        all.corners.len() <= skin + 2 * MOST_DOTS,
        "{}",
        all.corners.len()
    );
    // Most of what may be shown is shown.
    assert!(all.corners.len() > MOST_DOTS, "{}", all.corners.len());
    assert!(all.corners.len() * CORNER_BYTES + all.order.len() * 4 < 3_000_000);
}

#[test]
fn the_desk_answers_with_the_bytes_beside() {
    let (s, _) = on_ball(150.0, PLACES, 60.0);
    let mut desk = Desk::default();
    let ask = |desk: &mut Desk, ask| answer(desk, Request { number: 1, ask });
    let of = || Ask::Solid {
        job: id("test-job"),
        of: on_face(),
    };
    assert_eq!(ask(&mut desk, of()).says, Err(Refusal::UnknownJob));
    let facts = s.ledger.facts().map(|f| f.bytes().to_owned()).collect();
    ask(
        &mut desk,
        Ask::Facts {
            job: id("test-job"),
            facts,
            attachments: Vec::new(),
        },
    );
    let Answer {
        says: Ok(Reply::Solid(view)),
        bytes,
        ..
    } = ask(&mut desk, of())
    else {
        panic!("no view");
    };
    let all = apart(*view, &bytes);
    assert!(all.order.iter().all(|k| *k < all.view.corners));
    let points: Vec<&PointRef> = all
        .view
        .names
        .iter()
        .filter_map(|n| n.point.as_ref())
        .collect();
    assert_eq!(points.len(), 4);
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 40,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_261_127),
        ..ProptestConfig::default()
    })]

    /// Whatever the face: numbers that a screen can take, an order that stays among the corners,
    /// nothing beyond the reach, and no more triangles of skin than are said.
    #[test]
    fn whatever_the_face_the_answer_is_whole(
        kind in 0_u8..4,
        r in 60.0..4000.0_f64,
        ab in 40.0..900.0_f64,
        to in 0.55..0.9_f64,
    ) {
        let radius = |r: f64| Size::Radius { radius: mm(r) };
        let shape = match kind {
            0 => FaceShape::Flat,
            1 => FaceShape::Cylinder { axis: AxisChoice::Across, hollow: true, size: radius(r) },
            2 => FaceShape::Dome { hollow: false, size: radius(r) },
            _ => FaceShape::TwoRadii {
                across: Curve::Bulging { size: radius(r) },
                up: Curve::Hollow { size: radius(r * 1.7) },
            },
        };
        let mut s = Script::one_face(shape, &["a", "b"], 1);
        s.over("pattern", "a", "b", ab);
        s.over("pattern", "a", "spot", ab * to);
        s.over("pattern", "b", "spot", ab * to);
        s.over("c1", "a", "b", ab + 0.4);
        for of in [on_face(), on_piece()] {
            // A tape that would run round the back has no template, and says so.
            let Ok(all) = shown(&s, &of) else { continue };
            prop_assert!(all.corners.iter().flatten().all(|x| x.is_finite()));
            prop_assert!(all.order.iter().all(|k| *k < all.view.corners));
            prop_assert!(all.order.len() % 3 == 0);
            let reach = all.view.reach.mm() * (1.0 + 1e-6);
            prop_assert!(all.corners.iter().all(|c| far(place(c), [0.0; 3]) <= reach));
            prop_assert!(all.triangles(Look::Skin).len() <= 2 * MOST_CELLS * MOST_CELLS);
            prop_assert!(all.view.parts.iter().all(|p| p.count > 0 && p.count % 3 == 0));
        }
    }
}
