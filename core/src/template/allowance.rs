//! What a marker adds to an opening.

use crate::units::Length;

/// What marks the outline, and how far from an edge its line's middle runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// From the edge of the template to the middle of the line.
    pub offset: Length,
    /// Standard deviation of the line about where it should run.
    pub scatter: Length,
    /// What it is called on a sheet.
    pub name: &'static str,
    /// What to mind with it.
    pub mind: &'static str,
}

/// What each marker does (design/10 §1.3: draw-round allowance 0.3–1.0 mm; pounce 1.5 mm outside;
/// widths common practice, no source). All are defaults that a feature may override.
#[must_use]
pub const fn allowance_of(marker: MarkerKind) -> Allowance {
    match marker {
        MarkerKind::SoftPencil => Allowance {
            offset: Length::from_mm(0.5),
            scatter: Length::from_mm(0.25),
            name: "soft pencil",
            mind: "wipe the line off before lacquer",
        },
        MarkerKind::Pounce => Allowance {
            offset: Length::from_mm(-1.5),
            scatter: Length::from_mm(0.4),
            name: "pounce",
            mind: "brush the dust off before painting",
        },
        MarkerKind::FinePen => Allowance {
            offset: Length::from_mm(0.3),
            scatter: Length::from_mm(0.2),
            name: "fine pen, on tape only",
            mind: "never on bare paint: it bleeds through",
        },
        MarkerKind::Knife => Allowance {
            offset: Length::ZERO,
            scatter: Length::from_mm(0.2),
            name: "knife, on a mask only",
            mind: "never on the finish itself",
        },
    }
}

/// Kinds of marker, by what they do to paint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkerKind {
    /// Soft pencil.
    SoftPencil,
    /// Chalk or charcoal through pricked holes, drawn outside.
    Pounce,
    /// Fine pen.
    FinePen,
    /// Knife.
    Knife,
}
