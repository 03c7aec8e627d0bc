//! How far a point is from the nearest of many segments.

/// Distance from `p` to the segment from `a` to `b`.
pub(super) fn to_segment(a: (f64, f64), b: (f64, f64), p: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 {
        (((p.0 - a.0) * dx + (p.1 - a.1) * dy) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    libm::hypot(p.0 - a.0 - t * dx, p.1 - a.1 - t * dy)
}

/// Segments sorted into square cells, so that only those within a reach are looked at.
pub(super) struct Near {
    segments: Vec<((f64, f64), (f64, f64))>,
    cells: Vec<Vec<usize>>,
    low: (f64, f64),
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
            cell_mm,
            across: count(w / cell_mm) + 1,
            up: count(h / cell_mm) + 1,
        };
        near.cells.resize(near.across * near.up, Vec::new());
        for i in 0..near.segments.len() {
            let Some(&(a, b)) = near.segments.get(i) else {
                continue;
            };
            let from = (a.0.min(b.0), a.1.min(b.1));
            let to = (a.0.max(b.0), a.1.max(b.1));
            let cells: Vec<usize> = near.over(from, to).collect();
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
        if self.segments.is_empty() {
            return None;
        }
        let mut best = f64::INFINITY;
        for cell in self.over(
            (p.0 - reach_mm, p.1 - reach_mm),
            (p.0 + reach_mm, p.1 + reach_mm),
        ) {
            for &i in self.cells.get(cell).into_iter().flatten() {
                if let Some(&(a, b)) = self.segments.get(i) {
                    best = best.min(to_segment(a, b, p));
                }
            }
        }
        (best <= reach_mm).then_some(best)
    }

    /// The cells over a rectangle.
    fn over(&self, from: (f64, f64), to: (f64, f64)) -> impl Iterator<Item = usize> + use<> {
        let index = |v: f64, low: f64, most: usize| count((v - low) / self.cell_mm).min(most - 1);
        let (x0, x1) = (
            index(from.0, self.low.0, self.across),
            index(to.0, self.low.0, self.across),
        );
        let (y0, y1) = (
            index(from.1, self.low.1, self.up),
            index(to.1, self.low.1, self.up),
        );
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
