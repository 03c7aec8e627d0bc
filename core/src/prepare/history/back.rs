//! Going back to a past state: what has to be taken back for it, said before anything is.
//!
//! Nothing is ever overwritten: going back is taking back, entry by entry, whatever was entered here
//! after that state and counts. What others entered stays, and so do sheets: they exist.

use super::{HistoryAsk, HistoryEntry, history, in_order};
use crate::job::{FactId, Job, Ledger, ReplicaId, Withdrawal};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// What going back to a state would do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GoingBack {
    /// The entry it goes back to.
    pub to: FactId,
    /// Every entry to be taken back, the newest first; one that took something back brings it back.
    pub take_back: Vec<FactId>,
    /// The newest of them as they are told.
    pub told: Vec<HistoryEntry>,
    /// Who else entered something since, and how much of it: that stays.
    pub others: Vec<(String, usize)>,
    /// How many sheets were printed since: they stay.
    pub printed: usize,
}

/// What going back to just after an entry would do, where these writers may take back their own.
///
/// # Errors
/// The sentence for an entry that is not in this copy.
pub fn going_back(
    ledger: &Ledger,
    job: &Job,
    to: FactId,
    own: &[ReplicaId],
    most: usize,
) -> Result<GoingBack, String> {
    let last = ledger
        .get(to)
        .ok_or("that entry isn’t in this copy of the job")?
        .envelope
        .order();
    let own: BTreeSet<ReplicaId> = own.iter().copied().collect();
    let gone = ledger.taken_back();
    let (mut take_back, mut others, mut printed) = (Vec::new(), BTreeMap::new(), 0);
    for fact in in_order(ledger).into_iter().rev() {
        let envelope = &fact.envelope;
        if envelope.order() <= last {
            break;
        }
        if gone.contains_key(&envelope.id) {
            continue;
        }
        if envelope.kind == "printed" {
            printed += 1;
        } else if !own.contains(&envelope.id.replica) {
            let who = match envelope.who.trim() {
                "" => "somebody who gave no name",
                who => who,
            };
            *others.entry(who.to_owned()).or_insert(0) += 1;
        } else if !took_back_a_later_one(ledger, fact, last) {
            take_back.push(envelope.id);
        }
    }
    let ask = HistoryAsk {
        find: String::new(),
        only: Some(take_back.clone()),
        most,
    };
    Ok(GoingBack {
        to,
        told: history(ledger, job, &ask).entries,
        take_back,
        others: others.into_iter().collect(),
        printed,
    })
}

/// An undo of what was said after the state needs no undo of its own: what it took back would count
/// again, only to be taken back once more.
fn took_back_a_later_one(
    ledger: &Ledger,
    fact: &crate::job::Fact,
    last: (u64, ReplicaId, u64),
) -> bool {
    if fact.envelope.kind != "withdraw" {
        return false;
    }
    fact.payload()
        .ok()
        .and_then(|text| crate::json::read::<Withdrawal>(text).ok())
        .and_then(|w| ledger.get(w.target))
        .is_none_or(|target| target.envelope.order() > last)
}
