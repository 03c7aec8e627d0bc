//! The reference of a sheet: the same letters for the same drawing, other letters for any other.

use super::drawing::{Contour, Drawing, Item, Segment, Shape, Spot};
use super::input::ScaleCorrection;
use sha2::{Digest, Sha256};

/// Letters in a reference: 50 bits, so that among a million sheets two are alike once in two
/// thousand such workshops, and a person still types it.
const LETTERS: usize = 10;

/// The first ten base-32 letters (RFC 4648) of the SHA-256 of a drawing in whole µm, the printer
/// correction and the issue.
///
/// What was stamped on afterwards (the reference itself, date and program, what it supersedes),
/// titles and readable text are no part of it: a reprint tomorrow has the same reference, and the
/// reference of a finished drawing is the one printed on it.
#[must_use]
pub fn reference(drawing: &Drawing, correction: Option<ScaleCorrection>, issue: u32) -> String {
    let mut hash = Sum::default();
    hash.update(b"samespot sheet 1\n");
    hash.update(issue.to_le_bytes());
    let scale = correction.unwrap_or(ScaleCorrection::NONE);
    for factor in [scale.across, scale.up] {
        #[expect(clippy::cast_possible_truncation, reason = "about a million")]
        let millionths = libm::round(factor * 1e6) as i64;
        hash.update(millionths.to_le_bytes());
    }
    number(&mut hash, drawing.pages.len());
    for page in &drawing.pages {
        spot(&mut hash, Spot::new(page.paper.width, page.paper.height));
        number(&mut hash, page.items.iter().filter(|i| !i.stamp).count());
        page.items
            .iter()
            .filter(|i| !i.stamp)
            .for_each(|i| item(&mut hash, i));
    }
    let mut letters = base32(&hash.ended());
    letters.truncate(LETTERS);
    letters
}

/// In letters and digits, five bits each (RFC 4648, section 6), without the padding.
pub(crate) fn base32(bytes: &[u8]) -> String {
    const LETTERS: [char; 32] = [
        'A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'I', 'J', 'K', 'L', 'M', 'N', 'O', 'P', 'Q', 'R',
        'S', 'T', 'U', 'V', 'W', 'X', 'Y', 'Z', '2', '3', '4', '5', '6', '7',
    ];
    let bit = |i: usize| bytes.get(i / 8).is_some_and(|b| b & (0x80 >> (i % 8)) != 0);
    (0..bytes.len() * 8)
        .step_by(5)
        .filter_map(|at| {
            let five = (at..at + 5).fold(0, |n, i| 2 * n + usize::from(bit(i)));
            LETTERS.get(five)
        })
        .collect()
}

/// As it is printed: two groups of five, easier to read aloud.
pub(crate) fn grouped(reference: &str) -> String {
    match reference.split_at_checked(LETTERS / 2) {
        Some((a, b)) => format!("{a} {b}"),
        None => reference.into(),
    }
}

/// A hash that is handed much at once: a sheet is a hundred thousand numbers, and a step of the hash
/// for each costs more than the hash.
#[derive(Default)]
struct Sum {
    hash: Sha256,
    held: Vec<u8>,
}

impl Sum {
    const AT_ONCE: usize = 16 * 1024;

    #[inline]
    fn update(&mut self, bytes: impl AsRef<[u8]>) {
        self.held.extend_from_slice(bytes.as_ref());
        if self.held.len() >= Self::AT_ONCE {
            self.hash.update(&self.held);
            self.held.clear();
        }
    }

    fn ended(mut self) -> [u8; 32] {
        self.hash.update(&self.held);
        self.hash.finalize().into()
    }
}

fn number(hash: &mut Sum, n: usize) {
    hash.update(u64::try_from(n).unwrap_or(u64::MAX).to_le_bytes());
}

fn spot(hash: &mut Sum, s: Spot) {
    let ([a, b, c, d], [e, f, g, h]) = (s.x.to_le_bytes(), s.y.to_le_bytes());
    hash.update([a, b, c, d, e, f, g, h]);
}

fn words(hash: &mut Sum, text: &str) {
    number(hash, text.len());
    hash.update(text.as_bytes());
}

fn item(hash: &mut Sum, item: &Item) {
    words(hash, item.meaning.layer());
    match &item.shape {
        Shape::Line(contours) => {
            hash.update(b"l");
            all(hash, contours);
        }
        Shape::Circle { centre, radius } => {
            hash.update(b"c");
            spot(hash, *centre);
            hash.update(radius.to_le_bytes());
        }
        Shape::Solid(contours) => {
            hash.update(b"s");
            all(hash, contours);
        }
        Shape::Lettering { text, outlines } => {
            hash.update(b"t");
            words(hash, text);
            all(hash, outlines);
        }
        Shape::Picture(picture) => {
            hash.update(b"p");
            spot(hash, picture.low);
            hash.update(picture.point_um.to_le_bytes());
            hash.update(picture.wide.to_le_bytes());
            number(hash, picture.points.all().len());
            hash.update(picture.points.all());
        }
    }
}

fn all(hash: &mut Sum, contours: &[Contour]) {
    number(hash, contours.len());
    for contour in contours {
        spot(hash, contour.start);
        hash.update([u8::from(contour.closed)]);
        number(hash, contour.segments.len());
        for segment in &contour.segments {
            match *segment {
                Segment::Line { to } => {
                    hash.update(b"l");
                    spot(hash, to);
                }
                Segment::Arc { via, to } => {
                    hash.update(b"a");
                    spot(hash, via);
                    spot(hash, to);
                }
                Segment::Cubic { c1, c2, to } => {
                    hash.update(b"b");
                    spot(hash, c1);
                    spot(hash, c2);
                    spot(hash, to);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_those_of_the_standard() {
        // RFC 4648, section 10, without the padding.
        for (bytes, letters) in [
            ("", ""),
            ("f", "MY"),
            ("fo", "MZXQ"),
            ("foo", "MZXW6"),
            ("foob", "MZXW6YQ"),
            ("fooba", "MZXW6YTB"),
            ("foobar", "MZXW6YTBOI"),
        ] {
            assert_eq!(base32(bytes.as_bytes()), letters, "{bytes}");
        }
    }
}
