//! What the Checks screen works with: four gaps being read, and the facts they become.

use crate::widgets::length::Heard;
use samespot_core::check::{Gaps, Verdict};
use samespot_core::job::{
    CheckFact, ConcessionFact, EntityRef, Entry, FeatureId, Found, InstrumentId, InstrumentKind,
    Job, LayBackRead, MarkId, Measured, PairConcessionFact, PairId, Payload, PieceId, PointRef,
    Reading, SignOffFact,
};
use samespot_core::prepare::checks::{FeatureCheck, Standing};
use samespot_core::prepare::run_checks::{FeatureRun, Mark};
use samespot_core::prepare::{feature_title, sheet_words};
use samespot_core::units::{FieldOptions, Length, Refused, Typed, Unit, Why, parse_length};

/// Where a gap is read.
pub const CLOCK: [(&str, &str); 4] = [
    ("gap-top", "12 o’clock"),
    ("gap-right", "3 o’clock"),
    ("gap-bottom", "6 o’clock"),
    ("gap-left", "9 o’clock"),
];

/// The gap that is read after one; nothing after the last.
pub fn gap_after(id: &str) -> Option<&'static str> {
    let at = CLOCK.iter().position(|(gap, _)| *gap == id)?;
    CLOCK.get(at + 1).map(|(next, _)| *next)
}

/// What is said of a box in which several numbers stand.
pub const ONE_GAP: &str = "one number: −0.5";

/// Several numbers run together: there is nothing to be added or taken away here.
fn run_together(text: &str, options: &FieldOptions) -> bool {
    matches!(
        parse_length(text, options),
        Typed::Refused(Refused {
            why: Why::Sum { .. },
            ..
        })
    )
}

/// Why a gap isn’t understood, in words that fit under its box.
pub fn gap_refused(text: &str, why: String) -> String {
    if run_together(text, &options()) {
        ONE_GAP.to_owned()
    } else {
        why
    }
}

/// Why a distance isn’t understood, in words of this screen.
pub fn distance_refused(text: &str, why: String) -> String {
    if run_together(text, &FieldOptions::size(Unit::Mm)) {
        "One distance, as one number: 52.5".to_owned()
    } else {
        why
    }
}

/// The four gaps of the newest check, where it was a lay-back.
pub fn kept_gaps(job: &Job, piece: &PieceId, feature: &FeatureId) -> Option<[Entry; 4]> {
    let on = EntityRef::Feature(feature.clone());
    let newest = job
        .checks
        .about_part(piece, &on)
        .rfind(|c| c.says.found.is_some())?;
    let LayBackRead {
        top,
        right,
        bottom,
        left,
    } = newest.says.lay_back.clone()?;
    Some([top, right, bottom, left])
}

/// What a field takes: an offset, the paint outside its line positive.
pub fn options() -> FieldOptions {
    FieldOptions::offset(Unit::Mm, "inside the line", "outside the line")
}

/// What a text means.
pub fn heard(text: &str) -> Heard {
    Heard::of(text, None, &options())
}

/// Where the paint's edge lies, in words.
pub fn side(gap: Length) -> &'static str {
    match gap.to_um() {
        0 => "paint on the line",
        um if um > 0 => "paint outside the line",
        _ => "paint inside the line",
    }
}

/// Half a millimetre further out or in, from what stands there.
pub fn stepped(text: &str, by_halves: i32) -> String {
    let now = match heard(text) {
        Heard::Length(l) => l.mm.mm(),
        _ => 0.0,
    };
    // To the half: a rule is read no closer.
    let halves = (now * 2.0).round() + f64::from(by_halves);
    let next = (halves / 2.0).clamp(-99.0, 99.0);
    if next == 0.0 {
        "0".into()
    } else {
        format!("{next}")
    }
}

/// All four, once all are read.
pub fn entries(texts: &[String; 4]) -> Option<[Entry; 4]> {
    let read = |k: usize| heard(texts.get(k)?).entry();
    Some([read(0)?, read(1)?, read(2)?, read(3)?])
}

/// The gaps of four entries.
pub fn gaps(entries: &[Entry; 4]) -> Gaps {
    let [top, right, bottom, left] = entries;
    Gaps {
        top: top.mm,
        right: right.mm,
        bottom: bottom.mm,
        left: left.mm,
    }
}

/// The templates that may be laid back on a feature of a piece, newest first: the reference that is
/// printed on each, and what it is called.
pub fn templates(job: &Job, piece: &PieceId, feature: &FeatureId) -> Vec<(String, String)> {
    job.may_be_laid_back(feature, piece)
        .into_iter()
        .map(|p| p.says.reference.clone())
        .map(|r| (r.clone(), sheet_words(job, &r)))
        .collect()
}

/// A check to be kept. `laid_back` is the reference on the template, where one was chosen: the latest
/// otherwise.
pub fn check(
    job: &Job,
    piece: &PieceId,
    feature: &FeatureId,
    entries: [Entry; 4],
    found: Found,
    gauge: &str,
    laid_back: Option<&str>,
) -> Vec<Payload> {
    let [top, right, bottom, left] = entries;
    let casting = job.casting_with(feature, piece);
    let stage = casting.and_then(|c| job.stage_of(c)).map(str::to_owned);
    let gauge = InstrumentId::new(gauge).ok();
    let mut prints = job.may_be_laid_back(feature, piece).into_iter();
    let latest = prints.next();
    let chosen = laid_back.and_then(|r| prints.find(|p| p.says.reference == r));
    let reference = chosen.or(latest).map(|p| p.says.reference.clone());
    vec![Payload::Check(Box::new(CheckFact {
        piece: piece.clone(),
        feature: feature.clone(),
        readings: Vec::new(),
        note: String::new(),
        lay_back: Some(LayBackRead {
            top,
            right,
            bottom,
            left,
        }),
        found: Some(found),
        stage,
        gauge,
        reference,
    }))]
}

/// A distance from a mark, as typed.
pub type FromMark = (MarkId, Entry);

/// What a typed distance means.
pub fn distance(text: &str) -> Heard {
    Heard::of(text, None, &FieldOptions::size(Unit::Mm))
}

/// The rule of a job: gaps are read with it.
pub fn rule_in(job: &Job) -> Option<String> {
    let is_rule = |kind: Option<InstrumentKind>| kind == Some(InstrumentKind::SteelRule);
    (job.instruments.iter())
        .find(|(_, i)| is_rule(i.kind))
        .map(|(id, _)| id.to_string())
}

/// Readings from marks to the painted middle; nothing while the piece has no casting for it.
pub fn readings(
    job: &Job,
    piece: &PieceId,
    feature: &FeatureId,
    read: Vec<FromMark>,
    over: bool,
    gauge: &str,
) -> Option<Vec<Reading>> {
    let casting = job.casting_with(feature, piece)?;
    let to = PointRef::Feature(feature.clone());
    let reading = |(mark, value): FromMark| {
        let (from, to) = (PointRef::Mark(mark), to.clone());
        Reading {
            casting: casting.clone(),
            of: if over {
                Measured::Over { from, to }
            } else {
                Measured::Straight { from, to }
            },
            value,
            instrument: InstrumentId::new(gauge).ok(),
            hooked: false,
            stage: job.stage_of(casting).map(str::to_owned),
            within: None,
            set_aside: None,
        }
    };
    Some(read.into_iter().map(reading).collect())
}

/// A check by distances, to be kept. No template was laid back: it has no sheet.
pub fn check_by_marks(
    job: &Job,
    piece: &PieceId,
    feature: &FeatureId,
    readings: Vec<Reading>,
    found: Found,
) -> Vec<Payload> {
    let casting = job.casting_with(feature, piece);
    vec![Payload::Check(Box::new(CheckFact {
        piece: piece.clone(),
        feature: feature.clone(),
        readings,
        note: String::new(),
        lay_back: None,
        found: Some(found),
        stage: casting.and_then(|c| job.stage_of(c)).map(str::to_owned),
        gauge: None,
        reference: None,
    }))]
}

/// A concession, where it has a name and a reason.
pub fn concession(piece: &PieceId, feature: &FeatureId, by: &str, reason: &str) -> Option<Payload> {
    let (by, reason) = (by.trim().to_owned(), reason.trim().to_owned());
    (!by.is_empty() && !reason.is_empty()).then(|| {
        Payload::Concession(ConcessionFact {
            piece: piece.clone(),
            feature: feature.clone(),
            by,
            reason,
        })
    })
}

/// The same of a pair.
pub fn pair_concession(piece: &PieceId, pair: &PairId, by: &str, reason: &str) -> Option<Payload> {
    let (by, reason) = (by.trim().to_owned(), reason.trim().to_owned());
    (!by.is_empty() && !reason.is_empty()).then(|| {
        Payload::PairConcession(PairConcessionFact {
            piece: piece.clone(),
            pair: pair.clone(),
            by,
            reason,
        })
    })
}

/// A record signed off, where somebody and a reason are named.
pub fn signed_off(piece: Option<&PieceId>, by: &str, reason: &str, seal: &str) -> Option<Payload> {
    let (by, reason) = (by.trim().to_owned(), reason.trim().to_owned());
    (!by.is_empty() && !reason.is_empty()).then(|| {
        Payload::SignedOff(SignOffFact {
            piece: piece.cloned(),
            by,
            reason,
            seal: seal.to_owned(),
        })
    })
}

/// What can be checked, by name, before a piece was looked over.
#[must_use]
pub fn named(job: &Job) -> Vec<(FeatureId, String)> {
    let titled = |(id, edit): (&FeatureId, _)| (feature_title(edit), id.clone());
    let mut all: Vec<_> = job.features.iter().map(titled).collect();
    all.sort();
    all.into_iter().map(|(title, id)| (id, title)).collect()
}

/// A feature without what was found on a piece.
pub fn unchecked(check: FeatureCheck) -> FeatureCheck {
    FeatureCheck {
        not_made: None,
        older: None,
        latest: None,
        concession: None,
        run: FeatureRun::default(),
        ..check
    }
}

/// One word beside a feature.
pub fn state(check: &FeatureCheck) -> &'static str {
    if check.not_made.is_some() && check.concession.is_none() {
        return "not made";
    }
    if check.older.is_some() {
        return Standing::MakeAgain.word();
    }
    match (&check.latest, &check.concession, &check.cannot) {
        (_, Some(_), _) => "let stand",
        (Some(c), ..) => match c.found.verdict {
            Verdict::Within => "within",
            Verdict::Outside => "outside",
            Verdict::NotProven => "can’t tell",
        },
        (None, _, Some(_)) => "–",
        (None, _, None) => "to check",
    }
}

/// What stands in a square of the run: a shape for each, so that no colour is needed.
pub fn sign(mark: Mark) -> &'static str {
    match mark {
        Mark::NotMade => "–",
        Mark::ToCheck => "",
        Mark::Within => "✓",
        Mark::LetStand => "(✓)",
        Mark::CantTell => "?",
        Mark::MakeAgain => "!",
        Mark::Outside => "✗",
    }
}

/// *2 outside, 1 can’t tell, 9 to check*; nothing where all are settled and none is left.
pub fn still_open(count: impl Fn(Mark) -> usize) -> String {
    let open = [
        Mark::Outside,
        Mark::MakeAgain,
        Mark::CantTell,
        Mark::ToCheck,
    ];
    let said: Vec<String> = open
        .into_iter()
        .map(|m| (count(m), m.word()))
        .filter(|(n, _)| *n > 0)
        .map(|(n, word)| format!("{n} {word}"))
        .collect();
    if said.is_empty() {
        "all checked and settled".to_owned()
    } else {
        said.join(", ")
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use samespot_core::check::DecisionRule;
    use samespot_core::job::{JobId, Ledger, Printed, PrintedInputs, ReplicaId, SheetOf, Writer};

    #[test]
    fn enter_goes_round_the_clock_and_numbers_never_run_together() {
        let ids: Vec<_> = CLOCK.iter().map(|(id, _)| gap_after(id)).collect();
        assert_eq!(
            ids,
            [
                Some("gap-right"),
                Some("gap-bottom"),
                Some("gap-left"),
                None
            ]
        );
        // What four numbers typed into one box came to.
        let says = |text: &str| match heard(text) {
            Heard::Refused(why) => gap_refused(text, why),
            other => format!("{other:?}"),
        };
        assert_eq!(says("0.5-0.501"), ONE_GAP);
        assert_eq!(says("0.5+1"), ONE_GAP);
        // What else is wrong keeps its own words.
        assert!(
            !says("2.1.0").contains("one number: −0.5"),
            "{}",
            says("2.1.0")
        );
        assert!(matches!(heard("-0.5"), Heard::Length(_)));
        let far = match distance("52-50") {
            Heard::Refused(why) => distance_refused("52-50", why),
            other => format!("{other:?}"),
        };
        assert!(
            far.contains("one number") && !far.contains("zero at"),
            "{far}"
        );
    }

    #[test]
    fn keys_step_by_halves_through_nought() {
        assert_eq!(stepped("", 1), "0.5");
        assert_eq!(stepped("0.5", -1), "0");
        assert_eq!(stepped("0", -1), "-0.5");
        assert_eq!(stepped("1.2", 1), "1.5");
        assert_eq!(stepped("1/16\"", 1), "2");
        assert_eq!(stepped("rubbish", 1), "0.5");
    }

    #[test]
    fn four_are_needed_and_the_sign_is_the_side() {
        let text = |t: [&str; 4]| t.map(str::to_owned);
        assert_eq!(entries(&text(["1", "", "0", "-0.5"])), None);
        let e = entries(&text(["1", "0.5", "0", "-0.5"])).unwrap();
        let g = gaps(&e);
        assert_eq!((g.top.mm(), g.left.mm()), (1.0, -0.5));
        assert_eq!(side(g.left), "paint inside the line");
        assert_eq!(side(g.bottom), "paint on the line");
    }

    #[test]
    fn what_is_still_open_is_counted_worst_first() {
        let few = |m: Mark| match m {
            Mark::Outside => 2,
            Mark::ToCheck => 9,
            Mark::Within => 7,
            _ => 0,
        };
        assert_eq!(still_open(few), "2 outside, 9 to check");
        assert_eq!(still_open(|_| 0), "all checked and settled");
        let all = [
            Mark::NotMade,
            Mark::ToCheck,
            Mark::Within,
            Mark::LetStand,
            Mark::CantTell,
            Mark::MakeAgain,
            Mark::Outside,
        ];
        let signs: std::collections::BTreeSet<_> = all.map(sign).into_iter().collect();
        assert_eq!(signs.len(), all.len());
    }

    #[test]
    fn a_check_keeps_the_reference_of_the_template_that_was_in_hand() {
        let (p, f) = (PieceId::new("p1").unwrap(), FeatureId::new("eye").unwrap());
        let mut ledger = Ledger::new(JobId::new("j").unwrap());
        let writer = Writer {
            replica: ReplicaId(1),
            who: String::new(),
            wall: String::new(),
        };
        for (reference, day) in [("OLDER23456", "2026-11-01"), ("NEWER23456", "2026-11-20")] {
            let print = Printed {
                of: SheetOf::Feature(f.clone()),
                pieces: vec![p.clone()],
                reference: reference.to_owned(),
                day: day.to_owned(),
                inputs: PrintedInputs::default(),
                distances: Vec::new(),
            };
            ledger.write(&writer, &Payload::Printed(print)).unwrap();
        }
        let job = ledger.fold();
        let all = templates(&job, &p, &f);
        assert_eq!(all[0].0, "NEWER23456");
        assert!(all[1].1.ends_with("printed 2026-11-01"), "{all:?}");
        let found = Found {
            right: Length::ZERO,
            up: Length::ZERO,
            size: Length::ZERO,
            limit: Length::from_mm(2.0),
            guard: Length::from_mm(0.4),
            verdict: Verdict::Within,
            rule: DecisionRule::default(),
            sd: None,
        };
        for (chosen, kept) in [
            (None, "NEWER23456"),
            (Some(""), "NEWER23456"),
            (Some("NEWER23456"), "NEWER23456"),
            (Some("OLDER23456"), "OLDER23456"),
            (Some("OTHERJOB23"), "NEWER23456"),
        ] {
            let gaps = entries(&["0", "0", "0", "0"].map(str::to_owned)).unwrap();
            let facts = check(&job, &p, &f, gaps, found, "", chosen);
            let [Payload::Check(check)] = facts.as_slice() else {
                unreachable!("one check")
            };
            assert_eq!(check.reference.as_deref(), Some(kept), "{chosen:?}");
        }
    }

    #[test]
    fn nobody_lets_a_feature_stand_without_a_name_and_a_reason() {
        let (p, f) = (PieceId::new("p1").unwrap(), FeatureId::new("eye").unwrap());
        assert!(concession(&p, &f, "A. Client", " ").is_none());
        assert!(concession(&p, &f, "A. Client", "hidden by the rail").is_some());
    }
}
