//! The list of stages, and what a step along it is.

use crate::job::{CastingId, Job, PieceId};

/// The stages of a job that says nothing else (design/01).
pub const USUAL_STAGES: [&str; 17] = [
    "pulled",
    "trimmed",
    "numbered",
    "measured",
    "bracket in",
    "dry fit",
    "holes",
    "cleaned up",
    "primed",
    "away",
    "back",
    "painted",
    "lacquered",
    "married",
    "checked",
    "gone",
    "returned",
];

/// The job's stages in order.
#[must_use]
pub fn stage_list(job: &Job) -> Vec<String> {
    stage_names(job).into_iter().map(str::to_owned).collect()
}

/// The same, as the job has them: every reading is looked at by them.
pub(super) fn stage_names(job: &Job) -> Vec<&str> {
    let mut list: Vec<&str> = Vec::new();
    for stage in job.about.stages.iter().flatten() {
        let stage = stage.trim();
        if !stage.is_empty() && place_in(&list, stage).is_none() {
            list.push(stage);
        }
    }
    if list.is_empty() {
        list = USUAL_STAGES.to_vec();
    }
    list
}

/// Where a stage stands in the list; capitals and spaces at the ends don't matter.
#[must_use]
pub fn place_in(list: &[impl AsRef<str>], stage: &str) -> Option<usize> {
    let wanted = stage.trim();
    let same = |s: &str| match wanted.is_ascii() && s.is_ascii() {
        true => s.eq_ignore_ascii_case(wanted),
        false => s.to_lowercase() == wanted.to_lowercase(),
    };
    list.iter().position(|s| same(s.as_ref().trim()))
}

/// What going to a stage would be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// The next stage of the list.
    Next,
    /// It is there already.
    Stays,
    /// These stages would be skipped: a reason must be said.
    Skips(Vec<String>),
    /// It would go back: a reason must be said.
    Back,
    /// The list has no such stage.
    NoSuchStage,
    /// The stage it is at is no longer in the list: any stage may be chosen.
    Anew,
}

impl Step {
    /// A reason must be said for it.
    #[must_use]
    pub const fn needs_reason(&self) -> bool {
        matches!(self, Self::Skips(_) | Self::Back)
    }
}

/// What a step from one stage (nothing where it has none yet) to another is.
pub(super) fn step(list: &[String], from: Option<&str>, to: &str) -> Step {
    let Some(goes) = place_in(list, to) else {
        return Step::NoSuchStage;
    };
    let next = match from {
        None => 0,
        Some(from) => match place_in(list, from) {
            None => return Step::Anew,
            Some(at) if at == goes => return Step::Stays,
            Some(at) => at + 1,
        },
    };
    if goes < next {
        Step::Back
    } else if goes == next {
        Step::Next
    } else {
        Step::Skips(
            list.get(next..goes)
                .map_or_else(Vec::new, <[String]>::to_vec),
        )
    }
}

/// What it would be for a casting to go to a stage.
#[must_use]
pub fn step_to(job: &Job, casting: &CastingId, to: &str) -> Step {
    step(&stage_list(job), job.stage_of(casting), to)
}

/// The place in the list of the stage from which features are on the piece, by what the job says of it.
///
/// That is *painted*; else the last stage that has paint in its name (*ready for paint* comes before
/// *eyes painted on*); else the last one at which a mark that something follows can still be found: what
/// hides the marks goes on over what was laid on them. Nothing where the job says none of these.
#[must_use]
pub fn painting_stage(job: &Job) -> Option<usize> {
    let list = stage_names(job);
    let speaks_of_paint = |stage: &&str| {
        let mut words = stage.split(|c: char| !c.is_alphanumeric());
        words.any(|w| {
            w.get(..5)
                .is_some_and(|start| start.eq_ignore_ascii_case("paint"))
        })
    };
    let last_seen = || {
        let followed = job.features.values().filter_map(|f| f.rule.as_ref());
        let marks = followed.flat_map(|rule| rule.marks());
        let until = marks.filter_map(|m| job.marks.get(m)?.to_stage.as_deref());
        until.filter_map(|stage| place_in(&list, stage)).max()
    };
    place_in(&list, "painted")
        .or_else(|| list.iter().rposition(speaks_of_paint))
        .or_else(last_seen)
}

/// The piece whose turn to be painted it is: the first, in order, of which a casting is read and none
/// stands at the [`painting_stage`] or beyond; where no stage tells, none is checked. Nothing where no piece is.
#[must_use]
pub fn next_to_paint(job: &Job) -> Option<PieceId> {
    let list = stage_names(job);
    let painted = painting_stage(job);
    let before = |casting: &CastingId| {
        let stands = job.stage_of(casting).and_then(|s| place_in(&list, s));
        stands.zip(painted).is_none_or(|(at, painted)| at < painted)
    };
    let read = |casting: &CastingId| job.readings.about(casting).next().is_some();
    let due = |piece: &PieceId| {
        let checked = painted.is_none() && job.checks.about(piece).next().is_some();
        let castings = job.marriages.get(piece).map(|m| &m.castings);
        !checked && castings.is_some_and(|all| all.iter().any(read) && all.iter().all(before))
    };
    let pieces = job.pieces_in_order().into_iter();
    pieces.map(|(id, _)| id).find(|id| due(id)).cloned()
}
