//! The honest one: where the paint would truly land on the invented run, by the truth that the
//! tool never reads, with the drawing's own stencils, with a rigid fit of them, and with Samespot's.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::frames::{Flat, Point2};
use samespot_core::job::*;
use samespot_core::prepare::{Prepared, Source, prepare};
use samespot_core::surface::Surface;
use samespot_core::template::{Laying, TermKind, land};
use samespot_core::units::Length;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::Path;

struct World {
    job: Job,
    attachments: samespot_core::write::job::Attachments,
    truth: Value,
    trials: Value,
}

fn world() -> World {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let read = |path: &str| std::fs::read(root.join(path)).unwrap();
    let opened =
        samespot_core::read::job::open(&read("../public/examples/quay-puffins.samespot")).unwrap();
    let json = |path: &str| serde_json::from_slice(&read(path)).unwrap();
    World {
        job: opened.ledger.fold(),
        attachments: opened.attachments,
        truth: json("reference/quay-puffins/truth.json"),
        trials: json("reference/quay-puffins/trials.json"),
    }
}

/// Marks of a casting as seen, over the true surface, from where the feature ought to be.
fn seen(world: &World, casting: &str, feature: &str, letters: &[MarkId]) -> Vec<Point2<Flat>> {
    let marks = &world.truth["castings"][casting]["features"][feature]["marks"];
    letters
        .iter()
        .map(|m| {
            let at = &marks[m.as_str()];
            Point2::from_mm(at[0].as_f64().unwrap(), at[1].as_f64().unwrap())
        })
        .collect()
}

fn casting_of(job: &Job, feature: &FeatureId, piece: &PieceId) -> CastingId {
    let face = job.features[feature].face.as_ref().unwrap();
    let part = job.faces[face].part.as_ref().unwrap();
    job.casting_of(piece, part).unwrap().clone()
}

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

fn radius(p: &Prepared) -> Option<f64> {
    match p.surface {
        Surface::Dome(d) => Some(d.radius().mm()),
        _ => None,
    }
}

fn furthest(landing: &samespot_core::template::Landing, p: &Prepared) -> f64 {
    p.paint_edge
        .samples(Length::from_mm(4.0))
        .into_iter()
        .map(|x| landing.at(x).norm_mm())
        .fold(0.0, f64::max)
}

/// Where the paint lands with the three kinds of template, per piece: the worst point of the outline.
#[test]
fn samespot_lands_nearer_than_the_drawing_and_than_a_rigid_fit() {
    let world = world();
    let source = Source {
        job: &world.job,
        attachments: &world.attachments,
    };
    let mut table: BTreeMap<FeatureId, Vec<[f64; 3]>> = BTreeMap::new();
    for (piece, _) in world.job.pieces_in_order() {
        for feature in world.job.features.keys() {
            let p = prepare(&source, feature, piece)
                .unwrap_or_else(|e| panic!("{feature} on {piece}: {e}"));
            let read: Vec<_> = p.crosses.iter().filter(|c| !c.unread).collect();
            let letters: Vec<MarkId> = read.iter().map(|c| c.mark.clone()).collect();
            let truth = seen(
                &world,
                casting_of(&world.job, feature, piece).as_str(),
                feature.as_str(),
                &letters,
            );
            let drawn: Vec<_> = read.iter().map(|c| c.on_drawing).collect();
            // Where a cross is moved to because paper is flat belongs to how paper settles, which is
            // not played out here.
            let own: Vec<_> = read.iter().map(|c| c.at - c.eased).collect();
            let naive = Laying::FirstThenAlong { first: 0, then: 1 };
            let fit = Laying::BestFit {
                weights: vec![1.0; drawn.len()],
            };
            let lands = |laying: &Laying, crosses: &[Point2<Flat>]| {
                furthest(&land(laying, crosses, &truth, radius(&p)).unwrap(), &p)
            };
            table.entry(feature.clone()).or_default().push([
                lands(&naive, &drawn),
                lands(&fit, &drawn),
                lands(&p.laying, &own),
            ]);
        }
    }
    println!("worst point of the outline, mm, over 18 pieces: drawing's own, rigid fit, Samespot");
    let mut all = [0.0_f64; 3];
    for (feature, rows) in &table {
        let mean = |k: usize| rows.iter().map(|r| r[k]).sum::<f64>() / rows.len() as f64;
        let most = |k: usize| rows.iter().map(|r| r[k]).fold(0.0, f64::max);
        println!(
            "{feature:>10}  mean {:.2} {:.2} {:.2}   worst {:.2} {:.2} {:.2}",
            mean(0),
            mean(1),
            mean(2),
            most(0),
            most(1),
            most(2)
        );
        for (sum, k) in all.iter_mut().zip(0..3) {
            *sum += mean(k);
        }
    }
    // The claim of the tool, on a run it has never seen the truth of.
    assert!(all[2] < 0.6 * all[0] && all[2] < 0.6 * all[1], "{all:?}");
}

/// Readings of one trial in place of the job's.
fn reread(world: &World, trial: usize) -> Job {
    let mut job = world.job.clone();
    let listed = world.trials["readings"].as_array().unwrap();
    let values = &world.trials["values"][trial];
    let mut queues: BTreeMap<(String, String, String, String), Vec<f64>> = BTreeMap::new();
    for (k, r) in listed.iter().enumerate() {
        let text = |i: usize| r[i].as_str().unwrap().to_owned();
        let value = values[k].as_f64().unwrap();
        queues
            .entry((text(0), text(1), text(2), text(3)))
            .or_default()
            .insert(0, value);
    }
    let name = |p: &PointRef| match p {
        PointRef::Mark(id) => id.to_string(),
        PointRef::Feature(id) => id.to_string(),
    };
    let mut readings: Vec<_> = job.readings.iter().cloned().collect();
    for reading in &mut readings {
        let (how, from, to) = match &reading.says.of {
            Measured::Over { from, to } => ("over", name(from), name(to)),
            Measured::Straight { from, to } => ("straight", name(from), name(to)),
            _ => continue,
        };
        let key = (reading.says.casting.to_string(), how.to_owned(), from, to);
        if let Some(value) = queues.get_mut(&key).and_then(Vec::pop) {
            reading.says.value = Entry::of_mm(value);
        }
    }
    job.readings = readings.into_iter().collect();
    let sizes = &world.trials["sizes"][trial];
    let fields = world.trials["size_fields"].as_array().unwrap();
    let size = |name: &str| {
        let k = fields
            .iter()
            .position(|f| f.as_str() == Some(name))
            .unwrap();
        Entry::of_mm(sizes[k].as_f64().unwrap())
    };
    for (id, face) in &mut job.faces {
        match (id.as_str(), face.shape.as_mut()) {
            (
                _,
                Some(FaceShape::Cone {
                    lower,
                    upper,
                    slant,
                }),
            ) => {
                *lower = Size::Girth {
                    girth: size("bollard-lower"),
                };
                *upper = Size::Girth {
                    girth: size("bollard-upper"),
                };
                *slant = size("bollard-slant");
            }
            (
                _,
                Some(FaceShape::Dome {
                    size: Size::StraightEdge { gap, .. },
                    ..
                }),
            ) => *gap = size("cap-gap"),
            (
                _,
                Some(FaceShape::Dome {
                    size: Size::Girth { girth },
                    ..
                }),
            ) => *girth = size("head-girth"),
            _ => {}
        }
    }
    job
}

/// Trials of the forty that a test run takes; the bench takes them all. Fewer leave the share of
/// cases unsure by as much as it keeps from its bounds (six: 0.7 %).
const TRIALS: usize = 12;

/// The predicted 95 % holds in 90–98 % of cases: readings, pattern, pointing, printing and
/// marking all drawn afresh each time.
#[test]
fn what_the_sheet_promises_holds() {
    let world = world();
    let mut dice = Dice(20_261_125);
    let (mut cases, mut held) = (0_u32, 0_u32);
    let mut by_feature: BTreeMap<FeatureId, (u32, u32)> = BTreeMap::new();
    for trial in 0..TRIALS {
        let job = reread(&world, trial);
        let source = Source {
            job: &job,
            attachments: &world.attachments,
        };
        for (piece, _) in job.pieces_in_order() {
            for feature in job.features.keys() {
                let p = prepare(&source, feature, piece)
                    .unwrap_or_else(|e| panic!("{feature} on {piece}: {e}"));
                let letters: Vec<MarkId> = p.crosses.iter().map(|c| c.mark.clone()).collect();
                let truth = seen(
                    &world,
                    casting_of(&job, feature, piece).as_str(),
                    feature.as_str(),
                    &letters,
                );
                // The sheet comes out of the printer a little long or short, either way.
                let bound = 0.0025;
                let (sx, sy) = (
                    1.0 + bound * (2.0 * dice.unit() - 1.0),
                    1.0 + bound * (2.0 * dice.unit() - 1.0),
                );
                let stretched =
                    |q: Point2<Flat>| Point2::<Flat>::from_mm(q.x_mm() * sx, q.y_mm() * sy);
                // Each cross is brought onto its mark as a hand does it.
                let crosses: Vec<_> = p
                    .crosses
                    .iter()
                    .map(|c| {
                        let q = stretched(c.at - c.eased);
                        Point2::from_mm(q.x_mm() + dice.normal(0.3), q.y_mm() + dice.normal(0.3))
                    })
                    .collect();
                let landing = land(&p.laying, &crosses, &truth, radius(&p)).unwrap();
                let at = p.budget.at;
                let line = stretched(at) - at + landing.at(stretched(at));
                let scatter = p.allowance.scatter.mm();
                let miss =
                    (line.x_mm() + dice.normal(scatter)).hypot(line.y_mm() + dice.normal(scatter));
                // How paper settles on a dome is a known offset of the sheet's own and not played
                // out here, so its share is taken out of the promise.
                let settles = p
                    .budget
                    .terms
                    .iter()
                    .find(|t| t.kind == TermKind::Flattening)
                    .map_or(0.0, |t| t.size.mm());
                let good = u32::from(miss <= p.budget.worst.mm() - settles);
                cases += 1;
                held += good;
                let entry = by_feature.entry(feature.clone()).or_default();
                *entry = (entry.0 + 1, entry.1 + good);
            }
        }
    }
    let share = f64::from(held) / f64::from(cases);
    println!("{held} of {cases} within what was promised: {share:.3} {by_feature:?}");
    assert!(
        (0.90..=0.98).contains(&share),
        "{share:.3} of {cases}: {by_feature:?}"
    );
}
