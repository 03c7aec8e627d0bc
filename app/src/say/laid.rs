//! What a template is made of.

use super::numbers::size;
use crate::widgets::choice::Choice;
use samespot_core::template::{LAID, Laid};
use samespot_core::units::Length;

/// *card 0.5 mm*, or *a sheet 0.8 mm thick*.
#[must_use]
pub fn words(thickness: Length) -> String {
    match Laid::named(thickness) {
        Some(name) => format!("{name} {} mm", size(thickness)),
        None => format!("a sheet {} mm thick", size(thickness)),
    }
}

/// The usual ones to choose from.
#[must_use]
pub fn choices() -> Vec<Choice> {
    LAID.iter().map(|l| Choice::words(l.name, l.name)).collect()
}

/// How thick the one chosen is.
#[must_use]
pub fn thickness(name: &str) -> Option<Length> {
    LAID.iter().find(|l| l.name == name).map(|l| l.thickness)
}
