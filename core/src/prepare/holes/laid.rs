//! The holes of a fixing on the face of one casting.

use super::over_edge::{OverEdge, over_an_edge};
use super::running::Line;
use super::stands::{Stands, drill_of};
use super::stops::{Among, casting_of};
use super::view::{HoleView, MarkView, SwingView, TapeView};
use super::ways::tilts;
use crate::frames::{Face, Flat, Part, Point2, Vector2, Vector3};
use crate::holes::swing::swings;
use crate::job::{FixingEdit, Job, PieceId, PointRef};
use crate::place::Placed;
use crate::prepare::carriers::gone_on;
use crate::prepare::naming::name_of;
use crate::prepare::standing::Standing;
use crate::prepare::words::tenth;
use crate::surface::{DIP_WORTH_ASKING, Development, Shape, Surface, SurfaceError};
use crate::units::{Angle, Length};
use nalgebra::DMatrix;

/// Leaning less than this is square by eye.
const HARDLY: Angle = Angle::from_deg(1.0);
/// Steps of Newton's method; five are enough on any face a bracket lies on.
const STEPS: usize = 20;

/// Marks and holes as seen from the middle of the pattern.
pub(super) struct Laid {
    pub(super) marks: Vec<MarkView>,
    pub(super) holes: Vec<HoleView>,
    /// Where each of them comes out of the face, and which way its drill's free end leans there.
    pub(super) spots: Vec<Spot>,
    /// The middle of the pattern and its ways in space.
    pub(super) axes: Axes,
    /// The drill leans somewhere.
    pub(super) round: bool,
    /// How well the middle and turn of the pattern are known: [`Alike::of_pose`]'s order.
    pub(super) spread: [f64; 6],
}

/// A hole on the face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    pub(super) at: Point2<Face>,
    /// Of unit length, across and up; nothing where the drill stands square by eye.
    pub(super) leans: Option<Vector2<Flat>>,
}

/// Why holes can't be laid out on a face.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(super) enum LayError {
    #[error(transparent)]
    Surface(#[from] SurfaceError),
    /// The face turns away from the drill.
    #[error("hole {0} only grazes the face or misses it: a smaller pattern, or another place")]
    Misses(u32),
    /// The bracket is wider than its face.
    #[error(
        "hole {} would come {} mm over the {}, as that was read from {}: a smaller pattern, or another place", .0.hole, tenth(.0.by), .0.edge, .0.from
    )]
    OverEdge(OverEdge),
}

/// Axes at the middle of the pattern: across, up, out.
pub(super) struct Axes {
    pub(super) at: crate::frames::Point3<Part>,
    pub(super) across: Vector3<Part>,
    pub(super) up: Vector3<Part>,
    pub(super) out: Vector3<Part>,
}

pub(super) fn lay(
    job: &Job,
    fixing: &FixingEdit,
    piece: &PieceId,
    stands: &Stands,
) -> Result<Laid, LayError> {
    let (standing, places) = (&stands.standing, &stands.places);
    let surface = &standing.layout.surface;
    let pose = standing.placed.pose;
    let from_middle = Development::new(surface, pose.centre, pose.up)?;
    let letters: Vec<String> = standing
        .ids
        .iter()
        .map(|m| name_of(job, &PointRef::Mark(m.clone())))
        .collect();
    let gone = gone_on(job, fixing.face.as_ref(), piece, &standing.ids);
    let pair = |p: Point2<Flat>| (Length::from_mm(p.x_mm()), Length::from_mm(p.y_mm()));
    let mut marks = Vec::new();
    let mut usable: Vec<usize> = Vec::new();
    for (k, id) in standing.ids.iter().enumerate() {
        let at = surface.nearest(standing.layout.marks[k], pose.centre);
        let unread = standing.marks.unread.contains(&PointRef::Mark(id.clone()));
        let why = gone[k].clone().or_else(|| {
            unread.then(|| format!("nothing was read to {} on this casting", letters[k]))
        });
        if why.is_none() {
            usable.push(k);
        }
        marks.push(MarkView {
            letter: letters[k].clone(),
            found: job
                .marks
                .get(id)
                .and_then(|m| m.found.clone())
                .unwrap_or_default(),
            at: pair(from_middle.flat(at)?),
            gone: why,
        });
    }
    let axes = axes_at(surface, pose.centre, pose.up)?;
    if let Some(casting) = casting_of(job, fixing, piece) {
        let among = Among {
            job,
            casting,
            layout: &standing.layout,
            axes: &axes,
            ids: &standing.ids,
            registers: &usable,
        };
        let drill = drill_of(fixing, stands.thread).0;
        if let Some(over) = over_an_edge(&among, places, drill)? {
            return Err(LayError::OverEdge(over));
        }
    }
    let seen = marks
        .iter()
        .map(|m: &MarkView| Point2::from_mm(m.at.0.mm(), m.at.1.mm()));
    let line = Line::of(fixing, stands, &usable, &letters, &seen.collect::<Vec<_>>());
    // The casting's own share stays in: it is what the marks are good for.
    let mut spread = pose_covariance(standing);
    if let Some(level) = standing.level {
        spread[(2, 2)] += level.sd.rad() * level.sd.rad();
    }
    if let Some(cured) = &stands.cured {
        spread += DMatrix::from_fn(3, 3, |r, c| cured.spread[(r, c)]);
    }
    let (mut holes, mut spots) = (Vec::new(), Vec::new());
    let mut round = false;
    for (number, place) in (1_u32..).zip(places) {
        let at = pierced(surface, &axes, &from_middle, *place)?.ok_or(LayError::Misses(number))?;
        let (lean, leans) = lean_at(surface, &axes, at)?;
        round |= leans.is_some();
        spots.push(Spot { at, leans });
        let (mut tape, no_tape) = tape_to(surface, standing, &letters, &usable, at)?;
        if let Some(tape) = &mut tape {
            // Seen from the hole it lies as it does from the middle, up being up at both.
            let hole = pair(from_middle.flat(at)?);
            tape.other = (tape.other.0 + hole.0, tape.other.1 + hole.1);
        }
        holes.push(HoleView {
            number,
            at: pair(from_middle.flat(at)?),
            tape,
            no_tape,
            running: line
                .as_ref()
                .map(|line| Ok::<_, SurfaceError>(line.to(from_middle.flat(at)?)))
                .transpose()?,
            lean,
            towards: leans.map_or_else(String::new, |way| way_words(way).to_owned()),
            tilts: tilts(surface, &axes, Spot { at, leans })?,
            way: None,
            within: within(&spread, *place),
            drilled: None,
        });
    }
    Ok(Laid {
        marks,
        holes,
        spots,
        axes,
        round,
        spread: [(0, 0), (1, 0), (1, 1), (2, 0), (2, 1), (2, 2)].map(|at| spread[at]),
    })
}

pub(super) fn axes_at(
    surface: &Surface,
    centre: Point2<Face>,
    up: Vector2<Face>,
) -> Result<Axes, SurfaceError> {
    let jet = surface.jet(centre)?;
    let out = surface.normal(centre)?;
    let up = jet.space(up);
    // `up` has unit length over the surface already; this only takes rounding out.
    let up = up * (1.0 / up.norm().mm().max(1e-12));
    Ok(Axes {
        at: jet.at,
        across: up.cross(out),
        up,
        out,
    })
}

/// Where the line through a place of the pattern, parallel to the drill, comes out of the face.
pub(super) fn pierced(
    surface: &Surface,
    axes: &Axes,
    from_middle: &Development,
    place: Vector2<Flat>,
) -> Result<Option<Point2<Face>>, SurfaceError> {
    let mut at = from_middle.face(Point2::ORIGIN + place)?;
    for _ in 0..STEPS {
        let jet = surface.jet(at)?;
        let off = jet.at - axes.at;
        let miss = (
            place.x_mm() - off.dot(axes.across),
            place.y_mm() - off.dot(axes.up),
        );
        let (a, b) = (jet.du.dot(axes.across), jet.dv.dot(axes.across));
        let (c, d) = (jet.du.dot(axes.up), jet.dv.dot(axes.up));
        let det = a * d - b * c;
        // The face turns away from the drill: its line only grazes it.
        if det.abs() < 0.05 * (jet.du.norm().mm() * jet.dv.norm().mm()) {
            return Ok(None);
        }
        let step = Vector2::from_mm(
            (d * miss.0 - b * miss.1) / det,
            (a * miss.1 - c * miss.0) / det,
        );
        at = at + step;
        if step.norm_mm() < 1e-9 {
            return Ok(Some(at));
        }
    }
    Ok(None)
}

/// How the drill leans from square to the face at a hole, and which way its free end goes.
fn lean_at(
    surface: &Surface,
    axes: &Axes,
    at: Point2<Face>,
) -> Result<(Angle, Option<Vector2<Flat>>), SurfaceError> {
    let normal = surface.normal(at)?;
    let lean = Angle::from_rad(libm::atan2(
        normal.cross(axes.out).norm().mm(),
        normal.dot(axes.out),
    ));
    if lean < HARDLY {
        return Ok((lean, None));
    }
    // Seen from outside, the drill's free end lies from the square towards the axis.
    let off = axes.out - normal;
    let way = Vector2::from_mm(off.dot(axes.across), off.dot(axes.up));
    Ok((lean, way.unit()))
}

fn way_words(way: Vector2<Flat>) -> &'static str {
    let (x, y) = (way.x_mm(), way.y_mm());
    match (x.abs() > 2.0 * y.abs(), y.abs() > 2.0 * x.abs()) {
        (_, true) if y > 0.0 => "up",
        (_, true) => "down",
        (true, _) if x > 0.0 => "to the right",
        (true, _) => "to the left",
        _ => match (y > 0.0, x > 0.0) {
            (true, true) => "up and right",
            (true, false) => "up and left",
            (false, true) => "down and right",
            (false, false) => "down and left",
        },
    }
}

fn tape_to(
    surface: &Surface,
    standing: &Standing,
    letters: &[String],
    usable: &[usize],
    hole: Point2<Face>,
) -> Result<(Option<TapeView>, Option<String>), SurfaceError> {
    // Up at the hole as at the middle: only the words of a side depend on it.
    let up = standing.placed.pose.up;
    let seen_from = Development::new(surface, hole, up)?;
    let at: Vec<Point2<Face>> = usable
        .iter()
        .map(|&k| surface.nearest(standing.layout.marks[k], hole))
        .collect();
    let seen = at
        .iter()
        .map(|&m| seen_from.flat(m))
        .collect::<Result<Vec<_>, _>>()?;
    let chosen = match swings(&seen) {
        Ok(chosen) => chosen,
        Err(why) => return Ok((None, Some(why.to_string()))),
    };
    let swing = |k: usize| -> Result<SwingView, SurfaceError> {
        let mark = standing.ids[usable[k]].clone();
        let over = surface.dip(hole, at[k])? > DIP_WORTH_ASKING;
        let length = if over {
            seen[k].from_origin().norm()
        } else {
            Length::from_mm(surface.straight(hole, at[k])?.mm)
        };
        Ok(SwingView {
            from: letters[usable[k]].clone(),
            mark,
            length,
            over,
        })
    };
    let (first, second) = (swing(chosen.first)?, swing(chosen.second)?);
    let check = chosen.check.map(swing).transpose()?;
    let mut warning = chosen.is_poor().then(|| {
        format!(
            "the two swings cross at {:.0}° only: strike them fine, and mind the check",
            chosen.crossing.deg()
        )
    });
    if check.is_none() {
        let none = "no third mark to check from: read both swings twice";
        warning = Some(warning.map_or_else(|| none.to_owned(), |w| format!("{w}; {none}")));
    }
    let side = format!("{} the line {}–{}", chosen.side(), first.from, second.from);
    Ok((
        Some(TapeView {
            first,
            second,
            check,
            side,
            other: chosen
                .other(&seen)
                .map_or((Length::ZERO, Length::ZERO), |p| {
                    (Length::from_mm(p.x_mm()), Length::from_mm(p.y_mm()))
                }),
            crossing: chosen.crossing,
            warning,
        }),
        None,
    ))
}

/// Covariance of the middle and turn of the pattern: across, up (mm), turn (rad).
fn pose_covariance(standing: &Standing) -> DMatrix<f64> {
    let Placed {
        by_casting,
        by_drawing,
        ..
    } = &standing.placed;
    let part = |rows: &[Vec<f64>; 3], c: &DMatrix<f64>| {
        let j = DMatrix::from_fn(3, c.nrows(), |r, k| rows[r].get(k).copied().unwrap_or(0.0));
        &j * c * j.transpose()
    };
    part(&by_casting.0, &standing.covariance) + part(&by_drawing.0, &standing.nominal_covariance)
}

/// 95 % of cases lie within this of a place of the pattern: √(−2 ln 0.05) deviations along the
/// longer axis, which is exact for a round spread and errs to the safe side for any other.
pub(super) fn within(pose: &DMatrix<f64>, place: Vector2<Flat>) -> Length {
    let turn = [-place.y_mm(), place.x_mm()];
    let c = |i: usize, k: usize| {
        pose[(i, k)]
            + turn[i] * pose[(2, k)]
            + turn[k] * pose[(i, 2)]
            + turn[i] * turn[k] * pose[(2, 2)]
    };
    let (a, b, d) = (c(0, 0), c(0, 1), c(1, 1));
    let largest = (a + d) / 2.0 + libm::hypot((a - d) / 2.0, b);
    let deviations = libm::sqrt(-2.0 * libm::log(0.05));
    Length::from_mm(deviations * libm::sqrt(largest.max(0.0)))
}
