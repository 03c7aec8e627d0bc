//! Lettering in single lines, for a pen, a router or a pricked line: each stroke is drawn once.
//!
//! The alphabet is our own: straight lines and arcs of circles on a grid whose capitals are 14 high
//! and small letters 10, every bowl two half circles with a straight between, so that a cutter gets
//! true arcs. Letters with accents are put together from the plain letter and the accent.

use super::{accented, arcs};
use kurbo::{BezPath, Point};
use std::f64::consts::TAU;

/// Height of the capitals on the grid.
const CAPITALS: f64 = 14.0;
/// Height of the small letters.
const SMALL: f64 = 10.0;
/// Room between two letters.
const BETWEEN: f64 = 3.2;
/// Width of a space between words.
const SPACE: f64 = 6.0;
/// Radius of a dot.
const DOT: f64 = 0.45;
/// Figures stand straight under each other.
const FIGURE: f64 = 8.0;

/// A line of single strokes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strokes {
    /// From where the first letter begins to where the last ends, mm.
    pub(super) width_mm: f64,
    /// Open lines and closed dots and rings, mm; the baseline at y = 0.
    pub(super) lines: Vec<BezPath>,
    /// Characters there is no shape for, once each; a crossed box stands for each.
    pub(super) missing: Vec<char>,
}

/// Sets one line whose capitals are so tall, mm, beginning at the origin.
pub(super) fn set(text: &str, cap_mm: f64) -> Strokes {
    let scale = cap_mm / CAPITALS;
    let mut out = Strokes {
        width_mm: 0.0,
        lines: Vec::new(),
        missing: Vec::new(),
    };
    let mut pen = 0.0;
    // Where the last letter ended: the room after it is not part of the line.
    let mut end = 0.0;
    for c in text.chars() {
        if c.is_whitespace() || c.is_control() {
            pen += SPACE;
            continue;
        }
        let (width, lines) = letter(c).unwrap_or_else(|| {
            if !out.missing.contains(&c) {
                out.missing.push(c);
            }
            (
                FIGURE,
                drawn("M0 0 L8 0 L8 14 L0 14 Z M0 0 L8 14 M0 14 L8 0"),
            )
        });
        let at = |p: Point| Point::new((p.x + pen) * scale, p.y * scale);
        out.lines.extend(lines.iter().map(|l| l.path(at, scale)));
        end = pen + width;
        pen = end + BETWEEN;
    }
    out.width_mm = end * scale;
    out
}

/// A letter's width and strokes: its own, or the plain one's with its accents.
fn letter(c: char) -> Option<(f64, Vec<Stroke>)> {
    if let Some((width, says)) = plain(c) {
        return Some((width, drawn(says)));
    }
    let (base, over) = accented::taken_apart(c)?;
    // An accent takes the place of the dot.
    let above = over.chars().any(|a| !matches!(a, '\u{327}' | '\u{328}'));
    let (width, says) = plain(match base {
        'i' if above => 'ı',
        'j' if above => 'ȷ',
        other => other,
    })?;
    let mut lines = drawn(says);
    let top = lines.iter().map(Stroke::top).fold(0.0, f64::max);
    let mut foot = if top > SMALL + 0.5 { CAPITALS } else { SMALL } + 1.6;
    for accent in over.chars() {
        let (by, below) = accent_of(accent)?;
        let place = Point::new(width / 2.0, if below { 0.0 } else { foot });
        lines.extend(drawn(by).into_iter().map(|s| s.moved(place)));
        foot += if below { 0.0 } else { 3.4 };
    }
    Some((width, lines))
}

/// A stroke on the grid.
#[derive(Debug, Clone, PartialEq)]
struct Stroke {
    start: Point,
    steps: Vec<Step>,
    closed: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Step {
    Line(Point),
    /// Through one place to another.
    Arc(Point, Point),
}

impl Step {
    const fn end(self) -> Point {
        match self {
            Self::Line(to) | Self::Arc(_, to) => to,
        }
    }
}

impl Stroke {
    fn top(&self) -> f64 {
        let all = self.steps.iter().flat_map(|s| match s {
            Step::Line(to) => [*to, *to],
            Step::Arc(via, to) => [*via, *to],
        });
        all.map(|p| p.y).fold(self.start.y, f64::max)
    }

    fn moved(mut self, by: Point) -> Self {
        let at = |p: Point| Point::new(p.x + by.x, p.y + by.y);
        self.start = at(self.start);
        for step in &mut self.steps {
            *step = match *step {
                Step::Line(to) => Step::Line(at(to)),
                Step::Arc(via, to) => Step::Arc(at(via), at(to)),
            };
        }
        self
    }

    fn path(&self, at: impl Fn(Point) -> Point, scale: f64) -> BezPath {
        let mut path = BezPath::new();
        path.move_to(at(self.start));
        let mut from = self.start;
        for step in &self.steps {
            match *step {
                Step::Line(to) => path.line_to(at(to)),
                Step::Arc(via, to) => match circle(from, via, to) {
                    None => path.line_to(at(to)),
                    Some((centre, radius, begins, ends)) => {
                        let c = at(centre);
                        let r = radius * scale;
                        arcs::arc_to(&mut path, (c.x, c.y), (r, r), begins, ends);
                    }
                },
            }
            from = step.end();
        }
        if self.closed {
            path.close_path();
        }
        path
    }
}

/// The circle through three places: its middle, radius, and the angles from the first to the third
/// by way of the second.
fn circle(a: Point, b: Point, c: Point) -> Option<(Point, f64, f64, f64)> {
    let (p, q) = (b - a, c - a);
    let twice = 2.0 * p.cross(q);
    if twice.abs() < 1e-9 {
        return None;
    }
    let (pp, qq) = (p.hypot2(), q.hypot2());
    let centre = a + kurbo::Vec2::new(q.y * pp - p.y * qq, p.x * qq - q.x * pp) / twice;
    let angle = |v: Point| libm::atan2(v.y - centre.y, v.x - centre.x);
    let (begins, via, ends) = (angle(a), angle(b), angle(c));
    let left = |from: f64, to: f64| (to - from).rem_euclid(TAU);
    // Left round if the second comes before the third that way.
    let ends = if left(begins, via) < left(begins, ends) {
        begins + left(begins, ends)
    } else {
        begins - left(ends, begins)
    };
    let radius = libm::hypot(a.x - centre.x, a.y - centre.y);
    Some((centre, radius, begins, ends))
}

/// Strokes from their words: `M` begins one at a place, `L` goes straight to a place, `A` by an arc
/// through a place to another, `Z` back to the beginning, `D` is a dot.
fn drawn(says: &str) -> Vec<Stroke> {
    let mut out: Vec<Stroke> = Vec::new();
    let mut kind = 'M';
    // The kind is written against the first number, as in `L8`.
    let mut tokens = says.split_ascii_whitespace();
    while let Some(word) = tokens.next() {
        let mut word = word;
        if let Some(c) = word.chars().next().filter(char::is_ascii_alphabetic) {
            kind = c;
            word = word.get(1..).unwrap_or_default();
        }
        if kind == 'Z' {
            if let Some(last) = out.last_mut() {
                last.closed = true;
            }
            continue;
        }
        let mut take = |word: Option<&str>| {
            word.or_else(|| tokens.next())
                .and_then(|w| w.parse::<f64>().ok())
                .unwrap_or_default()
        };
        let place = Point::new(take(Some(word)), take(None));
        match kind {
            'D' => {
                let side = |x: f64| Point::new(place.x + x, place.y);
                let pole = |y: f64| Point::new(place.x, place.y + y);
                out.push(Stroke {
                    start: side(-DOT),
                    steps: vec![
                        Step::Arc(pole(-DOT), side(DOT)),
                        Step::Arc(pole(DOT), side(-DOT)),
                    ],
                    closed: true,
                });
            }
            'M' => out.push(Stroke {
                start: place,
                steps: Vec::new(),
                closed: false,
            }),
            'A' => {
                let to = Point::new(take(None), take(None));
                if let Some(last) = out.last_mut() {
                    last.steps.push(Step::Arc(place, to));
                }
            }
            _ => {
                if let Some(last) = out.last_mut() {
                    last.steps.push(Step::Line(place));
                }
            }
        }
    }
    out
}

/// An accent about the middle of the letter, standing on its foot; whether it hangs below.
pub(super) const fn accent_of(mark: char) -> Option<(&'static str, bool)> {
    Some(match mark {
        '\u{300}' => ("M-1.6 2.6 L.9 0", false),
        '\u{301}' => ("M1.6 2.6 L-.9 0", false),
        '\u{302}' => ("M-2.4 0 L0 2.6 L2.4 0", false),
        '\u{303}' => ("M-3 .6 A-1.5 1.8 0 1 A1.5 .2 3 1.4", false),
        '\u{304}' => ("M-2.6 1 L2.6 1", false),
        '\u{306}' => ("M-2.4 2 A0 .2 2.4 2", false),
        '\u{307}' => ("D0 1", false),
        '\u{308}' => ("D-1.8 1 D1.8 1", false),
        '\u{30a}' => ("M-1.3 1.3 A0 2.6 1.3 1.3 A0 0 -1.3 1.3 Z", false),
        '\u{30b}' => ("M.1 2.6 L-2 0 M3.1 2.6 L1 0", false),
        '\u{30c}' => ("M-2.4 2.6 L0 0 L2.4 2.6", false),
        '\u{327}' => ("M.4 0 L0 -1.2 A1.7 -2.6 -.9 -3.8", true),
        '\u{328}' => ("M2 0 A.6 -2 2.4 -3.2", true),
        _ => return None,
    })
}

/// A letter without accents: its width and its strokes.
pub(super) const fn plain(c: char) -> Option<(f64, &'static str)> {
    Some(match c {
        'A' => (10.0, "M0 0 L5 14 L10 0 M1.79 5 L8.21 5"),
        'B' => (
            9.0,
            "M5.5 7 A9 3.5 5.5 0 L0 0 L0 14 L5 14 A8.5 10.5 5 7 M0 7 L5.5 7",
        ),
        'C' => (9.4, "M9.33 11.5 A5 14 0 9 L0 5 A5 0 9.33 2.5"),
        'D' => (
            10.0,
            "M0 0 L0 14 L4 14 A8.243 12.243 10 8 L10 6 A8.243 1.757 4 0 L0 0",
        ),
        'E' => (8.0, "M8 0 L0 0 L0 14 L8 14 M0 7 L6.5 7"),
        'F' => (8.0, "M0 0 L0 14 L8 14 M0 7 L6.5 7"),
        'G' => (10.0, "M9.33 11.5 A5 14 0 9 L0 5 A5 0 10 5 L10 6.5 L5.5 6.5"),
        'H' => (9.0, "M0 0 L0 14 M9 0 L9 14 M0 7 L9 7"),
        'I' => (0.0, "M0 0 L0 14"),
        'J' => (6.0, "M6 14 L6 3 A3 0 0 3"),
        'K' => (9.0, "M0 0 L0 14 M9 14 L0 5 M2.9 7.9 L9 0"),
        'L' => (7.0, "M0 14 L0 0 L7 0"),
        'M' => (11.0, "M0 0 L0 14 L5.5 4 L11 14 L11 0"),
        'N' => (9.0, "M0 0 L0 14 L9 0 L9 14"),
        'O' => (10.0, "M0 9 A5 14 10 9 L10 5 A5 0 0 5 L0 9 Z"),
        'P' => (9.0, "M0 0 L0 14 L5 14 A9 10 5 6 L0 6"),
        'Q' => (10.0, "M0 9 A5 14 10 9 L10 5 A5 0 0 5 L0 9 Z M6 4 L10 0"),
        'R' => (9.0, "M0 0 L0 14 L5 14 A9 10 5 6 L0 6 M4.5 6 L9 0"),
        'S' => (
            7.0,
            "M6.531 12.25 A3.5 14 0 10.5 A1.025 8.025 3.5 7 A7 3.5 3.5 0 A1.75 .469 .469 1.75",
        ),
        'T' => (10.0, "M0 14 L10 14 M5 14 L5 0"),
        'U' => (9.0, "M0 14 L0 4.5 A4.5 0 9 4.5 L9 14"),
        'V' => (10.0, "M0 14 L5 0 L10 14"),
        'W' => (14.0, "M0 14 L3.5 0 L7 12 L10.5 0 L14 14"),
        'X' => (9.0, "M0 14 L9 0 M0 0 L9 14"),
        'Y' => (9.0, "M0 14 L4.5 7 L9 14 M4.5 7 L4.5 0"),
        'Z' => (9.0, "M0 14 L9 14 L0 0 L9 0"),
        'Æ' => (
            14.0,
            "M0 0 L7 14 L14 14 M7 14 L7 0 L14 0 M7 7 L13 7 M2.5 5 L7 5",
        ),
        'Œ' => (
            14.0,
            "M7 14 L5 14 A1.464 12.536 0 9 L0 5 A1.464 1.464 5 0 L7 0 M14 0 L7 0 L7 14 L14 14 M7 7 L13 7",
        ),
        'Ø' => (10.0, "M0 9 A5 14 10 9 L10 5 A5 0 0 5 L0 9 Z M0 -1 L10 15"),
        'Đ' | 'Ð' => (
            10.0,
            "M0 0 L0 14 L4 14 A8.243 12.243 10 8 L10 6 A8.243 1.757 4 0 L0 0 M-1.5 7 L4 7",
        ),
        'Ł' => (7.0, "M0 14 L0 0 L7 0 M-1.5 5 L3.5 9"),
        'Þ' => (8.0, "M0 0 L0 14 M0 11 L4.5 11 A8 7.5 4.5 4 L0 4"),
        'a' => (8.0, "M8 10 L8 0 M8 6 A4 10 0 6 L0 4 A4 0 8 4"),
        'b' => (8.0, "M0 14 L0 0 M0 6 A4 10 8 6 L8 4 A4 0 0 4"),
        'c' => (7.0, "M6.828 8.828 A4 10 0 6 L0 4 A4 0 6.828 1.172"),
        'd' => (8.0, "M8 14 L8 0 M8 6 A4 10 0 6 L0 4 A4 0 8 4"),
        'e' => (8.0, "M0 5 L8 5 L8 6 A4 10 0 6 L0 4 A4 0 6.828 1.172"),
        'f' => (5.0, "M2 0 L2 11 A2.879 13.121 5 14 M0 9.5 L4.5 9.5"),
        'g' => (8.0, "M8 10 L8 0 A4 -4 .536 -2 M8 6 A4 10 0 6 L0 4 A4 0 8 4"),
        'h' => (8.0, "M0 14 L0 0 M0 6 A4 10 8 6 L8 0"),
        'i' => (0.0, "M0 0 L0 10 D0 13.2"),
        'ı' => (0.0, "M0 0 L0 10"),
        'j' => (2.0, "M2 10 L2 -2 A1.414 -3.414 0 -4 D2 13.2"),
        'ȷ' => (2.0, "M2 10 L2 -2 A1.414 -3.414 0 -4"),
        'k' => (7.0, "M0 14 L0 0 M7 10 L0 3.5 M2.8 6.1 L7 0"),
        'l' => (0.0, "M0 14 L0 0"),
        'm' => (12.0, "M0 10 L0 0 M0 7 A3 10 6 7 L6 0 M6 7 A9 10 12 7 L12 0"),
        'n' => (8.0, "M0 10 L0 0 M0 6 A4 10 8 6 L8 0"),
        'o' => (8.0, "M0 6 A4 10 8 6 L8 4 A4 0 0 4 L0 6 Z"),
        'p' => (8.0, "M0 10 L0 -4 M0 6 A4 10 8 6 L8 4 A4 0 0 4"),
        'q' => (8.0, "M8 10 L8 -4 M8 6 A4 10 0 6 L0 4 A4 0 8 4"),
        'r' => (5.0, "M0 10 L0 0 M0 6 A1.172 8.828 4 10 L5 10"),
        's' => (
            5.0,
            "M4.665 8.75 A2.5 10 0 7.5 A.732 5.732 2.5 5 A5 2.5 2.5 0 A1.25 .335 .335 1.25",
        ),
        't' => (5.0, "M2 14 L2 3 A2.879 .879 5 0 M0 10 L4.5 10"),
        'u' => (8.0, "M0 10 L0 4 A4 0 8 4 M8 10 L8 0"),
        'v' => (8.0, "M0 10 L4 0 L8 10"),
        'w' => (12.0, "M0 10 L3 0 L6 9 L9 0 L12 10"),
        'x' => (7.0, "M0 10 L7 0 M0 0 L7 10"),
        'y' => (8.0, "M0 10 L4 0 M8 10 L2.4 -4"),
        'z' => (7.0, "M0 10 L7 10 L0 0 L7 0"),
        'ß' => (
            7.5,
            "M0 0 L0 10.5 A3.5 14 7 10.5 A5.975 8.025 3.5 7 L4 7 A7.5 3.5 4 0 L2.5 0",
        ),
        'æ' => (
            16.0,
            "M8 6 A4 10 0 6 L0 4 A4 0 8 4 M8 10 L8 0 M8 5 L16 5 L16 6 A12 10 8 6 M8 4 A12 0 14.828 1.172",
        ),
        'œ' => (
            16.0,
            "M0 6 A4 10 8 6 L8 4 A4 0 0 4 L0 6 Z M8 5 L16 5 L16 6 A12 10 8 6 M8 4 A12 0 14.828 1.172",
        ),
        'ø' => (8.0, "M0 6 A4 10 8 6 L8 4 A4 0 0 4 L0 6 Z M0 -1 L8 11"),
        'đ' => (
            8.0,
            "M8 14 L8 0 M8 6 A4 10 0 6 L0 4 A4 0 8 4 M4.5 12 L10 12",
        ),
        'ð' => (
            8.0,
            "M0 6 A4 10 8 6 L8 4 A4 0 0 4 L0 6 M8 6 A6.2 11 2 14 M3.5 11 L8 14",
        ),
        'ł' => (0.0, "M0 14 L0 0 M-2 6 L2 9"),
        'þ' => (8.0, "M0 14 L0 -4 M0 6 A4 10 8 6 L8 4 A4 0 0 4"),
        '0' => (FIGURE, "M0 10 A4 14 8 10 L8 4 A4 0 0 4 L0 10 Z"),
        '1' => (FIGURE, "M1.5 11 L4.5 14 L4.5 0"),
        '2' => (FIGURE, "M0 10 A4 14 6.828 7.172 L0 0 L8 0"),
        '3' => (
            FIGURE,
            "M.719 12.25 A7.25 10.5 3.75 7 L2.75 7 M3.75 7 A7.25 3.5 .719 1.75",
        ),
        '4' => (FIGURE, "M6 0 L6 14 L0 4 L8 4"),
        '5' => (FIGURE, "M7.2 14 L.5 14 L.05 7.39 A8 4.5 .05 1.61"),
        '6' => (FIGURE, "M6 14 A1.757 12.243 0 8 L0 4 A4 0 8 4 A4 8 0 4"),
        '7' => (FIGURE, "M0 14 L8 14 L3 0"),
        '8' => (
            FIGURE,
            "M4 7.5 A7.25 10.75 4 14 A.75 10.75 4 7.5 A7.75 3.75 4 0 A.25 3.75 4 7.5 Z",
        ),
        '9' => (FIGURE, "M2 0 A6.243 1.757 8 6 L8 10 A4 14 0 10 A4 6 8 10"),
        '.' => (0.9, "D.45 .45"),
        ',' => (1.2, "M1 .9 L.1 -2"),
        ':' => (0.9, "D.45 .45 D.45 8"),
        ';' => (1.2, "M1 .9 L.1 -2 D.9 8"),
        '!' => (0.9, "M.45 14 L.45 4 D.45 .45"),
        '¡' => (0.9, "M.45 -4 L.45 6 D.45 9.55"),
        '?' => (7.0, "M.469 12.25 A7 10.5 3.5 7 L3.5 4 D3.5 .45"),
        '¿' => (7.0, "M6.531 -2.25 A0 -.5 3.5 3 L3.5 6 D3.5 9.55"),
        '-' | '‐' => (5.0, "M0 5.5 L5 5.5"),
        '–' | '−' => (8.0, "M0 5.5 L8 5.5"),
        '—' => (12.0, "M0 5.5 L12 5.5"),
        '_' => (8.0, "M0 -2 L8 -2"),
        '+' => (8.0, "M0 6 L8 6 M4 2 L4 10"),
        '=' => (8.0, "M0 4.5 L8 4.5 M0 7.5 L8 7.5"),
        '×' => (6.0, "M0 3 L6 9 M0 9 L6 3"),
        '/' => (6.0, "M0 -2 L6 15"),
        '\\' => (6.0, "M6 -2 L0 15"),
        '|' => (0.0, "M0 -3 L0 15"),
        '(' => (3.0, "M3 15 A0 6.5 3 -2"),
        ')' => (3.0, "M0 15 A3 6.5 0 -2"),
        '[' => (3.0, "M3 15 L0 15 L0 -2 L3 -2"),
        ']' => (3.0, "M0 15 L3 15 L3 -2 L0 -2"),
        '\'' => (0.0, "M0 14 L0 11"),
        '’' | '‘' => (1.0, "M1 14 L0 11"),
        '"' => (2.4, "M0 14 L0 11 M2.4 14 L2.4 11"),
        '“' | '”' => (3.4, "M1 14 L0 11 M3.4 14 L2.4 11"),
        '„' => (3.4, "M1 1 L0 -2 M3.4 1 L2.4 -2"),
        '«' => (6.0, "M3 8 L0 5 L3 2 M6 8 L3 5 L6 2"),
        '»' => (6.0, "M0 8 L3 5 L0 2 M3 8 L6 5 L3 2"),
        '&' => (9.5, "M9 0 L1.9 10.1 A4 14 6.2 10.2 L1.3 6.2 A3.8 0 9 5"),
        '#' => (9.0, "M2 0 L4 14 M6 0 L8 14 M.5 4.5 L8.5 4.5 M1 9.5 L9 9.5"),
        '%' => (
            12.0,
            "M1 0 L11 14 M0 11.2 A2.6 13.8 5.2 11.2 A2.6 8.6 0 11.2 Z M6.8 2.8 A9.4 5.4 12 2.8 A9.4 .2 6.8 2.8 Z",
        ),
        '*' => (5.2, "M2.6 14 L2.6 8 M0 12.5 L5.2 9.5 M0 9.5 L5.2 12.5"),
        '°' => (3.0, "M0 12.5 A1.5 14 3 12.5 A1.5 11 0 12.5 Z"),
        '·' => (0.9, "D.45 6"),
        _ => return None,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]
mod tests {
    use super::*;
    use kurbo::Shape;

    #[test]
    fn an_arc_goes_by_way_of_its_middle_place() {
        // A half circle of radius 4 over the line, and a large part of one.
        let (c, r, from, to) = circle(
            Point::new(0.0, 6.0),
            Point::new(4.0, 10.0),
            Point::new(8.0, 6.0),
        )
        .unwrap();
        assert!((c - Point::new(4.0, 6.0)).hypot() < 1e-12 && (r - 4.0).abs() < 1e-12);
        assert!((from - to - TAU / 2.0).abs() < 1e-12, "clockwise");
        assert!(circle(Point::ZERO, Point::new(1.0, 1.0), Point::new(2.0, 2.0)).is_none());
    }

    #[test]
    fn every_letter_keeps_to_its_height_and_width() {
        let all = "ABCDEFGHIJKLMNOPRSTUVWXYZabcdefghiklmnorstuvwxz0123456789";
        for c in all.chars() {
            let (width, lines) = letter(c).unwrap();
            for line in &lines {
                let b = line.path(|p| p, 1.0).bounding_box();
                assert!(b.x0 > -0.6 && b.x1 < width + 0.6, "{c}: {b:?} of {width}");
                assert!(b.y0 > -0.01 || "g".contains(c), "{c}: {b:?}");
                assert!(b.y1 < CAPITALS + 0.01, "{c}: {b:?}");
            }
        }
    }

    #[test]
    fn arcs_meet_what_comes_before_without_a_step() {
        for c in (0x21..0x180).filter_map(char::from_u32) {
            let Some((_, lines)) = letter(c) else {
                continue;
            };
            for line in lines {
                let mut from = line.start;
                for step in line.steps {
                    if let Step::Arc(via, to) = step {
                        let (centre, r, begins, ends) = circle(from, via, to).unwrap();
                        for (angle, is) in [(begins, from), (ends, to)] {
                            let at =
                                centre + kurbo::Vec2::new(libm::cos(angle), libm::sin(angle)) * r;
                            assert!((at - is).hypot() < 1e-9, "{c}");
                        }
                    }
                    from = step.end();
                }
            }
        }
    }

    #[test]
    fn what_europe_writes_with_has_a_shape() {
        let text = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþÿ\
                    ĀāĂăĄąĆćČčĎďĐđĒēĖėĘęĚěĞğĢģĪīĮįİıŁłŃńŇňŌōŐőŒœŔŕŘřŚśŞşŠšŤťŪūŮůŰűŲųŹźŻżŽž";
        assert_eq!(set(text, 10.0).missing, Vec::<char>::new());
        let other = set("A→B", 10.0);
        assert_eq!(other.missing, vec!['→']);
        assert!(other.lines.len() > 5, "a box stands for it");
    }

    #[test]
    fn capitals_are_as_tall_as_asked_and_words_as_wide_as_said() {
        let line = set("HOLM", 35.0);
        let all = line.lines.iter().map(Shape::bounding_box);
        let b = all.reduce(|a, b| a.union(b)).unwrap();
        assert!((b.y1 - 35.0).abs() < 1e-9 && b.y0.abs() < 1e-9);
        assert!((b.x1 - line.width_mm).abs() < 1e-9 && b.x0.abs() < 1e-9);
    }
}
