//! Where a design puts its feature on one casting: the marks read there, the rule applied to them.

use super::Source;
use super::carriers::{add_tied_crosses, carriers};
use super::design::{Design, missing, restrict, restrict_covariance};
use super::edges::smaller;
use super::error::PrepareError;
use super::face::casting_face;
use super::kept_level::{Levelled, levelled};
use super::naming::{casting_words, name_of};
use super::network::{MARK_SPREAD, Marks, Painted, Suspected, Wanted, adjusted};
use crate::frames::Point2;
use crate::job::{FeatureId, MarkId, PieceId, PointRef, Reading};
use crate::place::{Layout, Nominal, PlaceError, Placed, place};
use crate::surface::Surface;
use crate::units::Angle;
use nalgebra::DMatrix;

/// The marks of this piece's casting.
fn measured(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
    painted: Option<(&FeatureId, &[Reading])>,
) -> Result<Marks, PrepareError> {
    let job = source.job;
    let face_id = design
        .edit
        .face
        .as_ref()
        .ok_or_else(|| missing("the face", &design.name, "say what it lies on"))?;
    let part = job.faces.get(face_id).and_then(|f| f.part.clone());
    let part_id =
        part.ok_or_else(|| missing("the part", &design.name, "say which casting it is on"))?;
    let number = job
        .pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| n.to_string());
    let casting = job
        .casting_of(piece, &part_id)
        .ok_or_else(|| PrepareError::NoCasting {
            piece: number,
            part: job
                .parts
                .get(&part_id)
                .and_then(|p| p.name.clone())
                .unwrap_or_else(|| part_id.to_string()),
        })?;
    let readings = super::network::readings_on(job, face_id, casting);
    let read = |m: &MarkId| {
        let point = PointRef::Mark(m.clone());
        readings.iter().any(|r| r.says.of.touches(&point))
    };
    let spec = design.edit.rule.as_ref();
    let needed = |m: &MarkId| spec.is_some_and(|s| s.marks().contains(&m));
    // What follows edges alone is laid on them, whatever was read.
    let by_edges = design.corner.as_ref().is_some_and(|c| c.other().is_some());
    if !by_edges && !design.names.marks.iter().any(read) {
        let letters: Vec<String> = design
            .names
            .marks
            .iter()
            .filter(|m| needed(m))
            .map(|m| name_of(job, &PointRef::Mark(m.clone())))
            .collect();
        return Err(PrepareError::NotMeasured {
            casting: casting_words(job, casting),
            list: letters.join(" to "),
        });
    }
    let (surface, sizes) =
        casting_face(&design.pattern, design.shrinkage).map_err(|why| PrepareError::Surface {
            feature: design.name.clone(),
            why,
        })?;
    let factor = 1.0 - design.shrinkage / 1000.0;
    // A scan shrinks about the middle of its own chart.
    let middle = match surface {
        Surface::Scan(_) => Point2::ORIGIN,
        _ => design.on_pattern,
    };
    let mut starts: Vec<_> = design
        .names
        .marks
        .iter()
        .zip(&design.nominal.layout.marks)
        .filter(|(m, _)| read(m) || needed(m))
        .map(|(m, at)| (PointRef::Mark(m.clone()), middle + (*at - middle) * factor))
        .collect();
    add_tied_crosses(job, face_id, casting, &readings, &mut starts)?;
    adjusted(&Wanted {
        job,
        face: face_id,
        casting,
        surface,
        sizes,
        readings: &readings,
        starts,
        spread: Some(MARK_SPREAD),
        painted: painted.map(|(feature, readings)| Painted {
            feature,
            start: middle + (design.nominal.centre - middle) * factor,
            readings,
        }),
        edges: (design.edges.iter())
            .map(|(id, e)| (id.clone(), smaller(e, middle, factor)))
            .collect(),
        corner: design.corner.as_ref(),
        heights: &[],
    })
}

/// A design applied to the marks of one casting.
pub(super) struct Standing {
    pub(super) marks: Marks,
    /// How many of the marks are the design's own; the rest carry others over.
    pub(super) kept: usize,
    pub(super) ids: Vec<MarkId>,
    pub(super) layout: Layout,
    pub(super) nominal: Nominal,
    pub(super) nominal_covariance: DMatrix<f64>,
    pub(super) covariance: DMatrix<f64>,
    pub(super) placed: Placed,
    /// How it is turned on this casting's line so that it stands as level as on the pattern.
    pub(super) level: Option<Levelled>,
    /// The reading of the pattern that goes least with its others.
    pub(super) odd_on_pattern: Option<Suspected>,
}

/// Where a design puts its feature on the casting of a piece.
pub(super) fn standing(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
) -> Result<Standing, PrepareError> {
    standing_with(source, design, piece, None)
}

/// The same, with the painted middle of a feature as the last of the marks where distances were
/// read to it: it carries nothing, and is seen from the target like any mark.
pub(super) fn standing_with(
    source: &Source<'_>,
    design: &Design<'_>,
    piece: &PieceId,
    painted: Option<(&FeatureId, &[Reading])>,
) -> Result<Standing, PrepareError> {
    let name = &design.name;
    let marks = measured(source, design, piece, painted)?;
    // The design's marks that this casting has too, in one order for both.
    let kept: Vec<usize> = (0..design.names.marks.len())
        .filter(|&k| {
            marks
                .index(&PointRef::Mark(design.names.marks[k].clone()))
                .is_some()
        })
        .collect();
    // After them the crosses that carry others over: they are on no drawing.
    let ids: Vec<MarkId> = kept
        .iter()
        .map(|&k| design.names.marks[k].clone())
        .chain(carriers(&marks, &design.names.marks))
        .collect();
    let order: Vec<usize> = ids
        .iter()
        .filter_map(|m| marks.index(&PointRef::Mark(m.clone())))
        .chain(painted.and_then(|(f, _)| marks.index(&PointRef::Feature(f.clone()))))
        .collect();
    let layout = Layout {
        surface: marks.adjusted.surface.clone(),
        marks: order
            .iter()
            .filter_map(|&k| marks.adjusted.points.get(k).map(|p| p.at))
            .collect(),
    };
    let extra = layout.marks.get(kept.len()..).unwrap_or_default();
    let nominal = restrict(design, &kept, extra);
    let nominal_covariance = restrict_covariance(design, &kept, extra.len());
    let covariance = marks.covariance(&order);
    let bad_place = |why: PlaceError| PrepareError::Place {
        feature: name.clone(),
        why,
    };
    let level = levelled(source.job, design, &marks, piece)?;
    let here = Nominal {
        turn: level.map_or(nominal.turn, |l| {
            Angle::from_rad(nominal.turn.rad() + l.by.rad())
        }),
        ..nominal.clone()
    };
    let placed = place(&here, &layout).map_err(bad_place)?;
    check_side(&placed, &covariance).map_err(bad_place)?;
    Ok(Standing {
        kept: kept.len(),
        marks,
        ids,
        layout,
        nominal,
        nominal_covariance,
        covariance,
        placed,
        level,
        odd_on_pattern: design.odd_on_pattern.clone(),
    })
}

/// A third mark too near the line can't say which side is up (design/11: under 3σ).
fn check_side(placed: &Placed, covariance: &DMatrix<f64>) -> Result<(), PlaceError> {
    let Some((offset, row)) = &placed.side else {
        return Ok(());
    };
    let mut variance = 0.0;
    for (i, a) in row.iter().enumerate() {
        for (j, b) in row.iter().enumerate() {
            variance += a * covariance[(i, j)] * b;
        }
    }
    let within_mm = 3.0 * libm::sqrt(variance.max(0.0));
    if offset.abs() < within_mm {
        Err(PlaceError::NoSide { within_mm })
    } else {
        Ok(())
    }
}
