//! Elliptical arcs of path data as cubics.

use core::f64::consts::{FRAC_PI_4, PI, TAU};
use kurbo::{BezPath, Point};

/// The arc command's radii, turn in degrees and flags.
#[derive(Debug, Clone, Copy)]
pub(super) struct ArcCommand {
    pub(super) radii: (f64, f64),
    pub(super) turn_deg: f64,
    pub(super) large: bool,
    pub(super) sweep: bool,
}

/// Appends the arc to `to`: end points to centre by SVG 2, appendix B.2.4, radii corrected by B.2.5
/// (a sign is dropped, radii too small are scaled up, a radius of 0 is a straight line).
///
/// One cubic to an eighth of a turn: 4 millionths of the radius off.
pub(super) fn arc_to(path: &mut BezPath, from: Point, to: Point, arc: ArcCommand) {
    let (mut rx, mut ry) = (arc.radii.0.abs(), arc.radii.1.abs());
    if from == to {
        return;
    }
    if rx <= 0.0 || ry <= 0.0 {
        path.line_to(to);
        return;
    }
    let turn = arc.turn_deg.to_radians();
    let (s, c) = (libm::sin(turn), libm::cos(turn));
    let (hx, hy) = ((from.x - to.x) / 2.0, (from.y - to.y) / 2.0);
    let (x1, y1) = (c * hx + s * hy, -s * hx + c * hy);
    let over = (x1 / rx) * (x1 / rx) + (y1 / ry) * (y1 / ry);
    if over > 1.0 {
        rx *= libm::sqrt(over);
        ry *= libm::sqrt(over);
    }
    let (a, b) = (rx * y1, ry * x1);
    let square = ((rx * ry) * (rx * ry) - a * a - b * b) / (a * a + b * b);
    let sign = if arc.large == arc.sweep { -1.0 } else { 1.0 };
    let k = sign * libm::sqrt(square.max(0.0));
    let (cx1, cy1) = (k * a / ry, -k * b / rx);
    let centre = Point::new(
        c * cx1 - s * cy1 + (from.x + to.x) / 2.0,
        s * cx1 + c * cy1 + (from.y + to.y) / 2.0,
    );
    let start = libm::atan2((y1 - cy1) / ry, (x1 - cx1) / rx);
    let end = libm::atan2((-y1 - cy1) / ry, (-x1 - cx1) / rx);
    let mut span = end - start;
    if arc.sweep && span < 0.0 {
        span += TAU;
    } else if !arc.sweep && span > 0.0 {
        span -= TAU;
    }
    if !(start.is_finite() && span.is_finite() && centre.is_finite()) {
        path.line_to(to);
        return;
    }
    let on = |u: f64, v: f64| {
        let (x, y) = (rx * u, ry * v);
        Point::new(centre.x + c * x - s * y, centre.y + s * x + c * y)
    };
    oval_part(path, start, span, Some(to), on);
}

/// Appends cubics from angle `start` over `span` of the unit circle carried by `on`.
fn oval_part(
    path: &mut BezPath,
    start: f64,
    span: f64,
    last: Option<Point>,
    on: impl Fn(f64, f64) -> Point,
) {
    let count = libm::ceil(span.abs() / FRAC_PI_4 - 1e-9).clamp(1.0, 8.0);
    let step = span / count;
    let handle = 4.0 / 3.0 * libm::tan(step / 4.0);
    let mut done = 0.0;
    while done < count {
        let (a, b) = (start + step * done, start + step * (done + 1.0));
        let (ca, sa, cb, sb) = (libm::cos(a), libm::sin(a), libm::cos(b), libm::sin(b));
        done += 1.0;
        let end = last.filter(|_| done >= count).unwrap_or_else(|| on(cb, sb));
        path.curve_to(
            on(ca - handle * sa, sa + handle * ca),
            on(cb + handle * sb, sb - handle * cb),
            end,
        );
    }
}

/// A whole ellipse, begun at its right end and run the way SVG 2 (section 10.4) says.
pub(super) fn ellipse(cx: f64, cy: f64, rx: f64, ry: f64) -> BezPath {
    let mut path = BezPath::new();
    path.move_to((cx + rx, cy));
    let on = |u: f64, v: f64| Point::new(cx + rx * u, cy + ry * v);
    oval_part(&mut path, 0.0, PI, None, on);
    oval_part(&mut path, PI, PI, Some(Point::new(cx + rx, cy)), on);
    path.close_path();
    path
}

/// A rectangle with elliptical corners (SVG 2, section 10.2).
pub(super) fn rectangle(x: f64, y: f64, w: f64, h: f64, rx: f64, ry: f64) -> BezPath {
    let mut path = BezPath::new();
    if rx <= 0.0 || ry <= 0.0 {
        path.move_to((x, y));
        path.line_to((x + w, y));
        path.line_to((x + w, y + h));
        path.line_to((x, y + h));
        path.close_path();
        return path;
    }
    let corners = [
        (x + w - rx, y + ry, -0.5 * PI),
        (x + w - rx, y + h - ry, 0.0),
        (x + rx, y + h - ry, 0.5 * PI),
        (x + rx, y + ry, PI),
    ];
    path.move_to((x + rx, y));
    for (cx, cy, start) in corners {
        let on = |u: f64, v: f64| Point::new(cx + rx * u, cy + ry * v);
        path.line_to(on(libm::cos(start), libm::sin(start)));
        oval_part(&mut path, start, 0.5 * PI, None, on);
    }
    path.close_path();
    path
}
