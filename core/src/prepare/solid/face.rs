//! A face as it is set out on the pattern.

use super::super::Source;
use super::super::design::{design, missing};
use super::super::error::PrepareError;
use super::super::mm;
use super::super::outline::outline_of;
use super::super::setout::{FaceView, FeatureView, Stands, face_view, rolled_out};
use super::model::{Model, closed};
use super::skin::Room;
use super::{Look, SolidView};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{FaceId, PointRef};
use crate::outline::FLATTENING;
use crate::place::place;
use crate::surface::Development;
use crate::units::Length;

/// Outlines are drawn as finely as their picture is.
const FINE: Length = Length::from_mm(FLATTENING.mm() * 2.0);

/// An outline as dots of a plane of its own, and that plane on the face.
struct InPlace {
    plane: Development,
    runs: Vec<Vec<Point2<Flat>>>,
}

/// Everything of a face that readings hold.
///
/// # Errors
/// [`PrepareError`] when the face or its pattern is not in the job, or fewer than two marks are held.
pub(super) fn face(source: &Source<'_>, id: &FaceId) -> Result<(SolidView, Vec<u8>), PrepareError> {
    let view = face_view(source, id)?;
    let not_held = || {
        missing(
            "the place of any two marks",
            &view.name,
            "read them from each other on the pattern, then it can be turned",
        )
    };
    let rolled = rolled_out(source.job, id)?.ok_or_else(not_held)?;
    let surface = rolled.surface().clone();
    let on_surface = |why| PrepareError::Surface {
        feature: view.name.clone(),
        why,
    };
    let near = |at: [f64; 2]| surface.nearest(Point2::from_mm(at[0], at[1]), rolled.centre());
    let held = |stands: &Stands| match stands {
        Stands::Held {
            face_mm, within, ..
        } => Some((near(*face_mm), *within)),
        Stands::Open { .. } | Stands::EitherSide { .. } => None,
    };
    let outlines: Vec<InPlace> = view
        .features
        .iter()
        .filter_map(|f| in_place(source, f, &rolled))
        .collect();
    let mut places: Vec<Point2<Face>> = view
        .marks
        .iter()
        .map(|m| &m.stands)
        .chain(view.features.iter().map(|f| &f.stands))
        .filter_map(|s| held(s).map(|h| h.0))
        .collect();
    let first = *places.first().ok_or_else(not_held)?;
    for outline in &outlines {
        let dots = outline.runs.iter().flatten();
        places.extend(dots.filter_map(|p| outline.plane.face(*p).ok()));
    }
    let room = Room::around(&surface, &places).ok_or_else(not_held)?;
    let up = Vector2::from_mm(0.0, 1.0);
    let mut model = Model::of(&surface, &room, up, first).map_err(on_surface)?;
    model.part(Look::Outline, |m| {
        for outline in &outlines {
            for run in &outline.runs {
                m.line_on(&outline.plane, run);
            }
        }
    });
    model.part(Look::Middle, |m| {
        for f in &view.features {
            if let Some((at, _)) = held(&f.stands) {
                m.cross(at, 0.02);
            }
        }
    });
    model.part(Look::Mark, |m| {
        for mark in &view.marks {
            if let Some((at, _)) = held(&mark.stands) {
                m.cross(at, 0.035);
            }
        }
    });
    for mark in &view.marks {
        if let Some((at, within)) = held(&mark.stands) {
            let mut more = format!("mark {}", mark.letter);
            if !mark.found.is_empty() {
                more.push_str(&format!(", {}", mark.found));
            }
            more.push_str(&sure(within));
            let point = PointRef::Mark(mark.mark.clone());
            model.name(at, mark.letter.clone(), more, Some(point));
        }
    }
    for f in &view.features {
        if let Some((at, within)) = held(&f.stands) {
            let more = format!("{}, {}{}", f.title, f.size, sure(within));
            let point = PointRef::Feature(f.feature.clone());
            model.name(at, f.title.clone(), more, Some(point));
        }
    }
    model.explain(Look::Mark, 0, "a mark, with its letter");
    if !outlines.is_empty() {
        model.explain(Look::Outline, 0, "where paint is to go");
    }
    model.notes.extend(open_words(&view));
    Ok(model.done())
}

fn sure(within: Length) -> String {
    if within > Length::ZERO {
        format!(": the readings hold it to ± {} mm", mm(within))
    } else {
        String::new()
    }
}

/// What stands nowhere yet, by name.
fn open_words(view: &FaceView) -> Option<String> {
    let open = |s: &Stands| !matches!(s, Stands::Held { .. });
    let marks = view.marks.iter().filter(|m| open(&m.stands));
    let features = view.features.iter().filter(|f| open(&f.stands));
    let names: Vec<&str> = marks
        .map(|m| m.letter.as_str())
        .chain(features.map(|f| f.title.as_str()))
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "Not shown, because readings do not hold it yet: {}",
            names.join(", ")
        )
    })
}

/// The outline of a feature on the pattern: about its own middle, as its template will have it; as the
/// flat drawing has it where its rule does not go yet.
fn in_place(source: &Source<'_>, feature: &FeatureView, rolled: &Development) -> Option<InPlace> {
    about_its_middle(source, feature).or_else(|| {
        let dots = |run: &Vec<[f64; 2]>| {
            closed(run.iter().map(|[x, y]| Point2::from_mm(*x, *y)).collect())
        };
        let runs: Vec<_> = feature.outline.iter().map(dots).collect();
        (!runs.is_empty()).then(|| InPlace {
            plane: rolled.clone(),
            runs,
        })
    })
}

fn about_its_middle(source: &Source<'_>, feature: &FeatureView) -> Option<InPlace> {
    // No issue reaches a piece without a number: the design as it was set out.
    let design = design(source, &feature.feature, 0).ok()?;
    // On the pattern the rule leaves the feature where it is and says which way is up.
    let pose = place(&design.nominal, &design.nominal.layout).ok()?.pose;
    let surface = &design.nominal.layout.surface;
    let plane = Development::new(surface, pose.centre, pose.up).ok()?;
    let mut outline = outline_of(source, &design.name, &design.edit)?
        .ok()?
        .outline;
    if let Some((bent, _)) = design.run_over(&outline, &pose).ok()? {
        outline = bent;
    }
    let runs = outline.polylines(FINE).into_iter().map(closed).collect();
    Some(InPlace { plane, runs })
}
