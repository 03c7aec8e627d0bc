//! What was entered on this device: each tab is a writer of its own, and the device remembers them.

use super::Session;
use crate::ports::settings;
use samespot_core::job::{FactId, Payload, ReplicaId, Withdrawal};

/// What the device remembers the writers under.
const WRITERS: &str = "writers";

/// So many are remembered; the oldest go first.
const MOST: usize = 2000;

/// The list with one more writer, and no longer than it may get.
fn with(known: &str, writer: &str) -> Option<String> {
    let mut all: Vec<&str> = known.split_whitespace().collect();
    if all.contains(&writer) {
        return None;
    }
    all.push(writer);
    let from = all.len().saturating_sub(MOST);
    Some(all.into_iter().skip(from).collect::<Vec<_>>().join(" "))
}

impl Session {
    /// Remembers that this tab writes on this device.
    pub(super) fn remember_writer(&self) {
        self.remember_as_own(self.replica);
    }

    /// Remembers a writer on this device.
    pub(super) fn remember_as_own(&self, writer: ReplicaId) {
        let known = settings::get(WRITERS).unwrap_or_default();
        if let Some(all) = with(&known, &writer.to_string()) {
            settings::set(WRITERS, &all);
        }
    }

    /// Whether an entry was made on this device.
    #[must_use]
    pub fn is_own(&self, fact: FactId) -> bool {
        let writer = fact.replica.to_string();
        fact.replica == self.replica
            || settings::get(WRITERS).is_some_and(|all| all.split_whitespace().any(|w| w == writer))
    }

    /// Every writer on this device, this tab's first.
    #[must_use]
    pub fn own_writers(&self) -> Vec<ReplicaId> {
        let known = settings::get(WRITERS).unwrap_or_default();
        let known = known.split_whitespace().map(str::to_owned);
        core::iter::once(self.replica)
            .chain(known.filter_map(|w| ReplicaId::try_from(w).ok()))
            .collect()
    }

    /// Takes entries back; aimed at what took something back, it brings that back.
    pub fn take_back(&self, facts: &[FactId]) {
        let all: Vec<Payload> = facts
            .iter()
            .map(|target| Payload::Withdraw(Withdrawal { target: *target }))
            .collect();
        self.say(&all);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_writer_is_remembered_once_and_the_oldest_are_forgotten_first() {
        assert_eq!(with("", "a").as_deref(), Some("a"));
        assert_eq!(with("a b", "b"), None);
        let full: Vec<String> = (0..MOST).map(|n| n.to_string()).collect();
        let all = with(&full.join(" "), "new").unwrap_or_default();
        assert!(all.starts_with("1 2 ") && all.ends_with(" new"), "{all}");
    }
}
