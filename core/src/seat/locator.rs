//! What is read across a joint, and how it changes when the figure moves.

use crate::frames::{Base, Figure, Point3, Rigid3, Vector3};
use crate::units::Length;

/// What one reading holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Holds {
    /// The gap from a face of the base to a point of the figure, square to the face, outwards
    /// positive.
    Gap {
        /// The point of the figure.
        on: Point3<Figure>,
        /// A point of the face.
        face: Point3<Base>,
        /// The face's outward direction.
        normal: Vector3<Base>,
    },
    /// The gap from a face of the figure to a point of the base (a stop, a stud), square to the
    /// face, outwards positive.
    Stop {
        /// The point of the base.
        on: Point3<Base>,
        /// A point of the figure's face.
        face: Point3<Figure>,
        /// That face's outward direction.
        normal: Vector3<Figure>,
    },
    /// The straight distance between a point of each.
    Distance {
        /// On the figure.
        on: Point3<Figure>,
        /// On the base.
        from: Point3<Base>,
    },
    /// The distance between a point of each along a direction: plumb, across, back.
    Along {
        /// On the figure.
        on: Point3<Figure>,
        /// On the base.
        from: Point3<Base>,
        /// The direction.
        direction: Vector3<Base>,
    },
    /// How much higher one point of the figure is than another (0: level).
    Level {
        /// The one.
        one: Point3<Figure>,
        /// The other.
        other: Point3<Figure>,
        /// Up.
        up: Vector3<Base>,
    },
    /// How far a straight line of the figure runs out of a plane of the base over a length (0:
    /// parallel). A line parallel to a line is two of these, square to each other.
    Parallel {
        /// The line.
        line: Vector3<Figure>,
        /// Square to the plane.
        square_to: Vector3<Base>,
        /// Over what length it was read.
        over: Length,
    },
}

/// One reading across the joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Locator {
    /// What it is called: *pad P1*.
    pub name: String,
    /// What it holds.
    pub holds: Holds,
    /// What it reads, mm.
    pub reads: Length,
    /// How well it is read: one standard deviation, mm.
    pub within: Length,
}

/// Why a reading can't hold anything.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LocatorFault {
    /// There is none.
    #[error("nothing was read across the joint yet: read three heights and the plan")]
    Nothing,
    /// It has no uncertainty.
    #[error("{name}: say how well it was read, more than nothing")]
    NoUncertainty {
        /// Which.
        name: String,
    },
    /// A direction of no length.
    #[error("{name}: its direction has no length")]
    NoDirection {
        /// Which.
        name: String,
    },
    /// Two points that are one.
    #[error(
        "{name}: its two points are under 1 mm apart, so the distance holds nothing; choose points further apart"
    )]
    TooClose {
        /// Which.
        name: String,
    },
}

/// What a locator would read, and its derivatives by (shift; turn about `centre`).
pub(super) type Row = (f64, [f64; 6]);

impl Holds {
    /// The figure's points, or the base's where the figure has none of its own, in the base.
    pub(super) fn sites(&self, place: &Rigid3<Base, Figure>) -> Vec<Point3<Base>> {
        match self {
            Self::Gap { on, .. } | Self::Distance { on, .. } | Self::Along { on, .. } => {
                vec![place.point(*on)]
            }
            Self::Stop { on, .. } => vec![*on],
            Self::Level { one, other, .. } => vec![place.point(*one), place.point(*other)],
            Self::Parallel { .. } => Vec::new(),
        }
    }

    /// Value and derivatives at a place; `None` where a direction or distance vanishes.
    ///
    /// With x a figure's point in the base, moved by t and by the turn ω about c:
    /// dx = t + ω × (x − c).
    pub(super) fn row(&self, place: &Rigid3<Base, Figure>, centre: Point3<Base>) -> Option<Row> {
        Some(match self {
            Self::Gap { on, face, normal } => {
                along(place.point(*on), *face, normal.unit()?, centre)
            }
            Self::Along {
                on,
                from,
                direction,
            } => along(place.point(*on), *from, direction.unit()?, centre),
            Self::Distance { on, from } => {
                let x = place.point(*on);
                let apart = (x - *from).norm().mm();
                if apart < 1.0 {
                    return None;
                }
                let (_, by) = along(x, *from, (x - *from).unit()?, centre);
                (apart, by)
            }
            Self::Stop { on, face, normal } => {
                let n = place.vector(normal.unit()?);
                let gap = n.dot(*on - place.point(*face));
                (gap, derivative(-n, *on - centre))
            }
            Self::Level { one, other, up } => {
                let (up, apart) = (up.unit()?, place.vector(*one - *other));
                let turn = apart.cross(up).mm();
                (up.dot(apart), [0.0, 0.0, 0.0, turn.x, turn.y, turn.z])
            }
            Self::Parallel {
                line,
                square_to,
                over,
            } => {
                let (n, l) = (square_to.unit()?, place.vector(line.unit()?) * over.mm());
                let turn = l.cross(n).mm();
                (n.dot(l), [0.0, 0.0, 0.0, turn.x, turn.y, turn.z])
            }
        })
    }
}

fn along(x: Point3<Base>, from: Point3<Base>, n: Vector3<Base>, centre: Point3<Base>) -> Row {
    (n.dot(x - from), derivative(n, x - centre))
}

/// d(n·x) = n·t + (arm × n)·ω.
fn derivative(n: Vector3<Base>, arm: Vector3<Base>) -> [f64; 6] {
    let (t, w) = (n.mm(), arm.cross(n).mm());
    [t.x, t.y, t.z, w.x, w.y, w.z]
}

impl Locator {
    pub(super) fn fault(&self, place: &Rigid3<Base, Figure>) -> Option<LocatorFault> {
        let name = || self.name.clone();
        if self.within <= Length::ZERO {
            return Some(LocatorFault::NoUncertainty { name: name() });
        }
        if self
            .holds
            .row(place, Point3::from_mm(0.0, 0.0, 0.0))
            .is_some()
        {
            return None;
        }
        Some(match self.holds {
            Holds::Distance { .. } => LocatorFault::TooClose { name: name() },
            _ => LocatorFault::NoDirection { name: name() },
        })
    }
}
