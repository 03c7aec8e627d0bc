//! `cargo xtask test`: every check and every test, the browser's included.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use crate::wasm::Profile;
use crate::{Outcome, dist, files, process, setup, tidy};

struct Step {
    name: &'static str,
    run: fn() -> Outcome,
}

/// Quick ones first; the browser needs the build.
const STEPS: [Step; 9] = [
    Step {
        name: "tidy",
        run: tidy::run,
    },
    Step {
        name: "format",
        run: || cargo(&["fmt", "--all", "--check"]),
    },
    Step {
        name: "clippy",
        run: clippy,
    },
    Step {
        name: "core",
        run: || cargo(&["test", "--package", "samespot-core"]),
    },
    Step {
        name: "artwork",
        run: artwork,
    },
    Step {
        name: "app",
        run: || cargo(&["test", "--package", "samespot-app"]),
    },
    Step {
        name: "xtask",
        run: || cargo(&["test", "--package", "xtask"]),
    },
    Step {
        name: "build",
        run: build,
    },
    Step {
        name: "suite",
        run: suite,
    },
];

fn cargo(words: &[&str]) -> Outcome {
    process::run(lean()?.args(words))
}

/// What lets cargo mend only the changed part of a crate takes more room (3.6 GB) than all else that
/// is built. Where nobody has been changing the core there is no use for it.
fn lean() -> Outcome<Command> {
    let mut command = process::cargo();
    let kept = process::target_dir()?.join("debug").join("incremental");
    if std::env::var_os("CARGO_INCREMENTAL").is_none() && !holds(&kept, "samespot_core-") {
        command.env("CARGO_INCREMENTAL", "0");
    }
    Ok(command)
}

/// Something in a folder has a name that begins so; a folder that is not there holds nothing.
fn holds(folder: &Path, name: &str) -> bool {
    std::fs::read_dir(folder).is_ok_and(|entries| {
        entries
            .flatten()
            .any(|entry| entry.file_name().to_string_lossy().starts_with(name))
    })
}

fn clippy() -> Outcome {
    cargo(&[
        "clippy",
        "--workspace",
        "--all-targets",
        "--features",
        "samespot-tests/browser",
        "--",
        "--deny",
        "warnings",
    ])
}

/// Apart from the core's own step: the artwork readers switch features of the core's
/// dependencies on, and the core has to stand without them.
fn artwork() -> Outcome {
    let mut words = vec![
        "test",
        "--package",
        "samespot-core",
        "--package",
        "samespot-artwork",
        "--package",
        "samespot-scans",
    ];
    words.extend(["--features", "samespot-core/artwork"]);
    cargo(&words)
}

fn build() -> Outcome {
    let report = dist::build(Profile::Release)?;
    println!("{report}");
    Ok(())
}

/// The checks against the outside, and the browser on the `dist/` just built.
fn suite() -> Outcome {
    setup::test_tools()?;
    let mut command = lean()?;
    command.args([
        "test",
        "--package",
        "samespot-tests",
        "--features",
        "browser,artwork",
    ]);
    command.arg("--no-fail-fast");
    command.env("SAMESPOT_DIST", files::root().join("dist"));
    process::run(&mut command)
}

/// Which steps were asked for: all, or the named ones in their own order.
fn chosen(words: &[&str]) -> Outcome<Vec<&'static Step>> {
    let names: Vec<&str> = STEPS.iter().map(|step| step.name).collect();
    if let Some(unknown) = words.iter().find(|word| !names.contains(word)) {
        return Err(format!(
            "no step `{unknown}`; there are: {}",
            names.join(", ")
        ));
    }
    let all = words.is_empty();
    Ok(STEPS
        .iter()
        .filter(|step| all || words.contains(&step.name))
        .collect())
}

pub(crate) fn run(words: &[&str]) -> Outcome {
    let steps = chosen(words)?;
    if steps.iter().any(|step| step.name == "suite") {
        // Asked first, so that a missing program is heard of before the long builds.
        setup::test_tools()?;
    }
    let began = Instant::now();
    let mut results = Vec::new();
    for step in &steps {
        println!("\n=== {} ===", step.name);
        let start = Instant::now();
        let built = results
            .iter()
            .all(|(name, outcome, _): &(&str, Outcome, Duration)| {
                *name != "build" || outcome.is_ok()
            });
        let outcome = if step.name == "suite" && !built {
            Err("not run: there is no build to test".to_owned())
        } else {
            (step.run)()
        };
        if let Err(sentence) = &outcome {
            eprintln!("{sentence}");
        }
        results.push((step.name, outcome, start.elapsed()));
    }
    println!();
    for (name, outcome, took) in &results {
        let verdict = if outcome.is_ok() { "good  " } else { "FAILED" };
        println!("{verdict} {name} ({})", clock(*took));
    }
    let failed: Vec<&str> = results
        .iter()
        .filter(|(_, outcome, _)| outcome.is_err())
        .map(|(name, ..)| *name)
        .collect();
    let took = clock(began.elapsed());
    if failed.is_empty() {
        println!("All {} steps good in {took}", results.len());
        Ok(())
    } else {
        Err(format!(
            "{} of {} steps FAILED in {took}: {}",
            failed.len(),
            results.len(),
            failed.join(", ")
        ))
    }
}

fn clock(took: Duration) -> String {
    let seconds = took.as_secs();
    format!("{} min {:02} s", seconds / 60, seconds % 60)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    #[test]
    fn steps_are_chosen_by_name() {
        let names = |words: &[&str]| -> Vec<&str> {
            chosen(words)
                .unwrap()
                .iter()
                .map(|step| step.name)
                .collect()
        };
        assert_eq!(names(&[]).len(), STEPS.len());
        assert_eq!(names(&["suite", "build"]), ["build", "suite"]);
        assert!(
            chosen(&["everything"])
                .err()
                .unwrap()
                .contains("tidy, format")
        );
    }
}
