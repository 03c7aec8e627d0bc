//! Near motions of a face that ways are followed on: with two radii the shift across is one, the
//! others are as near as any; on a scan all are near ones only.
//!
//! The marks as seen from one stand are laid out again from another: on a plane and on a ball, where
//! curvature is the same all over, that is a motion, and here it changes distances only by as much
//! as curvature differs between the two places. Readings laid over the surface hold that badly, and
//! what they hold badly the drawing holds (`Options::weak_motion`).

use super::motion::Coefficients;
use crate::frames::{Face, Point2, Vector2};
use crate::surface::way::{Heading, Walked, Way, ahead, between};

/// A direction over the surface as a chart step.
fn chart(face: &Walked<'_, f64>, at: Point2<Face>, step: [f64; 2]) -> Vector2<Face> {
    let [du, dv] = face.frame([at.x_mm(), at.y_mm()]).chart(step);
    Vector2::from_mm(du, dv)
}

fn way(face: &Walked<'_, f64>, from: Point2<Face>, to: Point2<Face>) -> Option<Way> {
    between(face, [from.x_mm(), from.y_mm()], [to.x_mm(), to.y_mm()]).ok()
}

/// The stand that the marks are laid out from after a motion, and how far the layout is turned
/// there against the directions of the chart.
fn new_stand(
    face: &Walked<'_, f64>,
    centre: Point2<Face>,
    by: &Coefficients,
) -> (Point2<Face>, f64) {
    match face {
        // Across is a turn about the axis, and up keeps to the upright arc.
        Walked::TwoRadii(_) => (centre + Vector2::from_mm(by[0], by[1]), by[2]),
        Walked::Scan(_) => {
            let from = Heading {
                at: [centre.x_mm(), centre.y_mm()],
                along: [by[0], by[1]],
            };
            let there = ahead(face, &from, 1.0);
            let (was, is) = (from.along, there.along);
            let turned = libm::atan2(
                was[0] * is[1] - was[1] * is[0],
                was[0] * is[0] + was[1] * is[1],
            );
            (Point2::from_mm(there.at[0], there.at[1]), by[2] + turned)
        }
    }
}

/// Whether a motion is a turn about the axis of a face with two radii, which the chart shows as a shift.
fn about_the_axis(face: &Walked<'_, f64>, by: &Coefficients) -> bool {
    matches!(face, Walked::TwoRadii(_)) && by[1].abs() + by[2].abs() <= 0.0
}

/// How a point moves with each: across, up with the stand (a Jacobi field that starts square to
/// nothing), and turning about the stand.
pub(super) fn generators(
    face: &Walked<'_, f64>,
    centre: Point2<Face>,
    at: Point2<Face>,
) -> [Vector2<Face>; 3] {
    let across = Vector2::from_mm(1.0, 0.0);
    let Some(way) = way(face, centre, at) else {
        return [across, Vector2::from_mm(0.0, 1.0), (at - centre).perp()];
    };
    let ([a, b], [ea, eb]) = (way.start, way.end);
    let out = |on: f64, off: f64| chart(face, at, [on * ea - off * eb, on * eb + off * ea]);
    [
        match face {
            Walked::TwoRadii(_) => across,
            Walked::Scan(_) => out(a, -b * way.shifted),
        },
        out(b, a * way.shifted),
        out(0.0, way.spread * way.mm),
    ]
}

/// Where a point comes to lie.
pub(super) fn moved(
    face: &Walked<'_, f64>,
    centre: Point2<Face>,
    by: &Coefficients,
    at: Point2<Face>,
) -> Point2<Face> {
    if about_the_axis(face, by) {
        return Point2::from_mm(at.x_mm() + by[0], at.y_mm());
    }
    let (stand, turn) = new_stand(face, centre, by);
    let Some(way) = way(face, centre, at) else {
        return stand + (at - centre).turned(turn);
    };
    let step = Vector2::<Face>::from_mm(way.start[0] * way.mm, way.start[1] * way.mm).turned(turn);
    let [u, v] = ahead(
        face,
        &Heading {
            at: [stand.x_mm(), stand.y_mm()],
            along: [step.x_mm(), step.y_mm()],
        },
        1.0,
    )
    .at;
    Point2::from_mm(u, v)
}

/// Derivative of [`moved`] by the chart coordinates, by rows: along the way as it was, aside as the
/// two ways spread.
pub(super) fn moved_jacobian(
    face: &Walked<'_, f64>,
    centre: Point2<Face>,
    by: &Coefficients,
    at: Point2<Face>,
) -> [[f64; 2]; 2] {
    let unmoved = [[1.0, 0.0], [0.0, 1.0]];
    if about_the_axis(face, by) {
        return unmoved;
    }
    let (stand, turn) = new_stand(face, centre, by);
    let there = moved(face, centre, by, at);
    let (Some(old), Some(new)) = (way(face, centre, at), way(face, stand, there)) else {
        return unmoved;
    };
    // At the stand itself a way has no direction: the step turns with the stand.
    let end = if old.mm < 1e-9 {
        [libm::cos(turn), libm::sin(turn)]
    } else {
        new.end
    };
    let (frame, share) = (face.frame([at.x_mm(), at.y_mm()]), new.spread / old.spread);
    let mut out = [[0.0; 2]; 2];
    for (column, step) in [frame.over(1.0, 0.0), frame.over(0.0, 1.0)]
        .into_iter()
        .enumerate()
    {
        let on = old.end[0] * step[0] + old.end[1] * step[1];
        let off = (old.end[0] * step[1] - old.end[1] * step[0]) * share;
        let d = chart(
            face,
            there,
            [on * end[0] - off * end[1], on * end[1] + off * end[0]],
        );
        out[0][column] = d.x_mm();
        out[1][column] = d.y_mm();
    }
    out
}
