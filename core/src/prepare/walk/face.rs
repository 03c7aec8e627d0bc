//! One face of a casting while it is being measured.

use super::super::Source;
use super::super::edge_lines::{EdgePicture, edge_lines};
use super::super::edges::{edges_of, smaller};
use super::super::error::PrepareError;
use super::super::face::{casting_face, pattern_face};
use super::super::mirror::image;
use super::super::naming::name_of;
use super::super::network::{MARK_SPREAD, Marks, Wanted, adjusted, marks_of, readings_on};
use super::super::outline::outline_of;
use super::super::pattern::pattern_marks;
use super::list::{Pair, Sureness, lies_over};
use super::order::ends;
use super::view::{Expected, FacePicture, MarkPicture};
use crate::frames::{Face, Point2};
use crate::job::{CastingId, FaceId, Job, MarkId, Measured, PointRef, RuleSpec};
use crate::readings::{EdgeStart, SizeHeld};
use crate::surface::{MAX_PARAMETERS, Surface};
use crate::template::Cover;
use crate::units::Length;
use nalgebra::{DMatrix, Matrix2};

/// How large the largest region may be drawn, as a share of the marks' extent.
const REGION_SHARE: f64 = 0.2;

/// A face with its marks as the drawing has them on a casting, and as read so far.
pub(super) struct OnFace {
    pub(super) id: FaceId,
    pub(super) surface: Surface,
    pub(super) marks: Vec<MarkId>,
    /// Where the drawing has them, less the mould's allowance.
    pub(super) nominal: Vec<Point2<Face>>,
    pub(super) features: Vec<(Point2<Face>, crate::job::FeatureId)>,
    pub(super) size_sd: [f64; MAX_PARAMETERS],
    pub(super) over: bool,
    pub(super) read: Result<Marks, String>,
    /// The pattern's marks, and how much smaller castings are.
    pub(super) on_pattern: Marks,
    pub(super) factor: f64,
}

/// The mould's allowance of a part, in parts per thousand.
fn shrinkage(job: &Job, face: &FaceId) -> f64 {
    job.faces
        .get(face)
        .and_then(|f| job.parts.get(f.part.as_ref()?))
        .and_then(|p| job.moulds.get(p.mould.as_ref()?))
        .and_then(|m| m.shrinkage_per_mille)
        // 2 in 1000 until castings show another (design/02).
        .unwrap_or(2.0)
}

impl OnFace {
    pub(super) fn of(
        job: &Job,
        id: &FaceId,
        casting: &CastingId,
        pattern: &CastingId,
    ) -> Result<Self, PrepareError> {
        let edit = job.faces.get(id).cloned().unwrap_or_default();
        let sized = pattern_face(job, &edit)?;
        let on_pattern = pattern_marks(job, id, pattern, &sized)?;
        let allowance = shrinkage(job, id);
        let (surface, sizes) =
            casting_face(&sized, allowance).map_err(|why| PrepareError::Surface {
                feature: edit.name.clone().unwrap_or_else(|| id.to_string()),
                why,
            })?;
        let factor = 1.0 - allowance / 1000.0;
        let placed: Vec<(MarkId, Point2<Face>)> = marks_of(job, id)
            .into_iter()
            .filter_map(|m| {
                let at = on_pattern.at(&PointRef::Mark(m.clone()))?;
                Some((m, at))
            })
            .collect();
        let n = placed.len().max(1) as f64;
        let (mut x, mut y) = (0.0, 0.0);
        for (_, at) in &placed {
            x += at.x_mm() / n;
            y += at.y_mm() / n;
        }
        // A scan shrinks about the middle of its own chart.
        let middle = match surface {
            Surface::Scan(_) => Point2::ORIGIN,
            _ => Point2::from_mm(x, y),
        };
        let shrunk = |at: Point2<Face>| middle + (at - middle) * factor;
        let features = job
            .features
            .iter()
            .filter(|(_, f)| f.face.as_ref() == Some(id))
            .filter_map(|(f, _)| {
                let at = on_pattern.at(&PointRef::Feature(f.clone())).or_else(|| {
                    let made = job.made_from(f)?;
                    image(job, &made, f.as_str(), &on_pattern)
                        .ok()
                        .map(|i| i.centre)
                })?;
                Some((shrunk(at), f.clone()))
            })
            .collect();
        let nominal: Vec<_> = placed.iter().map(|(_, at)| shrunk(*at)).collect();
        let marks: Vec<_> = placed.into_iter().map(|(m, _)| m).collect();
        let read = adjusted(&Wanted {
            job,
            face: id,
            casting,
            surface: surface.clone(),
            sizes,
            readings: &readings_on(job, id, casting),
            starts: marks
                .iter()
                .cloned()
                .map(PointRef::Mark)
                .zip(nominal.iter().copied())
                .collect(),
            spread: Some(MARK_SPREAD),
            painted: None,
            edges: edges_of(job, id)
                .into_iter()
                .zip(&on_pattern.adjusted.edges)
                .map(|(e, start)| (e, smaller(start, middle, factor)))
                .collect(),
            corner: None,
            heights: &[],
        })
        .map_err(|e| e.to_string());
        Ok(Self {
            id: id.clone(),
            over: lies_over(&surface),
            surface,
            marks,
            nominal,
            features,
            size_sd: core::array::from_fn(|k| match sizes[k] {
                SizeHeld::Prior { sd } => sd,
                _ => 0.0,
            }),
            read,
            on_pattern,
            factor,
        })
    }

    /// The marks that anything follows; all of them where nothing does.
    pub(super) fn used(&self, job: &Job) -> Vec<usize> {
        let features = job
            .features
            .values()
            .map(|f| (f.face.as_ref(), f.rule.as_ref()));
        // A bracket follows marks as anything painted does.
        let fixings = job
            .fixings
            .values()
            .map(|f| (f.face.as_ref(), f.rule.as_ref()));
        let of_rules: Vec<&MarkId> = features
            .chain(fixings)
            .filter(|(face, _)| *face == Some(&self.id))
            .filter_map(|(_, rule)| rule)
            .flat_map(RuleSpec::marks)
            .collect();
        (0..self.marks.len())
            .filter(|k| of_rules.is_empty() || of_rules.contains(&&self.marks[*k]))
            .collect()
    }

    fn place(&self, point: &PointRef) -> Option<usize> {
        let PointRef::Mark(id) = point else {
            return None;
        };
        self.marks.iter().position(|m| m == id)
    }

    pub(super) fn pair(&self, of: &Measured) -> Option<Pair> {
        let (from, to) = ends(of)?;
        Some(Pair {
            from: self.place(from)?,
            to: self.place(to)?,
        })
    }

    pub(super) fn ask(&self, pair: Pair) -> Option<Measured> {
        let from = PointRef::Mark(self.marks.get(pair.from)?.clone());
        let to = PointRef::Mark(self.marks.get(pair.to)?.clone());
        Some(if self.over {
            Measured::Over { from, to }
        } else {
            Measured::Straight { from, to }
        })
    }

    /// What the drawing alone says of the distances.
    pub(super) fn strewn(&self, over: bool, noise: Length) -> Sureness<'_> {
        Sureness::strewn(
            &self.surface,
            &self.nominal,
            over,
            MARK_SPREAD.mm(),
            self.size_sd,
            noise.mm(),
        )
    }

    /// What a reading should come to by everything known so far, ±3 standard deviations.
    pub(super) fn expected(&self, job: &Job, of: &Measured, noise: Length) -> Option<Expected> {
        if of.stood().is_some() {
            return super::levels::expected(self, of, noise);
        }
        if matches!(of, Measured::Square { .. }) {
            return super::squares::expected(job, self, of, noise);
        }
        let pair = self.pair(of)?;
        let over = matches!(of, Measured::Over { .. });
        let (middle_mm, variance_mm2) = match &self.read {
            Ok(marks) => {
                let places: Vec<_> = marks.adjusted.points.iter().map(|p| p.at).collect();
                let order: Vec<usize> = (0..places.len()).collect();
                let surface = &marks.adjusted.surface;
                let c = marks.covariance(&order);
                let sure = Sureness::new(surface, &places, over, c, noise.mm());
                let (mm, row) = sure.row(pair)?;
                (mm, sure.variance(&row))
            }
            Err(_) => {
                let sure = self.strewn(over, noise);
                let (mm, row) = sure.row(pair)?;
                (mm, sure.variance(&row))
            }
        };
        let reach_mm = 3.0 * libm::sqrt(variance_mm2 + noise.mm() * noise.mm());
        Some(Expected {
            low: Length::from_mm((middle_mm - reach_mm).max(0.0)),
            middle: Length::from_mm(middle_mm),
            high: Length::from_mm(middle_mm + reach_mm),
        })
    }

    /// Where the marks are and could be.
    pub(super) fn picture(&self, source: &Source<'_>) -> FacePicture {
        let job = source.job;
        let spread_mm2 = MARK_SPREAD.mm() * MARK_SPREAD.mm();
        let marks = self
            .marks
            .iter()
            .enumerate()
            .map(|(k, id)| {
                let point = PointRef::Mark(id.clone());
                let (at, c, unread) = match &self.read {
                    Ok(m) => (
                        m.at(&point),
                        block(&m.covariance(&[k])),
                        m.unread.contains(&point),
                    ),
                    Err(_) => (None, Matrix2::identity() * spread_mm2, true),
                };
                let at = at.or_else(|| self.nominal.get(k).copied());
                let at = at.unwrap_or(Point2::ORIGIN);
                let cover = Cover::of(&c);
                MarkPicture {
                    mark: id.clone(),
                    letter: name_of(job, &point),
                    found: job
                        .marks
                        .get(id)
                        .and_then(|m| m.found.clone())
                        .unwrap_or_default(),
                    at: [at.x_mm(), at.y_mm()],
                    could_be: [cover.major_mm, cover.minor_mm, cover.turn_rad],
                    unread,
                }
            })
            .collect();
        FacePicture {
            face: self.id.clone(),
            name: face_name(job, &self.id),
            seen_from: crate::prepare::setout::seen_from(job, &self.id),
            marks,
            edges: self.edge_pictures(job),
            outlines: self.outlines(source),
            lines: Vec::new(),
            magnified: self.magnified(),
            trouble: self.read.as_ref().err().cloned(),
        }
    }

    /// The edges as read on the casting, else as the pattern has them.
    fn edge_pictures(&self, job: &Job) -> Vec<EdgePicture> {
        let edges: Vec<EdgeStart> = match &self.read {
            Ok(read) => read.adjusted.edges.clone(),
            Err(_) => {
                let all = self.on_pattern.adjusted.edges.iter();
                all.map(|e| smaller(e, self.middle(), self.factor))
                    .collect()
            }
        };
        let seen = |p: Point2<Face>| Some([p.x_mm(), p.y_mm()]);
        edge_lines(job, &self.id, (&edges, &self.surface), &self.nominal, &seen)
    }

    /// What it shrinks about.
    fn middle(&self) -> Point2<Face> {
        if matches!(self.surface, Surface::Scan(_)) {
            return Point2::ORIGIN;
        }
        let n = self.nominal.len().max(1) as f64;
        let sum = self
            .nominal
            .iter()
            .fold((0.0, 0.0), |s, p| (s.0 + p.x_mm() / n, s.1 + p.y_mm() / n));
        Point2::from_mm(sum.0, sum.1)
    }

    /// Chosen from the drawing alone, so that regions shrink on the screen as readings come in.
    fn magnified(&self) -> u32 {
        const STEPS: [u32; 6] = [20, 10, 5, 3, 2, 1];
        let mut reach_mm = 0.0_f64;
        for a in &self.nominal {
            for b in &self.nominal {
                reach_mm = reach_mm.max((*a - *b).norm_mm());
            }
        }
        let square = MARK_SPREAD.mm() * MARK_SPREAD.mm();
        let region_mm = Cover::of(&(Matrix2::identity() * square)).major_mm;
        STEPS
            .into_iter()
            .find(|m| f64::from(*m) * region_mm <= REGION_SHARE * reach_mm)
            .unwrap_or(1)
    }

    fn outlines(&self, source: &Source<'_>) -> Vec<Vec<[f64; 2]>> {
        let mut out = Vec::new();
        for (at, id) in &self.features {
            let Some(edit) = source.job.features.get(id) else {
                continue;
            };
            let Some(Ok(drawn)) = outline_of(source, id.as_str(), edit) else {
                continue;
            };
            let turn =
                self.line_of(edit.rule.as_ref()) + edit.turn.map_or(0.0, crate::units::Angle::rad);
            let (c, s) = (libm::cos(turn), libm::sin(turn));
            // It is only looked at: ten times coarser than what is cut.
            for line in drawn.outline.polylines(crate::outline::FLATTENING * 10.0) {
                out.push(
                    line.into_iter()
                        .map(|p| {
                            let (x, y) = (p.x_mm(), p.y_mm());
                            [at.x_mm() + c * x - s * y, at.y_mm() + s * x + c * y]
                        })
                        .collect(),
                );
            }
        }
        out
    }

    /// The direction of a rule's line on the face.
    fn line_of(&self, rule: Option<&RuleSpec>) -> f64 {
        let at = |m: &MarkId| {
            let k = self.marks.iter().position(|x| x == m)?;
            self.nominal.get(k).copied()
        };
        rule.and_then(RuleSpec::turns_with)
            .and_then(|[a, b]| Some((at(b)? - at(a)?).direction_rad()))
            .unwrap_or(0.0)
    }
}

fn block(c: &DMatrix<f64>) -> Matrix2<f64> {
    let at = |r: usize, k: usize| c.get((r, k)).copied().unwrap_or(0.0);
    Matrix2::new(at(0, 0), at(0, 1), at(1, 0), at(1, 1))
}

pub(in crate::prepare) fn face_name(job: &Job, id: &FaceId) -> String {
    job.faces
        .get(id)
        .and_then(|f| f.name.clone())
        .unwrap_or_else(|| id.to_string())
}
