//! The sentences a sheet works out for itself from what is drawn on it.

use super::input::{Cross, Hand, Plug, ProofState, ScaleCorrection, Words};

/// Millimetres with one decimal, never `-0.0`.
pub(super) fn mm1(mm: f64) -> String {
    let tenths = libm::round(mm * 10.0);
    if tenths.abs() < 0.5 {
        "0.0".into()
    } else {
        format!("{:.1}", tenths / 10.0)
    }
}

/// Joins what is not empty.
pub(super) fn join(parts: &[&str], between: &str) -> String {
    parts
        .iter()
        .filter(|p| !p.trim().is_empty())
        .copied()
        .collect::<Vec<_>>()
        .join(between)
}

/// `LEFT EYE`.
pub(super) fn feature_name(words: &Words) -> String {
    join(&[words.hand.word(), &words.feature.to_uppercase()], " ")
}

/// `eye, left` for fields and contents.
pub(super) fn feature_field(words: &Words) -> String {
    let hand = match words.hand {
        Hand::Left => "left",
        Hand::Right => "right",
        Hand::None => "",
    };
    join(&[&words.feature, hand], ", ")
}

/// What the outline is: where the paint ends, or where the saw runs.
pub(super) const fn outline(words: &Words) -> &'static str {
    if !words.lines.is_empty() {
        words.lines
    } else if words.plug.is_some() {
        "saw line"
    } else {
        "paint edge"
    }
}

/// `PLUG 7: KEEP IT`.
pub(super) fn plug_label(plug: &Plug) -> String {
    format!("PLUG {}: KEEP IT", plug.number)
}

/// What kind of template, lower case.
pub(super) fn kind(words: &Words) -> &str {
    if words.kind.trim().is_empty() {
        "stencil"
    } else {
        &words.kind
    }
}

/// The pieces it serves with runs of three or more drawn together: `1 to 6 · 9 · 12`.
pub(super) fn pieces(words: &Words) -> String {
    let mut shown: Vec<String> = Vec::new();
    let mut rest = words.serves.as_slice();
    while let Some(first) = rest.first() {
        let run = match first.trim().parse::<u32>() {
            Ok(n) => (n..)
                .zip(rest)
                .take_while(|(want, have)| have.trim().parse::<u32>() == Ok(*want))
                .count(),
            Err(_) => 1,
        };
        if run >= 3 {
            let last = rest.get(run - 1).map_or("", |p| p.trim());
            shown.push(format!("{} to {last}", first.trim()));
            rest = rest.get(run..).unwrap_or_default();
        } else {
            shown.push(first.trim().into());
            rest = rest.get(1..).unwrap_or_default();
        }
    }
    shown.join(" · ")
}

/// `serves piece`, `serves pieces`; not of how many: a piece more would put every sheet that was
/// printed before it out of date.
pub(super) const fn serves_label(words: &Words) -> &'static str {
    if words.serves.len() == 1 {
        "serves piece"
    } else {
        "serves pieces"
    }
}

/// `issue 2 · stencil 3 of 4`.
pub(super) fn issue_and_number(words: &Words) -> String {
    let number = if words.template_number.is_empty() {
        String::new()
    } else {
        format!("{} {}", kind(words), words.template_number)
    };
    join(&[&format!("issue {}", words.issue), &number], " · ")
}

/// From where it is seen.
pub(super) fn seen_from(words: &Words) -> &str {
    if words.seen_from.trim().is_empty() {
        "seen from outside"
    } else {
        &words.seen_from
    }
}

/// Which way round the crosses run; the outline's centre stands in for a third.
///
/// The sign of (B − A) × (C − A) in a frame whose y runs up, seen from outside.
pub(super) fn hand_check(words: &Words, crosses: &[Cross]) -> Option<String> {
    if let Some(given) = words.hand_check.as_ref().filter(|s| !s.trim().is_empty()) {
        return Some(given.clone());
    }
    let [a, b, rest @ ..] = crosses else {
        return None;
    };
    let third = rest.first();
    let c = third.map_or(crate::frames::Point2::ORIGIN, |c| c.place);
    let area = (b.place - a.place).cross(c - a.place);
    // Three crosses within a millimetre of one line have no hand that an eye could check.
    let long = a.place.distance(b.place).mm().max(a.place.distance(c).mm());
    if area.abs() < long.max(1.0) {
        return None;
    }
    let way = if area < 0.0 {
        "clockwise"
    } else {
        "anticlockwise"
    };
    let last = third.map_or("the centre", |c| c.letter.as_str());
    Some(format!(
        "{} to {} to {last} runs {way}, seen from outside.",
        a.letter, b.letter
    ))
}

/// Distances between the crosses as drawn, for the tape: every pair of up to four crosses, beyond
/// that round the ring and across it; where there are too many for that, between the first four.
pub(super) fn distances(crosses: &[Cross]) -> String {
    const MOST: usize = 16;
    let crosses = match crosses {
        [a @ .., _] if a.len() >= MOST => crosses.get(..4).unwrap_or_default(),
        all => all,
    };
    let n = crosses.len();
    let mut shown = Vec::new();
    for (i, a) in crosses.iter().enumerate() {
        for (j, b) in crosses.iter().enumerate().skip(i + 1) {
            let near = j == i + 1 || (i == 0 && j + 1 == n) || j - i == n / 2;
            if n <= 4 || near {
                let d = a.place.distance(b.place).mm();
                // C–A closes a triangle; a no-break space keeps a distance with its letters.
                let (from, to) = if n == 3 && j == i + 2 { (b, a) } else { (a, b) };
                shown.push(format!("{}–{}\u{a0}{}", from.letter, to.letter, mm1(d)));
            }
        }
    }
    if n == 3 {
        shown.swap(1, 2);
    }
    if shown.is_empty() {
        String::new()
    } else {
        format!("{}\u{a0}mm", shown.join(" · "))
    }
}

/// `+0.8 mm` without a repetition of the cross's own letter.
pub(super) fn off_by(cross: &Cross) -> String {
    let text = cross.off_by.as_deref().unwrap_or("").trim();
    let rest = text
        .strip_prefix(cross.letter.trim())
        .filter(|r| r.starts_with(' '));
    rest.unwrap_or(text).trim().into()
}

/// What a sheet says of its size: as long as [`NOT_PROVED`](super::strip::NOT_PROVED) at most.
pub(super) fn proof(state: &ProofState) -> String {
    match state {
        ProofState::NotProved => super::strip::NOT_PROVED.into(),
        ProofState::Proved(how) => format!("PROVED {how}: READ BOTH BARS"),
    }
}

/// `Bench A3 · scale 1.0014 across, 0.9991 up`.
pub(super) fn printer_field(words: &Words, correction: Option<ScaleCorrection>) -> String {
    let scale = correction.map_or_else(
        || "no scale correction".to_string(),
        |c| format!("scale {:.4} across, {:.4} up", c.across, c.up),
    );
    join(&[&words.printer, &scale], " · ")
}

/// With a capital and a full stop.
pub(super) fn sentence(text: &str) -> String {
    let mut letters = text.trim().chars();
    let first = letters
        .next()
        .map(|c| c.to_uppercase().collect::<String>())
        .unwrap_or_default();
    let rest: String = letters.collect();
    let stop = if rest.ends_with(['.', '!', '?']) {
        ""
    } else {
        "."
    };
    format!("{first}{rest}{stop}")
}
