//! Text as outlines, so that no file needs a font to be there when it is opened or printed.
//!
//! The two fonts are made by `core/assets/fonts/make.py` and licensed under the SIL Open Font
//! License 1.1. Figures are tabular: a column of readings stands straight.

use crate::units::Length;
use kurbo::{Affine, BezPath, Rect};
use std::borrow::Cow;
use std::sync::OnceLock;
use ttf_parser::{GlyphId, OutlineBuilder, RawFace, Tag};

/// How heavy the strokes of the letters are.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// For running text.
    #[default]
    Medium,
    /// For headings, and for what is read from two metres away.
    SemiBold,
}

/// Where the line of text stands relative to the origin.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Anchor {
    /// The line begins at the origin.
    #[default]
    Start,
    /// The middle of the line stands at the origin.
    Middle,
    /// The line ends at the origin.
    End,
}

/// One line of text, set.
#[derive(Debug, Clone, PartialEq)]
pub struct SetText {
    /// From where the line begins to where the next would.
    pub width: Length,
    /// Closed contours in millimetres, baseline at y = 0, y up; filled by the nonzero rule.
    pub contours: Vec<BezPath>,
    /// Characters that the font has no shape for, once each, in order; a crossed box stands for
    /// each of them.
    pub missing: Vec<char>,
}

const MEDIUM: &[u8] = include_bytes!("../../assets/fonts/barlow-semi-condensed-medium.ttf");
const SEMI_BOLD: &[u8] = include_bytes!("../../assets/fonts/barlow-semi-condensed-semibold.ttf");

/// Cap height over the em in both fonts (OS/2 `sCapHeight` 700 of 1000); used if a font cannot say.
const CAP_UNITS: f64 = 700.0;
/// Width of the box that stands for a missing character, in cap heights.
const BOX_WIDTH: f64 = 0.7;
/// Room left of and right of that box, in cap heights.
const BOX_MARGIN: f64 = 0.1;
/// Thickness of its lines, in cap heights.
const BOX_LINE: f64 = 0.08;

/// Sets one line of text that begins at the origin, kerned, its capitals `cap_height` tall.
///
/// Line ends, tabs and other control characters are set as a space. A character the font lacks
/// leaves a visible box and is reported in [`SetText::missing`].
#[must_use]
pub fn set_text(text: &str, cap_height: Length, weight: Weight) -> SetText {
    set_text_at(text, cap_height, weight, Anchor::Start)
}

/// As [`set_text`], with the line's start, middle or end at the origin.
#[must_use]
pub fn set_text_at(text: &str, cap_height: Length, weight: Weight, anchor: Anchor) -> SetText {
    let laid = lay(text, cap_height, weight);
    let mut set = SetText {
        width: laid.width,
        contours: laid.contours().map(|(c, to_mm)| to_mm * &c.path).collect(),
        missing: laid.missing,
    };
    let pen_mm = set.width.mm();
    let shift_mm = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -pen_mm / 2.0,
        Anchor::End => -pen_mm,
    };
    if anchor != Anchor::Start {
        for contour in &mut set.contours {
            contour.apply_affine(Affine::translate((shift_mm, 0.0)));
        }
    }
    set
}

/// A line of text as the letters it takes and where each stands, before anything is drawn.
pub(crate) struct Laid {
    /// From where the line begins to where the next would.
    pub(crate) width: Length,
    letters: Vec<(Cow<'static, Glyph>, Affine)>,
    missing: Vec<char>,
}

impl Laid {
    /// Every contour in its own units, and what carries it to millimetres with the baseline at y = 0.
    pub(crate) fn contours(&self) -> impl Iterator<Item = (&LetterContour, Affine)> {
        (self.letters.iter())
            .flat_map(|(letter, to_mm)| letter.contours.iter().map(|c| (c, *to_mm)))
    }
}

/// Lays one line of text that begins at the origin, as [`set_text`] does.
pub(crate) fn lay(text: &str, cap_height: Length, weight: Weight) -> Laid {
    let cap_mm = cap_height.mm();
    let face = font(weight);
    let cap_units = face.map_or(CAP_UNITS, |f| f.cap_units);
    let mm_per_unit = cap_mm / cap_units;
    let mut letters = Vec::with_capacity(text.len());
    let mut missing = Vec::new();
    let mut pen_mm = 0.0;
    let mut before: Option<GlyphId> = None;
    for c in text.chars().map(|c| if c.is_control() { ' ' } else { c }) {
        let found = face.and_then(|f| Some((f, glyph_of(f, weight, c)?)));
        let Some((face, glyph)) = found else {
            letters.push((Cow::Owned(missing_box(pen_mm, cap_mm)), Affine::IDENTITY));
            pen_mm += (BOX_WIDTH + 2.0 * BOX_MARGIN) * cap_mm;
            before = None;
            if !missing.contains(&c) {
                missing.push(c);
            }
            continue;
        };
        if let Some(left) = before {
            pen_mm += f64::from(face.kern_units(left, glyph.id)) * mm_per_unit;
        }
        let to_mm = placed(pen_mm, mm_per_unit);
        pen_mm += glyph.advance * mm_per_unit;
        before = Some(glyph.id);
        letters.push((glyph, to_mm));
    }
    Laid {
        width: Length::from_mm(pen_mm),
        letters,
        missing,
    }
}

/// The advance width of a line without drawing it.
#[must_use]
pub fn text_width(text: &str, cap_height: Length, weight: Weight) -> Length {
    set_text(text, cap_height, weight).width
}

/// The font of a weight, its tables found once.
fn font(weight: Weight) -> Option<&'static Font<'static>> {
    static FONTS: [OnceLock<Option<Font<'static>>>; 2] = [const { OnceLock::new() }; 2];
    let [medium, semi_bold] = &FONTS;
    let (font, bytes) = match weight {
        Weight::Medium => (medium, MEDIUM),
        Weight::SemiBold => (semi_bold, SEMI_BOLD),
    };
    font.get_or_init(|| Font::read(bytes)).as_ref()
}

/// The parts of a font that letters are set from. A whole `Face` reads the outlines, colours and
/// bitmaps of every other kind of font too, which a browser would have to load.
struct Font<'a> {
    letters: ttf_parser::cmap::Table<'a>,
    outlines: ttf_parser::glyf::Table<'a>,
    widths: ttf_parser::hmtx::Table<'a>,
    kern: Option<ttf_parser::kern::Table<'a>>,
    cap_units: f64,
}

impl<'a> Font<'a> {
    fn read(bytes: &'a [u8]) -> Option<Self> {
        use ttf_parser::{cmap, glyf, head, hhea, hmtx, kern, loca, maxp, os2};
        let font = RawFace::parse(bytes, 0).ok()?;
        let table = |tag: &[u8; 4]| font.table(Tag::from_bytes(tag));
        let glyphs = maxp::Table::parse(table(b"maxp")?)?.number_of_glyphs;
        let format = head::Table::parse(table(b"head")?)?.index_to_location_format;
        let widths = hhea::Table::parse(table(b"hhea")?)?.number_of_metrics;
        let places = loca::Table::parse(glyphs, format, table(b"loca")?)?;
        let cap = table(b"OS/2")
            .and_then(os2::Table::parse)
            .and_then(|os2| os2.capital_height());
        Some(Self {
            letters: cmap::Table::parse(table(b"cmap")?)?,
            outlines: glyf::Table::parse(places, table(b"glyf")?)?,
            widths: hmtx::Table::parse(widths, glyphs, table(b"hmtx")?)?,
            kern: table(b"kern").and_then(kern::Table::parse),
            cap_units: cap.map_or(CAP_UNITS, f64::from),
        })
    }

    fn kern_units(&self, left: GlyphId, right: GlyphId) -> i16 {
        self.kern.map_or(0, |kern| {
            kern.subtables
                .into_iter()
                .filter(|s| s.horizontal && !s.variable)
                .find_map(|s| s.glyphs_kerning(left, right))
                .unwrap_or(0)
        })
    }
}

fn placed(pen_mm: f64, mm_per_unit: f64) -> Affine {
    Affine::new([mm_per_unit, 0.0, 0.0, mm_per_unit, pen_mm, 0.0])
}

/// A crossed box from the baseline to the cap height: four triangles cut out of a rectangle.
fn missing_box(pen_mm: f64, cap_mm: f64) -> Glyph {
    let (w, line) = (BOX_WIDTH, BOX_LINE);
    let ring = |points: &[(f64, f64)]| {
        let mut path = BezPath::new();
        for (i, &(x, y)) in points.iter().enumerate() {
            let p = (pen_mm + (BOX_MARGIN + x) * cap_mm, y * cap_mm);
            if i == 0 {
                path.move_to(p);
            } else {
                path.line_to(p);
            }
        }
        path.close_path();
        path
    };
    let (cx, cy) = (w / 2.0, 0.5);
    let rings = [
        ring(&[(0.0, 0.0), (0.0, 1.0), (w, 1.0), (w, 0.0)]),
        ring(&[(2.0 * line, line), (w - 2.0 * line, line), (cx, cy - line)]),
        ring(&[
            (2.0 * line, 1.0 - line),
            (cx, cy + line),
            (w - 2.0 * line, 1.0 - line),
        ]),
        ring(&[
            (line, 2.0 * line),
            (cx - line, cy),
            (line, 1.0 - 2.0 * line),
        ]),
        ring(&[
            (w - line, 2.0 * line),
            (w - line, 1.0 - 2.0 * line),
            (cx + line, cy),
        ]),
    ];
    Glyph {
        id: GlyphId(0),
        contours: rings.into_iter().map(LetterContour::of).collect(),
        advance: 0.0,
    }
}

/// A glyph in font units.
#[derive(Debug, Clone)]
struct Glyph {
    id: GlyphId,
    /// None for a glyph without ink: the space is only stepped over.
    contours: Vec<LetterContour>,
    advance: f64,
}

/// One contour of a letter.
#[derive(Debug, Clone)]
pub(crate) struct LetterContour {
    /// Closed.
    pub(crate) path: BezPath,
    /// The box round its points and control points.
    pub(crate) reach: Rect,
}

impl LetterContour {
    fn of(path: BezPath) -> Self {
        Self {
            reach: path.control_box(),
            path,
        }
    }
}

/// Characters whose glyphs are kept once read: Latin with its first extension.
const KEPT: u32 = 0x180;

/// The glyph of a character. Those of Latin letters are read from the fonts once: a run of sheets
/// sets them a hundred thousand times, and reading one costs more than placing it.
fn glyph_of(face: &Font<'_>, weight: Weight, c: char) -> Option<Cow<'static, Glyph>> {
    static MEDIUM: OnceLock<Vec<Option<Glyph>>> = OnceLock::new();
    static SEMI_BOLD: OnceLock<Vec<Option<Glyph>>> = OnceLock::new();
    let table = match weight {
        Weight::Medium => &MEDIUM,
        Weight::SemiBold => &SEMI_BOLD,
    };
    let kept = table.get_or_init(|| {
        (0..KEPT)
            .map(|u| read_glyph(face, char::from_u32(u)?))
            .collect()
    });
    match usize::try_from(u32::from(c)).ok().and_then(|i| kept.get(i)) {
        Some(glyph) => glyph.as_ref().map(Cow::Borrowed),
        None => read_glyph(face, c).map(Cow::Owned),
    }
}

fn read_glyph(face: &Font<'_>, c: char) -> Option<Glyph> {
    let id = (face.letters.subtables.into_iter())
        .filter(ttf_parser::cmap::Subtable::is_unicode)
        .find_map(|s| s.glyph_index(u32::from(c)))?;
    let mut pen = Pen::default();
    let _ink = face.outlines.outline(id, &mut pen);
    Some(Glyph {
        id,
        contours: pen.done.into_iter().map(LetterContour::of).collect(),
        advance: f64::from(face.widths.advance(id).unwrap_or(0)),
    })
}

/// Collects the contours of one glyph.
#[derive(Default)]
struct Pen {
    done: Vec<BezPath>,
    path: BezPath,
}

fn at(x: f32, y: f32) -> kurbo::Point {
    kurbo::Point::new(f64::from(x), f64::from(y))
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.path.move_to(at(x, y));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(at(x, y));
    }
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path.quad_to(at(x1, y1), at(x, y));
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path.curve_to(at(x1, y1), at(x2, y2), at(x, y));
    }
    fn close(&mut self) {
        let mut path = core::mem::take(&mut self.path);
        path.close_path();
        self.done.push(path);
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::float_cmp, reason = "both sides are computed the same way")]
    use super::*;
    use kurbo::Shape;

    fn cap(mm: f64) -> Length {
        Length::from_mm(mm)
    }

    #[test]
    fn capitals_stand_as_tall_as_asked() {
        for weight in [Weight::Medium, Weight::SemiBold] {
            let set = set_text("H", cap(10.0), weight);
            let bounds = set
                .contours
                .iter()
                .map(Shape::bounding_box)
                .reduce(|a, b| a.union(b));
            let bounds = bounds.unwrap_or_default();
            // Font units are thousandths of an em, so a cap of 10 mm is exact to rounding.
            assert!(
                (bounds.y1 - 10.0).abs() < 1e-9 && bounds.y0.abs() < 1e-9,
                "{bounds:?}"
            );
        }
    }

    #[test]
    fn figures_are_tabular_and_pairs_are_kerned() {
        let wide = |t: &str| set_text(t, cap(7.0), Weight::Medium).width.mm();
        for figure in '0'..='9' {
            assert!((wide(&format!("{figure}{figure}")) - 2.0 * wide("0")).abs() < 1e-9);
        }
        assert!(wide("AV") < wide("A") + wide("V") - 0.05, "AV is kerned");
    }

    #[test]
    fn what_the_sheets_print_is_there() {
        let printed = "·–—‘’“”′″×±≤≥⌀→↑←↓½¼¾●▲■°Ø−ŁłŠšőğ\u{a0}\u{202f}\u{2009}\u{2011}";
        for weight in [Weight::Medium, Weight::SemiBold] {
            assert_eq!(
                set_text(printed, cap(5.0), weight).missing,
                Vec::<char>::new()
            );
        }
    }

    #[test]
    fn a_missing_character_is_boxed_and_named_once() {
        let set = set_text("A魚B魚", cap(5.0), Weight::Medium);
        assert_eq!(set.missing, vec!['魚']);
        let plain = set_text("AB", cap(5.0), Weight::Medium);
        assert_eq!(set.contours.len(), plain.contours.len() + 2 * 5);
    }

    #[test]
    fn the_anchor_moves_the_line_and_nothing_else() {
        let start = set_text("UP", cap(5.0), Weight::SemiBold);
        let end = set_text_at("UP", cap(5.0), Weight::SemiBold, Anchor::End);
        assert_eq!(start.width, end.width);
        let left = |s: &SetText| {
            s.contours
                .iter()
                .map(|c| c.bounding_box().x0)
                .fold(f64::INFINITY, f64::min)
        };
        assert!((left(&start) - start.width.mm() - left(&end)).abs() < 1e-9);
    }
}
