//! How a mesh's triangles are parted into boxes.
//!
//! From above: what is in a box is parted where the two halves' surface times their number is least,
//! over slices of its longest side (Wald 2007, *On fast construction of SAH-based bounding
//! volume hierarchies*, IEEE Symp. Interactive Ray Tracing, 33–40).

use super::{LEAF, Pair};

/// Slices of a side in which a place to part is looked for, and for how many triangles half of them.
const SLICES: usize = 16;
const FEW: usize = 128;

/// So few are halved by number: what is cut where matters little, and slices cost more than they save.
const HALVED: usize = 12;

/// From this depth on boxes are halved by number, so that no scan makes the tree deeper than [`DEEPEST`].
pub(super) const HALVED_FROM: usize = 40;

/// The box round one triangle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Boxed {
    low: [f32; 3],
    high: [f32; 3],
    pub(super) triangle: u32,
}

/// Single precision, not above (or not below) a double.
#[expect(clippy::cast_possible_truncation, reason = "rounded outwards")]
fn outwards(low: f64, high: f64) -> (f32, f32) {
    let (a, b) = (low as f32, high as f32);
    let a = if f64::from(a) > low { a.next_down() } else { a };
    let b = if f64::from(b) < high { b.next_up() } else { b };
    (a, b)
}

impl Boxed {
    pub(super) fn around([a, b, c]: [[f64; 3]; 3], triangle: u32) -> Self {
        let (mut low, mut high) = ([0.0; 3], [0.0; 3]);
        for k in 0..3 {
            (low[k], high[k]) = outwards(a[k].min(b[k]).min(c[k]), a[k].max(b[k]).max(c[k]));
        }
        Self {
            low,
            high,
            triangle,
        }
    }
    /// Twice the middle along a side.
    fn middle(&self, side: usize) -> f32 {
        self.low[side] + self.high[side]
    }
}

fn less(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}
fn more(a: f32, b: f32) -> f32 {
    if a > b { a } else { b }
}

/// The box round some triangles, and the one round (twice) their middles.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    pub(super) low: [f32; 3],
    pub(super) high: [f32; 3],
    middle_low: [f32; 3],
    middle_high: [f32; 3],
    count: usize,
}

impl Reach {
    const NONE: Self = Self {
        low: [f32::INFINITY; 3],
        high: [f32::NEG_INFINITY; 3],
        middle_low: [f32::INFINITY; 3],
        middle_high: [f32::NEG_INFINITY; 3],
        count: 0,
    };
    pub(super) fn of(all: &[Boxed]) -> Self {
        let mut reach = Self::NONE;
        all.iter().for_each(|b| reach.take(b));
        reach
    }
    fn take(&mut self, b: &Boxed) {
        for k in 0..3 {
            let middle = b.low[k] + b.high[k];
            self.low[k] = less(self.low[k], b.low[k]);
            self.high[k] = more(self.high[k], b.high[k]);
            self.middle_low[k] = less(self.middle_low[k], middle);
            self.middle_high[k] = more(self.middle_high[k], middle);
        }
        self.count += 1;
    }
    fn join(&mut self, other: &Self) {
        for k in 0..3 {
            self.low[k] = less(self.low[k], other.low[k]);
            self.high[k] = more(self.high[k], other.high[k]);
            self.middle_low[k] = less(self.middle_low[k], other.middle_low[k]);
            self.middle_high[k] = more(self.middle_high[k], other.middle_high[k]);
        }
        self.count += other.count;
    }
    /// Half the surface of the box times the number in it.
    #[expect(clippy::cast_precision_loss, reason = "to compare by")]
    fn cost(&self) -> f32 {
        if self.count == 0 {
            return 0.0;
        }
        let [a, b, c] = [0, 1, 2].map(|k| self.high[k] - self.low[k]);
        (a * b + b * c + c * a) * self.count as f32
    }
    /// The side along which the middles lie furthest apart.
    fn longest(&self) -> usize {
        let side = |k: usize| self.middle_high[k] - self.middle_low[k];
        (0..3).fold(0, |best, k| if side(k) > side(best) { k } else { best })
    }
}

/// A box to be divided.
pub(super) struct Part {
    /// Its first triangle in the whole order.
    pub(super) first: usize,
    pub(super) depth: usize,
    pub(super) reach: Reach,
}

/// Which slice of a side a triangle's middle is in.
struct Slicing {
    side: usize,
    from: f32,
    each: f32,
    last: usize,
}

impl Slicing {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "kept to the slices"
    )]
    fn of(&self, b: &Boxed) -> usize {
        (((b.middle(self.side) - self.from) * self.each) as usize).min(self.last)
    }
}

/// Parts what is in a box into two, and says what is in each; the two go on from there.
pub(super) fn build(all: &mut [Boxed], part: &Part, pairs: &mut Vec<Pair>) {
    let (half, reaches) = parted(all, part);
    let this = pairs.len();
    pairs.push(Pair::nowhere());
    let (left, right) = all.split_at_mut(half);
    let [a, b] = reaches;
    for (side, below, first, reach) in [(0, left, part.first, a), (1, right, part.first + half, b)]
    {
        if below.len() <= LEAF {
            pairs[this].set(side, &reach, first, below.len());
        } else {
            let next = pairs.len();
            pairs[this].set(side, &reach, next, 0);
            let inside = Part {
                first,
                depth: part.depth + 1,
                reach,
            };
            build(below, &inside, pairs);
        }
    }
}

/// Brings those of one side before those of the other: how many, and the reach of both.
fn parted(all: &mut [Boxed], part: &Part) -> (usize, [Reach; 2]) {
    let side = part.reach.longest();
    let wide = part.reach.middle_high[side] - part.reach.middle_low[side];
    let many = if all.len() < FEW { SLICES / 2 } else { SLICES };
    #[expect(clippy::cast_precision_loss, reason = "sixteen")]
    let slicing = Slicing {
        side,
        from: part.reach.middle_low[side],
        each: many as f32 / wide,
        last: many - 1,
    };
    let by_number = all.len() <= HALVED || part.depth >= HALVED_FROM;
    if by_number || !(wide > 0.0 && slicing.each.is_finite()) {
        let half = all.len() / 2;
        all.select_nth_unstable_by(half, |a, b| {
            let (x, y) = (a.middle(side), b.middle(side));
            x.total_cmp(&y).then(a.triangle.cmp(&b.triangle))
        });
        return (half, [Reach::of(&all[..half]), Reach::of(&all[half..])]);
    }
    let mut slices = [Reach::NONE; SLICES];
    for b in all.iter() {
        slices[slicing.of(b)].take(b);
    }
    let mut after = [Reach::NONE; SLICES];
    let mut sum = Reach::NONE;
    for k in (1..many).rev() {
        sum.join(&slices[k]);
        after[k] = sum;
    }
    let mut before = Reach::NONE;
    let mut best = (f32::INFINITY, 1, [Reach::NONE; 2]);
    for k in 1..many {
        before.join(&slices[k - 1]);
        let cost = before.cost() + after[k].cost();
        // The first and the last slice hold the outermost middles: neither side is empty.
        if cost < best.0 || k == 1 {
            best = (cost, k, [before, after[k]]);
        }
    }
    let (_, first_after, reaches) = best;
    let (mut low, mut high) = (0, all.len());
    while low < high {
        if slicing.of(&all[low]) < first_after {
            low += 1;
        } else {
            high -= 1;
            all.swap(low, high);
        }
    }
    (low, reaches)
}
