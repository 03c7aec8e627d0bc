//! What a face shows, and what is still to be done on it.

use super::model::{self, ends};
use crate::say::numbers::tenth;
use samespot_core::job::{FaceId, FaceShape, Job, PointRef};
use samespot_core::prepare::setout::{FaceView, Stands};
use samespot_core::units::Length;

/// What stands on a face: each point with how it stands.
pub fn points(view: &FaceView) -> Vec<(PointRef, String, Stands)> {
    let marks = view.marks.iter().map(|m| {
        (
            PointRef::Mark(m.mark.clone()),
            m.letter.clone(),
            m.stands.clone(),
        )
    });
    let features = view.features.iter().map(|f| {
        (
            PointRef::Feature(f.feature.clone()),
            f.title.clone(),
            f.stands.clone(),
        )
    });
    marks.chain(features).collect()
}

/// The same while nothing can be worked out for the face yet: what stands on it can be seen and changed all
/// the same.
pub fn points_of_job(job: &Job, face: &FaceId) -> Vec<(PointRef, String, Stands)> {
    let open = || Stands::Open {
        need: "the face first: what it is like, and how big".into(),
        next: None,
    };
    let marks = model::marks(job, face)
        .into_iter()
        .map(|(id, letter)| (PointRef::Mark(id), letter, open()));
    let features = job.features_in_order().into_iter();
    let features = features
        .filter(|(_, f)| f.face.as_ref() == Some(face))
        .map(|(id, f)| {
            let title = crate::say::run::feature_name(Some(f), id.as_str());
            (PointRef::Feature(id.clone()), title, open())
        });
    marks.chain(features).collect()
}

/// What is asked before a length is kept that no two points of the face can have between them.
pub fn too_long(view: &FaceView, length: Length, straight: bool) -> Option<String> {
    let half = view.half_way?.mm();
    let (most, way) = if straight {
        (half * 2.0 / core::f64::consts::PI, "right across")
    } else {
        (half, "half way round")
    };
    // What is known of its size may be off, too.
    (length.mm() > most * 1.05).then(|| {
        format!(
            "{} mm is more than {way} this face, {} mm by the size given above. Read it again, or correct the size",
            tenth(length),
            tenth(Length::from_mm(most))
        )
    })
}

/// The reading to take next, and whether the design needs it or it would only check the others.
pub fn next_reading(view: &FaceView) -> Option<([PointRef; 2], bool)> {
    let all = points(view);
    let needed = all.iter().find_map(|(_, _, stands)| match stands {
        Stands::Open { next: Some(n), .. } => Some(n.clone()),
        _ => None,
    });
    if let Some([from, to]) = needed {
        // The line of the first two marks is read from the first.
        let place = |p: &PointRef| all.iter().position(|(q, ..)| q == p);
        let marks = matches!((&from, &to), (PointRef::Mark(_), PointRef::Mark(_)));
        let turned = marks && place(&from) > place(&to);
        return Some((if turned { [to, from] } else { [from, to] }, true));
    }
    let unread = |a: &PointRef, b: &PointRef| {
        !view
            .readings
            .iter()
            .filter_map(|r| ends(&r.of))
            .any(|e| e.contains(&a) && e.contains(&b))
    };
    let held: Vec<&PointRef> = all
        .iter()
        .filter(|(_, _, s)| matches!(s, Stands::Held { .. }))
        .map(|(p, ..)| p)
        .collect();
    // As many readings as unknowns hold a face and check nothing.
    let spare = view.readings.len() + 3 > 2 * held.len();
    if spare || held.len() < 3 {
        return None;
    }
    held.iter()
        .enumerate()
        .flat_map(|(i, a)| {
            held.get(i + 1..)
                .unwrap_or_default()
                .iter()
                .map(move |b| [*a, *b])
        })
        .find(|[a, b]| matches!(a, PointRef::Mark(_)) && unread(a, b))
        .map(|[a, b]| ([a.clone(), b.clone()], false))
}

/// How far the face is along the five steps with which a job begins, in words.
pub fn step(job: &Job, face: &FaceId, left: usize) -> &'static str {
    let here = || (job.features.values()).filter(|f| f.face.as_ref() == Some(face));
    let drilled = job.fixings.values().any(|f| f.face.as_ref() == Some(face));
    let shaped = job.faces.get(face).is_some_and(|f| f.shape.is_some());
    if !shaped {
        "Step 1 of 5: what the face is like, and how big"
    } else if model::marks(job, face).len() < 2 {
        "Step 2 of 5: the marks on it"
    } else if here().next().is_none() && !drilled || here().any(|f| f.outline.is_none()) {
        "Step 3 of 5: what has to land in the right place, and how big"
    } else if left > 0 {
        "Step 4 of 5: the tape on the pattern"
    } else {
        "Step 5 of 5: the castings, and their templates"
    }
}

/// What is still to be done before a sheet can be printed, in the order in which it is done.
pub fn to_do(job: &Job, face: &FaceId, view: &FaceView) -> Vec<String> {
    let mut all = Vec::new();
    if view.marks.len() < 2 {
        all.push("Add two marks that can be found again on every casting: corners, moulded-in pips, seam crossings".to_owned());
    }
    // A face may be there for its holes alone.
    let drilled = job.fixings.values().any(|f| f.face.as_ref() == Some(face));
    if view.features.is_empty() && !drilled {
        all.push("Add what has to land in the right place, or the holes of a bracket".into());
    }
    for (id, feature) in &job.features {
        if feature.face.as_ref() == Some(face) && feature.outline.is_none() {
            let title = view.features.iter().find(|f| f.feature == *id);
            let title = title.map_or("it", |f| f.title.as_str());
            all.push(format!("Give {title} its shape and size"));
        }
    }
    let open = points(view);
    let either = open
        .iter()
        .find(|(_, _, s)| matches!(s, Stands::EitherSide { .. }));
    if let Some((_, title, _)) = either {
        all.push(format!("Say on which side of the line A–B {title} lies"));
    }
    if view.marks.len() >= 2
        && open
            .iter()
            .any(|(_, _, s)| matches!(s, Stands::Open { .. }))
    {
        let scanned = matches!(
            job.faces.get(face).and_then(|f| f.shape.as_ref()),
            Some(FaceShape::Scan { .. })
        );
        all.push(if scanned {
            "Pick the marks that are missing on the scan, or read the distances that are asked for below".into()
        } else {
            "Read the pattern: the distances that are asked for below".into()
        });
    }
    all.extend(super::edge_model::to_read(job, face));
    all
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::screens::setout::picture::tests::view;

    #[test]
    fn the_steps_go_on_with_what_is_said() {
        use samespot_core::job::{
            Entry, FaceEdit, FeatureEdit, FeatureId, JobId, Ledger, MarkEdit, MarkId, OutlineSpec,
        };
        let mut job = Ledger::new(JobId::new("j").unwrap()).fold();
        let face = FaceId::new("front").unwrap();
        let begins = |job: &Job, left| step(job, &face, left).get(..6).unwrap().to_owned();
        job.faces.insert(face.clone(), FaceEdit::default());
        assert_eq!(begins(&job, 3), "Step 1");
        let flat = FaceEdit {
            shape: Some(FaceShape::Flat),
            ..FaceEdit::default()
        };
        job.faces.insert(face.clone(), flat);
        assert_eq!(begins(&job, 3), "Step 2");
        for letter in ["a", "b"] {
            let edit = MarkEdit {
                face: Some(face.clone()),
                ..MarkEdit::default()
            };
            job.marks.insert(MarkId::new(letter).unwrap(), edit);
        }
        assert_eq!(begins(&job, 2), "Step 3");
        let mut eye = FeatureEdit {
            face: Some(face.clone()),
            ..FeatureEdit::default()
        };
        let id = FeatureId::new("eye").unwrap();
        job.features.insert(id.clone(), eye.clone());
        assert_eq!(begins(&job, 2), "Step 3");
        eye.outline = Some(OutlineSpec::Circle {
            diameter: Entry::of_mm(60.0),
        });
        job.features.insert(id, eye);
        assert_eq!(begins(&job, 1), "Step 4");
        assert_eq!(begins(&job, 0), "Step 5");
    }

    #[test]
    fn what_no_two_points_of_a_ball_can_have_between_them_is_asked_about() {
        // Girth 1180: half way round is 590, right across 375.6.
        let ball = FaceView {
            half_way: Some(Length::from_mm(590.0)),
            ..view([0.0; 4])
        };
        let asked = |mm: f64, straight: bool| too_long(&ball, Length::from_mm(mm), straight);
        assert_eq!(asked(169.5, false), None);
        assert_eq!(asked(600.0, false), None);
        let says = asked(1695.0, false).unwrap_or_default();
        assert!(
            says.starts_with("1695.0 mm is more than half way round this face, 590.0 mm"),
            "{says}"
        );
        assert_eq!(asked(380.0, true), None);
        assert!(asked(590.0, true).is_some_and(|s| s.contains("right across this face, 375.6 mm")));
        assert_eq!(
            too_long(&view([0.0; 4]), Length::from_mm(1695.0), false),
            None
        );
    }
}
