//! Where a feature goes on this piece.
//!
//! A [`Rule`] says how a feature follows the datums when the casting is not nominal (design/11,
//! *Rules*). [`place`] applies it: nominal marks and centre in, this casting's marks in, the
//! feature's place on this casting out, with exact derivatives by every mark, every size of the
//! face and every nominal number, so that uncertainty follows by linear propagation.

mod dual;
mod edge;
mod error;
mod ground;
mod placing;
mod rule;

pub use error::PlaceError;
pub use placing::{Jacobian, Layout, Nominal, Placed, Pose, place, pose_by_line, seen_from};
pub use rule::{Follow, Rule};
