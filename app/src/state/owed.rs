//! What the device has not taken yet, by job: written again with whatever comes next; and how much is
//! on its way there.

use std::collections::BTreeMap;

/// Facts and attachments as they are to be kept.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Parcel {
    pub(super) facts: Vec<String>,
    pub(super) attachments: Vec<(String, Vec<u8>)>,
}

/// What is owed to each job, and how many parcels are on their way.
#[derive(Debug, Default)]
pub(super) struct Owed {
    owed: BTreeMap<String, Parcel>,
    under_way: u32,
}

impl Owed {
    /// What is owed to a job with something new behind it, to be sent off: nothing is owed to it then,
    /// and one more is under way.
    pub(super) fn sent(&mut self, job: &str, new: Parcel) -> Parcel {
        self.under_way += 1;
        let mut all = self.owed.remove(job).unwrap_or_default();
        all.facts.extend(new.facts);
        all.attachments.extend(new.attachments);
        all
    }

    /// A parcel is on the device.
    pub(super) fn arrived(&mut self) {
        self.under_way = self.under_way.saturating_sub(1);
    }

    /// A parcel came back.
    pub(super) fn came_back(&mut self, job: &str, parcel: Parcel) {
        self.arrived();
        // What came back meanwhile was written later.
        let later = self.owed.remove(job).unwrap_or_default();
        let all = self.owed.entry(job.to_owned()).or_insert(parcel);
        all.facts.extend(later.facts);
        all.attachments.extend(later.attachments);
    }

    /// What is owed to a job.
    pub(super) fn to(&self, job: &str) -> Parcel {
        self.owed.get(job).cloned().unwrap_or_default()
    }

    /// Nothing is owed to a job any more: somebody else offers it, or it was taken off the device.
    pub(super) fn forget(&mut self, job: &str) {
        self.owed.remove(job);
    }

    /// All that was said of a job is on the device: nothing is owed to it, and nothing is under way that
    /// may yet come back.
    pub(super) fn all_is_kept(&self, job: &str) -> bool {
        self.under_way == 0 && !self.owes(job)
    }

    /// Something is owed to any job: only this window holds it.
    pub(super) fn owes_anything(&self) -> bool {
        !self.owed.is_empty()
    }

    /// Something is owed to a job.
    pub(super) fn owes(&self, job: &str) -> bool {
        self.owed.contains_key(job)
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
        assert_eq!(owed.sent("j", parcel(&["1"])), parcel(&["1"]));
        assert!(!owed.owes("j"));
        assert!(!owed.owes_anything());
        owed.came_back("j", parcel(&["1"]));
        assert!(owed.owes("j") && !owed.owes("k") && owed.owes_anything());
        assert_eq!(
            (owed.to("j"), owed.to("k")),
            (parcel(&["1"]), Parcel::default())
        );
        assert_eq!(owed.sent("j", parcel(&["2"])), parcel(&["1", "2"]));
        owed.came_back("j", parcel(&["2"]));
        owed.came_back("j", parcel(&["1"]));
        assert_eq!(owed.sent("k", parcel(&["9"])), parcel(&["9"]));
        assert_eq!(owed.sent("j", Parcel::default()), parcel(&["1", "2"]));
        assert!(!owed.owes("j"));
    }

    #[test]
    fn nothing_is_kept_while_a_later_parcel_is_under_way() {
        let mut owed = Owed::default();
        assert!(owed.all_is_kept("j"));
        let first = owed.sent("j", parcel(&["1"]));
        let second = owed.sent("j", parcel(&["2"]));
        // Whichever of the two comes first, the other may still be lost.
        owed.arrived();
        assert!(!owed.all_is_kept("j"));
        owed.came_back("j", second);
        assert!(!owed.all_is_kept("j"), "it came back and is owed");
        owed.sent("j", Parcel::default());
        assert!(!owed.all_is_kept("j"));
        owed.arrived();
        assert!(owed.all_is_kept("j"));
        drop(first);
    }
}
