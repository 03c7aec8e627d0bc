//! What is asked of a casting, in the order of the walk, and how each ask stands.

use super::super::Source;
use super::super::instruments::KINDS;
use super::super::naming::{name_of, reading_words};
use super::super::network::face_of;
use super::super::tapes::noise;
use super::super::words::mm;
use super::face::{OnFace, face_name};
use super::levels;
use super::list::{MOST_A_FACE, Pair, holding, pairs, worked_out};
use super::odd::short;
use super::order::{along, ends, same};
use super::squares;
use super::view::{
    AskState, AskedReading, FacePicture, HeldAt, OddOne, ReadLine, SECONDS_A_CHANGE,
    SECONDS_A_READING,
};
use crate::job::{
    CastingId, FaceId, FactId, InstrumentId, InstrumentKind, Job, Kept, MarkId, Measured,
    MeasuringSays, PartId, PointRef, Reading,
};
use crate::units::Length;

/// A distance shorter than this is read off a steel rule, where there is one (common practice, no
/// source).
const RULE_REACHES: Length = Length::from_mm(300.0);

/// A length about which instruments are compared.
const USUAL_LENGTH: Length = Length::from_mm(300.0);

/// A substitute is worth asking for when it leaves the distance no worse than this many times as
/// well known as the reading itself would have.
const AS_GOOD: f64 = 2.0;

fn is_over(of: &Measured) -> bool {
    matches!(of, Measured::Over { .. } | Measured::Girth { .. })
}

/// The instrument for a reading: the surest soft tape for what is laid over, else a rule for short
/// and a pocket tape for long.
pub(super) fn instrument(job: &Job, of: &Measured, about: Length) -> Option<InstrumentId> {
    let surest = |kind: InstrumentKind| {
        job.instruments
            .iter()
            .filter(|(_, i)| i.kind == Some(kind))
            .min_by(|a, b| {
                let sd = |id: &InstrumentId| noise(job, Some(id), USUAL_LENGTH).mm();
                sd(a.0).total_cmp(&sd(b.0)).then(a.0.cmp(b.0))
            })
            .map(|(id, _)| id.clone())
    };
    if is_over(of) {
        return surest(InstrumentKind::SoftTape);
    }
    let by_square = || surest(InstrumentKind::Square);
    if let (Measured::Square { .. }, Some(square)) = (of, by_square()) {
        return Some(square);
    }
    if of.stood().is_some() {
        let kinds = KINDS.iter().filter(|k| k.takes(of));
        return kinds.map(|k| k.kind).find_map(surest);
    }
    let rule = surest(InstrumentKind::SteelRule).filter(|_| about < RULE_REACHES);
    rule.or_else(|| surest(InstrumentKind::PocketTape))
}

pub(super) fn with_words(job: &Job, instrument: Option<&InstrumentId>, of: &Measured) -> String {
    instrument
        .and_then(|id| job.instruments.get(id)?.name.clone())
        .unwrap_or_else(|| {
            match of {
                _ if is_over(of) => "soft tape",
                Measured::Level { .. } => "level and rule",
                Measured::Plumb { .. } => "plumb line and rule",
                Measured::Square { .. } => "square and rule",
                Measured::Height { .. } => "height stick, or rule at a level line",
                _ => "pocket tape or rule",
            }
            .into()
        })
}

/// How a tape is usually held: as for its last reading in this job; before there is one, a pocket
/// tape by its hook from an edge and by a mark of its blade from a mark.
fn held(job: &Job, instrument: Option<&InstrumentId>, of: &Measured) -> Option<HeldAt> {
    let kind = instrument.and_then(|id| job.instruments.get(id)?.kind);
    match kind {
        Some(InstrumentKind::PocketTape | InstrumentKind::SoftTape | InstrumentKind::SteelRule) => {
        }
        _ => return None,
    }
    let last = instrument.and_then(|with| job.readings.about(with).next_back());
    let hundred = |r: &Kept<Reading>| {
        let rule = r.says.value.rule.as_deref();
        rule.is_some_and(|rule| rule.ends_with(HeldAt::RULE))
    };
    Some(match last {
        Some(r) if r.says.hooked => HeldAt::Hook,
        Some(r) if hundred(r) => HeldAt::Hundred,
        None if kind == Some(InstrumentKind::PocketTape)
            && matches!(of, Measured::Square { .. }) =>
        {
            HeldAt::Hook
        }
        _ => HeldAt::Zero,
    })
}

/// Why a mark can't be found at a stage, in words.
pub(super) fn gone(job: &Job, mark: &MarkId, stage: Option<&str>) -> Option<String> {
    let stages = job.about.stages.as_ref()?;
    let edit = job.marks.get(mark)?;
    let at = |s: &str| stages.iter().position(|x| x == s);
    let now = at(stage?)?;
    let letter = name_of(job, &PointRef::Mark(mark.clone()));
    if let Some(last) = edit.to_stage.as_deref()
        && at(last).is_some_and(|k| now > k)
    {
        return Some(format!(
            "{letter} can be found until the casting is {last}; it is {}",
            stage.unwrap_or_default()
        ));
    }
    if let Some(first) = edit.from_stage.as_deref()
        && at(first).is_some_and(|k| now < k)
    {
        return Some(format!(
            "{letter} can be found once the casting is {first}; it is {}",
            stage.unwrap_or_default()
        ));
    }
    None
}

struct Asked {
    of: Measured,
    face: FaceId,
    instrument: Option<InstrumentId>,
    why: Option<String>,
    unreachable: Option<(FactId, String)>,
}

/// Everything asked, with how it stands.
pub(super) fn asked(
    source: &Source<'_>,
    casting: &CastingId,
    (part, also): (&PartId, &[Measured]),
    faces: &[OnFace],
    read: &[&Kept<Reading>],
    stage: Option<&str>,
) -> Vec<AskedReading> {
    let job = source.job;
    let written: Option<Vec<Measured>> = job
        .lists
        .values()
        .filter(|l| l.part.as_ref() == Some(part))
        .find_map(|l| l.asks.clone())
        .filter(|asks| !asks.is_empty());
    let unreachable: Vec<(FactId, Measured)> = job
        .measuring
        .about(casting)
        .filter_map(|m| match &m.says.says {
            MeasuringSays::CannotReach { of } => Some((m.id, of.clone())),
            _ => None,
        })
        .collect();
    let mut all: Vec<Asked> = Vec::new();
    for on in faces {
        all.extend(of_face(job, on, written.as_deref(), &unreachable));
    }
    let more: Vec<(Measured, String)> = faces.iter().flat_map(|on| besides(job, on)).collect();
    for (of, why) in more {
        if !all.iter().any(|a| same(&a.of, &of)) {
            one_more(job, faces, &mut all, &of, why);
        }
    }
    // One instrument at a time, in the order they are first wanted.
    let mut tools: Vec<Option<InstrumentId>> = Vec::new();
    for ask in &all {
        if !tools.contains(&ask.instrument) {
            tools.push(ask.instrument.clone());
        }
    }
    all.sort_by_key(|a| tools.iter().position(|t| *t == a.instrument));
    // After them what somebody wants or has read besides, as often as it is wanted or read: a second
    // reading of a distance is a reading of its own.
    let was_read: Vec<Measured> = (read.iter())
        .map(|r| r.says.of.clone())
        .filter(|of| !matches!(of, Measured::Coordinate { .. } | Measured::Girth { .. }))
        .collect();
    for wanted in [also, &was_read] {
        for of in wanted {
            let times = |list: &[Measured]| list.iter().filter(|o| same(o, of)).count();
            let there = all.iter().filter(|a| same(&a.of, of)).count();
            if there < times(wanted) {
                let why = if there == 0 { BESIDES } else { SECOND };
                one_more(job, faces, &mut all, of, why.to_owned());
            }
        }
    }
    let mut taken: Vec<FactId> = Vec::new();
    let mut out = Vec::new();
    for (number, ask) in (1..).zip(all) {
        let on = faces.iter().find(|f| f.id == ask.face);
        let found = read
            .iter()
            .find(|r| same(&r.says.of, &ask.of) && !taken.contains(&r.id));
        let state = if let Some((fact, lost)) = ask.unreachable {
            AskState::CannotReach { fact, lost }
        } else if let Some(r) = found {
            taken.push(r.id);
            AskState::Read {
                fact: r.id,
                typed: r.says.value.typed.clone(),
                value: r.says.value.mm,
            }
        } else if let Some(why) = marks_in(&ask.of)
            .into_iter()
            .find_map(|m| gone(job, m, stage))
        {
            AskState::Gone { why }
        } else {
            AskState::ToRead
        };
        let about = noise(job, ask.instrument.as_ref(), USUAL_LENGTH);
        out.push(AskedReading {
            number,
            title: reading_words(job, &ask.of),
            short: short(job, &ask.of),
            with: with_words(job, ask.instrument.as_ref(), &ask.of),
            expected: on.and_then(|f| f.expected(job, &ask.of, about)),
            face: ask.face,
            held: held(job, ask.instrument.as_ref(), &ask.of),
            instrument: ask.instrument,
            why: ask.why,
            state,
            of: ask.of,
        });
    }
    out
}

/// Why something stands there that is on no list.
const BESIDES: &str = "besides the list";
const SECOND: &str = "a second reading of the same";

/// What is asked of a face that is no distance between marks, and why.
fn besides(job: &Job, on: &OnFace) -> Vec<(Measured, String)> {
    const LEVEL: &str = "what goes on by it is kept level: stand the casting as it will stand";
    let level = levels::wanted(job, on).into_iter();
    let mut all: Vec<_> = level.map(|of| (of, LEVEL.to_owned())).collect();
    let held = holding(on.used(job).len()).min(MOST_A_FACE);
    let room = MOST_A_FACE.saturating_sub(all.len() + held);
    let squares = squares::wanted(job, on, room);
    for of in &squares {
        if let Measured::Square { edge, .. } = of {
            let from = |o: &&Measured| matches!(o, Measured::Square { edge: e, .. } if e == edge);
            let alone = squares.iter().filter(from).count() == 1;
            all.push((of.clone(), squares::why(job, edge, alone)));
        }
    }
    all
}

/// Why more is asked on a face than six readings, where that is what its marks, edges and levels take.
pub(super) fn why_more(job: &Job, on: &OnFace, asks: &[AskedReading]) -> Option<String> {
    let of_list = |a: &&AskedReading| {
        let by_hand = a
            .why
            .as_deref()
            .is_some_and(|why| why == BESIDES || why == SECOND);
        a.face == on.id && !by_hand && !matches!(a.state, AskState::CannotReach { .. })
    };
    let asked = asks.iter().filter(of_list).count();
    let besides = besides(job, on);
    if asked <= MOST_A_FACE || besides.is_empty() {
        return None;
    }
    let squares = (besides.iter())
        .filter(|(of, _)| matches!(of, Measured::Square { .. }))
        .count();
    let levels = besides.len() - squares;
    let mut parts = vec![format!(
        "{} for its marks",
        asked.saturating_sub(besides.len())
    )];
    parts.extend((squares > 0).then(|| format!("{squares} for its edges")));
    parts.extend((levels > 0).then(|| format!("{levels} for level")));
    let [rest @ .., last] = parts.as_slice() else {
        return None;
    };
    Some(format!(
        "{}: {asked} readings, {} and {last}. Fewer would leave one of them to the drawing",
        face_name(job, &on.id),
        rest.join(", ")
    ))
}

fn one_more(job: &Job, faces: &[OnFace], all: &mut Vec<Asked>, of: &Measured, why: String) {
    let face = face_of_reading(job, of).filter(|f| faces.iter().any(|on| on.id == *f));
    if let Some(face) = face {
        all.push(Asked {
            instrument: instrument(job, of, USUAL_LENGTH),
            face,
            why: Some(why),
            unreachable: None,
            of: of.clone(),
        });
    }
}

pub(super) fn marks_in(of: &Measured) -> Vec<&MarkId> {
    of.points()
        .into_iter()
        .filter_map(|p| match p {
            PointRef::Mark(id) => Some(id),
            PointRef::Feature(_) => None,
        })
        .collect()
}

/// The asks of one face in the order of the walk, those standing in for others last.
fn of_face(
    job: &Job,
    on: &OnFace,
    written: Option<&[Measured]>,
    unreachable: &[(FactId, Measured)],
) -> Vec<Asked> {
    let over = Measured::Girth {
        face: on.id.clone(),
        at: crate::job::GirthLine::Lower,
    };
    let tool = instrument(job, &over, USUAL_LENGTH).filter(|_| on.over);
    let each = noise(job, tool.as_ref(), USUAL_LENGTH);
    let asks: Vec<Measured> = match written {
        Some(list) => list
            .iter()
            .filter(|m| face_of_reading(job, m).as_ref() == Some(&on.id))
            .cloned()
            .collect(),
        None => {
            let used = on.used(job);
            let marks: Vec<_> = used
                .iter()
                .filter_map(|k| on.nominal.get(*k).copied())
                .collect();
            let sure = super::list::Sureness::strewn(
                &on.surface,
                &marks,
                on.over,
                super::super::network::MARK_SPREAD.mm(),
                on.size_sd,
                each.mm(),
            );
            worked_out(sure, besides(job, on).len())
                .into_iter()
                .filter_map(|p| {
                    on.ask(Pair {
                        from: *used.get(p.from)?,
                        to: *used.get(p.to)?,
                    })
                })
                .collect()
        }
    };
    // A soft tape first, then what is read straight.
    let (first, then): (Vec<Measured>, Vec<Measured>) = asks.iter().cloned().partition(is_over);
    let mut out: Vec<Asked> = Vec::new();
    for group in [first, then] {
        for of in along(&group) {
            let about = on
                .expected(job, &of, each)
                .map_or(USUAL_LENGTH, |e| e.middle);
            let again = out.iter().any(|a| same(&a.of, &of));
            out.push(Asked {
                instrument: instrument(job, &of, about),
                face: on.id.clone(),
                why: again.then(|| "once more, as a check on the others".to_owned()),
                unreachable: None,
                of,
            });
        }
    }
    substitutes(job, on, &mut out, unreachable, each);
    out
}

fn face_of_reading(job: &Job, of: &Measured) -> Option<FaceId> {
    match of {
        Measured::Girth { face, .. } => Some(face.clone()),
        of => face_of(job, of.points().into_iter().next()?),
    }
}

/// For each that can't be reached: another that holds what it would have held, or what is lost.
fn substitutes(
    job: &Job,
    on: &OnFace,
    asks: &mut Vec<Asked>,
    unreachable: &[(FactId, Measured)],
    each: Length,
) {
    let stands = |of: &Measured| unreachable.iter().find(|u| same(&u.1, of));
    let mut more: Vec<Asked> = Vec::new();
    for k in 0..asks.len() {
        let Some((of, (fact, _))) = asks
            .get(k)
            .and_then(|a| Some((a.of.clone(), stands(&a.of)?)))
        else {
            continue;
        };
        let lost = match on.pair(&of) {
            Some(gone) => {
                let mut sure = on.strewn(matches!(of, Measured::Over { .. }), each);
                for other in asks.iter().chain(&more) {
                    if stands(&other.of).is_none()
                        && let Some(pair) = on.pair(&other.of)
                    {
                        sure.read(pair);
                    }
                }
                let free: Vec<Pair> = pairs(on.marks.len())
                    .into_iter()
                    .filter(|p| {
                        on.ask(*p).is_some_and(|m| {
                            stands(&m).is_none()
                                && !asks.iter().chain(&more).any(|a| same(&a.of, &m))
                        })
                    })
                    .collect();
                let sd = |s: &super::list::Sureness<'_>| {
                    s.row(gone)
                        .map_or(0.0, |(_, row)| libm::sqrt(s.variance(&row)))
                };
                let without_mm = sd(&sure);
                let best = sure.best(&free);
                if let Some(pair) = best {
                    sure.read(pair);
                }
                let found = best
                    .and_then(|pair| on.ask(pair))
                    .filter(|_| sd(&sure) <= AS_GOOD * each.mm() && sd(&sure) < without_mm);
                match found {
                    Some(instead) => {
                        let words = short(job, &instead);
                        more.push(Asked {
                            instrument: instrument(job, &instead, USUAL_LENGTH),
                            face: on.id.clone(),
                            why: Some(format!("instead of {}", short(job, &of))),
                            unreachable: None,
                            of: instead,
                        });
                        format!("{words} is asked for instead: it holds the same marks")
                    }
                    None if without_mm <= AS_GOOD * each.mm() => {
                        "The other readings hold these marks; a mistake in one of them shows less"
                            .into()
                    }
                    None => format!(
                        "No other reading holds it: {} is taken from the drawing, within {} mm instead of {}",
                        short(job, &of),
                        mm(Length::from_mm(libm::ceil(2.0 * without_mm))),
                        mm(Length::from_mm(libm::ceil(2.0 * each.mm())))
                    ),
                }
            }
            None => "Nothing stands in for it".into(),
        };
        if let Some(ask) = asks.get_mut(k) {
            ask.unreachable = Some((*fact, lost));
        }
    }
    asks.extend(more);
}

/// Marks the ask that an odd reading answers.
pub(super) fn flag(asks: &mut [AskedReading], odd: &mut OddOne) {
    // Of two readings of the same the one that is odd.
    let its_own = |a: &AskedReading| match a.state {
        AskState::Read { fact, .. } => fact == odd.fact,
        _ => false,
    };
    let own = asks.iter().position(its_own);
    let ask = own.or_else(|| asks.iter().position(|a| same(&a.of, &odd.of)));
    if let Some(ask) = ask.and_then(|k| asks.get_mut(k)) {
        odd.ask = Some(ask.number);
        ask.state = AskState::OddOne {
            fact: odd.fact,
            typed: odd.typed.clone(),
            value: odd.value,
        };
    }
}

/// The number and the name of each ask that one of these readings answers.
pub(super) fn read_again(asks: &[AskedReading], readings: &[FactId]) -> Vec<(u32, String)> {
    asks.iter()
        .filter(|ask| match &ask.state {
            AskState::Read { fact, .. } | AskState::OddOne { fact, .. } => readings.contains(fact),
            _ => false,
        })
        .map(|ask| (ask.number, ask.short.clone()))
        .collect()
}

/// The face with what has been read on it.
pub(super) fn picture(source: &Source<'_>, on: &OnFace, read: &[&Kept<Reading>]) -> FacePicture {
    let mut picture = on.picture(source);
    let letters = |p: &PointRef| {
        let name = name_of(source.job, p);
        picture
            .marks
            .iter()
            .find(|m| m.letter == name)
            .map(|m| m.at)
    };
    let mut lines: Vec<ReadLine> = Vec::new();
    for r in read {
        if on.pair(&r.says.of).is_none() {
            continue;
        }
        let Some((from, to)) = ends(&r.says.of) else {
            continue;
        };
        if let (Some(from), Some(to)) = (letters(from), letters(to)) {
            lines.push(ReadLine {
                fact: r.id,
                from,
                to,
                typed: r.says.value.typed.clone(),
                over: is_over(&r.says.of),
            });
        }
    }
    picture.lines = lines;
    picture
}

/// Seconds of the whole walk, and of what is left of it.
pub(super) fn time(asks: &[AskedReading]) -> (u32, u32) {
    let of = |which: &dyn Fn(&&AskedReading) -> bool| {
        let mut seconds = 0;
        let mut hand: Option<&Option<InstrumentId>> = None;
        for ask in asks.iter().filter(|a| which(a)) {
            seconds += SECONDS_A_READING;
            if hand.is_some_and(|h| *h != ask.instrument) {
                seconds += SECONDS_A_CHANGE;
            }
            hand = Some(&ask.instrument);
        }
        seconds
    };
    (of(&|_| true), of(&|a| a.state.is_to_read()))
}
