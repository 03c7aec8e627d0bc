//! read: filled in by its own commit.
#[cfg(feature = "artwork")]
pub mod artwork;
pub mod job;
