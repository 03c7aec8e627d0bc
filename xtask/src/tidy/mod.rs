//! `cargo xtask tidy`: the rules of the house that no compiler checks.

mod order;
mod rules;
mod source;

use crate::{Outcome, files};

/// One breach of a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Finding {
    path: String,
    /// From 1; none for a breach by the whole file.
    line: Option<usize>,
    what: String,
}

impl std::fmt::Display for Finding {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.line {
            Some(line) => write!(out, "{}:{line}: {}", self.path, self.what),
            None => write!(out, "{}: {}", self.path, self.what),
        }
    }
}

/// Folders that are made, not written.
fn is_made(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    matches!(name, ".git" | "target" | "__pycache__" | ".venv")
        || matches!(path, "dist" | "tests/out")
}

pub(crate) fn run() -> Outcome {
    let tree = {
        let root = files::root();
        let mut tree = files::Tree::new();
        for path in files::walk(&root, &|folder| !is_made(folder))? {
            // In a second checkout of the same clone `.git` is a file.
            if is_made(&path) {
                continue;
            }
            let bytes = files::read(&root.join(&path))?;
            tree.insert(path, bytes);
        }
        tree
    };
    let findings = findings(&tree);
    if findings.is_empty() {
        println!("Tidy: {} files", tree.len());
        return Ok(());
    }
    let lines: Vec<String> = findings.iter().map(Finding::to_string).collect();
    Err(format!("{}\nNot tidy: {}", lines.join("\n"), lines.len()))
}

fn findings(tree: &files::Tree) -> Vec<Finding> {
    let mut found = rules::fonts(tree);
    let own_maths = rules::own_maths(tree);
    for (path, bytes) in tree {
        let Ok(text) = std::str::from_utf8(bytes) else {
            continue;
        };
        found.extend(rules::text(path, text));
        if files::extension(path) == "rs" {
            let code = source::code(text);
            found.extend(rules::rust(path, text, &code, &own_maths));
            found.extend(order::check(path, &code));
        }
    }
    found
}
