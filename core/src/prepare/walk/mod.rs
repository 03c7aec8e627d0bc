//! Measuring a casting: which readings, in which order, with what, and what they should come to.
//!
//! ```text
//!  list.rs ─▶ the fewest readings that hold every mark and check one another
//!  order.rs ▶ one walk round the casting, one instrument at a time
//!  age.rs ──▶ how old it was when it was read, and what that means
//!  levels.rs  levels that are wanted, and what they should come to
//!  squares.rs square distances from edges that something follows, likewise
//!  face.rs ─▶ readings so far, adjusted: what the next should come to, where marks could be
//!  goal.rs ─▶ how well the readings place each feature
//!  advice.rs▶ what to read next, what is proved, what nothing checks
//!  odd.rs ──▶ the reading that does not go with the others, in words
//!  section.rs a mould section that sits otherwise than drawn
//!  pooled.rs▶ what shows only over the run: a bent hook, a casting unlike its sisters
//!  doubt.rs ▶ slips of the hand, asked about before anything is kept
//! ```

mod advice;
mod age;
mod asks;
mod doubt;
mod face;
mod goal;
mod levels;
mod list;
mod next;
mod odd;
mod order;
mod pooled;
mod section;
mod squares;
mod view;

pub(super) use face::face_name;

pub use doubt::{Doubt, doubt};
pub use next::casting_to_measure;
pub use pooled::{Differs, Pooled, pooled};
pub use view::{
    AskState, AskedReading, Expected, FacePicture, HeldAt, MarkPicture, OddOne, Proof, ReadLine,
    Unsettled, Walk, Warm,
};

use super::error::PrepareError;
use super::naming::casting_words;
use super::network::{by_drawing, readings_on};
use super::tapes::tape_of;
use super::warmth::noted;
use super::words::tenth;
use super::{Source, prepare};
use crate::job::{CastingId, FaceId, Job, Kept, Measured, PartId, PointRef, Reading};
use crate::readings::WARMTH_FROM;
use face::OnFace;
use order::round;

fn missing(what: &'static str, of: &str, then: &'static str) -> PrepareError {
    PrepareError::NotSetUp {
        what,
        of: of.to_owned(),
        then,
    }
}

/// Faces of a part that have marks, in the order they stand round it.
fn faces_of(job: &Job, part: &PartId) -> Vec<FaceId> {
    let mut faces: Vec<_> = job
        .faces
        .iter()
        .filter(|(id, f)| {
            f.part.as_ref() == Some(part)
                && job.marks.values().any(|m| m.face.as_ref() == Some(*id))
        })
        .collect();
    faces.sort_by_cached_key(|(id, _)| {
        let seen = super::setout::seen_from(job, id);
        (round(seen.as_deref()), (*id).clone())
    });
    faces.into_iter().map(|(id, _)| id.clone()).collect()
}

/// The stage that new readings belong to. To come to *measured* alters nothing, so readings go on
/// with those there are; after any other step the casting is another shape and they begin anew.
fn stage_for(job: &Job, casting: &CastingId, read_at: Option<&String>) -> Option<String> {
    let now = job.stage_of(casting).map(str::to_owned);
    match (read_at, now.as_deref()) {
        (Some(at), Some("measured")) => Some(at.clone()),
        _ => now,
    }
}

/// One walk round a casting.
///
/// # Errors
/// [`PrepareError`]: what is missing before anything can be measured, and what to do.
pub fn walk(source: &Source<'_>, casting: &CastingId) -> Result<Walk, PrepareError> {
    walk_with(source, casting, &[])
}

/// The same, with what somebody wants to read besides the list.
///
/// # Errors
/// As [`walk`].
pub fn walk_with(
    source: &Source<'_>,
    casting: &CastingId,
    also: &[Measured],
) -> Result<Walk, PrepareError> {
    let job = source.job;
    let name = casting_words(job, casting);
    let edit = job.castings.get(casting).ok_or_else(|| {
        missing(
            "the casting",
            casting.as_str(),
            "choose one that is in the job",
        )
    })?;
    let part = edit
        .part
        .as_ref()
        .ok_or_else(|| missing("the part", &name, "say what it is a casting of"))?;
    let pattern = job.pattern_of(part).ok_or_else(|| {
        missing(
            "the pattern",
            &name,
            "measure the approved pattern or the first good piece first: it says where the marks belong",
        )
    })?;
    let ids = faces_of(job, part);
    if ids.is_empty() {
        return Err(missing(
            "the marks",
            &name,
            "say which marks its castings have",
        ));
    }
    let faces: Vec<OnFace> = ids
        .iter()
        .map(|id| OnFace::of(job, id, casting, pattern))
        .collect::<Result<_, _>>()?;
    let read: Vec<&Kept<Reading>> = ids
        .iter()
        .flat_map(|id| readings_on(job, id, casting))
        .collect();
    let read_at = read.last().and_then(|r| r.says.stage.clone());
    let stage = stage_for(job, casting, read_at.as_ref());
    let mut says = Vec::new();
    if !read.is_empty() && stage != read_at {
        says.push(format!(
            "{} was read when it was {}; now it is {}. A new reading begins a new set: then read all of them",
            name,
            read_at.as_deref().unwrap_or("at no stage"),
            stage.as_deref().unwrap_or("at no stage"),
        ));
    }
    let mut asks = asks::asked(
        source,
        casting,
        (part, also),
        &faces,
        &read,
        stage.as_deref(),
    );
    says.extend(faces.iter().filter_map(|on| asks::why_more(job, on, &asks)));
    says.extend(age::words(job, part, casting, &read));
    let warm = warm_of(job, casting, &asks);
    says.extend(warm.map(|w| super::warmth::words(w.noted)));
    let (mut odd, mut unsettled) = (None, None);
    let mut by_the_drawing = Vec::new();
    for on in &faces {
        let Ok(marks) = &on.read else { continue };
        says.extend(section::shifted(job, on));
        // Two faces may have the same to say: once is enough.
        let own = by_drawing(job, &marks.held_by_drawing);
        by_the_drawing.extend(followed(job, on, &marks.held_by_drawing));
        for note in marks.notes.iter().filter(|n| Some(*n) != own.as_ref()) {
            if !says.contains(note) {
                says.push(note.clone());
            }
        }
        if odd.is_none() {
            odd = odd::odd_one(source, marks);
        }
        if unsettled.is_none() {
            unsettled = odd::unsettled(source, marks);
        }
    }
    // One line for all faces: three would push the field down.
    says.extend(by_drawing(job, &by_the_drawing));
    if let Some(unsettled) = &mut unsettled {
        unsettled.again = asks::read_again(&asks, &unsettled.readings);
    }
    if let Some(odd) = &mut odd {
        asks::flag(&mut asks, odd);
    }
    let (advice, proofs) = advice::advised(source, casting, &faces, &asks, stage.as_deref());
    let pictures = faces
        .iter()
        .map(|on| asks::picture(source, on, &read))
        .collect();
    let (seconds, seconds_left) = asks::time(&asks);
    let done = asks.iter().all(|a| !a.state.is_to_read());
    Ok(Walk {
        casting: casting.clone(),
        name: capital(&name),
        stage,
        faces: pictures,
        seconds,
        seconds_left,
        odd,
        unsettled,
        says,
        advice,
        proofs,
        achieved: done.then(|| achieved(source, casting, &faces)),
        next: next::after(job, casting).map(|id| {
            let name = capital(&casting_words(job, &id));
            (id, name)
        }),
        asks,
        warm,
    })
}

/// Those of these points that something follows: how the others are held is nobody's concern here.
fn followed(job: &Job, on: &OnFace, points: &[PointRef]) -> Vec<PointRef> {
    let used = on.used(job);
    let is = |p: &&PointRef| match p {
        PointRef::Mark(id) => used.iter().any(|k| on.marks.get(*k) == Some(id)),
        PointRef::Feature(_) => true,
    };
    points.iter().filter(is).cloned().collect()
}

/// How warm it is, where a steel tape reads further than that leaves alone.
fn warm_of(job: &Job, casting: &CastingId, asks: &[AskedReading]) -> Option<Warm> {
    let grows = |ask: &AskedReading| {
        let edit = ask
            .instrument
            .as_ref()
            .and_then(|id| job.instruments.get(id));
        edit.and_then(tape_of)
            .is_some_and(|t| t.warmth > crate::units::Length::ZERO)
            && ask.expected.is_some_and(|e| e.middle > WARMTH_FROM)
    };
    asks.iter().any(grows).then(|| Warm {
        noted: noted(job, casting),
    })
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

/// What the readings are good for: the worst feature of the piece; on a casting that belongs to
/// no piece yet, the worst mark.
fn achieved(source: &Source<'_>, casting: &CastingId, faces: &[OnFace]) -> String {
    let job = source.job;
    let mut worst: Option<(f64, String)> = None;
    let mut cannot = None;
    if let Some(piece) = job.piece_with(casting) {
        for (_, feature) in faces.iter().flat_map(|f| &f.features) {
            match prepare(source, feature, piece) {
                Ok(p) => {
                    let (within, asked) = (p.budget.worst, p.allowed);
                    if worst
                        .as_ref()
                        .is_none_or(|w| within.mm() / asked.mm() > w.0)
                    {
                        let title = job
                            .features
                            .get(feature)
                            .map_or_else(String::new, super::words::feature_title);
                        worst = Some((
                            within.mm() / asked.mm(),
                            format!(
                                "Worst: {title}, within {} mm; {} is asked",
                                tenth(within),
                                super::words::mm(asked)
                            ),
                        ));
                    }
                }
                Err(why) => cannot = Some(why.to_string()),
            }
        }
    }
    if let Some((_, words)) = worst {
        return words;
    }
    if let Some(why) = cannot {
        return capital(&why);
    }
    let mut mark: Option<(f64, String)> = None;
    for on in faces {
        let picture = on.picture(source);
        for m in picture.marks {
            let [major_mm, ..] = m.could_be;
            if mark.as_ref().is_none_or(|w| major_mm > w.0) {
                mark = Some((major_mm, format!("{}, {}", m.letter, picture.name)));
            }
        }
    }
    match mark {
        Some((mm, name)) => format!(
            "Every mark is held to within {} mm ({name} is the worst). It belongs to no piece yet",
            tenth(crate::units::Length::from_mm(mm))
        ),
        None => "Nothing is left to read".into(),
    }
}
