//! Answering: a cache of jobs, thrown away without loss.

use super::ask::{Ask, FileKind, Request};
use super::files::{Pagewise, Selection};
use super::reply::*;
use super::whole_run::run_files;
use crate::job::{FactId, Folded, HolePurpose, Job, JobId, Ledger, SheetOf};
use crate::prepare::{Source, read_scans};
use crate::read::table::Lay;
use crate::sheet::Paper;
use crate::write::job::Attachments;
use std::collections::BTreeMap;

/// Jobs that were sent here, folded once.
#[derive(Debug, Default)]
pub struct Desk {
    pub(super) jobs: BTreeMap<JobId, Known>,
}

#[derive(Debug)]
pub(super) struct Known {
    pub(super) ledger: Ledger,
    pub(super) attachments: Attachments,
    pub(super) folded: Option<Folded>,
    /// Facts that came in since it was folded.
    pub(super) news: Vec<FactId>,
}

impl Known {
    /// The job, folded once, with its attachments; and the facts it was folded from.
    pub(super) fn opened(&mut self) -> (Source<'_>, &Ledger) {
        let ledger = &self.ledger;
        let attachments = &self.attachments;
        let news = core::mem::take(&mut self.news);
        let folded = match &mut self.folded {
            Some(folded) => {
                folded.and(ledger, &news);
                folded
            }
            none => none.insert(Folded::of(ledger)),
        };
        folded.job_mut().asked.begin();
        read_scans(folded.job_mut(), attachments);
        let job: &Job = folded;
        (Source { job, attachments }, ledger)
    }
}

pub(super) fn cannot(why: impl ToString) -> Refusal {
    Refusal::CannotDo {
        sentence: why.to_string(),
    }
}

/// Answers one question.
pub fn answer(desk: &mut Desk, request: Request) -> Answer {
    answer_with(desk, request, &[])
}

/// Answers one question beside which something stands.
pub fn answer_with(desk: &mut Desk, request: Request, beside: &[u8]) -> Answer {
    let mut bytes = Vec::new();
    let ask = request.ask.with_facts_beside(beside);
    let says = desk.says(ask, beside, &mut bytes);
    Answer {
        number: request.number,
        says,
        bytes,
    }
}

/// Files by path.
pub type RunFiles = Vec<(String, Vec<u8>)>;

impl Desk {
    pub(super) fn known(&mut self, job: &JobId) -> Result<&mut Known, Refusal> {
        self.jobs.get_mut(job).ok_or(Refusal::UnknownJob)
    }

    fn says(&mut self, ask: Ask, beside: &[u8], bytes: &mut Vec<u8>) -> Result<Reply, Refusal> {
        match ask {
            Ask::Facts { .. }
            | Ask::Run { .. }
            | Ask::Survey { .. }
            | Ask::Template { .. }
            | Ask::Live { .. } => self.says_first(ask),
            Ask::Walk { job, casting, also } => {
                let (source, _) = self.known(&job)?.opened();
                let walk =
                    crate::prepare::walk::walk_with(&source, &casting, &also).map_err(cannot)?;
                Ok(Reply::Walk(Box::new(walk)))
            }
            Ask::Pooled { job } => {
                let (source, _) = self.known(&job)?.opened();
                Ok(Reply::Pooled(crate::prepare::walk::pooled(&source)))
            }
            Ask::Face { job, face } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::setout::face_view(&source, &face).map_err(cannot)?;
                Ok(Reply::Face(Box::new(view)))
            }
            Ask::ReadSheet { job, text, over } => {
                let (source, _) = self.known(&job)?.opened();
                let lay = if over { Lay::Over } else { Lay::Straight };
                crate::prepare::spreadsheet::read_sheet(source.job, &text, lay)
                    .map(|view| Reply::Sheet(Box::new(view)))
                    .map_err(|sentence| Refusal::CannotDo { sentence })
            }
            Ask::ReadingsFile { job, day } => {
                let (source, _) = self.known(&job)?.opened();
                let all = source.job.readings.iter().map(|r| &r.says);
                *bytes = crate::write::table::readings(all).into_bytes();
                Ok(Reply::File {
                    name: format!("{job}-readings-{day}.csv"),
                    media: "text/csv".to_owned(),
                    pages: 0,
                    printed: Vec::new(),
                    left_out: Vec::new(),
                })
            }
            Ask::DrawnPlace {
                job,
                face,
                of,
                at_mm,
            } => {
                let (source, _) = self.known(&job)?.opened();
                crate::prepare::setout::drawn_place(&source, &face, &of, at_mm)
                    .map(Reply::DrawnPlace)
                    .map_err(cannot)
            }
            Ask::PlaceInView {
                job,
                face,
                of,
                view,
            } => {
                let (source, _) = self.known(&job)?.opened();
                crate::prepare::setout::place_in_view(&source, &face, &of, &view)
                    .map(Reply::DrawnPlace)
                    .map_err(cannot)
            }
            Ask::Solid { job, of } => {
                let (source, _) = self.known(&job)?.opened();
                let (view, corners) = crate::prepare::solid::solid(&source, &of).map_err(cannot)?;
                *bytes = corners;
                Ok(Reply::Solid(Box::new(view)))
            }
            Ask::Checks { job, piece } => {
                let (source, _) = self.known(&job)?.opened();
                let features = crate::prepare::checks::checks(&source, &piece);
                let mut pairs = crate::prepare::pair_checks::pair_checks(&source, &piece);
                let runs = crate::prepare::run_checks::pair_runs(&source);
                for pair in &mut pairs {
                    let run = runs.iter().find(|r| r.pair == pair.pair);
                    pair.over_the_run = run.map(|r| r.says.clone());
                }
                Ok(Reply::Checks { features, pairs })
            }
            Ask::RunChecks { job } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::run_checks::overview(&source);
                Ok(Reply::RunChecks(Box::new(view)))
            }
            Ask::Seal { job, piece } => {
                let (source, _) = self.known(&job)?.opened();
                Ok(Reply::Seal(crate::prepare::sign_off::seal(
                    &source,
                    piece.as_ref(),
                )))
            }
            Ask::Judge {
                job,
                piece,
                feature,
                gaps,
            } => {
                let (source, _) = self.known(&job)?.opened();
                crate::prepare::checks::judge_gaps(&source, &feature, &piece, &gaps)
                    .map(|j| Reply::Judged(Box::new(j)))
                    .map_err(cannot)
            }
            Ask::JudgeMarks {
                job,
                piece,
                feature,
                readings,
            } => {
                let (source, _) = self.known(&job)?.opened();
                crate::prepare::check_marks::judge_marks(&source, &feature, &piece, &readings)
                    .map(|j| Reply::Judged(Box::new(j)))
                    .map_err(cannot)
            }
            Ask::RecordTable { job, piece, day } => {
                let (source, _) = self.known(&job)?.opened();
                let (reply, content) = super::files::record_table_file(&source, piece, &day);
                *bytes = content;
                Ok(reply)
            }
            Ask::Record {
                job,
                piece,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let file = super::files::record_file(&source, piece.as_ref(), (paper, &day));
                let (reply, content) = file.map_err(cannot)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Amendment { job, issue } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::amendments::amendment(&source, &issue)
                    .ok_or_else(|| cannot("this job has no such issue"))?;
                Ok(Reply::Amendment(Box::new(view)))
            }
            Ask::AmendmentPaper {
                job,
                issue,
                which,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let file = super::files::amendment_file(&source, &issue, which, (paper, &day));
                let (reply, content) = file.map_err(cannot)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Seat { job, piece, joint } => {
                let job = self.known(&job)?.opened().0.job;
                let view =
                    crate::prepare::seat::seat_view(job, &piece, joint.as_ref()).map_err(cannot)?;
                Ok(Reply::Seat(Box::new(view)))
            }
            Ask::History { job, of } => {
                let (source, ledger) = self.known(&job)?.opened();
                let view = crate::prepare::history::history(ledger, source.job, &of);
                Ok(Reply::History(Box::new(view)))
            }
            Ask::GoingBack { job, to, own, most } => {
                let (source, ledger) = self.known(&job)?.opened();
                crate::prepare::history::going_back(ledger, source.job, to, &own, most)
                    .map(|view| Reply::GoingBack(Box::new(view)))
                    .map_err(cannot)
            }
            Ask::Compared {
                job,
                from,
                to,
                most,
            } => {
                let (source, ledger) = self.known(&job)?.opened();
                crate::prepare::history::compared(ledger, source.job, (from, to), most)
                    .map(|view| Reply::Compared(Box::new(view)))
                    .map_err(cannot)
            }
            Ask::Holes { job, piece } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::holes::holes_view(&source, &piece).map_err(cannot)?;
                Ok(Reply::Holes(Box::new(view)))
            }
            Ask::JudgeHole {
                job,
                piece,
                fixing,
                hole,
                typed,
            } => {
                let (source, _) = self.known(&job)?.opened();
                crate::prepare::holes::judge_typed(&source, &fixing, &piece, hole, &typed)
                    .map(|j| Reply::HoleJudged(Box::new(j)))
                    .map_err(cannot)
            }
            Ask::DrillSheet {
                job,
                piece,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let file = super::files::drill_sheet_file(&source, &piece, (paper, &day));
                let (reply, content) = file.map_err(cannot)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Fewest { job, of, within } => {
                let (source, _) = self.known(&job)?.opened();
                let view = super::fewest::fewest_view(&source, &of, within).map_err(cannot)?;
                Ok(Reply::Fewest(Box::new(view)))
            }
            Ask::FewestFile {
                job,
                of,
                within,
                kind,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let file = super::fewest::fewest_file(&source, (&of, within), (paper, kind), &day)?;
                *bytes = file.content;
                Ok(Reply::File {
                    name: file.name,
                    media: file.media.to_owned(),
                    pages: file.pages,
                    printed: file.printed,
                    left_out: file.left_out,
                })
            }
            Ask::Rack {
                job,
                feature,
                piece,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let view = super::rack::rack_view(&source, feature.as_ref(), &piece);
                Ok(Reply::Rack(Box::new(view)))
            }
            Ask::Proof {
                job,
                printer,
                paper,
                typed,
            } => {
                let (source, _) = self.known(&job)?.opened();
                super::proof::proof_reply(&source, printer.as_ref(), paper, typed.as_ref())
            }
            Ask::ProofPage {
                job: _,
                printer,
                paper,
                day,
            } => {
                let (reply, content) = super::proof::proof_page(printer, paper, day)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Pips { job, face } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::setout::pips(&source, &face).map_err(cannot)?;
                Ok(Reply::Pips(Box::new(view)))
            }
            Ask::PipSheet {
                job,
                face,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let (reply, content) = super::proof::pip_file(&source, &face, paper, &day)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Patches {
                job,
                feature,
                piece,
                as_gores,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let of = match as_gores {
                    true => SheetOf::Gores(feature),
                    false => SheetOf::Patches(feature),
                };
                let view = super::patches::patches_view(&source, &of, &piece);
                Ok(Reply::Patches(view.map_err(cannot)?))
            }
            Ask::GridSheet {
                job,
                face,
                every,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let (reply, content) = super::proof::grid_file(&source, &face, every, paper, &day)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Rods {
                job,
                feature,
                pieces,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let (reply, content) =
                    super::proof::rods_file(&source, &feature, &pieces, paper, &day)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::LocatingStick {
                job,
                piece,
                joint,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let of = (&piece, joint.as_ref());
                let file = super::files::stick_file(&source, of, (paper, &day));
                let (reply, content) = file.map_err(cannot)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::TracingFrame { paper } => {
                let (reply, content) = super::proof::tracing_frame_file(paper)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::Board { job, part } => {
                let (source, _) = self.known(&job)?.opened();
                let view = crate::prepare::setout::board_view(&source, &part).map_err(cannot)?;
                Ok(Reply::Board(Box::new(view)))
            }
            Ask::BoardSheet {
                job,
                size,
                every,
                paper,
                day,
            } => {
                let (source, _) = self.known(&job)?.opened();
                let (reply, content) = super::proof::board_file(&source, size, every, paper, &day)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::GaugeCards { set, paper } => {
                let (reply, content) = super::proof::gauge_cards_file(set, paper)?;
                *bytes = content;
                Ok(reply)
            }
            Ask::File {
                job,
                kind,
                of,
                pieces,
                paper,
                day,
            } => {
                let (source, ledger) = self.known(&job)?.opened();
                let selection = Selection {
                    of,
                    pieces,
                    paper,
                    day,
                };
                let file = match (Pagewise::of(kind), kind) {
                    (Some(how), _) => super::files::page_file(&source, &selection, &how),
                    (None, FileKind::Zip) => {
                        super::whole_run::zip_file(&source, ledger, &selection)
                    }
                    (None, _) => super::files::pdf_file(&source, &selection),
                }
                .map_err(cannot)?;
                Ok(file.beside(bytes))
            }
            Ask::RunPart {
                job,
                kind,
                pieces,
                paper,
                day,
            } => {
                let (source, ledger) = self.known(&job)?.opened();
                let selection = Selection {
                    of: None,
                    pieces,
                    paper,
                    day,
                };
                let facts = ledger.len();
                let part = super::whole_run::part(&source, &selection, kind);
                *bytes = part.map_err(cannot)?;
                Ok(Reply::RunPart { facts })
            }
            Ask::RunTogether {
                job,
                kind,
                paper,
                day,
                facts,
            } => {
                let (source, ledger) = self.known(&job)?.opened();
                if ledger.len() != facts {
                    return Err(cannot("something was said since its parts were made"));
                }
                let selection = Selection {
                    of: None,
                    pieces: Vec::new(),
                    paper,
                    day,
                };
                let file = super::whole_run::together(&source, ledger, &selection, kind, beside);
                Ok(file.map_err(cannot)?.beside(bytes))
            }
        }
    }

    /// Every file of a run by path, as the command line writes them and the ZIP holds them; on the
    /// job's own paper where none is named.
    ///
    /// # Errors
    /// [`Refusal`] for an unknown job or a run nothing can be made of.
    pub fn run(
        &mut self,
        job: &JobId,
        paper: Option<Paper>,
        day: &str,
    ) -> Result<(RunFiles, Vec<String>), Refusal> {
        let (source, ledger) = self.known(job)?.opened();
        let selection = Selection {
            of: None,
            pieces: Vec::new(),
            paper: paper.or(source.job.about.paper).unwrap_or_default(),
            day: day.to_owned(),
        };
        let run = run_files(&source, ledger, &selection).map_err(cannot)?;
        Ok((run.files, run.left_out))
    }

    /// Takes in a job that was opened from a file.
    pub fn take(&mut self, opened: crate::read::job::Opened) -> JobId {
        let id = opened.ledger.job_id().clone();
        self.jobs.insert(
            id.clone(),
            Known {
                ledger: opened.ledger,
                attachments: opened.attachments,
                folded: None,
                news: Vec::new(),
            },
        );
        id
    }
}

/// Every sheet that a piece can have: stencils in the order of the design, then for each fixing its
/// drill template and its jig.
pub(super) fn sheets_in_order(job: &Job) -> Vec<SheetOf> {
    let stencils = job
        .features_in_order()
        .into_iter()
        .map(|(id, _)| SheetOf::Feature(id.clone()));
    let drilled = job.fixings.iter().filter(|(_, f)| f.pattern.is_some());
    let guides = drilled.flat_map(|(id, f)| {
        let bolted = f.purpose.unwrap_or(HolePurpose::Bolt) == HolePurpose::Bolt;
        let plate = bolted.then(|| SheetOf::Plate(id.clone()));
        let both = [SheetOf::Fixing(id.clone()), SheetOf::Jig(id.clone())];
        both.into_iter().chain(plate)
    });
    stencils.chain(guides).collect()
}
