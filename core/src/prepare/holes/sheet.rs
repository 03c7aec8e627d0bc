//! The drill sheet: a page to take to the piece.

use super::view::{
    BoltingView, FixingView, HatchView, HoleView, HolesView, RunningView, Stop, SwingView, Through,
    Tilts, WayView,
};
use super::words::{CAUTIONS, DEFERS, STRAPPED};
use crate::frames::{Flat, Point2};
use crate::job::Job;
use crate::prepare::words::{letter_line, mm};
use crate::sheet::{Block, Drawing, Letter, Paper, Picture, SheetError, letter};
use crate::units::{Angle, Length};

/// Sides of the polygon that stands for a hole in the picture.
const ROUND: u32 = 32;

/// The drill sheet of a piece.
///
/// # Errors
/// A paper that is none.
pub fn drill_sheet(
    job: &Job,
    view: &HolesView,
    paper: Paper,
    day: &str,
) -> Result<Drawing, SheetError> {
    let mut blocks = vec![Block::Heading("Before you drill".into())];
    // All of them, in small letters: the first holes belong on the same page.
    blocks.push(Block::Small(CAUTIONS.map(str::to_owned).to_vec()));
    blocks.push(Block::Boxes(vec![STRAPPED.into()]));
    for fixing in &view.fixings {
        of_fixing(fixing, &mut blocks);
    }
    for hatch in &view.hatches {
        of_hatch(hatch, &mut blocks);
    }
    blocks.push(Block::Words(DEFERS.into()));
    letter(
        &Letter {
            job: letter_line(job, day),
            title: format!("Drill sheet, piece {}", view.piece),
            stamp: String::new(),
            foot: format!("Samespot {} · {day}", env!("CARGO_PKG_VERSION")),
            blocks,
            issue: 0,
        },
        paper,
    )
}

fn of_fixing(fixing: &FixingView, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading(format!("{}: {}", fixing.name, fixing.on)));
    if let Some(why) = &fixing.cannot {
        blocks.push(Block::Words(format!("Not laid out. {why}")));
        return;
    }
    blocks.push(Block::Lead(format!(
        "Drill {} mm: {}",
        mm(fixing.drill),
        fixing.drill_for
    )));
    blocks.push(Block::Words(fixing.aim.clone()));
    blocks.extend(fixing.plumb.iter().cloned().map(Block::Words));
    blocks.extend(fixing.through.map(|t| Block::Words(through_words(t))));
    if let Some(stop) = &fixing.stop {
        blocks.extend(stop_words(stop).into_iter().map(Block::Words));
    }
    blocks.extend(
        fixing
            .no_through
            .as_ref()
            .map(|why| Block::Words(format!("Depth. {why}"))),
    );
    if let Some(cured) = fixing.cured.as_ref().filter(|c| c.counts) {
        blocks.extend(cured.says.iter().cloned().map(Block::Words));
    }
    let columns = [
        ("Hole", 1.0),
        ("Swing", 3.0),
        ("Swing", 3.0),
        ("Check", 3.0),
        ("The hole lies", 4.0),
        ("Drill leans", 3.0),
        ("Done, or became", 3.0),
    ];
    blocks.push(Block::Table {
        columns: columns
            .iter()
            .map(|(name, share)| ((*name).to_owned(), *share))
            .collect(),
        rows: fixing.holes.iter().map(row).collect(),
    });
    blocks.push(Block::Picture(picture(fixing)));
    blocks.extend(running_table(fixing));
    blocks.extend(ways_table(fixing));
    let marks: Vec<String> = fixing
        .marks
        .iter()
        .map(|m| match &m.gone {
            Some(why) => why.clone(),
            None => format!("{}: {}", m.letter, m.found),
        })
        .collect();
    blocks.push(Block::Words(marks.join("; ")));
    blocks.extend(fixing.notes.iter().map(|n| Block::Words(n.clone())));
    if let Some(bolting) = &fixing.bolting {
        blocks.extend(bolting_words(bolting).into_iter().map(Block::Words));
    }
    let chances: Vec<String> = fixing
        .chances
        .iter()
        .map(|c| format!("{} {}", c.method, percent(c.chance)))
        .collect();
    if !chances.is_empty() {
        blocks.push(Block::Words(format!(
            "Chance that all bolts enter: {}",
            chances.join("; ")
        )));
    }
}

/// A hole by running dimensions: *105 along A–B from A, then 37.5 square above the line*.
#[must_use]
pub fn running_words(running: &RunningView) -> String {
    format!(
        "{} along {}–{} from {}, then {} square {} the line",
        mm(running.along),
        running.from,
        running.to,
        running.from,
        mm(running.off),
        running.side
    )
}

/// Every hole by running dimensions from one mark; nothing on a face that is not flat.
fn running_table(fixing: &FixingView) -> Option<Block> {
    let first = fixing.holes.iter().find_map(|h| h.running.as_ref())?;
    let row = |hole: &HoleView| {
        let r = hole.running.as_ref()?;
        let off = format!("{} {} the line", mm(r.off), r.side);
        Some(vec![hole.number.to_string(), mm(r.along), off])
    };
    Some(Block::Table {
        columns: vec![
            ("Hole".into(), 1.0),
            (
                format!(
                    "Running: along {}–{} from {}, all from there",
                    first.from, first.to, first.from
                ),
                5.0,
            ),
            ("Then square off".into(), 4.0),
        ],
        rows: fixing.holes.iter().filter_map(row).collect(),
    })
}

/// How each drill is set and what it goes through; nothing where it stands square and no layer has
/// a thickness.
fn ways_table(fixing: &FixingView) -> Option<Block> {
    let rows: Vec<Vec<String>> = fixing
        .holes
        .iter()
        .filter(|h| h.way.is_some() || !h.towards.is_empty())
        .map(|hole| {
            let way = hole.way.as_ref();
            vec![
                hole.number.to_string(),
                hole.tilts.map_or_else(String::new, tilts_words),
                way.map_or_else(String::new, layers_words),
                way.map_or_else(String::new, clamped_words),
                way.map_or_else(String::new, comes_out_words),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| Block::Table {
        columns: [
            ("Hole", 1.0),
            ("Two tilts from square", 3.4),
            ("Through, in order", 5.0),
            ("The bolt clamps", 2.6),
            ("Comes out inside", 4.0),
        ]
        .map(|(name, share)| (name.to_owned(), share))
        .to_vec(),
        rows,
    })
}

/// The order of the bolts and who comes to them, in words.
#[must_use]
pub fn bolting_words(bolting: &BoltingView) -> Vec<String> {
    let order: Vec<String> = bolting.order.iter().map(u32::to_string).collect();
    let mut words = vec![match order.len() {
        0 | 1 => bolting.how.clone(),
        _ => format!("Bolts in the order {}. {}", order.join(", "), bolting.how),
    }];
    if !bolting.reach.is_empty() {
        let each: Vec<String> = bolting
            .reach
            .iter()
            .map(|r| {
                let short = if r.reached { "" } else { ", OUT OF REACH" };
                format!("hole {} {} mm{short}", r.hole, mm(r.way))
            })
            .collect();
        words.push(format!("From the middle of the hatch: {}", each.join("; ")));
    }
    words.extend(bolting.says.iter().cloned());
    words
}

fn of_hatch(hatch: &HatchView, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading(format!(
        "Before {} is closed (plug {})",
        hatch.name, hatch.plug
    )));
    blocks.push(Block::Words(hatch.stands.clone()));
    let ticks = hatch.before.iter().map(|b| {
        let done = if b.done { "done" } else { "open" };
        vec![b.what.clone(), done.to_owned()]
    });
    blocks.push(Block::Table {
        columns: vec![("Seen to before".into(), 14.0), ("".into(), 2.0)],
        rows: ticks.collect(),
    });
}

/// A lean as two tilts: *4.2° to the right, 7.1° up*.
#[must_use]
pub fn tilts_words(tilts: Tilts) -> String {
    let one = |angle: Angle, plus: &str, minus: &str| {
        let tenths = libm::round(angle.deg() * 10.0) / 10.0;
        (tenths.abs() >= 0.1).then(|| {
            let way = if tenths > 0.0 { plus } else { minus };
            format!("{:.1}° {way}", tenths.abs())
        })
    };
    let both: Vec<String> = [
        one(tilts.across, "to the right", "to the left"),
        one(tilts.up, "up", "down"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if both.is_empty() {
        "none".into()
    } else {
        both.join(", ")
    }
}

/// What a drill goes through: *cap skin 5.6 mm, bed or shim 2.1, plate 8*.
#[must_use]
pub fn layers_words(way: &WayView) -> String {
    let all: Vec<String> = way
        .layers
        .iter()
        .map(|l| format!("{} {}", l.name, mm(l.length)))
        .collect();
    let reckoned = if way.measured {
        ""
    } else {
        "; reckoned, ±30 % in the glass"
    };
    format!("{} mm{reckoned}", all.join(", "))
}

/// What the bolt clamps along its hole.
#[must_use]
pub fn clamped_words(way: &WayView) -> String {
    let about = if way.measured { "" } else { "about " };
    format!("{about}{} mm", mm(way.clamped))
}

/// Where the drill comes out of the skin, from the point square behind where it goes in, seen from
/// outside.
#[must_use]
pub fn comes_out_words(way: &WayView) -> String {
    let one = |length: Length, plus: &str, minus: &str| {
        let tenths = length.to_um() / 100;
        (tenths != 0).then(|| {
            let way = if tenths > 0 { plus } else { minus };
            format!("{} {way}", mm(length.abs()))
        })
    };
    let both: Vec<String> = [
        one(way.comes_out.0, "right", "left"),
        one(way.comes_out.1, "up", "down"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if both.is_empty() {
        "square behind where it goes in".into()
    } else {
        format!("{} of square behind it", both.join(" and "))
    }
}

/// A chance as it is written: never certain, never hopeless by rounding alone.
#[must_use]
pub fn percent(chance: f64) -> String {
    match chance * 100.0 {
        p if p < 1.0 => "under 1 %".into(),
        p if p > 99.0 => "over 99 %".into(),
        p => format!("{p:.0} %"),
    }
}

/// How much there is to drill through, in words.
#[must_use]
pub fn through_words(t: Through) -> String {
    if t.measured {
        format!("Through {} mm, measured", mm(t.most))
    } else {
        format!(
            "Through about {} to {} mm, reckoned from the weight of glass: measure it at a pilot hole before a stop is set",
            mm(t.least),
            mm(t.most)
        )
    }
}

/// Where the collar stands, in words.
#[must_use]
pub fn stop_words(stop: &Stop) -> Vec<String> {
    let mut words = vec![format!(
        "Collar {} mm from the tip of the bit: the skin, {} mm for the bit's point (118°) and 3 mm. A bit of {} mm at least",
        mm(stop.collar),
        mm(stop.point),
        mm(stop.bit)
    )];
    words.extend(stop.through_bracket.map(|at| {
        let edge = stop.far_edge.map_or_else(String::new, |edge| {
            format!(
                ". The point of this bit is {} mm long, and its stop is not let out for it: the bracket's far edge stays {} mm wide; open it with a reamer or from the other side",
                mm(stop.point),
                mm(edge)
            )
        });
        format!(
            "Through the bracket too: collar {} mm from the tip, 3 mm past the bracket and no further: the finish is behind it{edge}",
            mm(at)
        )
    }));
    words
}

fn swing(s: &SwingView) -> String {
    format!("{}  {} {}", s.from, mm(s.length), s.lies())
}

fn row(hole: &HoleView) -> Vec<String> {
    let mut cells = vec![hole.number.to_string()];
    match &hole.tape {
        Some(t) => cells.extend([
            swing(&t.first),
            swing(&t.second),
            t.check.as_ref().map_or_else(|| "none".into(), swing),
            t.side.clone(),
        ]),
        None => cells.extend([
            hole.no_tape.clone().unwrap_or_default(),
            String::new(),
            String::new(),
            String::new(),
        ]),
    }
    cells.push(lean_words(hole));
    cells.push(match &hole.drilled {
        Some(d) => {
            let became = d.became.clone().unwrap_or_else(|| "drilled".into());
            match &d.found {
                Some(found) => format!("{became}; {found}"),
                None => became,
            }
        }
        None => String::new(),
    });
    cells
}

/// How the drill leans at one hole, in words.
#[must_use]
pub fn lean_words(hole: &HoleView) -> String {
    if hole.towards.is_empty() {
        "square to the face".into()
    } else {
        format!("{:.0}° {}", hole.lean.deg(), hole.towards)
    }
}

fn picture(fixing: &FixingView) -> Picture {
    let at = |(x, y): (Length, Length)| Point2::<Flat>::from_mm(x.mm(), y.mm());
    let r = fixing.drill.mm() / 2.0;
    let round = |hole: &HoleView| {
        (0..=ROUND)
            .map(|k| {
                let turn = core::f64::consts::TAU * f64::from(k) / f64::from(ROUND);
                Point2::from_mm(
                    hole.at.0.mm() + r * libm::cos(turn),
                    hole.at.1.mm() + r * libm::sin(turn),
                )
            })
            .collect()
    };
    let holes = fixing.holes.iter();
    Picture {
        was: Vec::new(),
        will: holes.clone().map(round).collect(),
        marks: fixing
            .marks
            .iter()
            .filter(|m| m.gone.is_none())
            .map(|m| (m.letter.clone(), at(m.at)))
            .chain(holes.map(|h| (h.number.to_string(), at(h.at))))
            .collect(),
    }
}
