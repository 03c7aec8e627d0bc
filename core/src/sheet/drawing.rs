//! What stands on a sheet, by meaning and in whole micrometres.
//!
//! A [`Drawing`] says what each line *is* ([`Meaning`]), never what it looks like: line type and
//! weight follow from the meaning (ISO 128-2), in one place, for every output. Coordinates are
//! whole micrometres from the lower left corner of the paper, y up, so that every writer prints
//! the same digits and the sheet's reference (a hash over them) is the same everywhere.

use super::greys::Greys;
use serde::{Deserialize, Serialize};

/// A position on a sheet in whole micrometres from its lower left corner, y up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Spot {
    /// Across, µm.
    pub x: i32,
    /// Up, µm.
    pub y: i32,
}

impl Spot {
    /// From whole micrometres.
    #[must_use]
    pub const fn new(x: i32, y: i32) -> Self {
        Self { x, y }
    }
    /// Moved across and up.
    #[must_use]
    pub const fn shifted(self, by: Self) -> Self {
        Self {
            x: self.x.saturating_add(by.x),
            y: self.y.saturating_add(by.y),
        }
    }
}

/// What a line or filled shape on a sheet is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Meaning {
    /// The opening to cut out.
    Cut,
    /// The outer edge of the template.
    Trim,
    /// Where the paint ends on the piece: the outline itself.
    PaintEdge,
    /// A register cross over a datum mark.
    Register,
    /// A line that lies along a datum edge.
    RegisterEdge,
    /// A centre line.
    CentreLine,
    /// Where a hole is drilled.
    DrillPoint,
    /// Fold here.
    Fold,
    /// Where two sheets join.
    Join,
    /// A check bar and its ticks.
    Bar,
    /// A check distance between corners.
    CheckDistance,
    /// Dimension, leader or extension line.
    Dimension,
    /// The place on the drawing when the piece differs.
    AsDrawn,
    /// The frame of the sheet and the outer lines of its strip.
    Frame,
    /// A rule between the fields of the strip.
    Rule,
    /// Lettering.
    Note,
}

/// Line type of ISO 128-2.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineType {
    /// Continuous.
    Continuous,
    /// Dashed, narrow: hidden edges, check distances.
    Dashed,
    /// Long dash, dot: centre lines.
    LongDashDot,
    /// Long dash, double dot: neighbouring part, place on the drawing.
    LongDashDoubleDot,
    /// Dotted: laid over the surface.
    Dotted,
}

impl LineType {
    /// Dashes and gaps in µm, in turn; empty for a continuous line.
    ///
    /// Lengths are those of the drawing office at narrow widths: long enough to be told apart at
    /// arm's length, short enough that a 20 mm centre line shows its dots.
    #[must_use]
    pub const fn dashes_um(self) -> &'static [i32] {
        match self {
            Self::Continuous => &[],
            Self::Dashed => &[3_000, 1_000],
            Self::LongDashDot => &[6_000, 750, 750, 750],
            Self::LongDashDoubleDot => &[6_000, 750, 750, 750, 750, 750],
            Self::Dotted => &[350, 700],
        }
    }
}

impl Meaning {
    /// Every meaning, in the order in which sheets list them.
    pub const ALL: [Self; 16] = [
        Self::Cut,
        Self::Trim,
        Self::PaintEdge,
        Self::Register,
        Self::RegisterEdge,
        Self::CentreLine,
        Self::DrillPoint,
        Self::Fold,
        Self::Join,
        Self::Bar,
        Self::CheckDistance,
        Self::Dimension,
        Self::AsDrawn,
        Self::Frame,
        Self::Rule,
        Self::Note,
    ];

    /// The line type it is drawn with.
    #[must_use]
    pub const fn line_type(self) -> LineType {
        match self {
            Self::CentreLine => LineType::LongDashDot,
            Self::CheckDistance | Self::Fold | Self::Join => LineType::Dashed,
            Self::AsDrawn => LineType::LongDashDoubleDot,
            _ => LineType::Continuous,
        }
    }

    /// Line width in µm, from the series of ISO 128-2 (0.13, 0.18, 0.25, 0.35, 0.5, 0.7).
    ///
    /// What is worked to is a hairline: a knife follows the middle of 0.25 mm, and the paint edge
    /// beside it, half a millimetre away and half as wide, still shows as a line of its own. The
    /// wide lines are those where a millimetre doesn't matter: trim, frame.
    #[must_use]
    pub const fn width_um(self) -> i32 {
        match self {
            Self::Frame => 700,
            Self::Trim => 500,
            Self::Fold => 350,
            Self::PaintEdge => 130,
            Self::CentreLine
            | Self::Dimension
            | Self::AsDrawn
            | Self::CheckDistance
            | Self::Rule => 180,
            _ => 250,
        }
    }

    /// The name of its group or layer in every file.
    #[must_use]
    pub const fn layer(self) -> &'static str {
        match self {
            Self::Cut => "cut-opening",
            Self::Trim => "trim-edge",
            Self::PaintEdge => "paint-edge",
            Self::Register => "register-cross",
            Self::RegisterEdge => "register-edge",
            Self::CentreLine => "centre-line",
            Self::DrillPoint => "drill-point",
            Self::Fold => "fold",
            Self::Join => "join",
            Self::Bar => "check-bar",
            Self::CheckDistance => "check-distance",
            Self::Dimension => "dimension",
            Self::AsDrawn => "as-drawn",
            Self::Frame => "frame",
            Self::Rule => "rule",
            Self::Note => "note",
        }
    }
}

/// One piece of a contour, starting where the last one ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Segment {
    /// A straight line.
    Line {
        /// Its end.
        to: Spot,
    },
    /// A circular arc through a point about half-way along it.
    Arc {
        /// A point on the arc between its ends.
        via: Spot,
        /// Its end.
        to: Spot,
    },
    /// A cubic Bézier curve.
    Cubic {
        /// First control point.
        c1: Spot,
        /// Second control point.
        c2: Spot,
        /// Its end.
        to: Spot,
    },
}

/// A run of segments.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Contour {
    /// Where it starts.
    pub start: Spot,
    /// What follows.
    pub segments: Vec<Segment>,
    /// It ends where it starts and encloses an area.
    pub closed: bool,
}

impl Segment {
    /// Where it ends.
    #[must_use]
    pub const fn to(self) -> Spot {
        match self {
            Self::Line { to } | Self::Arc { to, .. } | Self::Cubic { to, .. } => to,
        }
    }
    /// Moved across and up.
    #[must_use]
    pub const fn shifted(self, by: Spot) -> Self {
        match self {
            Self::Line { to } => Self::Line { to: to.shifted(by) },
            Self::Arc { via, to } => Self::Arc {
                via: via.shifted(by),
                to: to.shifted(by),
            },
            Self::Cubic { c1, c2, to } => Self::Cubic {
                c1: c1.shifted(by),
                c2: c2.shifted(by),
                to: to.shifted(by),
            },
        }
    }
}

impl Contour {
    /// Moved across and up.
    #[must_use]
    pub fn shifted(&self, by: Spot) -> Self {
        Self {
            start: self.start.shifted(by),
            segments: self.segments.iter().map(|s| s.shifted(by)).collect(),
            closed: self.closed,
        }
    }
    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Spot {
        self.segments.last().map_or(self.start, |s| s.to())
    }

    /// It is another one moved across and up.
    pub(crate) fn is_moved(&self, other: &Self, by: Spot) -> bool {
        let at = |s: Spot| s.shifted(by);
        let alike = |(own, other): (&Segment, &Segment)| match (*own, *other) {
            (Segment::Line { to: a }, Segment::Line { to: b }) => a == at(b),
            (Segment::Arc { via: a, to: b }, Segment::Arc { via: c, to: d }) => {
                a == at(c) && b == at(d)
            }
            (
                Segment::Cubic {
                    c1: a,
                    c2: b,
                    to: c,
                },
                Segment::Cubic {
                    c1: d,
                    c2: e,
                    to: f,
                },
            ) => a == at(d) && b == at(e) && c == at(f),
            _ => false,
        };
        self.closed == other.closed
            && self.start == at(other.start)
            && self.segments.len() == other.segments.len()
            && self.segments.iter().zip(&other.segments).all(alike)
    }

    /// What tells most shapes apart wherever they stand: where it has got to after its first step and
    /// half-way.
    pub(crate) fn glance(&self) -> [i32; 4] {
        let off = |k: usize| {
            let to = self.segments.get(k).map_or(self.start, |s| s.to());
            [
                to.x.wrapping_sub(self.start.x),
                to.y.wrapping_sub(self.start.y),
            ]
        };
        let ([a, b], [c, d]) = (off(0), off(self.segments.len() / 2));
        [a, b, c, d]
    }
}

/// The geometry of one item.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// Lines drawn with the meaning's line type and width.
    Line(Vec<Contour>),
    /// A full circle drawn with the meaning's line.
    Circle {
        /// Centre.
        centre: Spot,
        /// Radius, µm.
        radius: i32,
    },
    /// Filled black, even-odd: arrowheads, bars.
    Solid(Vec<Contour>),
    /// Lettering as filled outlines (non-zero), with what it says.
    Lettering {
        /// The words, for readers and search.
        text: String,
        /// The letters' outlines.
        outlines: Vec<Contour>,
    },
    /// A picture, under everything else.
    Picture(Greys),
}

/// A shape with its meaning.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Item {
    /// What it is.
    pub meaning: Meaning,
    /// Where it is.
    pub shape: Shape,
    /// A label that names this one (`A` for a cross, `check bar across`), for readers of the file.
    pub label: Option<String>,
    /// Stamped on after the drawing was finished: the reference itself, the date and program, what
    /// it supersedes. Stamps are no part of what the reference is computed from.
    pub stamp: bool,
}

impl Item {
    /// The same item moved across and up.
    #[must_use]
    pub fn shifted(&self, by: Spot) -> Self {
        self.clone().moved(by)
    }

    /// Itself, moved across and up.
    #[must_use]
    pub(crate) fn moved(mut self, by: Spot) -> Self {
        match &mut self.shape {
            Shape::Line(contours)
            | Shape::Solid(contours)
            | Shape::Lettering {
                outlines: contours, ..
            } => {
                for contour in contours {
                    contour.start = contour.start.shifted(by);
                    for segment in &mut contour.segments {
                        *segment = segment.shifted(by);
                    }
                }
            }
            Shape::Circle { centre, .. } => *centre = centre.shifted(by),
            Shape::Picture(picture) => *picture = picture.shifted(by),
        }
        self
    }
}

/// A paper size in whole µm, as it lies (width across).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct PaperSize {
    /// Across, µm.
    pub width: i32,
    /// Up, µm.
    pub height: i32,
}

/// One printed page.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Page {
    /// Its true size.
    pub paper: PaperSize,
    /// What the page is called in a list of contents.
    pub name: String,
    /// What stands on it, in drawing order.
    pub items: Vec<Item>,
}

/// What a template prints: one or more pages of one paper size.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Drawing {
    /// Title for the file's metadata.
    pub title: String,
    /// The sheet reference in letters, once it has been computed.
    pub reference: String,
    /// Readable text for the file's metadata: everything the sheet says, a line each.
    pub readable: Vec<String>,
    /// The pages.
    pub pages: Vec<Page>,
}
