//! Templates as things, as the Templates screen shows them.

use super::fewest::list;
use crate::holes::chance::Method;
use crate::job::{
    CheckDistance, CheckFact, EntityRef, FeatureId, FixingId, IssueId, Job, Kept, PieceId, Printed,
    SheetOf, Subject, TemplateEdit, TemplateFact, TemplateId, TemplateKind, TemplateSays,
};
use crate::prepare::mm;
use crate::prepare::rack::{Size, SizeSays, between_holes, judged};
use crate::prepare::template_back::judge_read;
use crate::prepare::{Source, feature_title, prepare_sheet, print_is_stale, proving, sheet_title};
use crate::units::Length;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// Where a template is in its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RackState {
    /// Made; nobody has told its size yet.
    NotProved,
    /// At size.
    Proved,
    /// At size when it was measured; it has served so many pieces since that it is measured again.
    Due,
    /// Not at size.
    Wrong,
    /// Worn: not used before it is measured again.
    Worn,
    /// Not used any more.
    Retired,
}

/// One template on the rack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hanging {
    /// Which.
    pub id: TemplateId,
    /// Its number.
    pub number: u32,
    /// *stencil, Eye, left*.
    pub title: String,
    /// The pieces it serves: *1 to 6, 9*.
    pub pieces: String,
    /// How many.
    pub serves: usize,
    /// Where it hangs.
    pub hangs: String,
    /// Measured again after this many pieces; 0 for never.
    pub check_every: u32,
    /// Where it is in its life.
    pub state: RackState,
    /// The same in a sentence.
    pub says: String,
    /// It is not proved on a piece yet.
    pub proving: Option<String>,
    /// What was read last, a line for each distance.
    pub lines: Vec<String>,
    /// Why it no longer holds.
    pub stale: Option<String>,
    /// What proves it.
    pub distances: Vec<CheckDistance>,
    /// The reference on it; empty where it was not made from a print.
    pub reference: String,
    /// How far out its line may be when it is laid back on something that is right.
    pub room: Option<Length>,
}

/// What a template that is not made from a print starts with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ByHand {
    /// *Eye, left*; *Bracket bolts*.
    pub title: String,
    /// What it carries: a feature, or the holes of a fixing.
    pub of: SheetOf,
    /// The issue it is made to.
    pub issue: Option<IssueId>,
    /// Every piece of the run: *1 to 18*.
    pub pieces: String,
    /// The number to write on it.
    pub number: u32,
    /// How far out a distance on it may be.
    pub within: Option<Length>,
    /// Distances from hole to hole that prove it; none of what has no two holes.
    pub distances: Vec<CheckDistance>,
}

/// A print that nothing on the rack was made from yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToMake {
    /// *Eye, left*.
    pub title: String,
    /// What was printed.
    pub of: SheetOf,
    /// What is made from it, where nothing else is said.
    pub kind: TemplateKind,
    /// The pieces it serves: *7*.
    pub pieces: String,
    /// The reference on it.
    pub reference: String,
    /// The day on it.
    pub day: String,
    /// The number to write on it.
    pub number: u32,
    /// Why nothing is to be made from it.
    pub stale: Option<String>,
}

/// The rack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RackView {
    /// What is printed for what is in hand and not on the rack.
    pub to_make: Vec<ToMake>,
    /// What can be made without a print: of the feature in hand, or of each fixing.
    pub by_hand: Vec<ByHand>,
    /// Templates in use first, by number; retired ones last.
    pub hanging: Vec<Hanging>,
}

fn title_of(job: &Job, feature: &FeatureId) -> String {
    job.features
        .get(feature)
        .map_or_else(|| feature.to_string(), feature_title)
}

/// What a template carries, without what it is: *Eye, left*; *Bracket bolts*.
fn carries(job: &Job, of: &SheetOf) -> String {
    match of {
        SheetOf::Feature(id)
        | SheetOf::Shell(id)
        | SheetOf::Patches(id)
        | SheetOf::Gores(id)
        | SheetOf::Rods(id) => title_of(job, id),
        SheetOf::Pair(_) => sheet_title(job, of),
        SheetOf::Fixing(id) | SheetOf::Jig(id) | SheetOf::Plate(id) => {
            let name = job.fixings.get(id).and_then(|f| f.name.clone());
            name.unwrap_or_else(|| id.to_string())
        }
    }
}

/// The sheets that what is in hand can have: of a feature, or all by which a piece is drilled.
fn sheets_in_hand(job: &Job, feature: Option<&FeatureId>) -> Vec<SheetOf> {
    let Some(feature) = feature else {
        let all = job.fixings.keys();
        let of = |id: &FixingId| {
            let id = id.clone();
            [
                SheetOf::Plate(id.clone()),
                SheetOf::Fixing(id.clone()),
                SheetOf::Jig(id),
            ]
        };
        return all.flat_map(of).collect();
    };
    let both = job.pairs.iter().filter(|(_, p)| {
        let two = p.left.iter().chain(&p.right);
        two.into_iter().any(|f| f == feature)
    });
    [
        SheetOf::Feature(feature.clone()),
        SheetOf::Shell(feature.clone()),
        SheetOf::Patches(feature.clone()),
        SheetOf::Gores(feature.clone()),
        SheetOf::Rods(feature.clone()),
    ]
    .into_iter()
    .chain(both.map(|(id, _)| SheetOf::Pair(id.clone())))
    .collect()
}

/// The rack, with what could be put on it for a feature of a piece; where no feature is in hand, that
/// part of it by which pieces are drilled.
pub(super) fn rack_view(
    source: &Source<'_>,
    feature: Option<&FeatureId>,
    piece: &PieceId,
) -> RackView {
    let job = source.job;
    let to_make = |of: SheetOf| {
        let says = &job.last_print(&of, piece)?.says;
        let made = |t: &TemplateEdit| t.reference.as_ref() == Some(&says.reference);
        (!job.templates.values().any(made)).then(|| ToMake {
            title: carries(job, &of),
            kind: TemplateKind::of_sheet(&of),
            of,
            pieces: list(job, &says.pieces),
            reference: says.reference.clone(),
            day: says.day.clone(),
            number: job.next_template_number(),
            stale: print_is_stale(source, says, piece),
        })
    };
    let to_make = sheets_in_hand(job, feature).into_iter().filter_map(to_make);
    let to_make = to_make.collect();
    let drills = |t: &TemplateEdit| carried(job, t).is_some_and(|of| of.fixing().is_some());
    let mut hanging: Vec<Hanging> = job
        .templates
        .iter()
        .filter(|(_, t)| feature.is_some() || drills(t))
        .map(|(id, t)| hanging(source, id, t))
        .collect();
    hanging.sort_by_key(|h| (h.state == RackState::Retired, h.number, h.id.clone()));
    RackView {
        to_make,
        by_hand: match feature {
            Some(feature) => by_hand(source, feature, piece).into_iter().collect(),
            None => drilled_by_hand(job),
        },
        hanging,
    }
}

/// Common practice where no budget was worked out: a tool takes a third of what the work may be out
/// (design/10 §7.2 has the same third for a gauge).
const TOOL_TAKES: f64 = 1.0 / 3.0;

fn by_hand(source: &Source<'_>, feature: &FeatureId, piece: &PieceId) -> Option<ByHand> {
    let job = source.job;
    let number = job.number_of(piece);
    let carried = job.in_force(feature, number)?;
    Some(ByHand {
        title: title_of(job, feature),
        of: SheetOf::Feature(feature.clone()),
        issue: job.issue_of(feature, number).map(|(id, _)| id.clone()),
        pieces: every_piece(job),
        number: job.next_template_number(),
        within: carried.edit.tolerance.map(|t| t * TOOL_TAKES),
        distances: Vec::new(),
    })
}

fn every_piece(job: &Job) -> String {
    let all = job.pieces_in_order();
    let all: Vec<PieceId> = all.into_iter().map(|(id, _)| id.clone()).collect();
    list(job, &all)
}

/// A jig, template or plate of each fixing whose holes are known, proved from hole to hole.
fn drilled_by_hand(job: &Job) -> Vec<ByHand> {
    let with_holes = job.fixings.iter().filter(|(_, f)| f.pattern.is_some());
    with_holes
        .map(|(id, _)| {
            let of = SheetOf::Jig(id.clone());
            ByHand {
                title: carries(job, &of),
                issue: None,
                pieces: every_piece(job),
                number: job.next_template_number(),
                within: Some(Method::Jigged.within()),
                distances: between_holes(job, &of),
                of,
            }
        })
        .collect()
}

/// What a template carries: what its print does, else what was said of it when it was made.
fn carried(job: &Job, template: &TemplateEdit) -> Option<SheetOf> {
    if let Some(print) = print_of(job, template) {
        return Some(print.of.clone());
    }
    let of_fixing = template.fixing.clone().map(|id| match template.kind {
        Some(TemplateKind::SettingPlate) => SheetOf::Plate(id),
        Some(TemplateKind::DrillTemplate) => SheetOf::Fixing(id),
        _ => SheetOf::Jig(id),
    });
    of_fixing.or_else(|| template.feature.as_ref().map(SheetOf::from))
}

/// How far out the line of a template may be: what the budget of the worst piece it serves leaves;
/// nothing where it has holes and no line.
fn room(source: &Source<'_>, of: &SheetOf, pieces: &[PieceId], printed: bool) -> Option<Length> {
    if of.fixing().is_some() {
        return None;
    }
    if !printed {
        let (feature, piece) = (of.feature()?, pieces.first()?);
        let number = source.job.number_of(piece);
        let tolerance = source.job.in_force(feature, number)?.edit.tolerance?;
        return Some(tolerance * TOOL_TAKES);
    }
    let mut least: Option<f64> = None;
    for piece in pieces {
        let p = prepare_sheet(source, of, piece).ok()?;
        let left = (p.allowed.mm() - p.budget.worst.mm()).max(0.0);
        least = Some(least.map_or(left, |l| l.min(left)));
    }
    least.map(Length::from_mm)
}

/// The print a template was made from.
fn print_of<'a>(job: &'a Job, template: &TemplateEdit) -> Option<&'a Printed> {
    let reference = template.reference.as_ref().filter(|r| !r.is_empty())?;
    let mut print = job.printed.about(Subject::Sheet(reference.clone()));
    print.next_back().map(|p| &p.says)
}

fn hanging(source: &Source<'_>, id: &TemplateId, template: &TemplateEdit) -> Hanging {
    let job = source.job;
    let reference = template.reference.clone().unwrap_or_default();
    let print = print_of(job, template);
    let own = template.pieces.clone().unwrap_or_default();
    let pieces = print.map_or(&own, |p| &p.pieces);
    let distances = match print {
        Some(p) => p.distances.clone(),
        None => template.distances.clone().unwrap_or_default(),
    };
    let of = carried(job, template);
    let (state, says, lines) = life(&Life {
        job,
        id,
        template,
        of: of.as_ref(),
        pieces,
        distances: &distances,
    });
    let stale = match (state, print) {
        (RackState::Retired, _) => None,
        (_, Some(p)) => stale(source, p),
        (_, None) if reference.is_empty() => {
            another_issue(job, template).or_else(|| other_holes(job, of.as_ref()?, &distances))
        }
        (_, None) => Some(
            "The print it was made from isn’t in this copy of the job: whether it still holds can’t be told".to_owned(),
        ),
    };
    let kind = template.kind.unwrap_or(TemplateKind::Stencil).name();
    let own = template.feature.as_ref().map(|f| title_of(job, f));
    let carries = of.as_ref().map(|of| carries(job, of)).or(own);
    let in_use = state != RackState::Retired;
    Hanging {
        id: id.clone(),
        number: template.number.unwrap_or(0),
        title: carries.map_or_else(|| kind.to_owned(), |c| format!("{kind}, {c}")),
        pieces: list(job, pieces),
        serves: pieces.len(),
        hangs: template.hangs.clone().unwrap_or_default(),
        check_every: template.check_every.unwrap_or(0),
        state,
        says,
        proving: of
            .as_ref()
            .filter(|_| in_use)
            .and_then(|of| proving(job, of, pieces))
            .map(|p| p.words().to_owned()),
        lines,
        stale,
        room: of
            .filter(|_| in_use)
            .and_then(|of| room(source, &of, pieces, print.is_some())),
        distances,
        reference,
    }
}

/// Why a template made without a print does not hold: a piece it serves is on another issue.
fn another_issue(job: &Job, template: &TemplateEdit) -> Option<String> {
    let (feature, made_to) = (template.feature.as_ref()?, template.issue.as_ref()?);
    let number_of = |id| job.issues.get(id).and_then(|i| i.number).unwrap_or(0);
    let pieces = template.pieces.iter().flatten();
    pieces.into_iter().find_map(|piece| {
        let number = job.number_of(piece);
        let (now, _) = job.issue_of(feature, number)?;
        (now != made_to).then(|| {
            format!(
                "Piece {number} is made to issue {} now; this one was made to issue {}",
                number_of(now),
                number_of(made_to)
            )
        })
    })
}

/// Why one made without a print does not hold: the holes it was proved by lie otherwise now.
fn other_holes(job: &Job, of: &SheetOf, kept: &[CheckDistance]) -> Option<String> {
    let now = between_holes(job, of);
    kept.iter().find_map(|was| {
        let is = now.iter().find(|d| d.between == was.between)?;
        let apart = (is.drawn - was.drawn).abs();
        (apart.mm() >= 0.1).then(|| {
            format!(
                "The holes were moved: {} is {} mm now, this one was made to {}",
                was.between,
                mm(is.drawn),
                mm(was.drawn)
            )
        })
    })
}

/// Why a print does not hold for some piece it serves.
fn stale(source: &Source<'_>, print: &Printed) -> Option<String> {
    print.pieces.iter().find_map(|piece| {
        let newer = source.job.last_print(&print.of, piece);
        match newer.filter(|n| n.says.reference != print.reference) {
            Some(n) => Some(format!(
                "Piece {} has a newer print of {} ({})",
                source.job.number_of(piece),
                n.says.day,
                n.says.reference
            )),
            None => print_is_stale(source, print, piece),
        }
    })
}

fn names(distances: &[CheckDistance]) -> String {
    let all: Vec<&str> = distances.iter().map(|d| d.between.as_str()).collect();
    all.join(" and ")
}

/// What a template's life is told from.
struct Life<'a> {
    job: &'a Job,
    id: &'a TemplateId,
    template: &'a TemplateEdit,
    of: Option<&'a SheetOf>,
    pieces: &'a [PieceId],
    distances: &'a [CheckDistance],
}

/// What its own lay-back came to.
fn laid_back(event: &Kept<TemplateFact>) -> Option<SizeSays> {
    let TemplateSays::LaidBack { gaps, room, .. } = &event.says.says else {
        return None;
    };
    Some(judge_read(gaps, *room))
}

fn life(of: &Life<'_>) -> (RackState, String, Vec<String>) {
    let events: Vec<_> = of.job.happened_to(of.id).collect();
    let retired = events.iter().rev().find_map(|e| match &e.says.says {
        TemplateSays::Retired { why } => Some((why, &e.says.day)),
        _ => None,
    });
    if let Some((why, day)) = retired {
        let says = format!("Retired {day}{}", because(why));
        return (RackState::Retired, says, Vec::new());
    }
    let by_hand = of.template.reference.is_none();
    let drills = of.of.is_some_and(|of| of.fixing().is_some());
    if of.distances.is_empty() && by_hand && drills {
        return (
            RackState::NotProved,
            "NOT PROVED: no distance on it is known. Retire it, and add it again with one".into(),
            Vec::new(),
        );
    }
    if of.distances.is_empty() && !by_hand {
        return (
            RackState::NotProved,
            "SIZE NOT PROVED: it was printed before check distances were kept. Print it again"
                .into(),
            Vec::new(),
        );
    }
    let latest = |judged: &dyn Fn(&Kept<TemplateFact>) -> Option<SizeSays>| {
        let found = events.iter().rev();
        found.into_iter().find_map(|e| judged(e).map(|s| (*e, s)))
    };
    let measured = latest(&|e| judged(&e.says, of.distances));
    let back = latest(&laid_back);
    let proofs = || measured.iter().chain(&back);
    let worn = events.iter().rev().find_map(|e| match &e.says.says {
        TemplateSays::Worn { how } if proofs().all(|p| e.after(p.0)) => Some((how, &e.says.day)),
        _ => None,
    });
    let again = if of.distances.is_empty() {
        "lay it back".to_owned()
    } else {
        format!("read {} again", names(of.distances))
    };
    if let Some((how, day)) = worn {
        let says = format!(
            "Worn, said {day}{}. Don’t use it: {again}, or retire it",
            because(how)
        );
        return (RackState::Worn, says, Vec::new());
    }
    let lines: Vec<String> = proofs().flat_map(|p| p.1.lines.clone()).collect();
    if let Some((event, _)) = proofs().find(|p| p.1.size == Size::Wrong) {
        let day = &event.says.day;
        let says = match event.says.says {
            TemplateSays::LaidBack { .. } => {
                format!("Its line is off, laid back {day}. Don’t use it: make another, or true it")
            }
            _ if by_hand => format!("Not at size, read {day}. Don’t use it: make another"),
            _ => format!("Not at size, read {day}. Don’t use it: print again at 100 %"),
        };
        return (RackState::Wrong, says, lines);
    }
    let Some((event, says)) = measured
        .as_ref()
        .or(back.as_ref().filter(|_| of.distances.is_empty()))
    else {
        let says = if of.distances.is_empty() {
            "NOT PROVED: lay it back on the piece that was approved, or on a true print".to_owned()
        } else {
            format!(
                "SIZE NOT PROVED: read {} on the finished template",
                names(of.distances)
            )
        };
        return (RackState::NotProved, says, lines);
    };
    let day = &event.says.day;
    if says.size != Size::Proved {
        let says = if of.distances.is_empty() {
            format!("NOT PROVED: the lay-back of {day} can’t tell. Give it distances to be read by")
        } else {
            format!("SIZE NOT PROVED: the rule of {day} can’t tell. Read again with a finer one")
        };
        return (RackState::NotProved, says, lines);
    }
    // A lay-back that proved the line is a check as good as reading the bars again.
    let proved = proofs().filter(|p| p.1.size == Size::Proved);
    let last = proved.fold(*event, |last, p| if p.0.after(last) { p.0 } else { last });
    let day = &last.says.day;
    let (served, how) = served(of, last);
    let since = u32::try_from(served.len()).unwrap_or(u32::MAX);
    let every = of.template.check_every.unwrap_or(0);
    if every > 0 && since >= every {
        let noun = if since == 1 { "piece" } else { "pieces" };
        let says = format!("{since} {noun} {how} with it since {day}: {again}");
        return (RackState::Due, says, lines);
    }
    let what = if of.distances.is_empty() {
        "Its line proved"
    } else {
        "Size proved"
    };
    (RackState::Proved, format!("{what} {day}"), lines)
}

/// The pieces it has served since something happened, and how: checked, drilled, or set.
fn served<'a>(of: &Life<'a>, since: &Kept<TemplateFact>) -> (BTreeSet<&'a PieceId>, &'static str) {
    let job = of.job;
    match of.of {
        Some(SheetOf::Fixing(id) | SheetOf::Jig(id)) => {
            let by = EntityRef::Fixing(id.clone());
            let drilled = (of.pieces.iter()).flat_map(|piece| job.drilled.about_part(piece, &by));
            let drilled = drilled.filter(|d| d.after(since));
            (drilled.map(|d| &d.says.piece).collect(), "drilled")
        }
        Some(SheetOf::Plate(id)) => {
            let by = EntityRef::Fixing(id.clone());
            let set = (of.pieces.iter()).flat_map(|piece| job.cured.about_part(piece, &by));
            let set = set.filter(|c| c.after(since));
            (set.map(|c| &c.says.piece).collect(), "set")
        }
        _ => {
            let checked = checked_with(of).into_iter().filter(|c| c.after(since));
            (checked.map(|c| &c.says.piece).collect(), "checked")
        }
    }
}

/// The checks made with this template: by the reference on it; by feature and piece where no sheet
/// with a reference was laid back.
fn checked_with<'a>(of: &Life<'a>) -> Vec<&'a Kept<CheckFact>> {
    let checks = &of.job.checks;
    match (&of.template.reference, &of.template.feature) {
        (Some(reference), _) => checks.about(Subject::Sheet(reference.clone())).collect(),
        (None, Some(feature)) => {
            let by = EntityRef::Feature(feature.clone());
            let all = of.pieces.iter().flat_map(|p| checks.about_part(p, &by));
            all.filter(|c| c.says.reference.is_none()).collect()
        }
        (None, None) => Vec::new(),
    }
}

fn because(words: &str) -> String {
    match words.trim() {
        "" => String::new(),
        words => format!(": {words}"),
    }
}
