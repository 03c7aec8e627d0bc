//! The patches of scanned faces, read from a job's attachments.

use super::error::PrepareError;
use super::face::Sized;
use crate::frames::{Face, Point2, Vector2};
use crate::job::{FaceShape, Job};
use crate::surface::scan::Patch;
use crate::surface::{ScanFace, Surface};
use crate::write::job::Attachments;
use std::collections::BTreeSet;

/// How well a scanner knows its own size, as a share (one standard deviation): half a millimetre
/// in a metre (common practice, no source).
const SCAN_SPREAD: f64 = 0.0005;

/// Reads the patches of all faces from scans, once for all that is made from this state.
pub fn read_scans(job: &mut Job, attachments: &Attachments) {
    let hashes = job.faces.values().filter_map(|face| match &face.shape {
        Some(FaceShape::Scan { attachment, .. }) => Some(attachment),
        _ => None,
    });
    let wanted: BTreeSet<&String> = hashes.filter(|h| attachments.contains_key(*h)).collect();
    // They are named by what they hold: one that was read before is the same still.
    if wanted.iter().copied().eq(job.scans.keys()) {
        return;
    }
    let read = |hash: &String| {
        let known = job.scans.get(hash).cloned();
        let face = known.or_else(|| {
            let bytes = attachments.get(hash)?;
            Some(Patch::read(bytes).and_then(ScanFace::new))
        });
        Some((hash.clone(), face?))
    };
    job.scans = wanted.into_iter().filter_map(read).collect();
}

/// The face of an attached patch.
pub(super) fn scanned(
    job: &Job,
    face: &str,
    attachment: &str,
    file: &str,
) -> Result<Sized, PrepareError> {
    let refused = |why: String| PrepareError::Size {
        face: face.to_owned(),
        why,
    };
    match job.scans.get(attachment) {
        None => Err(refused(format!(
            "what was read of the scan '{file}' is missing from this copy of the job: open the scan again on Setting out"
        ))),
        Some(Err(why)) => Err(refused(format!(
            "what was read of the scan '{file}' is damaged ({why}): open the scan again on Setting out"
        ))),
        Some(Ok(scan)) => Ok(Sized {
            surface: Surface::Scan(scan.clone()),
            sd: [SCAN_SPREAD, 0.0, 0.0],
        }),
    }
}

/// What smoothing did to a scanned face, for its sheets.
pub(super) fn smoothing_words(surface: &Surface) -> Option<String> {
    let Surface::Scan(scan) = surface else {
        return None;
    };
    let patch = scan.patch();
    Some(format!(
        "the face is from a scan, smoothed over {:.0} mm: this moved it up to {:.2} mm, {:.2} on the whole",
        patch.smoothed_over_mm, patch.moved_most_mm, patch.moved_rms_mm
    ))
}

/// Points laid out from distances, brought onto those that were picked on the scan: turned and
/// shifted so that these meet best, then the picks themselves.
pub(super) fn brought_onto(
    picked: &[Option<Point2<Face>>],
    flat: &[Point2<Face>],
) -> Vec<Point2<Face>> {
    let pairs: Vec<(Point2<Face>, Point2<Face>)> = flat
        .iter()
        .zip(picked)
        .filter_map(|(f, p)| Some((*f, (*p)?)))
        .collect();
    let share = 1.0 / f64::from(u32::try_from(pairs.len()).unwrap_or(1).max(1));
    let middle = |points: &mut dyn Iterator<Item = Point2<Face>>| {
        points.fold(Vector2::ZERO, |s, p| s + p.from_origin()) * share
    };
    let from = middle(&mut pairs.iter().map(|p| p.0));
    let to = middle(&mut pairs.iter().map(|p| p.1));
    let (mut along, mut aside) = (0.0, 0.0);
    for (f, p) in &pairs {
        let (a, b) = (f.from_origin() - from, p.from_origin() - to);
        along += a.dot(b);
        aside += a.cross(b);
    }
    let turn = libm::atan2(aside, along);
    flat.iter()
        .zip(picked)
        .map(|(f, p)| {
            p.unwrap_or_else(|| Point2::ORIGIN + (f.from_origin() - from).turned(turn) + to)
        })
        .collect()
}
