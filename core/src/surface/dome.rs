//! Dome.
/// A face round both ways alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dome;
