//! What a verdict is worth on a casting whose readings disagree more than the tools allow.
//!
//! design/11 makes every verdict of such a casting *not proven*, and of honest castings one in twenty
//! fails that test. A lay-back compares paint with a template that lies on the marks themselves: of the
//! readings only what the template took from them is in the comparison (GUM, JCGM 100, 4.1: a quantity
//! that is no input of a result does not make it uncertain). So a verdict falls with the test where its
//! comparison rests on those readings by as much as would be said at all, and stands where it does not.

use super::checks::ON_THE_SPOT_MM;
use super::feature::Prepared;
use super::network::Marks;
use super::words::tenth;
use crate::template::TermKind;
use crate::units::Length;

/// The readings of a casting disagree more than the tools allow (the variance test fails high at 5 %).
pub(super) fn disagree(marks: &Marks) -> bool {
    marks.adjusted.chi_square.is_some_and(|c| c.too_high)
}

/// What a lay-back on such a casting is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Doubted {
    /// The template took so much from the readings: nothing is proved by it.
    Rests(Length),
    /// It took nothing that would show: its verdict stands.
    Stands,
}

impl Doubted {
    /// Nothing where the readings agree.
    pub(super) fn of(p: &Prepared) -> Option<Self> {
        disagree(&p.marks).then(|| Self::resting(took(p)))
    }

    fn resting(took: Length) -> Self {
        if took.mm() < ON_THE_SPOT_MM {
            Self::Stands
        } else {
            Self::Rests(took)
        }
    }

    pub(super) const fn rests(self) -> bool {
        matches!(self, Self::Rests(_))
    }

    /// The sentence for it.
    pub(super) fn words(self) -> String {
        match self {
            Self::Rests(by) => format!(
                "The readings of this casting disagree more than the tools allow, and this template took up to {} mm from them: a lay-back proves nothing until they are settled in Measure",
                tenth(by)
            ),
            Self::Stands => "The readings of this casting disagree more than the tools allow. A lay-back stands all the same: the template lies on the marks themselves and follows its rule, so it took nothing from those readings. Distances from the marks prove nothing until they are settled in Measure".into(),
        }
    }
}

/// How far what a template took from the casting's readings reaches: what measuring leaves between its
/// laying and its rule, as much larger as the readings disagree more than claimed (s₀), and what was
/// worked out from them and stands off the rule.
fn took(p: &Prepared) -> Length {
    let s0 = p.marks.adjusted.chi_square.map_or(1.0, |c| c.s0.max(1.0));
    let terms = p.budget.terms.iter().map(|t| match t.kind {
        TermKind::Measuring => t.size * s0,
        TermKind::Sharing => t.size,
        _ => Length::ZERO,
    });
    terms.fold(Length::ZERO, |sum, t| sum + t)
}

/// Why distances from marks prove nothing on such a casting.
pub(super) const FROM_MARKS: &str = "The readings of this casting disagree more than the tools allow, and distances from its marks are judged against them. Settle them in Measure, then read these again";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_template_that_took_what_would_not_be_said_stands() {
        let says = |mm| Doubted::resting(Length::from_mm(mm));
        assert_eq!(says(0.0), Doubted::Stands);
        assert_eq!(says(0.049), Doubted::Stands);
        assert_eq!(says(0.05), Doubted::Rests(Length::from_mm(0.05)));
    }
}
