//! Which layings come into question, and what is worth saying beside a template.

use super::network::Marks;
use super::words::tenth;
use crate::job::{Job, LayingChoice, MarkId};
use crate::template::{Laying, candidates};

/// The laying somebody chose, where its marks can be found.
pub(super) fn pinned(
    choice: Option<&LayingChoice>,
    ids: &[MarkId],
    gone: &[bool],
) -> Option<Laying> {
    let at = |m: &MarkId| {
        let k = ids.iter().position(|n| n == m)?;
        (!gone.get(k).copied().unwrap_or(false)).then_some(k)
    };
    match choice? {
        LayingChoice::FirstThenAlong { first, then } => Some(Laying::FirstThenAlong {
            first: at(first)?,
            then: at(then)?,
        }),
        LayingChoice::SplitAlong { first, then } => Some(Laying::SplitAlong {
            first: at(first)?,
            then: at(then)?,
        }),
        LayingChoice::BestFit => Some(Laying::BestFit {
            weights: gone.iter().map(|g| f64::from(u8::from(!*g))).collect(),
        }),
    }
}

/// Layings over crosses that were read; those held by the drawing only carry no template, and
/// those that are gone nobody can lay anything on.
pub(super) fn layings_for(line: (usize, usize), registers: &[usize], gone: &[bool]) -> Vec<Laying> {
    let is_gone = |k: &usize| gone.get(*k).copied().unwrap_or(false);
    let any_gone = gone.iter().any(|g| *g);
    let mut all = candidates(line, gone.len());
    all.retain(|laying| match laying {
        Laying::FirstThenAlong { first, then } | Laying::SplitAlong { first, then } => {
            !is_gone(first) && !is_gone(then)
        }
        Laying::BestFit { .. } => registers.len() > 1,
    });
    if any_gone && let [first, .., then] = registers {
        let (first, then) = (*first, *then);
        all.push(Laying::FirstThenAlong { first, then });
        all.push(Laying::FirstThenAlong {
            first: then,
            then: first,
        });
    }
    for laying in &mut all {
        if let Laying::BestFit { weights } = laying {
            for (k, w) in weights.iter_mut().enumerate() {
                *w = f64::from(u8::from(registers.contains(&k)));
            }
        }
    }
    all
}

/// What was not as it should be on this casting.
pub(super) fn warnings_of(
    job: &Job,
    marks: &Marks,
    letters: &[String],
    unread: &[bool],
) -> Vec<String> {
    let mut warnings = Vec::new();
    let not_read: Vec<&str> = letters
        .iter()
        .zip(unread)
        .filter(|(_, u)| **u)
        .map(|(l, _)| l.as_str())
        .collect();
    if !not_read.is_empty() {
        warnings.push(format!(
            "nothing has been read to {} on this piece: the drawing stands in for it",
            not_read.join(", ")
        ));
    }
    for suspect in marks.suspects.iter().take(1) {
        let by = suspect.off_by;
        warnings.push(format!(
            "{} may be the odd one out, {} mm too {}. {} Read it again",
            suspect.reading,
            tenth(by.abs()),
            if by.mm() > 0.0 { "short" } else { "long" },
            suspect.explained
        ));
    }
    for disagreement in &job.disagreements {
        if marks.facts.contains(&disagreement.reading) {
            warnings.push("one reading was corrected to two different values: choose one".into());
        }
    }
    warnings.extend(marks.notes.iter().cloned());
    if marks.adjusted.spare == 0 || marks.adjusted.readings.iter().all(|r| r.redundancy < 1e-6) {
        let third = if letters.len() <= 2 {
            "one more, to a third mark, would"
        } else {
            "one more would"
        };
        warnings.push(format!("nothing checks these readings; {third}"));
    }
    warnings
}
