//! The page, the service worker and the list of what belongs to a build.

use serde_json::json;

use crate::Outcome;
use crate::files::Tree;
use crate::fingerprint::sha256;

/// Nothing foreign, nothing inline. Compiling WebAssembly needs its own word.
const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; \
    style-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; \
    worker-src 'self'; \
    frame-src blob:; manifest-src 'self'; base-uri 'none'; form-action 'none'";

const INDEX: &str = "index.html";
const SERVICE_WORKER: &str = "sw.js";
const LIST: &str = "assets.json";

/// Digits of the name of a build.
const DIGITS: usize = 12;

/// Fills in the page and the service worker and adds the list. Gives back the build's name.
pub(crate) fn finish(tree: &mut Tree) -> Outcome<String> {
    let index = take(tree, INDEX)?;
    let service_worker = take(tree, SERVICE_WORKER)?;
    let build = name(tree, &index, &service_worker);

    let index = fill(INDEX, &index, "@POLICY@", POLICY)?;
    let index = fill(INDEX, &index, "@BUILD@", &build)?;
    check(&index)?;
    tree.insert(INDEX.to_owned(), index.into_bytes());

    let files: Vec<_> = tree
        .iter()
        .map(|(path, bytes)| json!({"path": path, "sha256": sha256(bytes), "size": bytes.len()}))
        .collect();
    let list = json!({"build": build, "files": files});
    let service_worker = fill(SERVICE_WORKER, &service_worker, "@POLICY@", POLICY)?;
    let service_worker = fill(
        SERVICE_WORKER,
        &service_worker,
        "'@LIST@'",
        &list.to_string(),
    )?;
    tree.insert(SERVICE_WORKER.to_owned(), service_worker.into_bytes());
    tree.insert(LIST.to_owned(), format!("{list:#}\n").into_bytes());
    Ok(build)
}

/// The name of a build: a hash of everything that makes it, page and service worker included.
fn name(tree: &Tree, index: &str, service_worker: &str) -> String {
    let mut all = String::new();
    for (path, bytes) in tree {
        all.push_str(path);
        all.push(' ');
        all.push_str(&sha256(bytes));
        all.push('\n');
    }
    all.push_str(index);
    all.push_str(service_worker);
    sha256(all.as_bytes())[..DIGITS].to_owned()
}

fn take(tree: &mut Tree, path: &str) -> Outcome<String> {
    let bytes = tree
        .remove(path)
        .ok_or_else(|| format!("public/{path} is missing"))?;
    String::from_utf8(bytes).map_err(|_| format!("public/{path} is not UTF-8"))
}

fn fill(path: &str, text: &str, place: &str, with: &str) -> Outcome<String> {
    if text.matches(place).count() == 1 {
        Ok(text.replace(place, with))
    } else {
        Err(format!("public/{path} must hold {place} exactly once"))
    }
}

/// The policy would block these in the browser; here it is said at build time.
fn check(html: &str) -> Outcome {
    let lower = html.to_ascii_lowercase();
    let mut rest = lower.as_str();
    while let Some(at) = rest.find('<') {
        rest = &rest[at + 1..];
        if let Some(after) = rest.strip_prefix("!--") {
            rest = after.find("-->").map_or("", |end| &after[end..]);
            continue;
        }
        let end = rest.find('>').unwrap_or(rest.len());
        let tag = &rest[..end];
        let refuse = |what: &str| Err(format!("public/{INDEX}: {what} in <{tag}>"));
        if tag.starts_with("style") {
            return refuse("an inline style sheet; put it into styles/");
        }
        if tag.starts_with("script") && !tag.contains(" src=") {
            return refuse("an inline script; put it into a file");
        }
        for attribute in tag.split_ascii_whitespace().skip(1) {
            if attribute.starts_with("style=") {
                return refuse("an inline style; put it into styles/");
            }
            if attribute.starts_with("on") && attribute.contains('=') {
                return refuse("an inline handler; put it into a file");
            }
            let foreign = [
                "src=\"//",
                "href=\"//",
                "=\"http:",
                "=\"https:",
                "=\"javascript:",
            ];
            if foreign.iter().any(|start| attribute.contains(start)) {
                return refuse("something from elsewhere; everything comes from here");
            }
        }
        rest = &rest[end..];
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a failed unwrap fails the test")]

    use super::*;

    fn sample(style: &str) -> Tree {
        [
            (
                "index.html",
                "<meta content=\"@POLICY@\"><meta content=\"@BUILD@\">",
            ),
            (
                "sw.js",
                "const policy = \"@POLICY@\"; const list = '@LIST@';",
            ),
            ("style.css", style),
        ]
        .into_iter()
        .map(|(path, text)| (path.to_owned(), text.as_bytes().to_vec()))
        .collect()
    }

    #[test]
    fn the_list_is_true_and_the_service_worker_holds_it() {
        let mut tree = sample("a{}");
        let build = finish(&mut tree).unwrap();
        let list: serde_json::Value = serde_json::from_slice(&tree["assets.json"]).unwrap();
        assert_eq!(list["build"], build.as_str());
        let files = list["files"].as_array().unwrap();
        assert_eq!(files.len(), 2);
        for file in files {
            let bytes = &tree[file["path"].as_str().unwrap()];
            assert_eq!(file["sha256"], sha256(bytes));
            assert_eq!(file["size"], bytes.len());
        }
        let service_worker = String::from_utf8(tree["sw.js"].clone()).unwrap();
        assert!(
            service_worker.contains(&list.to_string()),
            "{service_worker}"
        );
        let index = String::from_utf8(tree["index.html"].clone()).unwrap();
        assert!(
            index.contains(&build) && index.contains("default-src 'none'"),
            "{index}"
        );
    }

    #[test]
    fn any_change_names_another_build() {
        let name = |style| finish(&mut sample(style)).unwrap();
        assert_eq!(name("a{}"), name("a{}"));
        assert_ne!(name("a{}"), name("b{}"));
    }

    #[test]
    fn the_page_is_checked() {
        for good in [
            "<script type=\"module\" src=\"boot.js\"></script>",
            "<!-- <style> --><p class=\"on\">one=1</p>",
            "<link rel=\"stylesheet\" href=\"styles/main.css\">",
        ] {
            check(good).unwrap();
        }
        for (bad, word) in [
            ("<script>run()</script>", "inline script"),
            ("<style>p{}</style>", "inline style sheet"),
            ("<p style=\"color:red\">", "inline style"),
            ("<body onload=\"run()\">", "inline handler"),
            (
                "<script src=\"https://example.org/x.js\"></script>",
                "elsewhere",
            ),
            ("<a href=\"javascript:run()\">", "elsewhere"),
        ] {
            let fault = check(bad).unwrap_err();
            assert!(fault.contains(word), "{bad}: {fault}");
        }
    }
}
