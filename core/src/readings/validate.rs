//! What can't be meant, refused before anything is computed.

use super::error::{AdjustError, Unusable};
use super::network::{Held, Network, Precision, ReadingKind, SizeHeld};
use crate::surface::{Parameter, Shape, Surface};
use crate::units::Length;

/// Refuses what can't be meant before anything is computed.
pub(super) fn validate(network: &Network) -> Result<(), AdjustError> {
    let positive = |l: Length| l.mm() > 0.0 && l.mm().is_finite();
    for (index, p) in network.points.iter().enumerate() {
        let sound = if let Held::Prior { sd } = p.held {
            positive(sd)
        } else {
            true
        };
        if !p.start.is_finite() || !sound {
            return Err(AdjustError::Start {
                what: "mark",
                index,
            });
        }
    }
    for (index, e) in network.edges.iter().enumerate() {
        let sound = if let Held::Prior { sd } = e.held {
            positive(sd)
        } else {
            true
        };
        if !e.through.is_finite() || !e.along.rad().is_finite() || !sound {
            return Err(AdjustError::Start {
                what: "edge",
                index,
            });
        }
    }
    for (index, stance) in network.stances.iter().enumerate() {
        if !stance.turn.rad().is_finite() {
            return Err(AdjustError::Start {
                what: "stance",
                index,
            });
        }
    }
    for (index, size) in network.sizes.iter().enumerate() {
        if let SizeHeld::Prior { sd } = *size
            && !(sd > 0.0 && sd.is_finite())
        {
            return Err(AdjustError::Start {
                what: "size",
                index,
            });
        }
    }
    (0..network.readings.len()).try_for_each(|k| validate_reading(network, k))
}

fn validate_reading(network: &Network, k: usize) -> Result<(), AdjustError> {
    let reading = &network.readings[k];
    let value_mm = reading.value.mm();
    let unusable = |why: Unusable| {
        Err(AdjustError::Unusable {
            reading: k,
            value_mm,
            why,
        })
    };
    let among = |what: &'static str, index: usize, count: usize| {
        if index < count {
            Ok(())
        } else {
            Err(AdjustError::Missing {
                reading: k,
                what,
                index,
            })
        }
    };
    let mark = |index: usize| among("mark", index, network.points.len());
    let stands = |index: usize| among("stance", index, network.stances.len());
    let positive = match reading.kind {
        ReadingKind::Straight { from, to } | ReadingKind::Over { from, to, .. } => {
            mark(from)?;
            mark(to)?;
            if from == to {
                return unusable(Unusable::SameMark);
            }
            true
        }
        ReadingKind::Square { edge, to } => {
            among("edge", edge, network.edges.len())?;
            mark(to)?;
            false
        }
        ReadingKind::Coordinate { point, .. } => {
            mark(point)?;
            false
        }
        ReadingKind::Size { index } => {
            among("size", index, network.surface.parameters().len())?;
            if matches!(
                network.surface.parameters()[index],
                Parameter::Taper | Parameter::Scale
            ) {
                return unusable(Unusable::Taper);
            }
            true
        }
        ReadingKind::Girth { .. } => {
            if matches!(network.surface, Surface::Flat(_) | Surface::Scan(_)) {
                return unusable(Unusable::NotRound);
            }
            true
        }
        ReadingKind::Level { from, to, stance }
        | ReadingKind::Plumb {
            high: from,
            low: to,
            stance,
        } => {
            stands(stance)?;
            mark(from)?;
            mark(to)?;
            if from == to {
                return unusable(Unusable::SameMark);
            }
            false
        }
        ReadingKind::Height { of, stance } => {
            stands(stance)?;
            mark(of)?;
            false
        }
    };
    if !value_mm.is_finite() || (positive && value_mm <= 0.0) {
        return unusable(Unusable::NotPositive);
    }
    let own_mm2 = match reading.precision {
        Precision::Sd(sd) => sd.mm(),
        Precision::Tape { tape, .. } => {
            among("tape", tape, network.tapes.len())?;
            network.tapes[tape].each.variance_mm2(0)
        }
    };
    if own_mm2 > 0.0 && own_mm2.is_finite() {
        Ok(())
    } else {
        unusable(Unusable::NoPrecision)
    }
}
