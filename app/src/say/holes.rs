//! What the Holes screen says.

use super::numbers::tenth;
use samespot_core::answer::CurveView;
use samespot_core::job::SheetOf;
use samespot_core::prepare::holes::{
    ChanceView, CuredRow, FixingView, GuideView, HoleView, SwingView,
};

/// *over the surface*, *straight*.
#[must_use]
pub fn lies(swing: &SwingView) -> String {
    format!("mm {}", swing.lies())
}

/// How much of a fixing is done.
#[must_use]
pub fn progress(fixing: &FixingView) -> String {
    let done = fixing.holes.iter().filter(|h| h.drilled.is_some()).count();
    format!("{done} of {} drilled", fixing.holes.len())
}

/// What is said of a hole that is done.
#[must_use]
pub fn done(hole: &HoleView) -> Option<String> {
    let drilled = hole.drilled.as_ref()?;
    let became = match &drilled.became {
        Some(words) => format!("Became: {words}"),
        None => "Drilled as asked".to_owned(),
    };
    Some(match &drilled.found {
        Some(found) => format!("{became}. Checked: {found}"),
        None => became,
    })
}

/// How far the worst hole may be off by one way of making it.
#[must_use]
pub fn off_by(chance: &ChanceView) -> String {
    chance.within.map_or_else(
        || "goes with the bracket".to_owned(),
        |w| format!("{} mm", tenth(w)),
    )
}

/// What is made to guide the drill.
#[must_use]
pub const fn guide_name(of: &SheetOf) -> &'static str {
    match of {
        SheetOf::Jig(_) => "Jig",
        SheetOf::Plate(_) => "Setting plate",
        _ => "Drill template",
    }
}

/// What a guide leaves at the worst hole, against what is asked.
#[must_use]
pub fn guide_leaves(guide: &GuideView) -> String {
    let what = match guide.of {
        SheetOf::Plate(_) => "It holds every hole of the bracket",
        _ => "Every hole",
    };
    format!(
        "{what} within {} mm; the bolts ask for {}",
        tenth(guide.within),
        tenth(guide.allowed)
    )
}

/// How many jigs the run takes where their holes may be off by so much.
#[must_use]
pub fn shared(point: &CurveView) -> String {
    let jigs = match point.templates {
        1 => "1 jig for the run".to_owned(),
        n => format!("{n} jigs"),
    };
    let beyond = match point.beyond {
        0 => String::new(),
        1 => ", 1 piece not within it".to_owned(),
        n => format!(", {n} pieces not within it"),
    };
    format!("{jigs} within {} mm{beyond}", tenth(point.tolerance))
}

/// Which distance is read of a bracket after cure.
#[must_use]
pub fn cured(row: &CuredRow) -> String {
    format!(
        "Hole {} of the bracket from {}, {}",
        row.hole,
        row.meant.from,
        row.meant.lies()
    )
}

/// How sure the place is.
#[must_use]
pub fn sure(hole: &HoleView) -> String {
    format!(
        "By what was measured, where it should be is known within {} mm",
        tenth(hole.within)
    )
}
