//! Darts on a template: room kept for them, what is written beside them, the notches in its trim.

use super::board::{Board, Run, Side, Style};
use super::drawing::Meaning;
use super::field::Field;
use super::input::TemplateSheet;
use super::trim::Trim;
use crate::frames::{Flat, Point2, Vector2};
use crate::surface::{Dart, HOLE_RADIUS};
use crate::units::Angle;
use kurbo::{Point, Rect};

/// Words keep this far from what is cut, mm.
const CLEAR_MM: f64 = 1.5;
/// No template reaches further from a dart's tip, mm.
const FAR_MM: f64 = 2_000.0;
/// Room is kept this far out for finding words a place, mm.
const ROOM_MM: f64 = 400.0;
/// The words beside a dart stand about so far from its tip, mm.
const WORDS_FROM_TIP_MM: f64 = 22.0;

fn spot(p: Point2<Flat>) -> Point {
    Point::new(p.x_mm(), p.y_mm())
}

fn opens(dart: &Dart) -> bool {
    dart.angle <= Angle::ZERO
}

/// What a dart takes from the template.
pub(super) fn take(field: &mut Field, darts: &[Dart]) {
    for dart in darts {
        let [a, b] = dart.edges();
        let along = |v: Vector2<Flat>| spot(dart.tip + v * ROOM_MM);
        let ring = [along(a), spot(dart.tip), along(b)];
        if !opens(dart) {
            field.take_ring(&ring, true);
        }
        field.take_lines(&ring, CLEAR_MM);
        let (c, r) = (spot(dart.tip), HOLE_RADIUS.mm() + CLEAR_MM);
        field.take_rect(Rect::new(c.x - r, c.y - r, c.x + r, c.y + r));
    }
}

/// What is done with each, beside it, in two short lines that a seam between sheets may miss;
/// returns the boxes of the words.
pub(super) fn labels(
    board: &mut Board<Flat>,
    field: &mut Field,
    sheet: &TemplateSheet,
) -> Vec<Rect> {
    let style = Style::NOTE;
    let mut boxes = Vec::new();
    for dart in &sheet.darts {
        let lines = if sheet.arms {
            ["cut out,", "stays open"]
        } else if opens(dart) {
            ["slit: cut", "it opens"]
        } else {
            ["cut, close", "gap, tape"]
        };
        let wide = lines
            .map(|l| style.width_mm(l))
            .into_iter()
            .fold(0.0, f64::max);
        let size = (wide, style.pitch_mm() + style.cap_mm() + 1.2);
        let [edge, _] = dart.edges();
        let beside = spot(dart.tip + edge * WORDS_FROM_TIP_MM);
        let Some(r) = field.nearest(size, beside, 120.0) else {
            continue;
        };
        field.take_rect(r.inflate(1.0, 1.0));
        let mut y = r.y0 + 0.6 + style.pitch_mm();
        for line in lines {
            let place = Point2::from_mm(r.x0, y);
            board.text(place, line, style, Side::Start, Run::Across);
            y -= style.pitch_mm();
        }
        boxes.push(r);
    }
    boxes
}

/// Cuts the wedges out of the trim line, which must be convex, and draws the slits.
pub(super) fn cut(board: &mut Board<Flat>, trim: &mut Trim, sheet: &TemplateSheet) {
    // Slits first: their outer ends are where the whole trim line is.
    let ring = trim.ring();
    for dart in sheet.darts.iter().filter(|d| opens(d)) {
        let end = edge_of(&ring, dart);
        board
            .lines(Meaning::Cut, &[dart.tip + dart.out * HOLE_RADIUS.mm(), end])
            .named("slit")
            .circle(Meaning::Cut, dart.tip, HOLE_RADIUS)
            .named("hole at the end of the slit");
    }
    for dart in sheet.darts.iter().filter(|d| !opens(d)) {
        let from = dart.edges()[0].direction_rad();
        let to = from + dart.angle.rad();
        trim.notch(spot(dart.tip), (from, to), HOLE_RADIUS.mm());
    }
}

/// Where a dart's own direction leaves the template.
fn edge_of(ring: &[Point], dart: &Dart) -> Point2<Flat> {
    let mut furthest: f64 = 0.0;
    let n = ring.len();
    for (k, &p) in ring.iter().enumerate() {
        let Some(&q) = ring.get((k + 1) % n.max(1)) else {
            continue;
        };
        let (a, b) = (
            Point2::from_mm(p.x, p.y) - dart.tip,
            Point2::from_mm(q.x, q.y) - dart.tip,
        );
        let (sa, sb) = (dart.out.cross(a), dart.out.cross(b));
        if sa * sb <= 0.0 && (sa - sb).abs() > 1e-12 {
            furthest = furthest.max((a + (b - a) * (sa / (sa - sb))).dot(dart.out));
        }
    }
    dart.tip + dart.out * furthest.min(FAR_MM)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::sheet::trace::trace;
    use crate::units::Length;

    /// Twice the signed area of a triangle in whole µm: no rounding.
    fn side(a: (i64, i64), b: (i64, i64), c: (i64, i64)) -> i64 {
        let wide = |x: i64| i128::from(x);
        let area = wide(b.0 - a.0) * wide(c.1 - a.1) - wide(b.1 - a.1) * wide(c.0 - a.0);
        i64::try_from(area.signum()).unwrap()
    }

    /// No two edges of the ring cross, but neighbours where they meet.
    fn is_simple(ring: &[(i64, i64)]) -> bool {
        let n = ring.len();
        let at = |k: usize| ring[k % n];
        (0..n).all(|i| {
            (i + 2..n).filter(|j| (j + 1) % n != i).all(|j| {
                let (a, b, c, d) = (at(i), at(i + 1), at(j), at(j + 1));
                let off =
                    |p: i64, q: i64, r: i64, s: i64| p.max(q) < r.min(s) || r.max(s) < p.min(q);
                side(a, b, c) * side(a, b, d) > 0
                    || side(c, d, a) * side(c, d, b) > 0
                    || off(a.0, b.0, c.0, d.0)
                    || off(a.1, b.1, c.1, d.1)
            })
        })
    }

    fn dart(bearing_deg: f64, tip_mm: f64, angle_deg: f64) -> Dart {
        let out = Vector2::from_mm(1.0, 0.0).turned(bearing_deg.to_radians());
        Dart {
            tip: Point2::ORIGIN + out * tip_mm,
            out,
            angle: Angle::from_deg(angle_deg),
        }
    }

    #[test]
    fn a_trim_with_its_darts_out_is_one_simple_polygon() {
        let points: Vec<Point> = [(-90.0, -40.0), (95.0, -45.0), (10.0, 100.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        for turn in 0..36 {
            let first = f64::from(turn) * 10.0;
            for count in 1..=5_u32 {
                let darts: Vec<Dart> = (0..count)
                    .map(|k| {
                        let bearing = first + f64::from(k) * 360.0 / f64::from(count);
                        dart(bearing, 22.0 + f64::from(k), 4.0 + 5.0 * f64::from(k))
                    })
                    .collect();
                let mut trim = Trim::round(&points, None, super::super::trim::Pull::NONE);
                let sheet = TemplateSheet {
                    darts: darts.clone(),
                    ..TemplateSheet::default()
                };
                let whole = ring_of(&trim);
                let mut board = Board::new();
                cut(&mut board, &mut trim, &sheet);
                let ring = ring_of(&trim);
                assert!(is_simple(&ring), "{first}: {count} darts");
                assert!(area(&ring) > 0, "anticlockwise");
                // What is gone is the wedges: none of the paper left lies in one.
                assert!(area(&ring) < area(&whole));
                for d in &darts {
                    let middle = d.tip + d.out * 20.0;
                    assert!(!holds(&ring, middle), "{first}: {count} darts");
                    let behind = d.tip - d.out * 3.0;
                    assert!(holds(&ring, behind), "{first}: {count} darts");
                }
            }
        }
    }

    #[test]
    fn a_polygon_that_crosses_itself_is_found() {
        assert!(!is_simple(&[(0, 0), (10, 10), (10, 0), (0, 10)]));
        assert!(is_simple(&[(0, 0), (10, 0), (10, 10), (0, 10)]));
    }

    #[test]
    fn a_slit_ends_at_the_trim_line() {
        let points = [Point::new(-50.0, 0.0), Point::new(50.0, 0.0)];
        let ring = Trim::round(&points, None, super::super::trim::Pull::NONE).ring();
        let end = edge_of(&ring, &dart(-90.0, 4.0, -10.0));
        assert!((end.y_mm() + 10.0).abs() < 0.2, "{end:?}");
        assert!(Length::from_mm(end.x_mm().abs()) < Length::from_mm(1e-6));
    }

    fn ring_of(trim: &Trim) -> Vec<(i64, i64)> {
        #[expect(clippy::cast_possible_truncation, reason = "under a metre in µm")]
        let whole = |p: &Point| (p.x.round() as i64, p.y.round() as i64);
        let mut ring: Vec<_> = trace(&trim.contour().unwrap(), 20.0)
            .iter()
            .map(whole)
            .collect();
        ring.dedup();
        if ring.first() == ring.last() {
            ring.pop();
        }
        ring
    }

    fn area(ring: &[(i64, i64)]) -> i64 {
        let n = ring.len();
        (0..n)
            .map(|k| {
                let (a, b) = (ring[k], ring[(k + 1) % n]);
                a.0 * b.1 - a.1 * b.0
            })
            .sum()
    }

    /// Even-odd, by a ray to the right.
    fn holds(ring: &[(i64, i64)], p: Point2<Flat>) -> bool {
        let (x, y) = (p.x_mm() * 1000.0, p.y_mm() * 1000.0);
        let n = ring.len();
        #[expect(clippy::cast_precision_loss, reason = "under a metre in µm")]
        let at = |k: usize| (ring[k % n].0 as f64, ring[k % n].1 as f64);
        (0..n)
            .filter(|&k| {
                let (a, b) = (at(k), at(k + 1));
                (a.1 > y) != (b.1 > y) && a.0 + (b.0 - a.0) * (y - a.1) / (b.1 - a.1) > x
            })
            .count()
            % 2
            == 1
    }
}
