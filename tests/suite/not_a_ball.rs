//! A head taken for a ball that is none: does the promised 95 % hold where the outline's worst place
//! lands? Everything is thrown afresh for each job: readings, sizes, printing, pointing, marking.
//!
//! It does, so a dome's budget has no term for it: what the face is not it is not on the pattern either,
//! and what the readings there carry over to a casting that is like it cancels.
//!
//! What the true face is: two radii at right angles, one longer and one shorter than the ball's. Over a
//! gauge card of 100 mm they stand off it by 50²/2R times the share that they differ by (the sagitta of
//! an arc, elementary): 0.3 mm, which shows as no light (common practice, no source), is 3.6 % at 150.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::frames::{Face, Flat, Point2, Vector2};
use samespot_core::job::*;
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::{Bulge, Development, Shape, Surface, TwoRadii};
use samespot_core::template::{TermKind, land};
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id, mm, point};

/// A small generator of its own: the test owns its dice (Knuth's MMIX constants).
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn normal(&mut self, sd: f64) -> f64 {
        // Twelve uniforms: near enough to normal for a 95 % figure.
        sd * ((0..12).map(|_| self.unit()).sum::<f64>() - 6.0)
    }
}

const R: f64 = 150.0;
const NAMES: [&str; 4] = ["a", "b", "c", "spot"];
/// How the marks lie about the spot, and how well they are read: one standard deviation, mm.
#[derive(Clone, Copy)]
struct Way {
    marks: [[f64; 2]; 3],
    read: f64,
}

/// Round the spot, with a soft tape.
const USUAL: Way = Way {
    marks: [[-70.0, -35.0], [75.0, -30.0], [5.0, 80.0]],
    read: 0.4,
};

/// All on one side of it, as well as anybody reads: what the face is not shows most.
const ONE_SIDED: Way = Way {
    marks: [[-70.0, -75.0], [75.0, -70.0], [15.0, -30.0]],
    read: 0.15,
};

fn places(way: Way, dice: &mut Dice) -> [Point2<Face>; 4] {
    let mut at = |x: f64, y: f64| Point2::from_mm(x + dice.normal(6.0), y + dice.normal(6.0));
    let [a, b, c] = way.marks.map(|[x, y]| at(x, y));
    [a, b, c, Point2::ORIGIN]
}

/// The job of one such head: read on the pattern and on a casting that is like it.
fn job(way: Way, truth: &Surface, places: &[Point2<Face>; 4], dice: &mut Dice) -> Script {
    let dome = FaceShape::Dome {
        hollow: false,
        size: Size::Radius {
            radius: mm(R + dice.normal(0.65)),
        },
    };
    let mut s = Script::one_face(dome, &NAMES[..3], 1);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    for casting in ["pattern", "c1"] {
        for (i, j) in [(0, 1), (0, 2), (1, 2), (0, 3), (1, 3), (2, 3)] {
            if casting == "c1" && j == 3 {
                continue;
            }
            let far = truth.over_surface(places[i], places[j], 0).unwrap().mm;
            s.say(&Payload::Reading(Reading {
                casting: id(casting),
                of: Measured::Over {
                    from: point(NAMES[i]),
                    to: point(NAMES[j]),
                },
                value: mm(far + dice.normal(way.read)),
                instrument: None,
                hooked: false,
                stage: None,
                within: Some(Length::from_mm(way.read)),
                set_aside: None,
            }));
        }
    }
    s
}

/// How far the worst place of its outline is off, and what was promised of it.
fn played(
    p: &Prepared,
    truth: &Surface,
    places: &[Point2<Face>; 4],
    dice: &mut Dice,
) -> (f64, f64) {
    // The sheet's up is square to A–B, as the rule has it; the true map is turned the same way.
    let about = |up: Vector2<Face>| Development::new(truth, Point2::ORIGIN, up).unwrap();
    let chart = about(Vector2::from_mm(0.0, 1.0));
    let flat = |k: usize| chart.flat(places[k]).unwrap();
    let (a, b) = (flat(0), flat(1));
    let along = (b - a).direction_rad();
    let turned = |q: Point2<Flat>| Point2::ORIGIN + q.from_origin().turned(-along);
    let as_drawn = (p.crosses[1].at - p.crosses[0].at).direction_rad();
    let seen: Vec<Point2<Flat>> = (0..3)
        .map(|k| Point2::ORIGIN + turned(flat(k)).from_origin().turned(as_drawn))
        .collect();
    let bound = 0.0025;
    let (sx, sy) = (
        1.0 + bound * (2.0 * dice.unit() - 1.0),
        1.0 + bound * (2.0 * dice.unit() - 1.0),
    );
    let stretched = |q: Point2<Flat>| Point2::<Flat>::from_mm(q.x_mm() * sx, q.y_mm() * sy);
    let crosses: Vec<_> = (p.crosses.iter())
        .map(|c| {
            let q = stretched(c.at - c.eased);
            Point2::from_mm(q.x_mm() + dice.normal(0.3), q.y_mm() + dice.normal(0.3))
        })
        .collect();
    let landing = land(&p.laying, &crosses, &seen, p.basis.ball_radius_mm).unwrap();
    let at = p.budget.at;
    let line = stretched(at) - at + landing.at(stretched(at));
    let scatter = p.allowance.scatter.mm();
    let miss = (line.x_mm() + dice.normal(scatter)).hypot(line.y_mm() + dice.normal(scatter));
    // How paper settles is a known offset of the sheet's own and not played out here.
    let settles = p
        .budget
        .terms
        .iter()
        .find(|t| t.kind == TermKind::Flattening);
    (
        miss,
        p.budget.worst.mm() - settles.map_or(0.0, |t| t.size.mm()),
    )
}

/// The share of so many jobs within what was promised; `differ` gives the share that the two radii of
/// each head differ from the ball by.
fn share(way: Way, seed: u64, differ: impl Fn(&mut Dice) -> f64) -> f64 {
    let mut dice = Dice(seed);
    let mut held = 0_u32;
    for _ in 0..JOBS {
        let q = differ(&mut dice);
        let round = |r: f64| (Length::from_mm(r), Bulge::Bulging);
        let truth = Surface::TwoRadii(
            TwoRadii::new(round(R * (1.0 + q)), round(R * (1.0 - q) * 1.000_1)).unwrap(),
        );
        let places = places(way, &mut dice);
        let s = job(way, &truth, &places, &mut dice);
        let folded = s.ledger.fold();
        let source = Source {
            job: &folded,
            attachments: &s.attachments,
        };
        let p = prepare(&source, &id("spot"), &id("p1")).unwrap();
        let (miss, promised) = played(&p, &truth, &places, &mut dice);
        held += u32::from(miss <= promised);
    }
    f64::from(held) / f64::from(JOBS)
}

/// Three deviations of a share of 95 % in 400 jobs are 3.3 %.
const JOBS: u32 = 400;

#[test]
fn what_is_promised_of_a_head_that_is_nearly_a_ball_holds() {
    for (way, name) in [(USUAL, "round the spot"), (ONE_SIDED, "on one side")] {
        let ball = share(way, 11, |_| 0.0);
        let nearly = share(way, 12, |dice| dice.normal(0.036));
        let two = share(
            way,
            13,
            |dice| if dice.unit() < 0.5 { 0.097 } else { -0.097 },
        );
        println!("{name}: a ball {ball:.3}, nearly one {nearly:.3}, 165 and 135 {two:.3}");
        for (what, share) in [
            ("a ball", ball),
            ("nearly one", nearly),
            ("165 and 135", two),
        ] {
            assert!((0.90..0.99).contains(&share), "{name}, {what}: {share}");
        }
    }
}
