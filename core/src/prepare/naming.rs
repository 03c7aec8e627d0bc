//! What points, readings and castings are called.

use crate::job::{BoardAxis, CastingId, FaceAxis, GirthLine, Job, Measured, PointRef};

pub(super) fn name_of(job: &Job, point: &PointRef) -> String {
    match point {
        PointRef::Mark(id) if super::edges::is_point(id) => "the corner of two edges".to_owned(),
        PointRef::Mark(id) => job
            .marks
            .get(id)
            .and_then(|m| m.letter.clone())
            .unwrap_or_else(|| id.to_string()),
        PointRef::Feature(id) => {
            let name = job
                .features
                .get(id)
                .and_then(|f| f.name.clone())
                .unwrap_or_else(|| id.to_string());
            format!("the middle of {name}")
        }
    }
}

pub(super) fn reading_words(job: &Job, of: &Measured) -> String {
    match of {
        Measured::Straight { from, to } => {
            format!("{} to {}, straight", name_of(job, from), name_of(job, to))
        }
        Measured::Over { from, to } => format!(
            "{} to {}, over the surface",
            name_of(job, from),
            name_of(job, to)
        ),
        Measured::Square { edge, to } => {
            let letter = job
                .edges
                .get(edge)
                .and_then(|e| e.letter.clone())
                .unwrap_or_else(|| edge.to_string());
            format!("{} square from edge {letter}", name_of(job, to))
        }
        Measured::Coordinate {
            of,
            axis: FaceAxis::U,
        } => format!("{} across", name_of(job, of)),
        Measured::Coordinate {
            of,
            axis: FaceAxis::V,
        } => format!("{} up", name_of(job, of)),
        Measured::Level { from, to, stood } => format!(
            "{} above {}, by level{}",
            name_of(job, to),
            name_of(job, from),
            moved(*stood)
        ),
        Measured::Plumb { high, low, stood } => format!(
            "{} right of the plumb line through {}{}",
            name_of(job, low),
            name_of(job, high),
            moved(*stood)
        ),
        Measured::Height { of, stood } => {
            format!(
                "{}, height above the level line{}",
                name_of(job, of),
                moved(*stood)
            )
        }
        Measured::Board { of, axis, stood } => {
            let along = match axis {
                BoardAxis::Across => "across",
                BoardAxis::Back => "back",
                BoardAxis::Up => "height",
            };
            format!(
                "{} on the gridded board, {along}{}",
                name_of(job, of),
                moved(*stood)
            )
        }
        Measured::Girth { face, at } => {
            let name = job
                .faces
                .get(face)
                .and_then(|f| f.name.clone())
                .unwrap_or_else(|| face.to_string());
            match at {
                GirthLine::Lower => format!("girth of {name}"),
                GirthLine::Upper => format!("upper girth of {name}"),
            }
        }
    }
}

/// That the casting stood otherwise than at first.
fn moved(stood: u32) -> String {
    match stood {
        0 => String::new(),
        1 => ", after it was moved".to_owned(),
        n => format!(", after it was moved {n} times"),
    }
}

pub(super) fn casting_words(job: &Job, casting: &CastingId) -> String {
    let edit = job.castings.get(casting);
    let part = edit
        .and_then(|c| c.part.as_ref())
        .and_then(|p| job.parts.get(p))
        .and_then(|p| p.name.clone())
        .unwrap_or_else(|| "casting".into());
    if edit.and_then(|c| c.pattern) == Some(true) {
        return format!("the pattern of {part}");
    }
    match edit.and_then(|c| c.number.clone()) {
        Some(number) => format!("{part} {number}"),
        None => format!("{part} ({casting})"),
    }
}
