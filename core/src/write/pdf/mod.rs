//! One or several drawings as a PDF that prints at true size.
//!
//! Page boxes are the paper and nothing else; the one transform on each page makes a unit a
//! millimetre, so the numbers in the content are those of the drawing. Letters are outlines: no
//! font is asked for. Meanings are optional content, so a reader can show the cut lines alone.

mod content;
mod letters;
mod pictures;

use crate::sheet::drawing::{Drawing, Meaning, PaperSize};
use crate::units::Length;
use content::PressedPage;
use letters::{KeptShapes, ShapeName, Shapes};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::PageMode;
use pdf_writer::{Filter, Finish, Name, Pdf, Rect, Ref, TextStr};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};

/// Points in a millimetre: 72/25.4 (ISO 32000-1, 8.3.2.3).
const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// How hard to compress: the middle of the range; sheets are small and the browser writes them.
const DEFLATE_LEVEL: u8 = 4;

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

/// A drawing pressed: its pages ready to stand in any file made by the same [`Press`].
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Pressed {
    pages: Vec<PressedPage>,
    reference: String,
    readable: Vec<String>,
}

impl Pressed {
    /// How many pages it has.
    #[must_use]
    pub const fn pages(&self) -> usize {
        self.pages.len()
    }

    /// Each thing in it that is packed. Written down it is without those: they are large, and go beside.
    pub(crate) fn packed(&mut self, each: &mut impl FnMut(&mut Vec<u8>)) {
        for page in &mut self.pages {
            each(&mut page.packed);
            for picture in &mut page.pictures {
                each(picture.packed());
            }
        }
    }
}

/// A drawing pressed by itself, side by side with others, for a [`Press`] to take.
#[derive(Debug, Clone)]
pub struct Loose {
    pages: Vec<PressedPage>,
    shapes: Shapes,
}

impl Loose {
    /// Presses every page of a drawing.
    #[must_use]
    pub fn of(drawing: &Drawing) -> Self {
        Self::knowing(Shapes::default(), drawing)
    }

    fn knowing(mut shapes: Shapes, drawing: &Drawing) -> Self {
        let pages = drawing.pages.iter();
        Self {
            pages: pages.map(|p| content::page(p, &mut shapes)).collect(),
            shapes,
        }
    }
}

/// Presses drawings and binds them into files. What one page or one letter came to is kept, so a
/// run whose sheets stand both in a file each and in one of all is pressed once.
///
/// A file's bytes do not depend on what else was pressed.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Press {
    shapes: KeptShapes,
}

impl Press {
    /// Presses every page of a drawing.
    pub fn press(&mut self, drawing: &Drawing) -> Pressed {
        self.take(Loose::of(drawing), drawing)
    }

    /// Takes in a drawing that was pressed by itself.
    pub fn take(&mut self, loose: Loose, drawing: &Drawing) -> Pressed {
        let mut pages = loose.pages;
        if !self.shapes.take(loose.shapes) {
            // A name means two shapes: pressed again, the later one is drawn out in full.
            let again = Loose::knowing(self.shapes.met(), drawing);
            self.shapes.take(again.shapes);
            pages = again.pages;
        }
        Pressed {
            pages,
            reference: drawing.reference.clone(),
            readable: drawing.readable.clone(),
        }
    }

    /// Takes in what another press kept, to bind what that one pressed; `false`, and this press no longer
    /// of use, where a letter's name means one shape here and another there.
    pub(crate) fn join(&mut self, other: Self) -> bool {
        self.shapes.join(other.shapes)
    }

    /// Each thing in it that is packed, as [`Pressed::packed`].
    pub(crate) fn packed(&mut self, each: &mut impl FnMut(&mut Vec<u8>)) {
        self.shapes.packed(each);
    }

    /// Binds pressed drawings into one PDF, each with its bookmark, and one for each page where it
    /// has several.
    ///
    /// The same parts give the same bytes; there is no date in the file but what the sheets say.
    ///
    /// # Errors
    /// No page, or papers of different sizes (the same paper upright and lying is one size).
    pub fn bind(&self, title: &str, parts: &[(&str, &Pressed)]) -> Result<Vec<u8>, PdfError> {
        one_paper(parts)?;
        Ok(bound(&self.shapes, title, parts))
    }
}

/// Writes drawings into one PDF: [`Press::press`] and [`Press::bind`] in one.
///
/// # Errors
/// As [`Press::bind`].
pub fn pdf(title: &str, parts: &[Part<'_>]) -> Result<Vec<u8>, PdfError> {
    let mut press = Press::default();
    let pressed: Vec<Pressed> = parts.iter().map(|p| press.press(p.drawing)).collect();
    let bound: Vec<(&str, &Pressed)> = parts.iter().map(|p| p.bookmark).zip(&pressed).collect();
    press.bind(title, &bound)
}

fn packed(raw: &[u8]) -> Vec<u8> {
    compress_to_vec_zlib(raw, DEFLATE_LEVEL)
}

fn bound(shapes: &KeptShapes, title: &str, parts: &[(&str, &Pressed)]) -> Vec<u8> {
    let mut next = 1;
    let mut take = || {
        let id = Ref::new(next);
        next += 1;
        id
    };
    let (catalog, tree, outline, info, xmp) = (take(), take(), take(), take(), take());
    let resources = take();
    let layers: Vec<(Meaning, Ref)> = Meaning::ALL.into_iter().map(|m| (m, take())).collect();
    let mut leaves: Vec<Leaf<'_>> = Vec::new();
    let mut marks: Vec<Mark<'_>> = Vec::new();
    for (bookmark, part) in parts {
        let several = part.pages.len() > 1;
        let mut mark = Mark {
            says: bookmark,
            id: take(),
            leads: tree,
            under: Vec::new(),
        };
        for (i, page) in part.pages.iter().enumerate() {
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
    let used: BTreeSet<ShapeName> = leaves.iter().flat_map(|l| &l.page.uses).copied().collect();
    let forms: Vec<(ShapeName, Ref)> = used.into_iter().map(|name| (name, take())).collect();

    let pictures = leaves.iter().flat_map(|l| &l.page.pictures);
    let pictures: BTreeMap<&str, &pictures::Kept> =
        pictures.map(|p| (p.name.as_str(), p)).collect();
    let pictures: Vec<(&pictures::Kept, Ref)> =
        pictures.into_values().map(|p| (p, take())).collect();

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
    for leaf in &leaves {
        digest.update(leaf.page.digest);
        write_page(&mut file, leaf, tree, resources);
    }
    for (name, id) in &forms {
        let Some(kept) = shapes.get(*name) else {
            continue;
        };
        let (low, high) = (kept.met.reach.low, kept.met.reach.high);
        file.form_xobject(*id, &kept.packed)
            .bbox(Rect::new(mm(low.x), mm(low.y), mm(high.x), mm(high.y)))
            .filter(Filter::FlateDecode);
    }
    for (picture, id) in &pictures {
        picture.write(&mut file, *id);
    }
    write_resources(&mut file, resources, &layers, &forms, &pictures);
    write_bookmarks(&mut file, outline, &marks);
    write_words(&mut file, (info, xmp), title, parts);
    for (meaning, id) in &layers {
        let mut group = file.indirect(*id).dict();
        group.pair(Name(b"Type"), Name(b"OCG"));
        group.pair(Name(b"Name"), TextStr(meaning.layer()));
    }
    let id: Vec<u8> = digest.finalize().iter().take(16).copied().collect();
    file.set_file_id((id.clone(), id));
    file.finish()
}

struct Leaf<'a> {
    page: &'a PressedPage,
    id: Ref,
    content: Ref,
}

struct Mark<'a> {
    says: &'a str,
    id: Ref,
    leads: Ref,
    under: Vec<(&'a str, Ref, Ref)>,
}

fn one_paper(parts: &[(&str, &Pressed)]) -> Result<(), PdfError> {
    let upright = |p: PaperSize| (p.width.min(p.height), p.width.max(p.height));
    let length = |um: i32| Length::from_mm(f64::from(um) / 1000.0);
    let mut first: Option<PaperSize> = None;
    for (bookmark, part) in parts {
        for page in &part.pages {
            let begun = *first.get_or_insert(page.paper);
            if upright(begun) != upright(page.paper) {
                return Err(PdfError::MixedPaper {
                    bookmark: (*bookmark).into(),
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

fn write_page(file: &mut Pdf, leaf: &Leaf<'_>, tree: Ref, resources: Ref) {
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
    page.pair(Name(b"Resources"), resources);
    page.finish();
    file.stream(leaf.content, &leaf.page.packed)
        .filter(Filter::FlateDecode);
}

/// One for all pages: what they are made of is the same letters.
fn write_resources(
    file: &mut Pdf,
    id: Ref,
    layers: &[(Meaning, Ref)],
    forms: &[(ShapeName, Ref)],
    pictures: &[(&pictures::Kept, Ref)],
) {
    let mut resources = file.indirect(id).dict();
    let mut named = resources.insert(Name(b"Properties")).dict();
    for (meaning, id) in layers {
        named.pair(Name(meaning.layer().as_bytes()), *id);
    }
    named.finish();
    let mut letters = resources.insert(Name(b"XObject")).dict();
    for (name, id) in forms {
        letters.pair(Name(&name.text()), *id);
    }
    for (picture, id) in pictures {
        letters.pair(Name(picture.name.as_bytes()), *id);
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

fn write_words(file: &mut Pdf, (info, xmp): (Ref, Ref), title: &str, parts: &[(&str, &Pressed)]) {
    let references: Vec<&str> = parts
        .iter()
        .map(|(_, p)| p.reference.as_str())
        .filter(|r| !r.is_empty())
        .collect();
    let mut said: Vec<&str> = Vec::new();
    for (bookmark, part) in parts {
        said.push(bookmark);
        said.extend(part.readable.iter().map(String::as_str));
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
    let mut out = Vec::with_capacity(text.len());
    crate::write::xml::said(&mut out, text);
    // Whole strings were put in.
    String::from_utf8(out).unwrap_or_default()
}
