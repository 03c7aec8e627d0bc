//! read: filled in by its own commit.
pub mod job;
