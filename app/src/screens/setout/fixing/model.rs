//! What is said when a bracket and its holes are set out: facts, from the job and what was typed.

use crate::screens::job::model::edit;
use crate::screens::setout::model::{marks, rule};
use samespot_core::holes::laminate::{GlassWeight, WeightError};
use samespot_core::job::{
    EntityRef, Entry, FaceId, FixingEdit, FixingId, HandReaches, HeldBy, HoleLayer, HolePattern,
    HolePurpose, HoleWidth, Job, JointId, KeepOut, MarkId, Payload, SpacingLet,
};
use samespot_core::prepare::holes::SpacingSaid;
use samespot_core::units::Angle;

/// Brackets on a face by name.
pub(super) fn on_face(job: &Job, face: &FaceId) -> Vec<(FixingId, String)> {
    let mut all: Vec<(FixingId, String)> = job
        .fixings
        .iter()
        .filter(|(_, f)| f.face.as_ref() == Some(face))
        .map(|(id, f)| (id.clone(), f.name.clone().unwrap_or_else(|| id.to_string())))
        .collect();
    all.sort_by(|a, b| (&a.1, &a.0).cmp(&(&b.1, &b.0)));
    all
}

/// The joint that a face's part belongs to, where there is just one.
fn joint(job: &Job, face: &FaceId) -> Option<JointId> {
    let part = job.faces.get(face)?.part.as_ref()?;
    let mut of_part = job
        .joints
        .iter()
        .filter(|(_, j)| j.base.as_ref() == Some(part) || j.figure.as_ref() == Some(part));
    let (id, _) = of_part.next()?;
    of_part.next().is_none().then(|| id.clone())
}

/// A bracket on a face, halfway between its first two marks and dimensioned from the first.
pub(super) fn add(
    job: &Job,
    face: &FaceId,
    called: &str,
    name: &mut dyn FnMut() -> String,
) -> Option<(FixingId, Vec<Payload>)> {
    let id = FixingId::new(&format!("x{}", name())).ok()?;
    let fields = FixingEdit {
        name: Some(called.trim().to_owned()),
        face: Some(face.clone()),
        joint: joint(job, face),
        purpose: Some(HolePurpose::Bolt),
        width: Some(HoleWidth::Medium),
        rule: rule(job, face, None, "split"),
        from: marks(job, face).into_iter().next().map(|(id, _)| id),
        ..FixingEdit::default()
    };
    Some((id.clone(), edit(EntityRef::Fixing(id), &fields)))
}

/// What the holes are for, by its name on the keys.
pub(super) fn purpose(named: &str) -> HolePurpose {
    match named {
        "dowel" => HolePurpose::Dowel,
        "lifting" => HolePurpose::Lifting,
        "drain" => HolePurpose::Drain,
        "vent" => HolePurpose::Vent,
        "cable" => HolePurpose::Cable,
        "pilot" => HolePurpose::Pilot,
        _ => HolePurpose::Bolt,
    }
}

/// Its name on the keys.
pub(super) const fn purpose_key(is: HolePurpose) -> &'static str {
    match is {
        HolePurpose::Bolt => "bolt",
        HolePurpose::Dowel => "dowel",
        HolePurpose::Lifting => "lifting",
        HolePurpose::Drain => "drain",
        HolePurpose::Vent => "vent",
        HolePurpose::Cable => "cable",
        HolePurpose::Pilot => "pilot",
    }
}

/// How wide, by its name on the keys.
pub(super) fn width(named: &str) -> HoleWidth {
    match named {
        "fine" => HoleWidth::Fine,
        "coarse" => HoleWidth::Coarse,
        _ => HoleWidth::Medium,
    }
}

/// Its name on the keys.
pub(super) const fn width_key(is: HoleWidth) -> &'static str {
    match is {
        HoleWidth::Fine => "fine",
        HoleWidth::Medium => "medium",
        HoleWidth::Coarse => "coarse",
    }
}

/// What holds the bolt; with it goes whether a hand is needed there.
pub(super) fn held(named: &str) -> (HandReaches, HeldBy) {
    match named {
        "nut" => (HandReaches::Yes, HeldBy::LooseNut),
        "captive" => (HandReaches::No, HeldBy::CaptiveNut),
        _ => (HandReaches::No, HeldBy::TappedPlate),
    }
}

/// Its name on the keys.
pub(super) const fn held_key(of: &FixingEdit) -> &'static str {
    match (of.hand_reaches, of.held_by) {
        (Some(HandReaches::Yes), _) => "nut",
        (Some(HandReaches::No), Some(HeldBy::CaptiveNut)) => "captive",
        (Some(HandReaches::No), _) => "tapped",
        (None, _) => "",
    }
}

/// The most holes of one bracket that are asked for by a number.
const MOST: u32 = 48;

/// A pattern from what was typed; nothing while something is missing.
pub(super) fn pattern(
    kind: &str,
    count: &str,
    sizes: [Option<Entry>; 4],
    first_hole: Option<Angle>,
) -> Option<HolePattern> {
    let count = || {
        let n: u32 = count.trim().parse().ok()?;
        (1..=MOST).contains(&n).then_some(n)
    };
    let [first, second, third, fourth] = sizes;
    Some(match kind {
        "single" => HolePattern::Single,
        "row" => HolePattern::Row {
            count: count()?,
            pitch: first?,
        },
        "circle" => HolePattern::BoltCircle {
            count: count()?,
            diameter: first?,
            first: first_hole,
        },
        "rectangle" => HolePattern::Rectangle {
            across: first?,
            up: second?,
        },
        "along" => HolePattern::Along {
            length: first?,
            start: second?,
            end: third?,
            greatest: fourth?,
        },
        _ => return None,
    })
}

/// A pattern as the form shows it: its name on the keys, the count, the sizes.
pub(super) fn of_pattern(is: Option<&HolePattern>) -> (&'static str, String, [Option<Entry>; 4]) {
    let none = || [None, None, None, None];
    match is.cloned() {
        None => ("", String::new(), none()),
        Some(HolePattern::Single) => ("single", String::new(), none()),
        Some(HolePattern::Row { count, pitch }) => {
            ("row", count.to_string(), [Some(pitch), None, None, None])
        }
        Some(HolePattern::BoltCircle {
            count, diameter, ..
        }) => (
            "circle",
            count.to_string(),
            [Some(diameter), None, None, None],
        ),
        Some(HolePattern::Rectangle { across, up }) => (
            "rectangle",
            String::new(),
            [Some(across), Some(up), None, None],
        ),
        Some(HolePattern::Along {
            length,
            start,
            end,
            greatest,
        }) => (
            "along",
            String::new(),
            [Some(length), Some(start), Some(end), Some(greatest)],
        ),
    }
}

/// Where the first hole of a circle lies, where somebody said.
pub(super) fn first_hole(is: Option<&HolePattern>) -> Option<Angle> {
    match is {
        Some(HolePattern::BoltCircle { first, .. }) => *first,
        _ => None,
    }
}

/// What one line of glass came to.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Glass {
    /// A weight, in the words that say which.
    Weight(String),
    /// Ounces of what? The number as typed.
    WhichOunce(String),
    /// No weight: why.
    Refused(String),
}

/// What was typed as one layer of glass.
pub(super) fn glass(text: &str) -> Glass {
    match GlassWeight::read(text) {
        Ok(_) => Glass::Weight(text.trim().to_owned()),
        Err(WeightError::WhichOunce { ounces, .. }) => Glass::WhichOunce(ounces.to_string()),
        Err(other) => Glass::Refused(other.to_string()),
    }
}

/// The layers with one more; glass typed as *450 g, 450 g, 1.5 oz mat* is several.
pub(super) fn with_layer(
    job: &Job,
    fixing: &FixingId,
    called: &str,
    measured: Option<Entry>,
    glass: Vec<String>,
) -> Vec<Payload> {
    let mut layers = layers(job, fixing);
    let named = called.trim();
    layers.push(HoleLayer {
        name: if named.is_empty() { "skin" } else { named }.to_owned(),
        measured,
        glass,
    });
    set_layers(fixing, layers)
}

/// The layers without one of them.
pub(super) fn without_layer(job: &Job, fixing: &FixingId, at: usize) -> Vec<Payload> {
    let mut layers = layers(job, fixing);
    if at < layers.len() {
        layers.remove(at);
    }
    set_layers(fixing, layers)
}

/// The layers, from outside in.
pub(super) fn layers(job: &Job, fixing: &FixingId) -> Vec<HoleLayer> {
    job.fixings
        .get(fixing)
        .and_then(|f| f.layers.clone())
        .unwrap_or_default()
}

fn set_layers(fixing: &FixingId, layers: Vec<HoleLayer>) -> Vec<Payload> {
    edit(
        EntityRef::Fixing(fixing.clone()),
        &FixingEdit {
            layers: Some(layers),
            ..FixingEdit::default()
        },
    )
}

/// The keep-outs of a bracket.
pub(super) fn keep_outs(job: &Job, fixing: &FixingId) -> Vec<KeepOut> {
    job.fixings
        .get(fixing)
        .and_then(|f| f.keep_outs.clone())
        .unwrap_or_default()
}

/// Other keep-outs.
pub(super) fn set_keep_outs(fixing: &FixingId, all: Vec<KeepOut>) -> Vec<Payload> {
    edit(
        EntityRef::Fixing(fixing.clone()),
        &FixingEdit {
            keep_outs: Some(all),
            ..FixingEdit::default()
        },
    )
}

/// An engineer lets the distances as they are stand; nothing without initials or a reason.
pub(super) fn let_stand(
    fixing: &FixingId,
    said: &SpacingSaid,
    initials: &str,
    reason: &str,
) -> Vec<Payload> {
    let (initials, reason) = (initials.trim(), reason.trim());
    if initials.is_empty() || reason.is_empty() {
        return Vec::new();
    }
    let spacing_let = SpacingLet {
        initials: initials.to_owned(),
        reason: reason.to_owned(),
        thread: said.thread.clone(),
        to_edge: said.to_edge,
        pitch: said.pitch,
    };
    edit(
        EntityRef::Fixing(fixing.clone()),
        &FixingEdit {
            spacing_let: Some(spacing_let),
            ..FixingEdit::default()
        },
    )
}

/// What a bracket still needs before its holes can be laid out.
pub(super) fn to_do(of: &FixingEdit, marks: &[(MarkId, String)]) -> Vec<&'static str> {
    let mut all = Vec::new();
    if marks.len() < 2 || of.rule.is_none() {
        all.push("Two marks on this face that it follows: add them above");
    }
    if of.from.is_none() {
        all.push("The mark it is dimensioned from");
    }
    if of.thread.is_none() {
        all.push("Which bolt it takes");
    }
    if of.pattern.is_none() {
        all.push("How its holes lie");
    }
    if of.hand_reaches.is_none() && of.purpose == Some(HolePurpose::Bolt) {
        all.push("Whether a hand can reach the far side after closing");
    }
    if of.layers.as_ref().is_none_or(Vec::is_empty) {
        all.push("What is drilled through, and how thick it is");
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn mm(of: f64) -> Option<Entry> {
        Some(Entry::of_mm(of))
    }

    #[test]
    fn a_pattern_waits_until_everything_is_typed_and_comes_back_as_it_was() {
        assert_eq!(pattern("row", "4", [None, None, None, None], None), None);
        assert_eq!(
            pattern("row", "1000", [mm(50.0), None, None, None], None),
            None
        );
        let typed = [mm(500.0), mm(40.0), mm(40.0), mm(150.0)];
        let along = pattern("along", "", typed.clone(), None).unwrap();
        // 420 mm at 150 at most: three steps of 140, four holes.
        assert_eq!(along.count(), 4);
        assert_eq!(of_pattern(Some(&along)), ("along", String::new(), typed));
    }

    #[test]
    fn a_bare_ounce_is_asked_about() {
        assert_eq!(glass("1.5 oz"), Glass::WhichOunce("1.5".into()));
        assert_eq!(glass(" 1.5 oz mat "), Glass::Weight("1.5 oz mat".into()));
        assert!(matches!(glass("thick"), Glass::Refused(_)));
    }

    #[test]
    fn nobody_lets_anything_stand_without_initials_and_a_reason() {
        let said = SpacingSaid {
            thread: "M10".into(),
            to_edge: None,
            pitch: None,
            short: Vec::new(),
            stands: None,
            lapsed: None,
        };
        let id = FixingId::new("x1").unwrap();
        assert!(let_stand(&id, &said, " ", "checked").is_empty());
        assert!(let_stand(&id, &said, "AB", "").is_empty());
        assert_eq!(let_stand(&id, &said, "AB", "thick pad here").len(), 1);
    }
}
