//! Pairs on a piece, from what was found on each of the two.

use super::Source;
use super::amendments::older;
use super::checks::newest;
use super::feature::{Prepared, prepare};
use super::words::{feature_title, mm, tenth};
use crate::check::{DecisionRule, Judged, Shift, Together, Verdict, judge, together};
use crate::frames::Vector2;
use crate::job::{EntityRef, FeatureId, Found, Job, Mirror, PairEdit, PairId, PieceId, RuleSpec};
use crate::surface::Development;
use crate::template::COVER_95;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// A pair on one piece, as QA sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairCheck {
    /// The pair.
    pub pair: PairId,
    /// Its name, or those of the two.
    pub title: String,
    /// What was found: level, apart, equal.
    pub rows: Vec<PairRow>,
    /// Who lets it stand although it is not within, and why.
    pub concession: Option<(String, String)>,
    /// Why nothing is said yet, or not of everything.
    pub note: Option<String>,
    /// How the two stand to each other over the run, where that was looked for.
    pub over_the_run: Option<String>,
}

/// One thing asked of a pair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PairRow {
    /// *level*, *distance apart*, *equal either side*.
    pub asked: String,
    /// *the right one 0.6 higher*.
    pub says: String,
    /// Against what was asked; nothing where nothing was.
    pub judged: Option<Judged>,
}

/// Every pair of which something was checked on a piece.
#[must_use]
pub fn pair_checks(source: &Source<'_>, piece: &PieceId) -> Vec<PairCheck> {
    let job = source.job;
    job.pairs
        .iter()
        .filter_map(|(id, pair)| {
            let (left, right) = (pair.left.as_ref()?, pair.right.as_ref()?);
            let title = |f: &FeatureId| job.features.get(f).map(feature_title);
            let (left_title, right_title) = (title(left)?, title(right)?);
            let mut check = PairCheck {
                pair: id.clone(),
                title: pair_title(job, id)?,
                rows: Vec::new(),
                concession: conceded(job, id, [left, right], piece),
                note: None,
                over_the_run: None,
            };
            let found = |f: &FeatureId| newest(job, f, piece).map(|(_, found)| found);
            // Each was found against its own issue: nothing holds between the two.
            let older = [(left, &left_title), (right, &right_title)]
                .into_iter()
                .find(|(f, _)| older(job, f, piece).is_some());
            match (found(left), found(right)) {
                (None, None) => return None,
                _ if let Some((_, title)) = older => {
                    check.note = Some(format!("{title} is as an older issue has it: make it again, then the pair is judged"));
                }
                (Some(_), None) => {
                    check.note = Some(format!("check {right_title} too: then the pair is judged"));
                }
                (None, Some(_)) => {
                    check.note = Some(format!("check {left_title} too: then the pair is judged"));
                }
                (Some(l), Some(r)) => {
                    judged(source, piece, pair, [left, right], [l, r], &mut check);
                }
            }
            Some(check)
        })
        .collect()
}

/// Who let a pair stand since either of the two was checked, and why.
fn conceded(
    job: &Job,
    pair: &PairId,
    of: [&FeatureId; 2],
    piece: &PieceId,
) -> Option<(String, String)> {
    let checked = of.map(|f| newest(job, f, piece).map(|(fact, _)| fact));
    let [Some(left), Some(right)] = checked else {
        return None;
    };
    job.pair_concessions
        .about_part(piece, &EntityRef::Pair(pair.clone()))
        .next_back()
        .filter(|c| c.after(left) && c.after(right))
        .map(|c| (c.says.by.clone(), c.says.reason.clone()))
}

/// How the two of a pair stand to each other on one piece.
pub(super) struct Stand {
    /// Level, apart, equal.
    pub(super) stand: Together,
    /// Which of the figure's own is on the left seen from outside.
    pub(super) a_is: &'static str,
    /// Which is on the right.
    pub(super) b_is: &'static str,
    /// They are on one face.
    pub(super) same_face: bool,
}

/// A pair's name, or those of the two.
pub(super) fn pair_title(job: &Job, id: &PairId) -> Option<String> {
    let pair = job.pairs.get(id)?;
    if let Some(name) = pair.name.clone().filter(|n| !n.trim().is_empty()) {
        return Some(name);
    }
    let title = |f: &Option<FeatureId>| job.features.get(f.as_ref()?).map(feature_title);
    Some(format!(
        "{} and {}",
        title(&pair.left)?,
        title(&pair.right)?
    ))
}

/// Which of a pair is on which side, and what was found of the two on each of some pieces where
/// both were checked. Which side is which is the design's: it is looked for on the first of them only.
pub(super) fn stand_together(source: &Source<'_>, id: &PairId, pieces: &[PieceId]) -> Vec<Stand> {
    let Some(pair) = source.job.pairs.get(id) else {
        return Vec::new();
    };
    let (Some(left), Some(right), Some(first)) = (&pair.left, &pair.right, pieces.first()) else {
        return Vec::new();
    };
    let ids = [left, right];
    let sides = Sides::of(source, first, ids);
    let found = |f: &FeatureId, piece| newest(source.job, f, piece).map(|(_, found)| found);
    let on = |piece| {
        let both = [found(left, piece)?, found(right, piece)?];
        Some(stand(source, pair, ids, both, sides))
    };
    pieces.iter().filter_map(on).collect()
}

/// Which of a pair is on which side.
#[derive(Clone, Copy)]
struct Sides {
    left_is_right: bool,
    same_face: bool,
}

impl Sides {
    /// Seen from outside the figure's right is on the left, unless the face says otherwise.
    fn of(source: &Source<'_>, piece: &PieceId, ids: [&FeatureId; 2]) -> Self {
        let same_face = same_face(source, ids);
        let prepared = ids.map(|id| prepare(source, id, piece).ok());
        let left_is_right = match (&prepared, same_face) {
            ([Some(left), Some(right)], true) => to_the_right(right, left).unwrap_or(true),
            _ => true,
        };
        Self {
            left_is_right,
            same_face,
        }
    }
}

fn stand(
    source: &Source<'_>,
    pair: &PairEdit,
    ids: [&FeatureId; 2],
    found: [Found; 2],
    sides: Sides,
) -> Stand {
    let shifts = found.map(|f| Shift {
        by: Vector2::from_mm(f.right.mm(), f.up.mm()),
        sd: Length::from_mm(sd_mm(&f).unwrap_or(0.0)),
    });
    stand_of(source, pair, ids, shifts, sides)
}

/// How far two of a pair are from where they belong together, once each is moved.
pub(super) struct Apart {
    /// Level, apart, equal.
    pub(super) stand: Together,
    /// They are on one face: how far apart they are can be told.
    pub(super) same_face: bool,
}

/// What moving the two of a pair on purpose does to the pair: each to the right and up of its own up.
/// Which is on which side is looked for on one piece; it is the design's.
pub(super) fn moved_apart(
    source: &Source<'_>,
    pair: &PairEdit,
    ids: [&FeatureId; 2],
    piece: &PieceId,
) -> impl Fn([(Length, Length); 2]) -> Apart {
    let sides = Sides::of(source, piece, ids);
    move |moved| {
        let shifts = moved.map(|(right, up)| Shift {
            by: Vector2::from_mm(right.mm(), up.mm()),
            sd: Length::ZERO,
        });
        let Stand {
            stand, same_face, ..
        } = stand_of(source, pair, ids, shifts, sides);
        Apart { stand, same_face }
    }
}

fn stand_of(
    source: &Source<'_>,
    pair: &PairEdit,
    ids: [&FeatureId; 2],
    [left, right]: [Shift; 2],
    sides: Sides,
) -> Stand {
    let (a, b, b_is) = if sides.left_is_right {
        (right, left, "left")
    } else {
        (left, right, "right")
    };
    let a_is = if b_is == "left" { "right" } else { "left" };
    let b_id = if sides.left_is_right { ids[0] } else { ids[1] };
    Stand {
        stand: together(a, b, lean(source, pair, b_id)),
        a_is,
        b_is,
        same_face: sides.same_face,
    }
}

fn judged(
    source: &Source<'_>,
    piece: &PieceId,
    pair: &PairEdit,
    ids: [&FeatureId; 2],
    found: [Found; 2],
    check: &mut PairCheck,
) {
    // How well it was read must be known, or a guess would be judged as if it were exact.
    let known = found.iter().all(|f| sd_mm(f).is_some());
    let Stand {
        stand,
        a_is,
        b_is,
        same_face: same,
    } = stand(source, pair, ids, found, Sides::of(source, piece, ids));
    let Together {
        level,
        apart,
        equal,
        sd,
    } = stand;
    let rule = source.job.about.decision_rule.unwrap_or_default();
    let told = |off: Length, limit| {
        let judged = judge(off.abs(), limit, sd, rule);
        if known || rule == DecisionRule::Simple {
            return judged;
        }
        Judged {
            verdict: Verdict::NotProven,
            ..judged
        }
    };
    let row = |asked: &str, off: Length, limit: Option<Length>, plus: String, minus: String| {
        let um = off.to_um();
        let says = if um.unsigned_abs() < 50 {
            "as it should be".to_owned()
        } else if um > 0 {
            plus
        } else {
            minus
        };
        PairRow {
            asked: asked.into(),
            says,
            judged: limit.map(|limit| told(off, limit)),
        }
    };
    let by = |off: Length| tenth(off.abs());
    check.rows.push(row(
        "level",
        level,
        pair.level,
        format!("the {b_is} one {} higher", by(level)),
        format!("the {a_is} one {} higher", by(level)),
    ));
    if same {
        check.rows.push(row(
            "distance apart",
            apart,
            pair.apart,
            format!("{} too far apart", by(apart)),
            format!("{} too near each other", by(apart)),
        ));
        check.rows.push(row(
            "equal either side",
            equal,
            pair.equal,
            format!("the {b_is} one {} further from the middle", by(equal)),
            format!("the {a_is} one {} further from the middle", by(equal)),
        ));
    } else {
        check.rows.push(row(
            "equal either side",
            equal,
            pair.equal,
            format!("{} unequal", by(equal)),
            format!("{} unequal", by(equal)),
        ));
        check.note = pair.apart.map(|limit| {
            format!(
                "they are on two faces: how far apart they are (within {}) is a matter for calipers",
                mm(limit)
            )
        });
    }
    if !known && rule != DecisionRule::Simple {
        const UNKNOWN: &str = "one of the two was checked with the measured value alone by an older program, which kept nothing of how well it was read: check it again";
        check.note = Some(match check.note.take() {
            Some(note) => format!("{note}; {UNKNOWN}"),
            None => UNKNOWN.to_owned(),
        });
    }
}

/// One standard deviation of what was found. Older programs kept the guard alone, which is nought by
/// agreement where the measured value counts alone: then nothing is known of it.
fn sd_mm(found: &Found) -> Option<f64> {
    if let Some(sd) = found.sd {
        return Some(sd.mm());
    }
    match found.rule {
        DecisionRule::Simple => None,
        rule => Some(found.guard.mm() / rule.factor()),
    }
}

fn same_face(source: &Source<'_>, ids: [&FeatureId; 2]) -> bool {
    let face = |id: &FeatureId| source.job.features.get(id).and_then(|f| f.face.clone());
    face(ids[0]) == face(ids[1])
}

/// Whether `other` lies to the right of `one`, seen from outside with its up upwards.
fn to_the_right(one: &Prepared, other: &Prepared) -> Option<bool> {
    let sheet = Development::new(&one.surface, one.placed.pose.centre, one.placed.pose.up).ok()?;
    let there = sheet.flat(other.placed.pose.centre).ok()?;
    Some(there.x_mm() > 0.0)
}

/// How far the up of one leans from the line halfway between the two, anticlockwise.
fn lean(source: &Source<'_>, pair: &PairEdit, id: &FeatureId) -> Angle {
    let Some(edit) = source.job.features.get(id) else {
        return Angle::ZERO;
    };
    if !matches!(edit.rule, Some(RuleSpec::Line { .. })) {
        return Angle::ZERO;
    }
    let turn = edit.turn.unwrap_or(Angle::ZERO).rad();
    let from_middle = match pair.mirror {
        // The middle is square to the line it is halfway along, as up is before it is turned …
        Some(Mirror::Halfway { .. } | Mirror::Twins { .. }) => turn,
        // … or that line itself.
        Some(Mirror::Through { .. }) => turn - core::f64::consts::FRAC_PI_2,
        None => return Angle::ZERO,
    };
    // Up the middle, not down it.
    Angle::from_rad(if libm::cos(from_middle) < 0.0 {
        from_middle + core::f64::consts::PI
    } else {
        from_middle
    })
}

/// What a pair came to: the worst of its rows that are judged.
#[must_use]
pub fn pair_state(check: &PairCheck) -> Option<Verdict> {
    let all = check.rows.iter().filter_map(|r| Some(r.judged?.verdict));
    let rank = |v: Verdict| match v {
        Verdict::Within => 0,
        Verdict::NotProven => 1,
        Verdict::Outside => 2,
    };
    all.max_by_key(|v| rank(*v))
}

/// A pair asks for something it does not keep, and nobody has let that stand.
#[must_use]
pub fn pair_is_open(check: &PairCheck) -> bool {
    check.concession.is_none() && pair_state(check).is_some_and(|v| v != Verdict::Within)
}

/// What the templates of a pair leave between the two, before anything is painted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PairAhead {
    /// *As a pair with eye, right: within 1.1 mm of each other; level 2, equal either side 2 asked*.
    pub says: String,
    /// No more than was asked.
    pub fits: bool,
}

/// One of two differences of two normal errors lies within this many of its deviations 95 times of
/// 100 (JCGM 100, table G.1); a radius within [`COVER_95`] of the deviation each way.
const LINE_95: f64 = 1.96;

/// The pair a template's feature is in, as far as something was asked of it. Both errors are taken as
/// independent: what they share by the same marks only brings the two nearer to each other.
#[must_use]
pub fn pair_ahead(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    own: &Prepared,
) -> Option<PairAhead> {
    let job = source.job;
    let (_, pair) = job.pair_of(feature)?;
    let other = [&pair.left, &pair.right]
        .into_iter()
        .flatten()
        .find(|f| *f != feature)?;
    let same = same_face(source, [feature, other]);
    let asked: Vec<(&str, Length)> = [
        ("level", pair.level),
        ("apart", pair.apart.filter(|_| same)),
        ("equal either side", pair.equal),
    ]
    .into_iter()
    .filter_map(|(what, limit)| Some((what, limit?)))
    .collect();
    if asked.is_empty() {
        return None;
    }
    let theirs = prepare(source, other, piece).ok()?;
    let sd_mm = libm::hypot(own.budget.worst.mm(), theirs.budget.worst.mm()) / COVER_95;
    let within = Length::from_mm(LINE_95 * sd_mm);
    let list: Vec<String> = asked
        .iter()
        .map(|(what, limit)| format!("{what} {}", mm(*limit)))
        .collect();
    let title = job.features.get(other).map(feature_title)?;
    Some(PairAhead {
        says: format!(
            "As a pair with {}: within {} mm of each other; {} asked",
            super::words::lower(&title),
            tenth(within),
            list.join(", ")
        ),
        fits: asked.iter().all(|(_, limit)| within <= *limit),
    })
}
