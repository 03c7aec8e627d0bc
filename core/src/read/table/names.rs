//! What the names in a sheet stand for in this job.

use crate::job::{CastingId, FaceId, InstrumentId, Job, MarkId, PartId};

/// A thing and the name people write for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name<T> {
    /// It.
    pub id: T,
    /// What is written on it.
    pub name: String,
    /// The part it belongs to, where it has one.
    pub part: Option<PartId>,
}

/// A mark and the face it is on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlacedMark {
    /// The mark.
    pub id: MarkId,
    /// Its face.
    pub face: FaceId,
    /// Its letter.
    pub letter: String,
}

/// The names of a job.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Names {
    /// Castings by the number on them.
    pub castings: Vec<Name<CastingId>>,
    /// Faces.
    pub faces: Vec<Name<FaceId>>,
    /// Marks.
    pub marks: Vec<PlacedMark>,
    /// Instruments.
    pub instruments: Vec<Name<InstrumentId>>,
}

impl Names {
    /// Those of a job.
    #[must_use]
    pub fn of(job: &Job) -> Self {
        let text = |name: &Option<String>| name.clone().unwrap_or_default();
        Self {
            castings: (job.castings.iter())
                .map(|(id, casting)| Name {
                    id: id.clone(),
                    name: text(&casting.number),
                    part: casting.part.clone(),
                })
                .collect(),
            faces: (job.faces.iter())
                .map(|(id, face)| Name {
                    id: id.clone(),
                    name: text(&face.name),
                    part: face.part.clone(),
                })
                .collect(),
            marks: (job.marks.iter())
                .filter_map(|(id, mark)| {
                    Some(PlacedMark {
                        id: id.clone(),
                        face: mark.face.clone()?,
                        letter: text(&mark.letter),
                    })
                })
                .collect(),
            instruments: (job.instruments.iter())
                .map(|(id, instrument)| Name {
                    id: id.clone(),
                    name: text(&instrument.name),
                    part: None,
                })
                .collect(),
        }
    }

    /// The faces on which both marks are, of the part if it is known and of the named face alone
    /// if one is named.
    pub(super) fn marks(
        &self,
        part: Option<&PartId>,
        face: Option<&str>,
        letters: [&str; 2],
    ) -> Vec<[MarkId; 2]> {
        let faces = self.faces.iter().filter(|f| {
            (part.is_none() || f.part.is_none() || f.part.as_ref() == part)
                && face.is_none_or(|named| called(f.id.as_str(), &f.name, named))
        });
        let on = |face: &FaceId, letter: &str| {
            let mut here = self.marks.iter().filter(|m| m.face == *face);
            here.find(|m| called(m.id.as_str(), &m.letter, letter))
                .map(|m| m.id.clone())
        };
        faces
            .filter_map(|f| Some([on(&f.id, letters[0])?, on(&f.id, letters[1])?]))
            .collect()
    }
}

/// The one thing called so; `Err` says how many are.
pub(super) fn one<'a, T: core::fmt::Display>(
    all: &'a [Name<T>],
    text: &str,
) -> Result<&'a Name<T>, usize> {
    let mut found = all
        .iter()
        .filter(|n| called(&n.id.to_string(), &n.name, text));
    match (found.next(), found.count()) {
        (Some(only), 0) => Ok(only),
        (Some(_), more) => Err(1 + more),
        (None, _) => Err(0),
    }
}

fn called(id: &str, name: &str, text: &str) -> bool {
    let text = text.trim();
    id == text || (!name.is_empty() && name.to_lowercase() == text.to_lowercase())
}
