//! The way of every drill through its layers: how much of each, where it comes out, how it is set.
//!
//! ```text
//!   drill │        the bracket is flat and square to the drill, the skin is as round as its face:
//!  ───────┼─────── skin, layer by layer
//!     ╲   │   ╱    bed or shim: what is left between them where they do not touch
//!   ──────┴─────── plate, hard on the skin where that comes deepest
//! ```

use super::laid::{Axes, Spot};
use super::view::{PassedView, Tilts, WayView};
use crate::frames::{Part, Point3, Vector3};
use crate::holes::compound::Compound;
use crate::holes::through::{Axis, Ground, Layer, Passed, Through, ThroughError, through};
use crate::job::FixingEdit;
use crate::prepare::holes::{skins, unsaid_layers};
use crate::surface::{Shape, Surface, SurfaceError};
use crate::units::Length;

/// The drill's axis starts so far outside the face, mm: past any bulge under a bracket.
const OUTSIDE_MM: f64 = 400.0;
/// Less than this between skin and bracket is no bed.
const TOUCHES: Length = Length::from_mm(0.05);

/// The way of each hole, in order; `None` where layers are missing or have no thickness.
///
/// # Errors
/// [`ThroughError`] in words for the first hole whose drill can't go through its layers.
pub(super) fn ways(
    surface: &Surface,
    axes: &Axes,
    spots: &[Spot],
    fixing: &FixingEdit,
) -> Result<Option<Vec<WayView>>, ThroughError> {
    let layers = fixing.layers.as_deref().unwrap_or_default();
    if layers.is_empty() || unsaid_layers(layers).is_some() {
        return Ok(None);
    }
    let Ok(thicknesses) = skins(layers) else {
        return Ok(None);
    };
    let named: Vec<(String, Length, bool)> = layers
        .iter()
        .zip(thicknesses)
        .map(|(l, t)| {
            let name = match l.name.trim() {
                "" => "skin".to_owned(),
                name => name.to_owned(),
            };
            (name, t.best(), t.is_measured())
        })
        .collect();
    let measured = named.iter().all(|(_, _, m)| *m);
    let mut passed = Vec::new();
    for spot in spots {
        passed.push(through_skin(surface, axes, *spot, &named)?);
    }
    // The plate stands hard on the skin where that comes out deepest.
    let depth = |at: Point3<Part>| (axes.at - at).dot(axes.out);
    let last = |t: &Through| t.layers.last().map_or(0.0, |l| depth(l.exit.at));
    let deepest = passed.iter().map(last).fold(f64::NEG_INFINITY, f64::max);
    let views = passed.iter().map(|way| {
        let mut all: Vec<PassedView> = way.layers.iter().map(of_layer).collect();
        let mut grip = way.grip;
        if let Some(plate) = &fixing.plate {
            let bed = Length::from_mm(deepest - last(way));
            if bed > TOUCHES {
                all.push(PassedView {
                    name: "bed or shim".into(),
                    length: bed,
                });
            }
            all.push(PassedView {
                name: "plate".into(),
                length: plate.mm,
            });
            grip = grip + bed + plate.mm;
        }
        WayView {
            comes_out: comes_out(way, axes),
            layers: all,
            clamped: grip,
            measured,
        }
    });
    Ok(Some(views.collect()))
}

fn through_skin(
    surface: &Surface,
    axes: &Axes,
    spot: Spot,
    named: &[(String, Length, bool)],
) -> Result<Through, ThroughError> {
    let entry = surface
        .jet(spot.at)
        .map_err(|_| ThroughError::Misses {
            layer: "the face".into(),
        })?
        .at;
    let axis = Axis {
        from: entry + axes.out * OUTSIDE_MM,
        along: -axes.out,
    };
    let side = |deep: Length| Ground::Skin {
        face: surface,
        deep,
        near: spot.at,
    };
    let mut deep = Length::ZERO;
    let layers: Vec<Layer<'_>> = named
        .iter()
        .map(|(name, thick, _)| {
            let near = side(deep);
            deep += *thick;
            Layer {
                name: name.clone(),
                near,
                far: side(deep),
            }
        })
        .collect();
    through(axis, &layers)
}

fn of_layer(layer: &Passed) -> PassedView {
    PassedView {
        name: layer.name.clone(),
        length: layer.length,
    }
}

/// From the point square behind the entry to where the drill comes out: across and up, seen from
/// outside.
fn comes_out(way: &Through, axes: &Axes) -> (Length, Length) {
    let ends = way.layers.first().zip(way.layers.last());
    let off = ends.map_or(Vector3::from_mm(0.0, 0.0, 0.0), |(first, last)| {
        let through = last.exit.at - first.entry.at;
        let square = square_at(first, axes);
        through - square * through.dot(square)
    });
    (
        Length::from_mm(off.dot(axes.across)),
        Length::from_mm(off.dot(axes.up)),
    )
}

/// Square to the face at the entry, from what the drill leans there.
fn square_at(first: &Passed, axes: &Axes) -> Vector3<Part> {
    let lean = first.entry.tilt.rad();
    match first.entry.top_leans {
        // The drill's top leans this way off the square direction, within the face.
        Some(way) => {
            let n = (axes.out - way * libm::sin(lean)).unit();
            n.unwrap_or(axes.out)
        }
        None => axes.out,
    }
}

/// The lean of a drill as two tilts that a square and a bevel set: towards across and towards up.
///
/// # Errors
/// A hole off its face.
pub(super) fn tilts(
    surface: &Surface,
    axes: &Axes,
    spot: Spot,
) -> Result<Option<Tilts>, SurfaceError> {
    let normal = surface.normal(spot.at)?;
    Ok(
        Compound::of_axis(axes.out, normal, axes.across).map(|c| Tilts {
            across: c.front,
            up: c.side,
        }),
    )
}
