//! A page to read and to sign: words, a table, a picture, boxes for a pen. Black on white, A4 or
//! Letter, as many pages as the table needs.

use super::board::{Board, Run, Side, Style};
use super::drawing::{Drawing, Meaning, Page, PaperSize};
use super::error::SheetError;
use super::paper::Paper;
use super::reference::{grouped, reference};
use crate::frames::{Flat, Point2, Sheet};
use crate::units::Length;
use kurbo::Rect;

/// Left free all round, mm: a hole punch and most printers need no more.
const MARGIN_MM: f64 = 15.0;
/// Between two blocks, mm.
const GAP_MM: f64 = 5.0;
/// Height of the picture, mm; less where the page has less left, but no less than that.
const PICTURE_MM: f64 = 92.0;
const LEAST_PICTURE_MM: f64 = 60.0;
/// A box for a pen, mm.
const BOX_MM: f64 = 15.0;

/// What the page is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Letter {
    /// The job.
    pub job: String,
    /// What it is: *Change slip, issue 2*.
    pub title: String,
    /// Beside the title, in large letters: *NOT APPROVED*.
    pub stamp: String,
    /// The day, program and such, at the foot.
    pub foot: String,
    /// What stands on it.
    pub blocks: Vec<Block>,
    /// The issue it belongs to.
    pub issue: u32,
}

/// One block of a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Words(String),
    /// Short paragraphs in small letters, close to each other.
    Small(Vec<String>),
    /// What leads: larger.
    Lead(String),
    /// Rows under headings; each column with its share of the width.
    Table {
        /// Headings and shares.
        columns: Vec<(String, f64)>,
        /// Rows, a cell a column.
        rows: Vec<Vec<String>>,
    },
    /// Before and after.
    Picture(Picture),
    /// Empty boxes with a label each, side by side.
    Boxes(Vec<String>),
}

/// An outline as it was (dotted) and as it will be (solid), with the marks it is found from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// As it was; closed runs.
    pub was: Vec<Vec<Point2<Flat>>>,
    /// As it will be; closed runs.
    pub will: Vec<Vec<Point2<Flat>>>,
    /// Marks with their letters.
    pub marks: Vec<(String, Point2<Flat>)>,
}

struct Pen {
    paper: PaperSize,
    width: f64,
    height: f64,
    pages: Vec<Board<Sheet>>,
    board: Board<Sheet>,
    y: f64,
    said: Vec<String>,
}

/// Sets a page, or several where its table is long.
///
/// # Errors
/// A paper that is none.
pub fn letter(letter: &Letter, paper: Paper) -> Result<Drawing, SheetError> {
    let paper = paper.upright()?;
    let mm = |um: i32| f64::from(um) / 1000.0;
    let mut pen = Pen {
        paper,
        width: mm(paper.width),
        height: mm(paper.height),
        pages: Vec::new(),
        board: Board::new(),
        y: mm(paper.height) - MARGIN_MM,
        said: Vec::new(),
    };
    pen.head(letter);
    for block in &letter.blocks {
        pen.block(block);
    }
    let done = core::mem::replace(&mut pen.board, Board::new());
    pen.pages.push(done);
    Ok(finish(letter, pen))
}

fn at(x: f64, y: f64) -> Point2<Sheet> {
    Point2::from_mm(x, y)
}

impl Pen {
    const fn room(&self) -> f64 {
        self.width - 2.0 * MARGIN_MM
    }

    fn line(&mut self, text: &str, style: Style, x: f64) {
        self.board
            .text(at(x, self.y), text, style, Side::Start, Run::Across);
    }

    fn rule(&mut self, y: f64) {
        let (a, b) = (at(MARGIN_MM, y), at(self.width - MARGIN_MM, y));
        self.board.lines(Meaning::Rule, &[a, b]);
    }

    fn head(&mut self, letter: &Letter) {
        self.y -= Style::NAME.cap_mm();
        let title = Style::NAME.cut_to(&letter.title, self.room());
        self.line(&title, Style::NAME, MARGIN_MM);
        self.y -= 7.0;
        let under = Style::VALUE.cut_to(&letter.job, self.room());
        self.line(&under, Style::VALUE, MARGIN_MM);
        self.said.extend([letter.title.clone(), letter.job.clone()]);
        if !letter.stamp.is_empty() {
            self.y -= 11.0;
            let wide = Style::HEADING.width_mm(&letter.stamp) + 6.0;
            let r = Rect::new(MARGIN_MM, self.y - 2.5, MARGIN_MM + wide, self.y + 7.5);
            self.board.rect(Meaning::Frame, r);
            self.line(&letter.stamp, Style::HEADING, MARGIN_MM + 3.0);
            self.said.push(letter.stamp.clone());
        }
        self.y -= 5.0;
        self.rule(self.y);
        self.y -= GAP_MM;
    }

    /// Another page where this one has not that much left.
    fn need(&mut self, height: f64) {
        if self.y - height < MARGIN_MM + 6.0 {
            let done = core::mem::replace(&mut self.board, Board::new());
            self.pages.push(done);
            self.y = self.height - MARGIN_MM;
        }
    }

    fn words(&mut self, text: &str, style: Style) {
        for line in style.wrap(text, self.room()) {
            self.need(style.pitch_mm());
            self.y -= style.cap_mm();
            self.line(&line, style, MARGIN_MM);
            self.y -= style.pitch_mm() - style.cap_mm();
        }
        self.said.push(text.to_owned());
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => {
                self.need(20.0);
                self.y -= 2.0;
                self.words(text, Style::VALUE_BOLD);
                self.y -= 1.0;
                return;
            }
            Block::Words(text) => self.words(text, Style::VALUE),
            Block::Small(all) => {
                for text in all {
                    self.words(text, Style::NOTE);
                    self.y -= 1.0;
                }
                self.y -= 1.0;
                return;
            }
            Block::Lead(text) => self.words(text, Style::HEADING),
            Block::Table { columns, rows } => self.table(columns, rows),
            Block::Picture(picture) => self.picture(picture),
            Block::Boxes(labels) => self.boxes(labels),
        }
        self.y -= GAP_MM;
    }

    fn table(&mut self, columns: &[(String, f64)], rows: &[Vec<String>]) {
        let all: f64 = columns.iter().map(|c| c.1).sum();
        if all <= 0.0 {
            return;
        }
        let mut starts = Vec::new();
        let mut x = MARGIN_MM;
        for (_, share) in columns {
            let wide = share / all * self.room();
            starts.push((x, wide - 2.0));
            x += wide;
        }
        let headings: Vec<String> = columns.iter().map(|c| c.0.clone()).collect();
        self.need(14.0);
        self.row(&headings, &starts, Style::NOTE_BOLD);
        for row in rows {
            let lines = row
                .iter()
                .zip(&starts)
                .map(|(cell, (_, wide))| Style::NOTE.wrap(cell, *wide).len())
                .max()
                .unwrap_or(1);
            #[expect(clippy::cast_precision_loss, reason = "a few lines")]
            let height = lines as f64 * Style::NOTE.pitch_mm() + 2.0;
            let before = self.pages.len();
            self.need(height);
            if self.pages.len() > before {
                self.row(&headings, &starts, Style::NOTE_BOLD);
            }
            self.row(row, &starts, Style::NOTE);
            self.said.push(row.join(" · "));
        }
    }

    fn row(&mut self, cells: &[String], starts: &[(f64, f64)], style: Style) {
        let top = self.y;
        let mut low = top - style.pitch_mm();
        for (cell, (x, wide)) in cells.iter().zip(starts) {
            self.y = top;
            for line in style.wrap(cell, *wide) {
                self.y -= style.cap_mm();
                let shown = style.cut_to(&line, *wide);
                self.line(&shown, style, *x);
                self.y -= style.pitch_mm() - style.cap_mm();
            }
            low = low.min(self.y);
        }
        self.y = low - 0.4;
        self.rule(self.y);
        self.y -= 1.6;
    }

    fn boxes(&mut self, labels: &[String]) {
        #[expect(clippy::cast_precision_loss, reason = "a handful")]
        let wide = self.room() / labels.len().max(1) as f64;
        self.need(BOX_MM + 2.0);
        let mut x = MARGIN_MM;
        for label in labels {
            let r = Rect::new(x, self.y - BOX_MM, x + wide, self.y);
            self.board.rect(Meaning::Rule, r);
            let place = at(x + 1.5, self.y - 1.2 - Style::FIELD.cap_mm());
            self.board
                .text(place, label, Style::FIELD, Side::Start, Run::Across);
            self.said.push(format!("{label}: ______"));
            x += wide;
        }
        self.y -= BOX_MM;
    }

    fn picture(&mut self, picture: &Picture) {
        let points = || {
            let runs = picture.was.iter().chain(&picture.will).flatten();
            runs.copied().chain(picture.marks.iter().map(|m| m.1))
        };
        let Some(first) = points().next() else {
            return;
        };
        let (x0, y0) = (first.x_mm(), first.y_mm());
        let all = points().fold(Rect::new(x0, y0, x0, y0), |r, p| {
            r.union_pt(kurbo::Point::new(p.x_mm(), p.y_mm()))
        });
        let left = self.y - (MARGIN_MM + 6.0) - 8.0;
        let high = if left < LEAST_PICTURE_MM {
            PICTURE_MM
        } else {
            left.min(PICTURE_MM)
        };
        self.need(high + 8.0);
        let area = Rect::new(MARGIN_MM, self.y - high, self.width - MARGIN_MM, self.y);
        self.board.rect(Meaning::Rule, area);
        let inside = area.inset(-10.0);
        let fits = |side: f64, room: f64| {
            if side > 0.0 {
                room / side
            } else {
                f64::INFINITY
            }
        };
        let scale = fits(all.width(), inside.width())
            .min(fits(all.height(), inside.height()))
            .min(1.0);
        let (c, m) = (inside.center(), all.center());
        let put = |p: Point2<Flat>| {
            at(
                c.x + (p.x_mm() - m.x) * scale,
                c.y + (p.y_mm() - m.y) * scale,
            )
        };
        for run in &picture.was {
            let shown: Vec<_> = run.iter().map(|p| put(*p)).collect();
            self.dotted(&shown);
        }
        for run in &picture.will {
            let shown: Vec<_> = run.iter().map(|p| put(*p)).collect();
            self.board.ring(Meaning::Register, &shown);
        }
        for (letter, p) in &picture.marks {
            let q = put(*p);
            self.board
                .cross(q, Length::from_mm(3.0), Length::from_mm(1.2), letter);
            let beside = at(q.x_mm() + 3.0, q.y_mm() + 1.6);
            self.board
                .text(beside, letter, Style::VALUE_BOLD, Side::Start, Run::Across);
        }
        self.y -= high + 1.5 + Style::NOTE.cap_mm();
        let lines = if picture.was.is_empty() {
            ""
        } else {
            "Dotted: as it was. Solid: as it will be. "
        };
        let key = if scale < 0.999 {
            format!(
                "{lines}Seen from outside, {:.0} % of true size",
                scale * 100.0
            )
        } else {
            format!("{lines}Seen from outside, true size")
        };
        self.line(&key, Style::NOTE, MARGIN_MM);
        self.said.push(key);
        self.y -= 1.0;
    }

    /// Dots a millimetre and a half apart along a closed run.
    fn dotted(&mut self, run: &[Point2<Sheet>]) {
        let mut left = 0.0;
        let mut before = run.last().copied();
        for &p in run {
            let Some(from) = before.replace(p) else {
                continue;
            };
            let by = p - from;
            let length = by.norm_mm();
            while left < length {
                self.board.disc(
                    Meaning::AsDrawn,
                    from + by * (left / length),
                    Length::from_mm(0.25),
                );
                left += 1.5;
            }
            left -= length;
        }
    }
}

fn finish(letter: &Letter, mut pen: Pen) -> Drawing {
    let count = pen.pages.len();
    let mut drawing = Drawing {
        title: format!("{} · {}", letter.job, letter.title),
        reference: String::new(),
        readable: core::mem::take(&mut pen.said),
        pages: pen
            .pages
            .into_iter()
            .enumerate()
            .map(|(i, board)| Page {
                paper: pen.paper,
                name: format!("page {} of {count}", i + 1),
                items: board.into_items(),
            })
            .collect(),
    };
    drawing.reference = reference(&drawing, None, letter.issue);
    let shown = grouped(&drawing.reference);
    for (i, page) in drawing.pages.iter_mut().enumerate() {
        let mut board: Board<Sheet> = Board::new();
        let foot = format!("{} · {shown} · page {} of {count}", letter.foot, i + 1);
        let foot = Style::FIELD.cut_to(&foot, pen.width - 2.0 * MARGIN_MM);
        board.text(
            at(MARGIN_MM, MARGIN_MM),
            &foot,
            Style::FIELD,
            Side::Start,
            Run::Across,
        );
        board.stamp_since(0);
        page.items.extend(board.into_items());
    }
    drawing
}
