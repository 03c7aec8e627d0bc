//! `cargo xtask build`: everything a web server has to hand out, in `dist/`.

use crate::sizes::Report;
use crate::{Outcome, files, fingerprint, page, wasm};

/// Builds `dist/`.
pub(crate) fn build(profile: wasm::Profile) -> Outcome<Report> {
    let mut tree = wasm::build(profile)?;
    tree.extend(files::read_tree(&files::root().join("public"))?);
    let mut tree = fingerprint::apply(&tree)?;
    let build = page::finish(&mut tree)?;
    files::write_tree(&files::root().join("dist"), &tree)?;
    let report = Report::of(build, &tree);
    match profile {
        wasm::Profile::Release => report.within_budget(),
        wasm::Profile::Dev => Ok(report),
    }
}
