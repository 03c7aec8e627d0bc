//! What lies about the holes of a fixing: edges and neighbours, keep-outs, room for the drill, and
//! the screw that goes through.

use super::stands::clearance_of;
use super::through;
use crate::frames::{Flat, Vector2};
use crate::holes::fastener::{Thread, next_length};
use crate::holes::fit::{FarSide, position_tolerance, position_tolerance_askew};
use crate::holes::laminate::{bolt_in_laminate, spacing};
use crate::holes::through::{ANGLE_DRILL, Drill, STRAIGHT_DRILL, drill_for};
use crate::job::{FixingEdit, HandReaches, HeldBy, HolePurpose};
use crate::prepare::words::mm;
use crate::units::{Angle, Length};

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
/// to the same line, so that the casting moves them together; a bracket that is kept level is
/// turned `by` on that line.
pub(super) fn keep_clear(
    fixing: &FixingEdit,
    drill: Length,
    places: &[Vector2<Flat>],
    by: Angle,
) -> Result<(), InTheWay> {
    let entry = |e: &Option<crate::job::Entry>| e.as_ref().map_or(0.0, |e| e.mm.mm());
    let middle = (entry(&fixing.right), entry(&fixing.up));
    let turn = fixing.turn.unwrap_or(Angle::ZERO).rad() + by.rad();
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

/// Which holes are nearer to an edge or to each other than is usual, and whether somebody lets it stand.
pub(super) fn near(fixing: &FixingEdit, thread: Thread, places: &[Vector2<Flat>]) -> Vec<String> {
    let said = spacing_said(fixing, thread, places);
    let mut notes = said.short;
    notes.extend(said.stands);
    notes.extend(said.lapsed);
    notes
}

/// What else is worth knowing round the holes, in words.
pub(super) fn around(fixing: &FixingEdit, thread: Thread) -> Vec<String> {
    let mut notes = Vec::new();
    notes.extend(fixing.room.as_ref().map(|room| room_words(room.mm)));
    notes.extend(fixing.keep_outs.iter().flatten().map(|out| {
        format!(
            "Keep-out, {} mm across: {}. No hole enters it",
            mm(out.across.mm),
            out.why
        )
    }));
    notes.extend(screw_words(fixing, thread));
    if bolted(fixing) {
        notes.extend(position_words(fixing, thread));
        let skin = measured_skin(fixing);
        notes.extend(skin.into_iter().flat_map(|t| bolt_in_laminate(thread, t)));
        notes.extend(tool_words(thread));
    }
    notes
}

fn bolted(fixing: &FixingEdit) -> bool {
    fixing.purpose.unwrap_or(HolePurpose::Bolt) == HolePurpose::Bolt
}

/// The skin where every layer of it was measured.
fn measured_skin(fixing: &FixingEdit) -> Option<Length> {
    through(fixing.layers.as_deref().unwrap_or_default(), Angle::ZERO)
        .ok()
        .flatten()
        .filter(|t| t.measured)
        .map(|t| t.most)
}

/// How far out the drawing may let each hole be, and what a thread askew takes of it.
fn position_words(fixing: &FixingEdit, thread: Thread) -> Vec<String> {
    let (width, _) = clearance_of(fixing);
    let (hole, bolt) = (thread.clearance(width), thread.diameter());
    let far = match fixing.hand_reaches {
        Some(HandReaches::Yes) => FarSide::Reached,
        Some(HandReaches::No) | None => FarSide::NotReached,
    };
    let class = if thread.name().starts_with('M') {
        format!(", {} (ISO 273, informative)", width.class().words())
    } else {
        String::new()
    };
    let Ok(zone) = position_tolerance(hole, bolt, far.held()) else {
        return Vec::new();
    };
    let mut all = vec![format!(
        "Holes {} mm{class}: each may lie in a zone of Ø {} mm round its place (ASME Y14.5, appendix B); one drilled larger, as much further (ISO 2692)",
        mm(hole),
        mm(zone)
    )];
    let tapped = far == FarSide::NotReached && fixing.held_by != Some(HeldBy::CaptiveNut);
    let askew = fixing
        .plate
        .as_ref()
        .zip(measured_skin(fixing))
        .filter(|_| tapped);
    if let Some((plate, skin)) = askew
        && let Ok(left) = position_tolerance_askew(hole, bolt, skin, plate.mm)
    {
        all.push(format!(
            "A thread tapped askew in {} mm of plate leans its bolt over {} mm of skin: unless it was tapped square in a guide, the zone is only Ø {} mm",
            mm(plate.mm),
            mm(skin),
            mm(left)
        ));
    }
    all
}

/// What a spanner or a key wants round the bolt.
fn tool_words(thread: Thread) -> Option<String> {
    let socket = thread.socket_room()?;
    let key = thread.socket_head().map_or_else(String::new, |h| {
        format!(
            "; a cylindrical head is Ø {} and takes a key of {} (ISO 4762)",
            mm(h.across),
            mm(h.key)
        )
    });
    Some(format!(
        "Room for the tool: a hexagon head is {} mm across its corners (ISO 4014), and its socket wants more{key}",
        mm(socket)
    ))
}

fn room_words(room: Length) -> String {
    let has = format!("{} mm of room for the drill", mm(room));
    let (straight, angle) = (mm(STRAIGHT_DRILL), mm(ANGLE_DRILL));
    match drill_for(room) {
        Some(Drill::Straight) => format!("{has}: a straight drill goes in (about {straight})"),
        Some(Drill::Angle) => {
            format!("{has}: an angle drill and a short bit (a straight one wants about {straight})")
        }
        None => format!(
            "{has}: not even an angle drill goes in (about {angle}). Drill before it is closed, or from the other side"
        ),
    }
}

/// The screw, where the plate is known and every layer was measured.
fn screw_words(fixing: &FixingEdit, thread: Thread) -> Option<String> {
    if !bolted(fixing) {
        return None;
    }
    let plate = fixing.plate.as_ref()?.mm;
    let skin = measured_skin(fixing)?;
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
