//! Readings of a casting as those of a network: which points, with which tape, standing how.

use super::edges::{Along, Corner, place, points};
use super::kept_level::BY_BOARD;
use super::network::Wanted;
use super::tapes::{DRAWING_SD, Gauge, PLUMBED_SD, gauge_of, soft_tape};
use crate::frames::{Face, Point2, Vector2};
use crate::job::{
    BoardAxis, EdgeId, FaceAxis, FactId, GirthLine, InstrumentEdit, InstrumentId, InstrumentKind,
    MarkId, Measured, PointRef, Reading as JobReading,
};
use crate::readings::{
    CoordinateAxis, EdgeStart, Held, Network, PointStart, Precision, Reading, ReadingKind, Stance,
    TapeClass,
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
            (None, Measured::Board { .. }) => Gauge::Alone(PLUMBED_SD),
            (None, Measured::Height { .. }) => gauge_of(&of_kind(InstrumentKind::HeightStick)),
            (None, _) => Gauge::Tape(soft_tape(TapeClass::II)),
        };
        let tape = match gauge {
            Gauge::Tape(tape) => tape,
            other => return Precision::Sd(other.sd(self.about(&says.of))),
        };
        let known = self.tapes.iter().position(|t| *t == says.instrument);
        let index = known.unwrap_or_else(|| {
            let noted = super::warmth::noted(self.wanted.job, self.wanted.casting);
            self.tapes.push(says.instrument.clone());
            self.network.tapes.push(super::warmth::allowed(tape, noted));
            self.tapes.len() - 1
        });
        Precision::Tape {
            tape: index,
            hooked: says.hooked,
        }
    }

    /// Whether it is a reading of these points.
    pub(super) fn add(&mut self, says: &JobReading, upper: Option<Length>) -> bool {
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
                at_v: match (at, upper) {
                    (GirthLine::Lower, _) => Length::ZERO,
                    (GirthLine::Upper, Some(upper)) => upper,
                    // Said in words, and not read as the middle's.
                    (GirthLine::Upper, None) => return false,
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
            // Only asked for where it is to say which way is up.
            Measured::Board {
                of,
                axis: BoardAxis::Up,
                ..
            } => match self.point(of) {
                Some(of) => {
                    let stance = self.stance(BY_BOARD);
                    ReadingKind::Height { of, stance }
                }
                None => return false,
            },
            // Ties faces together; on its own face a tape says more.
            Measured::Board { .. } => return false,
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

    /// The place of an edge: all of the face come in together, in one order.
    fn edge(&mut self, id: &EdgeId) -> Option<usize> {
        let index = self.wanted.edges.iter().position(|(e, _)| e == id)?;
        if self.network.edges.is_empty() {
            self.network.edges = self.wanted.edges.iter().map(|(_, start)| *start).collect();
        }
        Some(index)
    }

    /// The corner of two edges with a point further along each, held to them.
    pub(super) fn corner(&mut self, corner: &Corner) -> Option<()> {
        let end = match &corner.end {
            Along::Edge(end) => end,
            Along::Mark(from) => return self.along_one(corner, from),
        };
        let (edge, end) = (self.edge(&corner.edge)?, self.edge(end)?);
        let lines = [
            *self.network.edges.get(edge)?,
            *self.network.edges.get(end)?,
        ];
        let at = place([(&lines[0], 0.0), (&lines[1], 0.0)])?;
        let inwards = |line: &EdgeStart, other: &EdgeStart, by: Length| {
            let way = Vector2::<Face>::from_mm(1.0, 0.0).turned(line.along.rad());
            let other = Vector2::<Face>::from_mm(1.0, 0.0).turned(other.along.rad());
            // Into the face, which lies to the left of the other one.
            let sign = if other.cross(way) < 0.0 { -1.0 } else { 1.0 };
            at + way * (sign * by.mm())
        };
        let first = self.points.len();
        for (name, start) in points().zip([
            at,
            inwards(&lines[0], &lines[1], corner.reach[0]),
            inwards(&lines[1], &lines[0], corner.reach[1]),
        ]) {
            self.points.push(PointRef::Mark(name));
            self.network.points.push(PointStart {
                start,
                held: Held::Free,
            });
        }
        let (along, last) = (first + 1, first + 2);
        let square = |edge, to| (ReadingKind::Square { edge, to }, Length::ZERO);
        let apart = |to, by| {
            let turns = self.network.surface.nearest_turns(at, at);
            (
                ReadingKind::Over {
                    from: first,
                    to,
                    turns,
                },
                by,
            )
        };
        for (kind, value) in [
            square(edge, first),
            square(end, first),
            square(edge, along),
            apart(along, corner.reach[0]),
            square(end, last),
            apart(last, corner.reach[1]),
        ] {
            self.network.readings.push(Reading {
                kind,
                value,
                precision: Precision::Sd(BY_DEFINITION),
            });
        }
        Some(())
    }
}

impl Builder<'_> {
    /// Two points of an edge: one so far from a mark that lies opposite neither, one further along.
    fn along_one(&mut self, corner: &Corner, from: &MarkId) -> Option<()> {
        let edge = self.edge(&corner.edge)?;
        let line = *self.network.edges.get(edge)?;
        let mark = self.point(&PointRef::Mark(from.clone()))?;
        let at = self.network.points.get(mark)?.start;
        let way = Vector2::<Face>::from_mm(1.0, 0.0).turned(line.along.rad());
        let foot = line.through + way * (at - line.through).dot(way);
        let first = self.points.len();
        let starts = corner.reach.map(Length::mm);
        let places = [foot + way * starts[0], foot + way * (starts[0] + starts[1])];
        for (name, start) in points().zip(places) {
            self.points.push(PointRef::Mark(name));
            self.network.points.push(PointStart {
                start,
                held: Held::Free,
            });
        }
        let turns = self.network.surface.nearest_turns(at, at);
        let over = |from, to, value| (ReadingKind::Over { from, to, turns }, value);
        for (kind, value) in [
            (ReadingKind::Square { edge, to: first }, Length::ZERO),
            over(mark, first, at.distance(places[0])),
            (
                ReadingKind::Square {
                    edge,
                    to: first + 1,
                },
                Length::ZERO,
            ),
            over(first, first + 1, corner.reach[1]),
        ] {
            self.network.readings.push(Reading {
                kind,
                value,
                precision: Precision::Sd(BY_DEFINITION),
            });
        }
        Some(())
    }
}

/// The points of a corner lie on its edges because that is what they are.
const BY_DEFINITION: Length = Length::from_mm(0.01);

fn of_kind(kind: InstrumentKind) -> InstrumentEdit {
    InstrumentEdit {
        kind: Some(kind),
        ..InstrumentEdit::default()
    }
}
