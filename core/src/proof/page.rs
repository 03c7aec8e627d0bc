//! The page that is printed and measured: four crosses, long bars both ways, diagonals, frames in
//! the margin.

use super::plan::{MARGIN_FRAMES_MM, plan};
use crate::frames::{Point2, Sheet};
use crate::sheet::drawing::{Drawing, Meaning, Page};
use crate::sheet::{Board, Paper, Run, SheetError, Side, Style, reference};
use crate::units::Length;
use kurbo::Rect;

/// What the page says beside its own instructions.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ProofWords {
    /// The printer's name, as typed.
    pub printer: String,
    /// The day, as printed.
    pub day: String,
    /// The program and its version.
    pub program: String,
}

/// A cross's arm and ring, mm: the arms end outside every frame of the margin.
const ARM_MM: f64 = 4.0;
const RING_MM: f64 = 2.0;
/// How far the writing stays from the bar at its left, mm.
const BESIDE_MM: f64 = 16.0;
/// Height of a field to write in, mm.
const FIELD_MM: f64 = 11.0;

fn at(x: f64, y: f64) -> Point2<Sheet> {
    Point2::from_mm(x, y)
}

/// The proof page of a paper. It is never corrected: it shows what the printer does.
///
/// # Errors
/// A paper that is none, or too small to prove anything.
pub fn page(paper: Paper, words: &ProofWords) -> Result<Drawing, SheetError> {
    let plan = plan(paper)?;
    let size = paper.upright()?;
    let (w, h) = (
        f64::from(size.width) / 1000.0,
        f64::from(size.height) / 1000.0,
    );
    let (across, up) = (plan.across.mm(), plan.up.mm());
    let (x0, y0) = ((w - across) / 2.0, (h - up) / 2.0);
    let mut board: Board<Sheet> = Board::new();
    frames(&mut board, w, h);
    let [a, b, c, d] = [
        at(x0, y0),
        at(x0 + across, y0),
        at(x0 + across, y0 + up),
        at(x0, y0 + up),
    ];
    for (place, name) in [(a, "A"), (b, "B"), (c, "C"), (d, "D")] {
        let (arm, ring) = (Length::from_mm(ARM_MM), Length::from_mm(RING_MM));
        board.cross(place, arm, ring, name);
        let in_x = if place.x_mm() < w / 2.0 { 6.5 } else { -6.5 };
        let in_y = if place.y_mm() < h / 2.0 { 6.5 } else { -6.5 };
        board.boxed_letter(
            at(place.x_mm() + in_x, place.y_mm() + in_y),
            name,
            Style::VALUE_BOLD,
        );
    }
    bar(&mut board, a, Run::Across, across);
    bar(&mut board, a, Run::Up, up);
    let text = Rect::new(
        x0 + BESIDE_MM,
        y0 + up * 0.17,
        x0 + across - 6.0,
        y0 + up * 0.83,
    );
    diagonals(&mut board, [a, b, c, d], text);
    let said = writing(&mut board, text, plan_words(&plan), words, paper);
    let mut drawing = Drawing {
        title: format!("Printer proof · {}", paper.name()),
        reference: String::new(),
        readable: said,
        pages: vec![Page {
            paper: size,
            name: format!("printer proof {}", paper.name()),
            items: board.into_items(),
        }],
    };
    drawing.reference = reference(&drawing, None, 0);
    Ok(drawing)
}

/// Frames at known distances from the edge: the outermost whole one is how far the printer reaches.
fn frames(board: &mut Board<Sheet>, w: f64, h: f64) {
    for (i, m) in (0_i32..).zip(MARGIN_FRAMES_MM) {
        board.rect(Meaning::Rule, Rect::new(m, m, w - m, h - m));
        board.named(format!("{m:.0} mm from the edge"));
        let x = w / 2.0 + f64::from(i - 2) * 9.0;
        for y in [m + 0.6, h - m - 2.4] {
            board.text(
                at(x, y),
                &format!("{m:.0}"),
                Style::FIELD,
                Side::Middle,
                Run::Across,
            );
        }
    }
}

/// A line from cross to cross with a tick at every 10 mm, so that one bad stretch shows.
fn bar(board: &mut Board<Sheet>, from: Point2<Sheet>, run: Run, length: f64) {
    let place = |along: f64, off: f64| match run {
        Run::Across => at(from.x_mm() + along, from.y_mm() + off),
        Run::Up => at(from.x_mm() + off, from.y_mm() + along),
    };
    let word = match run {
        Run::Across => "A–B",
        Run::Up => "A–D",
    };
    board.lines(Meaning::Bar, &[place(0.0, 0.0), place(length, 0.0)]);
    board.named(format!("bar {word} {length:.0} mm"));
    let mut along = 10.0;
    while along < length - 1.0 {
        let whole = libm::fmod(along, 50.0) < 1e-6;
        let tick = if whole { 3.0 } else { 1.6 };
        board.lines(Meaning::Bar, &[place(along, 0.0), place(along, tick)]);
        along += 10.0;
    }
    let foot = match run {
        Run::Across => 4.6,
        Run::Up => 7.1,
    };
    board.text(
        place(length / 2.0, foot),
        &format!("{word}: {length:.0} mm"),
        Style::NOTE_BOLD,
        Side::Middle,
        run,
    );
}

/// The ends of both diagonals: the writing stands between.
fn diagonals(board: &mut Board<Sheet>, [a, b, c, d]: [Point2<Sheet>; 4], text: Rect) {
    let share = (text.y0 - a.y_mm()) / (d.y_mm() - a.y_mm()) * 0.92;
    for (from, to, name) in [(a, c, "A–C"), (c, a, "A–C"), (b, d, "B–D"), (d, b, "B–D")] {
        let way = to - from;
        board.lines(
            Meaning::CheckDistance,
            &[from + way * 0.035, from + way * share],
        );
        board.named(format!("diagonal {name}"));
    }
}

fn plan_words(plan: &super::Plan) -> [(&'static str, String); 4] {
    let mm1 = |l: Length| format!("{:.1} mm", l.mm());
    [
        ("A–B", mm1(plan.across)),
        ("A–D", mm1(plan.up)),
        ("A–C", mm1(plan.diagonal())),
        ("B–D", mm1(plan.diagonal())),
    ]
}

fn writing(
    board: &mut Board<Sheet>,
    within: Rect,
    distances: [(&'static str, String); 4],
    words: &ProofWords,
    paper: Paper,
) -> Vec<String> {
    let (x, room) = (within.x0, within.width().min(150.0));
    let mut said = Vec::new();
    let mut y = within.y1;
    let mut para = |board: &mut Board<Sheet>, y: &mut f64, text: &str, style: Style| {
        for (i, line) in style.wrap(text, room).iter().enumerate() {
            *y -= if i == 0 {
                style.cap_mm()
            } else {
                style.pitch_mm()
            };
            board.text(at(x, *y), line, style, Side::Start, Run::Across);
        }
        *y -= style.cap_mm() * 1.1;
        said.push(text.to_owned());
    };
    para(board, &mut y, "Printer proof", Style::NAME);
    let of = [words.printer.as_str(), &paper.name(), &words.day]
        .into_iter()
        .filter(|t| !t.trim().is_empty())
        .collect::<Vec<_>>()
        .join(" · ");
    para(board, &mut y, &of, Style::VALUE);
    y -= 2.0;
    for step in [
        "1  Print at 100 %. Nothing fitted to the page, borderless off. Let the paper lie for ten minutes.",
        "2  With a steel rule read the four distances, from the middle of a cross to the middle of a cross, to half a millimetre.",
        "3  Look for the outermost frame that is whole on all four sides.",
        "4  Type all of it under Printer check.",
    ] {
        para(board, &mut y, step, Style::VALUE);
    }
    y -= 2.0;
    for (name, drawn) in distances {
        field(board, x, &mut y, room, &format!("{name}, drawn {drawn}"));
        said.push(format!("{name}: drawn {drawn}"));
    }
    field(
        board,
        x,
        &mut y,
        room,
        "Outermost whole frame: 3, 6, 9, 12 or 15",
    );
    let foot = at(x, within.y0);
    board.text(foot, &words.program, Style::FIELD, Side::Start, Run::Across);
    said
}

fn field(board: &mut Board<Sheet>, x: f64, y: &mut f64, room: f64, label: &str) {
    let r = Rect::new(x, *y - FIELD_MM, x + room, *y);
    board.rect(Meaning::Rule, r);
    let middle = r.x0 + room * 0.62;
    board.lines(Meaning::Rule, &[at(middle, r.y0), at(middle, r.y1)]);
    let style = if Style::VALUE.width_mm(label) < room * 0.62 - 5.0 {
        Style::VALUE
    } else {
        Style::NOTE
    };
    board.text(
        at(x + 2.5, r.y0 + 3.8),
        label,
        style,
        Side::Start,
        Run::Across,
    );
    board.text(
        at(r.x1 - 2.5, r.y0 + 3.8),
        "mm",
        Style::NOTE,
        Side::End,
        Run::Across,
    );
    *y -= FIELD_MM;
}
