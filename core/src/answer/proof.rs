//! The printer's proof as the Printer check screen shows it, and pages that belong to no template.

use super::desk::cannot;
use super::reply::{Refusal, Reply};
use crate::job::{FaceId, FeatureId, Job, PieceId, PrinterId};
use crate::prepare::printer::{ProofTyped, proof_view};
use crate::prepare::rod::rods_of;
use crate::prepare::{Source, feature_title, prepare};
use crate::proof::{ProofWords, page};
use crate::sheet::{CardSet, Drawing, Paper, gauge_cards, tracing_frame};
use crate::units::Length;
use crate::write::pdf::{Part, pdf};

/// What a proof comes to, with one template of each feature held against it: the first piece that
/// has one stands for the run, whose pieces are alike to a few millimetres.
pub(super) fn proof_reply(
    source: &Source<'_>,
    printer: Option<&PrinterId>,
    paper: Paper,
    typed: Option<&ProofTyped>,
) -> Result<Reply, Refusal> {
    let job = source.job;
    let mut templates = Vec::new();
    // While somebody types only the readings are judged: templates take a while to work out.
    if typed.is_none() && printer.is_some_and(|p| job.last_proof(p, paper).is_some()) {
        for (id, feature) in &job.features {
            let pieces = job.pieces_in_order();
            let first = pieces.iter().find_map(|(p, _)| prepare(source, id, p).ok());
            templates.extend(first.map(|p| (feature_title(feature), p)));
        }
    }
    proof_view(job, printer, paper, typed, &templates)
        .map(|v| Reply::Proof(Box::new(v)))
        .map_err(cannot)
}

/// The page as PDF.
pub(super) fn proof_page(
    printer: String,
    paper: Paper,
    day: String,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let words = ProofWords {
        printer,
        day,
        program: format!("Samespot {}", env!("CARGO_PKG_VERSION")),
    };
    let drawing = page(paper, &words).map_err(cannot)?;
    let bookmark = "printer proof";
    let part = Part {
        bookmark,
        drawing: &drawing,
    };
    let content = pdf(&drawing.title, &[part]).map_err(cannot)?;
    let name = format!("printer-proof-{}.pdf", paper.name().to_lowercase());
    let reply = Reply::File {
        name,
        media: "application/pdf".to_owned(),
        pages: 1,
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    Ok((reply, content))
}

/// Rods as PDF.
pub(super) fn rods_file(
    source: &Source<'_>,
    feature: &FeatureId,
    pieces: &[PieceId],
    paper: Paper,
    day: &str,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let made = rods_of(source, feature, pieces, paper, day).map_err(cannot)?;
    let drawing = made.drawing;
    let part = Part {
        bookmark: &drawing.title,
        drawing: &drawing,
    };
    let content = pdf(&drawing.title, &[part]).map_err(cannot)?;
    let whom = match pieces {
        [one] => format!("piece-{}", source.job.number_of(one)),
        _ => "run".to_owned(),
    };
    let job = source.job.file_stem();
    let reply = Reply::File {
        name: format!(
            "{job}-{feature}-rods-{whom}-{}.pdf",
            paper.name().to_lowercase()
        ),
        media: "application/pdf".to_owned(),
        pages: drawing.pages.len(),
        printed: vec![made.printed],
        left_out: made.left_out,
    };
    Ok((reply, content))
}

/// The sheet to drill pips by, as PDF.
pub(super) fn pip_file(
    source: &Source<'_>,
    face: &FaceId,
    paper: Paper,
    day: &str,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let drawing = crate::prepare::setout::pip_sheet(source, face, paper, day).map_err(cannot)?;
    face_file(source, face, "pips", paper, &drawing)
}

/// The drawing of a face at full size with a grid, as PDF.
pub(super) fn grid_file(
    source: &Source<'_>,
    face: &FaceId,
    every: Length,
    paper: Paper,
    day: &str,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let drawing =
        crate::prepare::setout::grid_sheet(source, face, every, paper, day).map_err(cannot)?;
    face_file(source, face, "full-size", paper, &drawing)
}

/// The sheets of a gridded board, as PDF.
pub(super) fn board_file(
    source: &Source<'_>,
    size: [Length; 2],
    every: Length,
    paper: Paper,
    day: &str,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let drawing =
        crate::prepare::setout::board_sheet(source, size, every, paper, day).map_err(cannot)?;
    drawing_file(source.job, "gridded-board", paper, &drawing)
}

fn face_file(
    source: &Source<'_>,
    face: &FaceId,
    what: &str,
    paper: Paper,
    drawing: &Drawing,
) -> Result<(Reply, Vec<u8>), Refusal> {
    drawing_file(source.job, &format!("{face}-{what}"), paper, drawing)
}

fn drawing_file(
    job: &Job,
    what: &str,
    paper: Paper,
    drawing: &Drawing,
) -> Result<(Reply, Vec<u8>), Refusal> {
    let part = Part {
        bookmark: &drawing.title,
        drawing,
    };
    let content = pdf(&drawing.title, &[part]).map_err(cannot)?;
    let reply = Reply::File {
        name: format!(
            "{}-{what}-{}.pdf",
            job.file_stem(),
            paper.name().to_lowercase()
        ),
        media: "application/pdf".to_owned(),
        pages: drawing.pages.len(),
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    Ok((reply, content))
}

/// Gauge cards as PDF.
pub(super) fn gauge_cards_file(set: CardSet, paper: Paper) -> Result<(Reply, Vec<u8>), Refusal> {
    let drawing = gauge_cards(set, paper).map_err(cannot)?;
    let part = Part {
        bookmark: &drawing.title,
        drawing: &drawing,
    };
    let content = pdf(&drawing.title, &[part]).map_err(cannot)?;
    let which = match set {
        CardSet::EveryFourth => "every-fourth".to_owned(),
        CardSet::Around { number } => format!("round-{number}"),
        CardSet::All => "all".to_owned(),
    };
    let reply = Reply::File {
        name: format!("gauge-cards-{which}-{}.pdf", paper.name().to_lowercase()),
        media: "application/pdf".to_owned(),
        pages: drawing.pages.len(),
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    Ok((reply, content))
}

/// A tracing frame as PDF.
pub(super) fn tracing_frame_file(paper: Paper) -> Result<(Reply, Vec<u8>), Refusal> {
    let drawing = tracing_frame(paper).map_err(cannot)?;
    let part = Part {
        bookmark: &drawing.title,
        drawing: &drawing,
    };
    let content = pdf(&drawing.title, &[part]).map_err(cannot)?;
    let reply = Reply::File {
        name: format!("tracing-frame-{}.pdf", paper.name().to_lowercase()),
        media: "application/pdf".to_owned(),
        pages: drawing.pages.len(),
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    Ok((reply, content))
}
