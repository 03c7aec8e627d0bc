//! Corners that are the same point joined, and triangles that are none left out.

use super::{Mesh, Soup, is_place};

/// A place in the table that holds nothing.
const NONE: u32 = u32::MAX;

/// A triangle is none when its height is under this share of its longest side.
const FLAT: f64 = 1e-9;

/// A corner that is the lowest of more triangles than this is a hub: doubles are then found by sorting.
const HUB: usize = 64;

/// Corners joined as they come: the points, and an open table of their places in the list.
#[derive(Debug, Default)]
pub(super) struct Corners {
    pub(super) points: Vec<[f64; 3]>,
    table: Vec<u32>,
}

impl Corners {
    /// With room for so many corners after joining.
    pub(super) fn with_room(count: usize) -> Self {
        Self {
            points: Vec::with_capacity(count),
            table: vec![NONE; (count * 8 / 5 + 1).next_power_of_two().max(16)],
        }
    }

    /// Where a corner is in the list, which it joins if it is new; it must be a place.
    pub(super) fn place(&mut self, p: [f64; 3]) -> u32 {
        // Five eighths full, open addressing takes two looks for a corner that is new.
        if self.points.len() * 8 >= self.table.len() * 5 {
            self.grow();
        }
        // Minus nought is nought.
        let p = p.map(|x| x + 0.0);
        let mut at = self.first_look(&p);
        loop {
            let known = self.table[at];
            if known == NONE {
                let Ok(new) = u32::try_from(self.points.len()) else {
                    return NONE;
                };
                self.table[at] = new;
                self.points.push(p);
                return new;
            }
            let q = &self.points[known as usize];
            if p.iter().zip(q).all(|(a, b)| a.to_bits() == b.to_bits()) {
                return known;
            }
            at = (at + 1) & (self.table.len() - 1);
        }
    }

    fn first_look(&self, p: &[f64; 3]) -> usize {
        // Fibonacci hashing of each coordinate's bits (Knuth, vol. 3, 6.4); the table's size is a
        // power of two.
        let mixed = p.iter().fold(0_u64, |h, x| {
            (h.rotate_left(23) ^ x.to_bits()).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        });
        #[expect(
            clippy::cast_possible_truncation,
            reason = "shifted to the table's size"
        )]
        let at = (mixed >> (64 - self.table.len().trailing_zeros())) as usize;
        at
    }

    fn grow(&mut self) {
        self.table = vec![NONE; (self.table.len() * 2).max(16)];
        for (p, k) in self.points.iter().zip(0_u32..) {
            let mut at = self.first_look(p);
            while self.table[at] != NONE {
                at = (at + 1) & (self.table.len() - 1);
            }
            self.table[at] = k;
        }
    }
}

pub(super) fn welded(soup: Soup) -> (Mesh, Vec<String>) {
    let Soup {
        joined,
        points,
        triangles,
        not_numbers,
        no_width,
        mut notes,
        ..
    } = soup;
    let mut none = no_width;
    let mut mesh = Mesh {
        points: joined.points,
        triangles,
    };
    if !points.is_empty() {
        let mut corners = Corners::with_room(points.len());
        let place: Vec<u32> = points
            .iter()
            .map(|p| if is_place(p) { corners.place(*p) } else { NONE })
            .collect();
        drop(points);
        mesh.points = corners.points;
        mesh.triangles.retain_mut(|t| {
            *t = t.map(|k| place.get(k as usize).copied().unwrap_or(NONE));
            let three = t.map(|k| mesh.points.get(k as usize).copied());
            let kept = matches!(three, [Some(a), Some(b), Some(c)] if has_width([a, b, c]));
            none += usize::from(!kept);
            kept
        });
    }
    let twice = without_doubles(&mut mesh.triangles, mesh.points.len());
    for (count, what) in [
        (not_numbers, "with a corner that is no number"),
        (none, "without any width"),
        (twice, "listed twice"),
    ] {
        if count > 0 {
            notes.push(format!(
                "{count} triangle{} {what} {} left out",
                if count == 1 { "" } else { "s" },
                if count == 1 { "was" } else { "were" }
            ));
        }
    }
    (mesh, notes)
}

/// Whether three corners make a triangle.
pub(super) fn has_width([a, b, c]: [[f64; 3]; 3]) -> bool {
    let sub = |p: [f64; 3], q: [f64; 3]| [p[0] - q[0], p[1] - q[1], p[2] - q[2]];
    let (u, v, w) = (sub(b, a), sub(c, a), sub(c, b));
    let square = |x: [f64; 3]| x[0] * x[0] + x[1] * x[1] + x[2] * x[2];
    let longest = square(u).max(square(v)).max(square(w));
    let n = [
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    ];
    // Twice the area is the longest side times its height; all of it squared. NaN is none.
    square(n) > FLAT * FLAT * longest * longest
}

/// Leaves out triangles of the same three corners, whichever way round, but the first of them;
/// says how many.
fn without_doubles(triangles: &mut Vec<[u32; 3]>, points: usize) -> usize {
    // The triangles of each lowest corner, the latest first, as a list through all of them.
    let mut latest = vec![NONE; points];
    let mut before = vec![NONE; triangles.len()];
    let mut doubles: Vec<u32> = Vec::new();
    for (t, k) in triangles.iter().zip(0_u32..) {
        let [low, ..] = sorted(*t);
        let mut at = latest[low as usize];
        let mut looks = 0;
        while at != NONE && sorted(triangles[at as usize]) != sorted(*t) {
            at = before[at as usize];
            looks += 1;
        }
        if looks > HUB {
            doubles = doubles_by_sorting(triangles);
            break;
        }
        if at == NONE {
            before[k as usize] = latest[low as usize];
            latest[low as usize] = k;
        } else {
            doubles.push(k);
        }
    }
    let (mut k, mut gone) = (0, doubles.iter().peekable());
    if !doubles.is_empty() {
        triangles.retain(|_| {
            k += 1;
            gone.next_if_eq(&&(k - 1)).is_none()
        });
    }
    doubles.len()
}

fn sorted([a, b, c]: [u32; 3]) -> [u32; 3] {
    let (low, high) = (a.min(b), a.max(b));
    [low.min(c), high.min(c).max(low), high.max(c)]
}

/// Which triangles have the same corners as an earlier one, in their order.
fn doubles_by_sorting(triangles: &[[u32; 3]]) -> Vec<u32> {
    let mut order: Vec<([u32; 3], u32)> =
        triangles.iter().map(|t| sorted(*t)).zip(0_u32..).collect();
    order.sort_unstable();
    let mut doubles: Vec<u32> = order
        .windows(2)
        .filter(|pair| pair[0].0 == pair[1].0)
        .map(|pair| pair[1].1)
        .collect();
    doubles.sort_unstable();
    doubles
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan about one corner with some of it listed again, turned about and the other way round:
    /// beyond a hub's number both ways of finding doubles are asked.
    #[test]
    fn doubles_are_found_at_a_hub_as_elsewhere() {
        for count in [5_u32, 500] {
            let mut fan: Vec<[u32; 3]> = (0..count).map(|k| [k + 2, 0, k + 1]).collect();
            fan.insert(3, [2, 1, 0]);
            fan.push([0, 3, 2]);
            let kept: Vec<[u32; 3]> = (0..count).map(|k| [k + 2, 0, k + 1]).collect();
            assert_eq!(without_doubles(&mut fan, count as usize + 2), 2);
            assert_eq!(fan, kept);
        }
    }

    #[test]
    fn corners_join_however_many_there_are() {
        let mut corners = Corners::default();
        let at = |k: u32| [f64::from(k % 100), -f64::from(k / 100), 0.0];
        let first: Vec<u32> = (0..5000).map(|k| corners.place(at(k))).collect();
        assert_eq!(first, (0..5000).collect::<Vec<_>>());
        let again: Vec<u32> = (0..5000).map(|k| corners.place(at(k))).collect();
        assert_eq!(first, again);
        assert_eq!(corners.place([0.0, 0.0, -0.0]), 0);
    }

    #[test]
    fn a_sliver_has_width_as_long_as_a_double_can_tell() {
        let sliver = |high: f64| has_width([[0.0; 3], [1e3, 0.0, 0.0], [500.0, high, 0.0]]);
        assert!(sliver(2e-6));
        assert!(!sliver(0.5e-6));
        assert!(!sliver(0.0));
        assert!(!sliver(f64::NAN));
    }
}
