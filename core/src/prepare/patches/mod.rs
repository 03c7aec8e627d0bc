//! An outline in patches: where paper is too round for one sheet, each part of the outline has a sheet
//! of its own, rolled out about a middle of its own and laid on crosses of its own.
//!
//! ```text
//!          A +                          each patch lies on the marks themselves, never on
//!             ╲      ╭──●──╮             another patch: nothing adds up from one to the next;
//!    patch 1   ╲   ╭    ┆    ╮  patch 2   at a join (●) both carry the same line over the face,
//!               ╲  │    ┆    │            and what they leave there is how far their ends of the
//!                + B    ▲    + C          outline may stand apart
//! ```
//! The fewest that bring the worst landing error under the share of flat paper ([`super::lying`]).
//! A ring round the middle, as a collar about the pole of a dome, comes as gores alike: each patch has
//! its piece of both edges, and nothing falls out of it.

mod division;
mod holes;
mod joins;
mod paper;
mod sector;

use super::crosses::Crosses;
use super::error::PrepareError;
use super::feature::CrossMiss;
use super::layings::{LayBasis, best_laying, layings_for};
use super::lying::{SHARE, dart_room};
use super::words::{laying_words, tenth};
use crate::frames::{Face, Flat, Point2, Vector2};
use crate::job::{Job, MarkId};
use crate::outline::{FLATTENING, Outline};
use crate::place::{Layout, Placed};
use crate::sheet::{FlatPath, SheetJoin};
use crate::surface::{DartRoom, Development, Lie, SurfaceError};
use crate::template::{Budget, Laying};
use crate::units::Length;
use sector::Sector;

pub(super) use division::Division;
pub(super) use holes::{Holes, holes};
pub(super) use joins::patch_words;
pub(super) use paper::patch_sheets;

/// Places of a part's outline, how far out each lies, and how the paper lies there.
type Laid = (Vec<Point2<Flat>>, Vec<Vector2<Flat>>, Lie);

/// More patches than this nobody joins true, where there are not as many marks to lay them on.
const MOST_PATCHES: usize = 6;

/// More than this nobody joins true at all.
const MOST_GORES: usize = 12;

/// So many pairs of crosses are tried for a patch, the nearest to it.
const MOST_PAIRS: usize = 6;

/// Lines are carried over in steps of this.
const STEP: Length = Length::from_mm(2.0);

/// Half of the step by which directions are carried from one map to another, mm.
const HALF_STEP_MM: f64 = 0.25;

/// Two crosses hold a place sideways where the ways to it cross at 30° at least (design/11).
const HOLDS_SIN: f64 = 0.5;

/// Patches that leave more than this share of what one sheet leaves are not worth their joins.
const WORTH_IT: f64 = 0.75;

/// Further patches, or another way of dividing, must leave at most this share of what was best.
const MORE_IS_WORTH: f64 = 0.95;

/// Better by less than this is no better, mm.
const MARGIN_MM: f64 = 1e-6;

/// One patch, on its own paper.
#[derive(Debug, Clone)]
pub struct Patch {
    /// The crosses it is laid on.
    pub crosses: Vec<CrossMiss>,
    /// Its part of the paint edge.
    pub paint_edges: Vec<FlatPath>,
    /// Its opening.
    pub cuts: Vec<FlatPath>,
    /// Where it joins the others.
    pub joins: Vec<SheetJoin>,
    /// How it is laid.
    pub laying: String,
    /// Letters of its crosses.
    pub letters: Vec<String>,
    /// How far its outline lands from its place because paper is flat: at worst, and on the whole.
    pub worst: Length,
    /// The root of the mean square of that.
    pub rms: Length,
    /// How far its crosses are off their marks because paper is flat.
    pub crosses_off: Length,
    /// What laying it leaves altogether.
    pub budget: Budget,
    /// What any laying of it is judged from.
    pub(super) basis: LayBasis,
    /// How it is laid.
    pub(super) laid: Laying,
    /// Its crosses, by their places among the marks.
    pub(super) registers: Vec<usize>,
    /// The face rolled out about its own middle, as it is drawn.
    pub(super) sheet: Development,
    /// Which part of the outline it is, and where its middle is.
    sector: Sector,
    at: Point2<Flat>,
}

/// An outline in patches.
pub(super) struct Divided {
    pub(super) patches: Vec<Patch>,
    /// How far each outline point lands from its place, in the order of the outline's points.
    pub(super) flattening: Vec<Vector2<Flat>>,
    pub(super) laying: String,
    pub(super) leaves: String,
    pub(super) warnings: Vec<String>,
}

/// What is divided.
pub(super) struct Whole<'a> {
    pub(super) job: &'a Job,
    pub(super) name: &'a str,
    /// The face rolled out about the feature's middle.
    pub(super) bare: &'a Development,
    pub(super) layout: &'a Layout,
    pub(super) placed: &'a Placed,
    pub(super) basis: &'a LayBasis,
    pub(super) line: (usize, usize),
    pub(super) outline: &'a Outline<Flat>,
    pub(super) cut: Option<&'a Outline<Flat>>,
    /// How thick the sheet is.
    pub(super) thickness: Length,
    pub(super) allowed: Length,
    pub(super) registers: &'a [usize],
    pub(super) ids: &'a [MarkId],
    pub(super) letters: &'a [String],
    pub(super) unread: &'a [bool],
    pub(super) gone: &'a [Option<String>],
}

/// How one patch is rolled out.
#[derive(Debug, Clone)]
struct Tried {
    sector: Sector,
    /// Where its middle is on the whole.
    at: Point2<Flat>,
    about: Development,
    registers: Vec<usize>,
    out_by_mm: f64,
}

/// What comes of one sector.
enum Patched {
    /// Nothing of the outline lies in it.
    Empty,
    /// No mark is within reach of it.
    OutOfReach,
    Lies(Box<Tried>),
}

/// Divides an outline into the fewest patches that lie, or as another piece's is.
///
/// # Errors
/// [`PrepareError`]: one sheet is enough, the outline can't be divided, a point off the face.
pub(super) fn divide(whole: &Whole<'_>, alike: Option<&Division>) -> Result<Divided, PrepareError> {
    if let Some(division) = alike {
        return whole.made(&whole.tried_as(division)?);
    }
    let refused = |why: &str| PrepareError::Outline {
        feature: whole.name.to_owned(),
        why: why.to_owned(),
    };
    let lost = |why| PrepareError::Surface {
        feature: whole.name.to_owned(),
        why,
    };
    if holes(whole.outline) == Holes::Elsewhere {
        return Err(refused(
            "it has a hole in it, and a patch would cut through what stands in the hole: make a shell",
        ));
    }
    let share = whole.allowed * SHARE;
    let samples = &whole.basis.outline;
    let room = dart_room(whole.allowed);
    let one = whole.lie_of(whole.bare, whole.registers, (samples, Some(&room)));
    let one = match one {
        // No sheet reaches so far round.
        Err(SurfaceError::TooFarRound) => None,
        other => Some(other.map_err(lost)?),
    };
    if let Some(one) = one.as_ref().filter(|one| one.out_by() <= share) {
        return Err(refused(if one.darts.is_empty() {
            "one sheet of flat paper lies well enough here: no patches are needed"
        } else {
            "one sheet of flat paper lies well enough here with its darts: no patches are needed"
        }));
    }
    let (worst_mm, tried) = whole.fewest(share.mm()).map_err(lost)?;
    let of_one = one.map_or(f64::INFINITY, |one| one.out_by().mm());
    let enough = worst_mm <= share.mm();
    if tried.is_empty() || (!enough && worst_mm > of_one * WORTH_IT) {
        return Err(refused(
            "in patches flat paper would land hardly better here: make a shell, or use marks nearer to it",
        ));
    }
    whole.made(&tried)
}

impl Whole<'_> {
    /// How a sheet rolled out about a place lies on some of the crosses.
    fn lie_of(
        &self,
        about: &Development,
        registers: &[usize],
        (samples, room): (&[Point2<Flat>], Option<&DartRoom>),
    ) -> Result<Lie, SurfaceError> {
        let marks: Vec<Point2<Face>> = registers
            .iter()
            .filter_map(|&k| self.layout.marks.get(k))
            .map(|&m| self.layout.surface.nearest(m, about.centre()))
            .collect();
        let there = samples
            .iter()
            .map(|&p| self.bare.face(p))
            .collect::<Result<Vec<_>, _>>()?;
        let there = (about.flat_all(&there).into_iter()).collect::<Result<Vec<_>, _>>()?;
        about.lie(&there, &marks, room)
    }

    /// A place of the whole on another map.
    fn carried(&self, to: &Development, p: Point2<Flat>) -> Result<Point2<Flat>, SurfaceError> {
        to.flat(self.bare.face(p)?)
    }

    /// The face rolled out about a place of the whole, with the whole's own up.
    fn about(&self, p: Point2<Flat>, thickness: Length) -> Result<Development, SurfaceError> {
        let half = Vector2::from_mm(0.0, HALF_STEP_MM);
        let up = self.bare.face(p + half)? - self.bare.face(p - half)?;
        let at = self.bare.face(p)?;
        Development::with_thickness(&self.layout.surface, at, up, thickness)
    }

    /// The fewest patches whose worst is under the share; those that leave least where none is.
    fn fewest(&self, share_mm: f64) -> Result<(f64, Vec<Tried>), SurfaceError> {
        let mut best: (f64, Vec<Tried>) = (f64::INFINITY, Vec::new());
        let first = self
            .registers
            .first()
            .and_then(|&k| self.placed.marks.get(k))
            .map_or(0.0, |m| m.from_origin().direction_rad());
        let most = self.registers.len().clamp(MOST_PATCHES, MOST_GORES);
        for count in (2_u32..).take(most - 1) {
            for shift in [0.0, 0.5] {
                let begin = first + shift * core::f64::consts::TAU / f64::from(count);
                // Good enough counts where nothing was before, however little it is better by.
                let bound = if best.0 > share_mm {
                    (best.0 * MORE_IS_WORTH).max(share_mm)
                } else {
                    best.0 * MORE_IS_WORTH
                };
                let mut patches = Vec::new();
                let mut worst: f64 = 0.0;
                for sector in Sector::alike(count, begin) {
                    match self.patch(sector, share_mm)? {
                        Patched::Empty => {}
                        Patched::OutOfReach => worst = f64::INFINITY,
                        Patched::Lies(tried) => {
                            worst = worst.max(tried.out_by_mm);
                            patches.push(*tried);
                        }
                    }
                    if worst > bound {
                        break;
                    }
                }
                // A part that no mark is near is on no patch: that is no way to divide it.
                if !patches.is_empty() && worst.is_finite() && worst <= bound {
                    best = (worst, patches);
                }
            }
            if best.0 <= share_mm {
                break;
            }
        }
        Ok(best)
    }

    /// One patch: on all crosses where that is good enough, else on the two that leave least.
    fn patch(&self, sector: Sector, share_mm: f64) -> Result<Patched, SurfaceError> {
        let samples: Vec<Point2<Flat>> = (self.basis.outline.iter().copied())
            .filter(|p| sector.holds(*p))
            .collect();
        if samples.is_empty() {
            return Ok(Patched::Empty);
        }
        let mut best: Option<Tried> = None;
        for registers in self.sets(&samples) {
            let of_marks = registers.iter().filter_map(|&k| self.placed.marks.get(k));
            let middle = mean(of_marks.copied());
            for share in [0.0, 0.25, 0.5] {
                let at = mean(samples.iter().copied()).lerp(middle, share);
                let about = self.about(at, Length::ZERO)?;
                let out_by_mm = match self.lie_of(&about, &registers, (&samples, None)) {
                    Ok(lie) => lie.out_by().mm(),
                    // Round a pole some marks are behind the dome; others are nearer.
                    Err(SurfaceError::TooFarRound | SurfaceError::BehindTheDome) => continue,
                    Err(other) => return Err(other),
                };
                if best
                    .as_ref()
                    .is_none_or(|b| out_by_mm < b.out_by_mm - MARGIN_MM)
                {
                    best = Some(Tried {
                        sector,
                        at,
                        about,
                        registers: registers.clone(),
                        out_by_mm,
                    });
                }
            }
            if best.as_ref().is_some_and(|b| b.out_by_mm <= share_mm) {
                break;
            }
        }
        Ok(best.map_or(Patched::OutOfReach, |b| Patched::Lies(Box::new(b))))
    }

    /// The sets of crosses that a patch may lie on, all of them first, then two and two, the nearest
    /// first; two only where they hold every place of it sideways.
    fn sets(&self, samples: &[Point2<Flat>]) -> Vec<Vec<usize>> {
        let at = |k: usize| self.placed.marks.get(k).copied().unwrap_or(Point2::ORIGIN);
        let mut twos: Vec<(f64, Vec<usize>)> = Vec::new();
        for (n, &j) in self.registers.iter().enumerate() {
            for &k in self.registers.iter().skip(n + 1) {
                let held =
                    samples
                        .iter()
                        .all(|&p| match ((p - at(j)).unit(), (p - at(k)).unit()) {
                            (Some(a), Some(b)) => a.cross(b).abs() >= HOLDS_SIN,
                            _ => true,
                        });
                let middle = mean(samples.iter().copied());
                let far = (at(j) - middle).norm_mm() + (at(k) - middle).norm_mm();
                if held {
                    twos.push((far, vec![j, k]));
                }
            }
        }
        twos.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut sets = vec![self.registers.to_vec()];
        if self.registers.len() > 2 {
            sets.extend(twos.into_iter().take(MOST_PAIRS).map(|t| t.1));
        }
        sets
    }

    /// The patches as they are drawn and laid.
    fn made(&self, tried: &[Tried]) -> Result<Divided, PrepareError> {
        let lost = |why| PrepareError::Surface {
            feature: self.name.to_owned(),
            why,
        };
        let count = tried.len();
        let mut flattening = vec![Vector2::ZERO; self.basis.outline.len()];
        let mut lies = Vec::with_capacity(count);
        for one in tried {
            let own: Vec<usize> = (0..self.basis.outline.len())
                .filter(|&n| {
                    self.basis
                        .outline
                        .get(n)
                        .is_some_and(|p| one.sector.holds(*p))
                })
                .collect();
            let samples: Vec<_> = own
                .iter()
                .filter_map(|&n| self.basis.outline.get(n).copied())
                .collect();
            let lie = self
                .lie_of(&one.about, &one.registers, (&samples, None))
                .map_err(lost)?;
            let mut turned = Vec::with_capacity(own.len());
            for ((&n, p), error) in own.iter().zip(&samples).zip(&lie.errors) {
                let back = error.turned(-self.turn(&one.about, *p).map_err(lost)?);
                turned.push(back);
                if let Some(slot) = flattening.get_mut(n) {
                    *slot = back;
                }
            }
            lies.push((samples, turned, lie));
        }
        let rings = self.outline.polylines(FLATTENING);
        let steps: Vec<Option<Length>> = (0..count)
            .map(|k| self.step_along(tried.get(k)?.sector.ends(), &rings, (&lies, k)))
            .collect();
        let mut patches = Vec::with_capacity(count);
        for (k, (one, (samples, turned, lie))) in tried.iter().zip(&lies).enumerate() {
            patches.push(self.drawn((one, k, count), (samples, turned, lie), (&rings, &steps))?);
        }
        Ok(self.told(patches, flattening))
    }

    /// By how much another map is turned against the whole's at a place.
    fn turn(&self, about: &Development, p: Point2<Flat>) -> Result<f64, SurfaceError> {
        let half = Vector2::from_mm(HALF_STEP_MM, 0.0);
        let way = self.carried(about, p + half)? - self.carried(about, p - half)?;
        Ok(way.direction_rad())
    }

    fn drawn(
        &self,
        (one, k, count): (&Tried, usize, usize),
        (samples, turned, lie): (&[Point2<Flat>], &[Vector2<Flat>], &Lie),
        (rings, steps): (&[Vec<Point2<Flat>>], &[Option<Length>]),
    ) -> Result<Patch, PrepareError> {
        let lost = |why| PrepareError::Surface {
            feature: self.name.to_owned(),
            why,
        };
        // As the whole is rolled out, but about its own middle and with the sheet's thickness.
        let middle = self.bare.flat(one.about.centre()).map_err(lost)?;
        let sheet = self.about(middle, self.thickness).map_err(lost)?;
        let on_paper = |points: &[Point2<Flat>], closed: bool| {
            let there = points
                .iter()
                .map(|&p| self.carried(&sheet, p))
                .collect::<Result<Vec<_>, _>>();
            there.map(|points| FlatPath::polyline(&points, closed))
        };
        let dense = |outline: &Outline<Flat>| -> Vec<Vec<Point2<Flat>>> {
            let all = outline.contours().iter();
            all.map(|c| c.dense(FLATTENING * 0.5, STEP)).collect()
        };
        let mut paint_edges = Vec::new();
        for ring in dense(self.outline) {
            for run in one.sector.runs(&ring) {
                paint_edges.extend(on_paper(&run, false).map_err(lost)?);
            }
        }
        let mut cuts = Vec::new();
        let openings = one.sector.pieces(&self.cut.map(dense).unwrap_or_default());
        for opening in openings {
            cuts.extend(on_paper(&stepped(&opening), true).map_err(lost)?);
        }
        let joins = self
            .joins((one, k, count), (rings, steps), |line| {
                on_paper(line, false)
            })
            .map_err(lost)?;

        let elsewhere: Vec<bool> = (0..self.ids.len())
            .map(|m| !one.registers.contains(&m))
            .collect();
        let basis = LayBasis {
            outline: samples.to_vec(),
            flattening: turned.to_vec(),
            drawn_by: own_of(&self.basis.drawn_by, &self.basis.outline, one.sector),
            choices: layings_for(self.line, &one.registers, &elsewhere),
            ..self.basis.clone()
        };
        let (laying, slopes, budget) = best_laying(&basis, self.placed, self.name)?;
        let mut seen = Vec::with_capacity(self.layout.marks.len());
        let mut eased = vec![Vector2::ZERO; self.layout.marks.len()];
        for (m, &mark) in self.layout.marks.iter().enumerate() {
            let at = self.layout.surface.nearest(mark, sheet.centre());
            seen.push(sheet.flat(at).map_err(lost)?);
            let place = one.registers.iter().position(|&r| r == m);
            if let Some(cross) = place.and_then(|n| lie.crosses.get(n))
                && let Some(slot) = eased.get_mut(m)
            {
                *slot = *cross - one.about.flat(at).map_err(lost)?;
            }
        }
        let crosses = Crosses {
            ids: self.ids,
            letters: self.letters,
            seen: &seen,
            eased: &eased,
            on_drawing: &[],
            unread: self.unread,
            gone: self.gone,
        }
        .missing(self.job, self.placed, &slopes, &basis);
        let crosses: Vec<CrossMiss> = crosses
            .into_iter()
            .enumerate()
            .filter(|(m, _)| one.registers.contains(m))
            .map(|(_, c)| c)
            .collect();
        Ok(Patch {
            letters: crosses.iter().map(|c| c.letter.clone()).collect(),
            laying: patch_words(k, &joins, &laying_words(&laying, self.letters)),
            crosses,
            paint_edges,
            cuts,
            joins,
            worst: lie.worst,
            rms: lie.rms,
            crosses_off: lie.crosses_off,
            budget,
            basis,
            laid: laying,
            registers: one.registers.clone(),
            sheet,
            sector: one.sector,
            at: one.at,
        })
    }

    fn told(&self, patches: Vec<Patch>, flattening: Vec<Vector2<Flat>>) -> Divided {
        let worst = patches.iter().map(|p| p.worst.mm()).fold(0.0, f64::max);
        let off = patches
            .iter()
            .map(|p| p.crosses_off.mm())
            .fold(0.0, f64::max);
        let worst = Length::from_mm(worst);
        let mut warnings = Vec::new();
        if worst > self.allowed * 0.5 || off > self.allowed.mm() * 0.5 {
            warnings.push(format!(
                "even in {} patches flat paper lands up to {} mm off here, its crosses up to {}: a shell lies better",
                patches.len(),
                tenth(worst),
                tenth(Length::from_mm(off))
            ));
        }
        let count = patches.len();
        Divided {
            laying: format!("In {count} patches, one after the other, each on its own crosses."),
            leaves: format!(
                "; in {count} patches flat paper lands up to {} mm off",
                tenth(worst)
            ),
            patches,
            flattening,
            warnings,
        }
    }
}

/// What belongs to the points of the outline that lie in a sector, in their order.
fn own_of<T: Clone>(all: &[T], outline: &[Point2<Flat>], sector: Sector) -> Vec<T> {
    let own = all.iter().zip(outline).filter(|(_, p)| sector.holds(**p));
    own.map(|(t, _)| t.clone()).collect()
}

fn mean(points: impl Iterator<Item = Point2<Flat>>) -> Point2<Flat> {
    let (mut sum, mut count) = (Vector2::ZERO, 0.0);
    for p in points {
        sum = sum + p.from_origin();
        count += 1.0;
    }
    Point2::ORIGIN + sum * (1.0 / f64::max(count, 1.0))
}

/// A ring with its long sides in steps, so that they bend on another map as they do on the face.
fn stepped(ring: &[Point2<Flat>]) -> Vec<Point2<Flat>> {
    let mut out = Vec::with_capacity(ring.len());
    for (k, &a) in ring.iter().enumerate() {
        let Some(&b) = ring.get((k + 1) % ring.len()) else {
            break;
        };
        out.push(a);
        let long = a.distance(b).mm();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "an outline is metres at most"
        )]
        let steps = libm::ceil(long / (4.0 * STEP.mm())).min(1_000.0) as u32;
        for n in 1..steps {
            out.push(a.lerp(b, f64::from(n) / f64::from(steps)));
        }
    }
    out
}
