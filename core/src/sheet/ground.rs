//! One sheet before anything is laid on it: margins, frame, check bars, the first line.
//!
//! ```text
//!  ┌──────────────────────────────┐ paper
//!  │  ╔═════════════════════════╗ │
//!  │ ▌║ how to lay it       map ║ │  ▌ check bar up, in the margin of the frame
//!  │ ▌╟─────────────────────────╢ │
//!  │ ▌║        template         ║ │
//!  │ ▌╟─────────────────────────╢ │
//!  │ ▌║ strip, title            ║ │
//!  │  ╚═════════════════════════╝ │
//!  │    ▀▀▀▀▀▀ check bar across    │
//!  └──────────────────────────────┘
//! ```

use super::board::{Board, Run, Side, Style};
use super::drawing::{Meaning, Page, PaperSize};
use super::error::SheetError;
use super::input::{ProofState, ScaleCorrection, TemplateSheet, Words};
use super::paper::SheetSetup;
use super::wording;
use crate::frames::{Point2, Sheet};
use crate::units::Length;
use kurbo::Rect;

/// The check bars lie in bands this wide, left of the frame and under it.
const BAND_MM: f64 = 10.0;
/// The frame's own line and the bars' ticks stay this far inside the safe area: half of 0.7 mm and
/// a little.
const LINE_ROOM_MM: f64 = 0.5;
/// Bars are whole multiples of this, so that a tape is read at a printed figure.
const BAR_STEP_MM: f64 = 50.0;
/// A shorter bar proves nothing worth knowing.
pub(super) const LEAST_BAR_MM: f64 = 100.0;
/// Fields of the bar's black and white scale.
const BAR_FIELD_MM: f64 = 10.0;

/// A sheet's geometry in the millimetres that its print will have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ground {
    pub(super) paper: PaperSize,
    pub(super) frame: Rect,
    margin: f64,
    pub(super) bar_across: f64,
    pub(super) bar_up: f64,
    across_from: f64,
    up_from: f64,
    pub(super) scale: ScaleCorrection,
}

/// The longest check bar within a length, mm: the largest multiple of 50.
pub(super) fn bar_length(room: f64) -> f64 {
    BAR_STEP_MM * libm::floor((room + 1e-6) / BAR_STEP_MM)
}

/// How long the check bars of a page should measure, across and up.
#[must_use]
pub fn check_bars(sheet: &TemplateSheet, page: &Page) -> Option<(Length, Length)> {
    let scale = sheet.correction.unwrap_or_default();
    let ground = Ground::new(sheet.setup, page.paper, scale).ok()?;
    let mm = Length::from_mm;
    Some((mm(ground.bar_across), mm(ground.bar_up)))
}

impl Ground {
    pub(super) fn new(
        setup: SheetSetup,
        paper: PaperSize,
        scale: ScaleCorrection,
    ) -> Result<Self, SheetError> {
        let (width, height) = (
            f64::from(paper.width) / 1000.0,
            f64::from(paper.height) / 1000.0,
        );
        let margin = setup.margin.mm();
        let name = setup.paper.name();
        if !(margin >= 0.0 && 2.0 * margin < width.min(height)) {
            return Err(SheetError::MarginsTooLarge {
                margin: setup.margin,
                paper: name,
                width: Length::from_mm(width.min(height)),
                height: Length::from_mm(width.max(height)),
            });
        }
        // A corrected drawing is laid out on paper as large as the print will make it.
        let (w, h) = (width / scale.across, height / scale.up);
        let m = (margin / scale.across.min(scale.up)).max(LINE_ROOM_MM);
        let frame = Rect::new(
            m + BAND_MM,
            m + BAND_MM,
            w - m - LINE_ROOM_MM,
            h - m - LINE_ROOM_MM,
        );
        let (safe_w, safe_h) = (w - 2.0 * m - LINE_ROOM_MM, h - 2.0 * m - LINE_ROOM_MM);
        let bar_across = bar_length(safe_w);
        let mut bar_up = bar_length(safe_h);
        let from = |low: f64, length: f64, end: f64| low.min(end - length);
        let across_from = from(frame.x0, bar_across, frame.x1);
        let mut up_from = from(frame.y0, bar_up, frame.y1);
        if across_from < m + 7.0 && up_from < m + 7.0 {
            bar_up -= BAR_STEP_MM;
            up_from = frame.y0;
        }
        if bar_across < LEAST_BAR_MM || bar_up < LEAST_BAR_MM {
            return Err(SheetError::PaperTooSmall {
                paper: name,
                width: Length::from_mm(safe_w.max(0.0)),
                height: Length::from_mm(safe_h.max(0.0)),
            });
        }
        Ok(Self {
            paper,
            frame,
            margin: m,
            bar_across,
            bar_up,
            across_from,
            up_from,
            scale,
        })
    }

    /// Frame and bars.
    pub(super) fn draw(&self, board: &mut Board<Sheet>) {
        board.rect(Meaning::Frame, self.frame).named("frame");
        self.bar(board, Run::Across);
        self.bar(board, Run::Up);
    }

    fn bar(&self, board: &mut Board<Sheet>, run: Run) {
        let (length, from) = match run {
            Run::Across => (self.bar_across, self.across_from),
            Run::Up => (self.bar_up, self.up_from),
        };
        let base = self.margin + LINE_ROOM_MM;
        let at = |along: f64, off: f64| match run {
            Run::Across => Point2::from_mm(from + along, base + off),
            Run::Up => Point2::from_mm(base + off, from + along),
        };
        let word = match run {
            Run::Across => "across",
            Run::Up => "up",
        };
        let (thick, tick) = (2.4, 4.0);
        board.lines(Meaning::Bar, &[at(0.0, 0.0), at(length, 0.0)]);
        board.named(format!("check bar {word} {length:.0} mm"));
        board.lines(Meaning::Bar, &[at(0.0, thick), at(length, thick)]);
        for end in [0.0, length] {
            board.lines(Meaning::Bar, &[at(end, 0.0), at(end, tick)]);
        }
        let mut field = 0.0;
        while field < length - 1.0 {
            let next = field + BAR_FIELD_MM;
            board.solid(
                Meaning::Bar,
                &[
                    at(field, 0.0),
                    at(next, 0.0),
                    at(next, thick),
                    at(field, thick),
                ],
            );
            field += 2.0 * BAR_FIELD_MM;
        }
        // Letters of a bar that runs up stand to its right, their feet away from it.
        let foot = match run {
            Run::Across => 5.4,
            Run::Up => 7.9,
        };
        let note = Style::NOTE;
        // Where both bars begin in the corner their noughts would stand on each other.
        let zero = match run {
            Run::Across => 0.0,
            Run::Up => (self.frame.y0 - from).max(0.0),
        };
        board.text(at(zero, foot), "0", note, Side::Start, run);
        board.text(
            at(length, foot),
            &format!("{length:.0}"),
            note,
            Side::End,
            run,
        );
        let factor = match run {
            Run::Across => self.scale.across,
            Run::Up => self.scale.up,
        };
        let drawn = if (factor - 1.0).abs() > 1e-9 {
            format!(" (drawn {:.2} for this printer)", length * factor)
        } else {
            String::new()
        };
        let says = format!("check bar {length:.0} mm {word}{drawn}: measure both before use");
        board.text(at(length / 2.0, foot), &says, note, Side::Middle, run);
    }

    /// The check distances from corner to corner of the frame.
    pub(super) fn corners(&self) -> String {
        let (w, h) = (self.frame.width(), self.frame.height());
        format!(
            "Corner to corner of the frame {} × {}, diagonal {} mm",
            wording::mm1(w),
            wording::mm1(h),
            wording::mm1(libm::hypot(w, h))
        )
    }
}

/// What stands in the first band of a sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Header {
    laying: Vec<String>,
    below: Vec<String>,
    invented: String,
    proving: Vec<String>,
    /// Room kept at the right for a map of the sheets.
    map_mm: f64,
    least_mm: f64,
}

const PAD_MM: f64 = 3.0;
/// How far the mark for invented data reaches down from the frame.
const MARK_DOWN_MM: f64 = 7.9;

impl Header {
    /// How to lay it comes first, whatever else a sheet says.
    pub(super) fn new(sheet: &TemplateSheet, ground: &Ground, below: &str, map_mm: f64) -> Self {
        let invented = sheet.words.invented.clone();
        let mark = if invented.is_empty() {
            0.0
        } else {
            Style::NOTE_BOLD.width_mm(&invented) + 7.0
        };
        let room = ground.frame.width() - 2.0 * PAD_MM - map_mm - mark;
        Self {
            laying: Style::VALUE_BOLD.wrap(&sheet.words.laying, room),
            below: Style::NOTE.wrap(below, room),
            invented,
            proving: sheet.words.proving.clone(),
            map_mm,
            least_mm: 0.0,
        }
    }

    /// On a sheet that is laid while the strip stands on another: what must not be missed there is stamped on
    /// here too.
    pub(super) fn without_strip(mut self, words: &Words) -> Self {
        let states = [
            words.unsigned.then_some("NOT APPROVED"),
            (words.proof == ProofState::NotProved).then_some("SIZE NOT PROVED"),
        ];
        let said: Vec<&str> = states.into_iter().flatten().collect();
        if said.is_empty() {
            return self;
        }
        let said = said.join(" · ");
        if self.proving.is_empty() {
            self.proving.push(said);
        } else {
            for proving in &mut self.proving {
                *proving = format!("{said} · {proving}");
            }
        }
        self
    }

    /// At least this high, so that all sheets of a template hold the same.
    pub(super) fn at_least(self, least_mm: f64) -> Self {
        Self { least_mm, ..self }
    }

    pub(super) fn height(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        let (a, b) = (self.laying.len() as f64, self.below.len() as f64);
        let text = a * Style::VALUE_BOLD.pitch_mm() + b * Style::NOTE.pitch_mm() + 3.6;
        text.max(if self.map_mm > 0.0 { 13.0 } else { 9.0 })
            .max(self.least_mm)
    }

    /// Draws it; returns where the rest of the sheet begins.
    pub(super) fn draw(&self, board: &mut Board<Sheet>, ground: &Ground) -> f64 {
        let f = ground.frame;
        let bottom = f.y1 - self.height();
        let mut y = f.y1 - 2.4;
        for line in &self.laying {
            y -= Style::VALUE_BOLD.cap_mm();
            board.text(
                Point2::from_mm(f.x0 + PAD_MM, y),
                line,
                Style::VALUE_BOLD,
                Side::Start,
                Run::Across,
            );
            y -= Style::VALUE_BOLD.pitch_mm() - Style::VALUE_BOLD.cap_mm();
        }
        for line in &self.below {
            y -= Style::NOTE.cap_mm();
            board.text(
                Point2::from_mm(f.x0 + PAD_MM, y),
                line,
                Style::NOTE,
                Side::Start,
                Run::Across,
            );
            y -= Style::NOTE.pitch_mm() - Style::NOTE.cap_mm();
        }
        if !self.invented.is_empty() {
            let w = Style::NOTE_BOLD.width_mm(&self.invented) + 4.0;
            let x1 = f.x1 - PAD_MM - self.map_mm;
            let r = Rect::new(x1 - w, f.y1 - MARK_DOWN_MM, x1, f.y1 - 2.4);
            board.rect(Meaning::Rule, r);
            board.text(
                Point2::from_mm(r.center().x, r.y0 + 1.5),
                &self.invented,
                Style::NOTE_BOLD,
                Side::Middle,
                Run::Across,
            );
        }
        self.stamp(board, ground);
        board.lines(
            Meaning::Rule,
            &[Point2::from_mm(f.x0, bottom), Point2::from_mm(f.x1, bottom)],
        );
        bottom
    }

    /// That it has not proved itself yet: where a line leaves most room, moving nothing. As large as
    /// fits, the longest wording that does; beside the frame where no line leaves room for any.
    fn stamp(&self, board: &mut Board<Sheet>, ground: &Ground) {
        let f = ground.frame;
        let Some(shortest) = self.proving.last() else {
            return;
        };
        let mark = if self.invented.is_empty() {
            0.0
        } else {
            Style::NOTE_BOLD.width_mm(&self.invented) + 7.0
        };
        // Below the mark for invented data the whole width is free.
        let below_mark = f.y1 - MARK_DOWN_MM - 1.0;
        let end = |top: f64| {
            let all = f.x1 - PAD_MM - self.map_mm;
            if top < below_mark { all } else { all - mark }
        };
        // Each line's foot, the height of its capitals, and where it ends.
        let mut rows: Vec<(f64, f64, f64)> = Vec::new();
        let mut y = f.y1 - 2.4;
        let lines = (self.laying.iter().map(|l| (l, Style::VALUE_BOLD)))
            .chain(self.below.iter().map(|l| (l, Style::NOTE)));
        for (line, style) in lines {
            let to = f.x0 + PAD_MM + style.width_mm(line);
            rows.push((y - style.cap_mm(), style.cap_mm(), to));
            y -= style.pitch_mm();
        }
        // What the map makes it higher than its lines.
        let foot = f.y1 - self.height() + 1.6;
        if y - Style::NOTE_BOLD.cap_mm() - 1.0 > foot {
            rows.push((foot, Style::NOTE_BOLD.cap_mm(), f.x0 + PAD_MM));
        }
        // Letters larger than a line's own reach up beside the line over it.
        let room = |k: usize, style: Style| {
            let (foot, cap, to) = *rows.get(k)?;
            let over = k.checked_sub(1).and_then(|k| rows.get(k));
            let tall = style.cap_mm() > cap + 0.1;
            let to = over.filter(|_| tall).map_or(to, |r| r.2.max(to));
            let end = end(foot + style.cap_mm());
            Some((end - to - 4.0, foot, end))
        };
        let widest = |style: Style| {
            (0..rows.len()).filter_map(|k| room(k, style)).fold(
                None::<(f64, f64, f64)>,
                |best, row| match best {
                    Some(b) if b.0 >= row.0 => best,
                    _ => Some(row),
                },
            )
        };
        let styles = [Style::VALUE_BOLD, Style::NOTE_BOLD];
        let fits = self.proving.iter().find_map(|said| {
            styles.into_iter().find_map(|style| {
                let (free, foot, end) = widest(style)?;
                (style.width_mm(said) <= free).then_some((said, style, foot, end))
            })
        });
        let since = board.items().len();
        match fits {
            Some((said, style, foot, end)) => {
                board.text(
                    Point2::from_mm(end, foot),
                    said,
                    style,
                    Side::End,
                    Run::Across,
                );
            }
            None => {
                let place = Point2::from_mm(f.x1, f.y1 + 1.2);
                board.text(place, shortest, Style::NOTE_BOLD, Side::End, Run::Across);
            }
        }
        board.stamp_since(since);
    }
}
