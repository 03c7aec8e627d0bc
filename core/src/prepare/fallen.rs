//! Register crosses that lie inside the opening: they fall out with what is cut.

use super::shell::is_shell;
use crate::frames::{Flat, Point2};
use crate::job::SheetOf;
use crate::outline::Outline;

/// Which crosses fall out, and what the sheet is laid on instead.
pub(super) struct Fallen {
    /// Of every mark, whether its cross lies inside the opening.
    falls: Vec<bool>,
    /// Those that stay in the sheet are enough to lay it on.
    enough: bool,
}

impl Fallen {
    /// Of marks on the flat sheet; nothing of those that are not on it.
    pub(super) fn of(
        opening: Option<&Outline<Flat>>,
        marks: &[Option<Point2<Flat>>],
        registers: &[usize],
    ) -> Self {
        let falls: Vec<bool> = marks
            .iter()
            .map(|at| opening.zip(*at).is_some_and(|(o, at)| o.encloses(at)))
            .collect();
        let stays = |k: &&usize| !falls.get(**k).copied().unwrap_or(false);
        let enough = registers.iter().filter(stays).count() > 1;
        Self { falls, enough }
    }

    /// What the sheet is laid on: crosses that stay in it, where two do.
    pub(super) fn laid_on(&self, registers: &[usize]) -> Vec<usize> {
        let all = registers.iter().copied();
        all.filter(|k| !self.enough || !self.falls(*k)).collect()
    }

    /// Marks that no laying may name: gone, or fallen out where others stay.
    pub(super) fn without(&self, gone: &[bool]) -> Vec<bool> {
        let fallen = |k| self.enough && self.falls(k);
        gone.iter()
            .enumerate()
            .map(|(k, gone)| *gone || fallen(k))
            .collect()
    }

    fn falls(&self, k: usize) -> bool {
        self.falls.get(k).copied().unwrap_or(false)
    }

    /// What is said of them.
    pub(super) fn words(
        &self,
        registers: &[usize],
        letters: &[String],
        of: &SheetOf,
        pinned: bool,
    ) -> Option<String> {
        let named = |falls: bool| {
            let all = registers.iter().filter(|k| self.falls(**k) == falls);
            all.filter_map(|k| letters.get(*k).cloned())
                .collect::<Vec<_>>()
                .join(", ")
        };
        let gone = named(true);
        if gone.is_empty() {
            return None;
        }
        let (cross, falls) = if gone.contains(',') {
            ("crosses", "lie inside the opening and fall out")
        } else {
            ("cross", "lies inside the opening and falls out")
        };
        let then = if self.enough && !pinned {
            format!("the sheet is laid on {}", named(false))
        } else if is_shell(of) {
            "a shell can’t be held on it: take marks outside the opening".to_owned()
        } else {
            "leave two bridges of 5 mm uncut, lay and tape the sheet, then cut them; marks outside the opening would spare that".to_owned()
        };
        Some(format!("{cross} {gone} {falls} when it is cut: {then}"))
    }
}
