//! Files to print, download or keep: the same bytes from the page and from the command line.

use super::ask::FileKind;
use super::desk::sheets_in_order;
use super::reply::Reply;
use super::side_by_side::each;
use crate::job::{IssueId, Job, JointId, PieceId, Printed, QuickCards, SheetOf};
use crate::prepare::amendments::{AmendmentPaper, amendment_paper, paper_name};
use crate::prepare::{PrepareError, Source, issue, issue_for_cutter, record, sheet_title};
use crate::sheet::{Drawing, Paper};
use crate::units::Length;
use crate::write::dxf::{dxf_pages, dxf_r12_pages};
use crate::write::job::SaveError;
use crate::write::pdf::{Loose, Part, PdfError, Press, Pressed, pdf};
use crate::write::svg::svg_pages;
use crate::write::zip::{Entry, ZipFolderError, apart, file_stem, zip_folder};
use serde::{Deserialize, Serialize};

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

impl RunFile {
    /// The answer, with the file's bytes beside it.
    pub(super) fn beside(self, bytes: &mut Vec<u8>) -> Reply {
        *bytes = self.content;
        Reply::File {
            name: self.name,
            media: self.media.to_owned(),
            pages: self.pages,
            printed: self.printed,
            left_out: self.left_out,
        }
    }
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
    #[error("the parts of the run do not go together: make it anew")]
    Parts,
}

/// One template as it is written page by page.
struct Ready {
    of: SheetOf,
    piece: PieceId,
    drawing: Drawing,
    printed: Printed,
}

/// One that could not be made.
pub(super) struct Missing {
    /// Which, and why, as it stands in a list.
    pub(super) says: String,
    why: PrepareError,
}

/// A template that was made and pressed: what files and their index say of it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Sheet {
    pub(super) of: SheetOf,
    pub(super) piece: PieceId,
    pub(super) reference: String,
    /// *2 sheets of A4*.
    pub(super) paper: String,
    pub(super) worst: Length,
    pub(super) allowed: Length,
    pub(super) printed: Printed,
    pub(super) pressed: Pressed,
}

pub(super) fn number_of(job: &Job, piece: &PieceId) -> String {
    job.pieces
        .get(piece)
        .and_then(|p| p.number)
        .map_or_else(|| piece.to_string(), |n| format!("{n:02}"))
}

/// So many sheets are made side by side before they are looked at: a drawing is a megabyte.
const TOGETHER: usize = 32;

/// Made and pressed at once: what is pressed needs no drawing any more, and a run of hundreds would
/// take more room than a tablet has.
pub(super) fn make_and_press(
    source: &Source<'_>,
    selection: &Selection,
    press: &mut Press,
) -> (Vec<Sheet>, Vec<Missing>) {
    let mut sheets = Vec::new();
    let by_itself = |of: &SheetOf, piece: &PieceId| {
        let issued = issue(source, of, piece, selection.paper, &selection.day)?;
        let loose = Loose::of(&issued.drawing);
        Ok((issued, loose))
    };
    let missing = make_each(
        source,
        selection,
        by_itself,
        |of, piece, (issued, loose)| {
            sheets.push(Sheet {
                of: of.clone(),
                piece: piece.clone(),
                reference: issued.drawing.reference.clone(),
                paper: issued.paper_words(selection.paper),
                worst: issued.prepared.budget.worst,
                allowed: issued.prepared.allowed,
                printed: issued.printed(&selection.day),
                pressed: press.take(loose, &issued.drawing),
            });
        },
    );
    (sheets, missing)
}

/// What was made, and what was left out in words; why, where nothing was made.
pub(super) fn some_of<T>(
    made: Vec<T>,
    missing: Vec<Missing>,
) -> Result<(Vec<T>, Vec<String>), FileError> {
    if made.is_empty() {
        let alone = missing.len() == 1;
        return Err(match missing.into_iter().next() {
            Some(one) if alone => one.why.into(),
            Some(first) => FileError::Nothing(first.says),
            None => FileError::Nothing("This job has no pieces or nothing to paint".into()),
        });
    }
    Ok((made, missing.into_iter().map(|m| m.says).collect()))
}

/// Makes each sheet by itself, side by side; then does something with it, in order.
fn make_each<M: Send>(
    source: &Source<'_>,
    selection: &Selection,
    by_itself: impl Fn(&SheetOf, &PieceId) -> Result<M, PrepareError> + Sync,
    mut and: impl FnMut(&SheetOf, &PieceId, M),
) -> Vec<Missing> {
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
    let mut missing = Vec::new();
    let wanted: Vec<(&PieceId, &SheetOf)> = pieces
        .iter()
        .flat_map(|piece| sheets.iter().map(move |of| (piece, of)))
        .collect();
    let made = wanted
        .chunks(TOGETHER)
        .flat_map(|some| each(some, |(piece, of)| by_itself(of, piece)));
    for ((piece, of), made) in wanted.iter().copied().zip(made) {
        match made {
            Ok(made) => and(of, piece, made),
            Err(why) => {
                let name = sheet_title(job, of);
                let says = format!(
                    "{name} on piece {}: {why}",
                    number_of(job, piece).trim_start_matches('0')
                );
                missing.push(Missing { says, why });
            }
        }
    }
    missing
}

pub(super) fn stem(job: &Job, selection: &Selection) -> String {
    let mut name = file_stem(&job.file_stem());
    if let [piece] = selection.pieces.as_slice() {
        name.push_str(&format!("-piece-{}", number_of(job, piece)));
    }
    // A quick template has one thing to paint: its title says which.
    let quick = QuickCards::of_job(job).is_some();
    if let Some(of) = selection.of.as_ref().filter(|_| !quick) {
        name.push_str(&format!("-{}", job.sheet_stem(of)));
    }
    name
}

/// Sheets as one PDF, each with its bookmark.
pub(super) fn bound(press: &Press, job: &Job, sheets: &[Sheet]) -> Result<Vec<u8>, PdfError> {
    let mark = |s: &Sheet| {
        let name = sheet_title(job, &s.of);
        let number = number_of(job, &s.piece);
        format!("Piece {} · {name}", number.trim_start_matches('0'))
    };
    let marks: Vec<String> = sheets.iter().map(mark).collect();
    let marks = marks.iter().map(String::as_str);
    let parts: Vec<(&str, &Pressed)> = marks.zip(sheets.iter().map(|s| &s.pressed)).collect();
    press.bind(&job.title(), &parts)
}

/// One PDF.
pub(super) fn pdf_file(source: &Source<'_>, selection: &Selection) -> Result<RunFile, FileError> {
    let mut press = Press::default();
    let (sheets, missing) = make_and_press(source, selection, &mut press);
    let (sheets, left_out) = some_of(sheets, missing)?;
    bound_file(source.job, selection, &press, sheets, left_out)
}

/// The same of sheets that are made.
pub(super) fn bound_file(
    job: &Job,
    selection: &Selection,
    press: &Press,
    sheets: Vec<Sheet>,
    left_out: Vec<String>,
) -> Result<RunFile, FileError> {
    Ok(RunFile {
        name: format!("{}.pdf", stem(job, selection)),
        media: "application/pdf",
        content: bound(press, job, &sheets)?,
        pages: sheets.iter().map(|s| s.pressed.pages()).sum(),
        printed: sheets.into_iter().map(|s| s.printed).collect(),
        left_out,
    })
}

/// How pages are written one file each: the end of a file's name, its media type, the writer.
pub(super) struct Pagewise {
    tail: &'static str,
    media: &'static str,
    pages: fn(&Drawing) -> Vec<String>,
    /// A cutter has no sheets: a template is one page, as large as it is.
    pub(super) in_one_piece: bool,
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
                in_one_piece: false,
            },
            FileKind::Dxf => Self {
                tail: "-mm.dxf",
                media: "image/vnd.dxf",
                pages: dxf_pages,
                in_one_piece: true,
            },
            FileKind::DxfR12 => Self {
                tail: "-mm-r12.dxf",
                media: "image/vnd.dxf",
                pages: dxf_r12_pages,
                in_one_piece: true,
            },
        })
    }
}

/// One page as SVG, or one template as DXF (the name says the unit: some receivers ask for it) or DXF of
/// release 12; a ZIP where there are several.
pub(super) fn page_file(
    source: &Source<'_>,
    selection: &Selection,
    how: &Pagewise,
) -> Result<RunFile, FileError> {
    let day = selection.day.as_str();
    let by_itself = |of: &SheetOf, piece: &PieceId| {
        if how.in_one_piece {
            return issue_for_cutter(source, of, piece, selection.paper, day);
        }
        let issued = issue(source, of, piece, selection.paper, day)?;
        let printed = issued.printed(day);
        Ok((issued.drawing, printed))
    };
    let mut made = Vec::new();
    let missing = make_each(
        source,
        selection,
        by_itself,
        |of, piece, (drawing, printed)| {
            made.push(Ready {
                of: of.clone(),
                piece: piece.clone(),
                drawing,
                printed,
            });
        },
    );
    let (made, left_out) = some_of(made, missing)?;
    let count = made.iter().map(|m| m.drawing.pages.len()).sum();
    let stem = stem(source.job, selection);
    let packed = packed(&stem, page_entries(source.job, &made, how), how)?;
    Ok(RunFile {
        name: packed.name,
        media: packed.media,
        content: packed.content,
        pages: count,
        printed: made.into_iter().map(|m| m.printed).collect(),
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

fn page_entries(job: &Job, made: &[Ready], how: &Pagewise) -> Vec<(String, Vec<u8>)> {
    let each = made.iter().flat_map(|m| {
        let name = path_of(job, &m.piece, &m.of);
        page_texts(&name, &m.drawing, how)
    });
    let mut files: Vec<_> = each.collect();
    // Two pieces of one number, made on two tablets, lie in one folder.
    apart(&mut files);
    files
}

/// Where the files of a sheet lie in a folder of the run, without what ends their names.
pub(super) fn path_of(job: &Job, piece: &PieceId, of: &SheetOf) -> String {
    let name = file_stem(&job.sheet_stem(of));
    format!("piece-{}/{name}", number_of(job, piece))
}

pub(super) fn zipped(files: &[(String, Vec<u8>)]) -> Result<Vec<u8>, ZipFolderError> {
    let entries: Vec<Entry<'_>> = files
        .iter()
        .map(|(path, bytes)| Entry { path, bytes })
        .collect();
    zip_folder(&entries)
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
