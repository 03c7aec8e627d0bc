//! An outline as it lies in a file: one string to a contour, whole grid steps.
//!
//! `M0 0L1024 0C… Z`: the path letters of SVG (absolute, one to a segment, none left out) over
//! coordinates in 1/1024 mm, so that what is read back is exactly what was written.

use super::{Contour, GRID_PER_MM, Outline};
use crate::frames::Frame;
use core::fmt::Write as _;
use kurbo::{BezPath, PathEl, Point};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de, ser::SerializeSeq};

/// Contours and segments taken from one stored outline, at most.
const MOST_ELEMENTS: usize = 4_000_000;

/// Coordinates past a kilometre are nobody's template.
const MOST_STEPS: i64 = 1_024_000_000;

impl<F: Frame> Serialize for Outline<F> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut list = s.serialize_seq(Some(self.contours().len()))?;
        for contour in self.contours() {
            list.serialize_element(&written(contour))?;
        }
        list.end()
    }
}

impl<'de, F: Frame> Deserialize<'de> for Outline<F> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let texts: Vec<String> = Vec::deserialize(d)?;
        let mut left = MOST_ELEMENTS;
        texts
            .iter()
            .enumerate()
            .map(|(i, text)| {
                read(text, &mut left).ok_or_else(|| {
                    de::Error::custom(format_args!("contour {i} of the outline is damaged"))
                })
            })
            .collect()
    }
}

fn written<F: Frame>(contour: &Contour<F>) -> String {
    let mut text = String::new();
    let mut put = |letter: char, points: &[Point]| {
        text.push(letter);
        for (i, p) in points.iter().enumerate() {
            let steps = |mm: f64| libm::round(mm * GRID_PER_MM) + 0.0;
            let gap = if i == 0 { "" } else { " " };
            // Writing to a String cannot fail.
            let _ = write!(text, "{gap}{} {}", steps(p.x), steps(p.y));
        }
    };
    for el in contour.path_mm().elements() {
        match *el {
            PathEl::MoveTo(p) => put('M', &[p]),
            PathEl::LineTo(p) => put('L', &[p]),
            PathEl::QuadTo(a, p) => put('Q', &[a, p]),
            PathEl::CurveTo(a, b, p) => put('C', &[a, b, p]),
            PathEl::ClosePath => put('Z', &[]),
        }
    }
    text
}

fn read<F: Frame>(text: &str, left: &mut usize) -> Option<Contour<F>> {
    let mut path = BezPath::new();
    let mut rest = text;
    while let Some(letter) = rest.chars().next() {
        *left = left.checked_sub(1)?;
        let body = rest.get(1..)?;
        let end = body
            .find(|c: char| c.is_ascii_uppercase())
            .unwrap_or(body.len());
        let (numbers, after) = body.split_at_checked(end)?;
        let mm = numbers
            .split_ascii_whitespace()
            .map(|n| n.parse::<i64>().ok().filter(|n| n.abs() <= MOST_STEPS))
            .map(|n| {
                #[expect(clippy::cast_precision_loss, reason = "under 2^30")]
                let mm = n? as f64 / GRID_PER_MM;
                Some(mm)
            })
            .collect::<Option<Vec<f64>>>()?;
        let begun = !path.elements().is_empty();
        match (letter, mm.as_slice()) {
            ('M', &[x, y]) if !begun => path.move_to((x, y)),
            ('L', &[x, y]) if begun => path.line_to((x, y)),
            ('Q', &[a, b, x, y]) if begun => path.quad_to((a, b), (x, y)),
            ('C', &[a, b, c, d, x, y]) if begun => path.curve_to((a, b), (c, d), (x, y)),
            ('Z', &[]) if begun && after.is_empty() => path.close_path(),
            _ => return None,
        }
        rest = after;
    }
    Contour::from_elements_mm(path.elements(), 0).ok()?
}
