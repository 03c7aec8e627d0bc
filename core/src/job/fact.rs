//! One fact: who said what, when, and what they had seen by then.
//!
//! A fact stays in the bytes and version in which it was written. The parsed envelope orders
//! and addresses it; the payload is raised to the current version while reading, never in place.

use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

/// One writer: each open tab is a replica of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(try_from = "String", into = "String")]
pub struct ReplicaId(pub u64);

impl fmt::Display for ReplicaId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:016x}", self.0)
    }
}
impl From<ReplicaId> for String {
    fn from(id: ReplicaId) -> Self {
        id.to_string()
    }
}
impl TryFrom<String> for ReplicaId {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        // Sixteen hex digits: a JSON number this large would lose digits in other readers.
        if text.len() == 16 && text.bytes().all(|b| b.is_ascii_hexdigit()) {
            u64::from_str_radix(&text, 16)
                .map(Self)
                .map_err(|e| e.to_string())
        } else {
            Err(format!(
                "'{}' is no replica: sixteen hexadecimal digits",
                text.chars().take(40).collect::<String>()
            ))
        }
    }
}

/// The name of a fact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct FactId {
    /// Who wrote it.
    pub replica: ReplicaId,
    /// Its number among that replica's facts, from 1.
    pub seq: u64,
}

impl fmt::Display for FactId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.replica, self.seq)
    }
}

/// How far each replica's facts had been seen.
pub type Heads = BTreeMap<ReplicaId, u64>;

/// Everything about a fact but what it says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct Envelope {
    /// Its name.
    pub id: FactId,
    /// One more than the largest this replica had seen: the order is (lamport, replica, seq).
    pub lamport: u64,
    /// What this replica had seen of every other when it wrote.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub seen: Heads,
    /// The device's clock in words, only ever shown.
    #[serde(default)]
    pub wall: String,
    /// Who.
    #[serde(default)]
    pub who: String,
    /// What kind of fact.
    pub kind: String,
    /// The version of that kind's payload.
    pub v: u32,
}

impl Envelope {
    /// The place of a fact in the one order all copies agree on.
    #[must_use]
    pub const fn order(&self) -> (u64, ReplicaId, u64) {
        (self.lamport, self.id.replica, self.id.seq)
    }

    /// Whether the writer of this fact had seen another one.
    #[must_use]
    pub fn had_seen(&self, other: FactId) -> bool {
        if other.replica == self.id.replica {
            return other.seq < self.id.seq;
        }
        self.seen
            .get(&other.replica)
            .is_some_and(|&head| head >= other.seq)
    }

    /// Neither writer had seen the other's fact.
    #[must_use]
    pub fn concurrent_with(&self, other: &Self) -> bool {
        !self.had_seen(other.id) && !other.had_seen(self.id)
    }
}

/// A fact as it was written: its bytes, and its envelope read from them.
#[derive(Debug, Clone)]
pub struct Fact {
    /// Who, when, which.
    pub envelope: Envelope,
    text: Box<str>,
    /// Where in it the payload stands, where it has one.
    payload: Option<Range<u32>>,
}

#[derive(Serialize)]
struct Written<'a, P: Serialize> {
    #[serde(flatten)]
    envelope: &'a Envelope,
    payload: &'a P,
}

#[derive(Deserialize)]
struct PayloadOnly<'a> {
    #[serde(borrow)]
    payload: &'a RawValue,
}

/// An envelope with its payload as it stands.
#[derive(Deserialize)]
struct Whole<'a> {
    id: FactId,
    lamport: u64,
    #[serde(default)]
    seen: Heads,
    #[serde(default)]
    wall: String,
    #[serde(default)]
    who: String,
    kind: String,
    v: u32,
    #[serde(borrow, default)]
    payload: Option<&'a RawValue>,
}

impl Whole<'_> {
    fn envelope(self) -> Envelope {
        Envelope {
            id: self.id,
            lamport: self.lamport,
            seen: self.seen,
            wall: self.wall,
            who: self.who,
            kind: self.kind,
            v: self.v,
        }
    }
}

/// Where a part of a text stands in it.
fn place(whole: &str, part: &str) -> Option<Range<u32>> {
    let from = (part.as_ptr() as usize).checked_sub(whole.as_ptr() as usize)?;
    let to = from.checked_add(part.len())?;
    Some(u32::try_from(from).ok()?..u32::try_from(to).ok()?)
}

/// A text that is no fact.
#[derive(Debug, thiserror::Error)]
#[error("{why}")]
pub struct NoFact {
    /// As it was.
    pub text: String,
    /// What is wrong and where, from the JSON reader.
    pub why: serde_json::Error,
}

impl NoFact {
    /// It is JSON all the same: another program's, or of a kind to come.
    #[must_use]
    pub fn is_json(&self) -> bool {
        serde_json::from_str::<&RawValue>(&self.text).is_ok()
    }
}

impl Fact {
    /// Writes a new fact.
    ///
    /// # Errors
    /// When the payload cannot be written as JSON.
    pub fn write(envelope: Envelope, payload: &impl Serialize) -> Result<Self, serde_json::Error> {
        let text = serde_json::to_string(&Written {
            envelope: &envelope,
            payload,
        })?;
        Self::read(text).map_err(|no| no.why)
    }

    /// Reads a fact, keeping its text as it is. It is gone over once: a job of a hundred thousand is
    /// opened through here.
    ///
    /// # Errors
    /// When the text is not a fact.
    pub fn read(text: String) -> Result<Self, NoFact> {
        let bare = text.trim_matches([' ', '\t', '\n', '\r']);
        let text = if bare.len() < text.len() {
            bare.to_owned()
        } else {
            text
        };
        // Both in one go; where that fails, the envelope's own trouble is told.
        let both = match serde_json::from_str::<Whole<'_>>(&text) {
            Ok(whole) => {
                let payload = whole.payload.map(RawValue::get);
                let place = payload.and_then(|p| place(&text, p));
                Ok((whole.envelope(), place))
            }
            Err(_) => serde_json::from_str(&text).map(|envelope| (envelope, None)),
        };
        match both {
            Ok((envelope, payload)) => Ok(Self {
                envelope,
                text: text.into_boxed_str(),
                payload,
            }),
            Err(why) => Err(NoFact { text, why }),
        }
    }

    /// The text as it was written.
    #[must_use]
    pub fn bytes(&self) -> &str {
        &self.text
    }

    /// The payload's own text.
    ///
    /// # Errors
    /// When there is none.
    pub fn payload(&self) -> Result<&str, serde_json::Error> {
        if let Some(text) = self.payload.as_ref().and_then(|place| {
            let (from, to) = (place.start as usize, place.end as usize);
            self.text.get(from..to)
        }) {
            return Ok(text);
        }
        let only: PayloadOnly<'_> = serde_json::from_str(&self.text)?;
        Ok(only.payload.get())
    }

    /// Itself as JSON, to be handed on inside of more.
    ///
    /// # Errors
    /// Never: it was read as JSON.
    pub fn raw(&self) -> Result<Box<RawValue>, serde_json::Error> {
        RawValue::from_string(self.text.to_string())
    }
}

impl PartialEq for Fact {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}
