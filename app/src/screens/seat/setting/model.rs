//! What is said when a seat is set out: facts, from the job and what was typed.

use crate::screens::job::model::edit;
use samespot_core::job::{
    Bedding, EntityRef, Entry, Job, JointEdit, JointId, PartId, Payload, SeatLayer, SeatSpot,
    SpotId,
};
use samespot_core::units::{Angle, Length};

/// The eight ways a face may fall in plan, anticlockwise from the right, as somebody looking at
/// the front sees them.
pub(super) const WAYS: [(&str, f64); 8] = [
    ("right", 0.0),
    ("back right", 45.0),
    ("back", 90.0),
    ("back left", 135.0),
    ("left", 180.0),
    ("front left", 225.0),
    ("front", 270.0),
    ("front right", 315.0),
];

/// Every joint, with its name.
pub(super) fn joints(job: &Job) -> Vec<(JointId, String)> {
    job.joints
        .iter()
        .map(|(id, j)| (id.clone(), j.name.clone().unwrap_or_else(|| id.to_string())))
        .collect()
}

/// A joint of two parts: the second stands on the first.
pub(super) fn add(
    job: &Job,
    base: &PartId,
    figure: &PartId,
    name: &mut dyn FnMut() -> String,
) -> Option<(JointId, Vec<Payload>)> {
    if base == figure {
        return None;
    }
    let id = JointId::new(&format!("j{}", name())).ok()?;
    let called = |part: &PartId| {
        job.parts
            .get(part)
            .and_then(|p| p.name.clone())
            .unwrap_or_else(|| part.to_string())
    };
    let fields = JointEdit {
        name: Some(format!(
            "{} on {}",
            called(figure),
            called(base).to_lowercase()
        )),
        base: Some(base.clone()),
        figure: Some(figure.clone()),
        ..JointEdit::default()
    };
    Some((id.clone(), edit(EntityRef::Joint(id), &fields)))
}

/// How it is bedded, by its name on the keys.
pub(super) fn bedded(named: &str) -> Bedding {
    match named {
        "master" => Bedding::MasterSeat,
        "pads" => Bedding::HardPads,
        _ => Bedding::OwnBase,
    }
}

/// Its name on the keys.
pub(super) const fn bedded_key(is: Bedding) -> &'static str {
    match is {
        Bedding::OwnBase => "own",
        Bedding::MasterSeat => "master",
        Bedding::HardPads => "pads",
    }
}

/// Pads under the figure, or stations where the locating dimension is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Spots {
    Pads,
    Stations,
}

impl Spots {
    /// Those of a joint.
    pub(super) fn of(self, joint: &JointEdit) -> Vec<SeatSpot> {
        match self {
            Self::Pads => joint.pads.clone(),
            Self::Stations => joint.stations.clone(),
        }
        .unwrap_or_default()
    }

    /// Others instead.
    pub(super) fn fields(self, all: Vec<SeatSpot>) -> JointEdit {
        match self {
            Self::Pads => JointEdit {
                pads: Some(all),
                ..JointEdit::default()
            },
            Self::Stations => JointEdit {
                stations: Some(all),
                ..JointEdit::default()
            },
        }
    }

    const fn letter(self) -> char {
        match self {
            Self::Pads => 'p',
            Self::Stations => 's',
        }
    }
}

/// The spots of a joint with one more; its id is none that was ever used there, as readings stay
/// with a spot that was taken away.
pub(super) fn with_spot(
    job: &Job,
    joint: &JointEdit,
    spots: Spots,
    spot: (&str, Entry, Entry),
    falls: Option<(Angle, Angle)>,
) -> Option<JointEdit> {
    let (name, across, back) = spot;
    let mut all = spots.of(joint);
    let read: Vec<String> = job
        .seat_readings
        .iter()
        .map(|r| match &r.says.of {
            samespot_core::job::SeatRead::Height { spot, .. } => spot.to_string(),
            samespot_core::job::SeatRead::Gap { pad, .. } => pad.to_string(),
            samespot_core::job::SeatRead::Locating { station, .. } => station.to_string(),
        })
        .collect();
    let id = (1_u32..200)
        .map(|n| format!("{}{n}", spots.letter()))
        .find(|id| !read.contains(id) && !all.iter().any(|s| s.id.to_string() == *id))?;
    all.push(SeatSpot {
        id: SpotId::new(&id).ok()?,
        name: name.trim().to_owned(),
        across,
        back,
        slope: falls.map(|f| f.0),
        falls: falls.map(|f| f.1),
    });
    Some(spots.fields(all))
}

/// The layers with one more: there while the figure is bedded, in the finished piece, or both.
pub(super) fn with_layer(
    joint: &JointEdit,
    called: &str,
    thickness: Length,
    when: &str,
) -> JointEdit {
    let mut all = joint.layers.clone().unwrap_or_default();
    all.push(SeatLayer {
        name: called.trim().to_owned(),
        thickness,
        while_bedding: when != "after",
        finished: when != "only",
    });
    JointEdit {
        layers: Some(all),
        ..JointEdit::default()
    }
}

/// Twice the area of the largest triangle of three places in plan, mm².
fn spread(all: &[SeatSpot]) -> f64 {
    let at = |s: &SeatSpot| (s.across.mm.mm(), s.back.mm.mm());
    let mut most = 0.0_f64;
    for (i, a) in all.iter().enumerate() {
        for (k, b) in all.iter().enumerate().skip(i + 1) {
            for c in all.iter().skip(k + 1) {
                let ((ax, ay), (bx, by), (cx, cy)) = (at(a), at(b), at(c));
                most = most.max(((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)).abs());
            }
        }
    }
    most
}

/// What holds the figure and what does not, by where pads and stations are.
pub(super) fn held(joint: &JointEdit) -> Vec<String> {
    let (pads, stations) = (Spots::Pads.of(joint), Spots::Stations.of(joint));
    let mut all = Vec::new();
    let lean = |what: &str, spots: &[SeatSpot]| match spots.len() {
        0 => format!("No {what}s yet: height and lean are free"),
        1 => format!(
            "One {what}: it holds the height there, and the figure is free to rock every way"
        ),
        2 => format!("Two {what}s: the figure is free to rock about the line between them"),
        // Narrower than 20 mm over 100 is a line to a tape.
        _ if spread(spots) < 2000.0 => {
            format!(
                "The {what}s lie on one line: the figure is free to rock about it. Put one well off that line"
            )
        }
        n => format!("{n} {what}s well apart hold height and lean"),
    };
    all.push(lean("pad", &pads));
    all.push(lean("station", &stations));
    let mut ways: Vec<f64> = pads
        .iter()
        .filter(|p| p.slope.is_some_and(|s| s.deg() > 5.0))
        .filter_map(|p| p.falls)
        .map(|f| f.deg().rem_euclid(360.0))
        .collect();
    ways.sort_by(f64::total_cmp);
    ways.dedup_by(|a, b| (*a - *b).abs() < 0.5);
    all.push(
        match ways.as_slice() {
            [] => "Level under every pad: free to slide and to turn in plan. Witness marks across the joint hold that",
            [_] => "All slopes fall one way: free to slide along them. Witness marks across the joint hold that",
            [a, b] if (b - a - 180.0).abs() < 0.5 => {
                "Astride a ridge: held across it, free to slide along the ridge. Witness marks across the joint hold that"
            }
            _ => "Slopes fall different ways: they hold the figure in plan as far as they are steep",
        }
        .to_owned(),
    );
    all
}

/// What a joint still needs before shims can be told.
pub(super) fn to_do(joint: &JointEdit) -> Vec<&'static str> {
    let mut all = Vec::new();
    if joint.locating_dimension.is_none() {
        all.push("The locating dimension");
    }
    if Spots::Pads.of(joint).len() < 3 {
        all.push("Three pads: where the figure rests on hard points");
    }
    if Spots::Stations.of(joint).len() < 3 {
        all.push("Three stations: where the locating dimension is read");
    }
    if joint.bedded.is_none() {
        all.push("How it is bedded: that decides what may be swapped");
    }
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    fn spot(across: f64, back: f64, falls: Option<f64>) -> SeatSpot {
        SeatSpot {
            id: SpotId::new("p1").unwrap(),
            name: "here".into(),
            across: Entry::of_mm(across),
            back: Entry::of_mm(back),
            slope: falls.map(|_| Angle::from_deg(35.0)),
            falls: falls.map(Angle::from_deg),
        }
    }

    fn says(pads: Vec<SeatSpot>) -> Vec<String> {
        held(&Spots::Pads.fields(pads))
    }

    #[test]
    fn what_is_held_is_said_by_where_the_pads_are() {
        let flat = says(vec![
            spot(-100.0, 0.0, None),
            spot(100.0, 0.0, None),
            spot(0.0, 150.0, None),
        ]);
        assert!(flat[0].contains("hold height and lean"), "{flat:?}");
        assert!(flat[2].contains("free to slide and to turn"), "{flat:?}");
        let line = says(vec![
            spot(-100.0, 0.0, None),
            spot(0.0, 1.0, None),
            spot(100.0, 0.0, None),
        ]);
        assert!(line[0].contains("on one line"), "{line:?}");
        // A part astride a ridge slides along it (CHECKS I: degenerate locators).
        let ridge = says(vec![
            spot(-100.0, -80.0, Some(180.0)),
            spot(100.0, -80.0, Some(0.0)),
            spot(100.0, 80.0, Some(0.0)),
        ]);
        assert!(
            ridge[2].contains("free to slide along the ridge"),
            "{ridge:?}"
        );
    }

    #[test]
    fn a_spot_never_takes_the_id_of_one_that_was_read() {
        let joint = Spots::Pads.fields(vec![spot(0.0, 0.0, None)]);
        let more = with_spot(
            &samespot_core::job::Ledger::new(samespot_core::job::JobId::new("j").unwrap()).fold(),
            &joint,
            Spots::Pads,
            ("back", Entry::of_mm(1.0), Entry::of_mm(2.0)),
            None,
        )
        .unwrap();
        let ids: Vec<String> = more
            .pads
            .unwrap()
            .iter()
            .map(|p| p.id.to_string())
            .collect();
        assert_eq!(ids, ["p1", "p2"]);
    }
}
