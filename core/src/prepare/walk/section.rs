//! Marks of one face against where the drawing has them, section by section of the mould.

use super::super::naming::name_of;
use super::super::words::{direction_words, mm};
use super::face::OnFace;
use crate::frames::Vector2;
use crate::job::{Job, PointRef, SectionId};
use crate::num::distribution::chi_square_quantile;
use crate::units::Length;
use nalgebra::{DMatrix, DVector};

/// A step at a seam that is worth saying, mm: castings are joined to 1–3 mm (design/02).
const WORTH_SAYING_MM: f64 = 1.0;

/// How well marks of one section keep to one another where nothing is known of the run, mm, one
/// standard deviation each way: moulded in and found again (common practice, no source).
const KEPT_MM: f64 = 0.5;

/// Marks that scatter more than this belong to no drawing, mm.
const WIDEST_MM: f64 = 20.0;

/// Fewer freedoms than this say nothing of how a run scatters.
const FEWEST_FREEDOMS: usize = 8;

/// Across and up, mm; then uu, uv, vv of the covariance, mm².
pub(super) type Deviation = ([f64; 2], [f64; 3]);

fn section(job: &Job, on: &OnFace, mark: usize) -> Option<SectionId> {
    job.marks.get(on.marks.get(mark)?)?.section.clone()
}

/// The two marks that the others are looked at from: in the section with most marks, the two
/// furthest apart; the first of equals.
fn base(job: &Job, on: &OnFace) -> Option<(usize, usize)> {
    let n = on.marks.len();
    let of = |k: usize| section(job, on, k);
    let count = |k: usize| (0..n).filter(|j| of(*j) == of(k)).count();
    let most = (0..n).map(count).max()?;
    let first = (0..n).find(|k| count(*k) == most)?;
    let same: Vec<usize> = (0..n).filter(|k| of(*k) == of(first)).collect();
    let mut best: Option<(f64, (usize, usize))> = None;
    for (i, a) in same.iter().enumerate() {
        for b in same.iter().skip(i + 1) {
            let d = (*on.nominal.get(*b)? - *on.nominal.get(*a)?).norm_mm();
            if best.is_none_or(|x| d > x.0 + 1e-9) {
                best = Some((d, (*a, *b)));
            }
        }
    }
    best.map(|b| b.1)
}

/// Each mark but the first of the base: how far it lies from where the drawing has it, across and
/// up, mm, seen from the base; with uu, uv, vv of its covariance, mm².
pub(super) fn deviations(job: &Job, on: &OnFace) -> Option<Vec<(usize, Deviation)>> {
    let read = on.read.as_ref().ok()?;
    let (a, b) = base(job, on)?;
    let laid = read.adjusted.in_datum(a, b, None).ok()?;
    let mut out = Vec::new();
    for k in (0..on.marks.len()).filter(|k| *k != a) {
        let off = laid.points.get(k)?.at - *on.nominal.get(k)?;
        let c = laid.covariance(&[k]);
        out.push((
            k,
            (
                [off.x_mm(), off.y_mm()],
                [c.get(0, 0), c.get(0, 1), c.get(1, 1)],
            ),
        ));
    }
    Some(out)
}

/// What the two sections of a face say of each other: shift of the second over the first, with
/// the motion of the whole taken out.
struct Step {
    section: SectionId,
    /// Across and up, mm.
    by: [f64; 2],
    /// dᵀP⁻¹d: chi-square with two degrees where there is no step.
    figure: f64,
    /// What the marks keep of their own section after the fit, chi-square with `spare` degrees.
    within: f64,
    spare: usize,
    /// How many marks the shifted section has, and the first of them.
    marks: usize,
    first: usize,
}

/// Where each mark lies from the drawing's place, in a frame that hangs on two of them; a fit that
/// turns and shifts the whole takes the choice of the two out again.
struct Off {
    /// By mark: where the drawing has it, how far off it is (mm), which section it is cast in.
    marks: Vec<(usize, [f64; 2], [f64; 2], SectionId)>,
    /// Covariance of what is off, across and up in turn, mm².
    covariance: DMatrix<f64>,
    own: SectionId,
}

fn off(job: &Job, on: &OnFace) -> Option<Off> {
    let read = on.read.as_ref().ok()?;
    let (a, b) = base(job, on)?;
    let own = section(job, on, a)?;
    let laid = read.adjusted.in_datum(a, b, None).ok()?;
    let kept: Vec<usize> = (0..on.marks.len())
        .filter(|k| section(job, on, *k).is_some())
        .collect();
    let c = laid.covariance(&kept);
    let covariance = DMatrix::from_fn(2 * kept.len(), 2 * kept.len(), |i, j| c.get(i, j));
    let marks = kept
        .into_iter()
        .map(|k| {
            let at = *on.nominal.get(k)?;
            let by = laid.points.get(k)?.at - at;
            Some((
                k,
                [at.x_mm(), at.y_mm()],
                [by.x_mm(), by.y_mm()],
                section(job, on, k)?,
            ))
        })
        .collect::<Option<Vec<_>>>()?;
    Some(Off {
        marks,
        covariance,
        own,
    })
}

/// The step at the seam by generalised least squares: two shifts and a turn of the whole, two of
/// the other section; each mark's place is as sure as the readings make it and as the mould keeps
/// it (`scatter_mm`, each way). A face whose marks come from one section, or from three, has none.
fn step(off: &Off, scatter_mm: f64) -> Option<Step> {
    let other = off.marks.iter().find(|m| m.3 != off.own)?.3.clone();
    if off.marks.iter().any(|m| m.3 != off.own && m.3 != other) {
        return None;
    }
    let n = off.marks.len();
    let spare = (2 * n).checked_sub(5)?;
    let mut design = DMatrix::zeros(2 * n, 5);
    let mut y = DVector::zeros(2 * n);
    for (i, (_, at, by, of)) in off.marks.iter().enumerate() {
        let moved = f64::from(*of == other);
        for axis in 0..2 {
            design[(2 * i + axis, axis)] = 1.0;
            design[(2 * i + axis, 3 + axis)] = moved;
            y[2 * i + axis] = by[axis];
        }
        design[(2 * i, 2)] = -at[1] / LEVER_MM;
        design[(2 * i + 1, 2)] = at[0] / LEVER_MM;
    }
    let mut sigma = off.covariance.clone();
    for k in 0..2 * n {
        sigma[(k, k)] += scatter_mm * scatter_mm;
    }
    let weight = sigma.cholesky()?;
    let wd = weight.solve(&design);
    let normal = (design.transpose() * &wd).cholesky()?;
    let found = normal.solve(&(wd.transpose() * &y));
    let left = &y - &design * &found;
    let within = left.dot(&weight.solve(&left));
    let spread = normal.inverse();
    let p = spread.view((3, 3), (2, 2)).into_owned();
    let d = [found[3], found[4]];
    let det = p[(0, 0)] * p[(1, 1)] - p[(0, 1)] * p[(1, 0)];
    if det <= 0.0 {
        return None;
    }
    let figure =
        (d[0] * d[0] * p[(1, 1)] - 2.0 * d[0] * d[1] * p[(0, 1)] + d[1] * d[1] * p[(0, 0)]) / det;
    let shifted: Vec<usize> = off
        .marks
        .iter()
        .filter(|m| m.3 == other)
        .map(|m| m.0)
        .collect();
    Some(Step {
        section: other,
        by: d,
        figure,
        within,
        spare,
        marks: shifted.len(),
        first: *shifted.first()?,
    })
}

/// A turn is carried as what it moves a mark at this distance, mm, so that the normal equations
/// are of one size.
const LEVER_MM: f64 = 100.0;

/// How far marks of a face lie off their own section over the run, mm, one standard deviation
/// each way: the scatter at which what is left over all castings is what chance leaves (Paule and
/// Mandel 1982, J. Res. NBS 87, 377). `None` where too few castings say anything of it.
fn scatter(of: &[Off]) -> Option<f64> {
    let left = |mm: f64| {
        of.iter()
            .filter_map(|o| step(o, mm))
            .fold((0.0, 0_usize), |(figure, spare), s| {
                (figure + s.within, spare + s.spare)
            })
    };
    let spare = left(KEPT_MM).1;
    if spare < FEWEST_FREEDOMS {
        return None;
    }
    let (mut low, mut high) = (0.0, WIDEST_MM);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if left(middle).0 > spare as f64 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high.max(KEPT_MM))
}

fn words(job: &Job, on: &OnFace, step: &Step) -> Option<String> {
    let face = job.faces.get(&on.id)?;
    let mould = job.parts.get(face.part.as_ref()?)?.mould.as_ref()?;
    let sections = job.moulds.get(mould)?.sections.as_ref()?;
    let name = &sections.iter().find(|s| s.id == step.section)?.name;
    let spare = on.read.as_ref().ok()?.adjusted.spare;
    let doubt = if step.marks < 2 {
        let mark = on.marks.get(step.first)?.clone();
        format!(
            ", or {} itself does: a second mark on it would tell",
            name_of(job, &PointRef::Mark(mark))
        )
    } else if spare == 0 {
        ", or a reading to it is wrong: one more would tell".to_owned()
    } else {
        ": its readings agree, so it is the casting and no slip".to_owned()
    };
    Some(format!(
        "{} sits {} mm {} at the seam{doubt}",
        super::capital(name),
        mm(Length::from_mm(libm::hypot(step.by[0], step.by[1]))),
        direction_words(Vector2::from_mm(step.by[0], step.by[1])),
    ))
}

fn quiet(on: &OnFace) -> bool {
    on.read.as_ref().is_ok_and(|read| {
        !read.facts.is_empty()
            && !read
                .adjusted
                .readings
                .iter()
                .any(|r| r.w.is_some_and(|w| w.abs() > crate::readings::ODD_ONE_OUT))
    })
}

/// *Right half sits 2.1 mm low at the seam*, from one casting alone: at least two marks on each
/// side of the seam, each side keeping to itself, the readings agreeing. One in a thousand by
/// chance. A single mark beyond a seam may lie anywhere by itself: of that the run tells
/// ([`over_run`]).
pub(super) fn shifted(job: &Job, on: &OnFace) -> Option<String> {
    if !quiet(on) {
        return None;
    }
    let off = off(job, on)?;
    let found = step(&off, KEPT_MM)?;
    if found.marks < 2
        || off.marks.len() - found.marks < 2
        || found.within > chi_square_quantile(0.95, found.spare.max(1) as f64)
        || libm::hypot(found.by[0], found.by[1]) < WORTH_SAYING_MM
        || found.figure <= chi_square_quantile(0.999, 2.0)
    {
        return None;
    }
    words(job, on, &found)
}

/// The steps at a seam that stand out of a run, by place in the list given: its sentence and by
/// what it is judged. `by_chance`: how often anything may be said of a run in which nothing is
/// wrong.
pub(super) fn over_run(job: &Job, on: &[&OnFace], by_chance: f64) -> Vec<(usize, String, String)> {
    let seen: Vec<(usize, Off)> = on
        .iter()
        .enumerate()
        .filter(|(_, o)| quiet(o))
        .filter_map(|(k, o)| Some((k, off(job, o)?)))
        .collect();
    let (at, offs): (Vec<usize>, Vec<Off>) = seen.into_iter().unzip();
    let Some(scatter_mm) = scatter(&offs) else {
        return on
            .iter()
            .enumerate()
            .filter_map(|(k, o)| {
                let how = "Its marks are compared section by section; one in a thousand castings shows as much by chance";
                Some((k, shifted(job, o)?, how.to_owned()))
            })
            .collect();
    };
    let limit = chi_square_quantile(1.0 - by_chance / (offs.len().max(1) as f64), 2.0);
    at.into_iter()
        .zip(&offs)
        .filter_map(|(k, off)| {
            let found = step(off, scatter_mm)?;
            let size_mm = libm::hypot(found.by[0], found.by[1]);
            if size_mm < WORTH_SAYING_MM || found.figure <= limit {
                return None;
            }
            let how = format!(
                "Marks of this face keep to their own section within {} mm over the run: this step is {:.1} times as large as that and the tape would bring; over {:.1} times is not chance (once in a thousand runs)",
                mm(Length::from_mm(scatter_mm)),
                libm::sqrt(found.figure),
                libm::sqrt(limit),
            );
            Some((k, words(job, on.get(k)?, &found)?, how))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may stop")]

    use super::*;

    fn id(text: &str) -> SectionId {
        SectionId::new(text).unwrap()
    }

    /// Two marks of either half, all on one line through one middle, so that the turn of the whole
    /// says nothing of the step.
    fn seen(step: [f64; 2], turn_mm: f64) -> Off {
        let at = [
            (-100.0, "left"),
            (100.0, "left"),
            (-60.0, "right"),
            (60.0, "right"),
        ];
        Off {
            marks: at
                .iter()
                .enumerate()
                .map(|(k, (x, of))| {
                    let moved = f64::from(*of == "right");
                    let by = [
                        3.0 + moved * step[0],
                        -2.0 + turn_mm * x / LEVER_MM + moved * step[1],
                    ];
                    (k, [*x, 0.0], by, id(of))
                })
                .collect(),
            covariance: DMatrix::zeros(8, 8),
            own: id("left"),
        }
    }

    #[test]
    fn a_step_is_found_whatever_the_whole_did() {
        // Var d = σ²(1/n + 1/m) = σ² each way for two marks and two: the difference of two means
        // (any text on linear models). σ = 0.5 and d = 2: 2² / 0.25 = 16.
        let found = step(&seen([0.0, 2.0], 1.5), 0.5).unwrap();
        assert!(found.by[0].abs() < 1e-9 && (found.by[1] - 2.0).abs() < 1e-9);
        assert!((found.figure - 16.0).abs() < 1e-9 && found.within < 1e-9);
        assert_eq!((found.marks, found.spare), (2, 3));
    }

    #[test]
    fn a_half_that_hangs_on_close_marks_says_little_far_away() {
        // Own marks 170 mm apart that keep to 2 mm: 350 mm on, the line through them is sure to
        // 2·√(2)/170·350 = 5.8 mm, so 9 mm is no step (this face once said 15.4). Held together with
        // what the same turn does across, a little less.
        let mut off = seen([0.0, 0.0], 0.0);
        off.marks = vec![
            (0, [0.0, 0.0], [0.0, 0.0], id("left")),
            (1, [0.0, 170.0], [0.0, 0.0], id("left")),
            (2, [350.0, 0.0], [0.0, 9.0], id("right")),
        ];
        off.covariance = DMatrix::zeros(6, 6);
        let found = step(&off, 2.0).unwrap();
        let sd = 9.0 / libm::sqrt(found.figure);
        assert!((5.5..6.0).contains(&sd), "{sd}");
        assert!(found.figure < chi_square_quantile(0.999, 2.0));
    }

    #[test]
    fn how_a_run_scatters_is_what_chance_leaves() {
        // Castings whose second half is longer or shorter by 2·1.2 mm: what nothing of the fit takes up.
        let run: Vec<Off> = (0..6)
            .map(|k| {
                let mut off = seen([0.0, 1.0], 0.0);
                let e = if k % 2 == 0 { 1.2 } else { -1.2 };
                off.marks[2].2[0] += e;
                off.marks[3].2[0] -= e;
                off
            })
            .collect();
        let mm = scatter(&run).unwrap();
        let left: f64 = run.iter().map(|o| step(o, mm).unwrap().within).sum();
        assert!((left - 18.0).abs() < 1e-6, "{mm} leaves {left}");
        // 2·1.2² over three freedoms a casting.
        assert!((mm - libm::sqrt(2.0 * 1.44 / 3.0)).abs() < 1e-6, "{mm}");
    }
}
