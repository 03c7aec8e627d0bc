//! From what people bring to values: nothing is lost, and an error says where.
#[cfg(feature = "artwork")]
pub mod artwork;
pub mod job;
pub mod marked_picture;
pub mod mesh;
#[cfg(feature = "artwork")]
pub mod photo;
pub mod table;
mod typed_pose;
