//! The page around the app: starting, policy, worker, offline.

use serde_json::{Value, json};

use crate::browser::Screen;
use crate::page::Page;
use crate::walk::walk;

/// Asks the worker as the app does.
const ASK_WORKER: &str = "(request) => new Promise((resolve, reject) => {
  const url = document.querySelector('meta[name=samespot-worker]').content;
  const worker = new Worker(url, { type: 'module' });
  worker.onerror = () => reject(new Error('the worker did not start'));
  worker.onmessage = ({ data }) => {
    if (data.id !== 7) return;
    worker.terminate();
    resolve(data);
  };
  worker.postMessage({ id: 7, to: 'rest', tells: false, request });
})";

#[track_caller]
fn list(page: &Page) -> Value {
    page.eval("fetch('assets.json').then((answer) => answer.json())")
}

#[test]
fn starts_without_a_complaint() {
    walk("starts", |w| {
        let page = w.open("");
        page.wait_started();
        assert_eq!(page.eval("document.title"), "Samespot");
        assert_eq!(page.eval("document.querySelector('#too-old').hidden"), true);
        assert_eq!(page.eval("document.querySelector('#loading')"), Value::Null);
        for (screen, name) in [
            (Screen::DESK, "desk"),
            (Screen::TABLET, "tablet"),
            (Screen::TABLET_UPRIGHT, "tablet-upright"),
        ] {
            page.set_screen(screen);
            assert_eq!(page.eval("innerWidth"), screen.width);
            page.picture(name);
        }
        page.wait_offline_ready();
    });
}

#[test]
fn policy_blocks_the_foreign_and_the_inline() {
    walk("policy", |w| {
        let page = w.open("");
        page.wait_started();
        // Chromium reports each blocked thing as an error on the console.
        w.expect("Content Security Policy");
        w.expect("violates the following");
        // Attempts are recorded although nothing leaves the page.
        w.expect_foreign("https://example.org/x.png");
        w.expect_foreign("https://example.org/x.js");
        page.eval(
            "globalThis.blocked = [];
             addEventListener('securitypolicyviolation', (event) =>
               blocked.push(event.effectiveDirective))",
        );
        page.eval(
            "(() => { const script = document.createElement('script');
             script.textContent = 'globalThis.ran = true'; document.head.append(script); })()",
        );
        page.eval("document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">x</p>')");
        page.eval("(() => { try { new Function('globalThis.ran = true')() } catch {} })()");
        page.eval("fetch('https://example.org/').catch(() => 0)");
        page.eval("(() => { new Image().src = 'https://example.org/x.png' })()");
        page.eval(
            "(() => { const script = document.createElement('script');
             script.src = 'https://example.org/x.js'; document.head.append(script); })()",
        );
        page.wait_for("blocked.length >= 6");
        let blocked = page.eval("blocked.sort()");
        assert_eq!(
            blocked,
            json!([
                "connect-src",
                "img-src",
                "script-src",
                "script-src-elem",
                "script-src-elem",
                "style-src-attr"
            ])
        );
        assert_eq!(page.eval("typeof globalThis.ran"), "undefined");
        page.wait_offline_ready();
    });
}

#[test]
fn worker_answers_and_starts_no_page() {
    walk("worker", |w| {
        let page = w.open("");
        page.wait_started();
        let answer = page.eval(&format!("({ASK_WORKER})('not a question')"));
        assert_eq!(answer["id"], 7);
        assert!(!answer["reply"].is_null(), "{answer}");
        page.wait_offline_ready();
    });
}

#[test]
fn every_file_is_kept_and_verified() {
    walk("verified", |w| {
        let page = w.open("");
        page.wait_offline_ready();
        let list = list(&page);
        let build = page.eval("document.querySelector('meta[name=samespot-build]').content");
        assert_eq!(list["build"], build);
        let name = format!("samespot-{}", build.as_str().unwrap());
        assert_eq!(page.eval("caches.keys()"), json!([name]));
        let kept = page.eval(&format!(
            "caches.open('{name}').then((cache) => cache.keys()).then((all) =>
               all.map((one) => one.url.slice(location.origin.length + 1)).sort())"
        ));
        let mut listed: Vec<&str> = list["files"]
            .as_array()
            .unwrap()
            .iter()
            .map(|file| file["path"].as_str().unwrap())
            .collect();
        listed.sort_unstable();
        assert_eq!(kept, json!(listed));
        assert!(listed.contains(&"index.html"), "{listed:?}");
        assert!(
            listed.iter().any(|path| path.ends_with(".wasm")),
            "{listed:?}"
        );
    });
}

#[test]
fn a_damaged_file_is_noticed_and_fetched_again() {
    walk("damaged", |w| {
        let page = w.open("");
        page.wait_offline_ready();
        let damage = "caches.keys().then(([name]) => caches.open(name)).then((cache) =>
            cache.put('samespot.webmanifest', new Response('{}')))";
        let told = "new Promise((resolve) => {
            addEventListener('samespot-offline', ({ detail }) => resolve(detail), { once: true });
            dispatchEvent(new Event('samespot-verify'));
        })";
        page.eval(damage);
        let mended = page.eval(told);
        assert_eq!(mended["offline"], "ready", "{mended}");
        assert_eq!(mended["verified"], mended["of"]);

        page.eval(damage);
        w.site.stop();
        w.expect("ERR_CONNECTION_REFUSED");
        let broken = page.eval(told);
        assert_eq!(broken["offline"], "incomplete", "{broken}");
        assert_eq!(broken["damaged"], json!(["samespot.webmanifest"]));
    });
}

#[test]
fn works_with_the_server_stopped() {
    walk("offline", |w| {
        let page = w.open("");
        page.wait_offline_ready();
        w.site.stop();
        page.reload();
        page.wait_started();
        page.wait_offline_ready();
        page.eval("document.fonts.load('16px \"Barlow Semi Condensed\"')");
        page.eval(&format!("({ASK_WORKER})('not a question')"));
        let other = w.open("#/elsewhere");
        other.wait_started();
        other.wait_offline_ready();

        w.pull_the_plug();
        let page = w.open("");
        page.wait_started();
        page.picture("offline");
        page.wait_offline_ready();
    });
}

#[test]
fn after_loading_nothing_more_is_asked_of_the_network() {
    walk("quiet", |w| {
        let page = w.open("");
        page.wait_offline_ready();
        let before = w.site.seen().len();
        page.eval(&format!("({ASK_WORKER})('not a question')"));
        page.go("#/elsewhere");
        page.go("#/");
        let after = w.site.seen();
        assert_eq!(after.len(), before, "{:?}", &after[before..]);
        let missing: Vec<_> = after
            .iter()
            .filter(|request| request.status != 200)
            .collect();
        assert!(missing.is_empty(), "{missing:?}");
    });
}

#[test]
fn without_webassembly_the_page_says_which_browser_it_needs() {
    walk("too-old", |w| {
        let page = w.empty_tab();
        page.before_load("delete globalThis.WebAssembly");
        page.go("");
        page.wait_for_text("This browser cannot run Samespot");
        page.wait_for_text("WebAssembly is missing");
        assert!(page.text("#too-old").contains("Firefox"));
        assert_eq!(page.eval("document.querySelector('#loading').hidden"), true);
        page.picture("too-old");
    });
}
