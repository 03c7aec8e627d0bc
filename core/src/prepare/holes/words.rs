//! The cautions of every drill sheet and of the Holes screen (design/01, *Safety*).

/// What stands before the first hole opens.
pub const STRAPPED: &str = "Figure strapped, second person here";

/// The cautions.
pub const CAUTIONS: [&str; 5] = [
    "Strap, sling or prop the figure before anybody reaches under it or goes inside; a second person holds it and stays. Shims are not a support",
    "Inside a shell: second person outside, air drawn through, battery tools and lamp only, never while resin, solvent or paint is wet",
    "Drilling overhead: face shield. Respirator for fine dust (P3 or the local equal), extraction at the bit. Tight cuffs, hair back, no gloves near the turning bit; gloves for raw edges",
    "Side handle, two hands: steel behind the skin grabs. Foam behind: a hot bit melts it, fresh polyester resin dissolves it. Two-pack paint cures fully before it is drilled or sanded",
    "Nothing is tapped on a tablet while a tool runs",
];

/// Whom strength is left to.
pub const DEFERS: &str = "Samespot places holes and checks geometry; it does not judge strength. Fixings for public display, wind and lifting loads, openings a child can reach, and how bolts are locked are for a competent, licensed person under the local code";
