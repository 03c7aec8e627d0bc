//! Tests.

pub mod jobs;
pub mod large;
pub mod meshes;
pub mod mutation;
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "points of a picture"
)]
pub mod photograph;
