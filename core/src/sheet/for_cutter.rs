//! A template for a cutter: in one piece at true size, whatever paper there is, with two bars to measure
//! on what was cut.
//!
//! ```text
//!  ▏ ┌────────────┐  ┌────────────┐
//!  ▏ │  template  │  │ next patch │
//!  ▏ └────────────┘  └────────────┘
//!    |─── check bar across ───|
//!    which template, its reference, what a unit is
//! ```

use super::board::{Board, Run, Side, Style, um};
use super::body::{Begun, Body};
use super::drawing::{Drawing, Item, Meaning, Page, PaperSize, Spot};
use super::error::SheetError;
use super::ground::{LEAST_BAR_MM, bar_length};
use super::input::TemplateSheet;
use super::reference::grouped;
use super::wording::{self, join};
use crate::frames::{Point2, Sheet};

/// Between the trim lines of two patches, round the whole, and between bars and templates, mm.
const GAP_MM: f64 = 10.0;
/// A longer bar is no surer: half a metre is read with any tape.
const MOST_BAR_MM: f64 = 500.0;
/// The ticks at a bar's ends.
const TICK_MM: f64 = 4.0;
/// Words under the bar run no wider than this where the template is narrow.
const LEAST_WORDS_MM: f64 = 150.0;

/// Templates side by side on one page that is as large as they are, under the reference that their sheets
/// of paper bear. Nothing of it is scaled for a printer.
///
/// # Errors
/// A template without anything to draw, or out of all reach.
pub fn for_cutter(sheets: &[TemplateSheet], reference: &str) -> Result<Drawing, SheetError> {
    let first = sheets.first().ok_or(SheetError::Empty)?;
    let mut bodies = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        bodies.push(Begun::of(sheet)?.laid_out(&[])?);
    }
    let wide: f64 = bodies.iter().map(|b| b.bounds.width()).sum::<f64>()
        + GAP_MM * bodies.iter().skip(1).map(|_| 1.0).sum::<f64>();
    let high = bodies.iter().map(|b| b.bounds.height()).fold(0.0, f64::max);
    // A short template has a bar that is longer than it is.
    let [across, up] = [wide, high].map(|room| bar_length(room).clamp(LEAST_BAR_MM, MOST_BAR_MM));
    let said = Said::of(first, reference, wide.max(across), (across, up));

    let left = 2.0 * GAP_MM + Style::NOTE.cap_mm();
    let foot = GAP_MM + said.height();
    let mut board: Board<Sheet> = Board::new();
    said.draw(&mut board, left, foot);
    bar(&mut board, Run::Across, (left, foot), across);
    let base = foot + TICK_MM + GAP_MM;
    bar(&mut board, Run::Up, (GAP_MM + TICK_MM, base), up);

    let mut x = left;
    for Body { items, bounds, .. } in bodies {
        let by = Spot::new(um(x - bounds.x0), um(base - bounds.y0));
        board.extend(items.into_iter().map(|i: Item| i.moved(by)));
        x += bounds.width() + GAP_MM;
    }
    let w = &first.words;
    Ok(Drawing {
        title: join(&[&w.job, &wording::feature_field(w), &said.template], " · "),
        reference: reference.to_owned(),
        readable: said.lines,
        pages: vec![Page {
            paper: PaperSize {
                width: um(left + wide.max(across).max(said.width) + GAP_MM),
                height: um(base + high.max(up) + GAP_MM),
            },
            name: wording::feature_name(w),
            items: board.into_items(),
        }],
    })
}

/// A line with a tick at each end: what a cutter follows once.
fn bar(board: &mut Board<Sheet>, run: Run, (x, y): (f64, f64), length: f64) {
    let at = |along: f64, off: f64| match run {
        Run::Across => Point2::from_mm(x + along, y + off),
        Run::Up => Point2::from_mm(x - off, y + along),
    };
    let word = match run {
        Run::Across => "across",
        Run::Up => "up",
    };
    board
        .lines(Meaning::Bar, &[at(0.0, 0.0), at(length, 0.0)])
        .named(format!("check bar {word} {length:.0} mm"));
    for end in [0.0, length] {
        board.lines(Meaning::Bar, &[at(end, 0.0), at(end, TICK_MM)]);
    }
    let says = format!("{length:.0} mm");
    let off = match run {
        Run::Across => 1.0,
        Run::Up => TICK_MM - Style::NOTE.cap_mm(),
    };
    board.text(at(length / 2.0, off), &says, Style::NOTE, Side::Middle, run);
}

/// What stands under the bar.
struct Said {
    template: String,
    lines: Vec<String>,
    width: f64,
}

impl Said {
    fn of(sheet: &TemplateSheet, reference: &str, wide: f64, (across, up): (f64, f64)) -> Self {
        let w = &sheet.words;
        let serves = match w.is_of_a_piece() {
            true => format!("{} {}", wording::serves_label(w), wording::pieces(w)),
            false => String::new(),
        };
        let template = join(&[&serves, &wording::issue_and_number(w)], " · ");
        let approved = if w.unsigned { "NOT APPROVED" } else { "" };
        let states = join(
            &[
                &w.invented,
                approved,
                w.proving.first().map_or("", String::as_str),
            ],
            " · ",
        );
        let all = [
            join(&[&wording::feature_name(w), &template], " · "),
            states,
            w.laying.clone(),
            format!(
                "SIZE NOT PROVED: measure both bars on what was cut before use, {across:.0} mm across and {up:.0} up. \
                 One unit of this file is 1 mm; no printer’s correction is in it."
            ),
            join(
                &[
                    &format!("reference {}", grouped(reference)),
                    &w.job,
                    &w.date,
                    &w.program,
                ],
                " · ",
            ),
        ];
        let width = wide.max(LEAST_WORDS_MM);
        let lines: Vec<String> = (all.iter())
            .filter(|line| !line.is_empty())
            .flat_map(|line| Style::NOTE.wrap(line, width))
            .collect();
        Self {
            template,
            lines,
            width,
        }
    }

    fn height(&self) -> f64 {
        let lines = self.lines.iter().map(|_| Style::NOTE.pitch_mm());
        lines.sum::<f64>() + 2.0
    }

    /// Downwards from the bar.
    fn draw(&self, board: &mut Board<Sheet>, left: f64, top: f64) {
        let mut y = top - 2.0;
        for line in &self.lines {
            y -= Style::NOTE.pitch_mm();
            let at = Point2::from_mm(left, y);
            board.text(at, line, Style::NOTE, Side::Start, Run::Across);
        }
    }
}
