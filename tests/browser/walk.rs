//! One test from a fresh browser to the last demand.

use std::cell::{RefCell, RefMut};
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use crate::browser::Browser;
use crate::chromium::Chromium;
use crate::page::Page;
use crate::site::{Site, dist};

/// One browser at a time: two would fight over the machine.
static TURN: Mutex<()> = Mutex::new(());

/// Complaints shown of a walk that failed; the first ones tell the cause.
const MOST_HEARD: usize = 12;

pub(crate) struct Walk {
    pub(crate) site: Site,
    browser: RefCell<Box<dyn Browser>>,
    out: PathBuf,
    expected: RefCell<Vec<String>>,
    expected_foreign: RefCell<Vec<String>>,
}

/// Runs `steps` in a fresh browser on the built site. Afterwards nothing unexpected may have
/// been heard on the console, and nothing may have been asked of any other place.
#[track_caller]
pub(crate) fn walk(name: &str, steps: impl FnOnce(&Walk)) {
    // A walk that failed says nothing about the next one.
    let _turn = TURN.lock().unwrap_or_else(PoisonError::into_inner);
    let out = Path::new(env!("CARGO_MANIFEST_DIR")).join("out").join(name);
    let _ = fs::remove_dir_all(&out);
    fs::create_dir_all(&out).unwrap();
    let profile = std::env::temp_dir().join(format!("samespot-{name}-{}", std::process::id()));
    let browser = Chromium::start(&profile, &out).unwrap();
    let walk = Walk {
        site: Site::start(&dist()),
        browser: RefCell::new(Box::new(browser)),
        out,
        expected: RefCell::default(),
        expected_foreign: RefCell::default(),
    };
    let result = catch_unwind(AssertUnwindSafe(|| {
        steps(&walk);
        walk.demand_silence();
    }));
    if result.is_err() {
        walk.report(name);
    }
    drop(walk);
    let _ = fs::remove_dir_all(&profile);
    if let Err(fault) = result {
        resume_unwind(fault);
    }
}

impl Walk {
    /// The browser itself. Let go of it before the next step.
    #[track_caller]
    pub(crate) fn browser(&self) -> RefMut<'_, Box<dyn Browser>> {
        self.browser.borrow_mut()
    }

    /// A new tab at an address of the site: `""` is the page, `"#/job"` a screen.
    #[track_caller]
    pub(crate) fn open(&self, inside: &str) -> Page<'_> {
        let page = self.empty_tab();
        page.go(inside);
        page
    }

    /// A new tab that shows nothing yet.
    #[track_caller]
    pub(crate) fn empty_tab(&self) -> Page<'_> {
        let tab = self.browser().open_tab().unwrap();
        Page { walk: self, tab }
    }

    /// This walk provokes a complaint that holds `words`.
    pub(crate) fn expect(&self, words: &str) {
        self.expected.borrow_mut().push(words.to_owned());
    }

    /// This walk asks for `url` on purpose.
    pub(crate) fn expect_foreign(&self, url: &str) {
        self.expected_foreign.borrow_mut().push(url.to_owned());
    }

    /// Complaints so far that nobody expected.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let expected = self.expected.borrow();
        let mut heard = self.browser().heard();
        heard.retain(|line| !expected.iter().any(|words| line.contains(words)));
        heard
    }

    /// Addresses asked for so far that are not on the site.
    pub(crate) fn foreign(&self) -> Vec<String> {
        let own = ["blob:", "data:", "about:", "chrome-error:", self.site.url()];
        let mut requested = self.browser().requested();
        let expected = self.expected_foreign.borrow();
        requested.retain(|url| !own.iter().any(|start| url.starts_with(start)));
        requested.retain(|url| !expected.contains(url));
        requested.sort();
        requested.dedup();
        requested
    }

    #[track_caller]
    fn demand_silence(&self) {
        let complaints = self.complaints();
        assert!(complaints.is_empty(), "complaints: {complaints:#?}");
        let foreign = self.foreign();
        assert!(foreign.is_empty(), "asked of another place: {foreign:#?}");
    }

    /// Writes a file into `tests/out/<walk>/`.
    #[track_caller]
    pub(crate) fn keep(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.out.join(name);
        fs::write(&path, bytes).unwrap();
        path
    }

    /// Ends the browser without warning and starts it again on the same profile.
    #[track_caller]
    pub(crate) fn pull_the_plug(&self) {
        self.browser().kill().unwrap();
        self.browser().start_again().unwrap();
    }

    /// Ends the browser as a user would and starts it again on the same profile.
    #[track_caller]
    pub(crate) fn restart(&self) {
        self.browser().quit().unwrap();
        self.browser().start_again().unwrap();
    }

    fn report(&self, name: &str) {
        // The step that failed may have left the browser borrowed.
        let Ok(mut browser) = self.browser.try_borrow_mut() else {
            return;
        };
        eprintln!(
            "\n--- {name} failed; pictures in {} ---",
            self.out.display()
        );
        for tab in browser.open_tabs() {
            let picture = self.out.join(format!("failed-tab-{}.png", tab.0));
            if let Ok(png) = browser.picture(tab) {
                let _ = fs::write(&picture, png);
            }
            let script = "location.href + '\\n' + document.body.innerText.slice(0, 1500)";
            match browser.eval(tab, script) {
                Ok(text) => eprintln!("tab {}: {}", tab.0, text.as_str().unwrap_or("")),
                Err(fault) => eprintln!("tab {}: {fault}", tab.0),
            }
        }
        let mut heard = browser.heard();
        heard.dedup();
        for line in heard.iter().take(MOST_HEARD) {
            eprintln!("heard: {line}");
        }
        let seen = self.site.seen();
        for request in &seen[seen.len().saturating_sub(20)..] {
            eprintln!(
                "served: {} {} {}",
                request.status, request.method, request.path
            );
        }
    }
}
