//! Templates as things, as the Templates screen shows them.

use super::fewest::list;
use crate::job::{
    CheckDistance, FeatureId, Job, Kept, PieceId, Printed, TemplateEdit, TemplateFact, TemplateId,
    TemplateKind, TemplateSays,
};
use crate::prepare::rack::{Size, SizeSays, judge_size};
use crate::prepare::{Source, feature_title, print_is_stale};
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
    /// What was read last, a line for each distance.
    pub lines: Vec<String>,
    /// Why it no longer holds.
    pub stale: Option<String>,
    /// What proves it.
    pub distances: Vec<CheckDistance>,
    /// The reference on it.
    pub reference: String,
}

/// A print that nothing on the rack was made from yet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ToMake {
    /// *Eye, left*.
    pub title: String,
    /// The feature.
    pub feature: FeatureId,
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
    /// What is printed for the feature and piece in hand and not on the rack.
    pub to_make: Option<ToMake>,
    /// Templates in use first, by number; retired ones last.
    pub hanging: Vec<Hanging>,
}

fn title_of(job: &Job, feature: &FeatureId) -> String {
    job.features
        .get(feature)
        .map_or_else(|| feature.to_string(), feature_title)
}

/// The rack, with what could be put on it for a feature of a piece.
pub(super) fn rack_view(source: &Source<'_>, feature: &FeatureId, piece: &PieceId) -> RackView {
    let job = source.job;
    let to_make = job.last_print(feature, piece).and_then(|p| {
        let says = &p.says;
        let made = |t: &TemplateEdit| t.reference.as_ref() == Some(&says.reference);
        (!job.templates.values().any(made)).then(|| ToMake {
            title: title_of(job, feature),
            feature: feature.clone(),
            pieces: list(job, &says.pieces),
            reference: says.reference.clone(),
            day: says.day.clone(),
            number: job.next_template_number(),
            stale: print_is_stale(source, says, piece),
        })
    });
    let mut hanging: Vec<Hanging> = job
        .templates
        .iter()
        .map(|(id, t)| hanging(source, id, t))
        .collect();
    hanging.sort_by_key(|h| (h.state == RackState::Retired, h.number, h.id.clone()));
    RackView { to_make, hanging }
}

fn hanging(source: &Source<'_>, id: &TemplateId, template: &TemplateEdit) -> Hanging {
    let job = source.job;
    let reference = template.reference.clone().unwrap_or_default();
    let printed = job.printed.iter().rev().map(|p| &p.says);
    let print = printed
        .clone()
        .find(|p| !reference.is_empty() && p.reference == reference);
    let none = Vec::new();
    let pieces = print.map_or(&none, |p| &p.pieces);
    let distances = print.map(|p| p.distances.clone()).unwrap_or_default();
    let check_every = template.check_every.unwrap_or(0);
    let (state, says, lines) = life(job, id, &reference, &distances, check_every);
    let stale = match (state, print) {
        (RackState::Retired, _) => None,
        (_, Some(p)) => stale(source, p),
        (_, None) => Some(
            "The print it was made from isn’t in this copy of the job: whether it still holds can’t be told".to_owned(),
        ),
    };
    let kind = template.kind.unwrap_or(TemplateKind::Stencil).name();
    let carries = template.feature.as_ref().or_else(|| print?.of.feature());
    let carries = carries.map(|f| title_of(job, f)).unwrap_or_default();
    Hanging {
        id: id.clone(),
        number: template.number.unwrap_or(0),
        title: format!("{kind}, {carries}"),
        pieces: list(job, pieces),
        serves: pieces.len(),
        hangs: template.hangs.clone().unwrap_or_default(),
        check_every,
        state,
        says,
        lines,
        stale,
        distances,
        reference,
    }
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

/// What readings of a template came to when they were taken.
fn judged(event: &Kept<TemplateFact>, distances: &[CheckDistance]) -> Option<SizeSays> {
    let TemplateSays::Measured { read, class, step } = &event.says.says else {
        return None;
    };
    let of = |d: &CheckDistance| {
        let one = read.iter().find(|r| r.between == d.between);
        one.map(|r| r.read.mm)
    };
    let read: Vec<Option<Length>> = distances.iter().map(of).collect();
    judge_size(distances, &read, *class, *step).ok()
}

fn life(
    job: &Job,
    id: &TemplateId,
    reference: &str,
    distances: &[CheckDistance],
    check_every: u32,
) -> (RackState, String, Vec<String>) {
    let events: Vec<_> = job.happened_to(id).collect();
    let retired = events.iter().rev().find_map(|e| match &e.says.says {
        TemplateSays::Retired { why } => Some((why, &e.says.day)),
        _ => None,
    });
    if let Some((why, day)) = retired {
        let says = format!("Retired {day}{}", because(why));
        return (RackState::Retired, says, Vec::new());
    }
    if distances.is_empty() {
        return (
            RackState::NotProved,
            "SIZE NOT PROVED: it was printed before check distances were kept. Print it again"
                .into(),
            Vec::new(),
        );
    }
    let measured = events
        .iter()
        .rev()
        .find_map(|e| judged(e, distances).map(|s| (*e, s)));
    let worn = events.iter().rev().find_map(|e| match &e.says.says {
        TemplateSays::Worn { how } if measured.as_ref().is_none_or(|m| e.after(m.0)) => {
            Some((how, &e.says.day))
        }
        _ => None,
    });
    if let Some((how, day)) = worn {
        let says = format!(
            "Worn, said {day}{}. Don’t use it: read {} again, or retire it",
            because(how),
            names(distances)
        );
        return (RackState::Worn, says, Vec::new());
    }
    let Some((event, says)) = measured else {
        let says = format!(
            "SIZE NOT PROVED: read {} on the finished sheet",
            names(distances)
        );
        return (RackState::NotProved, says, Vec::new());
    };
    let day = &event.says.day;
    match says.size {
        Size::Wrong => (
            RackState::Wrong,
            format!("Not at size, read {day}. Don’t use it: print again at 100 %"),
            says.lines,
        ),
        Size::NotProved => (
            RackState::NotProved,
            format!("SIZE NOT PROVED: the rule of {day} can’t tell. Read again with a finer one"),
            says.lines,
        ),
        Size::Proved => {
            let served: BTreeSet<&PieceId> = job
                .checks
                .iter()
                .filter(|c| c.says.reference.as_deref() == Some(reference) && c.after(event))
                .map(|c| &c.says.piece)
                .collect();
            let since = u32::try_from(served.len()).unwrap_or(u32::MAX);
            if check_every > 0 && since >= check_every {
                let noun = if since == 1 { "piece" } else { "pieces" };
                let says_now = format!(
                    "{since} {noun} checked with it since {day}: read {} again",
                    names(distances)
                );
                (RackState::Due, says_now, says.lines)
            } else {
                (RackState::Proved, format!("Size proved {day}"), says.lines)
            }
        }
    }
}

fn because(words: &str) -> String {
    match words.trim() {
        "" => String::new(),
        words => format!(": {words}"),
    }
}
