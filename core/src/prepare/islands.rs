//! What is cut is said to hang together, or what falls out of it and what thin parts tear.

use crate::frames::{Flat, Point2};
use crate::job::{Asked, FeatureEdit, Islands};
use crate::outline::Outline;
use crate::template::MarkerKind;
use crate::units::Length;

/// Sheet between two openings that is narrower than this tears when it is cut or lifted (common
/// practice, no source).
const LEAST_WEB: Length = Length::from_mm(1.5);

/// Openings that hold what lies in them, with what is to be said about it.
pub(super) fn held(
    asked: &Asked,
    cut: Outline<Flat>,
    edit: &FeatureEdit,
    kind: MarkerKind,
    notes: &mut Vec<String>,
) -> Outline<Flat> {
    let of = (cut, edit.islands, edit.bridge, kind);
    let (done, said) = asked.alike(of, |(cut, islands, bridge, kind)| {
        let mut said = Vec::new();
        let done = hung(cut.clone(), (*islands, *bridge), *kind, &mut said);
        (done, said)
    });
    notes.extend(said);
    done
}

fn hung(
    cut: Outline<Flat>,
    (chosen, bridge): (Option<Islands>, Option<Length>),
    kind: MarkerKind,
    notes: &mut Vec<String>,
) -> Outline<Flat> {
    let islands = cut.nesting().iter().filter(|n| n.is_hole()).count();
    if islands == 0 {
        web(&cut, notes);
        return cut;
    }
    // A mask is film; anything else falls apart.
    let usual = if kind == MarkerKind::Knife {
        Islands::Film
    } else {
        Islands::Bridged
    };
    let (what, hangs) = if islands == 1 {
        ("1 island".to_owned(), "stays")
    } else {
        (format!("{islands} islands"), "stay")
    };
    if chosen.unwrap_or(usual) == Islands::Film {
        notes.push(format!(
            "{what} inside the outline {hangs} in place on transfer film only: lay the film over the cut sheet before lifting it"
        ));
        web(&cut, notes);
        return cut;
    }
    let width = bridge
        .filter(|w| *w > Length::ZERO)
        .unwrap_or_else(|| bridge_width(&cut));
    let done = cut.bridged(width);
    if let Some(longest) = done
        .bridges
        .iter()
        .map(|b| b.length)
        .reduce(|a, b| if b > a { b } else { a })
    {
        let count = done.bridges.len();
        let held = if done.held == 1 {
            "1 island".to_owned()
        } else {
            format!("{} islands", done.held)
        };
        notes.push(format!(
            "{held} held by {count} bridges {} mm wide: touch in the {count} gaps they leave, each up to {} mm long",
            super::words::mm(width),
            super::words::mm(longest),
        ));
    }
    for at in &done.loose {
        notes.push(format!(
            "no room for two bridges to the island {}: mark it through, use narrower bridges, or lay it with transfer film",
            place(*at)
        ));
    }
    web(&done.outline, notes);
    done.outline
}

/// What is said where an allowance leaves nothing of an outline.
pub(super) fn eaten_words(name: &str, by: Length) -> String {
    format!(
        "the {name} allowance of {} mm leaves nothing of it to cut: draw it from inside, take a finer marker, or say a smaller allowance",
        super::words::mm(by)
    )
}

/// What is said where an allowance closes places of the outline.
pub(super) fn closed_words(kind: MarkerKind, name: &str, by: Length, places: usize) -> String {
    let (by_mm, twice) = (super::words::mm(by), super::words::mm(by * 2.0));
    let s = if places == 1 { "" } else { "s" };
    if kind == MarkerKind::Pounce {
        return format!(
            "edges nearer to each other than {twice} mm are pounced as one: the line runs round both, and the gap between them is painted by eye ({places} place{s})"
        );
    }
    format!(
        "the {name} allowance of {by_mm} mm closes {places} narrow place{s} of the outline: look at the paint edge there"
    )
}

/// From this thickness on a knife no longer turns a corner at a point, and a cutter's own width shows
/// (common practice, no source).
const BOARD: Length = Length::from_mm(1.0);
/// Tighter than this, a bend comes out of board ragged or rounded (common practice, no source).
const LEAST_BEND: Length = Length::from_mm(1.5);

/// What is said where an opening bends more tightly than what it is cut from lets it.
pub(super) fn bend_words(cut: &Outline<Flat>, thickness: Length) -> Option<String> {
    if thickness < BOARD {
        return None;
    }
    let least = cut.least_radius().filter(|r| *r < LEAST_BEND)?;
    let how = if least.mm() < 0.05 {
        "sharp corners".to_owned()
    } else {
        format!("bends of R {}", super::words::mm(least))
    };
    Some(format!(
        "the opening has {how}: in {} mm thick sheet a knife leaves them ragged and a cutter rounds them by half its own width; file them to the line, or take thinner sheet",
        super::words::mm(thickness)
    ))
}

/// How wide a bridge is where nobody says: an eighth of the smaller side in half millimetres, 2 to
/// 5 mm (common practice, no source: narrower tears, wider is seen).
pub(super) fn bridge_width(cut: &Outline<Flat>) -> Length {
    let side = cut
        .bounds()
        .map_or(0.0, |b| b.width().mm().min(b.height().mm()));
    Length::from_mm((libm::round(side / 8.0 * 2.0) / 2.0).clamp(2.0, 5.0))
}

/// *12 mm right and 3 mm above of the middle*.
pub(super) fn place(at: Point2<Flat>) -> String {
    let side = |v: f64, plus: &str, minus: &str| {
        let mm = libm::round(v.abs());
        (mm >= 1.0).then(|| format!("{mm} mm {}", if v > 0.0 { plus } else { minus }))
    };
    let all: Vec<String> = [
        side(at.x_mm(), "right", "left"),
        side(at.y_mm(), "above", "below"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if all.is_empty() {
        "in the middle".into()
    } else {
        format!("{} of the middle", all.join(" and "))
    }
}

/// Says where the sheet between two openings is too narrow to hold.
fn web(cut: &Outline<Flat>, notes: &mut Vec<String>) {
    let narrow = cut.webs(LEAST_WEB);
    if let Some(worst) = narrow
        .iter()
        .min_by(|a, b| a.width.mm().total_cmp(&b.width.mm()))
    {
        let more = match narrow.len() {
            1 => String::new(),
            n => format!(" ({n} such places)"),
        };
        notes.push(format!(
            "only {} mm of sheet is left between two openings {}{more}: it tears easily; use film or card, or a finer marker",
            super::words::mm(worst.width),
            place(worst.at),
        ));
    }
}
