//! A new build while an old one is open.

use std::fs;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::site::dist;
use crate::walk::{Walk, walk};

/// Another build that differs from the served one in a file and a name, as a rebuild would.
fn another_build(w: &Walk) -> (PathBuf, String) {
    let folder = w.keep("another", b"").with_extension("build");
    all_but_packed(&folder);
    let path = folder.join("samespot.webmanifest");
    let old = fs::read(&path).unwrap();
    let mut new = old.clone();
    new.push(b'\n');
    fs::write(&path, &new).unwrap();

    let service_worker = fs::read_to_string(folder.join("sw.js")).unwrap();
    let list: Value =
        serde_json::from_slice(&fs::read(folder.join("assets.json")).unwrap()).unwrap();
    let old_build = list["build"].as_str().unwrap();
    let new_build = "0123456789ab".to_owned();
    let entry = |bytes: &[u8]| format!("{}\",\"size\":{}}}", hash(bytes), bytes.len());
    let replaced = service_worker
        .replace(old_build, &new_build)
        .replace(&entry(&old), &entry(&new));
    // The page's name for the build is in index.html, whose hash is listed too.
    let index = fs::read(folder.join("index.html")).unwrap();
    let renamed = String::from_utf8(index.clone())
        .unwrap()
        .replace(old_build, &new_build)
        .into_bytes();
    fs::write(folder.join("index.html"), &renamed).unwrap();
    let replaced = replaced.replace(&entry(&index), &entry(&renamed));
    fs::write(folder.join("sw.js"), replaced).unwrap();
    (folder, new_build)
}

fn hash(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// The build without its packed copies, to be changed in `folder`.
pub(crate) fn all_but_packed(folder: &Path) {
    copy(&dist(), folder);
}

/// All but the packed copies, which would be served in place of what is changed here.
fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        let packed = target.extension().is_some_and(|e| e == "br" || e == "gz");
        if packed {
            continue;
        }
        if entry.path().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

#[test]
fn a_new_build_waits_says_so_and_starts_when_all_is_closed() {
    walk("update", |w| {
        let build = "document.querySelector('meta[name=samespot-build]').content";
        let page = w.open("");
        page.wait_offline_ready();
        let old_build = page.eval(build);
        let old_cache = format!("samespot-{}", old_build.as_str().unwrap());

        let (folder, new_build) = another_build(w);
        let before = w.site.seen().len();
        w.site.start_again(&folder);
        page.reload();
        page.wait_started();
        page.wait_for_text("A new version is ready");
        assert_eq!(
            page.eval("document.documentElement.dataset.newVersion"),
            new_build.as_str()
        );
        page.picture("new-version");

        // No takeover: the open page stays what it was, and so does one opened now.
        assert_eq!(page.eval(build), old_build);
        let other = w.open("");
        other.wait_for_text("A new version is ready");
        assert_eq!(other.eval(build), old_build);
        let caches = page.eval("caches.keys()");
        assert_eq!(caches.as_array().unwrap().len(), 2, "{caches}");
        assert!(caches.to_string().contains(&old_cache), "{caches}");

        // Only what changed was downloaded.
        let fetched: Vec<String> = w.site.seen()[before..]
            .iter()
            .map(|request| request.path.clone())
            .filter(|path| path != "/sw.js")
            .collect();
        assert_eq!(fetched.len(), 2, "{fetched:?}");

        other.close();
        page.close();
        w.restart();
        let page = w.open("");
        page.wait_for(&format!("{build} === '{new_build}'"));
        page.wait_offline_ready();
        assert_eq!(
            page.eval("caches.keys()"),
            json!([format!("samespot-{new_build}")])
        );
        assert_eq!(page.text("#notice"), "");
    });
}

#[test]
fn a_build_with_a_wrong_file_is_not_taken() {
    walk("update-broken", |w| {
        let page = w.open("");
        page.wait_offline_ready();
        let (folder, _) = another_build(w);
        fs::write(folder.join("samespot.webmanifest"), "{}").unwrap();
        w.site.start_again(&folder);
        w.expect("is not the file of build");
        let before = w.site.seen().len();
        let registration = "navigator.serviceWorker.getRegistration()";
        page.eval(&format!(
            "{registration}.then((it) => it.update().catch(() => 0))"
        ));
        page.wait_for(&format!("{registration}.then((it) => !it.installing)"));
        let asked = w.site.seen().split_off(before);
        assert!(
            asked
                .iter()
                .any(|request| request.path == "/samespot.webmanifest"),
            "{asked:?}"
        );
        assert_eq!(
            page.eval(&format!("{registration}.then((it) => it.waiting)")),
            Value::Null
        );
        assert_eq!(
            page.eval("document.documentElement.dataset.newVersion"),
            Value::Null
        );
        page.reload();
        page.wait_started();
        page.wait_offline_ready();
    });
}
