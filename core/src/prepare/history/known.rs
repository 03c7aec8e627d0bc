//! What things were called at any time: an entry that was taken back, or speaks of what was taken
//! out, still has the number or the name that everybody knew it by.

use crate::job::{EntityRef, Job, Ledger, Payload};
use std::borrow::Cow;
use std::collections::BTreeSet;

/// The job, and beside it by number and name whatever it had once.
pub(super) fn known<'a>(ledger: &Ledger, job: &'a Job) -> Cow<'a, Job> {
    let taken = ledger.taken_back();
    let edits: Vec<_> = ledger
        .facts()
        .filter(|f| f.envelope.kind == "edit")
        .filter_map(|f| match super::read(f).ok()? {
            Payload::Edit(edit) => Some((f, edit.on)),
            _ => None,
        })
        .collect();
    let once: BTreeSet<&EntityRef> = edits
        .iter()
        .filter(|(f, on)| taken.contains_key(&f.envelope.id) || !job.has(on))
        .map(|(_, on)| on)
        .collect();
    if once.is_empty() {
        return Cow::Borrowed(job);
    }
    let mut then = Ledger::new(ledger.job_id().clone());
    for (fact, _) in edits.iter().filter(|(_, on)| once.contains(on)) {
        then.add((*fact).clone());
    }
    let (then, mut all) = (then.fold(), job.clone());
    macro_rules! recall {
        ($($things:ident: $($field:ident),+;)+) => {$(
            for (id, was) in then.$things {
                let now = all.$things.entry(id).or_insert_with(|| was.clone());
                $(now.$field = now.$field.take().or(was.$field);)+
            }
        )+};
    }
    recall! {
        issues: number;
        moulds: name;
        parts: name;
        faces: name;
        marks: letter, face;
        edges: letter;
        features: name, hand;
        pairs: name;
        joints: name;
        fixings: name;
        instruments: name;
        printers: name;
        lists: part;
        templates: number;
        castings: number, part;
        pieces: number;
    }
    Cow::Owned(all)
}
