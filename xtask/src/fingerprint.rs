//! Names that say what is in the file: `worker.js` becomes `worker.0d7be1c2a9f4.js`, and every
//! file that speaks of it is rewritten. A name then never means two contents, so a cache can
//! never mix two builds.

use std::collections::BTreeMap;

use sha2::{Digest, Sha256};

use crate::Outcome;
use crate::files::{Tree, extension};

/// Digits of the hash in a name: 48 bits, far beyond any accident among some dozens of files.
const DIGITS: usize = 12;

/// Files whose own name is how they are found from outside.
const FIXED: [&str; 1] = ["sw.js"];

/// SHA-256 in hexadecimal.
pub(crate) fn sha256(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

/// Renames what may be renamed and rewrites what speaks of it.
pub(crate) fn apply(tree: &Tree) -> Outcome<Tree> {
    let mut work = Work {
        tree,
        finished: BTreeMap::new(),
        open: Vec::new(),
    };
    for path in tree.keys() {
        work.finish(path)?;
    }
    Ok(work.finished.into_values().collect())
}

struct Work<'a> {
    tree: &'a Tree,
    /// Old path to new path and content.
    finished: BTreeMap<String, (String, Vec<u8>)>,
    /// Files being worked on, outermost first.
    open: Vec<String>,
}

impl Work<'_> {
    fn finish(&mut self, path: &str) -> Outcome<String> {
        if let Some((name, _)) = self.finished.get(path) {
            return Ok(name.clone());
        }
        if self.open.iter().any(|open| open == path) {
            return Err(format!(
                "{} speak of each other in a circle, so neither can be named by its content",
                self.open.join(" → ")
            ));
        }
        let Some(bytes) = self.tree.get(path) else {
            return Err(format!("{path} is spoken of and not there"));
        };
        self.open.push(path.to_owned());
        let bytes = match std::str::from_utf8(bytes) {
            Ok(text) if speaks_of_others(path) => self.rewrite(path, text)?.into_bytes(),
            _ => bytes.clone(),
        };
        self.open.pop();
        let name = if may_be_renamed(path) {
            renamed(path, &sha256(&bytes))
        } else {
            path.to_owned()
        };
        self.finished.insert(path.to_owned(), (name.clone(), bytes));
        Ok(name)
    }

    fn rewrite(&mut self, path: &str, text: &str) -> Outcome<String> {
        let mut out = String::with_capacity(text.len() + 256);
        let mut rest = text;
        while let Some(at) = rest.find(['"', '\'', '`', '(']) {
            let opening = rest.as_bytes()[at];
            let (before, after) = rest.split_at(at + 1);
            out.push_str(before);
            rest = after;
            let closing = if opening == b'(' {
                ')'
            } else {
                char::from(opening)
            };
            let Some(end) = rest.find(closing) else {
                continue;
            };
            let spoken = &rest[..end];
            let Some(other) = resolve(path, spoken) else {
                continue;
            };
            if other == path || !self.tree.contains_key(&other) || !may_be_renamed(&other) {
                continue;
            }
            let new = self.finish(&other)?;
            let folder = spoken.rfind('/').map_or("", |slash| &spoken[..=slash]);
            out.push_str(folder);
            out.push_str(new.rsplit('/').next().unwrap_or(&new));
            rest = &rest[end..];
        }
        out.push_str(rest);
        Ok(out)
    }
}

fn speaks_of_others(path: &str) -> bool {
    matches!(extension(path), "js" | "css" | "html" | "webmanifest")
}

fn may_be_renamed(path: &str) -> bool {
    !FIXED.contains(&path)
        && matches!(
            extension(path),
            "js" | "css" | "wasm" | "woff2" | "woff" | "ttf"
        )
}

fn renamed(path: &str, hash: &str) -> String {
    let digits = &hash[..DIGITS];
    match path.rsplit_once('.') {
        Some((stem, extension)) => format!("{stem}.{digits}.{extension}"),
        None => format!("{path}.{digits}"),
    }
}

/// The path inside `dist/` that `spoken` in the file `path` means, if it can be one.
fn resolve(path: &str, spoken: &str) -> Option<String> {
    let plausible = !spoken.is_empty()
        && spoken.len() <= 200
        && !spoken.starts_with('/')
        && spoken
            .bytes()
            .all(|byte| byte.is_ascii_alphanumeric() || b"./_-".contains(&byte));
    if !plausible {
        return None;
    }
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in spoken.split('/') {
        match part {
            "." | "" => {}
            ".." => {
                parts.pop()?;
            }
            name => parts.push(name),
        }
    }
    Some(parts.join("/"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    fn tree(files: &[(&str, &str)]) -> Tree {
        files
            .iter()
            .map(|&(path, text)| (path.to_owned(), text.as_bytes().to_vec()))
            .collect()
    }

    #[test]
    fn hashes_as_the_standard_says() {
        // FIPS 180-4, the standard's example "abc".
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn renames_and_rewrites_through_several_files() {
        let made = apply(&tree(&[
            ("index.html", r#"<script src="boot.js"></script>"#),
            ("boot.js", "import './app/a.js'; new Worker(`worker.js`);"),
            ("worker.js", "x"),
            ("app/a.js", "new URL('a.wasm', here)"),
            ("app/a.wasm", "w"),
            ("styles/main.css", "src: url(../fonts/f.woff2)"),
            ("fonts/f.woff2", "f"),
            ("fonts/f-OFL.txt", "licence"),
            ("sw.js", "s"),
        ]))
        .unwrap();
        let digits = |text: &str| sha256(text.as_bytes())[..DIGITS].to_owned();
        let bindings = format!("new URL('a.{}.wasm', here)", digits("w"));
        let boot = format!(
            "import './app/a.{}.js'; new Worker(`worker.{}.js`);",
            digits(&bindings),
            digits("x")
        );
        let style = format!("src: url(../fonts/f.{}.woff2)", digits("f"));
        let expected = [
            (
                "index.html".to_owned(),
                format!(r#"<script src="boot.{}.js"></script>"#, digits(&boot)),
            ),
            (format!("boot.{}.js", digits(&boot)), boot),
            (format!("worker.{}.js", digits("x")), "x".to_owned()),
            (format!("app/a.{}.js", digits(&bindings)), bindings),
            (format!("app/a.{}.wasm", digits("w")), "w".to_owned()),
            (format!("styles/main.{}.css", digits(&style)), style),
            (format!("fonts/f.{}.woff2", digits("f")), "f".to_owned()),
            ("fonts/f-OFL.txt".to_owned(), "licence".to_owned()),
            ("sw.js".to_owned(), "s".to_owned()),
        ];
        let expected: Tree = expected
            .into_iter()
            .map(|(path, text)| (path, text.into_bytes()))
            .collect();
        assert_eq!(made, expected);
    }

    #[test]
    fn a_change_deep_down_changes_every_name_above_it() {
        let with =
            |leaf: &str| apply(&tree(&[("a.js", "import './b.js'"), ("b.js", leaf)])).unwrap();
        let (one, other) = (with("1"), with("2"));
        assert!(
            one.keys().all(|path| !other.contains_key(path)),
            "{one:?} {other:?}"
        );
    }

    #[test]
    fn a_circle_is_refused() {
        let fault = apply(&tree(&[
            ("a.js", "import './b.js'"),
            ("b.js", "import './a.js'"),
        ]));
        assert!(fault.unwrap_err().contains("circle"));
    }

    #[test]
    fn what_only_looks_like_a_path_is_left_alone() {
        let text = "f('b.js?x', \"c.js\", (a), '../../b.js', 'b js') // it's";
        let made = apply(&tree(&[("a.css", text), ("b.js", "")])).unwrap();
        assert!(made.values().any(|bytes| bytes == text.as_bytes()));
    }
}
