//! Development.
/// The developed plane of one template.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Development;
