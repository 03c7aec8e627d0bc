//! The signed square distance of a mark from a datum edge.
//!
//! An edge is a line of the chart, `offset + slope·t` to the left of its nominal line. On a flat
//! face and a cylinder the distance has a closed form; on a cone and a dome it is the shortest
//! distance over the surface to the edge, whose foot is found, and whose derivatives are those
//! of the distance from that foot (the foot's own movement along the edge does not count).

use super::adjusted::Adjusted;
use super::model::EDGE_HALF_MM;
use super::motion::Group;
use super::network::EdgeStart;
use crate::frames::{Face, Point2, Vector2};
use crate::surface::{MAX_PARAMETERS, Shape, Surface, SurfaceError};
use crate::units::Length;

/// Under this the distance over a curved face is taken as the straight one, whose derivatives
/// stay smooth through zero; they differ by d³/24R², a millionth of a millimetre at R = 200 mm.
const STRAIGHT_BELOW_MM: f64 = 1.0;

/// Steps of the search for a foot; the secant method needs six or seven.
const MOST_STEPS: usize = 60;

/// How far either way from its middle an edge is looked at to see how a motion moves it.
///
/// A line of the plane goes to a line, however far out it is looked at. An edge that goes round a cone
/// goes to another one only near by: half a metre out it would bend away, and the motion would seem
/// to be one that the readings see.
pub(super) const fn looked_at_mm(group: &Group) -> f64 {
    match group {
        Group::Plane { .. } => EDGE_HALF_MM,
        _ => 1.0,
    }
}

/// A signed square distance with all its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Square {
    pub(super) mm: f64,
    pub(super) d_point: Vector2<Face>,
    pub(super) d_offset: f64,
    pub(super) d_slope: f64,
    pub(super) d_param: [f64; MAX_PARAMETERS],
}

/// The nominal edge's frame: where it starts, along it, square to it on the left.
pub(super) fn frame(edge: &EdgeStart) -> (Point2<Face>, Vector2<Face>, Vector2<Face>) {
    let along = Vector2::from_mm(1.0, 0.0).turned(edge.along.rad());
    (edge.through, along, along.perp())
}

/// Square distance of a mark from an edge that lies `offset` and `slope` off its nominal.
pub(super) fn square(
    surface: &Surface,
    edge: &EdgeStart,
    offset_mm: f64,
    slope: f64,
    point: Point2<Face>,
) -> Result<Square, SurfaceError> {
    let (origin, along, left) = frame(edge);
    let arm = point - origin;
    let (t_mm, n_mm) = (arm.dot(along), arm.dot(left));
    let gap_mm = n_mm - offset_mm - slope * t_mm;
    let stretch = 1.0 / libm::sqrt(1.0 + slope * slope);
    if matches!(surface, Surface::Flat(_) | Surface::Cylinder(_)) {
        return Ok(Square {
            mm: gap_mm * stretch,
            d_point: (left - along * slope) * stretch,
            d_offset: -stretch,
            d_slope: -t_mm * stretch - gap_mm * slope * stretch * stretch * stretch,
            d_param: [0.0; MAX_PARAMETERS],
        });
    }
    let foot_at = |t_mm: f64| origin + along * t_mm + left * (offset_mm + slope * t_mm);
    let direction = along + left * slope;
    // How much nearer the mark comes for each millimetre along the edge, times the distance.
    let pull = |t_mm: f64| -> Result<(f64, f64), SurfaceError> {
        let foot = foot_at(t_mm);
        let (here, there) = (surface.jet(foot)?, surface.jet(point)?);
        let tangent = here.du * direction.x_mm() + here.dv * direction.y_mm();
        let chord = there.at - here.at;
        let size = tangent.dot(tangent);
        if chord.norm().mm() < STRAIGHT_BELOW_MM {
            return Ok((chord.dot(tangent), size));
        }
        let d = surface.over_surface(foot, point, 0)?;
        Ok((-d.mm * d.d_from.dot(direction), size))
    };
    let t_mm = find_foot(
        (t_mm + slope * (n_mm - offset_mm)) * stretch * stretch,
        pull,
    )?;
    let foot = foot_at(t_mm);
    let (here, there) = (surface.jet(foot)?, surface.jet(point)?);
    let chord = there.at - here.at;
    if chord.norm().mm() < STRAIGHT_BELOW_MM {
        let tangent = here.du * direction.x_mm() + here.dv * direction.y_mm();
        let Some(side) = surface.normal(foot)?.cross(tangent).unit() else {
            return Err(SurfaceError::TooClose);
        };
        let d_offset = -side.dot(here.du * left.x_mm() + here.dv * left.y_mm());
        let mut d_param = [0.0; MAX_PARAMETERS];
        for (k, d) in d_param.iter_mut().enumerate() {
            *d = side.dot(there.dparam[k] - here.dparam[k]);
        }
        return Ok(Square {
            mm: side.dot(chord),
            d_point: Vector2::from_mm(side.dot(there.du), side.dot(there.dv)),
            d_offset,
            d_slope: d_offset * t_mm,
            d_param,
        });
    }
    let d = surface.over_surface(foot, point, 0)?;
    let sign = if gap_mm < 0.0 { -1.0 } else { 1.0 };
    let d_offset = sign * d.d_from.dot(left);
    Ok(Square {
        mm: sign * d.mm,
        d_point: d.d_to * sign,
        d_offset,
        d_slope: d_offset * t_mm,
        d_param: d.d_param.map(|x| x * sign),
    })
}

fn find_foot(
    start_mm: f64,
    pull: impl Fn(f64) -> Result<(f64, f64), SurfaceError>,
) -> Result<f64, SurfaceError> {
    let (mut t0, (mut f0, size)) = (start_mm, pull(start_mm)?);
    let mut t1 = t0 + f0 / size.max(1e-12);
    for _ in 0..MOST_STEPS {
        if (t1 - t0).abs() < 1e-11 * (1.0 + t1.abs()) {
            break;
        }
        let (f1, size) = pull(t1)?;
        let fall = (f0 - f1) / (t1 - t0);
        let step = if fall > 0.05 * size {
            f1 / fall
        } else {
            f1 / size.max(1e-12)
        };
        (t0, f0) = (t1, f1);
        t1 += step;
    }
    Ok(t1)
}

/// How far a mark lies square from an edge, to the left of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquareOff {
    /// By so much.
    pub by: Length,
    /// One standard deviation of it.
    pub sd: Length,
}

impl Adjusted {
    /// How far a mark lies square from an edge, by everything read; nothing where no reading tells
    /// where that edge runs.
    #[must_use]
    pub fn square_off(&self, edge: usize, to: usize) -> Option<SquareOff> {
        let at = self.points.get(to)?.at;
        let found = square(&self.surface, self.edges.get(edge)?, 0.0, 0.0, at).ok()?;
        let layout = &self.inner.layout;
        let mut row = Vec::new();
        if let Some(k) = layout.points.get(to).copied().flatten() {
            row.extend([(k, found.d_point.x_mm()), (k + 1, found.d_point.y_mm())]);
        }
        if let Some(k) = layout.edges.get(edge).copied().flatten() {
            row.extend([(k, found.d_offset), (k + 1, found.d_slope)]);
        }
        for (at, by) in layout.sizes.iter().zip(found.d_param) {
            row.extend(at.map(|k| (k, by)));
        }
        Some(SquareOff {
            by: Length::from_mm(found.mm),
            sd: Length::from_mm(self.sd_of(&row)),
        })
    }
}
