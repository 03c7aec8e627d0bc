//! What a sheet is of: a painted feature, a shell of one, the holes of a fixing, the plate that guides their drill,
//! or the plate that holds the bracket while its glass cures.

use super::ids::{EntityRef, FeatureId, FixingId, PairId};
use serde::{Deserialize, Serialize};
use std::fmt;

/// What a printed sheet carries. In a job file it is one field named for its kind, so that files
/// written when sheets carried features only read as they always did.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum SheetOf {
    /// A stencil of a feature.
    Feature(FeatureId),
    /// What a shell of a feature is marked by.
    Shell(FeatureId),
    /// A stencil of a feature in patches, each a sheet of its own.
    Patches(FeatureId),
    /// One gore of a feature, cut so many times.
    Gores(FeatureId),
    /// One stencil for both of a pair.
    Pair(PairId),
    /// A drill template of a fixing.
    Fixing(FixingId),
    /// A jig for a fixing.
    Jig(FixingId),
    /// The plate a bracket is bolted to while its glass cures.
    Plate(FixingId),
    /// Rods to the middle of a feature.
    Rods(FeatureId),
}

impl SheetOf {
    /// The feature, where it is of one alone.
    #[must_use]
    pub const fn feature(&self) -> Option<&FeatureId> {
        match self {
            Self::Feature(id)
            | Self::Shell(id)
            | Self::Patches(id)
            | Self::Gores(id)
            | Self::Rods(id) => Some(id),
            Self::Pair(_) | Self::Fixing(_) | Self::Jig(_) | Self::Plate(_) => None,
        }
    }
    /// The fixing, where holes are drilled by it.
    #[must_use]
    pub const fn fixing(&self) -> Option<&FixingId> {
        match self {
            Self::Feature(_)
            | Self::Shell(_)
            | Self::Patches(_)
            | Self::Gores(_)
            | Self::Pair(_)
            | Self::Rods(_) => None,
            Self::Fixing(id) | Self::Jig(id) | Self::Plate(id) => Some(id),
        }
    }
    /// What of the job it is about.
    #[must_use]
    pub fn entity(&self) -> EntityRef {
        match self {
            Self::Feature(id)
            | Self::Shell(id)
            | Self::Patches(id)
            | Self::Gores(id)
            | Self::Rods(id) => EntityRef::Feature(id.clone()),
            Self::Pair(id) => EntityRef::Pair(id.clone()),
            Self::Fixing(id) | Self::Jig(id) | Self::Plate(id) => EntityRef::Fixing(id.clone()),
        }
    }
}

/// As it stands in the name of a file: *eye*, *eye-shell*, *eye-patches*, *eye-gores*, *eyes-pair*, *bolts-drill*, *bolts-jig*,
/// *bolts-plate*, *eye-rods*.
impl fmt::Display for SheetOf {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Feature(id) => write!(f, "{id}"),
            Self::Shell(id) => write!(f, "{id}-shell"),
            Self::Patches(id) => write!(f, "{id}-patches"),
            Self::Gores(id) => write!(f, "{id}-gores"),
            Self::Pair(id) => write!(f, "{id}-pair"),
            Self::Fixing(id) => write!(f, "{id}-drill"),
            Self::Jig(id) => write!(f, "{id}-jig"),
            Self::Plate(id) => write!(f, "{id}-plate"),
            Self::Rods(id) => write!(f, "{id}-rods"),
        }
    }
}

impl From<&FeatureId> for SheetOf {
    fn from(id: &FeatureId) -> Self {
        Self::Feature(id.clone())
    }
}

impl From<&SheetOf> for SheetOf {
    fn from(of: &SheetOf) -> Self {
        of.clone()
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::super::Printed;
    use super::*;

    #[test]
    fn a_print_written_before_fixings_had_sheets_reads_and_writes_the_same() {
        let old = r#"{"feature":"eye","pieces":["p7"],"reference":"ABCDEFGHIJ","day":"2026-10-03","inputs":{"issue":"a","design":"b","readings":"c","paper":"d","program":"e"},"distances":[{"between":"A–B","drawn":183.4,"within":0.8}]}"#;
        let read: Printed = serde_json::from_str(old).unwrap();
        assert_eq!(read.of, SheetOf::Feature(FeatureId::new("eye").unwrap()));
        assert_eq!(serde_json::to_string(&read).unwrap(), old);
        let new = old.replace("\"feature\":\"eye\"", "\"fixing\":\"bolts\"");
        let read: Printed = serde_json::from_str(&new).unwrap();
        assert_eq!(read.of.to_string(), "bolts-drill");
        assert_eq!(serde_json::to_string(&read).unwrap(), new);
        let neither = old.replace("\"feature\":\"eye\",", "");
        assert!(serde_json::from_str::<Printed>(&neither).is_err());
    }
}
