//! What a face is like, in sizes a workshop can measure.

use super::design::Entry;
use serde::{Deserialize, Serialize};

/// Which way the axis of a round face runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(rename_all = "kebab-case")]
pub enum AxisChoice {
    /// Upright, like a post.
    Up,
    /// Lying, like a pipe.
    Across,
}

/// A face kind with sizes as the workshop measured them on the pattern.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "kind", rename_all = "kebab-case")]
#[allow(
    clippy::large_enum_variant,
    reason = "a job has a handful of faces, and boxes would show in every match"
)]
pub enum FaceShape {
    /// Flat.
    Flat,
    /// Round one way.
    Cylinder {
        /// How the axis runs.
        axis: AxisChoice,
        /// Inside a hollow.
        #[serde(default)]
        hollow: bool,
        /// How big.
        size: Size,
    },
    /// Tapered: two girths and the slant between them, the lower one at v = 0.
    Cone {
        /// Girth at the lower line, or its radius.
        lower: Size,
        /// Girth at the upper line, or its radius.
        upper: Size,
        /// Distance between the two lines up the surface.
        slant: Entry,
    },
    /// Round both ways alike.
    Dome {
        /// Inside a hollow.
        #[serde(default)]
        hollow: bool,
        /// How big.
        size: Size,
    },
    /// Round both ways, differently each way: the girth through the face's origin, and the arc
    /// square to it.
    TwoRadii {
        /// Across, on the level.
        across: Curve,
        /// Up.
        up: Curve,
    },
    /// Taken from a scan of the pattern: the part of it around the marks, smoothed.
    Scan {
        /// SHA-256 of the attached patch ([`crate::surface::scan::Patch`]), in hex.
        attachment: String,
        /// Name of the file it was read from.
        file: String,
        /// The unit that the file's numbers were taken in: mm, cm, m or inch.
        unit: String,
    },
}

/// How a face runs one way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "curve", rename_all = "kebab-case")]
pub enum Curve {
    /// Straight.
    Flat,
    /// Bulging towards the one who lays the template.
    Bulging {
        /// How big.
        size: Size,
    },
    /// Hollow.
    Hollow {
        /// How big.
        size: Size,
    },
}

/// How a radius was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(tag = "by", rename_all = "kebab-case")]
pub enum Size {
    /// The radius itself.
    Radius {
        /// The radius.
        radius: Entry,
    },
    /// A tape round it.
    Girth {
        /// All the way round.
        girth: Entry,
    },
    /// A straight-edge and the gap: in the middle of a hollow, equal at both ends on a bulge.
    StraightEdge {
        /// Length of the straight-edge.
        length: Entry,
        /// The gap.
        gap: Entry,
        /// How well the gap was read (±), where said.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        read_to: Option<Entry>,
    },
    /// The printed gauge card that shows no light.
    GaugeCard {
        /// Its number.
        number: u32,
    },
}
