//! How many templates the examples take at four tolerances, what the drawing's own would have done,
//! and how long large runs take. Run by hand: `cargo bench -p samespot-tests --bench sheets --profile tool`.
//!
//! The least of several runs is printed: on a shared machine everything above it is somebody else's work.
#![allow(
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    reason = "a measurement that fails should stop"
)]

use samespot_core::answer::Desk;
use samespot_core::job::{EntityRef, FaceShape, FeatureEdit, FeatureId, Job, LineSide, MarkEdit};
use samespot_core::prepare::{Source, fewest_templates, prepare};
use samespot_core::read::job::{Opened, open};
use samespot_core::sheet::Paper;
use samespot_core::units::Length;
use samespot_tests::jobs::{Script, id};
use std::time::Instant;

const EXAMPLES: [(&str, &[u8]); 2] = [
    (
        "quay puffins",
        include_bytes!("../../public/examples/quay-puffins.samespot"),
    ),
    (
        "regatta otters",
        include_bytes!("../../public/examples/regatta-otters.samespot"),
    ),
];
const TOLERANCES_MM: [f64; 4] = [1.0, 1.5, 2.0, 3.0];

fn counts(name: &str, file: &[u8]) {
    let opened = open(file).unwrap();
    let job = Job::fold(&opened.ledger);
    let source = Source {
        job: &job,
        attachments: &opened.attachments,
    };
    println!(
        "{name}: templates (pieces that none serves; pieces the drawing's own would serve) at {TOLERANCES_MM:?} mm"
    );
    for feature in job.features.keys() {
        let made: Vec<_> = job
            .pieces
            .keys()
            .filter_map(|p| prepare(&source, feature, p).ok())
            .collect();
        if made.is_empty() {
            println!("  {feature}: nothing is measured for it");
            continue;
        }
        let nominal: Vec<f64> = made.iter().map(|p| p.nominal_lands.0.norm_mm()).collect();
        let worst = nominal.iter().copied().fold(0.0, f64::max);
        let cells: Vec<String> = TOLERANCES_MM
            .iter()
            .map(|&mm| {
                let within = Length::from_mm(mm);
                let found = fewest_templates(&source, feature, Some(within)).unwrap();
                let beyond = found
                    .templates
                    .iter()
                    .flat_map(|t| &t.serves)
                    .filter(|(_, b)| b.worst.mm() > mm + 0.0015)
                    .count();
                // What the drawing's own leaves on a piece: where it lands, and what is random there.
                let served = made
                    .iter()
                    .zip(&nominal)
                    .filter(|(p, off)| p.budget.worst.mm() + **off <= mm)
                    .count();
                format!("{} ({beyond}; {served})", found.templates.len())
            })
            .collect();
        println!(
            "  {feature}, {} pieces: {}; the drawing's own lands up to {worst:.1} mm off",
            made.len(),
            cells.join(", ")
        );
    }
}

/// A run of one face with three marks, every casting a little different.
fn run(pieces: u32) -> Script {
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b", "c"], pieces);
    s.set(
        EntityRef::Mark(id("c")),
        &MarkEdit {
            side: Some(LineSide::Above),
            ..MarkEdit::default()
        },
    );
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            tolerance: Some(Length::from_mm(2.5)),
            ..FeatureEdit::default()
        },
    );
    for n in 0..=pieces {
        let casting = if n == 0 {
            "pattern".to_owned()
        } else {
            format!("c{n}")
        };
        // Spread over ± 3 mm without a pattern: multiples of the golden section.
        let off = |k: f64| 6.0 * ((f64::from(n) * 0.618_034 * k).fract() - 0.5);
        s.over(&casting, "a", "b", 120.0 + off(1.0));
        s.over(&casting, "a", "c", 100.0 + off(2.0));
        s.over(&casting, "b", "c", 110.0 + off(3.0));
    }
    for _ in 0..3 {
        s.over("pattern", "a", "spot", 80.0);
        s.over("pattern", "b", "spot", 85.0);
        s.over("pattern", "c", "spot", 60.0);
    }
    s
}

fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM"));
    let kb = line.and_then(|l| l.split_whitespace().nth(1)?.parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1024.0
}

/// First of all, so that its peak is its own.
fn five_hundred() {
    let many = run(500);
    let mut desk = Desk::default();
    let before = peak_mb();
    let job = desk.take(Opened {
        ledger: many.ledger,
        attachments: many.attachments,
        notes: Vec::new(),
    });
    let start = Instant::now();
    let (files, _) = desk.run(&job, Some(Paper::A4), "2026-11-26").unwrap();
    println!(
        "500 pieces, {} files: {:.1} s, {:.0} MB at most ({before:.0} before)",
        files.len(),
        start.elapsed().as_secs_f64(),
        peak_mb()
    );
}

fn main() {
    five_hundred();
    for (name, file) in EXAMPLES {
        counts(name, file);
        let opened = open(file).unwrap();
        let mut desk = Desk::default();
        let job = desk.take(opened);
        let mut least = f64::INFINITY;
        let mut said = (0, 0);
        for _ in 0..5 {
            let start = Instant::now();
            let (files, left_out) = desk.run(&job, Some(Paper::A4), "2026-11-26").unwrap();
            least = least.min(start.elapsed().as_secs_f64());
            said = (files.len(), left_out.len());
        }
        println!(
            "{name}: the whole run, {} files, {} left out: {least:.2} s",
            said.0, said.1
        );
    }
    let thirty = run(30);
    let job = thirty.ledger.fold();
    let source = Source {
        job: &job,
        attachments: &thirty.attachments,
    };
    let feature: FeatureId = id("spot");
    let (mut least, mut templates) = (f64::INFINITY, 0);
    for _ in 0..10 {
        let start = Instant::now();
        templates = fewest_templates(&source, &feature, None)
            .unwrap()
            .templates
            .len();
        least = least.min(start.elapsed().as_secs_f64());
    }
    println!(
        "fewest for 30 pieces: {templates} templates, {:.0} ms",
        least * 1000.0
    );
}
