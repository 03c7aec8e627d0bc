//! The holes of one piece: where they go on its casting, and how to find them with a tape.
//!
//! The pattern is the bracket's: flat, in the plane square to the drill. On a round face each hole
//! is where its line through the pattern comes out of the face, so that all bolts stay parallel.

mod around;
mod chances;
mod checked;
mod closing;
mod cured;
mod guides;
mod jig;
mod laid;
mod over_edge;
mod plate;
mod running;
mod sheet;
mod stands;
mod stops;
mod template;
mod view;
mod ways;
mod words;

pub use around::{SpacingSaid, spacing_of};
pub(super) use checked::found_words;
use checked::what_can_tell;
pub use checked::{HoleJudgement, HoleTyped, judge_typed};
pub(super) use jig::{prepare_jig, prepare_plate};
pub use sheet::{
    bolting_words, clamped_words, comes_out_words, drill_sheet, layers_words, lean_words, percent,
    running_words, stop_words, through_words, tilts_words,
};
pub use template::HolePlace;
pub(super) use template::prepare_drill;
pub use view::*;
pub use words::{CAUTIONS, DEFERS, STRAPPED};

use super::Source;
use super::naming::casting_words;
use super::words::{mm, upper};
use crate::frames::{Flat, Vector2};
use crate::holes::chance::Alike;
use crate::holes::fastener::Thread;
use crate::holes::laminate::{GlassWeight, Thickness, WeightError};
use crate::holes::through::{bit_length, collar_at, far_edge, tip};
use crate::job::{
    EntityRef, FixingEdit, FixingId, Hand, HandReaches, HoleLayer, HolePurpose, Job, PieceId,
    SheetOf,
};
use crate::units::{Angle, Length};
use around::{around, near};
use chances::{Moves, chances, together};
use closing::{bolting, hatches};
use cured::{cured_view, settled};
use guides::guide;
use laid::{Laid, lay};
use stands::{Cannot, Stands, as_meant, drill_of};
use ways::ways;

/// Why there are no holes to show, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HolesError {
    /// No fixing with holes.
    #[error(
        "no bracket of this job says yet which holes are drilled, and nothing is cut out of this piece: say on Setting out, at the face they are drilled from, where it goes, which bolt it takes and how its holes lie"
    )]
    NoFixing,
    /// No such piece.
    #[error("this job has no piece {0}")]
    NoPiece(String),
}

/// The holes of a piece.
///
/// # Errors
/// [`HolesError`]; what stands in the way of one fixing is said in its view.
pub fn holes_view(source: &Source<'_>, piece: &PieceId) -> Result<HolesView, HolesError> {
    let job = source.job;
    let edit = job
        .pieces
        .get(piece)
        .ok_or_else(|| HolesError::NoPiece(piece.to_string()))?;
    let fixings: Vec<FixingView> = job
        .fixings
        .iter()
        .filter(|(_, f)| f.pattern.is_some())
        .map(|(id, fixing)| fixing_view(source, id, fixing, piece))
        .collect();
    let hatches = hatches(job, piece, &fixings);
    // A hatch is cut and closed whether or not a bracket is bolted behind it.
    if fixings.is_empty() && hatches.is_empty() {
        return Err(HolesError::NoFixing);
    }
    Ok(HolesView {
        id: piece.clone(),
        hatches,
        piece: edit
            .number
            .map_or_else(|| piece.to_string(), |n| n.to_string()),
        fixings,
    })
}

fn fixing_view(
    source: &Source<'_>,
    id: &FixingId,
    fixing: &FixingEdit,
    piece: &PieceId,
) -> FixingView {
    let name = fixing.name.clone().unwrap_or_else(|| id.to_string());
    let mut view = FixingView {
        fixing: id.clone(),
        on: on_words(source.job, fixing, piece),
        name: name.clone(),
        cannot: None,
        drill: Length::ZERO,
        drill_for: String::new(),
        aim: String::new(),
        through: None,
        stop: None,
        no_through: None,
        marks: Vec::new(),
        holes: Vec::new(),
        plumb: None,
        bolting: None,
        chances: Vec::new(),
        guides: Vec::new(),
        plate: None,
        stops: stops::views(source.job, fixing, piece),
        cured: None,
        can_tell: Vec::new(),
        near: Vec::new(),
        notes: Vec::new(),
    };
    if let Err(why) = fill(&mut view, source, fixing, piece) {
        view.cannot = Some(why.to_string());
        view.holes.clear();
    }
    view
}

/// What is drilled, in words: *Cap 7, face front; the figure’s own LEFT*.
fn on_words(job: &Job, fixing: &FixingEdit, piece: &PieceId) -> String {
    let face = fixing.face.as_ref().and_then(|f| job.faces.get(f));
    let casting = face
        .and_then(|f| job.casting_of(piece, f.part.as_ref()?))
        .map(|c| casting_words(job, c));
    let face = face.and_then(|f| f.name.clone());
    let on = [casting, face]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", face ");
    // Left and right brackets are told apart before anything is drilled.
    match fixing.hand {
        Some(Hand::Left) => format!("{on}; the figure’s own LEFT"),
        Some(Hand::Right) => format!("{on}; the figure’s own RIGHT"),
        None => on,
    }
}

fn fill(
    view: &mut FixingView,
    source: &Source<'_>,
    fixing: &FixingEdit,
    piece: &PieceId,
) -> Result<(), Cannot> {
    let bolted = fixing.purpose.unwrap_or(HolePurpose::Bolt) == HolePurpose::Bolt;
    let meant = as_meant(source, &view.name, fixing, piece)?;
    let mut laid = lay(source.job, fixing, piece, &meant)?;
    if bolted {
        // Before they are believed, so that what contradicts can be read again.
        view.cured = Some(cured_view(source.job, &view.fixing, piece, &laid));
        let plate = SheetOf::Plate(view.fixing.clone());
        let prepared = prepare_plate(source, &view.fixing, piece);
        view.plate = Some(guide(source, plate, piece, prepared));
    }
    let stands = settled(source, &view.fixing, &view.name, fixing, piece, meant)?;
    if let Some(cured) = &stands.cured {
        laid = lay(source.job, fixing, piece, &stands)?;
        if let Some(view) = &mut view.cured {
            view.counts = true;
            view.says = cured.says(&stands.places);
        }
    }
    let Stands {
        thread,
        places,
        cured,
        standing,
    } = stands;
    let surface = &standing.layout.surface;
    let Laid {
        marks,
        holes,
        spots,
        axes,
        round,
        spread,
    } = laid;
    view.marks = marks;
    view.holes = holes;
    for hole in &mut view.holes {
        let last = source
            .job
            .drilled
            .about_part(piece, &EntityRef::Fixing(view.fixing.clone()))
            .rfind(|d| d.says.hole == hole.number);
        hole.drilled = last.map(|d| DrilledView {
            became: d.says.became.clone(),
            found: d.says.found.as_deref().map(found_words),
        });
    }
    if let Some(ways) = ways(surface, &axes, &spots, fixing)? {
        for (hole, way) in view.holes.iter_mut().zip(ways) {
            hole.way = Some(way);
        }
    }
    if bolted {
        view.bolting = bolting(source, fixing, piece, (surface, &spots), &places);
    }
    view.plumb = fixing.looks_up.map(plumb_words);
    view.aim = if round {
        "Square to the face at the middle of the pattern, and all holes parallel: the face is not flat, so the drill leans at each hole by the angle given".into()
    } else {
        "Square to the face".into()
    };
    let (drill, drill_for) = drill_of(fixing, thread);
    (view.drill, view.drill_for) = (drill, drill_for);
    let worst = view.holes.iter().map(|h| h.lean.rad()).fold(0.0, f64::max);
    let layers = fixing.layers.as_deref().unwrap_or_default();
    view.no_through = unsaid_layers(layers);
    if view.no_through.is_none() {
        view.through = through(layers, Angle::from_rad(worst))?;
        let plate = fixing.plate.as_ref().map(|p| p.mm);
        view.stop = view.through.and_then(|t| stop(t, plate, drill, worst));
    }
    let template = SheetOf::Fixing(view.fixing.clone());
    let prepared = prepare_drill(source, &view.fixing, piece);
    if let Ok(prepared) = &prepared {
        view.can_tell = what_can_tell(source, fixing, prepared);
    }
    let by_template = prepared.as_ref().ok().and_then(together);
    let with_bracket = |alike: Alike<Flat>| cured.iter().fold(alike, |a, c| c.also(a, &places));
    view.guides.push(guide(source, template, piece, prepared));
    let jig = SheetOf::Jig(view.fixing.clone());
    let prepared = prepare_jig(source, &view.fixing, piece);
    let by_jig = prepared.as_ref().ok().and_then(together);
    view.guides.push(guide(source, jig, piece, prepared));
    if bolted {
        let measured = Alike::of_pose(&places, spread);
        let moves = Moves {
            measured,
            by_template: by_template.map(with_bracket),
            by_jig: by_jig.map(with_bracket),
        };
        chances(view, fixing, thread, &places, &moves)?;
    }
    notes(view, fixing, thread, &places);
    view.notes.extend(standing.level.map(|l| upper(&l.words())));
    Ok(())
}

/// Which layers nobody has given a thickness, and what to do: without them no depth is shown, as
/// one that leaves a layer out would set the stop too short.
fn unsaid_layers(layers: &[HoleLayer]) -> Option<String> {
    let names: Vec<String> = (1_u32..)
        .zip(layers)
        .filter(|(_, layer)| match &layer.measured {
            Some(read) => read.mm <= Length::ZERO,
            None => layer.glass.is_empty(),
        })
        .map(|(number, layer)| match layer.name.trim() {
            "" => format!("layer {number}"),
            name => format!("‘{name}’"),
        })
        .collect();
    let (last, first) = names.split_last()?;
    let named = if first.is_empty() {
        format!("{last} is")
    } else {
        format!("{} and {last} are", first.join(", "))
    };
    Some(format!(
        "Not known: nothing says how thick {named}. Measure through at a pilot hole, or say the layers of glass; set no stop before"
    ))
}

/// How thick each layer is, by what was measured or else by its glass.
fn skins(layers: &[HoleLayer]) -> Result<Vec<Thickness>, WeightError> {
    let of = |layer: &HoleLayer| match &layer.measured {
        Some(read) => Ok(Thickness::Measured(read.mm)),
        None => {
            let glass = layer.glass.iter().map(|g| GlassWeight::read(g));
            Ok(Thickness::of_layers(&glass.collect::<Result<Vec<_>, _>>()?))
        }
    };
    layers.iter().map(of).collect()
}

/// The drill against plumb, from how far the face looks up at the middle of the holes.
fn plumb_words(looks_up: Angle) -> String {
    let deg = libm::round(looks_up.deg() * 10.0) / 10.0;
    let off_plumb = libm::round((90.0 - deg.abs()) * 10.0) / 10.0;
    match deg {
        d if d.abs() < 0.05 => "The drill runs level: 90° off plumb".into(),
        d if d > 89.95 => "The drill runs plumb, down".into(),
        d if d < -89.95 => "The drill runs plumb, up from below".into(),
        d if d > 0.0 => format!(
            "The drill runs {d}° below level, {off_plumb}° off plumb: its free end stands higher than its tip"
        ),
        d => format!(
            "The drill runs {}° above level, {off_plumb}° off plumb: its free end hangs lower than its tip",
            d.abs()
        ),
    }
}

/// How long the drill runs in the material where it leans most.
fn through(layers: &[HoleLayer], lean: Angle) -> Result<Option<Through>, WeightError> {
    if layers.is_empty() {
        return Ok(None);
    }
    let (mut least, mut most, mut measured) = (0.0, 0.0, true);
    for thickness in skins(layers)? {
        let (low, high) = thickness.between();
        measured &= thickness.is_measured();
        least += low.mm();
        most += high.mm();
    }
    // A drill that leans by a runs t / cos a in a skin of t.
    let longer = libm::cos(lean.rad()).max(0.1);
    Ok(Some(Through {
        least: Length::from_mm(least),
        most: Length::from_mm(most / longer),
        measured,
    }))
}

/// Where the collar stands, as far as it may be said: never from the weight of glass alone.
fn stop(through: Through, plate: Option<Length>, drill: Length, lean_rad: f64) -> Option<Stop> {
    if !through.measured {
        return None;
    }
    let collar = collar_at(through.most, Some(Thickness::Measured(through.most)), drill)?;
    let longer = libm::cos(lean_rad).max(0.1);
    let through_bracket =
        plate.and_then(|plate| collar_at(through.most + plate / longer, None, drill));
    let edge = far_edge(drill);
    let deepest = through_bracket.filter(|b| *b > collar).unwrap_or(collar);
    Some(Stop {
        collar,
        bit: bit_length(deepest),
        through_bracket,
        point: tip(drill),
        // In tenths, as it is read: an edge that is narrower by less is as wide as the bit.
        far_edge: (through_bracket.is_some() && mm(edge) != mm(drill)).then_some(edge),
    })
}

fn notes(view: &mut FixingView, fixing: &FixingEdit, thread: Thread, places: &[Vector2<Flat>]) {
    view.notes.push(match fixing.hand_reaches {
        Some(HandReaches::Yes) => {
            "A hand reaches the far side: bolt and nut, clearance holes in both parts".into()
        }
        Some(HandReaches::No) => {
            "No hand reaches the far side after closing: a tapped plate or captive nut holds the bolt, and only this hole gives room".into()
        }
        None => "Can a hand reach the far side after closing? Not said: reckoned as if not".into(),
    });
    view.near = near(fixing, thread, places);
    view.notes.extend(view.near.iter().cloned());
    view.notes.extend(around(fixing, thread));
    if let Some(washer) = thread.large_washer() {
        view.notes.push(format!(
            "Large washers on glass fibre: {} mm across (ISO 7093-1)",
            mm(washer.outside)
        ));
    }
}
