//! Where the numbers of a drawing stand beside their lines: clear of the marks, of the reading in
//! hand and of each other.

/// The box around a middle, with half its width and half its height, in the drawing's units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    at: [f64; 2],
    half: [f64; 2],
}

/// What figures 16 units high take, a figure and a line.
const FIGURE: f64 = 8.0;
const LINE: f64 = 18.0;

/// Between a line and the box of its number.
const CLEAR: f64 = 3.0;

/// Where along the line a number may stand, the best first.
const ALONG: [f64; 9] = [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82];

impl Room {
    /// A square thing.
    #[must_use]
    pub const fn square(at: [f64; 2], half: f64) -> Self {
        Self {
            at,
            half: [half, half],
        }
    }

    fn of(at: [f64; 2], words: &str) -> Self {
        #[allow(clippy::cast_precision_loss, reason = "a count of figures")]
        let wide = words.chars().count() as f64 * FIGURE;
        Self {
            at,
            half: [wide / 2.0 + 2.0, LINE / 2.0],
        }
    }

    /// How much of it lies on another.
    fn on(&self, other: &Self) -> f64 {
        let share = |k: usize| {
            (self.half[k] + other.half[k] - (self.at[k] - other.at[k]).abs())
                .clamp(0.0, 2.0 * self.half[k])
        };
        share(0) * share(1)
    }
}

/// A place for each number beside its line, in order; `taken` is what stands there already. Where
/// there is no free place, the one that covers least.
#[must_use]
pub fn places(lines: &[([f64; 2], [f64; 2], String)], taken: &[Room]) -> Vec<[f64; 2]> {
    let mut stands = taken.to_vec();
    let mut all = Vec::with_capacity(lines.len());
    for (from, to, words) in lines {
        let by = [to[0] - from[0], to[1] - from[1]];
        let long = by[0].hypot(by[1]).max(1e-9);
        // Above a line that lies, left of one that stands.
        let up = if by[0] < 0.0 { -1.0 } else { 1.0 };
        let square = [by[1] / long * up, -by[0] / long * up];
        let half = Room::of([0.0; 2], words).half;
        let off = square[0].abs() * half[0] + square[1].abs() * half[1] + CLEAR;
        let free = ALONG
            .iter()
            .flat_map(|t| [1.0, -1.0].map(|side| (t, side)))
            .map(|(t, side)| {
                let at = [0, 1].map(|k| from[k] + by[k] * t + square[k] * off * side);
                let room = Room::of(at, words);
                (room, stands.iter().map(|s| room.on(s)).sum::<f64>())
            });
        let least = free.min_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((room, _)) = least {
            stands.push(room);
            all.push(room.at);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(from: [f64; 2], to: [f64; 2]) -> ([f64; 2], [f64; 2], String) {
        (from, to, "179.5".to_owned())
    }

    #[test]
    fn numbers_of_lines_that_cross_do_not_lie_on_each_other() {
        // Both diagonals and both middle lines of a square cross in one place.
        let lines = [
            line([0.0, 0.0], [200.0, 200.0]),
            line([200.0, 0.0], [0.0, 200.0]),
            line([0.0, 100.0], [200.0, 100.0]),
            line([100.0, 0.0], [100.0, 200.0]),
        ];
        let badge = Room::square([100.0, 100.0], 17.0);
        let at = places(&lines, &[badge]);
        let rooms: Vec<Room> = at.iter().map(|p| Room::of(*p, "179.5")).collect();
        for (k, room) in rooms.iter().enumerate() {
            assert!(room.on(&badge) < 1e-9, "{k}: {room:?}");
            for other in rooms.iter().skip(k + 1) {
                assert!(room.on(other) < 1e-9, "{room:?} {other:?}");
            }
        }
    }

    #[test]
    fn a_number_alone_stands_over_the_middle_of_its_line_whichever_way_it_was_read() {
        let there = places(&[line([0.0, 0.0], [200.0, 0.0])], &[]);
        let back = places(&[line([200.0, 0.0], [0.0, 0.0])], &[]);
        assert_eq!(there, vec![[100.0, -12.0]]);
        assert_eq!(back, there);
    }

    #[test]
    fn a_line_without_length_still_gets_a_place() {
        let at = places(&[line([5.0, 5.0], [5.0, 5.0])], &[]);
        assert!(at.iter().flatten().all(|c| c.is_finite()));
    }
}
