//! What runs along the line between two marks: on the shortest way over the surface from one to the
//! other where its middle lies on it, else at its middle's distance beside it, as a parallel.
//!
//! ```text
//!      ·····  t e x t  ·····   at the distance q of the middle, all along
//!        │q      │q      │q
//!   A ───┴───────┴───────┴─── B   the shortest way
//! ```
//! On flat, cylinder and cone a parallel unrolls to a straight line or an arc of the same sector; on a
//! ball it is a small circle, shorter than the line by cos(q/R) (Gauss's lemma: do Carmo 1976, 4-6).

use crate::frames::{Face, Flat, Point2, Vector2};
use crate::outline::{FLATTENING, Outline};
use crate::place::Pose;
use crate::surface::{Development, Shape, Surface, SurfaceError};
use crate::units::Length;

/// Places of the parallel are found in steps of this along the line.
const STEP: Length = Length::from_mm(4.0);

/// Half of the step by which a direction is found, mm.
const HALF_STEP_MM: f64 = 0.25;

/// The foot of the middle on the line is found when a step is shorter, mm.
const FOUND_MM: f64 = 1e-9;

/// Steps to find it at most.
const MOST_STEPS: usize = 40;

/// Longer than this no outline is, to either side of its middle: half a metre of steps to find, mm.
const FURTHEST_MM: f64 = 3_000.0;

/// The shortest way from one mark on over another, and on beyond.
struct Line<'a> {
    surface: &'a Surface,
    from: Development,
    along: Vector2<Flat>,
}

impl<'a> Line<'a> {
    fn new(
        surface: &'a Surface,
        from: Point2<Face>,
        to: Point2<Face>,
    ) -> Result<Self, SurfaceError> {
        let about = Development::new(surface, from, Vector2::from_mm(0.0, 1.0))?;
        let way = about.flat(surface.nearest(to, from))?.from_origin();
        let along = way.unit().ok_or(SurfaceError::NoDirection)?;
        Ok(Self {
            surface,
            from: about,
            along,
        })
    }

    /// The place `s` along it.
    fn at(&self, s_mm: f64) -> Result<Point2<Face>, SurfaceError> {
        self.from.face(Point2::ORIGIN + self.along * s_mm)
    }

    /// The face rolled out about the place `s` along it, the line to the right.
    fn about(&self, s_mm: f64) -> Result<Development, SurfaceError> {
        let (before, at, after) = (
            self.at(s_mm - HALF_STEP_MM)?,
            self.at(s_mm)?,
            self.at(s_mm + HALF_STEP_MM)?,
        );
        let jet = self.surface.jet(at)?;
        let along = jet.space(after - before);
        let aside = self.surface.normal(at)?.cross(along);
        Development::new(self.surface, at, jet.chart(aside))
    }

    /// The place `s` along it and `q` to its left.
    fn beside(&self, s_mm: f64, q_mm: f64) -> Result<Point2<Face>, SurfaceError> {
        self.about(s_mm)?.face(Point2::from_mm(0.0, q_mm))
    }

    /// How far along it a place stands, and how far to its left.
    fn foot(&self, of: Point2<Face>) -> Result<(f64, f64), SurfaceError> {
        let mut s = self
            .from
            .flat(self.surface.nearest(of, self.from.centre()))?
            .from_origin()
            .dot(self.along);
        for _ in 0..MOST_STEPS {
            let about = self.about(s)?;
            let there = about.flat(self.surface.nearest(of, about.centre()))?;
            s += there.x_mm();
            if there.x_mm().abs() < FOUND_MM {
                break;
            }
        }
        let about = self.about(s)?;
        let there = about.flat(self.surface.nearest(of, about.centre()))?;
        Ok((s, there.y_mm()))
    }
}

/// What bends an outline so that what is level on it runs along the line between two marks, at the
/// distance of its middle from it.
struct Bend<'a> {
    line: Line<'a>,
    about: Development,
    aside: f64,
    way: f64,
    left: Vec<(f64, f64)>,
    right: Vec<(f64, f64)>,
}

impl<'a> Bend<'a> {
    fn new(
        surface: &'a Surface,
        pose: &Pose,
        [from, to]: [Point2<Face>; 2],
        reach_mm: f64,
    ) -> Result<Self, SurfaceError> {
        let line = Line::new(surface, from, to)?;
        let (foot, aside) = line.foot(pose.centre)?;
        let about = Development::new(surface, pose.centre, pose.up)?;
        // Which way the line runs where the middle stands: seen on the sheet of the feature.
        let seen = |s: f64| {
            let at = line.beside(s, aside)?;
            about.flat(surface.nearest(at, pose.centre))
        };
        let runs = seen(foot + HALF_STEP_MM)? - seen(foot - HALF_STEP_MM)?;
        let way = if runs.x_mm() < 0.0 { -1.0 } else { 1.0 };
        let reach = reach_mm.min(FURTHEST_MM);
        let right = parallel(&line, (foot, aside), way, reach)?;
        let left = parallel(&line, (foot, aside), -way, reach)?;
        Ok(Self {
            line,
            about,
            aside,
            way,
            left,
            right,
        })
    }

    fn of(&self, p: Point2<Flat>) -> Result<Point2<Flat>, SurfaceError> {
        let side = if p.x_mm() < 0.0 {
            &self.left
        } else {
            &self.right
        };
        let s = foot_of(side, p.x_mm().abs());
        let at = self.line.beside(s, self.aside + self.way * p.y_mm())?;
        self.about
            .flat(self.line.surface.nearest(at, self.about.centre()))
    }
}

/// An outline bent so that what is level on it runs along the line between two marks, at the distance
/// of its middle from it. Its middle stays where it is; its up is the side of the line that the
/// feature's own up is nearer to.
///
/// # Errors
/// Two marks at one place; an outline that reaches off the face.
pub(super) fn along_marks(
    outline: &Outline<Flat>,
    surface: &Surface,
    pose: &Pose,
    ends: [Point2<Face>; 2],
) -> Result<Outline<Flat>, SurfaceError> {
    let bounds = outline.bounds();
    let reach = bounds.map_or(0.0, |b| b.min.x_mm().abs().max(b.max.x_mm().abs()));
    let bend = Bend::new(surface, pose, ends, reach)?;
    for &p in &outline.samples(STEP) {
        bend.of(p)?;
    }
    Ok(outline.mapped_by_points(|p| bend.of(p).unwrap_or(p), FLATTENING * 0.5, STEP))
}

/// The same for some places of an outline; nothing where one can't be.
pub(super) fn bent_along(
    places: &[Point2<Flat>],
    surface: &Surface,
    pose: &Pose,
    ends: [Point2<Face>; 2],
) -> Option<Vec<Point2<Flat>>> {
    let reach = places.iter().map(|p| p.x_mm().abs()).fold(0.0, f64::max);
    let bend = Bend::new(surface, pose, ends, reach).ok()?;
    places.iter().map(|&p| bend.of(p).ok()).collect()
}

/// How far along the line each step of a parallel is, and how long the parallel is up to there, until
/// it is as long as asked.
fn parallel(
    line: &Line<'_>,
    (foot, aside): (f64, f64),
    way: f64,
    reach_mm: f64,
) -> Result<Vec<(f64, f64)>, SurfaceError> {
    let mut steps = vec![(0.0, foot)];
    let mut here = line.surface.jet(line.beside(foot, aside)?)?.at;
    let (mut long, mut s) = (0.0, foot);
    while long < reach_mm {
        s += way * STEP.mm();
        let there = line.surface.jet(line.beside(s, aside)?)?.at;
        let step = here.distance(there).mm();
        // A parallel that stands still has come to a pole of its line.
        if step < 0.01 * STEP.mm() {
            return Err(SurfaceError::NoDirection);
        }
        (long, here) = (long + step, there);
        steps.push((long, s));
    }
    Ok(steps)
}

/// Where along the line the parallel is so long.
fn foot_of(steps: &[(f64, f64)], long_mm: f64) -> f64 {
    let after = steps.partition_point(|(long, _)| *long < long_mm).max(1);
    match (steps.get(after - 1), steps.get(after).or(steps.last())) {
        (Some((a, s)), Some((b, t))) if b > a => s + (t - s) * (long_mm - a) / (b - a),
        (Some((_, s)), _) => *s,
        _ => 0.0,
    }
}
