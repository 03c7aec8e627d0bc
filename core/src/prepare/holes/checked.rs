//! A drilled hole checked: its width, and where its middle is against the template laid back on it.

use super::super::checks::{offset_words, rule_of, sources, verdict_words};
use super::super::doubted::Doubted;
use super::super::words::mm;
use super::template::prepare_drill;
use crate::check::{GAP_SD, HoleAsked, HoleJudged, HoleRead, Sources, Verdict, judge_hole};
use crate::job::{BiggerHole, Entry, FixingId, HoleFound, PieceId};
use crate::prepare::Source;
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
    let edit = source.job.fixings.get(fixing);
    let asked = HoleAsked {
        smallest: hole.drill,
        widest: edit.and_then(|f| f.widest.as_ref()).map(|w| w.mm),
        zone: prepared.allowed * 2.0,
        more_room: edit.and_then(|f| f.bigger_hole) == Some(BiggerHole::MoreRoom),
    };
    let Sources {
        gap,
        laying,
        template,
    } = sources(&prepared);
    let square = |l: Length| l.mm() * l.mm();
    let read = HoleRead {
        across: typed.across.mm,
        right: typed.right.mm,
        up: typed.up.mm,
        // One offset each way by rule, with the template laid on its crosses.
        place_sd: Length::from_mm(libm::sqrt(square(gap) + square(laying) + square(template))),
        across_sd: GAP_SD,
    };
    let rule = rule_of(source.job);
    let mut judged = judge_hole(&asked, &read, rule);
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
        room: room_words(&judged, &asked),
        width: width_words(&judged, &asked, typed),
    })
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

fn width_words(judged: &HoleJudged, asked: &HoleAsked, typed: &HoleTyped) -> String {
    let to = asked
        .widest
        .map_or_else(String::new, |w| format!(" to {}", mm(w)));
    let says = match judged.width {
        Verdict::NotProven => "a rule can’t tell; try a drill’s shank in it",
        verdict => verdict_words(verdict),
    };
    format!(
        "Width: {} mm of {}{to}, {says}",
        mm(typed.across.mm),
        mm(asked.smallest)
    )
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
