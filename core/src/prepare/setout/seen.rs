//! An outline drawn as it is seen, or bent along a line, for the picture of its face.

use crate::frames::{Flat, Point2};
use crate::job::FeatureId;
use crate::outline::{FLATTENING, Outline};
use crate::place::place;
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

/// A ring back to where it begins.
fn closed(mut ring: Vec<Point2<Flat>>) -> Vec<Point2<Flat>> {
    ring.extend(ring.first().copied());
    ring
}

pub(super) fn seen(source: &Source<'_>, feature: &FeatureId, outline: &Outline<Flat>) -> Seen {
    // As the design has it before any issue changed it.
    let carried = design(source, feature, 0).and_then(|design| {
        if let Some(p) = projected(&design, outline)? {
            return Ok(Seen {
                words: Some(p.in_words()),
                shown: Some(p.shown),
                away: p.away,
            });
        }
        let layout = &design.nominal.layout;
        let Ok(placed) = place(&design.nominal, layout) else {
            return Ok(Seen::default());
        };
        let bent = design.run_over(outline, &placed.pose)?;
        Ok(bent.map_or_else(Seen::default, |(bent, words)| Seen {
            words: Some(words),
            shown: Some(
                bent.polylines(FLATTENING * 2.0)
                    .into_iter()
                    .map(closed)
                    .collect(),
            ),
            away: Vec::new(),
        }))
    });
    match carried {
        Ok(seen) => seen,
        // What keeps the whole face from being placed is said in its own place.
        Err(PrepareError::Elevation { why, .. }) => Seen {
            words: Some(why),
            ..Seen::default()
        },
        Err(_) => Seen::default(),
    }
}
