//! What the browser downloads and what is computed without one are the same bytes.

use std::collections::BTreeMap;
use std::fs;
use std::io::{Cursor, Read};

use samespot_core::answer::{Ask, Desk, FileKind, Request, answer};
use samespot_core::job::{FeatureId, PieceId};
use samespot_core::read;
use samespot_core::sheet::Paper;

use crate::walk::walk;

fn unpacked(bytes: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    (0..archive.len())
        .map(|i| {
            let mut file = archive.by_index(i).unwrap();
            let mut content = Vec::new();
            file.read_to_end(&mut content).unwrap();
            (file.name().unwrap().into_owned(), content)
        })
        .collect()
}

#[test]
fn a_run_issued_in_the_browser_is_the_run_issued_without_one() {
    walk("same-bytes", |w| {
        let page = w.open("");
        page.wait_started();
        // The example stands for the job that a workshop has open.
        page.tap(".ways a.way:first-child");
        page.tap(".run a[href*='/p/p7']");
        page.tap("nav.features a[href$='/eye-left']");
        page.wait_for("document.querySelector('.pages svg, .pages img')");
        // Stopped on the way, nothing is downloaded and the key is there again.
        page.tap_text("Download the whole run (ZIP)");
        page.wait_for("document.querySelector('.stop-run')");
        page.tap(".stop-run");
        page.wait_for_text("Download the whole run (ZIP)");
        let run = page.download(|page| page.tap_text("Download the whole run (ZIP)"));
        let whole = fs::read(&run).unwrap();
        // By one worker as by two.
        page.wait_for_text("Download the whole run (ZIP)");
        page.eval("Object.defineProperty(navigator, 'hardwareConcurrency', { value: 1 })");
        let again = page.download(|page| page.tap_text("Download the whole run (ZIP)"));
        let again = unpacked(&fs::read(&again).unwrap());
        let run = unpacked(&whole);
        let other: Vec<&String> = again
            .iter()
            .filter(|(name, bytes)| run.get(*name) != Some(bytes))
            .map(|(name, _)| name)
            .filter(|name| !name.ends_with(".samespot"))
            .collect();
        assert!(other.is_empty(), "other bytes by one worker in {other:?}");
        page.wait_for_text("Download SVG");
        let svg = page.download(|page| page.tap_text("Download SVG"));
        let svg = fs::read(&svg).unwrap();

        let (_, saved) = run
            .iter()
            .find(|(name, _)| name.ends_with(".samespot"))
            .unwrap();
        let index = String::from_utf8(run["index.txt"].clone()).unwrap();
        let day = index.lines().nth(1).and_then(|l| l.split(" · ").next());
        let day = day.unwrap().to_owned();

        let mut desk = Desk::default();
        let job = desk.take(read::job::open(saved).unwrap());
        let (made, _) = desk.run(&job, None, &day).unwrap();
        let made: BTreeMap<String, Vec<u8>> = made.into_iter().collect();
        let names = |files: &BTreeMap<String, Vec<u8>>| files.keys().cloned().collect::<Vec<_>>();
        assert_eq!(names(&run), names(&made));
        // Eighteen pieces, each with four features, a drill template, a jig and a setting plate; one of all, the job, the
        // index.
        assert_eq!(made.len(), 18 * 7 + 3);
        let other: Vec<&String> = made
            .iter()
            .filter(|(name, bytes)| run[*name] != **bytes)
            .map(|(name, _)| name)
            .collect();
        assert!(other.is_empty(), "other bytes in {other:?}");

        let request = Request {
            number: 1,
            ask: Ask::File {
                job,
                kind: FileKind::Svg,
                of: Some((&FeatureId::new("eye-left").unwrap()).into()),
                pieces: vec![PieceId::new("p7").unwrap()],
                paper: Paper::default(),
                day,
            },
        };
        assert!(answer(&mut desk, request).bytes == svg, "another SVG");
    });
}
