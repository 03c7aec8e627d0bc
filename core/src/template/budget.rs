//! What a template leaves at its worst point, and what that is made of (design/11, *Budget*).
//!
//! Known offsets add as vectors, b = |sharing + flattening + known scale error|; random terms add
//! as covariances, C = C_measuring + C_pattern + C_laying + C_printing + u²·I. The whole is
//! E = b + 2.4477·√λmax(C): 95 % of cases lie within it when b is nothing, more otherwise.

use super::laying::LaySlopes;
use crate::frames::{Flat, Point2, Vector2};
use crate::place::Jacobian;
use crate::units::{Angle, Length};
use nalgebra::{DMatrix, Matrix2, Matrix3, Vector3};

/// √χ²₂(0.95): the radius of the 95 % circle in units of a standard deviation (Mikhail 1976;
/// `../shared/checks` D11).
pub const COVER_95: f64 = 2.447_746_830_680_816;

/// Where a term of the budget comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum TermKind {
    /// Readings of this casting, as far as the laying does not cancel them.
    Measuring,
    /// Readings of the pattern.
    Pattern,
    /// One template for several castings.
    Sharing,
    /// Paper on a face that is round both ways.
    Flattening,
    /// What the face's sizes, or the smoothing of its scan, leave out of its true shape.
    Form,
    /// What the printer and the paper do to lengths.
    Printing,
    /// Bringing crosses onto marks.
    LayingOn,
    /// The marker's own scatter.
    Marking,
    /// A punch through the sheet and a bit that starts on its mark, or a bit in its bush.
    Drilling,
    /// Bolts in the holes of a plate.
    Bolting,
}

impl TermKind {
    /// Its name on sheets and screens.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Measuring => "measuring",
            Self::Pattern => "pattern",
            Self::Sharing => "sharing",
            Self::Flattening => "flattening",
            Self::Form => "shape of the face",
            Self::Printing => "printing",
            Self::LayingOn => "laying on",
            Self::Marking => "marking",
            Self::Drilling => "drilling",
            Self::Bolting => "play of the bolts",
        }
    }
}

/// What laying, printing and marking are good for, until something better is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Standard deviation of bringing one cross onto its mark, each way. 0.3 mm: a pencil line
    /// and a pip seen through paper (common practice, no source).
    pub pointing: Length,
    /// Bound on the relative scale error of the sheet, each way. Not proved: a 200 mm bar read to
    /// 0.5 mm shows 0.25 % (design/10 §2.2), of which paper in a dry shop is a fifth.
    pub scale: f64,
    /// Standard deviation of the marker's line about where it should run, each way.
    pub marking: Length,
    /// What that is called: marking or drilling.
    pub marked_by: TermKind,
    /// Standard deviation, each way, of what the face's true shape does to ways over it.
    pub form: Length,
    /// Standard deviation of a turn that the laying brings with it: how well the level told how
    /// far this casting's line is off level.
    pub turn: Angle,
}

impl Default for Shares {
    fn default() -> Self {
        Self {
            pointing: Length::from_mm(0.3),
            scale: 0.0025,
            marking: Length::from_mm(0.25),
            marked_by: TermKind::Marking,
            form: Length::ZERO,
            turn: Angle::ZERO,
        }
    }
}

/// One term at the worst point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Term {
    /// Which.
    pub kind: TermKind,
    /// As a 95 % radius (random), or its length (known).
    pub size: Length,
}

/// The whole at the worst point of the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// b + 2.4477·√λmax(C).
    pub worst: Length,
    /// Where on the outline.
    pub at: Point2<Flat>,
    /// The greatest part that another laying could change: sharing, measuring and laying on.
    pub by_laying: Length,
    /// Its terms there, largest first; those under a micrometre are left out.
    pub terms: Vec<Term>,
}

/// How one point of an outline moves in the outline's own frame with the marks that the outline is
/// drawn by: a line it runs along, or the place it is seen from. Columns of the Jacobians with what one
/// millimetre of each moves it by; those that move nothing are left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DrawnBy {
    /// By this casting's marks.
    pub casting: Vec<(usize, Vector2<Flat>)>,
    /// By the drawing's.
    pub drawing: Vec<(usize, Vector2<Flat>)>,
}

/// Inputs of a budget for one template on one casting.
#[derive(Debug, Clone, Copy)]
pub struct Given<'a> {
    /// Outline points at which to look.
    pub outline: &'a [Point2<Flat>],
    /// How the rule's target moves with the casting.
    pub rule_by_casting: &'a Jacobian<3>,
    /// How it moves with the drawing.
    pub rule_by_drawing: &'a Jacobian<3>,
    /// How the laid template moves.
    pub laid: &'a LaySlopes,
    /// Covariance of the casting's marks and sizes, in the order of the Jacobian's columns, mm².
    pub casting: &'a DMatrix<f64>,
    /// Covariance of the drawing's marks, the centre and the sizes, mm².
    pub drawing: &'a DMatrix<f64>,
    /// Known offset at each outline point from sharing.
    pub sharing: &'a [Vector2<Flat>],
    /// Known offset at each outline point from flattening.
    pub flattening: &'a [Vector2<Flat>],
    /// How each outline point moves with the marks it is drawn by; empty where it is drawn by none.
    pub drawn_by: &'a [DrawnBy],
    /// What laying, printing and marking are good for.
    pub shares: Shares,
}

/// Where a 95 % circle of one covariance reaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cover {
    /// Greater half axis, mm.
    pub major_mm: f64,
    /// Lesser half axis, mm.
    pub minor_mm: f64,
    /// Direction of the greater, anticlockwise from across, rad.
    pub turn_rad: f64,
}

impl Cover {
    /// The 95 % ellipse of a covariance in mm².
    #[must_use]
    pub fn of(c: &Matrix2<f64>) -> Self {
        let (mean, half) = ((c.m11 + c.m22) / 2.0, (c.m11 - c.m22) / 2.0);
        let spread = libm::hypot(half, c.m12);
        Self {
            major_mm: COVER_95 * libm::sqrt((mean + spread).max(0.0)),
            minor_mm: COVER_95 * libm::sqrt((mean - spread).max(0.0)),
            turn_rad: 0.5 * libm::atan2(c.m12, half),
        }
    }
}

fn matrix(j: &Jacobian<3>) -> DMatrix<f64> {
    DMatrix::from_fn(3, j.0[0].len(), |r, c| j.0[r][c])
}

fn carried(j: &DMatrix<f64>, c: &DMatrix<f64>) -> Matrix3<f64> {
    if j.ncols() == 0 || j.ncols() != c.nrows() {
        return Matrix3::zeros();
    }
    let full = j * c * j.transpose();
    Matrix3::from_fn(|r, k| full[(r, k)])
}

/// B(x) C Bᵀ: the covariance at an outline point of a pose's covariance, B = [I | e⊥x].
fn at_point(c: &Matrix3<f64>, p: Point2<Flat>) -> Matrix2<f64> {
    let b = nalgebra::Matrix2x3::new(1.0, 0.0, -p.y_mm(), 0.0, 1.0, p.x_mm());
    b * c * b.transpose()
}

fn moved(step: Vector3<f64>, p: Point2<Flat>) -> Vector2<Flat> {
    Vector2::from_mm(step.x - step.z * p.y_mm(), step.y + step.z * p.x_mm())
}

/// Covariances of the pose that a laying leaves: by measuring, by the pattern, by laying on.
fn poses(given: &Given<'_>) -> [Matrix3<f64>; 3] {
    let leaves = &given.laid.by_casting - matrix(given.rule_by_casting);
    let pointing = given.shares.pointing.mm();
    let lay = &given.laid.by_pointing * given.laid.by_pointing.transpose();
    let mut measuring = carried(&leaves, given.casting);
    measuring[(2, 2)] += given.shares.turn.rad() * given.shares.turn.rad();
    [
        measuring,
        carried(&matrix(given.rule_by_drawing), given.drawing),
        Matrix3::from_fn(|r, c| lay[(r, c)] * pointing * pointing),
    ]
}

/// What moves all points of a template together: the covariance of its shift (mm) and turn (rad),
/// and where printing moves each outline point at one standard deviation, each way.
pub type Together = (Matrix3<f64>, [Vec<Vector2<Flat>>; 2]);

/// What moves all points of a template together.
#[must_use]
pub fn moves_together(given: &Given<'_>) -> Together {
    let scale = given.shares.scale / libm::sqrt(3.0);
    let stretch = |way: usize| {
        let own = |p: Point2<Flat>| match way {
            0 => Vector2::from_mm(p.x_mm(), 0.0),
            _ => Vector2::from_mm(0.0, p.y_mm()),
        };
        let moved_by = |p: &Point2<Flat>| (moved(given.laid.by_scale[way], *p) + own(*p)) * scale;
        given.outline.iter().map(moved_by).collect()
    };
    let [measuring, pattern, laying] = poses(given);
    (measuring + pattern + laying, [stretch(0), stretch(1)])
}

/// The covariance at an outline point that moves with the pose and, `sign` times, by itself.
fn with_own(
    (pose, c): (&DMatrix<f64>, &DMatrix<f64>),
    p: Point2<Flat>,
    (own, sign): (&[(usize, Vector2<Flat>)], f64),
) -> Matrix2<f64> {
    if pose.ncols() == 0 || pose.ncols() != c.nrows() {
        return Matrix2::zeros();
    }
    let b = DMatrix::from_row_slice(2, 3, &[1.0, 0.0, -p.y_mm(), 0.0, 1.0, p.x_mm()]);
    let mut rows = b * pose;
    let columns = rows.ncols();
    for (column, by) in own.iter().filter(|o| o.0 < columns) {
        rows[(0, *column)] += sign * by.x_mm();
        rows[(1, *column)] += sign * by.y_mm();
    }
    let full = &rows * c * rows.transpose();
    Matrix2::from_fn(|r, k| full[(r, k)])
}

/// Adds up a template's budget over its outline.
#[must_use]
pub fn budget(given: &Given<'_>) -> Budget {
    let [measuring, pattern, laying] = poses(given);
    // A bound ±a counts a/√3 (rectangular; JCGM 100:2008 4.3.7).
    let scale = given.shares.scale / libm::sqrt(3.0);
    let marking = given.shares.marking.mm();
    let form = given.shares.form.mm();
    let leaves = &given.laid.by_casting - matrix(given.rule_by_casting);
    let by_drawing = matrix(given.rule_by_drawing);
    let turn = given.shares.turn.rad();
    let turned = Matrix3::from_fn(|r, c| if (r, c) == (2, 2) { turn * turn } else { 0.0 });
    let mut worst: Option<Budget> = None;
    let mut by_laying_mm = 0.0_f64;
    for (k, &p) in given.outline.iter().enumerate() {
        let off = |list: &[Vector2<Flat>]| list.get(k).copied().unwrap_or(Vector2::ZERO);
        let (sharing, flattening) = (off(given.sharing), off(given.flattening));
        let stretch = [
            moved(given.laid.by_scale[0], p) + Vector2::from_mm(p.x_mm(), 0.0),
            moved(given.laid.by_scale[1], p) + Vector2::from_mm(0.0, p.y_mm()),
        ];
        let mut printing = Matrix2::zeros();
        for s in stretch {
            let v = nalgebra::Vector2::new(s.x_mm(), s.y_mm()) * scale;
            printing += v * v.transpose();
        }
        // Where the laying follows the rule the pose loses nothing to the readings; what the outline is
        // bent by still does.
        let [measured, of_pattern] = match given.drawn_by.get(k) {
            None => [at_point(&measuring, p), at_point(&pattern, p)],
            Some(by) => [
                with_own((&leaves, given.casting), p, (&by.casting, -1.0)) + at_point(&turned, p),
                with_own((&by_drawing, given.drawing), p, (&by.drawing, 1.0)),
            ],
        };
        let random = [
            (TermKind::Measuring, measured),
            (TermKind::Pattern, of_pattern),
            (TermKind::LayingOn, at_point(&laying, p)),
            (TermKind::Printing, printing),
            (
                given.shares.marked_by,
                Matrix2::identity() * (marking * marking),
            ),
            (TermKind::Form, Matrix2::identity() * (form * form)),
        ];
        let all = random.iter().fold(Matrix2::zeros(), |sum, (_, c)| sum + c);
        let known = (sharing + flattening).norm_mm();
        let whole = known + Cover::of(&all).major_mm;
        let laid = sharing.norm_mm() + Cover::of(&(random[0].1 + random[2].1)).major_mm;
        by_laying_mm = by_laying_mm.max(laid);
        // A margin, so that equal points never trade places between machines.
        if worst.as_ref().is_none_or(|w| whole > w.worst.mm() + 1e-9) {
            let mut terms: Vec<Term> = random
                .iter()
                .map(|(kind, c)| Term {
                    kind: *kind,
                    size: Length::from_mm(Cover::of(c).major_mm),
                })
                .chain([
                    Term {
                        kind: TermKind::Sharing,
                        size: sharing.norm(),
                    },
                    Term {
                        kind: TermKind::Flattening,
                        size: flattening.norm(),
                    },
                ])
                .filter(|t| t.size.mm() >= 0.001)
                .collect();
            terms.sort_by(|a, b| {
                b.size
                    .mm()
                    .total_cmp(&a.size.mm())
                    .then(a.kind.cmp(&b.kind))
            });
            worst = Some(Budget {
                worst: Length::from_mm(whole),
                at: p,
                by_laying: Length::ZERO,
                terms,
            });
        }
    }
    let mut sum = worst.unwrap_or(Budget {
        worst: Length::ZERO,
        at: Point2::ORIGIN,
        by_laying: Length::ZERO,
        terms: Vec::new(),
    });
    sum.by_laying = Length::from_mm(by_laying_mm);
    sum
}
