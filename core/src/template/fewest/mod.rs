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

/// How far apart two castings see what is shared, whatever either leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Two {
    feature_mm: f64,
    cross_mm: f64,
}

/// All castings with one part of what is shared laid in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidPart {
    /// Corners of that part's outline.
    corners: Vec<Point2<Flat>>,
    /// Where the marks of each are seen.
    seen: Vec<Vec<Point2<Flat>>>,
    centres: Vec<Centre>,
    /// Each with those before it.
    two: Vec<Two>,
}

impl LaidPart {
    /// A part with its outline, and each casting in the order of all.
    #[must_use]
    pub fn new(outline: &[Point2<Flat>], list: Vec<Sharer>) -> Self {
        let corners = hull(outline);
        let centres: Vec<Centre> = list
            .iter()
            .map(|s| Centre::of(&s.landing, s.left.mm()))
            .collect();
        let mut two = Vec::with_capacity(list.len() * list.len() / 2);
        for (k, (one, p)) in list.iter().zip(&centres).enumerate() {
            for (other, q) in list.iter().zip(&centres).take(k) {
                let crosses = one.seen.iter().zip(&other.seen);
                two.push(Two {
                    feature_mm: norm(&corners, &(q.at - p.at)).0,
                    cross_mm: crosses
                        .map(|(m, n)| (*n - *m).norm_mm())
                        .fold(0.0, f64::max),
                });
            }
        }
        Self {
            corners,
            centres,
            two,
            seen: list.into_iter().map(|s| s.seen).collect(),
        }
    }

    /// The same castings, each leaving something else for sharing.
    pub fn leave(&mut self, left: impl IntoIterator<Item = Length>) {
        for (centre, left) in self.centres.iter_mut().zip(left) {
            centre.left = left.mm();
        }
    }

    /// Whether one template serves a group.
    fn fits(&self, group: &[usize], cross_off: Length) -> bool {
        let Self {
            corners,
            seen,
            centres,
            two,
        } = self;
        let off = cross_off.mm() + MARGIN_MM;
        if group.len() < 2 {
            return true;
        }
        if group.iter().any(|&k| centres[k].left < 0.0) {
            return false;
        }
        // In any norm two balls meet when their centres are no further apart than both radii. A group of
        // whom two are apart by clearly more need not be looked at further.
        let meet = |a: usize, b: usize, room_mm: f64| {
            let (low, high) = (a.min(b), a.max(b));
            let two = two[high * high.saturating_sub(1) / 2 + low];
            let feature = two.feature_mm <= centres[a].left + centres[b].left + room_mm;
            feature && two.cross_mm <= 2.0 * off + room_mm - MARGIN_MM
        };
        if let [a, b] = *group {
            return meet(a, b, MARGIN_MM);
        }
        let all = group.iter().enumerate();
        let mut pairs = all.flat_map(|(k, a)| group[..k].iter().map(move |b| (*a, *b)));
        if pairs.any(|(a, b)| !meet(a, b, 4.0 * MARGIN_MM)) {
            return false;
        }
        let chosen: Vec<Centre> = group.iter().map(|&k| centres[k]).collect();
        if enclosing(corners, &chosen, Until::Known).over > MARGIN_MM {
            return false;
        }
        let crosses = group.iter().map(|&k| seen[k].len()).min();
        (0..crosses.unwrap_or_default()).all(|c| {
            let marks: Vec<Centre> = group
                .iter()
                .map(|&k| Centre {
                    at: nalgebra::Vector3::new(seen[k][c].x_mm(), seen[k][c].y_mm(), 0.0),
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

    /// The fewest groups, and how many there must be at least; `None` where it takes more than `most`.
    #[must_use]
    pub fn groups(&self, cross_off: Length, most: usize) -> Option<(Vec<Vec<usize>>, usize)> {
        let mut fits = |group: &[usize]| self.fits(group, cross_off);
        let found = cover::cover(self.centres.len(), most, &mut fits)?;
        Some((found.groups, found.at_least))
    }

    /// Where each group's template is drawn best.
    #[must_use]
    pub fn drawn(&self, groups: Vec<Vec<usize>>) -> Vec<Group> {
        let drawn = groups.into_iter().map(|members| Group {
            at: self.best(&members).0,
            members,
        });
        drawn.collect()
    }
}

/// The fewest templates that serve every casting of the list.
///
/// Exact up to [`EXACT`] castings unless the search had to be cut short; then, and above, `at_least`
/// is smaller than the number of groups. Castings with nothing left for sharing get one of their own.
#[must_use]
pub fn fewest(outline: &[Point2<Flat>], list: &[Sharer], cross_off: Length) -> Fewest {
    let part = LaidPart::new(outline, list.to_vec());
    let (groups, at_least) = part.groups(cross_off, usize::MAX).unwrap_or_default();
    Fewest {
        at_least,
        groups: part.drawn(groups),
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
    let mut all_serve = |group: &[usize]| parts.iter().all(|ways| serves(ways, group));
    let Some(found) = cover::cover(count, usize::MAX, &mut all_serve) else {
        return (Vec::new(), 0);
    };
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
