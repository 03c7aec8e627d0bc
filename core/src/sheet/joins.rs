//! Where the sheets of a template join: the line, two crosses that both sheets show, and what is said
//! beside it. Crosses and words stand where nothing else is drawn.

use super::board::{Board, Run, Side, Style};
use super::clip::Window;
use super::drawing::Meaning;
use super::field::Field;
use super::ink::Ink;
use super::tiles::{Grid, crossing, millimetres};
use crate::frames::{Flat, Point2};
use kurbo::{Point, Rect};

/// Two sheets that join, by their place in reading order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Join {
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) symbol: &'static str,
    /// The join line, from end to end.
    line: [Point; 2],
    /// Two crosses that both sheets show.
    crosses: Vec<JoinCross>,
}

/// Its middle and half the length of its strokes, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
struct JoinCross {
    at: Point,
    arm: f64,
}

impl JoinCross {
    fn square(self, clear: f64) -> Rect {
        let half = self.arm + clear;
        let (x, y) = (self.at.x, self.at.y);
        Rect::new(x - half, y - half, x + half, y + half)
    }
}

/// Symbols in the order in which joins take them; the sheet numbers beside them tell joins with
/// the same symbol apart.
const SYMBOLS: [&str; 3] = ["●", "▲", "■"];
/// Half the length of a join cross's strokes, where the overlap allows it.
const ARM_MM: f64 = 6.0;
/// The same where lines leave no room for that: 6 mm across is still laid to a quarter of a millimetre.
const SHORT_ARMS_MM: [f64; 2] = [4.5, 3.0];
/// Crosses keep so far from what else is drawn.
const CLEAR_MM: f64 = 0.5;
/// Crosses nearer together than this hold no turn.
const LEAST_APART_MM: f64 = 20.0;
/// Room round a label, so that it is not read as part of other words.
const AIR_MM: f64 = 2.0;
/// A label stands no further from its join than this.
const LABEL_REACH_MM: f64 = 160.0;

/// Every join of a cover; what is put down is taken from the field and added to the ink.
pub(super) fn joins(grid: &Grid, field: &mut Field, ink: &mut Ink, overlap: f64) -> Vec<Join> {
    let mut out: Vec<Join> = Vec::new();
    for (a, tile) in grid.tiles.iter().enumerate() {
        let next = [
            (grid.index(tile.column + 1, tile.row), true),
            (grid.index(tile.column, tile.row + 1), false),
        ];
        for (b, upright) in next {
            let Some(b) = b else { continue };
            let Some(other) = grid.tiles.get(b) else {
                continue;
            };
            let (w, o) = (millimetres(tile.window), millimetres(other.window));
            let both = Rect::new(
                w.x0.max(o.x0),
                w.y0.max(o.y0),
                w.x1.min(o.x1),
                w.y1.min(o.y1),
            );
            let Some((from, to)) = crossing(&grid.ring, both, upright) else {
                continue;
            };
            // Sheets beyond either end of the seam, of which crosses could be mistaken for its own.
            let beyond = |columns: [usize; 2], rows: [usize; 2]| {
                let mut all = columns.into_iter().flat_map(|c| rows.map(|r| (c, r)));
                all.any(|(c, r)| grid.index(c, r).is_some())
            };
            let (c, r) = (tile.column, tile.row);
            let ends = if upright {
                let across = [c, c + 1];
                [
                    beyond(across, [r + 1; 2]),
                    r.checked_sub(1).is_some_and(|r| beyond(across, [r; 2])),
                ]
            } else {
                let up = [r, r + 1];
                [
                    c.checked_sub(1).is_some_and(|c| beyond([c; 2], up)),
                    beyond([c + 1; 2], up),
                ]
            };
            let seam = Seam::of(both, (upright, ends), (from, to), overlap);
            let near = ink.near(both);
            let crosses = seam.crosses(field, near);
            for c in &crosses {
                field.take_rect(c.square(0.0));
                ink.take(c.square(0.0));
            }
            let line = [seam.at(from, 0.0), seam.at(to, 0.0)];
            field.take_lines(&line, 1.0);
            let symbol = SYMBOLS.get(out.len() % SYMBOLS.len()).copied();
            out.push(Join {
                a,
                b,
                symbol: symbol.unwrap_or("●"),
                line,
                crosses,
            });
        }
    }
    for join in &out {
        ink.take_line(join.line.to_vec());
    }
    out
}

/// What two sheets share, and where along it crosses may stand.
struct Seam {
    both: Rect,
    upright: bool,
    span: (f64, f64),
    overlap: f64,
}

impl Seam {
    fn of(
        both: Rect,
        (upright, meets): (bool, [bool; 2]),
        (from, to): (f64, f64),
        overlap: f64,
    ) -> Self {
        let (low, high) = if upright {
            (both.y0, both.y1)
        } else {
            (both.x0, both.x1)
        };
        // Not where four sheets meet: crosses of two joins there could be mistaken.
        let off = |meets: bool| if meets { overlap + 2.0 } else { 0.0 };
        let (low, high) = (low + off(meets[0]), high - off(meets[1]));
        let inside = |v: f64| v.max(low).min(high);
        Self {
            both,
            upright,
            span: (inside(from), inside(to)),
            overlap,
        }
    }

    /// A place along the seam, and across it from its middle.
    fn at(&self, along: f64, across: f64) -> Point {
        let c = self.both.center();
        if self.upright {
            Point::new(c.x + across, along)
        } else {
            Point::new(along, c.y + across)
        }
    }

    /// Two crosses as far apart as what is drawn lets them stand.
    fn crosses(&self, field: &mut Field, mut ink: Ink) -> Vec<JoinCross> {
        let (from, to) = self.span;
        let first = self.cross(field, &ink, (from, 1.0), None);
        ink.take(first.square(CLEAR_MM));
        let second = self.cross(field, &ink, (to, -1.0), Some(first.at));
        vec![first, second]
    }

    /// From one end inwards: where a whole cross is clear of everything; on an opening that is cut out
    /// once the sheets are joined; a little beside the middle of the seam, or smaller; beyond the
    /// middle. Where nothing is, a cross over lines joins better than none; words it keeps clear of.
    fn cross(
        &self,
        field: &mut Field,
        ink: &Ink,
        (end, step): (f64, f64),
        other: Option<Point>,
    ) -> JoinCross {
        let whole = (self.overlap / 2.0 - 1.0).min(ARM_MM);
        let half = (self.span.1 - self.span.0) / 2.0;
        let along = |most: f64| {
            let first = (whole + 4.5).min(half * 0.5);
            core::iter::successors(Some(first), |t| Some(t + 1.0))
                .take_while(move |t| *t < most)
                .map(move |t| end + step * t)
        };
        let amid = |at: f64| JoinCross {
            at: self.at(at, 0.0),
            arm: whole,
        };
        if let Some(c) = along(half)
            .map(amid)
            .find(|c| field.free(c.square(CLEAR_MM)) && ink.leaves(c.square(CLEAR_MM)))
        {
            return c;
        }
        let apart = |c: &JoinCross| other.is_none_or(|o| o.distance(c.at) >= LEAST_APART_MM);
        for most in [half, 2.0 * half] {
            for arm in core::iter::once(whole).chain(SHORT_ARMS_MM) {
                let beside = self.beside(arm.min(whole));
                let all = along(most).flat_map(|at| {
                    let arm = arm.min(whole);
                    beside.iter().map(move |across| JoinCross {
                        at: self.at(at, *across),
                        arm,
                    })
                });
                let mut all = all.filter(apart);
                if let Some(c) = all.find(|c| ink.leaves(c.square(CLEAR_MM))) {
                    return c;
                }
            }
        }
        let clear_of_words = |c: &JoinCross| ink.leaves_words(c.square(CLEAR_MM));
        along(half)
            .map(amid)
            .find(clear_of_words)
            .unwrap_or_else(|| amid(end + step * half * 0.4))
    }

    /// How far across the seam a cross may stand and still be whole on both sheets, nearest first.
    fn beside(&self, arm: f64) -> Vec<f64> {
        let room = libm::floor((self.overlap / 2.0 - arm - CLEAR_MM).max(0.0));
        core::iter::successors(Some(1.0), |k| Some(k + 1.0))
            .take_while(|k| *k <= room)
            .flat_map(|k| [-k, k])
            .fold(vec![0.0], |mut all, k| {
                all.push(k);
                all
            })
    }
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

impl Join {
    /// The line and the crosses, in the plane of the template: both sheets show them.
    /// The line breaks off where words stand.
    pub(super) fn draw(&self, board: &mut Board<Flat>, words: &[Rect]) {
        let p = |q: Point| Point2::from_mm(q.x, q.y);
        let [a, b] = self.line;
        let name = format!("join {} {} {}", self.a + 1, self.symbol, self.b + 1);
        for (from, to) in clear_of(a, b, words) {
            board
                .lines(Meaning::Join, &[p(from), p(to)])
                .named(name.clone());
        }
        for JoinCross { at: c, arm } in &self.crosses {
            for (dx, dy) in [(*arm, 0.0), (0.0, *arm)] {
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
    fn says(&self) -> (String, String) {
        let apart = match self.crosses.as_slice() {
            [a, b] => a.at.distance(b.at),
            _ => 0.0,
        };
        (
            format!("{} {} {}", self.a + 1, self.symbol, self.b + 1),
            format!("crosses {} apart", super::wording::mm1(apart)),
        )
    }

    /// Puts its label on a sheet's own side of the line: off what is cut out if there is room, else
    /// where nothing is drawn.
    pub(super) fn label(
        &self,
        board: &mut Board<Flat>,
        (field, ink): (&mut Field, &mut Ink),
        window: Window,
    ) {
        let (pair, apart) = self.says();
        let w = Style::VALUE_BOLD
            .width_mm(&pair)
            .max(Style::NOTE.width_mm(&apart));
        let size = (
            w + 1.0,
            Style::VALUE_BOLD.cap_mm() + Style::NOTE.pitch_mm() + 1.6,
        );
        let own = millimetres(window).inflate(-2.0, -2.0);
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
        room.take_outside(own);
        let wide = (size.0 + 2.0 * AIR_MM, size.1 + 2.0 * AIR_MM);
        let Some(r) = room
            .nearest(wide, wish, LABEL_REACH_MM)
            .map(|r| r.inflate(-AIR_MM, -AIR_MM))
            .filter(|r| ink.leaves(*r))
            .or_else(|| over_an_opening(ink, size, wish, own))
        else {
            return;
        };
        field.take_rect(r);
        ink.take(r);
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

/// Places tried for a label over an opening: steps of so much, so many each way, mm.
const LABEL_STEP_MM: f64 = 3.0;
const LABEL_STEPS: i32 = 30;

/// The place nearest to a wish where nothing is drawn: sheets are joined before anything is cut out.
fn over_an_opening(ink: &Ink, size: (f64, f64), wish: Point, own: Rect) -> Option<Rect> {
    let near = ink.near(own);
    let steps = -LABEL_STEPS..=LABEL_STEPS;
    let mut all: Vec<(i32, i32, i32)> = steps
        .clone()
        .flat_map(|j| steps.clone().map(move |i| (i * i + j * j, j, i)))
        .collect();
    all.sort_unstable();
    all.into_iter()
        .map(|(_, j, i)| {
            let by = kurbo::Vec2::new(f64::from(i), f64::from(j)) * LABEL_STEP_MM;
            Rect::from_center_size(wish + by, size)
        })
        .find(|r| own.contains_rect(*r) && near.leaves(r.inflate(CLEAR_MM, CLEAR_MM)))
}
