//! A picture somebody marked up: what was tapped in it, and what comes of it.
//!
//! Words of both sides: the page, which shows the picture, and the module that works it out
//! (`read::photo`, loaded by itself).

use serde::{Deserialize, Serialize};

/// A place tapped in a picture, in thousandths of the picture's width: across from the left, down
/// from the top.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tap {
    /// Where.
    pub at: [f64; 2],
    /// Within this of what was meant (95 %): a finger on a small picture is coarse.
    pub within: f64,
}

/// A place that is known, and where the picture shows it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KnownPlace {
    /// What it is called, as in *mark B* or *corner 2*.
    pub name: String,
    /// Where it is, mm, y up.
    pub at_mm: [f64; 2],
    /// Within this (95 %), mm.
    pub within_mm: f64,
    /// Where it was tapped.
    pub tap: Tap,
}

/// A picture with what was tapped in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct MarkedPicture {
    /// How high the picture is, in thousandths of its width.
    pub high: f64,
    /// Four places, and a fifth that proves them.
    pub known: Vec<KnownPlace>,
    /// A fifth has to be there: what is pictured may not be flat.
    pub fifth_needed: bool,
    /// It is said to be taken square on: two or three known places do then, where there are no four.
    #[serde(default)]
    pub square_on: bool,
    /// What was drawn: one place (the middle of a cross), or the outline all the way round.
    pub line: Vec<Tap>,
    /// The outline runs smoothly from place to place; straight otherwise.
    pub smooth: bool,
}

/// What sheets of a picture say of the job that they belong to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", default)]
pub struct OfPicture {
    /// What the picture is called.
    pub picture: String,
    /// The job's name.
    pub job: String,
    /// The part.
    pub part: String,
    /// The face.
    pub face: String,
    /// The newest issue.
    pub issue: u32,
    /// Its date.
    pub issue_date: String,
    /// The pieces of the run.
    pub serves: Vec<String>,
    /// Today.
    pub date: String,
    /// The mark for invented data.
    pub invented: String,
}

/// What a marked-up picture comes to, mm.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FromPicture {
    /// The middle of what was drawn, where the known places are.
    pub middle_mm: [f64; 2],
    /// Within this (95 %).
    pub middle_within: f64,
    /// How wide the outline is; nothing for a single place.
    pub across: f64,
    /// How tall.
    pub up: f64,
    /// The worst place of the outline is within this (95 %).
    pub within: f64,
    /// How far the fifth place is from where the four put it, and what was to be expected (95 %).
    pub fifth: Option<[f64; 2]>,
    /// By so many places of a picture that is said to be taken square on; nothing where four show how
    /// it was taken.
    #[serde(default)]
    pub square_on: Option<usize>,
}

/// Why nothing comes of a marked-up picture.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MarkedError {
    /// Fewer than four.
    #[error(
        "four places of the picture have to be known, and {0} are: tap the rest. Three or two tell where something is only where the picture was taken square on"
    )]
    TooFew(usize),
    /// Two places at one spot.
    #[error(
        "{0} and {1} are too near each other to tell how large the picture is: take places further apart"
    )]
    TooNear(String, String),
    /// Three that do not fit one another.
    #[error(
        "the three places are up to {off:.1} mm from where they should be to one another, and {expected:.1} was to be expected: one is tapped or typed wrong, or the picture was not taken square on. Four places need not be square on"
    )]
    NotSquareOn {
        /// How far the worst is off, mm.
        off: f64,
        /// What was to be expected (95 %), mm.
        expected: f64,
    },
    /// A fifth is needed.
    #[error(
        "this face is not flat, and four places say nothing of that: tap a fifth, so that it is seen how far out they are"
    )]
    NeedsFifth,
    /// Fewer than two of a drawing.
    #[error("two places of the drawing have to be known, and {0} is: tap the rest")]
    TooFewDrawn(usize),
    /// A drawing of a face that is not flat, held by two.
    #[error(
        "this face is not flat, and two places say nothing of how the drawing goes round it: tap a third"
    )]
    NeedsThird,
    /// Places of a drawing that do not fit one another.
    #[error(
        "the known places are up to {off:.1} mm from where the drawing has them to one another, and {expected:.1} was to be expected: one is tapped or typed wrong, or the drawing is not true to scale. Saved as a picture (PNG), four places lay it flat"
    )]
    NotToScale {
        /// How far the worst is off, mm.
        off: f64,
        /// What was to be expected (95 %), mm.
        expected: f64,
    },
    /// Off the picture.
    #[error("{0} lies outside of the picture: all places that are known have to be in it")]
    Outside(String),
    /// Three on a line.
    #[error("{0}, {1} and {2} lie nearly on one line: take a place further off it")]
    OnALine(String, String, String),
    /// Two names swapped.
    #[error("{0} and {1} seem to be swapped: tap them again")]
    Swapped(String, String),
    /// Round the other way.
    #[error(
        "the known places run the other way round in the picture: either two opposite ones are swapped, or the picture is a mirror image"
    )]
    Mirrored,
    /// Their order can't be seen by any camera.
    #[error(
        "no camera sees the four places in this order: see that each is tapped where its name is"
    )]
    OutOfOrder,
    /// The fifth is off.
    #[error(
        "{name} is {off:.1} mm from where the other four put it, and {expected:.1} was to be expected: a place is tapped or typed wrong, what is pictured is not flat, or the lens bends"
    )]
    Fifth {
        /// What the fifth is called.
        name: String,
        /// How far off, mm.
        off: f64,
        /// What was to be expected (95 %), mm.
        expected: f64,
    },
    /// Beyond the horizon.
    #[error(
        "what was drawn lies too far outside the four places, or beyond their horizon: take places round about it"
    )]
    Horizon,
    /// Neither one place nor an outline.
    #[error("tap the middle of a cross, or at least three places round an outline")]
    NoLine,
    /// Too many.
    #[error("{0} places were tapped, more than anybody taps")]
    TooMany(usize),
    /// It runs across itself.
    #[error("the outline runs across itself: take back the last places and go round once")]
    Crosses,
    /// A number that is none, or a side of nothing.
    #[error("the places that are known need sizes larger than nothing: see what was typed")]
    NoSize,
}
