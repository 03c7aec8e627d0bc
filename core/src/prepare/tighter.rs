//! What would bring a quick template inside what is allowed, where its readings alone leave more.

use super::feature::Prepared;
use super::words::{mm, tenth, upper};
use super::{Source, prepare};
use crate::frames::Point2;
use crate::job::{ClassMark, Filed, InstrumentKind, Job, Measured};
use crate::surface::Surface;
use crate::template::TermKind;
use crate::units::{Angle, Length};

/// Lines that meet at less than this, or at more than half a turn less this, hold what they meet at badly:
/// each is then out by a third more across than along (1/sin 50°; common practice, no source).
const MEET_WELL: Angle = Angle::from_deg(50.0);

/// Tolerances are asked for in halves of a millimetre.
const STEP_MM: f64 = 0.5;

/// What to read better or what to allow; nothing where it is inside already.
#[must_use]
pub fn tighter(source: &Source<'_>, p: &Prepared) -> Option<String> {
    if p.budget.worst <= p.allowed {
        return None;
    }
    let largest = p.budget.terms.first()?;
    let by_reading = matches!(largest.kind, TermKind::Pattern | TermKind::Measuring);
    let mut ways = Vec::new();
    if let Some(meet) = by_reading.then(|| meet(p)).flatten() {
        ways.push(format!(
            "choose marks from which the lines to the spot cross nearer a right angle, now {:.0}°",
            meet.deg()
        ));
    }
    if by_reading {
        ways.extend(by_other_tape(source, p));
    }
    if largest.kind == TermKind::Printing {
        ways.push("prove the printer, under Printer".to_owned());
    }
    let passes = Length::from_mm(libm::ceil(p.budget.worst.mm() / STEP_MM) * STEP_MM);
    ways.push(format!("allow {} mm, if the piece does", mm(passes)));
    let most = match largest.kind {
        TermKind::Pattern => "the three lengths on the good one",
        TermKind::Measuring => "A–B on this piece",
        other => other.name(),
    };
    Some(format!(
        "Most of it is {most}, {} mm. {}",
        tenth(largest.size),
        upper(&ways.join("; or "))
    ))
}

/// The angle at which the lines from its two crosses meet at the middle, where they meet badly.
fn meet(p: &Prepared) -> Option<Angle> {
    let [a, b] = p.crosses.as_slice() else {
        return None;
    };
    let (a, b) = (a.at - Point2::ORIGIN, b.at - Point2::ORIGIN);
    let angle = libm::atan2((a.x_mm() * b.y_mm() - a.y_mm() * b.x_mm()).abs(), a.dot(b));
    let well = MEET_WELL.rad();
    (angle < well || angle > core::f64::consts::PI - well).then(|| Angle::from_rad(angle))
}

/// The same readings with a better tape: said where that brings it inside.
fn by_other_tape(source: &Source<'_>, p: &Prepared) -> Option<String> {
    let feature = p.of.feature()?;
    let flat = matches!(p.surface, Surface::Flat(_));
    let tries: [(&str, bool); 2] = [
        ("with a tape of class I", false),
        ("straight, with a steel tape of class I", true),
    ];
    tries
        .into_iter()
        .filter(|(_, straight)| flat || !straight)
        .find_map(|(words, straight)| {
            let job = with_tape(source.job, straight);
            let other = Source {
                job: &job,
                attachments: source.attachments,
            };
            let worst = prepare(&other, feature, &p.piece).ok()?.budget.worst;
            (worst <= p.allowed).then(|| format!("read them {words}: {} mm", tenth(worst)))
        })
}

fn with_tape(job: &Job, straight: bool) -> Job {
    let mut job = job.clone();
    for tape in job.instruments.values_mut() {
        tape.class = Some(ClassMark::I);
        if straight {
            tape.kind = Some(InstrumentKind::PocketTape);
        }
    }
    if straight {
        let mut again = Filed::new();
        for reading in &job.readings {
            let mut reading = reading.clone();
            if let Measured::Over { from, to } = reading.says.of {
                reading.says.of = Measured::Straight { from, to };
            }
            again.keep(reading);
        }
        job.readings = again;
    }
    job
}
