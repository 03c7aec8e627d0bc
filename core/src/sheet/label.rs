//! Words and letters on the template itself, each where it touches nothing.

use super::board::{Board, Run, Side, Style};
use super::body::{AS_DRAWN_ARM_MM, CROSS_ARM_MM, CROSS_RING_MM};
use super::drawing::Meaning;
use super::field::Field;
use super::input::{Cross, TemplateSheet, Words};
use super::wording;
use crate::frames::{Flat, Point2};
use kurbo::{Point, Rect};

/// Words keep this far inside the trim line.
pub(super) const INSIDE_MM: f64 = 4.0;
/// Length of the arrow over UP.
const UP_ARROW_MM: f64 = 13.0;

fn p(x: f64, y: f64) -> Point2<Flat> {
    Point2::from_mm(x, y)
}

/// A boxed letter with what its cross is off by, beside the cross; returns its box.
pub(super) fn cross_label(
    board: &mut Board<Flat>,
    field: &mut Field,
    cross: &Cross,
    centre: Point,
    outwards: f64,
) -> Rect {
    let at = Point::new(cross.place.x_mm(), cross.place.y_mm());
    let off = wording::off_by(cross);
    let doubt = cross.suspect.clone().unwrap_or_default();
    let letter = Style::HEADING;
    let box_ = (letter.cap_mm() * 1.4).max(letter.width_mm(&cross.letter) + letter.cap_mm() * 0.5);
    let words = Style::VALUE
        .width_mm(&off)
        .max(Style::NOTE.width_mm(&doubt));
    let gap = if words > 0.0 { 1.6 } else { 0.0 };
    let (w, h) = (box_ + gap + words, if doubt.is_empty() { 7.0 } else { 9.0 });
    let inward = centre - at;
    let reach = CROSS_ARM_MM + w + 60.0;
    let mut best: Option<(f64, Rect)> = None;
    // In a quarter between two strokes, close by; rather the one towards the middle.
    for (sx, sy) in [(1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0)] {
        let wish = Point::new(
            at.x + sx * (w / 2.0 + 2.6),
            at.y + sy * (h / 2.0 + CROSS_RING_MM + 2.6),
        );
        let Some(r) = field.nearest((w, h), wish, reach) else {
            continue;
        };
        let outward = [sx * inward.x, sy * inward.y]
            .into_iter()
            .filter(|v| *v < 0.0)
            .count();
        #[expect(clippy::cast_precision_loss, reason = "none, one or two")]
        let cost = (r.center() - wish).hypot2() + outwards * outward as f64;
        if best.is_none_or(|(least, _)| cost < least - 1e-9) {
            best = Some((cost, r));
        }
    }
    let r = best.map_or_else(
        || Rect::new(at.x + 6.0, at.y + 3.0, at.x + 6.0 + w, at.y + 3.0 + h),
        |(_, r)| r,
    );
    field.take_rect(r.inflate(1.0, 1.0));
    let left_of_cross = r.center().x < at.x;
    let box_x = if left_of_cross {
        r.x1 - box_ / 2.0
    } else {
        r.x0 + box_ / 2.0
    };
    let y = r.center().y;
    board.boxed_letter(p(box_x, y), &cross.letter, letter);
    let (x, side) = if left_of_cross {
        (r.x1 - box_ - gap, Side::End)
    } else {
        (r.x0 + box_ + gap, Side::Start)
    };
    if doubt.is_empty() {
        board.text(p(x, y - 1.75), &off, Style::VALUE, side, Run::Across);
    } else {
        board.text(p(x, y + 0.6), &off, Style::VALUE, side, Run::Across);
        board.text(p(x, y - 3.6), &doubt, Style::NOTE, side, Run::Across);
    }
    let near = Point::new(at.x.clamp(r.x0, r.x1), at.y.clamp(r.y0, r.y1));
    let away = libm::hypot(near.x - at.x, near.y - at.y);
    if away > CROSS_ARM_MM + 4.0 {
        let toward = (near - at) * (1.0 / away);
        let from = at + toward * (CROSS_RING_MM + 0.6);
        board.lines(Meaning::Dimension, &[p(from.x, from.y), p(near.x, near.y)]);
    }
    r
}

/// Which mark of the drawing a broken cross is, close by it and clear of the register cross, which is
/// never far; returns its box.
pub(super) fn as_drawn_label(
    board: &mut Board<Flat>,
    field: &mut Field,
    at: Point,
    letter: &str,
) -> Rect {
    let said = format!("{letter} as drawn");
    let style = Style::FIELD;
    let (w, h) = (style.width_mm(&said), style.cap_mm());
    let quarters = [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)];
    let mut best: Option<(f64, Rect)> = None;
    for (sx, sy) in quarters {
        let wish = Point::new(
            at.x + sx * (w / 2.0 + 1.2),
            at.y + sy * (AS_DRAWN_ARM_MM / 2.0 + h / 2.0),
        );
        let Some(r) = field.nearest((w, h), wish, 3.0 * AS_DRAWN_ARM_MM) else {
            continue;
        };
        let cost = (r.center() - wish).hypot2();
        if best.is_none_or(|(least, _)| cost < least - 1e-9) {
            best = Some((cost, r));
        }
    }
    let over = Rect::new(at.x + 1.0, at.y + 1.2, at.x + 1.0 + w, at.y + 1.2 + h);
    let r = best.map_or(over, |(_, r)| r);
    field.take_rect(r.inflate(0.8, 0.8));
    board.text(p(r.x0, r.y0), &said, style, Side::Start, Run::Across);
    r
}

/// What stands beside a datum edge.
pub(super) fn edge_label(
    board: &mut Board<Flat>,
    field: &mut Field,
    text: &str,
    points: &[Point],
) -> Option<Rect> {
    let middle = points.get(points.len() / 2)?;
    let size = (Style::NOTE.width_mm(text), 3.2);
    let r = field.nearest(size, *middle, 120.0)?;
    field.take_rect(r.inflate(1.0, 1.0));
    board.text(
        p(r.x0, r.y0 + 0.6),
        text,
        Style::NOTE,
        Side::Start,
        Run::Across,
    );
    Some(r)
}

/// The note that says which of two lines half a millimetre apart is which, on a leader.
pub(super) fn outline_note(
    board: &mut Board<Flat>,
    field: &mut Field,
    sheet: &TemplateSheet,
    outline: Rect,
    lines: &[&Vec<Point>],
) -> Option<Rect> {
    let mut says = Vec::new();
    if !sheet.paint_edges.is_empty() {
        let size = paint_size(sheet)?;
        says.push(format!("{} {size}", wording::outline(&sheet.words)));
    }
    if !sheet.words.allowance.is_empty() {
        // The edge is named and sized by the line above.
        let edge = wording::outline(&sheet.words);
        let allowance = sheet.words.allowance.as_str();
        let cut = (!says.is_empty())
            .then(|| allowance.strip_prefix(edge)?.split_once("; "))
            .flatten();
        says.push(cut.map_or(allowance, |(_, cut)| cut).to_owned());
    }
    let w = says
        .iter()
        .map(|t| Style::NOTE.width_mm(t))
        .fold(0.0, f64::max);
    #[expect(clippy::cast_precision_loss, reason = "one or two lines")]
    let h = says.len() as f64 * Style::NOTE.pitch_mm();
    if w <= 0.0 {
        return None;
    }
    let mut best: Option<(f64, Rect, bool, Point, Point)> = None;
    for (dx, dy) in [(-1.0, 1.0), (1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
        let wish = Point::new(
            outline.center().x + dx * (outline.width() / 2.0 + w / 2.0 + 6.0),
            outline.center().y + dy * (outline.height() / 2.0 + 8.0),
        );
        let Some(r) = field.nearest((w, h), wish, 45.0) else {
            continue;
        };
        let right_of = r.center().x > outline.center().x;
        let foot = Point::new(if right_of { r.x0 - 1.0 } else { r.x1 + 1.0 }, r.center().y);
        let Some(tip) = nearest_on(lines, foot) else {
            continue;
        };
        // The leader leaves the words, it doesn't run along them.
        let leaves = if right_of {
            foot.x - tip.x
        } else {
            tip.x - foot.x
        };
        let length = libm::hypot(tip.x - foot.x, tip.y - foot.y);
        if leaves < 0.4 * length || !clear_between(field, foot, tip) {
            continue;
        }
        if best.as_ref().is_none_or(|b| length < b.0 - 1e-9) {
            best = Some((length, r, right_of, foot, tip));
        }
    }
    let (_, r, right_of, foot, tip) = best?;
    for (i, text) in says.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "one or two lines")]
        let y = r.y1 - 3.2 - i as f64 * Style::NOTE.pitch_mm();
        let (x, side) = if right_of {
            (r.x0, Side::Start)
        } else {
            (r.x1, Side::End)
        };
        board.text(p(x, y), text, Style::NOTE, side, Run::Across);
    }
    board.arrow(Meaning::Dimension, p(foot.x, foot.y), p(tip.x, tip.y));
    Some(r)
}

fn paint_size(sheet: &TemplateSheet) -> Option<String> {
    let all = sheet
        .paint_edges
        .iter()
        .map(|e| {
            let c = super::board::flat_contour(e);
            super::trace::bounds_of(&super::trace::trace(&c, super::trace::TRACE_UM))
        })
        .fold(None, super::trace::joined)?;
    Some(format!(
        "{} across, {} up",
        wording::mm1(all.width() / 1000.0),
        wording::mm1(all.height() / 1000.0)
    ))
}

fn nearest_on(lines: &[&Vec<Point>], from: Point) -> Option<Point> {
    let mut best: Option<(f64, Point)> = None;
    for line in lines {
        for &q in *line {
            let d = (q - from).hypot2();
            if best.is_none_or(|(least, _)| d < least) {
                best = Some((d, q));
            }
        }
    }
    best.map(|(_, q)| q)
}

/// A leader runs over nothing but the outline it points at.
fn clear_between(field: &mut Field, from: Point, tip: Point) -> bool {
    let length = libm::hypot(tip.x - from.x, tip.y - from.y);
    if !(3.0..=45.0).contains(&length) {
        return false;
    }
    // The last stretch lies within the outline's own clearance.
    let stop = (length - 4.0 * field.cell() - 1.5) / length;
    let n = libm::ceil(length);
    let mut i = 0.0;
    while i / n < stop {
        let q = from.lerp(tip, i / n);
        if !field.free(Rect::new(q.x - 0.2, q.y - 0.2, q.x + 0.2, q.y + 0.2)) {
            return false;
        }
        i += 1.0;
    }
    true
}

/// One line of a block of words.
#[derive(Debug, Clone, PartialEq)]
struct BlockLine {
    text: String,
    style: Style,
}

/// A block of words on the template, centred line by line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Block {
    /// It would rather stand above the outline than below it.
    pub(super) above: bool,
    /// It is set in the smaller of two sizes.
    pub(super) small: bool,
    columns: Vec<Column>,
}

#[derive(Debug, Clone, PartialEq)]
struct Column {
    arrow: bool,
    lines: Vec<BlockLine>,
}

/// From one line's feet to the next line's heads.
fn gap(pair: &[BlockLine]) -> f64 {
    pair.iter().map(|l| l.style.cap_mm()).sum::<f64>() * 0.4
}

impl Column {
    fn size(&self) -> (f64, f64) {
        let w = self
            .lines
            .iter()
            .map(|l| l.style.width_mm(&l.text))
            .fold(0.0, f64::max);
        let gaps = self.lines.windows(2).map(gap).sum::<f64>();
        let caps = self.lines.iter().map(|l| l.style.cap_mm()).sum::<f64>();
        let arrow = if self.arrow { UP_ARROW_MM + 2.0 } else { 0.0 };
        (
            w.max(if self.arrow { UP_ARROW_MM * 0.34 } else { 0.0 }),
            caps + gaps + arrow,
        )
    }

    fn draw(&self, board: &mut Board<Flat>, x: f64, top: f64) {
        let mut y = top;
        if self.arrow {
            board.pointer(Meaning::Note, p(x, y - UP_ARROW_MM), p(x, y));
            y -= UP_ARROW_MM + 2.0;
        }
        for (i, line) in self.lines.iter().enumerate() {
            if let Some(pair) = i.checked_sub(1).and_then(|k| self.lines.get(k..=i)) {
                y -= gap(pair);
            }
            y -= line.style.cap_mm();
            board.text(p(x, y), &line.text, line.style, Side::Middle, Run::Across);
        }
    }
}

/// Room between columns of a block.
const COLUMN_GAP_MM: f64 = 7.0;
/// Descenders hang this far under the last baseline.
const DESCENT_MM: f64 = 1.6;

impl Block {
    pub(super) fn size(&self) -> (f64, f64) {
        let sizes: Vec<_> = self.columns.iter().map(Column::size).collect();
        let w = sizes.iter().map(|s| s.0).sum::<f64>();
        let gaps = sizes.iter().skip(1).map(|_| COLUMN_GAP_MM).sum::<f64>();
        (
            w + gaps,
            sizes.iter().map(|s| s.1).fold(0.0, f64::max) + DESCENT_MM,
        )
    }

    pub(super) fn draw(&self, board: &mut Board<Flat>, r: Rect) {
        let height = self.size().1 - DESCENT_MM;
        let mut x = r.x0;
        for column in &self.columns {
            let (w, h) = column.size();
            column.draw(board, x + w / 2.0, r.y1 - (height - h) / 2.0);
            x += w + COLUMN_GAP_MM;
        }
    }
}

/// A way of arranging the words.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    pub(super) blocks: Vec<Block>,
}

fn line(text: impl Into<String>, style: Style) -> BlockLine {
    BlockLine {
        text: text.into(),
        style,
    }
}

/// Every way of arranging the words on the template, the best first.
pub(super) fn forms(words: &Words) -> Vec<Form> {
    let mut out = Vec::new();
    for small in [false, true] {
        let (name, head, value) = if small {
            (Style::HEADING, Style::VALUE_BOLD, Style::NOTE)
        } else {
            (Style::NAME, Style::HEADING, Style::VALUE)
        };
        let up = Column {
            arrow: true,
            lines: up_lines(words, head),
        };
        let mut what = Vec::new();
        let feature = wording::feature_name(words);
        if !feature.is_empty() {
            // Nor does a long name.
            let lines = name.wrap(&feature, 130.0);
            what.extend(lines.into_iter().map(|t| line(t, name)));
        }
        what.push(line("THIS SIDE OUT", head));
        what.push(line(wording::seen_from(words), value));
        if let Some(plug) = &words.plug {
            what.push(line(wording::plug_label(plug), head));
        }
        let mut whose = Vec::new();
        let pieces = wording::pieces(words);
        if !pieces.is_empty() {
            whose.push(line(wording::serves_label(words), Style::NOTE));
            // A long list of pieces breaks rather than widening the template.
            whose.extend(name.wrap(&pieces, 90.0).into_iter().map(|t| line(t, name)));
        }
        whose.push(line(wording::issue_and_number(words), value));
        let block = |above: bool, columns: Vec<Column>| Block {
            above,
            small,
            columns,
        };
        let column = |lines: Vec<BlockLine>| Column {
            arrow: false,
            lines,
        };
        let up_block = block(true, vec![up.clone()]);
        let tall = column(what.iter().chain(&whose).cloned().collect());
        let (what, whose) = (column(what), column(whose));
        out.push(Form {
            blocks: vec![up_block.clone(), block(false, vec![tall])],
        });
        out.push(Form {
            blocks: vec![
                up_block.clone(),
                block(false, vec![what.clone(), whose.clone()]),
            ],
        });
        out.push(Form {
            blocks: vec![
                up_block,
                block(false, vec![what]),
                block(false, vec![whose]),
            ],
        });
    }
    out
}

fn up_lines(words: &Words, head: Style) -> Vec<BlockLine> {
    let mut lines = vec![line("UP", head)];
    if !words.up_note.trim().is_empty() {
        lines.push(line(words.up_note.clone(), Style::NOTE));
    }
    lines
}

/// The same words as one block each, UP beside them, for a tail: tall ones and wide ones.
pub(super) fn tail_forms(forms: &[Form]) -> Vec<Block> {
    forms
        .iter()
        .map(|form| {
            let columns = form
                .blocks
                .iter()
                .flat_map(|b| b.columns.iter().cloned())
                .collect();
            let small = form.blocks.iter().any(|b| b.small);
            Block {
                above: false,
                small,
                columns,
            }
        })
        .collect()
}
