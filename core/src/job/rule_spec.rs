//! How a feature follows the datums, as the job says it.

use super::ids::*;
use serde::{Deserialize, Serialize};

/// One direction of a rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum Follow {
    /// The drawing's distance from the first mark.
    FixedDistance,
    /// Any difference is halved between the two marks.
    DifferenceSplit,
    /// Stretched as the casting is.
    InProportion,
}

/// How a feature follows the datums when the casting is not nominal.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "rule", rename_all = "kebab-case")]
pub enum RuleSpec {
    /// Along and across the line from one mark to another.
    Line {
        /// From this mark…
        from: MarkId,
        /// …to this one.
        to: MarkId,
        /// A third mark that says which side is up.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        side: Option<MarkId>,
        /// Along the line.
        along: Follow,
        /// Square to it: by the drawing's distance, or in proportion to a pair of its own.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        across: Option<AcrossPair>,
    },
    /// Rigid least squares over several marks.
    BestFit {
        /// The marks, each with its weight.
        marks: Vec<WeightedMark>,
        /// Size follows too.
        #[serde(default)]
        scale: bool,
    },
    /// Square from two edges of its face by the drawing's distances, its turn kept to the first.
    Edges {
        /// Laid along this edge.
        edge: EdgeId,
        /// Up to this one.
        end: EdgeId,
    },
    /// Along the line from one mark to another, and square from an edge of its face by the drawing's
    /// distance: *centred between the seams, 184 up from the rim*. Its turn is kept to the line.
    OffEdge {
        /// From this mark…
        from: MarkId,
        /// …to this one.
        to: MarkId,
        /// Along the line.
        along: Follow,
        /// So far off this edge.
        edge: EdgeId,
    },
}

impl RuleSpec {
    /// Every mark it follows.
    #[must_use]
    pub fn marks(&self) -> Vec<&MarkId> {
        match self {
            Self::Line {
                from,
                to,
                side,
                across,
                ..
            } => {
                let mut all = vec![from, to];
                all.extend(side);
                if let Some(pair) = across {
                    all.extend([&pair.from, &pair.to]);
                }
                all
            }
            Self::BestFit { marks, .. } => marks.iter().map(|m| &m.mark).collect(),
            Self::OffEdge { from, to, .. } => vec![from, to],
            Self::Edges { .. } => Vec::new(),
        }
    }

    /// The edges it follows.
    #[must_use]
    pub fn edges(&self) -> Vec<&EdgeId> {
        match self {
            Self::OffEdge { edge, .. } => vec![edge],
            Self::Edges { edge, end } => vec![edge, end],
            Self::Line { .. } | Self::BestFit { .. } => Vec::new(),
        }
    }

    /// The two marks whose line it follows.
    #[must_use]
    pub const fn line(&self) -> Option<[&MarkId; 2]> {
        match self {
            Self::Line { from, to, .. } | Self::OffEdge { from, to, .. } => Some([from, to]),
            Self::BestFit { .. } | Self::Edges { .. } => None,
        }
    }

    /// The two marks that say which way it is turned: those of its line, or the first two of a best
    /// fit.
    #[must_use]
    pub fn turns_with(&self) -> Option<[&MarkId; 2]> {
        match self {
            Self::BestFit { marks, .. } => match marks.as_slice() {
                [a, b, ..] => Some([&a.mark, &b.mark]),
                _ => None,
            },
            other => other.line(),
        }
    }
}

/// What the turn of a feature is kept to when its line is not as on the pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum TurnKept {
    /// To the line of its rule.
    #[default]
    ToLine,
    /// To level: two marks of the line are levelled on the pattern and on each casting, which
    /// stands as it will stand in the end.
    ToLevel,
}

/// The pair that *across* follows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct AcrossPair {
    /// From.
    pub from: MarkId,
    /// To.
    pub to: MarkId,
}

/// A mark with its weight in a best fit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
pub struct WeightedMark {
    /// The mark.
    pub mark: MarkId,
    /// Its weight, 1 unless said.
    #[serde(default = "one")]
    pub weight: f64,
}

const fn one() -> f64 {
    1.0
}

/// How a template is laid on the marks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "laying", rename_all = "kebab-case")]
pub enum LayingChoice {
    /// The first on its mark, then turned until the second lies on the line.
    FirstThenAlong {
        /// On its mark.
        first: MarkId,
        /// On the line.
        then: MarkId,
    },
    /// Along the line of two, both off by the same.
    SplitAlong {
        /// One.
        first: MarkId,
        /// The other.
        then: MarkId,
    },
    /// All crosses as near as they come.
    BestFit,
}
