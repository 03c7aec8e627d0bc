//! Points on segments, and how many of them a tolerance asks for.

use kurbo::{PathSeg, Point};

/// No segment is cut into more pieces than this. At 0.02 mm it is enough for a curve that strays
/// 2 km from its chord; it only stops a hostile one from asking for all the memory there is.
const MOST_PIECES: f64 = 65_536.0;

/// The point at `t`, by repeated interpolation in plain arithmetic (the same in every build).
pub(super) fn at(seg: &PathSeg, t: f64) -> Point {
    match *seg {
        PathSeg::Line(l) => between(l.p0, l.p1, t),
        PathSeg::Quad(q) => between(between(q.p0, q.p1, t), between(q.p1, q.p2, t), t),
        PathSeg::Cubic(c) => {
            let (a, b, d) = (
                between(c.p0, c.p1, t),
                between(c.p1, c.p2, t),
                between(c.p2, c.p3, t),
            );
            between(between(a, b, t), between(b, d, t), t)
        }
    }
}

fn between(a: Point, b: Point, t: f64) -> Point {
    // Both ends are met exactly, so that neighbours share their points.
    if t >= 1.0 {
        b
    } else {
        Point::new(a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t)
    }
}

/// Into how many equal steps of the parameter a segment is cut.
///
/// Wang's bound (Goldman, *Pyramid Algorithms*, 2003, section 5.6.3): a Bézier curve of degree n
/// strays from n_pieces chords by at most n(n − 1)/8 · max|second difference| / n_pieces².
pub(super) fn pieces(seg: &PathSeg, tolerance_mm: f64, step_mm: f64) -> u32 {
    let bend =
        |a: Point, b: Point, c: Point| libm::hypot(a.x - 2.0 * b.x + c.x, a.y - 2.0 * b.y + c.y);
    let side = |a: Point, b: Point| libm::hypot(b.x - a.x, b.y - a.y);
    // Speed along the parameter is at most degree × the longest leg of the control polygon.
    let (stray, speed) = match *seg {
        PathSeg::Line(l) => (0.0, side(l.p0, l.p1)),
        PathSeg::Quad(q) => (
            0.25 * bend(q.p0, q.p1, q.p2),
            2.0 * side(q.p0, q.p1).max(side(q.p1, q.p2)),
        ),
        PathSeg::Cubic(c) => (
            0.75 * bend(c.p0, c.p1, c.p2).max(bend(c.p1, c.p2, c.p3)),
            3.0 * side(c.p0, c.p1).max(side(c.p1, c.p2)).max(side(c.p2, c.p3)),
        ),
    };
    let for_bend = libm::sqrt(stray / tolerance_mm.max(1e-6));
    let for_step = speed / step_mm.max(1e-3);
    let wanted = libm::ceil(for_bend.max(for_step)).clamp(1.0, MOST_PIECES);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped above"
    )]
    let wanted = wanted as u32;
    wanted
}
