//! What lies about the holes of a fixing: edges and neighbours, keep-outs, room for the drill, and
//! the screw that goes through.

use super::through;
use crate::frames::{Flat, Vector2};
use crate::holes::fastener::{Thread, next_length};
use crate::holes::laminate::spacing;
use crate::job::{FixingEdit, HandReaches, HeldBy, HolePurpose};
use crate::prepare::words::mm;
use crate::units::{Angle, Length};

/// A straight drill with its bit wants about this much (common practice, no source).
const STRAIGHT_DRILL: Length = Length::from_mm(300.0);
/// An angle drill with a short bit (common practice, no source).
const ANGLE_DRILL: Length = Length::from_mm(110.0);
/// A nut and two threads beyond it: no nut of ISO 4032 is higher than 0.9 of its thread.
const NUT_HEIGHTS: f64 = 0.9;

/// A hole comes too near to what must not be drilled.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "hole {hole} would come {} mm into a keep-out ({why}): move the bracket, or take the keep-out away where it is wrong", mm(*.by)
)]
pub(super) struct InTheWay {
    hole: u32,
    why: String,
    by: Length,
}

/// Refuses holes that enter a keep-out. Both are dimensioned from the same mark, along and square
/// to the same line, so that the casting moves them together.
pub(super) fn keep_clear(
    fixing: &FixingEdit,
    drill: Length,
    places: &[Vector2<Flat>],
) -> Result<(), InTheWay> {
    let entry = |e: &Option<crate::job::Entry>| e.as_ref().map_or(0.0, |e| e.mm.mm());
    let middle = (entry(&fixing.right), entry(&fixing.up));
    let turn = fixing.turn.unwrap_or(Angle::ZERO).rad();
    let radius = drill.mm() / 2.0;
    for (hole, place) in (1_u32..).zip(places) {
        let at = place.turned(turn);
        let (x, y) = (middle.0 + at.x_mm(), middle.1 + at.y_mm());
        for out in fixing.keep_outs.iter().flatten() {
            let apart = libm::hypot(x - out.right.mm.mm(), y - out.up.mm.mm());
            let by = radius + out.across.mm.mm() / 2.0 - apart;
            if by > 1e-9 {
                return Err(InTheWay {
                    hole,
                    why: out.why.clone(),
                    by: Length::from_mm(by),
                });
            }
        }
    }
    Ok(())
}

/// Edges and neighbours of a fixing's holes, as far as they are known.
#[derive(Debug, Clone, PartialEq)]
pub struct SpacingSaid {
    /// For which bolt.
    pub thread: String,
    /// From the hole nearest to an edge to that edge.
    pub to_edge: Option<Length>,
    /// Between the nearest two holes.
    pub pitch: Option<Length>,
    /// What is shorter than the rule of thumb, in words.
    pub short: Vec<String>,
    /// Who lets that stand and why, in words; nothing where nobody does or distances changed since.
    pub stands: Option<String>,
    /// Somebody let other distances stand: in words.
    pub lapsed: Option<String>,
}

/// Edges and neighbours of a fixing's holes; nothing while its bolt or pattern is not known.
#[must_use]
pub fn spacing_of(fixing: &FixingEdit) -> Option<SpacingSaid> {
    let thread = Thread::named(fixing.thread.as_deref()?).ok()?;
    let places = fixing.pattern.as_ref()?.places().ok()?;
    Some(spacing_said(fixing, thread, &places))
}

fn spacing_said(fixing: &FixingEdit, thread: Thread, places: &[Vector2<Flat>]) -> SpacingSaid {
    let mut nearest: Option<f64> = None;
    for (k, a) in places.iter().enumerate() {
        for b in places.iter().skip(k + 1) {
            let d = (*b - *a).norm_mm();
            nearest = Some(nearest.map_or(d, |p| p.min(d)));
        }
    }
    let pitch = nearest.map(Length::from_mm);
    let to_edge = fixing.to_edge.as_ref().map(|e| e.mm);
    let short: Vec<String> = spacing(thread, to_edge, pitch)
        .into_iter()
        .map(|w| w.words())
        .collect();
    let um = |l: Option<Length>| l.map(Length::to_um);
    let (mut stands, mut lapsed) = (None, None);
    if let Some(said) = fixing.spacing_let.as_ref().filter(|_| !short.is_empty()) {
        let same = said.thread == thread.name()
            && um(said.to_edge) == um(to_edge)
            && um(said.pitch) == um(pitch);
        if same {
            stands = Some(format!("Let stand by {}: {}", said.initials, said.reason));
        } else {
            lapsed = Some(format!(
                "{} let another bolt or other distances stand, not these: ask again",
                said.initials
            ));
        }
    }
    SpacingSaid {
        thread: thread.name().to_owned(),
        to_edge,
        pitch,
        short,
        stands,
        lapsed,
    }
}

/// What is worth knowing of all that, in words.
pub(super) fn around(fixing: &FixingEdit, thread: Thread, places: &[Vector2<Flat>]) -> Vec<String> {
    let said = spacing_said(fixing, thread, places);
    let mut notes = said.short;
    notes.extend(said.stands);
    notes.extend(said.lapsed);
    notes.extend(fixing.room.as_ref().map(|room| room_words(room.mm)));
    notes.extend(fixing.keep_outs.iter().flatten().map(|out| {
        format!(
            "Keep-out, {} mm across: {}. No hole enters it",
            mm(out.across.mm),
            out.why
        )
    }));
    notes.extend(screw_words(fixing, thread));
    notes
}

fn room_words(room: Length) -> String {
    let has = format!("{} mm of room for the drill", mm(room));
    if room.mm() + 1e-9 >= STRAIGHT_DRILL.mm() {
        format!("{has}: a straight drill goes in (about 300)")
    } else if room.mm() + 1e-9 >= ANGLE_DRILL.mm() {
        format!("{has}: an angle drill and a short bit (a straight one wants about 300)")
    } else {
        format!(
            "{has}: not even an angle drill goes in (about 110). Drill before it is closed, or from the other side"
        )
    }
}

/// The screw, where the plate is known and every layer was measured.
fn screw_words(fixing: &FixingEdit, thread: Thread) -> Option<String> {
    if !matches!(
        fixing.purpose.unwrap_or(HolePurpose::Bolt),
        HolePurpose::Bolt
    ) {
        return None;
    }
    let plate = fixing.plate.as_ref()?.mm;
    let skin = through(fixing.layers.as_deref().unwrap_or_default(), Angle::ZERO)
        .ok()
        .flatten()
        .filter(|t| t.measured)?
        .most;
    let washer = thread.large_washer().map_or(Length::ZERO, |w| w.thickness);
    let loose = match fixing.held_by {
        Some(held) => held == HeldBy::LooseNut,
        None => fixing.hand_reaches == Some(HandReaches::Yes),
    };
    let beyond = match fixing.held_by {
        Some(HeldBy::TappedPlate) => Length::ZERO,
        None if !loose => Length::ZERO,
        _ => thread.diameter() * NUT_HEIGHTS + thread.pitch() * 2.0,
    };
    let washers = if loose { washer * 2.0 } else { washer };
    let needed = skin + plate + washers + beyond;
    let made_of = format!(
        "{} mm of laminate, plate {}, {}{}",
        mm(skin),
        mm(plate),
        if loose { "washers " } else { "washer " },
        mm(washers)
    );
    let nut = if beyond > Length::ZERO {
        ", a nut and two threads"
    } else {
        ", the plate threaded through"
    };
    Some(match next_length(needed) {
        Ok(length) => format!(
            "Screw under its head: {made_of}{nut} come to {} mm; the next standard length is {} × {} (ISO 888)",
            mm(needed),
            thread.name(),
            mm(length)
        ),
        Err(_) => format!(
            "Screw under its head: {made_of}{nut} come to {} mm: longer than any standard length. Use studding, or a bracket nearer to the skin",
            mm(needed)
        ),
    })
}
