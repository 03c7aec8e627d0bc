//! `public/rescue.js` hands out jobs without the core: what it writes by heart is held to the core's own.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test may stop"
)]

use samespot_core::job::FORMAT_VERSION;
use samespot_core::read::job::open;
use samespot_core::write::job::{attachment_hash, job_file, job_json};
use samespot_tests::jobs::Script;
use serde_json::Value;
use std::path::Path;

fn script(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../public")
        .join(name);
    std::fs::read_to_string(path).unwrap()
}

/// What stands between two stretches of a text, the first time.
#[track_caller]
fn between<'a>(text: &'a str, before: &str, after: &str) -> &'a str {
    let rest = text
        .split_once(before)
        .unwrap_or_else(|| panic!("no {before:?}"))
        .1;
    rest.split_once(after)
        .unwrap_or_else(|| panic!("no {after:?} behind {before:?}"))
        .0
}

#[test]
fn what_is_handed_out_without_the_core_is_of_the_cores_format() {
    let rescue = script("rescue.js");
    let format = between(&rescue, "const FORMAT = ", ";");
    assert_eq!(
        format.parse::<u32>().unwrap(),
        FORMAT_VERSION,
        "look at what changed in the format, then at `jobFile`"
    );
}

/// A small job with an attachment, as the device keeps it.
fn kept() -> Script {
    let mut s = Script::one_face(samespot_core::job::FaceShape::Flat, &["a", "b"], 2);
    s.over("c1", "a", "b", 297.0);
    let picture = b"a picture".to_vec();
    s.attachments.insert(attachment_hash(&picture), picture);
    s
}

/// The JSON that `jobFile` puts together, by its own two templates.
fn rescued_json(rescue: &str, s: &Script) -> String {
    let head = between(rescue, "const head = `", "`;");
    let json = between(rescue, "const json = `", "`;");
    let facts: Vec<&str> = s.ledger.facts().map(|f| f.bytes()).collect();
    json.replace("${head}", head)
        .replace("${FORMAT}", &FORMAT_VERSION.to_string())
        .replace(
            "${JSON.stringify(job)}",
            &serde_json::to_string(s.ledger.job_id()).unwrap(),
        )
        .replace("${facts.join(',')}", &facts.join(","))
}

#[test]
fn its_json_is_a_job_and_has_the_cores_own_fields() {
    let rescue = script("rescue.js");
    let s = kept();
    let json = rescued_json(&rescue, &s);
    assert!(!json.contains("${"), "something new is filled in: {json}");
    let opened = open(json.as_bytes()).unwrap();
    assert_eq!(opened.notes, []);
    assert_eq!(opened.ledger, s.ledger);
    let keys = |text: &str| {
        let all: Value = serde_json::from_str(text).unwrap();
        let of = |v: &Value| v.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
        (of(&all), of(&all["samespot"]))
    };
    assert_eq!(keys(&json), keys(&job_json(&s.ledger).unwrap()));
}

/// Little-endian, as ZIP has its numbers (APPNOTE 4.3).
fn signature(rescue: &str, holds: &str) -> u32 {
    let number = between(rescue, holds, "]");
    u32::from_str_radix(number, 16).unwrap()
}

#[test]
fn its_container_has_the_cores_names_and_signatures() {
    let rescue = script("rescue.js");
    let s = kept();
    let file = job_file(&s.ledger, &s.attachments).unwrap();
    let at = |from: usize| u32::from_le_bytes(file[from..from + 4].try_into().unwrap());
    assert_eq!(signature(&rescue, "put(parts, [4, 0x"), at(0));
    assert_eq!(signature(&rescue, "put(end, [4, 0x"), at(file.len() - 22));
    let directory = usize::try_from(at(file.len() - 6)).unwrap();
    assert_eq!(signature(&rescue, "put(list, [4, 0x"), at(directory));
    // The names of its entries: the JSON, and a folder of attachments by hash.
    let holds = |name: &str| file.windows(name.len()).any(|w| w == name.as_bytes());
    let json = between(&rescue, "const entries = [['", "'");
    let folder = between(&rescue, "entries.push([`", "$");
    let hash = s.attachments.keys().next().unwrap();
    assert!(
        holds(json) && holds(&format!("{folder}{hash}")),
        "{json} {folder}"
    );
    assert_eq!(json.as_bytes(), &file[30..30 + json.len()]);
}

/// It reads what `app/src/ports/store.rs` keeps, and names its files as the app does.
#[test]
fn it_reads_the_storage_that_the_app_keeps() {
    let (rescue, root) = (
        script("rescue.js"),
        Path::new(env!("CARGO_MANIFEST_DIR")).join(".."),
    );
    let store = std::fs::read_to_string(root.join("app/src/ports/store.rs")).unwrap();
    let named = |what: &str| between(&store, &format!("const {what}: &str = \""), "\"").to_owned();
    assert_eq!(between(&rescue, "indexedDB.open('", "'"), named("NAME"));
    for what in ["FACTS", "ATTACHMENTS", "JOBS"] {
        assert!(
            rescue.contains(&format!("all(database, '{}'", named(what))),
            "{what}"
        );
    }
    // One job's entries are those between the same two keys.
    let bound = between(&store, "IdbKeyRange::bound(", ".map(");
    assert!(
        bound.contains("{job}/") && bound.contains("{job}0"),
        "{bound}"
    );
    assert!(rescue.contains("IDBKeyRange.bound(`${job}/`, `${job}0`)"));
    let names = std::fs::read_to_string(root.join("app/src/say/names.rs")).unwrap();
    let ending = between(&rescue, "save(`${name}", "`");
    assert!(names.contains(ending), "{ending}");
}
