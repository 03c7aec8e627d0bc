//! Rules about single files.

use std::collections::BTreeSet;

use super::{Finding, source};
use crate::files::{Tree, extension};

const MOST_LINES: usize = 600;

/// Words that promise work instead of doing it. Split, or this file would break its own rule.
const PROMISES: [&str; 3] = [
    concat!("TO", "DO"),
    concat!("FIX", "ME"),
    concat!("todo", "!("),
];

/// Hosts that hand out packages: dependencies are named, their addresses are the tools' affair.
const HOSTS: [&str; 11] = [
    concat!("crates", ".io/"),
    concat!("static.crates", ".io"),
    concat!("pypi", ".org"),
    concat!("python", "hosted.org"),
    concat!("npm", "js.org"),
    concat!("npm", "js.com"),
    concat!("un", "pkg.com"),
    concat!("js", "delivr.net"),
    concat!("deb.", "debian.org"),
    concat!("archive.", "ubuntu.com"),
    concat!("proxy.", "golang.org"),
];

/// Beginnings of paths that exist on one machine only.
const MACHINE_PATHS: [&str; 6] = [
    concat!("/wo", "rk/"),
    concat!("/ro", "ot/"),
    concat!("/ho", "me/"),
    concat!("/Us", "ers/"),
    concat!("/tm", "p/"),
    concat!("C:", "\\"),
];

/// Methods of floats whose last digit is the platform's. Square roots are exact everywhere, but
/// only `libm` has them without the standard library.
const PLATFORM_MATHS: [&str; 30] = [
    "sin", "cos", "tan", "sin_cos", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh",
    "asinh", "acosh", "atanh", "sqrt", "cbrt", "hypot", "powf", "powi", "exp", "exp2", "exp_m1",
    "ln", "ln_1p", "log", "log2", "log10", "mul_add", "gamma", "ln_gamma",
];

/// Functions of its own that a module of the core gives such a name, as `place.sqrt`: a number
/// type of its own may have them. Clippy, which sees types, guards floats there.
pub(super) fn own_maths(tree: &Tree) -> BTreeSet<String> {
    let mut own = BTreeSet::new();
    for (path, bytes) in tree {
        let Some(module) = core_module(path) else {
            continue;
        };
        let code = source::code(&String::from_utf8_lossy(bytes));
        for method in PLATFORM_MATHS {
            if code.contains(&format!("fn {method}(")) {
                own.insert(format!("{module}.{method}"));
            }
        }
    }
    own
}

fn core_module(path: &str) -> Option<&str> {
    path.strip_prefix("core/src/")?.split(['/', '.']).next()
}

fn finding(path: &str, line: usize, what: impl Into<String>) -> Finding {
    Finding {
        path: path.to_owned(),
        line: Some(line),
        what: what.into(),
    }
}

/// Rules for every text file.
pub(super) fn text(path: &str, text: &str) -> Vec<Finding> {
    // Cargo writes the registry's address into its lock file.
    if path == "Cargo.lock" {
        return Vec::new();
    }
    let mut found = Vec::new();
    for (at, line) in text.lines().enumerate() {
        let line_number = at + 1;
        for word in PROMISES {
            if has_word(line, word) {
                found.push(finding(
                    path,
                    line_number,
                    format!("`{word}`: do it, or say in an issue"),
                ));
            }
        }
        for host in HOSTS {
            if line.contains(host) {
                found.push(finding(
                    path,
                    line_number,
                    format!("address of a package host: {host}"),
                ));
            }
        }
        for start in MACHINE_PATHS {
            if is_machine_path(line, start) {
                found.push(finding(
                    path,
                    line_number,
                    format!("path of one machine: {start}…"),
                ));
            }
        }
    }
    found
}

/// `word` with no letter or digit directly before or after it.
fn has_word(line: &str, word: &str) -> bool {
    line.match_indices(word).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        let after = line[at + word.len()..].chars().next();
        ![before, after]
            .into_iter()
            .flatten()
            .any(char::is_alphanumeric)
    })
}

/// An absolute path, not the middle of a longer one (`a/home/b`) or of an address.
fn is_machine_path(line: &str, start: &str) -> bool {
    line.match_indices(start).any(|(at, _)| {
        let before = line[..at].chars().next_back();
        !before
            .is_some_and(|c| c.is_alphanumeric() || matches!(c, '_' | '.' | '-' | '/' | '}' | '*'))
    })
}

/// Rules for Rust. `code` is the text with comments and literals blanked.
pub(super) fn rust(path: &str, text: &str, code: &str, own: &BTreeSet<String>) -> Vec<Finding> {
    let mut found = Vec::new();
    let lines = text.lines().count();
    if lines > MOST_LINES {
        found.push(Finding {
            path: path.to_owned(),
            line: None,
            what: format!("{lines} lines; {MOST_LINES} is the most, split it by what it speaks of"),
        });
    }
    let browser_allowed =
        path.starts_with("app/src/ports/") || path.starts_with("app/src/widgets/");
    if !browser_allowed {
        for (at, line) in code.lines().enumerate() {
            if line.contains(concat!("web", "_sys")) {
                let what = "web-sys belongs into app/src/ports/ or app/src/widgets/";
                found.push(finding(path, at + 1, what));
            }
        }
    }
    if path.starts_with("core/src/") && !is_test_file(path) {
        found.extend(core(path, &source::without_tests(code), own));
    }
    found
}

fn is_test_file(path: &str) -> bool {
    path.ends_with("/tests.rs") || path.ends_with("_tests.rs") || path.contains("/tests/")
}

fn core(path: &str, code: &str, own: &BTreeSet<String>) -> Vec<Finding> {
    let mut found = Vec::new();
    let module = core_module(path).unwrap_or(path);
    for (at, line) in code.lines().enumerate() {
        for call in [".unwrap()", ".expect("] {
            if line.contains(call) {
                let what = format!("`{call}` in the core: return an error that says where");
                found.push(finding(path, at + 1, what));
            }
        }
        for method in PLATFORM_MATHS {
            let mut called = vec![format!("f64::{method}"), format!("f32::{method}")];
            if !own.contains(&format!("{module}.{method}")) {
                called.push(format!(".{method}("));
            }
            if called.iter().any(|call| calls(line, call)) {
                let what = format!("`{method}` of the platform: use `libm`, the same everywhere");
                found.push(finding(path, at + 1, what));
            }
        }
    }
    found
}

/// `call` not followed by more of a name, so that `f64::exp` is not found in `f64::expand`.
fn calls(line: &str, call: &str) -> bool {
    line.match_indices(call).any(|(at, _)| {
        call.ends_with('(')
            || !line[at + call.len()..]
                .chars()
                .next()
                .is_some_and(|c| c.is_alphanumeric() || c == '_')
    })
}

/// Every font lies beside its licence, named `<start of the font's name>-OFL.txt`.
pub(super) fn fonts(tree: &Tree) -> Vec<Finding> {
    let licences: Vec<&str> = tree
        .iter()
        .filter(|(_, bytes)| {
            let text = String::from_utf8_lossy(bytes).to_ascii_lowercase();
            text.contains("sil open font license")
        })
        .filter_map(|(path, _)| path.strip_suffix("-OFL.txt"))
        .collect();
    tree.keys()
        .filter(|path| matches!(extension(path), "ttf" | "otf" | "woff" | "woff2"))
        .filter(|path| !licences.iter().any(|licence| path.starts_with(licence)))
        .map(|path| Finding {
            path: path.clone(),
            line: None,
            what: "a font without its licence beside it (…-OFL.txt)".to_owned(),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn in_text(sample: &str, expected: usize) {
        let found = text("README.md", sample);
        assert_eq!(found.len(), expected, "{sample}: {found:?}");
    }

    #[track_caller]
    fn in_rust(path: &str, sample: &str, expected: usize) {
        let found = rust(path, sample, &source::code(sample), &BTreeSet::new());
        assert_eq!(found.len(), expected, "{path}: {sample}: {found:?}");
    }

    #[test]
    fn sees_promises() {
        in_text(concat!("// TO", "DO later"), 1);
        in_text(concat!("# FIX", "ME"), 1);
        in_text(concat!("fn f() { todo", "!() }"), 1);
        in_text("a method, mastodons", 0);
    }

    #[test]
    fn sees_package_hosts_and_machine_paths() {
        in_text(concat!("https://pypi", ".org/simple"), 1);
        in_text(concat!("open /wo", "rk/shared"), 1);
        in_text(concat!("\"/ro", "ot/.cargo\""), 1);
        in_text(concat!("C:", "\\jobs"), 1);
        in_text("see ../shared and app/work/home", 0);
        assert!(text("Cargo.lock", concat!("crates", ".io/index")).is_empty());
    }

    #[test]
    fn sees_long_files() {
        in_rust("core/src/units/mod.rs", &"\n".repeat(601), 1);
        in_rust("core/src/units/mod.rs", &"\n".repeat(600), 0);
    }

    #[test]
    fn sees_the_browser_in_the_wrong_place() {
        let sample = concat!("use web", "_sys::Window;");
        in_rust("app/src/screens/start.rs", sample, 1);
        in_rust("core/src/units/mod.rs", sample, 1);
        in_rust("app/src/ports/files.rs", sample, 0);
        in_rust("app/src/widgets/drawing.rs", sample, 0);
        in_rust("app/src/lib.rs", concat!("// web", "_sys is elsewhere"), 0);
    }

    #[test]
    fn sees_panics_in_the_core() {
        in_rust("core/src/units/mod.rs", "fn f() { a.unwrap(); }", 1);
        in_rust("core/src/units/mod.rs", "fn f() { a.expect(\"b\"); }", 1);
        in_rust(
            "core/src/units/mod.rs",
            "/// a.unwrap()\nfn f() { a.unwrap_or(b); }",
            0,
        );
        in_rust(
            "core/src/units/mod.rs",
            "#[cfg(test)]\nmod tests { fn f() { a.unwrap(); } }",
            0,
        );
        in_rust("core/src/units/tests.rs", "fn f() { a.unwrap(); }", 0);
        in_rust("app/src/lib.rs", "fn f() { a.unwrap(); }", 0);
    }

    #[test]
    fn sees_the_platforms_maths() {
        for sample in [
            "x.sin()",
            "x.hypot(y)",
            "f64::sqrt(x)",
            "map(f64::exp)",
            "x.powi(2)",
        ] {
            in_rust("core/src/num/small.rs", sample, 1);
        }
        for sample in [
            "libm::sin(x)",
            "x.abs()",
            "f64::expand(x)",
            "x.sine()",
            "x.max(y)",
        ] {
            in_rust("core/src/num/small.rs", sample, 0);
        }
    }

    #[test]
    fn a_number_type_of_its_own_may_have_maths() {
        let path = "core/src/place/dual.rs".to_owned();
        let text = "trait Real { fn sqrt(self) -> Self; }";
        let own = own_maths(&Tree::from([(path, text.as_bytes().to_vec())]));
        let breaches = |path, sample: &str| rust(path, sample, &source::code(sample), &own).len();
        assert_eq!(breaches("core/src/place/rule.rs", "x.sqrt()"), 0);
        assert_eq!(breaches("core/src/place/rule.rs", "f64::sqrt(x)"), 1);
        assert_eq!(breaches("core/src/place/rule.rs", "x.sin()"), 1);
        assert_eq!(breaches("core/src/num/small.rs", "x.sqrt()"), 1);
    }

    #[test]
    fn sees_a_font_without_a_licence() {
        let font = ("fonts/plain-500.woff2".to_owned(), vec![0]);
        let licence = |path: &str, text: &str| (path.to_owned(), text.as_bytes().to_vec());
        let good = licence("fonts/plain-OFL.txt", "SIL OPEN FONT LICENSE Version 1.1");
        let empty = licence("fonts/plain-OFL.txt", "");
        let elsewhere = licence("other/plain-OFL.txt", "SIL OPEN FONT LICENSE Version 1.1");
        assert_eq!(fonts(&Tree::from([font.clone(), good])), []);
        for other in [empty, elsewhere] {
            assert_eq!(fonts(&Tree::from([font.clone(), other])).len(), 1);
        }
    }
}
