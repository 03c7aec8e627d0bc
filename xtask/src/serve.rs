//! `cargo xtask serve`: build, then hand out `dist/` on this machine.

use crate::server::Server;
use crate::{Outcome, dist, files, wasm};

const USAGE: &str = "usage: cargo xtask serve [--port N] [--dev]";

#[derive(Debug, PartialEq, Eq)]
struct Options {
    port: u16,
    profile: wasm::Profile,
}

fn parse(words: &[&str]) -> Outcome<Options> {
    let mut options = Options {
        port: 8080,
        profile: wasm::Profile::Release,
    };
    let mut words = words.iter();
    while let Some(&word) = words.next() {
        match word {
            "--dev" => options.profile = wasm::Profile::Dev,
            "--port" => {
                let number = words
                    .next()
                    .ok_or("--port needs a number, as in --port 8080")?;
                options.port = number
                    .parse()
                    .map_err(|_| format!("`{number}` is not a port: 0 to 65535"))?;
            }
            other => return Err(format!("`{other}` is not known here; {USAGE}")),
        }
    }
    Ok(options)
}

pub(crate) fn run(words: &[&str]) -> Outcome {
    let options = parse(words)?;
    let report = dist::build(options.profile)?;
    println!("{report}");
    let server = Server::start(&files::root().join("dist"), options.port, |seen| {
        if seen.status >= 400 {
            println!("{} {} {}", seen.status, seen.method, seen.path);
        }
    })
    .map_err(|fault| {
        format!(
            "cannot serve on port {}: {fault}. Another port: --port N",
            options.port
        )
    })?;
    println!("Samespot is at {} (Ctrl-C ends it)", server.url());
    loop {
        std::thread::park();
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    #[test]
    fn reads_its_words() {
        let options = parse(&["--port", "9000", "--dev"]).unwrap();
        assert_eq!(options.port, 9000);
        assert_eq!(options.profile, wasm::Profile::Dev);
        assert_eq!(parse(&[]).unwrap().port, 8080);
        for bad in [&["--port"][..], &["--port", "70000"], &["--fast"]] {
            assert!(parse(bad).is_err(), "{bad:?}");
        }
    }
}
