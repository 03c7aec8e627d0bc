//! What is drawn on a template: what a mark that is put on later must not touch.

use super::drawing::{Item, Meaning, Shape};
use super::trace::{bounds_of, item_bounds, trace};
use kurbo::{Point, Rect};

/// How far a traced curve may leave itself, µm: a tenth of what marks keep clear by.
const TRACED_UM: f64 = 50.0;

/// Boxes round words and runs of straight lines along everything else, mm.
#[derive(Debug, Clone, Default)]
pub(super) struct Ink {
    words: Vec<Rect>,
    lines: Vec<(Rect, Vec<Point>)>,
}

impl Ink {
    /// Of what stands in the flat plane.
    pub(super) fn of(items: &[Item]) -> Self {
        let mut ink = Self::default();
        for item in items {
            match &item.shape {
                // A picture lies under everything.
                Shape::Picture(_) => {}
                Shape::Lettering { .. } => ink.words.extend(millimetres(item)),
                Shape::Solid(_) if item.meaning == Meaning::Note => {
                    ink.words.extend(millimetres(item));
                }
                Shape::Line(contours) | Shape::Solid(contours) => {
                    for contour in contours {
                        let run = trace(contour, TRACED_UM);
                        let run = run.into_iter().map(|p| Point::new(p.x / 1e3, p.y / 1e3));
                        ink.take_line(run.collect());
                    }
                }
                Shape::Circle { .. } => {
                    if let Some(r) = millimetres(item) {
                        ink.take_line(round(r));
                    }
                }
            }
        }
        ink
    }

    /// A box more.
    pub(super) fn take(&mut self, r: Rect) {
        self.words.push(r);
    }

    /// A line more.
    pub(super) fn take_line(&mut self, run: Vec<Point>) {
        if let Some(r) = bounds_of(&run) {
            self.lines.push((r, run));
        }
    }

    /// What of it lies within reach of a box.
    pub(super) fn near(&self, within: Rect) -> Self {
        let words = self.words.iter().filter(|r| touch(**r, within));
        let mut out = Self {
            words: words.copied().collect(),
            lines: Vec::new(),
        };
        for (_, run) in self.lines.iter().filter(|l| touch(l.0, within)) {
            for ends in run.windows(2) {
                if bounds_of(ends).is_some_and(|r| touch(r, within)) {
                    out.take_line(ends.to_vec());
                }
            }
        }
        out
    }

    /// Nothing of it lies in a box.
    pub(super) fn leaves(&self, r: Rect) -> bool {
        self.leaves_words(r)
            && !self
                .lines
                .iter()
                .any(|(all, run)| touch(*all, r) && runs_through(run, r))
    }

    /// No words lie in a box.
    pub(super) fn leaves_words(&self, r: Rect) -> bool {
        !self.words.iter().any(|w| touch(*w, r))
    }
}

fn millimetres(item: &Item) -> Option<Rect> {
    item_bounds(item).map(|r| Rect::new(r.x0 / 1e3, r.y0 / 1e3, r.x1 / 1e3, r.y1 / 1e3))
}

/// A circle in its box, by corners.
fn round(r: Rect) -> Vec<Point> {
    let (c, radius) = (r.center(), r.width() / 2.0);
    let corner = |k: i32| {
        let a = f64::from(k) * core::f64::consts::TAU / 36.0;
        Point::new(c.x + radius * libm::cos(a), c.y + radius * libm::sin(a))
    };
    (0..=36).map(corner).collect()
}

/// Edges that coincide count: a level or upright line has a box without area.
fn touch(a: Rect, b: Rect) -> bool {
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

fn runs_through(run: &[Point], r: Rect) -> bool {
    run.windows(2)
        .any(|ends| matches!(ends, &[a, b] if cuts(a, b, r)))
}

/// A stretch has a point in a box (Liang and Barsky 1984: what of it lies between each pair of sides).
fn cuts(a: Point, b: Point, r: Rect) -> bool {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (at, along, low, high) in [(a.x, b.x - a.x, r.x0, r.x1), (a.y, b.y - a.y, r.y0, r.y1)] {
        if along == 0.0 {
            if at < low || at > high {
                return false;
            }
            continue;
        }
        let (p, q) = ((low - at) / along, (high - at) / along);
        from = from.max(p.min(q));
        to = to.min(p.max(q));
    }
    from <= to
}
