//! Faces that a template can lie on, one file a kind, behind one trait.
//!
//! A [`Surface`] maps its chart (`Point2<Face>`, millimetres along the surface: `u` across, `v`
//! up, `(u, v, outward normal)` right-handed) into space, measures over the surface, and
//! develops a neighbourhood into the plane of one template ([`Development`]). What a workshop
//! can measure (girth, straight-edge and gap, gauge card) becomes a radius in [`size`].
//!
//! Every derivative is analytic; tests compare each with central differences.

mod cone;
mod cylinder;
mod development;
mod dome;
mod flat;
pub mod size;

pub use cone::Cone;
pub use cylinder::{Axis, Cylinder};
pub use development::Development;
pub use dome::Dome;
pub use flat::Flat as FlatFace;

use crate::frames::{Face, Part, Point2, Point3, Vector2, Vector3};

/// At most this many shape parameters on any face kind of this version (the cone has three).
pub const MAX_PARAMETERS: usize = 3;

/// One shape parameter of a face that castings vary in, and readings can bear on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parameter {
    /// Radius of a cylinder or dome, mm; negative inside a hollow.
    Radius,
    /// Radius of a cone at the reference girth (where v = 0), mm.
    ReferenceRadius,
    /// Change of cone radius for each millimetre of slant going up (−sin of the half-angle when it narrows upwards).
    Taper,
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
/// coordinates are written (no unrolling added).
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
    #[error("the shortest way between these two runs over the tip of the cone: read to a nearer mark")]
    OverTheTip,
    /// A point at or past the tip of a cone.
    #[error("a point lies {past_mm:.1} mm past the tip of the cone")]
    PastTheTip {
        /// How far past, mm of slant.
        past_mm: f64,
    },
    /// More than 150° apart on a dome.
    #[error("these two are more than 150 degrees apart round the dome: read to a nearer mark")]
    TooFarRound,
    /// Two marks less than 1 mm apart have no direction between them.
    #[error("these two are less than 1 mm apart")]
    TooClose,
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
/// chart (0, 0) for the flat face and on the axis or centre for the others; each file says which.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surface {
    /// Flat.
    Flat(FlatFace),
    /// Round one way.
    Cylinder(Cylinder),
    /// Tapered.
    Cone(Cone),
    /// Round both ways alike.
    Dome(Dome),
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
    fn over_surface(&self, from: Point2<Face>, to: Point2<Face>, turns: Turns) -> Result<Distance, SurfaceError>;
    /// How many free motions (shift and turn of the chart onto itself) the readings leave when
    /// every one of them lies on the surface, and when some are straight.
    fn isometries(&self, any_straight: bool) -> usize;
}
