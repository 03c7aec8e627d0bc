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
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{
    CastingId, EdgeId, EdgeLies, EdgeMade, FaceId, FeatureId, Job, Kept, MarkId, Measured,
    PointRef, Reading, RuleSpec,
};
use crate::place::Rule;
use crate::readings::{EdgeKind, EdgeStart, Held};
use crate::sheet::{FlatPath, FlatSegment, RegisterEdge};
use crate::surface::{Axis, Surface};
use crate::template::{Laying, Shares};
use crate::units::{Angle, Length};

/// The corner, further along the edge, further along the end: no id that anybody types begins so.
const NAMES: [&str; 3] = ["--corner", "--along", "--end"];

/// An edge drawn on a sheet reaches so far from the corner at least.
const LEAST_REACH: Length = Length::from_mm(150.0);

/// And so far beyond what follows it.
const BEYOND: Length = Length::from_mm(30.0);

/// Two edges that something follows, or one and a mark by which its points are found along it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corner {
    pub(super) edge: EdgeId,
    pub(super) end: Along,
    /// How far along each the other points lie.
    pub(super) reach: [Length; 2],
}

/// What says how far along the edge its points lie.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Along {
    /// The other edge.
    Edge(EdgeId),
    /// Nothing else follows: they lie so far from a mark.
    Mark(MarkId),
}

impl Corner {
    /// The other edge, where two are followed.
    pub(super) const fn other(&self) -> Option<&EdgeId> {
        match &self.end {
            Along::Edge(edge) => Some(edge),
            Along::Mark(_) => None,
        }
    }
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

/// An edge that goes round a face whose axis stands up: at the foot or the head of a cone.
pub(super) fn goes_round(job: &Job, edge: &EdgeId) -> bool {
    let lies = job.edges.get(edge).and_then(|e| e.lies);
    lies.unwrap_or_default().faces()
}

/// On a face round both ways an edge is no line of any unrolled face.
pub(super) const fn bend(surface: &Surface) -> bool {
    !matches!(
        surface,
        Surface::Flat(_) | Surface::Cylinder(_) | Surface::Cone(_)
    )
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
    let all = edges_of(job, face);
    let (edge, end) = match rule {
        RuleSpec::Edges { edge, end } => (edge, end),
        RuleSpec::OffEdge { edge, from, .. } if all.contains(edge) => {
            return Ok(Some(Corner {
                edge: edge.clone(),
                end: Along::Mark(from.clone()),
                reach: [LEAST_REACH; 2],
            }));
        }
        RuleSpec::OffEdge { .. } => {
            return Err(super::design::missing(
                "the edge",
                name,
                "let it follow an edge of its own face",
            ));
        }
        RuleSpec::Line { .. } | RuleSpec::BestFit { .. } => return Ok(None),
    };
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
        end: Along::Edge(end.clone()),
        reach: [reach(end), reach(edge)],
    }))
}

/// Where the edges of a face run on the pattern, so far as square distances from them to places tell.
///
/// The face lies to the left of each, so that square distances are more than nothing. On a cone an edge
/// goes round square to the axis, or up it, and lies so from the start.
pub(super) fn starts(
    job: &Job,
    face: &FaceId,
    readings: &[&Kept<Reading>],
    surface: &Surface,
    at: &dyn Fn(&PointRef) -> Option<Point2<Face>>,
) -> Vec<(EdgeId, EdgeStart)> {
    let on_cone = matches!(surface, Surface::Cone(_));
    edges_of(job, face)
        .into_iter()
        .map(|id| {
            let edit = job.edges.get(&id).cloned().unwrap_or_default();
            let squares = squares_from(&id, readings, at);
            let (along, through) = line(&squares, usual_turn(job, &id), !on_cone);
            let kind = match edit.made {
                Some(EdgeMade::Trimmed) => EdgeKind::Trimmed,
                _ => EdgeKind::Moulded,
            };
            let start = EdgeStart {
                through,
                along,
                kind,
                held: Held::Free,
                slope_sd: on_cone.then_some(SQUARE_TO_THE_AXIS),
            };
            (id, start)
        })
        .collect()
}

/// An edge of a cone runs so truly round it or up it, one standard deviation: 10 mm over half a metre
/// (common practice, no source). It says how marks are turned on the pattern, and bends no readings.
const SQUARE_TO_THE_AXIS: f64 = 0.02;

/// How far marks lie square from an edge.
fn squares_from(
    id: &EdgeId,
    readings: &[&Kept<Reading>],
    at: &dyn Fn(&PointRef) -> Option<Point2<Face>>,
) -> Vec<(Point2<Face>, f64)> {
    let square = |r: &&Kept<Reading>| match &r.says.of {
        Measured::Square { edge, to } if edge == id => Some((at(to)?, r.says.value.mm.mm())),
        _ => None,
    };
    readings.iter().filter_map(square).collect()
}

/// How far marks that were laid out flat, somehow turned, are to be turned back so that an edge of a
/// round face runs round it or along it. Nothing where too few were read square from one.
pub(super) fn turned_by(
    job: &Job,
    face: &FaceId,
    readings: &[&Kept<Reading>],
    at: &dyn Fn(&PointRef) -> Option<Point2<Face>>,
) -> Option<f64> {
    let told = |id: &EdgeId| {
        let squares = squares_from(id, readings, at);
        let usual = usual_turn(job, id);
        (squares.len() >= 2).then(|| usual - line(&squares, usual, true).0.rad())
    };
    let all = edges_of(job, face);
    // What goes round bends the most with how marks are turned: it is asked first.
    let (round, up): (Vec<_>, Vec<_>) = all.iter().partition(|id| goes_round(job, id));
    round.into_iter().chain(up).find_map(told)
}

fn usual_turn(job: &Job, id: &EdgeId) -> f64 {
    turn_of(job.edges.get(id).and_then(|e| e.lies).unwrap_or_default())
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
/// right angle of the usual one, that which fits best, then the best near it. One that may not lean
/// runs as usual.
fn line(squares: &[(Point2<Face>, f64)], usual: f64, may_lean: bool) -> (Angle, Point2<Face>) {
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
    let turn = if may_lean {
        let coarse = best(usual, core::f64::consts::PI / 180.0, 90);
        best(coarse, core::f64::consts::PI / 18_000.0, 100)
    } else {
        usual
    };
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
pub(super) fn words(job: &Job, corner: &Corner, surface: &Surface) -> String {
    let edge = letter(job, &corner.edge);
    let end = corner.other().map_or_else(String::new, |e| letter(job, e));
    if is_cut(job, &corner.edge, surface) {
        return format!(
            "Cut the sheet off on the line of edge {edge} and lay the cut flush with edge {edge}, then slide round until the line of edge {end} meets edge {end} at the corner."
        );
    }
    format!(
        "Fold the sheet on the line of edge {edge} and hook the fold on edge {edge}, then slide until the line of edge {end} meets edge {end} at the corner."
    )
}

/// Paper that lies round a face can't be folded over an edge that goes round it too.
fn is_cut(job: &Job, edge: &EdgeId, surface: &Surface) -> bool {
    let round = goes_round(job, edge);
    match surface {
        Surface::Cylinder(c) => (c.axis() == Axis::Up) == round,
        Surface::Cone(_) => round,
        _ => false,
    }
}

/// A sheet that follows a corner is hooked on its edge and slid up to the corner.
pub(super) fn laid_on_edges(rule: &Rule) -> Option<Laying> {
    match rule {
        Rule::Edges { corner, along, .. } => Some(Laying::FirstThenAlong {
            first: *corner,
            then: *along,
        }),
        Rule::Line { .. } | Rule::BestFit { .. } | Rule::OffEdge { .. } => None,
    }
}

/// How well the sheet comes onto what it is laid on: crosses, or edges that are not quite straight.
pub(super) fn pointing(design: &Design<'_>) -> Length {
    let usual = Shares::default().pointing;
    let waves = design.corner.iter().flat_map(|c| {
        // Laid on marks, the sheet only looks at its edge.
        c.other().into_iter().flat_map(|other| [&c.edge, other])
    });
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

/// A line of which half-way is known too: an arc where that lies off the straight one.
fn bent([from, to]: [Point2<Flat>; 2], half_way: Point2<Flat>) -> Option<FlatPath> {
    let middle = from + (to - from) * 0.5;
    if middle.distance(half_way) < SEEN {
        return FlatPath::polyline(&[from, to], false);
    }
    let via = half_way;
    Some(FlatPath {
        start: from,
        segments: vec![FlatSegment::Arc { via, to }],
        closed: false,
    })
}

/// A bend of less is none on paper.
const SEEN: Length = Length::from_mm(0.02);

/// The crosses that are drawn, and the lines of the edges: on the points of a corner stands no cross.
pub(super) fn apart(
    job: &Job,
    crosses: Vec<CrossMiss>,
    corner: Option<&Corner>,
    surface: &Surface,
    half_way: &dyn Fn([&MarkId; 2]) -> Option<Point2<Flat>>,
) -> (Vec<CrossMiss>, Vec<RegisterEdge>) {
    let (points, crosses): (Vec<_>, Vec<_>) = crosses.into_iter().partition(|c| is_point(&c.mark));
    let Some(corner) = corner else {
        return (crosses, Vec::new());
    };
    let name = |k: usize| MarkId::new(NAMES[k]).ok();
    let at = |k: usize| {
        points
            .iter()
            .find(|c| c.mark.as_str() == NAMES[k])
            .map(|c| c.at)
    };
    let line = |k: usize, edge: &EdgeId, says: &str| {
        let ends = [at(0)?, at(k)?];
        let path = bent(ends, half_way([&name(0)?, &name(k)?])?)?;
        Some(RegisterEdge {
            label: format!("{says} edge {}", letter(job, edge)),
            path,
        })
    };
    let Some(other) = corner.other() else {
        let check = line(1, &corner.edge, "lies along");
        return (crosses, check.into_iter().collect());
    };
    let first = if is_cut(job, &corner.edge, surface) {
        "cut here, flush with"
    } else {
        "fold here, hook on"
    };
    let lines = [line(1, &corner.edge, first), line(2, other, "up to")];
    (crosses, lines.into_iter().flatten().collect())
}
