//! Near motions of a face with two radii: the shift across is one, the others are as near as any.
//!
//! The marks as seen from one stand are laid out again from another: on a plane and on a ball, where
//! curvature is the same all over, that is a motion, and here it changes distances only by as much
//! as curvature differs between the two places. Readings laid over the surface hold that badly, and
//! what they hold badly the drawing holds (`Options::weak_motion`).

use super::motion::Coefficients;
use crate::frames::{Face, Point2, Vector2};
use crate::surface::two_radii::Radii;
use crate::surface::two_radii::way::{Heading, Way, ahead, between};

/// A direction over the surface as a chart step.
fn chart(radii: &Radii<f64>, v_mm: f64, [x, y]: [f64; 2]) -> Vector2<Face> {
    Vector2::from_mm(x / radii.wide(v_mm).g, y)
}

fn way(radii: &Radii<f64>, from: Point2<Face>, to: Point2<Face>) -> Option<Way> {
    between(radii, [from.x_mm(), from.y_mm()], [to.x_mm(), to.y_mm()]).ok()
}

/// The stand that the marks are laid out from after a motion.
fn new_stand(centre: Point2<Face>, by: &Coefficients) -> Point2<Face> {
    centre + Vector2::from_mm(by[0], by[1])
}

/// How a point moves with each: across, up with the stand (a Jacobi field that starts square to
/// nothing), and turning about the stand.
pub(super) fn generators(
    radii: &Radii<f64>,
    centre: Point2<Face>,
    at: Point2<Face>,
) -> [Vector2<Face>; 3] {
    let across = Vector2::from_mm(1.0, 0.0);
    let Some(way) = way(radii, centre, at) else {
        return [across, Vector2::from_mm(0.0, 1.0), (at - centre).perp()];
    };
    let ([a, b], [ea, eb]) = (way.start, way.end);
    let out = |on: f64, off: f64| chart(radii, at.y_mm(), [on * ea - off * eb, on * eb + off * ea]);
    [
        across,
        out(b, a * way.shifted),
        out(0.0, way.spread * way.mm),
    ]
}

/// Where a point comes to lie.
pub(super) fn moved(
    radii: &Radii<f64>,
    centre: Point2<Face>,
    by: &Coefficients,
    at: Point2<Face>,
) -> Point2<Face> {
    if by[1].abs() + by[2].abs() <= 0.0 {
        return Point2::from_mm(at.x_mm() + by[0], at.y_mm());
    }
    let stand = new_stand(centre, by);
    let Some(way) = way(radii, centre, at) else {
        return stand + (at - centre).turned(by[2]);
    };
    let step = Vector2::<Face>::from_mm(way.start[0] * way.mm, way.start[1] * way.mm).turned(by[2]);
    let [u, v] = ahead(
        radii,
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
    radii: &Radii<f64>,
    centre: Point2<Face>,
    by: &Coefficients,
    at: Point2<Face>,
) -> [[f64; 2]; 2] {
    let unmoved = [[1.0, 0.0], [0.0, 1.0]];
    if by[1].abs() + by[2].abs() <= 0.0 {
        return unmoved;
    }
    let there = moved(radii, centre, by, at);
    let (Some(old), Some(new)) = (
        way(radii, centre, at),
        way(radii, new_stand(centre, by), there),
    ) else {
        return unmoved;
    };
    // At the stand itself a way has no direction: the step turns with the stand.
    let end = if old.mm < 1e-9 {
        [libm::cos(by[2]), libm::sin(by[2])]
    } else {
        new.end
    };
    let (wide, share) = (radii.wide(at.y_mm()).g, new.spread / old.spread);
    let mut out = [[0.0; 2]; 2];
    for (column, step) in [[wide, 0.0], [0.0, 1.0]].into_iter().enumerate() {
        let on = old.end[0] * step[0] + old.end[1] * step[1];
        let off = (old.end[0] * step[1] - old.end[1] * step[0]) * share;
        let d = chart(
            radii,
            there.y_mm(),
            [on * end[0] - off * end[1], on * end[1] + off * end[0]],
        );
        out[0][column] = d.x_mm();
        out[1][column] = d.y_mm();
    }
    out
}
