//! A face read all the way round.

use crate::surface::{MAX_PARAMETERS, Parameter, Shape, Surface};
use core::f64::consts::TAU;

/// All the way round at a height, with derivatives by the sizes.
pub(super) fn girth(surface: &Surface, v_mm: f64) -> (f64, [f64; MAX_PARAMETERS]) {
    if let Surface::TwoRadii(face) = surface {
        return face.girth_at(v_mm);
    }
    let values = surface.values();
    let mut d = [0.0; MAX_PARAMETERS];
    let mut radius_mm = 0.0;
    for (k, parameter) in surface.parameters().iter().enumerate() {
        d[k] = match parameter {
            Parameter::Radius | Parameter::ReferenceRadius | Parameter::AcrossRadius => 1.0,
            Parameter::UpRadius | Parameter::Scale => 0.0,
            Parameter::Taper => v_mm,
        };
        radius_mm += values[k] * d[k];
    }
    (
        TAU * radius_mm.abs(),
        d.map(|x| TAU * radius_mm.signum() * x),
    )
}
