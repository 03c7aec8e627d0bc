//! The core on the inputs of a yardstick of general-purpose libraries, in rows of its shape. Run by
//! hand, beside those libraries: `tests/reference/peers/side_by_side.py`; alone:
//! `SAMESPOT_YARDSTICK=DIR cargo run -p samespot-tests --features yardstick --bin peers --profile tool -- KERNEL…`.
//!
//! `cpu_s`, the processor time of the whole process, is what is compared: on a shared machine wall
//! time measures the neighbours too. `check` must agree with the libraries' before times mean anything.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a measurement that fails should stop"
)]

#[path = "peers/network.rs"]
mod network;
#[path = "peers/polar.rs"]
mod polar;
#[path = "peers/scan.rs"]
mod scan;
#[path = "peers/sheets.rs"]
mod sheets;
#[path = "peers/timing.rs"]
mod timing;

use std::path::PathBuf;

/// Where the yardstick keeps its inputs.
struct Inputs(PathBuf);

impl Inputs {
    fn bytes(&self, name: &str) -> Vec<u8> {
        let path = self.0.join(name);
        std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
    }
    fn numbers(&self, name: &str) -> Vec<f64> {
        let bytes = self.bytes(name);
        bytes
            .as_chunks::<8>()
            .0
            .iter()
            .map(|b| f64::from_le_bytes(*b))
            .collect()
    }
    fn places(&self, name: &str) -> Vec<[f64; 3]> {
        self.numbers(name).as_chunks::<3>().0.to_vec()
    }
    fn whole(&self, name: &str) -> Vec<u32> {
        let bytes = self.bytes(name);
        bytes
            .as_chunks::<4>()
            .0
            .iter()
            .map(|b| u32::from_le_bytes(*b))
            .collect()
    }
}

fn main() {
    let Some(dir) = std::env::var_os("SAMESPOT_YARDSTICK") else {
        eprintln!("skipped: SAMESPOT_YARDSTICK does not say where the yardstick is");
        return;
    };
    let inputs = Inputs(PathBuf::from(dir).join("data"));
    let asked: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let wanted = |kernel: &str| asked.is_empty() || asked.iter().any(|a| a == kernel);
    if wanted("stl") {
        scan::stl(&inputs, "bumpy_1m");
        scan::stl(&inputs, "bumpyshuf_1m");
    }
    if wanted("large") {
        scan::refused(&inputs, "bumpy_5m");
    }
    if wanted("boxes") {
        scan::boxes(&inputs, "bumpy_1m");
    }
    if wanted("polar") {
        for patch in ["cap_r60_20k", "cap_r100_20k", "cylpatch_20k"] {
            polar::polar(&inputs, patch);
        }
    }
    if wanted("sheets") {
        sheets::sheets();
    }
    if wanted("issue") {
        sheets::issue();
    }
    if wanted("network") {
        network::network(&inputs, 50);
    }
}
