//! The fewest templates of one feature that serve a run (design/11, *The fewest templates*).
//!
//! Laid in one way, a common template lands on each casting off its target by a pose: a point g in
//! (across, up, turn). A template drawn at g serves a casting when ‖g_p − g‖ is within what the
//! casting's budget leaves, the norm being the greatest shift of an outline point. It also has to
//! look right to the person who lays it: no cross may be further from its mark than that person
//! would accept. Both are convex in where the template and its crosses stand, so parts of a group that goes
//! together go together, and any four decide.
//!
//! Crosses stand in the middle of the smallest circle about where their marks are seen, rather
//! than at the mean: the greatest miss is least, and a casting joining a group never makes one fit
//! that did not.

mod ball;
mod cover;
#[cfg(test)]
mod tests;

use super::Landing;
use crate::frames::{Flat, Point2, Vector2};
use crate::units::{Angle, Length};
use ball::{Ball, Centre, Until, enclosing, hull, norm};
pub use cover::EXACT;

/// Choices are made with this much room, so that all machines make the same ones, mm.
const MARGIN_MM: f64 = 0.001;

/// A plainer way of laying stands unless another leaves less by this, mm.
const WORTH_CHANGING_MM: f64 = 0.01;

/// A cross further off its mark than this is not trusted by the person who lays it: sharing stops
/// (design/11).
pub const CROSS_OFF: Length = Length::from_mm(3.0);

/// One casting that may share a template.
#[derive(Debug, Clone, PartialEq)]
pub struct Sharer {
    /// Where the common template lands on it, against where it should.
    pub landing: Landing,
    /// What its budget leaves for sharing; negative when not even its own template fits.
    pub left: Length,
    /// Where its marks are seen from the common template when it lies as it should; only those
    /// that carry a cross.
    pub seen: Vec<Point2<Flat>>,
}

/// Castings that one template serves.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// Their places in the list.
    pub members: Vec<usize>,
    /// Where its feature is drawn, against the common template.
    pub at: Landing,
}

/// The fewest templates.
#[derive(Debug, Clone, PartialEq)]
pub struct Fewest {
    /// Each with the castings it serves; every casting is in one.
    pub groups: Vec<Group>,
    /// No fewer are possible; equal to the number of groups when that is proved the least.
    pub at_least: usize,
}

fn landing(v: &nalgebra::Vector3<f64>) -> Landing {
    Landing {
        shift: Vector2::from_mm(v.x, v.y),
        turn: Angle::from_rad(v.z),
    }
}

/// The middle of the smallest circle about points, and its radius.
#[must_use]
pub fn middle(points: &[Point2<Flat>]) -> (Point2<Flat>, Length) {
    let list: Vec<Centre> = points
        .iter()
        .map(|p| Centre {
            at: nalgebra::Vector3::new(p.x_mm(), p.y_mm(), 0.0),
            left: 0.0,
        })
        .collect();
    let Ball { centre, over } = enclosing(&[Point2::ORIGIN], &list, Until::Centred);
    (
        Point2::from_mm(centre.x, centre.y),
        Length::from_mm(over.max(0.0)),
    )
}

/// Where one template serves these castings best, and by how much it then goes over what the
/// tightest of them leaves (negative: that much to spare).
#[must_use]
pub fn best_place(outline: &[Point2<Flat>], list: &[&Sharer]) -> (Landing, Length) {
    let centres: Vec<Centre> = list
        .iter()
        .map(|s| Centre::of(&s.landing, s.left.mm()))
        .collect();
    let ball = enclosing(&hull(outline), &centres, Until::Centred);
    (landing(&ball.centre), Length::from_mm(ball.over))
}

/// How far an outline point is off at worst between two poses.
#[must_use]
pub fn apart(outline: &[Point2<Flat>], a: &Landing, b: &Landing) -> Length {
    let d = Centre::of(a, 0.0).at - Centre::of(b, 0.0).at;
    Length::from_mm(norm(outline, &d).0)
}

/// All castings with one part of what is shared laid in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidPart {
    /// Corners of that part's outline.
    corners: Vec<Point2<Flat>>,
    list: Vec<Sharer>,
    centres: Vec<Centre>,
}

impl LaidPart {
    /// A part with its outline, and each casting in the order of all.
    #[must_use]
    pub fn new(outline: &[Point2<Flat>], list: Vec<Sharer>) -> Self {
        Self {
            corners: hull(outline),
            centres: list
                .iter()
                .map(|s| Centre::of(&s.landing, s.left.mm()))
                .collect(),
            list,
        }
    }

    /// Whether one template serves a group.
    fn fits(&self, group: &[usize], cross_off: Length) -> bool {
        let Self {
            corners,
            list,
            centres,
        } = self;
        let off = cross_off.mm() + MARGIN_MM;
        if group.len() < 2 {
            return true;
        }
        if group.iter().any(|&k| centres[k].left < 0.0) {
            return false;
        }
        if let [a, b] = *group {
            // In any norm two balls meet when their centres are no further apart than both radii.
            let (p, q) = (&centres[a], &centres[b]);
            let looks_right = list[a]
                .seen
                .iter()
                .zip(&list[b].seen)
                .all(|(m, n)| (*m - *n).norm_mm() <= 2.0 * off);
            return looks_right && norm(corners, &(p.at - q.at)).0 <= p.left + q.left + MARGIN_MM;
        }
        let chosen: Vec<Centre> = group.iter().map(|&k| centres[k]).collect();
        if enclosing(corners, &chosen, Until::Known).over > MARGIN_MM {
            return false;
        }
        let crosses = group
            .iter()
            .map(|&k| list[k].seen.len())
            .min()
            .unwrap_or_default();
        (0..crosses).all(|c| {
            let marks: Vec<Centre> = group
                .iter()
                .map(|&k| Centre {
                    at: nalgebra::Vector3::new(list[k].seen[c].x_mm(), list[k].seen[c].y_mm(), 0.0),
                    left: off,
                })
                .collect();
            enclosing(&[Point2::ORIGIN], &marks, Until::Known).over <= MARGIN_MM
        })
    }

    /// Where one template serves a group best, and by how much it then goes over.
    fn best(&self, group: &[usize]) -> (Landing, f64) {
        let chosen: Vec<Centre> = group.iter().map(|&k| self.centres[k]).collect();
        let ball = enclosing(&self.corners, &chosen, Until::Centred);
        (landing(&ball.centre), ball.over)
    }
}

/// The fewest templates that serve every casting of the list.
///
/// Exact up to [`EXACT`] castings unless the search had to be cut short; then, and above, `at_least`
/// is smaller than the number of groups. Castings with nothing left for sharing get one of their own.
#[must_use]
pub fn fewest(outline: &[Point2<Flat>], list: &[Sharer], cross_off: Length) -> Fewest {
    let part = LaidPart::new(outline, list.to_vec());
    let found = cover::cover(list.len(), &mut |group| part.fits(group, cross_off));
    Fewest {
        at_least: found.at_least,
        groups: found
            .groups
            .into_iter()
            .map(|members| Group {
                at: part.best(&members).0,
                members,
            })
            .collect(),
    }
}

/// Castings that one set of parts serves.
#[derive(Debug, Clone, PartialEq)]
pub struct SetGroup {
    /// Their places in the list.
    pub members: Vec<usize>,
    /// For each part which of its ways it is laid, and where it is drawn against the common one.
    pub parts: Vec<(usize, Landing)>,
}

/// The fewest sets of parts that serve every casting: a set serves a group where each of its parts
/// does, laid in one of its ways. Parts of a group that goes together go together here too.
///
/// `parts` has each part's ways, the plainest first, each over the same castings in the same order;
/// with the groups comes how many there must be at least.
#[must_use]
pub fn fewest_sets(
    parts: &[Vec<LaidPart>],
    count: usize,
    cross_off: Length,
) -> (Vec<SetGroup>, usize) {
    let serves = |ways: &[LaidPart], group: &[usize]| ways.iter().any(|w| w.fits(group, cross_off));
    let found = cover::cover(count, &mut |group| {
        parts.iter().all(|ways| serves(ways, group))
    });
    let laid = |ways: &Vec<LaidPart>, members: &[usize]| {
        let mut best: Option<(usize, Landing, f64)> = None;
        for (k, way) in ways.iter().enumerate() {
            if !way.fits(members, cross_off) {
                continue;
            }
            let (at, over) = way.best(members);
            if best.is_none_or(|b| over < b.2 - WORTH_CHANGING_MM) {
                best = Some((k, at, over));
            }
        }
        best.map_or((0, landing(&nalgebra::Vector3::zeros())), |b| (b.0, b.1))
    };
    let groups = found.groups.into_iter().map(|members| SetGroup {
        parts: parts.iter().map(|ways| laid(ways, &members)).collect(),
        members,
    });
    (groups.collect(), found.at_least)
}
