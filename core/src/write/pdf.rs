//! One or several drawings as a PDF that prints at true size.
//!
//! Page boxes are the paper and nothing else; the one transform on each page makes a unit a
//! millimetre, so the numbers in the content are those of the drawing. Letters are outlines: no
//! font is asked for. Meanings are optional content, so a reader can show the cut lines alone.

use crate::sheet::drawing::{
    Contour, Drawing, Item, Meaning, Page, PaperSize, Segment, Shape, Spot,
};
use crate::sheet::trace::{ArcThrough, point};
use crate::units::Length;
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{LineCapStyle, LineJoinStyle, PageMode};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, TextStr};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Points in a millimetre: 72/25.4 (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// How hard to compress: the middle of the range; sheets are small and the browser writes them.
const DEFLATE_LEVEL: u8 = 6;

/// A drawing with what its bookmark says.
#[derive(Debug, Clone, Copy)]
pub struct Part<'a> {
    /// The bookmark: `Piece 7 · eye, left`.
    pub bookmark: &'a str,
    /// What it leads to.
    pub drawing: &'a Drawing,
}

/// Why no PDF was written.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PdfError {
    /// No page at all.
    #[error("there is no page to put in the file")]
    NoPages,
    /// Two papers in one file: printers force one of them on both.
    #[error(
        "“{bookmark}” is on paper of {} × {} mm, the file began with {} × {} mm: one paper size per file, or a printer shrinks the others to fit",
        .width.mm(), .height.mm(), .first_width.mm(), .first_height.mm()
    )]
    MixedPaper {
        /// Which part differs.
        bookmark: String,
        /// Its paper across.
        width: Length,
        /// Its paper up.
        height: Length,
        /// The paper the file began with, across.
        first_width: Length,
        /// The paper the file began with, up.
        first_height: Length,
    },
}

/// Writes parts into one PDF: each with its bookmark, and one for each page where it has several.
///
/// The same parts give the same bytes; there is no date in the file but what the sheets say.
///
/// # Errors
/// No page, or papers of different sizes (the same paper upright and lying is one size).
pub fn pdf(title: &str, parts: &[Part<'_>]) -> Result<Vec<u8>, PdfError> {
    one_paper(parts)?;
    let mut next = 1;
    let mut take = || {
        let id = Ref::new(next);
        next += 1;
        id
    };
    let (catalog, tree, outline, info, xmp) = (take(), take(), take(), take(), take());
    let layers: Vec<(Meaning, Ref)> = Meaning::ALL.into_iter().map(|m| (m, take())).collect();
    let mut leaves: Vec<Leaf<'_>> = Vec::new();
    let mut marks: Vec<Mark<'_>> = Vec::new();
    for part in parts {
        let several = part.drawing.pages.len() > 1;
        let mut mark = Mark {
            says: part.bookmark,
            id: take(),
            leads: tree,
            under: Vec::new(),
        };
        for (i, page) in part.drawing.pages.iter().enumerate() {
            let leaf = Leaf {
                page,
                id: take(),
                content: take(),
            };
            if i == 0 {
                mark.leads = leaf.id;
            }
            if several {
                mark.under.push((page.name.as_str(), take(), leaf.id));
            }
            leaves.push(leaf);
        }
        marks.push(mark);
    }

    let mut shapes = Shapes::default();
    let contents: Vec<Vec<u8>> = leaves
        .iter()
        .map(|l| content(l.page, &mut shapes))
        .collect();
    let forms: Vec<Ref> = shapes.all.iter().map(|_| take()).collect();

    let mut file = Pdf::new();
    file.set_version(1, 7);
    write_catalog(&mut file, catalog, (tree, outline, xmp), &layers);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        reason = "a few hundred"
    )]
    let count = leaves.len() as i32;
    file.pages(tree)
        .kids(leaves.iter().map(|l| l.id))
        .count(count);
    let mut digest = Sha256::new();
    digest.update(title.as_bytes());
    for (leaf, raw) in leaves.iter().zip(&contents) {
        digest.update(raw);
        write_page(&mut file, leaf, raw, tree, (&layers, &forms));
    }
    for (shape, id) in shapes.all.iter().zip(&forms) {
        let mut out = Content::new();
        trace(&mut out, shape);
        out.fill_nonzero();
        let raw = out.finish().into_vec();
        digest.update(&raw);
        let packed = compress_to_vec_zlib(&raw, DEFLATE_LEVEL);
        file.form_xobject(*id, &packed)
            .bbox(reach(shape))
            .filter(Filter::FlateDecode);
    }
    write_bookmarks(&mut file, outline, &marks);
    write_words(&mut file, (info, xmp), title, parts);
    for (meaning, id) in &layers {
        let mut group = file.indirect(*id).dict();
        group.pair(Name(b"Type"), Name(b"OCG"));
        group.pair(Name(b"Name"), TextStr(meaning.layer()));
    }
    let id: Vec<u8> = digest.finalize().iter().take(16).copied().collect();
    file.set_file_id((id.clone(), id));
    Ok(file.finish())
}

struct Leaf<'a> {
    page: &'a Page,
    id: Ref,
    content: Ref,
}

struct Mark<'a> {
    says: &'a str,
    id: Ref,
    leads: Ref,
    under: Vec<(&'a str, Ref, Ref)>,
}

fn one_paper(parts: &[Part<'_>]) -> Result<(), PdfError> {
    let upright = |p: PaperSize| (p.width.min(p.height), p.width.max(p.height));
    let length = |um: i32| Length::from_mm(f64::from(um) / 1000.0);
    let mut first: Option<PaperSize> = None;
    for part in parts {
        for page in &part.drawing.pages {
            let begun = *first.get_or_insert(page.paper);
            if upright(begun) != upright(page.paper) {
                return Err(PdfError::MixedPaper {
                    bookmark: part.bookmark.into(),
                    width: length(page.paper.width),
                    height: length(page.paper.height),
                    first_width: length(begun.width),
                    first_height: length(begun.height),
                });
            }
        }
    }
    first.map(|_| ()).ok_or(PdfError::NoPages)
}

fn write_catalog(
    file: &mut Pdf,
    catalog: Ref,
    (tree, outline, xmp): (Ref, Ref, Ref),
    layers: &[(Meaning, Ref)],
) {
    let mut root = file.catalog(catalog);
    root.pages(tree)
        .outlines(outline)
        .metadata(xmp)
        .page_mode(PageMode::UseOutlines);
    root.lang(TextStr("en"));
    let mut viewer = root.viewer_preferences();
    viewer.display_doc_title(true);
    // No scaling, whatever the print dialogue would have proposed (ISO 32000-1 Table 150).
    viewer.pair(Name(b"PrintScaling"), Name(b"None"));
    viewer.finish();
    let mut optional = root.insert(Name(b"OCProperties")).dict();
    optional
        .insert(Name(b"OCGs"))
        .array()
        .items(layers.iter().map(|(_, id)| *id));
    let mut shown = optional.insert(Name(b"D")).dict();
    shown
        .insert(Name(b"Order"))
        .array()
        .items(layers.iter().map(|(_, id)| *id));
    shown
        .insert(Name(b"ON"))
        .array()
        .items(layers.iter().map(|(_, id)| *id));
    shown.finish();
    optional.finish();
    root.finish();
}

fn points(um: i32) -> f32 {
    single(f64::from(um) / 1000.0 * POINTS_PER_MM)
}

/// A number of the drawing in millimetres. To 16 m a single still tells micrometres apart, and its
/// shortest decimal form is the one with three decimals.
fn mm(um: i32) -> f32 {
    single(f64::from(um) / 1000.0)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "what PDF numbers are; see the callers"
)]
const fn single(value: f64) -> f32 {
    value as f32
}

fn write_page(
    file: &mut Pdf,
    leaf: &Leaf<'_>,
    raw: &[u8],
    tree: Ref,
    (layers, forms): (&[(Meaning, Ref)], &[Ref]),
) {
    let paper = leaf.page.paper;
    let mut page = file.page(leaf.id);
    page.parent(tree);
    page.media_box(Rect::new(
        0.0,
        0.0,
        points(paper.width),
        points(paper.height),
    ));
    page.contents(leaf.content);
    let mut resources = page.resources();
    let mut named = resources.insert(Name(b"Properties")).dict();
    for (meaning, id) in layers {
        named.pair(Name(meaning.layer().as_bytes()), *id);
    }
    named.finish();
    let mut letters = resources.x_objects();
    for (n, id) in forms.iter().enumerate() {
        letters.pair(Name(shape_name(n).as_bytes()), *id);
    }
    letters.finish();
    resources.finish();
    page.finish();

    let packed = compress_to_vec_zlib(raw, DEFLATE_LEVEL);
    file.stream(leaf.content, &packed)
        .filter(Filter::FlateDecode);
}

/// The letters met so far. A sheet has some seventy shapes of letters in a few sizes and a thousand
/// letters: each shape is written once for the whole file, each letter is a shape and a place.
#[derive(Default)]
struct Shapes {
    /// Contours relative to where the first of them starts, in the order in which they were met.
    all: Vec<Vec<Contour>>,
    numbers: BTreeMap<Vec<i32>, usize>,
}

impl Shapes {
    fn number(&mut self, shape: Vec<Contour>) -> usize {
        let next = self.all.len();
        let number = *self.numbers.entry(digits(&shape)).or_insert(next);
        if number == next {
            self.all.push(shape);
        }
        number
    }
}

/// A shape as numbers, which have an order.
fn digits(shape: &[Contour]) -> Vec<i32> {
    let mut out = Vec::new();
    for contour in shape {
        out.extend([0, contour.start.x, contour.start.y]);
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => out.extend([1, to.x, to.y]),
                Segment::Arc { via, to } => out.extend([2, via.x, via.y, to.x, to.y]),
                Segment::Cubic { c1, c2, to } => {
                    out.extend([3, c1.x, c1.y, c2.x, c2.y, to.x, to.y]);
                }
            }
        }
    }
    out
}

fn shape_name(number: usize) -> String {
    format!("L{number}")
}

/// Contours that belong together: a counter lies inside its letter and is filled with it.
fn letters(outlines: &[Contour]) -> Vec<&[Contour]> {
    let boxes: Vec<Rect> = outlines
        .iter()
        .map(|c| reach(core::slice::from_ref(c)))
        .collect();
    let inside = |a: &Rect, b: &Rect| a.x1 >= b.x1 && a.x2 <= b.x2 && a.y1 >= b.y1 && a.y2 <= b.y2;
    let mut out = Vec::new();
    let mut from = 0;
    for (i, own) in boxes.iter().enumerate() {
        let held = boxes.get(from..i).unwrap_or_default();
        if i > from && !held.iter().any(|b| inside(own, b) || inside(b, own)) {
            out.extend(outlines.get(from..i));
            from = i;
        }
    }
    out.extend(outlines.get(from..).filter(|rest| !rest.is_empty()));
    out
}

/// The box round contours, mm; control points enclose what they control.
fn reach(contours: &[Contour]) -> Rect {
    let far = f32::INFINITY;
    let mut r = Rect::new(far, far, -far, -far);
    let mut take = |s: Spot| {
        let (x, y) = (mm(s.x), mm(s.y));
        r = Rect::new(r.x1.min(x), r.y1.min(y), r.x2.max(x), r.y2.max(y));
    };
    for contour in contours {
        take(contour.start);
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => take(to),
                Segment::Arc { via, to } => [via, to].into_iter().for_each(&mut take),
                Segment::Cubic { c1, c2, to } => [c1, c2, to].into_iter().for_each(&mut take),
            }
        }
    }
    r
}

fn content(page: &Page, shapes: &mut Shapes) -> Vec<u8> {
    let mut out = Content::new();
    out.save_state();
    let unit = single(POINTS_PER_MM);
    out.transform([unit, 0.0, 0.0, unit, 0.0, 0.0]);
    out.set_line_cap(LineCapStyle::ButtCap)
        .set_line_join(LineJoinStyle::RoundJoin);
    for meaning in Meaning::ALL {
        let items: Vec<&Item> = page.items.iter().filter(|i| i.meaning == meaning).collect();
        if items.is_empty() {
            continue;
        }
        out.begin_marked_content_with_properties(Name(b"OC"))
            .properties_named(Name(meaning.layer().as_bytes()));
        out.set_line_width(mm(meaning.width_um()));
        let dashes = meaning.line_type().dashes_um().iter().map(|d| mm(*d));
        out.set_dash_pattern(dashes, 0.0);
        for item in items {
            draw(&mut out, item, shapes);
        }
        out.end_marked_content();
    }
    out.restore_state();
    out.finish().into_vec()
}

fn draw(out: &mut Content, item: &Item, shapes: &mut Shapes) {
    match &item.shape {
        Shape::Line(contours) => {
            trace(out, contours);
            out.stroke();
        }
        Shape::Circle { centre, radius } => {
            let c = point(*centre);
            let round = ArcThrough {
                centre: c,
                radius: f64::from(*radius),
                from_rad: 0.0,
                sweep_rad: core::f64::consts::TAU,
            };
            out.move_to(mm(centre.x.saturating_add(*radius)), mm(centre.y));
            curves(out, &round, None);
            out.close_path();
            out.stroke();
        }
        Shape::Solid(contours) => {
            trace(out, contours);
            out.fill_even_odd();
        }
        Shape::Lettering { text, outlines } => {
            // What the outlines say, for readers that look for words (ISO 32000-1, 14.9.4).
            out.begin_marked_content_with_properties(Name(b"Span"))
                .properties()
                .actual_text(TextStr(text));
            for letter in letters(outlines) {
                let Some(at) = letter.first().map(|c| c.start) else {
                    continue;
                };
                let back = Spot::new(at.x.saturating_neg(), at.y.saturating_neg());
                let n = shapes.number(letter.iter().map(|c| c.shifted(back)).collect());
                out.save_state();
                out.transform([1.0, 0.0, 0.0, 1.0, mm(at.x), mm(at.y)]);
                out.x_object(Name(shape_name(n).as_bytes()));
                out.restore_state();
            }
            out.end_marked_content();
        }
    }
}

fn trace(out: &mut Content, contours: &[Contour]) {
    for contour in contours {
        out.move_to(mm(contour.start.x), mm(contour.start.y));
        let mut from = contour.start;
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => {
                    out.line_to(mm(to.x), mm(to.y));
                }
                Segment::Cubic { c1, c2, to } => {
                    out.cubic_to(mm(c1.x), mm(c1.y), mm(c2.x), mm(c2.y), mm(to.x), mm(to.y));
                }
                Segment::Arc { via, to } => {
                    match ArcThrough::new(point(from), point(via), point(to)) {
                        Some(arc) => curves(out, &arc, Some(to)),
                        None => {
                            out.line_to(mm(to.x), mm(to.y));
                        }
                    }
                }
            }
            from = segment.to();
        }
        if contour.closed {
            out.close_path();
        }
    }
}

/// An arc as curves, each point on the grid of the drawing and the last where the arc ends.
fn curves(out: &mut Content, arc: &ArcThrough, end: Option<Spot>) {
    let pieces = arc.cubics(0.5);
    let last = pieces.len().saturating_sub(1);
    for (i, piece) in pieces.into_iter().enumerate() {
        let [a, b, c] = piece.map(crate::sheet::trace::spot);
        let c = end.filter(|_| i == last).unwrap_or(c);
        out.cubic_to(mm(a.x), mm(a.y), mm(b.x), mm(b.y), mm(c.x), mm(c.y));
    }
}

fn write_bookmarks(file: &mut Pdf, outline: Ref, marks: &[Mark<'_>]) {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_possible_wrap,
        reason = "a few hundred"
    )]
    let count = |n: usize| n as i32;
    let mut root = file.outline(outline);
    if let (Some(first), Some(last)) = (marks.first(), marks.last()) {
        root.first(first.id).last(last.id).count(count(marks.len()));
    }
    root.finish();
    for (i, mark) in marks.iter().enumerate() {
        let mut item = file.outline_item(mark.id);
        item.title(TextStr(mark.says)).parent(outline);
        if let Some(before) = i.checked_sub(1).and_then(|k| marks.get(k)) {
            item.prev(before.id);
        }
        if let Some(after) = marks.get(i + 1) {
            item.next(after.id);
        }
        if let (Some(first), Some(last)) = (mark.under.first(), mark.under.last()) {
            // Closed: a run's bookmarks show a piece each.
            item.first(first.1)
                .last(last.1)
                .count(-count(mark.under.len()));
        }
        item.dest().page(mark.leads).fit();
        item.finish();
        for (k, (says, id, leads)) in mark.under.iter().enumerate() {
            let mut item = file.outline_item(*id);
            item.title(TextStr(says)).parent(mark.id);
            if let Some(before) = k.checked_sub(1).and_then(|j| mark.under.get(j)) {
                item.prev(before.1);
            }
            if let Some(after) = mark.under.get(k + 1) {
                item.next(after.1);
            }
            item.dest().page(*leads).fit();
        }
    }
}

fn write_words(file: &mut Pdf, (info, xmp): (Ref, Ref), title: &str, parts: &[Part<'_>]) {
    let references: Vec<&str> = parts
        .iter()
        .map(|p| p.drawing.reference.as_str())
        .filter(|r| !r.is_empty())
        .collect();
    let mut said: Vec<String> = Vec::new();
    for part in parts {
        said.push(part.bookmark.into());
        said.extend(part.drawing.readable.iter().cloned());
    }
    let said = said.join("\n");
    let mut words = file.document_info(info);
    words
        .title(TextStr(title))
        .subject(TextStr(&said))
        .creator(TextStr("Samespot"));
    words.keywords(TextStr(&references.join(" ")));
    words.finish();
    let packet = xmp_packet(title, &said, &references);
    let mut stream = file.stream(xmp, packet.as_bytes());
    stream.pair(Name(b"Type"), Name(b"Metadata"));
    stream.pair(Name(b"Subtype"), Name(b"XML"));
}

fn xmp_packet(title: &str, said: &str, references: &[&str]) -> String {
    let subjects: String = references
        .iter()
        .map(|r| format!("<rdf:li>{}</rdf:li>", escaped(r)))
        .collect();
    format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF \
         xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\n\
         <dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:description>\n\
         <dc:subject><rdf:Bag>{subjects}</rdf:Bag></dc:subject>\n\
         </rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>",
        escaped(title),
        escaped(said),
    )
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
