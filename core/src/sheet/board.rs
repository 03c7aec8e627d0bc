//! Drawing by meaning, from millimetres: lines, circles, arrowheads, lettering.

use super::drawing::{Contour, Item, Meaning, Segment, Shape, Spot};
use super::input::{FlatPath, FlatSegment};
use crate::frames::{Flat, Frame, Point2};
use crate::outline::lettering::{Weight, lay};
use crate::units::Length;
use core::marker::PhantomData;
use kurbo::PathEl;
use std::sync::OnceLock;

/// A height of capitals from ISO 3098-1, with its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Height of capitals.
    pub cap: Length,
    /// Stroke weight.
    pub weight: Weight,
}

impl Style {
    /// 1.8: labels of fields.
    pub const FIELD: Self = Self::new(1.8, Weight::Medium);
    /// 2.5: notes.
    pub const NOTE: Self = Self::new(2.5, Weight::Medium);
    /// 2.5: a note that leads.
    pub const NOTE_BOLD: Self = Self::new(2.5, Weight::SemiBold);
    /// 3.5: values.
    pub const VALUE: Self = Self::new(3.5, Weight::Medium);
    /// 3.5: a value that leads.
    pub const VALUE_BOLD: Self = Self::new(3.5, Weight::SemiBold);
    /// 5: headings.
    pub const HEADING: Self = Self::new(5.0, Weight::SemiBold);
    /// 7: names.
    pub const NAME: Self = Self::new(7.0, Weight::SemiBold);

    const fn new(cap_mm: f64, weight: Weight) -> Self {
        Self {
            cap: Length::from_mm(cap_mm),
            weight,
        }
    }

    pub(crate) const fn cap_mm(self) -> f64 {
        self.cap.mm()
    }

    /// From baseline to baseline: 1.7 cap heights (ISO 3098-1 asks for at least 1.4 without
    /// accents, 1.9 with).
    pub(crate) const fn pitch_mm(self) -> f64 {
        self.cap.mm() * 1.7
    }

    /// How wide a line is at most: the sum of its letters' widths. Kerning would take off a
    /// percent; for that, measuring a sheet's words costs a look-up a letter.
    pub(crate) fn width_mm(self, text: &str) -> f64 {
        text.chars()
            .map(|c| letter_width(c, self.weight))
            .sum::<f64>()
            * self.cap.mm()
    }

    /// Breaks text into lines no wider than `width_mm`; a single word that is wider stands alone.
    pub(crate) fn wrap(self, text: &str, width_mm: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        self.broken(text, width_mm, |word, begins| match lines.last_mut() {
            Some(line) if !begins => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        });
        lines
    }

    /// How many lines [`Style::wrap`] makes, without making them.
    pub(crate) fn lines_of(self, text: &str, width_mm: f64) -> usize {
        let mut lines = 0;
        self.broken(text, width_mm, |_, begins| lines += usize::from(begins));
        lines
    }

    /// Each word, and whether it begins a line. Widths are added up letter by letter from the start of
    /// a line, as [`Style::width_mm`] does, so that a line is as wide here as there.
    fn broken<'t>(self, text: &'t str, width_mm: f64, mut put: impl FnMut(&'t str, bool)) {
        let add = |sum: f64, text: &str| {
            text.chars()
                .fold(sum, |sum, c| sum + letter_width(c, self.weight))
        };
        // From where the line begins to where it ends so far; none has begun yet.
        let mut line: Option<f64> = None;
        let fits = |sum: &f64| sum * self.cap.mm() <= width_mm;
        for mut word in text.split(' ').filter(|w| !w.is_empty()) {
            let longer = line.map(|sum| add(add(sum, " "), word)).filter(fits);
            if longer.is_some() {
                put(word, false);
                line = longer;
                continue;
            }
            // One that is longer than a line is broken where the line ends.
            while !fits(&add(0.0, word)) {
                let mut sum = 0.0;
                let end = word.char_indices().skip(1).find(|(i, _)| {
                    sum = add(0.0, word.get(..*i).unwrap_or_default());
                    let next = word.get(*i..).and_then(|rest| rest.chars().next());
                    let mut letter = [0; 4];
                    next.is_some_and(|c| !fits(&add(sum, c.encode_utf8(&mut letter))))
                });
                let Some((end, _)) = end else { break };
                let (head, tail) = word.split_at(end);
                put(head, true);
                word = tail;
            }
            put(word, true);
            line = Some(add(0.0, word));
        }
    }

    /// Cut off with an ellipsis where it would be wider than `width_mm`.
    pub(crate) fn cut_to(self, text: &str, width_mm: f64) -> String {
        if self.width_mm(text) <= width_mm {
            return text.into();
        }
        let mut kept: String = text.into();
        while kept.pop().is_some() {
            let shown = format!("{}…", kept.trim_end());
            if self.width_mm(&shown) <= width_mm {
                return shown;
            }
        }
        String::new()
    }
}

/// Letters whose widths are kept: Latin with its first extension.
const KEPT_LETTERS: u32 = 0x180;

/// A letter's width in cap heights. The table is made once from the fonts and never changes.
fn letter_width(c: char, weight: Weight) -> f64 {
    static MEDIUM: OnceLock<Vec<f64>> = OnceLock::new();
    static SEMI_BOLD: OnceLock<Vec<f64>> = OnceLock::new();
    let measure = |c: char| {
        lay(c.encode_utf8(&mut [0; 4]), Length::from_mm(1.0), weight)
            .width
            .mm()
    };
    let table = match weight {
        Weight::Medium => &MEDIUM,
        Weight::SemiBold => &SEMI_BOLD,
    };
    let widths = table.get_or_init(|| {
        (0..KEPT_LETTERS)
            .map(|u| char::from_u32(u).map_or(0.0, measure))
            .collect()
    });
    let kept = usize::try_from(u32::from(c))
        .ok()
        .and_then(|i| widths.get(i).copied());
    kept.unwrap_or_else(|| measure(c))
}

/// Which point of a line of text its place names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The place is its start.
    Start,
    /// The place is its middle.
    Middle,
    /// The place is its end.
    End,
}

/// Which way a line of text runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Run {
    /// Across, read from below.
    Across,
    /// Up, read from the right (ISO 129-1).
    Up,
}

/// Length of an arrowhead; its angle is 15° (ISO 129-1).
const ARROW_MM: f64 = 2.6;
/// Half its width: the tangent of 7.5° times its length.
const ARROW_HALF_MM: f64 = 0.342;

/// Collects the items of a page, or of a template before it is laid on pages.
#[derive(Debug, Clone, Default)]
pub struct Board<F: Frame> {
    items: Vec<Item>,
    frame: PhantomData<F>,
}

impl<F: Frame> Board<F> {
    /// An empty board.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            items: Vec::new(),
            frame: PhantomData,
        }
    }
    /// What was drawn, in order.
    #[must_use]
    pub fn into_items(self) -> Vec<Item> {
        self.items
    }
    /// What has been drawn so far.
    #[must_use]
    pub fn items(&self) -> &[Item] {
        &self.items
    }

    pub(crate) fn push(&mut self, meaning: Meaning, shape: Shape) -> &mut Self {
        self.items.push(Item {
            meaning,
            shape,
            label: None,
            stamp: false,
        });
        self
    }
    pub(crate) fn extend(&mut self, items: impl IntoIterator<Item = Item>) {
        self.items.extend(items);
    }
    /// Names what was drawn last.
    pub fn named(&mut self, label: impl Into<String>) -> &mut Self {
        if let Some(last) = self.items.last_mut() {
            last.label = Some(label.into());
        }
        self
    }
    /// Marks everything from the `since`-th item on as stamped.
    pub(crate) fn stamp_since(&mut self, since: usize) {
        for item in self.items.iter_mut().skip(since) {
            item.stamp = true;
        }
    }

    /// A run of straight lines.
    pub fn lines(&mut self, meaning: Meaning, points: &[Point2<F>]) -> &mut Self {
        if let Some(c) = polygon(points, false) {
            self.push(meaning, Shape::Line(vec![c]));
        }
        self
    }
    /// A closed run of straight lines.
    pub fn ring(&mut self, meaning: Meaning, points: &[Point2<F>]) -> &mut Self {
        if let Some(c) = polygon(points, true) {
            self.push(meaning, Shape::Line(vec![c]));
        }
        self
    }
    /// A filled polygon.
    pub fn solid(&mut self, meaning: Meaning, points: &[Point2<F>]) -> &mut Self {
        if let Some(c) = polygon(points, true) {
            self.push(meaning, Shape::Solid(vec![c]));
        }
        self
    }
    /// A circle.
    pub fn circle(&mut self, meaning: Meaning, centre: Point2<F>, radius: Length) -> &mut Self {
        let radius = um(radius.mm());
        self.push(
            meaning,
            Shape::Circle {
                centre: at(centre),
                radius,
            },
        )
    }
    /// A filled disc.
    pub fn disc(&mut self, meaning: Meaning, centre: Point2<F>, radius: Length) -> &mut Self {
        let (c, r) = (at(centre), um(radius.mm()));
        let s = |dx: i32, dy: i32| c.shifted(Spot::new(dx, dy));
        self.push(
            meaning,
            Shape::Solid(vec![Contour {
                start: s(r, 0),
                segments: vec![
                    Segment::Arc {
                        via: s(0, r),
                        to: s(-r, 0),
                    },
                    Segment::Arc {
                        via: s(0, -r),
                        to: s(r, 0),
                    },
                ],
                closed: true,
            }]),
        )
    }
    /// A box with sides across and up.
    pub(crate) fn rect(&mut self, meaning: Meaning, r: kurbo::Rect) -> &mut Self {
        let p = |x, y| Point2::from_mm(x, y);
        self.ring(
            meaning,
            &[p(r.x0, r.y0), p(r.x1, r.y0), p(r.x1, r.y1), p(r.x0, r.y1)],
        )
    }
    /// A filled box with sides across and up.
    pub(crate) fn block(&mut self, meaning: Meaning, r: kurbo::Rect) -> &mut Self {
        let p = |x, y| Point2::from_mm(x, y);
        self.solid(
            meaning,
            &[p(r.x0, r.y0), p(r.x1, r.y0), p(r.x1, r.y1), p(r.x0, r.y1)],
        )
    }
    /// A line with a filled arrowhead at its end.
    pub fn arrow(&mut self, meaning: Meaning, tail: Point2<F>, tip: Point2<F>) -> &mut Self {
        let Some(along) = (tip - tail).unit() else {
            return self;
        };
        let back = tip - along * ARROW_MM;
        let side = along.perp() * ARROW_HALF_MM;
        self.lines(meaning, &[tail, back]);
        self.solid(meaning, &[tip, back + side, back - side])
    }
    /// A broad filled arrow, as tall as `length` and a third as wide: a direction, not a dimension.
    pub fn pointer(&mut self, meaning: Meaning, tail: Point2<F>, tip: Point2<F>) -> &mut Self {
        let Some(along) = (tip - tail).unit() else {
            return self;
        };
        let length = (tip - tail).norm_mm();
        let neck = tip - along * (length * 0.42);
        let (wide, thin) = (
            along.perp() * (length * 0.17),
            along.perp() * (length * 0.045),
        );
        let ring = [
            tip,
            neck + wide,
            neck + thin,
            tail + thin,
            tail - thin,
            neck - thin,
            neck - wide,
        ];
        self.solid(meaning, &ring)
    }
    /// A register cross: two strokes and a circle, both named.
    pub fn cross(&mut self, place: Point2<F>, arm: Length, ring: Length, name: &str) -> &mut Self {
        let (x, y, a) = (place.x_mm(), place.y_mm(), arm.mm());
        let strokes = [
            polygon(
                &[Point2::<F>::from_mm(x - a, y), Point2::from_mm(x + a, y)],
                false,
            ),
            polygon(
                &[Point2::<F>::from_mm(x, y - a), Point2::from_mm(x, y + a)],
                false,
            ),
        ];
        self.push(
            Meaning::Register,
            Shape::Line(strokes.into_iter().flatten().collect()),
        );
        self.named(name);
        self.circle(Meaning::Register, place, ring).named(name)
    }
    /// A letter in a square box, centred on a place; the side of the box is 1.4 cap heights.
    pub fn boxed_letter(&mut self, place: Point2<F>, letter: &str, style: Style) -> &mut Self {
        let (x, y) = (place.x_mm(), place.y_mm());
        let half = style.cap_mm() * 0.7;
        let wide = half.max(style.width_mm(letter) / 2.0 + style.cap_mm() * 0.25);
        self.rect(
            Meaning::Register,
            kurbo::Rect::new(x - wide, y - half, x + wide, y + half),
        );
        let base = Point2::from_mm(x, y - style.cap_mm() / 2.0);
        self.text(base, letter, style, Side::Middle, Run::Across)
    }
    /// A line of lettering; the place is on its baseline.
    pub fn text(
        &mut self,
        place: Point2<F>,
        text: &str,
        style: Style,
        side: Side,
        run: Run,
    ) -> &mut Self {
        if text.trim().is_empty() {
            return self;
        }
        let laid = lay(text, style.cap, style.weight);
        let back = match side {
            Side::Start => 0.0,
            Side::Middle => laid.width.mm() / 2.0,
            Side::End => laid.width.mm(),
        };
        let (x, y) = (place.x_mm(), place.y_mm());
        let turned = |u: f64, v: f64| match run {
            Run::Across => (u, v),
            Run::Up => (-v, u),
        };
        // Only where a letter starts is rounded by its place in the line; the rest of it relative to
        // that. So every e is the same e, and a file that keeps shapes apart from places is small.
        let mut outlines = Vec::with_capacity(laid.contours().count());
        let mut letter: Option<(kurbo::Rect, kurbo::Point)> = None;
        for (contour, to_mm) in laid.contours() {
            // Scaling and shifting keep the order of numbers: the box of what is carried.
            let reach = contour.reach;
            let own = kurbo::Rect::from_points(
                to_mm * kurbo::Point::new(reach.x0, reach.y0),
                to_mm * kurbo::Point::new(reach.x1, reach.y1),
            );
            let start = match (letter, contour.path.elements().first()) {
                // A counter inside its letter goes with it.
                (Some((r, start)), _) if r.union(own) == r || r.union(own) == own => start,
                (_, Some(PathEl::MoveTo(p))) => to_mm * *p,
                _ => kurbo::Point::ZERO,
            };
            letter = Some((
                letter
                    .filter(|l| l.1 == start)
                    .map_or(own, |l| l.0.union(own)),
                start,
            ));
            let (dx, dy) = turned(start.x - back, start.y);
            let from = Spot::new(um(x + dx), um(y + dy));
            let put = |p: kurbo::Point| {
                let (dx, dy) = turned(p.x - start.x, p.y - start.y);
                from.shifted(Spot::new(um(dx), um(dy)))
            };
            outlines.extend(contour_of(&contour.path, to_mm, &put));
        }
        self.push(
            Meaning::Note,
            Shape::Lettering {
                text: text.into(),
                outlines,
            },
        )
    }
}

impl Board<Flat> {
    /// A path of the template.
    pub fn path(&mut self, meaning: Meaning, path: &FlatPath) -> &mut Self {
        self.push(meaning, Shape::Line(vec![flat_contour(path)]))
    }
}

/// Millimetres to whole micrometres, ties away from zero. Every corner of every letter comes by here.
pub(crate) fn um(mm: f64) -> i32 {
    let um = mm * 1000.0;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "saturates; positions are under 100 m"
    )]
    let whole = um as i32;
    let rest = um - f64::from(whole);
    whole.saturating_add(i32::from(rest >= 0.5) - i32::from(rest <= -0.5))
}

fn at<F: Frame>(p: Point2<F>) -> Spot {
    Spot::new(um(p.x_mm()), um(p.y_mm()))
}

fn polygon<F: Frame>(points: &[Point2<F>], closed: bool) -> Option<Contour> {
    let (first, rest) = points.split_first()?;
    let start = at(*first);
    let mut segments: Vec<_> = rest.iter().map(|p| Segment::Line { to: at(*p) }).collect();
    if closed {
        segments.push(Segment::Line { to: start });
    }
    (!segments.is_empty()).then_some(Contour {
        start,
        segments,
        closed,
    })
}

/// A template path on the grid of whole micrometres.
pub(crate) fn flat_contour(path: &FlatPath) -> Contour {
    let segments = path
        .segments
        .iter()
        .map(|s| match *s {
            FlatSegment::Line(to) => Segment::Line { to: at(to) },
            FlatSegment::Arc { via, to } => Segment::Arc {
                via: at(via),
                to: at(to),
            },
            FlatSegment::Cubic { c1, c2, to } => Segment::Cubic {
                c1: at(c1),
                c2: at(c2),
                to: at(to),
            },
        })
        .collect();
    Contour {
        start: at(path.start),
        segments,
        closed: path.closed,
    }
}

/// The one contour of a path, carried to millimetres and put on the grid; nothing where that leaves
/// no area.
fn contour_of(
    path: &kurbo::BezPath,
    to_mm: kurbo::Affine,
    put: &impl Fn(kurbo::Point) -> Spot,
) -> Option<Contour> {
    let Some((PathEl::MoveTo(start), rest)) = path.elements().split_first() else {
        return None;
    };
    let mut from = to_mm * *start;
    let mut out = Contour {
        start: put(from),
        segments: Vec::with_capacity(rest.len()),
        closed: true,
    };
    let mut last = out.start;
    for element in rest {
        let (end, segment) = match to_mm * *element {
            PathEl::MoveTo(_) | PathEl::ClosePath => continue,
            PathEl::LineTo(p) => (p, Segment::Line { to: put(p) }),
            PathEl::QuadTo(q, p) => {
                let (c1, c2) = (from.lerp(q, 2.0 / 3.0), p.lerp(q, 2.0 / 3.0));
                let (c1, c2, to) = (put(c1), put(c2), put(p));
                (p, Segment::Cubic { c1, c2, to })
            }
            PathEl::CurveTo(a, b, p) => {
                let (c1, c2, to) = (put(a), put(b), put(p));
                (p, Segment::Cubic { c1, c2, to })
            }
        };
        if last != segment.to() {
            last = segment.to();
            out.segments.push(segment);
        }
        from = end;
    }
    (out.segments.len() > 1).then_some(out)
}

#[cfg(test)]
mod tests {
    use super::um;

    #[test]
    fn micrometres_are_rounded_ties_away_from_nought() {
        for k in -3000..=3000_i32 {
            for near in [0.0, 0.25, 0.5, 0.499_999_999_999_999_94, 0.75] {
                let mm = (f64::from(k) + near) / 1000.0;
                for mm in [mm, -mm, mm * 1e4] {
                    #[allow(clippy::cast_possible_truncation, reason = "small")]
                    let expected = libm::round(mm * 1000.0) as i32;
                    assert_eq!(um(mm), expected, "{mm}");
                }
            }
        }
        assert_eq!([um(f64::NAN), um(1e30), um(-1e30)], [0, i32::MAX, i32::MIN]);
    }
}
