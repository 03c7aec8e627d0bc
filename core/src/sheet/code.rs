//! A square code that a telephone reads (ISO/IEC 18004), as filled outlines.

use super::board::um;
use super::drawing::{Contour, Item, Meaning, Segment, Shape, Spot};
use crate::frames::{Point2, Sheet};
use qrcodegen::{Mask, QrCode, QrCodeEcc, QrSegment, Version};
use std::collections::BTreeMap;

/// Side of a module: 12 dots at 600 to the inch, and what a telephone reads from a hand's breadth
/// (common practice, no source).
const MODULE_MM: f64 = 0.5;
/// Left white all round, in modules (ISO/IEC 18004).
const QUIET: i32 = 4;
/// Longer texts make a code that takes more of the strip than it is worth: version 8.
const MOST_MODULES: i32 = 49;

/// A code before it is drawn.
#[derive(Clone)]
pub(super) struct Code {
    code: QrCode,
    text: String,
}

impl Code {
    /// The code of a text; nothing where the text is empty or too long for the strip.
    pub(super) fn of(text: &str) -> Option<Self> {
        if text.is_empty() {
            return None;
        }
        let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
        (code.size() <= MOST_MODULES).then(|| Self {
            code,
            text: text.to_owned(),
        })
    }

    /// The side of the code of a text with the white about it, mm. Which mask its modules bear does
    /// not change it, and choosing one is most of the work.
    pub(super) fn side_mm_of(text: &str) -> Option<f64> {
        if text.is_empty() {
            return None;
        }
        let segments = QrSegment::make_segments(text);
        let mask = Some(Mask::new(0));
        let (least, most, ecc) = (Version::MIN, Version::MAX, QrCodeEcc::Medium);
        let code =
            QrCode::encode_segments_advanced(&segments, ecc, least, most, mask, true).ok()?;
        (code.size() <= MOST_MODULES).then(|| f64::from(code.size() + 2 * QUIET) * MODULE_MM)
    }

    /// Drawn with the lower left corner of the white about it at a place.
    pub(super) fn draw(&self, place: Point2<Sheet>) -> Item {
        let n = self.code.size();
        let corner = |(x, y): Corner| {
            let along = |k: i32| f64::from(k + QUIET) * MODULE_MM;
            Spot::new(um(place.x_mm() + along(x)), um(place.y_mm() + along(n - y)))
        };
        let contours = rings(n, |x, y| self.code.get_module(x, y))
            .into_iter()
            .filter_map(|ring| {
                let start = corner(*ring.first()?);
                let mut segments: Vec<Segment> = ring
                    .iter()
                    .skip(1)
                    .map(|c| Segment::Line { to: corner(*c) })
                    .collect();
                segments.push(Segment::Line { to: start });
                Some(Contour {
                    start,
                    segments,
                    closed: true,
                })
            })
            .collect();
        Item {
            meaning: Meaning::Note,
            shape: Shape::Solid(contours),
            label: Some(format!("code: {}", self.text)),
            stamp: true,
        }
    }
}

/// A corner between modules, x to the right and y down.
type Corner = (i32, i32);

/// The edges of the dark area as rings of corners, straight runs joined. (A box a module would
/// leave hair-thin seams where renderers smooth edges.)
fn rings(n: i32, dark: impl Fn(i32, i32) -> bool) -> Vec<Vec<Corner>> {
    // Edges with the dark module at their right as seen with y down.
    let mut from: BTreeMap<Corner, Vec<Corner>> = BTreeMap::new();
    let mut edge = |a: Corner, b: Corner| from.entry(a).or_default().push(b);
    for y in 0..n {
        for x in 0..n {
            if !dark(x, y) {
                continue;
            }
            let (a, b, c, d) = ((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1));
            let sides = [
                ((x, y - 1), a, b),
                ((x + 1, y), b, c),
                ((x, y + 1), c, d),
                ((x - 1, y), d, a),
            ];
            for (beside, s, e) in sides {
                if !dark(beside.0, beside.1) {
                    edge(s, e);
                }
            }
        }
    }
    let mut all = Vec::new();
    while let Some(start) = from.iter().find(|(_, to)| !to.is_empty()).map(|(s, _)| *s) {
        let mut ring = vec![start];
        let (mut here, mut way) = (start, (0, 0));
        while let Some(outs) = from.get_mut(&here) {
            // Where two dark modules touch at a corner, turn with the one being gone round.
            let right = (-way.1, way.0);
            let keep = outs
                .iter()
                .position(|o| (o.0 - here.0, o.1 - here.1) == right)
                .unwrap_or(0);
            if outs.is_empty() {
                break;
            }
            let next = outs.swap_remove(keep);
            let step = (next.0 - here.0, next.1 - here.1);
            if step == way {
                ring.pop();
            }
            if next == start {
                break;
            }
            ring.push(next);
            (here, way) = (next, step);
        }
        all.push(ring);
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn rings_enclose_exactly_the_dark_modules() {
        let code =
            Code::of("https://shop.example/samespot/#/j/quay-puffins/p/p7/eye-left").unwrap();
        let n = code.code.size();
        let all = rings(n, |x, y| code.code.get_module(x, y));
        // Even-odd along a ray from the middle of each module.
        for y in 0..n {
            for x in 0..n {
                let mut inside = false;
                for ring in &all {
                    for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                        let (lo, hi) = (a.1.min(b.1), a.1.max(b.1));
                        if a.0 == b.0 && a.0 > x && lo <= y && y < hi {
                            inside = !inside;
                        }
                    }
                }
                assert_eq!(inside, code.code.get_module(x, y), "{x} {y}");
            }
        }
    }

    #[test]
    fn ten_letters_take_version_1_and_a_text_too_long_none() {
        // ISO/IEC 18004 table 7 (shared/checks M4): version 1 at M holds 20 letters.
        assert_eq!(Code::of("ABCDEFGHIJ").unwrap().code.size(), 21);
        // Version 4 at M holds 62 bytes, version 8 152.
        assert_eq!(Code::of(&"a/".repeat(31)).unwrap().code.size(), 33);
        assert!(Code::of(&"a/".repeat(76)).is_some());
        assert!(Code::of(&"a/".repeat(77)).is_none());
        assert!(Code::of("").is_none());
    }
}
