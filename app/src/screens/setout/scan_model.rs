//! What is asked of the scan module, what it answers, and what is said of the job when a face is
//! made of a scan.

use samespot_core::job::{
    CastingId, EntityRef, Entry, FaceAxis, FaceEdit, FaceId, FaceShape, Job, Measured, Payload,
    PointRef, Reading, Withdrawal,
};
use samespot_core::prepare::feature_title;
use samespot_core::units::Length;
use serde::Deserialize;
use serde_json::{Value, json};

use super::model;
use crate::screens::job::model::edit;

/// How well a mark is found on a scan (one standard deviation): scanned edges are blurred by about
/// this much (common practice, no source).
const PICKED_SD: Length = Length::from_mm(0.5);

/// Size of the picture, in its own pixels.
pub const PICTURE: [u32; 2] = [720, 480];

/// One turn of the view, degrees.
pub const TURN: f64 = 30.0;

/// A place of the scan, in its own unit.
pub type Place = [f64; 3];

/// The units a scan may be in, with what one of it is in mm.
pub const UNITS: [(&str, f64); 4] = [("mm", 1.0), ("cm", 10.0), ("inch", 25.4), ("m", 1000.0)];

/// The ways a scan may stand, by the axis that points up on the piece.
pub const UPS: [(&str, &str, Place); 6] = [
    ("z", "z up", [0.0, 0.0, 1.0]),
    ("y", "y up", [0.0, 1.0, 0.0]),
    ("x", "x up", [1.0, 0.0, 0.0]),
    ("-z", "z down", [0.0, 0.0, -1.0]),
    ("-y", "y down", [0.0, -1.0, 0.0]),
    ("-x", "x down", [-1.0, 0.0, 0.0]),
];

/// What the scan module answers.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "came", rename_all = "kebab-case")]
pub enum Came {
    /// The file was read.
    Read(Opened),
    /// A picture of it is in the bytes.
    View {
        /// Where the marks are in it.
        marks: Vec<Seen>,
    },
    /// A place under a finger.
    Picked {
        /// Where.
        at: Place,
        /// From there to who looks.
        toward: Place,
    },
    /// Nothing is there.
    Missed,
    /// A face; what is to be attached is in the bytes.
    Fitted(Fitted),
    /// The module was started anew and holds no scan.
    Gone,
    /// A sentence.
    Refused {
        /// It.
        sentence: String,
    },
}

/// A scan that was read.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
pub struct Opened {
    /// STL, OBJ, PLY, 3MF.
    pub kind: String,
    /// How many.
    pub triangles: usize,
    /// Where the file says one.
    pub unit: Option<String>,
    /// Of the box around it, as read.
    pub size: Place,
    /// What is to be known of it.
    pub notes: Vec<String>,
}

/// A mark in the picture.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Seen {
    /// Right and down.
    pub at: [f64; 2],
    /// Nothing stands before it.
    pub in_sight: bool,
}

/// A face made of a scan.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Fitted {
    /// The marks, in the order asked.
    pub marks: Vec<On>,
    /// How many were used.
    pub triangles: usize,
    /// Their mean edge, mm.
    pub edge_mm: f64,
    /// What was smoothed away, mm.
    pub smoothed_over_mm: f64,
    /// What that moved, on the whole, mm.
    pub moved_rms_mm: f64,
    /// At most, mm.
    pub moved_most_mm: f64,
    /// The scan is wound the other way round than it was looked at.
    pub turned: bool,
}

/// A mark on the face.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct On {
    /// Its chart coordinates, mm.
    pub uv_mm: [f64; 2],
    /// How far what was typed was off the scan, mm.
    pub off_mm: f64,
    /// How far the smoothed face is from the scan there, mm.
    pub moved_mm: f64,
}

/// The side it is seen from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// About up, degrees.
    pub turn: f64,
    /// Looking down, degrees.
    pub tilt: f64,
    /// How much nearer than all of it.
    pub zoom: f64,
    /// What stands in the middle when nearer.
    pub centre: Option<Place>,
}

impl Default for Side {
    fn default() -> Self {
        Self {
            turn: 0.0,
            tilt: 0.0,
            zoom: 1.0,
            centre: None,
        }
    }
}

/// A mark or a middle with where it was picked.
#[derive(Debug, Clone, PartialEq)]
pub struct Pick {
    /// Which.
    pub point: PointRef,
    /// What it is called on the screen.
    pub name: String,
    /// Where on the scan.
    pub at: Option<Place>,
    /// From there to who looked; not known where it was typed.
    pub toward: Option<Place>,
}

/// The direction that is up.
#[must_use]
pub fn up_of(name: &str) -> Place {
    UPS.iter()
        .find(|u| u.0 == name)
        .map_or([0.0, 0.0, 1.0], |u| u.2)
}

fn seen_from(side: Side, up: Place) -> Value {
    json!({ "up": up, "turn": side.turn, "tilt": side.tilt, "zoom": side.zoom,
        "centre": side.centre, "size": PICTURE })
}

fn with(mut all: Value, more: &[(&str, Value)]) -> String {
    for (key, value) in more {
        all[*key] = value.clone();
    }
    all.to_string()
}

/// Asks for a picture.
#[must_use]
pub fn ask_view(side: Side, up: Place, marks: &[Place]) -> String {
    with(
        seen_from(side, up),
        &[("do", "view".into()), ("marks", json!(marks))],
    )
}

/// Asks for the place under a finger.
#[must_use]
pub fn ask_pick(side: Side, up: Place, at: [f64; 2]) -> String {
    with(
        seen_from(side, up),
        &[("do", "pick".into()), ("at", json!(at))],
    )
}

/// Asks for the face.
#[must_use]
pub fn ask_fit(picks: &[Pick], up: Place, unit: &str, smooth_mm: Option<f64>) -> String {
    let marks: Vec<Value> = picks
        .iter()
        .filter_map(|p| Some(json!({ "name": p.name, "at": p.at? })))
        .collect();
    let looked: Vec<Place> = picks.iter().filter_map(|p| p.toward).collect();
    let toward = (!looked.is_empty()).then(|| {
        looked.iter().fold([0.0; 3], |s: Place, t| {
            core::array::from_fn(|k| s[k] + t[k])
        })
    });
    json!({ "do": "fit", "marks": marks, "toward": toward, "up": up, "unit": unit,
        "smooth-mm": smooth_mm })
    .to_string()
}

/// How large a scan would be in each unit.
#[must_use]
pub fn sizes(size: Place) -> Vec<(&'static str, String)> {
    UNITS
        .iter()
        .map(|(name, mm)| {
            let words = size.map(|x| figure(x * mm)).join(" × ");
            (*name, format!("{name}: {words} mm"))
        })
        .collect()
}

/// Three figures or so.
fn figure(mm: f64) -> String {
    if mm < 10.0 {
        format!("{mm:.2}")
    } else if mm < 100.0 {
        format!("{mm:.1}")
    } else {
        format!("{mm:.0}")
    }
}

/// The marks and the middles of a face, to be picked.
#[must_use]
pub fn points(job: &Job, face: &FaceId) -> Vec<Pick> {
    let marks = model::marks(job, face)
        .into_iter()
        .map(|(id, letter)| (PointRef::Mark(id), letter));
    let middles = job
        .features
        .iter()
        .filter(|(id, f)| f.face.as_ref() == Some(face) && job.made_from(id).is_none())
        .map(|(id, f)| {
            (
                PointRef::Feature(id.clone()),
                format!("middle of the {}", feature_title(f)),
            )
        });
    marks
        .chain(middles)
        .map(|(point, name)| Pick {
            point,
            name,
            at: None,
            toward: None,
        })
        .collect()
}

/// The picks so far, brought up to what is on the face now.
#[must_use]
pub fn kept(before: &[Pick], now: Vec<Pick>) -> Vec<Pick> {
    now.into_iter()
        .map(|mut p| {
            if let Some(known) = before.iter().find(|b| b.point == p.point) {
                (p.at, p.toward) = (known.at, known.toward);
            }
            p
        })
        .collect()
}

/// Straight distances between what is picked, to be held against a tape.
#[must_use]
pub fn apart(picks: &[Pick], unit_mm: f64) -> Vec<String> {
    let known: Vec<(&str, Place)> = picks
        .iter()
        .filter_map(|p| Some((p.name.as_str(), p.at?)))
        .collect();
    let mut all = Vec::new();
    for (k, (one, a)) in known.iter().enumerate() {
        for (other, b) in known.iter().skip(k + 1) {
            let square: f64 = a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum();
            all.push(format!(
                "{one} to {other}: {:.1} mm straight through",
                square.sqrt() * unit_mm
            ));
        }
    }
    all
}

/// A place typed as three numbers.
///
/// # Errors
/// What would be right.
pub fn typed_place(text: &str) -> Result<Place, String> {
    let numbers: Option<Vec<f64>> = text
        .split(|c: char| c.is_whitespace() || c == ';' || c == ',')
        .filter(|w| !w.is_empty())
        .map(|w| w.parse().ok().filter(|x: &f64| x.is_finite()))
        .collect();
    match numbers.as_deref() {
        Some([x, y, z]) => Ok([*x, *y, *z]),
        _ => Err("Type three numbers, x y z, as the scan has them: 12.5 -40 103.2".into()),
    }
}

/// What smoothing did and how the marks lie, in words.
#[must_use]
pub fn fitted_words(fitted: &Fitted, picks: &[Pick]) -> Vec<String> {
    let mut all = vec![format!(
        "Smoothed over {:.0} mm (its edges are {:.1} mm): this moved the surface up to {:.2} mm, {:.2} mm on the whole",
        fitted.smoothed_over_mm, fitted.edge_mm, fitted.moved_most_mm, fitted.moved_rms_mm
    )];
    if fitted.turned {
        all.push("The scan is inside out: the side you looked at counts as outside".into());
    }
    let named = picks.iter().filter(|p| p.at.is_some());
    for (pick, on) in named.zip(&fitted.marks) {
        if on.off_mm > 0.5 {
            all.push(format!(
                "{} was typed {:.1} mm off the scan: it is put on the nearest place of it",
                pick.name, on.off_mm
            ));
        }
        if on.moved_mm.abs() > 1.0 {
            all.push(format!(
                "At {} smoothing moved the surface {:.1} mm: smooth it less, or scan it finer",
                pick.name,
                on.moved_mm.abs()
            ));
        }
    }
    all
}

/// All that is said when a face is made of a scan: its shape, and each mark's place on it as a
/// coordinate of the pattern.
#[must_use]
pub fn said(
    job: &Job,
    (face, casting): (&FaceId, &CastingId),
    shape: &FaceShape,
    picks: &[Pick],
    fitted: &Fitted,
) -> Vec<Payload> {
    let mut all = edit(
        EntityRef::Face(face.clone()),
        &FaceEdit {
            shape: Some(shape.clone()),
            ..FaceEdit::default()
        },
    );
    // The chart goes with the patch: places picked on another one mean nothing on this.
    all.extend(forgotten(job, face, casting));
    let named = picks.iter().filter(|p| p.at.is_some());
    for (pick, on) in named.zip(&fitted.marks) {
        for (axis, mm) in [(FaceAxis::U, on.uv_mm[0]), (FaceAxis::V, on.uv_mm[1])] {
            let mm = (mm * 1000.0).round() / 1000.0;
            let of = Measured::Coordinate {
                of: pick.point.clone(),
                axis,
            };
            all.push(picked(casting, of, mm));
        }
    }
    all
}

/// One coordinate of a place picked on a scan.
pub(super) fn picked(casting: &CastingId, of: Measured, mm: f64) -> Payload {
    Payload::Reading(Reading {
        casting: casting.clone(),
        of,
        value: Entry::of_mm(mm),
        instrument: None,
        hooked: false,
        stage: None,
        within: Some(PICKED_SD),
        set_aside: None,
    })
}

/// Withdraws the places picked on a face's scan.
#[must_use]
pub fn forgotten(job: &Job, face: &FaceId, casting: &CastingId) -> Vec<Payload> {
    let on_face = |p: &PointRef| match p {
        PointRef::Mark(id) => job.marks.get(id).and_then(|m| m.face.as_ref()) == Some(face),
        PointRef::Feature(id) => job.features.get(id).and_then(|f| f.face.as_ref()) == Some(face),
    };
    job.readings
        .iter()
        .filter(|r| {
            r.says.casting == *casting
                && r.says.instrument.is_none()
                && matches!(&r.says.of, Measured::Coordinate { of, .. } if on_face(of))
        })
        .map(|r| Payload::Withdraw(Withdrawal { target: r.id }))
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    #[test]
    fn a_scan_is_shown_in_each_unit_side_by_side() {
        let all = sizes([3.937, 4.0, 10.0]);
        assert_eq!(all[0], ("mm", "mm: 3.94 × 4.00 × 10.0 mm".to_owned()));
        assert_eq!(all[2], ("inch", "inch: 100.0 × 102 × 254 mm".to_owned()));
        // M20 of the hard inputs: 3.937, 0.1, 10 and 100 000 of something, each in mm, cm, inch and m.
        for (edge, one) in [
            (3.937, ["3.94", "39.4", "100.0", "3937"]),
            (0.1, ["0.10", "1.00", "2.54", "100"]),
            (10.0, ["10.0", "100", "254", "10000"]),
            (100_000.0, ["100000", "1000000", "2540000", "100000000"]),
        ] {
            for ((unit, words), one) in sizes([edge; 3]).into_iter().zip(one) {
                assert_eq!(words, format!("{unit}: {one} × {one} × {one} mm"), "M20");
            }
        }
    }

    #[test]
    fn a_place_is_typed_as_three_numbers() {
        let place = typed_place(" 12.5, -40 ;1e2").unwrap();
        assert_eq!(place.map(|x| format!("{x}")), ["12.5", "-40", "100"]);
        for wrong in ["", "1 2", "1 2 3 4", "1 2 x", "1 2 NaN"] {
            assert!(typed_place(wrong).is_err(), "{wrong}");
        }
    }
}
