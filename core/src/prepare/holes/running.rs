//! Running dimensions of a hole on a flat face: along the line of the rule from its first mark, then
//! square off it. All from one mark and one line, never from hole to hole, where errors would add up.
//!
//! On a face that is not flat a square held to a line leaves the face, and swings are given alone.

use super::stands::Stands;
use super::view::RunningView;
use crate::frames::{Flat, Point2, Vector2};
use crate::job::{FixingEdit, RuleSpec};
use crate::surface::Surface;
use crate::units::Length;

/// The line that all holes of a fixing run along.
pub(super) struct Line {
    from: String,
    to: String,
    at: Point2<Flat>,
    along: Vector2<Flat>,
}

impl Line {
    /// The line of the rule on a flat casting, its marks seen as the holes are; nothing where the face
    /// is not flat or one of the two can't be measured from.
    pub(super) fn of(
        fixing: &FixingEdit,
        stands: &Stands,
        usable: &[usize],
        letters: &[String],
        seen: &[Point2<Flat>],
    ) -> Option<Self> {
        let standing = &stands.standing;
        if !matches!(standing.layout.surface, Surface::Flat(_)) {
            return None;
        }
        let Some(RuleSpec::Line { from, to, .. }) = &fixing.rule else {
            return None;
        };
        let place = |mark| {
            let k = standing.ids.iter().position(|m| m == mark)?;
            usable.contains(&k).then_some(k)
        };
        let (a, b) = (place(from)?, place(to)?);
        let (at, end) = (*seen.get(a)?, *seen.get(b)?);
        Some(Self {
            from: letters.get(a)?.clone(),
            to: letters.get(b)?.clone(),
            at,
            along: (end - at).unit()?,
        })
    }

    /// A hole by this line.
    pub(super) fn to(&self, hole: Point2<Flat>) -> RunningView {
        let off = hole - self.at;
        let left = self.along.cross(off);
        let towards = self.along.perp() * left;
        let side = match (towards.x_mm(), towards.y_mm()) {
            (x, y) if y.abs() >= x.abs() && y > 0.0 => "above",
            (x, y) if y.abs() >= x.abs() => "below",
            (x, _) if x > 0.0 => "right of",
            _ => "left of",
        };
        RunningView {
            from: self.from.clone(),
            to: self.to.clone(),
            along: Length::from_mm(self.along.dot(off)),
            off: Length::from_mm(left.abs()),
            side: side.to_owned(),
        }
    }
}
