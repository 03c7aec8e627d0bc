//! What the device has not taken yet, by job: written again with whatever comes next.

use std::collections::BTreeMap;

/// Facts and attachments as they are to be kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Parcel {
    pub(super) facts: Vec<String>,
    pub(super) attachments: Vec<(String, Vec<u8>)>,
}

/// What is owed to each job.
#[derive(Debug, Default)]
pub(super) struct Owed(BTreeMap<String, Parcel>);

impl Owed {
    /// What is owed to a job with something new behind it; nothing is owed to it afterwards.
    pub(super) fn with_owed(&mut self, job: &str, new: Parcel) -> Parcel {
        let mut all = self.0.remove(job).unwrap_or_default();
        all.facts.extend(new.facts);
        all.attachments.extend(new.attachments);
        all
    }

    /// A parcel came back.
    pub(super) fn came_back(&mut self, job: &str, parcel: Parcel) {
        // What came back meanwhile was written later.
        let later = self.0.remove(job).unwrap_or_default();
        let all = self.0.entry(job.to_owned()).or_insert(parcel);
        all.facts.extend(later.facts);
        all.attachments.extend(later.attachments);
    }

    /// What is owed to a job.
    pub(super) fn to(&self, job: &str) -> Parcel {
        self.0.get(job).cloned().unwrap_or_default()
    }

    /// Nothing is owed to a job any more: somebody else offers it.
    #[cfg(not(feature = "whole"))]
    pub(super) fn forget(&mut self, job: &str) {
        self.0.remove(job);
    }

    /// Something is owed to a job.
    pub(super) fn owes(&self, job: &str) -> bool {
        self.0.contains_key(job)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parcel(facts: &[&str]) -> Parcel {
        Parcel {
            facts: facts.iter().map(|f| (*f).to_owned()).collect(),
            attachments: Vec::new(),
        }
    }

    #[test]
    fn what_was_not_kept_goes_with_what_comes_next_in_its_order() {
        let mut owed = Owed::default();
        assert_eq!(owed.with_owed("j", parcel(&["1"])), parcel(&["1"]));
        assert!(!owed.owes("j"));
        owed.came_back("j", parcel(&["1"]));
        assert!(owed.owes("j") && !owed.owes("k"));
        assert_eq!(
            (owed.to("j"), owed.to("k")),
            (parcel(&["1"]), Parcel::default())
        );
        assert_eq!(owed.with_owed("j", parcel(&["2"])), parcel(&["1", "2"]));
        owed.came_back("j", parcel(&["2"]));
        owed.came_back("j", parcel(&["1"]));
        assert_eq!(owed.with_owed("k", parcel(&["9"])), parcel(&["9"]));
        assert_eq!(owed.with_owed("j", Parcel::default()), parcel(&["1", "2"]));
        assert!(!owed.owes("j"));
    }
}
