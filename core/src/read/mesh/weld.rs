//! Corners that are the same point joined, and triangles that are none left out.

use super::{Mesh, Soup, is_place};

/// A place in the table that holds nothing.
const NONE: u32 = u32::MAX;

/// A triangle is none when its height is under this share of its longest side.
const FLAT: f64 = 1e-9;

fn mixed(p: &[f64; 3]) -> u64 {
    // Fibonacci hashing of each coordinate's bits (Knuth, vol. 3, 6.4).
    p.iter().fold(0_u64, |h, x| {
        (h.rotate_left(23) ^ x.to_bits()).wrapping_mul(0x9E37_79B9_7F4A_7C15)
    })
}

pub(super) fn welded(soup: Soup) -> (Mesh, Vec<String>) {
    let Soup {
        points,
        triangles,
        not_numbers,
        mut notes,
        ..
    } = soup;
    let size = (points.len() * 2).next_power_of_two().max(16);
    let shift = 64 - size.trailing_zeros();
    let mut table = vec![NONE; size];
    let mut mesh = Mesh::default();
    let mut joined = vec![NONE; points.len()];
    for (p, slot) in points.iter().zip(&mut joined) {
        if !is_place(p) {
            continue;
        }
        // Minus nought is nought.
        let p = p.map(|x| x + 0.0);
        #[expect(
            clippy::cast_possible_truncation,
            reason = "shifted to the table's size"
        )]
        let mut at = (mixed(&p) >> shift) as usize;
        loop {
            let known = table[at];
            if known == NONE {
                let Ok(new) = u32::try_from(mesh.points.len()) else {
                    break;
                };
                table[at] = new;
                mesh.points.push(p);
                *slot = new;
                break;
            }
            let same = mesh
                .points
                .get(known as usize)
                .is_some_and(|q| p.iter().zip(q).all(|(a, b)| a.to_bits() == b.to_bits()));
            if same {
                *slot = known;
                break;
            }
            at = (at + 1) % size;
        }
    }
    let mut none = 0;
    let mut kept: Vec<[u32; 3]> = Vec::with_capacity(triangles.len());
    for t in triangles {
        let t = t.map(|k| joined.get(k as usize).copied().unwrap_or(NONE));
        if is_triangle(&mesh, t) {
            kept.push(t);
        } else {
            none += 1;
        }
    }
    let twice = without_doubles(&mut kept);
    mesh.triangles = kept;
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

fn is_triangle(mesh: &Mesh, t: [u32; 3]) -> bool {
    let [Some(a), Some(b), Some(c)] = t.map(|k| mesh.points.get(k as usize)) else {
        return false;
    };
    let sub = |p: &[f64; 3], q: &[f64; 3]| [p[0] - q[0], p[1] - q[1], p[2] - q[2]];
    let (u, v, w) = (sub(b, a), sub(c, a), sub(c, b));
    let square = |x: [f64; 3]| x.iter().map(|x| x * x).sum::<f64>();
    let longest = square(u).max(square(v)).max(square(w));
    let n = [
        u[1] * v[2] - u[2] * v[1],
        u[2] * v[0] - u[0] * v[2],
        u[0] * v[1] - u[1] * v[0],
    ];
    // Twice the area is the longest side times its height; NaN and overflow are none.
    let height = libm::sqrt(square(n)) / longest;
    height.is_finite() && height > FLAT
}

/// Leaves out triangles of the same three corners, whichever way round; says how many.
fn without_doubles(triangles: &mut Vec<[u32; 3]>) -> usize {
    let mut order: Vec<([u32; 3], u32)> = triangles
        .iter()
        .zip(0_u32..)
        .map(|(t, k)| {
            let mut sorted = *t;
            sorted.sort_unstable();
            (sorted, k)
        })
        .collect();
    order.sort_unstable();
    let mut gone = vec![false; triangles.len()];
    let mut count = 0;
    for pair in order.windows(2) {
        if pair[0].0 == pair[1].0 {
            gone[pair[1].1 as usize] = true;
            count += 1;
        }
    }
    if count > 0 {
        let mut k = 0;
        triangles.retain(|_| {
            k += 1;
            !gone[k - 1]
        });
    }
    count
}
