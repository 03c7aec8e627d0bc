//! A template as it is once its sheets are joined.

use super::body::Begun;
use super::drawing::{Drawing, Page, PaperSize, Spot};
use super::error::SheetError;
use super::input::TemplateSheet;

/// White round the trim line, mm.
const ROUND_MM: f64 = 6.0;

/// The template inside its trim line in one piece, at true size, without paper: to be looked at where
/// its sheets show a corner each. It has no reference, because it is not what is printed.
///
/// # Errors
/// A template without anything to draw, or out of all reach.
pub fn uncut(sheet: &TemplateSheet) -> Result<Drawing, SheetError> {
    let body = Begun::of(sheet)?.laid_out(&[])?;
    let box_ = body.bounds.inflate(ROUND_MM, ROUND_MM);
    let um = super::board::um;
    let by = Spot::new(um(-box_.x0), um(-box_.y0));
    Ok(Drawing {
        title: sheet.words.feature.clone(),
        reference: String::new(),
        readable: Vec::new(),
        pages: vec![Page {
            paper: PaperSize {
                width: um(box_.width()),
                height: um(box_.height()),
            },
            name: sheet.words.feature.clone(),
            items: body.items.into_iter().map(|i| i.moved(by)).collect(),
        }],
    })
}
