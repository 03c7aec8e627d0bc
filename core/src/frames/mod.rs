//! Points and directions that know which frame they are in.
//!
//! A [`Point2<Face>`](Point2) cannot be added to, measured to or compared with a
//! `Point2<Sheet>`: that does not compile. The only way across is a named transform, called
//! `target_from_source` ([`Rigid2`], [`Rigid3`], [`Mirror2`]).
//!
//! ```
//! use samespot_core::frames::{Face, Point2, Rigid2, Sheet};
//! use samespot_core::units::Angle;
//! let mark = Point2::<Face>::from_mm(3.0, 4.0);
//! let sheet_from_face = Rigid2::<Sheet, Face>::new(Angle::ZERO, Point2::from_mm(10.0, 10.0));
//! assert_eq!(sheet_from_face.point(mark), Point2::from_mm(13.0, 14.0));
//! ```
//!
//! Measuring from a face to a sheet, adding across frames, or composing transforms whose
//! neighbouring words differ is refused:
//!
//! ```compile_fail,E0308
//! use samespot_core::frames::{Face, Point2, Sheet};
//! let mark = Point2::<Face>::from_mm(3.0, 4.0);
//! let _ = mark.distance(Point2::<Sheet>::ORIGIN);
//! ```
//! ```compile_fail,E0308
//! use samespot_core::frames::{Face, Flat, Point2, Vector2};
//! let _ = Point2::<Face>::ORIGIN + Vector2::<Flat>::from_mm(1.0, 0.0);
//! ```
//! ```compile_fail,E0308
//! use samespot_core::frames::{Face, Flat, Part, Point2, Rigid2, Sheet};
//! use samespot_core::units::Angle;
//! let sheet_from_flat = Rigid2::<Sheet, Flat>::new(Angle::ZERO, Point2::ORIGIN);
//! let part_from_face = Rigid2::<Part, Face>::new(Angle::ZERO, Point2::ORIGIN);
//! let _ = sheet_from_flat.after(part_from_face);
//! ```
//!
//! All frames are right-handed and y runs up, seen from outside the piece.

mod best_fit;
mod plane;
mod space;
mod transform;

pub use best_fit::{BestFit, NotTied, best_fit, carried_out_by};
pub use plane::{Point2, Vector2};
pub use space::{Point3, Vector3};
pub use transform::{Mirror2, NotATurn, Rigid2, Rigid3};

/// A frame of reference; a tag, never a value.
pub trait Frame: Copy + Clone + PartialEq + core::fmt::Debug + 'static {
    /// The frame's name as it stands in messages.
    const NAME: &'static str;
}

macro_rules! frame {
    ($(#[$doc:meta])* $name:ident, $text:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub enum $name {}
        impl Frame for $name {
            const NAME: &'static str = $text;
        }
    };
}

frame!(/// The chart of one face: u across and v up, in millimetres along the surface, fixed to the face.
    Face, "face");
frame!(/// A part in space, as cast: what a scan or a gridded board gives.
    Part, "part");
frame!(/// A base in space, as it stands: x to the right seen from the front, y to the back, z up.
    Base, "base");
frame!(/// A figure in space, as it was measured before it was set on a base.
    Figure, "figure");
frame!(/// The developed plane of one template, its centre at the origin, up along y.
    Flat, "flat");
frame!(/// An elevation drawing, as the viewer sees it.
    View, "view");
frame!(/// One printed sheet: origin at the lower left corner of the paper.
    Sheet, "sheet");
frame!(/// What is turned to be looked at: origin in its middle, x across, y up, z out of the face.
    Shown, "shown");
frame!(/// Artwork as drawn, in its own units, before a known length gave it a size.
    Artwork, "artwork");
