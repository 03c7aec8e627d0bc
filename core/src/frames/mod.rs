//! Points and directions that know which frame they are in.
//!
//! A [`Point2<Face>`](Point2) cannot be added to, measured to or compared with a
//! `Point2<Sheet>`: that does not compile. The only way across is a named transform, called
//! `target_from_source` ([`Rigid2`], [`Rigid3`], [`Mirror2`]).
//!
//! All frames are right-handed and y runs up, seen from outside the piece.

mod plane;
mod space;
mod transform;

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
frame!(/// The developed plane of one template, its centre at the origin, up along y.
    Flat, "flat");
frame!(/// An elevation drawing, as the viewer sees it.
    View, "view");
frame!(/// One printed sheet: origin at the lower left corner of the paper.
    Sheet, "sheet");
frame!(/// Artwork as drawn, in its own units, before a known length gave it a size.
    Artwork, "artwork");
