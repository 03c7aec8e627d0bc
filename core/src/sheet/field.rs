//! Where on a template there is room: a grid of what is taken, for finding places for words.

use kurbo::{Point, Rect};

/// A grid over a rectangle of the plane (mm) that knows which squares are taken.
///
/// Asked for a place it answers from a table of sums (Crow 1984), so that trying thousands of
/// places for a block of words costs no more than drawing one line.
#[derive(Debug, Clone)]
pub(super) struct Field {
    area: Rect,
    /// Outside of this everything is taken.
    open: Rect,
    cell: f64,
    across: usize,
    up: usize,
    taken: Vec<bool>,
    sums: Vec<u32>,
    /// The sums of the rows from here on up are not those of what is taken now.
    stale_from: usize,
}

/// Squares of 1 mm, larger only where a template would need more than this many a side: words keep
/// clear of lines by more than that anyway.
const MOST_CELLS: f64 = 500.0;

impl Field {
    pub(super) fn new(area: Rect) -> Self {
        let cell = (area.width().max(area.height()) / MOST_CELLS).max(1.0);
        let count = |length: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "1 to 502"
            )]
            let n = libm::ceil(length / cell).clamp(1.0, MOST_CELLS + 1.0) as usize;
            n
        };
        let (across, up) = (count(area.width()), count(area.height()));
        Self {
            area,
            open: area,
            cell,
            across,
            up,
            taken: vec![false; across * up],
            sums: Vec::new(),
            stale_from: 0,
        }
    }

    pub(super) const fn cell(&self) -> f64 {
        self.cell
    }

    fn column(&self, x: f64) -> f64 {
        (x - self.area.x0) / self.cell
    }

    fn row(&self, y: f64) -> f64 {
        (y - self.area.y0) / self.cell
    }

    fn range(from: f64, to: f64, n: usize) -> core::ops::Range<usize> {
        #[expect(clippy::cast_precision_loss, reason = "at most 502")]
        let most = n as f64;
        // Thousands of places are tried: rounding down is cutting off once nothing is below nought.
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "clamped"
        )]
        let down = |v: f64| v.clamp(0.0, most) as usize;
        #[expect(clippy::cast_precision_loss, reason = "at most 502")]
        let up = |v: f64| down(v) + usize::from((down(v) as f64) < v.clamp(0.0, most));
        down(from)..up(to)
    }

    /// Takes a rectangle.
    pub(super) fn take_rect(&mut self, r: Rect) {
        let columns = Self::range(self.column(r.x0), self.column(r.x1), self.across);
        let rows = Self::range(self.row(r.y0), self.row(r.y1), self.up);
        self.stale_from = self.stale_from.min(rows.start);
        for row in rows {
            let line = row * self.across;
            if let Some(cells) = self.taken.get_mut(line + columns.start..line + columns.end) {
                cells.fill(true);
            }
        }
    }

    /// Takes what lies outside a rectangle.
    pub(super) fn take_outside(&mut self, r: Rect) {
        self.open = self.open.intersect(r);
        let a = self.area;
        self.take_rect(Rect::new(a.x0, a.y0, r.x0.max(a.x0), a.y1));
        self.take_rect(Rect::new(r.x1.min(a.x1), a.y0, a.x1, a.y1));
        self.take_rect(Rect::new(a.x0, a.y0, a.x1, r.y0.max(a.y0)));
        self.take_rect(Rect::new(a.x0, r.y1.min(a.y1), a.x1, a.y1));
    }

    /// The same with what lies outside of a ring taken too.
    pub(super) fn within(&self, ring: &[Point]) -> Self {
        // A table of sums is a megabyte, and this one has another.
        let mut inside = Self {
            taken: self.taken.clone(),
            sums: Vec::new(),
            ..*self
        };
        inside.take_ring(ring, false);
        inside
    }

    /// Takes everything within `clear` of a run of lines.
    pub(super) fn take_lines(&mut self, points: &[Point], clear: f64) {
        for pair in points.windows(2) {
            let &[a, b] = pair else { continue };
            let length = libm::hypot(b.x - a.x, b.y - a.y);
            let steps = libm::ceil(length / (self.cell * 0.5)).max(1.0);
            let mut i = 0.0;
            while i <= steps {
                let p = a.lerp(b, i / steps);
                self.take_rect(Rect::new(
                    p.x - clear,
                    p.y - clear,
                    p.x + clear,
                    p.y + clear,
                ));
                i += 1.0;
            }
        }
    }

    /// Takes what lies inside a closed ring (`inside`), or what lies outside of it.
    pub(super) fn take_ring(&mut self, ring: &[Point], inside: bool) {
        self.stale_from = 0;
        if !inside {
            let b = super::trace::bounds_of(ring).unwrap_or_default();
            self.open = self.open.intersect(b);
        }
        for row in 0..self.up {
            #[expect(clippy::cast_precision_loss, reason = "at most 502")]
            let y = self.area.y0 + (row as f64 + 0.5) * self.cell;
            let mut cuts: Vec<f64> = Vec::new();
            let mut before = ring.last().copied();
            for &p in ring {
                if let Some(q) = before
                    && (q.y > y) != (p.y > y)
                {
                    cuts.push(self.column(q.x + (p.x - q.x) * (y - q.y) / (p.y - q.y)));
                }
                before = Some(p);
            }
            cuts.sort_by(f64::total_cmp);
            let line = row * self.across;
            let mut mark = |from: f64, to: f64| {
                let span = Self::range(from, to, self.across);
                if let Some(cells) = self
                    .taken
                    .get_mut(line + span.start..line + span.end.max(span.start))
                {
                    cells.fill(true);
                }
            };
            if inside {
                for pair in cuts.chunks_exact(2) {
                    if let &[from, to] = pair {
                        mark(from, to);
                    }
                }
            } else {
                let mut from = 0.0;
                for pair in cuts.chunks_exact(2) {
                    if let &[a, b] = pair {
                        mark(from, a);
                        from = b;
                    }
                }
                mark(from, f64::INFINITY);
            }
        }
    }

    /// Makes the lines of sums good up to one of them: what lies further up is often not asked about
    /// before more is taken.
    fn sum_up_to(&mut self, line: usize) {
        let end = line.min(self.up);
        if self.stale_from >= end {
            return;
        }
        // The first line and the first of each line are nought.
        let wide = self.across + 1;
        self.sums.resize(wide * (self.up + 1), 0);
        let rows = self.taken.chunks_exact(self.across).enumerate();
        for (row, cells) in rows.take(end).skip(self.stale_from) {
            let (done, left) = self.sums.split_at_mut((row + 1) * wide);
            let above = done.get(row * wide + 1..).unwrap_or_default();
            let sums = left.get_mut(1..wide).unwrap_or_default();
            let mut run = 0;
            for ((taken, above), sum) in cells.iter().zip(above).zip(sums) {
                run += u32::from(*taken);
                *sum = above + run;
            }
        }
        self.stale_from = end;
    }

    /// Nothing of a rectangle is taken, and all of it lies on the grid.
    pub(super) fn free(&mut self, r: Rect) -> bool {
        let a = self.area;
        if r.x0 < a.x0 || r.y0 < a.y0 || r.x1 > a.x1 || r.y1 > a.y1 {
            return false;
        }
        let columns = Self::range(self.column(r.x0), self.column(r.x1), self.across);
        let rows = Self::range(self.row(r.y0), self.row(r.y1), self.up);
        self.sum_up_to(rows.start.max(rows.end));
        between(self.line(rows.end), &columns) == between(self.line(rows.start), &columns)
    }

    /// The sums of everything below a line of the grid, where they are made good up to it.
    fn line(&self, row: usize) -> &[u32] {
        let wide = self.across + 1;
        self.sums.get(row * wide..(row + 1) * wide).unwrap_or(&[])
    }

    /// The free place for a block of this size whose middle comes nearest to `wish`, looking no
    /// further than `reach`; ties go to the lowest, then the leftmost.
    pub(super) fn nearest(&mut self, size: (f64, f64), wish: Point, reach: f64) -> Option<Rect> {
        let step = self.cell * 2.0;
        let n = libm::ceil(reach / step);
        let steps = |low: f64, high: f64, at: f64, side: f64| {
            let first = libm::ceil((low + side / 2.0 - at) / step).max(-n);
            (first, libm::floor((high - side / 2.0 - at) / step).min(n))
        };
        let (left, right) = steps(self.open.x0, self.open.x1, wish.x, size.0);
        let (low, high) = steps(self.open.y0, self.open.y1, wish.y, size.1);
        // What of the grid a block takes across is the same in every row: worked out once.
        let across: Vec<(f64, core::ops::Range<usize>)> = outwards(left, right)
            .filter_map(|i| {
                let c = wish.x + i * step;
                let (x0, x1) = (c - size.0 / 2.0, c + size.0 / 2.0);
                let inside = x0 >= self.area.x0 && x1 <= self.area.x1;
                inside.then(|| {
                    (
                        i,
                        Self::range(self.column(x0), self.column(x1), self.across),
                    )
                })
            })
            .collect();
        // Outwards from the wish, row by row, so that a place near by cuts the search short. Steps
        // are whole, so their squares compare exactly.
        let mut best: Option<((f64, f64, f64), Rect)> = None;
        for j in outwards(low, high) {
            if best.is_some_and(|(least, _)| j * j > least.0) {
                break;
            }
            let dy = j * step;
            let middle = wish.y + dy;
            let (y0, y1) = (middle - size.1 / 2.0, middle + size.1 / 2.0);
            if y0 < self.area.y0 || y1 > self.area.y1 {
                continue;
            }
            let rows = Self::range(self.row(y0), self.row(y1), self.up);
            self.sum_up_to(rows.start.max(rows.end));
            let (below, above) = (self.line(rows.start), self.line(rows.end));
            for (i, columns) in &across {
                let i = *i;
                let dx = i * step;
                let away = (i * i + j * j, j, i);
                if dx * dx + dy * dy > reach * reach
                    || best.is_some_and(|(least, _)| away.0 > least.0)
                {
                    break;
                }
                if best.is_some_and(|(least, _)| away >= least) {
                    continue;
                }
                if between(above, columns) == between(below, columns) {
                    let c = wish.x + dx;
                    let r = Rect::new(c - size.0 / 2.0, y0, c + size.0 / 2.0, y1);
                    best = Some((away, r));
                }
            }
        }
        best.map(|(_, r)| r)
    }
}

/// How many squares between two columns are taken, by a line of sums.
fn between(line: &[u32], columns: &core::ops::Range<usize>) -> Option<u32> {
    Some(line.get(columns.end)? - line.get(columns.start)?)
}

/// The whole numbers from `low` to `high`, nearest to nought first, the lower of two first.
fn outwards(low: f64, high: f64) -> impl Iterator<Item = f64> {
    let first = low.max(-high).max(0.0);
    core::iter::successors(Some(first), |n| Some(n + 1.0))
        .take_while(move |n| -n >= low || *n <= high)
        .flat_map(|n| [-n, n].into_iter().skip(usize::from(n <= 0.0)))
        .filter(move |n| (low..=high).contains(n))
}

#[cfg(test)]
mod tests {
    use super::{Field, outwards};
    use kurbo::{Point, Rect};

    /// Every place tried, row by row from the lowest and the left: what `nearest` says it finds.
    fn tried_one_by_one(
        field: &mut Field,
        size: (f64, f64),
        wish: Point,
        reach: f64,
    ) -> Option<Rect> {
        let mut best: Option<(i32, Rect)> = None;
        let step = field.cell() * 2.0;
        for j in -60..=60_i32 {
            for i in -60..=60_i32 {
                let (dx, dy) = (f64::from(i) * step, f64::from(j) * step);
                let (x, y) = (wish.x + dx, wish.y + dy);
                let (w, h) = (size.0 / 2.0, size.1 / 2.0);
                let r = Rect::new(x - w, y - h, x + w, y + h);
                let away = i * i + j * j;
                let near = dx * dx + dy * dy <= reach * reach;
                if near && best.is_none_or(|(least, _)| away < least) && field.free(r) {
                    best = Some((away, r));
                }
            }
        }
        best.map(|(_, r)| r)
    }

    #[test]
    fn the_place_found_outwards_is_the_one_found_by_trying_all() {
        // Obstacles and wishes by a fixed sequence (multiplier and increment of Knuth, TAOCP 3.3.4).
        let mut seed = 7_u32;
        let mut next = |below: f64| {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(seed >> 8) / f64::from(1_u32 << 24) * below
        };
        let mut found = 0;
        for _ in 0..60 {
            let mut field = Field::new(Rect::new(0.0, 0.0, 90.0, 70.0));
            for _ in 0..12 {
                let (x, y) = (libm::floor(next(90.0)), libm::floor(next(70.0)));
                field.take_rect(Rect::new(x, y, x + next(25.0), y + next(20.0)));
            }
            let size = (2.0 + next(20.0), 2.0 + next(9.0));
            // Whole places give ties, the others none.
            let wish = Point::new(libm::floor(next(90.0)), libm::floor(next(70.0)));
            let reach = 5.0 + next(60.0);
            let expected = tried_one_by_one(&mut field, size, wish, reach);
            assert_eq!(field.nearest(size, wish, reach), expected);
            found += usize::from(expected.is_some());
        }
        assert!(found > 20, "only {found} of 60 had room");
    }

    #[test]
    fn what_is_taken_between_questions_counts() {
        let area = Rect::new(0.0, 0.0, 60.0, 60.0);
        let rects = [
            Rect::new(20.0, 40.0, 44.0, 52.0),
            Rect::new(25.0, 25.0, 35.0, 35.0),
            Rect::new(0.0, 50.0, 60.0, 55.0),
            Rect::new(10.0, 2.0, 50.0, 30.0),
        ];
        let ring = [(5.0, 5.0), (55.0, 5.0), (55.0, 58.0), (5.0, 58.0)].map(Point::from);
        let ask = |field: &mut Field| field.nearest((8.0, 5.0), Point::new(30.0, 30.0), 60.0);
        let mut asked_between = Field::new(area);
        let mut before = ask(&mut asked_between);
        let mut changed = 0;
        for n in 1..=rects.len() {
            let taken = rects.iter().take(n);
            taken
                .clone()
                .skip(n - 1)
                .for_each(|r| asked_between.take_rect(*r));
            let mut at_once = Field::new(area);
            taken.for_each(|r| at_once.take_rect(*r));
            assert_eq!(ask(&mut asked_between), ask(&mut at_once), "after {n}");
            assert_eq!(
                ask(&mut asked_between.within(&ring)),
                ask(&mut at_once.within(&ring))
            );
            changed += usize::from(ask(&mut asked_between) != before);
            before = ask(&mut asked_between);
        }
        assert!(changed >= 2, "{changed}");
    }

    #[test]
    fn squares_are_counted_outwards_from_a_span() {
        let whole = |from: f64, to: f64| {
            let n = |v: f64| v.clamp(0.0, 7.0);
            #[allow(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "clamped"
            )]
            let range = n(libm::floor(from)) as usize..n(libm::ceil(to)) as usize;
            range
        };
        for k in -40..40_i32 {
            for l in k..40_i32 {
                let (from, to) = (f64::from(k) / 4.0, f64::from(l) / 4.0);
                assert_eq!(Field::range(from, to, 7), whole(from, to), "{from} {to}");
            }
        }
    }

    #[test]
    fn outwards_from_nought() {
        let all = |low, high| outwards(low, high).collect::<Vec<_>>();
        assert_eq!(all(-1.0, 2.0), [0.0, -1.0, 1.0, 2.0]);
        assert_eq!(all(3.0, 4.0), [3.0, 4.0]);
        assert_eq!(all(-4.0, -3.0), [-3.0, -4.0]);
        assert!(all(5.0, 3.0).is_empty());
    }
}
