//! The browser lets people down: no storage, a full device, storage thrown away, a pulled plug. What
//! was typed is not lost, and *saved* is said only of what is.

use serde_json::{Value, json};

use crate::browser::Screen;
use crate::design::example;
use crate::page::Page;
use crate::walk::walk;

/// Every fact of every job as it is kept, in no order.
const KEPT: &str = "new Promise((resolve, reject) => {
    const open = indexedDB.open('samespot');
    open.onerror = () => reject(open.error);
    open.onsuccess = () => {
        const all = open.result.transaction('facts').objectStore('facts').getAll();
        all.onsuccess = () => { open.result.close(); resolve(all.result); };
    };
})";

/// What a browser does that makes room.
const THROW_AWAY: &str = "new Promise((resolve) => {
    const gone = indexedDB.deleteDatabase('samespot');
    gone.onsuccess = () => resolve(true);
    gone.onerror = () => resolve(false);
})";

/// Whether the page has the browser ask before it is left.
const ASKS_FIRST: &str = "(() => {
    const leaving = new Event('beforeunload', { cancelable: true });
    dispatchEvent(leaving);
    return leaving.defaultPrevented;
})()";

pub(crate) const SAVED: &str =
    "[...document.querySelectorAll('.saved')].some((s) => s.innerText.includes('Saved'))";

/// From the start page to a quick template that is an oval 62 × 48.
#[track_caller]
pub(crate) fn an_oval(page: &Page<'_>) {
    page.set_screen(Screen::TABLET);
    page.wait_started();
    page.tap("a.way.quick");
    page.tap("[data-value=oval]");
    page.wait_for("document.querySelector('#across')");
    page.fill("#across", "62");
    page.key("Tab");
    up(page, "48");
}

/// Opens the first card where another one is open.
#[track_caller]
pub(crate) fn first_card(page: &Page<'_>) {
    page.wait_for("document.querySelector('#card-0 #across')");
    if page.eval("document.querySelector('#card-0').hidden") == true {
        page.tap("[aria-controls=card-0]");
        page.wait_for("!document.querySelector('#card-0').hidden");
    }
}

/// Types how far across it is, and leaves the field.
#[track_caller]
fn across(page: &Page<'_>, value: &str) {
    first_card(page);
    page.fill("#across", value);
    page.key("Tab");
}

#[track_caller]
pub(crate) fn up(page: &Page<'_>, value: &str) {
    first_card(page);
    page.fill("#up", value);
    page.key("Tab");
}

#[track_caller]
fn says(page: &Page<'_>, what: &str) -> bool {
    page.eval(KEPT).to_string().contains(what)
}

#[test]
fn a_window_without_storage_says_so_and_works() {
    walk("refused", |w| {
        let page = w.empty_tab();
        // As a private window of some browsers has it.
        page.before_load(
            "Object.defineProperty(IDBFactory.prototype, 'open', { value() {
                throw new DOMException('The operation is insecure.', 'SecurityError'); } })",
        );
        page.go("");
        page.wait_started();
        page.wait_for_text("This window will not keep your work");
        an_oval(&page);
        page.wait_for_text("an oval 62 × 48 mm");
        page.wait_for_text("Not saved");
        page.picture("refused");
    });
}

#[test]
fn what_a_full_device_refused_is_kept_once_there_is_room() {
    walk("full", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.eval(
            "globalThis.put = IDBObjectStore.prototype.put;
             IDBObjectStore.prototype.put = function () {
                throw new DOMException('no room', 'QuotaExceededError'); }; 0",
        );
        up(&page, "47");
        page.wait_for_text("The device is full");
        page.wait_for_text("Not saved");
        across(&page, "61");
        page.wait_for_text("an oval 61 × 47 mm");
        page.picture("full");
        // This window alone holds it: the browser asks before it is closed.
        assert_eq!(page.eval(ASKS_FIRST), true);
        page.eval("IDBObjectStore.prototype.put = globalThis.put; 0");
        // Nothing more is typed: what is owed is offered again by itself.
        page.wait_for(SAVED);
        assert_eq!(page.eval(ASKS_FIRST), false);
        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.wait_for_text("Oval 61 × 47");
    });
}

#[test]
fn storage_thrown_away_under_the_app_is_written_again_as_a_whole() {
    walk("thrown-away", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.eval(THROW_AWAY);
        up(&page, "46");
        page.wait_for_text("was written again");
        page.wait_for(SAVED);
        page.picture("thrown-away");
        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.wait_for_text("Oval 62 × 46");
    });
}

#[test]
fn a_job_taken_off_in_another_window_while_it_is_open_is_kept_as_a_whole_again() {
    walk("removed-elsewhere", |w| {
        let one = w.open("");
        an_oval(&one);
        one.wait_for(SAVED);
        let two = w.open("");
        two.set_screen(Screen::TABLET);
        two.wait_started();
        two.wait_for_text("Oval 62 × 48");
        two.tap_text("Remove…");
        two.tap_text("Really remove");
        two.wait_for("!document.body.innerText.includes('Oval 62 × 48')");
        assert_eq!(two.eval(KEPT), json!([]));
        // One entry more here: without the others it would be no oval any more.
        one.bring_forward();
        up(&one, "46");
        one.wait_for_text("in another window while it was open here");
        one.wait_for(SAVED);
        one.picture("removed-elsewhere");
        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.wait_for_text("Oval 62 × 46");
    });
}

#[test]
fn a_window_that_was_laid_aside_catches_up_with_the_others() {
    walk("laid-aside", |w| {
        let one = w.open("");
        an_oval(&one);
        one.wait_for(SAVED);
        let address = one.eval("location.hash").as_str().unwrap().to_owned();
        // Its words are not heard, as by a page that is laid aside.
        let two = w.empty_tab();
        two.before_load("BroadcastChannel.prototype.postMessage = () => {}");
        two.go(&address);
        two.set_screen(Screen::TABLET);
        two.wait_started();
        two.wait_for("document.querySelector('#up')?.value === '48'");
        up(&two, "46");
        two.wait_for(SAVED);
        two.close();
        one.bring_forward();
        assert_eq!(one.eval("document.querySelector('#up').value"), "48");
        one.eval("dispatchEvent(new PageTransitionEvent('pageshow', { persisted: true }))");
        one.wait_for("document.querySelector('#up').value === '46'");
    });
}

#[test]
fn storage_gone_at_the_start_is_said() {
    walk("gone", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.go("#/");
        page.eval(THROW_AWAY);
        page.reload();
        page.wait_started();
        page.wait_for_text("is gone: the browser removed its data");
        page.picture("gone");
    });
}

#[test]
fn a_damaged_entry_is_counted_and_the_rest_is_there() {
    walk("damaged-entry", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        let address = page.eval("location.hash").as_str().unwrap().to_owned();
        page.go("#/");
        page.eval(
            "new Promise((resolve) => {
                const open = indexedDB.open('samespot');
                open.onsuccess = () => {
                    const t = open.result.transaction('facts', 'readwrite');
                    const cursor = t.objectStore('facts').openCursor();
                    cursor.onsuccess = () => {
                        const at = cursor.result;
                        if (!at) return;
                        if (at.value.includes('oval')) at.update(at.value.slice(0, 40));
                        at.continue();
                    };
                    t.oncomplete = () => { open.result.close(); resolve(true); };
                };
            })",
        );
        page.go(&address);
        page.wait_for_text("What it lies on");
        page.reload();
        page.wait_started();
        page.wait_for_text("damaged and left out; all the rest is here");
        page.picture("damaged");
    });
}

#[test]
fn two_tabs_write_into_one_job() {
    walk("two-tabs", |w| {
        let one = w.open("");
        an_oval(&one);
        one.wait_for(SAVED);
        let address = one.eval("location.hash").as_str().unwrap().to_owned();
        let two = w.open(&address);
        two.set_screen(Screen::TABLET);
        two.wait_started();
        two.wait_for_text("The shape");
        two.wait_for("document.querySelector('#across')?.value === '62'");
        for round in 0..3 {
            let (a, b) = (63 + round, 43 + round);
            one.bring_forward();
            across(&one, &a.to_string());
            two.bring_forward();
            two.wait_for(&format!(
                "document.querySelector('#across').value === '{a}'"
            ));
            up(&two, &b.to_string());
            one.wait_for(&format!("document.querySelector('#up').value === '{b}'"));
        }
        one.wait_for(SAVED);
        two.wait_for(SAVED);
        for page in [&one, &two] {
            page.bring_forward();
            page.reload();
            page.wait_started();
            page.wait_for("document.querySelector('#across')?.value === '65'");
            page.wait_for("document.querySelector('#up')?.value === '45'");
        }
    });
}

#[test]
fn a_clock_set_back_does_not_bring_old_values_back() {
    walk("clock", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.eval(
            "(() => { const Real = Date;
                globalThis.Date = class extends Real {
                    constructor(...a) { if (a.length) super(...a); else super(Real.now() - 86400000); }
                    static now() { return Real.now() - 86400000; }
                }; })()",
        );
        up(&page, "52");
        page.wait_for_text("an oval 62 × 52 mm");
        page.wait_for(SAVED);
        assert!(says(&page, "52"));
        page.reload();
        page.wait_started();
        page.wait_for("document.querySelector('#up')?.value === '52'");
    });
}

/// How often the plug is pulled: eight times in every run of the tests, two hundred before a release
/// (`SAMESPOT_CRASHES=200`).
fn crashes() -> u32 {
    std::env::var("SAMESPOT_CRASHES")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(8)
}

/// When the plug is pulled after the last key, ms: anywhere between at once and well after everything
/// is written, by a sequence that is the same each time (Knuth, TAOCP 3.3.4).
fn moments() -> impl Iterator<Item = u64> {
    let mut seed = 20_261_128_u32;
    std::iter::repeat_with(move || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        // Most of them early, where something is under way: a square of what is even.
        let even = u64::from(seed >> 16);
        (even * even * 600) >> 32
    })
}

#[test]
fn saved_is_not_said_while_something_later_is_under_way() {
    walk("saved-last", |w| {
        let page = w.empty_tab();
        // How long the page waits to hear that a write is complete is ours to say.
        page.before_load(
            "globalThis.slow = 0;
             Object.defineProperty(IDBTransaction.prototype, 'oncomplete', { set(f) {
                const slow = globalThis.slow;
                this.addEventListener('complete', (e) => slow ? setTimeout(() => f(e), slow) : f(e));
             } })",
        );
        page.go("");
        an_oval(&page);
        page.wait_for(SAVED);
        // The earlier write is slow, the later one quick: it is done while the earlier is not.
        page.eval("globalThis.slow = 6000; 0");
        up(&page, "47");
        page.wait_for_text("an oval 62 × 47 mm");
        page.eval("globalThis.slow = 0; 0");
        up(&page, "46");
        page.wait_for_text("an oval 62 × 46 mm");
        std::thread::sleep(std::time::Duration::from_millis(800));
        assert_eq!(page.eval(SAVED), false, "saved is said too early");
        page.wait_for(SAVED);
    });
}

#[test]
fn a_file_that_a_cloud_drive_no_longer_gives_is_told_and_nothing_changes() {
    walk("cloud-file", |w| {
        let page = w.empty_tab();
        page.before_load(
            "Blob.prototype.arrayBuffer = () => Promise.reject(
                new DOMException('The file is gone.', 'NotReadableError'))",
        );
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let file = w.keep("cloud.samespot", b"not reached");
        page.choose_file("input[type=file]", &file);
        page.wait_for_text("save it on this device first");
        page.picture("cloud-file");
    });
}

#[test]
fn whenever_the_plug_is_pulled_what_was_saved_is_there() {
    walk("crash", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        let address = page.eval("location.hash").as_str().unwrap().to_owned();
        let mut kept = 48;
        let mut lost = Vec::new();
        let mut last = page;
        for (round, moment) in (0..crashes()).zip(moments()) {
            let typed = 50 + round;
            up(&last, &typed.to_string());
            // Every other time somewhere between the key and the disc, whatever the page says.
            let told = round % 2 == 0;
            if told {
                last.wait_for_text(&format!("an oval 62 × {typed} mm"));
                last.wait_for(SAVED);
            } else {
                std::thread::sleep(std::time::Duration::from_millis(moment));
            }
            w.pull_the_plug();
            last = w.open(&address);
            last.set_screen(Screen::TABLET);
            last.wait_started();
            last.wait_for("document.querySelector('#up')?.value");
            let found = last.eval("document.querySelector('#up').value");
            let may: &[Value] = if told {
                &[json!(typed.to_string())]
            } else {
                &[json!(typed.to_string()), json!(kept.to_string())]
            };
            if !may.contains(&found) || last.eval("document.querySelector('#across').value") != "62"
            {
                lost.push((round, found.clone()));
            }
            kept = found.as_str().and_then(|v| v.parse().ok()).unwrap_or(kept);
        }
        assert!(lost.is_empty(), "lost: {lost:?}");
    });
}

#[test]
fn two_prints_noted_at_once_while_another_job_is_open_both_count() {
    walk("printed-elsewhere", |w| {
        let page = w.empty_tab();
        page.before_load(
            "(() => { const held = [], post = Worker.prototype.postMessage;
                globalThis.hold = false;
                Worker.prototype.postMessage = function (...all) {
                    const send = () => post.apply(this, all);
                    if (globalThis.hold) held.push(send); else send();
                };
                globalThis.release = () => { globalThis.hold = false; held.splice(0).forEach((f) => f()); };
                globalThis.slow = 0;
                Object.defineProperty(IDBTransaction.prototype, 'oncomplete', { set(f) {
                    const slow = globalThis.slow;
                    this.addEventListener('complete', (e) => slow ? setTimeout(() => f(e), slow) : f(e));
                } }); })()",
        );
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = example(&page);
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        page.wait_for_text("Rod for this piece");
        let prints = format!(
            "{KEPT}.then((all) => all.map((f) => JSON.parse(f)).filter((f) => f.kind === 'printed').map((f) => JSON.stringify(f.id)))"
        );
        let before = page.eval(&prints).as_array().unwrap().len();
        // Both are asked for, and answered only once another job is open.
        page.eval("globalThis.hold = true; 0");
        page.tap_text("Download PDF");
        page.tap_text("Rod for this piece");
        page.tap("a.home");
        page.tap("a.way.quick");
        page.tap("[data-value=oval]");
        page.wait_for(&format!("!location.hash.includes('{job}')"));
        page.wait_for("document.querySelector('#across')");
        page.fill("#across", "62");
        page.key("Tab");
        page.wait_for(SAVED);
        // What is read is told late: both read before either writes.
        page.download(|page| drop(page.eval("globalThis.slow = 1500; globalThis.release(); 0")));
        page.wait_for(&format!(
            "{prints}.then((ids) => ids.length >= {})",
            before + 2
        ));
        page.eval("globalThis.slow = 0; 0");
        let ids = page.eval(&prints);
        let ids: Vec<String> = ids
            .as_array()
            .unwrap()
            .iter()
            .map(Value::to_string)
            .collect();
        let apart: std::collections::BTreeSet<&String> = ids.iter().collect();
        assert_eq!(apart.len(), ids.len(), "one name for two entries: {ids:?}");
    });
}
