//! The parallel face through the middle of a sheet laid on a face: what keeps its length when the
//! sheet is bent (design/11, *Thickness*).

use super::{Axis, Shape, Surface, SurfaceError, checked_size};
use crate::frames::{Face, Point2};
use crate::units::Length;
use nalgebra::Matrix2;

/// Chart of the middle of a sheet from the chart of the face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Above {
    /// So many times along u and along v.
    Times([f64; 2]),
    /// On a scan: so far out along the normal of each place, mm.
    Out(f64),
}

impl Above {
    pub(super) fn of(self, face: &Surface, p: Point2<Face>) -> Point2<Face> {
        match (self, face) {
            (Self::Times([ku, kv]), _) => Point2::from_mm(p.x_mm() * ku, p.y_mm() * kv),
            (Self::Out(mm), Surface::Scan(scan)) => {
                let [u, v] = scan.above([p.x_mm(), p.y_mm()], mm);
                Point2::from_mm(u, v)
            }
            (Self::Out(_), _) => p,
        }
    }
    pub(super) fn back(self, face: &Surface, p: Point2<Face>) -> Point2<Face> {
        match (self, face) {
            (Self::Times([ku, kv]), _) => Point2::from_mm(p.x_mm() / ku, p.y_mm() / kv),
            (Self::Out(mm), Surface::Scan(scan)) => {
                let [u, v] = scan.below([p.x_mm(), p.y_mm()], mm);
                Point2::from_mm(u, v)
            }
            (Self::Out(_), _) => p,
        }
    }
    /// How [`Above::of`] changes with the place.
    pub(super) fn slopes(self, face: &Surface, p: Point2<Face>) -> Matrix2<f64> {
        match (self, face) {
            (Self::Times([ku, kv]), _) => Matrix2::new(ku, 0.0, 0.0, kv),
            (Self::Out(mm), Surface::Scan(scan)) => {
                let [a, b] = scan.above_slopes([p.x_mm(), p.y_mm()], mm);
                Matrix2::new(a[0], b[0], a[1], b[1])
            }
            (Self::Out(_), _) => Matrix2::identity(),
        }
    }
}

/// The parallel face through the middle of a sheet, and its chart from the face's.
pub(super) fn middle_of_sheet(
    surface: &Surface,
    centre: Point2<Face>,
    thickness: Length,
) -> Result<(Surface, Above), SurfaceError> {
    let half_mm = thickness.mm() / 2.0;
    if thickness == Length::ZERO {
        return Ok((surface.clone(), Above::Times([1.0, 1.0])));
    }
    checked_size("a thickness", thickness.mm())?;
    if let Surface::Scan(face) = surface {
        let middle = Surface::Scan(face.parallel(centre, half_mm)?);
        return Ok((middle, Above::Out(half_mm)));
    }
    let values = surface.values();
    let radius_mm = match surface {
        Surface::Cone(cone) => cone.r_mm(centre.y_mm())?,
        _ => values[0],
    };
    // The signed radius grows by t/2 on a bulge and shrinks in size by t/2 in a hollow.
    let room = match surface {
        Surface::Cone(cone) => radius_mm / libm::cos(cone.half_angle().rad()),
        _ => radius_mm,
    };
    if room < 0.0 && room + thickness.mm() >= 0.0 {
        return Err(SurfaceError::TooThick {
            thickness_mm: thickness.mm(),
            radius_mm: radius_mm.abs(),
        });
    }
    let around = |middle_mm: f64, own_mm: f64| middle_mm / own_mm;
    let (middle, times) = match surface {
        Surface::Flat(face) => (Surface::Flat(*face), [1.0, 1.0]),
        Surface::Cylinder(face) => {
            let middle = face.offset(half_mm);
            let k = around(middle.signed_radius().mm(), values[0]);
            let scale = match face.axis() {
                Axis::Up => [k, 1.0],
                Axis::Across => [1.0, k],
            };
            (Surface::Cylinder(middle), scale)
        }
        Surface::Cone(face) => {
            let middle = face.offset(half_mm);
            let k = around(middle.signed_reference_radius().mm(), values[0]);
            (Surface::Cone(middle), [k, 1.0])
        }
        Surface::Dome(face) => {
            let middle = face.offset(half_mm);
            let k = around(middle.signed_radius().mm(), values[0]);
            (Surface::Dome(middle), [k, k])
        }
        Surface::Scan(face) => (Surface::Scan(face.clone()), [1.0, 1.0]),
        Surface::TwoRadii(face) => {
            let up_mm = values[1];
            if up_mm < 0.0 && up_mm + thickness.mm() >= 0.0 {
                return Err(SurfaceError::TooThick {
                    thickness_mm: thickness.mm(),
                    radius_mm: up_mm.abs(),
                });
            }
            let middle = face.offset(half_mm);
            let [across, up, _] = middle.values();
            let scale = [around(across, values[0]), around(up, up_mm)];
            (Surface::TwoRadii(middle), scale)
        }
    };
    Ok((middle, Above::Times(times)))
}
