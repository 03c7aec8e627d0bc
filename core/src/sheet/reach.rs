//! Whether everything on a template can be drawn at all.

use super::error::SheetError;
use super::input::{FlatPath, TemplateSheet};
use crate::frames::{Flat, Point2};

/// Nothing a workshop makes is farther from its centre than this.
const REACH_MM: f64 = 100_000.0;

/// Nothing to draw, or something out of all reach.
pub(super) fn check(sheet: &TemplateSheet) -> Result<(), SheetError> {
    let near =
        |q: Point2<Flat>| q.is_finite() && q.x_mm().abs() < REACH_MM && q.y_mm().abs() < REACH_MM;
    let out = |what: String| Err(SheetError::OutOfReach { what });
    for (name, paths) in [
        ("the paint edge", &sheet.paint_edges),
        ("the cut line", &sheet.cuts),
    ] {
        if !paths.iter().all(|q| q.is_finite() && traced_near(q)) {
            return out(name.into());
        }
    }
    if let Some(edge) = sheet
        .edges
        .iter()
        .find(|e| !e.path.is_finite() || !traced_near(&e.path))
    {
        return out(format!("the edge “{}”", edge.label));
    }
    let off = |p: &FlatPath| !p.is_finite() || !traced_near(p);
    if let Some(join) = sheet.joins.iter().find(|j| off(&j.path)) {
        return out(format!("the join “{}”", join.label));
    }
    if let Some(cross) = sheet.crosses.iter().find(|c| !near(c.place)) {
        return out(format!("cross {}", cross.letter));
    }
    if let Some(cross) = sheet.as_drawn.iter().find(|c| !near(c.place)) {
        return out(format!("cross {} as drawn", cross.letter));
    }
    if !sheet.centre_lines.iter().flatten().all(|q| near(*q)) {
        return out("a centre line".into());
    }
    if !sheet.ticks.iter().flatten().all(|q| near(*q)) {
        return out("a tick across the saw line".into());
    }
    if let Some(hole) = sheet.holes.iter().find(|h| !near(h.place)) {
        return out(format!("hole {}", hole.number));
    }
    if sheet.underlay.as_ref().is_some_and(|p| {
        [p.low, p.top()]
            .into_iter()
            .flat_map(|s| [s.x, s.y])
            .any(|um| f64::from(um).abs() >= REACH_MM * 1000.0)
    }) {
        return out("the picture".into());
    }
    if sheet.paint_edges.is_empty()
        && sheet.cuts.is_empty()
        && sheet.holes.is_empty()
        && sheet.crosses.is_empty()
    {
        return Err(SheetError::Empty);
    }
    Ok(())
}

fn traced_near(path: &FlatPath) -> bool {
    let near = |q: Point2<Flat>| q.x_mm().abs() < REACH_MM && q.y_mm().abs() < REACH_MM;
    near(path.start) && path.segments.iter().all(|s| near(s.to()))
}
