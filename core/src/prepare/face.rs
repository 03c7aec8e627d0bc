//! The face of the pattern and of its castings, from what the workshop measured.

use super::error::PrepareError;
use super::scans::scanned;
use crate::job::{AxisChoice, Curve, Entry, FaceEdit, FaceShape, Job, Size};
use crate::readings::SizeHeld;
use crate::surface::size::{self, MeasuredRadius, SizeError, StraightEdge, Taped, gauge_card};
use crate::surface::{
    Axis, Bulge, Cone, Cylinder, Dome, FlatFace, MAX_PARAMETERS, Shape, Surface, SurfaceError,
    TwoRadii,
};
use crate::units::Length;

/// A face with the standard deviation of each of its sizes.
#[derive(Debug, Clone, PartialEq)]
pub struct Sized {
    /// The face.
    pub surface: Surface,
    /// Standard deviations in the order of its parameters.
    pub sd: [f64; MAX_PARAMETERS],
}

/// Standard uncertainty of a girth or slant by a soft tape, in mm: class II over 1–2 m, laid by
/// hand (OIML R 35 class II 0.7 over √3, with 0.5 for laying; common practice, no source).
const TAPED_SD: Length = Length::from_mm(0.65);

/// Standard uncertainty of a gap under a straight-edge read with a rule (common practice, no source).
const GAP_SD: Length = Length::from_mm(0.3);

/// How far castings of one mould differ in size, as a share (one standard deviation): shrinkage
/// is 1 to 4 in 1000 for hand lay-up (shared checks N1).
const CASTING_SPREAD: f64 = 0.003;

/// How far the taper of castings differs (one standard deviation): a millimetre of radius over
/// half a metre of slant.
const TAPER_SPREAD: f64 = 0.002;

/// The face as it is on the pattern.
///
/// # Errors
/// [`PrepareError::NotSetUp`] without a kind, [`PrepareError::Size`] for sizes that can't be.
pub fn pattern_face(job: &Job, face: &FaceEdit) -> Result<Sized, PrepareError> {
    let name = face.name.clone().unwrap_or_default();
    let shape = face.shape.as_ref().ok_or_else(|| PrepareError::NotSetUp {
        what: "the shape",
        of: name.clone(),
        then: "say whether it is flat, round one way, tapered, round both ways or from a scan, and how big it is",
    })?;
    let sized = |why: SizeError| PrepareError::Size {
        face: name.clone(),
        why: why.to_string(),
    };
    let can = |why: SurfaceError| PrepareError::Size {
        face: name.clone(),
        why: why.to_string(),
    };
    let hollow = |h: &bool| if *h { Bulge::Hollow } else { Bulge::Bulging };
    match shape {
        FaceShape::Flat => Ok(Sized {
            surface: Surface::Flat(FlatFace),
            sd: [0.0; MAX_PARAMETERS],
        }),
        FaceShape::Cylinder {
            axis,
            hollow: inside,
            size,
        } => {
            let r = radius(size).map_err(sized)?;
            let axis = match axis {
                AxisChoice::Up => Axis::Up,
                AxisChoice::Across => Axis::Across,
            };
            let face = Cylinder::new(r.radius, axis, hollow(inside)).map_err(can)?;
            Ok(Sized {
                surface: Surface::Cylinder(face),
                sd: [r.standard.mm(), 0.0, 0.0],
            })
        }
        FaceShape::Dome {
            hollow: inside,
            size,
        } => {
            let r = radius(size).map_err(sized)?;
            let face = Dome::new(r.radius, hollow(inside)).map_err(can)?;
            Ok(Sized {
                surface: Surface::Dome(face),
                sd: [r.standard.mm(), 0.0, 0.0],
            })
        }
        FaceShape::TwoRadii { across, up } => two_radii(across, up, &name),
        FaceShape::Scan {
            attachment, file, ..
        } => scanned(job, &name, attachment, file),
        FaceShape::Cone {
            lower,
            upper,
            slant,
        } => {
            let girth = |s: &Size| {
                radius(s).map(|r| Taped {
                    length: r.radius * core::f64::consts::TAU,
                    standard: r.standard * core::f64::consts::TAU,
                })
            };
            let measured = size::from_two_girths(
                girth(lower).map_err(sized)?,
                girth(upper).map_err(sized)?,
                taped(slant),
            )
            .map_err(sized)?;
            let face = Cone::new(measured.reference.radius, measured.taper, Bulge::Bulging)
                .map_err(can)?;
            Ok(Sized {
                surface: Surface::Cone(face),
                sd: [
                    measured.reference.standard.mm(),
                    measured.taper_standard,
                    0.0,
                ],
            })
        }
    }
}

/// A curve as a signed radius with its standard uncertainty; nothing where it is flat.
fn curve(curve: &Curve) -> Result<Option<(MeasuredRadius, Bulge)>, SizeError> {
    Ok(match curve {
        Curve::Flat => None,
        Curve::Bulging { size } => Some((radius(size)?, Bulge::Bulging)),
        Curve::Hollow { size } => Some((radius(size)?, Bulge::Hollow)),
    })
}

/// Whether two curves can't be told apart: the same size typed, or gauge cards that are neighbours.
fn alike(one: &Curve, other: &Curve) -> bool {
    let card = |c: &Curve| match c {
        Curve::Bulging {
            size: Size::GaugeCard { number },
        }
        | Curve::Hollow {
            size: Size::GaugeCard { number },
        } => Some(i64::from(*number)),
        _ => None,
    };
    match (card(one), card(other)) {
        (Some(a), Some(b)) => gauge_card::round_alike(a, b),
        _ => one == other,
    }
}

/// Flat one way it is round the other way only, and unrolls exactly; alike both ways it is a dome.
fn two_radii(across: &Curve, up: &Curve, name: &str) -> Result<Sized, PrepareError> {
    let refused = |why: String| PrepareError::Size {
        face: name.to_owned(),
        why,
    };
    let measured =
        |c: &Curve, which: &str| curve(c).map_err(|why| refused(format!("{which}: {why}")));
    let both = (measured(across, "across")?, measured(up, "up")?);
    let alike = alike(across, up);
    let round = |(r, bulge): (MeasuredRadius, Bulge), axis| {
        Cylinder::new(r.radius, axis, bulge).map(|face| Sized {
            surface: Surface::Cylinder(face),
            sd: [r.standard.mm(), 0.0, 0.0],
        })
    };
    if let (Some((a, bulge)), Some((b, other))) = (&both.0, &both.1)
        && bulge == other
        && alike
    {
        let face = Dome::new((a.radius + b.radius) / 2.0, *bulge)
            .map_err(|why| refused(why.to_string()))?;
        return Ok(Sized {
            surface: Surface::Dome(face),
            sd: [a.standard.mm().max(b.standard.mm()), 0.0, 0.0],
        });
    }
    match both {
        (None, None) => Ok(Sized {
            surface: Surface::Flat(FlatFace),
            sd: [0.0; MAX_PARAMETERS],
        }),
        (Some(one), None) => round(one, Axis::Up),
        (None, Some(one)) => round(one, Axis::Across),
        (Some((a, bulge_a)), Some((b, bulge_b))) => {
            TwoRadii::new((a.radius, bulge_a), (b.radius, bulge_b)).map(|face| Sized {
                surface: Surface::TwoRadii(face),
                sd: [a.standard.mm(), b.standard.mm(), 0.0],
            })
        }
    }
    .map_err(|why| refused(why.to_string()))
}

fn taped(entry: &Entry) -> Taped {
    Taped {
        length: entry.mm,
        standard: TAPED_SD,
    }
}

fn radius(size: &Size) -> Result<MeasuredRadius, SizeError> {
    match size {
        Size::Radius { radius } => size::from_radius(taped(radius)),
        Size::Girth { girth } => size::from_girth(taped(girth)),
        Size::StraightEdge {
            length,
            gap,
            read_to,
        } => {
            // A bound ±a counts a/√3 (JCGM 100:2008, 4.3.7).
            let standard = read_to.as_ref().map_or(GAP_SD, |a| a.mm / libm::sqrt(3.0));
            StraightEdge {
                length: length.mm,
                gap: Taped {
                    length: gap.mm,
                    standard,
                },
            }
            .radius()
        }
        Size::GaugeCard { number } => gauge_card::measured(i64::from(*number)),
    }
}

/// The face as a casting's should be: smaller by the mould's allowance, with the spread of castings.
///
/// # Errors
/// A size that can't be after the allowance.
pub fn casting_face(
    pattern: &Sized,
    shrinkage_per_mille: f64,
) -> Result<(Surface, [SizeHeld; MAX_PARAMETERS]), SurfaceError> {
    let factor = 1.0 - shrinkage_per_mille / 1000.0;
    let mut values = pattern.surface.values();
    let mut held = [SizeHeld::Fixed; MAX_PARAMETERS];
    let lengths = match pattern.surface {
        Surface::Flat(_) => 0,
        Surface::Cylinder(_) | Surface::Cone(_) | Surface::Dome(_) | Surface::Scan(_) => 1,
        Surface::TwoRadii(_) => 2,
    };
    for (k, value) in values
        .iter_mut()
        .enumerate()
        .take(pattern.surface.parameters().len())
    {
        let spread = if k < lengths {
            *value *= factor;
            value.abs() * CASTING_SPREAD
        } else {
            TAPER_SPREAD
        };
        held[k] = SizeHeld::Prior {
            sd: libm::hypot(pattern.sd[k], spread),
        };
    }
    Ok((pattern.surface.with_values(&values)?, held))
}

/// The pattern's own sizes, known as well as they were measured.
pub(super) fn pattern_held(pattern: &Sized) -> [SizeHeld; MAX_PARAMETERS] {
    let mut held = [SizeHeld::Fixed; MAX_PARAMETERS];
    for (k, sd) in pattern
        .sd
        .iter()
        .enumerate()
        .take(pattern.surface.parameters().len())
    {
        if *sd > 0.0 {
            held[k] = SizeHeld::Prior { sd: *sd };
        }
    }
    held
}

/// The upper line of a cone, as v; other faces have none.
pub(super) fn upper_line(face: &FaceEdit) -> Option<Length> {
    match &face.shape {
        Some(FaceShape::Cone { slant, .. }) => Some(slant.mm),
        _ => None,
    }
}
