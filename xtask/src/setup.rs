//! What has to be on the machine, put there where that can be done.

use std::path::Path;
use std::process::Command;

use crate::{Outcome, process};

const WASM_TARGET: &str = "wasm32-unknown-unknown";

/// Programs the tests need: what they are called, and the Debian package that brings them.
const TOOLS: [(&[&str], &str); 3] = [
    (&["chromium", "chromium-browser"], "chromium"),
    (&["pdftotext"], "poppler-utils"),
    (&["rsvg-convert"], "librsvg2-bin"),
];

/// Adds the WebAssembly target to the toolchain in use.
pub(crate) fn wasm_target() -> Outcome {
    let sysroot = process::output(Command::new("rustc").args(["--print", "sysroot"]))?;
    if Path::new(sysroot.trim())
        .join("lib/rustlib")
        .join(WASM_TARGET)
        .is_dir()
    {
        return Ok(());
    }
    println!("Adding the target {WASM_TARGET}");
    process::run(Command::new("rustup").args(["target", "add", WASM_TARGET])).map_err(|fault| {
        format!(
            "The Rust target {WASM_TARGET} is missing and could not be added: {fault}. \
             With rustup: `rustup target add {WASM_TARGET}`; with a Rust from elsewhere, \
             install its standard library for that target"
        )
    })
}

/// Puts a browser and the readers of printed sheets on the machine.
pub(crate) fn test_tools() -> Outcome {
    let missing = missing(&|program| {
        process::find(program).is_some()
            || (program == "chromium" && std::env::var_os("SAMESPOT_BROWSER").is_some())
    });
    if missing.is_empty() {
        return Ok(());
    }
    println!("Missing for the tests: {}", missing.join(", "));
    let Some(prefix) = apt() else {
        return Err(advice(&missing));
    };
    apt_get(prefix, &["update"])
        .and_then(|()| {
            let mut words = vec!["install", "--yes", "--no-install-recommends"];
            words.extend(&missing);
            apt_get(prefix, &words)
        })
        .map_err(|fault| format!("{fault}\n{}", advice(&missing)))
}

fn missing(found: &dyn Fn(&str) -> bool) -> Vec<&'static str> {
    TOOLS
        .iter()
        .filter(|(programs, _)| !programs.iter().any(|program| found(program)))
        .map(|&(_, package)| package)
        .collect()
}

fn advice(missing: &[&str]) -> String {
    format!(
        "The tests need {}. On Debian or Ubuntu: `sudo apt-get install {}`. Elsewhere install \
         Chromium, poppler (pdftotext, pdftoppm) and librsvg (rsvg-convert) so that they are \
         on PATH; a Chromium in another place is named by SAMESPOT_BROWSER",
        missing.join(", "),
        missing.join(" ")
    )
}

/// How apt can be used here: as it is by root, through sudo without a question, or not at all.
fn apt() -> Option<&'static [&'static str]> {
    process::find("apt-get")?;
    let root = process::output(Command::new("id").arg("-u")).is_ok_and(|id| id.trim() == "0");
    if root {
        return Some(&[]);
    }
    let silent = process::find("sudo").is_some()
        && process::output(Command::new("sudo").args(["-n", "true"])).is_ok();
    silent.then_some(&["sudo", "-n"])
}

fn apt_get(prefix: &[&str], words: &[&str]) -> Outcome {
    let mut line = prefix.to_vec();
    line.extend(["env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]);
    line.extend(words);
    let Some((program, rest)) = line.split_first() else {
        return Ok(());
    };
    process::run(Command::new(program).args(rest))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_package_of_each_missing_program() {
        assert_eq!(missing(&|_| true), Vec::<&str>::new());
        assert_eq!(
            missing(&|program| program != "pdftotext"),
            ["poppler-utils"]
        );
        assert_eq!(
            missing(&|program| program == "chromium-browser"),
            ["poppler-utils", "librsvg2-bin"]
        );
    }

    #[test]
    fn says_what_to_install_elsewhere() {
        let text = advice(&["chromium"]);
        assert!(text.contains("apt-get install chromium"), "{text}");
        assert!(text.contains("Elsewhere"), "{text}");
    }
}
