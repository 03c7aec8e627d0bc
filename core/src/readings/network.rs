//! What goes into an adjustment: marks, edges, tapes and readings of one face, by index.

use super::{Stance, Tape};
use crate::frames::{Face, Point2};
use crate::surface::{MAX_PARAMETERS, Surface, Turns};
use crate::units::{Angle, Length};

/// Everything known about one face of one casting before its readings are adjusted.
///
/// Marks, edges and tapes are numbered by their place in these lists; who asks keeps the names.
#[derive(Debug, Clone, PartialEq)]
pub struct Network {
    /// The nominal face.
    pub surface: Surface,
    /// How well each of its sizes is known, in the order of `Shape::parameters`.
    pub sizes: [SizeHeld; MAX_PARAMETERS],
    /// The marks.
    pub points: Vec<PointStart>,
    /// The datum edges.
    pub edges: Vec<EdgeStart>,
    /// The tapes and rules.
    pub tapes: Vec<Tape>,
    /// The ways in which the casting stood while it was levelled.
    pub stances: Vec<Stance>,
    /// The readings.
    pub readings: Vec<Reading>,
}

impl Network {
    /// A face whose sizes are taken as they stand, with nothing on it yet.
    #[must_use]
    pub const fn on(surface: Surface) -> Self {
        Self {
            surface,
            sizes: [SizeHeld::Fixed; MAX_PARAMETERS],
            points: Vec::new(),
            edges: Vec::new(),
            tapes: Vec::new(),
            stances: Vec::new(),
            readings: Vec::new(),
        }
    }
}

/// How well one size of the face is known before any reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum SizeHeld {
    /// Taken as it stands in the nominal face.
    #[default]
    Fixed,
    /// Nominal with the spread of castings: a standard deviation in the size's own unit
    /// (mm for a radius, a pure number for the taper).
    Prior {
        /// Standard deviation, in the unit of the size.
        sd: f64,
    },
    /// Nothing is known: readings must hold it.
    Free,
}

/// One mark: where it should be, and how firmly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointStart {
    /// Nominal place, or a rough one (`start_from_readings`).
    pub start: Point2<Face>,
    /// How firmly it is there before any reading.
    pub held: Held,
}

/// How firmly a mark or an edge is where it starts, before any reading.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Held {
    /// Only readings hold it.
    #[default]
    Free,
    /// Known without error: not an unknown at all.
    Fixed,
    /// Known in this frame with a standard deviation (each way).
    Prior {
        /// Standard deviation along u and along v, or of an edge along its square.
        sd: Length,
    },
}

/// How an edge came about, which decides how straight it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EdgeKind {
    /// Moulded.
    #[default]
    Moulded,
    /// Trimmed by hand.
    Trimmed,
    /// Straight without error (a published network, a machined edge).
    Straight,
}

impl EdgeKind {
    /// Standard deviation of the edge about a straight line: moulded 0.3 mm, trimmed 1.0 mm
    /// (common practice, no source).
    #[must_use]
    pub const fn waviness(self) -> Length {
        match self {
            Self::Moulded => Length::from_mm(0.3),
            Self::Trimmed => Length::from_mm(1.0),
            Self::Straight => Length::ZERO,
        }
    }
}

/// A straight datum edge: a line of the chart with two unknowns, its offset and its slope.
///
/// Positive square distances lie on the left of `along`, seen from outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeStart {
    /// A point of the nominal edge, best near its middle.
    pub through: Point2<Face>,
    /// Which way the nominal edge runs, anticlockwise from u.
    pub along: Angle,
    /// How it came about.
    pub kind: EdgeKind,
    /// How firmly it lies there before any reading; a prior also holds the slope, by its
    /// standard deviation over half a metre.
    pub held: Held,
    /// How well it is known to run as it starts, wherever it lies: standard deviation of its slope.
    /// A cone's edges run square to its axis or up it: that tells how marks are turned on it.
    pub slope_sd: Option<f64>,
}

/// One reading with what it measures and how well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// What it measures.
    pub kind: ReadingKind,
    /// What was read.
    pub value: Length,
    /// How well.
    pub precision: Precision,
}

/// What a reading measures. Numbers are places in the lists of [`Network`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReadingKind {
    /// Straight through the air or through the piece: the chord.
    Straight {
        /// From this mark.
        from: usize,
        /// To this mark.
        to: usize,
    },
    /// With the tape laid on the surface.
    Over {
        /// From this mark.
        from: usize,
        /// To this mark.
        to: usize,
        /// Which way round a closed face.
        turns: Turns,
    },
    /// Square from an edge; positive on the left of the edge's direction.
    Square {
        /// From this edge.
        edge: usize,
        /// To this mark.
        to: usize,
    },
    /// A coordinate of a mark, from a drawing office, a scanner or a gridded board.
    Coordinate {
        /// The mark.
        point: usize,
        /// Which coordinate.
        axis: CoordinateAxis,
    },
    /// A size of the face read directly (a radius by gauge card); not for a taper, which two
    /// girths give.
    Size {
        /// Its place in `Shape::parameters`.
        index: usize,
    },
    /// All the way round the face, square to its axis, at height `v` of the chart.
    Girth {
        /// The height.
        at_v: Length,
    },
    /// How far one mark stands above another; negative where it stands below.
    Level {
        /// Above this mark.
        from: usize,
        /// Stands this one.
        to: usize,
        /// As the casting stood then.
        stance: usize,
    },
    /// How far a mark lies to the right of the plumb line through another, seen from outside;
    /// negative to its left.
    Plumb {
        /// The line hangs through this mark.
        high: usize,
        /// And passes this one.
        low: usize,
        /// As the casting stood then.
        stance: usize,
    },
    /// Height of a mark above a board or a level line, which itself may be at any height.
    Height {
        /// The mark.
        of: usize,
        /// As the casting stood then.
        stance: usize,
    },
}

/// One of the two coordinates on a face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CoordinateAxis {
    /// Across.
    U,
    /// Up.
    V,
}

/// How well something was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Precision {
    /// With a tape of the list, sharing what that tape has wrong.
    Tape {
        /// Its place in the list.
        tape: usize,
        /// Hooked or butted at one end, so that the hook's error comes in.
        hooked: bool,
    },
    /// A standard deviation typed in; nothing shared.
    Sd(Length),
}

/// Options of an adjustment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// Spread (standard deviation) of castings about the drawing. What the readings hold worse
    /// than a third of it is also held by the drawing, and said to be; `None` refuses instead.
    pub drawing_spread: Option<Length>,
    /// What a mark's place should be good for; worse is *weak*.
    pub tolerance: Option<Length>,
    /// A motion of all marks together that readings hold worse than this (standard deviation) is
    /// held where the marks start; `None` holds only what no reading sees at all.
    ///
    /// One chord among tapes laid on a cone tells its height, but to within half a metre: letting
    /// it decide sends the marks up and down the cone for a tenth of a millimetre.
    pub weak_motion: Option<Length>,
    /// Steps before giving up.
    pub most_steps: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            drawing_spread: Some(Length::from_mm(5.0)),
            tolerance: None,
            weak_motion: None,
            // What only a square tells (a lean) is come near slowly: up to 200 steps, strewn.
            most_steps: 300,
        }
    }
}
