//! What a run does, in sentences.

use super::divides::Divide;
use super::order::{Placed, RunOrder};
use crate::check::{Capability, Chart, Course, Verdict, capability, course, tolerance_factor};
use crate::prepare::checks::offset_words;
use crate::prepare::words::tenth;
use crate::units::Length;

/// From this many pieces on an index says something by itself (common practice, no source).
const ENOUGH: usize = 25;
/// What is usually asked of a run (common practice, no source).
const USUAL_ROOM: f64 = 1.33;
/// So many of a hundred pieces, and so sure.
const SHARE: f64 = 0.95;

/// Sentences about a run.
#[derive(Default)]
pub(super) struct Said {
    /// It does not stay as it is.
    pub(super) drift: Option<String>,
    /// The rest.
    pub(super) rest: Vec<String>,
}

struct Way {
    plus: &'static str,
    minus: &'static str,
}

const WAYS: [Way; 2] = [
    Way {
        plus: "right",
        minus: "left",
    },
    Way {
        plus: "up",
        minus: "down",
    },
];

impl Way {
    fn name(&self, by: f64) -> &'static str {
        if by > 0.0 { self.plus } else { self.minus }
    }
}

pub(super) fn words(
    run: &[Placed<'_>],
    order: RunOrder,
    divides: &[Divide],
    columns: [&Vec<(u32, f64)>; 2],
    charts: Option<&(Chart, Chart)>,
) -> Said {
    let Some(charts) = charts else {
        return Said::default();
    };
    let after: Vec<Vec<bool>> = divides.iter().map(|d| d.after.clone()).collect();
    let courses = columns.map(|column| {
        let run: Vec<(f64, f64)> = column.iter().map(|(x, y)| (f64::from(*x), *y)).collect();
        course(&run, &after)
    });
    let steady = courses.iter().all(|c| *c == Course::Steady);
    let mut rest = Vec::new();
    if steady {
        rest.extend(strangers(run, charts));
    }
    let found: Vec<(f64, f64)> = run
        .iter()
        .map(|p| (p.found.right.mm(), p.found.up.mm()))
        .collect();
    if steady && let Some(last) = run.last() {
        rest.extend(capability(&found, last.found.limit.mm()).map(|c| room(&c)));
        rest.extend(expected(&found, columns));
    }
    Said {
        drift: moving(run, order, divides, &courses),
        rest,
    }
}

/// *Within, but drifting: 0.15 mm down from piece to piece*; *Within, but 1.2 mm further up since the
/// mould was repaired after pull 9: a step, not a drift*.
fn moving(
    run: &[Placed<'_>],
    order: RunOrder,
    divides: &[Divide],
    courses: &[Course; 2],
) -> Option<String> {
    let since = |k: usize| divides.get(k).map_or("", |d| d.says.as_str());
    let next = order.from_one_to_the_next();
    let mut drifts = Vec::new();
    let mut other = Vec::new();
    for (way, course) in WAYS.iter().zip(courses) {
        let slope = |by: f64| format!("{:.2} mm {} {next}", by.abs(), way.name(by));
        let stepped = |by: f64| {
            let by_mm = tenth(Length::from_mm(by.abs()));
            format!("{by_mm} mm further {}", way.name(by))
        };
        match *course {
            Course::Steady => {}
            Course::Drifts(by) => drifts.push(slope(by)),
            Course::Stepped(k, by) => other.push(format!(
                "{} since {}: a step, not a drift",
                stepped(by),
                since(k)
            )),
            Course::Either(a_piece, k, by) => other.push(format!(
                "either {}, or {} since {}: these {} can’t tell which, a few more will",
                slope(a_piece),
                stepped(by),
                since(k),
                run.len()
            )),
        }
    }
    if drifts.is_empty() && other.is_empty() {
        return None;
    }
    let all_within = run.iter().all(|p| p.found.verdict == Verdict::Within);
    let mut parts = Vec::new();
    if !drifts.is_empty() {
        parts.push(format!(
            "drifting: {}. Look at the template for wear and at the marks for filler",
            drifts.join(" and ")
        ));
    }
    if !other.is_empty() {
        parts.push(format!(
            "{}. Measure the next piece fully before its sheets are used",
            other.join("; ")
        ));
    }
    let said = parts.join(". Also ");
    Some(if all_within {
        format!("Within, but {said}")
    } else {
        crate::prepare::words::upper(&said)
    })
}

/// Pieces beyond what the run does by itself.
fn strangers(run: &[Placed<'_>], charts: &(Chart, Chart)) -> Option<String> {
    let beyond = |chart: &Chart, value: f64| {
        chart
            .limits
            .is_some_and(|(low, high)| value < low || value > high)
    };
    let named: Vec<String> = run
        .iter()
        .filter(|p| beyond(&charts.0, p.found.right.mm()) || beyond(&charts.1, p.found.up.mm()))
        .map(|p| {
            format!(
                "piece {} ({})",
                p.number,
                offset_words(p.found.right, p.found.up)
            )
        })
        .collect();
    (!named.is_empty()).then(|| {
        format!(
            "Unlike the others: {}. Read it again, or look for what was different there",
            named.join(", ")
        )
    })
}

fn room(c: &Capability) -> String {
    if c.index < 0.0 {
        return "The middle of the run lies outside the limit by itself".into();
    }
    let (low, high) = c.interval;
    let words = format!(
        "Room inside the limit: {:.2} (Cpk the way there is least; 1 is just enough, {USUAL_ROOM} is usually asked). From {} pieces it may be anything from {:.2} to {:.2}",
        c.index,
        c.count,
        low.max(0.0),
        high
    );
    let few = if c.count < ENOUGH {
        ": too few to promise anything by that figure alone"
    } else {
        ""
    };
    // Only where the middle is what costs most of it.
    let middle = if c.centred > 1.2 * c.index {
        format!(
            ". With the middle of the run brought onto the spot it would be {:.2} ({:.2} to {:.2})",
            c.centred, c.centred_interval.0, c.centred_interval.1
        )
    } else {
        String::new()
    };
    format!("{words}{few}{middle}")
}

/// Where 95 of 100 pieces made the same way lie, 95 % sure.
fn expected(found: &[(f64, f64)], columns: [&Vec<(u32, f64)>; 2]) -> Option<String> {
    if found.len() < 5 {
        return None;
    }
    let factor = tolerance_factor(found.len(), SHARE, SHARE)?;
    let mut parts = Vec::new();
    for (way, column) in WAYS.iter().zip(columns) {
        let values: Vec<f64> = column.iter().map(|c| c.1).collect();
        let mean = crate::check::mean(&values)?;
        let end = |by: f64| {
            let um = Length::from_mm(by);
            if um.to_um().unsigned_abs() < 50 {
                "0".to_owned()
            } else {
                format!("{} {}", tenth(um.abs()), way.name(by))
            }
        };
        parts.push(format!(
            "{} and {}",
            end(mean.mean - factor * mean.sd),
            end(mean.mean + factor * mean.sd)
        ));
    }
    Some(format!(
        "Of 100 more made the same way, 95 should lie between {} (95 % sure)",
        parts.join(", and between ")
    ))
}
