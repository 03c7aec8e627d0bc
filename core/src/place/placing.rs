//! Applying a rule to a casting.

use super::dual::{Dual, Real, Rows, jacobian};
use super::error::PlaceError;
use super::ground::{Ground, Stand, sizes_of};
use super::rule::{Rule, Spread, moved, on_drawing, side_offset, target};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::surface::Surface;
use crate::units::Angle;

/// Marks on one face of the drawing or of one casting, in a fixed order.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// The face, with its sizes as they are there.
    pub surface: Surface,
    /// The marks.
    pub marks: Vec<Point2<Face>>,
}

/// A feature as the design has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Nominal {
    /// The drawing's (or the pattern's) marks.
    pub layout: Layout,
    /// The feature's centre among them.
    pub centre: Point2<Face>,
    /// How it follows.
    pub rule: Rule,
    /// Turn of its *across* from the line of its rule, anticlockwise seen from outside.
    pub turn: Angle,
}

/// Derivatives of a pose (rows: across mm, up mm, turn rad) by inputs (columns).
///
/// Columns are u and v of each mark in turn, then the face's sizes; by the drawing, u and v of
/// the centre stand between.
#[derive(Debug, Clone, PartialEq)]
pub struct Jacobian<const ROWS: usize>(pub [Vec<f64>; ROWS]);

/// A place on a face with a direction for up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Where.
    pub centre: Point2<Face>,
    /// Which way is up there: a direction of the chart, of unit length over the surface.
    pub up: Vector2<Face>,
}

/// Where a feature goes on a casting.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Centre and up.
    pub pose: Pose,
    /// How much its size follows (1 unless asked).
    pub scale: f64,
    /// How it moves with this casting's marks and sizes.
    pub by_casting: Jacobian<3>,
    /// How it moves with the drawing's marks, its centre and the drawing's sizes.
    pub by_drawing: Jacobian<3>,
    /// Every mark as seen from the target: across and up over the surface (azimuthal).
    pub marks: Vec<Point2<Flat>>,
    /// How each of those moves with this casting's marks and sizes, the target held.
    pub marks_by_casting: Vec<Jacobian<2>>,
    /// Offset of the side mark from the rule's line on this casting, mm, with its derivatives.
    pub side: Option<(f64, Vec<f64>)>,
}

fn spread<'a, T: Real>(surface: &'a Surface, inputs: &[T], marks: usize) -> Spread<'a, T> {
    let ground = Ground::of(surface, &inputs[(2 * marks).min(inputs.len())..]);
    let marks = inputs
        .chunks_exact(2)
        .take(marks)
        .map(|uv| ground.place(uv[0], uv[1]))
        .collect();
    Spread { ground, marks }
}

fn inputs_of(layout: &Layout, near: Point2<Face>) -> Vec<f64> {
    let mut inputs = Vec::with_capacity(2 * layout.marks.len() + 3);
    for &mark in &layout.marks {
        let mark = layout.surface.nearest(mark, near);
        inputs.extend([mark.x_mm(), mark.y_mm()]);
    }
    inputs.extend(sizes_of(&layout.surface));
    inputs
}

/// Places a feature on a casting.
///
/// `casting.marks` stand in the same order as the drawing's.
///
/// # Errors
/// [`PlaceError`]: marks that give no direction, a mirrored set, marks off the face.
pub fn place(nominal: &Nominal, casting: &Layout) -> Result<Placed, PlaceError> {
    let count = nominal.layout.marks.len().min(casting.marks.len());
    let near = nominal.centre;
    let mut drawing_inputs = inputs_of(&nominal.layout, near);
    // The centre stands after the marks and before the sizes.
    drawing_inputs.splice(2 * count..2 * count, [near.x_mm(), near.y_mm()]);
    let casting_inputs = inputs_of(casting, near);
    let (rule, turn) = (&nominal.rule, nominal.turn.rad());

    let drawing_plain = spread(&nominal.layout.surface, &drawing_inputs, count + 1);
    let centre_plain = drawing_plain.marks[count];
    let casting_plain = spread(&casting.surface, &casting_inputs, count);
    let plain = target(rule, turn, &drawing_plain, centre_plain, &casting_plain)?;
    let ground = casting_plain.ground;
    check_hand(rule, &drawing_plain, &casting_plain)?;

    let as_dual = |inputs: &[f64]| -> Vec<Dual> { inputs.iter().map(|&x| Dual::of(x)).collect() };
    let fixed_drawing = as_dual(&drawing_inputs);
    let fixed_casting = as_dual(&casting_inputs);
    let solve = |drawing: &[Dual], casting_in: &[Dual]| {
        let drawing = spread(&nominal.layout.surface, drawing, count + 1);
        let centre = drawing.marks[count];
        let casting = spread(&casting.surface, casting_in, count);
        target(rule, turn, &drawing, centre, &casting)
            .map(|t| moved(&ground, &plain.stand, &t.stand))
    };
    let by_casting = jacobian::<3, _>(&casting_inputs, |x| solve(&fixed_drawing, x))?;
    let by_drawing = jacobian::<3, _>(&drawing_inputs, |x| solve(x, &fixed_casting))?;

    let mut marks = Vec::with_capacity(count);
    let mut marks_by_casting = Vec::with_capacity(count);
    let fixed_stand = Stand {
        at: plain.stand.at.map(Dual::of),
        along: plain.stand.along.map(Dual::of),
    };
    for k in 0..count {
        let [across, up] = ground.seen(&plain.stand, casting_plain.marks[k])?;
        marks.push(Point2::from_mm(across, up));
        let rows: Rows<2> = jacobian::<2, PlaceError>(&casting_inputs, |x| {
            let here = spread(&casting.surface, x, count);
            here.ground.seen(&fixed_stand, here.marks[k])
        })?;
        marks_by_casting.push(Jacobian(rows));
    }
    let side = match rule {
        Rule::Line {
            from,
            to,
            side: Some(side),
            ..
        } => {
            let value = side_offset(&casting_plain, (*from, *to), *side)?;
            let [row] = jacobian::<1, _>(&casting_inputs, |x| {
                side_offset(&spread(&casting.surface, x, count), (*from, *to), *side).map(|d| [d])
            })?;
            Some((value, row))
        }
        _ => None,
    };
    Ok(Placed {
        pose: chart_pose(&ground, &plain.stand, near)?,
        scale: plain.scale,
        by_casting: Jacobian(by_casting),
        by_drawing: Jacobian(by_drawing),
        marks,
        marks_by_casting,
        side,
    })
}

/// The marks of the drawing as seen from the feature on the drawing: what the drawing's own
/// stencil would carry.
///
/// # Errors
/// As [`place`].
pub fn seen_from(nominal: &Nominal) -> Result<Vec<Point2<Flat>>, PlaceError> {
    let count = nominal.layout.marks.len();
    let inputs = inputs_of(&nominal.layout, nominal.centre);
    let drawing = spread(&nominal.layout.surface, &inputs, count);
    let centre = drawing
        .ground
        .place(nominal.centre.x_mm(), nominal.centre.y_mm());
    let stand = on_drawing(&nominal.rule, nominal.turn.rad(), &drawing, centre)?;
    drawing
        .marks
        .iter()
        .map(|&m| {
            let [across, up] = drawing.ground.seen(&stand, m)?;
            Ok(Point2::from_mm(across, up))
        })
        .collect()
}

/// Where the feature stands on the drawing itself.
///
/// # Errors
/// As [`place`].
pub fn pose_by_line(nominal: &Nominal) -> Result<Pose, PlaceError> {
    let inputs = inputs_of(&nominal.layout, nominal.centre);
    let drawing = spread(&nominal.layout.surface, &inputs, nominal.layout.marks.len());
    let centre = drawing
        .ground
        .place(nominal.centre.x_mm(), nominal.centre.y_mm());
    let stand = on_drawing(&nominal.rule, nominal.turn.rad(), &drawing, centre)?;
    chart_pose(&drawing.ground, &stand, nominal.centre)
}

/// A third mark that has changed sides means exchanged marks, not a casting.
fn check_hand(rule: &Rule, drawing: &Spread<f64>, casting: &Spread<f64>) -> Result<(), PlaceError> {
    if let Rule::Line {
        from,
        to,
        side: Some(side),
        ..
    } = rule
    {
        let on_drawing = side_offset(drawing, (*from, *to), *side)?;
        let here = side_offset(casting, (*from, *to), *side)?;
        if on_drawing * here < 0.0 {
            return Err(PlaceError::Mirrored);
        }
    }
    Ok(())
}

/// A stand as a chart point and a chart direction, by Newton's method on the chart itself.
fn chart_pose(
    ground: &Ground<'_, f64>,
    stand: &Stand<f64>,
    start: Point2<Face>,
) -> Result<Pose, PlaceError> {
    let dual_ground: Ground<'_, Dual> = match *ground {
        Ground::Plane => Ground::Plane,
        Ground::Walked { face } => {
            // The chart is the ground.
            let [a, b, _] = stand.at;
            let left = ground.left(stand);
            let [x, y] = face.frame([a, b]).chart([left[0], left[1]]);
            return Ok(Pose {
                centre: Point2::from_mm(a, b),
                up: Vector2::from_mm(x, y),
            });
        }
        Ground::Sector { reference, taper } => Ground::Sector {
            reference: Dual::of(reference),
            taper: Dual::of(taper),
        },
        Ground::Sphere { radius } => Ground::Sphere {
            radius: Dual::of(radius),
        },
    };
    let mut uv = [start.x_mm(), start.y_mm()];
    // Quadratic from a nominal start a few millimetres off: five steps are plenty.
    for _ in 0..20 {
        let here = ground.place(uv[0], uv[1]);
        let rows = jacobian::<3, PlaceError>(&uv, |x| Ok(dual_ground.place(x[0], x[1])))?;
        let miss: [f64; 3] = core::array::from_fn(|k| stand.at[k] - here[k]);
        let step = solve_chart(&rows, miss)?;
        uv = [uv[0] + step[0], uv[1] + step[1]];
        if step[0].abs() + step[1].abs() < 1e-12 {
            break;
        }
    }
    let rows = jacobian::<3, PlaceError>(&uv, |x| Ok(dual_ground.place(x[0], x[1])))?;
    let size = match ground {
        Ground::Sphere { radius } => 1.0 / radius,
        _ => 1.0,
    };
    let left = ground.left(stand).map(|x| x * size);
    let up = solve_chart(&rows, left)?;
    Ok(Pose {
        centre: Point2::from_mm(uv[0], uv[1]),
        up: Vector2::from_mm(up[0], up[1]),
    })
}

/// The chart step whose image is nearest to a given step on the ground.
fn solve_chart(rows: &Rows<3>, step: [f64; 3]) -> Result<[f64; 2], PlaceError> {
    let (mut a, mut b, mut c, mut p, mut q) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (row, s) in rows.iter().zip(step) {
        a += row[0] * row[0];
        b += row[0] * row[1];
        c += row[1] * row[1];
        p += row[0] * s;
        q += row[1] * s;
    }
    let det = a * c - b * b;
    if det <= 1e-18 * a * c || det <= 0.0 {
        return Err(PlaceError::NoDirection);
    }
    Ok([(c * p - b * q) / det, (a * q - b * p) / det])
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::surface::{Bulge, Dome, FlatFace, TwoRadii};
    use crate::units::Length;

    /// What weights say is one against another: in thousandths they say the same.
    #[test]
    fn weights_count_against_each_other_only() {
        let l = Length::from_mm;
        let faces = [
            Surface::Flat(FlatFace),
            Surface::Dome(Dome::new(l(240.0), Bulge::Bulging).unwrap()),
            Surface::TwoRadii(
                TwoRadii::new((l(260.0), Bulge::Bulging), (l(410.0), Bulge::Bulging)).unwrap(),
            ),
        ];
        let drawn = [(-90.0, -60.0), (100.0, -50.0), (80.0, 90.0)];
        let read = [(-91.0, -60.5), (101.5, -49.0), (79.0, 92.0)];
        let layout = |surface: &Surface, at: &[(f64, f64)]| Layout {
            surface: surface.clone(),
            marks: at.iter().map(|(x, y)| Point2::from_mm(*x, *y)).collect(),
        };
        for surface in faces {
            let placed = |times: f64| {
                let nominal = Nominal {
                    layout: layout(&surface, &drawn),
                    centre: Point2::from_mm(10.0, 20.0),
                    rule: Rule::BestFit {
                        line: (0, 1),
                        weights: [1.0, 2.0, 1.0].map(|w| w * times).to_vec(),
                        scale: false,
                    },
                    turn: Angle::ZERO,
                };
                place(&nominal, &layout(&surface, &read)).unwrap().pose
            };
            let (whole, small) = (placed(1.0), placed(1e-6));
            assert!(
                (whole.centre - small.centre).norm_mm() < 1e-9,
                "{surface:?}"
            );
            assert!((whole.up - small.up).norm_mm() < 1e-9, "{surface:?}");
        }
    }
}
