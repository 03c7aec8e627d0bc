//! Fields of the title block (ISO 7200), and the footer that every one of several sheets carries.

use super::board::{Board, Run, Side, Style};
use super::code::Code;
use super::drawing::Meaning;
use super::input::{TemplateSheet, Words};
use super::wording::{self, join};
use crate::frames::{Point2, Sheet};
use kurbo::Rect;

/// What waits for the reference: it is computed when all the rest is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Slot {
    /// Its letters.
    Letters { place: Point2<Sheet>, style: Style },
    /// The code, with the lower left corner of the white about it.
    Code(Point2<Sheet>),
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    Text(String),
    /// Known now, but no part of what the reference is computed from.
    Stamp(String),
    /// The reference's letters and, where it has a side in mm, the code beside them.
    Reference {
        code_mm: f64,
    },
    /// For the one who measures to fill in.
    Empty,
}

/// A field: its label, what it holds, its share of the row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cell {
    label: &'static str,
    value: Value,
    style: Style,
    share: f64,
}

fn cell(label: &'static str, value: Value, style: Style, share: f64) -> Cell {
    Cell {
        label,
        value,
        style,
        share,
    }
}

fn text(label: &'static str, value: impl Into<String>, style: Style, share: f64) -> Cell {
    cell(label, Value::Text(value.into()), style, share)
}

impl Cell {
    /// The step at which it fits its field.
    fn step(&self, width: f64) -> Style {
        let room = self.share * width - 2.0 * PAD_MM;
        match &self.value {
            // A stamp must not change how what it stands among is set.
            Value::Empty | Value::Stamp(_) => self.style,
            Value::Reference { code_mm } => fitting(self.style, WIDEST_REFERENCE, room - code_mm),
            Value::Text(said) => fitting(self.style, said, room),
        }
    }
}

/// A reference in its widest letters.
const WIDEST_REFERENCE: &str = "WWWWW WWWWW";

/// The step for each style asked for: one for all fields that were meant to be alike, so that the
/// title looks even; a note's 2.5 mm at least, below which a field shrinks on its own.
fn steps(rows: &[Row], width: f64) -> Vec<(Style, Style)> {
    let mut out: Vec<(Style, Style)> = Vec::new();
    for cell in rows.iter().flat_map(|r| &r.cells) {
        let step = cell.step(width);
        let step = if step.cap_mm() < Style::NOTE.cap_mm() {
            Style::NOTE
        } else {
            step
        };
        match out.iter_mut().find(|(asked, _)| *asked == cell.style) {
            Some((_, least)) if step.cap_mm() < least.cap_mm() => *least = step,
            Some(_) => {}
            None => out.push((cell.style, step)),
        }
    }
    out
}

fn step_of(steps: &[(Style, Style)], asked: Style) -> Style {
    steps
        .iter()
        .find(|(a, _)| *a == asked)
        .map_or(asked, |(_, step)| *step)
}

/// A row of fields with its height.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    height: f64,
    cells: Vec<Cell>,
}

/// What kind of sheet this is among how many, and on what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct SheetNumber {
    pub(super) n: usize,
    pub(super) of: usize,
}

impl SheetNumber {
    pub(super) fn says(self) -> String {
        format!("{} of {}", self.n, self.of)
    }
}

/// Any reference: its code is as large as that of every other.
const SOME_REFERENCE: &str = "AAAAAAAAAA";

/// The code of a sheet with this reference: the address typed for it, else the letters.
pub(super) fn code(w: &Words, reference: &str) -> Option<Code> {
    Code::of(w.address.trim()).or_else(|| Code::of(reference))
}

fn code_side(w: &Words) -> f64 {
    Code::side_mm_of(w.address.trim())
        .or_else(|| Code::side_mm_of(SOME_REFERENCE))
        .unwrap_or(0.0)
}

/// The fields of a title block, set in two sizes; each takes its share of a row.
struct Fields<'a> {
    sheet: &'a TemplateSheet,
    number: SheetNumber,
    /// The style of what is looked for first, and of the rest.
    name: Style,
    value: Style,
    code_mm: f64,
}

impl Fields<'_> {
    fn words(&self) -> &Words {
        &self.sheet.words
    }
    fn job(&self, share: f64) -> Cell {
        text("Job", &self.words().job, self.name, share)
    }
    fn issue(&self, share: f64) -> Cell {
        let w = self.words();
        let said = join(&[&w.issue.to_string(), &w.issue_date], " · ");
        text("Issue", said, self.value, share)
    }
    fn part(&self, share: f64) -> Cell {
        let said = join(&[&self.words().part, &self.words().face], " · ");
        text("Part · face", said, self.value, share)
    }
    fn feature(&self, share: f64) -> Cell {
        let said = wording::feature_field(self.words());
        text("Feature", said, self.value, share)
    }
    fn template(&self, share: f64) -> Cell {
        let w = self.words();
        let said = join(&[wording::kind(w), &w.template_number], " ");
        text("Template", said, self.value, share)
    }
    fn piece(&self, share: f64) -> Cell {
        text("For piece", &self.words().piece, self.value, share)
    }
    fn serves(&self, share: f64) -> Cell {
        let said = wording::pieces(self.words());
        text("Serves pieces", said, self.value, share)
    }
    fn paper(&self, share: f64) -> Cell {
        let said = format!("{} · {}", self.number.says(), self.sheet.setup.paper.name());
        text("Sheet", said, self.value, share)
    }
    fn prepared(&self, share: f64) -> Cell {
        text(
            "Prepared for",
            &self.words().prepared_for,
            self.value,
            share,
        )
    }
    fn finish(&self, share: f64) -> Cell {
        text("Finish", &self.words().finish, self.value, share)
    }
    fn printer(&self, share: f64) -> Cell {
        // The correction is in the reference as a number; a printer's name is no part of a sheet.
        let said = Value::Stamp(wording::printer_field(self.words(), self.sheet.correction));
        cell("Printer · scale used", said, self.value, share)
    }
    fn made(&self, share: f64) -> Cell {
        let said = Value::Stamp(join(&[&self.words().program, &self.words().date], " · "));
        cell("Made by", said, self.value, share)
    }
    fn supersedes(&self, share: f64) -> Cell {
        let said = Value::Stamp(self.words().supersedes.clone());
        cell("Supersedes", said, self.value, share)
    }
    fn letters(&self, share: f64) -> Cell {
        let code_mm = self.code_mm;
        cell("Reference", Value::Reference { code_mm }, self.name, share)
    }
}

fn row(height: f64, cells: Vec<Cell>) -> Row {
    Row { height, cells }
}

/// The rows of the title block.
pub(super) fn rows(sheet: &TemplateSheet, number: SheetNumber, large: bool) -> Vec<Row> {
    let (name, value) = if large {
        (Style::NAME, Style::VALUE)
    } else {
        (Style::HEADING, Style::NOTE)
    };
    let code_mm = code_side(&sheet.words);
    let f = Fields {
        sheet,
        number,
        name,
        value,
        code_mm,
    };
    let (tall, low) = (name.cap_mm() + 8.6, value.cap_mm() + 6.0);
    let for_one = !sheet.words.piece.is_empty();
    let pieces = if for_one {
        vec![f.piece(0.2), f.serves(0.46), f.paper(0.34)]
    } else {
        vec![f.serves(0.66), f.paper(0.34)]
    };
    vec![
        row(tall, vec![f.job(0.66), f.issue(0.34)]),
        row(low, vec![f.part(0.4), f.feature(0.26), f.template(0.34)]),
        row(low, pieces),
        row(low, vec![f.prepared(0.4), f.finish(0.6)]),
        row(low, vec![f.printer(1.0)]),
        row(low, vec![f.made(0.6), f.supersedes(0.4)]),
        row(tall.max(code_mm), vec![f.letters(1.0)]),
    ]
}

/// The same fields in few rows, for a title that lies along the whole foot of a sheet.
pub(super) fn rows_along(sheet: &TemplateSheet, number: SheetNumber, width: f64) -> Vec<Row> {
    let (name, value) = (Style::HEADING, Style::NOTE);
    let (tall, low) = (name.cap_mm() + 7.6, value.cap_mm() + 6.0);
    let code_mm = code_side(&sheet.words);
    let f = Fields {
        sheet,
        number,
        name,
        value,
        code_mm,
    };
    if width >= WIDE_FOOT_MM {
        vec![
            row(
                tall,
                vec![
                    f.job(0.24),
                    f.part(0.2),
                    f.feature(0.13),
                    f.template(0.13),
                    f.issue(0.12),
                    f.piece(0.07),
                    f.serves(0.11),
                ],
            ),
            row(
                tall.max(code_mm),
                vec![
                    f.paper(0.08),
                    f.prepared(0.15),
                    f.finish(0.16),
                    f.printer(0.14),
                    f.made(0.16),
                    f.supersedes(0.08),
                    f.letters(0.23),
                ],
            ),
        ]
    } else {
        vec![
            row(
                tall,
                vec![f.job(0.5), f.issue(0.2), f.piece(0.1), f.serves(0.2)],
            ),
            row(
                low,
                vec![
                    f.part(0.35),
                    f.feature(0.25),
                    f.template(0.22),
                    f.paper(0.18),
                ],
            ),
            row(low, vec![f.prepared(0.33), f.finish(0.34), f.printer(0.33)]),
            row(
                tall.max(code_mm),
                vec![f.made(0.33), f.supersedes(0.2), f.letters(0.47)],
            ),
        ]
    }
}

/// A foot from here on takes the title in two rows.
const WIDE_FOOT_MM: f64 = 240.0;

/// The one row at the foot of each of several sheets.
/// Shares of the footer that are the same whatever is written: the reference, and what is to be
/// filled in.
const REFERENCE_SHARE: f64 = 0.215;
const TAPE_SHARES: [f64; 2] = [0.1, 0.085];

/// The row along the foot of a sheet, `width` mm wide: short words take what they need, so that a
/// name has the rest.
pub(super) fn footer(sheet: &TemplateSheet, number: SheetNumber, width: f64) -> Row {
    let w = &sheet.words;
    let value = Style::NOTE;
    let [across, up] = TAPE_SHARES;
    let mut cells = vec![
        text("Job", &w.job, value, 0.0),
        text("Feature", wording::feature_field(w), value, 0.0),
        text("Pieces", wording::pieces(w).replace(" · ", "·"), value, 0.0),
        text(
            "Template, issue",
            format!("{} · {}", w.template_number, w.issue),
            value,
            0.0,
        ),
        text("Sheet", number.says(), Style::VALUE_BOLD, 0.0),
    ];
    share_out(&mut cells, width, 1.0 - REFERENCE_SHARE - across - up);
    cells.extend([
        cell(
            "Reference",
            Value::Reference { code_mm: 0.0 },
            Style::VALUE_BOLD,
            REFERENCE_SHARE,
        ),
        cell("Tape, across", Value::Empty, value, across),
        cell("Tape, up", Value::Empty, value, up),
    ]);
    Row {
        height: FOOTER_MM,
        cells,
    }
}

/// Shares a part of a row among fields: each what its words need in the smallest letters or an even
/// part, those that need least first; then what they need as they are wished, the ones that lack
/// least first; what remains goes to all alike.
fn share_out(cells: &mut [Cell], width: f64, whole: f64) {
    let label = |c: &Cell| Style::FIELD.width_mm(c.label);
    let need = |c: &Cell, style: Style| {
        let said = match &c.value {
            Value::Text(said) | Value::Stamp(said) => style.width_mm(said),
            Value::Reference { .. } | Value::Empty => 0.0,
        };
        (said.max(label(c)) + 2.0 * PAD_MM + 0.2) / width.max(1.0)
    };
    let mut left = whole;
    let mut order: Vec<(usize, f64)> = (cells.iter().map(|c| need(c, Style::FIELD)))
        .enumerate()
        .collect();
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let all: f64 = cells.iter().map(|_| 1.0).sum();
    let mut waiting = all;
    for (i, need) in order {
        let share = need.min(left / waiting);
        left -= share;
        waiting -= 1.0;
        if let Some(c) = cells.get_mut(i) {
            c.share = share;
        }
    }
    let mut lack: Vec<(usize, f64)> = (cells.iter().map(|c| need(c, c.style) - c.share))
        .enumerate()
        .collect();
    lack.sort_by(|a, b| a.1.total_cmp(&b.1));
    for (i, more) in lack {
        if let Some(c) = cells.get_mut(i).filter(|_| more > 0.0 && more <= left) {
            c.share += more;
            left -= more;
        }
    }
    for c in cells {
        c.share += left / all;
    }
}

/// Height of the footer.
pub(super) const FOOTER_MM: f64 = 10.0;

pub(super) fn height(rows: &[Row]) -> f64 {
    rows.iter().map(|r| r.height).sum()
}

/// Draws rows downwards from the top of a box as wide as it; collects where references go.
pub(super) fn draw(board: &mut Board<Sheet>, rows: &[Row], within: Rect, slots: &mut Vec<Slot>) {
    let p = |x, y| Point2::from_mm(x, y);
    let steps = steps(rows, within.width());
    let stretch = (within.height() / height(rows).max(1.0)).max(1.0);
    let mut top = within.y1;
    for row in rows {
        let bottom = top - row.height * stretch;
        let mut x = within.x0;
        for (i, field) in row.cells.iter().enumerate() {
            let style = step_of(&steps, field.style);
            let x1 = x + field.share * within.width();
            draw_cell(board, field, style, Rect::new(x, bottom, x1, top), slots);
            if i + 1 < row.cells.len() {
                board.lines(Meaning::Rule, &[p(x1, bottom), p(x1, top)]);
            }
            x = x1;
        }
        if bottom > within.y0 + 0.01 {
            board.lines(Meaning::Rule, &[p(within.x0, bottom), p(within.x1, bottom)]);
        }
        top = bottom;
    }
}

const PAD_MM: f64 = 1.6;

fn draw_cell(board: &mut Board<Sheet>, field: &Cell, style: Style, r: Rect, slots: &mut Vec<Slot>) {
    let room = r.width() - 2.0 * PAD_MM;
    let label = Style::FIELD.cut_to(field.label, room);
    let head = Point2::from_mm(r.x0 + PAD_MM, r.y1 - 1.2 - Style::FIELD.cap_mm());
    board.text(head, &label, Style::FIELD, Side::Start, Run::Across);
    // Halfway between what hangs below the letters and the field's label.
    let space = r.height() - 1.2 - Style::FIELD.cap_mm() - style.cap_mm() * 1.3;
    let foot = Point2::from_mm(r.x0 + PAD_MM, r.y0 + space * 0.4 + style.cap_mm() * 0.3);
    let since = board.items().len();
    match &field.value {
        Value::Empty => {}
        Value::Reference { code_mm } => {
            slots.push(Slot::Letters { place: foot, style });
            if *code_mm > 0.0 {
                let low = r.y0 + (r.height() - code_mm) / 2.0;
                slots.push(Slot::Code(Point2::from_mm(r.x1 - code_mm, low)));
            }
        }
        Value::Text(said) | Value::Stamp(said) => {
            let said = if said.trim().is_empty() { "–" } else { said };
            let style = fitting(style, said, room);
            let shown = style.cut_to(said, room);
            board.text(foot, &shown, style, Side::Start, Run::Across);
        }
    }
    if matches!(field.value, Value::Stamp(_)) {
        board.stamp_since(since);
    }
}

/// The largest step of ISO 3098 not above the one wished at which the words fit.
fn fitting(wish: Style, said: &str, room: f64) -> Style {
    let steps = [
        Style::NAME,
        Style::HEADING,
        Style::VALUE_BOLD,
        Style::VALUE,
        Style::NOTE,
        Style::FIELD,
    ];
    steps
        .into_iter()
        .filter(|s| s.cap_mm() < wish.cap_mm() || *s == wish)
        .find(|s| s.width_mm(said) <= room)
        .unwrap_or(Style::FIELD)
}
