//! What the device keeps, and when it does not.

use crate::ports::offline::Offline;
use crate::ports::store::StoreError;
use crate::state::Keeping;

/// Why nothing is kept, and what to do.
#[must_use]
pub fn not_kept(why: &StoreError) -> String {
    match why {
        StoreError::Refused(_) => {
            "This window will not keep your work: the browser allows no storage here (a private window, or storage switched off). You can work and print; copy the job off this device before you close the window".into()
        }
        StoreError::Full => {
            "The device is full: the last entries are only in this window. Copy the job off this device now, then free some room and load the page again".into()
        }
        StoreError::Blocked => {
            "Another window still uses an older version of the storage: close every other Samespot window, then load this one again. Nothing is lost".into()
        }
        StoreError::Newer => {
            "The jobs on this device were saved by a newer Samespot than this page: load the page again with a network to get it. Nothing was changed".into()
        }
        StoreError::Failed(said) => {
            format!("The device did not keep the last entries ({said}): they are only in this window. Copy the job off this device, then load the page again")
        }
    }
}

/// A file of sheets left the device.
#[must_use]
pub fn counts_as_printed(name: &str, templates: usize) -> String {
    let what = if templates == 1 {
        "its template counts".to_owned()
    } else {
        format!("its {templates} templates count")
    };
    format!("{name} has left the device: {what} as printed")
}

/// Jobs should be here and none is.
#[must_use]
pub fn jobs_are_gone(how_many: usize) -> String {
    let what = if how_many == 1 {
        "A job that was".into()
    } else {
        format!("{how_many} jobs that were")
    };
    format!(
        "{what} kept on this device is gone: the browser removed its data. Open your latest copy (the file ending in .samespot) to get it back"
    )
}

/// Entries on this device that can't be read any more.
#[must_use]
pub fn damaged(how_many: usize) -> String {
    let what = if how_many == 1 {
        "1 entry of this job, as it is kept on this device, is".into()
    } else {
        format!("{how_many} entries of this job, as it is kept on this device, are")
    };
    format!(
        "{what} damaged and left out; all the rest is here. Open your latest copy (the file ending in .samespot): it brings back what is missing"
    )
}

/// What was kept of the open job had been thrown away, and was written again.
pub const KEPT_AGAIN: &str = "The browser had thrown away what was kept of this job on this device. All of it, as it stands in this window, was written again. Copy the job off this device";

/// The open job was taken off the device by another window, and written again.
pub const REMOVED_ELSEWHERE: &str = "This job had been taken off this device in another window while it was open here. All of it, as it stands in this window, was kept again: take it off once more if it is to go";

/// The file to be shared was ready later than the tap counts.
pub const READY_NOW: &str = "The copy took longer to make than the browser waits. It is ready now: tap once more to hand it on";

/// Sharing was refused, and the file downloaded in its place, as far as is known.
#[must_use]
pub fn not_shared(why: &str, name: &str, began: bool) -> String {
    if began {
        format!(
            "Sharing did not work ({why}). ‘{name}’ was downloaded instead: look for it among the downloads. Whether it arrived can’t be seen from here"
        )
    } else {
        format!(
            "Sharing did not work ({why}), and ‘{name}’ could not be downloaded either: try again, or in another browser"
        )
    }
}

/// The saved state in the header.
#[must_use]
pub fn kept(keeping: &Keeping) -> String {
    match keeping {
        Keeping::NothingYet => "On this device".into(),
        Keeping::Writing => "Saving…".into(),
        Keeping::Kept(at) => format!("Saved {at}"),
        Keeping::NotKept(_) => "Not saved".into(),
    }
}

/// Whether it would start without a network.
#[must_use]
pub const fn offline(state: Offline) -> &'static str {
    match state {
        Offline::Ready => "works offline",
        Offline::Unknown | Offline::Saving => "getting ready for offline",
        Offline::Incomplete => "not ready for offline: load it again",
        Offline::Unavailable => "needs a network to start",
    }
}

/// One day in milliseconds.
const DAY_MS: f64 = 86_400_000.0;

/// How long ago something was, in whole days of 24 hours.
#[must_use]
pub fn ago(then_ms: f64, now_ms: f64) -> String {
    let days = ((now_ms - then_ms) / DAY_MS).max(0.0);
    if days < 1.0 {
        let minutes = days * 24.0 * 60.0;
        if minutes < 2.0 {
            "just now".into()
        } else if minutes < 100.0 {
            format!("{minutes:.0} minutes ago")
        } else {
            format!("{:.0} hours ago", minutes / 60.0)
        }
    } else if days < 2.0 {
        "a day ago".into()
    } else {
        format!("{:.0} days ago", days.floor())
    }
}

/// When a job was last copied off this device, and what is newer than that copy.
#[must_use]
pub fn copy_state(copied: Option<f64>, newer: usize, now_ms: f64) -> (String, String) {
    let newer = match newer {
        0 => "Nothing is newer than the copy.".into(),
        1 => "1 entry is newer than the copy.".into(),
        n => format!("{n} entries are newer than the copy."),
    };
    match copied {
        None => (
            "Never copied off this device".into(),
            "If the browser clears its data, it is gone. One tap makes a copy.".into(),
        ),
        Some(then) => (
            format!("Copied off this device {}", ago(then, now_ms)),
            newer,
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(days: f64, said: &str) {
        assert_eq!(ago(0.0, days * DAY_MS), said);
    }

    #[test]
    fn time_passed_is_said_in_whole_days_and_below_a_day_in_hours_and_minutes() {
        check(0.0, "just now");
        check(-1.0, "just now");
        check(20.0 / 1440.0, "20 minutes ago");
        check(5.0 / 24.0, "5 hours ago");
        check(1.5, "a day ago");
        check(2.9, "2 days ago");
    }

    #[test]
    fn a_job_without_a_copy_says_so() {
        let (first, second) = copy_state(None, 31, 0.0);
        assert!(first.contains("Never") && second.contains("gone"));
        let (first, second) = copy_state(Some(0.0), 31, 2.0 * DAY_MS);
        assert_eq!(first, "Copied off this device 2 days ago");
        assert_eq!(second, "31 entries are newer than the copy.");
    }
}
