//! Crosses that were traced over marks: two pen lines that cross about at their middles.

use super::shapes::Loop;
use kurbo::Point;

/// How large a cross is, mm: smaller is a blot, larger is a drawing.
const SIZE_MM: core::ops::RangeInclusive<f64> = 5.0..=40.0;
/// Its strokes are no wider than this, mm, and this many times as long.
const WIDEST_MM: f64 = 4.0;
const LONG: f64 = 3.0;
/// An arm reaches at least this share of the longest.
const LEAST_ARM: f64 = 0.6;
/// Ends of arms lie further apart than this about the middle, radians.
const APART_RAD: f64 = 0.5;
/// How far from square its strokes may cross, radians.
const ASKEW_RAD: f64 = 0.6;
/// Where along each stroke the crossing may lie.
const CROSSES_AT: core::ops::RangeInclusive<f64> = 0.3..=0.7;

/// Where the strokes of a cross meet; none where it is no cross. By its edge and the width of what
/// drew it, mm.
pub(super) fn cross(edge: &Loop, width: f64) -> Option<Point> {
    let size = edge.size();
    if !SIZE_MM.contains(&size) || width > WIDEST_MM || size < LONG * width {
        return None;
    }
    let n = edge.points.len() as f64;
    let sum = edge.points.iter().fold(Point::ZERO, |s, p| s + p.to_vec2());
    let middle = Point::new(sum.x / n, sum.y / n);
    let far = |p: &Point| libm::hypot(p.x - middle.x, p.y - middle.y);
    let reach = edge.points.iter().map(far).fold(0.0, f64::max);
    // The ends of arms, by the way they lie from the middle.
    let mut ends: Vec<(f64, Point)> = edge
        .points
        .iter()
        .filter(|p| far(p) > LEAST_ARM * reach)
        .map(|p| (libm::atan2(p.y - middle.y, p.x - middle.x), *p))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let turn = core::f64::consts::TAU;
    let gap = |k: usize| {
        let here = ends.get(k).map_or(0.0, |e| e.0);
        match k.checked_sub(1).and_then(|k| ends.get(k)) {
            Some(before) => here - before.0,
            None => here + turn - ends.last().map_or(0.0, |e| e.0),
        }
    };
    let first = (0..ends.len()).find(|k| gap(*k) > APART_RAD)?;
    let starts: Vec<bool> = (0..ends.len()).map(|k| gap(k) > APART_RAD).collect();
    let mut arms: Vec<Vec<Point>> = Vec::new();
    for k in (first..ends.len()).chain(0..first) {
        if starts.get(k) == Some(&true) {
            arms.push(Vec::new());
        }
        if let (Some(arm), Some(end)) = (arms.last_mut(), ends.get(k)) {
            arm.push(end.1);
        }
    }
    // Both edges of an arm are in it: their mean lies on the middle of the stroke.
    let tips: Vec<Point> = arms
        .iter()
        .map(|arm| {
            let n = arm.len() as f64;
            let sum = arm.iter().fold(Point::ZERO, |s, p| s + p.to_vec2());
            Point::new(sum.x / n, sum.y / n)
        })
        .collect();
    let [a, b, c, d] = *<&[Point; 4]>::try_from(tips.as_slice()).ok()?;
    let (one, other, between) = (c - a, d - b, b - a);
    let across = one.cross(other);
    let askew = libm::atan2(across.abs(), one.dot(other)) - turn / 4.0;
    let at = between.cross(other) / across;
    let along = between.cross(one) / across;
    let holds = askew.abs() < ASKEW_RAD && CROSSES_AT.contains(&at) && CROSSES_AT.contains(&along);
    holds.then(|| a + one * at)
}
