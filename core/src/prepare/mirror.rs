//! Where a feature lies that is made from another by mirroring.
//!
//! ```text
//!        up                up
//!   A ────┼── ◜eye ┊ eye◝ ──┼──── B      across the line halfway between A and B
//! ```
//! The face is turned over about its own upright, which leaves its shape as it is, and laid back on
//! the two marks that are the images of two of its own: no other formula for the image is needed,
//! on any face, and its derivatives come with it.

use super::design::missing;
use super::error::PrepareError;
use super::face::pattern_face;
use super::network::Marks;
use super::pattern::pattern_marks;
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{Job, MadeFrom, MarkId, PointRef, RuleSpec};
use crate::place::{Follow, Layout, Nominal, PlaceError, Rule, place, pose_by_line};
use crate::surface::{Development, Surface, SurfaceError};
use crate::units::Angle;
use nalgebra::{DMatrix, Matrix2};

/// A feature's middle on the pattern, made from another's.
#[derive(Debug, Clone)]
pub(super) struct Image {
    /// Where.
    pub(super) centre: Point2<Face>,
    /// Which way is up there.
    pub(super) up: Vector2<Face>,
    /// The marks of its own face it is laid on, and how it moves with them: u and v of each in
    /// turn, then the sizes of the face.
    on: [MarkId; 2],
    by_own: DMatrix<f64>,
    /// How it moves with the face it is mirrored from: the two marks there, the middle that is
    /// mirrored, the sizes.
    by_other: DMatrix<f64>,
    other: Option<Marks>,
    from: [PointRef; 3],
}

const fn over(p: Point2<Face>) -> Point2<Face> {
    Point2::from_mm(-p.x_mm(), p.y_mm())
}

/// The direction of a chart vector against another at a place, anticlockwise.
fn turned(
    surface: &Surface,
    at: Point2<Face>,
    up: Vector2<Face>,
    to: Vector2<Face>,
) -> Result<Angle, SurfaceError> {
    let unrolled = Development::new(surface, at, up)?;
    let seen = unrolled.flat_from_face(at)?.matrix() * nalgebra::Vector2::new(to.x_mm(), to.y_mm());
    Ok(Angle::from_rad(libm::atan2(-seen.x, seen.y)))
}

/// The rule of a line alone: where it leaves a point says where that point's image is.
fn along_a_line(marks: [Point2<Face>; 2], surface: &Surface, centre: Point2<Face>) -> Nominal {
    Nominal {
        layout: Layout {
            surface: surface.clone(),
            marks: marks.to_vec(),
        },
        centre,
        rule: Rule::Line {
            from: 0,
            to: 1,
            side: None,
            along: Follow::DifferenceSplit,
            across: None,
        },
        turn: Angle::ZERO,
    }
}

/// The two marks whose line a rule takes its direction from.
fn line_of(rule: Option<&RuleSpec>, surface: &Surface) -> Option<[MarkId; 2]> {
    match rule? {
        // On a cone an edge has another direction at every place along it.
        RuleSpec::Edges { .. } if matches!(surface, Surface::Cone(_)) => None,
        RuleSpec::Edges { .. } => {
            let mut points = super::edges::points();
            Some([points.next()?, points.next()?])
        }
        by_marks => by_marks.turns_with().map(|ends| ends.map(Clone::clone)),
    }
}

/// Where a feature lies on its own pattern, whose marks are `own`.
pub(super) fn image(
    job: &Job,
    made: &MadeFrom<'_>,
    name: &str,
    own: &Marks,
) -> Result<Image, PrepareError> {
    let place_error = |why: PlaceError| PrepareError::Place {
        feature: name.to_owned(),
        why,
    };
    let off_face = |why| PrepareError::Surface {
        feature: name.to_owned(),
        why,
    };
    let other = other_marks(job, made, name, own)?;
    let there = other.as_ref().unwrap_or(own);
    let at = |marks: &Marks, p: &PointRef| {
        marks.at(p).ok_or_else(|| {
            marks.exactly(PrepareError::PatternNotPlaced {
                point: super::naming::name_of(job, p),
                need: format!("{name} is mirrored from it: read it on the pattern from two marks"),
                of: Some(p.clone()),
                either_side: false,
            })
        })
    };
    let mark = |m: &MarkId| PointRef::Mark(m.clone());
    let [from, to, from_image, to_image] = made.mirror.marks();
    let middle = PointRef::Feature(made.feature.clone());
    let centre = at(there, &middle)?;
    let surface = &there.adjusted.surface;
    if matches!(surface, Surface::Scan(_)) || matches!(own.adjusted.surface, Surface::Scan(_)) {
        return Err(missing(
            "its place on the scan",
            name,
            "a scan is not the same on both sides: pick its own middle on the scan instead of mirroring it",
        ));
    }
    let marks = [at(there, &mark(from))?, at(there, &mark(to))?];
    let images = Layout {
        surface: own.adjusted.surface.clone(),
        marks: vec![at(own, &mark(from_image))?, at(own, &mark(to_image))?],
    };

    // Up as the other one has it, turned over with the face.
    let edit = job.features.get(made.feature);
    let up = match line_of(edit.and_then(|f| f.rule.as_ref()), surface) {
        Some([a, b]) => {
            let mut own_rule = along_a_line(
                [at(there, &mark(&a))?, at(there, &mark(&b))?],
                surface,
                centre,
            );
            own_rule.turn = edit.and_then(|f| f.turn).unwrap_or(Angle::ZERO);
            pose_by_line(&own_rule).map_err(place_error)?.up
        }
        None => return Err(missing("the rule", name, "say which marks it follows")),
    };
    let mut over_there = along_a_line(marks.map(over), surface, over(centre));
    let straight = pose_by_line(&over_there).map_err(place_error)?;
    let up_over = Vector2::from_mm(-up.x_mm(), up.y_mm());
    over_there.turn = turned(surface, over(centre), straight.up, up_over).map_err(off_face)?;
    let placed = place(&over_there, &images).map_err(place_error)?;

    // Steps across and up over the surface, as steps of the chart.
    let chart = Development::new(&images.surface, placed.pose.centre, placed.pose.up)
        .and_then(|unrolled| unrolled.flat_from_face(placed.pose.centre))
        .map_err(off_face)?
        .inverse()
        .ok_or_else(|| off_face(SurfaceError::NoDirection))?;
    let chart: Matrix2<f64> = chart.matrix();
    let slopes = |rows: &[Vec<f64>; 3], turned_over: usize| {
        DMatrix::from_fn(2, rows[0].len(), |r, c| {
            let hand = if c < turned_over && c % 2 == 0 {
                -1.0
            } else {
                1.0
            };
            hand * (chart[(r, 0)] * rows[0][c] + chart[(r, 1)] * rows[1][c])
        })
    };
    Ok(Image {
        centre: placed.pose.centre,
        up: placed.pose.up,
        on: [from_image.clone(), to_image.clone()],
        by_own: slopes(&placed.by_casting.0, 0),
        by_other: slopes(&placed.by_drawing.0, 6),
        from: [mark(from), mark(to), middle],
        other,
    })
}

/// The marks of the face that is mirrored, where that is another face.
fn other_marks(
    job: &Job,
    made: &MadeFrom<'_>,
    name: &str,
    own: &Marks,
) -> Result<Option<Marks>, PrepareError> {
    let middle = PointRef::Feature(made.feature.clone());
    if own.index(&middle).is_some() {
        return Ok(None);
    }
    let face_id = job
        .features
        .get(made.feature)
        .and_then(|f| f.face.as_ref())
        .ok_or_else(|| missing("the face", name, "say what it lies on"))?;
    let face = job
        .faces
        .get(face_id)
        .ok_or_else(|| missing("the face", name, "say what it lies on"))?;
    let pattern = face
        .part
        .as_ref()
        .and_then(|p| job.pattern_of(p))
        .ok_or_else(|| {
            missing(
                "the pattern",
                name,
                "measure the approved pattern or the first good piece",
            )
        })?;
    pattern_marks(job, face_id, pattern, &pattern_face(job, face)?).map(Some)
}

impl Image {
    /// Its turn from square to the line of a rule on its own face.
    pub(super) fn turn(
        &self,
        own: &Marks,
        rule: Option<&RuleSpec>,
        name: &str,
    ) -> Result<Angle, PrepareError> {
        let at = |m: &MarkId| own.at(&PointRef::Mark(m.clone()));
        let line = line_of(rule, &own.adjusted.surface);
        let Some((a, b)) = line.and_then(|[a, b]| at(&a).zip(at(&b))) else {
            return Err(missing(
                "the rule",
                name,
                "the one it is mirrored from follows marks that have no image here: let it follow the two that are mirrored",
            ));
        };
        let straight = along_a_line([a, b], &own.adjusted.surface, self.centre);
        let pose = pose_by_line(&straight).map_err(|why| PrepareError::Place {
            feature: name.to_owned(),
            why,
        })?;
        turned(&own.adjusted.surface, self.centre, pose.up, self.up).map_err(|why| {
            PrepareError::Surface {
                feature: name.to_owned(),
                why,
            }
        })
    }

    /// Covariance of marks of its own face in this order, then of itself, then of the sizes.
    pub(super) fn covariance(&self, own: &Marks, marks: &[MarkId]) -> DMatrix<f64> {
        let index = |m: &MarkId| own.index(&PointRef::Mark(m.clone()));
        let order: Vec<usize> = marks.iter().filter_map(index).collect();
        let n = 2 * order.len();
        // What is known here: those marks, the two it is laid on, and on one face the middle that
        // is mirrored; the same mark may stand there twice.
        let from_index = |marks: &Marks| -> Vec<usize> {
            self.from.iter().filter_map(|p| marks.index(p)).collect()
        };
        let mut all = order.clone();
        all.extend(self.on.iter().filter_map(index));
        let same = self.other.is_none();
        if same {
            all.extend(from_index(own));
        }
        let here = own.covariance(&all);
        let sizes = here.nrows() - 2 * all.len();
        let there = self
            .other
            .as_ref()
            .map(|marks| marks.covariance(&from_index(marks)));
        // Rows of the image by what is known here.
        let mut rows = DMatrix::zeros(2, here.ncols());
        for r in 0..2 {
            for c in 0..4 {
                rows[(r, n + c)] = self.by_own[(r, c)];
            }
            for k in 0..sizes {
                rows[(r, 2 * all.len() + k)] += self.by_own[(r, 4 + k)];
            }
            if same {
                for c in 0..6 {
                    rows[(r, n + 4 + c)] = self.by_other[(r, c)];
                }
                for k in 0..sizes {
                    rows[(r, 2 * all.len() + k)] += self.by_other[(r, 6 + k)];
                }
            }
        }
        let cross = &rows * &here;
        let mut own_part = &cross * rows.transpose();
        if let Some(there) = there {
            own_part += &self.by_other * there * self.by_other.transpose();
        }
        let known = |k: usize| {
            if k < n {
                Some(k)
            } else if k < n + 2 {
                None
            } else {
                Some(2 * all.len() + k - n - 2)
            }
        };
        DMatrix::from_fn(n + 2 + sizes, n + 2 + sizes, |r, c| {
            match (known(r), known(c)) {
                (Some(r), Some(c)) => here[(r, c)],
                (None, Some(k)) => cross[(r - n, k)],
                (Some(k), None) => cross[(c - n, k)],
                (None, None) => own_part[(r - n, c - n)],
            }
        })
    }

    /// Where it lies in a picture.
    pub(super) fn flat(&self, development: &Development) -> Option<Point2<Flat>> {
        development.flat(self.centre).ok()
    }
}
