//! A point put down on the picture: the distances that say the same, as a drawing would give them.
//!
//! No coordinate is kept but on a scan. What is dragged becomes distances over the surface from marks that
//! readings hold, and the side of the line; they stand in the table like any reading, as *from the
//! drawing*, and a tape's reading of the same may take their place. On a face from a scan places are
//! picked, not read: there what is dragged is picked anew.

use super::super::Source;
use super::super::elevation::met_in_view;
use super::super::error::PrepareError;
use super::super::naming::name_of;
use super::{Opened, line_of, opened};
use crate::frames::{Face, Point2};
use crate::job::{FaceId, Job, LineSide, Measured, PointRef, SeenFrom};
use crate::surface::{Shape, Surface};
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// One distance of a point put down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawnDistance {
    /// What it is, over the surface.
    pub of: Measured,
    /// How long, in whole tenths of a millimetre: nobody drags finer.
    pub value: Length,
}

/// A point put down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DrawnPlace {
    /// Two distances, or three where three marks are held; none on a face from a scan.
    pub distances: Vec<DrawnDistance>,
    /// On a face from a scan: where it is picked now, across and up, to a thousandth as picks are kept.
    #[serde(default)]
    pub picked: Option<[Length; 2]>,
    /// On which side of the line from the first mark to the second it lies.
    pub side: LineSide,
}

/// Where a drawing as a view has a point: from its one anchor, a mark.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ViewPlace {
    /// From where the drawing looks; it names the anchor.
    pub from: SeenFrom,
    /// How far to the right of the anchor, in the view; to its left where negative.
    pub right: Length,
    /// How far above it; below it where negative.
    pub up: Length,
}

/// What a place on a client's drawing comes to on the pattern's face, carried there along the sight.
///
/// # Errors
/// As [`drawn_place`]; [`PrepareError::Elevation`] where the anchor is not placed, or the face turns
/// away before the place is met, or further than an outline may.
pub fn place_in_view(
    source: &Source<'_>,
    face_id: &FaceId,
    of: &PointRef,
    view: &ViewPlace,
) -> Result<DrawnPlace, PrepareError> {
    let job = source.job;
    let opened = opened(job, face_id)?;
    let refused = |why: String| PrepareError::Elevation {
        feature: name_of(job, of),
        why,
    };
    let marks = opened.placed.marks.as_ref().ok_or_else(|| open(job, of))?;
    let anchor = view
        .from
        .mark()
        .ok_or_else(|| refused("say from which mark the drawing measures it".into()))?;
    let at = marks.at(&PointRef::Mark(anchor.clone())).ok_or_else(|| {
        refused(format!(
            "mark {} is not placed on this face yet: choose another, or read it first",
            name_of(job, &PointRef::Mark(anchor.clone()))
        ))
    })?;
    let met = met_in_view(
        &marks.adjusted.surface,
        at,
        &view.from,
        [view.right, view.up],
    );
    let there = met.map_err(refused)?;
    distances_to(job, &opened, of, there)
}

fn open(job: &Job, of: &PointRef) -> PrepareError {
    PrepareError::PatternNotPlaced {
        point: name_of(job, of),
        need: "read two marks from each other on the pattern, then put it down".into(),
        of: Some(of.clone()),
        either_side: false,
    }
}

/// What a point put down at a place of the picture (mm, y up) comes to.
///
/// # Errors
/// [`PrepareError`] when fewer than two marks are held, or the place is not on the face.
pub fn drawn_place(
    source: &Source<'_>,
    face_id: &FaceId,
    of: &PointRef,
    at_mm: [f64; 2],
) -> Result<DrawnPlace, PrepareError> {
    let job = source.job;
    let opened = opened(job, face_id)?;
    let picture = opened.picture.as_ref().ok_or_else(|| open(job, of))?;
    let [x_mm, y_mm] = at_mm;
    let at = picture.development.face(Point2::from_mm(x_mm, y_mm));
    let at = at.map_err(|why| PrepareError::Surface {
        feature: name_of(job, of),
        why,
    })?;
    distances_to(job, &opened, of, at)
}

fn distances_to(
    job: &Job,
    Opened {
        placed, picture, ..
    }: &Opened<'_>,
    of: &PointRef,
    at: Point2<Face>,
) -> Result<DrawnPlace, PrepareError> {
    let open = || open(job, of);
    let (Some(marks), Some(picture)) = (placed.marks.as_ref(), picture.as_ref()) else {
        return Err(open());
    };
    let line = line_of(placed, Some(picture), None).ok_or_else(open)?;
    let off_face = |why| PrepareError::Surface {
        feature: name_of(job, of),
        why,
    };
    let flat = picture.development.flat(at).map_err(off_face)?;
    let surface = &marks.adjusted.surface;
    let [_, across] = line.along_across(flat);
    let side = if across >= 0.0 {
        LineSide::Above
    } else {
        LineSide::Below
    };
    if matches!(surface, Surface::Scan(_)) {
        // A place off the scan is refused before anything is kept.
        surface.jet(at).map_err(off_face)?;
        let kept = |mm: f64| Length::from_mm(libm::round(mm * 1000.0) / 1000.0);
        return Ok(DrawnPlace {
            distances: Vec::new(),
            picked: Some([kept(at.x_mm()), kept(at.y_mm())]),
            side,
        });
    }
    let mut distances = Vec::new();
    for from in &marks.points {
        let (PointRef::Mark(_), Some(there)) = (from, marks.at(from)) else {
            continue;
        };
        if from == of || distances.len() == 3 {
            continue;
        }
        let turns = surface.nearest_turns(there, at);
        let over = surface.over_surface(there, at, turns).map_err(off_face)?;
        distances.push(DrawnDistance {
            of: Measured::Over {
                from: from.clone(),
                to: of.clone(),
            },
            value: Length::from_mm(libm::round(over.mm * 10.0) / 10.0),
        });
    }
    if distances.len() < 2 {
        return Err(open());
    }
    Ok(DrawnPlace {
        distances,
        picked: None,
        side,
    })
}
