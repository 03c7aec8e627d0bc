//! Tests.

pub mod jobs;
