//! Which pieces could share a template at all.

use super::Source;
use super::feature::Prepared;
use crate::job::MarkId;
use crate::units::Length;

/// Pieces that could share at all: the same marks to lay on, the same shape, the same issue.
#[derive(PartialEq)]
pub(super) struct Likeness {
    marks: Vec<(MarkId, bool)>,
    shape: (String, i64, i64, bool, i64),
    issue: u32,
}

pub(super) fn is_cross(p: &Prepared, k: usize) -> bool {
    p.crosses
        .get(k)
        .is_some_and(|c| !c.unread && c.gone.is_none())
}

pub(super) fn likeness(source: &Source<'_>, p: &Prepared) -> Likeness {
    let number = source.job.pieces.get(&p.piece).and_then(|x| x.number);
    let issue = source.job.issue_of_sheet(&p.of, number.unwrap_or(0));
    // Scales that move no outline point by a hundredth of a millimetre are one.
    let reach = p
        .basis
        .outline
        .iter()
        .map(|x| x.from_origin().norm_mm())
        .fold(0.0, f64::max);
    let grown = Length::from_mm((p.placed.scale - 1.0) * reach).to_um() / 10;
    Likeness {
        marks: p
            .crosses
            .iter()
            .enumerate()
            .map(|(k, c)| (c.mark.clone(), is_cross(p, k)))
            .collect(),
        shape: (
            p.size_words.clone(),
            p.offset.to_um(),
            p.allowed.to_um(),
            p.cut.is_some(),
            grown,
        ),
        issue: issue.and_then(|(_, i)| i.number).unwrap_or(1),
    }
}
