//! Where outlines run across themselves or each other.

use super::Outline;
use crate::frames::{Frame, Point2};
use crate::units::Length;

/// How two stretches of outline meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeetingKind {
    /// One runs through the other.
    Crosses,
    /// They share a point or a stretch without running through.
    Touches,
}

/// One place where an outline meets itself or another contour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting<F: Frame> {
    /// Where.
    pub at: Point2<F>,
    /// The two contours, counted from 0; the same twice for one that meets itself.
    pub contours: (usize, usize),
    /// How.
    pub kind: MeetingKind,
}

/// Two points closer than this are one. A hundredth of the snapping grid's step.
const ONE_POINT_MM: f64 = 1e-5;

/// Pairs of segments compared before giving up; about two seconds of work. Beyond it the answer is
/// what was found so far, which for artwork that dense is never empty in practice.
const MOST_PAIRS: u64 = 400_000_000;

struct Piece {
    a: (f64, f64),
    b: (f64, f64),
    contour: usize,
    /// Its place in the contour, and how many there are: neighbours share a point without meeting.
    index: usize,
    of: usize,
    closed: bool,
}

impl Piece {
    const fn low(&self, axis: bool) -> f64 {
        if axis {
            self.a.1.min(self.b.1)
        } else {
            self.a.0.min(self.b.0)
        }
    }
    const fn high(&self, axis: bool) -> f64 {
        if axis {
            self.a.1.max(self.b.1)
        } else {
            self.a.0.max(self.b.0)
        }
    }
    const fn next_to(&self, o: &Self) -> bool {
        if self.contour != o.contour {
            return false;
        }
        let apart = self.index.abs_diff(o.index);
        apart <= 1 || (self.closed && apart == self.of - 1)
    }
}

impl<F: Frame> Outline<F> {
    /// Where contours meet themselves or each other, at most `limit` places, those that cross first;
    /// the curves are cut within `tolerance`.
    #[must_use]
    pub fn meetings(&self, tolerance: Length, limit: usize) -> Vec<Meeting<F>> {
        let mut pieces = self.cut(tolerance);
        // Along the axis on which the pieces lie least over each other.
        let spread =
            |axis: bool| -> f64 { pieces.iter().map(|p| p.high(axis) - p.low(axis)).sum() };
        let axis = spread(true) < spread(false);
        pieces.sort_by(|p, q| {
            p.low(axis)
                .total_cmp(&q.low(axis))
                .then((p.contour, p.index).cmp(&(q.contour, q.index)))
        });
        let mut found: Vec<Meeting<F>> = Vec::new();
        let mut crossing = 0;
        let mut compared: u64 = 0;
        'all: for (i, p) in pieces.iter().enumerate() {
            for q in pieces.iter().skip(i + 1) {
                if q.low(axis) > p.high(axis) + ONE_POINT_MM {
                    break;
                }
                compared += 1;
                if compared > MOST_PAIRS || crossing >= limit {
                    break 'all;
                }
                if q.low(!axis) > p.high(!axis) + ONE_POINT_MM
                    || p.low(!axis) > q.high(!axis) + ONE_POINT_MM
                {
                    continue;
                }
                if let Some((at, kind)) = meet(p, q) {
                    crossing += usize::from(kind == MeetingKind::Crosses);
                    if kind == MeetingKind::Crosses || found.len() < 2 * limit {
                        let pair = (p.contour.min(q.contour), p.contour.max(q.contour));
                        found.push(Meeting {
                            at: Point2::from_mm(at.0, at.1),
                            contours: pair,
                            kind,
                        });
                    }
                }
            }
        }
        found.sort_by(|m, n| {
            (m.kind == MeetingKind::Touches)
                .cmp(&(n.kind == MeetingKind::Touches))
                .then(m.contours.cmp(&n.contours))
                .then(m.at.x_mm().total_cmp(&n.at.x_mm()))
                .then(m.at.y_mm().total_cmp(&n.at.y_mm()))
        });
        found.truncate(limit);
        found
    }

    fn cut(&self, tolerance: Length) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (contour, c) in self.contours().iter().enumerate() {
            let points = c.polyline(tolerance);
            let closed = c.is_closed();
            let of = if closed {
                points.len()
            } else {
                points.len().saturating_sub(1)
            };
            let ends = points.iter().skip(1).chain(points.first());
            for (index, (p, q)) in points.iter().zip(ends).take(of).enumerate() {
                let (a, b) = ((p.x_mm(), p.y_mm()), (q.x_mm(), q.y_mm()));
                pieces.push(Piece {
                    a,
                    b,
                    contour,
                    index,
                    of,
                    closed,
                });
            }
        }
        pieces
    }
}

/// Signed distance of `p` from the line through the piece.
fn beside(piece: &Piece, p: (f64, f64)) -> f64 {
    let (dx, dy) = (piece.b.0 - piece.a.0, piece.b.1 - piece.a.1);
    let length = libm::hypot(dx, dy).max(1e-12);
    ((p.1 - piece.a.1) * dx - (p.0 - piece.a.0) * dy) / length
}

fn meet(p: &Piece, q: &Piece) -> Option<((f64, f64), MeetingKind)> {
    let (qa, qb, pa, pb) = (
        beside(p, q.a),
        beside(p, q.b),
        beside(q, p.a),
        beside(q, p.b),
    );
    let apart = |s: f64, t: f64| s.min(t) > ONE_POINT_MM || s.max(t) < -ONE_POINT_MM;
    if apart(qa, qb) || apart(pa, pb) {
        return None;
    }
    let clear = |s: f64, t: f64| s.min(t) < -ONE_POINT_MM && s.max(t) > ONE_POINT_MM;
    if clear(qa, qb) && clear(pa, pb) {
        let share = qa / (qa - qb);
        let at = (
            q.a.0 + (q.b.0 - q.a.0) * share,
            q.a.1 + (q.b.1 - q.a.1) * share,
        );
        return Some((at, MeetingKind::Crosses));
    }
    if p.next_to(q) {
        return None;
    }
    // An end of one on the other, or both on one line: they touch where an end lies on the other.
    [(p.a, q), (p.b, q), (q.a, p), (q.b, p)]
        .into_iter()
        .find(|(end, on)| on_piece(on, *end))
        .map(|(end, _)| (end, MeetingKind::Touches))
}

fn on_piece(piece: &Piece, p: (f64, f64)) -> bool {
    super::near::to_segment(piece.a, piece.b, p) <= ONE_POINT_MM
}
