//! The adjustment of taped readings against published networks, against scipy, and against the
//! laws any adjustment obeys.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::inconsistent_digit_grouping,
    reason = "a test stops at the first fault; published digits stay as printed"
)]

#[path = "networks/hands.rs"]
mod hands;
#[path = "networks/laws.rs"]
mod laws;
#[path = "networks/published.rs"]
mod published;
#[path = "networks/room.rs"]
mod room;
#[path = "networks/scipy.rs"]
mod scipy;
#[path = "networks/weak.rs"]
mod weak;
#[path = "networks/words.rs"]
mod words;

use samespot_core::frames::Point2;
use samespot_core::readings::{Held, Network, PointStart, Precision, Reading, ReadingKind, adjust};
use samespot_core::surface::{FlatFace, Surface};
use samespot_core::units::Length;

/// A flat network of straight distances without tapes: what textbooks adjust.
pub(crate) fn flat(points: &[(f64, f64, bool)], distances: &[(usize, usize, f64, f64)]) -> Network {
    let mut network = Network::on(Surface::Flat(FlatFace));
    network.points = points
        .iter()
        .map(|&(x, y, fixed)| PointStart {
            start: Point2::from_mm(x, y),
            held: if fixed { Held::Fixed } else { Held::Free },
        })
        .collect();
    network.readings = distances
        .iter()
        .map(|&(from, to, mm, sd)| Reading {
            kind: ReadingKind::Straight { from, to },
            value: Length::from_mm(mm),
            precision: Precision::Sd(Length::from_mm(sd)),
        })
        .collect();
    network
}

/// Adjusts without letting the drawing hold anything.
pub(crate) fn plain(network: &Network) -> samespot_core::readings::Adjusted {
    let options = samespot_core::readings::Options {
        drawing_spread: None,
        ..Default::default()
    };
    adjust(network, &options).unwrap()
}
