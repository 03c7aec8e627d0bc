//! How a face in space is held: turned, tilted, brought nearer, moved; and where its names then stand.

/// A quarter turn less a hair: straight from above, up and down would have no sense.
const MOST_OVER: f64 = 1.55;
/// How much nearer or further than all of it in sight.
const NEAR: core::ops::RangeInclusive<f64> = 0.4..=30.0;
/// All of it fills so much of the smaller side.
const FILLS: f64 = 0.92;
/// A finger finds a name within this, CSS pixels.
const FINGER: f64 = 24.0;
/// About how large a name is written, CSS pixels: for each letter, and from line to line.
const LETTER: f64 = 9.0;
const LINE: f64 = 24.0;

/// How it is held. Angles in radians, the shift in CSS pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stance {
    /// Turned about its upright: its left side comes to the front.
    pub around: f64,
    /// Tilted: its top comes to the front.
    pub over: f64,
    /// How much nearer than all of it in sight.
    pub near: f64,
    /// Moved right and down.
    pub shift: [f64; 2],
}

impl Stance {
    /// Square on, all of it in sight: as the flat drawing has it.
    pub const STRAIGHT: Self = Self {
        around: 0.0,
        over: 0.0,
        near: 1.0,
        shift: [0.0; 2],
    };
    /// A little from the left and above, so that it is seen to be round.
    pub const FIRST: Self = Self {
        around: 0.5,
        over: 0.35,
        // Turned it takes less room.
        near: 1.25,
        ..Self::STRAIGHT
    };

    /// Turned to these angles, the rest as it is.
    #[must_use]
    pub fn at(self, around: f64, over: f64) -> Self {
        let turn = core::f64::consts::TAU;
        Self {
            around: around - turn * (around / turn).round(),
            over: over.clamp(-MOST_OVER, MOST_OVER),
            ..self
        }
    }

    /// Dragged by so many pixels: what is in front follows the finger.
    #[must_use]
    pub fn dragged(self, [x, y]: [f64; 2], room: [f64; 2]) -> Self {
        let k = 2.2 / room[0].min(room[1]).max(1.0);
        self.at(self.around + x * k, self.over + y * k)
    }

    /// Moved by so many pixels.
    #[must_use]
    pub fn moved(self, [x, y]: [f64; 2]) -> Self {
        Self {
            shift: [self.shift[0] + x, self.shift[1] + y],
            ..self
        }
    }

    /// Brought nearer by a factor; what lies at a place of the room stays there.
    #[must_use]
    pub fn nearer(self, by: f64, at: [f64; 2], room: [f64; 2]) -> Self {
        let near = (self.near * by).clamp(*NEAR.start(), *NEAR.end());
        let by = near / self.near;
        let from = |k: usize| at[k] - room[k] / 2.0;
        Self {
            near,
            shift: [0, 1].map(|k| from(k) - (from(k) - self.shift[k]) * by),
            ..self
        }
    }

    /// The turn as rows.
    #[must_use]
    pub fn rows(self) -> [[f64; 3]; 3] {
        let (sa, ca) = self.around.sin_cos();
        let (so, co) = self.over.sin_cos();
        [
            [ca, 0.0, sa],
            [so * sa, co, -so * ca],
            [-co * sa, so, co * ca],
        ]
    }

    /// A direction or place turned: right, up, towards the eye.
    #[must_use]
    pub fn turned(self, v: [f64; 3]) -> [f64; 3] {
        self.rows()
            .map(|row| row.iter().zip(&v).map(|(a, b)| a * b).sum())
    }

    /// CSS pixels for each millimetre.
    #[must_use]
    pub fn scale(self, reach_mm: f64, room: [f64; 2]) -> f64 {
        self.near * FILLS * room[0].min(room[1]) / 2.0 / reach_mm.max(1.0)
    }

    /// Where in the room a place is seen, from its upper left, CSS pixels.
    #[must_use]
    pub fn seen(self, at_mm: [f64; 3], reach_mm: f64, room: [f64; 2]) -> [f64; 2] {
        let ([x, y, _], k) = (self.turned(at_mm), self.scale(reach_mm, room));
        [
            room[0] / 2.0 + x * k + self.shift[0],
            room[1] / 2.0 - y * k + self.shift[1],
        ]
    }
}

/// A name at a place of the face.
#[derive(Debug, Clone, Copy)]
pub struct Named<'a> {
    /// What is written.
    pub words: &'a str,
    /// Where, mm.
    pub at_mm: [f64; 3],
    /// Which way the face looks there.
    pub outward: [f64; 3],
}

/// Where names are written, from the upper left, CSS pixels; nothing where they are behind or out of
/// the room. None stands on another, as far as there is room below.
#[must_use]
pub fn written(
    names: &[Named<'_>],
    stance: Stance,
    reach_mm: f64,
    room: [f64; 2],
) -> Vec<Option<[f64; 2]>> {
    let mut taken: Vec<[f64; 4]> = Vec::new();
    names
        .iter()
        .map(|name| {
            if stance.turned(name.outward)[2] < -0.02 {
                return None;
            }
            let [x, y] = stance.seen(name.at_mm, reach_mm, room);
            if !(0.0..=room[0]).contains(&x) || !(0.0..=room[1]).contains(&y) {
                return None;
            }
            let wide = name.words.chars().count() as f64 * LETTER + 10.0;
            let x = (x + 10.0).min(room[0] - wide).max(0.0);
            let mut y = (y - LINE - 2.0).max(0.0);
            let meets = |y: f64| {
                taken
                    .iter()
                    .any(|[l, t, r, b]| x < *r && x + wide > *l && y < *b && y + LINE > *t)
            };
            for _ in 0..6 {
                if meets(y) {
                    y += LINE;
                }
            }
            taken.push([x, y, x + wide, y + LINE]);
            Some([x, y])
        })
        .collect()
}

/// Which name a finger meant: the nearest place in front within its width.
#[must_use]
pub fn meant(
    names: &[Named<'_>],
    finger: [f64; 2],
    stance: Stance,
    reach_mm: f64,
    room: [f64; 2],
) -> Option<usize> {
    names
        .iter()
        .enumerate()
        .filter(|(_, n)| stance.turned(n.outward)[2] >= -0.02)
        .map(|(k, n)| {
            let [x, y] = stance.seen(n.at_mm, reach_mm, room);
            (k, (x - finger[0]).hypot(y - finger[1]))
        })
        .filter(|(_, away)| *away <= FINGER)
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(k, _)| k)
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: [f64; 2] = [600.0, 400.0];

    #[track_caller]
    fn near<const N: usize>(got: [f64; N], wanted: [f64; N]) {
        let off = got.iter().zip(&wanted).map(|(a, b)| (a - b).abs());
        assert!(off.fold(0.0, f64::max) < 1e-9, "{got:?} for {wanted:?}");
    }

    #[test]
    fn straight_on_is_as_the_flat_drawing_has_it() {
        near(Stance::STRAIGHT.turned([1.0, 2.0, 3.0]), [1.0, 2.0, 3.0]);
        near(Stance::STRAIGHT.seen([0.0; 3], 100.0, ROOM), [300.0, 200.0]);
        // Up is up; the furthest is just in sight on the smaller side.
        near(
            Stance::STRAIGHT.seen([0.0, 100.0, 0.0], 100.0, ROOM),
            [300.0, 200.0 - 184.0],
        );
    }

    #[test]
    fn what_is_in_front_follows_the_finger() {
        let front = [0.0, 0.0, 50.0];
        let before = Stance::STRAIGHT.seen(front, 100.0, ROOM);
        let after = Stance::STRAIGHT
            .dragged([40.0, 30.0], ROOM)
            .seen(front, 100.0, ROOM);
        assert!(after[0] > before[0] && after[1] > before[1], "{after:?}");
        // From above the top comes to the front, from the left the left side.
        let above = Stance::STRAIGHT.at(0.0, 1.3).turned([0.0, 1.0, 0.0]);
        assert!(above[2] > 0.9);
        let left = Stance::STRAIGHT.at(1.3, 0.0).turned([-1.0, 0.0, 0.0]);
        assert!(left[2] > 0.9);
        assert!(Stance::STRAIGHT.at(0.0, 9.0).over < core::f64::consts::FRAC_PI_2);
        assert!(Stance::STRAIGHT.at(7.0, 0.0).around.abs() < core::f64::consts::PI);
    }

    #[test]
    fn a_turn_keeps_lengths_and_its_hand() {
        for (around, over) in [(0.4, -0.9), (-2.0, 1.2), (3.0, 0.1)] {
            let [a, b, c] = Stance::STRAIGHT.at(around, over).rows();
            for row in [a, b, c] {
                near([row.iter().map(|x| x * x).sum::<f64>()], [1.0]);
            }
            let cross = [
                a[1] * b[2] - a[2] * b[1],
                a[2] * b[0] - a[0] * b[2],
                a[0] * b[1] - a[1] * b[0],
            ];
            near(cross, c);
        }
    }

    #[test]
    fn what_lies_under_the_fingers_stays_there() {
        let held = Stance::FIRST.moved([20.0, -10.0]);
        let place = [30.0, -20.0, 10.0];
        let at = held.seen(place, 100.0, ROOM);
        near(held.nearer(2.5, at, ROOM).seen(place, 100.0, ROOM), at);
        let far = held.nearer(1e-9, at, ROOM);
        near([far.near], [*NEAR.start()]);
        near(far.seen(place, 100.0, ROOM), at);
    }

    #[test]
    fn names_behind_are_not_written_and_none_stands_on_another() {
        let name = |words, x, z| Named {
            words,
            at_mm: [x, 0.0, 0.0],
            outward: [0.0, 0.0, z],
        };
        let names = [
            name("A", 0.0, 1.0),
            name("Eye, left", 2.0, 1.0),
            name("B", 10.0, -1.0),
        ];
        let at = written(&names, Stance::STRAIGHT, 100.0, ROOM);
        assert_eq!(at[2], None);
        let (Some(a), Some(eye)) = (at[0], at[1]) else {
            unreachable!("both are in front")
        };
        assert!((a[1] - eye[1]).abs() >= LINE);
        // A finger takes the nearest in front, and nothing further than its width.
        let tap = |x, y| meant(&names, [x, y], Stance::STRAIGHT, 100.0, ROOM);
        assert_eq!(tap(305.0, 202.0), Some(1));
        assert_eq!(tap(298.0, 200.0), Some(0));
        assert_eq!(tap(340.0, 200.0), None);
        let out = written(&names, Stance::STRAIGHT.moved([900.0, 0.0]), 100.0, ROOM);
        assert_eq!(out, vec![None, None, None]);
    }
}
