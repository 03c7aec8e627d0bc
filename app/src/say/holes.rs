//! What the Holes screen says.

use super::numbers::tenth;
use samespot_core::prepare::holes::{FixingView, HoleView, SwingView};

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
    Some(match &drilled.became {
        Some(words) => format!("Became: {words}"),
        None => "Drilled as asked".to_owned(),
    })
}

/// How sure the place is.
#[must_use]
pub fn sure(hole: &HoleView) -> String {
    format!(
        "By what was measured, where it should be is known within {} mm",
        tenth(hole.within)
    )
}
