//! What stands in the form of a change and is not said yet, while somebody looks at another screen: it
//! is there again when they come back.

use crate::widgets::typing::Typing;
use leptos::prelude::*;
use samespot_core::job::JobId;
use std::cell::RefCell;

/// A field of the form.
#[derive(Clone, Copy)]
pub(super) enum Part {
    Text(RwSignal<String>),
    Length(Typing),
}

impl Part {
    fn text(self) -> String {
        match self {
            Self::Text(text) => text.get(),
            Self::Length(typing) => typing.text(),
        }
    }

    fn set(self, text: &str) {
        match self {
            Self::Text(signal) => signal.set(text.to_owned()),
            Self::Length(typing) => typing.set(text),
        }
    }
}

/// The texts of a form, of one job.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Standing {
    job: JobId,
    texts: Vec<String>,
}

thread_local! {
    static STANDING: RefCell<Option<Standing>> = const { RefCell::new(None) };
}

/// What stood there of this job, for a form of so many fields.
fn of_job(job: &JobId, fields: usize) -> Option<Vec<String>> {
    STANDING.with_borrow(|s| {
        let s = s.as_ref()?;
        (s.job == *job && s.texts.len() == fields).then(|| s.texts.clone())
    })
}

fn keep(job: JobId, texts: Vec<String>) {
    STANDING.set(Some(Standing { job, texts }));
}

/// Puts back what stood in these fields, in this order, and keeps what will.
pub(super) fn stands_again(job: Option<JobId>, parts: Vec<Part>) {
    let Some(job) = job else { return };
    if let Some(texts) = of_job(&job, parts.len()) {
        for (part, text) in parts.iter().zip(&texts) {
            part.set(text);
        }
    }
    Effect::new(move |_| keep(job.clone(), parts.iter().map(|p| p.text()).collect()));
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn what_stood_there_comes_back_in_its_own_job_only() {
        let (job, other) = (JobId::new("j").unwrap(), JobId::new("k").unwrap());
        assert_eq!(of_job(&job, 2), None);
        keep(job.clone(), vec!["14".into(), "down".into()]);
        assert_eq!(of_job(&job, 2).unwrap(), ["14", "down"]);
        assert_eq!(of_job(&other, 2), None);
        // Another form: nothing lands in the wrong field.
        assert_eq!(of_job(&job, 3), None);
    }
}
