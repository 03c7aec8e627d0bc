//! Sizes a workshop can measure.
