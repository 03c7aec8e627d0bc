//! A template in one piece: to look at where its sheets show a corner each, and for a cutter, which has
//! no sheets.

use super::Source;
use super::error::PrepareError;
use super::fewest::{SharedTemplate, issue_shared, shared_in_the_flat};
use super::sheets::{Issued, in_the_flat, issue, template_sheet};
use crate::job::{PieceId, Printed, SheetOf};
use crate::sheet::drawing::{Meaning, Page};
use crate::sheet::{Drawing, Paper, for_cutter, uncut as in_one_piece};
use crate::units::Length;

/// Where the paper in hand holds no template, its reference is that on the widest roll there may be
/// (5.08 m, ISO 32000-1 Annex C): a cutter needs no paper.
const NO_PAPER: Paper = Paper::Roll {
    width: Length::from_mm(5_080.0),
};

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

/// A template as a cutter takes it: in one piece, under the reference of its sheets.
///
/// # Errors
/// [`PrepareError`]; never because of the paper.
pub fn issue_for_cutter(
    source: &Source<'_>,
    of: &SheetOf,
    piece: &PieceId,
    paper: Paper,
    day: &str,
) -> Result<(Drawing, Printed), PrepareError> {
    let (issued, paper) = whatever_the_paper(paper, |p| issue(source, of.clone(), piece, p, day))?;
    let flat = in_the_flat(source, &issued.prepared, paper, day);
    let drawing = for_cutter(&flat, &issued.drawing.reference)?;
    Ok((drawing, issued.printed(day)))
}

/// The same of one that several pieces share.
///
/// # Errors
/// As [`issue_for_cutter`].
pub fn issue_shared_for_cutter(
    source: &Source<'_>,
    template: &SharedTemplate,
    number: (usize, usize),
    paper: Paper,
    day: &str,
) -> Result<(Drawing, Printed), PrepareError> {
    let made = |p| issue_shared(source, template, number, p, day);
    let ((_, printed), paper) = whatever_the_paper(paper, made)?;
    let (_, flat) = shared_in_the_flat(source, template, number, paper, day);
    Ok((for_cutter(&flat, &printed.reference)?, printed))
}

fn whatever_the_paper<T>(
    paper: Paper,
    make: impl Fn(Paper) -> Result<T, PrepareError>,
) -> Result<(T, Paper), PrepareError> {
    match make(paper) {
        Ok(made) => Ok((made, paper)),
        Err(PrepareError::Sheet(why)) => match make(NO_PAPER) {
            Ok(made) => Ok((made, NO_PAPER)),
            Err(_) => Err(why.into()),
        },
        Err(why) => Err(why),
    }
}
