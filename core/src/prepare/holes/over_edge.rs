//! Whether a bracket is wider than its face: holes that would break an edge that was read.

use super::stops::{Among, NEAREST, away};
use crate::frames::{Flat, Vector2};
use crate::job::{EdgeId, EdgeLies, Measured, PointRef};
use crate::prepare::naming::name_of;
use crate::run::counts;
use crate::surface::{Shape, SurfaceError};
use crate::units::Length;

/// Cosine of 60°: a face that leans more from the drill is not looked at for its edges.
const FACING: f64 = 0.5;

/// The first hole that would break an edge of its face, by how much, and which edge, read from which
/// marks: square distances that were read on the casting say how far the face reaches there. Through
/// two of them the edge is known to run; of one alone it runs as its side of the face does.
///
/// # Errors
/// A mark where the face has no tangents.
pub(super) fn over_an_edge(
    of: &Among<'_>,
    places: &[Vector2<Flat>],
    drill: Length,
) -> Result<Option<OverEdge>, SurfaceError> {
    for (id, edge) in &of.job.edges {
        let Some(lies) = edge.lies else { continue };
        let read = read_of(of, id, lies)?;
        let Some((a, out, b)) = ends(&read) else {
            continue;
        };
        for (hole, place) in (1_u32..).zip(places) {
            let by = Length::from_mm((*place - a.at).dot(out) + drill.mm() / 2.0);
            if by > Length::ZERO {
                let from: Vec<String> = [Some(a), b]
                    .into_iter()
                    .flatten()
                    .map(|e| name_of(of.job, &PointRef::Mark(of.ids[e.mark].clone())))
                    .collect();
                return Ok(Some(OverEdge {
                    hole,
                    by,
                    edge: lies.words(),
                    from: from.join(" and "),
                }));
            }
        }
    }
    Ok(None)
}

/// A place of an edge opposite a mark, seen along the drill, and the way off the casting there.
#[derive(Clone, Copy)]
struct OfEdge {
    mark: usize,
    at: Vector2<Flat>,
    out: Vector2<Flat>,
}

/// Where an edge was read on the casting, the latest of each mark.
fn read_of(of: &Among<'_>, id: &EdgeId, lies: EdgeLies) -> Result<Vec<OfEdge>, SurfaceError> {
    let surface = &of.layout.surface;
    let mut all: Vec<OfEdge> = Vec::new();
    for reading in of.job.readings.iter().rev() {
        let says = &reading.says;
        let Measured::Square {
            edge,
            to: PointRef::Mark(mark),
        } = &says.of
        else {
            continue;
        };
        let here = edge == id && says.casting == *of.casting && counts(of.job, says);
        let (Some(k), true) = (of.ids.iter().position(|m| m == mark), here) else {
            continue;
        };
        // Where the face turns away from the drill its edge lies round the corner.
        let away_turned = surface.normal(of.layout.marks[k])?.dot(of.axes.out) < FACING;
        if away_turned || all.iter().any(|e| e.mark == k) {
            continue;
        }
        let out = away(of, k, lies)?;
        let off = surface.jet(of.layout.marks[k])?.at - of.axes.at;
        let from = Vector2::<Flat>::from_mm(off.dot(of.axes.across), off.dot(of.axes.up));
        all.push(OfEdge {
            mark: k,
            at: from + out * says.value.mm.mm(),
            out,
        });
    }
    Ok(all)
}

/// A place of an edge, the way off the casting, and the place that tells how it runs, where one does.
fn ends(read: &[OfEdge]) -> Option<(OfEdge, Vector2<Flat>, Option<OfEdge>)> {
    let first = *read.first()?;
    let far = |e: &OfEdge| (e.at - first.at).norm_mm();
    let other = read
        .iter()
        .copied()
        .max_by(|a, b| far(a).total_cmp(&far(b)));
    let runs = other.filter(|o| far(o) >= NEAREST.mm());
    let out = runs.and_then(|o| (o.at - first.at).unit()).map(|along| {
        let square = along.perp();
        if square.dot(first.out) < 0.0 {
            -square
        } else {
            square
        }
    });
    Some((first, out.unwrap_or(first.out), runs))
}

/// A hole that would break an edge.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OverEdge {
    pub(super) hole: u32,
    pub(super) by: Length,
    pub(super) edge: &'static str,
    pub(super) from: String,
}
