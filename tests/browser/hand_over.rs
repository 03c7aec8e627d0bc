//! From the small module, with which a page starts, to the whole one.

use crate::page::Page;
use crate::storage::{SAVED, an_oval};
use crate::walk::walk;

const WHOLE: &str = "document.documentElement.dataset.whole === 'yes'";

/// From the cards of a quick template to a task that only the whole module has.
#[track_caller]
fn to_the_job(page: &Page<'_>) {
    assert_eq!(page.eval(WHOLE), false);
    page.tap("nav.tasks a[href$='/job']");
    page.wait_for(WHOLE);
    page.wait_for("location.hash.endsWith('/job')");
    page.wait_for("document.querySelector('.job-screen')");
    // One page, not two behind each other.
    page.wait_for(
        "['header', 'main#work', 'section.run'].every(
            (part) => document.querySelectorAll(part).length === 1)",
    );
}

#[track_caller]
fn back_to_the_cards(page: &Page<'_>) {
    page.eval("history.back()");
    page.wait_for("location.hash.endsWith('/quick')");
    page.wait_for("document.querySelector('#across')?.value === '62'");
}

#[test]
fn the_whole_module_goes_on_where_the_small_one_stood() {
    walk("hand-over", |w| {
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        // The first entry begins the job; the next can be taken back.
        page.fill("#up", "50");
        page.key("Tab");
        page.wait_for("document.querySelector('[aria-label=Undo]')");
        page.wait_for(SAVED);
        to_the_job(&page);
        page.picture("handed-over");
        // What was said in the one is taken back in the other, once and not twice.
        page.tap("[aria-label=Undo]");
        page.wait_for("document.querySelector('[aria-label=Redo]')");
        page.tap("[aria-label=Redo]");
        page.wait_for("!document.querySelector('[aria-label=Redo]')");
        page.wait_for(SAVED);
        back_to_the_cards(&page);
        page.wait_for("document.querySelector('#up').value === '50'");
    });
}

#[test]
fn a_job_that_no_device_keeps_is_handed_over_too() {
    walk("hand-over-unkept", |w| {
        let page = w.empty_tab();
        page.before_load(
            "Object.defineProperty(IDBFactory.prototype, 'open', { value() {
                throw new DOMException('The operation is insecure.', 'SecurityError'); } })",
        );
        page.go("");
        an_oval(&page);
        to_the_job(&page);
        page.wait_for_text("Not saved");
        back_to_the_cards(&page);
        page.wait_for("document.querySelector('#up').value === '48'");
    });
}

/// Drops a file on the page, as the browser tells of it.
fn drop_file(page: &Page<'_>, name: &str, bytes: &[u8], then: &str) {
    page.eval(&format!(
        "(() => {{
            const dataTransfer = new DataTransfer();
            dataTransfer.items.add(new File([new Uint8Array({bytes:?})], '{name}'));
            document.body.dispatchEvent(new DragEvent('drop',
                {{ dataTransfer, bubbles: true, cancelable: true }}));
            {then};
        }})()"
    ));
}

#[test]
fn a_file_dropped_before_the_whole_module_stands_is_opened() {
    walk("dropped-early", |w| {
        let s = samespot_tests::jobs::Script::one_face(
            samespot_core::job::FaceShape::Flat,
            &["a", "b"],
            1,
        );
        let file = samespot_core::write::job::job_file(&s.ledger, &s.attachments).unwrap();
        // On the small page, and somebody goes on to another task before the whole one is here.
        let page = w.open("");
        an_oval(&page);
        page.wait_for(SAVED);
        drop_file(&page, "early.samespot", &file, "location.hash = '#/'");
        page.wait_for(WHOLE);
        page.wait_for("location.hash.startsWith('#/j/test-job')");
        page.close();
        // Before anything has started at all.
        let page = w.empty_tab();
        page.before_load(&format!(
            "addEventListener('DOMContentLoaded', () => {{
                const wait = setInterval(() => {{
                    if (document.documentElement.dataset.started) return clearInterval(wait);
                    if (globalThis.dropped) return;
                    const dataTransfer = new DataTransfer();
                    dataTransfer.items.add(new File([new Uint8Array({file:?})], 'early.samespot'));
                    const drop = new DragEvent('drop',
                        {{ dataTransfer, bubbles: true, cancelable: true }});
                    // Taken, as by whoever keeps it: else the browser would leave the page.
                    globalThis.dropped = !document.body.dispatchEvent(drop);
                }}, 1);
            }})"
        ));
        page.go("#/j/nothing-here/job");
        page.wait_started();
        if page.eval("globalThis.dropped === true") == true {
            page.wait_for("location.hash.startsWith('#/j/test-job')");
        }
    });
}

/// Keeps what the page says to its workers.
const LISTENS: &str = "
    globalThis.said = [];
    const post = Worker.prototype.postMessage;
    Worker.prototype.postMessage = function (message, ...more) {
        said.push(message);
        return post.call(this, message, ...more);
    };";

/// What a half of the core, in a worker of its own, makes of the last template that was asked for.
fn made_by(half: &str) -> String {
    format!(
        "(async () => {{
            const script = document.querySelector(\"meta[name='samespot-worker']\").content;
            const worker = new Worker(script, {{ type: 'module' }});
            const ask = (message) => new Promise((done) => {{
                worker.onmessage = ({{ data }}) => done(data.fault ?? data.reply.json);
                worker.postMessage({{ ...message, to: '{half}' }});
            }});
            const all = [...said];
            for (const message of all.filter((m) => m.tells)) await ask(message);
            const asked = all.findLast((m) => m.request.includes('\"ask\":{{\"template\"'));
            const answer = await ask(asked);
            worker.terminate();
            return JSON.stringify(JSON.parse(answer).says.Ok.template);
        }})()"
    )
}

#[test]
fn a_first_sheet_is_the_same_from_either_half_of_the_core() {
    walk("either-half", |w| {
        let page = w.empty_tab();
        page.before_load(LISTENS);
        page.go("");
        an_oval(&page);
        page.tap_text("Next: what it lies on");
        page.tap("[data-value=dome]");
        let writes = |field: &str, number: &str| {
            page.wait_for(&format!("document.activeElement?.matches({field:?})"));
            page.insert(number);
        };
        writes("#girth", "942");
        page.tap_text("Next: two marks");
        writes("#ab", "180");
        page.fill("#ac", "112");
        page.fill("#bc", "108");
        page.tap("[data-value=above]");
        writes("#piece-ab", "181.5");
        // The small page asks the first half for the sheet.
        page.download(|page| page.tap_text("Download PDF"));
        assert_eq!(page.eval(WHOLE), false);
        assert_eq!(
            page.eval("said.filter((m) => m.request.includes('\"ask\":{\"template\"')).every((m) => m.to === 'first')"),
            true
        );
        let [first, rest] = ["first", "rest"].map(|half| page.eval(&made_by(half)));
        let drawn = first.as_str().unwrap_or_default();
        assert!(drawn.contains("<svg"), "no sheet: {drawn:.200}");
        assert!(first == rest, "another sheet from the rest of the core");
    });
}
