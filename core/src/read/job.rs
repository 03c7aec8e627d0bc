//! A job from a file: a `.samespot` ZIP, or a bare `job.json`.

use super::typed_pose::typed_pose;
use crate::job::{FORMAT_VERSION, Fact, JobId, Ledger};
use crate::write::job::{Attachments, attachment_hash};
use serde::Deserialize;
use serde_json::value::RawValue;
use std::io::{Cursor, ErrorKind, Read};
use zip::result::ZipError;

/// More than any real job: a larger file is refused before it is unpacked.
pub const MOST_BYTES: u64 = 512 * 1024 * 1024;
const MOST_ENTRIES: usize = 10_000;

/// A job as it came out of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Opened {
    /// Its facts.
    pub ledger: Ledger,
    /// Its attachments.
    pub attachments: Attachments,
    /// What was not as it should be, though the rest is usable.
    pub notes: Vec<Note>,
}

/// Something in the file that was left out or is missing; the rest stands.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Note {
    /// One entry of the file does not read; it is kept as it is.
    #[error("entry {index} of {of} doesn't read ({why}); it is kept in the file but doesn't count")]
    Entry {
        /// Which one, from 1.
        index: usize,
        /// Of how many.
        of: usize,
        /// The reader's word.
        why: String,
    },
    /// An attachment's bytes do not match its name.
    #[error("attachment {hash} is damaged and was left out: bring in the picture or artwork again")]
    Damaged {
        /// Its name.
        hash: String,
    },
    /// Something unknown was in the ZIP.
    #[error("'{name}' in the file is nothing this program knows; it was left out")]
    Stranger {
        /// Its name.
        name: String,
    },
}

/// Why a file could not be opened as a job.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OpenError {
    /// No bytes.
    #[error("the file is empty: copy it again from where it came from")]
    Empty,
    /// It is something else.
    #[error("this is not a job file: it looks like {looks_like}. A job's name ends in .samespot")]
    NotAJob {
        /// What it looks like.
        looks_like: &'static str,
    },
    /// It stops in the middle.
    #[error(
        "the file stops short ({why}): it was cut off while being copied. Copy it again; nothing here was changed"
    )]
    CutShort {
        /// Where.
        why: String,
    },
    /// The ZIP is broken.
    #[error("the file is damaged ({why}). Open an earlier copy; nothing here was changed")]
    Damaged {
        /// What of it.
        why: String,
    },
    /// It needs a password.
    #[error("the file is locked with a password. Unpack it, and open the job.json in it")]
    Locked,
    /// It was packed anew in a way this program cannot unpack.
    #[error(
        "the file was packed anew by another program in a way that can't be read here. Unpack it, and open the job.json in it; pictures and artwork are then brought in again"
    )]
    PackedOtherwise,
    /// Its JSON does not say what a job says.
    #[error("the file is not written as a job is ({why}). Nothing here was changed")]
    Malformed {
        /// What the reader said, with line and column.
        why: String,
    },
    /// It was written by a later program.
    #[error(
        "this job was saved by a newer Samespot (file version {found}; this one reads up to {known}). Update this device, or open it where it was saved"
    )]
    Newer {
        /// The version in the file.
        found: u32,
        /// The newest this program reads.
        known: u32,
    },
    /// Somebody typed where a face or a part lies.
    #[error(
        "entry {index} types where the {thing} '{id}' lies ('{field}'). That is never typed: it is worked out from readings, and what is typed once goes wrong on every casting. Take '{field}' out of the file, read its marks instead, and open it again; nothing here was changed"
    )]
    TypedPose {
        /// Which entry, from 1.
        index: usize,
        /// Face or part.
        thing: &'static str,
        /// Its id.
        id: String,
        /// The field.
        field: String,
    },
    /// Larger than any job.
    #[error("the file unpacks to more than {most_mb} MB: no job is that large")]
    TooLarge {
        /// The limit.
        most_mb: u64,
    },
}

#[derive(Deserialize)]
struct Head {
    format: u32,
}

#[derive(Deserialize)]
struct HeadOnly {
    samespot: Head,
}

#[derive(Deserialize)]
struct JobJson<'a> {
    samespot: Head,
    job: JobId,
    #[serde(borrow)]
    facts: Vec<&'a RawValue>,
}

/// Reads a job from the bytes of a file.
///
/// # Errors
/// [`OpenError`]: what the file is instead, or where it breaks; nothing is half read.
pub fn open(bytes: &[u8]) -> Result<Opened, OpenError> {
    let text_start = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let first = text_start.iter().find(|b| !b.is_ascii_whitespace());
    match (bytes, first) {
        (_, None) => Err(OpenError::Empty),
        ([b'P', b'K', ..], _) => from_zip(bytes),
        (_, Some(b'{')) => {
            let (ledger, notes) = from_json(text_start)?;
            Ok(Opened {
                ledger,
                attachments: Attachments::new(),
                notes,
            })
        }
        _ => Err(OpenError::NotAJob {
            looks_like: looks_like(bytes),
        }),
    }
}

fn looks_like(bytes: &[u8]) -> &'static str {
    let lower: Vec<u8> = bytes.iter().take(512).map(u8::to_ascii_lowercase).collect();
    let has = |needle: &[u8]| lower.windows(needle.len()).any(|w| w == needle);
    if bytes.starts_with(b"%PDF") {
        "a PDF"
    } else if bytes.starts_with(b"\x89PNG") || bytes.starts_with(b"\xff\xd8\xff") {
        "a picture"
    } else if has(b"<svg") {
        "a drawing (SVG)"
    } else if has(b"<!doctype html") || has(b"<html") {
        "a saved web page"
    } else if bytes.starts_with(b"solid") {
        "a scan (STL)"
    } else if bytes.contains(&0) {
        "a file of another program"
    } else {
        "plain text"
    }
}

/// A ZIP ends with a list of what is in it: without one the file was cut off, else it was damaged.
fn no_list(bytes: &[u8]) -> OpenError {
    // APPNOTE.TXT 4.3.16: the record that ends a ZIP has this sign and 22 bytes or more.
    const SIGN: &[u8] = b"PK\x05\x06";
    const LEAST: usize = 22;
    if bytes.windows(LEAST).any(|record| record.starts_with(SIGN)) {
        OpenError::Damaged {
            why: "the list of what is in it can't be read".into(),
        }
    } else {
        OpenError::CutShort {
            why: "the list of what is in it, which stands at its end, is missing".into(),
        }
    }
}

/// Why one of the files in the ZIP can't be got at; the unpacker's own words mean nothing to the
/// person who opens it.
fn unreadable(e: &ZipError, number: usize, of: usize) -> OpenError {
    match e {
        ZipError::UnsupportedArchive(ZipError::PASSWORD_REQUIRED) => OpenError::Locked,
        ZipError::CompressionMethodNotSupported(_) | ZipError::UnsupportedArchive(_) => {
            OpenError::PackedOtherwise
        }
        _ => OpenError::Damaged {
            why: format!("item {number} of the {of} in it can't be read"),
        },
    }
}

fn unpacked(e: &std::io::Error, name: &str) -> OpenError {
    if e.kind() == ErrorKind::Unsupported {
        return OpenError::PackedOtherwise;
    }
    let name: String = name.chars().take(80).collect();
    OpenError::Damaged {
        why: format!("what is in '{name}' doesn't unpack to what was packed"),
    }
}

fn from_zip(bytes: &[u8]) -> Result<Opened, OpenError> {
    let mut zip = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|_| no_list(bytes))?;
    if zip.len() > MOST_ENTRIES {
        return Err(OpenError::TooLarge {
            most_mb: MOST_BYTES / 1_048_576,
        });
    }
    let mut left = MOST_BYTES;
    let mut json = None;
    let mut attachments = Attachments::new();
    let mut notes = Vec::new();
    let of = zip.len();
    for index in 0..of {
        let entry = zip
            .by_index(index)
            .map_err(|e| unreadable(&e, index + 1, of))?;
        let name = entry
            .name()
            .map_err(|e| unreadable(&e, index + 1, of))?
            .into_owned();
        let wanted = name == "job.json" || name.starts_with("attachments/");
        if !wanted || entry.is_dir() {
            if !entry.is_dir() {
                notes.push(Note::Stranger {
                    name: name.chars().take(80).collect(),
                });
            }
            continue;
        }
        // The size in the header is only a claim: count what really comes out.
        let mut content = Vec::new();
        entry
            .take(left + 1)
            .read_to_end(&mut content)
            .map_err(|e| unpacked(&e, &name))?;
        left = left
            .checked_sub(content.len() as u64)
            .ok_or(OpenError::TooLarge {
                most_mb: MOST_BYTES / 1_048_576,
            })?;
        if name == "job.json" {
            json = Some(content);
        } else if let Some(hash) = name.strip_prefix("attachments/") {
            if attachment_hash(&content) == hash {
                attachments.insert(hash.to_owned(), content);
            } else {
                notes.push(Note::Damaged {
                    hash: hash.chars().take(80).collect(),
                });
            }
        }
    }
    let json = json.ok_or(OpenError::NotAJob {
        looks_like: "a ZIP without a job in it",
    })?;
    let (ledger, more) = from_json(&json)?;
    notes.extend(more);
    Ok(Opened {
        ledger,
        attachments,
        notes,
    })
}

fn from_json(bytes: &[u8]) -> Result<(Ledger, Vec<Note>), OpenError> {
    fn said(e: &serde_json::Error) -> OpenError {
        if e.is_eof() {
            OpenError::CutShort {
                why: format!("line {}, column {}", e.line(), e.column()),
            }
        } else {
            OpenError::Malformed { why: e.to_string() }
        }
    }
    let text = std::str::from_utf8(bytes).map_err(|e| OpenError::Malformed {
        why: format!("byte {} is no text", e.valid_up_to()),
    })?;
    let read = serde_json::from_str::<JobJson<'_>>(text);
    // The version counts before anything else: a newer file may differ in all the rest.
    let found = match &read {
        Ok(job) => job.samespot.format,
        Err(_) => {
            let head: HeadOnly = serde_json::from_str(text).map_err(|e| said(&e))?;
            head.samespot.format
        }
    };
    if found > FORMAT_VERSION {
        return Err(OpenError::Newer {
            found,
            known: FORMAT_VERSION,
        });
    }
    let job = read.map_err(|e| said(&e))?;
    let mut ledger = Ledger::new(job.job);
    let mut notes = Vec::new();
    let of = job.facts.len();
    for (index, raw) in job.facts.into_iter().enumerate() {
        match Fact::read(raw.get().to_owned()) {
            Ok(fact) => {
                if let Some(typed) = typed_pose(&fact) {
                    return Err(OpenError::TypedPose {
                        index: index + 1,
                        thing: typed.thing,
                        id: typed.id,
                        field: typed.field,
                    });
                }
                ledger.add(fact);
            }
            Err(no) => {
                notes.push(Note::Entry {
                    index: index + 1,
                    of,
                    why: no.to_string(),
                });
                ledger.keep_unread(no.text);
            }
        }
    }
    Ok((ledger, notes))
}
