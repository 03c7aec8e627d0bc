//! What sheets and screens say of a template, in the workshop's words.

use crate::frames::{Flat, Vector2};
use crate::job::{FeatureEdit, FixingId, Hand, Job, SheetOf};
use crate::template::Laying;
use crate::units::Length;

/// A length as it stands on a sheet: tenths of a millimetre, from whole micrometres.
#[must_use]
pub fn mm(length: Length) -> String {
    let um = length.to_um();
    let tenths = um.unsigned_abs().saturating_add(50) / 100;
    let sign = if um < 0 && tenths > 0 { "−" } else { "" };
    if tenths.is_multiple_of(10) {
        format!("{sign}{}", tenths / 10)
    } else {
        format!("{sign}{}.{}", tenths / 10, tenths % 10)
    }
}

/// The same with its tenth always written, for errors: `1.0`.
#[must_use]
pub(super) fn tenth(length: Length) -> String {
    let um = length.to_um();
    let tenths = um.unsigned_abs().saturating_add(50) / 100;
    let sign = if um < 0 && tenths > 0 { "−" } else { "" };
    format!("{sign}{}.{}", tenths / 10, tenths % 10)
}

/// A title inside a sentence: *eye, left*.
#[must_use]
pub fn lower(title: &str) -> String {
    let mut chars = title.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_lowercase().chain(chars).collect())
}

/// A sentence begun: *Drifting*.
pub(super) fn upper(said: &str) -> String {
    let mut chars = said.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// Which way a displacement goes, seen from outside: *low*, *high*, *to the left*, *low and left*.
#[must_use]
pub fn direction_words(v: Vector2<Flat>) -> &'static str {
    let (x, y) = (v.x_mm(), v.y_mm());
    if x == 0.0 && y == 0.0 {
        return "off";
    }
    // Within about 27° of an axis only that axis is named.
    match (x.abs() > 2.0 * y.abs(), y.abs() > 2.0 * x.abs()) {
        (_, true) if y < 0.0 => "low",
        (_, true) => "high",
        (true, _) if x < 0.0 => "to the left",
        (true, _) => "to the right",
        _ => match (y < 0.0, x < 0.0) {
            (true, true) => "low and left",
            (true, false) => "low and right",
            (false, true) => "high and left",
            (false, false) => "high and right",
        },
    }
}

/// What stands under the title of a page to read: the job and the day.
pub(super) fn letter_line(job: &Job, day: &str) -> String {
    let invented = if job.about.invented == Some(true) {
        " · INVENTED EXAMPLE"
    } else {
        ""
    };
    format!("{}{invented} · {day}", job.title())
}

/// *Eye, left*.
#[must_use]
pub fn feature_title(feature: &FeatureEdit) -> String {
    let name = feature.name.clone().unwrap_or_else(|| "feature".into());
    match feature.hand {
        Some(Hand::Left) => format!("{name}, left"),
        Some(Hand::Right) => format!("{name}, right"),
        None => name,
    }
}

/// *Eye, left*; *Bracket bolts, drill template*.
#[must_use]
pub fn sheet_title(job: &Job, of: &SheetOf) -> String {
    let fixing = |id: &FixingId| {
        let name = job.fixings.get(id).and_then(|f| f.name.clone());
        name.unwrap_or_else(|| id.to_string())
    };
    match of {
        SheetOf::Feature(id) => job
            .features
            .get(id)
            .map_or_else(|| id.to_string(), feature_title),
        SheetOf::Shell(id) => {
            let name = job.features.get(id).map(feature_title);
            format!("{}, shell", name.unwrap_or_else(|| id.to_string()))
        }
        SheetOf::Patches(id) => {
            let name = job.features.get(id).map(feature_title);
            format!("{}, in patches", name.unwrap_or_else(|| id.to_string()))
        }
        SheetOf::Gores(id) => {
            let name = job.features.get(id).map(feature_title);
            format!("{}, as gores", name.unwrap_or_else(|| id.to_string()))
        }
        SheetOf::Pair(id) => {
            let name = job.pairs.get(id).and_then(|p| p.name.clone());
            format!("{}, both", name.unwrap_or_else(|| id.to_string()))
        }
        SheetOf::Fixing(id) => format!("{}, drill template", fixing(id)),
        SheetOf::Jig(id) => format!("{}, jig", fixing(id)),
        SheetOf::Plate(id) => format!("{}, setting plate", fixing(id)),
        SheetOf::Rods(id) => {
            let name = job.features.get(id).map(feature_title);
            format!("{}, rods", name.unwrap_or_else(|| id.to_string()))
        }
    }
}

/// How to lay it, as the first line of the sheet.
pub(super) fn laying_words(laying: &Laying, letters: &[String]) -> String {
    let l = |k: usize| letters.get(k).cloned().unwrap_or_else(|| "?".into());
    match laying {
        Laying::FirstThenAlong { first, then } => {
            let (a, b) = (l(*first), l(*then));
            format!("Put {a} on {a}, then turn until {b} lies on the line {a}–{b}.")
        }
        Laying::SplitAlong { first, then } => {
            let (a, b) = (l(*first), l(*then));
            format!("Lay {a} and {b} on their line, then slide until both are off by the same.")
        }
        Laying::Stops { .. } => stand_words(laying, letters),
        Laying::BestFit { weights } => {
            let used: Vec<String> = weights
                .iter()
                .enumerate()
                .filter(|(_, w)| **w > 0.0)
                .map(|(k, _)| l(k))
                .collect();
            format!(
                "Lay all crosses ({}) as near their marks as they come, none favoured.",
                used.join(", ")
            )
        }
    }
}

/// How a jig comes to rest, as the first line of its sheet.
pub(super) fn stand_words(laying: &Laying, letters: &[String]) -> String {
    let l = |k: usize| letters.get(k).cloned().unwrap_or_default();
    match laying {
        Laying::FirstThenAlong { first, then } => format!(
            "Stand pin {a} in its mark, turn until pin {b} points at {b} along the line {a}–{b}; the other pins only carry.",
            a = l(*first),
            b = l(*then)
        ),
        Laying::Stops { touch } => {
            let name = |k: usize| touch.get(k).map(|t| l(t.0)).unwrap_or_default();
            format!(
                "Push {} and {} against their edge, slide along it until {} touches the next, and hold it there; the pins only carry.",
                name(0),
                name(1),
                name(2)
            )
        }
        Laying::SplitAlong { .. } | Laying::BestFit { .. } => laying_words(laying, letters),
    }
}

/// What the template of a hatch is called in a sentence.
pub(super) const CUT_OUT: &str = "cut-out template";

/// What a sheet is called in a sentence.
pub(super) const fn kind_of(of: &SheetOf) -> &'static str {
    match of {
        SheetOf::Feature(_) | SheetOf::Patches(_) | SheetOf::Gores(_) | SheetOf::Pair(_) => {
            "stencil"
        }
        SheetOf::Shell(_) => "shell",
        SheetOf::Fixing(_) => "drill template",
        SheetOf::Jig(_) => "jig",
        SheetOf::Plate(_) => "setting plate",
        SheetOf::Rods(_) => "rods",
    }
}

/// *the drawing's own stencil laid on piece 7 would land 4.1 mm low; this one, within 1.2*; from
/// the greatest shift and that of its middle. *Would land another 2.5 mm low* where this one may be off by more.
pub(super) fn instead_words(
    kind: &str,
    piece: &str,
    (lands, shift): (Vector2<Flat>, Vector2<Flat>),
    within: Length,
) -> String {
    let off = lands.norm();
    if off.to_um() < 100 {
        return format!(
            "The drawing's own {kind} would land right on piece {piece} too; this one, within {}.",
            tenth(within)
        );
    }
    // Mostly a turn: the outline moves where its middle does not.
    let way = if shift.norm_mm() * 2.0 < lands.norm_mm() {
        "askew"
    } else {
        direction_words(shift)
    };
    // What this one may be off, that one may be too, from where it lands: side by side the smaller figure
    // would seem the better one.
    if off.mm() <= within.mm() {
        return format!(
            "The drawing's own {kind} laid on piece {piece} would land another {} mm {way}.",
            tenth(off)
        );
    }
    let within = tenth(within);
    format!(
        "The drawing's own {kind} laid on piece {piece} would land {} mm {way}; this one, within {within}.",
        tenth(off)
    )
}

/// What was cut against the edge (*paint edge*, *saw line*), and for what marker.
pub(super) fn drawn_words(
    edge: &str,
    size: &str,
    cut: Option<(Length, bool)>,
    marker: &str,
) -> String {
    match cut {
        None => format!("{edge} {size}; cut on the line, for a {marker}"),
        Some((by, true)) => format!(
            "{edge} {size}; cut {} outside it, for a {marker} run inside the opening",
            mm(by)
        ),
        Some((by, false)) => format!(
            "{edge} {size}; cut {} inside it, for a {marker} run round the patch",
            mm(by)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_print_tenths_and_never_minus_nothing() {
        let say = |x: f64| mm(Length::from_mm(x));
        assert_eq!(say(183.0), "183");
        assert_eq!(say(0.849), "0.8");
        assert_eq!(say(0.85), "0.9");
        assert_eq!(say(-0.04), "0");
        assert_eq!(say(-1.25), "−1.3");
        assert_eq!(tenth(Length::from_mm(2.0)), "2.0");
    }

    #[test]
    fn directions_are_said_from_outside_with_up_up() {
        let say = |x, y| direction_words(Vector2::from_mm(x, y));
        assert_eq!(say(0.1, -4.0), "low");
        assert_eq!(say(3.0, 0.2), "to the right");
        assert_eq!(say(-1.0, 1.0), "high and left");
    }
}
