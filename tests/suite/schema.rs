//! The published JSON Schema is what the types say.
#![allow(clippy::unwrap_used, reason = "a test may stop")]

use samespot_core::job::job_schema;
use std::path::Path;

fn published() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../public/schema/job-1.schema.json")
}

#[test]
fn the_published_schema_is_the_one_the_types_make() {
    let made = serde_json::to_string_pretty(&job_schema()).unwrap() + "\n";
    if std::env::var_os("SAMESPOT_BLESS").is_some() {
        std::fs::create_dir_all(published().parent().unwrap()).unwrap();
        std::fs::write(published(), &made).unwrap();
    }
    let found = std::fs::read_to_string(published()).unwrap();
    assert_eq!(found, made, "SAMESPOT_BLESS=1 writes it anew");
}
