//! Circular arcs to and from Bézier curves.

use super::flatten;
use core::f64::consts::FRAC_PI_4;
use kurbo::{BezPath, PathSeg, Point};

/// One step along a chain of arcs: a point, and how the way to the next one bulges.
///
/// The bulge is the tangent of a quarter of the sweep; 0 is straight, positive turns left.
#[derive(Debug, Clone, Copy)]
pub(super) struct ArcStep {
    pub(super) at: Point,
    pub(super) bulge: f64,
}

/// A piece is halved at most this often: 2¹² pieces to a segment stop a cusp from recursing for ever,
/// and a piece that short is within any tolerance that is not below the grid.
const MOST_HALVINGS: u32 = 12;

/// No arc piece sweeps more than a quarter turn (bulge tan 22.5°), which keeps the offsets of
/// neighbouring pieces from folding over each other.
const MOST_BULGE: f64 = 0.414_213_562_373_095_1;

/// Appends a cubic for every eighth of a turn from angle `from` to `to` about `centre`, with half
/// axes `radii`; the path already stands at `from`.
///
/// A cubic with handles 4/3·tan(θ/4) strays from an eighth of a circle by 4.2 millionths of its
/// radius (Goldapp, *Computer Aided Geometric Design* 8, 1991, gives 2/27·sin⁶(θ/4)/cos²(θ/4)).
pub(super) fn arc_to(
    path: &mut BezPath,
    centre: (f64, f64),
    radii: (f64, f64),
    from: f64,
    to: f64,
) {
    let count = libm::ceil((to - from).abs() / FRAC_PI_4 - 1e-9).max(1.0);
    let step = (to - from) / count;
    let handle = 4.0 / 3.0 * libm::tan(step / 4.0);
    let on = |c: f64, s: f64| Point::new(centre.0 + radii.0 * c, centre.1 + radii.1 * s);
    let mut done = 0.0;
    while done < count {
        let (a, b) = (from + step * done, from + step * (done + 1.0));
        let (ca, sa, cb, sb) = (libm::cos(a), libm::sin(a), libm::cos(b), libm::sin(b));
        path.curve_to(
            on(ca - handle * sa, sa + handle * ca),
            on(cb + handle * sb, sb - handle * cb),
            on(cb, sb),
        );
        done += 1.0;
    }
}

/// Appends the arc from the path's end to `to` with the given bulge, as cubics.
pub(super) fn bulge_to(path: &mut BezPath, from: Point, to: Point, bulge: f64) {
    let (dx, dy) = (to.x - from.x, to.y - from.y);
    let chord = libm::hypot(dx, dy);
    if bulge.abs() < 1e-9 || chord < 1e-9 {
        path.line_to(to);
        return;
    }
    let sweep = 4.0 * libm::atan(bulge);
    // The centre lies left of the chord's middle by (1 − b²)/(4 b) chords.
    let aside = (1.0 - bulge * bulge) / (4.0 * bulge);
    let centre = (
        from.x + dx / 2.0 - dy * aside,
        from.y + dy / 2.0 + dx * aside,
    );
    let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    let start = libm::atan2(from.y - centre.1, from.x - centre.0);
    arc_to(path, centre, (radius, radius), start, start + sweep);
}

/// Appends the segment as arcs no further than `tolerance_mm` from it; its end is left to the next.
///
/// Each piece runs through its two ends and its middle, so a curve that is an arc becomes that arc.
pub(super) fn push_arcs(seg: &PathSeg, tolerance_mm: f64, out: &mut Vec<ArcStep>) {
    if let PathSeg::Line(l) = seg {
        out.push(ArcStep {
            at: l.p0,
            bulge: 0.0,
        });
        return;
    }
    let mut todo = vec![(0.0_f64, 1.0_f64, 0_u32)];
    while let Some((t0, t1, halvings)) = todo.pop() {
        let on = |share: f64| flatten::at(seg, t0 + (t1 - t0) * share);
        let (a, m, b) = (on(0.0), on(0.5), on(1.0));
        let bulge = bulge_through(a, m, b);
        let fits = bulge.abs() <= MOST_BULGE
            && [0.125, 0.25, 0.375, 0.625, 0.75, 0.875]
                .iter()
                .all(|&s| beside(a, b, bulge, on(s)) <= tolerance_mm);
        if fits || halvings == MOST_HALVINGS {
            out.push(ArcStep {
                at: a,
                bulge: bulge.clamp(-MOST_BULGE, MOST_BULGE),
            });
        } else {
            let half = (t0 + t1) / 2.0;
            todo.push((half, t1, halvings + 1));
            todo.push((t0, half, halvings + 1));
        }
    }
}

/// The bulge of the arc through three points: the turn at the middle one is half of the sweep.
fn bulge_through(a: Point, m: Point, b: Point) -> f64 {
    let (ux, uy, vx, vy) = (m.x - a.x, m.y - a.y, b.x - m.x, b.y - m.y);
    let (cross, dot) = (ux * vy - uy * vx, ux * vx + uy * vy);
    let lengths = libm::hypot(ux, uy) * libm::hypot(vx, vy);
    if lengths + dot <= 1e-12 * lengths {
        0.0
    } else {
        cross / (lengths + dot)
    }
}

/// How far a point is from the circle of the arc, or from its chord where it is all but straight.
fn beside(a: Point, b: Point, bulge: f64, p: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let chord = libm::hypot(dx, dy);
    if chord < 1e-9 {
        return libm::hypot(p.x - a.x, p.y - a.y);
    }
    if bulge.abs() < 1e-7 {
        return ((p.x - a.x) * dy - (p.y - a.y) * dx).abs() / chord;
    }
    let aside = (1.0 - bulge * bulge) / (4.0 * bulge);
    let centre = (a.x + dx / 2.0 - dy * aside, a.y + dy / 2.0 + dx * aside);
    let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge.abs());
    (libm::hypot(p.x - centre.0, p.y - centre.1) - radius).abs()
}
