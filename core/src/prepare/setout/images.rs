//! A feature of a face that is made from another by mirroring: where the picture has it, and what
//! is said of it.

use super::super::error::PrepareError;
use super::super::mirror::image;
use super::super::naming::name_of;
use super::super::network::Marks;
use super::super::words::feature_title;
use super::sure::Line;
use super::{Picture, Placed, Stands, dot};
use crate::frames::{Face, Point2};
use crate::job::{
    CastingId, FeatureEdit, FeatureId, Job, MadeFrom, MarkId, Mirror, PairId, PointRef,
};
use crate::surface::Shape;
use crate::units::{Angle, Length};
use serde::{Deserialize, Serialize};

/// What a feature is made from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MadeView {
    /// The pair.
    pub pair: PairId,
    /// The feature that is mirrored.
    pub from: FeatureId,
    /// Its name: *Eye, left*.
    pub title: String,
    /// *Eye, left, mirrored across the line halfway between A and B*.
    pub says: String,
    /// The line it is mirrored across, in the picture, mm, where it is on this face.
    pub line_mm: Option<[[f64; 2]; 2]>,
    /// What a tape must read to its middle if it is mirrored the right way, and what was read.
    pub proofs: Vec<ImageProof>,
}

/// One distance that proves a mirror.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ImageProof {
    /// From this mark to its middle.
    pub from: MarkId,
    /// That mark's letter.
    pub letter: String,
    /// What it must be, over the surface.
    pub must_be: Length,
    /// What it would be if it had not been turned over.
    pub unturned: Option<Length>,
    /// What was read on the pattern, where somebody did.
    pub read: Option<Length>,
    /// What was read is not what it must be.
    pub wrong: bool,
}

/// A reading this far from the mirror image is no reading of it: a hand-made pattern is not that
/// unequal (common practice, no source).
const WRONG: Length = Length::from_mm(5.0);

/// Across what, in words that follow *mirrored*.
#[must_use]
pub(super) fn across_words(job: &Job, mirror: &Mirror) -> String {
    let letter = |m: &MarkId| name_of(job, &PointRef::Mark(m.clone()));
    match mirror {
        Mirror::Halfway { from, to } => format!(
            "across the line halfway between {} and {}",
            letter(from),
            letter(to)
        ),
        Mirror::Through { from, to } => {
            format!(
                "across the line through {} and {}",
                letter(from),
                letter(to)
            )
        }
        Mirror::Twins {
            from,
            to,
            from_twin,
            to_twin,
        } => format!(
            "from the other face: {} here is the twin of {} there, {} of {}",
            letter(from_twin),
            letter(from),
            letter(to_twin),
            letter(to)
        ),
    }
}

pub(super) fn view(
    job: &Job,
    made: &MadeFrom<'_>,
    own: &FeatureId,
    casting: &CastingId,
    (placed, picture): (&Placed, Option<&Picture>),
) -> MadeView {
    let title = job
        .features
        .get(made.feature)
        .map_or_else(String::new, feature_title);
    let proofs = placed
        .marks
        .as_ref()
        .and_then(|marks| proofs(job, made, own, casting, marks))
        .unwrap_or_default();
    MadeView {
        pair: made.pair.clone(),
        from: made.feature.clone(),
        says: format!("{title}, mirrored {}", across_words(job, made.mirror)),
        title,
        line_mm: line_mm(made.mirror, placed, picture),
        proofs,
    }
}

/// The line that is mirrored across, as long as the two marks are apart.
fn line_mm(mirror: &Mirror, placed: &Placed, picture: Option<&Picture>) -> Option<[[f64; 2]; 2]> {
    let (marks, picture) = (placed.marks.as_ref()?, picture?);
    let at = |m: &MarkId| picture.at(marks.at(&PointRef::Mark(m.clone()))?);
    let [from, to, ..] = mirror.marks();
    let (a, b) = (at(from)?, at(to)?);
    let (middle, half) = (a.lerp(b, 0.5), (b - a) * 0.6);
    let along = match mirror {
        Mirror::Halfway { .. } => half.perp(),
        Mirror::Through { .. } => half,
        Mirror::Twins { .. } => return None,
    };
    Some([dot(middle + -along), dot(middle + along)])
}

/// What a tape must read to an image from each of the marks it is laid on.
fn proofs(
    job: &Job,
    made: &MadeFrom<'_>,
    own: &FeatureId,
    casting: &CastingId,
    marks: &Marks,
) -> Option<Vec<ImageProof>> {
    let image = image(job, made, "", marks).ok()?;
    let surface = &marks.adjusted.surface;
    let over = |from: Point2<Face>, to: Point2<Face>| {
        surface
            .over_surface(from, to, surface.nearest_turns(from, to))
            .ok()
            .map(|over| Length::from_mm(over.mm))
    };
    // On one face the one it is made from stands beside it.
    let other = marks.at(&PointRef::Feature(made.feature.clone()));
    let middle = PointRef::Feature(own.clone());
    let [_, _, a, b] = made.mirror.marks();
    [a, b]
        .into_iter()
        .map(|mark| {
            let point = PointRef::Mark(mark.clone());
            let at = marks.at(&point)?;
            let must_be = over(at, image.centre)?;
            let read = job
                .readings
                .about(casting)
                .rfind(|r| {
                    let ends = r.says.of.points();
                    r.says.set_aside.is_none() && ends.contains(&&point) && ends.contains(&&middle)
                })
                .map(|r| r.says.value.mm);
            Some(ImageProof {
                from: mark.clone(),
                letter: name_of(job, &point),
                must_be,
                unturned: other.and_then(|c| over(at, c)),
                read,
                wrong: read.is_some_and(|r| (r - must_be).abs() > WRONG),
            })
        })
        .collect()
}

/// How it stands.
pub(super) fn stands(
    job: &Job,
    made: &MadeFrom<'_>,
    title: &str,
    placed: &Placed,
    picture: Option<&Picture>,
    line: Option<&Line>,
) -> Stands {
    let open = |need: String| Stands::Open { need, next: None };
    let (Some(marks), Some(picture)) = (placed.marks.as_ref(), picture) else {
        return open("read the marks from each other first".into());
    };
    let image = match image(job, made, title, marks) {
        Ok(image) => image,
        // What is missing is said, and asked for, where the other one stands.
        Err(PrepareError::PatternNotPlaced { point, .. }) => {
            return open(format!("{point} is not held yet"));
        }
        Err(other) => return open(other.to_string()),
    };
    let Some(at) = image.flat(&picture.development) else {
        return open("its mirror image falls off the face".into());
    };
    let within = line.map_or(Length::ZERO, |line| {
        let ends = line.ends(marks);
        let known = image.covariance(marks, &ends);
        // The marks come first there, the middle first here.
        let k = |i: usize| if i < 2 { 4 + i } else { i - 2 };
        line.radius(marks, &picture.development, image.centre, |r, c| {
            known.get((k(r), k(c))).copied().unwrap_or(0.0)
        })
    });
    Stands::Held {
        face_mm: [image.centre.x_mm(), image.centre.y_mm()],
        at_mm: dot(at),
        within,
    }
}

/// Its turn from square to the line of its rule.
pub(super) fn turn(
    job: &Job,
    made: &MadeFrom<'_>,
    title: &str,
    marks: &Marks,
    edit: &FeatureEdit,
) -> Option<Angle> {
    image(job, made, title, marks)
        .and_then(|image| image.turn(marks, edit.rule.as_ref(), title))
        .ok()
}
