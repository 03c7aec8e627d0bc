//! What the Changes screen says when something on it is done: facts, from the job and what was typed.

use crate::screens::job::model::edit;
use samespot_core::job::{
    AmendedFact, Amendment, Change, Decided, EntityRef, Entry, FeatureId, IssueEdit, IssueId, Job,
    OutlineSpec, Payload, PieceId,
};
use samespot_core::prepare::amendments::{ToScrap, pieces_words};
use samespot_core::units::Length;

/// The number of the next issue.
pub fn next_number(job: &Job) -> u32 {
    let newest = job.issues.values().filter_map(|i| i.number).max();
    newest.unwrap_or(0).saturating_add(1)
}

/// The newest issue that changes something and that nobody has approved: more can go into it.
pub fn open_issue(job: &Job) -> Option<(IssueId, u32)> {
    job.issues
        .iter()
        .filter(|(_, i)| i.amends.is_some() && !i.approved())
        .max_by_key(|(id, i)| (i.number.unwrap_or(0), (*id).clone()))
        .map(|(id, i)| (id.clone(), i.number.unwrap_or(0)))
}

/// Issues, newest first: id, number, what it says in one line, whether it is approved.
pub fn issues(job: &Job) -> Vec<Line> {
    let mut all: Vec<_> = job.issues.iter().collect();
    all.sort_by_key(|(id, i)| (core::cmp::Reverse(i.number.unwrap_or(0)), (*id).clone()));
    all.into_iter()
        .map(|(id, i)| Line {
            issue: id.clone(),
            number: i.number.unwrap_or(0),
            says: match &i.amends {
                None => "the design as it was set up".into(),
                Some(_) => pieces_words(i),
            },
            date: i.date.clone().unwrap_or_default(),
            whole: i.amends.is_none(),
            approved: i.approved(),
        })
        .collect()
}

/// One issue in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Which.
    pub issue: IssueId,
    /// Its number.
    pub number: u32,
    /// What it says.
    pub says: String,
    /// Its day.
    pub date: String,
    /// It is a whole design.
    pub whole: bool,
    /// Somebody approved it.
    pub approved: bool,
}

/// What the form holds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft {
    /// Which feature.
    pub feature: Option<FeatureId>,
    /// `move`, `mirror`, `finish`, `tolerance`, `drop`, `add`.
    pub how: String,
    /// How far sideways; the direction apart.
    pub across: Option<Entry>,
    /// To the left.
    pub left: bool,
    /// How far up or down.
    pub along: Option<Entry>,
    /// Down.
    pub down: bool,
    /// The new finish.
    pub finish: String,
    /// The new tolerance.
    pub tolerance: Option<Entry>,
    /// From which piece; empty for the first.
    pub from: String,
    /// To which piece; empty for the last.
    pub to: String,
    /// Why.
    pub reason: String,
    /// Who asked.
    pub asked_by: String,
}

fn signed(entry: Option<&Entry>, minus: bool) -> Entry {
    let entry = entry.cloned().unwrap_or_else(|| Entry::of_mm(0.0));
    Entry {
        mm: if minus { -entry.mm } else { entry.mm },
        ..entry
    }
}

impl Draft {
    /// The change it makes, or what is still missing.
    pub fn change(&self) -> Result<Change, &'static str> {
        match self.how.as_str() {
            "move" => {
                let right = signed(self.across.as_ref(), self.left);
                let up = signed(self.along.as_ref(), self.down);
                if right.mm == Length::ZERO && up.mm == Length::ZERO {
                    Err("Say how far it moves, up or down or to a side")
                } else {
                    Ok(Change::Moved { right, up })
                }
            }
            "finish" if self.finish.trim().is_empty() => Err("Say what the finish is now"),
            "finish" => Ok(Change::Finish {
                finish: self.finish.trim().to_owned(),
            }),
            "tolerance" => match &self.tolerance {
                Some(entry) if entry.mm > Length::ZERO => Ok(Change::Tolerance {
                    tolerance: entry.mm,
                }),
                _ => Err("Say how far out it may be, any way"),
            },
            "mirror" => Ok(Change::Mirrored),
            "drop" => Ok(Change::Dropped),
            "add" => Ok(Change::Added),
            _ => Err("Say what becomes of it"),
        }
    }

    /// The pieces it applies to, or what is wrong with them.
    pub fn pieces(&self, job: &Job) -> Result<(Option<u32>, Option<u32>), String> {
        let last = job.pieces.values().filter_map(|p| p.number).max();
        let last = last.unwrap_or(0);
        let read = |text: &str| -> Result<Option<u32>, String> {
            let text = text.trim();
            if text.is_empty() {
                return Ok(None);
            }
            match text.parse::<u32>() {
                Ok(n) if n >= 1 && n <= last => Ok(Some(n)),
                _ => Err(format!(
                    "This run has pieces 1 to {last}; there is no piece {text}"
                )),
            }
        };
        let (from, to) = (read(&self.from)?, read(&self.to)?);
        match (from, to) {
            (Some(from), Some(to)) if from > to => Err(format!(
                "From piece {from} to piece {to} is no piece at all: put the smaller number first"
            )),
            both => Ok(both),
        }
    }

    /// Whether everything is there; what is missing, where it is not.
    pub fn missing(&self, job: &Job) -> Option<String> {
        if self.feature.is_none() {
            return Some("Choose what changes".into());
        }
        match self.change() {
            Err(why) => return Some(why.to_owned()),
            Ok(Change::Mirrored) => {
                let feature = self.feature.as_ref().and_then(|f| job.features.get(f));
                let outline = feature.and_then(|f| f.outline.as_ref());
                if let Some(why) = outline.and_then(OutlineSpec::alike_turned_over) {
                    return Some(why.to_owned());
                }
            }
            Ok(Change::Added) => {
                let pieces = self.pieces(job);
                let on_all = pieces == Ok((None, None));
                if on_all && self.feature.as_ref().is_some_and(|f| !is_dropped(job, f)) {
                    return Some("Say from which piece on it is made".into());
                }
            }
            Ok(_) => {}
        }
        self.pieces(job).err()
    }
}

/// Some issue has it made no longer on some piece: a later one can bring it back on all.
fn is_dropped(job: &Job, feature: &FeatureId) -> bool {
    let mut numbers = job.pieces.values().filter_map(|p| p.number);
    numbers.any(|n| {
        let now = job.in_force(feature, n);
        now.is_some_and(|now| now.not_made.is_some())
    })
}

/// A new issue with one change in it.
pub fn new_issue(job: &Job, id: IssueId, draft: &Draft, day: &str) -> Vec<Payload> {
    let (Some(feature), Ok(change), Ok((from, to))) =
        (draft.feature.clone(), draft.change(), draft.pieces(job))
    else {
        return Vec::new();
    };
    let said = |text: &str| {
        let text = text.trim();
        (!text.is_empty()).then(|| text.to_owned())
    };
    let fields = IssueEdit {
        number: Some(next_number(job)),
        date: Some(day.to_owned()),
        reason: said(&draft.reason),
        asked_by: said(&draft.asked_by),
        from_piece: from,
        to_piece: to,
        amends: Some(vec![Amendment { feature, change }]),
        ..IssueEdit::default()
    };
    edit(EntityRef::Issue(id), &fields)
}

/// One more change in an issue that nobody has approved yet.
pub fn add_to(job: &Job, id: &IssueId, draft: &Draft) -> Vec<Payload> {
    let (Some(feature), Ok(change)) = (draft.feature.clone(), draft.change()) else {
        return Vec::new();
    };
    let mut amends = job
        .issues
        .get(id)
        .and_then(|i| i.amends.clone())
        .unwrap_or_default();
    amends.push(Amendment { feature, change });
    amend(id, amends)
}

/// One more change of an issue that nobody has approved yet, as it was offered.
pub fn also(job: &Job, id: &IssueId, amendment: &Amendment) -> Vec<Payload> {
    let Some(issue) = job.issues.get(id).filter(|i| !i.approved()) else {
        return Vec::new();
    };
    let mut amends = issue.amends.clone().unwrap_or_default();
    amends.push(amendment.clone());
    amend(id, amends)
}

fn amend(id: &IssueId, amends: Vec<Amendment>) -> Vec<Payload> {
    let fields = IssueEdit {
        amends: Some(amends),
        ..IssueEdit::default()
    };
    edit(EntityRef::Issue(id.clone()), &fields)
}

/// An issue without its n-th change.
pub fn without(job: &Job, id: &IssueId, n: usize) -> Vec<Payload> {
    let mut amends = job
        .issues
        .get(id)
        .and_then(|i| i.amends.clone())
        .unwrap_or_default();
    if n < amends.len() {
        amends.remove(n);
    }
    amend(id, amends)
}

/// An issue approved.
pub fn approve(id: &IssueId, by: &str, day: &str) -> Vec<Payload> {
    let by = by.trim();
    if by.is_empty() {
        return Vec::new();
    }
    let fields = IssueEdit {
        approved_by: Some(by.to_owned()),
        approved_on: Some(day.to_owned()),
        ..IssueEdit::default()
    };
    edit(EntityRef::Issue(id.clone()), &fields)
}

/// A decision about one piece.
pub fn decide(
    issue: &IssueId,
    piece: &PieceId,
    feature: &FeatureId,
    decided: Decided,
) -> Vec<Payload> {
    vec![Payload::Amended(AmendedFact {
        issue: issue.clone(),
        piece: piece.clone(),
        feature: feature.clone(),
        decided,
    })]
}

/// A printed template that no longer holds: the reference on it, what it carries, for which pieces.
pub fn scrap(sheet: &ToScrap) -> String {
    let pieces: Vec<String> = sheet.pieces.iter().map(u32::to_string).collect();
    let noun = if pieces.len() == 1 { "piece" } else { "pieces" };
    let reference = match sheet.reference.split_at_checked(5) {
        Some((a, b)) => format!("{a} {b}"),
        None => sheet.reference.clone(),
    };
    format!(
        "Scrap {reference}: {}, {noun} {}, printed {}",
        sheet.title,
        pieces.join(", "),
        sheet.day
    )
}

/// A number of hours or money as people type it.
pub fn number(text: &str) -> Option<f64> {
    let text = text.trim().replace(',', ".");
    let plain = !text.is_empty() && text.chars().all(|c| c.is_ascii_digit() || c == '.');
    text.parse::<f64>()
        .ok()
        .filter(|n| plain && n.is_finite() && *n < 1e7)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::panic, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::job::{JobId, Ledger, PieceEdit, ReplicaId, Writer};

    fn job(issues: &[IssueEdit]) -> Job {
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        for n in 1..=18 {
            let piece = EntityRef::Piece(PieceId::new(&format!("p{n}")).unwrap());
            let fields = PieceEdit {
                number: Some(n),
                batch: None,
            };
            for p in edit(piece, &fields) {
                ledger.write(&writer, &p).unwrap();
            }
        }
        for (k, fields) in issues.iter().enumerate() {
            let issue = EntityRef::Issue(IssueId::new(&format!("i{k}")).unwrap());
            for p in edit(issue, fields) {
                ledger.write(&writer, &p).unwrap();
            }
        }
        ledger.fold()
    }

    fn moved() -> Draft {
        Draft {
            feature: Some(FeatureId::new("eye-left").unwrap()),
            how: "move".into(),
            along: Some(Entry::of_mm(14.0)),
            down: true,
            across: Some(Entry::of_mm(6.0)),
            left: true,
            ..Draft::default()
        }
    }

    #[test]
    fn directions_become_signs_and_what_was_typed_is_kept() {
        let Ok(Change::Moved { right, up }) = moved().change() else {
            panic!("no move");
        };
        assert_eq!((right.mm.mm(), up.mm.mm()), (-6.0, -14.0));
        assert_eq!(up.typed, "14");
    }

    #[test]
    fn what_is_missing_is_said() {
        let job = job(&[]);
        let says = |d: &Draft| d.missing(&job).unwrap_or_default();
        assert!(says(&Draft::default()).contains("Choose what changes"));
        let mut d = moved();
        assert_eq!(d.missing(&job), None);
        d.along = None;
        d.across = None;
        assert!(says(&d).contains("how far"));
        let mut d = moved();
        d.from = "19".into();
        assert!(says(&d).contains("no piece 19"));
        d.from = "12".into();
        d.to = "9".into();
        assert!(says(&d).contains("smaller number first"));
        d.to = "nine".into();
        assert!(says(&d).contains("nine"));
        assert!(new_issue(&job, IssueId::new("x").unwrap(), &d, "").is_empty());
    }

    #[test]
    fn what_is_new_is_new_from_a_piece_on_unless_it_was_dropped() {
        let mut d = moved();
        d.how = "add".into();
        assert!(matches!(d.change(), Ok(Change::Added)));
        let said = d.missing(&job(&[])).unwrap_or_default();
        assert!(said.contains("from which piece"), "{said}");
        d.from = "10".into();
        assert_eq!(d.missing(&job(&[])), None);
        d.from = "40".into();
        let said = d.missing(&job(&[])).unwrap_or_default();
        assert!(said.contains("no piece 40"), "{said}");
    }

    #[test]
    fn the_next_issue_is_numbered_and_an_unsigned_one_takes_more() {
        let first = IssueEdit {
            number: Some(1),
            ..IssueEdit::default()
        };
        let second = IssueEdit {
            number: Some(2),
            amends: Some(Vec::new()),
            ..IssueEdit::default()
        };
        let one = job(std::slice::from_ref(&first));
        assert_eq!((next_number(&one), open_issue(&one)), (2, None));
        let two = job(&[first, second]);
        let (open, number) = open_issue(&two).unwrap();
        assert_eq!((next_number(&two), number), (3, 2));
        assert_eq!(issues(&two).first().unwrap().number, 2);
        assert_eq!(add_to(&two, &open, &moved()).len(), 1);
        assert_eq!(approve(&open, "  ", "").len(), 0);
    }

    #[test]
    fn the_other_of_a_pair_goes_into_an_issue_until_it_is_approved() {
        let moved = Amendment {
            feature: FeatureId::new("eye-right").unwrap(),
            change: Change::Mirrored,
        };
        let issue = |by: Option<&str>| IssueEdit {
            number: Some(2),
            amends: Some(Vec::new()),
            approved_by: by.map(str::to_owned),
            ..IssueEdit::default()
        };
        let id = IssueId::new("i0").unwrap();
        assert_eq!(also(&job(&[issue(None)]), &id, &moved).len(), 1);
        assert!(also(&job(&[issue(Some("the client"))]), &id, &moved).is_empty());
    }

    #[test]
    fn hours_and_money() {
        assert_eq!(number("1,5"), Some(1.5));
        assert_eq!(number(" 40 "), Some(40.0));
        assert_eq!(
            (number("-1"), number("1e3"), number("NaN"), number("")),
            (None, None, None, None)
        );
    }
}
