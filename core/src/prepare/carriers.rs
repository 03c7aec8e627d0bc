//! Crosses that stand in for marks which are gone, and what can be found on a casting now.

use super::error::PrepareError;
use super::naming::{casting_words, name_of};
use super::network::{Marks, marks_of};
use crate::frames::{Face, Point2};
use crate::job::{
    CastingId, FaceAxis, FaceId, Job, Kept, LineSide, MarkId, Measured, PieceId, PointRef, Reading,
};
use crate::num::arcs::{Crossing, two_arcs};
use crate::run::{Findable, findable, tied_crosses};

/// Two places that fit their distances this much worse than the best are not it: four times what
/// a soft tape leaves in one reading.
const CLEARLY_WORSE_MM: f64 = 4.0;

/// Adds the crosses tied on this casting to the points of its network, each where its readings
/// put it. They have no place on any drawing.
pub(super) fn add_tied_crosses(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    readings: &[&Kept<Reading>],
    starts: &mut Vec<(PointRef, Point2<Face>)>,
) -> Result<(), PrepareError> {
    let mut waiting: Vec<PointRef> = tied_crosses(job, casting, face)
        .into_iter()
        .map(PointRef::Mark)
        .filter(|p| !starts.iter().any(|(known, _)| known == p))
        .collect();
    // One cross may be tied to another: those that can be placed go first.
    loop {
        let before = waiting.len();
        let mut left = Vec::new();
        for point in waiting {
            match start_of(job, face, casting, &point, readings, starts)? {
                Some(at) => starts.push((point, at)),
                None => left.push(point),
            }
        }
        if left.is_empty() || left.len() == before {
            return Ok(());
        }
        waiting = left;
    }
}

fn start_of(
    job: &Job,
    face: &FaceId,
    casting: &CastingId,
    point: &PointRef,
    readings: &[&Kept<Reading>],
    known: &[(PointRef, Point2<Face>)],
) -> Result<Option<Point2<Face>>, PrepareError> {
    let place = |p: &PointRef| known.iter().find(|(q, _)| q == p).map(|(_, at)| *at);
    let coordinate = |wanted: FaceAxis| {
        readings.iter().rev().find_map(|r| match &r.says.of {
            Measured::Coordinate { of, axis } if of == point && *axis == wanted => {
                Some(r.says.value.mm.mm())
            }
            _ => None,
        })
    };
    if let (Some(u), Some(v)) = (coordinate(FaceAxis::U), coordinate(FaceAxis::V)) {
        return Ok(Some(Point2::from_mm(u, v)));
    }
    let mut swings: Vec<(Point2<Face>, f64)> = Vec::new();
    for r in readings {
        if let Measured::Straight { from, to } | Measured::Over { from, to } = &r.says.of {
            let other = if from == point {
                to
            } else if to == point {
                from
            } else {
                continue;
            };
            swings.extend(place(other).map(|at| (at, r.says.value.mm.mm())));
        }
    }
    let mut places: Vec<(f64, Point2<Face>)> = Vec::new();
    for (i, a) in swings.iter().enumerate() {
        for b in swings.iter().skip(i + 1) {
            for at in crossings(*a, *b).into_iter().flatten() {
                let at = settled(at, &swings);
                let worst = swings
                    .iter()
                    .map(|(from, d)| ((at - *from).norm_mm() - d).abs())
                    .fold(0.0, f64::max);
                places.push((worst, at));
            }
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let Some(&(best, at)) = places.first() else {
        return Ok(None);
    };
    let rivals: Vec<Point2<Face>> = places
        .iter()
        .filter(|(worst, p)| {
            *worst < best + CLEARLY_WORSE_MM && (*p - at).norm_mm() > CLEARLY_WORSE_MM
        })
        .map(|(_, p)| *p)
        .collect();
    if rivals.is_empty() {
        return Ok(Some(at));
    }
    // Never guessed: a cross on the wrong side would turn the template over.
    let side = match point {
        PointRef::Mark(id) => job.marks.get(id).and_then(|m| m.side),
        PointRef::Feature(_) => None,
    };
    let line: Vec<MarkId> = marks_of(job, face);
    let ends = (line.first(), line.get(1));
    if let (Some(side), (Some(a), Some(b))) = (side, ends)
        && let (Some(a), Some(b)) = (
            place(&PointRef::Mark(a.clone())),
            place(&PointRef::Mark(b.clone())),
        )
    {
        let along = b - a;
        let left = |p: Point2<Face>| {
            let d = p - a;
            along.x_mm() * d.y_mm() - along.y_mm() * d.x_mm() > 0.0
        };
        let mut told = core::iter::once(at)
            .chain(rivals)
            .filter(|p| left(*p) == (side == LineSide::Above));
        if let (Some(one), None) = (told.next(), told.next()) {
            return Ok(Some(one));
        }
    }
    Err(PrepareError::EitherPlace {
        mark: name_of(job, point),
        casting: casting_words(job, casting),
    })
}

/// Steps that bring a crossing to the place all distances agree on best.
const SETTLING_STEPS: usize = 12;

/// A crossing moved to where all its distances fit best (Gauss–Newton): crossings of different
/// pairs that mean the same place then come to the same place.
fn settled(start: Point2<Face>, swings: &[(Point2<Face>, f64)]) -> Point2<Face> {
    let mut at = start;
    for _ in 0..SETTLING_STEPS {
        let (mut uu, mut uv, mut vv, mut ru, mut rv) = (0.0, 0.0, 0.0, 0.0, 0.0);
        for (from, distance_mm) in swings {
            let d = at - *from;
            let length = d.norm_mm().max(1e-6);
            let (u, v) = (d.x_mm() / length, d.y_mm() / length);
            let off = distance_mm - length;
            uu += u * u;
            uv += u * v;
            vv += v * v;
            ru += u * off;
            rv += v * off;
        }
        let det = uu * vv - uv * uv;
        // All swings along one line: the crossing stays where it is.
        if det <= 1e-9 * (uu + vv) * (uu + vv) {
            break;
        }
        at = Point2::from_mm(
            at.x_mm() + (vv * ru - uv * rv) / det,
            at.y_mm() + (uu * rv - uv * ru) / det,
        );
    }
    at
}

/// Where two arcs cross in the chart; where they just miss each other, the point between them.
fn crossings(a: (Point2<Face>, f64), b: (Point2<Face>, f64)) -> [Option<Point2<Face>>; 2] {
    let between = b.0 - a.0;
    let apart = between.norm_mm();
    if apart < 1.0 {
        return [None, None];
    }
    let (along, up) = match two_arcs(apart, a.1, b.1, 0.0) {
        Crossing::Two { along, aside } => (along, aside),
        Crossing::Touch { .. } | Crossing::Apart { .. } => {
            ((a.1 * a.1 - b.1 * b.1 + apart * apart) / (2.0 * apart), 0.0)
        }
    };
    let (x, y) = (between.x_mm() / apart, between.y_mm() / apart);
    let at = |up: f64| {
        Some(Point2::from_mm(
            a.0.x_mm() + x * along - y * up,
            a.0.y_mm() + y * along + x * up,
        ))
    };
    [at(up), if up > 0.0 { at(-up) } else { None }]
}

/// Crosses in an adjusted network that are not among the design's marks.
pub(super) fn carriers(marks: &Marks, design: &[MarkId]) -> Vec<MarkId> {
    marks
        .points
        .iter()
        .filter_map(|p| match p {
            PointRef::Mark(id) if !design.contains(id) => Some(id.clone()),
            _ => None,
        })
        .collect()
}

/// For each mark why it can't be found at the stage of this piece's casting, if it can't.
pub(super) fn gone_on(
    job: &Job,
    face: Option<&FaceId>,
    piece: &PieceId,
    marks: &[MarkId],
) -> Vec<Option<String>> {
    let stage = face
        .and_then(|f| job.faces.get(f)?.part.as_ref())
        .and_then(|part| job.casting_of(piece, part))
        .and_then(|casting| job.stage_of(casting));
    marks
        .iter()
        .map(|mark| {
            let letter = name_of(job, &PointRef::Mark(mark.clone()));
            match findable(job, mark, stage) {
                Findable::Yes => None,
                Findable::Gone(after) => Some(format!("{letter} is gone after “{after}”")),
                Findable::NotYet(from) => Some(format!("{letter} is there from “{from}” on only")),
            }
        })
        .collect()
}

/// A template lies on two crosses at least; where marks are gone and nothing stands in, says so.
pub(super) fn enough_to_lay_on(
    job: &Job,
    feature: &str,
    marks: &[MarkId],
    gone: &[Option<String>],
    found: usize,
) -> Result<(), PrepareError> {
    if found > 1 {
        return Ok(());
    }
    let why: Vec<&str> = gone.iter().flatten().map(String::as_str).collect();
    if why.is_empty() {
        return Ok(());
    }
    let left: Vec<String> = marks
        .iter()
        .zip(gone)
        .filter(|(_, g)| g.is_none())
        .map(|(m, _)| name_of(job, &PointRef::Mark(m.clone())))
        .collect();
    Err(PrepareError::NothingToLayOn {
        feature: feature.to_owned(),
        why: why.join(", "),
        left: if left.is_empty() {
            "nothing is left to lay it on".into()
        } else {
            format!("{} alone holds no template", left.join(", "))
        },
    })
}
