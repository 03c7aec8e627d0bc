//! A drilled hole checked: its width, and where its middle is against the template laid back on it.

use super::super::checks::{offset_words, rule_of, sources, verdict_words};
use super::super::doubted::Doubted;
use super::super::words::mm;
use super::stands::widest_of;
use super::template::prepare_drill;
use crate::check::{
    DecisionRule, HoleAsked, HoleJudged, HoleRead, HoleTool, Sources, Verdict, capable, judge,
    judge_hole,
};
use crate::holes::grade::HoleClass;
use crate::job::{BiggerHole, Entry, FixingEdit, FixingId, HoleFound, PieceId};
use crate::prepare::Source;
use crate::prepare::feature::Prepared;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// What was read of a hole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HoleTyped {
    /// Across.
    pub across: Entry,
    /// Its middle to the right of the template's cross.
    pub right: Entry,
    /// And up.
    pub up: Entry,
    /// With what all three were read.
    #[serde(default)]
    pub with: HoleTool,
}

/// A hole judged, before it is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HoleJudgement {
    /// What would be recorded.
    pub found: HoleFound,
    /// *0.3 right, 0.2 up: within*.
    pub place: String,
    /// *out 0.6 of 0.6 (Ø 0.5, and 0.1 more for the bigger hole)*.
    pub room: String,
    /// *11.6 across: can’t tell with this*.
    pub width: String,
    /// What would settle its place, where it can't be told.
    pub settle: Option<String>,
}

/// Judges a hole by its width and by a pin through the template laid back.
///
/// # Errors
/// A sentence: why the template can't be made, or which hole the fixing does not have.
pub fn judge_typed(
    source: &Source<'_>,
    fixing: &FixingId,
    piece: &PieceId,
    number: u32,
    typed: &HoleTyped,
) -> Result<HoleJudgement, String> {
    let prepared = prepare_drill(source, fixing, piece).map_err(|why| why.to_string())?;
    let hole = prepared
        .holes
        .iter()
        .find(|h| h.number == number)
        .ok_or_else(|| format!("this bracket has no hole {number}"))?;
    if typed.across.mm <= Length::ZERO {
        return Err("a hole is wider than nothing: read across it again".into());
    }
    let asked = asked_of(source.job.fixings.get(fixing), &prepared, hole.drill);
    let read = HoleRead {
        across: typed.across.mm,
        right: typed.right.mm,
        up: typed.up.mm,
        place_sd: place_sd(&prepared, typed.with),
        across_sd: typed.with.sd(),
    };
    let rule = rule_of(source.job);
    let mut judged = judge_hole(&asked.of, &read, rule);
    // Its width is read on the hole alone.
    let resting = Doubted::of(&prepared).filter(|d| d.rests());
    if resting.is_some() {
        judged.place.verdict = Verdict::NotProven;
    }
    Ok(HoleJudgement {
        found: HoleFound {
            across: typed.across.clone(),
            right: typed.right.clone(),
            up: typed.up.clone(),
            judged,
            rule,
        },
        place: match resting {
            Some(doubted) => format!("{}. {}", place_words(&judged, typed), doubted.words()),
            None => place_words(&judged, typed),
        },
        room: room_words(&judged, &asked.of),
        width: width_words(&judged, &asked, typed, rule),
        settle: (resting.is_none() && judged.place.verdict == Verdict::NotProven)
            .then(|| place_settled_by(&prepared, &asked.of, typed.with, rule)),
    })
}

/// What is asked of a hole, and by which class it may be wider.
struct Asked {
    of: HoleAsked,
    class: Option<HoleClass>,
}

fn asked_of(fixing: Option<&FixingEdit>, prepared: &Prepared, drill: Length) -> Asked {
    let widest = fixing.and_then(|f| widest_of(f, drill));
    Asked {
        of: HoleAsked {
            smallest: drill,
            widest: widest.map(|(w, _)| w),
            zone: prepared.allowed * 2.0,
            more_room: fixing.and_then(|f| f.bigger_hole) == Some(BiggerHole::MoreRoom),
        },
        class: widest.and_then(|(_, class)| class),
    }
}

/// One standard deviation of a hole's place, each way: one offset each way, with the template laid on
/// its crosses.
fn place_sd(prepared: &Prepared, tool: HoleTool) -> Length {
    let Sources {
        laying, template, ..
    } = sources(prepared);
    let square = |l: Length| l.mm() * l.mm();
    Length::from_mm(libm::sqrt(
        square(tool.sd()) + square(laying) + square(template),
    ))
}

/// Whether a pin through the template laid back can ever say *within* of a place.
fn place_can(prepared: &Prepared, asked: &HoleAsked, tool: HoleTool, rule: DecisionRule) -> bool {
    let more = match asked.widest {
        Some(most) if asked.more_room => most - asked.smallest,
        _ => Length::ZERO,
    };
    capable(asked.zone + more, place_sd(prepared, tool) * 2.0, rule)
}

/// Whether a tool can ever say *within* of a width: a hole in the middle of its tolerance is.
fn width_can(asked: &HoleAsked, tool: HoleTool, rule: DecisionRule) -> bool {
    asked
        .widest
        .is_some_and(|most| capable((most - asked.smallest) / 2.0, tool.sd(), rule))
}

fn guard(sd: Length, rule: DecisionRule) -> Length {
    judge(Length::ZERO, Length::ZERO, sd, rule).guard
}

/// What the check of a hole can tell, before anything is read: of its place, then of its width.
pub(super) fn what_can_tell(
    source: &Source<'_>,
    fixing: &FixingEdit,
    prepared: &Prepared,
) -> Vec<String> {
    let Some(hole) = prepared.holes.first() else {
        return Vec::new();
    };
    let rule = rule_of(source.job);
    let asked = asked_of(Some(fixing), prepared, hole.drill);
    let place = if place_can(prepared, &asked.of, HoleTool::Rule, rule) {
        format!(
            "Place: a pin and a rule tell it to ± {}, and ± {} mm is asked",
            mm(guard(place_sd(prepared, HoleTool::Rule), rule)),
            mm(prepared.allowed)
        )
    } else {
        place_settled_by(prepared, &asked.of, HoleTool::Rule, rule)
    };
    let width = match asked.of.widest {
        None => "Width: nobody said how wide it may become: say it on Setting out".to_owned(),
        Some(most) => {
            let between = width_asked(&asked, most);
            let tools = [
                (HoleTool::Rule, "a rule tells it"),
                (
                    HoleTool::Calipers,
                    "a rule can’t tell it. Calipers can, or the largest drill shank that goes in",
                ),
            ];
            let can = tools
                .into_iter()
                .find(|(tool, _)| width_can(&asked.of, *tool, rule));
            let how = can.map_or("only a plug gauge for GO and NOT GO can tell it", |c| c.1);
            format!("Width: {between}; {how}")
        }
    };
    vec![place, width]
}

/// What would tell whether a place is within, where what it was read with can't.
fn place_settled_by(
    prepared: &Prepared,
    asked: &HoleAsked,
    tool: HoleTool,
    rule: DecisionRule,
) -> String {
    let own = guard(place_sd(prepared, tool), rule);
    let with = match tool {
        HoleTool::Rule => "a pin and a rule tell it",
        HoleTool::Calipers => "a pin and calipers tell it",
    };
    let known = format!(
        "Place: {with} to ± {} only, and ± {} mm is asked",
        mm(own),
        mm(prepared.allowed)
    );
    if place_can(prepared, asked, tool, rule) {
        return format!(
            "{known}: so near the limit it can’t say. Offer up the bracket itself with a bolt of full size in every hole at once: if all go in by hand, the holes serve (common practice, no source)"
        );
    }
    if tool == HoleTool::Rule && place_can(prepared, asked, HoleTool::Calipers, rule) {
        return format!(
            "{known}. Calipers from the pin to the hole’s edge tell it to ± {}",
            mm(guard(place_sd(prepared, HoleTool::Calipers), rule))
        );
    }
    format!(
        "{known}: it may say outside, never within. What settles it is the bracket itself, or a plate drilled with it: offer it up with a bolt or pin of full size in every hole at once. If all go in by hand, the holes serve (common practice, no source)"
    )
}

fn width_asked(asked: &Asked, most: Length) -> String {
    let class = asked
        .class
        .map_or_else(String::new, |c| format!(" ({} of ISO 286-1)", c.words()));
    format!(
        "{} to {} mm{class}",
        hundredths(asked.of.smallest),
        hundredths(most)
    )
}

/// A width: its tolerance is a few tenths.
fn hundredths(length: Length) -> String {
    let text = format!("{:.2}", length.mm());
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn place_words(judged: &HoleJudged, typed: &HoleTyped) -> String {
    format!(
        "Place: {}, {}",
        offset_words(typed.right.mm, typed.up.mm),
        verdict_words(judged.place.verdict)
    )
}

fn room_words(judged: &HoleJudged, asked: &HoleAsked) -> String {
    let half = |l: Length| mm(l / 2.0);
    let by = if judged.more > Length::ZERO {
        format!(
            ": {} asked for, {} more for the bigger hole",
            half(asked.zone),
            half(judged.more)
        )
    } else if asked.more_room && asked.widest.is_none() {
        ": say on Setting out how wide a hole may become, and a bigger one gives more room"
            .to_owned()
    } else {
        String::new()
    };
    format!(
        "± {} of {} mm{by}",
        half(judged.place.guard),
        half(judged.place.limit)
    )
}

fn width_words(
    judged: &HoleJudged,
    asked: &Asked,
    typed: &HoleTyped,
    rule: DecisionRule,
) -> String {
    let read = hundredths(typed.across.mm);
    let Some(most) = asked.of.widest else {
        let least = hundredths(asked.of.smallest);
        return match judged.width {
            Verdict::Outside => format!("Width: {read} mm, at least {least}: outside"),
            Verdict::Within | Verdict::NotProven => format!(
                "Width: {read} mm, at least {least}; nobody said how wide it may become: say it on Setting out"
            ),
        };
    };
    let says = match judged.width {
        Verdict::NotProven if !width_can(&asked.of, typed.with, rule) => {
            "this can’t tell; try calipers, or the largest drill shank that goes in"
        }
        verdict => verdict_words(verdict),
    };
    format!("Width: {read} mm of {}, {says}", width_asked(asked, most))
}

/// What the check of a hole came to: *0.3 right, 0.2 up, within; 11.6 across*.
pub(in crate::prepare) fn found_words(found: &HoleFound) -> String {
    let wide = match found.judged.width {
        Verdict::Outside => ", not the width asked for",
        Verdict::Within | Verdict::NotProven => "",
    };
    format!(
        "{}, {}; {} across{wide}",
        offset_words(found.right.mm, found.up.mm),
        verdict_words(found.judged.place.verdict),
        mm(found.across.mm)
    )
}
