//! The design's side of one feature: its rule, and the pattern it was measured on.

use super::Source;
use super::edges::{self, Corner, corner_of};
use super::error::PrepareError;
use super::face::pattern_face;
use super::mirror::image;
use super::naming::name_of;
use super::network::{Suspected, marks_of};
use super::pattern::{pattern_marks_about, with_heights};
use crate::frames::{Face, Flat, Point2};
use crate::job::{
    EdgeId, FeatureEdit, FeatureId, Follow as FollowSpec, Job, MadeFrom, MarkId, PointRef,
    RuleSpec, TurnKept,
};
use crate::place::{Follow, Layout, Nominal, PlaceError, Rule, place};
use crate::readings::{EdgeStart, UpAgainst};
use crate::surface::Development;
use crate::units::{Angle, Length};
use nalgebra::DMatrix;
use std::borrow::Cow;

pub(super) struct Names<'a> {
    pub(super) job: &'a Job,
    pub(super) marks: Vec<MarkId>,
}

impl Names<'_> {
    pub(super) fn index(&self, mark: &MarkId, feature: &str) -> Result<usize, PrepareError> {
        self.marks
            .iter()
            .position(|m| m == mark)
            .ok_or_else(|| PrepareError::PatternNotPlaced {
                point: name_of(self.job, &PointRef::Mark(mark.clone())),
                need: format!("{feature} follows it: read it on the pattern from two other marks"),
                of: Some(PointRef::Mark(mark.clone())),
                either_side: false,
            })
    }
}

pub(super) fn rule_of(
    spec: &RuleSpec,
    names: &Names<'_>,
    feature: &str,
) -> Result<Rule, PrepareError> {
    let follow = |f: &FollowSpec| match f {
        FollowSpec::FixedDistance => Follow::FixedDistance,
        FollowSpec::DifferenceSplit => Follow::DifferenceSplit,
        FollowSpec::InProportion => Follow::InProportion,
    };
    let at = |m: &MarkId| names.index(m, feature);
    match spec {
        RuleSpec::Line {
            from,
            to,
            side,
            along,
            across,
        } => Ok(Rule::Line {
            from: at(from)?,
            to: at(to)?,
            side: side.as_ref().map(at).transpose()?,
            along: follow(along),
            across: across
                .as_ref()
                .map(|p| Ok::<_, PrepareError>((at(&p.from)?, at(&p.to)?)))
                .transpose()?,
        }),
        RuleSpec::OffEdge {
            from,
            to,
            along,
            edge,
        } => {
            let mut points = edges::points();
            let mut point = || points.next().map(|p| at(&p)).transpose();
            match (point()?, point()?) {
                (Some(on_edge), Some(further)) => Ok(Rule::OffEdge {
                    from: at(from)?,
                    to: at(to)?,
                    along: follow(along),
                    on_edge,
                    further,
                    round: edges::goes_round(names.job, edge),
                }),
                _ => Err(missing("the edge", feature, "choose an edge of its face")),
            }
        }
        RuleSpec::Edges { edge, end } => {
            let all: Vec<usize> = edges::points().map(|p| at(&p)).collect::<Result<_, _>>()?;
            match all.as_slice() {
                [corner, along, third] => Ok(Rule::Edges {
                    corner: *corner,
                    along: *along,
                    end: *third,
                    round: [edge, end].map(|e| edges::goes_round(names.job, e)),
                }),
                _ => Err(missing(
                    "the corner",
                    feature,
                    "let it follow two edges that meet in one",
                )),
            }
        }
        RuleSpec::BestFit { marks, scale } => {
            let mut weights = vec![0.0; names.marks.len()];
            let mut order = Vec::new();
            for m in marks {
                let k = at(&m.mark)?;
                if let Some(w) = weights.get_mut(k) {
                    *w = if m.weight.is_finite() && m.weight > 0.0 {
                        m.weight
                    } else {
                        0.0
                    };
                }
                order.push(k);
            }
            match order.as_slice() {
                [a, b, ..] => Ok(Rule::BestFit {
                    line: (*a, *b),
                    weights,
                    scale: *scale,
                }),
                _ => Err(PrepareError::Place {
                    feature: feature.to_owned(),
                    why: PlaceError::TooFewMarks,
                }),
            }
        }
    }
}

pub(super) fn missing(what: &'static str, of: &str, then: &'static str) -> PrepareError {
    PrepareError::NotSetUp {
        what,
        of: of.to_owned(),
        then,
    }
}

/// The design's side of one feature, and the pattern it was measured on.
pub(super) struct Design<'a> {
    pub(super) edit: Cow<'a, FeatureEdit>,
    pub(super) name: String,
    pub(super) nominal: Nominal,
    /// Where the pattern has its centre, before any issue moved it.
    pub(super) on_pattern: Point2<Face>,
    pub(super) nominal_covariance: DMatrix<f64>,
    pub(super) names: Names<'a>,
    pub(super) pattern: super::face::Sized,
    pub(super) shrinkage: f64,
    /// Up on the pattern against the line of its rule, where its turn is kept to level.
    pub(super) level: Option<UpAgainst>,
    /// Edges of its face as the pattern has them, and the corner it follows.
    pub(super) edges: Vec<(EdgeId, EdgeStart)>,
    pub(super) corner: Option<Corner>,
    /// The reading of the pattern that goes least with its others.
    pub(super) odd_on_pattern: Option<Suspected>,
    /// Why marks that something of the pattern was read to are left out: *nothing places C …*.
    pub(super) left_out: Vec<String>,
}

/// The design as the issues that hold on a piece of this number have it.
pub(super) fn design<'a>(
    source: &Source<'a>,
    feature: &FeatureId,
    piece: u32,
) -> Result<Design<'a>, PrepareError> {
    let job = source.job;
    let in_force = job.in_force(feature, piece).ok_or_else(|| {
        missing(
            "the feature",
            feature.as_str(),
            "choose one that is in the job",
        )
    })?;
    let edit = in_force.edit;
    let name = super::words::feature_title(&edit);
    if let Some(issue) = in_force.not_made {
        return Err(PrepareError::NotMade {
            feature: name,
            piece,
            issue,
        });
    }
    let turned = edit.turn.unwrap_or(Angle::ZERO).rad()
        - job
            .features
            .get(feature)
            .and_then(|f| f.turn)
            .map_or(0.0, Angle::rad);
    let centre = match job.made_from(feature) {
        Some(made) => Centre::Image {
            made,
            turned: Angle::from_rad(turned),
        },
        None => Centre::Read(PointRef::Feature(feature.clone())),
    };
    design_about(source, edit, name, &centre, in_force.moved)
}

/// What says where the middle of something lies on the pattern.
pub(super) enum Centre<'a> {
    /// Readings.
    Read(PointRef),
    /// It is made from another, then turned by an issue.
    Image {
        /// From which.
        made: MadeFrom<'a>,
        /// By how much.
        turned: Angle,
    },
}

/// The design of something whose middle lies `to` the right of and above a point of the pattern.
pub(super) fn design_about<'a>(
    source: &Source<'a>,
    edit: Cow<'a, FeatureEdit>,
    name: String,
    centre: &Centre<'_>,
    to: (Length, Length),
) -> Result<Design<'a>, PrepareError> {
    let job = source.job;
    let face_id = edit
        .face
        .as_ref()
        .ok_or_else(|| missing("the face", &name, "say what it lies on"))?;
    let face = job
        .faces
        .get(face_id)
        .ok_or_else(|| missing("the face", &name, "say what it lies on"))?;
    let spec = edit
        .rule
        .as_ref()
        .ok_or_else(|| missing("the rule", &name, "say which marks it follows"))?;
    let part_id = face
        .part
        .as_ref()
        .ok_or_else(|| missing("the part", &name, "say which casting it is on"))?;
    let pattern_casting = job.pattern_of(part_id).ok_or_else(|| {
        missing(
            "the pattern",
            &name,
            "measure the approved pattern or the first good piece",
        )
    })?;
    let pattern = pattern_face(job, face)?;
    let feature = match centre {
        Centre::Read(PointRef::Feature(id)) => Some(id),
        _ => None,
    };
    let corner = corner_of(job, spec, feature, (face_id, pattern_casting), &name)?;
    if corner.is_some() && edges::bend(&pattern.surface) {
        return Err(PrepareError::Place {
            feature: name,
            why: PlaceError::EdgesBend,
        });
    }
    let pattern_marks =
        pattern_marks_about(job, face_id, pattern_casting, &pattern, corner.as_ref())?;
    let placed: Vec<MarkId> = marks_of(job, face_id)
        .into_iter()
        .chain(edges::points())
        .filter(|m| pattern_marks.index(&PointRef::Mark(m.clone())).is_some())
        .collect();
    let names = Names { job, marks: placed };
    let rule = rule_of(spec, &names, &name).map_err(|e| pattern_marks.exactly(e))?;
    let marks: Vec<Point2<Face>> = names
        .marks
        .iter()
        .filter_map(|m| pattern_marks.at(&PointRef::Mark(m.clone())))
        .collect();
    let mut turn = edit.turn.unwrap_or(Angle::ZERO);
    let (centre, nominal_covariance) = match centre {
        Centre::Read(point) => {
            let index = pattern_marks
                .index(point)
                .ok_or_else(|| PrepareError::PatternNotPlaced {
                    point: name_of(job, point),
                    need: "read it on the pattern from two marks".into(),
                    of: Some(point.clone()),
                    either_side: false,
                })
                .map_err(|e| pattern_marks.exactly(e))?;
            let order: Vec<usize> = names
                .marks
                .iter()
                .filter_map(|m| pattern_marks.index(&PointRef::Mark(m.clone())))
                .chain([index])
                .collect();
            let at = pattern_marks.adjusted.points.get(index).map(|p| p.at);
            (
                at.unwrap_or(Point2::ORIGIN),
                pattern_marks.covariance(&order),
            )
        }
        Centre::Image { made, turned } => {
            let image = image(job, made, &name, &pattern_marks)?;
            let square = image.turn(&pattern_marks, edit.rule.as_ref(), &name)?;
            turn = Angle::from_rad(square.rad() + turned.rad());
            (image.centre, image.covariance(&pattern_marks, &names.marks))
        }
    };
    let level = match edit.turn_kept {
        Some(TurnKept::ToLevel) => {
            let by_board = with_heights(job, face_id, pattern_casting, &pattern, &pattern_marks);
            Some(super::kept_level::on(
                job,
                by_board.as_ref().unwrap_or(&pattern_marks),
                edit.rule.as_ref(),
                (&name, "the pattern"),
            )?)
        }
        _ => None,
    };
    let shrinkage = job
        .parts
        .get(part_id)
        .and_then(|p| p.mould.as_ref())
        .and_then(|m| job.moulds.get(m))
        .and_then(|m| m.shrinkage_per_mille)
        // 2 in 1000 until castings show another (design/02).
        .unwrap_or(2.0);
    let edges = edges::edges_of(job, face_id)
        .into_iter()
        .zip(pattern_marks.adjusted.edges.iter().copied())
        .collect();
    let mut nominal = Nominal {
        layout: Layout {
            surface: pattern_marks.adjusted.surface,
            marks,
        },
        centre,
        rule,
        turn,
    };
    nominal.centre = moved(&nominal, to, &name)?;
    let open = pattern_marks.open.iter();
    let left_out = open
        .filter(|o| matches!(o.point, PointRef::Mark(_)))
        .map(|o| o.why.to_string())
        .collect();
    Ok(Design {
        edit,
        name,
        nominal,
        on_pattern: centre,
        nominal_covariance,
        names,
        pattern,
        shrinkage,
        level,
        edges,
        corner,
        odd_on_pattern: pattern_marks.suspects.into_iter().next(),
        left_out,
    })
}

/// The centre after it was moved over the pattern's surface, along and square to the feature's up.
fn moved(
    nominal: &Nominal,
    (right, up): (Length, Length),
    name: &str,
) -> Result<Point2<Face>, PrepareError> {
    if right == Length::ZERO && up == Length::ZERO {
        return Ok(nominal.centre);
    }
    // On the pattern the rule leaves the feature where it is and says which way is up.
    let pose = place(nominal, &nominal.layout)
        .map_err(|why| PrepareError::Place {
            feature: name.to_owned(),
            why,
        })?
        .pose;
    let to = Point2::<Flat>::from_mm(right.mm(), up.mm());
    Development::new(&nominal.layout.surface, pose.centre, pose.up)
        .and_then(|unrolled| unrolled.face(to))
        .map_err(|why| PrepareError::Surface {
            feature: name.to_owned(),
            why,
        })
}

/// The design with these of its marks, then marks of the casting alone: those take no part in the
/// rule, so that where the drawing would have them never matters.
pub(super) fn restrict(design: &Design<'_>, kept: &[usize], extra: &[Point2<Face>]) -> Nominal {
    let new = |old: usize| kept.iter().position(|&k| k == old).unwrap_or(0);
    let pick = |list: &[Point2<Face>]| {
        kept.iter()
            .filter_map(|&k| list.get(k).copied())
            .chain(extra.iter().copied())
            .collect()
    };
    let rule = match &design.nominal.rule {
        Rule::Line {
            from,
            to,
            side,
            along,
            across,
        } => Rule::Line {
            from: new(*from),
            to: new(*to),
            side: side.map(new),
            along: *along,
            across: across.map(|(a, b)| (new(a), new(b))),
        },
        Rule::BestFit {
            line,
            weights,
            scale,
        } => Rule::BestFit {
            line: (new(line.0), new(line.1)),
            weights: kept
                .iter()
                .map(|&k| weights.get(k).copied().unwrap_or(0.0))
                .chain(extra.iter().map(|_| 0.0))
                .collect(),
            scale: *scale,
        },
        Rule::OffEdge {
            from,
            to,
            along,
            on_edge,
            further,
            round,
        } => Rule::OffEdge {
            from: new(*from),
            to: new(*to),
            along: *along,
            on_edge: new(*on_edge),
            further: new(*further),
            round: *round,
        },
        Rule::Edges {
            corner,
            along,
            end,
            round,
        } => Rule::Edges {
            corner: new(*corner),
            along: new(*along),
            end: new(*end),
            round: *round,
        },
    };
    Nominal {
        layout: Layout {
            surface: design.nominal.layout.surface.clone(),
            marks: pick(&design.nominal.layout.marks),
        },
        centre: design.nominal.centre,
        rule,
        turn: design.nominal.turn,
    }
}

pub(super) fn restrict_covariance(
    design: &Design<'_>,
    kept: &[usize],
    extra: usize,
) -> DMatrix<f64> {
    let all = design.nominal.layout.marks.len();
    let mut columns: Vec<Option<usize>> = kept
        .iter()
        .flat_map(|&k| [Some(2 * k), Some(2 * k + 1)])
        .collect();
    columns.extend(core::iter::repeat_n(None, 2 * extra));
    columns.extend((2 * all..design.nominal_covariance.nrows()).map(Some));
    DMatrix::from_fn(columns.len(), columns.len(), |r, c| {
        match (columns[r], columns[c]) {
            (Some(r), Some(c)) => design.nominal_covariance[(r, c)],
            _ => 0.0,
        }
    })
}
