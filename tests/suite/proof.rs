//! The printer's proof: its page, what it comes to, what sheets say of it, and the code on them.
//!
//! Outside: ISO 216 and ASME Y14.1 sizes, design/10 §2.2's table; the page and the codes are read
//! back by readers this project did not write (`usvg`, `lopdf`, `rqrr`).

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a test stops where something is missing; pixels of a picture"
)]

use samespot_core::answer::{Ask, Desk, Reply, Request, answer};
use samespot_core::job::{
    ClassMark, Edit, EntityRef, Entry, FeatureId, Job, JobEdit, Ledger, Payload, PieceId,
    PrinterEdit, PrinterId, ProofFact, ReplicaId, Writer,
};
use samespot_core::prepare::printer::ProofTyped;
use samespot_core::prepare::{Source, issue, staleness};
use samespot_core::proof::{Plan, ProofWords, page, plan};
use samespot_core::read::job::{Opened, open};
use samespot_core::sheet::drawing::{Drawing, Meaning, Shape};
use samespot_core::sheet::{CardSet, Paper};
use samespot_core::units::Length;
use samespot_core::write::job::Attachments;
use samespot_core::write::svg::svg_page;

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

const FILE: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

/// The example with more said in it.
#[derive(Clone)]
struct Example {
    ledger: Ledger,
    attachments: Attachments,
    job: Job,
}

impl Example {
    fn with(says: &[Payload]) -> Self {
        let opened = open(FILE).unwrap();
        let job = Job::fold(&opened.ledger);
        let bare = Self {
            ledger: opened.ledger,
            attachments: opened.attachments,
            job,
        };
        bare.and(says)
    }

    fn and(&self, says: &[Payload]) -> Self {
        let mut more = self.clone();
        let writer = Writer {
            replica: ReplicaId(77),
            who: "test".into(),
            wall: String::new(),
        };
        for payload in says {
            more.ledger.write(&writer, payload).unwrap();
        }
        more.job = Job::fold(&more.ledger);
        more
    }

    fn desk(&self) -> Desk {
        let mut desk = Desk::default();
        desk.take(Opened {
            ledger: self.ledger.clone(),
            attachments: self.attachments.clone(),
            notes: Vec::new(),
        });
        desk
    }
}

fn printer() -> PrinterId {
    PrinterId::new("bench").unwrap()
}

/// The example with a printer in use, its proof as read, and a choice.
fn with_proof(read: Option<[f64; 4]>, corrected: bool, address: Option<&str>) -> Example {
    let mut says = vec![
        Payload::Edit(
            Edit::of(
                EntityRef::Printer(printer()),
                &PrinterEdit {
                    name: Some("Bench".into()),
                    corrected: Some(corrected),
                    address: address.map(String::from),
                },
            )
            .unwrap(),
        ),
        Payload::Edit(
            Edit::of(
                EntityRef::Job,
                &JobEdit {
                    printer: Some(printer()),
                    ..JobEdit::default()
                },
            )
            .unwrap(),
        ),
    ];
    if let Some([across, up, rising, falling]) = read {
        says.push(Payload::Proof(Box::new(ProofFact {
            printer: printer(),
            paper: Paper::A4,
            drawn: plan(Paper::A4).unwrap(),
            across: Entry::of_mm(across),
            up: Entry::of_mm(up),
            rising: Some(Entry::of_mm(rising)),
            falling: Some(Entry::of_mm(falling)),
            class: ClassMark::I,
            step: mm(0.5),
            reaches: None,
            day: "2026-11-12".into(),
        })));
    }
    Example::with(&says)
}

fn eye(opened: &Example) -> Drawing {
    let (job, attachments) = (&opened.job, &opened.attachments);
    let source = Source { job, attachments };
    let (feature, piece) = which();
    issue(&source, &feature, &piece, Paper::A4, "2026-11-26")
        .unwrap()
        .drawing
}

fn which() -> (FeatureId, PieceId) {
    (
        FeatureId::new("eye-left").unwrap(),
        PieceId::new("p7").unwrap(),
    )
}

fn says(drawing: &Drawing, words: &str) -> bool {
    drawing
        .pages
        .iter()
        .flat_map(|p| &p.items)
        .any(|i| matches!(&i.shape, Shape::Lettering { text, .. } if text.contains(words)))
}

#[test]
fn a_sheet_is_proved_by_its_printers_proof_and_its_reference_stays() {
    let before = eye(&with_proof(None, false, None));
    assert!(says(&before, "SIZE NOT PROVED"));
    let proved = eye(&with_proof(Some([170.0, 250.0, 302.5, 302.5]), false, None));
    assert!(says(&proved, "PROVED 2026-11-12"), "the banner");
    assert!(!says(&proved, "SIZE NOT PROVED"));
    assert!(says(&proved, "Bench, A4"));
    // What was printed before is as good as what is printed now.
    assert_eq!(before.reference, proved.reference);
    // Fit to page: it proves nothing.
    let shrunk = eye(&with_proof(Some([164.9, 242.5, 293.2, 293.2]), true, None));
    assert!(says(&shrunk, "SIZE NOT PROVED"));
    assert!(says(&shrunk, "no scale correction"));
}

/// The longest bar up, as drawn, mm.
fn bar_up(drawing: &Drawing) -> f64 {
    let page = drawing.pages.first().unwrap();
    let mut best = 0;
    for item in page.items.iter().filter(|i| i.meaning == Meaning::Bar) {
        if let Shape::Line(contours) = &item.shape {
            for c in contours {
                best = best.max((c.end().y - c.start.y).abs());
            }
        }
    }
    f64::from(best) / 1000.0
}

#[test]
fn a_correction_is_a_choice_is_stated_and_makes_the_print_come_out() {
    // 0.4 % short across, 0.6 % short up: read 169.32 and 248.5.
    let read = [169.32, 248.5, 300.7, 300.7];
    let left_alone = eye(&with_proof(Some(read), false, None));
    let bar = bar_up(&left_alone);
    assert!((bar / 50.0 - (bar / 50.0).round()).abs() < 1e-9, "{bar}");
    let corrected = eye(&with_proof(Some(read), true, None));
    assert!(says(&corrected, "scale 1.00"), "stated in the title");
    assert!(says(&corrected, "for this printer"), "and at the bar");
    // The printer's own scale brings the bar back to a round figure.
    let printed = bar_up(&corrected) * 248.5 / 250.0;
    assert!(
        (printed / 50.0 - (printed / 50.0).round()).abs() < 0.002,
        "{printed}"
    );
    assert_ne!(left_alone.reference, corrected.reference);
}

#[test]
fn a_print_made_before_the_correction_is_stale_for_that_reason() {
    let read = [169.32, 248.5, 300.7, 300.7];
    let opened = with_proof(Some(read), false, None);
    let (feature, piece) = which();
    let source = Source {
        job: &opened.job,
        attachments: &opened.attachments,
    };
    let printed = issue(&source, &feature, &piece, Paper::A4, "2026-11-26").unwrap();
    let fact = Payload::Printed(printed.printed("2026-11-26"));
    let still = opened.and(std::slice::from_ref(&fact));
    let source = Source {
        job: &still.job,
        attachments: &still.attachments,
    };
    assert_eq!(staleness(&source, &feature, &piece), None);
    let choose = Edit::of(
        EntityRef::Printer(printer()),
        &PrinterEdit {
            corrected: Some(true),
            ..PrinterEdit::default()
        },
    );
    let chosen = opened.and(&[fact, Payload::Edit(choose.unwrap())]);
    let source = Source {
        job: &chosen.job,
        attachments: &chosen.attachments,
    };
    let why = staleness(&source, &feature, &piece).unwrap();
    assert!(why.contains("corrected for the printer"), "{why}");
}

#[test]
fn the_page_holds_its_crosses_at_the_distances_it_prints() {
    for paper in [Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid] {
        let Plan { across, up } = plan(paper).unwrap();
        let words = ProofWords {
            printer: "Bench".into(),
            day: "2026-11-26".into(),
            program: "Samespot".into(),
        };
        let drawing = page(paper, &words).unwrap();
        let sheet = drawing.pages.first().unwrap();
        let centre = |name: &str| {
            let found = sheet.items.iter().find_map(|i| match i.shape {
                Shape::Circle { centre, .. } if i.label.as_deref() == Some(name) => Some(centre),
                _ => None,
            });
            found.unwrap()
        };
        let [a, b, c, d] = ["A", "B", "C", "D"].map(centre);
        assert_eq!(i64::from(b.x - a.x), across.to_um());
        assert_eq!(i64::from(d.y - a.y), up.to_um());
        assert_eq!((c.x, c.y), (b.x, d.y));
        let diagonal = f64::from(c.x - a.x).hypot(f64::from(c.y - a.y)) / 1000.0;
        assert!(says(&drawing, &format!("{diagonal:.1} mm")));
        // As another reader sees it: everything on the paper, true size.
        let tree = usvg::Tree::from_str(&svg_page(&drawing, 0).unwrap(), &usvg::Options::default());
        let tree = tree.unwrap();
        let (w, h) = (
            f64::from(sheet.paper.width) / 1000.0,
            f64::from(sheet.paper.height) / 1000.0,
        );
        let px = 96.0 / 25.4;
        assert!((f64::from(tree.size().width()) - w * px).abs() < 0.01);
        let ink = tree.root().abs_bounding_box();
        let per_mm = f64::from(tree.size().width()) / w;
        assert!((f64::from(ink.left()) / per_mm - 3.0).abs() < 0.1);
        assert!((f64::from(ink.bottom()) / per_mm - (h - 3.0)).abs() < 0.1);
    }
}

fn ask(desk: &mut Desk, ask: Ask) -> (Result<Reply, String>, Vec<u8>) {
    let answer = answer(desk, Request { number: 1, ask });
    (answer.says.map_err(|e| format!("{e:?}")), answer.bytes)
}

#[test]
fn the_desk_judges_what_is_typed_and_names_every_suspect() {
    let opened = with_proof(Some([170.0, 250.0, 302.5, 302.5]), false, None);
    let job: Job = opened.job.clone();
    let mut desk = opened.desk();
    let typed = |across: f64, up: f64, rising: Option<f64>, falling: Option<f64>| Ask::Proof {
        job: job.id.clone(),
        printer: Some(printer()),
        paper: Paper::A4,
        typed: Some(ProofTyped {
            across: mm(across),
            up: mm(up),
            rising: rising.map(mm),
            falling: falling.map(mm),
            class: ClassMark::I,
            step: mm(0.5),
        }),
    };
    let mut view = |a: Ask| match ask(&mut desk, a).0.unwrap() {
        Reply::Proof(view) => *view,
        other => panic!("{other:?}"),
    };
    // 94.1 %: three causes, none picked.
    let found = view(typed(159.9, 235.2, Some(284.4), Some(284.4)));
    let said = found.says.unwrap().unwrap();
    assert!(!said.good && !said.may_correct);
    assert!(said.suspects.len() >= 2, "{said:?}");
    assert!(said.lead.contains("100 %"), "{}", said.lead);
    assert_eq!(
        said.verdict,
        "Proves nothing: this print is not at true size"
    );
    // No cause known.
    let said = view(typed(105.4, 155.0, None, None)).says.unwrap().unwrap();
    assert!(said.lead.contains("don’t use"), "{}", said.lead);
    // Both sides, no diagonal: judged, and no proof yet.
    let said = view(typed(170.0, 250.0, None, None)).says.unwrap().unwrap();
    assert!(!said.good && !said.may_correct);
    assert_eq!(
        said.verdict,
        "Proves nothing yet: type a diagonal too, A–C or B–D"
    );
    // Right: how far that goes. The most exacting feature of the example may be out 2 mm; a quarter of
    // it over the distance is what the whole of the doubt comes to.
    let said = view(typed(170.0, 250.0, Some(302.3), Some(302.3)));
    let said = said.says.unwrap().unwrap();
    let percent: f64 = said.verdict.split(' ').nth(2).unwrap().parse().unwrap();
    let far: f64 = said
        .verdict
        .split("as far as ")
        .nth(1)
        .unwrap()
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    assert!(
        said.verdict.starts_with("True within 0.") && said.verdict.contains("may be out 2 mm"),
        "{}",
        said.verdict
    );
    assert!(
        far * percent / 100.0 <= 0.5 * 1.5 && (far + 10.0) * percent / 100.0 >= 0.5,
        "{}",
        said.verdict
    );
    // Across right, up wrong.
    let said = view(typed(170.0, 247.5, Some(300.3), Some(300.3)));
    let said = said.says.unwrap().unwrap();
    assert!(said.may_correct);
    assert!(
        said.verdict.starts_with("Out by 1.0 in 100"),
        "{}",
        said.verdict
    );
    assert!(
        said.suspects
            .iter()
            .any(|s| s.contains("across and up differ"))
    );
    // Diagonals that belong to no such page.
    let refused = view(typed(170.0, 250.0, Some(320.0), Some(302.0)));
    let why = refused.says.unwrap().unwrap_err();
    assert!(why.contains("don't belong to one page"), "{why}");
    // What no print of the page has: nothing, less than nothing, and across typed for up.
    for (across, up, words) in [
        (
            0.0,
            250.0,
            "A–B was drawn 170.0 mm long and can't measure 0.0 mm",
        ),
        (
            -170.0,
            250.0,
            "A–B was drawn 170.0 mm long and can't measure -170.0 mm",
        ),
        (170.0, 0.0, "A–D was drawn 250.0 mm long"),
        (170.0, -1.0, "A–D was drawn 250.0 mm long"),
        (
            250.0,
            170.5,
            "A–B and A–D look exchanged: A–B was drawn 170.0 mm, A–D 250.0 mm",
        ),
    ] {
        let why = view(typed(across, up, None, None))
            .says
            .unwrap()
            .unwrap_err();
        assert!(why.starts_with(words), "{why}");
        // Diagonals that fit tell nothing of it.
        let why = view(typed(across, up, Some(302.5), Some(302.5)));
        let why = why.says.unwrap().unwrap_err();
        assert!(why.starts_with(words), "{why}");
    }
    // A tenth of it, as of a bar that reads 10 where 100 was drawn: a print that somebody may hold.
    let tenth = view(typed(17.0, 25.0, Some(30.2), Some(30.2)));
    let tenth = tenth.says.unwrap().unwrap();
    assert!(!tenth.good && !tenth.may_correct);
    assert_eq!(tenth.suspects, ["centimetres taken for millimetres"]);
    // The proof that is kept, against the run's templates; the hardest first.
    let kept = view(Ask::Proof {
        job: job.id.clone(),
        printer: Some(printer()),
        paper: Paper::A4,
        typed: None,
    });
    assert!(kept.says.unwrap().unwrap().good);
    assert_eq!(kept.day.as_deref(), Some("2026-11-12"));
    assert!(
        kept.templates
            .iter()
            .any(|t| t.name == "Eye, left" && t.proved),
        "{:?}",
        kept.templates
    );
}

#[test]
fn the_proof_page_comes_as_a_pdf_of_the_papers_size() {
    let opened = with_proof(None, false, None);
    let job = opened.job.id.clone();
    let (reply, bytes) = ask(
        &mut opened.desk(),
        Ask::ProofPage {
            job,
            printer: "Bench".into(),
            paper: Paper::A3,
            day: "2026-11-26".into(),
        },
    );
    assert!(matches!(reply.unwrap(), Reply::File { pages: 1, .. }));
    let document = lopdf::Document::load_mem(&bytes).unwrap();
    assert_eq!(document.get_pages().len(), 1);
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.contains("PrintScaling"));
}

/// Gauge cards need no job: somebody prints them before there is one.
#[test]
fn gauge_cards_come_as_a_pdf_without_a_job() {
    for (set, paper, sheets) in [
        (CardSet::EveryFourth, Paper::A4, 4),
        (CardSet::Around { number: 34 }, Paper::A4, 3),
        (CardSet::Around { number: 34 }, Paper::A3, 1),
    ] {
        let asked = serde_json::to_string(&Ask::GaugeCards { set, paper }).unwrap();
        let asked: Ask = serde_json::from_str(&asked).unwrap();
        let (reply, bytes) = ask(&mut Desk::default(), asked);
        let Reply::File { pages, .. } = reply.unwrap() else {
            panic!("no file")
        };
        assert_eq!(pages, sheets, "{set:?}");
        let document = lopdf::Document::load_mem(&bytes).unwrap();
        assert_eq!(document.get_pages().len(), sheets);
    }
}

/// Every code on a page, read by a decoder from a picture of the drawing's filled outlines.
fn decoded(drawing: &Drawing) -> Vec<String> {
    let mut found = Vec::new();
    for sheet in &drawing.pages {
        for item in &sheet.items {
            let (Shape::Solid(contours), Some(label)) = (&item.shape, &item.label) else {
                continue;
            };
            if !label.starts_with("code") {
                continue;
            }
            // 10 dots to the millimetre, 3 mm of paper about it, even-odd.
            let points: Vec<Vec<(f64, f64)>> = contours
                .iter()
                .map(|c| {
                    let mut all = vec![(f64::from(c.start.x), f64::from(c.start.y))];
                    all.extend(
                        c.segments
                            .iter()
                            .map(|s| (f64::from(s.to().x), f64::from(s.to().y))),
                    );
                    all
                })
                .collect();
            let flat = || points.iter().flatten();
            let x0 = flat().map(|p| p.0).fold(f64::MAX, f64::min) - 3000.0;
            let y0 = flat().map(|p| p.1).fold(f64::MAX, f64::min) - 3000.0;
            let x1 = flat().map(|p| p.0).fold(f64::MIN, f64::max) + 3000.0;
            let side = ((x1 - x0) / 100.0) as usize;
            let mut picture = rqrr::PreparedImage::prepare_from_greyscale(side, side, |i, j| {
                #[allow(clippy::cast_precision_loss, reason = "pixels")]
                let (x, y) = (
                    x0 + (i as f64 + 0.5) * 100.0,
                    y0 + ((side - 1 - j) as f64 + 0.5) * 100.0,
                );
                let mut inside = false;
                for ring in &points {
                    for (a, b) in ring.iter().zip(ring.iter().skip(1)) {
                        if (a.1 > y) != (b.1 > y) && x < a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0)
                        {
                            inside = !inside;
                        }
                    }
                }
                if inside { 0 } else { 255 }
            });
            for grid in picture.detect_grids() {
                found.push(grid.decode().unwrap().1);
            }
        }
    }
    found
}

#[test]
fn the_code_carries_the_letters_or_the_address_typed_for_it() {
    let letters = eye(&with_proof(None, false, None));
    assert_eq!(decoded(&letters).join(" "), letters.reference);
    let address = "https://shed.example/samespot/";
    let addressed = eye(&with_proof(None, false, Some(address)));
    assert_eq!(
        decoded(&addressed),
        ["https://shed.example/samespot/#/j/quay-puffins/p/p7/eye-left"]
    );
    // Corrected drawings carry it too.
    let corrected = eye(&with_proof(Some([169.32, 248.5, 300.7, 300.7]), true, None));
    assert_eq!(decoded(&corrected).join(" "), corrected.reference);
    // An address too long for the strip leaves the letters.
    let long = eye(&with_proof(None, false, Some(&"a/".repeat(200))));
    assert_eq!(decoded(&long).join(" "), long.reference);
}
