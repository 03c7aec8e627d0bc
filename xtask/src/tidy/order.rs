//! Modules of the core depend one way.

use super::{Finding, source};

/// A module may use those of its own row and of the rows above it.
const ROWS: [&[&str]; 10] = [
    &["units", "frames", "num", "json"],
    &["outline", "surface"],
    &["readings", "place", "seat", "holes"],
    &["template"],
    &["sheet"],
    &["check", "job", "proof"],
    &["read", "write"],
    &["run"],
    &["prepare"],
    &["answer"],
];

fn row(module: &str) -> Option<usize> {
    ROWS.iter().position(|row| row.contains(&module))
}

pub(super) fn check(path: &str, code: &str) -> Vec<Finding> {
    let Some(inside) = path.strip_prefix("core/src/") else {
        return Vec::new();
    };
    let module = inside.split(['/', '.']).next().unwrap_or(inside);
    if module == "lib" {
        return Vec::new();
    }
    let finding = |line, what| Finding {
        path: path.to_owned(),
        line,
        what,
    };
    let Some(own) = row(module) else {
        return vec![finding(
            None,
            format!(
                "the core module `{module}` has no place in the order; give it one in xtask/src/tidy/order.rs"
            ),
        )];
    };
    let mut found = Vec::new();
    for (line, used) in imports(&source::without_tests(code), depth(inside)) {
        if row(&used).is_some_and(|used| used > own) {
            let what = format!("`{module}` may not use `{used}`: it comes later in the order");
            found.push(finding(Some(line), what));
        }
    }
    found
}

/// How many `super` lead from this file's module to the root of the crate.
fn depth(inside: &str) -> usize {
    let parts = inside.split('/').count();
    if inside.ends_with("/mod.rs") {
        parts - 1
    } else {
        parts
    }
}

/// Modules at the root of the crate that the code speaks of, with the line.
fn imports(code: &str, depth: usize) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for root in ["crate::".to_owned(), "super::".repeat(depth)] {
        let mut from = 0;
        while let Some(at) = code.get(from..).and_then(|rest| rest.find(&root)) {
            let start = from + at;
            from = start + root.len();
            let before = code[..start].chars().next_back();
            if before.is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | ':' | '$')) {
                continue;
            }
            let line = code[..start].matches('\n').count() + 1;
            found.extend(
                first_names(&code[from..])
                    .into_iter()
                    .map(|name| (line, name)),
            );
        }
    }
    found
}

/// The first name of a path, or of each path in a group.
fn first_names(code: &str) -> Vec<String> {
    let name = |text: &str| -> String {
        text.trim_start()
            .chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let Some(group) = code.trim_start().strip_prefix('{') else {
        return vec![name(code)];
    };
    let mut names = Vec::new();
    let mut depth = 0_usize;
    let mut start = 0;
    for (at, c) in group.char_indices() {
        match c {
            '{' => depth += 1,
            '}' if depth == 0 => {
                names.push(name(&group[start..at]));
                break;
            }
            '}' => depth -= 1,
            ',' if depth == 0 => {
                names.push(name(&group[start..at]));
                start = at + 1;
            }
            _ => {}
        }
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn lines(path: &str, code: &str, expected: &[usize]) {
        let found: Vec<usize> = check(path, code).iter().filter_map(|f| f.line).collect();
        assert_eq!(found, expected, "{path}: {code}");
    }

    #[test]
    fn sees_an_import_against_the_order() {
        lines("core/src/surface/cone.rs", "use crate::units::Length;", &[]);
        lines(
            "core/src/surface/cone.rs",
            "use crate::outline::Curve;",
            &[],
        );
        lines(
            "core/src/surface/cone.rs",
            "\nuse crate::readings::Tape;",
            &[2],
        );
        lines(
            "core/src/surface/cone.rs",
            "fn f() -> crate::job::Job {}",
            &[1],
        );
        lines(
            "core/src/surface/cone.rs",
            "use crate::{units::{self, Length}, num, sheet::{Drawing}};",
            &[1],
        );
        lines(
            "core/src/surface/cone.rs",
            "use super::super::sheet::Drawing;",
            &[1],
        );
        lines("core/src/surface/cone.rs", "use super::sheet;", &[]);
        lines(
            "core/src/surface/mod.rs",
            "use super::sheet::Drawing;",
            &[1],
        );
        lines("core/src/read/job.rs", "use crate::{write, job};", &[]);
    }

    #[test]
    fn tests_may_use_anything() {
        let code = "#[cfg(test)]\nmod tests { use crate::write::pdf; }";
        lines("core/src/sheet/mod.rs", code, &[]);
    }

    #[test]
    fn a_module_without_a_place_is_a_breach() {
        let found = check("core/src/extras.rs", "");
        assert_eq!(found.len(), 1, "{found:?}");
        assert!(
            found
                .iter()
                .all(|finding| finding.what.contains("no place"))
        );
        assert!(check("core/src/lib.rs", "pub mod extras;").is_empty());
        assert!(check("app/src/extras.rs", "use crate::write;").is_empty());
    }
}
