//! What a visitor downloads, compressed as a web server would.

use std::fmt;

use crate::Outcome;
use crate::files::{Tree, extension};

/// The first load, in bytes of gzip.
///
/// 700 kB is the goal (not reached: 2.56 MB was measured on 2026-11-27, of which the page takes 1.59
/// and the first half of the core, loaded beside it, 0.86); this only stops it from growing unseen.
/// Lower it as the page shrinks.
const BUDGET: usize = 2_600_000;

/// Header and trailer of a gzip member around its deflate stream (RFC 1952, section 2.3).
const GZIP_FRAME: usize = 18;

/// When a file is downloaded. The service worker fetches all of them in the end, but nobody
/// waits for that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum When {
    FirstLoad,
    Rest,
    Artwork,
    Scans,
    OnDemand,
}

fn when(path: &str) -> When {
    let on_demand =
        path == "sw.js" || path.starts_with("examples/") || path.contains("-latin-ext-");
    if path.starts_with("rest/") {
        When::Rest
    } else if path.starts_with("artwork/") {
        When::Artwork
    } else if path.starts_with("scans/") {
        When::Scans
    } else if on_demand {
        When::OnDemand
    } else if matches!(extension(path), "html" | "css" | "js" | "wasm" | "woff2") {
        When::FirstLoad
    } else {
        When::OnDemand
    }
}

fn gzip(path: &str, bytes: &[u8]) -> usize {
    if matches!(extension(path), "woff2" | "png") {
        return bytes.len();
    }
    let packed = miniz_oxide::deflate::compress_to_vec(bytes, 9).len() + GZIP_FRAME;
    packed.min(bytes.len())
}

/// The sizes of one build.
#[derive(Debug)]
pub(crate) struct Report {
    build: String,
    first_load: Vec<(String, usize)>,
    rest: usize,
    artwork: usize,
    scans: usize,
    all: usize,
    files: usize,
}

impl Report {
    pub(crate) fn of(build: String, tree: &Tree) -> Self {
        let mut report = Self {
            build,
            first_load: Vec::new(),
            rest: 0,
            artwork: 0,
            scans: 0,
            all: 0,
            files: tree.len(),
        };
        for (path, bytes) in tree {
            let size = gzip(path, bytes);
            report.all += size;
            match when(path) {
                When::FirstLoad => report.first_load.push((path.clone(), size)),
                When::Rest => report.rest += size,
                When::Artwork => report.artwork += size,
                When::Scans => report.scans += size,
                When::OnDemand => {}
            }
        }
        report
    }

    fn first_load_total(&self) -> usize {
        self.first_load.iter().map(|(_, size)| size).sum()
    }

    /// # Errors
    /// When the first load is over its budget.
    pub(crate) fn within_budget(self) -> Outcome<Self> {
        if self.first_load_total() <= BUDGET {
            return Ok(self);
        }
        Err(format!(
            "{self}\nThe first load is over its budget of {}. Move what is not needed at the \
             start into a module loaded later, or find what made it grow",
            kilobytes(BUDGET)
        ))
    }
}

impl fmt::Display for Report {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(out, "Build {} in dist/, sizes by gzip:", self.build)?;
        for (path, size) in &self.first_load {
            writeln!(out, "  {:>9}  {path}", kilobytes(*size))?;
        }
        let total = self.first_load_total();
        writeln!(
            out,
            "  {:>9}  first load (budget {})",
            kilobytes(total),
            kilobytes(BUDGET)
        )?;
        for (size, what) in [
            (self.rest, "the rest of the core"),
            (self.artwork, "artwork"),
            (self.scans, "scans"),
        ] {
            writeln!(out, "  {:>9}  later, {what}", kilobytes(size))?;
        }
        write!(
            out,
            "  {:>9}  everything, kept for offline ({} files)",
            kilobytes(self.all),
            self.files
        )
    }
}

/// One decimal, by integers: 123 456 bytes are `123.5 kB`.
fn kilobytes(bytes: usize) -> String {
    let tenths = (bytes + 50) / 100;
    format!("{}.{} kB", tenths / 10, tenths % 10)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    #[test]
    fn knows_what_is_waited_for() {
        for (path, expected) in [
            ("index.html", When::FirstLoad),
            ("app/samespot_app_bg.0123.wasm", When::FirstLoad),
            ("app/snippets/x-1/inline0.0123.js", When::FirstLoad),
            ("fonts/a-latin-wght-normal.0123.woff2", When::FirstLoad),
            ("fonts/a-latin-ext-wght-normal.0123.woff2", When::OnDemand),
            ("fonts/a-OFL.txt", When::OnDemand),
            ("first/samespot_desk_bg.0123.wasm", When::FirstLoad),
            ("rest/samespot_desk_bg.0123.wasm", When::Rest),
            ("artwork/samespot_artwork.0123.js", When::Artwork),
            ("scans/samespot_scans_bg.0123.wasm", When::Scans),
            ("examples/quay-puffins.samespot", When::OnDemand),
            ("sw.js", When::OnDemand),
            ("assets.json", When::OnDemand),
            ("icons/icon-512.png", When::OnDemand),
        ] {
            assert_eq!(when(path), expected, "{path}");
        }
    }

    #[test]
    fn too_much_is_refused() {
        // A xorshift (Marsaglia 2003, "Xorshift RNGs") makes bytes that do not compress.
        let mut state = 2_463_534_242_u32;
        let noise: Vec<u8> = (0..BUDGET + 1)
            .map(|_| {
                state ^= state << 13;
                state ^= state >> 17;
                state ^= state << 5;
                state.to_le_bytes()[1]
            })
            .collect();
        let tree = |bytes: &[u8]| Tree::from([("a.wasm".to_owned(), bytes.to_vec())]);
        let small = Report::of("x".into(), &tree(&noise[..1000]));
        assert!(small.within_budget().is_ok());
        let large = Report::of("x".into(), &tree(&noise)).within_budget();
        let says = format!("over its budget of {}", kilobytes(BUDGET));
        assert!(large.unwrap_err().contains(&says));
    }

    #[test]
    fn kilobytes_are_rounded() {
        assert_eq!(kilobytes(123_456), "123.5 kB");
        assert_eq!(kilobytes(49), "0.0 kB");
    }
}
