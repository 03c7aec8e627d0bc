//! The same page for older cutters: ASCII, release 12 (AC1009), LINE, ARC, CIRCLE and POLYLINE with
//! bulges only.
//!
//! Release 12 has no place for the unit: it stands in the file's name, in its first lines and in
//! the figures beside the check bars. Names are in capitals and comments in ASCII, as release 12
//! has them.

use super::{Corner, LineType, Meaning, Out, Piece, Spot, lengths, line_name, pieces};
use crate::sheet::drawing::{Drawing, Page};
use crate::sheet::trace::{item_bounds, joined};
use crate::write::number::mm_text;
use kurbo::Point;

/// A page of a drawing as DXF of release 12; `None` for a page that it doesn't have.
#[must_use]
pub fn dxf_r12_page(drawing: &Drawing, page: usize) -> Option<String> {
    let shown = drawing.pages.get(page)?;
    let mut out = Out {
        text: String::new(),
        handle: 0,
    };
    let ascii = |text: &str| -> String {
        let plain = |c: char| if c.is_ascii() { c } else { '?' };
        text.chars().map(plain).collect()
    };
    out.comment(&ascii(&format!("{} - {}", drawing.title, shown.name)));
    out.put(
        999,
        "millimetres, 1 unit is 1 mm, y up as seen from outside",
    );
    out.put(999, format!("reference {}", drawing.reference));
    super::without_pictures(&mut out, shown);
    header(&mut out, shown);
    tables(&mut out);
    out.section("ENTITIES");
    entities(&mut out, shown);
    out.put(0, "ENDSEC");
    out.put(0, "EOF");
    Some(out.text)
}

/// Every page, in order.
#[must_use]
pub fn dxf_r12_pages(drawing: &Drawing) -> Vec<String> {
    (0..drawing.pages.len())
        .filter_map(|i| dxf_r12_page(drawing, i))
        .collect()
}

fn header(out: &mut Out, page: &Page) {
    let bounds = page
        .items
        .iter()
        .map(item_bounds)
        .fold(None, joined)
        .unwrap_or_default();
    let corner = |x: f64, y: f64| crate::sheet::trace::spot(Point::new(x, y));
    out.section("HEADER");
    out.put(9, "$ACADVER");
    out.put(1, "AC1009");
    for (name, at) in [
        ("$EXTMIN", corner(bounds.x0, bounds.y0)),
        ("$EXTMAX", corner(bounds.x1, bounds.y1)),
    ] {
        out.put(9, name);
        out.spot(10, at);
        out.put(30, "0.0");
    }
    for (name, at) in [
        ("$LIMMIN", Spot::new(0, 0)),
        ("$LIMMAX", Spot::new(page.paper.width, page.paper.height)),
    ] {
        out.put(9, name);
        out.spot(10, at);
    }
    out.put(0, "ENDSEC");
}

fn tables(out: &mut Out) {
    let kinds = [
        LineType::Continuous,
        LineType::Dashed,
        LineType::LongDashDot,
        LineType::LongDashDoubleDot,
        LineType::Dotted,
    ];
    out.section("TABLES");
    start(out, "LTYPE", kinds.len());
    for kind in kinds {
        let dashes = kind.dashes_um();
        entry(out, "LTYPE", &line_name(kind).to_uppercase());
        out.put(3, line_name(kind));
        out.put(72, 65);
        out.put(73, dashes.len());
        out.put(40, mm_text(dashes.iter().sum()));
        for (k, dash) in dashes.iter().enumerate() {
            out.put(49, mm_text(if k % 2 == 0 { *dash } else { -dash }));
        }
    }
    out.put(0, "ENDTAB");
    start(out, "LAYER", Meaning::ALL.len() + 1);
    let layers = Meaning::ALL.map(|m| (m.layer(), m.line_type()));
    for (name, kind) in [("0", LineType::Continuous)].into_iter().chain(layers) {
        entry(out, "LAYER", &name.to_uppercase());
        out.put(62, 7);
        out.put(6, line_name(kind).to_uppercase());
    }
    out.put(0, "ENDTAB");
    out.put(0, "ENDSEC");
}

fn start(out: &mut Out, name: &str, count: usize) {
    out.put(0, "TABLE");
    out.put(2, name);
    out.put(70, count);
}

fn entry(out: &mut Out, kind: &str, name: &str) {
    out.put(0, kind);
    out.put(2, name);
    out.put(70, 0);
}

fn entity(out: &mut Out, kind: &str, layer: Meaning) {
    out.put(0, kind);
    out.put(8, layer.layer().to_uppercase());
}

fn place(out: &mut Out, code: u16, at: Spot) {
    out.spot(code, at);
    out.put(code + 20, "0.0");
}

fn entities(out: &mut Out, page: &Page) {
    for (meaning, piece) in pieces(page) {
        match piece {
            Piece::Circle { centre, radius } => {
                entity(out, "CIRCLE", meaning);
                place(out, 10, centre);
                out.put(40, mm_text(radius));
            }
            Piece::Run(run, closed) => path(out, meaning, &run, closed),
        }
    }
}

fn path(out: &mut Out, meaning: Meaning, run: &[Corner], closed: bool) {
    if let ([a, b], false) = (run, closed) {
        if a.bulge == 0.0 {
            entity(out, "LINE", meaning);
            place(out, 10, a.at);
            place(out, 11, b.at);
        } else {
            arc(out, meaning, a, b.at);
        }
        return;
    }
    // Two halves of one arc are one arc: 2b / (1 − b²) is the bulge of both together.
    if let ([a, b, c], false) = (run, closed)
        && a.bulge != 0.0
        && a.bulge.abs() < 0.9
        && (a.bulge - b.bulge).abs() < 1e-12
    {
        let bulge = 2.0 * a.bulge / (1.0 - a.bulge * a.bulge);
        arc(out, meaning, &Corner { at: a.at, bulge }, c.at);
        return;
    }
    for (part, closed) in lengths(run, closed) {
        polyline(out, meaning, &part, closed);
    }
}

/// One arc on its own: centre, radius and the angles at its ends, anticlockwise.
fn arc(out: &mut Out, meaning: Meaning, from: &Corner, to: Spot) {
    let mm = |s: Spot| (f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0);
    let ((x, y), (u, v)) = (mm(from.at), mm(to));
    let (dx, dy) = (u - x, v - y);
    // The centre stands at (1 − b²) / 4b of the chord to the left of its middle.
    let off = (1.0 - from.bulge * from.bulge) / (4.0 * from.bulge);
    let (cx, cy) = ((x + u) / 2.0 - dy * off, (y + v) / 2.0 + dx * off);
    let degrees = |px: f64, py: f64| {
        let a = libm::atan2(py - cy, px - cx) * 180.0 / core::f64::consts::PI;
        if a < 0.0 { a + 360.0 } else { a }
    };
    let ends = [degrees(x, y), degrees(u, v)];
    let [first, last] = if from.bulge > 0.0 {
        ends
    } else {
        [ends[1], ends[0]]
    };
    entity(out, "ARC", meaning);
    out.put(10, format!("{cx:.6}"));
    out.put(20, format!("{cy:.6}"));
    out.put(30, "0.0");
    out.put(40, format!("{:.6}", libm::hypot(x - cx, y - cy)));
    out.put(50, format!("{first:.6}"));
    out.put(51, format!("{last:.6}"));
}

fn polyline(out: &mut Out, meaning: Meaning, run: &[Corner], closed: bool) {
    entity(out, "POLYLINE", meaning);
    out.put(66, 1);
    place(out, 10, Spot::new(0, 0));
    out.put(70, u8::from(closed));
    for corner in run {
        entity(out, "VERTEX", meaning);
        place(out, 10, corner.at);
        if corner.bulge != 0.0 {
            out.put(42, format!("{:.9}", corner.bulge));
        }
    }
    entity(out, "SEQEND", meaning);
}
