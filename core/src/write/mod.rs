//! From values to bytes: the same value gives the same bytes, natively and in the browser.

pub mod dxf;
pub mod job;
mod number;
pub mod pdf;
mod png;
pub mod svg;
pub mod table;
mod xml;
pub mod zip;
