//! A template that takes several sheets, in one piece to look at.

use super::Source;
use super::sheets::{Issued, template_sheet};
use crate::sheet::drawing::{Meaning, Page};
use crate::sheet::{Drawing, Paper, uncut as in_one_piece};

/// The template without its paper, where one sheet does not hold it; patches and gores are each a
/// template of their own.
#[must_use]
pub fn uncut(source: &Source<'_>, issued: &Issued, paper: Paper, day: &str) -> Option<Drawing> {
    let prepared = &issued.prepared;
    let apart = prepared.gores.is_some() || !prepared.patches.is_empty();
    // A sheet of words beside the only one that is laid joins nothing.
    let laid = |page: &&Page| page.items.iter().any(|i| i.meaning == Meaning::Trim);
    if issued.drawing.pages.iter().filter(laid).count() < 2 || apart {
        return None;
    }
    in_one_piece(&template_sheet(source, prepared, paper, day)).ok()
}
