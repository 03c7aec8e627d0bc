//! An outline drawn as it is seen, for the picture of its face.

use crate::frames::{Flat, Point2};
use crate::job::FeatureId;
use crate::outline::Outline;
use crate::prepare::design::design;
use crate::prepare::elevation::projected;
use crate::prepare::{PrepareError, Source};

/// How an outline that is drawn as it is seen lies on the surface.
#[derive(Default)]
pub(super) struct Seen {
    /// Its lines about the feature's middle; nothing where it is laid over the surface as it is.
    pub(super) shown: Option<Vec<Vec<Point2<Flat>>>>,
    pub(super) away: Vec<Vec<Point2<Flat>>>,
    /// What is to be said of it.
    pub(super) words: Option<String>,
}

pub(super) fn seen(source: &Source<'_>, feature: &FeatureId, outline: &Outline<Flat>) -> Seen {
    // As the design has it before any issue changed it.
    let carried = design(source, feature, 0).and_then(|design| projected(&design, outline));
    match carried {
        Ok(None) => Seen::default(),
        Ok(Some(p)) => Seen {
            words: Some(p.in_words()),
            shown: Some(p.shown),
            away: p.away,
        },
        // What keeps the whole face from being placed is said in its own place.
        Err(PrepareError::Elevation { why, .. }) => Seen {
            words: Some(why),
            ..Seen::default()
        },
        Err(_) => Seen::default(),
    }
}
