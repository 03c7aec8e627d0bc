//! The key of lines: what each line on the sheet is, drawn as it is drawn.
//!
//! A sample must not be taken for the thing itself: a cutter fed with the layer of cut lines must
//! not cut the key. So samples are drawn as lettering is, filled shapes of the note layer.

use super::board::{Board, Run, Side, Style};
use super::drawing::Meaning;
use super::input::TemplateSheet;
use super::wording;
use crate::frames::{Point2, Sheet};
use crate::units::Length;
use kurbo::Rect;

/// One entry.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sample {
    meaning: Meaning,
    says: &'static str,
}

/// The entries for the lines that this sheet has.
pub(super) fn samples(sheet: &TemplateSheet, tiled: bool) -> Vec<Sample> {
    let all = [
        (
            Meaning::Cut,
            "cut line",
            !sheet.cuts.is_empty() || sheet.holes.iter().any(|h| h.bush.is_some()),
        ),
        (
            Meaning::PaintEdge,
            wording::outline(&sheet.words),
            !sheet.paint_edges.is_empty(),
        ),
        (Meaning::DrillPoint, "drill here", !sheet.holes.is_empty()),
        (Meaning::Trim, "trim here", true),
        (
            Meaning::Register,
            "register cross",
            !sheet.crosses.is_empty(),
        ),
        (
            Meaning::CentreLine,
            if sheet.grid {
                "grid line"
            } else {
                "centre line"
            },
            !sheet.centre_lines.is_empty(),
        ),
        (
            Meaning::RegisterEdge,
            "lies on the edge",
            !sheet.edges.is_empty(),
        ),
        (
            Meaning::RegisterEdge,
            "tick: mark both sides",
            !sheet.ticks.is_empty(),
        ),
        (
            Meaning::AsDrawn,
            "mark as drawn",
            !sheet.as_drawn.is_empty(),
        ),
        (Meaning::Join, "join", tiled || !sheet.joins.is_empty()),
    ];
    all.into_iter()
        .filter(|(_, _, there)| *there)
        .map(|(meaning, says, _)| Sample { meaning, says })
        .collect()
}

const SAMPLE_MM: f64 = 16.0;
const PITCH_MM: f64 = 5.4;

/// Draws the key in two columns; returns where it ends.
pub(super) fn draw(
    board: Option<&mut Board<Sheet>>,
    samples: &[Sample],
    x: f64,
    y: f64,
    room: f64,
) -> f64 {
    let rows = samples.len().div_ceil(2);
    #[expect(clippy::cast_precision_loss, reason = "a few rows")]
    let bottom = y - rows as f64 * PITCH_MM;
    let Some(board) = board else { return bottom };
    for (i, sample) in samples.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "a few rows")]
        let (row, column) = ((i / 2) as f64, (i % 2) as f64);
        let (left, mid) = (x + column * room / 2.0, y - (row + 0.5) * PITCH_MM);
        line(board, sample.meaning, left, mid);
        let at = Point2::from_mm(left + SAMPLE_MM + 2.5, mid - Style::NOTE.cap_mm() / 2.0);
        let wide = room / 2.0 - SAMPLE_MM - 3.0;
        // Said shorter rather than cut off.
        let says = match sample.says {
            "mark as drawn" if Style::NOTE.width_mm(sample.says) > wide => "as drawn",
            says => says,
        };
        let said = Style::NOTE.cut_to(says, wide);
        board.text(at, &said, Style::NOTE, Side::Start, Run::Across);
    }
    bottom
}

fn line(board: &mut Board<Sheet>, meaning: Meaning, x: f64, y: f64) {
    let half = f64::from(meaning.width_um()) / 2000.0;
    if meaning == Meaning::Register {
        let (c, arm) = (x + SAMPLE_MM / 2.0, 2.6);
        board.block(
            Meaning::Note,
            Rect::new(c - arm, y - half, c + arm, y + half),
        );
        board.block(
            Meaning::Note,
            Rect::new(c - half, y - arm, c + half, y + arm),
        );
        board.circle(Meaning::Note, Point2::from_mm(c, y), Length::from_mm(1.4));
        return;
    }
    let dashes = meaning.line_type().dashes_um();
    let mut at = 0.0;
    let mut turn = 0;
    while at < SAMPLE_MM {
        let length = dashes
            .get(turn % dashes.len().max(1))
            .map_or(SAMPLE_MM, |um| f64::from(*um) / 1000.0);
        let end = (at + length).min(SAMPLE_MM);
        if turn % 2 == 0 {
            board.block(
                Meaning::Note,
                Rect::new(x + at, y - half, x + end, y + half),
            );
        }
        at = end;
        turn += 1;
    }
}
