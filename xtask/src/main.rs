//! `cargo xtask …`: everything that is done to Samespot besides editing it.

mod dist;
mod files;
mod fingerprint;
mod issue;
mod packed;
mod page;
mod process;
mod serve;
mod server;
mod setup;
mod sizes;
mod test;
mod tidy;
mod wasm;

use std::process::ExitCode;

const USAGE: &str = "\
cargo xtask serve [--port N] [--dev]     set up what is missing, build, serve on localhost
cargo xtask build [--dev | --names]      leave a static dist/ for any web server; --names for a profiler
cargo xtask test [STEP…]                 set up what is missing, run every check and test
cargo xtask tidy                         the rules no compiler checks
cargo xtask issue JOB OUT/ --date D      every sheet of a job, without a browser";

/// A sentence for the person at the terminal: what was wrong, where, what to do.
type Outcome<T = ()> = Result<T, String>;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let outcome = match words.split_first() {
        Some((&"build", rest)) => build(rest),
        Some((&"serve", rest)) => serve::run(rest),
        Some((&"test", rest)) => test::run(rest),
        Some((&"tidy", [])) => tidy::run(),
        Some((&"issue", rest)) => issue::run(rest),
        None | Some((&("help" | "--help" | "-h"), _)) => {
            println!("{USAGE}");
            Ok(())
        }
        Some((other, _)) => Err(format!("no command `{other}`; there are:\n{USAGE}")),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("{sentence}");
            ExitCode::FAILURE
        }
    }
}

fn build(words: &[&str]) -> Outcome {
    let profile = match words {
        [] => wasm::Profile::Release,
        ["--dev"] => wasm::Profile::Dev,
        ["--names"] => wasm::Profile::Named,
        _ => return Err("usage: cargo xtask build [--dev | --names]".to_owned()),
    };
    let report = dist::build(profile)?;
    println!("{report}");
    Ok(())
}
