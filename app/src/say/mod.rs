//! Every sentence the user reads that core does not say itself.

pub mod artwork;
pub mod gauge;
pub mod holes;
pub mod job;
pub mod laid;
pub mod measure;
pub mod names;
pub mod numbers;
pub mod run;
pub mod seat;
pub mod storage;

/// What stands beside keys that give a DXF.
pub const FOR_A_CUTTER: &str = "DXF is for a cutter: in one piece at true size, whatever the paper, with two bars to measure on what was cut. PDF and SVG are sheets of paper";
