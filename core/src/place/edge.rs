//! Edges that something follows: where they run on the ground, and the place so far off two of them.
//!
//! ```text
//!   unrolled cone            tip
//!                           / | \
//!                    end   /  |  \
//!                         /   ◯   \      an edge that goes round bends about the tip, one that goes
//!                  corner ╰───────╯      up is straight: distances square from both are over the surface
//!                            edge
//! ```

use super::error::PlaceError;
use super::ground::{Ground, Place, Stand, add, dot, sub, times};
use super::rule::{Rule, Spread};
use crate::num::real::Real;

/// A cone with less taper than this is a cylinder: over a metre an edge round it bends under 0.2 µm.
const NO_TAPER: f64 = 1e-6;

/// Edges within some 5° of each other meet nowhere in particular.
const SIDE_BY_SIDE: f64 = 0.1;

/// Steps to the place off two edges: exact in one where both are straight, else some four.
const MOST_STEPS: usize = 25;

/// An edge of a face that unrolls.
#[derive(Debug, Clone, Copy)]
pub(super) enum Edge<T> {
    /// Straight through a place, with the direction to its left.
    Straight { at: Place<T>, left: Place<T> },
    /// Round a middle, which lies to its left or to its right.
    Round {
        corner: Place<T>,
        middle: Place<T>,
        radius: T,
        middle_is_left: bool,
    },
}

/// The two edges of a rule as they run on the drawing or on a casting; nothing where it follows marks.
///
/// # Errors
/// [`PlaceError::EdgesBend`] on a face that doesn't unroll; points of an edge too close together.
pub(super) fn edges_of<T: Real>(
    rule: &Rule,
    on: &Spread<'_, T>,
) -> Result<Option<[Edge<T>; 2]>, PlaceError> {
    let Rule::Edges {
        corner,
        along,
        end,
        round,
    } = rule
    else {
        return Ok(None);
    };
    let one = |further: usize, round: bool| {
        Edge::through(&on.ground, on.mark(*corner), on.mark(further), round)
    };
    Ok(Some([one(*along, round[0])?, one(*end, round[1])?]))
}

/// The edge of a rule that follows one; nothing where it follows none, or two.
///
/// # Errors
/// As [`edges_of`].
pub(super) fn edge_of<T: Real>(
    rule: &Rule,
    on: &Spread<'_, T>,
) -> Result<Option<Edge<T>>, PlaceError> {
    match rule {
        Rule::OffEdge {
            on_edge,
            further,
            round,
            ..
        } => Edge::through(&on.ground, on.mark(*on_edge), on.mark(*further), *round).map(Some),
        _ => Ok(None),
    }
}

impl<T: Real> Edge<T> {
    /// From the corner through a point further along.
    fn through(
        ground: &Ground<'_, T>,
        corner: Place<T>,
        further: Place<T>,
        round: bool,
    ) -> Result<Self, PlaceError> {
        if !matches!(ground, Ground::Plane | Ground::Sector { .. }) {
            return Err(PlaceError::EdgesBend);
        }
        let straight = ground.look(corner, further)?;
        let left = ground.left(&straight);
        let (reference, taper) = match *ground {
            Ground::Sector { reference, taper } if round && taper.value().abs() > NO_TAPER => {
                (reference, taper)
            }
            _ => return Ok(Self::Straight { at: corner, left }),
        };
        let zero = T::of(0.0);
        let tip = [zero, zero - reference / taper, zero];
        let out = sub(corner, tip);
        let radius = dot(out, out).sqrt();
        // Through both points, bent as about the tip: it needn't lie square to the axis to a hair.
        let half = times(sub(further, corner), T::of(0.5));
        let rise = radius * radius - dot(half, half);
        if rise.value() <= 0.0 {
            return Err(PlaceError::EdgesBend);
        }
        let from_tip = sub(tip, add(corner, half));
        let middle_is_left = dot(from_tip, left).value() > 0.0;
        let side = T::of(if middle_is_left { 1.0 } else { -1.0 });
        Ok(Self::Round {
            corner,
            middle: add(add(corner, half), times(left, side * rise.sqrt())),
            radius,
            middle_is_left,
        })
    }

    /// How far to the left of it a place lies, square over the surface.
    pub(super) fn off(&self, place: Place<T>) -> T {
        match *self {
            Self::Straight { at, left } => dot(sub(place, at), left),
            Self::Round {
                middle,
                radius,
                middle_is_left,
                ..
            } => {
                let out = sub(place, middle);
                let away = dot(out, out).sqrt();
                if middle_is_left {
                    radius - away
                } else {
                    away - radius
                }
            }
        }
    }

    /// Square away from it to the left, at a place.
    fn left(&self, place: Place<T>) -> Place<T> {
        match *self {
            Self::Straight { left, .. } => left,
            Self::Round {
                middle,
                middle_is_left,
                ..
            } => {
                let out = sub(place, middle);
                let side = T::of(if middle_is_left { -1.0 } else { 1.0 });
                times(out, side / dot(out, out).sqrt())
            }
        }
    }

    /// Standing at a place, looking along it.
    pub(super) fn stand(&self, place: Place<T>) -> Stand<T> {
        let left = self.left(place);
        Stand {
            at: place,
            along: [left[1], -left[0], T::of(0.0)],
        }
    }

    /// The place that lies so far to the left of this edge and of another, from their corner.
    ///
    /// # Errors
    /// [`PlaceError::EdgesSideBySide`].
    pub(super) fn meets(&self, by: [T; 2], other: &Self) -> Result<Place<T>, PlaceError> {
        let mut place = match *self {
            Self::Straight { at, .. } => at,
            Self::Round { corner, .. } => corner,
        };
        // By Newton's method; the last step carries the derivatives.
        for _ in 0..MOST_STEPS {
            let (n, m) = (self.left(place), other.left(place));
            let miss = [by[0] - self.off(place), by[1] - other.off(place)];
            let det = n[0] * m[1] - n[1] * m[0];
            if det.value().abs() < SIDE_BY_SIDE {
                return Err(PlaceError::EdgesSideBySide);
            }
            let step = [
                (miss[0] * m[1] - miss[1] * n[1]) / det,
                (miss[1] * n[0] - miss[0] * m[0]) / det,
                T::of(0.0),
            ];
            place = add(place, step);
            if step[0].value().abs() + step[1].value().abs() < 1e-10 {
                return Ok(place);
            }
        }
        Err(PlaceError::NotSettled)
    }
}
