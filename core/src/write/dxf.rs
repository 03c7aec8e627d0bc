//! One page as DXF for a cutter: ASCII, release 2000 (AC1015), millimetres, y up as on the sheet.
//!
//! Nothing but LINE, CIRCLE and LWPOLYLINE with bulges: readers drop splines without a word. Every
//! table, block and dictionary that a strict reader asks for is there, each with a handle of its
//! own (DXF Reference, release 2000: HEADER, TABLES, BLOCKS, ENTITIES, OBJECTS). Layers are named
//! by meaning, lettering is geometry, a line that lies on another of its layer is drawn once, and
//! no path has more than [`MOST_VERTICES`] corners.

mod r12;

pub use r12::{dxf_r12_page, dxf_r12_pages};

use super::number::mm_text;
use crate::outline::arcs_along;
use crate::sheet::drawing::{Contour, Drawing, LineType, Meaning, Page, Segment, Shape, Spot};
use crate::sheet::trace::{ArcThrough, item_bounds, joined, point};
use kurbo::{CubicBez, PathSeg, Point};
use std::collections::BTreeSet;
use std::fmt::Write;

/// Longer paths are cut in two: some receivers drop the rest of one without a word (a limit of
/// 32 000 is reported, design/10 §2.3).
pub const MOST_VERTICES: usize = 20_000;

/// Bytes of a string (DXF Reference, group code ranges: 255 before release 2000).
const MOST_IN_A_LINE: usize = 255;

/// How far an arc may leave the curve it stands for, mm. The check looks at points of the curve, so
/// it keeps well inside the 0.05 mm that is promised.
const ARC_WITHIN_MM: f64 = 0.03;

/// A corner of a path, and how the way to the next bulges: tan of a quarter of the sweep,
/// anticlockwise positive.
#[derive(Debug, Clone, Copy)]
struct Corner {
    at: Spot,
    bulge: f64,
}

/// What has been drawn of a layer: a stretch with its middle, its lesser end first.
type Drawn = BTreeSet<(Spot, Spot, Option<Spot>)>;

/// The lines of the file, and the last handle given.
struct Out {
    text: String,
    handle: u32,
}

impl Out {
    fn put(&mut self, code: u16, value: impl core::fmt::Display) {
        // Writing to a string never fails.
        let _ = write!(self.text, "{code:>3}\n{value}\n");
    }
    /// A comment; a name in it may hold a line's end, which would put every later group out of step,
    /// or be longer than a line may be.
    fn comment(&mut self, text: &str) {
        let ends = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
        let mut line = String::new();
        for c in text.chars().map(|c| if ends(c) { ' ' } else { c }) {
            if line.len() + c.len_utf8() > MOST_IN_A_LINE {
                break;
            }
            line.push(c);
        }
        self.put(999, line);
    }
    fn next(&mut self) -> String {
        self.handle += 1;
        format!("{:X}", self.handle)
    }
    fn spot(&mut self, code: u16, s: Spot) {
        self.put(code, mm_text(s.x));
        self.put(code + 10, mm_text(s.y));
    }
    fn section(&mut self, name: &str) {
        self.put(0, "SECTION");
        self.put(2, name);
    }
    /// Opens a table of `count` entries; its handle owns them.
    fn table(&mut self, name: &str, handle: &str, count: usize) {
        self.put(0, "TABLE");
        self.put(2, name);
        self.put(5, handle);
        self.put(330, "0");
        self.put(100, "AcDbSymbolTable");
        self.put(70, count);
    }
    fn entry(&mut self, kind: &str, class: &str, owner: &str, name: &str) -> String {
        let handle = self.next();
        self.put(0, kind);
        self.put(if kind == "DIMSTYLE" { 105 } else { 5 }, &handle);
        self.put(330, owner);
        self.put(100, "AcDbSymbolTableRecord");
        self.put(100, class);
        self.put(2, name);
        self.put(70, 0);
        handle
    }
    fn entity(&mut self, kind: &str, class: &str, owner: &str, layer: Meaning) {
        let handle = self.next();
        self.put(0, kind);
        self.put(5, handle);
        self.put(330, owner);
        self.put(100, "AcDbEntity");
        self.put(8, layer.layer());
        self.put(100, class);
    }
}

const fn line_name(kind: LineType) -> &'static str {
    match kind {
        LineType::Continuous => "Continuous",
        LineType::Dashed => "dashed",
        LineType::LongDashDot => "long-dash-dot",
        LineType::LongDashDoubleDot => "long-dash-double-dot",
        LineType::Dotted => "dotted",
    }
}

/// A page of a drawing as DXF text; `None` for a page that it doesn't have.
///
/// Coordinates are those of the page: millimetres from the lower left corner of the paper. The same
/// drawing gives the same bytes.
#[must_use]
pub fn dxf_page(drawing: &Drawing, page: usize) -> Option<String> {
    let shown = drawing.pages.get(page)?;
    let mut body = Out {
        text: String::new(),
        // Below are the handles that other parts of the file name: see the constants.
        handle: 0x100,
    };
    tables(&mut body);
    blocks(&mut body);
    body.section("ENTITIES");
    entities(&mut body, shown);
    body.put(0, "ENDSEC");
    objects(&mut body);
    body.put(0, "EOF");
    let mut file = Out {
        text: String::new(),
        handle: 0,
    };
    file.comment(&format!("{} · {}", drawing.title, shown.name));
    file.put(
        999,
        "millimetres, 1 unit is 1 mm, y up as seen from outside",
    );
    file.put(999, format!("reference {}", drawing.reference));
    without_pictures(&mut file, shown);
    header(&mut file, shown, body.handle + 1);
    file.text.push_str(&body.text);
    Some(file.text)
}

/// Says what is left out.
fn without_pictures(out: &mut Out, page: &Page) {
    let mut shapes = page.items.iter().map(|i| &i.shape);
    if shapes.any(|s| matches!(s, Shape::Picture(_))) {
        out.put(
            999,
            "the picture on this sheet is left out: DXF holds its lines only",
        );
    }
}

/// Every page, in order.
#[must_use]
pub fn dxf_pages(drawing: &Drawing) -> Vec<String> {
    (0..drawing.pages.len())
        .filter_map(|i| dxf_page(drawing, i))
        .collect()
}

fn header(out: &mut Out, page: &Page, seed: u32) {
    let bounds = page
        .items
        .iter()
        .map(item_bounds)
        .fold(None, joined)
        .unwrap_or_default();
    let corner = |x: f64, y: f64| crate::sheet::trace::spot(Point::new(x, y));
    out.section("HEADER");
    let set = |out: &mut Out, name: &str, code: u16, value: &str| {
        out.put(9, name);
        out.put(code, value);
    };
    set(out, "$ACADVER", 1, "AC1015");
    set(out, "$DWGCODEPAGE", 3, "ANSI_1252");
    for (name, at) in [
        ("$EXTMIN", corner(bounds.x0, bounds.y0)),
        ("$EXTMAX", corner(bounds.x1, bounds.y1)),
    ] {
        out.put(9, name);
        out.spot(10, at);
        out.put(30, 0);
    }
    for (name, at) in [
        ("$LIMMIN", Spot::new(0, 0)),
        ("$LIMMAX", Spot::new(page.paper.width, page.paper.height)),
    ] {
        out.put(9, name);
        out.spot(10, at);
    }
    set(out, "$INSUNITS", 70, "4");
    set(out, "$MEASUREMENT", 70, "1");
    set(out, "$LUNITS", 70, "2");
    set(out, "$HANDSEED", 5, &format!("{seed:X}"));
    out.put(0, "ENDSEC");
    out.section("CLASSES");
    out.put(0, "ENDSEC");
}

// Handles that are named in more than one place.
const MODEL: &str = "10";
const PAPER: &str = "11";
const ROOT: &str = "12";
const GROUPS: &str = "13";
const PLAIN_STYLE: &str = "14";
const VPORTS: &str = "20";
const LINE_TYPES: &str = "21";
const LAYERS: &str = "22";
const STYLES: &str = "23";
const VIEWS: &str = "24";
const SYSTEMS: &str = "25";
const PROGRAMS: &str = "26";
const DIMENSION_STYLES: &str = "27";
const BLOCK_RECORDS: &str = "28";

fn tables(out: &mut Out) {
    out.section("TABLES");
    out.table("VPORT", VPORTS, 0);
    out.put(0, "ENDTAB");
    line_types(out);
    out.table("LAYER", LAYERS, Meaning::ALL.len() + 1);
    layer(out, "0", LineType::Continuous, None);
    for meaning in Meaning::ALL {
        let width = meaning.width_um() / 10;
        layer(out, meaning.layer(), meaning.line_type(), Some(width));
    }
    out.put(0, "ENDTAB");
    out.table("STYLE", STYLES, 1);
    out.put(0, "STYLE");
    out.put(5, PLAIN_STYLE);
    out.put(330, STYLES);
    out.put(100, "AcDbSymbolTableRecord");
    out.put(100, "AcDbTextStyleTableRecord");
    out.put(2, "Standard");
    for (code, value) in [
        (70, "0"),
        (40, "0"),
        (41, "1"),
        (50, "0"),
        (71, "0"),
        (42, "2.5"),
    ] {
        out.put(code, value);
    }
    out.put(3, "txt");
    out.put(4, "");
    out.put(0, "ENDTAB");
    for (name, handle) in [("VIEW", VIEWS), ("UCS", SYSTEMS)] {
        out.table(name, handle, 0);
        out.put(0, "ENDTAB");
    }
    out.table("APPID", PROGRAMS, 1);
    out.entry("APPID", "AcDbRegAppTableRecord", PROGRAMS, "ACAD");
    out.put(0, "ENDTAB");
    out.table("DIMSTYLE", DIMENSION_STYLES, 1);
    out.put(100, "AcDbDimStyleTable");
    out.entry(
        "DIMSTYLE",
        "AcDbDimStyleTableRecord",
        DIMENSION_STYLES,
        "Standard",
    );
    out.put(340, PLAIN_STYLE);
    out.put(0, "ENDTAB");
    out.table("BLOCK_RECORD", BLOCK_RECORDS, 2);
    for (name, handle) in [("*Model_Space", MODEL), ("*Paper_Space", PAPER)] {
        out.put(0, "BLOCK_RECORD");
        out.put(5, handle);
        out.put(330, BLOCK_RECORDS);
        out.put(100, "AcDbSymbolTableRecord");
        out.put(100, "AcDbBlockTableRecord");
        out.put(2, name);
        out.put(340, "0");
    }
    out.put(0, "ENDTAB");
    out.put(0, "ENDSEC");
}

fn line_types(out: &mut Out) {
    let kinds = [
        ("ByBlock", LineType::Continuous),
        ("ByLayer", LineType::Continuous),
        ("Continuous", LineType::Continuous),
        ("dashed", LineType::Dashed),
        ("long-dash-dot", LineType::LongDashDot),
        ("long-dash-double-dot", LineType::LongDashDoubleDot),
        ("dotted", LineType::Dotted),
    ];
    out.table("LTYPE", LINE_TYPES, kinds.len());
    for (name, kind) in kinds {
        let dashes = kind.dashes_um();
        out.entry("LTYPE", "AcDbLinetypeTableRecord", LINE_TYPES, name);
        out.put(3, name);
        out.put(72, 65);
        out.put(73, dashes.len());
        out.put(40, mm_text(dashes.iter().sum()));
        for (k, dash) in dashes.iter().enumerate() {
            // Gaps are negative.
            out.put(49, mm_text(if k % 2 == 0 { *dash } else { -dash }));
            out.put(74, 0);
        }
    }
    out.put(0, "ENDTAB");
}

fn layer(out: &mut Out, name: &str, kind: LineType, width: Option<i32>) {
    out.entry("LAYER", "AcDbLayerTableRecord", LAYERS, name);
    // Colour 7 is black on white, whatever the layer: meaning lies in line type and name.
    out.put(62, 7);
    out.put(6, line_name(kind));
    if let Some(hundredths) = width {
        out.put(370, hundredths);
    }
    // Any object may stand for the plot style that release 2000 asks for.
    out.put(390, ROOT);
}

fn blocks(out: &mut Out) {
    out.section("BLOCKS");
    for (name, record) in [("*Model_Space", MODEL), ("*Paper_Space", PAPER)] {
        let handle = out.next();
        out.put(0, "BLOCK");
        out.put(5, handle);
        out.put(330, record);
        out.put(100, "AcDbEntity");
        out.put(8, "0");
        out.put(100, "AcDbBlockBegin");
        out.put(2, name);
        out.put(70, 0);
        for code in [10, 20, 30] {
            out.put(code, 0);
        }
        out.put(3, name);
        out.put(1, "");
        let handle = out.next();
        out.put(0, "ENDBLK");
        out.put(5, handle);
        out.put(330, record);
        out.put(100, "AcDbEntity");
        out.put(8, "0");
        out.put(100, "AcDbBlockEnd");
    }
    out.put(0, "ENDSEC");
}

fn objects(out: &mut Out) {
    out.section("OBJECTS");
    for (handle, owner, entry) in [(ROOT, "0", Some(GROUPS)), (GROUPS, ROOT, None)] {
        out.put(0, "DICTIONARY");
        out.put(5, handle);
        out.put(330, owner);
        out.put(100, "AcDbDictionary");
        out.put(281, 1);
        if let Some(entry) = entry {
            out.put(3, "ACAD_GROUP");
            out.put(350, entry);
        }
    }
    out.put(0, "ENDSEC");
}

/// One thing to be drawn on a layer.
enum Piece {
    /// A whole circle.
    Circle { centre: Spot, radius: i32 },
    /// Corners with their bulges, open or closed.
    Run(Vec<Corner>, bool),
}

/// Everything of a page, layer by layer, nothing twice.
fn pieces(page: &Page) -> Vec<(Meaning, Piece)> {
    let mut all = Vec::new();
    for meaning in Meaning::ALL {
        let mut drawn = Drawn::new();
        let mut circles = BTreeSet::new();
        for item in page.items.iter().filter(|i| i.meaning == meaning) {
            match &item.shape {
                Shape::Circle { centre, radius } => {
                    if circles.insert((*centre, *radius)) {
                        let (centre, radius) = (*centre, *radius);
                        all.push((meaning, Piece::Circle { centre, radius }));
                    }
                }
                Shape::Line(contours) => {
                    for contour in contours {
                        for (run, closed) in runs(contour, Some(&mut drawn)) {
                            all.push((meaning, Piece::Run(run, closed)));
                        }
                    }
                }
                // It holds lines and nothing else; the head of the file says so.
                Shape::Picture(_) => {}
                Shape::Solid(contours)
                | Shape::Lettering {
                    outlines: contours, ..
                } => {
                    for contour in contours {
                        for (run, _) in runs(contour, None) {
                            all.push((meaning, Piece::Run(run, true)));
                        }
                    }
                }
            }
        }
    }
    all
}

/// A run in lengths that every reader takes; only one that stays whole stays closed.
fn lengths(run: &[Corner], closed: bool) -> Vec<(Vec<Corner>, bool)> {
    let mut ring = run.to_vec();
    if run.len() <= MOST_VERTICES {
        return vec![(ring, closed)];
    }
    if closed && let Some(&first) = run.first() {
        ring.push(Corner {
            at: first.at,
            bulge: 0.0,
        });
    }
    let mut all = Vec::new();
    let mut start = 0;
    while start + 1 < ring.len() {
        let end = (start + MOST_VERTICES - 1).min(ring.len() - 1);
        all.push((ring[start..=end].to_vec(), false));
        start = end;
    }
    all
}

fn entities(out: &mut Out, page: &Page) {
    for (meaning, piece) in pieces(page) {
        match piece {
            Piece::Circle { centre, radius } => {
                out.entity("CIRCLE", "AcDbCircle", MODEL, meaning);
                out.spot(10, centre);
                out.put(30, 0);
                out.put(40, mm_text(radius));
            }
            Piece::Run(run, closed) => path(out, meaning, &run, closed),
        }
    }
}

/// A contour as runs of corners, without what `drawn` already holds.
fn runs(contour: &Contour, mut drawn: Option<&mut Drawn>) -> Vec<(Vec<Corner>, bool)> {
    let mut all: Vec<(Vec<Corner>, bool)> = Vec::new();
    let mut run: Vec<Corner> = Vec::new();
    let mut whole = true;
    let mut from = contour.start;
    let mut segments = contour.segments.clone();
    if contour.closed && contour.end() != contour.start {
        segments.push(Segment::Line { to: contour.start });
    }
    for segment in segments {
        let to = segment.to();
        let middle = match segment {
            Segment::Line { .. } => None,
            Segment::Arc { via, .. } => Some(via),
            Segment::Cubic { c1, c2, .. } => {
                Some(Spot::new(c1.x.midpoint(c2.x), c1.y.midpoint(c2.y)))
            }
        };
        let key = (from.min(to), from.max(to), middle);
        if matches!(segment, Segment::Line { .. }) && from == to {
            continue;
        }
        if drawn.as_mut().is_some_and(|d| !d.insert(key)) {
            whole = false;
            finish(&mut all, &mut run, from);
        } else {
            steps(from, segment, &mut run);
        }
        from = to;
    }
    if whole && contour.closed {
        if run.len() > 1 {
            all.push((run, true));
        }
    } else {
        finish(&mut all, &mut run, from);
    }
    all
}

/// Ends an open run at a place.
fn finish(all: &mut Vec<(Vec<Corner>, bool)>, run: &mut Vec<Corner>, at: Spot) {
    if !run.is_empty() {
        run.push(Corner { at, bulge: 0.0 });
        all.push((core::mem::take(run), false));
    }
}

/// The corners of one segment but its end.
fn steps(from: Spot, segment: Segment, run: &mut Vec<Corner>) {
    match segment {
        Segment::Line { .. } => run.push(Corner {
            at: from,
            bulge: 0.0,
        }),
        Segment::Arc { via, to } => match ArcThrough::new(point(from), point(via), point(to)) {
            None => run.push(Corner {
                at: from,
                bulge: 0.0,
            }),
            // Two halves: a bulge near a whole turn is read badly.
            Some(arc) => {
                let bulge = libm::tan(arc.sweep_rad / 8.0);
                let half = crate::sheet::trace::spot(arc.at(0.5));
                run.push(Corner { at: from, bulge });
                run.push(Corner { at: half, bulge });
            }
        },
        Segment::Cubic { c1, c2, to } => {
            let mm = |s: Spot| Point::new(f64::from(s.x) / 1000.0, f64::from(s.y) / 1000.0);
            let curve = PathSeg::Cubic(CubicBez::new(mm(from), mm(c1), mm(c2), mm(to)));
            for (at, bulge) in arcs_along(&curve, ARC_WITHIN_MM) {
                let at = crate::sheet::trace::spot(Point::new(at.x * 1000.0, at.y * 1000.0));
                run.push(Corner { at, bulge });
            }
        }
    }
}

fn path(out: &mut Out, meaning: Meaning, run: &[Corner], closed: bool) {
    if let ([a, b], false) = (run, closed)
        && a.bulge == 0.0
    {
        out.entity("LINE", "AcDbLine", MODEL, meaning);
        out.spot(10, a.at);
        out.put(30, 0);
        out.spot(11, b.at);
        out.put(31, 0);
        return;
    }
    for (part, closed) in lengths(run, closed) {
        polyline(out, meaning, &part, closed);
    }
}

fn polyline(out: &mut Out, meaning: Meaning, run: &[Corner], closed: bool) {
    out.entity("LWPOLYLINE", "AcDbPolyline", MODEL, meaning);
    out.put(90, run.len());
    out.put(70, u8::from(closed));
    for corner in run {
        out.spot(10, corner.at);
        if corner.bulge != 0.0 {
            out.put(42, format!("{:.9}", corner.bulge));
        }
    }
}
