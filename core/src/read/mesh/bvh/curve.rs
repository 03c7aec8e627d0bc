//! Places put in order along Morton's curve (Morton 1966, *A computer oriented geodetic data base and a
//! new technique in file sequencing*), by digits (Knuth, vol. 3, 5.2.5): neighbours come near each other.

/// Cells of a side of the cube that the curve runs through, as a power of two.
const CELLS: u32 = 11;

/// Digits of the place on the curve, by which all are put in order in three rounds.
const DIGIT: u32 = 11;

/// Below the place on the curve stands which one it is.
const WHICH: u32 = 64 - 3 * CELLS;

/// Which one is at a place of the order.
pub(super) fn which(key: u64) -> u32 {
    (key & ((1 << WHICH) - 1)) as u32
}

/// Eleven binary digits, two noughts after each.
fn spread(x: u32) -> u64 {
    let x = u64::from(x);
    let x = (x | x << 16) & 0x1f_0000_ff00_00ff;
    let x = (x | x << 8) & 0x100f_00f0_0f00_f00f;
    let x = (x | x << 4) & 0x10c3_0c30_c30c_30c3;
    (x | x << 2) & 0x1249_2492_4924_9249
}

fn digit(key: u64, round: u32) -> usize {
    (key >> (WHICH + DIGIT * round) & ((1 << DIGIT) - 1)) as usize
}

/// So many places in the order of a curve through the box round some points; ask [`which`] each is.
pub(super) fn along_curve(
    round: impl Iterator<Item = [f64; 3]>,
    count: usize,
    place: impl Fn(usize) -> [f64; 3],
) -> Vec<u64> {
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for p in round {
        for k in 0..3 {
            low[k] = if p[k] < low[k] { p[k] } else { low[k] };
            high[k] = if p[k] > high[k] { p[k] } else { high[k] };
        }
    }
    let far = (0..3).fold(0.0_f64, |far, k| far.max(high[k] - low[k]));
    let each = f64::from(1_u32 << CELLS) / far;
    // Nothing, or without an end: any order will do.
    let each = if each.is_finite() { each } else { 0.0 };
    let mut counts = [[0_u32; 1 << DIGIT]; 3];
    let mut keys: Vec<u64> = (0..count)
        .zip(0_u64..)
        .map(|(i, which)| {
            let p = place(i);
            let [x, y, z] = [0, 1, 2].map(|k| {
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "kept to the cells; NaN becomes 0"
                )]
                let cell = ((p[k] - low[k]) * each) as u32;
                spread(cell.min((1 << CELLS) - 1))
            });
            let key = (x << 2 | y << 1 | z) << WHICH | which;
            for (counts, round) in counts.iter_mut().zip(0..) {
                counts[digit(key, round)] += 1;
            }
            key
        })
        .collect();
    let mut other = vec![0_u64; keys.len()];
    for (counts, round) in counts.iter_mut().zip(0..) {
        let mut sum = 0;
        for count in counts.iter_mut() {
            sum += core::mem::replace(count, sum);
        }
        for key in &keys {
            let next = &mut counts[digit(*key, round)];
            other[*next as usize] = *key;
            *next += 1;
        }
        core::mem::swap(&mut keys, &mut other);
    }
    keys
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against each digit put in its place by itself, and the order against a comparing sort's.
    #[test]
    fn places_come_in_the_order_of_the_curve() {
        for x in [0, 1, 2, 0x555, 0x2aa, 0x7ff, 0x400] {
            let by_hand = (0..11).fold(0, |sum, k| sum | u64::from(x >> k & 1) << (3 * k));
            assert_eq!(spread(x), by_hand, "{x:b}");
        }
        let at = |i: usize| {
            let i = u32::try_from(i).unwrap_or(0);
            [1, 7, 13].map(|by| f64::from(i * by % 101))
        };
        let keys = along_curve((0..5000).map(at), 5000, at);
        assert!(keys.windows(2).all(|pair| pair[0] < pair[1]));
        let mut all: Vec<u32> = keys.iter().map(|k| which(*k)).collect();
        all.sort_unstable();
        assert_eq!(all, (0..5000).collect::<Vec<_>>());
        // Nowhere, and in one place: each is there once.
        for p in [[f64::NAN; 3], [f64::INFINITY; 3], [2.0; 3]] {
            assert_eq!(
                along_curve([p].into_iter().cycle().take(3), 3, |_| p).len(),
                3
            );
        }
    }
}
