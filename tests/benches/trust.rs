//! How long it takes to adjust a face with its covariance, look for the odd one out and weigh every
//! further reading. Run by hand: `cargo bench -p samespot-tests --bench trust`.
//!
//! Twelve marks and eighteen readings are what a large figure has on one side; six of the marks'
//! twenty-one unknowns' worth is then held by the drawing, as in the workshop.
#![allow(clippy::unwrap_used, reason = "a measurement that fails should stop")]

use samespot_core::frames::Point2;
use samespot_core::readings::*;
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;
use std::hint::black_box;
use std::time::Instant;

const MARKS: usize = 12;
const READINGS: usize = 18;
/// The middle of so many runs is told.
const RUNS: usize = 201;

fn network() -> Network {
    let mut network = Network::on(Surface::Flat(FlatFace));
    for k in 0..MARKS {
        // A ring that is none: no two marks alike, none on a line with two others.
        let turn = 0.61 * k as f64;
        let far = 260.0 + 35.0 * ((k * 7) % 5) as f64;
        network.points.push(PointStart {
            start: Point2::from_mm(far * turn.cos(), far * turn.sin()),
            held: Held::Free,
        });
    }
    network.tapes = vec![Tape::default()];
    let pairs = (0..MARKS).flat_map(|a| [(a, (a + 1) % MARKS), (a, (a + 3) % MARKS)]);
    for (n, (from, to)) in pairs.take(READINGS).enumerate() {
        let at = |k: usize| network.points[k].start;
        let off = 0.4 * ((n * 5) % 7) as f64 - 1.2;
        network.readings.push(Reading {
            kind: ReadingKind::Straight { from, to },
            value: at(from).distance(at(to)) + Length::from_mm(off),
            precision: Precision::Tape {
                tape: 0,
                hooked: false,
            },
        });
    }
    network
}

fn main() {
    let network = network();
    let options = Options {
        drawing_spread: Some(Length::from_mm(2.0)),
        ..Options::default()
    };
    let mut times = Vec::new();
    for _ in 0..RUNS {
        let begin = Instant::now();
        let adjusted = adjust(black_box(&network), &options).unwrap();
        let adjusting = begin.elapsed();
        let _ = black_box(adjusted.suspects());
        let mut best = f64::INFINITY;
        for from in 0..MARKS {
            for to in from + 1..MARKS {
                let gain = adjusted.gain(&Reading {
                    kind: ReadingKind::Straight { from, to },
                    value: Length::ZERO,
                    precision: Precision::Tape {
                        tape: 0,
                        hooked: false,
                    },
                });
                best = best.min(gain.map_or(f64::INFINITY, |g| g.redundancy));
            }
        }
        black_box(best);
        times.push((begin.elapsed(), adjusting));
    }
    times.sort();
    let (all, adjusting) = times[RUNS / 2];
    println!(
        "{MARKS} marks, {READINGS} readings: {:.3} ms in all, of which adjusting {:.3}; slowest {:.3}",
        all.as_secs_f64() * 1e3,
        adjusting.as_secs_f64() * 1e3,
        times[RUNS - 1].0.as_secs_f64() * 1e3
    );
}
