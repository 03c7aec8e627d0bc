//! What the small module leaves to the whole one: files of jobs, in and out.

use super::Session;
use crate::ports::files::{Example, Picked};
use serde::{Deserialize, Serialize};

/// What is to be done once the whole module stands in its place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Errand {
    /// Open the file that goes along.
    Open,
    /// Open an example.
    Example(Example),
    /// Copy a job off this device.
    CopyOff(String),
}

#[cfg(feature = "whole")]
impl Session {
    pub(super) fn run(self, errand: Errand, file: Option<Picked>) {
        match (errand, file) {
            (Errand::Open, Some(file)) => self.open_file(file),
            (Errand::Open, None) => {}
            (Errand::Example(which), _) => self.open_example(which),
            (Errand::CopyOff(job), _) => self.copy_off(job),
        }
    }
}

#[cfg(not(feature = "whole"))]
mod small {
    use super::*;
    use leptos::prelude::*;
    use std::cell::RefCell;

    type Left = Vec<(Errand, Option<Picked>)>;

    thread_local! {
        static LEFT: RefCell<Left> = const { RefCell::new(Vec::new()) };
    }

    /// What is to go along with the page. A file somebody gave is opened even where they went on to
    /// something else meanwhile; what was only tapped is not done any more.
    pub(in crate::state) fn left(leaving: bool) -> Left {
        let mut all = LEFT.take();
        all.retain(|(_, file)| leaving || file.is_some());
        all
    }

    /// A file waits to be opened.
    pub(in crate::state) fn holds_a_file() -> bool {
        LEFT.with_borrow(|all| all.iter().any(|(_, file)| file.is_some()))
    }

    impl Session {
        pub(in crate::state) fn run(self, errand: Errand, file: Option<Picked>) {
            LEFT.with_borrow_mut(|all| {
                // Of what was tapped the last counts; of files, each.
                all.retain(|(_, earlier)| earlier.is_some());
                all.push((errand, file));
            });
            self.leaving.set(true);
        }

        /// Opens a file somebody chose or dropped.
        pub fn open_file(self, file: Picked) {
            self.run(Errand::Open, Some(file));
        }

        /// Opens an example as a copy of this device's own.
        pub fn open_example(self, which: Example) {
            self.run(Errand::Example(which), None);
        }

        /// Copies a job off this device.
        pub fn copy_off(self, id: String) {
            self.run(Errand::CopyOff(id), None);
        }
    }
}

#[cfg(not(feature = "whole"))]
pub(super) use small::{holds_a_file, left};
