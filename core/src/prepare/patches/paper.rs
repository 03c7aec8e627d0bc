//! The sheets of an outline in patches: the whole's words, each patch's own lines and crosses.

use super::Patch;
use crate::prepare::sheets::{drawn_cross, worst_error};
use crate::prepare::words::tenth;
use crate::sheet::TemplateSheet;

/// A sheet for each patch, from what the sheet of the whole says; which set of how many, where
/// several pieces share one.
pub(in crate::prepare) fn patch_sheets(
    whole: &TemplateSheet,
    patches: &[Patch],
    set: Option<(usize, usize)>,
) -> Vec<TemplateSheet> {
    let allowed = whole.words.worst_error.as_ref().map(|e| e.allowed);
    patches
        .iter()
        .enumerate()
        .map(|(k, patch)| {
            let mut sheet = TemplateSheet {
                paint_edges: patch.paint_edges.clone(),
                cuts: patch.cuts.clone(),
                crosses: patch.crosses.iter().map(drawn_cross).collect(),
                joins: patch.joins.clone(),
                centre_lines: Vec::new(),
                darts: Vec::new(),
                as_drawn: Vec::new(),
                ..whole.clone()
            };
            let (number, count) = (k + 1, patches.len());
            let words = &mut sheet.words;
            words.laying = format!("Patch {number} of {count}. {}", patch.laying);
            words.worst_error = allowed.map(|allowed| worst_error(&patch.budget, allowed));
            // The worst of all patches stands with the template; on each sheet stands its own.
            let laid = words.material.split(';').next().unwrap_or_default();
            words.material = format!(
                "{laid}; flat paper lands up to {} mm off in this patch, {} on the whole",
                tenth(patch.worst),
                tenth(patch.rms)
            );
            words.template_number = match set {
                Some((set, of)) if of > 1 => {
                    format!("set {set} of {of}, patch {number} of {count}")
                }
                _ => format!("patch {number} of {count}"),
            };
            sheet
        })
        .collect()
}
