//! How far a point is from the nearest of many segments.

/// How far `p` lies across and up from the segment from `a` to `b`.
fn off_segment(a: (f64, f64), b: (f64, f64), p: (f64, f64)) -> (f64, f64) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 {
        (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (p.0 - a.0 - t * dx, p.1 - a.1 - t * dy)
}

/// Distance from `p` to the segment from `a` to `b`.
pub(super) fn to_segment(a: (f64, f64), b: (f64, f64), p: (f64, f64)) -> f64 {
    let (across, up) = off_segment(a, b, p);
    libm::hypot(across, up)
}

/// A square that exceeds another by more than this share is that of a longer length, however both are rounded.
const SURELY_LONGER: f64 = 1.0 + 1e-12;

/// `p` is further than `least` from the segment from `a` to `b`.
pub(super) fn is_beyond(a: (f64, f64), b: (f64, f64), p: (f64, f64), least: f64) -> bool {
    let (across, up) = off_segment(a, b, p);
    across * across + up * up > least * least * SURELY_LONGER || libm::hypot(across, up) > least
}

/// The place of the smallest of lengths given across and up; of equals the first.
pub(super) fn shortest(lengths: impl Iterator<Item = (f64, f64)>) -> Option<usize> {
    let (mut least, mut square, mut at) = (f64::INFINITY, f64::INFINITY, None);
    for (k, (across, up)) in lengths.enumerate() {
        // Its square tells of nearly all that they are longer, at a tenth of the cost.
        let own = across * across + up * up;
        if own > square * SURELY_LONGER {
            continue;
        }
        let length = libm::hypot(across, up);
        if at.is_none() || length < least {
            (least, square, at) = (length, own, Some(k));
        }
    }
    at
}

/// Segments sorted into square cells, so that only those within a reach are looked at.
pub(super) struct Near {
    segments: Vec<((f64, f64), (f64, f64))>,
    cells: Vec<Vec<usize>>,
    low: (f64, f64),
    high: (f64, f64),
    cell_mm: f64,
    across: usize,
    up: usize,
}

/// Cells along the longer side, at most.
const MOST_CELLS: f64 = 200.0;

impl Near {
    /// Answers up to `reach_mm` away.
    pub(super) fn new(segments: Vec<((f64, f64), (f64, f64))>, reach_mm: f64) -> Self {
        let mut low = (f64::INFINITY, f64::INFINITY);
        let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for &(a, b) in &segments {
            low = (low.0.min(a.0).min(b.0), low.1.min(a.1).min(b.1));
            high = (high.0.max(a.0).max(b.0), high.1.max(a.1).max(b.1));
        }
        let (w, h) = if segments.is_empty() {
            (0.0, 0.0)
        } else {
            (high.0 - low.0, high.1 - low.1)
        };
        let cell_mm = reach_mm.max(w.max(h) / MOST_CELLS).max(1e-6);
        let mut near = Self {
            segments,
            cells: Vec::new(),
            low,
            high,
            cell_mm,
            across: count(w / cell_mm) + 1,
            up: count(h / cell_mm) + 1,
        };
        near.cells.resize(near.across * near.up, Vec::new());
        for i in 0..near.segments.len() {
            let Some(&(a, b)) = near.segments.get(i) else {
                continue;
            };
            let cells: Vec<usize> = near.under(a, b);
            for cell in cells {
                if let Some(list) = near.cells.get_mut(cell) {
                    list.push(i);
                }
            }
        }
        near
    }

    /// The distance to the nearest segment, or `None` when none is within `reach_mm`.
    pub(super) fn distance(&self, p: (f64, f64), reach_mm: f64) -> Option<f64> {
        // Most points asked about are beyond all of them; a hair more, for rounding.
        let far = reach_mm + 1e-6;
        let beyond = p.0 < self.low.0 - far
            || p.0 > self.high.0 + far
            || p.1 < self.low.1 - far
            || p.1 > self.high.1 + far;
        if beyond || self.segments.is_empty() {
            return None;
        }
        let (mut best, mut square) = (f64::INFINITY, f64::INFINITY);
        for cell in self.over(
            (p.0 - reach_mm, p.1 - reach_mm),
            (p.0 + reach_mm, p.1 + reach_mm),
        ) {
            for &i in self.cells.get(cell).into_iter().flatten() {
                if let Some(&(a, b)) = self.segments.get(i) {
                    let (across, up) = off_segment(a, b, p);
                    let own = across * across + up * up;
                    if own <= square * SURELY_LONGER {
                        best = best.min(libm::hypot(across, up));
                        square = square.min(own);
                    }
                }
            }
        }
        (best <= reach_mm).then_some(best)
    }

    /// The cells a segment runs through, row by row: a long slanting one would fill its rectangle.
    fn under(&self, a: (f64, f64), b: (f64, f64)) -> Vec<usize> {
        let (a, b) = if a.1 <= b.1 { (a, b) } else { (b, a) };
        let rows = (self.row(a.1), self.row(b.1));
        let slope = if b.1 > a.1 {
            (b.0 - a.0) / (b.1 - a.1)
        } else {
            0.0
        };
        let mut cells = Vec::new();
        for row in rows.0..=rows.1 {
            #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
            let (low, high) = (
                (self.low.1 + row as f64 * self.cell_mm).max(a.1),
                (self.low.1 + (row + 1) as f64 * self.cell_mm).min(b.1),
            );
            let (x0, x1) = if rows.0 == rows.1 {
                (a.0, b.0)
            } else {
                (a.0 + (low - a.1) * slope, a.0 + (high - a.1) * slope)
            };
            let (from, to) = (self.column(x0.min(x1)), self.column(x0.max(x1)));
            // A column more each side: rounding must not lose the cell a point is looked up in.
            let to = (to + 1).min(self.across - 1);
            cells.extend((from.saturating_sub(1)..=to).map(|x| row * self.across + x));
        }
        cells
    }

    fn row(&self, y: f64) -> usize {
        count((y - self.low.1) / self.cell_mm).min(self.up - 1)
    }

    fn column(&self, x: f64) -> usize {
        count((x - self.low.0) / self.cell_mm).min(self.across - 1)
    }

    /// The cells over a rectangle.
    fn over(&self, from: (f64, f64), to: (f64, f64)) -> impl Iterator<Item = usize> + use<> {
        let (x0, x1) = (self.column(from.0), self.column(to.0));
        let (y0, y1) = (self.row(from.1), self.row(to.1));
        let across = self.across;
        (y0..=y1).flat_map(move |y| (x0..=x1).map(move |x| y * across + x))
    }
}

fn count(v: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "clamped first"
    )]
    let n = libm::floor(v.clamp(0.0, 1e6)) as usize;
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shortest_is_the_one_that_measuring_all_finds() {
        // 3-4-5 and 5-12-13 (Euclid X.29, lemma) among others; the first of equals.
        let all = [(5.0, 12.0), (3.0, 4.0), (-4.0, 3.0), (0.0, 5.0), (5.0, 0.5)];
        assert_eq!(shortest(all.into_iter()), Some(1));
        assert_eq!(shortest([(5.0, 12.0), (0.0, 0.0)].into_iter()), Some(1));
        assert_eq!(shortest(core::iter::empty()), None);
    }

    #[test]
    fn beyond_is_further_and_not_as_far() {
        let (a, b) = ((0.0, 0.0), (10.0, 0.0));
        assert!(!is_beyond(a, b, (13.0, 4.0), 5.0));
        assert!(is_beyond(a, b, (13.0, 4.0), 4.999));
        assert!(!is_beyond(a, b, (13.0, 4.0), 5.001));
    }
}
