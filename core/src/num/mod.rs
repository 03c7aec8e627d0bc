//! Numbers: small dense solves, least squares with covariance, distributions, fits.
//!
//! Plain loops in a fixed order on `libm`, so that the same inputs give the same bits natively
//! and in WebAssembly. Private kernels take `f64`; units belong to the callers.

#![allow(
    clippy::needless_range_loop,
    reason = "indices stand as they do in the formulas"
)]

pub mod arcs;
pub mod cholesky;
pub mod distribution;
pub mod fit;
pub mod known;
pub mod least_squares;
mod normal;
mod order;
pub mod qr;
pub(crate) mod real;
pub mod small;
mod special;
