//! How large the file says it is, and the way from its user units to drawing units.

use super::length::{self, Along, PIXEL_MM, Reference};
use crate::units::Length;
use kurbo::Affine;
use roxmltree::Node;
use serde::Serialize;
use svgtypes::{Align, AspectRatio};

/// The size a file gives itself.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "known", content = "of")]
pub enum DeclaredSize {
    /// A real size; drawing units are millimetres.
    Mm {
        /// Across.
        width: Length,
        /// Up.
        height: Length,
    },
    /// Pixels; how large one is has to be asked. Drawing units are pixels.
    Pixels {
        /// Across, in pixels.
        width: f64,
        /// Up, in pixels.
        height: f64,
        /// What it comes to at the usual sizes of a pixel.
        choices: Vec<PixelChoice>,
    },
    /// No size; one real dimension has to be asked.
    Unknown,
}

/// What a drawing in pixels comes to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct PixelChoice {
    /// Pixels to the inch.
    pub per_inch: f64,
    /// Across.
    pub width: Length,
    /// Up.
    pub height: Length,
}

/// 96 is what CSS says; 90 and 72 are what drawing programs have written (common practice, no
/// source).
const PIXELS_PER_INCH: [f64; 3] = [96.0, 90.0, 72.0];

pub(super) struct Page {
    pub(super) declared: DeclaredSize,
    /// Across and up, in drawing units.
    pub(super) size: Option<(f64, f64)>,
    /// The view in user units, for percentages and the second pass.
    pub(super) view: Option<(f64, f64)>,
    /// From user units, y down, to drawing units, y up.
    pub(super) drawing_from_user: Affine,
    /// Across over up, where the file stretches.
    pub(super) stretched: Option<f64>,
}

/// A side longer than this, in whatever unit, is damage.
const LARGEST: f64 = 1e9;

enum Side {
    Mm(f64),
    Pixels(f64),
    Open,
}

fn side(svg: Node<'_, '_>, name: &str) -> Side {
    let Some((number, unit)) = svg.attribute(name).and_then(|v| length::split(v).ok()) else {
        return Side::Open;
    };
    // Nothing, or more than any: it says nothing of how large it is, and is asked.
    if !(number > 0.0 && number < LARGEST) {
        return Side::Open;
    }
    match unit {
        "" | "px" => Side::Pixels(number),
        "em" | "ex" | "%" => Side::Open,
        unit => length::absolute_mm(unit).map_or(Side::Open, |mm| Side::Mm(number * mm)),
    }
}

pub(super) fn page(svg: Node<'_, '_>) -> Page {
    let view_box = svg.attribute("viewBox").and_then(view_box);
    let sides = (side(svg, "width"), side(svg, "height"));
    // One side alone gives the other by the proportions of the view.
    let ratio = view_box.map(|(_, _, w, h)| h / w);
    let real = |s: &Side| match s {
        Side::Mm(mm) => Some(*mm),
        Side::Pixels(px) => Some(px * PIXEL_MM),
        Side::Open => None,
    };
    let both = match (real(&sides.0), real(&sides.1), ratio) {
        (Some(w), Some(h), _) => Some((w, h)),
        (Some(w), None, Some(r)) => Some((w, w * r)),
        (None, Some(h), Some(r)) => Some((h / r, h)),
        _ => None,
    };
    let has_mm = matches!(sides.0, Side::Mm(_)) || matches!(sides.1, Side::Mm(_));
    let (declared, size) = match both {
        Some((w, h)) if has_mm => {
            let (width, height) = (Length::from_mm(w), Length::from_mm(h));
            (DeclaredSize::Mm { width, height }, Some((w, h)))
        }
        Some((w, h)) => {
            let (width, height) = (w / PIXEL_MM, h / PIXEL_MM);
            let at = |per_inch: f64| PixelChoice {
                per_inch,
                width: Length::from_mm(width * 25.4 / per_inch),
                height: Length::from_mm(height * 25.4 / per_inch),
            };
            let choices = PIXELS_PER_INCH.into_iter().map(at).collect();
            (
                DeclaredSize::Pixels {
                    width,
                    height,
                    choices,
                },
                Some((width, height)),
            )
        }
        None => (DeclaredSize::Unknown, None),
    };
    let Some((x, y, w, h)) = view_box else {
        // Without a view the user unit is the pixel.
        let unit = if has_mm && size.is_some() {
            PIXEL_MM
        } else {
            1.0
        };
        let up = size.map_or(0.0, |s| s.1);
        return Page {
            declared,
            size,
            view: size.map(|(w, h)| (w / unit, h / unit)),
            drawing_from_user: Affine::new([unit, 0.0, 0.0, -unit, 0.0, up]),
            stretched: None,
        };
    };
    let size = size.unwrap_or_else(|| {
        let ten = libm::pow(10.0, 2.0 - libm::floor(libm::log10(w.max(h))));
        (w * ten, h * ten)
    });
    let (sx, sy) = (size.0 / w, size.1 / h);
    let fit: AspectRatio = svg
        .attribute("preserveAspectRatio")
        .and_then(|v| v.parse().ok())
        .unwrap_or_default();
    let (ux, uy, tx, ty) = if fit.align == Align::None {
        (sx, sy, 0.0, 0.0)
    } else {
        let s = if fit.slice { sx.max(sy) } else { sx.min(sy) };
        let (across, down) = shares(fit.align);
        (s, s, (size.0 - w * s) * across, (size.1 - h * s) * down)
    };
    let stretched = ((ux / uy - 1.0).abs() > 1e-6).then_some(ux / uy);
    Page {
        declared,
        size: Some(size),
        view: Some((w, h)),
        drawing_from_user: Affine::new([ux, 0.0, 0.0, -uy, tx - x * ux, size.1 - ty + y * uy]),
        stretched,
    }
}

/// The share of the room to spare that goes left of and above the drawing.
const fn shares(align: Align) -> (f64, f64) {
    match align {
        Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
        Align::None | Align::XMidYMid => (0.5, 0.5),
    }
}

/// Left, top, width and height of a view; `None` when one of them makes no sense.
pub(super) fn view_box(text: &str) -> Option<(f64, f64, f64, f64)> {
    let v: svgtypes::ViewBox = text.parse().ok()?;
    let sane = [v.x, v.y, v.w, v.h]
        .iter()
        .all(|n| n.is_finite() && n.abs() < 1e12);
    (sane && v.w > 1e-9 && v.h > 1e-9).then_some((v.x, v.y, v.w, v.h))
}

/// What percentages refer to inside an element that opens a view of its own.
pub(super) fn inner_view(node: Node<'_, '_>, of: Reference) -> Option<(f64, f64)> {
    if let Some((_, _, w, h)) = node.attribute("viewBox").and_then(view_box) {
        return Some((w, h));
    }
    let given = |name, along| {
        node.attribute(name)
            .and_then(|v| length::user_units(v, along, of).ok())
    };
    Some((given("width", Along::X)?, given("height", Along::Y)?))
}
