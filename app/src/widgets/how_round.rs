//! The words for how round a face is and how that was measured: the same wherever it is asked.

use super::choice::Choice;

/// Ways to measure how big a round face is.
#[must_use]
pub fn measured_by() -> Vec<Choice> {
    vec![
        Choice::words("girth", "tape round it"),
        Choice::words("card", "gauge card"),
        Choice::words("edge", "straight-edge and gap"),
        Choice::words("radius", "radius"),
    ]
}

/// How a face round both ways runs the other way.
#[must_use]
pub fn the_other_way() -> Vec<Choice> {
    vec![
        Choice::words("alike", "the same"),
        Choice::words("bulging", "bulging"),
        Choice::words("hollow", "hollow"),
        Choice::words("flat", "flat"),
    ]
}

/// How a straight-edge is held.
pub const STRAIGHT_EDGE: &str = "Bulging: rock it until the gap is the same at both ends. Hollow: the gap in the middle. The longest edge that fits is the best";
