//! Checking features on a piece: what a lay-back can prove, what was found, how the run goes.

use super::amendments::{Older, older};
use super::check_marks::{FromMarks, from_marks as from_marks_of};
use super::doubted::Doubted;
use super::error::PrepareError;
use super::feature::{Prepared, prepare};
use super::rack::{Size, size_of_print};
use super::run_checks::{FeatureRun, feature_run};
use super::words::{feature_title, mm, tenth};
use super::{Source, staleness};
use crate::check::{
    DecisionRule, GAP_SD, Gaps, Judged, Sources, Verdict, capable, edge_uncertainty, judge,
    lay_back, typical_uncertainty,
};
use crate::job::{
    CheckFact, ConcessionFact, Decided, EntityRef, FeatureId, Found, Job, Kept, Picked, PieceId,
    Printed,
};
use crate::run::{painting_stage, place_in, stage_list};
use crate::template::TermKind;
use crate::units::Length;
use serde::{Deserialize, Serialize};

/// A 95 % radius over one standard deviation each way (χ² with two degrees of freedom).
const COVER_95: f64 = 2.4477;
/// Off by less than this, in mm, is said as *on the spot*.
pub(super) const ON_THE_SPOT_MM: f64 = 0.05;
/// What the four gaps may leave over before it is asked about: 3.29 of its own deviations
/// (GAP_SD/2 from four readings).
const OUT_OF_SHAPE: f64 = 3.29 / 2.0;
/// More repeats than this nobody takes.
const MOST_REPEATS: f64 = 10.0;

/// One feature on one piece, as QA sees it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FeatureCheck {
    /// The feature.
    pub feature: FeatureId,
    /// Its name.
    pub title: String,
    /// How far out it may be.
    pub limit: Length,
    /// What a lay-back is good for: the guard it needs.
    pub lay_back_guard: Length,
    /// One standard deviation of a lay-back, the worse way.
    pub lay_back_sd: Length,
    /// What distances from the marks are good for; nothing where no mark can be found.
    pub from_marks: Option<FromMarks>,
    /// A lay-back can say *within* at all.
    pub can_prove: bool,
    /// The template rests on readings that disagree: why a lay-back proves nothing.
    pub proves_nothing: Option<String>,
    /// Why nothing can be said, where nothing can.
    pub cannot: Option<String>,
    /// What to know before checking: not painted yet, the sheet is stale, size not proved.
    pub before: Vec<String>,
    /// An issue has it on other pieces only.
    pub not_made: Option<NotMade>,
    /// It is on the piece as an older issue has it.
    #[serde(default)]
    pub older: Option<Older>,
    /// The newest check that found something: one that only looked does not take that away.
    pub latest: Option<Checked>,
    /// Who lets it stand although it is not within.
    pub concession: Option<(String, String)>,
    /// The run so far.
    pub run: FeatureRun,
}

/// A feature that is not to be on this piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotMade {
    /// The issue that says so.
    pub issue: u32,
    /// It was marked, painted or checked there, and nobody has said yet what becomes of it.
    pub left_on: bool,
}

/// One check, as recorded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Checked {
    /// The piece's number.
    pub number: u32,
    /// By whom.
    pub who: String,
    /// When, in the words of the device.
    pub when: String,
    /// What was found.
    pub found: Found,
    /// In words: *0.8 left, 1.1 up*.
    pub says: String,
}

/// Four gaps judged, before they are kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Judgement {
    /// What would be recorded.
    pub found: Found,
    /// *0.8 left, 1.1 up*.
    pub says: String,
    /// *drawn 0.4 large*; nothing for less than a tenth.
    pub size_says: Option<String>,
    /// What would settle it, where it can't be told.
    pub settle: Option<String>,
    /// The four do not go together: which to look at.
    pub doubt: Option<String>,
}

/// Where something lies against where it should: *0.8 left, 1.1 up*.
#[must_use]
pub fn offset_words(right: Length, up: Length) -> String {
    let part = |length: Length, plus: &str, minus: &str| {
        (length.mm().abs() >= ON_THE_SPOT_MM).then(|| {
            let way = if length.mm() > 0.0 { plus } else { minus };
            format!("{} {way}", tenth(length.abs()))
        })
    };
    let parts: Vec<String> = [part(right, "right", "left"), part(up, "up", "down")]
        .into_iter()
        .flatten()
        .collect();
    if parts.is_empty() {
        "on the spot".into()
    } else {
        parts.join(", ")
    }
}

/// As it stands on screens and in records.
#[must_use]
pub const fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Within => "within",
        Verdict::Outside => "outside",
        Verdict::NotProven => "can’t tell with this",
    }
}

pub(super) fn rule_of(job: &Job) -> DecisionRule {
    job.about.decision_rule.unwrap_or_default()
}

/// What a lay-back of this template compares with what.
pub(super) fn sources(p: &Prepared) -> Sources {
    let (mut own, mut laying) = (0.0, 0.0);
    for term in &p.budget.terms {
        let size = term.size.mm();
        let random = size / COVER_95;
        // A known offset that nobody took off is a bound: a/√3 (JCGM 100, 4.3.7).
        let bound = size / libm::sqrt(3.0);
        match term.kind {
            TermKind::LayingOn => laying += random * random,
            TermKind::Marking | TermKind::Drilling | TermKind::Bolting => {}
            TermKind::Sharing | TermKind::Flattening => own += bound * bound,
            TermKind::Measuring | TermKind::Pattern | TermKind::Form | TermKind::Printing => {
                own += random * random;
            }
        }
    }
    Sources {
        gap: GAP_SD,
        laying: Length::from_mm(libm::sqrt(laying)),
        template: Length::from_mm(libm::sqrt(own)),
    }
}

/// Judges four gaps of a lay-back.
///
/// # Errors
/// [`PrepareError`] where the template itself can't be made.
pub fn judge_gaps(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    gaps: &Gaps,
) -> Result<Judgement, PrepareError> {
    let p = prepare(source, feature, piece)?;
    let sources = sources(&p);
    let laid = lay_back(gaps, &sources);
    let rule = rule_of(source.job);
    let (right, up) = (
        Length::from_mm(laid.shift.x_mm()),
        Length::from_mm(laid.shift.y_mm()),
    );
    // The worst edge counts, not the middle alone: paint drawn large all round is out as well.
    let mut judged = judge(laid.edge, p.allowed, laid.edge_sd, rule);
    let resting = Doubted::of(&p).filter(|d| d.rests());
    if resting.is_some() {
        judged.verdict = Verdict::NotProven;
    }
    let over = laid.out_of_shape.mm().abs();
    Ok(Judgement {
        found: Found {
            right,
            up,
            size: laid.size,
            limit: p.allowed,
            guard: judged.guard,
            verdict: judged.verdict,
            rule,
            sd: Some(laid.sd),
        },
        says: offset_words(right, up),
        size_says: (laid.size.mm().abs() >= 0.1).then(|| {
            let how = if laid.size.mm() > 0.0 { "large" } else { "small" };
            format!("drawn {} {how} all round", tenth(laid.size.abs()))
        }),
        settle: match resting {
            Some(_) => None,
            None => settle(&judged, &sources, rule),
        },
        doubt: resting.map(Doubted::words).or_else(|| (over > OUT_OF_SHAPE * sources.gap.mm()).then(|| {
            format!(
                "The four gaps do not go together: the outline is out of shape, or one of them is misread by about {} mm. Look again at the largest",
                tenth(Length::from_mm(over * 4.0))
            )
        })),
    })
}

/// What would turn a *can't tell* into an answer.
fn settle(judged: &Judged, sources: &Sources, rule: DecisionRule) -> Option<String> {
    if judged.verdict != Verdict::NotProven {
        return None;
    }
    let room = (judged.limit.mm() - judged.deviation.mm()).abs();
    let needed = room / rule.factor();
    let gap = sources.gap.mm() * sources.gap.mm();
    let rest =
        sources.laying.mm() * sources.laying.mm() + sources.template.mm() * sources.template.mm();
    let left = needed * needed - rest;
    let repeats = if left > 0.0 {
        libm::ceil(gap / left)
    } else {
        f64::INFINITY
    };
    Some(if repeats <= MOST_REPEATS {
        format!(
            "Lift the template off, lay it back {repeats:.0} times, and take the mean of each gap: that would settle it"
        )
    } else {
        format!(
            "Reading again will not settle it: the template’s own place is good for {} only. Measure it from the marks, or ask for a concession",
            tenth(Length::from_mm(libm::sqrt(rest) * rule.factor()))
        )
    })
}

pub(super) fn checked(job: &Job, fact: &Kept<CheckFact>, found: Found) -> Checked {
    Checked {
        number: job.number_of(&fact.says.piece),
        who: fact.who.clone(),
        when: fact.wall.clone(),
        says: offset_words(found.right, found.up),
        found,
    }
}

/// The checks of a feature on a piece, in order.
pub(super) fn of_piece<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
) -> Picked<'a, CheckFact> {
    let feature = EntityRef::Feature(feature.clone());
    job.checks.about_part(piece, &feature)
}

/// The newest check of a feature on a piece that found something, since it was last made again.
pub(super) fn newest<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
) -> Option<(&'a Kept<CheckFact>, Found)> {
    let mut decided = (job.amended).about_part(piece, &EntityRef::Feature(feature.clone()));
    let made_again = decided.rfind(|a| a.says.decided == Decided::Reworked);
    let mut latest = of_piece(job, feature, piece)
        .rev()
        .take_while(|c| made_again.is_none_or(|again| c.after(again)));
    latest.find_map(|c| Some((c, c.says.found?)))
}

/// Whether an issue leaves a feature out on a piece, and whether it is there all the same.
pub(super) fn not_made(job: &Job, feature: &FeatureId, piece: &PieceId) -> Option<NotMade> {
    let issue = job.in_force(feature, job.number_of(piece))?.not_made?;
    // The stage proves nothing here: the piece may have been painted without it. What was found before it was
    // made again shows that it is there as well as what was found since.
    let painted = worked_on(job, feature, piece, None);
    let seen = of_piece(job, feature, piece).any(|c| c.says.found.is_some());
    // A decision on an earlier issue says nothing of this one.
    let mut decided = (job.amended).about_part(piece, &EntityRef::Feature(feature.clone()));
    let decided =
        decided.any(|a| job.issues.get(&a.says.issue).and_then(|i| i.number) == Some(issue));
    Some(NotMade {
        issue,
        left_on: !decided && (painted || seen),
    })
}

/// Something was done to a feature on one of a piece's castings, and not only after a print.
pub(super) fn worked_on(
    job: &Job,
    feature: &FeatureId,
    piece: &PieceId,
    print: Option<&Kept<Printed>>,
) -> bool {
    let on = EntityRef::Feature(feature.clone());
    let castings = job.marriages.get(piece).map(|m| &m.castings);
    let mut done = castings
        .into_iter()
        .flatten()
        .filter_map(|casting| job.done.about_part(casting, &on).next());
    done.any(|first| print.is_none_or(|print| !first.after(print)))
}

/// What was found of a feature on a piece: all that a record says of it, and no template is worked
/// out for that.
pub(super) struct Finding {
    /// The feature.
    pub(super) feature: FeatureId,
    /// Its name.
    pub(super) title: String,
    /// An issue has it on other pieces only.
    pub(super) not_made: Option<NotMade>,
    /// It is on the piece as an older issue has it.
    pub(super) older: Option<Older>,
    /// The newest check that found something.
    pub(super) latest: Option<Checked>,
    /// Who lets it stand although it is not within.
    pub(super) concession: Option<(String, String)>,
}

/// What was found on every feature of a piece.
pub(super) fn found(job: &Job, piece: &PieceId) -> Vec<Finding> {
    let mut features: Vec<_> = job
        .features
        .iter()
        .map(|(id, edit)| (feature_title(edit), id))
        .collect();
    features.sort();
    features
        .into_iter()
        .map(|(title, id)| {
            let newest = newest(job, id, piece);
            let concession = newest.and_then(|(fact, _)| conceded(job, id, piece, fact));
            Finding {
                feature: id.clone(),
                title,
                not_made: not_made(job, id, piece),
                older: older(job, id, piece),
                latest: newest.map(|(fact, found)| checked(job, fact, found)),
                concession: concession.map(|c| (c.says.by.clone(), c.says.reason.clone())),
            }
        })
        .collect()
}

/// How far out a feature may be on a piece; nothing where no template of it can be made.
pub(super) fn may_be_out(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
) -> Option<Length> {
    prepare(source, feature, piece).ok().map(|p| p.allowed)
}

/// How a checked feature stands, the worst last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Within.
    Within,
    /// Not within, and let stand by somebody who may.
    LetStand,
    /// What it was checked with can't tell.
    CantTell,
    /// It is on the piece as an older issue has it, and nobody has said what becomes of it.
    MakeAgain,
    /// Outside.
    Outside,
}

impl Standing {
    /// In one word, for a narrow tile.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::LetStand => "stands",
            Self::CantTell => "unsure",
            Self::MakeAgain => "redo",
            Self::Outside => "outside",
        }
    }

    /// As it is said.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::LetStand => "let stand",
            Self::CantTell => "can’t tell",
            Self::MakeAgain => "make again",
            Self::Outside => "outside",
        }
    }

    /// How a feature that is to be on a piece stands there; nothing where nobody has checked it.
    #[must_use]
    pub fn of(job: &Job, feature: &FeatureId, piece: &PieceId) -> Option<Self> {
        if older(job, feature, piece).is_some() {
            return Some(Self::MakeAgain);
        }
        let (fact, found) = newest(job, feature, piece)?;
        Some(match found.verdict {
            Verdict::Within => Self::Within,
            _ if conceded(job, feature, piece, fact).is_some() => Self::LetStand,
            Verdict::NotProven => Self::CantTell,
            Verdict::Outside => Self::Outside,
        })
    }
}

/// How a piece stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PieceStands<'a> {
    /// The worst of what was checked on it and is to be on it.
    pub worst: Option<(Standing, &'a FeatureId)>,
    /// How many features that are to be on it nobody has checked yet.
    pub to_check: usize,
}

/// How a piece stands by what was found on it.
#[must_use]
pub fn piece_stands<'a>(job: &'a Job, piece: &PieceId) -> PieceStands<'a> {
    let mut stands = PieceStands {
        worst: None,
        to_check: 0,
    };
    let made = |f: &&FeatureId| not_made(job, f, piece).is_none();
    for feature in job.features.keys().filter(made) {
        match Standing::of(job, feature, piece) {
            Some(standing) if stands.worst.is_none_or(|(worst, _)| worst < standing) => {
                stands.worst = Some((standing, feature));
            }
            Some(_) => {}
            None => stands.to_check += 1,
        }
    }
    stands
}

/// Who let a feature stand since it was checked.
pub(super) fn conceded<'a>(
    job: &'a Job,
    feature: &FeatureId,
    piece: &PieceId,
    since: &Kept<CheckFact>,
) -> Option<&'a Kept<ConcessionFact>> {
    let feature = EntityRef::Feature(feature.clone());
    let last = job.concessions.about_part(piece, &feature).next_back();
    last.filter(|c| c.after(since))
}

/// Every feature of a piece, as QA sees it, with what to know before checking: that takes every printed sheet once more.
#[must_use]
pub fn checks(source: &Source<'_>, piece: &PieceId) -> Vec<FeatureCheck> {
    let all = found(source.job, piece).into_iter();
    all.map(|found| feature_check(source, found, piece))
        .collect()
}

fn feature_check(source: &Source<'_>, found: Finding, piece: &PieceId) -> FeatureCheck {
    let job = source.job;
    let Finding {
        feature,
        title,
        not_made,
        older,
        latest,
        concession,
    } = found;
    let prepared = prepare(source, &feature, piece);
    let from_marks = prepared.as_ref().ok();
    let from_marks = from_marks.and_then(|p| from_marks_of(source, &feature, piece, p));
    let (limit, [middle_sd, edge_sd], cannot) = match &prepared {
        Ok(p) => {
            let sources = sources(p);
            let sds = [typical_uncertainty(&sources), edge_uncertainty(&sources)];
            (p.allowed, sds, None)
        }
        Err(why) => (Length::ZERO, [Length::ZERO; 2], Some(why.to_string())),
    };
    let rule = rule_of(job);
    let doubted = prepared.as_ref().ok().and_then(Doubted::of);
    let stands = doubted.filter(|d| !d.rests()).map(Doubted::words);
    FeatureCheck {
        title,
        limit,
        lay_back_guard: judge(Length::ZERO, limit, edge_sd, rule).guard,
        lay_back_sd: middle_sd,
        from_marks,
        can_prove: cannot.is_none()
            && !doubted.is_some_and(Doubted::rests)
            && capable(limit, edge_sd, rule),
        proves_nothing: doubted.filter(|d| d.rests()).map(Doubted::words),
        before: stands
            .into_iter()
            .chain(before(source, &feature, piece))
            .collect(),
        cannot,
        not_made,
        older,
        latest,
        concession,
        run: feature_run(job, &feature),
        feature,
    }
}

fn before(source: &Source<'_>, feature: &FeatureId, piece: &PieceId) -> Vec<String> {
    let job = source.job;
    let mut said = Vec::new();
    let stage = job
        .casting_with(feature, piece)
        .and_then(|casting| job.stage_of(casting));
    let stages = stage_list(job);
    let at = stage.and_then(|s| place_in(&stages, s));
    let painted = painting_stage(job);
    if at.zip(painted).is_some_and(|(at, painted)| at < painted) {
        let stage = stage.unwrap_or_default();
        said.push(format!(
            "Nothing says that it is painted yet: its casting is {stage}"
        ));
    }
    let print = job.last_print(feature, piece);
    if print.is_none() {
        said.push("No template of it has been printed from this job: lay back the one it was painted from".into());
    } else if let Some(stale) = staleness(source, feature, piece) {
        said.push(stale);
    }
    said.push(
        match print.and_then(|print| size_of_print(job, &print.says)) {
            Some(Size::Proved) => "The size of its template was proved. What printer and paper may do is counted in all the same",
            Some(Size::Wrong) => "Its template was read and is not at size: don’t lay it back. Measure from the marks, or make another",
            Some(Size::NotProved) => "The size of its template was read with a rule that can’t tell: read it again with a finer one before laying it back. What printer and paper may do to it is counted in",
            None => "The size of its template was never proved: measure both its bars before laying it back, and keep what they read under Templates. What printer and paper may do to it is counted in",
        }
        .into(),
    );
    said
}

/// *limit 2, this method is good for 1.3*.
#[must_use]
pub fn method_words(check: &FeatureCheck) -> String {
    if let Some(why) = &check.proves_nothing {
        return why.clone();
    }
    if check.can_prove {
        format!(
            "{} mm out is allowed. Laid back, it can be told within {} mm: up to {} out is within, over {} is outside, between the two it can’t tell",
            tenth(check.limit),
            tenth(check.lay_back_guard),
            tenth(check.limit - check.lay_back_guard),
            tenth(check.limit + check.lay_back_guard)
        )
    } else {
        format!(
            "A lay-back is good for {} mm only and {} are asked for: it can show what is outside, and never that it is within",
            tenth(check.lay_back_guard),
            mm(check.limit)
        )
    }
}
