//! A job of which nothing is said yet.

use crate::ports::clock;
use crate::route::Route;
use crate::state::Session;
use samespot_core::job::{Edit, EntityRef, IssueEdit, IssueId, JobEdit, Payload};

/// Begins a job with nothing in it, and opens it to be set out.
pub fn begin(session: Session) {
    session.begin_job(&new_job(&clock::day()), |job| Route::SetOut {
        job,
        face: None,
    });
}

/// A job with nothing in it but its first issue.
pub fn new_job(day: &str) -> Vec<Payload> {
    let about = JobEdit {
        unit: Some("mm".into()),
        ..JobEdit::default()
    };
    let mut all: Vec<Edit> = Edit::of(EntityRef::Job, &about).into_iter().collect();
    if let Ok(id) = IssueId::new("1") {
        let issue = IssueEdit {
            number: Some(1),
            date: Some(day.to_owned()),
            reason: Some("first set out".into()),
            ..IssueEdit::default()
        };
        all.extend(Edit::of(EntityRef::Issue(id), &issue));
    }
    all.into_iter().map(Payload::Edit).collect()
}
