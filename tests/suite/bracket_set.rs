//! A bracket set in glass: the plate that holds it while it cures, and the readings after cure that
//! every later hole follows.
#![allow(
    clippy::unwrap_used,
    clippy::unreachable,
    reason = "a test stops where something is missing"
)]

use samespot_core::answer::{Ask, Desk, FileKind, Reply, Request, answer};
use samespot_core::job::*;
use samespot_core::prepare::holes::{CuredRow, FixingView, HolesView, holes_view};
use samespot_core::prepare::{Source, issue, staleness};
use samespot_core::sheet::Paper;
use samespot_core::write::job::Attachments;
use samespot_tests::jobs::{id, mm};

/// Flat slopes, so that every distance is Pythagoras' own.
const OTTERS: &[u8] = include_bytes!("../../public/examples/regatta-otters.samespot");
/// A ball.
const PUFFINS: &[u8] = include_bytes!("../../public/examples/quay-puffins.samespot");

const PAPER: Paper = Paper::Typed {
    width: samespot_core::units::Length::from_mm(594.0),
    height: samespot_core::units::Length::from_mm(420.0),
};

fn ledger(file: &[u8]) -> Ledger {
    samespot_core::read::job::open(file).unwrap().ledger
}

fn view(ledger: &Ledger, piece: &str) -> HolesView {
    let (job, attachments) = (ledger.fold(), Attachments::default());
    let source = Source {
        job: &job,
        attachments: &attachments,
    };
    holes_view(&source, &id(piece)).unwrap()
}

fn first(ledger: &Ledger, piece: &str) -> FixingView {
    view(ledger, piece).fixings[0].clone()
}

/// Says what the rows read.
fn read(ledger: &mut Ledger, of: &FixingView, rows: &[(CuredRow, f64)]) {
    let writer = Writer {
        replica: ReplicaId(500),
        who: "test".into(),
        wall: String::new(),
    };
    for (row, value) in rows {
        let says = Payload::Cured(CuredReading {
            piece: id("p3"),
            fixing: of.fixing.clone(),
            hole: row.hole,
            from: row.meant.mark.clone(),
            over: row.meant.over,
            value: mm(*value),
        });
        ledger.write(&writer, &says).unwrap();
    }
}

fn at((x, y): (samespot_core::units::Length, samespot_core::units::Length)) -> [f64; 2] {
    [x.mm(), y.mm()]
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The hole of a bracket that moved 2.4 right, 1.5 down and turned 0.8° anticlockwise about its
/// middle, by hand.
fn moved([x, y]: [f64; 2]) -> [f64; 2] {
    let (s, c) = 0.8_f64.to_radians().sin_cos();
    [2.4 + c * x - s * y, -1.5 + s * x + c * y]
}

/// What a row reads of such a bracket.
fn reads(of: &FixingView, row: &CuredRow) -> f64 {
    let hole = of.holes.iter().find(|h| h.number == row.hole).unwrap();
    let mark = of
        .marks
        .iter()
        .find(|m| m.letter == row.meant.from)
        .unwrap();
    apart(moved(at(hole.at)), at(mark.at))
}

fn all_read(of: &FixingView) -> Vec<(CuredRow, f64)> {
    let rows = of.cured.clone().unwrap().rows;
    rows.into_iter()
        .map(|r| {
            let value = reads(of, &r);
            (r, value)
        })
        .collect()
}

#[test]
fn holes_follow_the_bracket_once_it_was_read_after_cure() {
    let mut ledger = ledger(OTTERS);
    let meant = first(&ledger, "p3");
    assert_eq!(meant.cannot, None);
    let rows = all_read(&meant);
    assert!(rows.len() >= 5, "{rows:?}");
    // Two distances leave it free: nothing moves yet.
    read(&mut ledger, &meant, &rows[..2]);
    let still = first(&ledger, "p3");
    assert_eq!(still.holes, meant.holes);
    assert!(
        still.cured.unwrap().says[0].contains("1 more"),
        "says how many"
    );
    read(&mut ledger, &meant, &rows[2..]);
    let now = first(&ledger, "p3");
    let cured = now.cured.clone().unwrap();
    assert!(cured.counts);
    assert!(
        cured.says[0].contains("2.8 mm low and right")
            && cured.says[0].contains("0.8° anticlockwise"),
        "{:?}",
        cured.says
    );
    // Every hole lies to every mark as on the bracket that was moved by hand, also those not read.
    for (was, is) in meant.holes.iter().zip(&now.holes) {
        for (mark_was, mark_is) in meant.marks.iter().zip(&now.marks) {
            let want = apart(moved(at(was.at)), at(mark_was.at));
            let got = apart(at(is.at), at(mark_is.at));
            assert!(
                (want - got).abs() < 0.02,
                "hole {}: {want} {got}",
                was.number
            );
        }
    }
    // The rows still say what was meant, and what was read.
    for (row, (was, value)) in cured.rows.iter().zip(&rows) {
        assert_eq!(row.meant, was.meant);
        assert!((row.read.as_ref().unwrap().mm.mm() - value).abs() < 1e-3);
    }
    // Another piece keeps its own bracket.
    assert!(!first(&ledger, "p4").cured.unwrap().counts);
}

#[test]
fn a_distance_that_contradicts_the_others_is_named_and_nothing_is_laid_out() {
    let mut ledger = ledger(OTTERS);
    let meant = first(&ledger, "p3");
    let mut rows = all_read(&meant);
    rows[4].1 += 10.0;
    read(&mut ledger, &meant, &rows);
    let now = first(&ledger, "p3");
    let why = now.cannot.unwrap();
    let named = format!("hole {} from {} is", rows[4].0.hole, rows[4].0.meant.from);
    assert!(why.contains(&named), "{why}");
    assert!(now.holes.is_empty());
    // What was typed is still there to be read again.
    assert_eq!(now.cured.unwrap().rows.len(), rows.len());
    rows[4].1 -= 10.0;
    read(&mut ledger, &meant, &rows[4..5]);
    assert!(first(&ledger, "p3").cured.unwrap().counts);
}

/// On a ball of radius R: the great circle by the spherical law of cosines between places that the
/// polar map about the pattern's middle shows.
#[test]
fn on_a_ball_the_bracket_is_found_over_the_surface() {
    let mut ledger = ledger(PUFFINS);
    let meant = first(&ledger, "p3");
    let rows = meant.cured.clone().unwrap().rows;
    // A bracket that sits exactly where it was meant reads what was meant.
    let same: Vec<_> = rows
        .iter()
        .map(|r| (r.clone(), r.meant.length.mm()))
        .collect();
    read(&mut ledger, &meant, &same);
    let now = first(&ledger, "p3");
    assert!(now.cured.unwrap().counts);
    for (was, is) in meant.holes.iter().zip(&now.holes) {
        assert!(apart(at(was.at), at(is.at)) < 0.02);
        // What is known of it is what was read, beside what the marks are good for.
        assert!(is.within > was.within);
    }
}

#[test]
fn what_was_printed_before_the_readings_is_stale_but_not_the_plate_that_held_it() {
    let mut ledger = ledger(OTTERS);
    let meant = first(&ledger, "p3");
    let fixing = meant.fixing.clone();
    let prints: Vec<SheetOf> = vec![
        SheetOf::Fixing(fixing.clone()),
        SheetOf::Jig(fixing.clone()),
        SheetOf::Plate(fixing),
    ];
    let writer = Writer {
        replica: ReplicaId(501),
        who: "test".into(),
        wall: String::new(),
    };
    let stale = |ledger: &Ledger| -> Vec<Option<String>> {
        let (job, attachments) = (ledger.fold(), Attachments::default());
        let source = Source {
            job: &job,
            attachments: &attachments,
        };
        let all = prints.iter();
        all.map(|of| staleness(&source, of, &id("p3"))).collect()
    };
    {
        let (job, attachments) = (ledger.fold(), Attachments::default());
        let source = Source {
            job: &job,
            attachments: &attachments,
        };
        for of in &prints {
            let made = issue(&source, of, &id("p3"), PAPER, "2026-11-26").unwrap();
            ledger
                .write(&writer, &Payload::Printed(made.printed("2026-11-26")))
                .unwrap();
        }
    }
    assert_eq!(stale(&ledger), [None, None, None]);
    read(&mut ledger, &meant, &all_read(&meant));
    let [template, jig, plate] = <[_; 3]>::try_from(stale(&ledger)).unwrap();
    assert!(template.unwrap().contains("readings changed"));
    assert!(jig.unwrap().contains("readings changed"));
    assert_eq!(plate, None);
}

/// The plate: pins over this casting's marks as the jig's, and holes in which the bracket's M10
/// bolts have the least play: 10.5 (ISO 273 fine: CHECKS G1), 70 × 45 apart as on the bracket.
#[test]
fn the_plate_hangs_the_bracket_on_its_own_bolts() {
    let mut desk = Desk::default();
    let job = desk.take(samespot_core::read::job::open(PUFFINS).unwrap());
    let ask = Ask::File {
        job,
        kind: FileKind::Svg,
        of: Some(SheetOf::Plate(id("bracket"))),
        pieces: vec![id("p7")],
        paper: PAPER,
        day: "2026-11-26".into(),
    };
    let answer = answer(&mut desk, Request { number: 1, ask });
    match answer.says.unwrap() {
        Reply::File { name, .. } => assert!(name.ends_with("bracket-bolts-plate.svg"), "{name}"),
        other => unreachable!("{other:?}"),
    }
    let text = String::from_utf8(answer.bytes).unwrap();
    let doc = roxmltree::Document::parse(&text).unwrap();
    let circle = |title: &str| -> Option<[f64; 3]> {
        doc.descendants()
            .filter(|n| n.has_tag_name("circle"))
            .find_map(|n| {
                let own = n.children().find(|c| c.has_tag_name("title"))?;
                let number = |name| n.attribute(name)?.parse::<f64>().ok();
                (own.text()? == title).then_some([number("cx")?, number("cy")?, number("r")?])
            })
    };
    let hole = |n: u32| circle(&format!("hole {n}")).unwrap();
    let way = |a: [f64; 3], b: [f64; 3]| (a[0] - b[0]).hypot(a[1] - b[1]);
    assert!((way(hole(1), hole(2)) - 70.0).abs() < 0.002);
    assert!((way(hole(2), hole(3)) - 45.0).abs() < 0.002);
    for n in 1..=4 {
        assert!((hole(n)[2] - 5.25).abs() < 1e-9);
        assert_eq!(circle(&format!("bush {n}")), None);
    }
    assert!(
        doc.descendants()
            .any(|n| n.text().is_some_and(|t| t.contains("setting plate")))
    );
}
