//! `cargo xtask build`: everything a web server has to hand out, in `dist/`.

use crate::files::Tree;
use crate::sizes::Report;
use crate::{Outcome, files, fingerprint, packed, page, wasm};

/// Builds `dist/`.
pub(crate) fn build(profile: wasm::Profile) -> Outcome<Report> {
    let mut tree = wasm::build(profile)?;
    tree.extend(files::read_tree(&files::root().join("public"))?);
    let mut tree = fingerprint::apply(&tree)?;
    let build = page::finish(&mut tree)?;
    let packed = match profile {
        wasm::Profile::Release => packed::beside(&tree)?,
        // Built often, and served to one machine only.
        wasm::Profile::Dev | wasm::Profile::Named => Tree::new(),
    };
    let report = Report::of(build, &tree, &packed);
    tree.extend(packed);
    files::write_tree(&files::root().join("dist"), &tree)?;
    match profile {
        wasm::Profile::Release => report.within_budget(),
        wasm::Profile::Dev | wasm::Profile::Named => Ok(report),
    }
}
