//! A drawing scaled for a printer whose proof asked for it.

use super::drawing::{Contour, Item, Segment, Shape, Spot};
use super::error::SheetError;
use super::input::ScaleCorrection;
use super::trace::{ArcThrough, point, spot};
use kurbo::Point;

/// No printer is further out than this; a larger figure is a slip of the tape.
const MOST: f64 = 0.05;

pub(super) fn checked(correction: Option<ScaleCorrection>) -> Result<ScaleCorrection, SheetError> {
    let c = correction.unwrap_or(ScaleCorrection::NONE);
    let fine = |f: f64| f.is_finite() && (f - 1.0).abs() <= MOST;
    if fine(c.across) && fine(c.up) {
        Ok(c)
    } else {
        Err(SheetError::Correction {
            across: c.across,
            up: c.up,
        })
    }
}

/// The item as it must be drawn for its print to have the item's size.
pub(super) fn scaled(item: Item, by: ScaleCorrection) -> Item {
    if by == ScaleCorrection::NONE {
        return item;
    }
    let at = |p: Point| spot(Point::new(p.x * by.across, p.y * by.up));
    let all = |contours: Vec<Contour>| contours.iter().map(|c| contour(c, &at)).collect();
    let shape = match item.shape {
        Shape::Line(c) => Shape::Line(all(c)),
        Shape::Solid(c) => Shape::Solid(all(c)),
        Shape::Lettering { text, outlines } => Shape::Lettering {
            text,
            outlines: all(outlines),
        },
        Shape::Picture(picture) => Shape::Picture(picture.scaled(by)),
        Shape::Circle { centre, radius } => {
            let s = |dx: i32, dy: i32| centre.shifted(Spot::new(dx, dy));
            let round = Contour {
                start: s(radius, 0),
                segments: vec![
                    Segment::Arc {
                        via: s(0, radius),
                        to: s(-radius, 0),
                    },
                    Segment::Arc {
                        via: s(0, -radius),
                        to: s(radius, 0),
                    },
                ],
                closed: true,
            };
            Shape::Line(vec![contour(&round, &at)])
        }
    };
    Item { shape, ..item }
}

/// Arcs become curves first: scaled differently in two directions they are no arcs any more.
fn contour(c: &Contour, at: &impl Fn(Point) -> Spot) -> Contour {
    let mut from = point(c.start);
    let mut segments = Vec::new();
    for segment in &c.segments {
        match *segment {
            Segment::Line { to } => segments.push(Segment::Line { to: at(point(to)) }),
            Segment::Cubic { c1, c2, to } => segments.push(Segment::Cubic {
                c1: at(point(c1)),
                c2: at(point(c2)),
                to: at(point(to)),
            }),
            Segment::Arc { via, to } => match ArcThrough::new(from, point(via), point(to)) {
                None => segments.push(Segment::Line { to: at(point(to)) }),
                Some(arc) => {
                    let pieces = arc.cubics(0.5);
                    let last = pieces.len().saturating_sub(1);
                    for (i, [c1, c2, end]) in pieces.into_iter().enumerate() {
                        let end = if i == last { point(to) } else { end };
                        segments.push(Segment::Cubic {
                            c1: at(c1),
                            c2: at(c2),
                            to: at(end),
                        });
                    }
                }
            },
        }
        from = point(segment.to());
    }
    Contour {
        start: at(point(c.start)),
        segments,
        closed: c.closed,
    }
}
