//! The face with its marks and holes, as points of the picture.

use samespot_core::prepare::holes::{FixingView, HoleView};
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

/// What is drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Scene {
    pub(super) high: f64,
    pub(super) marks: Vec<Spot>,
    pub(super) holes: Vec<Spot>,
    /// The swings of the hole in hand: from a mark to the hole; the check last, and dashed.
    pub(super) swings: Vec<([f64; 2], [f64; 2], bool)>,
}

/// The picture of a fixing with one hole in hand; nothing where nothing is laid out.
pub(super) fn scene(fixing: &FixingView, in_hand: Option<u32>) -> Option<Scene> {
    let usable = || fixing.marks.iter().filter(|m| m.gone.is_none());
    let mm = |at: (Length, Length)| (at.0.mm(), at.1.mm());
    let all: Vec<(f64, f64)> = usable()
        .map(|m| mm(m.at))
        .chain(fixing.holes.iter().map(|h| mm(h.at)))
        .collect();
    let first = *all.first()?;
    let (low, top) = all.iter().fold((first, first), |(low, top), p| {
        (
            (low.0.min(p.0), low.1.min(p.1)),
            (top.0.max(p.0), top.1.max(p.1)),
        )
    });
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
    let mut swings = Vec::new();
    if let Some((hole, tape)) = hole.and_then(|h| Some((h, h.tape.as_ref()?))) {
        let to = seen(mm(hole.at));
        let mut add = |letter: &str, check: bool| {
            swings.extend(mark_at(letter).map(|from| (from, to, check)));
        };
        add(&tape.first.from, false);
        add(&tape.second.from, false);
        if let Some(check) = &tape.check {
            add(&check.from, true);
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
    })
}
