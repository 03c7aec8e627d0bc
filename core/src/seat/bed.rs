//! The bed: three hard points set the place, filler only fills.

use super::locator::{Holds, Locator, LocatorFault};
use super::pose::{Outcome, Start, locate};
use super::seating::Seating;
use crate::frames::{Base, Figure, Point3, Rigid3, Vector3};
use crate::units::Length;

/// A hard point.
#[derive(Debug, Clone, PartialEq)]
pub struct Pad {
    /// Its name.
    pub name: String,
    /// Where it stands on the base.
    pub on_base: Point3<Base>,
    /// The base's outward direction there.
    pub normal: Vector3<Base>,
    /// What stands on it.
    pub on_figure: Point3<Figure>,
}

/// Where the locating dimension is read.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name.
    pub name: String,
    /// The end on the base.
    pub on_base: Point3<Base>,
    /// The end on the figure.
    pub on_figure: Point3<Figure>,
    /// What the finished piece shall read there.
    pub locating: Length,
    /// How well it is read: one standard deviation.
    pub within: Length,
}

/// What a bed is to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Bed {
    /// The hard points.
    pub pads: Vec<Pad>,
    /// The stations.
    pub stations: Vec<Station>,
    /// The way the figure is lowered, upwards: the locating dimension is read along it.
    pub up: Vector3<Base>,
    /// The figure's place as it was measured or as it stands on trial.
    pub trial: Rigid3<Base, Figure>,
    /// The thinnest bed that is no dry spot.
    pub least: Length,
    /// The thickest bed.
    pub greatest: Length,
    /// Paint, film and felt between base and figure in the finished piece.
    pub finished_layers: Length,
}

/// What is wrong with a bed at a pad.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BedFlag {
    /// Between least and greatest.
    Fits,
    /// Too little for filler: dry spot here.
    DrySpot,
    /// Too much filler: it shrinks and weighs.
    TooThick,
}

/// The figure on its shims.
#[derive(Debug, Clone)]
pub struct Bedded {
    /// How the place was found.
    pub outcome: Outcome,
    /// Filler at each pad, which is also the shim to put there; negative where figure and base
    /// would meet first.
    pub shims: Vec<Length>,
    /// Whether each is between least and greatest.
    pub flags: Vec<BedFlag>,
}

/// The beds that make the locating dimension hold at its stations.
///
/// The stations set height and lean; the plan stays as it was measured. The gap at a pad is square
/// to the base; paint, film and felt take their part of it and filler fills the rest. A shim stands
/// where the filler will be, between the same layers, so it is as thick as the filler there.
///
/// # Errors
/// [`LocatorFault`] when a station can't hold anything.
pub fn bed(bed: &Bed) -> Result<Bedded, LocatorFault> {
    let outcome = locate(&locators(bed), &Start::at(bed.trial))?;
    let place = &outcome.seating().base_from_figure;
    let mut shims = Vec::new();
    let mut flags = Vec::new();
    for pad in &bed.pads {
        let normal = pad.normal.unit().ok_or_else(|| LocatorFault::NoDirection {
            name: pad.name.clone(),
        })?;
        let gap = normal.dot(place.point(pad.on_figure) - pad.on_base);
        let shim = Length::from_mm(gap - bed.finished_layers.mm());
        shims.push(shim);
        flags.push(flag(shim, bed.least, bed.greatest));
    }
    Ok(Bedded {
        outcome,
        shims,
        flags,
    })
}

/// Whether a bed is between least and greatest, to whole µm.
fn flag(shim: Length, least: Length, greatest: Length) -> BedFlag {
    if shim.to_um() < least.to_um() {
        BedFlag::DrySpot
    } else if shim.to_um() > greatest.to_um() {
        BedFlag::TooThick
    } else {
        BedFlag::Fits
    }
}

/// Stations along the way down, then the plan: two ways at the first station, one at the station
/// furthest from it.
fn locators(bed: &Bed) -> Vec<Locator> {
    let mut all: Vec<Locator> = bed
        .stations
        .iter()
        .map(|s| Locator {
            name: s.name.clone(),
            holds: Holds::Along {
                on: s.on_figure,
                from: s.on_base,
                direction: bed.up,
            },
            reads: s.locating,
            within: s.within,
        })
        .collect();
    let (Some(first), Some(up)) = (bed.stations.first(), bed.up.unit()) else {
        return all;
    };
    let at = |s: &Station| bed.trial.point(s.on_figure);
    let level = |v: Vector3<Base>| v + up * -up.dot(v);
    let away = |s: &Station| level(at(s) - at(first)).norm().mm();
    let far = bed
        .stations
        .iter()
        .fold(first, |far, s| if away(s) > away(far) { s } else { far });
    let along = level(at(far) - at(first))
        .unit()
        .unwrap_or_else(|| level(Vector3::from_mm(1.0, 0.0, 0.0)));
    let across = up.cross(along);
    for (station, direction) in [(first, along), (first, across), (far, across)] {
        all.push(Locator {
            name: "the plan".into(),
            holds: Holds::Along {
                on: station.on_figure,
                from: at(station),
                direction,
            },
            reads: Length::ZERO,
            within: Length::from_mm(1.0),
        });
    }
    all
}

/// The figure standing on its pads as on three legs, `thick` over the base at each; the witness
/// marks hold the plan as it is at `place`.
fn legs(bed: &Bed, place: &Rigid3<Base, Figure>, thick: &[Length]) -> Vec<Locator> {
    let leg = |(pad, thick): (&Pad, &Length)| Locator {
        name: pad.name.clone(),
        holds: Holds::Gap {
            on: pad.on_figure,
            face: pad.on_base,
            normal: pad.normal,
        },
        reads: *thick,
        within: Length::from_mm(0.1),
    };
    let mut all: Vec<Locator> = bed.pads.iter().zip(thick).map(leg).collect();
    let standing = Bed {
        trial: *place,
        ..bed.clone()
    };
    all.extend(locators(&standing).into_iter().skip(bed.stations.len()));
    all
}

impl Bedded {
    fn standing(&self, bed: &Bed, layers: Length) -> Option<Seating> {
        let place = self.outcome.seated()?.base_from_figure;
        let thick = |shim: &Length| Length::from_mm(shim.mm() + layers.mm());
        let thick: Vec<Length> = self.shims.iter().map(thick).collect();
        let outcome = locate(&legs(bed, &place, &thick), &Start::at(place)).ok()?;
        outcome.seated().cloned()
    }

    /// What each station reads with the figure on its shims and `layers` of paint, film and felt in
    /// the joint: paint that comes later makes it less than the locating dimension, film that is
    /// pulled later makes it more. `None` where the pads do not carry the figure.
    #[must_use]
    pub fn reads_with(&self, bed: &Bed, layers: Length) -> Option<Vec<Length>> {
        let place = self.standing(bed, layers)?.base_from_figure;
        let up = bed.up.unit()?;
        let read = |s: &Station| Length::from_mm(up.dot(place.point(s.on_figure) - s.on_base));
        Some(bed.stations.iter().map(read).collect())
    }

    /// The figure standing on its shims: what 1 mm more at each pad moves (locators in the order of
    /// the pads). `None` where the pads do not carry the figure.
    #[must_use]
    pub fn lifts(&self, bed: &Bed) -> Option<Seating> {
        self.standing(bed, bed.finished_layers)
    }
}
