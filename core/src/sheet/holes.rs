//! Holes on a template: a cross at the middle, the drill's circle, which way it leans, its number.

use super::board::{Board, Run, Side, Style};
use super::drawing::Meaning;
use super::field::Field;
use super::input::{DrillHole, FlatPath};
use super::trace::trace;
use crate::frames::{Flat, Point2};
use crate::units::Length;
use kurbo::{Point, Rect};

/// The strokes of a cross reach this far past the drill's circle: the sheet still shows where the
/// middle was when the hole is through.
const PAST_MM: f64 = 4.0;
/// From the strokes' end to the arrow, and the arrow's length.
const ARROW_MM: (f64, f64) = (1.0, 11.0);
/// Words keep this far from lines.
const CLEAR_MM: f64 = 1.2;

/// The outermost circle: the bush's where there is one, else the drill's.
fn outer(hole: &DrillHole) -> Length {
    hole.bush.unwrap_or(hole.across) / 2.0
}

fn arm(hole: &DrillHole) -> f64 {
    outer(hole).mm() + PAST_MM
}

fn at(hole: &DrillHole) -> Point {
    Point::new(hole.place.x_mm(), hole.place.y_mm())
}

/// The outermost circle as points.
pub(super) fn edge(hole: &DrillHole) -> Vec<Point> {
    let circle = FlatPath::circle(hole.place, outer(hole));
    let um = trace(&super::board::flat_contour(&circle), 100.0);
    um.into_iter()
        .map(|q| Point::new(q.x / 1000.0, q.y / 1000.0))
        .collect()
}

/// Tail and tip of the arrow that shows the lean.
fn arrow(hole: &DrillHole) -> Option<[Point; 2]> {
    let way = hole.leans?;
    let from = arm(hole) + ARROW_MM.0;
    let on = |d: f64| at(hole) + kurbo::Vec2::new(way.x_mm(), way.y_mm()) * d;
    Some([on(from), on(from + ARROW_MM.1)])
}

pub(super) fn draw(board: &mut Board<Flat>, holes: &[DrillHole]) {
    let p = |q: Point| Point2::<Flat>::from_mm(q.x, q.y);
    for hole in holes {
        let (c, a) = (at(hole), arm(hole));
        let name = format!("hole {}", hole.number);
        let across = [p(c - (a, 0.0)), p(c + (a, 0.0))];
        let up = [p(c - (0.0, a)), p(c + (0.0, a))];
        board
            .lines(Meaning::DrillPoint, &across)
            .named(format!("{name} across"));
        board
            .lines(Meaning::DrillPoint, &up)
            .named(format!("{name} up"));
        board
            .circle(Meaning::DrillPoint, hole.place, hole.across / 2.0)
            .named(name.clone());
        if let Some(bush) = hole.bush {
            board
                .circle(Meaning::Cut, hole.place, bush / 2.0)
                .named(format!("bush {}", hole.number));
        }
        if let Some([tail, tip]) = arrow(hole) {
            board.arrow(Meaning::Dimension, p(tail), p(tip));
        }
    }
}

/// Takes what the holes' lines cover.
pub(super) fn take(field: &mut Field, holes: &[DrillHole]) {
    for hole in holes {
        let (c, a, w) = (at(hole), arm(hole) + CLEAR_MM, CLEAR_MM);
        field.take_rect(Rect::new(c.x - a, c.y - w, c.x + a, c.y + w));
        field.take_rect(Rect::new(c.x - w, c.y - a, c.x + w, c.y + a));
        if let Some(ends) = arrow(hole) {
            field.take_lines(&ends, CLEAR_MM + 1.0);
        }
    }
}

/// Writes the number of each hole with what is said of it beside it; returns the boxes, each with that
/// of its hole.
pub(super) fn labels(
    board: &mut Board<Flat>,
    field: &mut Field,
    holes: &[DrillHole],
) -> Vec<(Rect, Rect)> {
    let (number, note) = (Style::HEADING, Style::NOTE);
    let mut put = Vec::new();
    for hole in holes {
        let words = hole
            .says
            .iter()
            .map(|s| note.width_mm(s))
            .fold(0.0, f64::max);
        let first = number.width_mm(&hole.number) + 1.8;
        #[expect(clippy::cast_precision_loss, reason = "two or three lines")]
        let lines = hole.says.len() as f64 * note.pitch_mm();
        let size = (first + words, lines.max(number.cap_mm() + 1.0));
        let (c, a) = (at(hole), outer(hole).mm());
        let mut best: Option<(f64, Rect)> = None;
        // In a quarter between two strokes; where the arrow goes there is no room.
        for (sx, sy) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
            let wish = Point::new(
                c.x + sx * (size.0 / 2.0 + a * 0.8 + 1.5),
                c.y + sy * (size.1 / 2.0 + a * 0.8 + 1.5),
            );
            if let Some(r) = field.nearest(size, wish, 70.0) {
                let cost = (r.center() - wish).hypot2();
                if best.is_none_or(|(least, _)| cost < least - 1e-9) {
                    best = Some((cost, r));
                }
            }
        }
        let Some((_, r)) = best else { continue };
        field.take_rect(r.inflate(1.0, 1.0));
        let p = |x: f64, y: f64| Point2::<Flat>::from_mm(x, y);
        let foot = r.y1 - number.cap_mm();
        board.text(
            p(r.x0, foot),
            &hole.number,
            number,
            Side::Start,
            Run::Across,
        );
        let mut y = r.y1 - note.cap_mm();
        for said in &hole.says {
            board.text(p(r.x0 + first, y), said, note, Side::Start, Run::Across);
            y -= note.pitch_mm();
        }
        let reach = outer(hole).mm();
        put.push((r, Rect::from_center_size(c, (2.0 * reach, 2.0 * reach))));
    }
    put
}
