//! Cylinder.
/// A face round one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cylinder;
/// Which way the axis runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Axis { /// Up.
 Up, /// Across.
 Across }
