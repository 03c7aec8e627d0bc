//! Dark spots: points of a picture that hang together.

use super::grey::{Grey, Sums};

/// A dark spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Blob {
    pub(super) points: u32,
    sum: (u64, u64),
    /// First and last column, first and last row.
    pub(super) x: (usize, usize),
    pub(super) y: (usize, usize),
}

#[expect(clippy::cast_precision_loss, reason = "sizes of pictures")]
impl Blob {
    pub(super) fn centre(&self) -> (f64, f64) {
        let n = f64::from(self.points);
        (self.sum.0 as f64 / n + 0.5, self.sum.1 as f64 / n + 0.5)
    }
    pub(super) fn width(&self) -> f64 {
        (self.x.1 - self.x.0 + 1) as f64
    }
    pub(super) fn height(&self) -> f64 {
        (self.y.1 - self.y.0 + 1) as f64
    }
    /// Share of its box that is dark.
    pub(super) fn fill(&self) -> f64 {
        f64::from(self.points) / (self.width() * self.height())
    }
    pub(super) fn holds(&self, other: &Self) -> bool {
        self.x.0 < other.x.0 && other.x.1 < self.x.1 && self.y.0 < other.y.0 && other.y.1 < self.y.1
    }

    fn at(x: usize, y: usize) -> Self {
        Self {
            points: 1,
            sum: (x as u64, y as u64),
            x: (x, x),
            y: (y, y),
        }
    }

    fn with(self, o: Self) -> Self {
        Self {
            points: self.points + o.points,
            sum: (self.sum.0 + o.sum.0, self.sum.1 + o.sum.1),
            x: (self.x.0.min(o.x.0), self.x.1.max(o.x.1)),
            y: (self.y.0.min(o.y.0), self.y.1.max(o.y.1)),
        }
    }
}

/// Darker than three quarters of what lies round about, out to a sixteenth of the picture either
/// way: a shadow across the sheet changes slower than that.
fn is_dark(value: u8, sum: u32, count: u32) -> bool {
    u64::from(value) * u64::from(count) * 4 < u64::from(sum) * 3
}

/// All dark spots of at least so many points.
pub(super) fn dark(picture: &Grey, least: u32) -> Vec<Blob> {
    let (wide, high) = (picture.wide, picture.high);
    let reach = (wide.max(high) / 16).max(4);
    let values = picture.rows().flatten().map(|v| u32::from(*v));
    let sums = Sums::new(wide, high, values);
    let mut found = Forest::default();
    let mut above: Vec<Option<u32>> = vec![None; wide];
    for y in 0..high {
        let mut here: Vec<Option<u32>> = vec![None; wide];
        for x in 0..wide {
            let (sum, count) = sums.round(x, y, reach);
            if !is_dark(picture.at(x, y), sum, count) {
                continue;
            }
            let before = x.checked_sub(1);
            let near = [
                before.and_then(|i| here.get(i).copied().flatten()),
                before.and_then(|i| above.get(i).copied().flatten()),
                above.get(x).copied().flatten(),
                above.get(x + 1).copied().flatten(),
            ];
            let own = found.add(Blob::at(x, y), near);
            if let Some(slot) = here.get_mut(x) {
                *slot = Some(own);
            }
        }
        above = here;
    }
    found.blobs(least)
}

/// Spots that turn out to be one are joined (Tarjan 1975).
#[derive(Default)]
struct Forest {
    parent: Vec<u32>,
    blobs: Vec<Blob>,
}

impl Forest {
    fn root(&self, mut of: u32) -> u32 {
        while let Some(up) = self.parent.get(of as usize).copied().filter(|up| *up != of) {
            of = up;
        }
        of
    }

    fn add(&mut self, blob: Blob, near: [Option<u32>; 4]) -> u32 {
        let mut own: Option<u32> = None;
        for n in near.into_iter().flatten() {
            let root = self.root(n);
            match own {
                None => own = Some(root),
                Some(o) if o != root => {
                    let (keep, go) = (o.min(root), o.max(root));
                    if let Some(up) = self.parent.get_mut(go as usize) {
                        *up = keep;
                    }
                    let gone = self.blobs.get(go as usize).copied();
                    if let (Some(kept), Some(gone)) = (self.blobs.get_mut(keep as usize), gone) {
                        *kept = kept.with(gone);
                    }
                    own = Some(keep);
                }
                Some(_) => {}
            }
        }
        match own {
            Some(o) => {
                if let Some(kept) = self.blobs.get_mut(o as usize) {
                    *kept = kept.with(blob);
                }
                o
            }
            None => {
                let o = u32::try_from(self.parent.len()).unwrap_or(u32::MAX);
                self.parent.push(o);
                self.blobs.push(blob);
                o
            }
        }
    }

    fn blobs(self, least: u32) -> Vec<Blob> {
        self.parent
            .iter()
            .zip(0_u32..)
            .zip(&self.blobs)
            .filter(|((up, own), blob)| **up == *own && blob.points >= least)
            .map(|(_, blob)| *blob)
            .collect()
    }
}
