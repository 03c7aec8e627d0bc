//! How much smaller castings are than the pattern, and whether that changes with age.
//!
//! Every distance read on a casting and on the pattern says by how much that casting is smaller;
//! all of one casting read on one day make one figure, by least squares:
//!
//! ```text
//!   s = 1 − Σ d_c·d_p / Σ d_p²        age = day read − day demoulded
//! ```
//! Where castings were read again later, only what each of them did itself counts (its own mean
//! taken off), so that a casting that came out small is not taken for one that shrank.

use crate::check::{line, mean};
use crate::job::{CastingId, Job, Kept, Measured, PartId, PointRef, Reading};
use crate::run::{counts, untouched};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Shorter distances say nothing of a few in a thousand, mm.
const LEAST_MM: f64 = 100.0;
/// Fewer castings than this say nothing of the run (common practice, no source).
const LEAST: usize = 5;
/// As many castings read at two ages tell what age does by themselves.
const LEAST_TWICE: usize = 3;
/// Ages must differ by this many days to be told apart.
const LEAST_DAYS: f64 = 2.0;
/// What is this improbable by chance has a cause.
const RARE: f64 = 0.05;

/// What the castings of one part say of shrinkage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shrinkage {
    /// The part.
    pub part: PartId,
    /// Its name.
    pub title: String,
    /// How much smaller castings are, in parts per thousand; larger negative.
    pub per_mille: f64,
    /// Half its 95 % interval.
    pub half: f64,
    /// From how many castings.
    pub castings: usize,
    /// What it does with age: parts per thousand and day, where that is no chance.
    pub a_day: Option<f64>,
    /// What it does from pull to pull, where that is no chance.
    pub a_pull: Option<f64>,
    /// Sentences.
    pub says: Vec<String>,
}

/// What was read on one casting on one day.
struct Size {
    casting: CastingId,
    pull: Option<u32>,
    age: Option<f64>,
    per_mille: f64,
}

/// Days since 1 March of year 0 of a day written year-month-day, whatever follows it (days_from_civil,
/// Howard Hinnant, *chrono-Compatible Low-Level Date Algorithms*).
fn day_number(text: &str) -> Option<i64> {
    let mut parts = text.get(..10)?.split('-');
    let year: i64 = parts.next()?.parse().ok()?;
    let month: i64 = parts.next()?.parse().ok()?;
    let day: i64 = parts.next()?.parse().ok()?;
    if parts.next().is_some() || !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    let year = if month <= 2 { year - 1 } else { year };
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let of_year = (153 * ((month + 9) % 12) + 2) / 5 + day - 1;
    Some(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year)
}

/// Days from the demoulding of a casting to something that happened then, where both days are known.
pub(in crate::prepare) fn days_after(job: &Job, casting: &CastingId, wall: &str) -> Option<i64> {
    let born = job.castings.get(casting)?.demoulded.as_deref()?;
    let age = day_number(wall)? - day_number(born)?;
    (age >= 0).then_some(age)
}

/// Over the surface or straight, and between which two points.
type Between = (bool, PointRef, PointRef);

/// A distance between two points, whichever end the tape began at.
fn distance(of: &Measured) -> Option<Between> {
    let (over, from, to) = match of {
        Measured::Over { from, to } => (true, from, to),
        Measured::Straight { from, to } => (false, from, to),
        _ => return None,
    };
    let (a, b) = if from <= to { (from, to) } else { (to, from) };
    Some((over, a.clone(), b.clone()))
}

/// Readings of castings that say how long something is: not left out, and nothing done there since.
fn lengths<'a>(job: &'a Job, casting: &CastingId) -> Vec<(&'a Kept<Reading>, Between)> {
    job.readings
        .about(casting)
        .filter(|r| r.says.set_aside.is_none())
        .filter(|r| counts(job, &r.says) && untouched(job, r))
        .filter_map(|r| Some((r, distance(&r.says.of)?)))
        .collect()
}

fn sizes(job: &Job, part: &PartId) -> Vec<Size> {
    let Some(pattern) = job.pattern_of(part) else {
        return Vec::new();
    };
    let mut on_pattern: BTreeMap<Between, (f64, f64)> = BTreeMap::new();
    for (reading, of) in lengths(job, pattern) {
        let entry = on_pattern.entry(of).or_default();
        entry.0 += reading.says.value.mm.mm();
        entry.1 += 1.0;
    }
    let mut all = Vec::new();
    for (casting, edit) in &job.castings {
        if edit.part.as_ref() != Some(part) || casting == pattern {
            continue;
        }
        let born = edit.demoulded.as_deref().and_then(day_number);
        let mut days: BTreeMap<Option<i64>, (f64, f64)> = BTreeMap::new();
        for (reading, of) in lengths(job, casting) {
            let Some((sum, count)) = on_pattern.get(&of) else {
                continue;
            };
            let nominal = sum / count;
            if nominal < LEAST_MM {
                continue;
            }
            let entry = days.entry(day_number(&reading.wall)).or_default();
            entry.0 += reading.says.value.mm.mm() * nominal;
            entry.1 += nominal * nominal;
        }
        for (day, (sum, square)) in days {
            #[expect(clippy::cast_precision_loss, reason = "days of a few centuries")]
            let age = day
                .zip(born)
                .map(|(day, born)| (day - born) as f64)
                .filter(|age| *age >= 0.0);
            all.push(Size {
                casting: casting.clone(),
                pull: edit.pull,
                age,
                per_mille: 1000.0 * (1.0 - sum / square),
            });
        }
    }
    all
}

/// What age does: slope a day and from how many castings, where it is no chance.
fn by_age(sizes: &[Size]) -> Option<(f64, bool)> {
    let aged: Vec<(&CastingId, f64, f64)> = sizes
        .iter()
        .filter_map(|s| Some((&s.casting, s.age?, s.per_mille)))
        .collect();
    let mut own: BTreeMap<&CastingId, Vec<(f64, f64)>> = BTreeMap::new();
    for (casting, age, size) in &aged {
        own.entry(casting).or_default().push((*age, *size));
    }
    own.retain(|_, read| {
        let ages = read.iter().map(|r| r.0);
        let (least, most) = ages.fold((f64::MAX, 0.0_f64), |(a, b), x| (a.min(x), b.max(x)));
        most - least >= LEAST_DAYS
    });
    let twice = own.len() >= LEAST_TWICE;
    let points: Vec<(f64, f64)> = if twice {
        own.values()
            .flat_map(|read| {
                #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
                let n = read.len() as f64;
                let age = read.iter().map(|r| r.0).sum::<f64>() / n;
                let size = read.iter().map(|r| r.1).sum::<f64>() / n;
                read.iter().map(move |r| (r.0 - age, r.1 - size))
            })
            .collect()
    } else {
        aged.iter().map(|(_, age, size)| (*age, *size)).collect()
    };
    let reach = points
        .iter()
        .fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.0), b.max(p.0)));
    if reach.1 - reach.0 < LEAST_DAYS {
        return None;
    }
    let line = line(&points)?;
    line.by_chance
        .is_some_and(|p| p < RARE)
        .then_some((line.slope, twice))
}

/// What age does to castings of a part, in parts per thousand and day, where readings tell.
pub(in crate::prepare) fn a_day(job: &Job, part: &PartId) -> Option<f64> {
    by_age(&sizes(job, part)).map(|found| found.0)
}

/// Every part of which five castings or more were measured like its pattern.
#[must_use]
pub fn shrinkage(job: &Job) -> Vec<Shrinkage> {
    job.parts
        .keys()
        .filter_map(|part| of_part(job, part))
        .collect()
}

fn of_part(job: &Job, part: &PartId) -> Option<Shrinkage> {
    let sizes = sizes(job, part);
    let mut each: BTreeMap<&CastingId, (f64, f64, Option<u32>)> = BTreeMap::new();
    for size in &sizes {
        let entry = each.entry(&size.casting).or_insert((0.0, 0.0, size.pull));
        entry.0 += size.per_mille;
        entry.1 += 1.0;
    }
    let means: Vec<(Option<u32>, f64)> = each
        .values()
        .map(|(sum, count, pull)| (*pull, sum / count))
        .collect();
    if means.len() < LEAST {
        return None;
    }
    let all = mean(&means.iter().map(|m| m.1).collect::<Vec<_>>())?;
    let pulls: Vec<(f64, f64)> = means
        .iter()
        .filter_map(|(pull, size)| Some((f64::from((*pull)?), *size)))
        .collect();
    let a_pull = line(&pulls)
        .filter(|l| l.by_chance.is_some_and(|p| p < RARE))
        .map(|l| l.slope);
    let age = by_age(&sizes);
    let edit = job.parts.get(part)?;
    let title = edit.name.clone().unwrap_or_else(|| part.to_string());
    let allowed = edit
        .mould
        .as_ref()
        .and_then(|m| job.moulds.get(m)?.shrinkage_per_mille);
    Some(Shrinkage {
        part: part.clone(),
        says: says(&all, allowed, age, a_pull),
        title,
        per_mille: all.mean,
        half: all.half,
        castings: all.count,
        a_day: age.map(|a| a.0),
        a_pull,
    })
}

fn says(
    all: &crate::check::Mean,
    allowed: Option<f64>,
    age: Option<(f64, bool)>,
    a_pull: Option<f64>,
) -> Vec<String> {
    let sized = |per_mille: f64| {
        let which = if per_mille < 0.0 { "larger" } else { "smaller" };
        format!("{:.1} in 1000 {which}", per_mille.abs())
    };
    let mut says = vec![format!(
        "{} castings come out {} than the pattern (± {:.1})",
        all.count,
        sized(all.mean),
        all.half
    )];
    if let Some(allowed) = allowed.filter(|a| (a - all.mean).abs() > all.half) {
        says.push(format!(
            "The mould is set up with {allowed:.1} in 1000: castings show another figure"
        ));
    }
    if let Some((a_day, twice)) = age {
        let does = if a_day > 0.0 { "shrinking" } else { "growing" };
        let how = if twice {
            "the same castings read again later show it"
        } else {
            "castings read at another age show it; the same ones read again would be surer"
        };
        says.push(format!(
            "They go on {does}: {:.1} in 1000 in ten days since demoulding ({how}). Compare castings of one age only",
            (10.0 * a_day).abs()
        ));
    }
    if let Some(a_pull) = a_pull {
        let does = if a_pull > 0.0 { "smaller" } else { "larger" };
        says.push(format!(
            "They come out {does} from pull to pull: {:.1} in 1000 in ten pulls. Look at the mould, and at how long each stays in it",
            (10.0 * a_pull).abs()
        ));
    }
    says
}

#[cfg(test)]
mod tests {
    use super::day_number;

    #[test]
    fn days_are_counted_over_leap_years() {
        let between = |a: &str, b: &str| day_number(b).zip(day_number(a)).map(|(b, a)| b - a);
        assert_eq!(between("2026-10-07", "2026-10-07 10:00"), Some(0));
        assert_eq!(between("2026-10-07", "2026-11-06"), Some(30));
        assert_eq!(between("2024-02-28", "2024-03-01"), Some(2));
        assert_eq!(between("2100-02-28", "2100-03-01"), Some(1));
        assert_eq!(between("2025-12-31", "2026-12-31"), Some(365));
        for no_day in ["", "yesterday!", "2026-13-01", "2026/10/07", "10:30"] {
            assert_eq!(day_number(no_day), None, "{no_day}");
        }
    }
}
