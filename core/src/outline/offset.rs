//! The outline a pen's or a knife's width inside or outside another.
//!
//! Corners are carried round (a pen of that radius never leaves a sharp outer corner), arcs stay
//! arcs. What the offset cannot keep (a part narrower than twice the distance, a gap closed up) is
//! returned, not dropped. The result is checked against the outline it came from before it is given.

use super::arcs::{self, ArcStep};
use super::near::Near;
use super::{Contour, FLATTENING, MeetingKind, Nest, Outline, join, snapped_mm};
use crate::frames::{Frame, Point2};
use crate::units::Length;
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};
use cavalier_contours::shape_algorithms::{Shape, ShapeOffsetOptions};
use kurbo::{BezPath, Point};

/// How far the arcs offset may stray from the curves given: 2 µm, a fifth of the 10 µm to which
/// offsets are held against another library.
const ARC_FIT_MM: f64 = 0.002;

/// An outline point whose nearest offset point is further than this many distances away counts as
/// lost. A sharp corner with half angle α moves away by 1/sin α distances, so corners down to
/// 2·asin(1/2.5) = 47° are corners; anything more pointed is a spire whose tip the pen leaves out.
const LOST_BEYOND: f64 = 2.5;

/// No result point may come nearer to the outline than the distance less this: twice the grid's
/// half step at each end, plus the fit of the arcs.
const CHECK_MM: f64 = 0.01;

/// How the offsets of several contours come together.
#[derive(Debug, Clone, Copy)]
enum How {
    /// Each by itself.
    Alone,
    /// Areas added and subtracted, two at a time.
    Combined,
    /// All at once, by the library.
    AtOnce,
}

/// What is tried in turn until a result passes the check. Where contours touch, the library may join
/// the wrong ends; a nudge of a grid step parts them, and is a tenth of what the check allows.
const ATTEMPTS: [(How, f64); 6] = [
    (How::Alone, 0.0),
    (How::Combined, 0.0),
    (How::AtOnce, 0.0),
    (How::Combined, 1.0 / super::GRID_PER_MM),
    (How::AtOnce, 1.0 / super::GRID_PER_MM),
    (How::Combined, -1.0 / super::GRID_PER_MM),
];

/// Spacing of the points at which losses are looked for, as a share of the distance.
const LOOK_EVERY: f64 = 0.5;

/// … but no closer than this share of the outline's length across: what is lost between two looks on
/// an outline that large is smaller than the corner of a millimetre square on a page.
const LOOK_AT_MOST: f64 = 1.0 / 10_000.0;

/// Points of one lost stretch at which its depth is measured, at most.
const DEPTHS: usize = 50;

/// An offset and what it cost.
#[derive(Debug, Clone, PartialEq)]
pub struct OffsetOutline<F: Frame> {
    /// The offset contours, on the grid, outer ones anticlockwise and holes clockwise.
    pub outline: Outline<F>,
    /// What could not be kept, in the order of the contours.
    pub lost: Vec<Lost<F>>,
}

/// A stretch of outline that has no counterpart in the offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost<F: Frame> {
    /// The contour it belonged to, counted from 0.
    pub contour: usize,
    /// The whole contour went.
    pub whole: bool,
    /// Where: the point of it furthest from what is left.
    pub at: Point2<F>,
    /// How far that point is from the edge a pen would leave; for a whole contour half of its
    /// smaller side.
    pub depth: Length,
}

/// An outline that cannot be offset.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OffsetError {
    /// A line has no inside.
    #[error("contour {contour} is an open line and has no inside; close it first")]
    Open {
        /// Which contour, counted from 0.
        contour: usize,
    },
    /// The outline crosses itself or another of its contours.
    #[error("contours {} and {} cross at x {x_mm} y {y_mm} mm", contours.0, contours.1)]
    Crosses {
        /// The two contours, counted from 0.
        contours: (usize, usize),
        /// Where across, in millimetres.
        x_mm: f64,
        /// Where up, in millimetres.
        y_mm: f64,
    },
    /// The result failed its check.
    #[error(
        "the offset comes within {found_mm} mm of the outline at x {x_mm} y {y_mm} mm; simplify the outline there"
    )]
    Unsound {
        /// The distance found, in millimetres.
        found_mm: f64,
        /// Where across, in millimetres.
        x_mm: f64,
        /// Where up, in millimetres.
        y_mm: f64,
    },
}

impl<F: Frame> Outline<F> {
    /// The parallel outline at `distance`: positive grows the area, negative shrinks it; holes the
    /// other way round.
    ///
    /// # Errors
    /// [`OffsetError`] for open contours, for contours that cross, and when the result does not
    /// keep its distance.
    pub fn offset(&self, distance: Length) -> Result<OffsetOutline<F>, OffsetError> {
        if let Some(contour) = self.contours().iter().position(|c| !c.is_closed()) {
            return Err(OffsetError::Open { contour });
        }
        let meeting = self.meetings(FLATTENING, 1).into_iter().next();
        if let Some(m) = meeting.filter(|m| m.kind == MeetingKind::Crosses) {
            return Err(OffsetError::Crosses {
                contours: m.contours,
                x_mm: m.at.x_mm(),
                y_mm: m.at.y_mm(),
            });
        }
        let d_mm = distance.mm();
        if d_mm.abs() < 0.5 / super::GRID_PER_MM {
            return Ok(OffsetOutline {
                outline: self.snapped(),
                lost: Vec::new(),
            });
        }
        // Each contour by itself is the surest; only where the results run into each other do they
        // have to be joined.
        let mut outline = Self::default();
        let mut sound = Ok(());
        for (how, nudge_mm) in ATTEMPTS {
            outline = self.moved(d_mm + nudge_mm, how);
            sound = self.check(&outline, d_mm.abs());
            if sound.is_ok() {
                break;
            }
        }
        sound?;
        let lost = self.lost(&outline, d_mm.abs());
        Ok(OffsetOutline { outline, lost })
    }

    /// The offset on the grid, contours in order.
    fn moved(&self, d_mm: f64, how: How) -> Self {
        let rings: Vec<(Polyline<f64>, Nest, usize)> = self
            .contours()
            .iter()
            .zip(self.nesting())
            .enumerate()
            .filter(|(_, (c, _))| !thin(c))
            .map(|(i, (c, n))| {
                let clockwise = !c.is_anticlockwise();
                (
                    ring(&if clockwise { c.reversed() } else { c.clone() }),
                    n,
                    i,
                )
            })
            .filter(|(r, _, _)| r.len() > 1)
            .map(|(r, n, i)| (pline(&r), n, i))
            .collect();
        // Outer contours run anticlockwise, holes clockwise; left of them is inside, where the library
        // counts positive.
        let turned = rings.iter().map(|(r, n, _)| {
            let mut r = r.clone();
            if n.is_hole() {
                r.invert_direction_mut();
            }
            r
        });
        let moved: Vec<Polyline<f64>> = match how {
            How::Alone => turned.flat_map(|r| r.parallel_offset(-d_mm)).collect(),
            How::Combined => join::joined(&rings, d_mm),
            How::AtOnce => {
                let shape = Shape::from_plines(turned)
                    .parallel_offset(-d_mm, &ShapeOffsetOptions::default());
                let both = shape.ccw_plines.into_iter().chain(shape.cw_plines);
                both.map(|p| p.polyline).collect()
            }
        };
        let mut contours: Vec<Contour<F>> = moved.iter().filter_map(contour).collect();
        contours.sort_by(|a, b| {
            let (s, t) = (a.start(), b.start());
            s.x_mm()
                .total_cmp(&t.x_mm())
                .then(s.y_mm().total_cmp(&t.y_mm()))
        });
        let outline = Self::from_iter(contours);
        let nests = outline.nesting();
        let all = outline.contours.iter().zip(nests);
        all.map(|(c, n)| {
            if c.is_anticlockwise() == n.is_hole() {
                c.reversed()
            } else {
                c.clone()
            }
        })
        .collect()
    }

    /// No point of the result may be nearer to this outline than the distance, and none of its
    /// contours may cross.
    fn check(&self, result: &Self, d_mm: f64) -> Result<(), OffsetError> {
        let chords = self.chords();
        let points = result.polylines(FLATTENING);
        let many: usize = points.iter().map(Vec::len).sum();
        // An outline that runs over itself time and again comes back in so many pieces that looking through
        // them takes minutes; a sound one never does.
        if many > MOST_TIMES * chords.len() + MOST_POINTS {
            let at = points.iter().flatten().next();
            let (x_mm, y_mm) = at.map_or((0.0, 0.0), |p| (p.x_mm(), p.y_mm()));
            return Err(OffsetError::Unsound {
                found_mm: 0.0,
                x_mm,
                y_mm,
            });
        }
        let source = Near::new(chords, d_mm);
        for p in points.iter().flatten() {
            // Chords lie inside the curve by up to their own tolerance.
            let too_near = d_mm - CHECK_MM - CHORD_MM;
            if let Some(found_mm) = source.distance((p.x_mm(), p.y_mm()), too_near.max(0.0)) {
                let (x_mm, y_mm) = (p.x_mm(), p.y_mm());
                return Err(OffsetError::Unsound {
                    found_mm,
                    x_mm,
                    y_mm,
                });
            }
        }
        // Two ends of one contour may cross by a grid step where they meet; two contours never.
        let crossing = result.meetings(FLATTENING, 200).into_iter();
        let mut crossing =
            crossing.filter(|m| m.kind == MeetingKind::Crosses && m.contours.0 != m.contours.1);
        if let Some(m) = crossing.next() {
            let (x_mm, y_mm) = (m.at.x_mm(), m.at.y_mm());
            return Err(OffsetError::Unsound {
                found_mm: 0.0,
                x_mm,
                y_mm,
            });
        }
        Ok(())
    }

    fn lost(&self, result: &Self, d_mm: f64) -> Vec<Lost<F>> {
        let reach = LOST_BEYOND * d_mm + CHECK_MM;
        let left = Near::new(result.chords(), reach);
        let across = self
            .bounds()
            .map_or(0.0, |b| b.width().mm().max(b.height().mm()));
        let step = Length::from_mm((LOOK_EVERY * d_mm).max(LOOK_AT_MOST * across));
        let mut lost = Vec::new();
        for (contour, c) in self.contours().iter().enumerate() {
            let points = c.dense(FLATTENING, step);
            let gone: Vec<bool> = points
                .iter()
                .map(|p| left.distance((p.x_mm(), p.y_mm()), reach).is_none())
                .collect();
            if gone.iter().all(|g| *g) {
                let b = c.bounds();
                let depth = Length::from_mm(b.width().mm().min(b.height().mm()) / 2.0);
                lost.push(Lost {
                    contour,
                    whole: true,
                    at: b.centre(),
                    depth,
                });
                continue;
            }
            // Runs of lost points, beginning after one that is kept so that none is cut in two.
            let first_kept = gone.iter().position(|g| !g).unwrap_or(0);
            let turned = || (0..points.len()).map(|i| (i + first_kept) % points.len());
            let mut run: Vec<Point2<F>> = Vec::new();
            for i in turned().chain(core::iter::once(first_kept)) {
                match (gone.get(i), points.get(i)) {
                    (Some(true), Some(p)) => run.push(*p),
                    _ if !run.is_empty() => {
                        lost.extend(deepest(&run, &left, reach, d_mm).map(|(at, depth)| Lost {
                            contour,
                            whole: false,
                            at,
                            depth,
                        }));
                        run.clear();
                    }
                    _ => {}
                }
            }
        }
        lost
    }

    fn chords(&self) -> Vec<((f64, f64), (f64, f64))> {
        let mut chords = Vec::new();
        for c in self.contours().iter().filter(|c| !thin(c)) {
            let points = c.polyline(Length::from_mm(CHORD_MM));
            let ends = points.iter().skip(1).chain(points.first());
            chords.extend(
                points
                    .iter()
                    .zip(ends)
                    .map(|(p, q)| ((p.x_mm(), p.y_mm()), (q.x_mm(), q.y_mm()))),
            );
        }
        chords
    }
}

/// Thinner than a step of the grid all along: nothing that could be drawn, cut or moved.
fn thin<F: Frame>(c: &Contour<F>) -> bool {
    let points = c.polyline(FLATTENING);
    let next = points.iter().skip(1).chain(points.first());
    let round_mm: f64 = points
        .iter()
        .zip(next)
        .map(|(p, q)| p.distance(*q).mm())
        .sum();
    c.signed_area_mm2().abs() <= 0.5 * round_mm / super::GRID_PER_MM
}

/// How far the chords for distances may stray from their curves.
const CHORD_MM: f64 = 0.002;

/// An offset of more points than so many times its source's chords, and so many besides, is none.
const MOST_TIMES: usize = 20;
/// Arcs round the corners of a shape of few.
const MOST_POINTS: usize = 10_000;

fn deepest<F: Frame>(
    run: &[Point2<F>],
    left: &Near,
    reach: f64,
    d_mm: f64,
) -> Option<(Point2<F>, Length)> {
    // Twice the reach each time: nearly always found at once.
    let far = |p: &Point2<F>| {
        (1..24)
            .find_map(|k| left.distance((p.x_mm(), p.y_mm()), reach * f64::from(1_u32 << k)))
            .unwrap_or(f64::MAX)
    };
    let stride = run.len().div_ceil(DEPTHS).max(1);
    // The last point too: a stretch that ends in a corner is deepest there as often as not.
    run.iter()
        .step_by(stride)
        .chain(run.last())
        .map(|p| (*p, far(p)))
        .reduce(|a, b| if b.1 > a.1 { b } else { a })
        .map(|(p, mm)| (p, Length::from_mm(mm - d_mm)))
}

pub(super) fn ring<F: Frame>(contour: &Contour<F>) -> Vec<ArcStep> {
    let mut steps: Vec<ArcStep> = Vec::new();
    for seg in contour.segments() {
        arcs::push_arcs(&seg, ARC_FIT_MM, &mut steps);
    }
    let apart = |a: Point, b: Point| libm::hypot(a.x - b.x, a.y - b.y) > 1e-4;
    let mut kept: Vec<ArcStep> = Vec::with_capacity(steps.len());
    for step in steps {
        match kept.last_mut() {
            Some(last) if !apart(last.at, step.at) => last.bulge = step.bulge,
            _ => kept.push(step),
        }
    }
    while kept.len() > 1
        && matches!((kept.first(), kept.last()), (Some(a), Some(b)) if !apart(a.at, b.at))
    {
        kept.pop();
    }
    kept
}

pub(super) fn pline(ring: &[ArcStep]) -> Polyline<f64> {
    let mut pline = Polyline::new_closed();
    for step in ring {
        pline.add(step.at.x, step.at.y, step.bulge);
    }
    pline
}

/// Back to curves, on the grid, beginning at the leftmost (then lowest) vertex; `None` for a sliver
/// that the grid swallows.
pub(super) fn contour<F: Frame>(pline: &Polyline<f64>) -> Option<Contour<F>> {
    let mut steps: Vec<ArcStep> = Vec::new();
    for v in pline.iter_vertexes() {
        let at = Point::new(snapped_mm(v.x), snapped_mm(v.y));
        match steps.last_mut() {
            Some(last) if last.at == at => last.bulge = v.bulge,
            _ => steps.push(ArcStep { at, bulge: v.bulge }),
        }
    }
    if steps.len() > 1 && steps.first().map(|s| s.at) == steps.last().map(|s| s.at) {
        steps.pop();
    }
    let first = (0..steps.len()).min_by(|&i, &j| {
        let at = |k: usize| steps.get(k).map_or(Point::ZERO, |s| s.at);
        at(i)
            .x
            .total_cmp(&at(j).x)
            .then(at(i).y.total_cmp(&at(j).y))
    })?;
    steps.rotate_left(first);
    let start = steps.first()?.at;
    if steps.len() < 2 {
        return None;
    }
    let mut path = BezPath::new();
    path.move_to(start);
    let ends = steps.iter().skip(1).map(|s| s.at).chain([start]);
    for (step, end) in steps.iter().zip(ends) {
        arcs::bulge_to(&mut path, step.at, end, step.bulge);
    }
    path.close_path();
    let contour = Contour::trusted(path, true)
        .mapped(|p: Point2<F>| Point2::from_mm(snapped_mm(p.x_mm()), snapped_mm(p.y_mm())));
    // Thinner than a grid step all the way round: nothing that could be drawn or cut.
    (contour.signed_area_mm2().abs() > 1.0 / super::GRID_PER_MM).then_some(contour)
}
