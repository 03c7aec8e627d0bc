//! What stands on one page, as PDF operators.
//!
//! The operators are written out here and not by the PDF library: a sheet is ten thousand numbers,
//! all whole micrometres, and the library prints each through a shortest-decimal search.

use super::letters::{ShapeName, Shapes, letters};
use super::pictures::{self, Kept};
use super::{POINTS_PER_MM, packed};
use crate::sheet::drawing::{Contour, Item, Meaning, Page, PaperSize, Segment, Shape, Spot};
use crate::sheet::trace::{ArcThrough, point};
use crate::write::number;
use pdf_writer::{Content, Name, TextStr};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;

/// A page ready to stand in any file.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct PressedPage {
    pub(super) name: String,
    pub(super) paper: PaperSize,
    /// The operators, compressed.
    #[serde(skip)]
    pub(super) packed: Vec<u8>,
    /// SHA-256 of the operators.
    pub(super) digest: [u8; 32],
    /// The letters they use.
    pub(super) uses: BTreeSet<ShapeName>,
    /// The pictures on it.
    pub(super) pictures: Vec<Kept>,
}

pub(super) fn page(page: &Page, shapes: &mut Shapes) -> PressedPage {
    let mut uses = BTreeSet::new();
    let mut pictures = Vec::new();
    let raw = operators(page, shapes, &mut uses, &mut pictures);
    PressedPage {
        name: page.name.clone(),
        paper: page.paper,
        packed: packed(&raw),
        digest: Sha256::digest(&raw).into(),
        uses,
        pictures,
    }
}

fn operators(
    page: &Page,
    shapes: &mut Shapes,
    uses: &mut BTreeSet<ShapeName>,
    kept: &mut Vec<Kept>,
) -> Vec<u8> {
    let mut out = Vec::with_capacity(64 * 1024);
    let unit = format!("q\n{POINTS_PER_MM:.10} 0 0 {POINTS_PER_MM:.10} 0 0 cm\n0 J\n1 j\n");
    out.extend_from_slice(unit.as_bytes());
    // Pictures first: everything else is drawn over them.
    for item in &page.items {
        if let Shape::Picture(picture) = &item.shape {
            let one = Kept::of(picture);
            pictures::draw(&mut out, picture, &one.name);
            kept.push(one);
        }
    }
    for meaning in Meaning::ALL {
        let mut items = page
            .items
            .iter()
            .filter(|i| i.meaning == meaning && !matches!(i.shape, Shape::Picture(_)))
            .peekable();
        if items.peek().is_none() {
            continue;
        }
        let mut begin = Content::new();
        begin
            .begin_marked_content_with_properties(Name(b"OC"))
            .properties_named(Name(meaning.layer().as_bytes()));
        said(&mut out, begin);
        numbers(&mut out, &[meaning.width_um()], "w");
        out.push(b'[');
        for (i, dash) in meaning.line_type().dashes_um().iter().enumerate() {
            if i > 0 {
                out.push(b' ');
            }
            number::mm(*dash, &mut out);
        }
        out.extend_from_slice(b"] 0 d\n");
        for item in items {
            draw(&mut out, item, shapes, uses);
        }
        out.extend_from_slice(b"EMC\n");
    }
    out.push(b'Q');
    out
}

/// What the library has written, with its line end.
fn said(out: &mut Vec<u8>, content: Content) {
    out.extend_from_slice(content.finish().as_slice());
    out.push(b'\n');
}

pub(super) fn numbers(out: &mut Vec<u8>, um: &[i32], operator: &str) {
    for n in um {
        number::mm(*n, out);
        out.push(b' ');
    }
    out.extend_from_slice(operator.as_bytes());
    out.push(b'\n');
}

fn draw(out: &mut Vec<u8>, item: &Item, shapes: &mut Shapes, uses: &mut BTreeSet<ShapeName>) {
    match &item.shape {
        Shape::Line(contours) => {
            trace(out, contours);
            out.extend_from_slice(b"S\n");
        }
        Shape::Circle { centre, radius } => {
            let round = ArcThrough {
                centre: point(*centre),
                radius: f64::from(*radius),
                from_rad: 0.0,
                sweep_rad: core::f64::consts::TAU,
            };
            numbers(out, &[centre.x.saturating_add(*radius), centre.y], "m");
            curves(out, &round, None);
            out.extend_from_slice(b"s\n");
        }
        Shape::Picture(_) => {}
        Shape::Solid(contours) => {
            trace(out, contours);
            out.extend_from_slice(b"f*\n");
        }
        Shape::Lettering { text, outlines } => {
            // What the outlines say, for readers that look for words (ISO 32000-1, 14.9.4).
            let mut begin = Content::new();
            begin
                .begin_marked_content_with_properties(Name(b"Span"))
                .properties()
                .actual_text(TextStr(text));
            said(out, begin);
            out.extend_from_slice(b"q\n");
            let mut pen = Spot::new(0, 0);
            for letter in letters(outlines) {
                let Some(at) = letter.first().map(|c| c.start) else {
                    continue;
                };
                // Each letter steps on from the one before: whole micrometres add up exactly.
                out.extend_from_slice(b"1 0 0 1 ");
                let step = [at.x.saturating_sub(pen.x), at.y.saturating_sub(pen.y)];
                numbers(out, &step, "cm");
                pen = at;
                match shapes.keep(letter, at) {
                    Some(name) => {
                        uses.insert(name);
                        out.push(b'/');
                        out.extend_from_slice(&name.text());
                        out.extend_from_slice(b" Do\n");
                    }
                    None => {
                        let back = Spot::new(at.x.saturating_neg(), at.y.saturating_neg());
                        let shape: Vec<Contour> = letter.iter().map(|c| c.shifted(back)).collect();
                        trace(out, &shape);
                        out.extend_from_slice(b"f\n");
                    }
                }
            }
            out.extend_from_slice(b"Q\nEMC\n");
        }
    }
}

pub(super) fn trace(out: &mut Vec<u8>, contours: &[Contour]) {
    for contour in contours {
        numbers(out, &[contour.start.x, contour.start.y], "m");
        let mut from = contour.start;
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => numbers(out, &[to.x, to.y], "l"),
                Segment::Cubic { c1, c2, to } => {
                    numbers(out, &[c1.x, c1.y, c2.x, c2.y, to.x, to.y], "c");
                }
                Segment::Arc { via, to } => {
                    match ArcThrough::new(point(from), point(via), point(to)) {
                        Some(arc) => curves(out, &arc, Some(to)),
                        None => numbers(out, &[to.x, to.y], "l"),
                    }
                }
            }
            from = segment.to();
        }
        if contour.closed {
            out.extend_from_slice(b"h\n");
        }
    }
}

/// An arc as curves, each point on the grid of the drawing and the last where the arc ends.
fn curves(out: &mut Vec<u8>, arc: &ArcThrough, end: Option<Spot>) {
    let pieces = arc.cubics(0.5);
    let last = pieces.len().saturating_sub(1);
    for (i, piece) in pieces.into_iter().enumerate() {
        let [a, b, c] = piece.map(crate::sheet::trace::spot);
        let c = end.filter(|_| i == last).unwrap_or(c);
        numbers(out, &[a.x, a.y, b.x, b.y, c.x, c.y], "c");
    }
}
