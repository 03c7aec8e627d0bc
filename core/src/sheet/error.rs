//! Why a template could not be put on sheets.

use crate::units::Length;

/// Why a template could not be put on sheets, in the user's words.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SheetError {
    /// A typed paper size makes no page.
    #[error(
        "{} × {} mm is no paper size: both sides must be more than 0 and at most 5080 mm",
        .width.mm(), .height.mm()
    )]
    NotAPaper {
        /// As typed.
        width: Length,
        /// As typed.
        height: Length,
    },
    /// A tracing frame on paper it is not made for.
    #[error(
        "there is no tracing frame for {paper}: print it on A4, A3, Letter or Tabloid; what is larger is traced in parts or saved as a drawing"
    )]
    NoFrame {
        /// The paper.
        paper: String,
    },
    /// The margins eat the paper.
    #[error(
        "margins of {} mm leave nothing to draw on: {paper} is only {} × {} mm. Make the margin smaller",
        .margin.mm(), .width.mm(), .height.mm()
    )]
    MarginsTooLarge {
        /// The margin asked for.
        margin: Length,
        /// What the paper is called.
        paper: String,
        /// Its shorter side.
        width: Length,
        /// Its longer side.
        height: Length,
    },
    /// Nothing of use fits between the margins.
    #[error(
        "{paper} leaves {:.0} × {:.0} mm between its margins, too little for a check bar of 100 mm each way and a title. Take larger paper",
        .width.mm(), .height.mm()
    )]
    PaperTooSmall {
        /// What the paper is called.
        paper: String,
        /// Room across.
        width: Length,
        /// Room up.
        height: Length,
    },
    /// The overlap asked for is too small to hold a join, or leaves nothing new on a sheet.
    #[error(
        "an overlap of {} mm doesn't make a join: at least 10 mm, and less than half of what a sheet holds ({:.0} mm)",
        .overlap.mm(), .room.mm()
    )]
    Overlap {
        /// The overlap asked for.
        overlap: Length,
        /// The shorter side of what a sheet holds.
        room: Length,
    },
    /// It would take more sheets than anybody can join true.
    #[error(
        "this template is {:.0} × {:.0} mm: it would take {sheets} sheets of {paper}, and {most} is the most that can be joined true. Take larger paper, or make the template smaller",
        .width.mm(), .height.mm()
    )]
    TooManySheets {
        /// How many it would take.
        sheets: u32,
        /// The most allowed.
        most: u32,
        /// What the paper is called.
        paper: String,
        /// The template across.
        width: Length,
        /// The template up.
        height: Length,
    },
    /// There is nothing to draw.
    #[error("there is nothing to draw: the template has neither an outline nor a cross")]
    Empty,
    /// Something lies where nobody can reach it, or is no number.
    #[error("{what} lies more than 100 m away or is not a number: check the readings it came from")]
    OutOfReach {
        /// Which thing.
        what: String,
    },
    /// A correction no printer needs.
    #[error(
        "a scale correction of {across} across and {up} up is no printer's error: it must lie between 0.95 and 1.05. Measure the proof sheet again"
    )]
    Correction {
        /// Across.
        across: f64,
        /// Up.
        up: f64,
    },
    /// The words alone don't fit on the paper.
    #[error(
        "the words of this template don't fit on one {paper} sheet. Take larger paper, or shorten the warnings and cautions"
    )]
    WordsTooLong {
        /// What the paper is called.
        paper: String,
    },
}
