//! Rods: strips that carry distances from a stop at true size, so that nobody reads a tape.
//!
//! ```text
//!  ╭────┃────────────────────────────────╮
//!  │ 7  ┃──────────────────────+ 7       │   a lane for each piece, or for each mark
//!  │ 8  ┃────────────────────+ 8         │
//!  ╰────┃────────────────────────────────╯
//!      STOP: this line on the mark
//! ```
//!
//! A rod longer than the paper goes on several strips. Where two meet, both carry the same line with
//! its distance from the stop, away from every mark.

use super::board::{Board, Run, Side, Style};
use super::correct;
use super::drawing::{Drawing, Meaning, Page, PaperSize};
use super::error::SheetError;
use super::ground::bar_length;
use super::input::{ProofState, ScaleCorrection};
use super::paper::{Paper, SheetSetup};
use super::reference::{grouped, reference};
use crate::frames::{Point2, Sheet};
use crate::units::Length;
use kurbo::Rect;

/// From one lane to the next, mm: the number in it is 3.5.
const LANE_MM: f64 = 7.0;
/// Words at the top of a rod, mm.
const CAPTION_MM: f64 = 6.5;
/// Paper before the stop, to hold it by, mm.
const BEFORE_MM: f64 = 16.0;
/// Paper behind the last mark, mm: the number and its distance stand there.
const BEHIND_MM: f64 = 26.0;
/// Paper past a join on either strip, mm.
const OVERLAP_MM: f64 = 8.0;
/// A join keeps this far from every mark, mm.
const CLEAR_MM: f64 = 9.0;
/// Between two strips, mm.
const APART_MM: f64 = 4.0;
/// Half of a cross that is pricked through, mm.
const CROSS_MM: f64 = 2.5;
/// Words and a check bar at the top of a page, mm.
const HEAD_MM: f64 = 44.0;
/// A check bar at the left of a page, mm.
const SIDE_MM: f64 = 9.0;
/// Nothing a workshop makes is longer, mm.
const LONGEST_MM: f64 = 20_000.0;

/// One distance on a rod.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// What stands beside it: a piece, or the letter the stop is held on.
    pub name: String,
    /// How far from the stop.
    pub at: Length,
}

/// A strip with distances from one stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Rod {
    /// What it is: *A to the middle of Eye, left*.
    pub title: String,
    /// What the stop is held on: *STOP on A*.
    pub stop: String,
    /// Its lanes, from the top.
    pub lanes: Vec<Lane>,
}

/// Rods to be laid out on pages.
#[derive(Debug, Clone, PartialEq)]
pub struct RodSheet {
    /// The rods.
    pub rods: Vec<Rod>,
    /// What stands first on every page.
    pub title: String,
    /// How they are used, and what they rest on: a sentence each.
    pub how: Vec<String>,
    /// Whether the printer was proved.
    pub proof: ProofState,
    /// The issue.
    pub issue: u32,
    /// The day and program, as printed.
    pub made: String,
    /// Correction from the printer's proof.
    pub correction: Option<ScaleCorrection>,
}

/// A part of a rod that goes on one strip of paper, in distances from the stop.
struct Strip<'a> {
    rod: &'a Rod,
    from: f64,
    to: f64,
    /// Where it meets the strip before and the strip behind.
    joins: [Option<(usize, f64)>; 2],
}

impl Strip<'_> {
    #[expect(clippy::cast_precision_loss, reason = "a few dozen")]
    fn high(&self) -> f64 {
        CAPTION_MM + LANE_MM * self.rod.lanes.len() as f64 + 1.5
    }
}

/// The strips of a page, each with the place of its upper left corner.
type Placed<'a> = Vec<(Strip<'a>, Point2<Sheet>)>;

fn at(x: f64, y: f64) -> Point2<Sheet> {
    Point2::from_mm(x, y)
}

fn tenth(mm: f64) -> String {
    format!("{mm:.1}")
}

/// The sheets of some rods, on as few pages as either way round of the paper needs.
///
/// # Errors
/// A paper that is none, a rod without a distance or too long, or too many lanes for a page.
pub fn rods(sheet: &RodSheet, paper: Paper) -> Result<Drawing, SheetError> {
    let correction = correct::checked(sheet.correction)?;
    let upright = paper.upright()?;
    let lying = PaperSize {
        width: upright.height,
        height: upright.width,
    };
    if sheet.rods.iter().all(|r| r.lanes.is_empty()) {
        return Err(SheetError::Empty);
    }
    for rod in &sheet.rods {
        let far = |l: &&Lane| !(l.at.mm() > 0.0 && l.at.mm() <= LONGEST_MM);
        if let Some(lane) = rod.lanes.iter().find(far) {
            return Err(SheetError::OutOfReach {
                what: format!("{}, {}", rod.title, lane.name),
            });
        }
    }
    let mut best: Option<(PaperSize, Vec<Placed<'_>>)> = None;
    for size in [lying, upright] {
        if let Some(pages) = stacked(&sheet.rods, room(size, correction))
            && best.as_ref().is_none_or(|b| pages.len() < b.1.len())
        {
            best = Some((size, pages));
        }
    }
    let (size, pages) = best.ok_or_else(|| {
        let r = room(lying, correction);
        SheetError::PaperTooSmall {
            paper: paper.name(),
            width: Length::from_mm(r.width()),
            height: Length::from_mm(r.height()),
        }
    })?;
    let of = pages.len();
    let room = room(size, correction);
    let mut drawing = Drawing {
        title: sheet.title.clone(),
        reference: String::new(),
        readable: readable(sheet),
        pages: Vec::new(),
    };
    for (n, strips) in pages.iter().enumerate() {
        let mut board: Board<Sheet> = Board::new();
        head(&mut board, room, sheet, (n + 1, of));
        bar(
            &mut board,
            at(room.x0, room.y1 + 2.0),
            Run::Across,
            room.width(),
        );
        bar(
            &mut board,
            at(room.x0 - 3.0, room.y0),
            Run::Up,
            room.height(),
        );
        for (strip, corner) in strips {
            draw(&mut board, strip, *corner);
        }
        let items = board.into_items().into_iter();
        drawing.pages.push(Page {
            paper: size,
            name: format!("{}, sheet {} of {of}", sheet.title, n + 1),
            items: items.map(|i| correct::scaled(i, correction)).collect(),
        });
    }
    drawing.reference = reference(&drawing, sheet.correction, sheet.issue);
    let says = format!("{} · {}", grouped(&drawing.reference), sheet.made);
    for page in &mut drawing.pages {
        let mut board: Board<Sheet> = Board::new();
        let foot = at(room.x1, room.y1 + HEAD_MM - 12.0);
        board.text(foot, &says, Style::FIELD, Side::End, Run::Across);
        board.stamp_since(0);
        page.items.extend(board.into_items());
    }
    Ok(drawing)
}

fn readable(sheet: &RodSheet) -> Vec<String> {
    let mut all = vec![sheet.title.clone()];
    all.extend(sheet.how.iter().cloned());
    for rod in &sheet.rods {
        all.push(format!("{} ({})", rod.title, rod.stop));
        let lanes = rod.lanes.iter();
        all.extend(lanes.map(|l| format!("{}: {} mm from the stop", l.name, tenth(l.at.mm()))));
    }
    all
}

/// Where strips may lie, before the correction: what is drawn larger must still stay on the page.
fn room(size: PaperSize, correction: ScaleCorrection) -> Rect {
    let margin = SheetSetup::default().margin.mm();
    let (w, h) = (
        f64::from(size.width) / 1000.0,
        f64::from(size.height) / 1000.0,
    );
    let (x, y) = (correction.across, correction.up);
    let (x0, y0) = (margin / x.min(1.0) + SIDE_MM, margin / y.min(1.0));
    Rect::new(
        x0,
        y0,
        ((w - margin) / x.max(1.0)).max(x0),
        ((h - margin) / y.max(1.0) - HEAD_MM).max(y0),
    )
}

/// Across the widest name of a lane.
fn widest_name(rod: &Rod) -> f64 {
    let names = rod
        .lanes
        .iter()
        .map(|l| Style::VALUE_BOLD.width_mm(&l.name));
    names.fold(0.0, f64::max)
}

/// Paper before the stop: to hold it by, and for the names.
fn before(rod: &Rod) -> f64 {
    BEFORE_MM.max(widest_name(rod) + 5.0)
}

/// Paper behind the last mark: for the longest name and its distance.
fn behind(rod: &Rod) -> f64 {
    BEHIND_MM.max(widest_name(rod) + 17.0)
}

/// A rod in strips no longer than `wide`; `None` where the paper is narrower than a join needs.
fn cut(rod: &Rod, wide: f64) -> Option<Vec<Strip<'_>>> {
    let marks: Vec<f64> = rod.lanes.iter().map(|l| l.at.mm()).collect();
    let behind = behind(rod);
    let end = marks.iter().copied().fold(0.0, f64::max) + behind;
    let mut strips = Vec::new();
    let (mut from, mut before) = (-before(rod), None);
    while end - from > wide {
        // The last place this strip reaches, moved back until no mark or its words lie on the join.
        let mut join = from + wide - OVERLAP_MM;
        let near = |join: f64| {
            let hit = |m: &&f64| join > **m - CLEAR_MM && join < **m + behind;
            marks.iter().find(hit).copied()
        };
        while let Some(mark) = near(join) {
            join = mark - CLEAR_MM;
        }
        if join - OVERLAP_MM <= from + CLEAR_MM || join <= CLEAR_MM {
            return None;
        }
        let number = strips.len() + 1;
        strips.push(Strip {
            rod,
            from,
            to: join + OVERLAP_MM,
            joins: [before, Some((number, join))],
        });
        before = Some((number, join));
        from = join - OVERLAP_MM;
    }
    strips.push(Strip {
        rod,
        from,
        to: end,
        joins: [before, None],
    });
    Some(strips)
}

/// Strips from the top of each page down, then beside the column that is full where they are short
/// enough.
fn stacked(rods: &[Rod], room: Rect) -> Option<Vec<Placed<'_>>> {
    let mut pages: Vec<Placed<'_>> = Vec::new();
    let mut page = Vec::new();
    let (mut left, mut top, mut right) = (room.x0, room.y1, room.x0);
    for rod in rods.iter().filter(|r| !r.lanes.is_empty()) {
        for strip in cut(rod, room.width())? {
            let (long, high) = (strip.to - strip.from, strip.high());
            if high > room.height() {
                return None;
            }
            if top - high < room.y0 || left + long > room.x1 + 1e-6 {
                (left, top) = (right + APART_MM, room.y1);
            }
            if left + long > room.x1 + 1e-6 {
                pages.push(core::mem::take(&mut page));
                (left, top, right) = (room.x0, room.y1, room.x0);
            }
            page.push((strip, at(left, top)));
            right = right.max(left + long);
            top -= high + APART_MM;
        }
    }
    pages.push(page);
    Some(pages)
}

fn draw(board: &mut Board<Sheet>, strip: &Strip<'_>, corner: Point2<Sheet>) {
    let (left, top) = (corner.x_mm(), corner.y_mm());
    let x = |along: f64| left + along - strip.from;
    let foot = top - strip.high();
    board.rect(
        Meaning::Trim,
        Rect::new(x(strip.from), foot, x(strip.to), top),
    );
    board.named(format!("rod {}", strip.rod.title));
    let starts = strip.joins[0].is_none();
    // A caption on every strip: a strip without one belongs to nothing once it is cut off.
    let note = Style::NOTE;
    let base = top - CAPTION_MM + 2.0;
    let room = strip.to - strip.from - 4.0;
    let caption = if starts {
        format!("{}: {}", strip.rod.stop, strip.rod.title)
    } else {
        strip.rod.title.clone()
    };
    let caption = note.cut_to(&caption, room);
    board.text(
        at(left + 2.0, base),
        &caption,
        note,
        Side::Start,
        Run::Across,
    );
    if starts {
        board.lines(
            Meaning::RegisterEdge,
            &[at(x(0.0), top - CAPTION_MM), at(x(0.0), foot)],
        );
        board.named(strip.rod.stop.clone());
        // Twice, half a millimetre apart on the side that is held: the stop is the right one.
        let twice = x(-0.6);
        board.lines(
            Meaning::RegisterEdge,
            &[at(twice, top - CAPTION_MM), at(twice, foot)],
        );
    }
    for (number, join) in strip.joins.into_iter().flatten() {
        board.lines(
            Meaning::Join,
            &[at(x(join), top - CAPTION_MM), at(x(join), foot)],
        );
        board.named(format!("join {number}"));
        let says = format!("join {number}: {} from the stop", tenth(join));
        let place = at(x(join) + 2.6, foot + 1.0);
        board.text(place, &says, Style::FIELD, Side::Start, Run::Up);
    }
    let mut y = top - CAPTION_MM - LANE_MM / 2.0;
    for lane in &strip.rod.lanes {
        let mark = lane.at.mm();
        let clip = |along: f64| along.clamp(strip.from, strip.to);
        let (from, to) = (clip(0.0), clip(mark));
        if to - from > 0.01 {
            board.lines(Meaning::CentreLine, &[at(x(from), y), at(x(to), y)]);
        }
        let (value, far_style) = (Style::VALUE_BOLD, Style::NOTE);
        if starts {
            let place = at(x(-2.5), y - value.cap_mm() / 2.0);
            board.text(place, &lane.name, value, Side::End, Run::Across);
        }
        if mark >= strip.from + CROSS_MM && mark <= strip.to - CROSS_MM {
            let c = at(x(mark), y);
            for (dx, dy) in [(CROSS_MM, 0.0), (0.0, CROSS_MM)] {
                board.lines(
                    Meaning::Register,
                    &[at(c.x_mm() - dx, y - dy), at(c.x_mm() + dx, y + dy)],
                );
                board.named(format!("{} at {}", lane.name, tenth(mark)));
            }
            let beside = c.x_mm() + CROSS_MM + 1.2;
            let name = at(beside, y - value.cap_mm() / 2.0);
            board.text(name, &lane.name, value, Side::Start, Run::Across);
            let far = at(
                beside + value.width_mm(&lane.name) + 1.6,
                y - far_style.cap_mm() / 2.0,
            );
            board.text(far, &tenth(mark), far_style, Side::Start, Run::Across);
        }
        y -= LANE_MM;
    }
}

fn head(board: &mut Board<Sheet>, room: Rect, sheet: &RodSheet, (n, of): (usize, usize)) {
    let x = room.x0 - SIDE_MM;
    let wide = room.x1 - x;
    let mut y = room.y1 + HEAD_MM - Style::HEADING.cap_mm();
    let pages = format!("sheet {n} of {of}");
    let left = wide - Style::NOTE.width_mm(&pages) - 6.0;
    let title = Style::HEADING.cut_to(&sheet.title, left);
    board.text(at(x, y), &title, Style::HEADING, Side::Start, Run::Across);
    board.text(at(room.x1, y), &pages, Style::NOTE, Side::End, Run::Across);
    y -= 7.0;
    let proof = match &sheet.proof {
        ProofState::NotProved => "SIZE NOT PROVED: MEASURE BOTH BARS".to_owned(),
        ProofState::Proved(day) => format!("Printer proved {day}: measure both bars all the same"),
    };
    board.text(at(x, y), &proof, Style::NOTE_BOLD, Side::Start, Run::Across);
    for line in Style::NOTE.wrap(&sheet.how.join(" "), wide).iter().take(5) {
        y -= Style::NOTE.pitch_mm();
        board.text(at(x, y), line, Style::NOTE, Side::Start, Run::Across);
    }
}

/// A check bar of whole fifties, with what it measures beside it.
fn bar(board: &mut Board<Sheet>, from: Point2<Sheet>, run: Run, room: f64) {
    let length = bar_length(room);
    let place = |along: f64, off: f64| match run {
        Run::Across => at(from.x_mm() + along, from.y_mm() + off),
        Run::Up => at(from.x_mm() - off, from.y_mm() + along),
    };
    board.lines(Meaning::Bar, &[place(0.0, 0.0), place(length, 0.0)]);
    board.named(match run {
        Run::Across => "check bar across",
        Run::Up => "check bar up",
    });
    for along in [0.0, length] {
        board.lines(Meaning::Bar, &[place(along, 0.0), place(along, 3.4)]);
    }
    let says = format!("{length:.0} mm: measure before use");
    board.text(
        place(length / 2.0, 1.6),
        &says,
        Style::FIELD,
        Side::Middle,
        run,
    );
}
