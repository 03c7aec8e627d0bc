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
    #[error(
        "“{0}” can't be the name of a file in a folder: leave out : \\ < > \" | ? * and a leading /, a point or a space at the end, and names of devices (CON, NUL, COM1)"
    )]
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

/// Names that Windows keeps for devices, whatever stands after a point (Microsoft, *Naming files,
/// paths, and namespaces*).
fn is_a_device(name: &str) -> bool {
    let stem = name.split('.').next().unwrap_or_default().trim_end();
    let stem = stem.to_ascii_lowercase();
    matches!(stem.as_str(), "con" | "prn" | "aux" | "nul")
        || ["com", "lpt"].iter().any(|kind| {
            stem.strip_prefix(kind)
                .is_some_and(|n| matches!(n.as_bytes(), [b'0'..=b'9']))
        })
}

/// A name that every system takes: one that some keep for a device has a hyphen after it.
#[must_use]
pub fn file_stem(name: &str) -> String {
    if is_a_device(name) {
        format!("{name}-")
    } else {
        name.to_owned()
    }
}

/// Gives each of two files of one name a name of its own: the second is `eye-2.pdf`.
pub fn apart(files: &mut [(String, Vec<u8>)]) {
    let mut seen = BTreeSet::new();
    for (path, _) in files {
        let folder = path.rfind('/').map_or(0, |at| at + 1);
        let point = path.rfind('.').filter(|at| *at > folder);
        let (stem, tail) = path.split_at(point.unwrap_or(path.len()));
        let again = (2_usize..).map(|n| format!("{stem}-{n}{tail}"));
        let own = core::iter::once(path.clone())
            .chain(again)
            .find(|p| !seen.contains(&p.to_lowercase()));
        if let Some(own) = own {
            seen.insert(own.to_lowercase());
            *path = own;
        }
    }
}

fn sound(path: &str) -> bool {
    path.split('/').all(|part| {
        // A system that drops what ends a name makes two names one, and “..” leads out.
        !part.is_empty() && !part.ends_with(['.', ' ']) && !is_a_device(part)
    }) && !path
        .chars()
        .any(|c| matches!(c, '\\' | ':' | '<' | '>' | '"' | '|' | '?' | '*') || c.is_control())
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
