//! A picture as brightness.

use super::PhotoError;
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits};
use kurbo::Point;
use std::io::Cursor;

/// Megapixels taken: phones have 12 to 50.
const MOST_MEGAPIXELS: u64 = 64;
/// Larger pictures are halved until their longer side is no longer than this: enough for 0.1 mm
/// on A3.
const LONGEST_SIDE: usize = 4600;

/// Brightness 0 to 255, rows from the top.
#[derive(Debug, Clone)]
pub(super) struct Grey {
    pub(super) wide: usize,
    pub(super) high: usize,
    points: Vec<u8>,
}

pub(super) fn decode(bytes: &[u8]) -> Result<Grey, PhotoError> {
    let not = |why: &dyn core::fmt::Display| PhotoError::NotAPicture(why.to_string());
    let reader = || {
        ImageReader::new(Cursor::new(bytes))
            .with_guessed_format()
            .map_err(|e| not(&e))
    };
    // The size is in the head: nothing large is set aside before it is known.
    let (wide, high) = reader()?.into_dimensions().map_err(|e| not(&e))?;
    let points = u64::from(wide) * u64::from(high);
    if points > MOST_MEGAPIXELS * 1_000_000 {
        return Err(PhotoError::TooLarge {
            megapixels: points / 1_000_000,
            most: MOST_MEGAPIXELS,
        });
    }
    let mut reader = reader()?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(MOST_MEGAPIXELS * 1_000_000 * 8);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|e| not(&e))?;
    // As every browser shows it: a phone writes how it was held beside the picture.
    let held = decoder.orientation().unwrap_or(Orientation::NoTransforms);
    let picture = DynamicImage::from_decoder(decoder).map_err(|e| not(&e))?;
    let mut picture = DynamicImage::ImageLuma8(picture.into_luma8());
    picture.apply_orientation(held);
    let picture = picture.into_luma8();
    let (wide, high) = picture.dimensions();
    let size = |n: u32| usize::try_from(n).unwrap_or(usize::MAX);
    let mut grey = Grey {
        wide: size(wide),
        high: size(high),
        points: picture.into_raw(),
    };
    while grey.wide.max(grey.high) > LONGEST_SIDE {
        grey = grey.halved();
    }
    Ok(grey)
}

impl Grey {
    pub(super) fn new(wide: usize, high: usize, points: Vec<u8>) -> Self {
        Self { wide, high, points }
    }

    pub(super) fn rows(&self) -> impl Iterator<Item = &[u8]> {
        self.points.chunks_exact(self.wide.max(1))
    }

    pub(super) fn at(&self, x: usize, y: usize) -> u8 {
        if x < self.wide {
            self.points.get(y * self.wide + x).copied().unwrap_or(255)
        } else {
            255
        }
    }

    fn halved(&self) -> Self {
        let (wide, high) = (self.wide / 2, self.high / 2);
        let mut points = Vec::with_capacity(wide * high);
        for y in 0..high {
            for x in 0..wide {
                let sum: u16 = [(0, 0), (1, 0), (0, 1), (1, 1)]
                    .into_iter()
                    .map(|(i, j)| u16::from(self.at(2 * x + i, 2 * y + j)))
                    .sum();
                points.push(u8::try_from((sum + 2) / 4).unwrap_or(255));
            }
        }
        Self::new(wide, high, points)
    }

    /// Between the points, where each stands for the middle of its square; white outside.
    pub(super) fn between(&self, p: Point) -> f64 {
        let (x, y) = (p.x - 0.5, p.y - 0.5);
        #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
        let (w, h) = (self.wide as f64, self.high as f64);
        if !(x >= 0.0 && y >= 0.0 && x < w - 1.0 && y < h - 1.0) {
            return 255.0;
        }
        let (fx, fy) = (libm::floor(x), libm::floor(y));
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "inside the picture"
        )]
        let (i, j) = (fx as usize, fy as usize);
        let v = |i, j| f64::from(self.at(i, j));
        let (tx, ty) = (x - fx, y - fy);
        let above = v(i, j) * (1.0 - tx) + v(i + 1, j) * tx;
        let below = v(i, j + 1) * (1.0 - tx) + v(i + 1, j + 1) * tx;
        above * (1.0 - ty) + below * ty
    }
}

/// Sums over rectangles (Crow 1984), of whatever lies on a grid.
pub(super) struct Sums {
    wide: usize,
    high: usize,
    sums: Vec<u32>,
}

impl Sums {
    /// `all` row by row; a few hundred each at most, so that a picture's whole sum is held.
    pub(super) fn new(wide: usize, high: usize, all: impl Iterator<Item = u32>) -> Self {
        let row = wide + 1;
        let mut sums = vec![0_u32; row * (high + 1)];
        let mut run = 0_u32;
        for (k, value) in all.take(wide * high).enumerate() {
            let (x, y) = (k % wide.max(1), k / wide.max(1));
            if x == 0 {
                run = 0;
            }
            run = run.wrapping_add(value);
            let above = sums.get(y * row + x + 1).copied().unwrap_or(0);
            if let Some(sum) = sums.get_mut((y + 1) * row + x + 1) {
                *sum = above.wrapping_add(run);
            }
        }
        Self { wide, high, sums }
    }

    /// The sum within `reach` of a place, and over how many.
    pub(super) fn round(&self, x: usize, y: usize, reach: usize) -> (u32, u32) {
        let (x0, y0) = (x.saturating_sub(reach), y.saturating_sub(reach));
        let (x1, y1) = (
            (x + reach + 1).min(self.wide),
            (y + reach + 1).min(self.high),
        );
        let row = self.wide + 1;
        let at = |x: usize, y: usize| self.sums.get(y * row + x).copied().unwrap_or(0);
        let sum = at(x1, y1)
            .wrapping_sub(at(x0, y1))
            .wrapping_sub(at(x1, y0))
            .wrapping_add(at(x0, y0));
        let count = u32::try_from((x1 - x0) * (y1 - y0)).unwrap_or(u32::MAX);
        (sum, count)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_the_sums() {
        let all: Vec<u32> = (0..35).collect();
        let sums = Sums::new(7, 5, all.iter().copied());
        for (x, y, reach) in [(3, 2, 1), (0, 0, 2), (6, 4, 9)] {
            let mut expected = (0, 0);
            for j in 0..5_usize {
                for i in 0..7_usize {
                    if i.abs_diff(x) <= reach && j.abs_diff(y) <= reach {
                        expected.0 += all[j * 7 + i];
                        expected.1 += 1;
                    }
                }
            }
            assert_eq!(sums.round(x, y, reach), expected);
        }
    }

    #[test]
    fn what_is_no_picture_is_said_so() {
        for bytes in [&b""[..], b"II*\0", b"\x89PNG\r\n\x1a\n", b"<svg/>"] {
            assert!(matches!(decode(bytes), Err(PhotoError::NotAPicture(_))));
        }
    }
}
