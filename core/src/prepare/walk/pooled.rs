//! What the readings of the whole run say together, and those of one casting can't: a bent hook,
//! a casting unlike its sisters.

use super::super::Source;
use super::super::naming::{casting_words, name_of};
use super::super::network::Marks;
use super::super::words::{direction_words, mm};
use super::age::unlike;
use super::face::{OnFace, face_name};
use super::section::{Deviation, deviations, over_run};
use super::{capital, faces_of};
use crate::frames::Vector2;
use crate::job::{CastingId, FactId, InstrumentId, Job, PointRef};
use crate::num::distribution::{chi_square_quantile, normal_quantile};
use crate::units::Length;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// What differs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Differs {
    /// A tape, by its hook.
    Hook,
    /// A mark of one casting, from its sisters.
    Casting,
    /// A section of the mould, at its seam; the walk round that casting says so by itself.
    Section,
}

/// Something that shows only over several castings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Pooled {
    /// What it is.
    pub differs: Differs,
    /// *Readings 13–15 with Pocket tape, 5 m are all about 1.4 mm long: check its hook*.
    pub says: String,
    /// By which figure, and where its limit is.
    pub how: String,
    /// On which castings.
    pub castings: Vec<CastingId>,
}

/// How often anything may be said of a run in which nothing is wrong.
const BY_CHANCE: f64 = 0.001;

/// Fewer castings than this tell nothing of what is usual (common practice, no source).
const FEWEST_SISTERS: usize = 5;

/// What a casting is unlike its sisters by must be worth saying, mm: under a millimetre filler and
/// paint do as much (common practice, no source).
const WORTH_SAYING_MM: f64 = 1.0;

struct Seen {
    casting: CastingId,
    number: u32,
    on: OnFace,
}

/// Everything that shows only over the run.
#[must_use]
pub fn pooled(source: &Source<'_>) -> Vec<Pooled> {
    let job = source.job;
    let mut seen = Vec::new();
    for (casting, edit) in &job.castings {
        let Some(part) = edit.part.as_ref() else {
            continue;
        };
        // *P13* and *B13* were read together: their letters only say of what part they are.
        let digits = |n: &String| {
            n.trim_start_matches(|c: char| !c.is_ascii_digit())
                .parse()
                .ok()
        };
        let number = edit.number.as_ref().and_then(digits);
        let (Some(pattern), Some(number)) = (job.pattern_of(part), number.or(edit.pull)) else {
            continue;
        };
        if pattern == casting || job.readings.about(casting).next().is_none() {
            continue;
        }
        for face in faces_of(job, part) {
            if let Ok(on) = OnFace::of(job, &face, casting, pattern)
                && on.read.as_ref().is_ok_and(|m| !m.facts.is_empty())
            {
                let casting = casting.clone();
                seen.push(Seen {
                    casting,
                    number,
                    on,
                });
            }
        }
    }
    let mut out: Vec<Pooled> = job
        .instruments
        .keys()
        .filter_map(|id| hook(job, id, &seen))
        .collect();
    out.extend(sisters(job, &seen));
    for face in job.faces.keys() {
        let of: Vec<&Seen> = seen.iter().filter(|s| s.on.id == *face).collect();
        let on: Vec<&OnFace> = of.iter().map(|s| &s.on).collect();
        for (k, says, how) in over_run(job, &on, BY_CHANCE) {
            let Some(s) = of.get(k) else { continue };
            out.push(Pooled {
                differs: Differs::Section,
                says: format!("{}: {says}", capital(&casting_words(job, &s.casting))),
                how,
                castings: vec![s.casting.clone()],
            });
        }
    }
    out
}

/// Mean and its variance of values with standard deviations, weighted by them.
fn mean<'a>(of: impl Iterator<Item = &'a (f64, f64)>) -> Option<(f64, f64)> {
    let (mut sum, mut weight) = (0.0, 0.0);
    for (value, sd) in of {
        let w = 1.0 / (sd * sd);
        sum += w * value;
        weight += w;
    }
    (weight > 0.0).then(|| (sum / weight, 1.0 / weight))
}

fn is_hooked(job: &Job, fact: FactId, instrument: &InstrumentId) -> bool {
    job.readings
        .named(fact)
        .is_some_and(|r| r.says.hooked && r.says.instrument.as_ref() == Some(instrument))
}

/// How much the hooked readings of one face are long in common, mm, ± its standard deviation; odd
/// ones among the others taken out first.
fn hooked_long(job: &Job, marks: &Marks, instrument: &InstrumentId) -> Option<(f64, f64)> {
    let hooked: Vec<usize> = (0..marks.facts.len())
        .filter(|k| {
            let fact = marks.facts.get(*k);
            fact.is_some_and(|f| is_hooked(job, *f, instrument))
        })
        .collect();
    if hooked.is_empty() {
        return None;
    }
    let mut adjusted = marks.adjusted.clone();
    for _ in 0..marks.facts.len() {
        let odd = adjusted.suspects().ok().and_then(|s| s.first().cloned());
        let Some(odd) = odd.filter(|s| !hooked.contains(&s.reading)) else {
            break;
        };
        adjusted = adjusted.without(odd.reading, &marks.options)?;
    }
    let found = adjusted.common_error(&hooked)?;
    Some((found.by.mm(), found.sd.mm()))
}

/// A hook that was bent on some castings running.
///
/// The figure is the mean of what the hooked readings are long by in common on those castings,
/// less that on all others, over the standard deviation of the difference (what the tape always
/// has wrong cancels); on all of them, the mean over the mean standard deviation, as if nothing
/// in it was fresh. The limit is the normal quantile for one in a thousand over all stretches
/// that were looked at (Bonferroni).
fn hook(job: &Job, instrument: &InstrumentId, seen: &[Seen]) -> Option<Pooled> {
    let mut by_number: BTreeMap<u32, Vec<(f64, f64)>> = BTreeMap::new();
    for s in seen {
        if let Ok(marks) = &s.on.read
            && let Some(found) = hooked_long(job, marks, instrument)
        {
            by_number.entry(s.number).or_default().push(found);
        }
    }
    let numbers: Vec<u32> = by_number.keys().copied().collect();
    let each: Vec<&Vec<(f64, f64)>> = by_number.values().collect();
    let n = each.len();
    let stretches = n * (n + 1) / 2;
    let limit = normal_quantile(1.0 - BY_CHANCE / (2.0 * (stretches.max(1)) as f64));
    let mut best: Option<(f64, f64, usize, usize)> = None;
    for first in 0..n {
        for last in first..n {
            let inside = |k: usize| (first..=last).contains(&k);
            let pick = |want: bool| {
                let faces = each.iter().enumerate();
                mean(
                    faces
                        .filter(|(k, _)| inside(*k) == want)
                        .flat_map(|(_, f)| f.iter()),
                )
            };
            let (long_mm, var_mm2) = pick(true)?;
            let (by_mm, sd_mm) = match pick(false) {
                // The stretch that is off is the one further from nothing.
                Some((other_mm, _)) if other_mm.abs() >= long_mm.abs() => continue,
                Some((other_mm, other_mm2)) => {
                    (long_mm - other_mm, libm::sqrt(var_mm2 + other_mm2))
                }
                None => (
                    long_mm,
                    libm::sqrt(var_mm2 * each.iter().map(|f| f.len()).sum::<usize>() as f64),
                ),
            };
            let z = by_mm / sd_mm;
            if best.is_none_or(|b| z.abs() > b.0.abs() * (1.0 + 1e-9)) {
                best = Some((z, by_mm, first, last));
            }
        }
    }
    let (z, by_mm, first, last) = best?;
    let edit = job.instruments.get(instrument)?;
    let allowed = super::super::tapes::tape_of(edit)?.hook;
    if z.abs() <= limit || by_mm.abs() <= allowed.mm() {
        return None;
    }
    let name = edit.name.clone().unwrap_or_else(|| instrument.to_string());
    let (from, to) = (*numbers.get(first)?, *numbers.get(last)?);
    let which = if first == last {
        from.to_string()
    } else {
        format!("{from}–{to}")
    };
    let way = if by_mm > 0.0 { "long" } else { "short" };
    let mut castings: Vec<CastingId> = seen
        .iter()
        .filter(|s| (from..=to).contains(&s.number))
        .filter(|s| {
            s.on.read
                .as_ref()
                .is_ok_and(|m| m.facts.iter().any(|f| is_hooked(job, *f, instrument)))
        })
        .map(|s| s.casting.clone())
        .collect();
    castings.dedup();
    Some(Pooled {
        differs: Differs::Hook,
        says: format!(
            "Readings {which} with {name} are all about {} mm {way}: check its hook",
            mm(Length::from_mm(by_mm.abs()))
        ),
        how: format!(
            "Against the other tapes, and against itself on the other castings, its hooked readings are {:.1} times as far off as the tapes’ own scatter would bring them; over {limit:.1} times is not chance (once in a thousand runs)",
            z.abs()
        ),
        castings,
    })
}

fn middle(mut of: Vec<f64>) -> f64 {
    of.sort_by(f64::total_cmp);
    of.get(of.len() / 2).copied().unwrap_or(0.0)
}

/// Castings whose marks lie otherwise than on their sisters, though their readings agree.
///
/// The figure is eᵀS⁻¹e of a mark's deviation e from the middle of its sisters, S its covariance
/// with their own spread (1.4826 of the middle deviation; Rousseeuw and Croux 1993); the limit the
/// chi-square quantile with two degrees for one in a thousand over all marks looked at.
fn sisters(job: &Job, seen: &[Seen]) -> Vec<Pooled> {
    // Castings read at another age are no sisters of these yet.
    type OfMark = BTreeMap<(String, usize, bool), Vec<(usize, Deviation)>>;
    let mut marks: OfMark = BTreeMap::new();
    for (k, s) in seen.iter().enumerate() {
        let Ok(read) = &s.on.read else { continue };
        // Readings that contradict one another say nothing of the casting.
        let quiet = read.adjusted.spare > 0
            && !read
                .adjusted
                .readings
                .iter()
                .any(|r| r.w.is_some_and(|w| w.abs() > crate::readings::ODD_ONE_OUT));
        if !quiet {
            continue;
        }
        let other_age = unlike(job, &s.casting);
        for (mark, d) in deviations(job, &s.on).unwrap_or_default() {
            marks
                .entry((s.on.id.to_string(), mark, other_age))
                .or_default()
                .push((k, d));
        }
    }
    let looked: usize = marks.values().map(Vec::len).sum();
    let limit = chi_square_quantile(1.0 - BY_CHANCE / (looked.max(1) as f64), 2.0);
    let mut out = Vec::new();
    for ((_, mark, _), all) in &marks {
        if all.len() < FEWEST_SISTERS {
            continue;
        }
        let usual: [f64; 2] =
            core::array::from_fn(|i| middle(all.iter().map(|d| d.1.0[i]).collect()));
        let spread: [f64; 2] = core::array::from_fn(|i| {
            1.4826 * middle(all.iter().map(|d| (d.1.0[i] - usual[i]).abs()).collect())
        });
        for (k, (d, c)) in all {
            let Some(s) = seen.get(*k) else { continue };
            let e = [d[0] - usual[0], d[1] - usual[1]];
            let (uu, vv) = (c[0] + spread[0] * spread[0], c[2] + spread[1] * spread[1]);
            let det = uu * vv - c[1] * c[1];
            let figure = (e[0] * e[0] * vv - 2.0 * e[0] * e[1] * c[1] + e[1] * e[1] * uu) / det;
            let size_mm = libm::hypot(e[0], e[1]);
            if det <= 0.0 || figure <= limit || size_mm < WORTH_SAYING_MM {
                continue;
            }
            let Some(id) = s.on.marks.get(*mark) else {
                continue;
            };
            out.push(Pooled {
                differs: Differs::Casting,
                says: format!(
                    "{}, {}: {} lies {} mm {} of where it is on its sisters. Its readings agree, so it is the casting and no slip",
                    capital(&casting_words(job, &s.casting)),
                    face_name(job, &s.on.id),
                    name_of(job, &PointRef::Mark(id.clone())),
                    mm(Length::from_mm(size_mm)),
                    side_words(Vector2::from_mm(e[0], e[1])),
                ),
                how: format!(
                    "It lies {:.1} times as far off as the {} others scatter and the tape can tell; over {:.1} times is not chance (once in a thousand runs)",
                    libm::sqrt(figure),
                    all.len() - 1,
                    libm::sqrt(limit)
                ),
                castings: vec![s.casting.clone()],
            });
        }
    }
    out
}

fn side_words(v: Vector2<crate::frames::Flat>) -> String {
    let words = direction_words(v);
    words
        .replace("to the ", "")
        .replace("low", "below")
        .replace("high", "above")
}
