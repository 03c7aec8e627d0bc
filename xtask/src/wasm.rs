//! The WebAssembly modules and their bindings.

use std::path::{Path, PathBuf};

use wasm_bindgen_cli_support::Bindgen;

use crate::files::Tree;
use crate::{Outcome, files, process, setup};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Profile {
    /// What is shipped.
    Release,
    /// The same with the names of its functions, for a profiler.
    Named,
    /// Quick to build, with names in the stack traces.
    Dev,
}

/// A crate that becomes one module, and the folder of `dist/` it goes to.
struct Module {
    package: &'static str,
    library: &'static str,
    /// One crate may become several modules.
    features: &'static [&'static str],
    folder: &'static str,
    /// What it is built for where it is shipped.
    built_for: BuiltFor,
}

/// A module that somebody waits for is small; one that is there before it is asked for is quick, and so is
/// the one for scans: a scan has a million triangles, and nobody who has none loads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum BuiltFor {
    Size,
    Speed,
}

impl BuiltFor {
    /// The profile of cargo's, and the folder it builds to.
    fn cargo_profile(self) -> &'static str {
        match self {
            Self::Size => "release",
            Self::Speed => "swift",
        }
    }
}

const MODULES: [Module; 6] = [
    Module {
        package: "samespot-app",
        library: "samespot_app",
        features: &[],
        folder: "app",
        built_for: BuiltFor::Size,
    },
    Module {
        package: "samespot-app",
        library: "samespot_app",
        features: &["whole"],
        folder: "whole",
        built_for: BuiltFor::Size,
    },
    Module {
        package: "samespot-desk",
        library: "samespot_desk",
        features: &[],
        folder: "first",
        built_for: BuiltFor::Size,
    },
    Module {
        package: "samespot-desk",
        library: "samespot_desk",
        features: &["rest"],
        folder: "rest",
        built_for: BuiltFor::Speed,
    },
    Module {
        package: "samespot-artwork",
        library: "samespot_artwork",
        features: &[],
        folder: "artwork",
        built_for: BuiltFor::Size,
    },
    Module {
        package: "samespot-scans",
        library: "samespot_scans",
        features: &[],
        folder: "scans",
        built_for: BuiltFor::Speed,
    },
];

/// Builds all of them; their files by path inside `dist/`.
pub(crate) fn build(profile: Profile) -> Outcome<Tree> {
    setup::wasm_target()?;
    let target_dir = process::target_dir()?;
    let mut tree = Tree::new();
    for module in &MODULES {
        // One cargo call each: in a common one the artwork reader's features (kurbo with `std`)
        // would reach the app's core too, and its last digits with them.
        compile(module, profile)?;
        let bindings = target_dir.join("bindings").join(module.folder);
        bind(&compiled(&target_dir, module, profile), &bindings, profile)?;
        for (path, bytes) in files::read_tree(&bindings)? {
            tree.insert(format!("{}/{path}", module.folder), bytes);
        }
    }
    Ok(tree)
}

fn compile(module: &Module, profile: Profile) -> Outcome {
    println!("Building {}/ for the browser", module.folder);
    let mut command = process::cargo();
    command.args(["build", "--lib", "--target", "wasm32-unknown-unknown"]);
    command.args(["--package", module.package, "--no-default-features"]);
    for feature in module.features {
        command.args(["--features", feature]);
    }
    let flags: Vec<String> = match profile {
        Profile::Release | Profile::Named => {
            command.args(["--profile", module.built_for.cargo_profile()]);
            without_machine_paths()
        }
        Profile::Dev => Vec::new(),
    };
    // Deep view types take leptos minutes to compile and a twentieth more to download; erased
    // ones, seconds.
    let erased = ["--cfg".to_owned(), "erase_components".to_owned()];
    let flags: Vec<String> = flags.into_iter().chain(erased).collect();
    let flags: Vec<String> = flags.iter().map(|flag| format!("{flag:?}")).collect();
    command.arg("--config");
    command.arg(format!(
        "target.wasm32-unknown-unknown.rustflags=[{}]",
        flags.join(",")
    ));
    process::run(&mut command)
}

/// Panic messages carry source paths: without this a build would differ from machine to machine
/// and tell its users where it was made.
fn without_machine_paths() -> Vec<String> {
    let cargo_home = std::env::var_os("CARGO_HOME")
        .map(PathBuf::from)
        .or_else(|| {
            let home = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE"))?;
            Some(PathBuf::from(home).join(".cargo"))
        });
    let mut flags = vec![format!(
        "--remap-path-prefix={}=samespot",
        files::root().display()
    )];
    if let Some(home) = cargo_home {
        flags.push(format!("--remap-path-prefix={}=cargo", home.display()));
    }
    flags
}

fn compiled(target_dir: &Path, module: &Module, profile: Profile) -> PathBuf {
    let folder = match profile {
        Profile::Release | Profile::Named => module.built_for.cargo_profile(),
        Profile::Dev => "debug",
    };
    target_dir
        .join("wasm32-unknown-unknown")
        .join(folder)
        .join(format!("{}.wasm", module.library))
}

fn bind(wasm: &Path, out: &Path, profile: Profile) -> Outcome {
    // Left-over snippets of an earlier build would be shipped.
    files::write_tree(out, &Tree::new())?;
    let mut bindgen = Bindgen::new();
    bindgen.input_path(wasm);
    bindgen.typescript(false);
    // The bindings find their module themselves, in the page and in the worker.
    bindgen.omit_default_module_path(false);
    bindgen.debug(profile == Profile::Dev);
    bindgen.remove_name_section(profile == Profile::Release);
    bindgen.remove_producers_section(true);
    bindgen
        .web(true)
        .and_then(|bindgen| bindgen.generate(out))
        .map_err(|fault| format!("cannot make bindings for {}: {fault:#}", wasm.display()))
}
