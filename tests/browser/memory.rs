//! A device that gives no more memory: the module that reads files is built here with a limit of its own, so
//! that its memory is refused as a small tablet would refuse it.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::browser::Screen;
use crate::storage::SAVED;
use crate::update::all_but_packed;
use crate::walk::walk;

/// Pages of 64 kB that the module may take beyond those it starts with.
const MORE_PAGES: u32 = 32;

/// A number as WebAssembly writes it (LEB128), and how many bytes it has.
fn number(bytes: &[u8]) -> (u32, usize) {
    let mut value = 0;
    for (n, byte) in bytes.iter().enumerate() {
        value |= u32::from(byte & 0x7f) << (7 * n);
        if byte & 0x80 == 0 {
            return (value, n + 1);
        }
    }
    panic!("a number that does not end");
}

fn written(mut value: u32) -> Vec<u8> {
    let mut out = Vec::new();
    loop {
        let low = u8::try_from(value & 0x7f).unwrap();
        value >>= 7;
        if value == 0 {
            out.push(low);
            return out;
        }
        out.push(low | 0x80);
    }
}

/// A module whose memory may grow by so many pages and no more (core specification 5.5.8).
fn with_little_memory(wasm: &[u8]) -> Vec<u8> {
    const MEMORY: u8 = 5;
    let (mut out, mut rest) = (wasm[..8].to_vec(), &wasm[8..]);
    let mut limited = false;
    while let [kind, more @ ..] = rest {
        let (length, taken) = number(more);
        let (body, next) = more[taken..].split_at(usize::try_from(length).unwrap());
        if *kind == MEMORY {
            // One memory, no upper limit so far.
            assert_eq!(body[..2], [1, 0], "another memory than was thought of");
            let (least, _) = number(&body[2..]);
            let body = [vec![1, 1], written(least), written(least + MORE_PAGES)].concat();
            out.push(MEMORY);
            out.extend(written(u32::try_from(body.len()).unwrap()));
            out.extend(body);
            limited = true;
        } else {
            out.push(*kind);
            out.extend(&more[..taken]);
            out.extend(body);
        }
        rest = next;
    }
    assert!(limited, "it has no memory");
    out
}

fn limit(folder: &Path) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "wasm") {
            let wasm = fs::read(&path).unwrap();
            fs::write(path, with_little_memory(&wasm)).unwrap();
        }
    }
}

fn png(wide: u32, high: u32) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let picture = image::GrayImage::from_pixel(wide, high, image::Luma([200]));
    picture
        .write_to(&mut bytes, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

#[test]
fn memory_refused_to_a_reader_says_what_was_too_large_and_the_next_file_is_read() {
    walk("memory-refused", |w| {
        let folder = w.keep("limited", b"").with_extension("build");
        all_but_packed(&folder);
        limit(&folder.join("artwork"));
        w.site.start_again(&folder);
        let page = w.empty_tab();
        // Kept for offline are only files that are true, which the limited one is not.
        page.before_load("delete Navigator.prototype.serviceWorker");
        page.go("");
        page.set_screen(Screen::TABLET);
        page.wait_started();
        page.tap("a.way.quick");
        page.tap("[data-value=file]");
        let picture = w.keep("large.png", &png(2400, 1800));
        page.choose_file("input[type=file][accept*=svg]", &picture);
        page.wait_for_text("This drawing needs more memory than this device gives");
        page.wait_for_text("Nothing is lost");
        assert!(!page.text("body").contains("broke off"));
        page.picture("memory-refused");
        // The worker was started anew: a smaller one is read by it, and kept.
        let drawing = w.keep(
            "small.svg",
            br#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><rect width="40" height="20"/></svg>"#,
        );
        page.choose_file("input[type=file][accept*=svg]", &drawing);
        page.wait_for("document.querySelector('#file-width')");
        assert_eq!(
            page.eval("document.querySelector('.why[role=alert]')"),
            Value::Null
        );
        page.fill("#file-width", "80");
        page.key("Tab");
        page.wait_for(SAVED);
        page.picture("the-next");
    });
}
