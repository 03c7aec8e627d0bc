//! Marks of a face that a feature's rule leaves out: set out, and then neither asked for nor used.

use super::model::marks;
use samespot_core::job::{FaceId, Job, RuleSpec};

/// That a feature which follows two marks leaves others of its face out, and what would use them; nothing
/// where it leaves none out.
pub fn left_out(job: &Job, face: &FaceId, rule: Option<&RuleSpec>) -> Option<String> {
    let rule = rule.filter(|r| matches!(r, RuleSpec::Line { .. }))?;
    let followed = rule.marks();
    let all: Vec<String> = (marks(job, face).into_iter())
        .filter(|(id, _)| !followed.contains(&id))
        .map(|(_, letter)| letter)
        .collect();
    let (last, rest) = all.split_last()?;
    let (named, is) = match rest {
        [] => (last.clone(), "is"),
        rest => (format!("{} and {last}", rest.join(", ")), "are"),
    };
    Some(format!(
        "{named} {is} not followed by this, and not asked for on castings because of it. Best fit to all marks uses every one"
    ))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{Follow, JobId, Ledger, MarkEdit, MarkId, WeightedMark};

    fn mark(id: &str) -> MarkId {
        MarkId::new(id).unwrap()
    }

    #[test]
    fn a_third_mark_that_nothing_uses_is_named() {
        let mut job = Ledger::new(JobId::new("j").unwrap()).fold();
        let face = FaceId::new("front").unwrap();
        for letter in ["a", "b", "c"] {
            let edit = MarkEdit {
                face: Some(face.clone()),
                letter: Some(letter.to_uppercase()),
                ..MarkEdit::default()
            };
            job.marks.insert(mark(letter), edit);
        }
        let line = |side: Option<MarkId>| RuleSpec::Line {
            from: mark("a"),
            to: mark("b"),
            side,
            along: Follow::DifferenceSplit,
            across: None,
        };
        let said = left_out(&job, &face, Some(&line(None))).unwrap();
        assert!(said.starts_with("C is not followed"), "{said}");
        assert_eq!(left_out(&job, &face, Some(&line(Some(mark("c"))))), None);
        let best = RuleSpec::BestFit {
            marks: vec![WeightedMark {
                mark: mark("a"),
                weight: 1.0,
            }],
            scale: false,
        };
        assert_eq!(left_out(&job, &face, Some(&best)), None);
    }
}
