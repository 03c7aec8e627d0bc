//! A template over several sheets: which window of it each shows, and where they join.

use super::board::{Board, Run, Side, Style};
use super::body::Body;
use super::clip::Window;
use super::drawing::{Meaning, Spot};
use super::field::Field;
use crate::frames::{Flat, Point2, Sheet};
use kurbo::{Point, Rect};

/// The windows of a template, row by row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    /// The windows in use, in reading order, with their column and row (row 0 at the top).
    pub(super) tiles: Vec<Tile>,
    ring: Vec<Point>,
}

/// One window.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tile {
    pub(super) column: usize,
    pub(super) row: usize,
    pub(super) window: Window,
}

/// Two sheets that join, by their place in reading order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Join {
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) symbol: &'static str,
    /// The join line, from end to end.
    line: [Point; 2],
    /// Two crosses that both sheets show.
    crosses: Vec<Point>,
}

/// Symbols in the order in which joins take them; the sheet numbers beside them tell joins with
/// the same symbol apart.
const SYMBOLS: [&str; 3] = ["●", "▲", "■"];

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

    fn index(&self, column: usize, row: usize) -> Option<usize> {
        self.tiles
            .iter()
            .position(|t| t.column == column && t.row == row)
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

    /// Every join, with its line and its two crosses where they touch nothing.
    pub(super) fn joins(&self, field: &mut Field, overlap: f64, words: &[Rect]) -> Vec<Join> {
        let mut out: Vec<Join> = Vec::new();
        let mut keep: Vec<Rect> = words.to_vec();
        for (a, tile) in self.tiles.iter().enumerate() {
            let next = [
                (self.index(tile.column + 1, tile.row), true),
                (self.index(tile.column, tile.row + 1), false),
            ];
            for (b, upright) in next {
                let Some(b) = b else { continue };
                let Some(other) = self.tiles.get(b) else {
                    continue;
                };
                let (w, o) = (millimetres(tile.window), millimetres(other.window));
                let both = Rect::new(
                    w.x0.max(o.x0),
                    w.y0.max(o.y0),
                    w.x1.min(o.x1),
                    w.y1.min(o.y1),
                );
                let Some((from, to)) = crossing(&self.ring, both, upright) else {
                    continue;
                };
                let at = |along: f64| {
                    let c = both.center();
                    if upright {
                        Point::new(c.x, along)
                    } else {
                        Point::new(along, c.y)
                    }
                };
                let arm = (overlap / 2.0 - 1.0).min(JOIN_ARM_MM);
                // Not where four sheets meet: crosses of two joins there could be mistaken.
                let (low, high) = if upright {
                    (both.y0, both.y1)
                } else {
                    (both.x0, both.x1)
                };
                let (low, high) = (low + overlap + 2.0, high - overlap - 2.0);
                let span = (from.clamp(low, high), to.clamp(low, high));
                let crosses = join_crosses(field, at, span, arm, &keep);
                let symbol = SYMBOLS
                    .get(out.len() % SYMBOLS.len())
                    .copied()
                    .unwrap_or("●");
                for c in &crosses {
                    let own = Rect::new(c.x - arm, c.y - arm, c.x + arm, c.y + arm);
                    field.take_rect(own);
                    keep.push(own);
                }
                field.take_lines(&[at(from), at(to)], 1.0);
                out.push(Join {
                    a,
                    b,
                    symbol,
                    line: [at(from), at(to)],
                    crosses,
                });
            }
        }
        out
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

/// The parts of a level or upright line that run clear of words.
fn clear_of(a: Point, b: Point, words: &[Rect]) -> Vec<(Point, Point)> {
    let upright = (a.x - b.x).abs() < (a.y - b.y).abs();
    let mut gaps: Vec<(f64, f64)> = words
        .iter()
        .map(|w| w.inflate(1.2, 1.2))
        .filter(|w| {
            if upright {
                w.x0 < a.x && a.x < w.x1
            } else {
                w.y0 < a.y && a.y < w.y1
            }
        })
        .map(|w| if upright { (w.y0, w.y1) } else { (w.x0, w.x1) })
        .collect();
    gaps.sort_by(|p, q| p.0.total_cmp(&q.0));
    let (mut from, end) = if upright { (a.y, b.y) } else { (a.x, b.x) };
    let at = |along: f64| {
        if upright {
            Point::new(a.x, along)
        } else {
            Point::new(along, a.y)
        }
    };
    let mut out = Vec::new();
    for (low, high) in gaps {
        if low > from {
            out.push((at(from), at(low.min(end))));
        }
        from = from.max(high);
    }
    if from < end {
        out.push((at(from), at(end)));
    }
    out
}

/// Half the length of a join cross's strokes, where the overlap allows it.
const JOIN_ARM_MM: f64 = 6.0;

/// Two places on the join line as far apart as nothing hinders.
fn join_crosses(
    field: &mut Field,
    at: impl Fn(f64) -> Point,
    span: (f64, f64),
    arm: f64,
    words: &[Rect],
) -> Vec<Point> {
    let (from, to) = span;
    let half = (to - from) / 2.0;
    let clear = arm + 0.5;
    let box_at = |along: f64| {
        let c = at(along);
        Rect::new(c.x - clear, c.y - clear, c.x + clear, c.y + clear)
    };
    let mut find = |end: f64, step: f64| {
        let places = |free: &mut dyn FnMut(Rect) -> bool| {
            let mut t = (clear + 4.0).min(half * 0.5);
            while t < half {
                if free(box_at(end + step * t)) {
                    return Some(end + step * t);
                }
                t += 1.0;
            }
            None
        };
        // Where no place is clear of everything, a cross over lines joins better than none; words
        // it keeps clear of.
        places(&mut |r| field.free(r))
            .or_else(|| places(&mut |r| !words.iter().any(|w| overlaps(*w, r))))
            .unwrap_or(end + step * half * 0.4)
    };
    let (a, b) = (find(from, 1.0), find(to, -1.0));
    vec![at(a), at(b)]
}

fn overlaps(a: Rect, b: Rect) -> bool {
    a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
}

fn millimetres(w: Window) -> Rect {
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
fn crossing(ring: &[Point], r: Rect, upright: bool) -> Option<(f64, f64)> {
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

impl Join {
    /// The line and the crosses, in the plane of the template: both sheets show them.
    /// The line breaks off where words stand.
    pub(super) fn draw(&self, board: &mut Board<Flat>, overlap: f64, words: &[Rect]) {
        let p = |q: Point| Point2::from_mm(q.x, q.y);
        let [a, b] = self.line;
        let name = format!("join {} {} {}", self.a + 1, self.symbol, self.b + 1);
        for (from, to) in clear_of(a, b, words) {
            board
                .lines(Meaning::Join, &[p(from), p(to)])
                .named(name.clone());
        }
        let arm = (overlap / 2.0 - 1.0).min(JOIN_ARM_MM);
        for c in &self.crosses {
            let strokes = [(arm, 0.0), (0.0, arm)];
            for (dx, dy) in strokes {
                let ends = [
                    Point::new(c.x - dx, c.y - dy),
                    Point::new(c.x + dx, c.y + dy),
                ];
                board
                    .lines(Meaning::Register, &ends.map(p))
                    .named(format!("{name} cross"));
            }
        }
    }

    /// What stands beside the join on one of its sheets.
    pub(super) fn says(&self) -> (String, String) {
        let apart = match self.crosses.as_slice() {
            [a, b] => libm::hypot(b.x - a.x, b.y - a.y),
            _ => 0.0,
        };
        (
            format!("{} {} {}", self.a + 1, self.symbol, self.b + 1),
            format!("crosses {} apart", super::wording::mm1(apart)),
        )
    }

    /// Puts its label on a sheet's own side of the line.
    pub(super) fn label(&self, board: &mut Board<Flat>, field: &mut Field, window: Window) {
        let (pair, apart) = self.says();
        let w = Style::VALUE_BOLD
            .width_mm(&pair)
            .max(Style::NOTE.width_mm(&apart));
        let size = (
            w + 1.0,
            Style::VALUE_BOLD.cap_mm() + Style::NOTE.pitch_mm() + 1.6,
        );
        let own = millimetres(window);
        let [a, b] = self.line;
        let m = a.midpoint(b);
        let toward = own.center() - m;
        let upright = (a.x - b.x).abs() < (a.y - b.y).abs();
        // Just clear of what the other sheet covers.
        let wish = if upright {
            Point::new(m.x + toward.x.signum() * (size.0 / 2.0 + 9.0), m.y)
        } else {
            Point::new(m.x, m.y + toward.y.signum() * (size.1 / 2.0 + 9.0))
        };
        let mut room = field.clone();
        room.take_outside(own.inflate(-2.0, -2.0));
        let Some(r) = room.nearest(size, wish, 160.0) else {
            return;
        };
        field.take_rect(r);
        let c = r.center().x;
        let top = r.y1 - 0.5 - Style::VALUE_BOLD.cap_mm();
        board.text(
            Point2::from_mm(c, top),
            &pair,
            Style::VALUE_BOLD,
            Side::Middle,
            Run::Across,
        );
        let below = top - Style::NOTE.pitch_mm();
        board.text(
            Point2::from_mm(c, below),
            &apart,
            Style::NOTE,
            Side::Middle,
            Run::Across,
        );
    }
}
