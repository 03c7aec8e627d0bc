//! A template as it will be cut out: lines, crosses with their letters, the words that stay on it.

use super::board::Board;
use super::drawing::{Item, Meaning, Shape, Spot};
use super::error::SheetError;
use super::field::Field;
use super::input::{Cross, FlatPath, TemplateSheet};
use super::trace::{bounds_of, joined, trace};
use super::trim::Pull;
use super::words_stand::Words;
use super::{darts, holes, label, reach, wording};
use crate::frames::{Flat, Point2};
use crate::units::Length;
use kurbo::{Point, Rect};

/// Half the length of a register cross's strokes, and the radius of its ring: long enough to see
/// past the mark, short enough to stand near an edge.
pub(super) const CROSS_ARM_MM: f64 = 9.0;
/// Radius of the ring on a register cross.
pub(super) const CROSS_RING_MM: f64 = 4.5;
/// Half the length of a cross's strokes where the drawing has the mark.
pub(super) const AS_DRAWN_ARM_MM: f64 = 5.0;
/// Words keep this far from lines.
const CLEAR_MM: f64 = 1.5;

/// A template in its own plane, ready to be laid on sheets.
#[derive(Debug, Clone)]
pub(super) struct Body {
    /// What is drawn, in whole µm of the flat plane.
    pub(super) items: Vec<Item>,
    /// The box round the trim line, mm.
    pub(super) bounds: Rect,
    /// Points along the trim line, mm.
    pub(super) ring: Vec<Point>,
    /// What had better not lie on a seam, mm, with how much that matters.
    pub(super) whole: Vec<(Rect, f64)>,
    /// Where words stand, mm: nothing is drawn over them.
    pub(super) words: Vec<Rect>,
    /// What says nothing by half.
    pub(super) together: Vec<Together>,
    /// Where there is room, on the template and round it.
    pub(super) field: Field,
}

/// Words that are of no use without what they stand beside, or without the rest of themselves, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Together {
    /// The words.
    pub(super) words: Rect,
    /// The words with what they are about.
    pub(super) all: Rect,
}

impl Together {
    fn with(words: Rect, about: Rect) -> Self {
        let all = joined(Some(words), Some(about)).unwrap_or(words);
        Self { words, all }
    }
}

fn p(x: f64, y: f64) -> Point2<Flat> {
    Point2::from_mm(x, y)
}

fn mm(points: Vec<Point>) -> Vec<Point> {
    points
        .into_iter()
        .map(|q| Point::new(q.x / 1000.0, q.y / 1000.0))
        .collect()
}

fn traced(path: &FlatPath) -> Vec<Point> {
    mm(trace(&super::board::flat_contour(path), 100.0))
}

fn place(cross: &Cross) -> Point {
    Point::new(cross.place.x_mm(), cross.place.y_mm())
}

fn square(c: Point, half: f64) -> Rect {
    Rect::new(c.x - half, c.y - half, c.x + half, c.y + half)
}

pub(super) fn corners(r: Rect) -> [Point; 4] {
    [
        Point::new(r.x0, r.y0),
        Point::new(r.x1, r.y0),
        Point::new(r.x1, r.y1),
        Point::new(r.x0, r.y1),
    ]
}

/// The lines of a template, and what its trim runs round whatever is written on it, mm.
struct Drawn {
    outlines: Vec<Vec<Point>>,
    edges: Vec<Vec<Point>>,
    needs: Vec<Point>,
}

impl Drawn {
    fn of(sheet: &TemplateSheet) -> Self {
        let outlines: Vec<Vec<Point>> = sheet
            .paint_edges
            .iter()
            .chain(&sheet.cuts)
            .map(traced)
            .chain(sheet.holes.iter().map(holes::edge))
            .collect();
        let laid = sheet.edges.iter().map(|e| &e.path);
        let joins = sheet.joins.iter().map(|j| &j.path);
        let edges: Vec<Vec<Point>> = laid.chain(joins).map(traced).collect();
        let mut needs: Vec<Point> = outlines.iter().chain(&edges).flatten().copied().collect();
        for cross in &sheet.crosses {
            needs.extend(corners(square(place(cross), CROSS_ARM_MM)));
        }
        if let Some(picture) = &sheet.underlay {
            let corner = |s: Spot| Point::new(f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0);
            needs.extend(corners(Rect::from_points(
                corner(picture.low),
                corner(picture.top()),
            )));
        }
        let grid = sheet.centre_lines.iter().flatten().filter(|_| sheet.grid);
        let ticks = sheet.ticks.iter().flatten().chain(grid);
        needs.extend(ticks.map(|q| Point::new(q.x_mm(), q.y_mm())));
        for cross in &sheet.as_drawn {
            let c = Point::new(cross.place.x_mm(), cross.place.y_mm());
            needs.extend(corners(square(c, AS_DRAWN_ARM_MM)));
        }
        Self {
            outlines,
            edges,
            needs,
        }
    }
}

/// What it costs to write beside a cross away from the middle, across or up, as a distance squared
/// from where the words would rather stand, mm².
const OUTWARDS: f64 = 30.0;
/// The same where paper is short.
const OUTWARDS_TIGHT: f64 = 900.0;

/// A template with everything on it whose place does not hang on the paper it goes on; laid out from
/// there for one paper after the other.
pub(super) struct Begun<'a> {
    sheet: &'a TemplateSheet,
    outlines: Vec<Vec<Point>>,
    outline: Option<Rect>,
    /// The box round what the trim runs round whatever is written on it.
    least: Option<Rect>,
    field: Field,
    board: Board<Flat>,
    whole: Vec<(Rect, f64)>,
    together: Vec<Together>,
    words: Words,
}

impl<'a> Begun<'a> {
    /// As it is laid out where there is paper enough.
    pub(super) fn of(sheet: &'a TemplateSheet) -> Result<Self, SheetError> {
        begin(sheet, OUTWARDS, Pull::NONE, &[])
    }

    /// The same with what stands at crosses drawn inwards, so that it takes no paper beyond them, and
    /// the trim closer.
    pub(super) fn tight(sheet: &'a TemplateSheet) -> Result<Self, SheetError> {
        begin(sheet, OUTWARDS_TIGHT, Pull::TIGHT, &[])
    }

    /// One or the other (`tight`) with no words over lines where sheets join, as far as there is room.
    pub(super) fn off_seams(
        sheet: &'a TemplateSheet,
        tight: bool,
        seams: &[[Point; 2]],
    ) -> Result<Self, SheetError> {
        if tight {
            begin(sheet, OUTWARDS_TIGHT, Pull::TIGHT, seams)
        } else {
            begin(sheet, OUTWARDS, Pull::NONE, seams)
        }
    }

    /// Whether a template could go into one of these rooms (widths and heights, mm) wherever its words
    /// stand: where it could not, nothing is gained by laying it out for them.
    pub(super) fn could_fit(&self, rooms: &[(f64, f64)]) -> bool {
        self.least.is_some_and(|least| {
            rooms
                .iter()
                .any(|(w, h)| least.width() <= *w && least.height() <= *h)
        })
    }

    /// Whether rooms say where its words stand: not where all of them stand inside the trim.
    pub(super) fn gives_way(&self) -> bool {
        self.words.give_way()
    }

    /// Lays out everything that stands inside the trim line. Where widths and heights (mm) are given
    /// that leave room beside it, words stand so that it fits into one of them, if that can be.
    pub(super) fn laid_out(&mut self, rooms: &[(f64, f64)]) -> Result<Body, SheetError> {
        let sheet = self.sheet;
        let (mut field, mut board) = (self.field.clone(), self.board.clone());
        let mut whole = self.whole.clone();
        let put = self.words.stand(&mut board, &mut field, sheet, rooms);
        let (mut trim, inner) = put.trims;
        let mut together = self.together.clone();
        together.extend(put.words.iter().map(|r| Together::with(*r, *r)));
        whole.extend(put.words.into_iter().map(|r| (r, 3.0)));
        let mut inside = field.within(&inner);
        if let Some(box_) = self.outline {
            let lines: Vec<&Vec<Point>> = self.outlines.iter().collect();
            if sheet.holes.is_empty()
                && let Some(put) = label::outline_note(&mut board, &mut inside, sheet, box_, &lines)
            {
                field.take_rect(put);
                whole.push((put, 2.0));
            }
            whole.push((box_, 4.0));
            // A seam that runs along an edge of the outline or a centre line is worse than one across.
            let thin = |x0: f64, y0: f64, x1: f64, y1: f64| {
                (Rect::new(x0 - 9.0, y0 - 9.0, x1 + 9.0, y1 + 9.0), 3.0)
            };
            whole.push(thin(box_.x0, box_.y0, box_.x0, box_.y0));
            whole.push(thin(box_.x1, box_.y1, box_.x1, box_.y1));
        }
        for [a, b] in &sheet.centre_lines {
            let m = Point::new((a.x_mm() + b.x_mm()) / 2.0, (a.y_mm() + b.y_mm()) / 2.0);
            whole.push((square(m, 9.0), 3.0));
        }

        darts::cut(&mut board, &mut trim, sheet);
        let contour = trim.contour().ok_or(SheetError::Empty)?;
        let ring = mm(trace(&contour, 100.0));
        field.take_lines(&ring, CLEAR_MM);
        let bounds = bounds_of(&ring).ok_or(SheetError::Empty)?;
        let letters = board.items().iter().filter(|i| {
            matches!(i.shape, Shape::Lettering { .. } | Shape::Solid(_))
                && i.meaning == Meaning::Note
        });
        let words = letters
            .filter_map(super::trace::item_bounds)
            .map(|r| Rect::new(r.x0 / 1000.0, r.y0 / 1000.0, r.x1 / 1000.0, r.y1 / 1000.0))
            .collect();
        let mut items = vec![Item {
            meaning: Meaning::Trim,
            shape: Shape::Line(vec![contour]),
            label: Some("trim line".into()),
            stamp: false,
        }];
        items.extend(sheet.underlay.as_ref().map(|picture| Item {
            meaning: Meaning::AsDrawn,
            shape: Shape::Picture(picture.clone()),
            label: Some("the picture".into()),
            stamp: false,
        }));
        items.extend(board.into_items());
        Ok(Body {
            items,
            bounds,
            ring,
            whole,
            words,
            together,
            field,
        })
    }
}

fn begin<'a>(
    sheet: &'a TemplateSheet,
    outwards: f64,
    pulled: Pull,
    seams: &[[Point; 2]],
) -> Result<Begun<'a>, SheetError> {
    reach::check(sheet)?;
    let Drawn {
        outlines,
        edges,
        mut needs,
    } = Drawn::of(sheet);
    let outline = outlines.iter().map(|o| bounds_of(o)).fold(None, joined);
    let least = bounds_of(&needs);
    let Some(span) = least else {
        return Err(SheetError::Empty);
    };

    let mut field = taken(sheet, span, &outlines, &edges);
    for seam in seams {
        field.take_lines(seam, CLEAR_MM);
    }
    let mut board: Board<Flat> = Board::new();
    let mut whole: Vec<(Rect, f64)> = Vec::new();
    let mut together: Vec<Together> = Vec::new();
    draw_lines(&mut board, sheet);

    for cross in &sheet.crosses {
        let put = label::cross_label(&mut board, &mut field, cross, span.center(), outwards);
        needs.extend(corners(put));
        let both = Together::with(put, square(place(cross), CROSS_ARM_MM));
        whole.push((both.all, 8.0));
        together.push(both);
    }
    for cross in &sheet.as_drawn {
        let at = Point::new(cross.place.x_mm(), cross.place.y_mm());
        let put = label::as_drawn_label(&mut board, &mut field, at, &cross.letter);
        needs.extend(corners(put));
        together.push(Together::with(put, square(at, AS_DRAWN_ARM_MM)));
    }
    for (put, hole) in holes::labels(&mut board, &mut field, &sheet.holes) {
        needs.extend(corners(put));
        let both = Together::with(put, hole);
        whole.push((both.all, 6.0));
        together.push(both);
    }
    for put in darts::labels(&mut board, &mut field, sheet) {
        needs.extend(corners(put));
        whole.push((put, 5.0));
    }
    let laid = sheet.edges.iter().map(|e| &e.label);
    let labels = laid.chain(sheet.joins.iter().map(|j| &j.label));
    for (label, points) in labels.zip(&edges) {
        if let Some(put) = label::edge_label(&mut board, &mut field, label, points) {
            needs.extend(corners(put));
            whole.push((put, 2.0));
        }
    }

    let middle = outline.unwrap_or(span);
    let words = Words::of(&mut board, &mut field, sheet, (&needs, pulled), middle);
    Ok(Begun {
        sheet,
        outlines,
        outline,
        least,
        field,
        board,
        whole,
        together,
        words,
    })
}

/// The grid of what is taken: openings, lines, crosses.
fn taken(
    sheet: &TemplateSheet,
    span: Rect,
    outlines: &[Vec<Point>],
    edges: &[Vec<Point>],
) -> Field {
    // Room for the largest tail on every side.
    let mut field = Field::new(span.inflate(150.0, 150.0));
    for ring in outlines {
        if !sheet.kept {
            field.take_ring(ring, true);
        }
        field.take_lines(ring, CLEAR_MM);
    }
    for line in edges {
        field.take_lines(line, CLEAR_MM);
    }
    for [a, b] in sheet.centre_lines.iter().chain(&sheet.ticks) {
        let ends = [
            Point::new(a.x_mm(), a.y_mm()),
            Point::new(b.x_mm(), b.y_mm()),
        ];
        field.take_lines(&ends, CLEAR_MM);
    }
    darts::take(&mut field, &sheet.darts);
    holes::take(&mut field, &sheet.holes);
    let crosses = sheet
        .crosses
        .iter()
        .map(|c| (c.place, CROSS_ARM_MM, CROSS_RING_MM));
    let drawn = sheet
        .as_drawn
        .iter()
        .map(|c| (c.place, AS_DRAWN_ARM_MM, 0.0));
    for (at, arm, ring) in crosses.chain(drawn) {
        let c = Point::new(at.x_mm(), at.y_mm());
        field.take_rect(square(c, ring + CLEAR_MM));
        let (a, w) = (arm + CLEAR_MM, CLEAR_MM);
        field.take_rect(Rect::new(c.x - a, c.y - w, c.x + a, c.y + w));
        field.take_rect(Rect::new(c.x - w, c.y - a, c.x + w, c.y + a));
    }
    field
}

fn draw_lines(board: &mut Board<Flat>, sheet: &TemplateSheet) {
    for cross in &sheet.as_drawn {
        let (x, y, a) = (cross.place.x_mm(), cross.place.y_mm(), AS_DRAWN_ARM_MM);
        board.lines(Meaning::AsDrawn, &[p(x - a, y), p(x + a, y)]);
        board.lines(Meaning::AsDrawn, &[p(x, y - a), p(x, y + a)]);
        board.named(format!("{} as drawn", cross.letter));
    }
    for ends in &sheet.centre_lines {
        board.lines(Meaning::CentreLine, ends);
    }
    for path in &sheet.paint_edges {
        board.path(Meaning::PaintEdge, path);
    }
    for ends in &sheet.ticks {
        board
            .lines(Meaning::RegisterEdge, ends)
            .named("tick across the saw line");
    }
    for path in &sheet.cuts {
        board.path(Meaning::Cut, path);
    }
    holes::draw(board, &sheet.holes);
    for edge in &sheet.edges {
        board
            .path(Meaning::RegisterEdge, &edge.path)
            .named(edge.label.clone());
    }
    for join in &sheet.joins {
        board
            .path(Meaning::Join, &join.path)
            .named(join.label.clone());
    }
    let (arm, ring) = (
        Length::from_mm(CROSS_ARM_MM),
        Length::from_mm(CROSS_RING_MM),
    );
    for cross in &sheet.crosses {
        board.cross(cross.place, arm, ring, &cross.letter);
    }
}

/// The words that stand on the template itself, a line each, for readers of the file.
pub(super) fn readable(sheet: &TemplateSheet) -> Vec<String> {
    let words = &sheet.words;
    let mut out = vec![
        words.laying.clone(),
        wording::feature_name(words),
        "THIS SIDE OUT".into(),
        format!("UP {}", words.up_note).trim().into(),
        format!(
            "{} {}",
            wording::serves_label(words),
            wording::pieces(words)
        ),
        wording::issue_and_number(words),
    ];
    if let Some(plug) = &words.plug {
        out.push(wording::plug_label(plug));
    }
    for hole in &sheet.holes {
        out.push(format!("hole {}: {}", hole.number, hole.says.join(", ")));
    }
    out.extend(sheet.joins.iter().map(|j| j.label.clone()));
    for cross in &sheet.crosses {
        let doubt = cross.suspect.clone().unwrap_or_default();
        out.push(wording::join(
            &[
                &format!("cross {}", cross.letter),
                &wording::off_by(cross),
                &doubt,
            ],
            " ",
        ));
    }
    out
}
