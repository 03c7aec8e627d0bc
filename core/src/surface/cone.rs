//! Cone.
/// A tapered face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cone;
