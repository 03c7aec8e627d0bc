//! The browser lets people down while they work: its storage goes away for a moment or is held up, the
//! page is killed in the middle of a word, sharing is refused, memory is refused, sums come out wrong.

use std::fs;

use serde_json::{Value, json};

use crate::browser::Screen;
use crate::design::{example, first_face, marks};
use crate::page::Page;
use crate::storage::{SAVED, an_oval, first_card, up as high};
use crate::walk::{Walk, walk};

/// Every connection to the storage that the page opens.
const CONNECTIONS: &str = "(() => {
    const open = IDBFactory.prototype.open;
    globalThis.connections = [];
    IDBFactory.prototype.open = function (...all) {
        const request = open.apply(this, all);
        request.addEventListener('success', () => connections.push(request.result));
        return request;
    };
})()";

/// What is kept of what is being typed.
const TYPED: &str = "new Promise((resolve, reject) => {
    const open = indexedDB.open('samespot');
    open.onerror = () => reject(open.error);
    open.onsuccess = () => {
        const all = open.result.transaction('drafts').objectStore('drafts').getAll();
        all.onsuccess = () => { open.result.close(); resolve(JSON.stringify(all.result)); };
    };
})";

/// An iPad as it names itself, which shares files and answers as `answers` has it.
const IPAD: &str = "(() => {
    Object.defineProperty(Navigator.prototype, 'userAgent', {
        get: () => 'Mozilla/5.0 (iPad; CPU OS 17_5 like Mac OS X) AppleWebKit/605.1.15' });
    globalThis.shared = [];
    globalThis.answers = [];
    Navigator.prototype.canShare = () => true;
    Navigator.prototype.share = (data) => {
        shared.push(data.files[0].name);
        const fault = answers.shift();
        return fault ? Promise.reject(new DOMException('no', fault)) : Promise.resolve();
    };
})()";

#[track_caller]
fn up(page: &Page<'_>, value: &str) {
    high(page, value);
    page.wait_for_text(&format!("an oval 62 × {value} mm"));
}

#[test]
fn a_connection_the_browser_lost_is_opened_again_and_nothing_is_lost() {
    walk("lost-connection", |w| {
        let page = w.empty_tab();
        page.before_load(CONNECTIONS);
        page.go("");
        an_oval(&page);
        page.wait_for(SAVED);
        let opened = |page: &Page<'_>| page.eval("connections.length").as_u64().unwrap();
        let first = opened(&page);
        // Closed without a word, as after a long idle.
        page.eval("connections.forEach((one) => one.close())");
        up(&page, "47");
        page.wait_for(SAVED);
        let second = opened(&page);
        assert!(second > first, "{first} {second}");
        // Closed, and said so.
        page.eval(
            "connections.forEach((one) => { one.close(); one.dispatchEvent(new Event('close')); })",
        );
        up(&page, "46");
        page.wait_for(SAVED);
        assert!(opened(&page) > second);
        // Lost in the middle of a write.
        page.eval(
            "(() => { const put = IDBObjectStore.prototype.put;
                IDBObjectStore.prototype.put = function (...all) {
                    if (this.name !== 'facts') return put.apply(this, all);
                    IDBObjectStore.prototype.put = put;
                    const request = put.apply(this, all);
                    this.transaction.abort();
                    return request;
                }; })()",
        );
        up(&page, "45");
        page.wait_for(SAVED);
        assert_eq!(page.eval("document.querySelectorAll('.notice').length"), 0);
        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.wait_for_text("Oval 62 × 45");
    });
}

#[test]
fn a_storage_that_does_not_open_at_first_is_tried_again() {
    walk("opens-second", |w| {
        let page = w.empty_tab();
        page.before_load(
            "(() => { const open = IDBFactory.prototype.open;
                globalThis.failed = 0;
                IDBFactory.prototype.open = function (...all) {
                    if (failed++ === 0) throw new DOMException(
                        'Connection to Indexed Database server lost. Refresh the page to try again', 'UnknownError');
                    return open.apply(this, all);
                }; })()",
        );
        page.go("");
        an_oval(&page);
        page.wait_for(SAVED);
        assert!(page.eval("failed").as_u64().unwrap() > 1);
        assert_eq!(page.eval("document.querySelectorAll('.notice').length"), 0);
    });
}

#[test]
fn everything_is_kept_with_strict_durability() {
    walk("strict", |w| {
        let page = w.empty_tab();
        page.before_load(
            "(() => { const begin = IDBDatabase.prototype.transaction;
                globalThis.begun = [];
                IDBDatabase.prototype.transaction = function (stores, mode, options) {
                    const it = begin.call(this, stores, mode, options);
                    begun.push([[...it.objectStoreNames].join(' '), mode, it.durability]);
                    return it;
                }; })()",
        );
        page.go("");
        an_oval(&page);
        page.wait_for(SAVED);
        let begun = page.eval("begun.filter(([, mode]) => mode === 'readwrite')");
        let begun = begun.as_array().unwrap();
        assert!(
            begun
                .iter()
                .any(|b| b[0].as_str().unwrap().contains("facts")),
            "{begun:?}"
        );
        for one in begun {
            assert_eq!(one[2], "strict", "{one}");
        }
    });
}

#[test]
fn what_was_being_typed_on_the_cards_is_back() {
    walk("draft-cards", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        let address = page.eval("location.hash").as_str().unwrap().to_owned();
        // The cursor is still in the field.
        first_card(&page);
        page.fill("#up", "4");
        page.insert("4.5");
        page.wait_for(&format!("({TYPED}).then((all) => all.includes('44.5'))"));
        w.pull_the_plug();
        let page = w.open(&address);
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_for("document.querySelector('#up')?.value === '44.5'");
    });
}

/// The same screen after the plug was pulled: what was being typed is in its field, and the cursor too.
#[track_caller]
fn back<'a>(w: &'a Walk, page: &Page<'_>, field: &str, typed: &str) -> Page<'a> {
    let address = page.eval("location.hash").as_str().unwrap().to_owned();
    w.pull_the_plug();
    let page = w.open(&address);
    page.set_screen(Screen::TABLET);
    page.wait_started();
    page.wait_for(&format!(
        "document.querySelector('#{field}')?.value === '{typed}'"
    ));
    page.wait_for(&format!("document.activeElement?.id === '{field}'"));
    page
}

#[test]
fn what_was_being_typed_in_any_field_is_back_and_gone_once_it_is_said() {
    walk("draft-field", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        first_face(
            &page,
            "Harbour seals (invented)",
            "seal",
            "brow",
            "Seal, brow",
        );
        page.tap_text("Round both ways");
        page.fill("#face-girth", "942");
        page.key("Tab");
        marks(&page, &["A", "B"]);
        page.fill("#feature-new", "ey");
        page.insert("e");
        page.wait_for(&format!(
            "({TYPED}).then((all) => all.includes('feature-new'))"
        ));
        let page = back(w, &page, "feature-new", "eye");
        page.picture("back");
        // It counts as typed.
        page.settled();
        page.tap("#feature-add");
        page.wait_for("document.querySelector('#feature-name')?.value === 'eye'");
        page.wait_for(&format!(
            "({TYPED}).then((all) => !all.includes('feature-new'))"
        ));
        page.wait_for(SAVED);
        page.reload();
        page.wait_started();
        page.wait_for("document.querySelector('#feature-new')");
        std::thread::sleep(std::time::Duration::from_secs(1));
        assert_eq!(
            page.eval("document.querySelector('#feature-new').value"),
            ""
        );

        // A line that is said when it is left: typed, killed, back, and said when it is left then.
        page.tap_text("Job");
        page.wait_for("document.querySelector('#job-for')");
        page.fill("#job-for", "the harbour");
        page.wait_for(&format!(
            "({TYPED}).then((all) => all.includes('the harbour'))"
        ));
        let page = back(w, &page, "job-for", "the harbour");
        page.key("Tab");
        page.wait_for(SAVED);
        page.reload();
        page.wait_started();
        page.wait_for("document.querySelector('#job-for')?.value === 'the harbour'");
        // Gone elsewhere: what was typed and not said is let go of, as the screen does.
        page.fill("#job-for", "nobody");
        page.wait_for(&format!("({TYPED}).then((all) => all.includes('nobody'))"));
        page.eval("document.activeElement.value = 'the harbour'");
        page.tap("a.home");
        page.wait_for(&format!("({TYPED}).then((all) => !all.includes('nobody'))"));
    });
}

#[test]
fn gaps_stepped_by_keys_are_back_after_the_page_was_killed() {
    walk("stepped", |w| {
        let page = w.open("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let job = example(&page);
        let checks = format!("#/j/{job}/p/p3/checks/eye-left");
        page.go(&checks);
        page.wait_for_text("Read all four to keep it");
        for _ in 0..3 {
            page.tap(".gap-top .gap-key:last-child");
        }
        page.tap(".gap-bottom .gap-key:first-child");
        page.wait_for(&format!(
            "{TYPED}.then((typed) => typed.includes('gap-bottom'))"
        ));
        w.pull_the_plug();
        let page = w.open(&checks);
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_for("document.querySelector('#gap-top')?.value === '1.5'");
        page.wait_for("document.querySelector('#gap-bottom')?.value === '-0.5'");
        page.picture("stepped");
    });
}

#[test]
fn an_upgrade_held_up_by_another_window_says_so_and_goes_on_and_no_older_page_goes_back() {
    walk("held-up", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        let address = page.eval("location.hash").as_str().unwrap().to_owned();
        page.close();
        // A window of the version before, which does not let go.
        let old = w.open("assets.json");
        // That is a file, not a page with a sign of its own.
        w.expect("favicon.ico");
        let hold = "new Promise((resolve) => {
            const open = indexedDB.open('samespot');
            open.onsuccess = () => { globalThis.held = open.result; resolve(held.version); };
        })";
        let version = old.eval(hold).as_u64().unwrap();
        // A page of the version after.
        let new = w.empty_tab();
        new.before_load(
            "(() => { const open = IDBFactory.prototype.open;
                IDBFactory.prototype.open = function (name, version) {
                    return version ? open.call(this, name, version + 1) : open.call(this, name);
                }; })()",
        );
        new.go(&address);
        new.set_screen(Screen::TABLET);
        new.wait_started();
        new.wait_for_text("close every other Samespot window");
        new.picture("held-up");
        old.eval("held.close()");
        // Without a further tap.
        new.wait_for("document.querySelector('#up')?.value === '48'");
        new.wait_for("!document.body.innerText.includes('close every other Samespot window')");
        up(&new, "47");
        new.wait_for(SAVED);
        new.picture("goes-on");
        new.close();

        // The page of before is refused, and changes nothing.
        let back = w.open(&address);
        back.wait_started();
        back.wait_for_text("saved by a newer Samespot than this page");
        back.picture("refused");
        assert_eq!(old.eval(hold), json!(version + 1));
        let kept = old.eval(
            "new Promise((resolve) => {
                const all = held.transaction('facts').objectStore('facts').getAll();
                all.onsuccess = () => resolve(all.result.join(' '));
            })",
        );
        assert!(kept.as_str().unwrap().contains("\"47\""), "{kept}");
    });
}

#[test]
fn a_copy_that_is_not_shared_is_tried_once_more_or_downloaded_and_only_what_is_known_counts() {
    walk("share-copy", |w| {
        let page = w.empty_tab();
        page.before_load(IPAD);
        page.go("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.tap("a.home");
        page.wait_for_text("Never copied off this device");
        let copy = |page: &Page<'_>, answers: Value| {
            page.eval(&format!("globalThis.answers = {answers}; 0"));
            page.tap(".sheet.copy button");
        };
        // Somebody changed their mind: not a word.
        copy(&page, json!(["AbortError"]));
        page.wait_for("shared.length === 1");
        page.wait_for_text("Never copied off this device");
        assert_eq!(page.eval("document.querySelectorAll('.notice').length"), 0);
        // Too late for the tap: ready for the next one.
        copy(&page, json!(["NotAllowedError"]));
        page.wait_for_text("It is ready now: tap once more");
        page.picture("ready");
        page.wait_for_text("Never copied off this device");
        copy(&page, json!([]));
        page.wait_for_text("Copied off this device just now");
        assert_eq!(page.eval("shared.length"), 3);

        // Refused: it is downloaded, which is not taken for a copy.
        page.tap("a.title");
        up(&page, "47");
        page.wait_for(SAVED);
        page.tap("a.home");
        let newer = "/\\d+ entr(y is|ies are) newer than the copy/.test(document.body.innerText)";
        page.wait_for(newer);
        let file = page.download(|page| copy(page, json!(["DataError"])));
        page.wait_for_text("was downloaded instead");
        page.wait_for(newer);
        page.picture("downloaded");
        samespot_core::read::job::open(&fs::read(file).unwrap()).unwrap();
    });
}

#[test]
fn a_sheet_that_is_not_shared_is_downloaded() {
    walk("share-sheet", |w| {
        let page = w.empty_tab();
        page.before_load(IPAD);
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        example(&page);
        page.tap(".run a[href*='/p/p7']");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        // Not before the file is ready: permission to share lasts seconds after a tap.
        page.wait_for(
            "[...document.querySelectorAll('button')].find((b) => b.innerText === 'Share PDF')?.ariaDisabled === 'false'",
        );
        page.eval("answers.push('NotAllowedError')");
        let pdf = page.download(|page| page.tap_text("Share PDF"));
        page.wait_for_text("was downloaded instead");
        assert!(fs::read(pdf).unwrap().starts_with(b"%PDF-"));
        page.picture("downloaded");
    });
}

#[test]
fn on_an_ipad_no_file_field_greys_out_what_it_takes() {
    walk("accept", |w| {
        let offered = "[...document.querySelectorAll('input[type=file]')].map((one) => one.accept)";
        let mut fields = 0;
        for ipad in [false, true] {
            let page = w.empty_tab();
            if ipad {
                page.before_load(IPAD);
            }
            page.go("");
            page.set_screen(Screen::TABLET);
            page.wait_started();
            let job = example(&page);
            for screen in ["", "/job", "/history", "/setout/head-left", "/changes"] {
                page.eval(&format!("location.hash = '#/j/{job}{screen}'"));
                page.wait_for(&format!("location.hash === '#/j/{job}{screen}'"));
                page.wait_for("!document.querySelector('.waiting')");
                std::thread::sleep(std::time::Duration::from_secs(1));
                let all = page.eval(offered);
                for one in all.as_array().unwrap() {
                    assert_eq!(one.as_str().unwrap().is_empty(), ipad, "{screen}: {all}");
                    fields += 1;
                }
            }
            page.go("#/");
            page.wait_for("document.querySelector('input[type=file]')");
            assert_eq!(page.eval(offered)[0].as_str().unwrap().is_empty(), ipad);
        }
        assert!(fields >= 4, "{fields} fields were met");
    });
}

#[test]
fn a_file_larger_than_memory_is_told_and_nothing_changes() {
    walk("memory", |w| {
        let page = w.empty_tab();
        page.before_load(
            "Blob.prototype.arrayBuffer = () =>
                Promise.reject(new RangeError('Array buffer allocation failed'))",
        );
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        let file = w.keep("large.samespot", b"not reached");
        page.choose_file("input[type=file]", &file);
        page.wait_for_text("is more than this device has memory for");
        page.picture("memory");
        // The page goes on.
        an_oval(&page);
        page.wait_for(SAVED);
    });
}

#[test]
fn a_sheet_of_a_job_that_is_not_here_says_whose_it_is() {
    walk("other-job", |w| {
        // As the code on the sheet has it.
        let page = w.open("#/j/harbour-seals-2/p/p7/eye-left");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.wait_for_text("This job is not on this device");
        page.wait_for_text("belongs to job harbour-seals-2");
        page.wait_for_text("Open its file");
        // Nothing was begun in its place.
        page.tap_text("To the start page");
        page.wait_for_text("None yet");
        // A letter misread.
        page.go("#/j/harbour-seals-2/q/p7");
        page.wait_for_text("check each letter");
        page.picture("no-screen");
    });
}

#[test]
fn a_browser_that_gets_known_sums_wrong_is_refused_and_the_jobs_are_handed_out() {
    walk("wrong-sums", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        page.close();
        w.expect("come out wrong here");
        let page = w.empty_tab();
        page.before_load(
            "(() => { const real = WebAssembly.instantiateStreaming;
                WebAssembly.instantiateStreaming = async (...all) => {
                    const { instance, module } = await real(...all);
                    const exports = { ...instance.exports };
                    if (exports.computes_right) exports.computes_right = () => 0;
                    return { instance: { exports }, module };
                }; })()",
        );
        page.go("");
        page.wait_for_text("sums whose answers are known come out wrong here");
        page.wait_for_text("Firefox");
        assert_eq!(page.eval("document.querySelector('a.way')"), Value::Null);
        let file = page.download(|page| page.tap("#too-old-jobs button"));
        page.picture("wrong-sums");
        // All of it, by a reader of ZIP that is not ours, and by the core.
        let bytes = fs::read(file).unwrap();
        let opened = samespot_core::read::job::open(&bytes).unwrap();
        assert_eq!(opened.notes, []);
        let kept = page.eval(
            "new Promise((resolve) => {
                const open = indexedDB.open('samespot');
                open.onsuccess = () => {
                    const all = open.result.transaction('facts').objectStore('facts').count();
                    all.onsuccess = () => { open.result.close(); resolve(all.result); };
                };
            })",
        );
        assert_eq!(kept.as_u64(), u64::try_from(opened.ledger.len()).ok());
        assert!(opened.ledger.len() > 3);
    });
}
