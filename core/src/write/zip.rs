//! Files of a run in one ZIP: stored, in the order given, with constant times.

use ::zip::result::ZipError;
use ::zip::write::SimpleFileOptions;
use ::zip::{CompressionMethod, DateTime, System, ZipWriter};
use std::collections::BTreeSet;
use std::io::{Cursor, Write};

/// A file and where it goes: `piece-07/eye-left.pdf`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entry<'a> {
    /// Folders and name, with `/` between.
    pub path: &'a str,
    /// What is in it.
    pub bytes: &'a [u8],
}

/// Why no ZIP was written.
#[derive(Debug, thiserror::Error)]
pub enum ZipFolderError {
    /// A path that would land outside the folder it is unpacked in, or that no system accepts.
    #[error("“{0}” can't be the name of a file in a folder: leave out .. : \\ and a leading /")]
    Path(String),
    /// Two files of one name.
    #[error(
        "two files are called “{0}”: a computer that tells no small letters from capitals keeps only one"
    )]
    Twice(String),
    /// The writer gave up.
    #[error("the folder could not be packed: {0}")]
    Pack(#[from] ZipError),
    /// Writing to memory failed.
    #[error("the folder could not be packed: {0}")]
    Write(#[from] std::io::Error),
}

fn sound(path: &str) -> bool {
    !path.is_empty()
        && path
            .split('/')
            .all(|part| !part.is_empty() && part != "." && part != "..")
        && !path
            .chars()
            .any(|c| c == '\\' || c == ':' || c.is_control())
}

/// Packs files into a ZIP.
///
/// Nothing in it depends on the day or the machine: entry times are the format's first day, the
/// system is always named the same, nothing is compressed.
///
/// # Errors
/// A path that leads out of the folder, or two that are the same but for capitals.
pub fn zip_folder(entries: &[Entry<'_>]) -> Result<Vec<u8>, ZipFolderError> {
    let options = SimpleFileOptions::default()
        .compression_method(CompressionMethod::Stored)
        .last_modified_time(DateTime::default())
        .unix_permissions(0o644)
        .system(System::Unix);
    let mut seen = BTreeSet::new();
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    for entry in entries {
        if !sound(entry.path) {
            return Err(ZipFolderError::Path(entry.path.into()));
        }
        if !seen.insert(entry.path.to_lowercase()) {
            return Err(ZipFolderError::Twice(entry.path.into()));
        }
        out.start_file(entry.path, options)?;
        out.write_all(entry.bytes)?;
    }
    Ok(out.finish()?.into_inner())
}
