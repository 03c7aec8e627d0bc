//! A template on a roll: cut off as short as it goes.

use super::compose::compose_on_sheets;
use super::drawing::Drawing;
use super::error::SheetError;
use super::input::TemplateSheet;
use super::paper::Paper;
use crate::units::Length;

/// Rolls are cut off at whole steps of this, mm.
const STEP_MM: u32 = 25;
/// The shortest piece cut off, in steps: a strip beside it has to fit.
const FIRST: u32 = 8;
/// The longest, in steps: 5.075 m, what a page may have (ISO 32000-1 Annex C).
const LAST: u32 = 203;

/// Lays a template out on the shortest piece of a roll that holds it whole; where none does, on as few
/// pieces as its longest gives.
///
/// # Errors
/// As [`super::compose`].
pub(super) fn compose(sheet: &TemplateSheet, width: Length) -> Result<Drawing, SheetError> {
    let on = |steps: u32| {
        let mut cut = sheet.clone();
        cut.setup.paper = Paper::Typed {
            width,
            height: Length::from_mm(f64::from(steps * STEP_MM)),
        };
        compose_on_sheets(&cut)
    };
    // A roll that is no paper, a template that is nothing: said once, as for any paper.
    let longest = on(LAST)?;
    if longest.pages.len() > 1 {
        return Ok(longest);
    }
    let (mut short, mut long, mut best) = (FIRST - 1, LAST, longest);
    while short + 1 < long {
        let middle = u32::midpoint(short, long);
        match on(middle) {
            Ok(drawing) if drawing.pages.len() == 1 => {
                best = drawing;
                long = middle;
            }
            _ => short = middle,
        }
    }
    Ok(best)
}
