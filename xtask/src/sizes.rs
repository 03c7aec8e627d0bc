//! What a visitor downloads: each file as it is served, by brotli where it shrinks.

use std::fmt;
use std::ops::AddAssign;

use crate::Outcome;
use crate::files::{Tree, extension};

/// The first load as it is served, in bytes of brotli: everything up to a first sheet.
///
/// 700 kB is the goal. Until the start page answers it is kept (0.64 MB), up to the first sheet not: the
/// core beside the small page takes 0.64 MB more (2026-11-28). This only stops it from growing unseen;
/// lower it as the modules shrink.
const BUDGET: usize = 1_320_000;

/// When a file is downloaded. The service worker fetches all of them in the end, but nobody
/// waits for that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum When {
    /// Before the start page answers to touch.
    Page,
    /// Beside it, and needed for the first sheet.
    Sheet,
    Whole,
    Rest,
    Artwork,
    Scans,
    OnDemand,
}

fn when(path: &str) -> When {
    let on_demand = path == "sw.js"
        || path.starts_with("rescue.")
        || path.starts_with("examples/")
        || path.contains("-latin-ext-");
    if path.starts_with("rest/") {
        When::Rest
    } else if path.starts_with("whole/") {
        When::Whole
    } else if path.starts_with("first/") || path.starts_with("worker.") {
        When::Sheet
    } else if path.starts_with("artwork/") {
        When::Artwork
    } else if path.starts_with("scans/") {
        When::Scans
    } else if on_demand {
        When::OnDemand
    } else if matches!(extension(path), "html" | "css" | "js" | "wasm" | "woff2") {
        When::Page
    } else {
        When::OnDemand
    }
}

/// A file's size as it is served to who takes brotli, and to who takes gzip only.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Size {
    brotli: usize,
    gzip: usize,
}

impl Size {
    fn of(path: &str, bytes: &[u8], packed: &Tree) -> Self {
        let by = |ending: &str| {
            let copy = packed.get(&format!("{path}.{ending}"));
            copy.map_or(bytes.len(), Vec::len)
        };
        Self {
            brotli: by("br"),
            gzip: by("gz"),
        }
    }
}

impl AddAssign for Size {
    fn add_assign(&mut self, other: Self) {
        self.brotli += other.brotli;
        self.gzip += other.gzip;
    }
}

impl fmt::Display for Size {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [brotli, gzip] = [self.brotli, self.gzip].map(kilobytes);
        write!(out, "{brotli:>9} {gzip:>10}")
    }
}

/// The sizes of one build.
#[derive(Debug)]
pub(crate) struct Report {
    build: String,
    page: Vec<(String, Size)>,
    sheet: Vec<(String, Size)>,
    whole: Size,
    rest: Size,
    artwork: Size,
    scans: Size,
    all: Size,
    files: usize,
}

impl Report {
    /// Of the files of a build, with the copies that lie beside them.
    pub(crate) fn of(build: String, tree: &Tree, packed: &Tree) -> Self {
        let mut report = Self {
            build,
            page: Vec::new(),
            sheet: Vec::new(),
            whole: Size::default(),
            rest: Size::default(),
            artwork: Size::default(),
            scans: Size::default(),
            all: Size::default(),
            files: tree.len(),
        };
        for (path, bytes) in tree {
            let size = Size::of(path, bytes, packed);
            report.all += size;
            match when(path) {
                When::Page => report.page.push((path.clone(), size)),
                When::Sheet => report.sheet.push((path.clone(), size)),
                When::Whole => report.whole += size,
                When::Rest => report.rest += size,
                When::Artwork => report.artwork += size,
                When::Scans => report.scans += size,
                When::OnDemand => {}
            }
        }
        report
    }

    fn first_load(&self) -> Size {
        let mut size = total(&self.page);
        size += total(&self.sheet);
        size
    }

    /// # Errors
    /// When the first load is over its budget.
    pub(crate) fn within_budget(self) -> Outcome<Self> {
        if self.first_load().brotli <= BUDGET {
            return Ok(self);
        }
        Err(format!(
            "{self}\nThe first load is over its budget of {}. Move what is not needed at the \
             start into a module loaded later, or find what made it grow",
            kilobytes(BUDGET)
        ))
    }
}

fn total(files: &[(String, Size)]) -> Size {
    let mut all = Size::default();
    for (_, size) in files {
        all += *size;
    }
    all
}

impl fmt::Display for Report {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            out,
            "Build {} in dist/, sizes by brotli and gzip:",
            self.build
        )?;
        for (files, what) in [
            (&self.page, "until the start page answers"),
            (&self.sheet, "more until the first sheet"),
        ] {
            for (path, size) in files {
                writeln!(out, "  {size}  {path}")?;
            }
            writeln!(out, "  {}  {what}", total(files))?;
        }
        writeln!(
            out,
            "  {}  first load (budget {} by brotli)",
            self.first_load(),
            kilobytes(BUDGET)
        )?;
        for (size, what) in [
            (self.whole, "the whole page"),
            (self.rest, "the rest of the core"),
            (self.artwork, "artwork"),
            (self.scans, "scans"),
        ] {
            writeln!(out, "  {size}  later, {what}")?;
        }
        write!(
            out,
            "  {}  everything, kept for offline ({} files)",
            self.all, self.files
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
            ("index.html", When::Page),
            ("app/samespot_app_bg.0123.wasm", When::Page),
            ("app/snippets/x-1/inline0.0123.js", When::Page),
            ("fonts/a-latin-wght-normal.0123.woff2", When::Page),
            ("fonts/a-latin-ext-wght-normal.0123.woff2", When::OnDemand),
            ("fonts/a-OFL.txt", When::OnDemand),
            ("first/samespot_desk_bg.0123.wasm", When::Sheet),
            ("worker.0123.js", When::Sheet),
            ("whole/samespot_app_bg.0123.wasm", When::Whole),
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
        let report = |size: usize, packed: &Tree| {
            let tree = Tree::from([("a.wasm".to_owned(), vec![0; size])]);
            Report::of("x".into(), &tree, packed).within_budget()
        };
        assert!(report(BUDGET, &Tree::new()).is_ok());
        let says = format!("over its budget of {}", kilobytes(BUDGET));
        let large = report(BUDGET + 1, &Tree::new());
        assert!(large.unwrap_err().contains(&says));
        // What counts is what is served.
        let packed =
            |ending: &str, size: usize| Tree::from([(format!("a.wasm.{ending}"), vec![0; size])]);
        assert!(report(BUDGET + 1, &packed("br", 1000)).is_ok());
        assert!(report(BUDGET + 1, &packed("gz", 1000)).is_err());
        let size = Size::of("a.wasm", &[0; 9], &packed("gz", 7));
        assert_eq!(size, Size { brotli: 9, gzip: 7 });
    }

    #[test]
    fn kilobytes_are_rounded() {
        assert_eq!(kilobytes(123_456), "123.5 kB");
        assert_eq!(kilobytes(49), "0.0 kB");
    }
}
