//! The hands the other tests have: proved on a small page of their own, so that a failure
//! elsewhere is the app's.

use std::fs;

use serde_json::{Value, json};

use crate::browser::{Screen, Spot};
use crate::page::Page;
use crate::walk::{Walk, walk};

const PAGE: &str = r##"<!doctype html>
<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Hands</title>
<link rel="icon" href="data:,">
<style>
  @page { size: 100mm 50mm; margin: 0 }
  #pad { width: 200px; height: 100px; background: #ccc; touch-action: none }
  #under { position: relative } #over { position: absolute; inset: 0 }
</style>
<button id="one">Do it</button> <button hidden>Do it</button>
<a href="#there">Go there</a>
<label>Length <input id="length" value="old"></label>
<select id="paper"><option value="4">A4</option><option value="3">A3</option></select>
<input id="file" type="file">
<div id="pad"></div>
<div style="height: 2000px"></div>
<div id="under"><button id="covered">Under</button><div id="over"></div></div>
<button id="save">Save</button>
<script src="page.js"></script>
"##;

const SCRIPT: &str = r"
  globalThis.log = [];
  const at = (id) => document.getElementById(id);
  at('one').onclick = (event) => log.push('click ' + event.pointerType);
  at('length').oninput = (event) => log.push('input ' + event.target.value);
  at('length').onkeydown = (event) => log.push('key ' + (event.ctrlKey ? '^' : '') + event.key);
  at('paper').onchange = (event) => log.push('paper ' + event.target.value);
  at('file').onchange = async (event) => log.push('file ' + await event.target.files[0].text());
  at('pad').onpointermove = (event) => { if (event.buttons) globalThis.moved = event.pointerType; };
  at('save').onclick = () => {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob(['saved']));
    link.download = 'sheet.txt';
    link.click();
  };
  globalThis.store = (mode) => new Promise((resolve, reject) => {
    const open = indexedDB.open('hands', 1);
    open.onupgradeneeded = () => open.result.createObjectStore('kept');
    open.onerror = () => reject(open.error);
    open.onsuccess = () => {
      const writes = mode === 'readwrite';
      const deal = open.result.transaction('kept', mode, { durability: 'strict' });
      const kept = deal.objectStore('kept');
      const got = writes ? kept.put('a reading', 1) : kept.get(1);
      deal.oncomplete = () => resolve(writes ? 'written' : got.result);
    };
  });
";

fn open(w: &Walk) -> Page<'_> {
    let folder = w.keep("page", b"").with_extension("site");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("index.html"), PAGE).unwrap();
    fs::write(folder.join("page.js"), SCRIPT).unwrap();
    w.site.start_again(&folder);
    w.open("")
}

#[test]
fn mouse_and_keys() {
    walk("hands-mouse", |w| {
        let page = open(w);
        page.tap("#one");
        page.tap_text("Do it");
        page.fill("#length", "1203");
        page.key("Enter");
        page.key("Control+a");
        page.insert("12");
        page.fill("#length", "");
        page.select("#paper", "A3");
        page.tap_text("Go there");
        let log = page.eval("log");
        let expected = json!([
            "click mouse",
            "click mouse",
            "input 1203",
            "key Enter",
            "key ^a",
            "input 12",
            "key Delete",
            "input ",
            "paper 3"
        ]);
        assert_eq!(log, expected);
        assert_eq!(page.eval("location.hash"), "#there");
        let from = page.middle("#pad");
        page.drag(
            from,
            Spot {
                x: from.x + 40.0,
                ..from
            },
        );
        page.wait_for("moved === 'mouse'");
    });
}

#[test]
fn fingers() {
    walk("hands-touch", |w| {
        let page = open(w);
        page.set_screen(Screen::TABLET_UPRIGHT);
        assert_eq!(page.eval("matchMedia('(pointer: coarse)').matches"), true);
        page.tap("#one");
        page.wait_for("log.includes('click touch')");
        let from = page.middle("#pad");
        page.drag(
            from,
            Spot {
                x: from.x + 40.0,
                ..from
            },
        );
        page.wait_for("moved === 'touch'");
    });
}

#[test]
fn files_in_and_out_and_paper() {
    walk("hands-files", |w| {
        let page = open(w);
        let given = w.keep("given.txt", b"twelve");
        page.choose_file("#file", &given);
        page.wait_for("log.includes('file twelve')");
        let saved = page.download(|page| page.tap("#save"));
        assert!(
            saved.ends_with("hands-files/sheet.txt"),
            "{}",
            saved.display()
        );
        assert_eq!(fs::read_to_string(saved).unwrap(), "saved");
        let pdf = fs::read(page.print("printed")).unwrap();
        assert!(pdf.starts_with(b"%PDF-"));
        let text = String::from_utf8_lossy(&pdf).into_owned();
        let (_, size) = text.split_once("/MediaBox [0 0 ").unwrap();
        let width: f64 = size.split(' ').next().unwrap().parse().unwrap();
        // 100 mm in points. Chromium cuts a page's size to whole hundredths of an inch.
        let asked = 100.0 / 25.4 * 72.0;
        assert!(
            width <= asked && width > asked - 0.72,
            "{width} of {asked} pt"
        );
    });
}

#[test]
fn what_was_written_survives_a_pulled_plug() {
    walk("hands-plug", |w| {
        let page = open(w);
        assert_eq!(page.eval("store('readwrite')"), "written");
        w.pull_the_plug();
        let page = w.open("");
        assert_eq!(page.eval("store('readonly')"), "a reading");
        w.restart();
        let page = w.open("");
        assert_eq!(page.eval("store('readonly')"), "a reading");
    });
}

#[test]
fn complaints_and_foreign_requests_are_heard() {
    walk("hands-complaints", |w| {
        let page = open(w);
        assert_eq!(w.complaints(), Vec::<String>::new());
        page.eval("console.error('one'); setTimeout(() => { throw new Error('two') }); 0");
        page.eval("fetch('missing').then(() => 0)");
        page.eval(
            "new Promise((resolve) => {
               const code = 'fetch(\"http://other.example/\").catch(() => postMessage(0));' +
                 'setTimeout(() => { throw new Error(\"three\") })';
               new Worker(URL.createObjectURL(new Blob([code]))).onmessage = resolve;
             })",
        );
        page.wait_for("new Promise((resolve) => setTimeout(() => resolve(true), 100))");
        let complaints = w.complaints().join("\n");
        for words in ["console: one", "Error: two", "404", "Error: three"] {
            assert!(complaints.contains(words), "{words}: {complaints}");
            w.expect(words);
        }
        w.expect("ERR_NAME_NOT_RESOLVED");
        assert_eq!(w.foreign(), ["http://other.example/"]);
        w.expect_foreign("http://other.example/");
    });
}

#[test]
fn what_cannot_be_tapped_is_said() {
    walk("hands-covered", |w| {
        let page = open(w);
        for (selector, why) in [
            ("#covered", "it is covered by <div id=\"over\"></div>"),
            ("[hidden]", "it is there and not visible"),
            ("#nowhere", "it is not there"),
            ("button:not([hidden])", "3 of them are there"),
        ] {
            assert_eq!(page.why_not(selector), Value::from(why), "{selector}");
        }
        // As it would be behind a dialog.
        page.eval("document.body.inert = true");
        assert_eq!(page.why_not("#one"), "it is switched off");
    });
}
