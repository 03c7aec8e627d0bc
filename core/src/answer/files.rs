//! Files to print, download or keep: the same bytes from the page and from the command line.

use super::ask::FileKind;
use super::desk::sheets_in_order;
use super::reply::Reply;
use super::side_by_side::each;
use crate::job::{IssueId, Job, JointId, Ledger, PieceId, Printed, QuickCards, SheetOf};
use crate::prepare::amendments::{AmendmentPaper, amendment_paper, paper_name};
use crate::prepare::{Issued, PrepareError, Source, issue, record, sheet_title};
use crate::sheet::{Drawing, Paper};
use crate::write::dxf::{dxf_pages, dxf_r12_pages};
use crate::write::job::{SaveError, job_file};
use crate::write::pdf::{Loose, Part, PdfError, Press, Pressed, pdf};
use crate::write::svg::svg_pages;
use crate::write::zip::{Entry, ZipFolderError, apart, file_stem, zip_folder};

/// What a file is to hold.
#[derive(Debug, Clone)]
pub(super) struct Selection {
    pub(super) of: Option<SheetOf>,
    pub(super) pieces: Vec<PieceId>,
    pub(super) paper: Paper,
    pub(super) day: String,
}

/// A file with what it holds.
pub(super) struct RunFile {
    pub(super) name: String,
    pub(super) media: &'static str,
    pub(super) content: Vec<u8>,
    pub(super) pages: usize,
    pub(super) printed: Vec<Printed>,
    pub(super) left_out: Vec<String>,
}

/// All files of a run.
pub(super) struct Run {
    pub(super) files: Vec<(String, Vec<u8>)>,
    pub(super) left_out: Vec<String>,
    printed: Vec<Printed>,
    pages: usize,
}

/// Why no file was made.
#[derive(Debug, thiserror::Error)]
pub(super) enum FileError {
    #[error("nothing can be printed yet. {0}")]
    Nothing(String),
    #[error(transparent)]
    Prepare(#[from] PrepareError),
    #[error(transparent)]
    Pdf(#[from] PdfError),
    #[error(transparent)]
    Zip(#[from] ZipFolderError),
    #[error(transparent)]
    Save(#[from] SaveError),
}

struct Made {
    of: SheetOf,
    piece: PieceId,
    issued: Issued,
}

fn number_of(job: &Job, piece: &PieceId) -> String {
    job.pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| format!("{n:02}"))
}

/// So many sheets are made side by side before they are looked at: a drawing is a megabyte.
const TOGETHER: usize = 32;

fn make(source: &Source<'_>, selection: &Selection) -> Result<(Vec<Made>, Vec<String>), FileError> {
    make_and(source, selection, |_| (), |_, ()| {})
}

/// What was made, pressed, and left out in words.
type MadeAndPressed = (Vec<Made>, Vec<Pressed>, Vec<String>);

/// Made and pressed at once: what is pressed needs no drawing any more, and a run of hundreds would
/// take more room than a tablet has.
fn make_and_press(
    source: &Source<'_>,
    selection: &Selection,
    press: &mut Press,
) -> Result<MadeAndPressed, FileError> {
    let mut pressed = Vec::new();
    let each_by_itself = |issued: &Issued| Loose::of(&issued.drawing);
    let (made, left_out) = make_and(source, selection, each_by_itself, |made, loose| {
        let drawing = &mut made.issued.drawing;
        pressed.push(press.take(loose, drawing));
        for page in &mut drawing.pages {
            page.items = Vec::new();
        }
    })?;
    Ok((made, pressed, left_out))
}

/// Makes each sheet and does something with it by itself, side by side; then something with both, in
/// order.
fn make_and<D: Send>(
    source: &Source<'_>,
    selection: &Selection,
    by_itself: impl Fn(&Issued) -> D + Sync,
    mut and: impl FnMut(&mut Made, D),
) -> Result<(Vec<Made>, Vec<String>), FileError> {
    let job = source.job;
    let sheets = match &selection.of {
        Some(one) => vec![one.clone()],
        None => sheets_in_order(job),
    };
    let pieces: Vec<PieceId> = if selection.pieces.is_empty() {
        job.pieces_in_order()
            .into_iter()
            .map(|(id, _)| id.clone())
            .collect()
    } else {
        selection.pieces.clone()
    };
    let alone = sheets.len() == 1 && pieces.len() == 1;
    let (mut made, mut left_out) = (Vec::new(), Vec::new());
    let wanted: Vec<(&PieceId, &SheetOf)> = pieces
        .iter()
        .flat_map(|piece| sheets.iter().map(move |of| (piece, of)))
        .collect();
    let issued = wanted.chunks(TOGETHER).flat_map(|some| {
        each(some, |(piece, of)| {
            let issued = issue(source, *of, piece, selection.paper, &selection.day)?;
            let done = by_itself(&issued);
            Ok::<_, PrepareError>((issued, done))
        })
    });
    for ((piece, of), issued) in wanted.iter().copied().zip(issued) {
        match issued {
            Ok((issued, done)) => {
                let mut one = Made {
                    of: of.clone(),
                    piece: piece.clone(),
                    issued,
                };
                and(&mut one, done);
                made.push(one);
            }
            Err(why) if alone => return Err(why.into()),
            Err(why) => {
                let name = sheet_title(job, of);
                left_out.push(format!(
                    "{name} on piece {}: {why}",
                    number_of(job, piece).trim_start_matches('0')
                ));
            }
        }
    }
    if made.is_empty() {
        return Err(FileError::Nothing(
            left_out
                .first()
                .cloned()
                .unwrap_or_else(|| "This job has no pieces or nothing to paint".into()),
        ));
    }
    Ok((made, left_out))
}

fn stem(job: &Job, selection: &Selection) -> String {
    let mut name = file_stem(&job.file_stem());
    if let [piece] = selection.pieces.as_slice() {
        name.push_str(&format!("-piece-{}", number_of(job, piece)));
    }
    // A quick template has one thing to paint: its title says which.
    let quick = QuickCards::of_job(job).is_some();
    if let Some(of) = selection.of.as_ref().filter(|_| !quick) {
        name.push_str(&format!("-{of}"));
    }
    name
}

fn bound(press: &Press, job: &Job, parts: &[(&Made, &Pressed)]) -> Result<Vec<u8>, PdfError> {
    let marks: Vec<String> = parts
        .iter()
        .map(|(m, _)| {
            let name = sheet_title(job, &m.of);
            format!(
                "Piece {} · {name}",
                number_of(job, &m.piece).trim_start_matches('0')
            )
        })
        .collect();
    let parts: Vec<(&str, &Pressed)> = marks
        .iter()
        .map(String::as_str)
        .zip(parts.iter().map(|(_, p)| *p))
        .collect();
    press.bind(&job.title(), &parts)
}

fn pages(made: &[Made]) -> usize {
    made.iter().map(|m| m.issued.drawing.pages.len()).sum()
}

fn printed(made: &[Made], day: &str) -> Vec<Printed> {
    made.iter().map(|m| m.issued.printed(day)).collect()
}

/// One PDF.
pub(super) fn pdf_file(source: &Source<'_>, selection: &Selection) -> Result<RunFile, FileError> {
    let mut press = Press::default();
    let (made, pressed, left_out) = make_and_press(source, selection, &mut press)?;
    let parts: Vec<(&Made, &Pressed)> = made.iter().zip(&pressed).collect();
    Ok(RunFile {
        name: format!("{}.pdf", stem(source.job, selection)),
        media: "application/pdf",
        content: bound(&press, source.job, &parts)?,
        pages: pages(&made),
        printed: printed(&made, &selection.day),
        left_out,
    })
}

/// How pages are written one file each: the end of a file's name, its media type, the writer.
pub(super) struct Pagewise {
    tail: &'static str,
    media: &'static str,
    pages: fn(&Drawing) -> Vec<String>,
}

impl Pagewise {
    /// Of a kind of file; nothing where its pages go into one file.
    pub(super) fn of(kind: FileKind) -> Option<Self> {
        Some(match kind {
            FileKind::Pdf | FileKind::Zip => return None,
            FileKind::Svg => Self {
                tail: ".svg",
                media: "image/svg+xml",
                pages: svg_pages,
            },
            FileKind::Dxf => Self {
                tail: "-mm.dxf",
                media: "image/vnd.dxf",
                pages: dxf_pages,
            },
            FileKind::DxfR12 => Self {
                tail: "-mm-r12.dxf",
                media: "image/vnd.dxf",
                pages: dxf_r12_pages,
            },
        })
    }
}

/// One page as SVG, DXF (the name says the unit: some receivers ask for it) or DXF of release 12; a
/// ZIP of pages where there are several.
pub(super) fn page_file(
    source: &Source<'_>,
    selection: &Selection,
    how: &Pagewise,
) -> Result<RunFile, FileError> {
    let (made, left_out) = make(source, selection)?;
    let count = pages(&made);
    let printed = printed(&made, &selection.day);
    let stem = stem(source.job, selection);
    let packed = packed(&stem, page_entries(source.job, &made, how), how)?;
    Ok(RunFile {
        name: packed.name,
        media: packed.media,
        content: packed.content,
        pages: count,
        printed,
        left_out,
    })
}

/// Pages in one file, however many there are.
pub(super) struct Packed {
    pub(super) name: String,
    pub(super) media: &'static str,
    pub(super) content: Vec<u8>,
}

/// A page by itself, or several in a ZIP.
pub(super) fn packed(
    stem: &str,
    mut files: Vec<(String, Vec<u8>)>,
    how: &Pagewise,
) -> Result<Packed, ZipFolderError> {
    if files.len() == 1
        && let Some((_, content)) = files.pop()
    {
        return Ok(Packed {
            name: format!("{stem}{}", how.tail),
            media: how.media,
            content,
        });
    }
    Ok(Packed {
        name: format!("{stem}{}.zip", how.tail.replace('.', "-")),
        media: "application/zip",
        content: zipped(&files)?,
    })
}

/// The pages of one drawing as files under a name.
pub(super) fn page_texts(name: &str, drawing: &Drawing, how: &Pagewise) -> Vec<(String, Vec<u8>)> {
    let texts = (how.pages)(drawing);
    let many = texts.len() > 1;
    (1..)
        .zip(texts)
        .map(|(k, text)| {
            let sheet = if many {
                format!("-sheet-{k}")
            } else {
                String::new()
            };
            (format!("{name}{sheet}{}", how.tail), text.into_bytes())
        })
        .collect()
}

fn page_entries(job: &Job, made: &[Made], how: &Pagewise) -> Vec<(String, Vec<u8>)> {
    let each = made.iter().flat_map(|m| {
        let name = path_of(job, &m.piece, &m.of);
        page_texts(&name, &m.issued.drawing, how)
    });
    let mut files: Vec<_> = each.collect();
    // Two pieces of one number, made on two tablets, lie in one folder.
    apart(&mut files);
    files
}

/// Where the files of a sheet lie in a folder of the run, without what ends their names.
fn path_of(job: &Job, piece: &PieceId, of: &SheetOf) -> String {
    let name = file_stem(&of.to_string());
    format!("piece-{}/{name}", number_of(job, piece))
}

fn zipped(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, ZipFolderError> {
    let entries: Vec<Entry<'_>> = files
        .iter()
        .map(|(path, bytes)| Entry { path, bytes })
        .collect();
    zip_folder(&entries)
}

/// Every file of a run: a folder for each piece, one PDF of all, an index, the job itself.
///
/// Sheets are PDF here; a cutter's SVG is asked for one template at a time.
pub(super) fn run_files(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
) -> Result<Run, FileError> {
    let job = source.job;
    let mut press = Press::default();
    let (made, pressed, left_out) = make_and_press(source, selection, &mut press)?;
    let name = file_stem(&job.file_stem());
    let mut files = vec![(
        format!("{name}.samespot"),
        job_file(ledger, source.attachments)?,
    )];
    files.push((
        "index.txt".into(),
        index(job, &made, &left_out, selection).into_bytes(),
    ));
    let parts: Vec<(&Made, &Pressed)> = made.iter().zip(&pressed).collect();
    files.push((format!("{name}.pdf"), bound(&press, job, &parts)?));
    let alone = each(&parts, |part| {
        bound(&press, job, core::slice::from_ref(part))
    });
    for ((m, _), bytes) in parts.iter().zip(alone) {
        let path = format!("{}.pdf", path_of(job, &m.piece, &m.of));
        files.push((path, bytes?));
    }
    apart(&mut files);
    files.sort();
    Ok(Run {
        pages: pages(&made),
        printed: printed(&made, &selection.day),
        files,
        left_out,
    })
}

/// The same as one ZIP.
pub(super) fn zip_file(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
) -> Result<RunFile, FileError> {
    let run = run_files(source, ledger, selection)?;
    Ok(RunFile {
        name: format!("{}.zip", stem(source.job, selection)),
        media: "application/zip",
        content: zipped(&run.files)?,
        pages: run.pages,
        printed: run.printed,
        left_out: run.left_out,
    })
}

/// The approval page or the change slip of an issue.
pub(super) fn amendment_file(
    source: &Source<'_>,
    issue: &IssueId,
    which: AmendmentPaper,
    (paper, day): (Paper, &str),
) -> Result<(Reply, Vec<u8>), FileError> {
    let drawing = amendment_paper(source, issue, which, (paper, day))
        .ok_or_else(|| FileError::Nothing("This job has no such issue".into()))?
        .map_err(PrepareError::from)?;
    let number = source.job.issues.get(issue).and_then(|i| i.number);
    letter_file(
        source.job,
        &paper_name(number.unwrap_or(0), which),
        &drawing,
    )
}

/// The record of a piece or of the run.
pub(super) fn record_file(
    source: &Source<'_>,
    piece: Option<&PieceId>,
    (paper, day): (Paper, &str),
) -> Result<(Reply, Vec<u8>), FileError> {
    let drawing = record(source, piece, paper, day).map_err(PrepareError::from)?;
    let name = match piece {
        Some(piece) => format!("record-piece-{}", number_of(source.job, piece)),
        None => "record".into(),
    };
    letter_file(source.job, &name, &drawing)
}

/// The record of a piece, or of the run, as a table.
pub(super) fn record_table_file(
    source: &Source<'_>,
    piece: Option<PieceId>,
    day: &str,
) -> (Reply, Vec<u8>) {
    let of = match &piece {
        Some(piece) => format!("piece-{}-", number_of(source.job, piece)),
        None => String::new(),
    };
    let reply = Reply::File {
        name: format!("{}-record-{of}{day}.csv", source.job.file_stem()),
        media: "text/csv".to_owned(),
        pages: 0,
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    let text = crate::prepare::record_table(source, piece.as_ref());
    (reply, text.into_bytes())
}

/// The drill sheet of a piece.
pub(super) fn drill_sheet_file(
    source: &Source<'_>,
    piece: &PieceId,
    (paper, day): (Paper, &str),
) -> Result<(Reply, Vec<u8>), FileError> {
    let view = crate::prepare::holes::holes_view(source, piece)
        .map_err(|e| FileError::Nothing(e.to_string()))?;
    let drawing = crate::prepare::holes::drill_sheet(source.job, &view, paper, day)
        .map_err(PrepareError::from)?;
    letter_file(source.job, &format!("drill-sheet-{}", view.piece), &drawing)
}

/// The locating stick of a piece.
pub(super) fn stick_file(
    source: &Source<'_>,
    of: (&PieceId, Option<&JointId>),
    (paper, day): (Paper, &str),
) -> Result<(Reply, Vec<u8>), FileError> {
    let drawing = crate::prepare::seat::stick_sheet(source, of, paper, day)
        .map_err(|e| FileError::Nothing(e.to_string()))?;
    let number = number_of(source.job, of.0);
    letter_file(
        source.job,
        &format!("locating-stick-piece-{number}"),
        &drawing,
    )
}

/// A page to read as a PDF of its own.
fn letter_file(job: &Job, name: &str, drawing: &Drawing) -> Result<(Reply, Vec<u8>), FileError> {
    let content = pdf(
        &drawing.title,
        &[Part {
            bookmark: name,
            drawing,
        }],
    )?;
    let reply = Reply::File {
        name: format!("{}-{name}.pdf", job.file_stem()),
        media: "application/pdf".to_owned(),
        pages: drawing.pages.len(),
        printed: Vec::new(),
        left_out: Vec::new(),
    };
    Ok((reply, content))
}

/// A page that says what lies in the folder and what does not.
fn index(job: &Job, made: &[Made], left_out: &[String], selection: &Selection) -> String {
    let mut text = format!(
        "{}\n{} · {}\n\n",
        job.title(),
        selection.day,
        selection.paper.name()
    );
    if job.about.invented == Some(true) {
        text.push_str("INVENTED EXAMPLE\n\n");
    }
    for m in made {
        let name = sheet_title(job, &m.of);
        let p = &m.issued.prepared;
        text.push_str(&format!(
            "piece {}  {name}  sheet reference {}  {}  within {} of {} mm\n",
            number_of(job, &m.piece),
            m.issued.drawing.reference,
            m.issued.paper_words(selection.paper),
            crate::prepare::mm(p.budget.worst),
            crate::prepare::mm(p.allowed),
        ));
    }
    if !left_out.is_empty() {
        text.push_str("\nNot in this folder:\n");
        for why in left_out {
            text.push_str(&format!("- {why}\n"));
        }
    }
    text
}
