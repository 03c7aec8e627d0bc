//! What the screens at the start ask: with no more code than that needs, because the browser loads
//! it before anything else can be done.

use super::ask::{Ask, Request};
use super::desk::{Desk, Known, cannot};
use super::reply::*;
use crate::frames::{Flat, Point2};
use crate::job::{EntityRef, Fact, FeatureId, Ledger, PieceId, QuickCards, SheetOf};
use crate::outline::{FLATTENING, Outline};
use crate::prepare::{Prepared, Source, issue, prepare, staleness, tighter, uncut};
use crate::sheet::Paper;
use crate::units::Length;
use crate::write::job::Attachments;
use crate::write::svg::{svg_page, svg_pages};
use base64::prelude::{BASE64_STANDARD, Engine as _};

/// Answers a question for which [`Ask::waits_for`] says [`Half::First`], with no more code than
/// those need.
pub fn answer_first(desk: &mut Desk, request: Request, beside: &[u8]) -> Answer {
    Answer {
        number: request.number,
        says: desk.says_first(request.ask.with_facts_beside(beside)),
        bytes: Vec::new(),
    }
}

impl Desk {
    /// What the screens at the start ask: it has to stand without the rest, which the browser loads
    /// later.
    pub(super) fn says_first(&mut self, ask: Ask) -> Result<Reply, Refusal> {
        match ask {
            Ask::Facts {
                job,
                facts,
                attachments,
            } => {
                let known = self.jobs.entry(job.clone()).or_insert_with(|| Known {
                    ledger: Ledger::new(job),
                    attachments: Attachments::new(),
                    folded: None,
                    news: Vec::new(),
                });
                for text in facts {
                    match Fact::read(text) {
                        Ok(fact) => {
                            let id = fact.envelope.id;
                            if known.ledger.add(fact) {
                                known.news.push(id);
                            }
                        }
                        Err(no) => known.ledger.keep_unread(no.text),
                    }
                }
                for (hash, content) in attachments {
                    if let Ok(content) = BASE64_STANDARD.decode(content) {
                        known.attachments.insert(hash, content);
                    }
                }
                Ok(Reply::Known {
                    facts: known.ledger.len(),
                })
            }
            Ask::Run { job } => Ok(Reply::Run(crate::run::look(
                self.known(&job)?.opened().0.job,
            ))),
            Ask::Survey { job } => {
                let (source, _) = self.known(&job)?.opened();
                Ok(Reply::Survey(survey(&source)))
            }
            Ask::Template {
                job,
                feature,
                piece,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let view = template_view(&source, &feature, &piece, paper, &day)?;
                Ok(Reply::Template(Box::new(view)))
            }
            Ask::Live {
                job,
                feature,
                piece,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let prepared = prepare(&source, &feature, &piece).map_err(cannot)?;
                Ok(Reply::Live(Box::new(live(&source, &prepared))))
            }
            _ => Err(cannot(
                "this is answered by the part that is loaded later: try again",
            )),
        }
    }
}

fn survey(source: &Source<'_>) -> Survey {
    let features = source.job.features_in_order();
    let pieces = source
        .job
        .pieces_in_order()
        .into_iter()
        .map(|(piece, _)| PieceSurvey {
            piece: piece.clone(),
            features: features
                .iter()
                .map(|(f, _)| feature_survey(source, f, piece))
                .collect(),
        })
        .collect();
    Survey { pieces }
}

fn feature_survey(source: &Source<'_>, feature: &FeatureId, piece: &PieceId) -> FeatureSurvey {
    let by_feature = EntityRef::Feature(feature.clone());
    let mut printed = source.job.printed.about_part(piece, &by_feature);
    // A rod marks the middle: the template is still to be printed.
    let printed = printed.any(|p| !matches!(p.says.of, SheetOf::Rods(_)));
    let (errors, cannot) = match prepare(source, feature, piece) {
        Ok(p) => (
            Some(SurveyErrors {
                allowed: p.allowed,
                as_measured: p.budget.worst,
                as_drawn: p.nominal_lands.0.norm(),
            }),
            None,
        ),
        Err(why) => (None, Some(why.to_string())),
    };
    FeatureSurvey {
        feature: feature.clone(),
        errors,
        cannot,
        stale: if printed {
            staleness(source, feature, piece)
        } else {
            None
        },
        printed,
    }
}

fn template_view(
    source: &Source<'_>,
    feature: &FeatureId,
    piece: &PieceId,
    paper: Paper,
    day: &str,
) -> Result<TemplateView, Refusal> {
    let issued = issue(source, feature, piece, paper, day).map_err(cannot)?;
    let p = &issued.prepared;
    let (proved, proof) = crate::prepare::printer::size_proved(source.job, p, paper);
    Ok(TemplateView {
        feature: feature.clone(),
        piece: piece.clone(),
        title: issued.title(source.job),
        laying: p.laying_words.clone(),
        worst: p.budget.worst,
        allowed: p.allowed,
        fits: p.budget.worst.mm() <= p.allowed.mm(),
        terms: p
            .budget
            .terms
            .iter()
            .map(|t| ErrorTerm {
                name: t.kind.name().to_owned(),
                size: t.size,
            })
            .collect(),
        crosses: p
            .crosses
            .iter()
            .map(|c| CrossView {
                letter: c.letter.clone(),
                found: c.found.clone(),
                off_by: if let Some(why) = &c.gone {
                    format!("{why}: no cross")
                } else if c.unread {
                    "not read on this piece: no cross".into()
                } else if c.within.to_um() < 50 {
                    "on the mark".into()
                } else {
                    format!("within {} mm", crate::prepare::mm(c.within))
                },
            })
            .collect(),
        instead_of_nominal: p.instead.clone(),
        tighter: QuickCards::of_job(source.job)
            .is_some()
            .then(|| tighter(source, p))
            .flatten(),
        pair: crate::prepare::pair_checks::pair_ahead(source, feature, piece, p),
        warnings: crate::prepare::proving(source.job, &p.of, core::slice::from_ref(piece))
            .map(|proving| proving.words().to_owned())
            .into_iter()
            .chain(staleness(source, SheetOf::Rods(feature.clone()), piece))
            .chain(p.warnings.iter().cloned())
            .collect(),
        reference: issued.drawing.reference.clone(),
        stale: staleness(source, feature, piece),
        paper: issued.paper_words(paper),
        proved,
        proof,
        across: Length::from_mm(issued.size_mm.0),
        up: Length::from_mm(issued.size_mm.1),
        pages: svg_pages(&issued.drawing),
        whole: uncut(source, &issued, paper, day).and_then(|whole| svg_page(&whole, 0)),
    })
}

fn dots(outline: &Outline<Flat>) -> Vec<FlatDots> {
    // Five times coarser than what is cut: it is only looked at.
    let tolerance = FLATTENING * 2.0;
    outline
        .polylines(tolerance)
        .into_iter()
        .map(|line| line.into_iter().map(LivePicture::dot).collect())
        .collect()
}

fn live(source: &Source<'_>, p: &Prepared) -> LivePicture {
    LivePicture {
        outline: dots(&p.paint_edge),
        crosses: p
            .crosses
            .iter()
            .filter(|c| c.gone.is_none())
            .map(|c| (c.letter.clone(), LivePicture::dot(c.at)))
            .collect(),
        as_drawn: p
            .crosses
            .iter()
            .map(|c| (c.letter.clone(), LivePicture::dot(c.on_drawing)))
            .collect(),
        could_be: p
            .crosses
            .iter()
            .map(|c| {
                let e = c.could_be;
                (
                    c.letter.clone(),
                    LivePicture::dot(c.at),
                    [e.major_mm, e.minor_mm, e.turn_rad],
                )
            })
            .collect(),
        darts: darts(p),
        worst: p.budget.worst,
        allowed: p.allowed,
        warnings: p.warnings.clone(),
        tighter: tighter(source, p),
    }
}

/// The darts as a picture shows them: out to a little past whatever lies furthest their way, as the
/// paper reaches past its crosses.
fn darts(p: &Prepared) -> Vec<[[f64; 2]; 3]> {
    const PAST_MM: f64 = 8.0;
    let outline = p
        .paint_edge
        .polylines(FLATTENING * 2.0)
        .into_iter()
        .flatten();
    let reached: Vec<_> = outline.chain(p.crosses.iter().map(|c| c.at)).collect();
    p.darts
        .iter()
        .map(|dart| {
            let past = |far: f64, q: &Point2<Flat>| far.max((*q - dart.tip).dot(dart.out));
            let long = reached.iter().fold(0.0, past) + PAST_MM;
            let [a, b] = dart.edges().map(|edge| dart.tip + edge * long);
            [dart.tip, a, b].map(LivePicture::dot)
        })
        .collect()
}
