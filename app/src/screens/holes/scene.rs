//! The face with its marks and holes, as points of the picture.

use samespot_core::prepare::holes::{FixingView, HoleView, SwingView, TapeView};
use samespot_core::units::Length;

/// Width of the picture.
pub(super) const WIDE: f64 = 520.0;
/// Left free round the outermost points.
const ROOM: f64 = 52.0;

/// A point with what is written at it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spot {
    pub(super) words: String,
    pub(super) at: [f64; 2],
}

/// A swing, from a mark to the hole, with its length along it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Swing {
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    /// Drawn dashed, and read last.
    pub(super) check: bool,
    pub(super) length: String,
    /// Where that is written, and turned by how many degrees.
    pub(super) written: ([f64; 2], f64),
}

/// Where a mark's letter stands from the mark.
pub(super) const LETTER_OFF: [f64; 2] = [-26.0, 22.0];
/// A figure beside its swing is so far off it.
pub(super) const FIGURE_OFF: f64 = 9.0;
/// Where along a swing its length may stand, the best first: nearer its mark than the hole, where the
/// swings do not yet run together.
const PLACES: [f64; 7] = [0.42, 0.5, 0.34, 0.58, 0.27, 0.66, 0.74];
/// A letter of a figure, half as wide; half as high.
const FIGURE_HALF: [f64; 2] = [6.0, 9.0];
/// A letter's box, a hole's ring, a mark's cross: as far as they reach from their middle.
const REACH: f64 = 20.0;

/// Where a swing's length is written, and turned by how many degrees: along it, never upside down, and
/// clear of what is drawn at these places.
fn written(from: [f64; 2], to: [f64; 2], letters: usize, taken: &[[f64; 2]]) -> ([f64; 2], f64) {
    let ([x, y], [u, v]) = (from, to);
    let turn = (v - y).atan2(u - x).to_degrees();
    let upright = if turn > 90.0 {
        turn - 180.0
    } else if turn <= -90.0 {
        turn + 180.0
    } else {
        turn
    };
    let (sin, cos) = upright.to_radians().sin_cos();
    #[allow(clippy::cast_precision_loss, reason = "a few letters")]
    let half = letters as f64 * FIGURE_HALF[0];
    // How far the nearest of them stays off the figure, seen along it.
    let clear = |share: f64| {
        let at = [x + share * (u - x), y + share * (v - y)];
        let middle = FIGURE_OFF + FIGURE_HALF[1];
        let centre = [at[0] + sin * middle, at[1] - cos * middle];
        let off = taken.iter().map(|p| {
            let (dx, dy) = (p[0] - centre[0], p[1] - centre[1]);
            let along = ((dx * cos + dy * sin).abs() - half).max(0.0);
            let across = ((dy * cos - dx * sin).abs() - FIGURE_HALF[1]).max(0.0);
            along.hypot(across)
        });
        (at, off.fold(f64::MAX, f64::min))
    };
    let free = PLACES.into_iter().map(clear).find(|(_, off)| *off > REACH);
    let best = || {
        let all = PLACES.into_iter().map(clear);
        all.max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let at = free.or_else(best).map_or(from, |(at, _)| at);
    (at, upright)
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Scene {
    pub(super) high: f64,
    pub(super) marks: Vec<Spot>,
    pub(super) holes: Vec<Spot>,
    /// The swings of the hole in hand, the check last.
    pub(super) swings: Vec<Swing>,
    /// The stretch of both arcs that crosses at the hole, and the one that crosses where it is not.
    pub(super) arcs: Vec<[[f64; 2]; ARC + 1]>,
    /// Where the two arcs cross as well, and the hole is not.
    pub(super) not_here: Option<[f64; 2]>,
}

/// The other crossing is drawn where it lies no further off the picture than this share of it:
/// nobody strikes a hole on the floor.
const NOT_HERE_WITHIN: f64 = 0.6;

/// Steps of the drawn stretch of an arc: an eighth of a turn in all.
const ARC: usize = 8;

/// The stretch of the arc about a mark through a point, a sixteenth of a turn to either side.
fn arc(about: [f64; 2], through: [f64; 2]) -> [[f64; 2]; ARC + 1] {
    let [dx, dy] = [through[0] - about[0], through[1] - about[1]];
    core::array::from_fn(|k| {
        #[allow(clippy::cast_precision_loss, reason = "eight steps")]
        let turn = (k as f64 / ARC as f64 - 0.5) * core::f64::consts::FRAC_PI_8;
        let (s, c) = turn.sin_cos();
        [about[0] + c * dx - s * dy, about[1] + s * dx + c * dy]
    })
}

/// How the hole in hand is found.
fn hole_in_hand(fixing: &FixingView, in_hand: Option<u32>) -> Option<&TapeView> {
    let hole = fixing.holes.iter().find(|h| Some(h.number) == in_hand)?;
    hole.tape.as_ref()
}

/// The picture of a fixing with one hole in hand; nothing where nothing is laid out.
pub(super) fn scene(fixing: &FixingView, in_hand: Option<u32>) -> Option<Scene> {
    let usable = || fixing.marks.iter().filter(|m| m.gone.is_none());
    let mm = |at: (Length, Length)| (at.0.mm(), at.1.mm());
    let all: Vec<(f64, f64)> = usable()
        .map(|m| mm(m.at))
        .chain(fixing.holes.iter().map(|h| mm(h.at)))
        .collect();
    let bounds = |all: &[(f64, f64)]| {
        let first = *all.first()?;
        Some(all.iter().fold((first, first), |(low, top), p| {
            (
                (low.0.min(p.0), low.1.min(p.1)),
                (top.0.max(p.0), top.1.max(p.1)),
            )
        }))
    };
    let (mut low, mut top) = bounds(&all)?;
    let reach = (top.0 - low.0).max(top.1 - low.1) * NOT_HERE_WITHIN;
    let other = hole_in_hand(fixing, in_hand)
        .map(|t| mm(t.other))
        .filter(|(x, y)| {
            (low.0 - reach..=top.0 + reach).contains(x)
                && (low.1 - reach..=top.1 + reach).contains(y)
        });
    if let Some(other) = other {
        (low, top) = bounds(&[low, top, other])?;
    }
    let (wide, tall) = ((top.0 - low.0).max(1.0), (top.1 - low.1).max(1.0));
    let scale = ((WIDE - 2.0 * ROOM) / wide).min(400.0 / tall);
    let left = (WIDE - wide * scale) / 2.0;
    // Up on the piece is up on the screen.
    let seen = |(x, y): (f64, f64)| [left + (x - low.0) * scale, ROOM + (top.1 - y) * scale];
    let mark_at = |letter: &str| {
        usable()
            .find(|m| m.letter == letter)
            .map(|m| seen(mm(m.at)))
    };
    let hole: Option<&HoleView> = fixing.holes.iter().find(|h| Some(h.number) == in_hand);
    let (mut swings, mut arcs, mut not_here) = (Vec::new(), Vec::new(), None);
    if let Some((hole, tape)) = hole.and_then(|h| Some((h, h.tape.as_ref()?))) {
        let to = seen(mm(hole.at));
        // Letters, crosses and holes, then every figure that is placed.
        let mut taken: Vec<[f64; 2]> = usable()
            .flat_map(|m| {
                let at = seen(mm(m.at));
                [at, [at[0] + LETTER_OFF[0], at[1] + LETTER_OFF[1]]]
            })
            .chain(fixing.holes.iter().map(|h| seen(mm(h.at))))
            .collect();
        let mut add = |swing: &SwingView, check: bool| {
            let Some(from) = mark_at(&swing.from) else {
                return;
            };
            let length = samespot_core::prepare::mm(swing.length);
            let letters = length.len() + if check { "check ".len() } else { 0 };
            let written = written(from, to, letters, &taken);
            taken.push(written.0);
            swings.push(Swing {
                from,
                to,
                check,
                length,
                written,
            });
        };
        add(&tape.first, false);
        add(&tape.second, false);
        if let Some(check) = &tape.check {
            add(check, true);
        }
        not_here = other.map(seen);
        for mark in [&tape.first.from, &tape.second.from]
            .into_iter()
            .filter_map(|letter| mark_at(letter))
        {
            arcs.push(arc(mark, to));
            arcs.extend(not_here.map(|other| arc(mark, other)));
        }
    }
    Some(Scene {
        high: tall * scale + 2.0 * ROOM,
        marks: usable()
            .map(|m| Spot {
                words: m.letter.clone(),
                at: seen(mm(m.at)),
            })
            .collect(),
        holes: fixing
            .holes
            .iter()
            .map(|h| Spot {
                words: h.number.to_string(),
                at: seen(mm(h.at)),
            })
            .collect(),
        swings,
        arcs,
        not_here,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A letter at the first choice of place pushes the figure along its swing; where none is in the
    /// way it stays there.
    #[test]
    fn a_figure_keeps_clear_of_a_letter() {
        let (from, to) = ([50.0, 300.0], [450.0, 300.0]);
        let ([x, y], turn) = written(from, to, 5, &[]);
        assert!((x - 218.0).abs() < 1e-6 && (y - 300.0).abs() < 1e-6 && turn.abs() < 1e-9);
        let letter = [218.0, 300.0 - FIGURE_OFF - FIGURE_HALF[1]];
        let (at, _) = written(from, to, 5, &[letter]);
        assert!(
            (at[0] - letter[0]).abs() > 5.0 * FIGURE_HALF[0] + REACH - 1e-9,
            "{at:?}"
        );
    }
}
