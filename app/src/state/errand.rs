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

    thread_local! {
        static LEFT: RefCell<Option<(Errand, Option<Picked>)>> = const { RefCell::new(None) };
    }

    /// What is to go along with the page.
    pub(in crate::state) fn left() -> Option<(Errand, Option<Picked>)> {
        LEFT.take()
    }

    impl Session {
        pub(in crate::state) fn run(self, errand: Errand, file: Option<Picked>) {
            LEFT.set(Some((errand, file)));
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
pub(super) use small::left;
