//! A template over several sheets: which window of it each shows.

use super::board::{Board, Run, Side, Style};
use super::body::Body;
use super::clip::Window;
use super::drawing::{Meaning, Spot};
use crate::frames::{Point2, Sheet};
use kurbo::{Point, Rect};

/// The windows of a template, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    /// The windows in use, in reading order, with their column and row (row 0 at the top).
    pub(super) tiles: Vec<Tile>,
    pub(super) ring: Vec<Point>,
}

/// One window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tile {
    pub(super) column: usize,
    pub(super) row: usize,
    pub(super) window: Window,
}

/// How many windows of a size, lying over each other by `overlap`, cover a length.
pub(super) fn count(length: f64, window: f64, overlap: f64) -> f64 {
    if length <= window {
        1.0
    } else {
        libm::ceil((length - overlap) / (window - overlap) - 1e-9)
    }
}

/// What had better stay whole along one axis: from, to, how much it matters.
type Spans = [(f64, f64, f64)];

/// Windows along one axis: `n` of a size, lying over each other, over what reaches from `low` to `high`.
struct Row {
    low: f64,
    high: f64,
    window: f64,
    overlap: f64,
    n: f64,
}

/// Starts tried along one axis.
const TRIES: i32 = 48;
/// What weighs as much registers: a seam through it is a join to lay true twice.
const REGISTERS: f64 = 8.0;
/// And what weighs as much is laid or drilled by; words weigh less.
const WORKED_TO: f64 = 5.0;

impl Row {
    const fn step(&self) -> f64 {
        self.window - self.overlap
    }

    fn slack(&self) -> f64 {
        (self.n * self.step() + self.overlap - (self.high - self.low)).max(0.0)
    }

    /// Where the template lies in the middle.
    fn middle(&self) -> f64 {
        self.low - self.slack() / 2.0
    }

    fn tries(&self) -> impl DoubleEndedIterator<Item = f64> {
        let (low, slack) = (self.low, self.slack());
        (0..=TRIES).map(move |k| low - slack * f64::from(k) / f64::from(TRIES))
    }

    /// How much of what should stay whole does not, and how much lies on a seam.
    fn split(&self, start: f64, spans: &Spans) -> (f64, f64) {
        let mut total = (0.0, 0.0);
        for &(a, b, weight) in spans {
            let mut whole = false;
            let mut seam = false;
            let mut i = 0.0;
            while i < self.n {
                let from = start + i * self.step();
                whole |= a >= from && b <= from + self.window;
                let line = from + self.step() + self.overlap / 2.0;
                seam |= i + 1.0 < self.n && line > a && line < b;
                i += 1.0;
            }
            total.0 += if whole { 0.0 } else { weight };
            total.1 += if seam { weight } else { 0.0 };
        }
        total
    }

    /// Lower ends of the first window, the first of them such that as little as can be of what should
    /// stay whole lies on a seam. The others push the template as far to either end as it goes without
    /// more of it being split, then without more crosses or holes, which may leave a window empty or
    /// room for the strip.
    fn starts(&self, spans: &Spans) -> Vec<f64> {
        // Between equals the template lies in the middle.
        let cost = |start: f64| {
            let (split, seams) = self.split(start, spans);
            split + 0.4 * seams + (start - self.middle()).abs() * 1e-4
        };
        let mut best = (f64::INFINITY, self.middle());
        for start in self.tries() {
            let c = cost(start);
            if c < best.0 - 1e-12 {
                best = (c, start);
            }
        }
        let mut out = vec![best.1];
        let those = |least: f64| -> Vec<_> {
            let heavy = spans.iter().filter(|s| s.2 >= least);
            heavy.copied().collect()
        };
        let registers = those(REGISTERS);
        let seams = self.split(best.1, &registers).1;
        for kept in [those(0.0), those(WORKED_TO)] {
            let least = self.split(best.1, &kept).0;
            let no_worse = |start: &f64| {
                self.split(*start, &kept).0 <= least + 1e-9
                    && self.split(*start, &registers).1 <= seams + 1e-9
            };
            for end in [
                self.tries().find(no_worse),
                self.tries().rev().find(no_worse),
            ] {
                out.extend(end.filter(|s| out.iter().all(|o| (o - s).abs() > 1.0)));
            }
        }
        out
    }
}

impl Grid {
    /// Ways of covering a template with windows of a size (mm): the one that splits least, then
    /// those that push it to the edges, splitting nothing more that registers.
    /// One window is tried one way only: what it leaves round the template was looked at before.
    pub(super) fn covers(body: &Body, size: (f64, f64), overlap: f64) -> Vec<Self> {
        // The trim line is drawn half a millimetre wide: it too has to come out whole.
        let b = body.bounds.inflate(1.0, 1.0);
        let row = |low: f64, high: f64, window: f64| Row {
            low,
            high,
            window,
            overlap,
            n: count(high - low, window, overlap),
        };
        let (x, y) = (row(b.x0, b.x1, size.0), row(b.y0, b.y1, size.1));
        let across: Vec<_> = body.whole.iter().map(|(r, w)| (r.x0, r.x1, *w)).collect();
        let up: Vec<_> = body.whole.iter().map(|(r, w)| (r.y0, r.y1, *w)).collect();
        let ups = y.starts(&up);
        let ways = if x.n * y.n > 1.0 { usize::MAX } else { 1 };
        x.starts(&across)
            .into_iter()
            .flat_map(|x0| ups.iter().map(move |y0| (x0, *y0)))
            .take(ways)
            .map(|low| Self::from(body, low, (x.n, y.n), size, overlap))
            .collect()
    }

    /// The windows that show something, of so many across and up from a corner.
    fn from(
        body: &Body,
        (x0, y0): (f64, f64),
        (columns, rows): (f64, f64),
        size: (f64, f64),
        overlap: f64,
    ) -> Self {
        let um = super::board::um;
        let mut tiles = Vec::new();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few"
        )]
        let (columns, rows) = (columns as usize, rows as usize);
        for row in 0..rows {
            for column in 0..columns {
                #[expect(clippy::cast_precision_loss, reason = "a few")]
                let (i, j) = (column as f64, (rows - 1 - row) as f64);
                let low = Spot::new(
                    um(x0 + i * (size.0 - overlap)),
                    um(y0 + j * (size.1 - overlap)),
                );
                let high = low.shifted(Spot::new(um(size.0), um(size.1)));
                let window = Window { low, high };
                if touches(&body.ring, millimetres(window)) {
                    tiles.push(Tile {
                        column,
                        row,
                        window,
                    });
                }
            }
        }
        Self {
            tiles,
            ring: body.ring.clone(),
        }
    }

    /// Which sheet a column and a row have.
    pub(super) fn index(&self, column: usize, row: usize) -> Option<usize> {
        self.tiles
            .iter()
            .position(|t| t.column == column && t.row == row)
    }

    /// The middle of every overlap of two windows, end to end, mm.
    pub(super) fn seams(&self) -> Vec<[Point; 2]> {
        let pairs = self.tiles.iter().flat_map(|tile| {
            let right = self.index(tile.column + 1, tile.row).map(|k| (k, true));
            let below = self.index(tile.column, tile.row + 1).map(|k| (k, false));
            let both = right.into_iter().chain(below);
            both.map(move |(k, upright)| (*tile, k, upright))
        });
        let seam = |(tile, k, upright): (Tile, usize, bool)| {
            let both = millimetres(tile.window).intersect(millimetres(self.tiles.get(k)?.window));
            let c = both.center();
            Some(if upright {
                [Point::new(c.x, both.y0), Point::new(c.x, both.y1)]
            } else {
                [Point::new(both.x0, c.y), Point::new(both.x1, c.y)]
            })
        };
        pairs.filter_map(seam).collect()
    }

    /// Which sides of a tile another sheet lies over: left, right, below, above.
    pub(super) fn neighbours(&self, tile: Tile) -> [bool; 4] {
        let (c, r) = (tile.column, tile.row);
        let there = |c: Option<usize>, r: Option<usize>| {
            c.zip(r).is_some_and(|(c, r)| self.index(c, r).is_some())
        };
        [
            there(c.checked_sub(1), Some(r)),
            there(Some(c + 1), Some(r)),
            there(Some(c), Some(r + 1)),
            there(Some(c), r.checked_sub(1)),
        ]
    }

    /// The size of a map that fits a box.
    pub(super) fn map_size(&self, w: f64, h: f64) -> (f64, f64) {
        let (scale, all) = self.map_frame(w, h);
        (all.width() * scale, all.height() * scale)
    }

    fn map_frame(&self, w: f64, h: f64) -> (f64, Rect) {
        let all = self
            .tiles
            .iter()
            .map(|t| Some(millimetres(t.window)))
            .fold(None, super::trace::joined)
            .unwrap_or_default();
        (
            (w / all.width().max(1.0)).min(h / all.height().max(1.0)),
            all,
        )
    }

    /// The sheets in small with their numbers; the sheet in hand has a heavy frame.
    pub(super) fn draw_map(
        &self,
        board: &mut Board<Sheet>,
        within: Rect,
        here: usize,
        large: bool,
    ) {
        let (scale, all) = self.map_frame(within.width(), within.height());
        let put = |p: Point| {
            Point2::<Sheet>::from_mm(
                within.x0 + (p.x - all.x0) * scale,
                within.y0 + (p.y - all.y0) * scale,
            )
        };
        let mut own = None;
        for (i, tile) in self.tiles.iter().enumerate() {
            let r = cell(self, tile);
            let (a, b) = (put(Point::new(r.x0, r.y0)), put(Point::new(r.x1, r.y1)));
            let r = Rect::new(a.x_mm(), a.y_mm(), b.x_mm(), b.y_mm());
            board.rect(Meaning::Rule, r);
            let number = (i + 1).to_string();
            let room = r.width() - 2.0 * NUMBER_CLEAR_MM;
            let styles = if large {
                [Style::VALUE_BOLD, Style::NOTE_BOLD]
            } else {
                [Style::NOTE_BOLD, Style::FIELD]
            };
            let style = styles.into_iter().find(|s| s.width_mm(&number) <= room);
            let style = style.unwrap_or(Style::FIELD);
            let at = Point2::from_mm(r.center().x, r.center().y - style.cap_mm() / 2.0);
            board.text(at, &number, style, Side::Middle, Run::Across);
            if i == here {
                own = Some(r);
            }
        }
        if let Some(r) = own {
            board.rect(Meaning::Frame, r.inflate(-0.6, -0.6));
        }
    }
}

/// The number of a sheet keeps so far from its neighbours' in the map.
const NUMBER_CLEAR_MM: f64 = 0.7;

/// A tile without its half of each overlap, for the map.
fn cell(grid: &Grid, tile: &Tile) -> Rect {
    let mut r = millimetres(tile.window);
    for other in &grid.tiles {
        let o = millimetres(other.window);
        if other.row == tile.row && other.column == tile.column + 1 {
            r.x1 = (r.x1 + o.x0) / 2.0;
        }
        if other.row == tile.row && other.column + 1 == tile.column {
            r.x0 = (r.x0 + o.x1) / 2.0;
        }
        if other.column == tile.column && other.row == tile.row + 1 {
            r.y0 = (r.y0 + o.y1) / 2.0;
        }
        if other.column == tile.column && other.row + 1 == tile.row {
            r.y1 = (r.y1 + o.y0) / 2.0;
        }
    }
    r
}

/// A window in the plane of the template, mm.
pub(super) fn millimetres(w: Window) -> Rect {
    let r = w.rect();
    Rect::new(r.x0 / 1000.0, r.y0 / 1000.0, r.x1 / 1000.0, r.y1 / 1000.0)
}

/// Some of what the ring encloses lies in the rectangle.
fn touches(ring: &[Point], r: Rect) -> bool {
    ring.iter().any(|p| r.contains(*p))
        || crossing(ring, r, true).is_some()
        || crossing(ring, r, false).is_some()
}

/// Where the middle line of a rectangle, upright or level, lies inside the ring.
pub(super) fn crossing(ring: &[Point], r: Rect, upright: bool) -> Option<(f64, f64)> {
    let c = r.center();
    let (line, low, high) = if upright {
        (c.x, r.y0, r.y1)
    } else {
        (c.y, r.x0, r.x1)
    };
    let key = |p: Point| if upright { (p.x, p.y) } else { (p.y, p.x) };
    let mut cuts = Vec::new();
    let mut before = ring.last().map(|p| key(*p));
    for &p in ring {
        let q = key(p);
        if let Some(b) = before
            && (b.0 > line) != (q.0 > line)
        {
            cuts.push(b.1 + (q.1 - b.1) * (line - b.0) / (q.0 - b.0));
        }
        before = Some(q);
    }
    cuts.sort_by(f64::total_cmp);
    let (from, to) = (cuts.first()?.max(low), cuts.last()?.min(high));
    (to - from > 2.0).then_some((from, to))
}
