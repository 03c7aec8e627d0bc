//! The five targets in a picture: dots in the middle of rings.

use super::PhotoError;
use super::blobs::{Blob, dark};
use super::grey::Grey;
use kurbo::Point;

/// A dot smaller than this is noise, points.
const LEAST_POINTS: u32 = 12;
/// Ring over dot on the sheet is 8 : 3 across; this much either way for blur and slant.
const ACROSS: core::ops::RangeInclusive<f64> = 1.9..=3.8;
/// Ring over dot in area is 3.75.
const AREA: core::ops::RangeInclusive<f64> = 1.6..=8.0;
/// A round dot fills π/4 of its box.
const DOT_FILL: core::ops::RangeInclusive<f64> = 0.6..=0.95;
/// A ring fills 0.41 of its box.
const RING_FILL: core::ops::RangeInclusive<f64> = 0.2..=0.65;
/// Middles of dot and ring apart, of the ring's size.
const APART: f64 = 0.1;

/// The middles of the five targets.
pub(super) fn find(picture: &Grey) -> Result<[Point; 5], PhotoError> {
    let blobs = dark(picture, LEAST_POINTS);
    let dots: Vec<&Blob> = blobs
        .iter()
        .filter(|b| DOT_FILL.contains(&b.fill()))
        .collect();
    let rings = blobs.iter().filter(|b| RING_FILL.contains(&b.fill()));
    let mut found: Vec<Point> = Vec::new();
    for ring in rings {
        if let Some(dot) = dots.iter().find(|dot| is_target(ring, dot)) {
            found.push(middle(picture, dot));
        }
    }
    match <[Point; 5]>::try_from(found) {
        Ok(five) => Ok(five),
        Err(found) if found.len() < 5 => Err(PhotoError::Targets { found: found.len() }),
        Err(found) => Err(PhotoError::TooManyTargets { found: found.len() }),
    }
}

fn is_target(ring: &Blob, dot: &Blob) -> bool {
    let ((x, y), (a, b)) = (ring.centre(), dot.centre());
    let size = ring.width().max(ring.height());
    ring.holds(dot)
        && libm::hypot(x - a, y - b) < APART * size
        && ACROSS.contains(&(ring.width() / dot.width()))
        && ACROSS.contains(&(ring.height() / dot.height()))
        && AREA.contains(&(f64::from(ring.points) / f64::from(dot.points)))
}

/// The middle of a dot by how dark each point is, to a fraction of one.
fn middle(picture: &Grey, dot: &Blob) -> Point {
    let about = |(from, to): (usize, usize)| {
        let more = (to - from + 1) / 4 + 1;
        from.saturating_sub(more)..=to + more
    };
    let lightest = about(dot.y)
        .flat_map(|y| about(dot.x).map(move |x| (x, y)))
        .map(|(x, y)| picture.at(x, y))
        .max()
        .unwrap_or(255);
    let (mut sum, mut x_sum, mut y_sum) = (0.0, 0.0, 0.0);
    for y in about(dot.y) {
        for x in about(dot.x) {
            let dark = f64::from(lightest.saturating_sub(picture.at(x, y)));
            #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
            let (px, py) = (x as f64 + 0.5, y as f64 + 0.5);
            sum += dark;
            x_sum += dark * px;
            y_sum += dark * py;
        }
    }
    if sum > 0.0 {
        Point::new(x_sum / sum, y_sum / sum)
    } else {
        Point::from(dot.centre())
    }
}
