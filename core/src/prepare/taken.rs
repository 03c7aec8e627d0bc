//! Readings of a casting as those of a network: which points, with which tape, standing how.

use super::network::Wanted;
use super::tapes::{DRAWING_SD, Gauge, gauge_of, soft_tape};
use crate::frames::Point2;
use crate::job::{
    FaceAxis, FactId, GirthLine, InstrumentEdit, InstrumentId, InstrumentKind, Measured, PointRef,
    Reading as JobReading,
};
use crate::readings::{
    CoordinateAxis, Held, Network, Precision, Reading, ReadingKind, Stance, TapeClass,
};
use crate::units::Length;

pub(super) struct Builder<'a> {
    pub(super) wanted: &'a Wanted<'a>,
    pub(super) network: Network,
    pub(super) points: Vec<PointRef>,
    pub(super) facts: Vec<FactId>,
    pub(super) tapes: Vec<Option<InstrumentId>>,
    pub(super) stood: Vec<u32>,
}

impl Builder<'_> {
    fn point(&self, point: &PointRef) -> Option<usize> {
        self.points.iter().position(|p| p == point)
    }

    /// About how far apart the two marks of a reading lie.
    fn about(&self, of: &Measured) -> Length {
        let at = |p: &PointRef| Some(self.network.points.get(self.point(p)?)?.start);
        match of.points().as_slice() {
            [a, b] => at(a)
                .zip(at(b))
                .map_or(Length::ZERO, |(a, b)| a.distance(b)),
            _ => Length::ZERO,
        }
    }

    fn precision(&mut self, says: &JobReading) -> Precision {
        if let Some(sd) = says.within {
            return Precision::Sd(sd);
        }
        let instrument = says
            .instrument
            .as_ref()
            .and_then(|id| self.wanted.job.instruments.get(id));
        let gauge = match (instrument, &says.of) {
            (Some(edit), _) => gauge_of(edit),
            (None, Measured::Coordinate { .. }) => Gauge::Alone(DRAWING_SD),
            (None, Measured::Level { .. }) => gauge_of(&of_kind(InstrumentKind::Level)),
            (None, Measured::Plumb { .. }) => gauge_of(&of_kind(InstrumentKind::Plumb)),
            (None, Measured::Height { .. }) => gauge_of(&of_kind(InstrumentKind::HeightStick)),
            (None, _) => Gauge::Tape(soft_tape(TapeClass::II)),
        };
        let tape = match gauge {
            Gauge::Tape(tape) => super::warmth::allowed(
                tape,
                super::warmth::noted(self.wanted.job, self.wanted.casting),
            ),
            other => return Precision::Sd(other.sd(self.about(&says.of))),
        };
        let known = self.tapes.iter().position(|t| *t == says.instrument);
        let index = known.unwrap_or_else(|| {
            self.tapes.push(says.instrument.clone());
            self.network.tapes.push(tape);
            self.tapes.len() - 1
        });
        Precision::Tape {
            tape: index,
            hooked: says.hooked,
        }
    }

    /// Whether it is a reading of these points.
    pub(super) fn add(&mut self, says: &JobReading, upper: Length) -> bool {
        let kind = match &says.of {
            Measured::Straight { from, to } => match (self.point(from), self.point(to)) {
                (Some(from), Some(to)) => ReadingKind::Straight { from, to },
                _ => return false,
            },
            Measured::Over { from, to } => match (self.point(from), self.point(to)) {
                (Some(from), Some(to)) => {
                    let at = |k: usize| {
                        self.network
                            .points
                            .get(k)
                            .map_or(Point2::ORIGIN, |p| p.start)
                    };
                    ReadingKind::Over {
                        from,
                        to,
                        turns: self.network.surface.nearest_turns(at(from), at(to)),
                    }
                }
                _ => return false,
            },
            Measured::Coordinate { of, axis } => match self.point(of) {
                Some(point) => ReadingKind::Coordinate {
                    point,
                    axis: match axis {
                        FaceAxis::U => CoordinateAxis::U,
                        FaceAxis::V => CoordinateAxis::V,
                    },
                },
                None => return false,
            },
            Measured::Girth { at, .. } => ReadingKind::Girth {
                at_v: match at {
                    GirthLine::Lower => Length::ZERO,
                    GirthLine::Upper => upper,
                },
            },
            Measured::Square { edge, to } => {
                let (Some(to), Some(edge)) = (self.point(to), self.edge(edge)) else {
                    return false;
                };
                ReadingKind::Square { edge, to }
            }
            Measured::Level { from, to, stood } => match (self.point(from), self.point(to)) {
                (Some(from), Some(to)) => {
                    let stance = self.stance(*stood);
                    ReadingKind::Level { from, to, stance }
                }
                _ => return false,
            },
            Measured::Plumb { high, low, stood } => match (self.point(high), self.point(low)) {
                (Some(high), Some(low)) => {
                    let stance = self.stance(*stood);
                    ReadingKind::Plumb { high, low, stance }
                }
                _ => return false,
            },
            Measured::Height { of, stood } => match self.point(of) {
                Some(of) => {
                    let stance = self.stance(*stood);
                    ReadingKind::Height { of, stance }
                }
                None => return false,
            },
        };
        let precision = self.precision(says);
        self.network.readings.push(Reading {
            kind,
            value: says.value.mm,
            precision,
        });
        true
    }

    /// The place of a way in which the casting stood.
    fn stance(&mut self, stood: u32) -> usize {
        let known = self.stood.iter().position(|s| *s == stood);
        known.unwrap_or_else(|| {
            self.stood.push(stood);
            self.network.stances.push(Stance::default());
            self.stood.len() - 1
        })
    }

    /// Edges run along u under the marks until a reading says better.
    fn edge(&mut self, id: &crate::job::EdgeId) -> Option<usize> {
        use crate::readings::{EdgeKind, EdgeStart};
        let edges: Vec<_> = self
            .wanted
            .job
            .edges
            .iter()
            .filter(|(_, e)| e.face.as_ref() == Some(self.wanted.face))
            .collect();
        let index = edges.iter().position(|(e, _)| *e == id)?;
        while self.network.edges.len() <= index {
            let (_, edit) = edges.get(self.network.edges.len())?;
            let kind = match edit.made {
                Some(crate::job::EdgeMade::Trimmed) => EdgeKind::Trimmed,
                _ => EdgeKind::Moulded,
            };
            self.network.edges.push(EdgeStart {
                through: Point2::ORIGIN,
                along: crate::units::Angle::ZERO,
                kind,
                held: Held::Free,
            });
        }
        Some(index)
    }
}

fn of_kind(kind: InstrumentKind) -> InstrumentEdit {
    InstrumentEdit {
        kind: Some(kind),
        ..InstrumentEdit::default()
    }
}
