//! Outlines: what is painted or cut, as curves in a named frame.

pub mod lettering;
