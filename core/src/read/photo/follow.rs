//! The window as it lies flat, and the edges of what is dark in it.

use super::grey::{Grey, Sums};
use super::homography::Homography;
use kurbo::{Point, Rect};

/// Finer than this nothing is gained, and a tablet's memory is lost, mm.
const FINEST_MM: f64 = 0.12;
/// What lies within this of a place says how bright the paper is there, mm.
const ROUND_ABOUT_MM: f64 = 25.0;
/// Where an edge is followed: between paper (1) and pen, of the paper's brightness.
const LEVEL: f64 = 0.72;

/// Brightness over the window, as a share of the paper's round about; rows from the foot.
pub(super) struct Patch {
    step: f64,
    wide: usize,
    high: usize,
    share: Vec<f32>,
}

impl Patch {
    pub(super) fn of(picture: &Grey, to_picture: &Homography, window: Rect, point_mm: f64) -> Self {
        let step = point_mm.max(FINEST_MM);
        let count = |length: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a few thousand"
            )]
            let n = (libm::floor(length / step) as usize).max(1);
            n
        };
        let (wide, high) = (count(window.width()), count(window.height()));
        let mut values = Vec::with_capacity(wide * high);
        for y in 0..high {
            for x in 0..wide {
                #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
                let p = Point::new(
                    window.x0 + (x as f64 + 0.5) * step,
                    window.y0 + (y as f64 + 0.5) * step,
                );
                values.push(to_picture.at(p).map_or(255.0, |q| picture.between(q)));
            }
        }
        let share = shares(wide, high, &values, ROUND_ABOUT_MM / step);
        Self {
            step,
            wide,
            high,
            share: softened(wide, high, &share),
        }
    }

    /// How far a place of the grid is from the window's lower left corner, mm.
    fn mm(&self, x: f64, y: f64) -> Point {
        Point::new((x + 0.5) * self.step, (y + 0.5) * self.step)
    }

    /// A place on the window's very edge: what is dark there runs out of it.
    pub(super) fn is_at_edge(&self, p: Point) -> bool {
        #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
        let (w, h) = (self.wide as f64 * self.step, self.high as f64 * self.step);
        let near = 2.0 * self.step;
        p.x < near || p.y < near || p.x > w - near || p.y > h - near
    }

    fn value(&self, x: usize, y: usize) -> f64 {
        // A rim of paper closes every edge.
        let (Some(i), Some(j)) = (x.checked_sub(1), y.checked_sub(1)) else {
            return 1.0;
        };
        if i >= self.wide {
            return 1.0;
        }
        self.share
            .get(j * self.wide + i)
            .map_or(1.0, |v| f64::from(*v))
    }

    /// Every edge between dark and light as a closed run of places, mm in the window, the dark on
    /// the left (marching squares, Lorensen and Cline 1987 in the plane).
    pub(super) fn edges(&self) -> Vec<Vec<Point>> {
        let (wide, high) = (self.wide + 2, self.high + 2);
        // Each crossed side of a square leads to the next one; sides lying across are even numbers.
        let mut next: Vec<u32> = vec![u32::MAX; 2 * wide * high];
        let side_across = |x: usize, y: usize| 2 * (y * wide + x);
        let side_up = |x: usize, y: usize| 2 * (y * wide + x) + 1;
        for y in 0..high - 1 {
            for x in 0..wide - 1 {
                let v = [
                    self.value(x, y),
                    self.value(x + 1, y),
                    self.value(x + 1, y + 1),
                    self.value(x, y + 1),
                ];
                let dark = v.map(|v| v < LEVEL);
                // From below round to the left.
                let sides = [
                    side_across(x, y),
                    side_up(x + 1, y),
                    side_across(x, y + 1),
                    side_up(x, y),
                ];
                let middle_dark = v.iter().sum::<f64>() / 4.0 < LEVEL;
                for (from, to) in steps(dark, middle_dark) {
                    if let (Some(slot), Ok(to)) =
                        (next.get_mut(sides[from]), u32::try_from(sides[to]))
                    {
                        *slot = to;
                    }
                }
            }
        }
        let mut out = Vec::new();
        for start in 0..next.len() {
            let mut at = start;
            let mut run = Vec::new();
            while let Some(to) = next.get_mut(at).filter(|to| **to != u32::MAX) {
                run.push(self.crossed(at, wide));
                at = core::mem::replace(to, u32::MAX) as usize;
            }
            if run.len() > 2 {
                out.push(run);
            }
        }
        out
    }

    /// Where the edge crosses a side.
    fn crossed(&self, side: usize, wide: usize) -> Point {
        let (x, y) = ((side / 2) % wide, (side / 2) / wide);
        let a = self.value(x, y);
        let b = if side.is_multiple_of(2) {
            self.value(x + 1, y)
        } else {
            self.value(x, y + 1)
        };
        let t = if (b - a).abs() > 1e-9 {
            ((LEVEL - a) / (b - a)).clamp(0.0, 1.0)
        } else {
            0.5
        };
        #[expect(clippy::cast_precision_loss, reason = "a few thousand")]
        let (fx, fy) = (x as f64 - 1.0, y as f64 - 1.0);
        if side.is_multiple_of(2) {
            self.mm(fx + t, fy)
        } else {
            self.mm(fx, fy + t)
        }
    }
}

/// How edges run through a square, by its corners from the lower left round: from which side to
/// which, the dark on the left.
fn steps(dark: [bool; 4], middle: bool) -> impl Iterator<Item = (usize, usize)> {
    let all = dark.iter().zip(0_usize..).filter(|(d, _)| **d);
    let code = all.fold(0, |code, (_, i)| code | 1 << i);
    let (first, second) = match code {
        1 => (Some((0, 3)), None),
        2 => (Some((1, 0)), None),
        3 => (Some((1, 3)), None),
        4 => (Some((2, 1)), None),
        5 if middle => (Some((0, 1)), Some((2, 3))),
        5 => (Some((0, 3)), Some((2, 1))),
        6 => (Some((2, 0)), None),
        7 => (Some((2, 3)), None),
        8 => (Some((3, 2)), None),
        9 => (Some((0, 2)), None),
        10 if middle => (Some((3, 0)), Some((1, 2))),
        10 => (Some((1, 0)), Some((3, 2))),
        11 => (Some((1, 2)), None),
        12 => (Some((3, 1)), None),
        13 => (Some((0, 1)), None),
        14 => (Some((3, 0)), None),
        _ => (None, None),
    };
    first.into_iter().chain(second)
}

/// Brightness over that of the paper round about: the mean of what is not dark there.
fn shares(wide: usize, high: usize, values: &[f64], reach: f64) -> Vec<f32> {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "brightness and a few hundred"
    )]
    let (whole, reach): (Vec<u32>, usize) =
        (values.iter().map(|v| *v as u32).collect(), reach as usize);
    let mean = |sums: &Sums, counts: Option<&Sums>, x, y| {
        let (sum, all) = sums.round(x, y, reach);
        let count = counts.map_or(all, |c| c.round(x, y, reach).0);
        (count > 0).then(|| f64::from(sum) / f64::from(count))
    };
    let all = Sums::new(wide, high, whole.iter().copied());
    let mut paper = Vec::with_capacity(whole.len());
    for y in 0..high {
        for x in 0..wide {
            let v = whole.get(y * wide + x).copied().unwrap_or(255);
            let about = mean(&all, None, x, y).unwrap_or(255.0);
            paper.push(f64::from(v) > 0.85 * about);
        }
    }
    let light = whole
        .iter()
        .zip(&paper)
        .map(|(v, p)| if *p { *v } else { 0 });
    let light = Sums::new(wide, high, light);
    let counts = Sums::new(wide, high, paper.iter().map(|p| u32::from(*p)));
    let mut out = Vec::with_capacity(values.len());
    for y in 0..high {
        for x in 0..wide {
            let v = values.get(y * wide + x).copied().unwrap_or(255.0);
            let white = mean(&light, Some(&counts), x, y).unwrap_or(255.0).max(1.0);
            #[expect(clippy::cast_possible_truncation, reason = "a share")]
            out.push((v / white) as f32);
        }
    }
    out
}

/// Each place with its eight neighbours, halves and quarters: noise of single points goes, an edge
/// stays where it is.
fn softened(wide: usize, high: usize, all: &[f32]) -> Vec<f32> {
    let at = |x: usize, y: usize| all.get(y * wide + x).copied().unwrap_or(1.0);
    let mut out = Vec::with_capacity(all.len());
    for y in 0..high {
        for x in 0..wide {
            let (l, r) = (x.saturating_sub(1), (x + 1).min(wide - 1));
            let (b, t) = (y.saturating_sub(1), (y + 1).min(high - 1));
            let row = |y| at(l, y) + 2.0 * at(x, y) + at(r, y);
            out.push((row(b) + 2.0 * row(y) + row(t)) / 16.0);
        }
    }
    out
}
