//! The marks of a casting as something flat comes to lie on them: a stencil, a drill template, a plate on
//! pins. Which it can lie on, why not on the others, and where each is seen from the target.

use super::carriers::{enough_to_lay_on, gone_on};
use super::edges::{is_point, laid_on_edges};
use super::error::PrepareError;
use super::naming::name_of;
use super::standing::Standing;
use crate::frames::{Flat, Point2};
use crate::job::{FaceId, Job, MarkId, PieceId, PointRef};
use crate::place::{Layout, Nominal, Pose, seen_from};
use crate::surface::{Development, SurfaceError};

/// All of them in the order of [`Standing::ids`].
pub(super) struct Registers {
    pub(super) letters: Vec<String>,
    /// Nothing was read to it on this casting.
    pub(super) unread: Vec<bool>,
    /// It can't be found at the casting's stage: why, in words.
    pub(super) gone: Vec<Option<String>>,
    /// Those that can be laid on, by their place among all.
    pub(super) on: Vec<usize>,
}

impl Registers {
    pub(super) fn of(
        job: &Job,
        face: Option<&FaceId>,
        piece: &PieceId,
        standing: &Standing,
    ) -> Self {
        let ids = &standing.ids;
        let point = |m: &MarkId| PointRef::Mark(m.clone());
        let unread: Vec<bool> = ids
            .iter()
            .map(|m| standing.marks.unread.contains(&point(m)))
            .collect();
        let gone = gone_on(job, face, piece, ids);
        // Points of an edge are laid on only where the sheet is hooked on edges.
        let hooked = laid_on_edges(&standing.nominal.rule).is_some();
        let on = (0..ids.len())
            .filter(|&k| !unread[k] && gone[k].is_none())
            .filter(|&k| hooked || !is_point(&ids[k]))
            .collect();
        Self {
            letters: ids.iter().map(|m| name_of(job, &point(m))).collect(),
            unread,
            gone,
            on,
        }
    }

    /// # Errors
    /// Marks are gone and nothing stands in for them.
    pub(super) fn enough(&self, job: &Job, name: &str, ids: &[MarkId]) -> Result<(), PrepareError> {
        enough_to_lay_on(job, name, ids, &self.gone, self.on.len())
    }

    pub(super) fn is_gone(&self) -> Vec<bool> {
        self.gone.iter().map(Option::is_some).collect()
    }

    /// *A can be found until the casting is primed; it is painted: no cross for it*.
    pub(super) fn without(&self, what: &str) -> impl Iterator<Item = String> {
        let gone = self.gone.iter().flatten();
        gone.map(move |why| format!("{why}: no {what} for it"))
    }
}

/// Where marks of a casting lie on a sheet about its target.
pub(super) fn seen_on(
    sheet: &Development,
    layout: &Layout,
    pose: &Pose,
) -> Result<Vec<Point2<Flat>>, SurfaceError> {
    let marks = layout.marks.iter();
    marks
        .map(|&m| sheet.flat(layout.surface.nearest(m, pose.centre)))
        .collect()
}

/// Where the drawing's own sheet has the marks.
pub(super) fn on_drawing(nominal: &Nominal, name: &str) -> Result<Vec<Point2<Flat>>, PrepareError> {
    seen_from(nominal).map_err(|why| PrepareError::Place {
        feature: name.to_owned(),
        why,
    })
}
