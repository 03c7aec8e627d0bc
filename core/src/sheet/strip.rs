//! The strip that is torn off and kept with the piece: everything that isn't on the template.

use super::board::{Board, Run, Side, Style};
use super::drawing::Meaning;
use super::ground::Ground;
use super::input::TemplateSheet;
use super::title::{self, Row, SheetNumber, Slot};
use super::wording::{self, join, sentence};
use super::{key, tiles::Grid};
use crate::frames::{Point2, Sheet};
use kurbo::Rect;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Inside edge of a block.
const PAD_MM: f64 = 3.0;
/// What a sheet says until its printer is proved.
pub(super) const NOT_PROVED: &str = "SIZE NOT PROVED: MEASURE BOTH BARS";
/// So many cautions stand in one block.
const CAUTIONS_TOGETHER: usize = 2;
/// So many things of a block stay together where it is broken: every heading stands first of its own.
const PIECES_TOGETHER: usize = 3;
/// And so many warnings.
const WARNINGS_TOGETHER: usize = 12;
/// What an arrow at a hole says.
const LEANS: &str =
    "An arrow at a hole shows which way the drill’s free end leans, seen from outside.";
/// Between two things in a block.
const GAP_MM: f64 = 1.4;

/// One thing in a block of the strip.
#[derive(Debug, Clone, PartialEq)]
enum Piece {
    Banner(String),
    Heading(String),
    Body(String),
    Note(String),
    Caution(Vec<String>),
    TapeBoxes,
    Key(Vec<key::Sample>),
    Map,
}

/// The strip's blocks and its title, in one of two sizes of lettering.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strip {
    large: bool,
    blocks: Rc<Vec<Vec<Piece>>>,
    /// How tall the blocks are in a column, by its width (as bits): the same widths are tried for
    /// every sheet of a template.
    heights: Rc<RefCell<BTreeMap<u64, Vec<f64>>>>,
    rows: Vec<Row>,
    map: Option<(Grid, usize)>,
}

/// How the blocks stand: so many columns of one width.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Plan {
    columns: Vec<core::ops::Range<usize>>,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Strip {
    pub(super) fn new(
        sheet: &TemplateSheet,
        ground: &Ground,
        number: SheetNumber,
        large: bool,
        map: Option<(Grid, usize)>,
    ) -> Self {
        let rows = title::rows(sheet, number, large);
        Self {
            large,
            blocks: Rc::new(blocks(sheet, ground, map.is_some())),
            heights: Rc::default(),
            rows,
            map,
        }
    }

    /// The same strip on another sheet of the same template.
    pub(super) fn on_sheet(
        &self,
        sheet: &TemplateSheet,
        number: SheetNumber,
        map: Option<(Grid, usize)>,
    ) -> Self {
        Self {
            rows: title::rows(sheet, number, self.large),
            map,
            ..self.clone()
        }
    }

    /// The same with its long blocks broken, so that they go over several sheets; a heading keeps what
    /// follows it.
    pub(super) fn broken(&self) -> Self {
        let parts = self.blocks.iter().flat_map(|b| b.chunks(PIECES_TOGETHER));
        Self {
            blocks: Rc::new(parts.map(<[Piece]>::to_vec).collect()),
            heights: Rc::default(),
            ..self.clone()
        }
    }

    /// How many blocks it has.
    pub(super) fn blocks(&self) -> usize {
        self.blocks.len()
    }

    /// Some of its blocks on a sheet of their own.
    pub(super) fn part(
        &self,
        sheet: &TemplateSheet,
        number: SheetNumber,
        of: core::ops::Range<usize>,
    ) -> Self {
        Self {
            blocks: Rc::new(self.blocks.get(of).unwrap_or_default().to_vec()),
            heights: Rc::default(),
            ..self.on_sheet(sheet, number, self.map.clone())
        }
    }

    /// The same without its title, which then stands elsewhere on the sheet.
    pub(super) fn untitled(self) -> Self {
        Self {
            rows: Vec::new(),
            ..self
        }
    }

    fn heading(&self) -> Style {
        if self.large {
            Style::HEADING
        } else {
            Style::VALUE_BOLD
        }
    }
    fn body(&self) -> Style {
        if self.large {
            Style::VALUE
        } else {
            Style::NOTE
        }
    }

    fn block_height(&self, block: &[Piece], width: f64) -> f64 {
        self.run_block(None, block, 0.0, 0.0, width)
    }

    /// Stands the blocks in `n` columns of one width so that the tallest is as low as can be; the
    /// title closes the last.
    pub(super) fn plan(&self, width: f64, n: usize) -> Plan {
        #[expect(clippy::cast_precision_loss, reason = "one to five columns")]
        let column = width / n.max(1) as f64;
        let mut kept = self.heights.borrow_mut();
        let mut heights = kept
            .entry(column.to_bits())
            .or_insert_with(|| {
                self.blocks
                    .iter()
                    .map(|b| self.block_height(b, column))
                    .collect()
            })
            .clone();
        heights.push(title::height(&self.rows));
        let (height, columns) = split(&heights, n.max(1));
        Plan {
            columns,
            width,
            height,
        }
    }

    /// Draws the strip into the box, whose size is at least the plan's.
    pub(super) fn draw(
        &self,
        board: &mut Board<Sheet>,
        plan: &Plan,
        within: Rect,
        slots: &mut Vec<Slot>,
    ) {
        let p = |x, y| Point2::from_mm(x, y);
        #[expect(clippy::cast_precision_loss, reason = "one to five columns")]
        let column = within.width() / plan.columns.len().max(1) as f64;
        let mut x = within.x0;
        for (i, range) in plan.columns.iter().enumerate() {
            if i > 0 {
                board.lines(Meaning::Rule, &[p(x, within.y0), p(x, within.y1)]);
            }
            let has_title = range.end > self.blocks.len();
            let own = self
                .blocks
                .get(range.start..range.end.min(self.blocks.len()));
            let own = own.unwrap_or_default();
            // What is left over is shared out between the blocks of a column.
            let used: f64 = own
                .iter()
                .map(|b| self.block_height(b, column))
                .sum::<f64>()
                + if has_title {
                    title::height(&self.rows)
                } else {
                    0.0
                };
            #[expect(clippy::cast_precision_loss, reason = "a few blocks")]
            let share = ((within.height() - used) / (own.len().max(1) as f64)).clamp(0.0, 9.0);
            let mut y = within.y1;
            for (k, block) in own.iter().enumerate() {
                y -= self.run_block(Some(board), block, x, y, column) + share;
                if k + 1 < own.len() {
                    board.lines(Meaning::Rule, &[p(x, y), p(x + column, y)]);
                }
            }
            if has_title {
                // The title grows into what a shorter column leaves over, up to half its height.
                let high = title::height(&self.rows);
                let grown = high + (within.height() - used).clamp(0.0, 0.5 * high);
                let grown = if own.is_empty() { grown } else { high };
                let top = within.y0 + grown;
                board.lines(Meaning::Frame, &[p(x, top), p(x + column, top)]);
                if i > 0 {
                    board.lines(Meaning::Frame, &[p(x, top), p(x, within.y0)]);
                }
                let r = Rect::new(x, within.y0, x + column, top);
                title::draw(board, &self.rows, r, slots);
            } else if !own.is_empty() && y > within.y0 + 12.0 {
                board.lines(Meaning::Rule, &[p(x, y), p(x + column, y)]);
            }
            x += column;
        }
    }

    /// Runs through a block from the top down, drawing where there is a board; returns its height.
    fn run_block(
        &self,
        mut board: Option<&mut Board<Sheet>>,
        block: &[Piece],
        x: f64,
        top: f64,
        width: f64,
    ) -> f64 {
        let (left, room) = (x + PAD_MM, width - 2.0 * PAD_MM);
        let mut y = top - PAD_MM;
        for (i, piece) in block.iter().enumerate() {
            if i > 0 {
                y -= GAP_MM;
            }
            y = self.run_piece(board.as_deref_mut(), piece, left, y, room);
        }
        top - (y - PAD_MM)
    }

    fn run_piece(
        &self,
        board: Option<&mut Board<Sheet>>,
        piece: &Piece,
        x: f64,
        y: f64,
        room: f64,
    ) -> f64 {
        match piece {
            Piece::Heading(said) => paragraph(board, said, self.heading(), x, y, room),
            Piece::Body(said) => paragraph(board, said, self.body(), x, y, room),
            Piece::Note(said) => paragraph(board, said, Style::NOTE, x, y, room),
            Piece::Banner(said) => {
                let wide = Style::VALUE_BOLD.width_mm(said) > room - 6.0;
                let style = if self.large && !wide {
                    Style::VALUE_BOLD
                } else {
                    Style::NOTE_BOLD
                };
                let mut lines = style.wrap(NOT_PROVED, room - 6.0);
                if said != NOT_PROVED {
                    // As high as the other: a proof must not move anything on the sheet.
                    let high = lines.len();
                    lines = style.wrap(said, room - 6.0);
                    lines.resize(high, String::new());
                }
                #[expect(clippy::cast_precision_loss, reason = "a few lines")]
                let h = style.pitch_mm() * (lines.len() as f64 - 1.0) + style.cap_mm() + 4.4;
                if let Some(board) = board {
                    board.rect(Meaning::Frame, Rect::new(x, y - h, x + room, y));
                    let mut foot = y - 2.2 - style.cap_mm();
                    let since = board.items().len();
                    for line in &lines {
                        let at = Point2::from_mm(x + room / 2.0, foot);
                        board.text(at, line, style, Side::Middle, Run::Across);
                        foot -= style.pitch_mm();
                    }
                    board.stamp_since(since);
                }
                y - h - 0.8
            }
            Piece::Caution(said) => {
                let side = if self.large { 9.0 } else { 7.0 };
                let style = self.body();
                let mut foot = y;
                let mut board = board;
                if let Some(board) = board.as_deref_mut() {
                    triangle(board, x, y, side);
                }
                for (i, line) in said.iter().enumerate() {
                    if i > 0 {
                        foot -= GAP_MM * 0.6;
                    }
                    let at = x + side + 3.0;
                    foot = paragraph(
                        board.as_deref_mut(),
                        line,
                        style,
                        at,
                        foot,
                        room - side - 3.0,
                    );
                }
                foot.min(y - side)
            }
            Piece::TapeBoxes => {
                let h = if self.large { 11.0 } else { 9.5 };
                if let Some(board) = board {
                    tape_boxes(board, x, y, room, h);
                }
                y - h
            }
            Piece::Key(samples) => key::draw(board, samples, x, y, room),
            Piece::Map => match &self.map {
                Some((grid, here)) => {
                    let (_, h) = grid.map_size(room.min(60.0), 34.0);
                    if let Some(board) = board {
                        grid.draw_map(
                            board,
                            Rect::new(x, y - h, x + room.min(60.0), y),
                            *here,
                            true,
                        );
                    }
                    y - h
                }
                None => y,
            },
        }
    }
}

/// The least greatest height of `n` runs of blocks in order, and the runs.
fn split(heights: &[f64], n: usize) -> (f64, Vec<core::ops::Range<usize>>) {
    let all: f64 = heights.iter().sum();
    let sum = |r: core::ops::Range<usize>| heights.get(r).map_or(0.0, |h| h.iter().sum::<f64>());
    if n <= 1 {
        return (all, core::iter::once(0..heights.len()).collect());
    }
    let mut best = (f64::INFINITY, Vec::new());
    // The first column takes some blocks, the rest is the same question with a column fewer.
    for k in 1..=heights.len() {
        let first = sum(0..k);
        if first >= best.0 {
            break;
        }
        let (rest, runs) = split(heights.get(k..).unwrap_or_default(), n - 1);
        if first.max(rest) < best.0 - 1e-9 {
            let mut columns: Vec<_> = core::iter::once(0..k).collect();
            columns.extend(runs.into_iter().map(|r| r.start + k..r.end + k));
            best = (first.max(rest), columns);
        }
    }
    best
}

fn paragraph(
    board: Option<&mut Board<Sheet>>,
    said: &str,
    style: Style,
    x: f64,
    y: f64,
    room: f64,
) -> f64 {
    let Some(board) = board else {
        return foot_of(y, style, style.lines_of(said, room));
    };
    let lines = style.wrap(said, room);
    let mut foot = y - style.cap_mm();
    for line in &lines {
        board.text(
            Point2::from_mm(x, foot),
            line,
            style,
            Side::Start,
            Run::Across,
        );
        foot -= style.pitch_mm();
    }
    foot_of(y, style, lines.len())
}

/// Where a paragraph of so many lines ends.
fn foot_of(top: f64, style: Style, lines: usize) -> f64 {
    let Some(last) = lines.checked_sub(1) else {
        return top;
    };
    // Room for what hangs below the last baseline.
    let baseline = (0..last).fold(top - style.cap_mm(), |y, _| y - style.pitch_mm());
    baseline - style.cap_mm() * 0.3
}

/// A triangle with an exclamation mark, in ink.
fn triangle(board: &mut Board<Sheet>, x: f64, y: f64, side: f64) {
    let p = |dx: f64, dy: f64| Point2::from_mm(x + dx, y - dy);
    let h = side * 0.87;
    board.ring(Meaning::Note, &[p(side / 2.0, 0.0), p(side, h), p(0.0, h)]);
    let at = p(side / 2.0, h * 0.86);
    board.text(
        at,
        "!",
        if side > 8.0 {
            Style::HEADING
        } else {
            Style::VALUE_BOLD
        },
        Side::Middle,
        Run::Across,
    );
}

fn tape_boxes(board: &mut Board<Sheet>, x: f64, y: f64, room: f64, h: f64) {
    let w = room.min(130.0);
    let shares = [
        ("tape says, across", 0.33),
        ("tape says, up", 0.29),
        ("initials, date", 0.38),
    ];
    board.rect(Meaning::Rule, Rect::new(x, y - h, x + w, y));
    let mut at = x;
    for (i, (label, share)) in shares.into_iter().enumerate() {
        if i > 0 {
            board.lines(
                Meaning::Rule,
                &[Point2::from_mm(at, y - h), Point2::from_mm(at, y)],
            );
        }
        let place = Point2::from_mm(at + 1.3, y - 1.1 - Style::FIELD.cap_mm());
        let label = Style::FIELD.cut_to(label, share * w - 2.0);
        board.text(place, &label, Style::FIELD, Side::Start, Run::Across);
        at += share * w;
    }
}

fn blocks(sheet: &TemplateSheet, ground: &Ground, tiled: bool) -> Vec<Vec<Piece>> {
    let w = &sheet.words;
    let mut out = Vec::new();
    let proof = Piece::Banner(wording::proof(&w.proof));
    out.push(vec![proof, Piece::TapeBoxes, Piece::Note(ground.corners())]);

    let tape = if sheet.darts.is_empty() {
        "Tape on the sheet"
    } else if sheet.arms {
        "Tape on the flat sheet, wedges uncut"
    } else {
        "Tape on the flat sheet, darts open"
    };
    if let Some(hand) = wording::hand_check(w, &sheet.crosses) {
        let mut block = vec![
            Piece::Heading("HAND CHECK".into()),
            Piece::Body(format!(
                "{hand} If it runs the other way the sheet is mirrored: stop."
            )),
        ];
        let distances = wording::distances(&sheet.crosses);
        if !distances.is_empty() {
            block.push(Piece::Body(format!("{tape}: {distances}")));
        }
        out.push(block);
    } else {
        let distances = wording::distances(&sheet.crosses);
        if !distances.is_empty() {
            out.push(vec![Piece::Body(format!("{tape}: {distances}"))]);
        }
    }
    out.extend(error_block(sheet));
    let mut marking = Vec::new();
    if !w.allowance.is_empty() {
        marking.push(Piece::Body(sentence(&w.allowance)));
    }
    let with = join(
        &[
            &if w.marker.is_empty() {
                String::new()
            } else {
                format!("marker: {}", w.marker)
            },
            &w.material,
        ],
        " · ",
    );
    if !with.is_empty() {
        marking.push(Piece::Body(sentence(&with)));
    }
    if !marking.is_empty() {
        let heading = if sheet.holes.is_empty() {
            "MARKING"
        } else {
            "DRILLING"
        };
        marking.extend(w.holes.iter().map(|h| Piece::Body(sentence(h))));
        if sheet.holes.iter().any(|h| h.leans.is_some()) {
            marking.push(Piece::Body(LEANS.into()));
        }
        marking.insert(0, Piece::Heading(heading.into()));
        out.push(marking);
    }
    if let Some(plug) = &w.plug {
        let mut block = vec![Piece::Heading(format!("PLUG {}", plug.number))];
        block.extend(plug.steps.iter().map(|s| Piece::Body(sentence(s))));
        out.push(block);
    }
    if !w.warnings.is_empty() {
        // A template of many pieces has many: in parts, so that they go over columns and sheets.
        let parts = w.warnings.chunks(WARNINGS_TOGETHER);
        out.extend(parts.map(|part| part.iter().cloned().map(Piece::Body).collect()));
    }
    if !w.cautions.is_empty() {
        // In parts, so that they stand beside each other where there are columns.
        let parts = w.cautions.chunks(CAUTIONS_TOGETHER);
        out.extend(parts.map(|part| vec![Piece::Caution(part.to_vec())]));
    }
    let mut block = vec![
        Piece::Key(key::samples(sheet, tiled)),
        Piece::Note(if sheet.words.is_of_a_piece() {
            "Cut corner: top right, this side out. Tear off this strip; it stays with the piece."
                .into()
        } else {
            "Cut corner: top right, this side out.".into()
        }),
    ];
    if tiled {
        block.push(Piece::Map);
    }
    out.push(block);
    out
}

fn error_block(sheet: &TemplateSheet) -> Option<Vec<Piece>> {
    let w = &sheet.words;
    let mut block = Vec::new();
    if let Some(e) = &w.worst_error {
        block.push(Piece::Heading(format!(
            "WORST ERROR {} of {}\u{a0}mm",
            wording::mm1(e.worst.mm()),
            wording::mm1(e.allowed.mm())
        )));
        let terms: Vec<String> = e
            .terms
            .iter()
            .map(|(name, size)| {
                format!(
                    "{}\u{a0}{}",
                    name.replace(' ', "\u{a0}"),
                    wording::mm1(size.mm())
                )
            })
            .collect();
        if !terms.is_empty() {
            block.push(Piece::Body(terms.join(" · ")));
        }
    }
    if !w.instead_of_nominal.is_empty() {
        block.push(Piece::Body(w.instead_of_nominal.clone()));
    }
    (!block.is_empty()).then_some(block)
}

/// What the strip says, a line each, for readers of the file.
pub(super) fn readable(sheet: &TemplateSheet, ground: &Ground) -> Vec<String> {
    blocks(sheet, ground, false)
        .into_iter()
        .flatten()
        .flat_map(|piece| match piece {
            Piece::Banner(s) | Piece::Heading(s) | Piece::Body(s) | Piece::Note(s) => vec![s],
            Piece::Caution(lines) => lines,
            Piece::TapeBoxes | Piece::Key(_) | Piece::Map => Vec::new(),
        })
        .collect()
}
