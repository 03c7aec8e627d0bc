//! The amendment's way for every other change: raised, mirrored, dropped, added. From Changes to the papers, what is
//! stale, the new sheet and the list of what is made again.

use std::fs;
use std::path::PathBuf;

use samespot_core::frames::Flat;
use samespot_core::job::{
    Amendment, Change, Edit, EntityRef, Entry, FeatureEdit, FeatureId, IssueEdit, IssueId,
    OutlineSpec, Payload, ReplicaId, Writer,
};
use samespot_core::outline::Outline;
use samespot_core::outline::lettering::Weight;
use samespot_core::read::job::{Opened, open};
use samespot_core::units::Length;
use samespot_core::write::job::{attachment_hash, job_file};

use crate::browser::Screen;
use crate::page::Page;
use crate::walk::{Walk, walk};

const EXAMPLE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// A change, and what is said of it on the way.
struct Kind {
    /// The feature in the list of what can change, and in addresses.
    feature: (&'static str, &'static str),
    /// Which key of *What becomes of it*, and what is typed beside it.
    how: &'static str,
    typed: &'static [(&'static str, &'static str)],
    /// The change in words.
    words: &'static str,
    /// What comes of it in numbers.
    rework: &'static str,
    /// What is to be done on pieces that are painted, and the key that says it was.
    to_do: &'static str,
    done: &'static str,
}

/// Opens the example, or a job made from it.
fn start<'a>(w: &'a Walk, file: Option<PathBuf>) -> Page<'a> {
    let page = w.open("");
    page.set_screen(Screen::TABLET);
    page.wait_started();
    page.wait_offline_ready();
    w.site.stop();
    match file {
        None => page.tap(".ways a.way:first-child"),
        Some(file) => page.choose_file("input[type=file]", &file),
    }
    page.wait_for("document.querySelector('.run a[href*=\"/p/p10\"]')");
    page
}

fn to_feature(page: &Page<'_>, piece: u32, feature: &str) {
    page.tap(&format!(".run a[href*='/p/p{piece}']"));
    page.tap(&format!("nav.features a[href$='/{feature}']"));
}

fn download_sheet(page: &Page<'_>) {
    page.wait_for("document.querySelector('.pages svg, .pages img')");
    let sheet = page.download(|page| page.tap_text("Download PDF"));
    assert!(fs::read(&sheet).unwrap().starts_with(b"%PDF-"));
}

fn papers(page: &Page<'_>) {
    for (key, named) in [
        ("Page for the client (PDF)", "issue-2-approval"),
        ("Slip for the workshop (PDF)", "issue-2-change-slip"),
    ] {
        let paper = page.download(|page| page.tap_text(key));
        let name = paper.file_name().unwrap().to_string_lossy().into_owned();
        assert!(name.contains(named), "{name}");
        assert!(fs::read(&paper).unwrap().starts_with(b"%PDF-"));
    }
}

/// Printed on piece 10, painted on six others, changed on all: to the papers, and what is made again.
fn changed<'a>(w: &'a Walk, kind: &Kind, file: Option<PathBuf>) -> Page<'a> {
    let page = start(w, file);
    let (title, feature) = kind.feature;
    to_feature(&page, 10, feature);
    download_sheet(&page);
    page.tap_text("Changes");
    page.wait_for_text("Change the design");
    page.select("#change-feature", title);
    page.tap(&format!(
        ".choices[aria-label='What becomes of it'] [data-value='{}']",
        kind.how
    ));
    for (field, text) in kind.typed {
        page.fill(field, text);
    }
    page.fill("#change-reason", "the client (invented) wants it so");
    page.tap("#change-make");
    page.wait_for_text(kind.words);
    page.wait_for_text("It touches 18 pieces");
    page.wait_for_text("1 printed template to scrap");
    page.wait_for_text(kind.rework);
    page.wait_for_text("NOT APPROVED");
    page.wait_for_text("Scrap template");
    page.picture("issue");
    papers(&page);
    page.wait_for_text(kind.to_do);
    page.tap_text(kind.done);
    page.wait_for_text("Nothing finished to make again");
    page
}

/// The sheet of piece 10 says why it is stale, and the new one is printed from there.
fn printed_anew(page: &Page<'_>, kind: &Kind) {
    to_feature(page, 10, kind.feature.1);
    page.wait_for_text(&format!("issue 2 has it {}", kind.words));
    page.picture("stale");
    download_sheet(page);
    page.wait_for("!document.body.innerText.includes('no longer holds')");
    page.tap_text("Changes");
    page.wait_for_text("Issue 2");
    page.tap("a.changes-line");
    page.wait_for_text("New template printed");
    page.picture("printed anew");
}

/// The example with more said of it, as a file of its own.
fn with(w: &Walk, name: &str, says: impl FnOnce(&mut Opened) -> Vec<Payload>) -> PathBuf {
    let mut opened = open(EXAMPLE).unwrap();
    let writer = Writer {
        replica: ReplicaId(4711),
        who: "walk".into(),
        wall: String::new(),
    };
    for payload in says(&mut opened) {
        opened.ledger.write(&writer, &payload).unwrap();
    }
    w.keep(
        name,
        &job_file(&opened.ledger, &opened.attachments).unwrap(),
    )
}

#[test]
fn painted_becomes_raised() {
    walk("raised", |w| {
        let kind = Kind {
            feature: ("Badge", "badge"),
            how: "finish",
            typed: &[("#change-finish", "raised, 3 mm")],
            words: "finish: raised, 3 mm",
            rework: "6 finished features to make again",
            to_do: "Painted to the older issue: make it again",
            done: "All 6 were made again",
        };
        printed_anew(&changed(w, &kind, None), &kind);
    });
}

#[test]
fn a_badge_is_turned_over() {
    walk("turned-over", |w| {
        let kind = Kind {
            feature: ("Badge", "badge"),
            how: "mirror",
            typed: &[],
            words: "mirrored, left for right",
            rework: "6 finished features to make again",
            to_do: "Painted to the older issue: make it again",
            done: "All 6 were made again",
        };
        // A round badge is the same turned over, and that is said: this one is not.
        let file = with(w, "turned-over.samespot", |opened| {
            let letter = Outline::<Flat>::text("R", Length::from_mm(40.0), Weight::SemiBold)
                .unwrap()
                .0;
            let width = letter.bounds().unwrap().width();
            let bytes = serde_json::to_vec(&letter).unwrap();
            let attachment = attachment_hash(&bytes);
            opened.attachments.insert(attachment.clone(), bytes);
            let fields = FeatureEdit {
                outline: Some(OutlineSpec::Artwork {
                    attachment,
                    file: "r.svg".into(),
                    width: Entry::of_mm(width.mm()),
                    ignored: Vec::new(),
                }),
                ..FeatureEdit::default()
            };
            let badge = FeatureId::new("badge").unwrap();
            let edit = Edit::of(EntityRef::Feature(badge), &fields).unwrap();
            vec![Payload::Edit(edit)]
        });
        printed_anew(&changed(w, &kind, Some(file)), &kind);
    });
}

#[test]
fn an_eye_is_no_longer_made() {
    walk("dropped", |w| {
        let kind = Kind {
            feature: ("Eye, left", "eye-left"),
            how: "drop",
            typed: &[],
            words: "no longer made",
            rework: "6 finished features to take off",
            to_do: "Painted to the older issue: take it off",
            done: "All 6 were taken off",
        };
        let page = changed(w, &kind, None);
        page.wait_for_text("it is not made");
        // There is no new sheet, and the screen that would have it says why.
        to_feature(&page, 10, "eye-left");
        page.wait_for_text("is not made on piece 10: issue 2 says so");
        page.picture("not made");
    });
}

/// New from piece 5 on: pieces 5 and 6 are painted without it.
#[test]
fn a_badge_is_new_from_a_piece_on() {
    walk("added", |w| {
        let file = with(w, "added.samespot", |_| {
            let fields = IssueEdit {
                number: Some(2),
                date: Some("2026-11-28".into()),
                from_piece: Some(5),
                amends: Some(vec![Amendment {
                    feature: FeatureId::new("badge").unwrap(),
                    change: Change::Added,
                }]),
                ..IssueEdit::default()
            };
            let issue = EntityRef::Issue(IssueId::new("issue-2").unwrap());
            vec![Payload::Edit(Edit::of(issue, &fields).unwrap())]
        });
        let page = start(w, Some(file));
        page.tap_text("Changes");
        page.wait_for_text("Issue 2");
        page.tap("a.changes-line");
        page.wait_for_text("Badge: new");
        page.wait_for_text("It touches 14 pieces. 0 printed templates to scrap. 2 features to put on finished pieces");
        page.wait_for_text("Painted before it was there: put it on");
        page.wait_for_text("Print its template when its turn comes");
        page.picture("issue");
        papers(&page);
        page.tap_text("All 2 were put on");
        page.wait_for_text("Nothing finished to make again");
        page.fill("#change-approved", "the client");
        page.tap_text("Approved");
        page.wait_for_text("Approved by the client");
        // Before the piece it is new on there is none of it.
        to_feature(&page, 4, "badge");
        page.wait_for_text("is not made on piece 4: issue 2 says so");
        to_feature(&page, 10, "badge");
        download_sheet(&page);
        page.tap_text("Changes");
        page.wait_for_text("Issue 2");
        page.tap("a.changes-line");
        page.wait_for_text("New template printed");
        page.picture("printed");
    });
}
