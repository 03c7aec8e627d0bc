//! Lettering that runs along the level line through its middle.
//!
//! Straight on the sheet a line is the shortest over the face, and on a cone or a face with two radii
//! that leaves the level. A level line is a line of equal height v there; its development bends.

use super::design::Design;
use super::elevation::projected;
use super::error::PrepareError;
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::Runs;
use crate::outline::{FLATTENING, Outline};
use crate::place::Pose;
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::units::Length;

/// A straight side is bent in steps of this: over it the tightest level line taken (300 mm) leaves its
/// chord by 0.007 mm.
const STEP: Length = Length::from_mm(4.0);

/// An outline as it lies on a face about its middle: as it is seen, along the level line, or straight,
/// whichever was chosen; `scale` as it follows its marks. With what that was, in words that follow its
/// size.
///
/// # Errors
/// [`PrepareError`] where it reaches off the face.
pub(super) fn as_chosen(
    design: &Design<'_>,
    outline: Outline<Flat>,
    (surface, pose): (&Surface, &Pose),
    scale: f64,
) -> Result<(Outline<Flat>, String), PrepareError> {
    if let Some(seen) = projected(design, &outline)? {
        let (outline, words) = seen.whole(&design.name)?;
        return Ok((scaled(outline, scale), format!(", {words}")));
    }
    let outline = scaled(outline, scale);
    if design.edit.runs != Some(Runs::Level) || !bends(surface) {
        return Ok((outline, String::new()));
    }
    let bent = along_level(&outline, surface, pose).map_err(|why| PrepareError::Surface {
        feature: design.name.clone(),
        why,
    })?;
    Ok((bent, ", along the level line".to_owned()))
}

fn scaled(outline: Outline<Flat>, factor: f64) -> Outline<Flat> {
    if (factor - 1.0).abs() < 1e-12 {
        return outline;
    }
    outline
        .sized(Length::from_mm(1.0), Length::from_mm(factor))
        .unwrap_or(outline)
}

/// An outline bent so that what is level on it lies on level lines of the face, its middle and its up
/// staying where they are; unchanged on faces whose level lines unroll straight.
///
/// A place x along and y above the middle comes x along the level line and from there y up the face.
///
/// # Errors
/// An outline that reaches off the face.
pub(super) fn along_level(
    outline: &Outline<Flat>,
    surface: &Surface,
    pose: &Pose,
) -> Result<Outline<Flat>, SurfaceError> {
    if !bends(surface) {
        return Ok(outline.clone());
    }
    let centre = pose.centre;
    // Which of both ways up the face the feature's own up goes.
    let way = if pose.up.y_mm() < 0.0 { -1.0 } else { 1.0 };
    let about = Development::new(surface, centre, Vector2::from_mm(0.0, way))?;
    // How long a step along the level line is for each millimetre of the chart.
    let wide = surface.jet(centre)?.du.norm().mm();
    let bent = |p: Point2<Flat>| {
        let at: Point2<Face> = centre + Vector2::from_mm(way * p.x_mm() / wide, way * p.y_mm());
        about.flat(at)
    };
    for &p in &outline.samples(STEP) {
        bent(p)?;
    }
    Ok(outline.mapped_by_points(|p| bent(p).unwrap_or(p), FLATTENING * 0.5, STEP))
}

/// Whether level lines of a face are other than the shortest over it.
pub(super) const fn bends(surface: &Surface) -> bool {
    matches!(
        surface,
        Surface::Cone(_) | Surface::TwoRadii(_) | Surface::Scan(_)
    )
}
