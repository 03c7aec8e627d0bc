//! The fewest templates of a feature as the Templates screen shows them, and their file.

use super::ask::FileKind;
use super::files::{Packed, Pagewise, packed, page_texts};
use super::reply::Refusal;
use crate::job::{Job, PieceId, Printed, SheetOf};
use crate::prepare::{
    FewestTemplates, PrepareError, SharedTemplate, Source, fewest_templates, issue,
    issue_for_cutter, issue_shared, issue_shared_for_cutter, sheet_title,
};
use crate::sheet::Paper;
use crate::units::Length;
use crate::write::pdf::{Part, pdf};
use serde::{Deserialize, Serialize};

/// The fewest templates of one feature.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FewestView {
    /// What they carry.
    pub of: SheetOf,
    /// *Eye, left*.
    pub name: String,
    /// The radius asked for.
    pub allowed: Length,
    /// Each template, the one that serves the lowest number first.
    pub templates: Vec<SharedView>,
    /// No fewer are possible.
    pub at_least: usize,
    /// The number of templates against the tolerance.
    pub curve: Vec<CurveView>,
    /// Pieces left out, each with its sentence.
    pub without: Vec<String>,
}

/// One template and what it leaves on each piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SharedView {
    /// *1 to 6, 9*.
    pub pieces: String,
    /// How it is laid.
    pub laying: String,
    /// Number of each piece, and what is left on it at worst.
    pub errors: Vec<(String, Length)>,
    /// The greatest of them.
    pub worst: Length,
    /// All of them are within what is asked.
    pub fits: bool,
    /// Letters of the crosses, and how far each may be off its mark.
    pub crosses: Vec<(String, Length)>,
    /// How far the drawing's own stencil would land off on one of its pieces.
    pub as_drawn: Length,
    /// Off which casting it is pulled and how it rests on the others, where it is a shell.
    pub rests: Option<String>,
    /// Where it is a set of patches: which pieces would be divided otherwise by themselves.
    #[serde(default)]
    pub otherwise: Option<String>,
}

/// A point of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurveView {
    /// The radius asked for.
    pub tolerance: Length,
    /// Templates it takes.
    pub templates: usize,
    /// Pieces that not even a template of their own brings within it.
    pub beyond: usize,
}

fn number(job: &Job, piece: &PieceId) -> String {
    job.pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| n.to_string())
}

/// *1 to 6, 9*.
pub(super) fn list(job: &Job, pieces: &[PieceId]) -> String {
    let numbers: Vec<String> = pieces.iter().map(|p| number(job, p)).collect();
    let mut said: Vec<String> = Vec::new();
    let mut rest = numbers.as_slice();
    while let Some(first) = rest.first() {
        let run = first.parse::<u32>().map_or(1, |n| {
            (n..)
                .zip(rest)
                .take_while(|(want, have)| have.parse() == Ok(*want))
                .count()
        });
        let taken = if run >= 3 { run } else { 1 };
        said.push(match rest.get(taken - 1) {
            Some(last) if taken > 1 => format!("{first} to {last}"),
            _ => first.clone(),
        });
        rest = rest.get(taken..).unwrap_or_default();
    }
    said.join(", ")
}

fn serves(t: &SharedTemplate) -> Vec<PieceId> {
    t.serves.iter().map(|(p, _)| p.clone()).collect()
}

/// *By itself piece 7 would be divided otherwise; on these patches it is within what stands here*.
fn otherwise(job: &Job, pieces: &[PieceId]) -> Option<String> {
    let list = list(job, pieces);
    match pieces.len() {
        0 => None,
        1 => Some(format!(
            "By itself piece {list} would be divided otherwise; on this set it lands as well as stands here. For patches of its own, take it in hand and download them above"
        )),
        _ => Some(format!(
            "By themselves pieces {list} would be divided otherwise; on this set they land as well as stands here. For patches of its own, take one in hand and download them above"
        )),
    }
}

/// The view.
pub(super) fn fewest_view(
    source: &Source<'_>,
    of: &SheetOf,
    within: Option<Length>,
) -> Result<FewestView, PrepareError> {
    let job = source.job;
    let found = fewest_templates(source, of, within)?;
    let shown = |t: &SharedTemplate| {
        let worst = t
            .serves
            .iter()
            .map(|(_, b)| b.worst.mm())
            .fold(0.0, f64::max);
        SharedView {
            pieces: list(job, &serves(t)),
            laying: t.laying_words.clone(),
            errors: t
                .serves
                .iter()
                .map(|(p, b)| (number(job, p), b.worst))
                .collect(),
            worst: Length::from_mm(worst),
            fits: Length::from_mm(worst).to_um() <= found.allowed.to_um() + 1,
            crosses: t
                .crosses
                .iter()
                .map(|c| (c.letter.clone(), c.within))
                .collect(),
            as_drawn: t.nominal_lands,
            rests: t.rest.as_ref().map(|r| r.in_words(|p| number(job, p))),
            otherwise: otherwise(job, &t.otherwise),
        }
    };
    Ok(FewestView {
        of: of.clone(),
        name: sheet_title(job, of),
        allowed: found.allowed,
        templates: found.templates.iter().map(shown).collect(),
        at_least: found.at_least,
        curve: found
            .curve
            .iter()
            .map(|c| CurveView {
                tolerance: c.tolerance,
                templates: c.templates,
                beyond: c.beyond,
            })
            .collect(),
        without: found
            .without
            .iter()
            .map(|(p, why)| format!("Piece {}: {why}", number(job, p)))
            .collect(),
    })
}

/// The sheets of the fewest templates: one PDF with a bookmark for each, or pages for a cutter.
pub(super) struct FewestFile {
    pub(super) name: String,
    pub(super) media: &'static str,
    pub(super) content: Vec<u8>,
    pub(super) pages: usize,
    pub(super) printed: Vec<Printed>,
    pub(super) left_out: Vec<String>,
}

pub(super) fn fewest_file(
    source: &Source<'_>,
    (of, within): (&SheetOf, Option<Length>),
    (paper, kind): (Paper, FileKind),
    day: &str,
) -> Result<FewestFile, Refusal> {
    let cannot = |why: String| Refusal::CannotDo { sentence: why };
    let job = source.job;
    let found: FewestTemplates =
        fewest_templates(source, of, within).map_err(|e| cannot(e.to_string()))?;
    let name = sheet_title(job, of);
    let (mut drawings, mut printed) = (Vec::new(), Vec::new());
    let count = found.templates.len();
    let how = Pagewise::of(kind);
    let in_one_piece = how.as_ref().is_some_and(|h| h.in_one_piece);
    for (k, template) in found.templates.iter().enumerate() {
        let pieces = serves(template);
        let made = match pieces.as_slice() {
            // A template of one piece is that piece's own, with the same reference.
            [piece] if in_one_piece => issue_for_cutter(source, of, piece, paper, day),
            [piece] => issue(source, of, piece, paper, day).map(|i| {
                let fact = i.printed(day);
                (i.drawing, fact)
            }),
            _ if in_one_piece => {
                issue_shared_for_cutter(source, template, (k + 1, count), paper, day)
            }
            _ => issue_shared(source, template, (k + 1, count), paper, day),
        };
        let (drawing, fact) = made.map_err(|e| cannot(e.to_string()))?;
        let noun = if pieces.len() == 1 { "Piece" } else { "Pieces" };
        drawings.push((format!("{noun} {} · {name}", list(job, &pieces)), drawing));
        printed.push(fact);
    }
    let called = job.sheet_stem(of);
    let stem = format!("{}-{called}-fewest", job.file_stem());
    let file = match how {
        Some(how) => {
            let files = (1..)
                .zip(&drawings)
                .flat_map(|(k, (_, d))| page_texts(&format!("{called}-{k}-of-{count}"), d, &how))
                .collect();
            packed(&stem, files, &how).map_err(|e| cannot(e.to_string()))?
        }
        None => {
            let parts: Vec<Part<'_>> = drawings
                .iter()
                .map(|(bookmark, drawing)| Part { bookmark, drawing })
                .collect();
            Packed {
                name: format!("{stem}.pdf"),
                media: "application/pdf",
                content: pdf(&job.title(), &parts).map_err(|e| cannot(e.to_string()))?,
            }
        }
    };
    Ok(FewestFile {
        name: file.name,
        media: file.media,
        content: file.content,
        pages: drawings.iter().map(|(_, d)| d.pages.len()).sum(),
        printed,
        left_out: found
            .without
            .iter()
            .map(|(p, why)| format!("{name} on piece {}: {why}", number(job, p)))
            .collect(),
    })
}
