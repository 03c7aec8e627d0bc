//! An amendment in the workshop's words.

use crate::job::{Amendment, Change, IssueEdit, Job};
use crate::prepare::words::{feature_title, mm};
use crate::units::Length;

/// *14 mm down and 6 mm left*; nothing for no move.
#[must_use]
pub fn move_words(right: Length, up: Length) -> String {
    let part = |length: Length, plus: &str, minus: &str| match length.to_um() {
        0 => None,
        um => Some(format!(
            "{} mm {}",
            mm(length.abs()),
            if um > 0 { plus } else { minus }
        )),
    };
    let parts: Vec<String> = [part(up, "up", "down"), part(right, "right", "left")]
        .into_iter()
        .flatten()
        .collect();
    if parts.is_empty() {
        "not moved".into()
    } else {
        parts.join(" and ")
    }
}

/// What becomes of the feature: *moved 14 mm down and 6 mm left*.
#[must_use]
pub fn change_words(change: &Change) -> String {
    match change {
        Change::Moved { right, up } => match move_words(right.mm, up.mm).as_str() {
            "not moved" => "not moved".into(),
            by => format!("moved {by}"),
        },
        Change::Turned { by } => {
            let degrees = by.rad().to_degrees();
            let way = if degrees < 0.0 {
                "clockwise"
            } else {
                "anticlockwise"
            };
            format!("turned {:.1}° {way}", degrees.abs())
        }
        Change::Mirrored => "mirrored, left for right".into(),
        Change::Outline { outline } => format!("now {}", outline.in_words()),
        Change::Finish { finish } => format!("finish: {finish}"),
        Change::Tolerance { tolerance } => {
            format!(
                "may be out by {} mm any way (zone Ø {})",
                mm(*tolerance),
                mm(*tolerance * 2.0)
            )
        }
        Change::Dropped => "no longer made".into(),
        Change::Added => "new".into(),
    }
}

/// *Eye, left: moved 14 mm down and 6 mm left*.
#[must_use]
pub fn amendment_words(job: &Job, amendment: &Amendment) -> String {
    let title = job
        .features
        .get(&amendment.feature)
        .map_or_else(|| amendment.feature.to_string(), feature_title);
    format!("{title}: {}", change_words(&amendment.change))
}

/// *pieces 10 to 18*, *all pieces*.
#[must_use]
pub fn pieces_words(issue: &IssueEdit) -> String {
    match (issue.from_piece, issue.to_piece) {
        (None, None) => "all pieces".into(),
        (Some(from), None) => format!("pieces {from} and on"),
        (None, Some(to)) => format!("pieces up to {to}"),
        (Some(from), Some(to)) if from == to => format!("piece {from}"),
        (Some(from), Some(to)) => format!("pieces {from} to {to}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Entry;

    fn moved(right: f64, up: f64) -> String {
        change_words(&Change::Moved {
            right: Entry::of_mm(right),
            up: Entry::of_mm(up),
        })
    }

    #[test]
    fn a_move_says_which_way() {
        assert_eq!(moved(-6.0, -14.0), "moved 14 mm down and 6 mm left");
        assert_eq!(moved(0.0, 2.5), "moved 2.5 mm up");
        assert_eq!(moved(1.0, 0.0), "moved 1 mm right");
        assert_eq!(moved(0.0, 0.0), "not moved");
    }
}
