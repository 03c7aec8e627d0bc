//! A job as a file: a stored ZIP of `job.json` and its attachments by hash.

use super::zip::{Entry, ZipFolderError, zip_folder};
use crate::job::{FORMAT_VERSION, JobId, Ledger};
use serde::Serialize;
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// Attachments by the lower-case hexadecimal SHA-256 of their bytes.
pub type Attachments = BTreeMap<String, Vec<u8>>;

#[derive(Serialize)]
struct Head {
    format: u32,
    program: &'static str,
}

#[derive(Serialize)]
struct WithoutFacts<'a> {
    samespot: Head,
    job: &'a JobId,
}

/// Why a job could not be written.
#[derive(Debug, thiserror::Error)]
pub enum SaveError {
    /// The JSON writer's word.
    #[error("the job could not be written: {0}")]
    Json(#[from] serde_json::Error),
    /// The ZIP writer's word.
    #[error("the job could not be packed: {0}")]
    Zip(#[from] ZipFolderError),
}

/// `job.json`: the facts in their order, each in the bytes it was written in.
///
/// # Errors
/// [`SaveError::Json`]; never for facts that were read or written by this program.
pub fn job_json(ledger: &Ledger) -> Result<String, SaveError> {
    let mut facts: Vec<_> = ledger.everything().collect();
    facts.sort_by(|a, b| (a.envelope.order(), a.bytes()).cmp(&(b.envelope.order(), b.bytes())));
    let kept: Vec<Box<RawValue>> = ledger
        .unread()
        .iter()
        .map(|raw| RawValue::from_string(raw.clone()))
        .collect::<Result<_, _>>()?;
    let mut json = serde_json::to_string(&WithoutFacts {
        samespot: Head {
            format: FORMAT_VERSION,
            program: env!("CARGO_PKG_VERSION"),
        },
        job: ledger.job_id(),
    })?;
    // Texts of JSON go in as they are, in place of the bracket that ends what stands before them.
    json.pop();
    let texts = facts.iter().map(|f| f.bytes());
    let texts = texts.chain(kept.iter().map(|raw| raw.get()));
    let mut before = ",\"facts\":[";
    for text in texts {
        json.push_str(before);
        json.push_str(text);
        before = ",";
    }
    json.push_str(if before == "," {
        "]}"
    } else {
        ",\"facts\":[]}"
    });
    Ok(json)
}

/// The whole job file. The same facts and attachments give the same bytes.
///
/// # Errors
/// [`SaveError`]; only out of memory in practice.
pub fn job_file(ledger: &Ledger, attachments: &Attachments) -> Result<Vec<u8>, SaveError> {
    let json = job_json(ledger)?;
    let paths: Vec<String> = attachments
        .keys()
        .map(|hash| format!("attachments/{hash}"))
        .collect();
    let mut entries = vec![Entry {
        path: "job.json",
        bytes: json.as_bytes(),
    }];
    entries.extend(
        paths
            .iter()
            .zip(attachments.values())
            .map(|(path, bytes)| Entry { path, bytes }),
    );
    Ok(zip_folder(&entries)?)
}

/// The name an attachment goes by.
#[must_use]
pub fn attachment_hash(bytes: &[u8]) -> String {
    use core::fmt::Write as _;
    use sha2::Digest;
    let mut letters = String::with_capacity(64);
    for byte in sha2::Sha256::digest(bytes) {
        let _ = write!(letters, "{byte:02x}");
    }
    letters
}
