//! Bolting through a hatch: in which order, whether a hand comes there, and what is seen to before
//! the hatch is closed.

use super::laid::Spot;
use super::view::{BeforeClosing, BoltingView, FixingView, HatchView, ReachView};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::holes::bolting::order;
use crate::job::{
    DoneKind, EntityRef, FeatureId, FixingEdit, HandReaches, HatchStands, HolePattern, Job, PieceId,
};
use crate::prepare::Source;
use crate::prepare::design::design;
use crate::prepare::hatch::by_whom;
use crate::prepare::outline::outline_of;
use crate::prepare::standing::standing;
use crate::prepare::words::{feature_title, mm};
use crate::surface::{Shape, Surface};
use crate::units::Length;

/// So far a fist comes from an opening with the shoulder against it (common practice, no source).
const ARM: Length = Length::from_mm(550.0);
/// A hand with a spanner wants an opening of this, each way (common practice, no source).
const HAND: Length = Length::from_mm(130.0);

/// What is known of the hatch of a fixing on one piece.
struct Seen {
    name: String,
    /// From its middle along the skin to each hole; why not, where that can't be told.
    away: Result<Vec<Length>, String>,
    /// The lesser of its two sizes.
    narrow: Option<Length>,
}

/// The order, and who comes to what.
pub(super) fn bolting(
    source: &Source<'_>,
    fixing: &FixingEdit,
    piece: &PieceId,
    (surface, spots): (&Surface, &[Spot]),
    places: &[Vector2<Flat>],
) -> Option<BoltingView> {
    let lie = fixing.pattern.as_ref().map(HolePattern::lie)?;
    let hatch = fixing
        .hatch
        .as_ref()
        .filter(|h| source.job.features.contains_key(h));
    let seen = hatch.map(|h| seen_from(source, h, fixing, piece, (surface, spots)));
    let away = seen.as_ref().and_then(|s| s.away.as_ref().ok());
    let numbered: Vec<u32> = order(lie, places, away.map(Vec::as_slice))
        .into_iter()
        .filter_map(|k| u32::try_from(k + 1).ok())
        .collect();
    let last = if away.is_some() {
        "; the one nearest the hatch last"
    } else {
        ""
    };
    let how = match numbered.len() {
        1 => "How tight is for a competent person".to_owned(),
        _ => format!(
            "{}{last}. First all of them finger tight, then half tight, then fully, each time in this order; how tight is for a competent person",
            lie.words()
        ),
    };
    let arm = fixing.arm.as_ref().map_or(ARM, |a| a.mm);
    let reach: Vec<ReachView> = (1_u32..)
        .zip(away.into_iter().flatten())
        .map(|(hole, way)| ReachView {
            hole,
            way: *way,
            reached: way.to_um() <= arm.to_um(),
        })
        .collect();
    let says = match &seen {
        Some(seen) => says(seen, &reach, arm, fixing.arm.is_none()),
        None if fixing.hand_reaches == Some(HandReaches::Yes) => Vec::new(),
        None => vec![
            "No hatch is named for it. Where a hand comes to its far side until a hatch is closed, name the hatch on Setting out: then the reach is reckoned here"
                .into(),
        ],
    };
    Some(BoltingView {
        order: numbered,
        how,
        reach,
        says,
    })
}

fn seen_from(
    source: &Source<'_>,
    hatch: &FeatureId,
    fixing: &FixingEdit,
    piece: &PieceId,
    (surface, spots): (&Surface, &[Spot]),
) -> Seen {
    let edit = source.job.features.get(hatch).cloned().unwrap_or_default();
    let name = feature_title(&edit);
    let outline = outline_of(source, &name, &edit).and_then(Result::ok);
    let narrow = outline.and_then(|o| o.outline.bounds()).map(|b| {
        if b.width() < b.height() {
            b.width()
        } else {
            b.height()
        }
    });
    let away = match &fixing.to_hatch {
        Some(read) => Ok(vec![read.mm; spots.len()]),
        None if edit.face != fixing.face => Err(format!(
            "{name} is on another face: read along the inside from its middle to the farthest hole, with a string, and say it on Setting out"
        )),
        None => middle_of(source, hatch, piece).and_then(|from| {
            spots
                .iter()
                .map(|spot| along(surface, from, spot.at))
                .collect()
        }),
    };
    Seen { name, away, narrow }
}

/// Where the middle of a hatch stands on its casting.
fn middle_of(
    source: &Source<'_>,
    hatch: &FeatureId,
    piece: &PieceId,
) -> Result<Point2<Face>, String> {
    let design =
        design(source, hatch, source.job.number_of(piece)).map_err(|why| why.to_string())?;
    let stands = standing(source, &design, piece).map_err(|why| why.to_string())?;
    Ok(stands.placed.pose.centre)
}

/// Along the skin; an arm inside goes straighter.
fn along(surface: &Surface, from: Point2<Face>, to: Point2<Face>) -> Result<Length, String> {
    let to = surface.nearest(to, from);
    if (to - from).norm_mm() < 1.0 {
        return Ok(Length::ZERO);
    }
    surface
        .over_surface(from, to, 0)
        .map(|d| Length::from_mm(d.mm))
        .map_err(|why| why.to_string())
}

fn says(seen: &Seen, reach: &[ReachView], arm: Length, usual: bool) -> Vec<String> {
    let mut all = Vec::new();
    let from = if usual {
        format!(
            "{} mm, the usual reach (common practice: say your own on Setting out)",
            mm(arm)
        )
    } else {
        format!("{} mm", mm(arm))
    };
    match &seen.away {
        Err(why) => all.push(format!("Reach not known. {why}")),
        Ok(_) => {
            let short: Vec<String> = reach
                .iter()
                .filter(|r| !r.reached)
                .map(|r| format!("hole {} by {} mm", r.hole, mm(r.way - arm)))
                .collect();
            all.push(if short.is_empty() {
                format!("Through {} a hand comes to every hole: an arm of {from}", seen.name)
            } else {
                format!(
                    "Through {} an arm of {from} falls short of {}: captive nuts or a tapped plate there, a longer tool, or a hatch nearer to it. Settle it before the hatch is closed",
                    seen.name,
                    short.join(", ")
                )
            });
        }
    }
    all.extend(seen.narrow.filter(|n| *n < HAND).map(|n| {
        format!(
            "{} is only {} mm one way: a hand with a spanner wants about {} (common practice)",
            seen.name,
            mm(n),
            mm(HAND)
        )
    }));
    all
}

/// Every hatch of a piece, with what is seen to before it is closed.
pub(super) fn hatches(job: &Job, piece: &PieceId, fixings: &[FixingView]) -> Vec<HatchView> {
    job.hatches()
        .into_iter()
        .filter_map(|id| hatch_view(job, id, piece, fixings))
        .collect()
}

fn hatch_view(
    job: &Job,
    id: &FeatureId,
    piece: &PieceId,
    fixings: &[FixingView],
) -> Option<HatchView> {
    let casting = job.casting_with(id, piece)?.clone();
    let plug = job.plug_number(id, piece)?;
    let name = feature_title(job.features.get(id)?);
    let stands = job.hatch_stands(id, piece);
    let own: Vec<&FixingView> = fixings
        .iter()
        .filter(|f| job.fixings.get(&f.fixing).and_then(|e| e.hatch.as_ref()) == Some(id))
        .collect();
    let mut before = Vec::new();
    for fixing in &own {
        before.extend(by_itself(fixing));
    }
    let ticked = |what: &str| {
        let mut done = job
            .done
            .about_part(&casting, &EntityRef::Feature(id.clone()));
        done.any(|d| {
            let since = match stands {
                HatchStands::Open(cut) => d.after(cut),
                HatchStands::NotCut | HatchStands::Closed(_) => true,
            };
            since && d.says.kind == Some(DoneKind::Ticked) && d.says.what == what
        })
    };
    let mut by_hand: Vec<String> = own
        .iter()
        .filter_map(|f| Some((f, f.bolting.as_ref()?)))
        .map(|(f, b)| {
            let order: Vec<String> = b.order.iter().map(u32::to_string).collect();
            format!(
                "{}: every bolt in with its washer and drawn up, in the order {}",
                f.name,
                order.join(", ")
            )
        })
        .collect();
    by_hand.push("bolts locked as the competent person asks".into());
    by_hand.push("inside empty: tools counted, rags and dust out, drains and vents open".into());
    before.extend(by_hand.into_iter().map(|what| BeforeClosing {
        done: ticked(&what),
        what,
        by_hand: true,
    }));
    Some(HatchView {
        feature: id.clone(),
        casting,
        open: matches!(stands, HatchStands::Open(_)),
        stands: match stands {
            HatchStands::NotCut => "Nobody has said that it is cut".into(),
            HatchStands::Open(d) => {
                format!("Open: plug {plug} kept ({})", by_whom(&d.who, &d.wall))
            }
            HatchStands::Closed(d) => format!("Closed ({})", by_whom(&d.who, &d.wall)),
        },
        name,
        plug,
        before,
    })
}

/// What follows from what was said of a fixing.
fn by_itself(fixing: &FixingView) -> Vec<BeforeClosing> {
    let mut all = Vec::new();
    let auto = |what: String, done: bool| BeforeClosing {
        what,
        done,
        by_hand: false,
    };
    if let Some(why) = &fixing.cannot {
        return vec![auto(format!("{}: {why}", fixing.name), false)];
    }
    if let Some(cured) = &fixing.cured
        && cured.rows.iter().any(|r| r.read.is_some())
    {
        all.push(auto(
            format!("{}: read after its glass had cured", fixing.name),
            cured.counts,
        ));
    }
    let drilled = fixing.holes.iter().filter(|h| h.drilled.is_some()).count();
    all.push(auto(
        format!(
            "{}: {drilled} of {} holes drilled",
            fixing.name,
            fixing.holes.len()
        ),
        drilled == fixing.holes.len(),
    ));
    if let Some(bolting) = &fixing.bolting
        && !bolting.reach.is_empty()
    {
        let short = bolting.reach.iter().filter(|r| !r.reached).count();
        all.push(auto(
            match short {
                0 => format!("{}: a hand comes to every hole", fixing.name),
                n => format!("{}: {n} of its holes out of reach", fixing.name),
            },
            short == 0,
        ));
    }
    all
}
