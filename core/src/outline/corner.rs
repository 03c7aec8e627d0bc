//! The tightest bend of an outline.

use super::{Contour, Outline};
use crate::frames::Frame;
use crate::units::Length;
use kurbo::{PathSeg, Vec2};

/// Looked at so often along one segment; a quarter circle drawn as one cubic is within 0.03 % of its
/// radius everywhere.
const LOOKS: u32 = 32;
/// Segments that meet at less than this run on smoothly: drawing programs round their handles.
const SMOOTH_RAD: f64 = 2.0 * core::f64::consts::PI / 180.0;
/// Straighter than this is straight, mm.
const STRAIGHT_MM: f64 = 1e5;

impl<F: Frame> Outline<F> {
    /// The least radius of any bend or corner of its contours: zero where two sides meet in a point,
    /// `None` where nothing bends.
    #[must_use]
    pub fn least_radius(&self) -> Option<Length> {
        let all = self.contours().iter().filter_map(least_of);
        all.reduce(f64::min).map(Length::from_mm)
    }
}

fn least_of<F: Frame>(contour: &Contour<F>) -> Option<f64> {
    // Segments without length have no direction: a path closed onto its own start ends in one.
    let segments: Vec<PathSeg> = contour
        .segments()
        .filter(|s| ends(s).hypot2() > 1e-12)
        .collect();
    let mut least: Option<f64> = None;
    let mut take = |radius: f64| least = Some(least.map_or(radius, |l: f64| l.min(radius)));
    for segment in &segments {
        for k in 0..=LOOKS {
            let radius = radius_at(segment, f64::from(k) / f64::from(LOOKS));
            if let Some(radius) = radius.filter(|r| *r < STRAIGHT_MM) {
                take(radius);
            }
        }
    }
    let closing = contour
        .is_closed()
        .then(|| segments.last().zip(segments.first()));
    let meet = segments.windows(2).filter_map(|w| w.first().zip(w.last()));
    for (before, after) in meet.chain(closing.flatten()) {
        let (a, b) = (leaves(before, 1.0), leaves(after, 0.0));
        if libm::fabs(libm::atan2(a.cross(b), a.dot(b))) > SMOOTH_RAD {
            take(0.0);
        }
    }
    least
}

/// From its start to its end; round a loop, to its first handle.
fn ends(segment: &PathSeg) -> Vec2 {
    match segment {
        PathSeg::Line(l) => l.p1 - l.p0,
        PathSeg::Quad(q) => (q.p1 - q.p0) + (q.p2 - q.p1) * 0.5,
        PathSeg::Cubic(c) => (c.p1 - c.p0) + (c.p3 - c.p2) * 0.5 + (c.p2 - c.p1) * 0.25,
    }
}

/// First and second derivative.
fn derivatives(segment: &PathSeg, t: f64) -> (Vec2, Vec2) {
    let s = 1.0 - t;
    match segment {
        PathSeg::Line(l) => (l.p1 - l.p0, Vec2::ZERO),
        PathSeg::Quad(q) => {
            let (a, b) = (q.p1 - q.p0, q.p2 - q.p1);
            ((a * s + b * t) * 2.0, (b - a) * 2.0)
        }
        PathSeg::Cubic(c) => {
            let (a, b, d) = (c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2);
            (
                (a * (s * s) + b * (2.0 * s * t) + d * (t * t)) * 3.0,
                ((b - a) * s + (d - b) * t) * 6.0,
            )
        }
    }
}

/// The way it goes at one of its ends; a handle that lies on its end has none of its own.
fn leaves(segment: &PathSeg, t: f64) -> Vec2 {
    let (first, second) = derivatives(segment, t);
    if first.hypot2() > 1e-12 {
        first
    } else if t < 0.5 {
        second
    } else {
        -second
    }
}

fn radius_at(segment: &PathSeg, t: f64) -> Option<f64> {
    let (first, second) = derivatives(segment, t);
    let speed = libm::hypot(first.x, first.y);
    let turns = libm::fabs(first.cross(second));
    (speed > 1e-9 && turns > 1e-12).then(|| speed * speed * speed / turns)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use crate::frames::Flat;
    use crate::outline::Outline;
    use crate::units::Length;

    const fn mm(x: f64) -> Length {
        Length::from_mm(x)
    }

    #[track_caller]
    fn least(outline: &Outline<Flat>, want: f64) {
        let got = outline.least_radius().unwrap().mm();
        // A circle drawn as cubics: its radius of curvature is within 0.3 %.
        assert!(
            (got - want).abs() <= want * 0.003 + 1e-9,
            "{got} for {want}"
        );
    }

    #[test]
    fn the_tightest_bend_is_what_the_shape_says() {
        least(&Outline::circle(mm(300.0)).unwrap(), 150.0);
        let rounded =
            |corner| Outline::rounded_rectangle(mm(300.0), mm(220.0), mm(corner)).unwrap();
        least(&rounded(25.0), 25.0);
        least(&rounded(110.0), 110.0);
        least(&rounded(0.0), 0.0);
        // An ellipse of half-axes 150 and 100 bends most at its ends: 100²/150 (elementary).
        least(&Outline::ellipse(mm(300.0), mm(200.0)).unwrap(), 66.667);
        least(&Outline::star(5, mm(100.0), None).unwrap(), 0.0);
    }

    #[test]
    fn a_straight_line_bends_nowhere() {
        let ends = [(0.0, 0.0), (100.0, 0.0)].map(|(x, y)| crate::frames::Point2::from_mm(x, y));
        let line = Outline::<Flat>::line(ends[0], ends[1]).unwrap();
        assert_eq!(line.least_radius(), None);
    }
}
