//! Signing a record off: a seal over what it says, that breaks when any of it changes.

use super::Source;
use super::record::{Content, content};
use crate::job::{Job, Kept, PieceId, SignOffFact};
use crate::sheet::Block;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// What a signature under a record is, and what it is not.
pub(super) const NOT_IN_LAW: &str = "The seal is a check sum of what stands above: it shows whether any of it changed since. It is not a signature in law.";

/// How a record stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SealView {
    /// The seal of what it says now.
    pub seal: String,
    /// Features and pairs that are not settled.
    pub open: usize,
    /// The newest signature.
    pub signed: Option<Signed>,
}

/// A signature under a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signed {
    /// By whom.
    pub by: String,
    /// As what, or why.
    pub reason: String,
    /// When, in the words of the device.
    pub when: String,
    /// The seal it was signed off with.
    pub seal: String,
    /// The record still says what it said then.
    pub holds: bool,
}

/// The seal of a record's content: the first 100 bits of its SHA-256 (FIPS 180-4) in base 32
/// (RFC 4648), in groups of five.
pub(super) fn seal_of(content: &Content) -> String {
    let mut hash = Sha256::new();
    let mut take = |text: &str| {
        hash.update(text.as_bytes());
        // Two cells never run into one.
        hash.update([0x1f]);
    };
    for block in &content.blocks {
        match block {
            Block::Heading(text) | Block::Words(text) | Block::Lead(text) => take(text),
            Block::Small(all) => all.iter().for_each(|text| take(text)),
            Block::Table { rows, .. } => rows.iter().flatten().for_each(|cell| take(cell)),
            Block::Boxes(labels) => labels.iter().for_each(|label| take(label)),
            Block::Picture(_) => {}
        }
        take("\u{1e}");
    }
    let letters = crate::sheet::base32(&hash.finalize());
    let groups: Vec<&str> = (0..4)
        .filter_map(|k| letters.get(5 * k..5 * k + 5))
        .collect();
    groups.join("-")
}

fn newest<'a>(job: &'a Job, piece: Option<&PieceId>) -> Option<&'a Kept<SignOffFact>> {
    job.signed
        .iter()
        .rev()
        .find(|s| s.says.piece.as_ref() == piece)
}

/// The newest signature under a record that says this.
pub(super) fn signed(job: &Job, piece: Option<&PieceId>, seal: &str) -> Option<Signed> {
    newest(job, piece).map(|fact| Signed {
        by: fact.says.by.clone(),
        reason: fact.says.reason.clone(),
        when: fact.wall.clone(),
        seal: fact.says.seal.clone(),
        holds: fact.says.seal == seal,
    })
}

/// How the record of a piece, or of the run, stands.
#[must_use]
pub fn seal(source: &Source<'_>, piece: Option<&PieceId>) -> SealView {
    let content = content(source, piece);
    let seal = seal_of(&content);
    SealView {
        signed: signed(source.job, piece, &seal),
        open: content.open + content.open_pairs,
        seal,
    }
}

/// What stands under a record.
pub(super) fn words(seal: &str, signed: Option<&Signed>) -> Vec<Block> {
    let mut all = Vec::new();
    match signed {
        None => all.push(Block::Words(format!(
            "Not signed off. Seal of the content: {seal}."
        ))),
        Some(s) if s.holds => all.push(Block::Words(format!(
            "Signed off by {}, {}: {}. Seal of the content: {seal}.",
            s.by, s.when, s.reason
        ))),
        Some(s) => all.push(Block::Lead(format!(
            "CHANGED SINCE IT WAS SIGNED OFF by {}, {}: {}. Seal then {}, now {seal}.",
            s.by, s.when, s.reason, s.seal
        ))),
    }
    all.push(Block::Words(NOT_IN_LAW.into()));
    all
}
