//! Flat.
/// A flat face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flat;
