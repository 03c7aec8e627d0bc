//! What a job file carries beside its facts, damaged: artwork as an outline, a scan as a patch. Their names are the
//! hash of whatever is in them, so that a file made by hand brings anything.

use super::readers::worded;
use crate::jobs::{Script, id, mm, point};
use samespot_core::frames::Flat;
use samespot_core::job::{
    EntityRef, FaceAxis, FaceShape, FeatureEdit, Measured, OutlineSpec, Payload, Reading,
};
use samespot_core::outline::Outline;
use samespot_core::outline::lettering::Weight;
use samespot_core::prepare::{Source, issue, read_scans};
use samespot_core::sheet::Paper;
use samespot_core::surface::scan::{Base, Patch};
use samespot_core::units::Length;
use samespot_core::write::job::attachment_hash;

/// Outlines as artwork is kept: a letter, a letter with two holes.
pub(super) fn outlines() -> Vec<Vec<u8>> {
    let letters = ["R", "B"].into_iter();
    letters
        .filter_map(|text| {
            let made = Outline::<Flat>::text(text, Length::from_mm(40.0), Weight::SemiBold);
            serde_json::to_vec(&made.ok()?.0).ok()
        })
        .collect()
}

/// A stencil of whatever came as its outline.
pub(super) fn read_outline(bytes: &[u8]) -> Result<(), String> {
    let hash = attachment_hash(bytes);
    let mut s = Script::one_face(FaceShape::Flat, &["a", "b"], 1);
    s.set(
        EntityRef::Feature(id("spot")),
        &FeatureEdit {
            outline: Some(OutlineSpec::Artwork {
                attachment: hash.clone(),
                file: "drawn.svg".into(),
                width: mm(60.0),
                ignored: Vec::new(),
            }),
            ..FeatureEdit::default()
        },
    );
    s.attachments.insert(hash, bytes.to_vec());
    for casting in ["pattern", "c1"] {
        s.over(casting, "a", "b", 300.0);
    }
    s.over("pattern", "a", "spot", 170.0);
    s.over("pattern", "b", "spot", 180.0);
    stencil(&s)
}

/// A dome of 8 × 8 cells, and one over a bent plane with a corner the scan has not.
pub(super) fn patches() -> Vec<Vec<u8>> {
    let cells = 8;
    let weights = |roundness: f64| {
        let at = |k: usize| 20.0 * (f64::from(u32::try_from(k).unwrap_or(0)) - 5.0);
        let row = move |j: usize| (0..cells + 3).map(move |i| (i, j));
        (0..cells + 3)
            .flat_map(row)
            .map(|(i, j)| -roundness * (at(i).powi(2) + at(j).powi(2)))
            .collect()
    };
    let dome = Patch {
        spacing_mm: 20.0,
        corner_mm: [-80.0, -80.0],
        cells: [cells, cells],
        weights: weights(0.5 / 150.0),
        covered: "x".repeat(cells * cells),
        smoothed_over_mm: 5.0,
        moved_rms_mm: 0.05,
        moved_most_mm: 0.2,
        base: Base::PLANE,
    };
    let mut covered = "o".repeat(cells * cells);
    covered.replace_range(0..1, ".");
    let bent = Patch {
        weights: weights(1e-4),
        covered,
        base: Base {
            along: [1.0, 0.0],
            round: [1.0 / 150.0, 1.0 / 220.0],
        },
        ..dome.clone()
    };
    [dome, bent]
        .iter()
        .filter_map(|p| serde_json::to_vec(p).ok())
        .collect()
}

/// A stencil on whatever came as its face.
pub(super) fn read_patch(bytes: &[u8]) -> Result<(), String> {
    let hash = attachment_hash(bytes);
    let shape = FaceShape::Scan {
        attachment: hash.clone(),
        file: "read.stl".into(),
        unit: "mm".into(),
    };
    let mut s = Script::one_face(shape, &["a", "b", "c"], 1);
    s.attachments.insert(hash, bytes.to_vec());
    let places = [
        ("a", [-50.0, -30.0]),
        ("b", [50.0, -30.0]),
        ("c", [0.0, 50.0]),
        ("spot", [5.0, 0.0]),
    ];
    for (name, uv) in places {
        for (axis, value) in [(FaceAxis::U, uv[0]), (FaceAxis::V, uv[1])] {
            s.say(&Payload::Reading(Reading {
                casting: id("pattern"),
                of: Measured::Coordinate {
                    of: point(name),
                    axis,
                },
                value: mm(value),
                instrument: None,
                hooked: false,
                stage: None,
                within: Some(Length::from_mm(0.5)),
                set_aside: None,
            }));
        }
    }
    for (from, to, far) in [("a", "b", 102.0), ("a", "c", 97.0), ("b", "c", 97.5)] {
        s.over("c1", from, to, far);
    }
    stencil(&s)
}

fn stencil(s: &Script) -> Result<(), String> {
    let mut job = s.ledger.fold();
    read_scans(&mut job, &s.attachments);
    let source = Source {
        job: &job,
        attachments: &s.attachments,
    };
    let feature: samespot_core::job::FeatureId = id("spot");
    let made = issue(&source, &feature, &id("p1"), Paper::A4, "").map_err(|why| worded(&why))?;
    assert!(!made.drawing.pages.is_empty(), "a stencil without a sheet");
    let (wide, high) = made.size_mm;
    assert!(wide.is_finite() && high.is_finite(), "{wide} × {high}");
    for words in &made.drawing.readable {
        assert!(!words.contains("NaN"), "{words}");
    }
    Ok(())
}
