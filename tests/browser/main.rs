//! The page as people meet it, in a real browser.
//!
//! Every test is a [`walk`](walk::walk): a fresh browser, a site served from `dist/`, steps, and
//! at the end the demand that nothing was complained of and nothing foreign asked for. Walks run
//! one after another whatever the number of test threads. `cargo xtask test suite` runs them on
//! the `dist/` that `cargo xtask build` left.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failed step fails the test; the walk adds pictures and what was heard"
)]

mod amendment;
mod amendment_kinds;
mod board;
mod browser;
mod by_keys;
mod chromium;
mod design;
mod devtools;
mod drill_template;
mod edges;
mod fewest;
mod fixings;
mod gauges;
mod hand_over;
mod hands;
mod hatch;
mod head;
mod history;
mod holes;
mod let_down;
mod marked_picture;
mod memory;
mod other_ways;
mod otters;
mod outlines;
mod page;
mod pairs;
mod printer;
mod qa;
mod quick_still;
mod rack;
mod reach;
mod round;
mod run_checks;
mod same_bytes;
mod scan;
mod seat;
#[path = "../../xtask/src/server.rs"]
mod server;
mod setout;
mod shell;
mod site;
mod solid;
mod spine;
mod storage;
mod tracing;
mod trust;
mod undo;
mod update;
mod walk;
