//! Reading and writing files, with messages that name the file.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::Outcome;

/// Files by their path inside a folder, `/` between the parts.
pub(crate) type Tree = BTreeMap<String, Vec<u8>>;

/// The folder of the workspace.
pub(crate) fn root() -> PathBuf {
    let own = Path::new(env!("CARGO_MANIFEST_DIR"));
    own.parent().unwrap_or(own).to_path_buf()
}

pub(crate) fn read(path: &Path) -> Outcome<Vec<u8>> {
    fs::read(path).map_err(|fault| format!("cannot read {}: {fault}", path.display()))
}

pub(crate) fn write(path: &Path, bytes: &[u8]) -> Outcome {
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)
            .map_err(|fault| format!("cannot make the folder {}: {fault}", folder.display()))?;
    }
    fs::write(path, bytes).map_err(|fault| format!("cannot write {}: {fault}", path.display()))
}

/// Everything below `folder`, save the folders for which `enter` says no.
pub(crate) fn walk(folder: &Path, enter: &dyn Fn(&str) -> bool) -> Outcome<Vec<String>> {
    let mut found = Vec::new();
    let mut waiting = vec![String::new()];
    while let Some(inside) = waiting.pop() {
        let here = folder.join(&inside);
        let entries = fs::read_dir(&here)
            .map_err(|fault| format!("cannot list {}: {fault}", here.display()))?;
        for entry in entries {
            let entry =
                entry.map_err(|fault| format!("cannot list {}: {fault}", here.display()))?;
            let name = entry.file_name().to_string_lossy().into_owned();
            let path = if inside.is_empty() {
                name
            } else {
                format!("{inside}/{name}")
            };
            if entry.path().is_dir() {
                if enter(&path) {
                    waiting.push(path);
                }
            } else {
                found.push(path);
            }
        }
    }
    found.sort();
    Ok(found)
}

/// Reads everything below `folder` into memory.
pub(crate) fn read_tree(folder: &Path) -> Outcome<Tree> {
    let mut tree = Tree::new();
    for path in walk(folder, &|_| true)? {
        let bytes = read(&folder.join(&path))?;
        tree.insert(path, bytes);
    }
    Ok(tree)
}

/// Makes `folder` hold exactly `tree`.
pub(crate) fn write_tree(folder: &Path, tree: &Tree) -> Outcome {
    if folder.exists() {
        fs::remove_dir_all(folder)
            .map_err(|fault| format!("cannot clear {}: {fault}", folder.display()))?;
    }
    for (path, bytes) in tree {
        write(&folder.join(path), bytes)?;
    }
    Ok(())
}

/// The part of a path after its last dot, or nothing.
pub(crate) fn extension(path: &str) -> &str {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.rsplit_once('.').map_or("", |(_, extension)| extension)
}
