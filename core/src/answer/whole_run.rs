//! The files of a whole run: made by one, or in parts side by side and put together by one. The bytes
//! are the same either way.

use super::ask::FileKind;
use super::files::{
    FileError, Missing, RunFile, Selection, Sheet, bound, bound_file, make_and_press, number_of,
    path_of, some_of, stem, zipped,
};
use super::side_by_side::each;
use crate::job::{Job, Ledger};
use crate::prepare::Source;
use crate::write::job::job_file;
use crate::write::pdf::Press;
use crate::write::zip::{apart, file_stem};
use serde::{Deserialize, Serialize};

/// All files of a run.
pub(super) struct Run {
    pub(super) files: Vec<(String, Vec<u8>)>,
    pub(super) left_out: Vec<String>,
    sheets: Vec<Sheet>,
}

/// A sheet's own PDF by its path in the folder.
type Alone = (String, Vec<u8>);

/// Each sheet as a file of its own.
fn each_alone(job: &Job, press: &Press, sheets: &[Sheet]) -> Result<Vec<Alone>, FileError> {
    let bytes = each(sheets, |sheet| {
        bound(press, job, core::slice::from_ref(sheet))
    });
    let path = |s: &Sheet| format!("{}.pdf", path_of(job, &s.piece, &s.of));
    let both = sheets.iter().zip(bytes);
    both.map(|(sheet, bytes)| Ok((path(sheet), bytes?)))
        .collect()
}

/// Every file of a run: a folder for each piece, one PDF of all, an index, the job itself.
///
/// Sheets are PDF here; a cutter's SVG is asked for one template at a time.
pub(super) fn run_files(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
) -> Result<Run, FileError> {
    let mut press = Press::default();
    let (sheets, missing) = make_and_press(source, selection, &mut press);
    let (sheets, left_out) = some_of(sheets, missing)?;
    let alone = each_alone(source.job, &press, &sheets)?;
    put_together(source, ledger, selection, &press, sheets, alone, left_out)
}

fn put_together(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
    press: &Press,
    sheets: Vec<Sheet>,
    alone: Vec<Alone>,
    left_out: Vec<String>,
) -> Result<Run, FileError> {
    let job = source.job;
    let saved = job_file(ledger, source.attachments)?;
    let index = index(job, &sheets, &left_out, selection);
    let name = file_stem(&job.file_stem());
    let mut files = vec![
        (format!("{name}.samespot"), saved),
        ("index.txt".into(), index.into_bytes()),
        (format!("{name}.pdf"), bound(press, job, &sheets)?),
    ];
    files.extend(alone);
    // Two pieces of one number, made on two tablets, lie in one folder.
    apart(&mut files);
    files.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(Run {
        files,
        left_out,
        sheets,
    })
}

/// The same as one ZIP.
pub(super) fn zip_file(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
) -> Result<RunFile, FileError> {
    zip_of(source.job, selection, run_files(source, ledger, selection)?)
}

fn zip_of(job: &Job, selection: &Selection, run: Run) -> Result<RunFile, FileError> {
    Ok(RunFile {
        name: format!("{}.zip", stem(job, selection)),
        media: "application/zip",
        content: zipped(&run.files)?,
        pages: run.sheets.iter().map(|s| s.pressed.pages()).sum(),
        printed: run.sheets.into_iter().map(|s| s.printed).collect(),
        left_out: run.left_out,
    })
}

/// The sheets of some pieces on their way to who puts the run together. What is large and packed
/// already stands behind, in the order in which it is met.
#[derive(Debug, Serialize, Deserialize)]
struct Part {
    sheets: Vec<Sheet>,
    press: Press,
    /// Paths of the sheets' own files.
    alone: Vec<String>,
    left_out: Vec<String>,
    /// How long each of the things behind is.
    lengths: Vec<usize>,
}

impl Part {
    /// Each of the things that stand behind, but for the sheets' own files.
    fn packed(&mut self, each: &mut impl FnMut(&mut Vec<u8>)) {
        self.press.packed(each);
        for sheet in &mut self.sheets {
            sheet.pressed.packed(each);
        }
    }
}

/// Makes the sheets of some pieces of a run, for [`together`].
pub(super) fn part(
    source: &Source<'_>,
    selection: &Selection,
    kind: FileKind,
) -> Result<Vec<u8>, FileError> {
    let mut press = Press::default();
    let (sheets, missing) = make_and_press(source, selection, &mut press);
    let alone = if kind == FileKind::Zip {
        each_alone(source.job, &press, &sheets)?
    } else {
        Vec::new()
    };
    let (paths, files): (Vec<String>, Vec<Vec<u8>>) = alone.into_iter().unzip();
    let mut part = Part {
        sheets,
        press,
        alone: paths,
        left_out: missing.into_iter().map(|m: Missing| m.says).collect(),
        lengths: Vec::new(),
    };
    let mut behind = Vec::new();
    let mut lengths = Vec::new();
    part.packed(&mut |packed| {
        lengths.push(packed.len());
        behind.append(packed);
    });
    for file in files {
        lengths.push(file.len());
        behind.extend_from_slice(&file);
    }
    part.lengths = lengths;
    let head = serde_json::to_vec(&part).map_err(|_| FileError::Parts)?;
    let mut out = Vec::with_capacity(8 + head.len() + behind.len());
    out.extend_from_slice(&(head.len() as u64).to_le_bytes());
    out.extend_from_slice(&head);
    out.extend_from_slice(&behind);
    Ok(out)
}

/// Takes so many bytes off the front.
fn off<'a>(bytes: &mut &'a [u8], many: usize) -> Result<&'a [u8], FileError> {
    let (front, rest) = bytes.split_at_checked(many).ok_or(FileError::Parts)?;
    *bytes = rest;
    Ok(front)
}

/// The next part, and its sheets' own files.
fn next(bytes: &mut &[u8]) -> Result<(Part, Vec<Alone>), FileError> {
    let long = off(bytes, 8)?.try_into().map_err(|_| FileError::Parts)?;
    let long = usize::try_from(u64::from_le_bytes(long)).map_err(|_| FileError::Parts)?;
    let head = off(bytes, long)?;
    let head = core::str::from_utf8(head).map_err(|_| FileError::Parts)?;
    let mut part: Part = crate::json::read(head).map_err(|_| FileError::Parts)?;
    let mut lengths = core::mem::take(&mut part.lengths).into_iter();
    let mut behind = || off(bytes, lengths.next().ok_or(FileError::Parts)?).map(<[u8]>::to_vec);
    let mut fault = None;
    part.packed(&mut |packed| match behind() {
        Ok(whole) => *packed = whole,
        Err(e) => fault = Some(e),
    });
    if let Some(fault) = fault {
        return Err(fault);
    }
    let mut alone = Vec::new();
    for path in core::mem::take(&mut part.alone) {
        alone.push((path, behind()?));
    }
    Ok((part, alone))
}

/// Puts the parts of a run together, in the order of its pieces.
///
/// # Errors
/// As one alone; and [`FileError::Parts`] where they do not go together, when one alone is to make it.
pub(super) fn together(
    source: &Source<'_>,
    ledger: &Ledger,
    selection: &Selection,
    kind: FileKind,
    mut bytes: &[u8],
) -> Result<RunFile, FileError> {
    let mut press = Press::default();
    let (mut sheets, mut alone, mut left_out) = (Vec::new(), Vec::new(), Vec::new());
    while !bytes.is_empty() {
        let (part, files) = next(&mut bytes)?;
        // A letter's name that means another shape in another part: whoever makes all draws one out.
        if !press.join(part.press) {
            return Err(FileError::Parts);
        }
        sheets.extend(part.sheets);
        alone.extend(files);
        left_out.extend(part.left_out);
    }
    if sheets.is_empty() {
        // Why, as one alone says it.
        return Err(FileError::Parts);
    }
    if kind == FileKind::Zip {
        let run = put_together(source, ledger, selection, &press, sheets, alone, left_out)?;
        zip_of(source.job, selection, run)
    } else {
        bound_file(source.job, selection, &press, sheets, left_out)
    }
}

/// A page that says what lies in the folder and what does not.
fn index(job: &Job, sheets: &[Sheet], left_out: &[String], selection: &Selection) -> String {
    let mut text = format!(
        "{}\n{} · {}\n\n",
        job.title(),
        selection.day,
        selection.paper.name()
    );
    if job.about.invented == Some(true) {
        text.push_str("INVENTED EXAMPLE\n\n");
    }
    for s in sheets {
        let name = crate::prepare::sheet_title(job, &s.of);
        text.push_str(&format!(
            "piece {}  {name}  sheet reference {}  {}  within {} of {} mm\n",
            number_of(job, &s.piece),
            s.reference,
            s.paper,
            crate::prepare::mm(s.worst),
            crate::prepare::mm(s.allowed),
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
