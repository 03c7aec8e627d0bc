//! Tests.

pub mod jobs;
pub mod meshes;
