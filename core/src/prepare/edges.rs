//! Edges as datums: where each runs, and the corner in which two of them meet.
//!
//! ```text
//!          ╎ end                 place from both: `off` square from the end, `up` square from the edge
//!          ╎   off ◯             the sheet is laid along the edge and slid up to the end
//!          ╎ up│   │
//!   corner ┼───┴───┴──── along   edge
//! ```
//! In a network an edge has two unknowns. Where something follows two edges the corner and a point
//! further along each are points of the network too, held to the edges, so that rules, layings and
//! covariances see them like marks; they are no marks of the job, and no cross is drawn on them.

use super::design::Design;
use super::error::PrepareError;
use super::feature::CrossMiss;
use super::network::readings_on;
use crate::frames::{Face, Point2, Vector2};
use crate::job::{
    CastingId, EdgeId, EdgeLies, EdgeMade, FaceId, FeatureId, Job, Kept, MarkId, Measured,
    PointRef, Reading, RuleSpec,
};
use crate::place::Rule;
use crate::readings::{EdgeKind, EdgeStart, Held};
use crate::sheet::{FlatPath, RegisterEdge};
use crate::template::{Laying, Shares};
use crate::units::{Angle, Length};

/// The corner, further along the edge, further along the end: no id that anybody types begins so.
const NAMES: [&str; 3] = ["--corner", "--along", "--end"];

/// An edge drawn on a sheet reaches so far from the corner at least.
const LEAST_REACH: Length = Length::from_mm(150.0);

/// And so far beyond what follows it.
const BEYOND: Length = Length::from_mm(30.0);

/// Two edges that something follows.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corner {
    pub(super) edge: EdgeId,
    pub(super) end: EdgeId,
    /// How far along each the other points lie.
    pub(super) reach: [Length; 2],
}

/// The three points of a corner.
pub(super) fn points() -> impl Iterator<Item = MarkId> {
    // Each is made of small letters and hyphens: none is refused.
    NAMES.into_iter().filter_map(|name| MarkId::new(name).ok())
}

/// One of the points of a corner, and no mark.
pub(super) fn is_point(mark: &MarkId) -> bool {
    NAMES.contains(&mark.as_str())
}

/// Edges of a face, in one order for all its castings.
pub(super) fn edges_of(job: &Job, face: &FaceId) -> Vec<EdgeId> {
    job.edges
        .iter()
        .filter(|(_, e)| e.face.as_ref() == Some(face))
        .map(|(id, _)| id.clone())
        .collect()
}

/// The letter of an edge.
pub(super) fn letter(job: &Job, edge: &EdgeId) -> String {
    job.edges
        .get(edge)
        .and_then(|e| e.letter.clone())
        .unwrap_or_else(|| edge.to_string())
}

/// The corner that a feature follows, as far as the pattern's readings reach.
pub(super) fn corner_of(
    job: &Job,
    rule: &RuleSpec,
    feature: Option<&FeatureId>,
    (face, pattern): (&FaceId, &CastingId),
    name: &str,
) -> Result<Option<Corner>, PrepareError> {
    let RuleSpec::Edges { edge, end } = rule else {
        return Ok(None);
    };
    let all = edges_of(job, face);
    if edge == end || !all.contains(edge) || !all.contains(end) {
        return Err(super::design::missing(
            "the pair of edges",
            name,
            "let it follow two different edges of its own face",
        ));
    }
    let readings = readings_on(job, face, pattern);
    let off = |from: &EdgeId| {
        readings.iter().rev().find_map(|r| match &r.says.of {
            Measured::Square {
                edge,
                to: PointRef::Feature(f),
            } if edge == from && Some(f) == feature => Some(r.says.value.mm.abs()),
            _ => None,
        })
    };
    let reach = |from: &EdgeId| {
        let wanted = off(from).map_or(LEAST_REACH, |o| o + BEYOND);
        if wanted > LEAST_REACH {
            wanted
        } else {
            LEAST_REACH
        }
    };
    Ok(Some(Corner {
        edge: edge.clone(),
        end: end.clone(),
        reach: [reach(end), reach(edge)],
    }))
}

/// Where the edges of a face run on the pattern, so far as square distances from them to places tell.
///
/// The face lies to the left of each, so that square distances are more than nothing.
pub(super) fn starts(
    job: &Job,
    face: &FaceId,
    readings: &[&Kept<Reading>],
    at: &dyn Fn(&PointRef) -> Option<Point2<Face>>,
) -> Vec<(EdgeId, EdgeStart)> {
    edges_of(job, face)
        .into_iter()
        .map(|id| {
            let edit = job.edges.get(&id).cloned().unwrap_or_default();
            let squares: Vec<(Point2<Face>, f64)> = readings
                .iter()
                .filter_map(|r| match &r.says.of {
                    Measured::Square { edge, to } if *edge == id => {
                        Some((at(to)?, r.says.value.mm.mm()))
                    }
                    _ => None,
                })
                .collect();
            let (along, through) = line(&squares, turn_of(edit.lies.unwrap_or_default()));
            let kind = match edit.made {
                Some(EdgeMade::Trimmed) => EdgeKind::Trimmed,
                _ => EdgeKind::Moulded,
            };
            let start = EdgeStart {
                through,
                along,
                kind,
                held: Held::Free,
            };
            (id, start)
        })
        .collect()
}

/// Which way an edge runs so that the face lies to its left.
const fn turn_of(lies: EdgeLies) -> f64 {
    use core::f64::consts::{FRAC_PI_2, PI};
    match lies {
        EdgeLies::Below => 0.0,
        EdgeLies::Right => FRAC_PI_2,
        EdgeLies::Above => PI,
        EdgeLies::Left => -FRAC_PI_2,
    }
}

/// The line that lies so far square from these places: of all directions, a degree apart within a
/// right angle of the usual one, that which fits best, then the best near it.
fn line(squares: &[(Point2<Face>, f64)], usual: f64) -> (Angle, Point2<Face>) {
    let n = squares.len().max(1) as f64;
    let left = |turn: f64| Vector2::<Face>::from_mm(-libm::sin(turn), libm::cos(turn));
    // How far the line lies along its normal, and how badly it fits.
    let fit = |turn: f64| {
        let normal = left(turn);
        let feet: Vec<f64> = squares
            .iter()
            .map(|(p, q)| normal.dot(*p - Point2::ORIGIN) - q)
            .collect();
        let c = feet.iter().sum::<f64>() / n;
        let off: f64 = feet.iter().map(|f| (f - c) * (f - c)).sum();
        (c, off)
    };
    let best = |about: f64, step: f64, steps: i32| {
        let mut best = (about, fit(about).1);
        // From the usual way outwards: of two that fit alike the nearer is taken.
        for k in 1..=steps {
            for turn in [about + f64::from(k) * step, about - f64::from(k) * step] {
                let off = fit(turn).1;
                if off < best.1 - 1e-6 {
                    best = (turn, off);
                }
            }
        }
        best.0
    };
    let coarse = best(usual, core::f64::consts::PI / 180.0, 90);
    let turn = best(coarse, core::f64::consts::PI / 18_000.0, 100);
    let (c, _) = fit(turn);
    let middle = squares.iter().fold(Vector2::<Face>::ZERO, |sum, (p, _)| {
        sum + (*p - Point2::ORIGIN) * (1.0 / n)
    });
    let normal = left(turn);
    let along = Vector2::<Face>::from_mm(libm::cos(turn), libm::sin(turn));
    (
        Angle::from_rad(turn),
        Point2::ORIGIN + normal * c + along * along.dot(middle),
    )
}

/// The place at such square distances from two edges; nothing where they run side by side.
pub(super) fn place([(a, qa), (b, qb)]: [(&EdgeStart, f64); 2]) -> Option<Point2<Face>> {
    let parts = |e: &EdgeStart, q: f64| {
        let along = Vector2::<Face>::from_mm(1.0, 0.0).turned(e.along.rad());
        let normal = along.perp();
        (normal, normal.dot(e.through - Point2::ORIGIN) + q)
    };
    let ((n, c), (m, d)) = (parts(a, qa), parts(b, qb));
    let det = n.cross(m);
    (det.abs() > 0.1).then(|| {
        Point2::from_mm(
            (c * m.y_mm() - d * n.y_mm()) / det,
            (d * n.x_mm() - c * m.x_mm()) / det,
        )
    })
}

/// An edge on a casting: as on the pattern, smaller about a middle.
pub(super) fn smaller(edge: &EdgeStart, middle: Point2<Face>, factor: f64) -> EdgeStart {
    EdgeStart {
        through: middle + (edge.through - middle) * factor,
        held: Held::Free,
        ..*edge
    }
}

/// How a sheet that follows a corner is laid.
pub(super) fn words(job: &Job, corner: &Corner) -> String {
    let (edge, end) = (letter(job, &corner.edge), letter(job, &corner.end));
    format!(
        "Fold the sheet on the line of edge {edge} and hook the fold on edge {edge}, then slide until the line of edge {end} meets edge {end} at the corner."
    )
}

/// A sheet that follows a corner is hooked on its edge and slid up to the corner.
pub(super) fn laid_on_edges(rule: &Rule) -> Option<Laying> {
    match rule {
        Rule::Edges { corner, along, .. } => Some(Laying::FirstThenAlong {
            first: *corner,
            then: *along,
        }),
        Rule::Line { .. } | Rule::BestFit { .. } => None,
    }
}

/// How well the sheet comes onto what it is laid on: crosses, or edges that are not quite straight.
pub(super) fn pointing(design: &Design<'_>) -> Length {
    let usual = Shares::default().pointing;
    let waves = design.corner.iter().flat_map(|c| [&c.edge, &c.end]);
    let waves = waves
        .filter_map(|id| {
            Some(
                design
                    .edges
                    .iter()
                    .find(|(e, _)| e == id)?
                    .1
                    .kind
                    .waviness(),
            )
        })
        .fold(Length::ZERO, |most, w| if w > most { w } else { most });
    Length::from_mm(libm::hypot(usual.mm(), waves.mm()))
}

/// The crosses that are drawn, and the lines of the edges: on the points of a corner stands no cross.
pub(super) fn apart(
    job: &Job,
    crosses: Vec<CrossMiss>,
    corner: Option<&Corner>,
) -> (Vec<CrossMiss>, Vec<RegisterEdge>) {
    let (points, crosses): (Vec<_>, Vec<_>) = crosses.into_iter().partition(|c| is_point(&c.mark));
    let Some(corner) = corner else {
        return (crosses, Vec::new());
    };
    let at = |k: usize| {
        points
            .iter()
            .find(|c| c.mark.as_str() == NAMES[k])
            .map(|c| c.at)
    };
    let line = |k: usize, edge: &EdgeId, says: &str| {
        let path = FlatPath::polyline(&[at(0)?, at(k)?], false)?;
        Some(RegisterEdge {
            label: format!("{says} edge {}", letter(job, edge)),
            path,
        })
    };
    let lines = [
        line(1, &corner.edge, "fold here, hook on"),
        line(2, &corner.end, "up to"),
    ];
    (crosses, lines.into_iter().flatten().collect())
}
