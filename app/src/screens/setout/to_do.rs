//! What a face shows, and what is still to be done on it.

use super::model::{self, ends};
use crate::say::numbers::tenth;
use samespot_core::job::{FaceId, Job, PointRef};
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
        all.push("Read the pattern: the distances that are asked for below".into());
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::screens::setout::picture::tests::view;

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
