//! Marks of one face against where the drawing has them, section by section of the mould.

use super::super::words::{direction_words, mm};
use super::face::OnFace;
use crate::frames::Vector2;
use crate::job::{Job, SectionId};
use crate::num::distribution::chi_square_quantile;
use crate::units::Length;

/// A step at a seam that is worth saying, mm: castings are joined to 1–3 mm (design/02).
const WORTH_SAYING_MM: f64 = 1.0;

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

/// *Right half sits 2.1 mm low at the seam*, where a section's marks are all off the drawing by
/// the same, and the readings agree.
pub(super) fn shifted(job: &Job, on: &OnFace) -> Option<String> {
    let read = on.read.as_ref().ok()?;
    let odd = read
        .adjusted
        .readings
        .iter()
        .any(|r| r.w.is_some_and(|w| w.abs() > crate::readings::ODD_ONE_OUT));
    if read.facts.is_empty() || odd {
        return None;
    }
    let (a, _) = base(job, on)?;
    let own = section(job, on, a)?;
    let moved: Vec<_> = deviations(job, on)?
        .into_iter()
        .filter_map(|(k, d)| Some((section(job, on, k).filter(|s| *s != own)?, d)))
        .collect();
    let id = moved.first()?.0.clone();
    let of: Vec<_> = moved.iter().filter(|m| m.0 == id).map(|m| m.1).collect();
    let n = of.len() as f64;
    let sum = |f: &dyn Fn(&Deviation) -> f64| of.iter().map(f).sum::<f64>() / n;
    let d = [sum(&|x| x.0[0]), sum(&|x| x.0[1])];
    // As sure as one of them: what they share is most of it.
    let c = [sum(&|x| x.1[0]), sum(&|x| x.1[1]), sum(&|x| x.1[2])];
    let det = c[0] * c[2] - c[1] * c[1];
    let figure = (d[0] * d[0] * c[2] - 2.0 * d[0] * d[1] * c[1] + d[1] * d[1] * c[0]) / det;
    let size_mm = libm::hypot(d[0], d[1]);
    // One in a thousand by the measuring alone.
    if det <= 0.0 || size_mm < WORTH_SAYING_MM || figure <= chi_square_quantile(0.999, 2.0) {
        return None;
    }
    let face = job.faces.get(&on.id)?;
    let mould = job.parts.get(face.part.as_ref()?)?.mould.as_ref()?;
    let sections = job.moulds.get(mould)?.sections.as_ref()?;
    let name = &sections.iter().find(|s| s.id == id)?.name;
    let doubt = if read.adjusted.spare == 0 {
        ", or a reading to it is wrong: one more would tell"
    } else {
        ": its readings agree, so it is the casting and no slip"
    };
    Some(format!(
        "{} sits {} mm {} at the seam{doubt}",
        super::capital(name),
        mm(Length::from_mm(size_mm)),
        direction_words(Vector2::from_mm(d[0], d[1])),
    ))
}
