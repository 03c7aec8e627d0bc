//! A picture on a sheet, in shades of grey.
//!
//! Its points are squares of a whole number of micrometres, so that a part of it on one sheet of
//! several stands exactly where it stood in the whole.

use super::drawing::Spot;
use super::input::ScaleCorrection;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A picture in shades of grey, its points squares beside and above each other.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Greys {
    /// Its lower left corner.
    pub low: Spot,
    /// How wide and high a point is, µm.
    pub point_um: i32,
    /// Points across.
    pub wide: u32,
    /// Brightness of each, 0 black to 255 white, row by row from the top.
    pub points: Points,
}

/// The points of a picture, which many drawings may hold in common.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(from = "Vec<u8>", into = "Vec<u8>")]
pub struct Points(Arc<Vec<u8>>);

impl From<Vec<u8>> for Points {
    fn from(points: Vec<u8>) -> Self {
        Self(Arc::new(points))
    }
}

impl From<Points> for Vec<u8> {
    fn from(points: Points) -> Self {
        Arc::unwrap_or_clone(points.0)
    }
}

impl Points {
    /// All of them.
    #[must_use]
    pub fn all(&self) -> &[u8] {
        &self.0
    }
}

fn size(n: u32) -> usize {
    usize::try_from(n).unwrap_or(usize::MAX)
}

/// So many whole points in a length of µm, `round` up or down.
fn points_in(um: i64, point: i64, up: bool) -> u32 {
    let n = if up {
        um.saturating_add(point - 1).div_euclid(point)
    } else {
        um.div_euclid(point)
    };
    u32::try_from(n.max(0)).unwrap_or(u32::MAX)
}

impl Greys {
    /// Points up.
    #[must_use]
    pub fn high(&self) -> u32 {
        u32::try_from(self.points.all().len() / size(self.wide.max(1))).unwrap_or(0)
    }

    /// Its upper right corner.
    #[must_use]
    pub fn top(&self) -> Spot {
        let along =
            |n: u32| i32::try_from(i64::from(n) * i64::from(self.point_um)).unwrap_or(i32::MAX);
        self.low
            .shifted(Spot::new(along(self.wide), along(self.high())))
    }

    /// Its rows from the top.
    pub fn rows(&self) -> impl Iterator<Item = &[u8]> {
        self.points.all().chunks_exact(size(self.wide.max(1)))
    }

    /// Moved across and up.
    #[must_use]
    pub fn shifted(&self, by: Spot) -> Self {
        Self {
            low: self.low.shifted(by),
            ..self.clone()
        }
    }

    /// The points that lie wholly between two corners; nothing where none does.
    #[must_use]
    pub fn between(&self, low: Spot, high: Spot) -> Option<Self> {
        let point = i64::from(self.point_um);
        if point <= 0 {
            return None;
        }
        let (wide, tall) = (self.wide, self.high());
        let from = |edge: i32, own: i32| points_in(i64::from(edge) - i64::from(own), point, true);
        let to = |edge: i32, own: i32, most: u32| {
            points_in(i64::from(edge) - i64::from(own), point, false).min(most)
        };
        let (left, foot) = (from(low.x, self.low.x), from(low.y, self.low.y));
        let (right, head) = (to(high.x, self.low.x, wide), to(high.y, self.low.y, tall));
        if left >= right || foot >= head {
            return None;
        }
        // Rows run down: the head of the part is so far below that of the whole.
        let rows = self.rows().skip(size(tall - head)).take(size(head - foot));
        let part = rows.filter_map(|row| row.get(size(left)..size(right)));
        let along = |n: u32| i32::try_from(i64::from(n) * point).unwrap_or(i32::MAX);
        Some(Self {
            low: self.low.shifted(Spot::new(along(left), along(foot))),
            point_um: self.point_um,
            wide: right - left,
            points: part.flatten().copied().collect::<Vec<u8>>().into(),
        })
    }

    /// As it must be drawn for its print to have its size: each point stands for the nearest of the
    /// picture as it was.
    #[must_use]
    pub(super) fn scaled(&self, by: ScaleCorrection) -> Self {
        let (wide, tall) = (self.wide, self.high());
        let times = |n: i32, by: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "a sheet's micrometres, and 5 %"
            )]
            let um = libm::round(f64::from(n) * by) as i32;
            um
        };
        let top = self.top();
        let low = Spot::new(times(self.low.x, by.across), times(self.low.y, by.up));
        let high = Spot::new(times(top.x, by.across), times(top.y, by.up));
        let point = i64::from(self.point_um.max(1));
        let across = points_in(i64::from(high.x) - i64::from(low.x), point, false);
        let up = points_in(i64::from(high.y) - i64::from(low.y), point, false);
        let mut points = Vec::with_capacity(size(across) * size(up));
        let nearest = |k: u32, of: u32, most: u32| {
            let n = u64::from(k) * 2 + 1;
            let at = n * u64::from(most) / (2 * u64::from(of.max(1)));
            u32::try_from(at)
                .unwrap_or(u32::MAX)
                .min(most.saturating_sub(1))
        };
        for row in 0..up {
            let from = size(nearest(row, up, tall)) * size(wide);
            for column in 0..across {
                let at = from + size(nearest(column, across, wide));
                points.push(self.points.all().get(at).copied().unwrap_or(255));
            }
        }
        Self {
            low,
            point_um: self.point_um,
            wide: across,
            points: points.into(),
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn ramp() -> Greys {
        // Four across, three up: 0 1 2 3 at the top.
        Greys {
            low: Spot::new(1000, 2000),
            point_um: 100,
            wide: 4,
            points: (0..12).collect::<Vec<u8>>().into(),
        }
    }

    #[test]
    fn a_part_stands_where_it_stood() {
        let g = ramp();
        assert_eq!((g.high(), g.top()), (3, Spot::new(1400, 2300)));
        let part = g
            .between(Spot::new(1050, 2000), Spot::new(1399, 2299))
            .unwrap();
        assert_eq!(
            (part.low, part.wide, part.high()),
            (Spot::new(1100, 2000), 2, 2)
        );
        assert_eq!(part.points.all(), [5, 6, 9, 10]);
        assert_eq!(
            g.between(Spot::new(0, 0), Spot::new(9000, 9000)).as_ref(),
            Some(&g)
        );
        assert_eq!(
            g.between(Spot::new(1050, 2000), Spot::new(1090, 2300)),
            None
        );
        assert_eq!(g.between(Spot::new(5000, 0), Spot::new(9000, 9000)), None);
    }

    #[test]
    fn drawn_larger_it_has_more_points_of_the_same_size() {
        let wide = Greys {
            wide: 100,
            points: (0..200_u8).collect::<Vec<u8>>().into(),
            ..ramp()
        };
        let by = ScaleCorrection {
            across: 1.02,
            up: 1.0,
        };
        let more = wide.scaled(by);
        assert_eq!((more.wide, more.high(), more.low.x), (102, 2, 1020));
        let row: Vec<u8> = more.rows().next().unwrap().to_vec();
        assert_eq!((row[0], row[101]), (0, 99));
        assert!(row.windows(2).all(|w| w[0] <= w[1]));
    }
}
