//! Where an outline has holes: some kinds can be divided, some can't.

use super::sector::crossings_mm;
use crate::frames::{Flat, Vector2};
use crate::outline::{FLATTENING, Outline};

/// Where an outline has holes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::prepare) enum Holes {
    None,
    /// All go round the middle: any patch has them open at both joins, and nothing falls out.
    RoundTheMiddle,
    Elsewhere,
}

/// Where an outline has holes.
pub(in crate::prepare) fn holes(outline: &Outline<Flat>) -> Holes {
    let mut found = Holes::None;
    for (contour, nest) in outline.contours().iter().zip(outline.nesting()) {
        if !nest.is_hole() {
            continue;
        }
        let ring = [contour.polyline(FLATTENING)];
        if crossings_mm(&ring, Vector2::from_mm(1.0, 0.0))
            .len()
            .is_multiple_of(2)
        {
            return Holes::Elsewhere;
        }
        found = Holes::RoundTheMiddle;
    }
    found
}
