//! Parts of screens that several of them use.

pub mod angle;
pub mod choice;
pub mod field;
pub mod gauge_card;
pub mod header;
pub mod how_round;
pub mod length;
pub mod looked;
pub mod loose_sheet;
pub mod marks;
pub mod notices;
pub mod read_with;
pub mod run_strip;
pub mod sheet_pages;
pub mod solid;
pub mod typing;
