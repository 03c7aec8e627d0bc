//! A template on a roll: cut off as short as it goes.

use super::compose::compose_on_sheets;
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

/// The same template on the shortest piece of a roll that holds it whole; where none does, on as few
/// pieces as its longest gives.
///
/// # Errors
/// As [`super::compose`].
pub(super) fn cut_off(sheet: &TemplateSheet, width: Length) -> Result<TemplateSheet, SheetError> {
    let on = |steps: u32| {
        let mut cut = sheet.clone();
        cut.setup.paper = Paper::Typed {
            width,
            height: Length::from_mm(f64::from(steps * STEP_MM)),
        };
        cut
    };
    // A roll that is no paper, a template that is nothing: said once, as for any paper.
    let longest = compose_on_sheets(&on(LAST))?;
    if longest.pages.len() > 1 {
        return Ok(on(LAST));
    }
    let (mut short, mut long) = (FIRST - 1, LAST);
    while short + 1 < long {
        let middle = u32::midpoint(short, long);
        match compose_on_sheets(&on(middle)) {
            Ok(drawing) if drawing.pages.len() == 1 => long = middle,
            _ => short = middle,
        }
    }
    Ok(on(long))
}
