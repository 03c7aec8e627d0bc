//! The tracing frame: a sheet with a target in each corner and a fifth that proves it.
//!
//! A shape is traced off the pattern inside its window and photographed. The corners undo the
//! camera's view (a picture of a flat sheet is a homography of it), the fifth target says how well.
//! Where the fifth stands between the lower corners also says which paper it is and whether it is
//! seen from behind: four corners alone fit any sheet.

use super::board::{Board, Run, Side, Style, um};
use super::drawing::{Contour, Drawing, Meaning, Page, PaperSize, Segment, Shape, Spot};
use super::error::SheetError;
use super::paper::Paper;
use super::reference::reference;
use crate::frames::{Point2, Sheet};
use crate::units::Length;
use kurbo::{Point, Rect};

/// From the edges of the paper to the middle of a target, mm: the margin of most printers and the
/// target's own radius.
const INSET_MM: f64 = 22.0;
/// Radius of a target's ring outside and inside, and of its dot, mm.
pub(crate) const TARGET_MM: [f64; 3] = [8.0, 5.5, 3.0];
/// From the middle of a target to the window, mm.
const CLEAR_MM: f64 = 12.0;

/// Papers a frame is printed on, with where its fifth target stands between the lower corners.
/// All under a half and well apart, so that neither another paper nor a mirror is taken for it.
const PAPERS: [(Paper, f64); 4] = [
    (Paper::A4, 0.34),
    (Paper::A3, 0.26),
    (Paper::Letter, 0.42),
    (Paper::Tabloid, 0.18),
];

/// Where everything is on one frame, mm from the sheet's lower left corner, y up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameLayout {
    /// The paper.
    pub paper: Paper,
    /// The corner targets: lower left, lower right, upper right, upper left.
    pub corners: [Point; 4],
    /// The target that proves them.
    pub fifth: Point,
    /// Where something may be traced.
    pub window: Rect,
}

impl FrameLayout {
    /// The frame on a paper; none on papers it is not made for.
    #[must_use]
    pub fn of(paper: Paper) -> Option<Self> {
        let (_, share) = PAPERS.into_iter().find(|(p, _)| *p == paper)?;
        let size = paper.upright().ok()?;
        let (w, h) = (
            f64::from(size.width) / 1000.0,
            f64::from(size.height) / 1000.0,
        );
        let (x1, y1) = (w - INSET_MM, h - INSET_MM);
        Some(Self {
            paper,
            corners: [
                Point::new(INSET_MM, INSET_MM),
                Point::new(x1, INSET_MM),
                Point::new(x1, y1),
                Point::new(INSET_MM, y1),
            ],
            fifth: Point::new(INSET_MM + share * (x1 - INSET_MM), INSET_MM),
            window: Rect::new(
                INSET_MM + CLEAR_MM,
                INSET_MM + CLEAR_MM,
                x1 - CLEAR_MM,
                y1 - CLEAR_MM,
            ),
        })
    }

    /// All frames there are.
    pub fn all() -> impl Iterator<Item = Self> {
        PAPERS.into_iter().filter_map(|(paper, _)| Self::of(paper))
    }
}

fn at(p: Point) -> Point2<Sheet> {
    Point2::from_mm(p.x, p.y)
}

/// The sheet of a tracing frame.
///
/// # Errors
/// A paper it is not made for.
pub fn tracing_frame(paper: Paper) -> Result<Drawing, SheetError> {
    let layout = FrameLayout::of(paper).ok_or_else(|| SheetError::NoFrame {
        paper: paper.name(),
    })?;
    let size = paper.upright()?;
    let title = "Tracing frame".to_owned();
    let says = words(&layout);
    let mut readable = vec![title.clone()];
    readable.extend(says.iter().cloned());
    let mut drawing = Drawing {
        title: title.clone(),
        reference: String::new(),
        readable,
        pages: vec![page(size, &layout, &title, &says)],
    };
    drawing.reference = reference(&drawing, None, 0);
    Ok(drawing)
}

fn words(layout: &FrameLayout) -> Vec<String> {
    let [low, right, up, _] = layout.corners;
    vec![
        "Print at 100 %. Lay it on the pattern, or tracing film over both; follow the edge with a dark pen, 1 to 3 mm wide, all the way round, inside the window, and draw a cross over each mark.".to_owned(),
        "Lay it flat in even light. Photograph all five targets, from a metre away and zoomed in. Square to it is not needed.".to_owned(),
        format!(
            "Between the middles of the corner targets: {:.1} mm across, {:.1} mm up. Measure both: what the printer made of them the outline has too.",
            right.x - low.x,
            up.y - right.y
        ),
    ]
}

fn page(size: PaperSize, layout: &FrameLayout, title: &str, says: &[String]) -> Page {
    let mut board: Board<Sheet> = Board::new();
    for corner in layout.corners {
        target(&mut board, corner, "corner target");
    }
    target(&mut board, layout.fifth, "fifth target");
    let window = layout.window;
    for (x, y, dx, dy) in [
        (window.x0, window.y0, 1.0, 1.0),
        (window.x1, window.y0, -1.0, 1.0),
        (window.x1, window.y1, -1.0, -1.0),
        (window.x0, window.y1, 1.0, -1.0),
    ] {
        // Outside of the window, where nothing is read.
        let (x, y) = (x - dx, y - dy);
        let corner = at(Point::new(x, y));
        board.lines(Meaning::Rule, &[corner, at(Point::new(x + 8.0 * dx, y))]);
        board.lines(Meaning::Rule, &[corner, at(Point::new(x, y + 8.0 * dy))]);
    }
    let top = layout.corners[3].y + TARGET_MM[0];
    let mut y = top - Style::HEADING.cap_mm();
    board.text(
        at(Point::new(window.x0, y)),
        title,
        Style::HEADING,
        Side::Start,
        Run::Across,
    );
    y -= 0.6;
    for line in Style::FIELD.wrap(&says.join(" "), window.width()) {
        y -= Style::FIELD.pitch_mm();
        let place = at(Point::new(window.x0, y));
        board.text(place, &line, Style::FIELD, Side::Start, Run::Across);
    }
    let beside = Point::new(layout.fifth.x + TARGET_MM[0] + 2.5, layout.fifth.y - 0.9);
    board.text(
        at(beside),
        "the fifth target proves the other four",
        Style::FIELD,
        Side::Start,
        Run::Across,
    );
    Page {
        paper: size,
        name: format!("{title}, {}", layout.paper.name()),
        items: board.into_items(),
    }
}

/// A dot in a ring: their middles are the same place however they are seen.
fn target(board: &mut Board<Sheet>, centre: Point, name: &str) {
    let [outside, inside, dot] = TARGET_MM;
    board.push(
        Meaning::Note,
        Shape::Solid(vec![round(centre, outside), round(centre, inside)]),
    );
    board.named(name);
    board.disc(Meaning::Note, at(centre), Length::from_mm(dot));
    board.named(name);
}

fn round(centre: Point, radius: f64) -> Contour {
    let spot = |dx: f64, dy: f64| Spot::new(um(centre.x + dx), um(centre.y + dy));
    Contour {
        start: spot(radius, 0.0),
        segments: vec![
            Segment::Arc {
                via: spot(0.0, radius),
                to: spot(-radius, 0.0),
            },
            Segment::Arc {
                via: spot(0.0, -radius),
                to: spot(radius, 0.0),
            },
        ],
        closed: true,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn no_frame_can_be_taken_for_another_or_for_its_mirror() {
        let places: Vec<f64> = PAPERS
            .into_iter()
            .flat_map(|(_, share)| [share, 1.0 - share])
            .collect();
        for (i, a) in places.iter().enumerate() {
            for b in places.iter().skip(i + 1) {
                // Of the narrowest frame, 166 mm between corners: over ten millimetres.
                assert!((a - b).abs() * 166.0 > 10.0, "{a} and {b}");
            }
        }
    }

    #[test]
    fn words_stand_clear_of_targets_and_window() {
        for layout in FrameLayout::all() {
            let drawing = tracing_frame(layout.paper).unwrap();
            let window = layout.window;
            for item in &drawing.pages[0].items {
                let b = crate::sheet::trace::item_bounds(item).unwrap();
                let b = Rect::new(b.x0 / 1e3, b.y0 / 1e3, b.x1 / 1e3, b.y1 / 1e3);
                assert!(
                    b.intersect(window).area() <= 0.0,
                    "{:?}: {b:?}",
                    layout.paper
                );
                if matches!(item.shape, Shape::Lettering { .. }) {
                    for target in layout.corners.into_iter().chain([layout.fifth]) {
                        let r = Rect::from_center_size(target, (18.0, 18.0));
                        assert!(b.intersect(r).area() <= 0.0, "{:?}: {b:?}", layout.paper);
                    }
                }
            }
        }
        assert!(
            tracing_frame(Paper::Roll {
                width: Length::from_mm(610.0)
            })
            .is_err()
        );
    }
}
