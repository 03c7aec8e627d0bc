//! One serialisable question, one serialisable answer: all that passes between page and core.
//!
//! The page holds the facts; whoever answers (a worker, the command line, a test) holds only a
//! [`Desk`], a cache that may be thrown away at any time. A question about a job the desk does
//! not know is answered with [`Refusal::UnknownJob`], and the page sends the facts again.

mod ask;
mod desk;
#[cfg(feature = "artwork")]
mod drawing_sheet;
mod drawn;
mod early;
mod fact_texts;
mod fewest;
mod files;
mod first;
mod patches;
#[cfg(feature = "artwork")]
mod picture_sheet;
mod proof;
mod rack;
mod reply;
mod side_by_side;
mod whole_run;

pub use ask::{Ask, FileKind, Half, Request};
pub use desk::{Desk, RunFiles, answer, answer_with};
pub use drawn::{DrawnFile, LeftOut, OwnSize, PictureSheet, SheetsMade, TracedSize};
pub use early::{EarlyAnswer, EarlyRequest};
pub use fact_texts::FactTexts;
pub use fewest::{CurveView, FewestView, SharedView};
pub use first::answer_first;
pub use patches::{GoresView, JoinView, PatchView, PatchesView};
#[cfg(feature = "artwork")]
pub use picture_sheet::{drawing as picture_drawing, picture_sheet};
pub use rack::{ByHand, Hanging, RackState, RackView, ToMake};
pub use reply::{
    Answer, CrossView, ErrorTerm, FeatureSurvey, FlatDots, LivePicture, PieceSurvey, Refusal,
    Reply, Survey, SurveyErrors, TemplateView,
};
