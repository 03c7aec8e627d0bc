//! What a face shows, and what is still to be done on it.

use super::model::ends;
use samespot_core::job::{FaceId, Job, PointRef};
use samespot_core::prepare::setout::{FaceView, Stands};

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
    if open
        .iter()
        .any(|(_, _, s)| matches!(s, Stands::EitherSide { .. }))
    {
        all.push("Say on which side it lies".into());
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
