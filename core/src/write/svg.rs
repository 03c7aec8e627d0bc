//! One page as SVG: true size in every reader, nothing that depends on a font being there.
//!
//! The root says its size in millimetres and its view box in the same numbers, so one user unit is
//! one millimetre (SVG 2, *Units*). y is turned over here, once, point by point: no transform
//! could mirror a letter.

use super::number::{mm, mm_text, short};
use crate::sheet::Greys;
use crate::sheet::drawing::{Contour, Drawing, Item, Meaning, Page, Segment, Shape, Spot};
use crate::sheet::trace::{ArcThrough, point};
use base64::prelude::{BASE64_STANDARD, Engine as _};
use svg::Document;
use svg::node::element::{Circle, Description, Element, Group, Path, Title};
use svg::node::{Node, Text};

/// A page of a drawing as SVG text; `None` for a page that it doesn't have.
///
/// Groups are named by meaning, in the order of [`Meaning::ALL`]; title, description and metadata
/// carry in words what the outlines of the letters say. The same drawing gives the same bytes.
#[must_use]
pub fn svg_page(drawing: &Drawing, page: usize) -> Option<String> {
    let shown = drawing.pages.get(page)?;
    let (w, h) = (mm_text(shown.paper.width), mm_text(shown.paper.height));
    let mut root = Document::new()
        .set("version", "1.1")
        .set("width", format!("{w}mm"))
        .set("height", format!("{h}mm"))
        .set("viewBox", format!("0 0 {w} {h}"))
        .set("preserveAspectRatio", "xMinYMin meet")
        .add(Title::new(format!("{} · {}", drawing.title, shown.name)));
    root.append(described(drawing, w, h));
    root.append(metadata(drawing, shown));
    let pictures = shown.items.iter().filter_map(|i| match &i.shape {
        Shape::Picture(picture) => Some(image(picture, shown.paper.height)),
        _ => None,
    });
    pictures.for_each(|p| root.append(p));
    for meaning in Meaning::ALL {
        let items: Vec<&Item> = shown
            .items
            .iter()
            .filter(|i| i.meaning == meaning && !matches!(i.shape, Shape::Picture(_)))
            .collect();
        if !items.is_empty() {
            root.append(group(meaning, &items, shown.paper.height));
        }
    }
    Some(format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{root}\n"
    ))
}

fn described(drawing: &Drawing, w: String, h: String) -> Description {
    let mut said = format!("{w} × {h} mm, one unit is one millimetre. Print at true size.");
    for line in &drawing.readable {
        said.push('\n');
        said.push_str(line);
    }
    let mut description = Description::new();
    description.append(Text::new(said));
    description
}

fn metadata(drawing: &Drawing, page: &Page) -> Element {
    let mut facts = Element::new("metadata");
    let mut lines = vec![
        format!("page: {}", page.name),
        format!("reference: {}", drawing.reference),
    ];
    for item in &page.items {
        if let Shape::Lettering { text, .. } = &item.shape {
            lines.push(text.clone());
        }
    }
    facts.append(Text::new(lines.join("\n")));
    facts
}

fn group(meaning: Meaning, items: &[&Item], height: i32) -> Group {
    let mut group = Group::new()
        .set("id", meaning.layer())
        .set("fill", "none")
        .set("stroke", "#000")
        .set("stroke-width", mm_text(meaning.width_um()));
    let dashes: Vec<String> = meaning
        .line_type()
        .dashes_um()
        .iter()
        .map(|d| mm_text(*d))
        .collect();
    if !dashes.is_empty() {
        group = group.set("stroke-dasharray", dashes.join(" "));
    }
    for item in items {
        let mut node: Element = match &item.shape {
            Shape::Circle { centre, radius } => Circle::new()
                .set("cx", mm_text(centre.x))
                .set("cy", mm_text(height - centre.y))
                .set("r", mm_text(*radius))
                .into(),
            Shape::Picture(_) => continue,
            Shape::Line(contours) => Path::new().set("d", data(contours, height)).into(),
            Shape::Solid(contours) => filled(
                Path::new()
                    .set("d", data(contours, height))
                    .set("fill-rule", "evenodd"),
            )
            .into(),
            Shape::Lettering { outlines, .. } => {
                filled(Path::new().set("d", letters(outlines, height))).into()
            }
        };
        let said = match (&item.shape, &item.label) {
            (_, Some(label)) => Some(label.as_str()),
            (Shape::Lettering { text, .. }, None) => Some(text.as_str()),
            _ => None,
        };
        if let Some(said) = said {
            node.append(Title::new(said));
        }
        group.append(node);
    }
    group
}

/// A picture, its points in the file itself: nothing is fetched.
fn image(picture: &Greys, height: i32) -> Element {
    let (low, top) = (picture.low, picture.top());
    let png = BASE64_STANDARD.encode(crate::write::png::png(picture));
    let mut image = Element::new("image");
    for (name, um) in [
        ("x", low.x),
        ("y", height.saturating_sub(top.y)),
        ("width", top.x.saturating_sub(low.x)),
        ("height", top.y.saturating_sub(low.y)),
    ] {
        image.assign(name, mm_text(um));
    }
    image.assign("preserveAspectRatio", "none");
    image.assign("xmlns:xlink", "http://www.w3.org/1999/xlink");
    image.assign("xlink:href", format!("data:image/png;base64,{png}"));
    image.append(Title::new("the picture"));
    image
}

fn filled(path: Path) -> Path {
    path.set("fill", "#000")
        .set("stroke", "none")
        .set("stroke-dasharray", "none")
}

/// Path data; written out here because the numbers have to be ours.
fn data(contours: &[Contour], height: i32) -> String {
    let mut out = String::new();
    for contour in contours {
        letter('M', &[contour.start], height, &mut out);
        let mut from = contour.start;
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => letter('L', &[to], height, &mut out),
                Segment::Cubic { c1, c2, to } => letter('C', &[c1, c2, to], height, &mut out),
                Segment::Arc { via, to } => arc(from, via, to, height, &mut out),
            }
            from = segment.to();
        }
        if contour.closed {
            out.push('Z');
        }
    }
    out
}

/// Lettering as relative path data: most of a sheet is letters, and this halves it. Differences of
/// whole micrometres are whole, so nothing drifts.
fn letters(contours: &[Contour], height: i32) -> String {
    let mut out = String::new();
    for contour in contours {
        letter('M', &[contour.start], height, &mut out);
        let mut from = contour.start;
        let mut last = ' ';
        for segment in &contour.segments {
            let (which, spots): (char, &[Spot]) = match segment {
                Segment::Line { to } => ('l', &[*to]),
                Segment::Cubic { c1, c2, to } => ('c', &[*c1, *c2, *to]),
                Segment::Arc { via, to } => ('l', &[*via, *to]),
            };
            if which != last {
                out.push(which);
                last = which;
            }
            let mut base = from;
            for s in spots {
                short(s.x.saturating_sub(base.x), &mut out);
                short(base.y.saturating_sub(s.y), &mut out);
                if matches!(segment, Segment::Arc { .. }) {
                    base = *s;
                }
            }
            from = segment.to();
        }
        if contour.closed {
            out.push('z');
        }
    }
    out
}

/// An arc as two, each under half a turn, so that no flag hangs on a rounded radius.
fn arc(from: Spot, via: Spot, to: Spot, height: i32, out: &mut String) {
    let Some(round) = ArcThrough::new(point(from), point(via), point(to)) else {
        letter('L', &[via], height, out);
        letter('L', &[to], height, out);
        return;
    };
    let radius = crate::sheet::trace::spot(kurbo::Point::new(round.radius, 0.0)).x;
    // Anticlockwise as seen on the sheet is flag 0 in a frame whose y runs down.
    let flag = if round.sweep_rad > 0.0 { '0' } else { '1' };
    let half = |end: Spot, out: &mut String| {
        out.push('A');
        mm(radius, out);
        out.push(' ');
        mm(radius, out);
        out.push_str(" 0 0 ");
        out.push(flag);
        out.push(' ');
        pair(end, height, out);
    };
    if round.sweep_rad.abs() < core::f64::consts::FRAC_PI_2 {
        half(to, out);
    } else {
        half(via, out);
        half(to, out);
    }
}

fn letter(which: char, spots: &[Spot], height: i32, out: &mut String) {
    out.push(which);
    for (i, s) in spots.iter().enumerate() {
        if i > 0 {
            out.push(' ');
        }
        pair(*s, height, out);
    }
}

fn pair(s: Spot, height: i32, out: &mut String) {
    mm(s.x, out);
    out.push(' ');
    mm(height.saturating_sub(s.y), out);
}

/// Every page as SVG, in order.
#[must_use]
pub fn svg_pages(drawing: &Drawing) -> Vec<String> {
    (0..drawing.pages.len())
        .filter_map(|i| svg_page(drawing, i))
        .collect()
}
