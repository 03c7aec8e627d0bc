//! Faces that a template can lie on, one file a kind, behind one trait.
//!
//! A [`Surface`] maps its chart (`Point2<Face>`, millimetres along the surface: `u` across, `v`
//! up, `(u, v, outward normal)` right-handed) into space, measures over the surface, and
//! develops a neighbourhood into the plane of one template ([`Development`]). What a workshop
//! can measure (girth, straight-edge and gap, gauge card) becomes a radius in [`size`].
//!
//! Radii are signed inside: negative in a hollow. "Outward" is towards the person who lays the
//! template, so that (u, v, outward) is right-handed in a hollow too. In its own space frame
//! every kind looks the same at chart (0, 0): outward along +x, u along +y, v along +z ([`UP`]).
//!
//! Every derivative is analytic; tests compare each with central differences.

mod chord;
mod cone;
mod cylinder;
mod dart;
mod development;
mod dome;
mod flat;
mod gore;
mod landing;
mod linear;
mod lying;
mod middle;
pub mod scan;
mod series;
mod sight;
pub mod size;
pub(crate) mod two_radii;
pub(crate) mod way;

pub use chord::{DIP_WORTH_ASKING, UP_WITHIN};
pub use cone::Cone;
pub use cylinder::{Axis, Cylinder};
pub use dart::{Dart, HOLE_RADIUS, apart_mm};
pub use development::{Development, Scale};
pub use dome::{ChartJet, Dome, UnitJet};
pub use flat::Flat as FlatFace;
pub use gore::{Gore, GoreLeaves};
pub use landing::{Landing, LandingPoint, Register, least_stretch};
pub use linear::Linear2;
pub use lying::{DartRoom, Lie};
pub use scan::ScanFace;
pub use sight::{Seen, Sight, TURNED_AWAY};
pub use two_radii::TwoRadii;

use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};
use crate::units::Length;

/// At most this many shape parameters on any face kind (room for one more than the cone's two).
pub const MAX_PARAMETERS: usize = 3;

/// Up in a face's own space frame, where its place in the part is not known.
pub const UP: Vector3<Part> = Vector3::from_mm(0.0, 0.0, 1.0);

/// How near to a half-turn of the developed sector a tape may run, in radians: closer than 0.05
/// the shortest way all but touches the tip, and a small error of either mark flips it over
/// (design/11, *Branches*).
pub const OVER_THE_TIP_MARGIN: f64 = 0.05;

/// How far round a dome a tape may run: 150°. Beyond it the way round is so ill held that 1 mm
/// at a mark swings it by a tenth of a radian on a head-sized dome (design/11, *Branches*).
pub const FURTHEST_ROUND_A_DOME: f64 = 150.0 * core::f64::consts::PI / 180.0;

/// How near the point opposite its origin a dome's chart is used, in radians. The chart stretches
/// by c / sin c, sixty-fold at this margin, and tears at zero; a face never reaches so far.
const BEHIND_THE_DOME_MARGIN: f64 = 0.05;

/// The least distance that has a direction (design/11, *Branches*), mm.
const LEAST_DISTANCE_MM: f64 = 1.0;

/// Whether one stands outside a round face or in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bulge {
    /// Curving away from the person who lays the template.
    Bulging,
    /// Curving towards the person who lays the template.
    Hollow,
}

impl Bulge {
    /// +1 for bulging, −1 for hollow: the sign of the radius.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Bulging => 1.0,
            Self::Hollow => -1.0,
        }
    }
    const fn of(radius_mm: f64) -> Self {
        if radius_mm < 0.0 {
            Self::Hollow
        } else {
            Self::Bulging
        }
    }
}

/// One shape parameter of a face that castings vary in, and readings can bear on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Radius of a cylinder or dome, mm; negative inside a hollow.
    Radius,
    /// Radius of a cone at the reference girth (where v = 0), mm; negative inside a hollow.
    ReferenceRadius,
    /// Radius of the girth of a face with two radii, mm; negative where it is hollow across.
    AcrossRadius,
    /// Radius of its upright arc, mm; negative where it is hollow upwards.
    UpRadius,
    /// Change of the *signed* cone radius for each millimetre of slant going up: on a bulging
    /// face −sin of the half-angle when it narrows upwards, in a hollow the opposite sign.
    Taper,
    /// How large a face from a scan is against its scan, a pure number.
    Scale,
}

/// Position and first derivatives of the surface at a chart point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// The point in space, mm.
    pub at: Point3<Part>,
    /// Derivative along u.
    pub du: Vector3<Part>,
    /// Derivative along v.
    pub dv: Vector3<Part>,
    /// Derivative by each shape parameter with u and v held, in the order of [`Surface::parameters`].
    pub dparam: [Vector3<Part>; MAX_PARAMETERS],
}

impl Jet {
    /// A chart displacement as one in space.
    #[must_use]
    pub fn space(&self, v: Vector2<Face>) -> Vector3<Part> {
        self.du * v.x_mm() + self.dv * v.y_mm()
    }
    /// A displacement in space as one of the chart; what points off the face is dropped.
    #[must_use]
    pub fn chart(&self, v: Vector3<Part>) -> Vector2<Face> {
        self.raise(Vector2::from_mm(v.dot(self.du), v.dot(self.dv)))
    }
    /// A gradient by (u, v) as the direction, and rate, of steepest ascent over the surface.
    #[must_use]
    pub fn raise(&self, gradient: Vector2<Face>) -> Vector2<Face> {
        let (e, f, g) = (
            self.du.dot(self.du),
            self.du.dot(self.dv),
            self.dv.dot(self.dv),
        );
        // The chart is regular wherever a jet is given, so the metric's determinant is not zero.
        let area2 = e * g - f * f;
        let (a, b) = (gradient.x_mm(), gradient.y_mm());
        Vector2::from_mm(g * a - f * b, e * b - f * a) * (1.0 / area2)
    }
}

/// A distance between two chart points with all its derivatives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distance {
    /// The distance, mm.
    pub mm: f64,
    /// Derivative by (u, v) of the first point.
    pub d_from: Vector2<Face>,
    /// Derivative by (u, v) of the second point.
    pub d_to: Vector2<Face>,
    /// Derivative by each shape parameter.
    pub d_param: [f64; MAX_PARAMETERS],
}

/// Which way round a closed face a tape was laid: whole turns added to the shorter way.
///
/// Chosen at nominal and stored with the reading; 0 is the branch on which the chart
/// coordinates are written (no unrolling added). Each turn adds one whole girth to the arc of
/// the second point. [`Surface::nearest_turns`] gives the shorter way.
pub type Turns = i32;

/// Why a face could not answer.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SurfaceError {
    /// A radius, girth or slant that no face can have.
    #[error("{what} of {value_mm} mm can't be: it must be more than zero and less than 100 m")]
    Size {
        /// Which size.
        what: &'static str,
        /// The value offered, mm.
        value_mm: f64,
    },
    /// The tape would run over the tip of the cone.
    #[error(
        "the shortest way between these two runs over the tip of the cone: read to a nearer mark"
    )]
    OverTheTip,
    /// A point at or past the tip of a cone.
    #[error("a point lies {past_mm:.1} mm past the tip of the cone")]
    PastTheTip {
        /// How far past, mm of slant.
        past_mm: f64,
    },
    /// More than 150° apart on a dome, or as badly held on a face with two radii.
    #[error(
        "these two are too far apart round the face (150 degrees on a dome): read to a nearer mark"
    )]
    TooFarRound,
    /// Two marks less than 1 mm apart have no direction between them.
    #[error("these two are less than 1 mm apart")]
    TooClose,
    /// A cone whose radius changes faster than its slant.
    #[error(
        "a cone can't change its radius by {taper} mm for each mm of slant: check the girths and the slant"
    )]
    Taper {
        /// The sine of the half-angle that would follow.
        taper: f64,
    },
    /// A point all but opposite the origin of a dome.
    #[error(
        "a point lies at the back of the dome, opposite the face's origin: make the back a face of its own"
    )]
    BehindTheDome,
    /// A point so far round a face with two radii that its chart has all but closed up.
    #[error(
        "a point lies too far round this face for its two radii to place it: measure them nearer to it, or make that side a face of its own"
    )]
    OffTheRound,
    /// A point where the scan has no surface, or a line that leaves it.
    #[error(
        "a point lies off the part of the scan that was read, or a tape would run over a gap in it: pick its marks nearer, or read more of the scan"
    )]
    OffTheScan,
    /// A size no casting of a scan can have.
    #[error("a casting can't be {times} times as large as its scan: look at the scan's unit")]
    Scale {
        /// How large against the scan.
        times: f64,
    },
    /// Seen from far off, the face turns away before a place of the view is met.
    #[error("from there the face is seen edge-on or not at all: look from nearer in front of it")]
    OutOfSight,
    /// An eye at, or behind, what it looks at.
    #[error("the eye is not in front of what it looks at")]
    InTheEye,
    /// No direction where one is needed.
    #[error("no direction for up here")]
    NoDirection,
    /// The sheet is thicker than the face allows.
    #[error("a sheet {thickness_mm} mm thick can't lie in a hollow of radius {radius_mm} mm")]
    TooThick {
        /// Thickness of the sheet, mm.
        thickness_mm: f64,
        /// Radius of the face, mm.
        radius_mm: f64,
    },
}

/// A face kind with its shape parameters.
///
/// The face's own space frame (`Part` when its place in the part is unknown) has its origin at
/// chart (0, 0) for the flat face and on the axis or centre for the others; each kind says which.
#[derive(Debug, Clone, PartialEq)]
pub enum Surface {
    /// Flat.
    Flat(FlatFace),
    /// Round one way.
    Cylinder(Cylinder),
    /// Tapered.
    Cone(Cone),
    /// Round both ways alike.
    Dome(Dome),
    /// Round both ways, with a radius of its own each way.
    TwoRadii(TwoRadii),
    /// From a scan.
    Scan(ScanFace),
}

/// What every face kind can do. Chart points are `Point2<Face>` in millimetres.
pub trait Shape {
    /// The shape parameters in a fixed order.
    fn parameters(&self) -> &'static [Parameter];
    /// Their values (mm, or a pure number for the taper); unused places are zero.
    fn values(&self) -> [f64; MAX_PARAMETERS];
    /// The same kind with other values.
    ///
    /// # Errors
    /// [`SurfaceError::Size`] when no such face can be.
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError>;
    /// Position and derivatives.
    ///
    /// # Errors
    /// [`SurfaceError::PastTheTip`] on a cone.
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError>;
    /// Outward unit normal.
    ///
    /// # Errors
    /// As [`Shape::jet`].
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError>;
    /// Length of the shortest way over the surface, with derivatives. `turns` picks the way round.
    ///
    /// # Errors
    /// The tip, more than 150° round a dome, or marks under 1 mm apart.
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        turns: Turns,
    ) -> Result<Distance, SurfaceError>;
    /// How many free motions (shift and turn of the chart onto itself) the readings leave when
    /// every one of them lies on the surface, and when some are straight.
    fn isometries(&self, any_straight: bool) -> usize;
}

impl Surface {
    /// The radius of the ball that is curved alike at a place, mm: negative on a saddle; nothing where
    /// the face unrolls flat.
    #[must_use]
    pub fn ball_radius_mm(&self, at: Point2<Face>) -> Option<f64> {
        match self {
            Self::Flat(_) | Self::Cylinder(_) | Self::Cone(_) => None,
            Self::Dome(dome) => Some(dome.radius().mm()),
            Self::TwoRadii(face) => Some(face.ball_like(at).mm()),
            Self::Scan(face) => Some(face.ball_like(at).mm()),
        }
    }

    /// No two places of it lie further apart over the surface, mm: half of the way round, the flatter way,
    /// where it is round both ways to the same side; nothing elsewhere.
    #[must_use]
    pub fn half_way_mm(&self) -> Option<f64> {
        let [across, up, ..] = self.values();
        let widest = match self {
            Self::Dome(_) => across,
            Self::TwoRadii(_) if across * up > 0.0 => across.abs().max(up.abs()),
            _ => return None,
        };
        Some(core::f64::consts::PI * widest.abs())
    }

    /// The lesser radius of curvature at a place, mm, whichever way it is; nothing where it is flat.
    #[must_use]
    pub fn tightest_mm(&self, at: Point2<Face>) -> Option<f64> {
        let values = self.values();
        let radius_mm = match self {
            Self::Flat(_) => return None,
            Self::Cylinder(_) | Self::Dome(_) => values[0].abs(),
            Self::Cone(face) => face.r_mm(at.y_mm()).ok()?.abs(),
            Self::TwoRadii(_) => values[0].abs().min(values[1].abs()),
            Self::Scan(face) => {
                let [a, b] = face.curvatures([at.x_mm(), at.y_mm()]);
                1.0 / a.abs().max(b.abs()).max(1e-6)
            }
        };
        Some(radius_mm)
    }
    fn shape(&self) -> &dyn Shape {
        match self {
            Self::Flat(face) => face,
            Self::Cylinder(face) => face,
            Self::Cone(face) => face,
            Self::Dome(face) => face,
            Self::TwoRadii(face) => face,
            Self::Scan(face) => face,
        }
    }
    /// Whether it unrolls without any stretch: all but what is round both ways.
    #[must_use]
    pub const fn is_developable(&self) -> bool {
        !matches!(self, Self::Dome(_) | Self::TwoRadii(_) | Self::Scan(_))
    }
    /// One whole girth as a chart displacement, for a face that goes all the way round.
    #[must_use]
    pub fn girth(&self) -> Option<Vector2<Face>> {
        let round = |radius: Length| core::f64::consts::TAU * radius.mm();
        match self {
            Self::Flat(_) | Self::Dome(_) | Self::TwoRadii(_) | Self::Scan(_) => None,
            Self::Cylinder(face) => Some(match face.axis() {
                Axis::Up => Vector2::from_mm(round(face.radius()), 0.0),
                Axis::Across => Vector2::from_mm(0.0, round(face.radius())),
            }),
            Self::Cone(face) => Some(Vector2::from_mm(round(face.reference_radius()), 0.0)),
        }
    }
    /// The turns that make the way between two points the shorter one round.
    #[must_use]
    pub fn nearest_turns(&self, from: Point2<Face>, to: Point2<Face>) -> Turns {
        let Some(girth) = self.girth() else { return 0 };
        let turns = -libm::round((to - from).dot(girth) / girth.dot(girth));
        #[expect(
            clippy::cast_possible_truncation,
            reason = "saturates; a face of 2^31 turns is none"
        )]
        let whole = turns as Turns;
        whole
    }
    /// The same place written on the branch nearest another point: a mark across the seam
    /// comes out beside the feature, not a girth away.
    #[must_use]
    pub fn nearest(&self, point: Point2<Face>, to: Point2<Face>) -> Point2<Face> {
        match self.girth() {
            Some(girth) => point + girth * f64::from(self.nearest_turns(to, point)),
            None => point,
        }
    }
}

impl Shape for Surface {
    fn parameters(&self) -> &'static [Parameter] {
        self.shape().parameters()
    }
    fn values(&self) -> [f64; MAX_PARAMETERS] {
        self.shape().values()
    }
    fn with_values(&self, values: &[f64; MAX_PARAMETERS]) -> Result<Surface, SurfaceError> {
        self.shape().with_values(values)
    }
    fn jet(&self, at: Point2<Face>) -> Result<Jet, SurfaceError> {
        self.shape().jet(at)
    }
    fn normal(&self, at: Point2<Face>) -> Result<Vector3<Part>, SurfaceError> {
        self.shape().normal(at)
    }
    fn over_surface(
        &self,
        from: Point2<Face>,
        to: Point2<Face>,
        turns: Turns,
    ) -> Result<Distance, SurfaceError> {
        self.shape().over_surface(from, to, turns)
    }
    fn isometries(&self, any_straight: bool) -> usize {
        self.shape().isometries(any_straight)
    }
}

/// The greatest radius, girth or slant taken, mm: 100 m. Past it a face is flat to any tape.
const GREATEST_SIZE_MM: f64 = 100_000.0;
/// The least radius, girth or slant taken, mm: a micrometre, below which quotients overflow.
const LEAST_SIZE_MM: f64 = 1e-3;

/// A size that a face can have; NaN is none.
fn checked_size(what: &'static str, value_mm: f64) -> Result<f64, SurfaceError> {
    if (LEAST_SIZE_MM..=GREATEST_SIZE_MM).contains(&value_mm) {
        Ok(value_mm)
    } else {
        Err(SurfaceError::Size { what, value_mm })
    }
}

fn too_close(mm: f64) -> Result<(), SurfaceError> {
    if mm < LEAST_DISTANCE_MM {
        Err(SurfaceError::TooClose)
    } else {
        Ok(())
    }
}
