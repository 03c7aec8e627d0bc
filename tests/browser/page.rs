//! One tab, as a person uses it: by what is written there, waiting as a person waits.

use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::browser::{Outcome, Screen, Spot, Tab};
use crate::walk::Walk;

/// Long enough for a crowded machine; a step that works is over at once.
const PATIENCE: Duration = Duration::from_secs(60);

/// How often a page is asked again.
const PAUSE: Duration = Duration::from_millis(40);

/// Finds what is meant, brings it into view and says where it is: `{x, y}`, or `{fault}`.
/// Covered, hidden or disabled things cannot be tapped by a person, nor here.
/// An element that an answer is just moving has no place yet: it must stand where it is through
/// two pictures of the page, as it must for a finger.
const SPOT: &str = r"async (found) => {
  if (found.length === 0) return { fault: 'it is not there' };
  const shown = found.filter((one) => one.checkVisibility({ visibilityProperty: true }));
  if (shown.length === 0) return { fault: 'it is there and not visible' };
  if (shown.length > 1) return { fault: `${shown.length} of them are there` };
  const [it] = shown;
  if (it.disabled || it.closest('[inert]')) return { fault: 'it is switched off' };
  it.scrollIntoView({ block: 'center', inline: 'center', behavior: 'instant' });
  const before = it.getBoundingClientRect();
  await new Promise((next) => {
    requestAnimationFrame(() => requestAnimationFrame(next));
    setTimeout(next, 100); // a tab behind another draws no picture
  });
  const box = it.getBoundingClientRect();
  if (box.x !== before.x || box.y !== before.y) return { fault: 'it moves' };
  const spot = { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  const top = document.elementFromPoint(spot.x, spot.y);
  if (!top || !(it.contains(top) || top.contains(it) || top.control === it))
    return { fault: `it is covered by ${top ? top.outerHTML.slice(0, 120) : 'nothing on the page'}` };
  if (!window.listensForTaps) {
    window.listensForTaps = true;
    addEventListener('click', ({ target }) => {
      const { meant } = window;
      window.landed ||= meant && (meant.contains(target) || target.contains(meant) || target === meant.control);
    }, true);
  }
  window.meant = it;
  window.landed = false;
  return spot;
}";

/// Whether what was meant has gone from under the finger before the tap came: an answer moved the
/// page just then, or put another in its stead. A person taps it again.
const SLIPPED: &str = r"(x, y) => {
  const { meant, landed } = window;
  if (!meant || landed) return false;
  if (!meant.isConnected) return true;
  const box = meant.getBoundingClientRect();
  return Math.hypot(box.x + box.width / 2 - x, box.y + box.height / 2 - y) > 2;
}";

/// Everything a person could tap that says exactly this, by its words or its label.
const BY_TEXT: &str = r#"(text) => {
  const tidy = (words) => (words ?? '').replace(/\s+/g, ' ').trim();
  const pressable = 'button, a[href], summary, label, option, input[type=submit], ' +
    'input[type=button], [role=button], [role=tab], [role=option], [role=menuitem], [role=link]';
  const says = (one) => [one.innerText, one.ariaLabel, one.value].some((words) => tidy(words) === text);
  const pressed = [...document.querySelectorAll(pressable)].filter(says);
  if (pressed.length) return pressed.filter((one) => !pressed.some((other) => other !== one && one.contains(other)));
  const any = [...document.body.querySelectorAll('*')].filter((one) => tidy(one.innerText) === text);
  return any.filter((one) => !any.some((other) => other !== one && one.contains(other)));
}"#;

/// A page in a tab. Every step panics with what went wrong; the walk then takes pictures.
#[derive(Clone, Copy)]
pub(crate) struct Page<'a> {
    pub(crate) walk: &'a Walk,
    pub(crate) tab: Tab,
}

impl Page<'_> {
    /// The one element a CSS selector means is tapped, by mouse or finger.
    #[track_caller]
    pub(crate) fn tap(&self, selector: &str) {
        let find = all(selector);
        self.tap_found(&find, selector);
    }

    /// The one thing that says exactly this is tapped: a button, a link, a label, else any text.
    #[track_caller]
    pub(crate) fn tap_text(&self, text: &str) {
        let find = format!("({BY_TEXT})({})", json!(text));
        self.tap_found(&find, &format!("`{text}`"));
    }

    #[track_caller]
    fn tap_found(&self, find: &str, what: &str) {
        for _ in 0..3 {
            let spot = self.spot(find, what);
            self.done("tap", self.walk.browser().tap(self.tab, spot));
            let slipped = self.try_eval(&format!("({SLIPPED})({}, {})", spot.x, spot.y));
            if slipped != Ok(Value::Bool(true)) {
                return;
            }
        }
    }

    /// The middle of the one element a selector means, in CSS pixels.
    #[track_caller]
    pub(crate) fn middle(&self, selector: &str) -> Spot {
        let find = all(selector);
        self.spot(&find, selector)
    }

    #[track_caller]
    fn spot(&self, find: &str, what: &str) -> Spot {
        let script = format!("({SPOT})({find})");
        let mut last = Value::Null;
        let found = self.until(|| {
            last = self
                .try_eval(&script)
                .unwrap_or_else(|fault| json!({"fault": fault}));
            last["x"].is_number() && last["y"].is_number()
        });
        assert!(
            found,
            "cannot tap {what}: {}",
            last["fault"].as_str().unwrap_or("no answer")
        );
        Spot {
            x: last["x"].as_f64().unwrap(),
            y: last["y"].as_f64().unwrap(),
        }
    }

    /// Why the element a selector means could not be tapped now; null if it could.
    #[track_caller]
    pub(crate) fn why_not(&self, selector: &str) -> Value {
        let find = all(selector);
        self.eval(&format!("({SPOT})({find})"))["fault"].clone()
    }

    #[track_caller]
    pub(crate) fn drag(&self, from: Spot, to: Spot) {
        self.done("drag", self.walk.browser().drag(self.tab, from, to));
    }

    /// Taps a field and types over what is in it.
    #[track_caller]
    pub(crate) fn fill(&self, selector: &str, text: &str) {
        self.tap(selector);
        self.eval("document.activeElement.select?.()");
        if text.is_empty() {
            self.key("Delete");
        } else {
            self.insert(text);
        }
    }

    /// Writes where the cursor is.
    #[track_caller]
    pub(crate) fn insert(&self, text: &str) {
        self.done("write", self.walk.browser().insert_text(self.tab, text));
    }

    /// Presses a key: `Enter`, `Tab`, `Control+z`.
    #[track_caller]
    pub(crate) fn key(&self, key: &str) {
        self.done(key, self.walk.browser().key(self.tab, key));
    }

    /// Chooses the option of a `select` that reads `label`.
    #[track_caller]
    pub(crate) fn select(&self, selector: &str, label: &str) {
        self.wait_for(&format!("document.querySelector({})", json!(selector)));
        let script = format!(
            "(() => {{ const list = document.querySelector({});
               const option = [...list.options].find((one) => one.label.trim() === {});
               if (!option) throw new Error('it offers ' + [...list.options].map((o) => o.label));
               list.value = option.value;
               list.dispatchEvent(new Event('input', {{ bubbles: true }}));
               list.dispatchEvent(new Event('change', {{ bubbles: true }})); }})()",
            json!(selector),
            json!(label)
        );
        self.eval(&script);
    }

    /// Gives a file to a file field.
    #[track_caller]
    pub(crate) fn choose_file(&self, selector: &str, file: &Path) {
        self.wait_for(&format!("document.querySelector({})", json!(selector)));
        let outcome = self.walk.browser().choose_file(self.tab, selector, file);
        self.done(selector, outcome);
    }

    /// JavaScript to run in each page of this tab before its own.
    #[track_caller]
    pub(crate) fn before_load(&self, script: &str) {
        let outcome = self.walk.browser().before_load(self.tab, script);
        self.done("before loading", outcome);
    }

    /// Runs JavaScript; an exception fails the test.
    #[track_caller]
    pub(crate) fn eval(&self, script: &str) -> Value {
        match self.try_eval(script) {
            Ok(value) => value,
            Err(fault) => panic!("{script}\n{fault}"),
        }
    }

    pub(crate) fn try_eval(&self, script: &str) -> Outcome<Value> {
        self.walk.browser().eval(self.tab, script)
    }

    /// Waits until a JavaScript expression is truthy.
    #[track_caller]
    pub(crate) fn wait_for(&self, condition: &str) {
        let script = format!("(async () => Boolean(await ({condition})))()");
        let mut last = String::new();
        let came = self.until(|| match self.try_eval(&script) {
            Ok(value) => value == Value::Bool(true),
            Err(fault) => {
                last = fault;
                false
            }
        });
        assert!(came, "not within {PATIENCE:?}: {condition} {last}");
    }

    /// Waits until the page shows these words somewhere.
    #[track_caller]
    pub(crate) fn wait_for_text(&self, text: &str) {
        let words = json!(text);
        self.wait_for(&format!(
            "document.body.innerText.replace(/\\s+/g, ' ').includes({words})"
        ));
    }

    /// Waits until words and layout have stood still for a second: a tap meant for what an answer
    /// is about to move would miss it.
    #[track_caller]
    pub(crate) fn settled(&self) {
        self.wait_for(
            "(() => {
                const now = document.body.innerText + '|' + scrollX + '|' + scrollY;
                if (window.settledAs !== now) {
                    window.settledAs = now;
                    window.settledAt = performance.now();
                }
                return performance.now() - window.settledAt > 1000;
            })()",
        );
    }

    /// What an element shows.
    #[track_caller]
    pub(crate) fn text(&self, selector: &str) -> String {
        let element = format!("document.querySelector({})", json!(selector));
        self.wait_for(&element);
        let text = self.eval(&format!("{element}.innerText"));
        text.as_str().unwrap_or("").to_owned()
    }

    /// Goes to an address of the site: `""`, `"#/job"`.
    #[track_caller]
    pub(crate) fn go(&self, inside: &str) {
        let url = format!("{}{inside}", self.walk.site.url());
        let outcome = self.walk.browser().go(self.tab, &url);
        self.done("go", outcome);
    }

    #[track_caller]
    pub(crate) fn reload(&self) {
        let outcome = self.walk.browser().reload(self.tab);
        self.done("reload", outcome);
    }

    /// Goes to this tab.
    #[track_caller]
    pub(crate) fn bring_forward(&self) {
        let outcome = self.walk.browser().to_front(self.tab);
        self.done("to front", outcome);
    }

    /// Waits until the app has started.
    #[track_caller]
    pub(crate) fn wait_started(&self) {
        self.wait_for("document.documentElement.dataset.started === 'yes'");
    }

    /// Waits until the service worker has every file, each one hashed.
    #[track_caller]
    pub(crate) fn wait_offline_ready(&self) {
        self.wait_for("document.documentElement.dataset.offline === 'ready'");
    }

    #[track_caller]
    pub(crate) fn set_screen(&self, screen: Screen) {
        let outcome = self.walk.browser().set_screen(self.tab, screen);
        self.done("screen", outcome);
    }

    /// Keeps a picture of the page in `tests/out/<walk>/<name>.png`.
    #[track_caller]
    pub(crate) fn picture(&self, name: &str) -> PathBuf {
        let png = self.walk.browser().picture(self.tab);
        self.walk
            .keep(&format!("{name}.png"), &self.done("picture", png))
    }

    /// Keeps what would be printed in `tests/out/<walk>/<name>.pdf`.
    #[track_caller]
    pub(crate) fn print(&self, name: &str) -> PathBuf {
        let pdf = self.walk.browser().print(self.tab);
        self.walk
            .keep(&format!("{name}.pdf"), &self.done("print", pdf))
    }

    /// The file that comes of a tap or whatever else `step` does.
    #[track_caller]
    pub(crate) fn download(&self, step: impl FnOnce(&Self)) -> PathBuf {
        self.settled();
        step(self);
        let file = self.walk.browser().download(PATIENCE);
        self.done("download", file)
    }

    #[track_caller]
    pub(crate) fn close(&self) {
        let outcome = self.walk.browser().close_tab(self.tab);
        self.done("close", outcome);
    }

    fn until(&self, mut done: impl FnMut() -> bool) -> bool {
        let until = Instant::now() + PATIENCE;
        loop {
            if done() {
                return true;
            }
            if Instant::now() > until {
                return false;
            }
            thread::sleep(PAUSE);
        }
    }

    #[track_caller]
    fn done<T>(&self, what: &str, outcome: Outcome<T>) -> T {
        match outcome {
            Ok(value) => value,
            Err(fault) => panic!("{what}: {fault}"),
        }
    }
}

/// JavaScript for a list of what a selector means.
fn all(selector: &str) -> String {
    format!("[...document.querySelectorAll({})]", json!(selector))
}
