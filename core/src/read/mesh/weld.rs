//! Corners that are the same point joined, and triangles that are none left out.

use super::{Mesh, Soup, is_place};

/// A place in the table that holds nothing.
const NONE: u32 = u32::MAX;

/// A triangle is none when its height is under this share of its longest side.
const FLAT: f64 = 1e-9;

/// So many corners are looked up together: while one waits for the memory the others do as well.
pub(super) const TOGETHER: usize = 96;

/// No place in the table: the corner is found.
const FOUND: usize = usize::MAX;

fn same(p: &[f64; 3], q: &[f64; 3]) -> bool {
    p.iter().zip(q).all(|(a, b)| a.to_bits() == b.to_bits())
}

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
        let at = self.first_look(&p);
        self.place_from(p, at)
    }

    /// The same for at most [`TOGETHER`] corners, one after the other; room must be made before.
    pub(super) fn place_together(&mut self, all: &mut [[f64; 3]], places: &mut [u32; TOGETHER]) {
        while (self.points.len() + all.len()) * 8 >= self.table.len() * 5 {
            self.grow();
        }
        let mut at = [0; TOGETHER];
        for (at, p) in at.iter_mut().zip(all.iter_mut()) {
            *p = p.map(|x| x + 0.0);
            *at = self.first_look(p);
        }
        for (place, at) in places.iter_mut().zip(&at).take(all.len()) {
            *place = self.table[*at];
        }
        // Nothing leaves the table: what is found so early is so.
        for ((place, at), p) in places.iter_mut().zip(&mut at).zip(all.iter()) {
            let known = self.points.get(*place as usize);
            if known.is_some_and(|q| same(p, q)) {
                *at = FOUND;
            }
        }
        for ((place, at), p) in places.iter_mut().zip(at).zip(all.iter()) {
            if at != FOUND {
                *place = self.place_from(*p, at);
            }
        }
    }

    /// Looks from a place in the table on.
    fn place_from(&mut self, p: [f64; 3], mut at: usize) -> u32 {
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
            if same(&p, q) {
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

/// The mesh, and what was left out of it in words.
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
    notes.extend(left_out(not_numbers, "with a corner that is no number"));
    notes.extend(left_out(none, "without any width"));
    (mesh, notes)
}

/// *2 triangles listed twice were left out*.
pub(super) fn left_out(count: usize, what: &str) -> Option<String> {
    let (s, were) = if count == 1 {
        ("", "was")
    } else {
        ("s", "were")
    };
    (count > 0).then(|| format!("{count} triangle{s} {what} {were} left out"))
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
pub(super) fn without_doubles(triangles: &mut Vec<[u32; 3]>) -> usize {
    // Two that are the same mark the same of some 16 to 32 bits a triangle: few others do (Bloom 1970),
    // and only those are looked at.
    let bits = (triangles.len() * 16).next_power_of_two().max(64);
    let mark = |t: &[u32; 3]| {
        let [a, b, c] = sorted(*t).map(u64::from);
        // Sums of odd multiples: any of their upper bits are as good (Dietzfelbinger 1996).
        let sum = (a.wrapping_mul(0x9E37_79B9_7F4A_7C15))
            .wrapping_add(b.wrapping_mul(0xC2B2_AE3D_27D4_EB4F))
            .wrapping_add(c.wrapping_mul(0x1656_67B1_9E37_79F9));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "shifted to the number of bits"
        )]
        let at = (sum >> (64 - bits.trailing_zeros())) as usize;
        (at >> 6, 1_u64 << (at & 63))
    };
    let (mut met, mut again) = (vec![0_u64; bits >> 6], vec![0_u64; bits >> 6]);
    for t in triangles.iter() {
        let (word, bit) = mark(t);
        if met[word] & bit != 0 {
            again[word] |= bit;
        }
        met[word] |= bit;
    }
    let mut few: Vec<([u32; 3], u32)> = (triangles.iter().zip(0_u32..))
        .filter(|(t, _)| {
            let (word, bit) = mark(t);
            again[word] & bit != 0
        })
        .map(|(t, k)| (sorted(*t), k))
        .collect();
    few.sort_unstable();
    let mut doubles: Vec<u32> = few
        .windows(2)
        .filter(|pair| pair[0].0 == pair[1].0)
        .map(|pair| pair[1].1)
        .collect();
    doubles.sort_unstable();
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

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan about one corner with some of it listed again, turned about and the other way round.
    #[test]
    fn doubles_are_found_at_a_hub_as_elsewhere() {
        for count in [5_u32, 500, 50_000] {
            let mut fan: Vec<[u32; 3]> = (0..count).map(|k| [k + 2, 0, k + 1]).collect();
            fan.insert(3, [2, 1, 0]);
            fan.push([0, 3, 2]);
            let kept: Vec<[u32; 3]> = (0..count).map(|k| [k + 2, 0, k + 1]).collect();
            assert_eq!(without_doubles(&mut fan), 2);
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
        // Many together come where they would one by one, also those that are new and twice among them.
        let mut together = Corners::default();
        let twice: Vec<u32> = (0..5000).map(|k| k / 3 * 2 % 1700).collect();
        let (mut some, mut one): (Vec<u32>, _) = (Vec::new(), Corners::default());
        for part in twice.chunks(TOGETHER - 1) {
            let mut all: Vec<[f64; 3]> = part.iter().map(|k| at(*k)).collect();
            let mut places = [NONE; TOGETHER];
            together.place_together(&mut all, &mut places);
            some.extend(&places[..part.len()]);
        }
        let alone: Vec<u32> = twice.iter().map(|k| one.place(at(*k))).collect();
        assert_eq!(some, alone);
        assert_eq!(together.points, one.points);
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
