//! A flat face.

use super::{
    Distance, Jet, MAX_PARAMETERS, Parameter, Shape, Surface, SurfaceError, Turns, too_close,
};
use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};

/// A flat face: the chart is the plane itself.
///
/// In its own space frame it stands in the plane x = 0, faces +x, u runs along y and v up z.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Flat;

impl Shape for Flat {
    fn parameters(&self) -> &'static [Parameter] {
        &[]
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        [0.0; MAX_PARAMETERS]
    }
    fn with_values(&self, _values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        Ok(Surface::Flat(Self))
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        Ok(Jet {
            at: Point3::from_mm(0.0, at.x_mm(), at.y_mm()),
            du: Vector3::from_mm(0.0, 1.0, 0.0),
            dv: Vector3::from_mm(0.0, 0.0, 1.0),
            dparam: [Vector3::from_mm(0.0, 0.0, 0.0); MAX_PARAMETERS],
        })
    }
    fn normal(&self, _at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        Ok(Vector3::from_mm(1.0, 0.0, 0.0))
    }
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        _turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        in_the_plane(to - from, [Vector2::ZERO; MAX_PARAMETERS])
    }
    fn isometries(&self, _any_straight: bool) -> usize {
        3
    }
}

/// Distance along a displacement of an isometric chart, given how the displacement itself
/// depends on the shape parameters.
pub(super) fn in_the_plane(
    step: Vector2<Face>,
    step_by_param: [Vector2<Face>; MAX_PARAMETERS],
) -> Result<Distance, SurfaceError> {
    let mm = step.norm_mm();
    too_close(mm)?;
    let along = step * (1.0 / mm);
    Ok(Distance {
        mm,
        d_from: -along,
        d_to: along,
        d_param: step_by_param.map(|by| along.dot(by)),
    })
}
