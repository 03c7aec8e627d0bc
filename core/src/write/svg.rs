//! One page as SVG: true size in every reader, nothing that depends on a font being there.
//!
//! The root says its size in millimetres and its view box in the same numbers, so one user unit is
//! one millimetre (SVG 2, *Units*). y is turned over here, once, point by point: no transform
//! could mirror a letter.

use super::number::{mm, mm_text, short};
use super::xml::said;
use crate::sheet::Greys;
use crate::sheet::drawing::{Contour, Drawing, Item, Meaning, Page, Segment, Shape, Spot};
use crate::sheet::trace::{ArcThrough, point};
use base64::prelude::{BASE64_STANDARD, Engine as _};
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// A page of a drawing as SVG text; `None` for a page that it doesn't have.
///
/// Groups are named by meaning, in the order of [`Meaning::ALL`]; title, description and metadata
/// carry in words what the outlines of the letters say. The same drawing gives the same bytes.
#[must_use]
pub fn svg_page(drawing: &Drawing, page: usize) -> Option<String> {
    let shown = drawing.pages.get(page)?;
    let (w, h) = (mm_text(shown.paper.width), mm_text(shown.paper.height));
    let mut out = Vec::with_capacity(64 * 1024);
    put(
        &mut out,
        &[
            "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg height=\"",
            &h,
            "mm\" preserveAspectRatio=\"xMinYMin meet\" version=\"1.1\" viewBox=\"0 0 ",
            &w,
            " ",
            &h,
            "\" width=\"",
            &w,
            "mm\" xmlns=\"http://www.w3.org/2000/svg\">\n",
        ],
    );
    words(
        &mut out,
        "title",
        &[&drawing.title, " · ", shown.name.as_str()],
    );
    let true_size = format!("{w} × {h} mm, one unit is one millimetre. Print at true size.");
    described(&mut out, &true_size, drawing);
    metadata(&mut out, drawing, shown);
    for item in &shown.items {
        if let Shape::Picture(picture) = &item.shape {
            image(&mut out, picture, shown.paper.height);
        }
    }
    let mut letters = Letters::default();
    for meaning in Meaning::ALL {
        let mut items = shown
            .items
            .iter()
            .filter(|i| i.meaning == meaning && !matches!(i.shape, Shape::Picture(_)))
            .peekable();
        if items.peek().is_some() {
            group(&mut out, meaning, items, shown.paper.height, &mut letters);
        }
    }
    put(&mut out, &["</svg>\n"]);
    // Nothing but whole strings and digits was put in.
    Some(String::from_utf8(out).unwrap_or_default())
}

fn put(out: &mut Vec<u8>, texts: &[&str]) {
    for text in texts {
        out.extend_from_slice(text.as_bytes());
    }
}

/// An element of nothing but words, on a line of its own.
fn words(out: &mut Vec<u8>, name: &str, texts: &[&str]) {
    put(out, &["<", name, ">"]);
    for text in texts {
        said(out, text);
    }
    put(out, &["</", name, ">\n"]);
}

fn described(out: &mut Vec<u8>, true_size: &str, drawing: &Drawing) {
    put(out, &["<desc>", true_size]);
    for line in &drawing.readable {
        put(out, &["\n"]);
        said(out, line);
    }
    put(out, &["</desc>\n"]);
}

fn metadata(out: &mut Vec<u8>, drawing: &Drawing, page: &Page) {
    put(out, &["<metadata>page: "]);
    said(out, &page.name);
    put(out, &["\nreference: "]);
    said(out, &drawing.reference);
    for item in &page.items {
        if let Shape::Lettering { text, .. } = &item.shape {
            put(out, &["\n"]);
            said(out, text);
        }
    }
    put(out, &["</metadata>\n"]);
}

/// Filled, whatever the group says.
const FILLED: [&str; 2] = [
    " fill=\"#000\"",
    " stroke=\"none\" stroke-dasharray=\"none\"",
];

fn group<'i>(
    out: &mut Vec<u8>,
    meaning: Meaning,
    items: impl Iterator<Item = &'i Item>,
    height: i32,
    letters: &mut Letters,
) {
    put(out, &["<g fill=\"none\" id=\"", meaning.layer()]);
    put(out, &["\" stroke=\"#000\""]);
    for (i, dash) in meaning.line_type().dashes_um().iter().enumerate() {
        put(out, &[if i == 0 { " stroke-dasharray=\"" } else { " " }]);
        mm(*dash, out);
    }
    if !meaning.line_type().dashes_um().is_empty() {
        put(out, &["\""]);
    }
    put(out, &[" stroke-width=\""]);
    mm(meaning.width_um(), out);
    put(out, &["\">\n"]);
    for item in items {
        let [fill, no_stroke] = FILLED;
        let (name, own) = match &item.shape {
            Shape::Circle { centre, radius } => {
                put(out, &["<circle cx=\""]);
                mm(centre.x, out);
                put(out, &["\" cy=\""]);
                mm(height - centre.y, out);
                put(out, &["\" r=\""]);
                mm(*radius, out);
                put(out, &["\""]);
                ("circle", None)
            }
            Shape::Picture(_) => continue,
            Shape::Line(contours) => {
                put(out, &["<path d=\""]);
                data(contours, height, out);
                put(out, &["\""]);
                ("path", None)
            }
            Shape::Solid(contours) => {
                put(out, &["<path d=\""]);
                data(contours, height, out);
                put(out, &["\"", fill, " fill-rule=\"evenodd\"", no_stroke]);
                ("path", None)
            }
            Shape::Lettering { text, outlines } => {
                put(out, &["<path d=\""]);
                letters.put(outlines, height, out);
                put(out, &["\"", fill, no_stroke]);
                ("path", Some(text))
            }
        };
        match item.label.as_ref().or(own) {
            Some(label) => {
                put(out, &[">\n"]);
                words(out, "title", &[label]);
                put(out, &["</", name, ">\n"]);
            }
            None => put(out, &["/>\n"]),
        }
    }
    put(out, &["</g>\n"]);
}

/// A picture, its points in the file itself: nothing is fetched.
fn image(out: &mut Vec<u8>, picture: &Greys, height: i32) {
    let (low, top) = (picture.low, picture.top());
    let png = BASE64_STANDARD.encode(crate::write::png::png(picture));
    put(out, &["<image height=\""]);
    mm(top.y.saturating_sub(low.y), out);
    put(out, &["\" preserveAspectRatio=\"none\" width=\""]);
    mm(top.x.saturating_sub(low.x), out);
    put(out, &["\" x=\""]);
    mm(low.x, out);
    put(out, &["\" xlink:href=\"data:image/png;base64,", &png]);
    put(
        out,
        &["\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" y=\""],
    );
    mm(height.saturating_sub(top.y), out);
    put(out, &["\">\n"]);
    words(out, "title", &["the picture"]);
    put(out, &["</image>\n"]);
}

fn data(contours: &[Contour], height: i32, out: &mut Vec<u8>) {
    for contour in contours {
        letter(b'M', &[contour.start], height, out);
        let mut from = contour.start;
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => letter(b'L', &[to], height, out),
                Segment::Cubic { c1, c2, to } => letter(b'C', &[c1, c2, to], height, out),
                Segment::Arc { via, to } => arc(from, via, to, height, out),
            }
            from = segment.to();
        }
        if contour.closed {
            out.push(b'Z');
        }
    }
}

/// A contour of a letter as it was last written, found again by a few of its places.
struct Written {
    of: Contour,
    data: Vec<u8>,
}

/// The contours of letters written on a page: a page has a thousand, of some seventy shapes.
#[derive(Default)]
struct Letters(BTreeMap<[i32; 4], Written>);

impl Letters {
    /// Lettering as relative path data: most of a sheet is letters, and this halves it. Differences of
    /// whole micrometres are whole, so nothing drifts.
    fn put(&mut self, contours: &[Contour], height: i32, out: &mut Vec<u8>) {
        for contour in contours {
            letter(b'M', &[contour.start], height, out);
            match self.0.entry(contour.glance()) {
                Entry::Occupied(kept) => {
                    let kept = kept.get();
                    let (to, from) = (contour.start, kept.of.start);
                    let by = Spot::new(to.x.saturating_sub(from.x), to.y.saturating_sub(from.y));
                    if contour.is_moved(&kept.of, by) {
                        out.extend_from_slice(&kept.data);
                    } else {
                        relative(contour, out);
                    }
                }
                Entry::Vacant(place) => {
                    let from = out.len();
                    relative(contour, out);
                    place.insert(Written {
                        of: contour.clone(),
                        data: out.get(from..).unwrap_or_default().to_vec(),
                    });
                }
            }
        }
    }
}

/// A contour from its start on, each place by how far it is from the one before.
fn relative(contour: &Contour, out: &mut Vec<u8>) {
    let mut from = contour.start;
    let mut last = b' ';
    for segment in &contour.segments {
        let (which, spots): (u8, &[Spot]) = match segment {
            Segment::Line { to } => (b'l', &[*to]),
            Segment::Cubic { c1, c2, to } => (b'c', &[*c1, *c2, *to]),
            Segment::Arc { via, to } => (b'l', &[*via, *to]),
        };
        if which != last {
            out.push(which);
            last = which;
        }
        let mut base = from;
        for s in spots {
            short(s.x.saturating_sub(base.x), out);
            short(base.y.saturating_sub(s.y), out);
            if matches!(segment, Segment::Arc { .. }) {
                base = *s;
            }
        }
        from = segment.to();
    }
    if contour.closed {
        out.push(b'z');
    }
}

/// An arc as two, each under half a turn, so that no flag hangs on a rounded radius.
fn arc(from: Spot, via: Spot, to: Spot, height: i32, out: &mut Vec<u8>) {
    let Some(round) = ArcThrough::new(point(from), point(via), point(to)) else {
        letter(b'L', &[via], height, out);
        letter(b'L', &[to], height, out);
        return;
    };
    let radius = crate::sheet::trace::spot(kurbo::Point::new(round.radius, 0.0)).x;
    // Anticlockwise as seen on the sheet is flag 0 in a frame whose y runs down.
    let flag = if round.sweep_rad > 0.0 { b'0' } else { b'1' };
    let half = |end: Spot, out: &mut Vec<u8>| {
        out.push(b'A');
        mm(radius, out);
        out.push(b' ');
        mm(radius, out);
        out.extend_from_slice(b" 0 0 ");
        out.push(flag);
        out.push(b' ');
        pair(end, height, out);
    };
    if round.sweep_rad.abs() < core::f64::consts::FRAC_PI_2 {
        half(to, out);
    } else {
        half(via, out);
        half(to, out);
    }
}

fn letter(which: u8, spots: &[Spot], height: i32, out: &mut Vec<u8>) {
    out.push(which);
    for (i, s) in spots.iter().enumerate() {
        if i > 0 {
            out.push(b' ');
        }
        pair(*s, height, out);
    }
}

fn pair(s: Spot, height: i32, out: &mut Vec<u8>) {
    mm(s.x, out);
    out.push(b' ');
    mm(height.saturating_sub(s.y), out);
}

/// Every page as SVG, in order.
#[must_use]
pub fn svg_pages(drawing: &Drawing) -> Vec<String> {
    (0..drawing.pages.len())
        .filter_map(|i| svg_page(drawing, i))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_look_alike_at_a_glance_are_each_written_as_they_are() {
        let letter = |at: i32, third: i32| {
            let to = |x: i32, y: i32| Segment::Line {
                to: Spot::new(at + x, y),
            };
            Contour {
                start: Spot::new(at, 0),
                segments: vec![to(500, 0), to(500, 700), to(0, third)],
                closed: true,
            }
        };
        let all = [letter(0, 700), letter(2_000, 701), letter(4_000, 700)];
        assert_eq!(all[0].glance(), all[1].glance());
        let mut out = Vec::new();
        Letters::default().put(&all, 10_000, &mut out);
        let data = "M0 10l.5 0 0-.7-.5 0zM2 10l.5 0 0-.7-.5-.001zM4 10l.5 0 0-.7-.5 0z";
        assert_eq!(String::from_utf8_lossy(&out), data);
    }
}
