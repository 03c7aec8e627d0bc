//! What a feature runs along over its face: straight, the level line through its middle, or the line
//! between two marks.
//!
//! Straight on the sheet a line is the shortest over the face, and on a cone or a face with two radii
//! that leaves the level. A level line is a line of equal height v there; its development bends.

use super::along::along_marks;
use super::design::Design;
use super::elevation::projected;
use super::error::PrepareError;
use super::naming::name_of;
use super::outline::scaled;
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{FeatureEdit, Job, MarkId, PointRef, Runs};
use crate::outline::{FLATTENING, Outline};
use crate::place::Pose;
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::units::Length;

/// A straight side is bent in steps of this: over it the tightest level line taken (300 mm) leaves its
/// chord by 0.007 mm.
const STEP: Length = Length::from_mm(4.0);

/// An outline as its feature runs over the face, with what is to be said of that; nothing where it lies
/// straight, as it is. `mark` says where a mark stands.
///
/// # Errors
/// [`PrepareError`]: a mark that the line runs between is missing, an outline that reaches off the face.
fn running(
    outline: &Outline<Flat>,
    (job, feature, edit): (&Job, &str, &FeatureEdit),
    (surface, pose): (&Surface, &Pose),
    mark: impl Fn(&MarkId) -> Option<Point2<Face>>,
) -> Result<Option<(Outline<Flat>, String)>, PrepareError> {
    let lost = |why| PrepareError::Surface {
        feature: feature.to_owned(),
        why,
    };
    match edit.runs {
        Some(Runs::Level) if bends(surface) => {
            let bent = along_level(outline, surface, pose).map_err(lost)?;
            Ok(Some((bent, "along the level line".to_owned())))
        }
        Some(Runs::Along) => {
            let refused = |why: String| PrepareError::Elevation {
                feature: feature.to_owned(),
                why,
            };
            let line = edit.along.as_ref().ok_or_else(|| {
                refused("it runs along a line between two marks: say which two".into())
            })?;
            let called = |m: &MarkId| name_of(job, &PointRef::Mark(m.clone()));
            let at = |m: &MarkId| {
                mark(m).ok_or_else(|| {
                    refused(format!(
                        "mark {} is not placed on this face: choose another that its line runs between",
                        called(m)
                    ))
                })
            };
            if line.from == line.to {
                return Err(refused(
                    "a line runs between two marks: choose another for one of them".into(),
                ));
            }
            let ends = [at(&line.from)?, at(&line.to)?];
            let bent = along_marks(outline, surface, pose, ends).map_err(lost)?;
            let words = format!("along the line {}–{}", called(&line.from), called(&line.to));
            Ok(Some((bent, words)))
        }
        _ => Ok(None),
    }
}

/// An outline as its feature has it on a face about its middle: as it is seen, along what it runs, or
/// straight; `scale` as it follows its marks. With what that was, where it is to be said.
///
/// # Errors
/// As [`running`]; [`PrepareError`] where no line of sight meets the face.
pub(super) fn as_chosen(
    design: &Design<'_>,
    outline: Outline<Flat>,
    on: (&Surface, &Pose),
    scale: f64,
    mark: impl Fn(&MarkId) -> Option<Point2<Face>>,
) -> Result<(Outline<Flat>, Option<String>), PrepareError> {
    if let Some(seen) = projected(design, &outline)? {
        let (outline, words) = seen.whole(&design.name)?;
        return Ok((scaled(outline, scale), Some(words)));
    }
    let outline = scaled(outline, scale);
    let run = (design.names.job, design.name.as_str(), design.edit.as_ref());
    Ok(match running(&outline, run, on, mark)? {
        Some((bent, words)) => (bent, Some(words)),
        None => (outline, None),
    })
}

impl Design<'_> {
    /// Where the pattern has a mark.
    pub(super) fn on_its_pattern(&self, mark: &MarkId) -> Option<Point2<Face>> {
        let k = self.names.marks.iter().position(|id| id == mark)?;
        self.nominal.layout.marks.get(k).copied()
    }

    /// An outline as the feature runs over the pattern's face ([`running`]).
    ///
    /// # Errors
    /// As [`running`].
    pub(super) fn run_over(
        &self,
        outline: &Outline<Flat>,
        pose: &Pose,
    ) -> Result<Option<(Outline<Flat>, String)>, PrepareError> {
        let on = (&self.nominal.layout.surface, pose);
        let run = (self.names.job, self.name.as_str(), self.edit.as_ref());
        running(outline, run, on, |m| self.on_its_pattern(m))
    }
}

/// An outline bent so that what is level on it lies on level lines of the face, its middle and its up
/// staying where they are; unchanged on faces whose level lines unroll straight.
///
/// A place x along and y above the middle comes x along the level line and from there y up the face.
///
/// # Errors
/// An outline that reaches off the face.
fn along_level(
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
const fn bends(surface: &Surface) -> bool {
    matches!(
        surface,
        Surface::Cone(_) | Surface::TwoRadii(_) | Surface::Scan(_)
    )
}
