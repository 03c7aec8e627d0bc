//! What a test asks of a browser, whichever it is.

use std::path::{Path, PathBuf};
use std::time::Duration;

use serde_json::Value;

/// A fault is a sentence: tests only ever show it.
pub(crate) type Outcome<T = ()> = Result<T, String>;

/// A tab, by the number it was opened under.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Tab(pub(crate) usize);

/// The size of the page in CSS pixels, and what points at it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Screen {
    pub(crate) width: u32,
    pub(crate) height: u32,
    pub(crate) touch: bool,
}

impl Screen {
    pub(crate) const DESK: Self = Self {
        width: 1440,
        height: 900,
        touch: false,
    };
    pub(crate) const TABLET: Self = Self {
        width: 1024,
        height: 768,
        touch: true,
    };
    pub(crate) const TABLET_UPRIGHT: Self = Self {
        width: 820,
        height: 1180,
        touch: true,
    };
}

/// A place on the page, in CSS pixels from its top left corner as shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    pub(crate) x: f64,
    pub(crate) y: f64,
}

/// One browser with its own profile. The profile outlives `quit` and `kill`.
pub(crate) trait Browser {
    fn open_tab(&mut self) -> Outcome<Tab>;
    fn close_tab(&mut self, tab: Tab) -> Outcome;
    fn open_tabs(&self) -> Vec<Tab>;
    fn set_screen(&mut self, tab: Tab, screen: Screen) -> Outcome;

    /// Goes there and waits until the page has loaded.
    fn go(&mut self, tab: Tab, url: &str) -> Outcome;
    fn reload(&mut self, tab: Tab) -> Outcome;
    /// Puts the tab before the others, as somebody who goes to it does.
    fn to_front(&mut self, tab: Tab) -> Outcome;

    /// JavaScript to run in each page of the tab before its own.
    fn before_load(&mut self, tab: Tab, script: &str) -> Outcome;
    /// Runs JavaScript in the page, waits for a promise, gives back what JSON can carry.
    fn eval(&mut self, tab: Tab, script: &str) -> Outcome<Value>;

    /// Presses and lets go, by mouse or finger as the screen has it.
    fn tap(&mut self, tab: Tab, at: Spot) -> Outcome;
    fn drag(&mut self, tab: Tab, from: Spot, to: Spot) -> Outcome;
    /// A key by its name in the UI Events standard, with modifiers: `Enter`, `Control+z`.
    fn key(&mut self, tab: Tab, key: &str) -> Outcome;
    fn insert_text(&mut self, tab: Tab, text: &str) -> Outcome;
    /// Gives a file to the file field that `selector` names.
    fn choose_file(&mut self, tab: Tab, selector: &str, file: &Path) -> Outcome;

    /// What is on the screen, as PNG.
    fn picture(&mut self, tab: Tab) -> Outcome<Vec<u8>>;
    /// What would be printed, as PDF, on the paper the page's own style asks for.
    fn print(&mut self, tab: Tab) -> Outcome<Vec<u8>>;
    /// The next finished download not yet given out.
    fn download(&mut self, patience: Duration) -> Outcome<PathBuf>;

    /// Errors on the console, exceptions and blocked requests of pages and workers so far.
    fn heard(&mut self) -> Vec<String>;
    /// Addresses asked for by pages and workers so far.
    fn requested(&mut self) -> Vec<String>;

    /// Ends the browser as a user would.
    fn quit(&mut self) -> Outcome;
    /// Ends it without warning, as a flat battery would.
    fn kill(&mut self) -> Outcome;
    /// Starts it again on the same profile, without tabs.
    fn start_again(&mut self) -> Outcome;
}
