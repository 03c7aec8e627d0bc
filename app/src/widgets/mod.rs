//! Parts of screens that several of them use.

pub mod choice;
pub mod header;
pub mod length;
pub mod marks;
pub mod notices;
pub mod run_strip;
